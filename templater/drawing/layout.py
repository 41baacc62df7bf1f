"""Where text may stand: a grid index of everything drawn, and the boxes that text fills.

The index makes each question cost no more than the few marks near it, so a sheet with many holes stays linear.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from templater.drawing.marks import Anchor, Box, Point, Text
from templater.standards.typeface import text_width

#: Ink above and below the base line as parts of the type size. Source: the glyph bounds of the shipped font files:
#: letters l, b, d reach 0.76; g, p, y hang 0.21 to 0.24; brackets and the diameter sign lie between.
ASCENT = 0.77
DESCENT = 0.24
#: Side of a cell of the index, mm: about the length of a label, so that few cells hold the usual mark.
CELL = 12.0
#: Cells in a column, more than 12 km of sheet: a cell is one number, which is smaller than a pair.
_COLUMN = 1 << 20


def text_box(text: Text) -> Box:
    """Return the box that a line of text fills, sheet mm."""
    width = text_width(text.text, text.size, bold=text.bold)
    before = {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[text.anchor]
    # Along the reading direction from -before to width - before, across it from -descent to +ascent.
    low, high = -DESCENT * text.size, ASCENT * text.size
    along = (-before, width - before)
    u, v = text.at
    return {
        0: (u + along[0], v + low, u + along[1], v + high),
        1: (u - high, v + along[0], u - low, v + along[1]),
        2: (u - along[1], v - high, u - along[0], v - low),
        3: (u + low, v - along[1], u + high, v - along[0]),
    }[text.turn % 4]


def grow(box: Box, by: float) -> Box:
    """Return the box made larger by ``by`` on every side."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def around(points: tuple[Point, ...]) -> Box:
    """Return the box of some points."""
    us, vs = [p[0] for p in points], [p[1] for p in points]
    return (min(us), min(vs), max(us), max(vs))


def union(*boxes: Box) -> Box:
    """Return the box of all boxes; at least one."""
    return (
        min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes),
    )  # fmt: skip


def overlap(a: Box, b: Box) -> bool:
    """True if two boxes share more than an edge."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def clip_segment(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """Return the part of a segment inside a box, or None. Liang and Barsky's method (1984)."""
    du, dv = b[0] - a[0], b[1] - a[1]
    start, end = 0.0, 1.0
    for step, room in ((-du, a[0] - box[0]), (du, box[2] - a[0]), (-dv, a[1] - box[1]), (dv, box[3] - a[1])):
        if step == 0:
            if room < 0:
                return None
            continue
        t = room / step
        if step < 0:
            start = max(start, t)
        else:
            end = min(end, t)
        if start > end:
            return None
    return (a[0] + start * du, a[1] + start * dv), (a[0] + end * du, a[1] + end * dv)


def _beside(a: Point, b: Point, box: Box) -> bool:
    """True if both ends lie beyond the same side of the box: the quick answer for most segments."""
    return (
        (a[0] < box[0] and b[0] < box[0])
        or (a[0] > box[2] and b[0] > box[2])
        or (a[1] < box[1] and b[1] < box[1])
        or (a[1] > box[3] and b[1] > box[3])
    )


def _circle_meets(centre: Point, radius: float, box: Box) -> bool:
    du = max(box[0] - centre[0], 0.0, centre[0] - box[2])
    dv = max(box[1] - centre[1], 0.0, centre[1] - box[3])
    return math.hypot(du, dv) < radius


def _segments_meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    def turn(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def _distance(point: Point, a: Point, b: Point) -> float:
    du, dv = b[0] - a[0], b[1] - a[1]
    length2 = du * du + dv * dv
    t = 0.0 if length2 == 0 else max(0.0, min(1.0, ((point[0] - a[0]) * du + (point[1] - a[1]) * dv) / length2))
    return math.hypot(point[0] - a[0] - t * du, point[1] - a[1] - t * dv)


class Layout:
    """What is drawn already, by cell of a grid: boxes, segments and circles."""

    def __init__(self) -> None:
        self._boxes: dict[int, list[Box]] = {}
        self._segments: dict[int, list[tuple[Point, Point]]] = {}
        self._circles: dict[int, list[tuple[Point, float]]] = {}

    def add_box(self, box: Box) -> None:
        """Take a box as filled: text, a sight window."""
        for cell in _cells(box):
            self._boxes.setdefault(cell, []).append(box)

    def add_segment(self, a: Point, b: Point) -> None:
        """Take a straight line as drawn."""
        segment = (a, b)
        for cell in _cells_along(a, b):
            self._segments.setdefault(cell, []).append(segment)

    def add_circle(self, centre: Point, radius: float) -> None:
        """Take a circle as drawn; its inside counts as filled."""
        u, v = centre
        circle = (centre, radius)
        for cell in _cells((u - radius, v - radius, u + radius, v + radius)):
            self._circles.setdefault(cell, []).append(circle)

    def free(self, box: Box, clearance: float = 0.4) -> bool:
        """True if nothing lies in the box or nearer than ``clearance`` to it (measured square to its edges)."""
        wide = grow(box, clearance)
        for cell in _cells(wide):
            for other in self._boxes.get(cell, ()):
                if overlap(wide, other):
                    return False
            for centre, radius in self._circles.get(cell, ()):
                if _circle_meets(centre, radius, wide):
                    return False
            for a, b in self._segments.get(cell, ()):
                if not _beside(a, b, wide) and clip_segment(a, b, wide):
                    return False
        return True

    def free_line(self, a: Point, b: Point) -> bool:
        """True if a straight line from a to b meets no box, circle or other line."""
        for cell in _cells_along(a, b):
            if any(clip_segment(a, b, box) for box in self._boxes.get(cell, ())):
                return False
            if any(_distance(centre, a, b) < radius for centre, radius in self._circles.get(cell, ())):
                return False
            if any(_segments_meet(a, b, c, d) for c, d in self._segments.get(cell, ())):
                return False
        return True


def _cells(box: Box) -> Iterator[int]:
    for column in range(math.floor(box[0] / CELL), math.floor(box[2] / CELL) + 1):
        for row in range(math.floor(box[1] / CELL), math.floor(box[3] / CELL) + 1):
            yield column * _COLUMN + row


def _cells_along(a: Point, b: Point) -> Iterator[int]:
    """Yield every cell that the segment meets, column by column."""
    if b[0] < a[0]:
        a, b = b, a
    for column in range(math.floor(a[0] / CELL), math.floor(b[0] / CELL) + 1):
        part = clip_segment(a, b, (column * CELL, -math.inf, (column + 1) * CELL, math.inf)) or (a, b)
        low, high = sorted((part[0][1], part[1][1]))
        for row in range(math.floor(low / CELL), math.floor(high / CELL) + 1):
            yield column * _COLUMN + row
