"""Simple polygons: a point inside, distance to the edge, overlap, crossings, hatching. Corners run round either way."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from templater.plane.shapes import Box, Point, clip_segment, distance_to_segment, segments_cross, side_of

#: Shortest piece of hatching that is drawn, mm along x.
SHORTEST = 0.3


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


def box_inside(box: Box, corners: tuple[Point, ...]) -> bool:
    """True if a box lies wholly inside a polygon."""
    points = ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3]))
    crossed = any(clip_segment(a, b, box) for a, b in edges(corners))
    return not crossed and all(contains(corners, point) for point in points)


def hatch(corners: tuple[Point, ...], spacing: float, blanks: tuple[Box, ...] = ()) -> list[tuple[Point, Point]]:
    """Return hatch lines at 45 degrees inside a polygon, ``spacing`` mm apart, left out inside ``blanks``.

    Lines lie on fixed places of the sheet (v - u a multiple of the spacing), so neighbouring areas match.
    """
    stride = spacing * math.sqrt(2)
    offsets = [v - u for u, v in corners]
    lines: list[tuple[Point, Point]] = []
    for number in range(math.ceil(min(offsets) / stride), math.floor(max(offsets) / stride) + 1):
        offset = number * stride
        crossings = []
        for a, b in edges(corners):
            off_a, off_b = a[1] - a[0] - offset, b[1] - b[0] - offset
            if (off_a > 0) != (off_b > 0):
                crossings.append(a[0] + (b[0] - a[0]) * off_a / (off_a - off_b))
        crossings.sort()
        for u0, u1 in zip(crossings[::2], crossings[1::2], strict=True):
            cuts = (clip_segment((u0, u0 + offset), (u1, u1 + offset), blank) for blank in blanks)
            position = u0
            for start, end in sorted((cut[0][0], cut[1][0]) for cut in cuts if cut):
                if start - position > SHORTEST:
                    lines.append(((position, position + offset), (start, start + offset)))
                position = max(position, end)
            if u1 - position > SHORTEST:
                lines.append(((position, position + offset), (u1, u1 + offset)))
    return lines


def grown(corners: tuple[Point, ...], margin: float) -> tuple[Point, ...]:
    """Return a polygon with ``margin`` added all round; sharp corners are mitred, at most four margins out."""
    signed = area(corners)
    if margin == 0 or signed == 0:
        return corners
    out = math.copysign(1.0, signed)
    result = []
    for number, point in enumerate(corners):
        before, after = corners[number - 1], corners[(number + 1) % len(corners)]
        n1, n2 = _normal(before, point, out), _normal(point, after, out)
        middle = (n1[0] + n2[0], n1[1] + n2[1])
        pointed = out * (n1[0] * n2[1] - n1[1] * n2[0]) > 0
        scale = 2 * margin / max(middle[0] ** 2 + middle[1] ** 2, 0.25 if pointed else 1e-9)
        result.append((point[0] + middle[0] * scale, point[1] + middle[1] * scale))
    return tuple(result)


def _normal(a: Point, b: Point, out: float) -> Point:
    reach = math.dist(a, b) or 1.0
    return out * (b[1] - a[1]) / reach, -out * (b[0] - a[0]) / reach
