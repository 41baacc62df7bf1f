"""Plane geometry without boat words: points, boxes, placements, polygons, hatching, a grid of cells; mm."""

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Generic, NamedTuple, TypeVar

Point = tuple[float, float]
#: x0, y0, x1, y1 with x0 <= x1 and y0 <= y1.
Box = tuple[float, float, float, float]
Item = TypeVar("Item")
#: Widest Bezier piece of a circle, degrees. An eighth of a circle is within 4.2e-6 of the radius (computed), under
#: 1 micrometre up to a diameter of 470 mm.
_WIDEST = 45.0
#: Shortest piece of hatching that is drawn, mm along x.
SHORTEST = 0.3
#: Cells in a column: a cell is one number, which is smaller than a pair. With cells of 12 mm, 12 km of sheet.
_COLUMN = 1 << 20


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

    def over(self, points: Iterable[Point]) -> list[Point]:
        """Return where the map takes some points."""
        a, b, c, d, e, f = self
        return [(a * x + c * y + e, b * x + d * y + f) for x, y in points]

    def compose(self, then: "Affine") -> "Affine":
        """Return the map that does this one and ``then`` in turn."""
        a, b, c, d, e, f = self
        p, q, r, s, _, _ = then
        x, y = then.apply((e, f))
        return Affine(p * a + r * b, q * a + s * b, p * c + r * d, q * c + s * d, x, y)

    def inverse(self) -> "Affine":
        """Return the map back; raises ZeroDivisionError if the map flattens the plane."""
        a, b, c, d, e, f = self
        det = a * d - b * c
        return Affine(d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


IDENTITY = Affine()


def box_about(middle: Point, half: float, high: float | None = None) -> Box:
    """Return the box about its middle, by half its width and half its height; a square without the latter."""
    (x, y), high = middle, half if high is None else high
    return (x - half, y - high, x + half, y + high)


def middle_of(box: Box) -> Point:
    """Return the middle of a box."""
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


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


def segment_box(a: Point, b: Point) -> Box:
    """Return the box of a straight piece."""
    (x0, x1), (y0, y1) = (a[0], b[0]) if a[0] < b[0] else (b[0], a[0]), (a[1], b[1]) if a[1] < b[1] else (b[1], a[1])
    return (x0, y0, x1, y1)


def union(*boxes: Box) -> Box:
    """Return the box of all boxes; at least one."""
    u0, v0, u1, v1 = zip(*boxes, strict=True)
    return (min(u0), min(v0), max(u1), max(v1))


def box_corners(box: Box) -> tuple[Point, Point, Point, Point]:
    """Return a box's corners from x0, y0 round by x1, y0."""
    x0, y0, x1, y1 = box
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def boxes_overlap(a: Box, b: Box) -> bool:
    """True if two boxes share more than an edge."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def box_within(inner: Box, outer: Box, by: float = 1e-9) -> bool:
    """True if a box lies wholly in another, ``by`` for rounding."""
    (a, b, c, d), (u0, v0, u1, v1) = inner, outer
    return a >= u0 - by and b >= v0 - by and c <= u1 + by and d <= v1 + by


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
    return touching and any(turn == 0 and box_within((*r, *r), segment_box(p, q), 0.0) for turn, p, q, r in pairs)


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


def bezier_arc(
    centre: Point, radius: float, start: float, end: float
) -> tuple[Point, tuple[tuple[Point, Point, Point], ...]]:
    """Return an arc from ``start`` to ``end`` degrees, anticlockwise, as a start and cubic Bezier pieces.

    The handle of a piece of angle t is 4/3 tan(t/4), which makes its middle lie on the circle.
    """
    (x, y), r = centre, radius
    first, pieces = _unit_arc(start, end)
    return (x + r * first[0], y + r * first[1]), tuple(
        [((x + r * a, y + r * b), (x + r * c, y + r * d), (x + r * e, y + r * f)) for a, b, c, d, e, f in pieces]
    )


@lru_cache(100)
def _unit_arc(start: float, end: float) -> tuple[Point, list[tuple[float, float, float, float, float, float]]]:
    count = max(1, math.ceil((end - start) / _WIDEST - 1e-9))
    step = math.radians((end - start) / count)
    h = 4 / 3 * math.tan(step / 4)
    angles = [math.radians(start) + step * number for number in range(count + 1)]
    ends = [(math.cos(angle), math.sin(angle)) for angle in angles]
    return ends[0], [(p - h * q, q + h * p, s + h * t, t - h * s, s, t) for (p, q), (s, t) in pairwise(ends)]


def edges(corners: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """Yield the edges of a closed polygon; none of no polygon."""
    yield from pairwise((*corners, *corners[:1]))


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
    return distance_to_edge(corners, point) * (1 if contains(corners, point) else -1)


def overlap(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """True if two polygons share any point, touching included."""
    if any(segments_cross(a, b, c, d) for a, b in edges(one) for c, d in edges(other)):
        return True
    return contains(one, other[0]) or contains(other, one[0])


def gap(one: Sequence[Point], other: Sequence[Point]) -> float:
    """Return the smallest distance between two polygons, 0 if they share a point."""
    if overlap(one, other):
        return 0.0
    return min(distance_to_edge(two, corner) for one, two in ((one, other), (other, one)) for corner in one)


def crossing_edges(corners: Sequence[Point]) -> tuple[int, int] | None:
    """Return the first two edges, from 0, that meet elsewhere than at a corner they share, or None.

    Neighbours do so only if one folds back on the other.
    """
    sides = [*edges(corners)]
    for (i, (a, b)), (j, (c, d)) in combinations(enumerate(sides), 2):
        if j - i in (1, len(sides) - 1):
            shared, p, q = (b, a, d) if j == i + 1 else (a, b, c)
            forward = (p[0] - shared[0]) * (q[0] - shared[0]) + (p[1] - shared[1]) * (q[1] - shared[1])
            met = side_of(p, shared, q) == 0 and forward >= 0
        else:
            met = segments_cross(a, b, c, d)
        if met:
            return i, j
    return None


def box_inside(box: Box, corners: tuple[Point, ...]) -> bool:
    """True if a box lies wholly inside a polygon."""
    crossed = any(clip_segment(a, b, box) for a, b in edges(corners))
    return not crossed and contains(corners, box[:2])


def left_over(start: float, end: float, taken: Iterable[tuple[float, float]], least: float) -> Iterator[Point]:
    """Yield the stretches longer than ``least`` from start to end that lie in none of those taken."""
    for a, b in (*sorted(taken), (end, end)):
        if a - start > least:
            yield start, a
        start = max(start, b)


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
            taken = ((cut[0][0], cut[1][0]) for cut in cuts if cut)
            lines += (((a, a + offset), (b, b + offset)) for a, b in left_over(u0, u1, taken, SHORTEST))
    return lines


def grown(corners: tuple[Point, ...], margin: float) -> tuple[Point, ...]:
    """Return a polygon with ``margin`` added all round; sharp corners are mitred, at most four margins out."""
    signed = area(corners)
    if margin == 0 or signed == 0:
        return corners
    out = math.copysign(1.0, signed)
    reaches = [(b[0] - a[0], b[1] - a[1], math.dist(a, b) or 1.0) for a, b in edges(corners)]
    normals = [(out * dy / reach, -out * dx / reach) for dx, dy, reach in reaches]
    result = []
    for point, n1, n2 in zip(corners, (normals[-1], *normals), normals, strict=False):
        middle = (n1[0] + n2[0], n1[1] + n2[1])
        pointed = out * (n1[0] * n2[1] - n1[1] * n2[0]) > 0
        scale = 2 * margin / max(middle[0] ** 2 + middle[1] ** 2, 0.25 if pointed else 1e-9)
        result.append((point[0] + middle[0] * scale, point[1] + middle[1] * scale))
    return tuple(result)


def cells_over(box: Box, size: float) -> Iterable[int]:
    """Return the cells of side ``size`` that a box meets, column by column."""
    first, low, last, high = int(box[0] // size), int(box[1] // size), int(box[2] // size), int(box[3] // size)
    if first == last:
        return range(first * _COLUMN + low, first * _COLUMN + high + 1)
    return (column * _COLUMN + row for column in range(first, last + 1) for row in range(low, high + 1))


def cell_row(cell: int) -> int:
    """Return a cell's row, from 0 upwards."""
    return (cell + _COLUMN // 2) % _COLUMN - _COLUMN // 2


def cells_along(a: Point, b: Point, size: float) -> Iterable[int]:
    """Return the cells of side ``size`` that a straight piece meets, column by column."""
    if a[0] == b[0] or a[1] == b[1]:
        return cells_over(segment_box(a, b), size)
    if b[0] < a[0]:
        a, b = b, a
    slope, found = (b[1] - a[1]) / (b[0] - a[0]), list[int]()
    y = a[1]
    for column in range(int(a[0] // size), int(b[0] // size) + 1):
        start, y = y, min(max(a[1] + slope * ((column + 1) * size - a[0]), min(a[1], b[1])), max(a[1], b[1]))
        low, high = (start, y) if start < y else (y, start)
        found += range(column * _COLUMN + int(low // size), column * _COLUMN + int(high // size) + 1)
    return found


class Cells(Generic[Item]):
    """Items at points in the plane; a search costs only the cells that it touches."""

    def __init__(self, size: float) -> None:
        """Take the side of a cell; best about as long as the usual search reaches."""
        self._size = size
        self._cells: dict[int, list[tuple[Point, Item]]] = {}

    def add(self, point: Point, item: Item) -> None:
        """Put an item at a point."""
        (cell,) = cells_over((*point, *point), self._size)
        self._cells.setdefault(cell, []).append((point, item))

    def near(self, point: Point, reach: float) -> Iterator[tuple[float, Item]]:
        """Yield distance and item of everything within ``reach`` of a point, in a fixed order."""
        for at, item in self._inside(box_about(point, reach)):
            distance = math.dist(at, point)
            if distance <= reach:
                yield distance, item

    def within(self, box: Box) -> Iterator[Item]:
        """Yield every item whose point lies in a box or on its edge, in a fixed order."""
        return (item for _, item in self._inside(box))

    def _inside(self, box: Box) -> Iterator[tuple[Point, Item]]:
        x0, y0, x1, y1 = box
        for cell in cells_over(box, self._size):
            for entry in self._cells.get(cell, ()):
                if x0 <= entry[0][0] <= x1 and y0 <= entry[0][1] <= y1:
                    yield entry
