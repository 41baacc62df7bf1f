"""The floor: holes inside its outline and off the areas to be kept clear, wood between them, plates in place."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.wood import BOLTS, ROUNDING, SCREWS, Worst, guide_severity
from templater.description.keys import Plate, Surface
from templater.findings import Finding
from templater.plane.shapes import Cells, crossing_edges, edges, gap, room_inside, segments_cross
from templater.standards.fasteners import clearance_hole, hole_standard, nominal_diameter

#: Least side of a cell when holes are looked up, mm, so that a large hole does not search among countless small cells.
_CELL = 8.0
#: Travel along the slot that takes up both sides' taping, which agrees to +-1 mm. Common practice, no source.
TRAVEL = 2.0


def hole_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F110 (outside), F112 (kept clear), W101 (holes cut into one another), W102 (thin wood between)."""
    yield from _outside(boat)
    yield from _not_clear(boat)
    for surface in Surface:
        yield from _wood_between(boat, boat.on(surface))


def plate_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F120 to F124 (places of the plates), F134 (slot), F135 (second screws), F140 (the sleeve's bore)."""
    plate = boat.description.fixing.plate
    if plate is not None:
        yield from _places(boat)
        yield from _neighbours(boat, plate)
        yield from _covered(boat, plate)
        yield from _slot(boat, plate)
        if plate.screws and plate.screws.first and not plate.screws.second:
            text = "no second set of screws: a replacement plate would go into worn holes - give places in fresh wood"
            yield boat.finding("F135", "fixing.plate.screws", text)
    yield from _bore(boat)


def _outside(boat: Boat) -> Iterator[Finding]:
    outline, say, outside = boat.description.floor.outline, boat.description.figures.size, Worst()
    for hole in boat.on(Surface.FLOOR) if outline else ():
        room = room_inside(outline, hole.at) - hole.diameter / 2
        if room < -ROUNDING:
            outside.add((hole.key,), room, (hole.id, hole.name))
    for (key,), room, (name, what), more in outside.cases():
        text = (
            f"hole {name} ({what}){more} reaches {say(-room)} past the floor's outline - move it that far inward or "
            "correct the outline"
        )
        yield boat.finding("F110", str(key), text)


def _not_clear(boat: Boat) -> Iterator[Finding]:
    say, holes = boat.description.figures.size, boat.on(Surface.FLOOR)
    for number, area in enumerate(boat.description.floor.keep_clear):
        worst = Worst()
        xs, ys = sorted(x for x, _ in area.corners), sorted(y for _, y in area.corners)
        for hole in holes:
            wanted = area.margin + hole.diameter / 2
            x, y = hole.at
            if not (xs[0] - wanted < x < xs[-1] + wanted and ys[0] - wanted < y < ys[-1] + wanted):
                continue
            distance = -room_inside(area.corners, hole.at)
            if distance < wanted - ROUNDING:
                worst.add((hole.key,), distance - wanted, (hole.id, hole.name))
        for (key,), short, (name, what), more in worst.cases():
            text = (
                f"hole {name} ({what}){more} comes {say(-short)} too near {area.name} (floor.keep_clear.{number}), "
                f"margin {say(area.margin)} - move it that far away"
            )
            yield boat.finding("F112", str(key), text)


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
    say = boat.description.figures.size
    for (_, key), room, (a, b), more in cut.cases():
        text = (
            f"holes {a} and {b}{more} cut {say(-room)} into one another - move them apart by that and the wood wanted "
            "between"
        )
        yield boat.finding("W101", str(key), text)
    for (_, key), share, (a, b, left), more in thin.cases():
        text = (
            f"between holes {a} and {b}{more} only {say(float(left))} of wood is left; guide: the smaller hole's "
            "diameter (common practice) - move them apart"
        )
        yield boat.finding("W102", str(key), text, guide_severity(share, 1.0))


def _guided(one: Hole, other: Hole) -> bool:
    """Whether a pair is of one kind with a published guide distance."""
    return any(one.kind in kinds and other.kind in kinds for kinds in (SCREWS, BOLTS))


def _places(boat: Boat) -> Iterator[Finding]:
    """Plates inside the outline and off the areas to be kept clear."""
    say, floor = boat.description.figures.size, boat.description.floor
    key = "fixing.half_spread"
    outline = floor.outline if floor.outline and crossing_edges(floor.outline) is None else ()
    for plate in boat.plates:
        if outline:
            short = min(room_inside(outline, corner) for corner in plate.corners)
            # A hair smaller, so that a plate may lie flush with the outline.
            cx, cy = plate.centre
            inner = [(x + (cx - x) * ROUNDING, y + (cy - y) * ROUNDING) for x, y in plate.corners]
            how = ""
            if short < -ROUNDING:
                how = f"reaches {say(-short)} past the floor's outline"
            elif any(segments_cross(a, b, c, d) for a, b in edges(inner) for c, d in edges(outline)):
                how = "lies across an edge of the floor's outline"
            if how:
                text = f"plate {plate.id} {how} - move the bolt line inward or take a smaller plate"
                yield boat.finding("F120", key, text)
        for number, area in enumerate(floor.keep_clear):
            room = gap(plate.corners, area.corners)
            if room == 0 or room < area.margin - ROUNDING:
                how = "lies on" if room == 0 else f"comes within {say(room)} of"
                text = (
                    f"plate {plate.id} {how} {area.name} (floor.keep_clear.{number}); allowed: {say(area.margin)} or "
                    "more - move it away or take a smaller plate"
                )
                yield boat.finding("F121", key, text)


def _neighbours(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Plates of neighbouring settings, and the two sides' plates."""
    say = boat.description.figures.size
    for fore, aft in pairwise(boat.settings):
        room = aft.station - fore.station - plate.length
        if room < -ROUNDING:
            text = (
                f"plates of {say(plate.length)} at settings {fore.number} and {aft.number} overlap by {say(-room)} - "
                f"set them {say(plate.length)} apart or more, or take shorter plates"
            )
            yield boat.finding("F122", aft.key, text)
    room = 2 * boat.description.fixing.half_spread - plate.width
    if room < -ROUNDING:
        text = (
            f"the port and starboard plates, {say(plate.width)} wide, overlap by {say(-room)} - allowed half spread: "
            f"{say(plate.width / 2)} or more"
        )
        yield boat.finding("F123", "fixing.half_spread", text)


def _covered(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Fittings' holes that a plate covers."""
    worst = Worst()
    for hole in boat.on(Surface.FLOOR, HoleKind.FITTING):
        (x, y), radius = hole.at, hole.diameter / 2
        for solved in boat.plates:
            (u, v), room = solved.centre, 0.0
            if abs(x - u) < plate.length / 2 + radius and abs(y - v) < plate.width / 2 + radius:
                room = -room_inside(solved.corners, hole.at) - radius
            if room < -ROUNDING:
                worst.add((hole.key,), room, (hole.id, hole.name, solved.id))
    for (key,), _, (name, what, place), more in worst.cases():
        text = f"hole {name} ({what}){more} lies under plate {place} - move the fitting clear of the plates"
        yield boat.finding("F124", str(key), text)


def _slot(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """The slot long enough."""
    say, slot = boat.description.figures.size, plate.slot
    travel = slot.length - nominal_diameter(boat.description.fixing.bolt.thread) if slot else TRAVEL
    if travel < TRAVEL - ROUNDING:
        text = (
            f"the slot leaves the bolt {say(max(0.0, travel))} of travel; guide: {say(TRAVEL)}, as taped distances "
            f"agree to {say(1.0)} either way (common practice) - make it longer"
        )
        yield boat.finding("F134", "fixing.plate.slot.length", text)


#: Play that is not much yet, mm: what the widest hole of ISO 273 leaves M8.
_MUCH_PLAY = 2.0


def _bore(boat: Boat) -> Iterator[Finding]:
    """The sleeve's bore against the bolt's widest clearance hole (ISO 273; ASME B18.2.8 for inch threads)."""
    sleeve, thread = boat.description.fixing.sleeve, boat.description.fixing.bolt.thread
    say, coarse = boat.description.figures.size, clearance_hole(thread, "coarse")
    play = sleeve.inner - nominal_diameter(thread) if sleeve else 0.0
    if sleeve and sleeve.inner > coarse + ROUNDING and play > _MUCH_PLAY + ROUNDING:
        text = (
            f"a bore of {say(sleeve.inner)} leaves the {thread} bolt {say(play)} of play; the widest hole of "
            f"{hole_standard(thread)} is {say(coarse)} - such play lets both bolts in, and lets the plank shift: tape "
            "it again whenever it was off"
        )
        yield boat.finding("F140", "fixing.sleeve.inner", text)
