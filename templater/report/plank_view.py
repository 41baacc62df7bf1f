"""The plank on the hull seen from above, its turn exaggerated, as marks for a page."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templater.boat.solved import Boat, Side, side_word
from templater.drawing.marks import Anchor, Circle, Cross, Group, Line, Mark, Pen, Text
from templater.fitup.rig import Rig, corner, rig_of
from templater.fitup.square import EndMove, SquareResult
from templater.plane.shapes import Point
from templater.report.blocks import Picture
from templater.report.plan import closed, scaled
from templater.units import Figures

#: Width of the picture's plank, mm, and the largest turn drawn, degrees.
WIDTH, LARGEST = 150.0, 8.0
#: By how much the turn may be exaggerated.
FACTORS = (100, 50, 20, 10, 5, 2)
#: Type size in the picture, mm.
SIZE = 4.6


def exaggeration(yaw: float) -> int:
    """Return the largest factor that keeps a turn, degrees, drawable."""
    return next((factor for factor in FACTORS if abs(yaw) * factor <= LARGEST), 1)


def move(end: EndMove, figures: Figures) -> str:
    """Return how far and which way an end must go; nothing if it stands right."""
    return "" if end.stays else f"{figures.length(abs(end.aft))} {'forward' if end.aft > 0 else 'aft'}"


def plan_view(boat: Boat, result: SquareResult) -> Picture:
    """Return the plan view of one attempt, forward up, not to scale, the turn exaggerated."""
    rig, first = rig_of(boat, result.attempt.setting), result.attempt.first_bolt
    factor = exaggeration(result.yaw)
    yaw = math.radians(result.yaw) * factor
    at = scaled(WIDTH / boat.description.plank.length)

    def words(u: float, v: float, text: str, anchor: Anchor = Anchor.MIDDLE, *, bold: bool = False) -> Text:
        return Text((u, v), text, SIZE, Group.LABEL, anchor, bold=bold)

    foot, line = at((rig.station + 260.0, 0.0))[1], at((rig.station, 0.0))[1]
    marks: list[Mark] = [
        Line(at((-120.0, 0.0)), (0.0, foot), Pen.CHAIN, Group.CENTRELINE),
        Circle((0.0, 0.0), 3.0, Pen.WIDE, Group.OUTLINE),
        words(3.0, 1.0, "steering post", Anchor.START),
        closed([at(one) for one in _plank(boat, rig, first, 0.0)], Pen.DASHED),
        closed([at(one) for one in _plank(boat, rig, first, yaw)], Pen.WIDE),
    ]
    for end in result.ends:
        tip, square = (at(corner(rig, first, end.side, turn)[:2]) for turn in (yaw, 0.0))
        marks += [Line((0.0, 0.0), tip, Pen.NARROW, Group.NOTE), Cross(tip, 1.6, Group.NOTE, diagonal=True)]
        edge, anchor = end.side.sign * (WIDTH / 2 + 6.0), Anchor.START if end.side is Side.PORT else Anchor.END
        name, what = side_word(end.side), move(end, boat.description.figures)
        marks.append(words(edge, line - 24.0, f"{name}: move" if what else name, anchor))
        marks.append(words(edge, line - 30.0, what or "leave as it is", anchor, bold=True))
        if what:
            marks += _arrow(tip, square)
    for side in Side:
        u, v = at((rig.station, side.sign * rig.half_spread))
        marks.append(Circle((u, v), 2.4, Pen.WIDE, Group.HOLE))
        if side is first:
            marks += [Cross((u, v), 3.0, Group.HOLE), words(u, v - 23.0, "first bolt")]
            marks.append(Line((u, v - 18.5), (u, v - 3.5), Pen.NARROW, Group.LABEL))
    note = f"turn drawn {factor} times as large as it is" if factor > 1 else "turn drawn as it is"
    right = WIDTH / 2 - 8.0
    marks += [
        words(0.0, foot - 22.0, note),
        Line((right, -14.0), (right, -2.0), Pen.WIDE, Group.NOTE),
        closed(((right, 2.0), (right - 2.0, -3.0), (right + 2.0, -3.0)), Pen.WIDE, Group.NOTE, filled=True),
        words(right, -20.0, "forward"),
    ]
    description = (
        f"Plan view, forward up: the plank at setting {result.attempt.setting} on its first bolt to "
        f"{side_word(first)}; solid as it lies, dashed where it is square; {note}."
    )
    title = f"Attempt {result.attempt.number}: plank as it lies (solid) and square (dashed), {note}"
    return Picture(title, description, tuple(marks), (-WIDTH / 2 - 8.0, foot - 26.0, WIDTH / 2 + 8.0, 12.0))


def _plank(boat: Boat, rig: Rig, first: Side, yaw: float) -> Iterator[Point]:
    """Yield the plank's corners, swung about the first bolt, in boat mm."""
    half, pivot = boat.description.plank.length / 2, first.sign * rig.half_spread
    fore, aft = -rig.fore_edge, rig.width - rig.fore_edge
    for x, y in ((fore, -half), (fore, half), (aft, half), (aft, -half)):
        along = y - pivot
        yield (
            rig.station + x * math.cos(yaw) + along * math.sin(yaw),
            pivot + along * math.cos(yaw) - x * math.sin(yaw),
        )


def _arrow(start: Point, end: Point) -> tuple[Mark, ...]:
    """Return an arrow from the corner to its square place; nothing if they are too near to draw one."""
    reach = math.dist(start, end)
    if reach < 3.0:
        return ()
    du, dv = (end[0] - start[0]) / reach, (end[1] - start[1]) / reach
    u, v = end[0] - 2.5 * du, end[1] - 2.5 * dv
    tip = closed((end, (u - dv, v + du), (u + dv, v - du)), Pen.WIDE, Group.NOTE, filled=True)
    return Line(start, (u, v), Pen.WIDE, Group.NOTE), tip
