"""Points, boxes, straight pieces and placements in the plane, the same in every frame; lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

Point = tuple[float, float]
#: x0, y0, x1, y1 with x0 <= x1 and y0 <= y1.
Box = tuple[float, float, float, float]


class Affine(NamedTuple):
    """A map of the plane: X = a x + c y + e, Y = b x + d y + f."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def apply(self, point: Point) -> Point:
        """Return where the map takes a point."""
        a, b, c, d, e, f = self
        x, y = point
        return a * x + c * y + e, b * x + d * y + f

    def compose(self, then: Affine) -> Affine:
        """Return the map that does this one and ``then`` in turn."""
        a, b, c, d, e, f = self
        p, q, r, s, _, _ = then
        x, y = then.apply((e, f))
        return Affine(p * a + r * b, q * a + s * b, p * c + r * d, q * c + s * d, x, y)

    def inverse(self) -> Affine:
        """Return the map back.

        Raises:
            ZeroDivisionError: if the map flattens the plane.
        """
        a, b, c, d, e, f = self
        det = a * d - b * c
        return Affine(d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


IDENTITY = Affine()


def grow(box: Box, by: float) -> Box:
    """Return the box made larger by ``by`` on every side."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def moved(box: Box, by: Point) -> Box:
    """Return the box shifted."""
    return (box[0] + by[0], box[1] + by[1], box[2] + by[0], box[3] + by[1])


def around(points: Iterable[Point]) -> Box:
    """Return the box of some points; at least one."""
    us, vs = zip(*points, strict=True)
    return (min(us), min(vs), max(us), max(vs))


def union(*boxes: Box) -> Box:
    """Return the box of all boxes; at least one."""
    u0, v0, u1, v1 = zip(*boxes, strict=True)
    return (min(u0), min(v0), max(u1), max(v1))


def boxes_overlap(a: Box, b: Box) -> bool:
    """True if two boxes share more than an edge."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def box_within(inner: Box, outer: Box, by: float = 1e-9) -> bool:
    """True if a box lies wholly in another, ``by`` for rounding."""
    return (
        inner[0] >= outer[0] - by and inner[1] >= outer[1] - by
        and inner[2] <= outer[2] + by and inner[3] <= outer[3] + by
    )  # fmt: skip


def distance_to_segment(point: Point, a: Point, b: Point) -> float:
    """Return the distance of a point to a straight piece."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    along = 0.0 if square == 0 else max(0.0, min(1.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square))
    return math.hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy)


def side_of(a: Point, b: Point, c: Point) -> float:
    """Return twice the signed area of three points: positive if c lies on the side of a to b where x turns to y."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def segments_cross(a: Point, b: Point, c: Point, d: Point, *, touching: bool = True) -> bool:
    """True if two straight pieces cross; pieces that only touch count unless ``touching`` is False."""
    turns = (side_of(a, b, c), side_of(a, b, d), side_of(c, d, a), side_of(c, d, b))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    pairs = ((turns[0], a, b, c), (turns[1], a, b, d), (turns[2], c, d, a), (turns[3], c, d, b))
    return touching and any(turn == 0 and box_within((*r, *r), around((p, q)), 0.0) for turn, p, q, r in pairs)


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
