"""The one table of guides: how far fasteners keep from one another, from ends and from edges, all mm.

Findings and the job sheet's rows both read what is measured here. The floor's grain is taken to run fore and aft, the
plank's along its length. Class rules and the builder's own experience outrank every guide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.keys import Surface
from templater.findings import Finding, Severity
from templater.job.plate_screws import fit_screws
from templater.plane.cells import Cells
from templater.plane.polygons import edges
from templater.plane.shapes import Point, distance_to_segment
from templater.standards.fasteners import nominal_diameter
from templater.standards.spacing import bolt_spacing, screw_spacing
from templater.standards.wood import find_species

#: Rounding of sums that should be equal, mm; far below what anything is built to.
ROUNDING = 1e-6
#: Share of a guide value below which it counts as clearly missed. Our own choice.
CLEARLY = 0.75
SCREWS = (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)
BOLTS = (HoleKind.BOLT, HoleKind.SLEEVE)
PRACTICE = "common practice, no source"
EN_BOLTS = "EN 1995-1-1:2004, table 8.4"
EN_SCREWS = "EN 1995-1-1:2004, table 8.2, predrilled"
EN_DEPTH = "EN 1995-1-1:2004, 8.7.2 (from memory): screws that carry, not those that only locate"

#: What to do, by code; ``{}`` is by how much.
_CURES = {
    "F111": "move it {} inward",
    "P113": "move it {} inward",
    "P115": "take a longer plank or a smaller half spread",
    "W103": "set them {} further apart",
    "W104": "set them {} further apart",
}


class Guide(NamedTuple):
    """How far a fastener should keep away.

    Attributes:
        code: of the finding where it comes nearer than ``tell``; empty where none is made.
        what: the fastener; ``way`` what it keeps away from.
        diameter: the one that the guide multiplies.
        least: what the source asks.
    """

    code: str
    what: str
    way: str
    diameter: float
    least: float
    tell: float
    source: str


class Distance(NamedTuple):
    """The worst distance of its kind at one key: ``more`` others there are told as well."""

    guide: Guide
    measured: float
    ids: tuple[str, ...]
    key: str
    more: str = ""

    @property
    def diameters(self) -> float:
        """The distance as multiples of the diameter."""
        return self.measured / self.guide.diameter

    @property
    def met(self) -> bool:
        """Whether the guide is kept."""
        return self.measured >= self.guide.least - ROUNDING


def guide_severity(value: float, guide: float) -> Severity:
    """Return how much a missed guide value weighs: a warning if clearly missed, advice if only just."""
    return Severity.WARNING if value < CLEARLY * guide else Severity.ADVICE


class Worst:
    """The worst of many cases of the same fault, and how many there are, by group."""

    def __init__(self) -> None:
        self._cases: dict[tuple[object, ...], tuple[float, tuple[str, ...], int]] = {}

    def add(self, group: tuple[object, ...], value: float, names: tuple[str, ...], *, told: bool = True) -> None:
        """Take in a case, counted if it is told; the smallest value is the worst, the first of equals stands."""
        worst, kept, count = self._cases.get(group, (value, names, 0))
        if value < worst - 1e-9:  # equals differ by rounding only
            worst, kept = value, names
        self._cases[group] = (worst, kept, count + told)

    def cases(self) -> Iterator[tuple[tuple[object, ...], float, tuple[str, ...], str]]:
        """Yield group, worst value, its names, and ``" (and 3 more)"`` or nothing, in the order they were met."""
        for group, (value, names, count) in self._cases.items():
            yield group, value, names, f" (and {count - 1} more)" if count > 1 else ""


def measure(boat: Boat) -> tuple[Distance, ...]:
    """Return the worst distance of each kind at each key of the description, kept or not."""
    worst = Worst()
    for surface in Surface:
        _apart(boat.on(surface), worst)
    _to_outline(boat, worst)
    _to_planks_edges(boat, worst)
    return tuple(
        Distance(guide, value, names, str(keys[-1]), more)
        for (guide, *keys), value, names, more in worst.cases()
        if isinstance(guide, Guide)
    )


def guide_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings F111 (floor's edge), P113, P115 (plank's edges and ends), W103 (screws), W104 (bolts)."""
    say = boat.description.figures.size
    for guide, measured, names, key, more in measure(boat):
        if not measured < guide.tell - ROUNDING:
            continue
        who = f"holes {names[0]} and {names[1]}{more} stand" if guide.code in ("W103", "W104") else (
            f"hole {names[0]} ({names[1]}){more} stands" if guide.code == "F111" else "the bolt line stands")
        text = f"{who} {say(measured)}, {measured / guide.diameter:.1f} diameters, {guide.way}; guide: " \
            f"{say(guide.least)} ({guide.source}) - {_CURES[guide.code].format(say(guide.least - measured))}"
        yield boat.finding(guide.code, key, text, guide_severity(measured, guide.tell))


def guide_rows(boat: Boat) -> tuple[Distance, ...]:
    """Return the worst distance of each kind in the whole boat, and the hold of the plates' screws."""
    rows: dict[tuple[str, str], Distance] = {}
    for row in measure(boat):
        group = (row.guide.what, row.guide.way)
        if group not in rows or row.measured / row.guide.least < rows[group].measured / rows[group].guide.least:
            rows[group] = row
    screws = fit_screws(boat)[0]
    if screws is not None:
        least = 6 * screws.diameter
        guide = Guide("", "plate screws", "of thread in the wood", screws.diameter, least, 0.0, EN_DEPTH)
        rows["", ""] = Distance(guide, screws.thread_in_wood, (), "fixing.plate.screws.length")
    return tuple(rows.values())


def _apart(holes: Sequence[Hole], worst: Worst) -> None:
    """Measure fasteners of one kind against one another, up to four times the guide.

    Only one setting carries the bolt at a time, so the holes of the others need the wood between, not a bolt's
    distance. Plate screws share their load; the least that the table has is theirs.
    """
    for kinds, code, what in ((SCREWS, "W103", "plate screws"), (BOLTS, "W104", "bolt holes")):
        chosen = [hole for hole in holes if hole.kind in kinds]
        if len(chosen) < 2:
            continue
        d = max(hole.diameter for hole in chosen)
        bolts = kinds is BOLTS
        least = 3 * d if bolts else screw_spacing(d).across
        source = PRACTICE if bolts else EN_SCREWS
        guide = Guide(code, what, "from one another", d, least, 2.5 * d if bolts else least, source)
        cells: Cells[Hole] = Cells(4 * least)
        for hole in chosen:
            for distance, other in cells.near(hole.at, 4 * least):
                if distance >= (hole.diameter + other.diameter) / 2 - ROUNDING:  # else W101 tells of it
                    told = distance < guide.tell - ROUNDING
                    # A set of screws is told once, not each of its places.
                    keys = (one.key if bolts else one.key.rpartition(".")[0] for one in (other, hole))
                    worst.add((guide, *keys), distance, (other.id, hole.id), told=told)
            cells.add(hole.at, hole)


def _to_outline(boat: Boat, worst: Worst) -> None:
    """Measure the floor's holes to the edges of its outline: those that end the grain, and those beside it.

    Plywood has no end of the grain.
    """
    outline = boat.description.floor.outline
    if not outline:
        return
    sides = list(edges(outline))
    species = boat.description.floor.wood.species
    grain = not species or find_species(species).kind != "plywood"
    ends = [(a, b) for a, b in sides if grain and abs(b[1] - a[1]) > abs(b[0] - a[0])]
    ways = (("from the floor's end", ends), ("from the floor's edge", [edge for edge in sides if edge not in ends]))
    guides: dict[tuple[object, ...], Guide] = {}
    for hole in boat.on(Surface.FLOOR):
        for number, (way, lines) in enumerate(ways):
            if not lines:
                continue
            which = (hole.kind, hole.diameter, number)
            if which not in guides:
                guides[which] = _outline_guide(boat, hole, way, end=number == 0)
            room = _nearest(hole.at, lines)
            told = room < guides[which].tell - ROUNDING
            if room >= hole.diameter / 2 - ROUNDING:  # else F110 tells of it
                worst.add((guides[which], hole.key), room, (hole.id, hole.name), told=told)


def _outline_guide(boat: Boat, hole: Hole, way: str, *, end: bool) -> Guide:
    """Return the guide of a hole of the floor: the bolt is pulled fore and aft and athwart, the screws fore and aft."""
    d, least, source = hole.diameter, 3 * hole.diameter, PRACTICE
    what = "fittings"
    if hole.kind in BOLTS:
        what, bolt = "bolt holes", nominal_diameter(boat.description.fixing.bolt.thread)
        wanted = bolt_spacing(bolt).end if end else bolt_spacing(bolt, 90).edge
        if wanted >= least:
            least, source = wanted, EN_BOLTS
    elif hole.kind in SCREWS:
        what, source = "plate screws", EN_SCREWS
        least = screw_spacing(d).end if end else screw_spacing(d).edge
    return Guide("F111", what, way, d, least, least, source)


def _nearest(point: Point, lines: Sequence[tuple[Point, Point]]) -> float:
    return min(distance_to_segment(point, a, b) for a, b in lines)


def _to_planks_edges(boat: Boat, worst: Worst) -> None:
    """Measure the plank's bolts to its edges and ends: it is pulled across its grain, so either edge may be loaded."""
    bolts = [hole for hole in boat.on(Surface.PLANK) if hole.kind is HoleKind.BOLT]
    if not bolts:
        return
    plank, d = boat.description.plank, nominal_diameter(boat.description.fixing.bolt.thread)
    radius = bolts[0].diameter / 2
    along, across = bolt_spacing(d), bolt_spacing(d, 90)
    edge = "plank.bolts_from_fore_edge" if plank.bolts_from_fore_edge is not None else "plank.width"
    for code, way, measured, least, key in (
        ("P113", "from the plank's fore edge", plank.fore_edge, across.edge, edge),
        ("P113", "from the plank's aft edge", plank.width - plank.fore_edge, across.edge, edge),
        ("P115", "from the plank's ends", boat.plank.end_to_hole, along.end, "fixing.half_spread"),
    ):
        if math.isfinite(measured) and measured >= radius - ROUNDING:  # else P112 or P114 tells of it
            guide = Guide(code, "bolts in the plank", way, d, least, least, EN_BOLTS)
            worst.add((guide, key), measured, tuple(hole.id for hole in bolts))
