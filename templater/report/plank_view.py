"""The plank on the hull seen from above, its yaw exaggerated, as marks for a page."""

from __future__ import annotations

import math
from collections.abc import Callable

from templater.boat.solved import Boat, Side, side_word
from templater.drawing.marks import Anchor, Circle, Cross, Group, Line, Mark, Pen, Polyline, Text
from templater.fitup.rig import Rig, corner, rig_of
from templater.fitup.square import EndMove, SquareResult
from templater.plane.shapes import Point
from templater.report.blocks import Picture
from templater.units import Figures

#: Width of the picture's plank, mm, and the largest turn drawn, degrees.
WIDTH, LARGEST = 150.0, 8.0
#: By how much yaw may be exaggerated.
FACTORS = (100, 50, 20, 10, 5, 2)
#: Type size in the picture, mm.
SIZE = 4.6


def exaggeration(yaw: float) -> int:
    """Return the largest factor that keeps a yaw, degrees, drawable."""
    return next((factor for factor in FACTORS if abs(yaw) * factor <= LARGEST), 1)


def move(end: EndMove, figures: Figures) -> str:
    """Return how far and which way an end must go; nothing if it stands right."""
    return "" if end.stays else f"{figures.length(abs(end.aft))} {'forward' if end.aft > 0 else 'aft'}"


def plan_view(boat: Boat, result: SquareResult) -> Picture:
    """Return the plan view of one attempt, forward up, not to scale, yaw exaggerated."""
    rig = rig_of(boat, result.attempt.setting)
    factor = exaggeration(result.yaw)
    scale = WIDTH / boat.description.plank.length
    yaw = math.radians(result.yaw) * factor
    first = result.attempt.first_bolt

    def at(x: float, y: float) -> Point:
        return (y * scale, -x * scale)

    post = (0.0, 0.0)
    marks: list[Mark] = [
        Line(at(-120.0, 0.0), at(rig.station + 260.0, 0.0), Pen.CHAIN, Group.CENTRELINE),
        Circle(post, 3.0, Pen.WIDE, Group.OUTLINE),
        Text((3.0, 1.0), "steering post", SIZE, Group.LABEL),
        Polyline(_plank(boat, rig, first, 0.0, at), closed=True, pen=Pen.DASHED, group=Group.OUTLINE),
        Polyline(_plank(boat, rig, first, yaw, at), closed=True, pen=Pen.WIDE, group=Group.OUTLINE),
    ]
    for end in result.ends:
        x, y, _ = corner(rig, first, end.side, yaw)
        tip = at(x, y)
        square_x, square_y, _ = corner(rig, first, end.side, 0.0)
        anchor = Anchor.START if end.side is Side.PORT else Anchor.END
        edge = -WIDTH / 2 - 6.0 if end.side is Side.PORT else WIDTH / 2 + 6.0
        marks.append(Line(post, tip, Pen.NARROW, Group.NOTE))
        marks.append(Cross(tip, 1.6, Group.NOTE, diagonal=True))
        below = at(rig.station, 0.0)[1] - 24.0
        name, what = side_word(end.side), move(end, boat.description.figures)
        marks.append(Text((edge, below), f"{name}: move" if what else name, SIZE, Group.LABEL, anchor))
        marks.append(Text((edge, below - 6.0), what or "leave as it is", SIZE, Group.LABEL, anchor, bold=True))
        if what:
            marks += _arrow(tip, at(square_x, square_y))
    for side in Side:
        centre = at(rig.station, side.sign * rig.half_spread)
        marks.append(Circle(centre, 2.4, Pen.WIDE, Group.HOLE))
        if side is first:
            marks.append(Cross(centre, 3.0, Group.HOLE))
            marks.append(Text((centre[0], centre[1] - 23.0), "first bolt", SIZE, Group.LABEL, Anchor.MIDDLE))
            marks.append(Line((centre[0], centre[1] - 18.5), (centre[0], centre[1] - 3.5), Pen.NARROW, Group.LABEL))
    scale_note = f"turn drawn {factor} times as large as it is" if factor > 1 else "turn drawn as it is"
    foot = at(rig.station + 260.0, 0.0)[1] - 22.0
    marks += [
        Text((0.0, foot), scale_note, SIZE, Group.NOTE, Anchor.MIDDLE),
        Line((WIDTH / 2 - 8.0, -14.0), (WIDTH / 2 - 8.0, -2.0), Pen.WIDE, Group.NOTE),
        Polyline(
            ((WIDTH / 2 - 8.0, 2.0), (WIDTH / 2 - 10.0, -3.0), (WIDTH / 2 - 6.0, -3.0)),
            closed=True, pen=Pen.WIDE, group=Group.NOTE, filled=True,
        ),
        Text((WIDTH / 2 - 8.0, -20.0), "forward", SIZE, Group.NOTE, Anchor.MIDDLE),
    ]  # fmt: skip
    description = (
        f"Plan view, forward up: the plank at setting {result.attempt.setting} on its first bolt to "
        f"{side_word(first)}; solid as it lies, dashed where it is square; {scale_note}."
    )
    box = (-WIDTH / 2 - 8.0, foot - 4.0, WIDTH / 2 + 8.0, 12.0)
    title = f"Attempt {result.attempt.number}: plank as it lies (solid) and square (dashed), {scale_note}"
    return Picture(title, description, tuple(marks), box)


def _plank(boat: Boat, rig: Rig, first: Side, yaw: float, at: Callable[[float, float], Point]) -> tuple[Point, ...]:
    """Return the plank's corners, swung about the first bolt."""
    half = boat.description.plank.length / 2
    pivot = first.sign * rig.half_spread
    points = []
    for x, y in ((-rig.fore_edge, -half), (-rig.fore_edge, half),
                 (rig.width - rig.fore_edge, half), (rig.width - rig.fore_edge, -half)):  # fmt: skip
        along = y - pivot
        turned_x = rig.station + x * math.cos(yaw) + along * math.sin(yaw)
        turned_y = pivot + along * math.cos(yaw) - x * math.sin(yaw)
        points.append(at(turned_x, turned_y))
    return tuple(points)


def _arrow(start: Point, end: Point) -> tuple[Mark, ...]:
    """Return an arrow from the corner to its square place; nothing if they are too near to draw one."""
    reach = math.dist(start, end)
    if reach < 3.0:
        return ()
    along = ((end[0] - start[0]) / reach, (end[1] - start[1]) / reach)
    neck = (end[0] - 2.5 * along[0], end[1] - 2.5 * along[1])
    wing = (-along[1], along[0])
    head = (end, (neck[0] + wing[0], neck[1] + wing[1]), (neck[0] - wing[0], neck[1] - wing[1]))
    tip = Polyline(head, closed=True, pen=Pen.WIDE, group=Group.NOTE, filled=True)
    return Line(start, neck, Pen.WIDE, Group.NOTE), tip
