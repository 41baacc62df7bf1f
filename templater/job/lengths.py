"""Lengths as the builder reads them in the description's own units, and findings at their place in its text."""

from __future__ import annotations

from collections.abc import Callable

from templater.description.model import Description
from templater.findings import Finding, Severity
from templater.units import Figures, mm_text, size_in_inches


def size_text(value: float, units: str | Figures) -> str:
    """Return a size in mm as text in ``mm`` or ``in``, or as ``Figures`` say: ``4.5 mm``, ``5/8 in``.

    Inches are to 1/64; a length that differs from that by more than 0.05 mm is given in mm as well.

    >>> size_text(4.5, "mm"), size_text(15.875, "in"), size_text(8.0, "in")
    ('4.5 mm', '5/8 in', '5/16 in (8 mm)')
    """
    plain = mm_text(value, 2).rstrip("0").rstrip(".")
    system = units.system if isinstance(units, Figures) else units
    if system == "mm":
        return f"{plain} mm"
    if system == "both":
        return f"{plain} mm ({size_in_inches(value, units).partition(' (')[0]})"
    return size_in_inches(value, units)


def sayer(description: Description) -> Callable[[float], str]:
    """Return what turns mm, rounded to 0.1, into text in the description's units, or as its figures are to be."""
    units = description.units if description.print.figures is None else description.figures
    return lambda value: size_text(round(value, 1) if description.units == "mm" else value, units)


def finding_at(
    description: Description, code: str, key: str, text: str, graded: Severity | None = None
) -> Finding:
    """Return a finding at the key's place in the description's text."""
    return Finding(code, key, text, description.place(key), graded)
