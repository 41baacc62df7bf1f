"""Simple polygons: a point inside, distance to the edge, overlap, self-crossing. Corners run round either way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from templater.plane.shapes import Point, distance_to_segment, segments_cross, side_of


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


def distance_to_edge(corners: Sequence[Point], point: Point) -> float:
    """Return the distance of a point to the polygon's edge, whether inside or outside."""
    return min(distance_to_segment(point, a, b) for a, b in edges(corners))


def room_inside(corners: Sequence[Point], point: Point) -> float:
    """Return the distance to the edge, negative outside."""
    distance = distance_to_edge(corners, point)
    return distance if contains(corners, point) else -distance


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


def crossing_edges(corners: Sequence[Point]) -> tuple[int, int] | None:
    """Return the first two edges, from 0, that meet elsewhere than at a corner they share, or None.

    Neighbours do so only if one folds back on the other.
    """
    sides = list(edges(corners))
    for i, j in combinations(range(len(sides)), 2):
        (a, b), (c, d) = sides[i], sides[j]
        if j == i + 1 or (i == 0 and j == len(sides) - 1):
            shared, p, q = (b, a, d) if j == i + 1 else (a, b, c)
            forward = (p[0] - shared[0]) * (q[0] - shared[0]) + (p[1] - shared[1]) * (q[1] - shared[1])
            if side_of(p, shared, q) == 0 and forward >= 0:
                return i, j
        elif segments_cross(a, b, c, d):
            return i, j
    return None
