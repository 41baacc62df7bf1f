"""Every setting held against the rule's greatest and least runner base."""

from __future__ import annotations

from collections.abc import Iterator

from templater.boat.solved import Boat
from templater.checks.guides import ROUNDING
from templater.findings import Finding


def rule_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings R110 (outside the greatest distance), R111 (short of the least), R112 (inside by too little)."""
    rule = boat.description.rule
    if rule is None:
        return
    say = boat.description.figures.size
    limit, keep = rule.runner_base, rule.keep_inside
    for setting in boat.settings:
        what = f"setting {setting.number}: the runner base is {say(setting.runner_base)}"
        if setting.to_max is not None and setting.to_max < -ROUNDING:
            text = f"{what}, {say(-setting.to_max)} beyond the rule's greatest, {say(limit.max)} - move it " \
                f"{say(keep - setting.to_max)} forward"
            if keep:
                text += f" to stand {say(keep)} inside"
            yield boat.finding("R110", setting.key, text)
        elif setting.to_max is not None and setting.to_max < keep - ROUNDING:
            text = f"{what}, only {say(setting.to_max)} inside the rule's greatest, {say(limit.max)}; wanted: " \
                f"{say(keep)} inside - move it {say(keep - setting.to_max)} forward"
            yield boat.finding("R112", setting.key, text)
        if setting.to_min is not None and limit.min is not None and setting.to_min < -ROUNDING:
            text = f"{what}, {say(-setting.to_min)} short of the rule's least, {say(limit.min)} - move it " \
                f"{say(-setting.to_min)} aft or leave it out"
            yield boat.finding("R111", setting.key, text)
