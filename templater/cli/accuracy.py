"""The error budget in lines and as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from templater.units import Figures

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport


def accuracy_lines(report: AccuracyReport, figures: Figures) -> list[str]:
    """Return an accuracy report for people, lengths as ``figures`` say; all figures are one standard deviation."""
    from templater.accuracy.wording import chance_text, uncertainty_text

    def say(value: float, unit: str = "mm") -> str:
        return uncertainty_text(value, figures) if unit == "mm" else f"{value:.2f} {unit}"

    lines = ["", "how good the drilled boat will be (one standard deviation):"]
    for budget in (*report.leads, *report.yaws, *report.tapes, *report.pairs):
        lines.append(f"  {budget.what}: {say(budget.sigma, budget.unit)}, largest part: {budget.largest}")
    for hole in report.holes:
        lines.append(
            f"  hole {hole.id}: {say(hole.athwart)} athwart, {say(hole.fore_and_aft)} fore and aft, "
            f"largest part: {hole.largest}"
        )
    for row in report.limits:
        lines.append(
            f"  setting {row.setting}: {figures.length(row.margin)} inside the greatest distance, "
            f"uncertainty {say(row.sigma)}, "
            f"chance of exceeding it {chance_text(row.chance)}, largest part: {row.largest}"
        )
    lines.append("what helps most (lead of one runner over the other):")
    lines += [f"  {item.text}: {say(item.before)} -> {say(item.after)}" for item in report.improvements]
    lines.append("sources:")
    lines += [f"  {item.name}: {item.sigma:.4g} {item.unit} ({item.origin})" for item in report.sources.items]
    return lines


def accuracy_dict(report: AccuracyReport) -> dict[str, Any]:
    """Return an accuracy report as plain data."""
    return asdict(report)
