"""Plates in their places, their slots and screws, and the sleeve's play on the bolt."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.guides import ROUNDING, Worst
from templater.description.keys import Plate, Surface
from templater.findings import Finding
from templater.plane.cells import Cells
from templater.plane.polygons import crossing_edges, edges, gap, room_inside
from templater.plane.shapes import segments_cross
from templater.standards.fasteners import clearance_hole, nominal_diameter

#: Travel along the slot that takes up both sides' taping, which agrees to +-1 mm. Common practice, no source.
TRAVEL = 2.0


def plate_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings F120 to F136 about plates, and F140 about the sleeve's bore."""
    plate = boat.description.fixing.plate
    if plate is not None:
        yield from _place_findings(boat)
        yield from _neighbour_findings(boat, plate)
        yield from _covered_findings(boat, plate)
        yield from _slot_findings(boat, plate)
        yield from _screw_findings(boat, plate)
    yield from _bore_findings(boat)


def _place_findings(boat: Boat) -> Iterator[Finding]:
    """Plates inside the outline and off the areas to be kept clear."""
    description = boat.description
    say, floor = description.figures.size, description.floor
    key = "fixing.half_spread"
    outline = floor.outline if floor.outline and crossing_edges(floor.outline) is None else ()
    for plate in boat.plates:
        if outline:
            short = min(room_inside(outline, corner) for corner in plate.corners)
            # A hair smaller, so that a plate may lie flush with the outline.
            cx, cy = plate.centre
            inner = [(x + (cx - x) * ROUNDING, y + (cy - y) * ROUNDING) for x, y in plate.corners]
            crossed = any(segments_cross(a, b, c, d) for a, b in edges(inner) for c, d in edges(outline))
            if short < -ROUNDING or crossed:
                how = f"reaches {say(-short)} past the floor's outline" if short < -ROUNDING else \
                    "lies across an edge of the floor's outline"
                text = f"plate {plate.id} {how} - move the bolt line inward or take a smaller plate"
                yield boat.finding("F120", key, text)
        for number, area in enumerate(floor.keep_clear):
            room = gap(plate.corners, area.corners)
            if room == 0 or room < area.margin - ROUNDING:
                how = "lies on" if room == 0 else f"comes within {say(room)} of"
                text = f"plate {plate.id} {how} {area.name} (floor.keep_clear.{number}); allowed: {say(area.margin)} " \
                    "or more - move it away or take a smaller plate"
                yield boat.finding("F121", key, text)


def _neighbour_findings(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Plates of neighbouring settings, and the two sides' plates."""
    description = boat.description
    say = description.figures.size
    for fore, aft in pairwise(boat.settings):
        room = aft.station - fore.station - plate.length
        if room < -ROUNDING:
            text = f"plates of {say(plate.length)} at settings {fore.number} and {aft.number} overlap by " \
                f"{say(-room)} - set them {say(plate.length)} apart or more, or take shorter plates"
            yield boat.finding("F122", aft.key, text)
    room = 2 * description.fixing.half_spread - plate.width
    if room < -ROUNDING:
        text = f"the port and starboard plates, {say(plate.width)} wide, overlap by {say(-room)} - allowed half " \
            f"spread: {say(plate.width / 2)} or more"
        yield boat.finding("F123", "fixing.half_spread", text)


def _covered_findings(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Fittings' holes that a plate covers."""
    reach = (plate.length**2 + plate.width**2) ** 0.5 / 2
    fittings: Cells[Hole] = Cells(reach)
    widest = 0.0
    for hole in boat.on(Surface.FLOOR):
        if hole.kind is HoleKind.FITTING:
            fittings.add(hole.at, hole)
            widest = max(widest, hole.diameter)
    worst = Worst()
    for solved in boat.plates:
        for _, hole in fittings.near(solved.centre, reach + widest / 2):
            room = -room_inside(solved.corners, hole.at) - hole.diameter / 2
            if room < -ROUNDING:
                worst.add((hole.key,), room, (hole.id, hole.name, solved.id))
    for (key,), _, (name, what, place), more in worst.cases():
        text = f"hole {name} ({what}){more} lies under plate {place} - move the fitting clear of the plates"
        yield boat.finding("F124", str(key), text)


def _slot_findings(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """The slot inside its plate and long enough."""
    description, slot = boat.description, plate.slot
    if slot is None:
        return
    say, key = description.figures.size, "fixing.plate.slot"
    travel = slot.length - nominal_diameter(description.fixing.bolt.thread)
    if travel < TRAVEL - ROUNDING:
        text = f"the slot leaves the bolt {say(max(0.0, travel))} of travel; guide: {say(TRAVEL)}, as taped " \
            "distances " \
            "agree to 1 mm either way (common practice) - make it longer"
        yield boat.finding("F134", f"{key}.length", text)


def _screw_findings(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Fresh wood for a replacement plate."""
    screws = plate.screws
    if screws is None:
        return
    if screws.first and not screws.second:
        text = "no second set of screws: a replacement plate would go into worn holes - give places in fresh wood"
        yield boat.finding("F135", "fixing.plate.screws", text)


def _bore_findings(boat: Boat) -> Iterator[Finding]:
    """The sleeve's bore against the bolt's widest clearance hole (ISO 273; ASME B18.2.8 for inch threads)."""
    sleeve, thread = boat.description.fixing.sleeve, boat.description.fixing.bolt.thread
    if sleeve is None:
        return
    say, coarse = boat.description.figures.size, clearance_hole(thread, "coarse")
    play = sleeve.inner - nominal_diameter(thread)
    if sleeve.inner > coarse + ROUNDING:
        standard = "ASME B18.2.8" if "in" in thread else "ISO 273"
        text = f"a bore of {say(sleeve.inner)} leaves the {thread} bolt {say(play)} of play; the " \
            f"widest hole of {standard} is {say(coarse)} - such play lets both bolts in, and lets the plank shift: " \
            "tape it again whenever it was off"
        yield boat.finding("F140", "fixing.sleeve.inner", text)
