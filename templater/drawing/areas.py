"""Areas bounded by straight lines: what lies inside, hatching, and margins added all round."""

from __future__ import annotations

import math

from templater.plane.polygons import area, contains, edges
from templater.plane.shapes import Box, Point, clip_segment

#: Shortest piece of hatching that is drawn, mm along u.
SHORTEST = 0.3


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
