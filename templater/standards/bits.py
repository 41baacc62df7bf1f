"""Drill bits that exist, metric and inch, and the one that comes nearest to a wanted hole; all in mm.

Sources: head of ``data/bits.csv``.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from templater.standards.tables import read_table, unknown
from templater.units import inch_text, mm_text

BIT_KINDS = ("twist drill", "centre-point bit", "flat-bottomed bit", "hole saw")


class Bit(NamedTuple):
    """A bit that exists: its kind, diameter in mm and system, ``mm`` or ``in``."""

    kind: str
    diameter: float
    system: str

    @property
    def size(self) -> str:
        """The size as it is written on the bit: ``8 mm``, ``5/16 in``."""
        if self.system == "in":
            return inch_text(self.diameter, 64)
        return f"{mm_text(self.diameter, 2).rstrip('0').rstrip('.')} mm"


@cache
def bit_sizes(kind: str, system: str = "mm", *, usual: bool = False) -> tuple[float, ...]:
    """Return the diameters that a kind of bit is made in, mm, ascending.

    Args:
        kind: one of ``BIT_KINDS``.
        system: ``mm`` or ``in``.
        usual: only those that a bench commonly has.

    Raises:
        KeyError: if kind or system is unknown; the message lists the known ones.
    """
    for row in read_table("bits"):
        if row.text("kind") == kind and row.text("unit") == system:
            return row.lengths("usual" if usual else "sizes")
    raise unknown("bit", f"{kind} in {system}", [f"{kind} in {unit}" for kind in BIT_KINDS for unit in ("mm", "in")])


def nearest_bit(kind: str, wanted: float, system: str = "mm", *, round_to: str = "near", usual: bool = False) -> Bit:
    """Return the bit of a kind that suits a wanted diameter, mm.

    Args:
        kind: one of ``BIT_KINDS``.
        wanted: diameter, mm.
        system: ``mm`` or ``in``.
        round_to: ``near``; ``up`` for the next that is not smaller; ``down`` for the next that is not larger.
        usual: only sizes that a bench commonly has.

    Raises:
        KeyError: if no size of this kind suits; the message gives the range made.
    """
    slack = 0.01  # mm: nobody tells 18 from 17.99
    sizes = bit_sizes(kind, system, usual=usual)
    if round_to == "up":
        fitting = [size for size in sizes if size >= wanted - slack]
    elif round_to == "down":
        fitting = [size for size in sizes if size <= wanted + slack]
    else:
        fitting = [size for size in sizes if sizes[0] - 0.5 <= wanted <= sizes[-1] + 0.5]
    if not fitting:
        raise KeyError(f"{wanted:g} mm: a {kind} is made from {sizes[0]:.2f} to {sizes[-1]:.2f} mm")
    return Bit(kind, min(fitting, key=lambda size: (abs(size - wanted), size)), system)
