"""Woods by species: gravity, stiffness, moisture movement; real thickness of birch plywood.

Sources: heads of ``data/woods.csv`` and ``data/plywood.csv``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.standards.tables import Row, read_table, unknown


class Species(NamedTuple):
    """A wood at 12 % moisture.

    Attributes:
        gravity: oven-dry weight over volume at 12 %, no unit.
        radial: change per unit width and per cent of moisture, quarter-sawn faces; None if not known.
        tangential: the same for flat-sawn faces.
        kind: ``softwood``, which is assumed where no species is given, ``hardwood`` or ``plywood``.
        memory: names of the figures from memory.
    """

    name: str
    kind: str
    gravity: float
    radial: float | None
    tangential: float | None
    memory: frozenset[str]


class PlywoodThickness(NamedTuple):
    """Thickness of a birch plywood as made, mm."""

    nominal: float
    mean: float
    least: float
    greatest: float


def all_species() -> tuple[Species, ...]:
    """Return every species of the table."""
    return tuple(_species(row) for row in read_table("woods"))


def find_species(name: str) -> Species:
    """Return a species by name; case, hyphens and blanks do not matter.

    Raises:
        KeyError: if it is unknown; the message lists the known names.

    >>> find_species("White Ash").gravity
    0.6
    """
    for species in all_species():
        if _plain(species.name) == _plain(name):
            return species
    raise unknown("wood", name, [species.name for species in all_species()])


def plywood_thickness(nominal: float) -> PlywoodThickness | None:
    """Return the real thickness of a birch plywood of a nominal thickness, mm; None where the table has none."""
    for row in read_table("plywood"):
        if math.isclose(row.number("nominal"), nominal, abs_tol=0.05):
            return PlywoodThickness(nominal, row.number("mean"), row.number("least"), row.number("greatest"))
    return None


def movement(width: float, coefficient: float, moisture_change: float) -> float:
    """Return how much a width across the grain grows, mm, for a change of moisture in per cent.

    Source: GTR-190 (2010), chapter 13: width x coefficient x change, for moisture from 6 to 14 %.

    >>> round(movement(232, 0.00245, 3), 3)
    1.705
    """
    return width * coefficient * moisture_change


def _species(row: Row) -> Species:
    """Return a row of the table as a species."""
    figures = {column: row.number(column) for column in ("radial", "tangential")}
    known = {column: None if math.isnan(figure) else figure for column, figure in figures.items()}
    return Species(row.text("name"), row.text("kind"), row.number("gravity"), memory=row.memory, **known)


def _plain(name: str) -> str:
    """Return a name in small letters and digits only."""
    return "".join(letter for letter in name.lower() if letter.isalnum())
