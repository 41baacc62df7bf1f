"""Simple polygons: a point inside, distance to the edge, overlap, self-crossing. Corners run round either way."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

Point = tuple[float, float]


def edges(corners: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """Yield the edges of a closed polygon."""
    yield from pairwise((*corners, corners[0]))


def area(corners: Sequence[Point]) -> float:
    """Return the signed area, positive if the corners run from x towards y."""
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in edges(corners)) / 2


def contains(corners: Sequence[Point], point: Point) -> bool:
    """True if a point lies inside, by the even-odd rule; on the edge it may fall either way."""
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in edges(corners):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def distance_to_segment(point: Point, a: Point, b: Point) -> float:
    """Return the distance of a point to a straight piece."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    along = 0.0 if square == 0 else max(0.0, min(1.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square))
    return math.hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy)


def distance_to_edge(corners: Sequence[Point], point: Point) -> float:
    """Return the distance of a point to the polygon's edge, whether inside or outside."""
    return min(distance_to_segment(point, a, b) for a, b in edges(corners))


def room_inside(corners: Sequence[Point], point: Point) -> float:
    """Return the distance to the edge, negative outside."""
    distance = distance_to_edge(corners, point)
    return distance if contains(corners, point) else -distance


def segments_cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """True if two straight pieces cross or touch."""
    turns = (_turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    pairs = ((turns[0], a, b, c), (turns[1], a, b, d), (turns[2], c, d, a), (turns[3], c, d, b))
    return any(turn == 0 and _within(p, q, r) for turn, p, q, r in pairs)


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _within(a: Point, b: Point, c: Point) -> bool:
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def overlap(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """True if two polygons share any point, touching included."""
    if any(segments_cross(a, b, c, d) for a, b in edges(one) for c, d in edges(other)):
        return True
    return contains(one, other[0]) or contains(other, one[0])


def gap(one: Sequence[Point], other: Sequence[Point]) -> float:
    """Return the smallest distance between two polygons, 0 if they share a point."""
    if overlap(one, other):
        return 0.0
    nearest = [distance_to_edge(other, corner) for corner in one]
    return min(nearest + [distance_to_edge(one, corner) for corner in other])


def crosses_itself(corners: Sequence[Point]) -> bool:
    """True if edges that are not neighbours meet, or neighbours fold back on one another."""
    sides = list(edges(corners))
    count = len(sides)
    for i in range(count):
        for j in range(i + 1, count):
            (a, b), (c, d) = sides[i], sides[j]
            if j == i + 1 or (i == 0 and j == count - 1):
                shared, p, q = (b, a, d) if j == i + 1 else (a, b, c)
                forward = (p[0] - shared[0]) * (q[0] - shared[0]) + (p[1] - shared[1]) * (q[1] - shared[1])
                if _turn(p, shared, q) == 0 and forward > 0:
                    return True
            elif segments_cross(a, b, c, d):
                return True
    return False
