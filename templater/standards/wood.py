"""Wood and what goes into it: species, plywood, wood screws, spacings and bits; mm and N.

Sources: the heads of ``data/woods.csv``, ``plywood.csv``, ``wood_screws.csv``, ``screw_lengths.csv`` and ``bits.csv``;
the formulas carry theirs.
"""

import math
from typing import NamedTuple

from templater.standards.tables import read_table, unknown
from templater.units import MM, MM_PER_INCH, inch_text

#: Root of a wood screw's thread as a share of its nominal diameter. Source: FPL Wood Handbook GTR-190 (2010), ch. 8.
ROOT_SHARE = 2 / 3
#: N/mm2 in a pound-force per square inch: 4.4482216152605 N / (25.4 mm)^2, exactly by definition.
_MPA_PER_PSI = 4.4482216152605 / MM_PER_INCH**2


class Species(NamedTuple):
    """A wood: its gravity, and its growth per unit width and per cent of moisture where that is known."""

    name: str
    kind: str  # ``softwood``, which is assumed where no species is given, ``hardwood`` or ``plywood``
    gravity: float  # at 12 % moisture
    radial: float | None  # for quarter-sawn faces
    tangential: float | None  # for flat-sawn ones


class Plywood(NamedTuple):
    """A birch plywood's thickness by name and as made."""

    nominal: float
    least: float
    greatest: float


class WoodScrew(NamedTuple):
    """A countersunk wood screw by diameter in mm or gauge number, ``No. 8``; ``head`` is the greatest diameter met."""

    name: str
    unit: str
    diameter: float
    slotted_head: float
    head: float
    angle: float
    memory: frozenset[str]


class Bit(NamedTuple):
    """A bit that exists: its kind, diameter in mm and system, ``mm`` or ``in``."""

    kind: str
    diameter: float
    system: str

    @property
    def size(self) -> str:
        """The size as it is written on the bit: ``8 mm``, ``5/16 in``."""
        return inch_text(self.diameter, 64) if self.system == "in" else MM.size(self.diameter, 2)

    def __str__(self) -> str:
        return f"{self.size} {self.kind}"


class _Ladder(NamedTuple):
    kind: str
    unit: str
    sizes: tuple[float, ...]
    usual: tuple[float, ...]


class _Sold(NamedTuple):
    unit: str
    lengths: tuple[float, ...]


def all_species() -> tuple[Species, ...]:
    """Return every species of the table."""
    return read_table("woods", Species)


def find_species(name: str) -> Species:
    """Return a species by name; case, hyphens and blanks do not matter.

    Raises KeyError: if it is unknown; the message lists the known names.

    >>> find_species("White Ash").gravity
    0.6
    """
    for species in all_species():
        if _plain(species.name) == _plain(name):
            return species
    raise unknown("wood", name, [species.name for species in all_species()])


def _plain(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def plywood_thickness(nominal: float) -> Plywood | None:
    """Return the real thickness of a birch plywood; None where the table has none."""
    sheets = read_table("plywood", Plywood)
    return next((sheet for sheet in sheets if abs(sheet.nominal - nominal) <= 0.05), None)


def movement(width: float, coefficient: float, moisture_change: float) -> float:
    """Return how much a width across the grain grows for a change of moisture in per cent.

    Source: GTR-190 (2010), chapter 13: width x coefficient x change, for moisture from 6 to 14 %.

    >>> round(movement(232, 0.00245, 3), 3)
    1.705
    """
    return width * coefficient * moisture_change


def wood_screws(system: str) -> tuple[WoodScrew, ...]:
    """Return all screws of a system, ``mm`` or ``in``, thinnest first."""
    return tuple(screw for screw in read_table("wood_screws", WoodScrew) if screw.unit == system)


def find_screw(diameter: float, system: str = "mm") -> WoodScrew | None:
    """Return the screw of a diameter: within 0.1 mm in the wanted system, else exact in the other one, else None."""
    for one, slack in ((system, 0.1), ("in" if system == "mm" else "mm", 0.01)):
        nearest = min(wood_screws(one), key=lambda screw: abs(screw.diameter - diameter))
        if abs(nearest.diameter - diameter) <= slack:
            return nearest
    return None


def screw_lengths(system: str) -> tuple[float, ...]:
    """Return the lengths usually sold, ascending (from memory)."""
    return dict(read_table("screw_lengths", _Sold))[system]


def thread_share(system: str) -> float:
    """Return the threaded part of a screw's length: 3/5 (furniture-making handbook); of a US one 2/3 (from memory)."""
    return 0.6 if system == "mm" else 2 / 3


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
    """Return how deep a cone of ``head`` diameter over a hole goes: (D - d) / 2 at 90 degrees.

    >>> round(countersink_depth(9.0, 4.5), 6)
    2.25
    """
    return (head - hole) / 2 / math.tan(math.radians(angle / 2))


class Spacing(NamedTuple):
    """Least distances of fasteners.

    Source: EN 1995-1-1:2004 + A1:2008, tables 8.2 and 8.4, as printed in a laminated-veneer-lumber handbook of 2025
    (nails and small screws), and in an open structural library and a timber wiki (bolts). That the columns are the
    standard's is from memory. The edition of 2025 renumbers the tables and may change them.
    """

    across: float  # between rows, across the grain (a2)
    end: float  # to the end of the grain (a3,t)
    edge: float  # to the edge that the force points to (a4,t)


def bolt_spacing(diameter: float, angle: float = 0.0) -> Spacing:
    """Return the least distances of bolts; ``angle`` of the force to the grain in degrees. Source: table 8.4."""
    d, sin = diameter, abs(math.sin(math.radians(angle)))
    return Spacing(across=4 * d, end=max(7 * d, 80.0), edge=max((2 + 2 * sin) * d, 3 * d))


def screw_spacing(diameter: float) -> Spacing:
    """Return the least distances of screws up to 6 mm in predrilled wood, pushed along the grain. Source: table 8.2."""
    return Spacing(across=3 * diameter, end=12 * diameter, edge=3 * diameter)


def bit_sizes(kind: str, system: str = "mm", *, usual: bool = False) -> tuple[float, ...]:
    """Return the diameters that a kind of bit is made in, ascending; only those a bench commonly has if ``usual``."""
    row = next(row for row in read_table("bits", _Ladder) if (row.kind, row.unit) == (kind, system))
    return row.usual if usual else row.sizes


def nearest_bit(kind: str, wanted: float, system: str = "mm", *, up: bool = False, usual: bool = False) -> Bit:
    """Return the bit of a kind nearest to a wanted diameter; with ``up`` none that is smaller, where one is made."""
    sizes = bit_sizes(kind, system, usual=usual)
    enough = [size for size in sizes if size >= wanted - 0.01] if up else []  # nobody tells 18 from 17.99
    return Bit(kind, min(enough or sizes, key=lambda size: (abs(size - wanted), size)), system)
