"""One sheet with both boats' floor holes: A dashed, B full."""

from __future__ import annotations

from templater.boat.model import Boat
from templater.description.model import Surface
from templater.drawing.marks import (
    Anchor,
    Arc,
    Circle,
    Cross,
    Drawing,
    Group,
    Line,
    Mark,
    Pen,
    Polyline,
    SheetHole,
    Text,
)
from templater.standards.typeface import text_width

_TYPE = 3.0
_BORDER = 12.0


def overlay(a: Boat, b: Boat) -> Drawing:
    """Return the floors of two boats over one another as seen from above, forward up, on the steering pivot axis.

    Boat A's holes are dashed circles without crosshairs, so that nobody punches them; B's are full with crosshairs.
    """
    marks: list[Mark] = []
    holes = []
    for boat, full in ((a, False), (b, True)):
        for plate in boat.plates:
            corners = tuple((y, -x) for x, y in plate.corners)
            marks.append(Polyline(corners, closed=True, pen=Pen.NARROW if full else Pen.DASHED, group=Group.OVERLAY))
        for hole in boat.on(Surface.FLOOR):
            centre = (hole.at[1], -hole.at[0])
            if full:
                marks.append(Circle(centre, hole.diameter, Pen.WIDE, Group.HOLE, hole.id))
                marks.append(Cross(centre, hole.diameter / 2 + 4, Group.HOLE, hole.id))
                holes.append(SheetHole(hole.id, centre, hole.diameter, hole.kind.value))
            else:
                # A full circle has no dash of its own in every medium; four arcs do.
                marks.extend(
                    Arc(centre, hole.diameter / 2, start, start + 60, Pen.NARROW, Group.OVERLAY, f"A-{hole.id}")
                    for start in (15, 105, 195, 285)
                )
    box = _box(holes, marks)
    lines = (
        f"{a.description.boat}: dashed, not to be punched",
        f"{b.description.boat}: full lines with crosshairs",
        "both laid on the steering pivot axis and the centreline",
    )
    top = box[3] + _BORDER
    for number, line in enumerate(lines):
        marks.append(Text((box[0], top + 5.0 * (len(lines) - number)), line, _TYPE, Group.NOTE, Anchor.START))
    marks.append(Line((0.0, box[1] - _BORDER), (0.0, box[3] + _BORDER), Pen.CHAIN, Group.CENTRELINE))
    right = max(box[2] + _BORDER, box[0] + max(text_width(line, _TYPE) for line in lines))
    whole = (box[0] - _BORDER, box[1] - _BORDER, right, top + 5.0 * len(lines) + _TYPE)
    return Drawing("overlay", f"Floor, {a.description.boat} and {b.description.boat}", "upper", tuple(marks),
                   tuple(holes), (), whole)  # fmt: skip


def _box(holes: list[SheetHole], marks: list[Mark]) -> tuple[float, float, float, float]:
    us = [hole.at[0] for hole in holes]
    vs = [hole.at[1] for hole in holes]
    for mark in marks:
        if isinstance(mark, Polyline):
            us += [point[0] for point in mark.points]
            vs += [point[1] for point in mark.points]
        elif isinstance(mark, Arc):
            us += [mark.centre[0] - mark.radius, mark.centre[0] + mark.radius]
            vs += [mark.centre[1] - mark.radius, mark.centre[1] + mark.radius]
    return min(us) - 12, min(vs) - 12, max(us) + 12, max(vs) + 12
