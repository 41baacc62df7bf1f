"""The wood: how far fasteners keep from one another, from ends and edges, what holes take, how it moves; mm.

One table of guides: findings and the job sheet's rows both read what is measured here. The floor's grain is taken to
run fore and aft, the plank's along its length. Class rules and the builder's own experience outrank every guide; none
of this proves a strength.
"""

from collections.abc import Iterator
from functools import cache
from itertools import chain, product
from typing import Any, NamedTuple

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.keys import Surface, Wood
from templater.findings import Finding, Severity
from templater.job.fasteners import fit_screws
from templater.plane.shapes import Cells, distance_to_segment, edges
from templater.standards.wood import all_species, bolt_spacing, find_species, movement, screw_spacing

#: Rounding of sums that should be equal, mm; far below what anything is built to.
ROUNDING = 1e-6
#: Share of a guide value below which it counts as clearly missed. Our own choice.
CLEARLY = 0.75
SCREWS = (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)
BOLTS = (HoleKind.BOLT, HoleKind.SLEEVE)
#: Change of moisture content that movement is stated for, per cent: a dry workshop against a damp shed (from memory).
MOISTURE_CHANGE = 4.0
#: Growth along the grain per per cent of moisture: 0.15 % from green to dry over 30 % (GTR-190; figure from memory).
ALONG_GRAIN = 0.0015 / 30
#: Where the figures are from.
PRACTICE = "common practice, no source"
EN_BOLTS = "EN 1995-1-1:2004, table 8.4"
EN_SCREWS = "EN 1995-1-1:2004, table 8.2, predrilled"
EN_DEPTH = "EN 1995-1-1:2004, 8.7.2 (from memory): screws that carry, not those that only locate"


class Guide(NamedTuple):
    """How far a fastener should keep away."""

    code: str  # of the finding where it comes nearer than ``tell``; empty where none is made
    what: str  # the fastener
    way: str  # what it keeps away from
    diameter: float  # the one that the guide multiplies
    least: float  # what the source asks
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


class Worst:
    """The worst of many cases of the same fault, and how many there are, by group."""

    def __init__(self) -> None:
        self._cases: dict[tuple[Any, ...], tuple[float, tuple[str, ...], int]] = {}

    def add(self, group: tuple[Any, ...], value: float, names: tuple[str, ...], *, told: bool = True) -> None:
        """Take in a case, counted if it is told; the smallest value is the worst, the first of equals stands."""
        worst, kept, count = self._cases.get(group, (value, names, 0))
        if value < worst - 1e-9:  # equals differ by rounding only
            worst, kept = value, names
        self._cases[group] = (worst, kept, count + told)

    def add_hole(self, hole: Hole, room: float, *names: str) -> None:
        """Take in a hole if the room round its middle is less than its radius."""
        if room - hole.diameter / 2 < -ROUNDING:
            self.add((hole.key,), room - hole.diameter / 2, (hole.id, hole.name, *names))

    def told(self, boat: Boat, code: str, **figures: float | str) -> Iterator[Finding]:
        """Yield the finding of each key's holes."""
        for (key,), room, (hole, what, *_), more in self.cases():
            yield boat.tell(code, key, hole=hole, what=what, more=more, by=-room, **figures)

    def cases(self) -> Iterator[tuple[tuple[Any, ...], float, tuple[str, ...], str]]:
        """Yield group, worst value, its names, and ``" (and 3 more)"`` or nothing, in the order they were met."""
        for group, (value, names, count) in self._cases.items():
            yield group, value, names, f" (and {count - 1} more)" if count > 1 else ""


def guide_severity(value: float, guide: float) -> Severity:
    """Return how much a missed guide value weighs: a warning if clearly missed, advice if only just."""
    return Severity.WARNING if value < CLEARLY * guide else Severity.ADVICE


def guide_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings F111 (floor's edge), P113, P115 (plank's edges and ends), W103 (screws), W104 (bolts)."""
    for guide, here, names, key, more in _measure(boat):
        if here < guide.tell - ROUNDING:
            told = {"a": names[0], "b": names[1], "more": more, "way": guide.way, "source": guide.source}
            told["diameters"] = f"{here / guide.diameter:.1f}"
            finding = boat.tell(guide.code, key, here=here, least=guide.least, by=guide.least - here, **told)
            yield finding._replace(graded=guide_severity(here, guide.tell))


def guides(boat: Boat) -> tuple[Distance, ...]:
    """Return the worst distance of each kind in the whole boat, and the hold of the plates' screws, kept or not."""
    rows: dict[tuple[str, str], Distance] = {}
    for row in _measure(boat):
        group = (row.guide.what, row.guide.way)
        rows[group] = min(rows.get(group, row), row, key=lambda one: one.measured / one.guide.least)
    screws = fit_screws(boat)[0]
    if screws is not None:
        d = screws.diameter
        guide = Guide("", "plate screws:", "thread in the wood", d, 6 * d, 0.0, EN_DEPTH)
        rows["", ""] = Distance(guide, screws.thread_in_wood, (), "fixing.plate.screws.length")
    return tuple(rows.values())


def _measure(boat: Boat) -> Iterator[Distance]:
    """Yield the worst distance of each kind at each key of the description, kept or not."""
    worst = Worst()
    for guide, keys, room, names in chain(_apart(boat), _to_outline(boat), _to_planks_edges(boat)):
        worst.add((guide, *keys), room, names, told=room < guide.tell - ROUNDING)
    for (guide, *own), room, names, more in worst.cases():
        yield Distance(guide, room, names[:2], names[2] if len(own) > 1 else own[0], more)


#: A guide, the keys of what was measured, the distance, and the names of what it lies between.
_Case = tuple[Guide, tuple[str, ...], float, tuple[str, ...]]


def _apart(boat: Boat) -> Iterator[_Case]:
    """Yield fasteners of one kind against one another, up to four times the guide.

    Only one setting carries the bolt at a time, so the holes of the others need the wood between, not a bolt's
    distance. Plate screws share their load; the least that the table has is theirs.
    """
    own = ((SCREWS, "W103", "plate screws"), (BOLTS, "W104", "bolt holes"))
    for surface, (kinds, code, what) in product(Surface, own):
        chosen = boat.on(surface, *kinds)
        d = max((hole.diameter for hole in chosen), default=1.0)
        least, tell, source = 3 * d, 2.5 * d, PRACTICE
        if kinds is SCREWS:
            least = tell = screw_spacing(d).across
            source = EN_SCREWS
        guide = Guide(code, what, "from one another", d, least, tell, source)
        cells: Cells[Hole] = Cells(4 * least)
        for hole in chosen:
            for distance, other in cells.near(hole.at, 4 * least):
                if distance >= (hole.diameter + other.diameter) / 2 - ROUNDING:  # else W101 tells of it
                    # A set of screws is told once, not each of its places.
                    keys = (one.key.rpartition(".")[0] if kinds is SCREWS else one.key for one in (other, hole))
                    yield guide, tuple(keys), distance, (other.id, hole.id, hole.key)
            cells.add(hole.at, hole)


def _to_outline(boat: Boat) -> Iterator[_Case]:
    """Yield the floor's holes to the edges of its outline, ends of the grain and sides; plywood has no end of it."""
    sides = list(edges(boat.description.floor.outline))
    species = boat.description.floor.wood.species
    grain = not species or find_species(species).kind != "plywood"
    ends = [(a, b) for a, b in sides if grain and abs(b[1] - a[1]) > abs(b[0] - a[0])]
    ways = (("from the floor's end", ends), ("from the floor's edge", [edge for edge in sides if edge not in ends]))
    for hole, (way, lines) in product(boat.on(Surface.FLOOR), ways):
        room = min((distance_to_segment(hole.at, a, b) for a, b in lines), default=0.0)
        if room >= hole.diameter / 2 - ROUNDING:  # else F110 tells of it
            guide = _outline_guide(hole.kind, hole.diameter, boat.thread.nominal, way)
            yield guide, (hole.key,), room, (hole.id, hole.name)


@cache  # for thousands of holes alike
def _outline_guide(kind: HoleKind, d: float, bolt: float, way: str) -> Guide:
    """Return the guide of a hole of the floor: the bolt is pulled fore and aft and athwart, the screws fore and aft."""
    what, least, source, end = "fittings", 3 * d, PRACTICE, way.endswith("end")
    if kind in BOLTS:
        what, wanted = "bolt holes", bolt_spacing(bolt).end if end else bolt_spacing(bolt, 90).edge
        if wanted >= least:
            least, source = wanted, EN_BOLTS
    elif kind in SCREWS:
        what, source = "plate screws", EN_SCREWS
        least = screw_spacing(d).end if end else screw_spacing(d).edge
    return Guide("F111", what, way, d, least, least, source)


def _to_planks_edges(boat: Boat) -> Iterator[_Case]:
    """Yield the plank's bolts to its edges and ends: it is pulled across its grain, so either edge may be loaded."""
    plank, d, key = boat.description.plank, boat.thread.nominal, edge_key(boat)
    edge, end = bolt_spacing(d, 90).edge, bolt_spacing(d).end
    for code, way, room, least, own in (
        ("P113", "from the plank's fore edge", plank.fore_edge, edge, key),
        ("P113", "from the plank's aft edge", plank.width - plank.fore_edge, edge, key),
        ("P115", "from the plank's ends", boat.plank.end_to_hole, end, "fixing.half_spread"),
    ):
        if room >= boat.bolt_hole / 2 - ROUNDING:  # else P112 or P114 tells of it
            yield Guide(code, "bolts in the plank", way, d, least, least, EN_BOLTS), (own,), room, ("KP", "KS")


def edge_key(boat: Boat) -> str:
    """Return the key that says how far the bolt line is from the plank's edges."""
    return "plank.width" if boat.description.plank.bolts_from_fore_edge is None else "plank.bolts_from_fore_edge"


def section(boat: Boat) -> tuple[tuple[str, ...] | float | str | None, ...]:
    """Return the row of the table ``section``, the plank at its bolt holes, which are alike.

    Z = b h^2 / 6, so a hole through the thickness leaves (b - d) / b. Source: any strength-of-materials text.
    """
    plank, hole = boat.description.plank, boat.bolt_hole
    width, plug = plank.width, plank.solid_at_bolts
    plugged = ("solid", None) if plug is None else ((width - max(plug, hole)) / width, (plug - hole) / 2)
    return (("KP", "KS"), width, plank.thickness, hole, (width - hole) / width, *plugged)


def movements(boat: Boat) -> Iterator[tuple[str, float, float, float, float | None, str]]:
    """Yield rows of the table ``movement`` for ``MOISTURE_CHANGE``, each with its source; none for an unknown wood."""
    description, spread = boat.description, 2 * boat.description.fixing.half_spread
    play = boat.play.floor if description.fixing.sleeve else None
    for what, width, given, room in (
        ("floor: bolt spread, across the grain", spread, description.floor.wood, play or None),
        ("plank: width, across the grain", description.plank.width, description.plank.wood, None),
    ):
        figures, name = _growth(given)
        if figures:
            least, greatest = (movement(width, one, MOISTURE_CHANGE) for one in (min(figures), max(figures)))
            yield what, width, least, greatest, room, f"GTR-190, chapter 13 ({name})"
    along = movement(spread, ALONG_GRAIN, MOISTURE_CHANGE)
    yield "plank: bolt spread, along the grain", spread, along, along, None, "GTR-190 (figure from memory)"


def _growth(given: Wood) -> tuple[list[float], str]:
    """Return a wood's growth across the grain and its name; that of all softwoods where no species is given."""
    woods = [find_species(given.species)] if given.species else [one for one in all_species() if one.kind == "softwood"]
    figures = [figure for each in woods for figure in (each.radial, each.tangential) if figure is not None]
    return figures, woods[0].name if given.species else "softwood assumed"
