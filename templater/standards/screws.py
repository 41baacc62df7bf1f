"""Countersunk wood screws, metric and by US gauge, and what they hold by the handbook's formula; all in mm and N.

Sources: heads of ``data/wood_screws.csv`` and ``data/screw_lengths.csv``; the formulas carry theirs.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.standards.tables import Row, read_table, unknown
from templater.units import MM_PER_INCH

#: Root of a wood screw's thread as a share of its nominal diameter. Source: FPL Wood Handbook GTR-190 (2010), ch. 8.
ROOT_SHARE = 2 / 3
#: N/mm2 in a pound-force per square inch: 4.4482216152605 N / (25.4 mm)^2, exactly by definition.
_MPA_PER_PSI = 4.4482216152605 / MM_PER_INCH**2


class WoodScrew(NamedTuple):
    """A countersunk wood screw's sizes.

    Attributes:
        name: nominal diameter in mm, or gauge number, ``No. 8``.
        system: ``mm`` or ``in``.
        head: greatest head diameter met; the countersink is made for it.
        angle: of the head's cone, degrees.
        thread_share: threaded part of the length: 3/5 (metric; furniture-making handbook), 2/3 (US; from memory).
    """

    name: str
    system: str
    diameter: float
    head: float
    height: float
    angle: float
    thread_share: float
    memory: frozenset[str]


def wood_screws(system: str) -> tuple[WoodScrew, ...]:
    """Return all screws of a system, ``mm`` or ``in``, thinnest first."""
    return tuple(_screw(row) for row in read_table("wood_screws") if row.text("unit") == system)


def find_screw(diameter: float, system: str = "mm") -> WoodScrew:
    """Return the screw of a diameter, mm: within 0.1 mm in the wanted system, else exact in the other one.

    Raises:
        KeyError: if there is none; the message lists the known names.
    """
    other = "in" if system == "mm" else "mm"
    for screws, slack in ((wood_screws(system), 0.1), (wood_screws(other), 0.01)):
        nearest = min(screws, key=lambda screw: abs(screw.diameter - diameter))
        if abs(nearest.diameter - diameter) <= slack:
            return nearest
    raise unknown("wood screw", f"{diameter:g} mm", [screw.name for screw in (*wood_screws("mm"), *wood_screws("in"))])


def screw_lengths(system: str) -> tuple[float, ...]:
    """Return the lengths usually sold, mm, ascending (from memory)."""
    return next(row for row in read_table("screw_lengths") if row.text("unit") == system).lengths("lengths")


def withdrawal_ultimate(gravity: float, diameter: float, thread_in_wood: float) -> float:
    """Return the load that draws a wood screw out of side grain, N.

    p = 15 700 G^2 D L in pound-force and inches, 108.25 G^2 D L in N and mm. Source: FPL Wood Handbook GTR-190 (2010),
    chapter 8, wood screws, withdrawal (from memory; its coefficient is 5.5 times the confirmed allowable one).
    """
    return 15_700 * _MPA_PER_PSI * gravity**2 * diameter * thread_in_wood


def withdrawal_allowable(gravity: float, diameter: float, thread_in_wood: float) -> float:
    """Return the allowable withdrawal load of a wood screw in side grain, N: 2850 G^2 D per inch of thread, in lbf.

    Source: two engineering pages, one a handbook chapter, citing the same form.
    """
    return 2850 * _MPA_PER_PSI * gravity**2 * diameter * thread_in_wood


def countersink_depth(head: float, hole: float, angle: float = 90.0) -> float:
    """Return how deep a cone of ``head`` diameter over a hole goes, mm: (D - d) / 2 at 90 degrees.

    >>> round(countersink_depth(9.0, 4.5), 6)
    2.25
    """
    return (head - hole) / 2 / math.tan(math.radians(angle / 2))


def _screw(row: Row) -> WoodScrew:
    """Return a row of the table as a screw."""
    system = row.text("unit")
    return WoodScrew(
        name=row.text("name"),
        system=system,
        diameter=row.length("diameter"),
        head=row.length("head"),
        height=row.length("height"),
        angle=row.number("angle"),
        thread_share=0.6 if system == "mm" else 2 / 3,
        memory=row.memory,
    )
