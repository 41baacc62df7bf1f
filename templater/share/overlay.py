"""One sheet with both boats' floor holes: A dashed, B full."""

from __future__ import annotations

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.keys import Surface
from templater.drawing.compose import BODY, Sheet, Words, note_lines
from templater.drawing.labels import symbol
from templater.drawing.marks import Circle, Drawing, Group, Line, Mark, Pen, Polyline
from templater.plane.shapes import Point, grow
from templater.share.compare import HoleMove, compare

#: How far the centreline runs past the last hole, mm.
_PAST = 12.0
#: Width of the block of words, mm.
_BLOCK = 110.0
_SCREWS = (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)


def overlay(a: Boat, b: Boat) -> Drawing:
    """Return the floors of two boats over one another as seen from above, forward up, on the steering pivot axis.

    Boat A's holes are dashed and without crosshairs, so that nobody punches them; B's are full with crosshairs.
    """
    sheet = Sheet()
    sheet.add_symbols(symbol(hole, _place(hole)) for hole in b.on(Surface.FLOOR))
    for boat, pen in ((a, Pen.DASHED), (b, Pen.NARROW)):
        for plate in boat.plates:
            corners = tuple((y, -x) for x, y in plate.corners)
            sheet.add(Polyline(corners, closed=True, pen=pen, group=Group.OVERLAY))
    sheet.add(*(_dashed(hole) for hole in a.on(Surface.FLOOR)))
    box = sheet.box() if sheet.marks else (0.0, -_PAST, 0.0, _PAST)
    sheet.add(Line((0.0, box[1] - _PAST), (0.0, box[3] + _PAST), Pen.CHAIN, Group.CENTRELINE))
    sheet.add_labels()
    _write(sheet, a, b)
    return sheet.drawing("overlay", f"Floor, {a.description.boat} and {b.description.boat}", "upper")


def _place(hole: Hole) -> Point:
    """Return a hole's place in the sheet frame of an upper face."""
    return (hole.at[1], -hole.at[0])


def _dashed(hole: Hole) -> Mark:
    """Return a hole of the boat that is only looked at: circle, or square for the second screws."""
    u, v = _place(hole)
    if hole.kind is not HoleKind.SECOND_SCREW:
        return Circle((u, v), hole.diameter, Pen.DASHED, Group.OVERLAY)
    r = hole.diameter / 2
    corners = ((u - r, v - r), (u + r, v - r), (u + r, v + r), (u - r, v + r))
    return Polyline(corners, closed=True, pen=Pen.DASHED, group=Group.OVERLAY)


def _write(sheet: Sheet, a: Boat, b: Boat) -> None:
    """Write what is what, and how far each bolt hole and fitting moves, where there is room between the sides."""
    screws = {hole.id for boat in (a, b) for hole in boat.holes if hole.kind in _SCREWS}
    moves = [move for move in compare(a, b).moves if move.on == Surface.FLOOR.value and move.id not in screws]
    notes = (
        f"{a.description.boat}: dashed, without crosshairs, not to be punched",
        f"{b.description.boat}: full lines, crosshairs and ids",
        "both laid on the steering pivot axis (forward of this sheet) and the centreline, seen from above",
        *(_words(move, b) for move in moves if move.distance > 5e-4 or abs(move.widening) > 5e-4),
    )
    words = Words(("Two boats over one another", *note_lines(notes, BODY, _BLOCK)), head=True)
    box = sheet.box()
    room, middle = grow(box, -2.0), (box[1] + box[3]) / 2
    place = sheet.free_place((10.0, 24.0), (10.0, middle + 40.0), room)
    if place is not None:
        sheet.add_arrow((place[0] + 5.0, place[1] + 2.0))
    sheet.add_block(words, (-_BLOCK / 2 - 8.0, middle), room, below=-_BLOCK / 2)


def _words(move: HoleMove, b: Boat) -> str:
    """Return in words where a hole of A stands in B."""
    if move.move is None:
        return f"{move.id}: only in {move.only_in}"
    aft, starboard = move.move
    parts = [
        f"{abs(value):.2f} mm {word}"
        for value, word in (
            (aft, "aft" if aft > 0 else "forward"),
            (starboard, "to starboard" if starboard > 0 else "to port"),
        )
        if abs(value) > 5e-3
    ]
    wider = [f"diameter {move.widening:+.2f} mm"] if abs(move.widening) > 5e-3 else []
    return f"{move.id}: {b.description.boat} has it {', '.join([*parts, *wider])}"
