"""The floor: holes inside its outline and off the areas to be kept clear, wood between them, plates in place."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.wood import BOLTS, ROUNDING, SCREWS, Worst, guide_severity
from templater.description.keys import Plate, Surface
from templater.findings import Finding
from templater.plane.shapes import Cells, around, crossing_edges, edges, gap, grow, room_inside, segments_cross
from templater.standards.fasteners import find_thread

#: Least side of a cell when holes are looked up, mm, so that a large hole does not search among countless small cells.
_CELL = 8.0
#: Travel along the slot that takes up both sides' taping, which agrees to +-1 mm. Common practice, no source.
TRAVEL = 2.0
#: Play that is not much yet, mm: what the widest hole of ISO 273 leaves M8.
_MUCH_PLAY = 2.0


def hole_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F110 (outside), F112 (kept clear), W101 (holes cut into one another), W102 (thin wood between)."""
    outline, outside = boat.description.floor.outline, Worst()
    for hole in boat.on(Surface.FLOOR) if outline else ():
        outside.add_hole(hole, room_inside(outline, hole.at))
    yield from outside.told(boat, "F110")
    yield from _not_clear(boat)
    for surface in Surface:
        yield from _wood_between(boat, boat.on(surface))


def plate_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F120 to F124 (places of the plates), F134 (slot), F135 (second screws), F140 (the sleeve's bore)."""
    fixing = boat.description.fixing
    plate, sleeve, thread = fixing.plate, fixing.sleeve, find_thread(fixing.bolt.thread)
    bolt, widest = thread.nominal, thread.coarse
    if plate is not None:
        yield from _places(boat)
        yield from _neighbours(boat, plate)
        yield from _covered(boat, plate)
        if plate.slot and plate.slot.length - bolt < TRAVEL - ROUNDING:
            travel = max(0.0, plate.slot.length - bolt)
            yield boat.tell("F134", "fixing.plate.slot.length", travel=travel, guide=TRAVEL, tape=TRAVEL / 2)
        if plate.screws and plate.screws.first and not plate.screws.second:
            yield boat.tell("F135", "fixing.plate.screws")
    if sleeve and sleeve.inner > max(widest, bolt + _MUCH_PLAY) + ROUNDING:
        bore, told = sleeve.inner, {"thread": fixing.bolt.thread, "standard": thread.holes_from}
        yield boat.tell("F140", "fixing.sleeve.inner", bore=bore, play=bore - bolt, widest=widest, **told)


def _not_clear(boat: Boat) -> Iterator[Finding]:
    holes = boat.on(Surface.FLOOR)
    for number, area in enumerate(boat.description.floor.keep_clear):
        worst = Worst()
        box = around(area.corners)
        for hole in holes:
            wanted = area.margin + hole.diameter / 2
            (x, y), (x0, y0, x1, y1) = hole.at, grow(box, wanted)
            if x0 < x < x1 and y0 < y < y1:
                worst.add_hole(hole, -room_inside(area.corners, hole.at) - area.margin)
        yield from worst.told(boat, "F112", area=area.name, number=f"{number}", margin=area.margin)


def _wood_between(boat: Boat, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    """Every pair of holes whose wood between is thinner than the smaller of the two is wide."""
    # Holes go into one layer of cells for each doubling of diameter, the small ones first: a large hole looks among
    # the small ones and its like, and small ones never search as far as a large one reaches.
    layers: dict[int, Cells[Hole]] = {}
    cut, thin = Worst(), Worst()
    for hole in sorted(holes, key=lambda hole: hole.diameter):
        own = math.ceil(math.log2(hole.diameter))
        for layer, cells in layers.items():
            reach = hole.diameter / 2 + 1.5 * min(2.0**layer, hole.diameter)
            for distance, other in cells.near(hole.at, reach):
                room = distance - (hole.diameter + other.diameter) / 2
                if room < -ROUNDING:
                    cut.add((other.key, hole.key), room, (other.id, hole.id))
                    break  # one of its neighbours is enough, and keeps a heap of holes from costing its square
                if room < other.diameter - ROUNDING and not _guided(hole, other):
                    thin.add((other.key, hole.key), room / other.diameter, (other.id, hole.id, f"{room:.6f}"))
        layers.setdefault(own, Cells(max(2 * 2.0**own, _CELL))).add(hole.at, hole)
    for (_, key), room, (a, b), more in cut.cases():
        yield boat.tell("W101", str(key), a=a, b=b, more=more, by=-room)
    for (_, key), share, (a, b, left), more in thin.cases():
        finding = boat.tell("W102", str(key), a=a, b=b, more=more, left=float(left))
        yield finding._replace(graded=guide_severity(share, 1.0))


def _guided(one: Hole, other: Hole) -> bool:
    """Whether a pair is of one kind with a published guide distance."""
    return any(one.kind in kinds and other.kind in kinds for kinds in (SCREWS, BOLTS))


def _places(boat: Boat) -> Iterator[Finding]:
    """Plates inside the outline and off the areas to be kept clear."""
    floor, key = boat.description.floor, "fixing.half_spread"
    outline = floor.outline if floor.outline and crossing_edges(floor.outline) is None else ()
    for plate in boat.plates:
        if outline:
            short = min(room_inside(outline, corner) for corner in plate.corners)
            # A hair smaller, so that a plate may lie flush with the outline.
            cx, cy = plate.centre
            inner = [(x + (cx - x) * ROUNDING, y + (cy - y) * ROUNDING) for x, y in plate.corners]
            if short < -ROUNDING:
                yield boat.tell("F120", key, "past", plate=plate.id, by=-short)
            elif any(segments_cross(a, b, c, d) for a, b in edges(inner) for c, d in edges(outline)):
                yield boat.tell("F120", key, "across", plate=plate.id)
        for number, area in enumerate(floor.keep_clear):
            room = gap(plate.corners, area.corners)
            if room == 0 or room < area.margin - ROUNDING:
                told = {"plate": plate.id, "area": area.name, "number": f"{number}"}
                yield boat.tell("F121", key, "near" if room else "on", by=room, margin=area.margin, **told)


def _neighbours(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Plates of neighbouring settings, and the two sides' plates."""
    for fore, aft in pairwise(boat.settings):
        room = aft.station - fore.station - plate.length
        if room < -ROUNDING:
            numbers = {"fore": f"{fore.number}", "aft": f"{aft.number}"}
            yield boat.tell("F122", aft.key, length=plate.length, by=-room, **numbers)
    room = 2 * boat.description.fixing.half_spread - plate.width
    if room < -ROUNDING:
        yield boat.tell("F123", "fixing.half_spread", width=plate.width, by=-room, half=plate.width / 2)


def _covered(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Fittings' holes that a plate covers."""
    worst = Worst()
    for hole in boat.on(Surface.FLOOR, HoleKind.FITTING):
        (x, y), radius = hole.at, hole.diameter / 2
        for solved in boat.plates:
            u, v = solved.centre
            if abs(x - u) < plate.length / 2 + radius and abs(y - v) < plate.width / 2 + radius:
                worst.add_hole(hole, -room_inside(solved.corners, hole.at), solved.id)
    for (key,), _, (name, what, place), more in worst.cases():
        yield boat.tell("F124", str(key), hole=name, what=what, more=more, plate=place)
