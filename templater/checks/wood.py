"""What the bolt holes take from the plank's section, and how floor and plank move with moisture: advice only, mm.

The floor's grain is taken to run fore and aft, the plank's along its length. None of this proves a strength.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind
from templater.checks.guides import Distance, guide_rows
from templater.description.keys import Surface, Wood
from templater.standards.fasteners import nominal_diameter
from templater.standards.wood import all_species, find_species, movement

#: Change of moisture content that movement is stated for, per cent: a dry workshop against a damp shed (from memory).
MOISTURE_CHANGE = 4.0
#: Growth along the grain per per cent of moisture: 0.15 % from green to dry over 30 % (GTR-190; figure from memory).
ALONG_GRAIN = 0.0015 / 30
#: Where the plank's section is from.
SECTION = "rectangular section, Z = b h^2 / 6"


class SectionRow(NamedTuple):
    """The plank's section at a bolt hole.

    Attributes:
        left: section modulus with the hole over that without, hole right through: (b - d) / b.
        left_without_plug: the same if the plug carries nothing: the width less the plug; None for a solid plank.
        plug_wall: wood of the plug left all round the hole, mm; None for a solid plank.
    """

    ids: tuple[str, ...]
    width: float
    thickness: float
    hole: float
    left: float
    left_without_plug: float | None
    plug_wall: float | None


class MovementRow(NamedTuple):
    """How much a width moves with ``MOISTURE_CHANGE`` per cent of moisture: between ``least`` and ``greatest``, mm.

    ``play``: what the sleeves' play takes up before the bolts bind.
    """

    part: str
    what: str
    width: float
    least: float
    greatest: float
    source: str
    play: float = 0.0


class WoodAdvice(NamedTuple):
    """All figures about the wood."""

    section: SectionRow | None
    guides: tuple[Distance, ...]
    movements: tuple[MovementRow, ...]


def wood(boat: Boat) -> WoodAdvice:
    """Return what a solved boat's holes take from the wood, as advice."""
    return WoodAdvice(_section(boat), guide_rows(boat), _movements(boat))


def section_left(width: float, hole: float) -> float:
    """Return net over gross section modulus of a rectangle with a hole through its thickness, bent flatwise.

    Z = b h^2 / 6, so the share is (b - d) / b. Source: any strength-of-materials text.

    >>> section_left(175, 8)
    0.9542857142857143
    """
    return (width - hole) / width


def _section(boat: Boat) -> SectionRow | None:
    """Return the plank at its bolt holes, which are alike; None without them."""
    holes = [hole for hole in boat.on(Surface.PLANK) if hole.kind is HoleKind.BOLT]
    if not holes:
        return None
    plank, hole = boat.description.plank, holes[0].diameter
    plug = plank.solid_at_bolts
    return SectionRow(
        ids=tuple(each.id for each in holes),
        width=plank.width,
        thickness=plank.thickness,
        hole=hole,
        left=section_left(plank.width, hole),
        left_without_plug=None if plug is None else section_left(plank.width, max(plug, hole)),
        plug_wall=None if plug is None else (plug - hole) / 2,
    )


def _movements(boat: Boat) -> tuple[MovementRow, ...]:
    """Return how bolt spread and plank width move with moisture."""
    description = boat.description
    spread = 2 * description.fixing.half_spread
    along = movement(spread, ALONG_GRAIN, MOISTURE_CHANGE)
    sleeve = description.fixing.sleeve
    play = sleeve.inner - nominal_diameter(description.fixing.bolt.thread) if sleeve else 0.0
    floor = _movement("floor", "bolt spread, across the grain", spread, description.floor.wood)
    rows = [
        floor._replace(play=max(play, 0.0)) if floor else None,
        _movement("plank", "width, across the grain", description.plank.width, description.plank.wood),
        MovementRow("plank", "bolt spread, along the grain", spread, along, along, "GTR-190 (figure from memory)"),
    ]
    return tuple(row for row in rows if row is not None)


def _movement(part: str, what: str, width: float, given: Wood) -> MovementRow | None:
    """Return a row for a wood; the softwoods' range where the species is not given, None where it has no figure."""
    woods = [find_species(given.species)] if given.species else [one for one in all_species() if one.kind == "softwood"]
    figures = [figure for each in woods for figure in (each.radial, each.tangential) if figure is not None]
    if not figures:
        return None
    name = woods[0].name if given.species else "softwood assumed"
    return MovementRow(
        part=part,
        what=what,
        width=width,
        least=movement(width, min(figures), MOISTURE_CHANGE),
        greatest=movement(width, max(figures), MOISTURE_CHANGE),
        source=f"GTR-190, chapter 13 ({name})",
    )
