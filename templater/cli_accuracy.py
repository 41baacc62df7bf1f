"""The error budget in lines and as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any


def accuracy_lines(report: Any) -> list[str]:
    """Return an accuracy report for people; all figures are one standard deviation."""
    lines = ["", "how good the drilled boat will be (one standard deviation):"]
    for budget in (*report.leads, *report.yaws, *report.tapes, *report.pairs):
        lines.append(f"  {budget.what}: {budget.sigma:.2f} {budget.unit}, largest part: {budget.largest}")
    for hole in report.holes:
        lines.append(
            f"  hole {hole.id}: {hole.athwart:.2f} mm athwart, {hole.fore_and_aft:.2f} mm fore and aft, "
            f"largest part: {hole.largest}"
        )
    for row in report.limits:
        chance = "under 1 in 100 000" if row.chance < 1e-5 else f"{row.chance:.2%}"
        lines.append(
            f"  setting {row.setting}: {row.margin:.1f} mm inside the greatest distance, "
            f"uncertainty {row.sigma:.2f} mm, "
            f"chance of exceeding it {chance}, largest part: {row.largest}"
        )
    lines.append("what helps most (lead of one runner over the other):")
    lines += [f"  {item.text}: {item.before:.2f} -> {item.after:.2f} mm" for item in report.improvements]
    lines.append("sources:")
    lines += [f"  {item.name}: {item.sigma:.4g} {item.unit} ({item.origin})" for item in report.sources.items]
    return lines


def accuracy_dict(report: Any) -> dict[str, Any]:
    """Return an accuracy report as plain data."""
    return asdict(report)
