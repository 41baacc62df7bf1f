"""What the holes take from the wood, spacings held against published guides, and moisture movement: advice only, mm.

The floor's grain is taken to run fore and aft, the plank's along its length. None of this proves a strength.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.model import Surface, Wood
from templater.job.plate_screws import fit_screws
from templater.plane.shapes import Point, distance_to_segment
from templater.standards.fasteners import nominal_diameter
from templater.standards.spacing import Spacing, bolt_spacing, screw_spacing
from templater.standards.wood import all_species, find_species, movement

EUROCODE_BOLTS = "EN 1995-1-1:2004, table 8.4"
EUROCODE_SCREWS = "EN 1995-1-1:2004, table 8.2, predrilled"
EUROCODE_DEPTH = "EN 1995-1-1:2004, 8.7.2 (from memory): screws that carry, not those that only locate"
HANDBOOK = "FPL Wood Handbook GTR-190, chapter 8 (from memory)"
#: Change of moisture content that movement is stated for, per cent: a dry workshop against a damp shed (from memory).
MOISTURE_CHANGE = 4.0
#: Growth along the grain per per cent of moisture: 0.15 % from green to dry over 30 % (GTR-190; figure from memory).
ALONG_GRAIN = 0.0015 / 30


@dataclass(frozen=True, slots=True)
class SectionRow:
    """The plank's section at a bolt hole.

    Attributes:
        left: section modulus with the hole over that without, hole right through: (b - d) / b.
        left_without_plug: the same if the plug carries nothing: the width less the plug; None for a solid plank.
        plug_wall: wood of the plug left all round the hole, mm; ``plug_wall_diameters`` as multiples of the hole.
    """

    ids: tuple[str, ...]
    width: float
    thickness: float
    hole: float
    left: float
    left_without_plug: float | None
    plug_wall: float | None
    plug_wall_diameters: float | None
    source: str = "rectangular section, Z = b h^2 / 6"


@dataclass(frozen=True, slots=True)
class NetRow:
    """Wood left between two neighbouring holes of the floor: ``net`` between their edges, mm."""

    a: str
    b: str
    centres: float
    net: float


@dataclass(frozen=True, slots=True)
class SpacingRow:
    """A distance held against a published guide.

    Attributes:
        fastener: what stands in the wood; ``diameter`` the one that the guide multiplies.
        direction: ``along the grain``, ``across the grain``, ``to the end``, ``to the edge``, ``thread in the wood``.
        measured: mm; ``diameters`` the same as multiples; ``guide`` the least that the source asks, mm.
        met: whether it is kept.
    """

    part: str
    fastener: str
    direction: str
    diameter: float
    measured: float
    guide: float
    source: str

    @property
    def diameters(self) -> float:
        """The measured distance as multiples of the diameter."""
        return self.measured / self.diameter

    @property
    def met(self) -> bool:
        """Whether the guide is kept."""
        return self.measured >= self.guide - 1e-6


@dataclass(frozen=True, slots=True)
class MovementRow:
    """How much a width moves with ``MOISTURE_CHANGE`` per cent of moisture: between ``least`` and ``greatest``, mm."""

    part: str
    what: str
    width: float
    least: float
    greatest: float
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class WoodAdvice:
    """All rows about the wood."""

    sections: tuple[SectionRow, ...]
    net: tuple[NetRow, ...]
    spacings: tuple[SpacingRow, ...]
    movements: tuple[MovementRow, ...]


def wood(boat: Boat) -> WoodAdvice:
    """Return what a solved boat's holes take from the wood, as advice."""
    return WoodAdvice(_sections(boat), _net(boat), (*_plank_spacing(boat), *_floor_spacing(boat)), _movements(boat))


def section_left(width: float, hole: float) -> float:
    """Return net over gross section modulus of a rectangle with a hole through its thickness, bent flatwise.

    Z = b h^2 / 6, so the share is (b - d) / b. Source: any strength-of-materials text.

    >>> section_left(175, 8)
    0.9542857142857143
    """
    return (width - hole) / width


def _sections(boat: Boat) -> tuple[SectionRow, ...]:
    """Return one row for the plank's bolt holes, which are alike."""
    holes = [hole for hole in boat.on(Surface.PLANK) if hole.kind is HoleKind.BOLT]
    if not holes:
        return ()
    plank, hole = boat.description.plank, holes[0].diameter
    plug = plank.solid_at_bolts
    wall = None if plug is None else (plug - hole) / 2
    return (
        SectionRow(
            ids=tuple(each.id for each in holes),
            width=plank.width,
            thickness=plank.thickness,
            hole=hole,
            left=section_left(plank.width, hole),
            left_without_plug=None if plug is None else section_left(plank.width, max(plug, hole)),
            plug_wall=wall,
            plug_wall_diameters=None if wall is None else wall / hole,
        ),
    )


def _net(boat: Boat) -> tuple[NetRow, ...]:
    """Return what is left between each floor bolt hole and its nearest neighbours: a bolt hole, and any other hole."""
    holes = boat.on(Surface.FLOOR)
    rows = []
    for hole in holes:
        if hole.kind not in (HoleKind.BOLT, HoleKind.SLEEVE):
            continue
        alike = [other for other in holes if other.kind is hole.kind and other.id > hole.id and other.side is hole.side]
        others = [other for other in holes if other.kind not in (HoleKind.BOLT, HoleKind.SLEEVE)]
        for group in (alike, others):
            if group:
                near = min(group, key=lambda other: (_net_between(hole, other), other.id))
                rows.append(NetRow(hole.id, near.id, math.dist(hole.at, near.at), _net_between(hole, near)))
    return tuple(rows)


def _net_between(a: Hole, b: Hole) -> float:
    """Return the wood between the edges of two holes, mm."""
    return math.dist(a.at, b.at) - (a.diameter + b.diameter) / 2


def _plank_spacing(boat: Boat) -> list[SpacingRow]:
    """Return end and edge distances of the plank's bolts."""
    if not any(hole.kind is HoleKind.BOLT for hole in boat.on(Surface.PLANK)):
        return []
    plank = boat.description.plank
    d = nominal_diameter(boat.description.fixing.bolt.thread)
    edge = min(plank.fore_edge, plank.width - plank.fore_edge)
    along, across = bolt_spacing(d), bolt_spacing(d, 90)
    return [
        SpacingRow("plank", "bolt", "to the end", d, boat.plank.end_to_hole, along.end_loaded, EUROCODE_BOLTS),
        SpacingRow("plank", "bolt", "to the end", d, boat.plank.end_to_hole, 7 * d, HANDBOOK),
        SpacingRow("plank", "bolt", "to the edge", d, edge, across.edge_loaded, EUROCODE_BOLTS),
        SpacingRow("plank", "bolt", "to the edge", d, edge, 4 * d, HANDBOOK),
    ]


def _floor_spacing(boat: Boat) -> list[SpacingRow]:
    """Return spacings of bolts and plate screws in the floor, forces along and across the grain both reckoned with."""
    fixing = boat.description.fixing
    floor = boat.on(Surface.FLOOR)
    bolts = [hole.at for hole in floor if hole.kind in (HoleKind.BOLT, HoleKind.SLEEVE)]
    d = nominal_diameter(fixing.bolt.thread)
    rows = _spaced(boat, "bolt", bolts, d, _greatest(bolt_spacing(d), bolt_spacing(d, 90)), EUROCODE_BOLTS)
    if fixing.sleeve is not None:
        outer = fixing.sleeve.outer
        guide = _greatest(bolt_spacing(outer), bolt_spacing(outer, 90))
        rows += _spaced(boat, "sleeve taken as a bolt", bolts, outer, guide, EUROCODE_BOLTS)
    if fixing.plate is not None and fixing.plate.screws is not None:
        d = fixing.plate.screws.diameter
        screws = [hole.at for hole in floor if hole.kind in (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)]
        guide = _greatest(screw_spacing(d), screw_spacing(d, 90))
        rows += _spaced(boat, "plate screw, both sets", screws, d, guide, EUROCODE_SCREWS)
        held = fit_screws(boat)[0]
        if held is not None:
            rows.append(
                SpacingRow("floor", "plate screw", "thread in the wood", d, held.thread_in_wood, 6 * d, EUROCODE_DEPTH)
            )
    return rows


def _greatest(one: Spacing, other: Spacing) -> Spacing:
    """Return the greater of each distance: the force may come along or across the grain."""
    return Spacing(
        along=max(one.along, other.along),
        across=max(one.across, other.across),
        end_loaded=max(one.end_loaded, other.end_loaded),
        end_free=max(one.end_free, other.end_free),
        edge_loaded=max(one.edge_loaded, other.edge_loaded),
        edge_free=max(one.edge_free, other.edge_free),
    )


def _spaced(
    boat: Boat, fastener: str, at: Sequence[Point], d: float, guide: Spacing, source: str
) -> list[SpacingRow]:
    """Return rows for fasteners in one file along x, in one row along y, and to the outline's ends and sides."""
    ordered = sorted(at)
    along = [
        other[0] - one[0]
        for number, one in enumerate(ordered)
        for other in ordered[number + 1 :]
        if abs(one[1] - other[1]) < d / 2 < other[0] - one[0]
    ]
    across = [
        abs(other[1] - one[1])
        for number, one in enumerate(ordered)
        for other in ordered[number + 1 :]
        if other[0] - one[0] < d / 2 < abs(other[1] - one[1])
    ]
    rows = []
    if along:
        rows.append(SpacingRow("floor", fastener, "along the grain", d, min(along), guide.along, source))
    if across:
        rows.append(SpacingRow("floor", fastener, "across the grain", d, min(across), guide.across, source))
    outline = boat.description.floor.outline
    if outline and at:
        ends, sides = _edges(outline)
        if ends:
            measured = min(distance_to_segment(point, *edge) for point in at for edge in ends)
            rows.append(SpacingRow("floor", fastener, "to the end", d, measured, guide.end_loaded, source))
        if sides:
            measured = min(distance_to_segment(point, *edge) for point in at for edge in sides)
            rows.append(SpacingRow("floor", fastener, "to the edge", d, measured, guide.edge_loaded, source))
    return rows


Edge = tuple[Point, Point]


def _edges(outline: Sequence[Point]) -> tuple[list[Edge], list[Edge]]:
    """Return an outline's edges that end the grain (more athwart than fore and aft), and those beside it."""
    edges = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    ends = [edge for edge in edges if abs(edge[1][1] - edge[0][1]) > abs(edge[1][0] - edge[0][0])]
    return ends, [edge for edge in edges if edge not in ends]


def _movements(boat: Boat) -> tuple[MovementRow, ...]:
    """Return how bolt spread and plank width move with moisture."""
    description = boat.description
    spread = 2 * description.fixing.half_spread
    along = movement(spread, ALONG_GRAIN, MOISTURE_CHANGE)
    sleeve = description.fixing.sleeve
    play = sleeve.inner - nominal_diameter(description.fixing.bolt.thread) if sleeve else 0.0
    note = f"the sleeves' play takes up {play:.2g} mm of it before the bolts bind" if play > 0 else ""
    floor = _movement("floor", "bolt spread, across the grain", spread, description.floor.wood)
    rows = [
        replace(floor, note=note) if floor else None,
        _movement("plank", "width, across the grain", description.plank.width, description.plank.wood),
        MovementRow("plank", "bolt spread, along the grain", spread, along, along, "GTR-190 (figure from memory)"),
    ]
    return tuple(row for row in rows if row is not None)


def _movement(part: str, what: str, width: float, given: Wood) -> MovementRow | None:
    """Return a row for a wood; the whole table's range where the species is not given, None where it has no figure."""
    try:
        woods = [find_species(given.species)] if given.species else list(all_species())
    except KeyError:
        woods = list(all_species())
    figures = [figure for each in woods for figure in (each.radial, each.tangential) if figure is not None]
    if not figures:
        return None
    name = woods[0].name if len(woods) == 1 else "species not given: range of the table"
    return MovementRow(
        part=part,
        what=what,
        width=width,
        least=movement(width, min(figures), MOISTURE_CHANGE),
        greatest=movement(width, max(figures), MOISTURE_CHANGE),
        source=f"GTR-190, chapter 13 ({name})",
    )
