"""Everything that is checked about a solved boat: the rule, the floor, the plates, the plank, the wood, the letters.

Errors are what cannot be built or breaks the rule. A guide value that is clearly missed is a warning, one that is only
just missed is advice; class rules and the builder's own experience outrank every guide value.
"""

from __future__ import annotations

from collections.abc import Iterator

from templater.boat.solved import Boat
from templater.checks.floor import hole_findings, plate_findings
from templater.checks.plank import plank_findings, slip_findings
from templater.checks.wood import ROUNDING, guide_findings
from templater.findings import Finding, Severity
from templater.standards.typeface import lacking

_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 2}


def check(boat: Boat) -> tuple[Finding, ...]:
    """Return all findings about a boat, errors first, then by their place in the text.

    The time grows in proportion to the number of holes.
    """
    found = (
        *_rule_findings(boat),
        *hole_findings(boat),
        *plate_findings(boat),
        *plank_findings(boat),
        *slip_findings(boat),
        *guide_findings(boat),
        *_letter_findings(boat),
    )
    return tuple(sorted(found, key=_rank))


def _rank(finding: Finding) -> tuple[int, str, int, int, str, str, str]:
    """Return what findings are sorted by; those without a place in the text come last."""
    where = finding.where
    place = (where.file, where.line, where.column) if where else ("\U0010ffff", 0, 0)
    return (_ORDER[finding.severity], *place, finding.code, finding.key, finding.text)


def _rule_findings(boat: Boat) -> Iterator[Finding]:
    """Yield R110 (outside the greatest distance), R111 (short of the least), R112 (inside by too little)."""
    rule = boat.description.rule
    if rule is None:
        return
    say = boat.description.figures.size
    limit, keep = rule.runner_base, rule.keep_inside
    for setting in boat.settings:
        what = f"setting {setting.number}: the runner base is {say(setting.runner_base)}"
        to_max, to_min = setting.to_max, setting.to_min
        if to_max is not None and to_max < -ROUNDING:
            text = f"{what}, {say(-to_max)} beyond the rule's greatest, {say(limit.max)} - move it "
            inside = f" to stand {say(keep)} inside" if keep else ""
            yield boat.finding("R110", setting.key, f"{text}{say(keep - to_max)} forward{inside}")
        elif to_max is not None and to_max < keep - ROUNDING:
            text = f"{what}, only {say(to_max)} inside the rule's greatest, {say(limit.max)}; wanted: {say(keep)} "
            yield boat.finding("R112", setting.key, f"{text}inside - move it {say(keep - to_max)} forward")
        if to_min is not None and limit.min is not None and to_min < -ROUNDING:
            text = f"{what}, {say(-to_min)} short of the rule's least, {say(limit.min)} - move it {say(-to_min)} aft"
            yield boat.finding("R111", setting.key, f"{text} or leave it out")


def _letter_findings(boat: Boat) -> Iterator[Finding]:
    """Yield S301: texts that a sheet may show with letters that cannot be printed, each at its key."""
    description = boat.description
    texts = [("boat", description.boat), ("print.printer", description.print.printer or "")]
    texts += [(f"issue.{name}", text) for name, text in description.issue]
    texts += [(f"floor.keep_clear.{number}.name", one.name) for number, one in enumerate(description.floor.keep_clear)]
    texts += [(f"fittings.{number}.name", fitting.name) for number, fitting in enumerate(description.fittings)]
    for key, text in texts:
        if fault := lacking(text):
            yield boat.finding("S301", key, f"{text}: {fault}")
