"""The outlines of plates and slots: lines and arcs that meet exactly, and the closed outlines they make for a shop."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from templater.description.keys import Slot
from templater.drawing.marks import Arc, Group, Line, Mark, Pen, Polyline
from templater.plane.shapes import Box, Point

Span = tuple[float, float]
#: Straight edge left between a rounded corner and the bridge beside it, mm: room for a file.
BESIDE_BRIDGE = 1.5
#: Ends nearer than this meet, mm.
_SAME = 1e-6


def plate_contour(
    box: Box,
    radius: float,
    *,
    pen: Pen = Pen.WIDE,
    group: Group = Group.PLATE,
    open_top: tuple[Span, ...] = (),
    open_foot: tuple[Span, ...] = (),
) -> tuple[Mark, ...]:
    """Return a plate's outline with rounded corners.

    Args:
        box: of the plate, mm.
        radius: of the corners, 0 for sharp ones; beside a bridge as far as there is room.
        pen: of the marks.
        group: of the marks.
        open_top: stretches along u of the upper edge that are left out, where bridges join it.
        open_foot: the same of the lower edge.
    """
    u0, v0, u1, v1 = box
    top, foot = (_corner(radius, box, spans) for spans in (open_top, open_foot))
    marks: list[Mark] = [Line((a, v1), (b, v1), pen, group) for a, b in _left(u0 + top, u1 - top, open_top)]
    marks += [Line((a, v0), (b, v0), pen, group) for a, b in _left(u0 + foot, u1 - foot, open_foot)]
    marks += [Line((u, v0 + foot), (u, v1 - top), pen, group) for u in (u0, u1)]
    corners = ((u1, v1, top), (u0, v1, top), (u0, v0, foot), (u1, v0, foot))
    for number, (u, v, r) in enumerate(corners):
        centre = (u - r if u == u1 else u + r, v - r if v == v1 else v + r)
        marks += [Arc(centre, r, 90.0 * number, 90.0 * (number + 1), pen, group)] if r > 0 else []
    return tuple(marks)


def _corner(radius: float, box: Box, openings: tuple[Span, ...]) -> float:
    """Return the radius of the corners at an edge with openings."""
    room = min((min(a - box[0], box[2] - b) for a, b in openings), default=math.inf)
    return min(radius, max(room - BESIDE_BRIDGE, 0.0))


def slot_contour(centre: Point, slot: Slot, *, pen: Pen = Pen.NARROW, group: Group = Group.PLATE) -> tuple[Mark, ...]:
    """Return the outline of a slot along u with round ends."""
    u, v = centre
    r = slot.width / 2
    half = slot.length / 2 - r
    return (
        Line((u - half, v + r), (u + half, v + r), pen, group),
        Line((u - half, v - r), (u + half, v - r), pen, group),
        Arc((u + half, v), r, -90.0, 90.0, pen, group),
        Arc((u - half, v), r, 90.0, 270.0, pen, group),
    )


def _left(start: float, end: float, openings: tuple[Span, ...]) -> list[Span]:
    """Return what is left of a stretch when openings are taken out."""
    result = []
    for a, b in sorted(openings):
        result.append((start, a))
        start = b
    return [(a, b) for a, b in (*result, (start, end)) if b > a]


def outlines(marks: Iterable[Mark], kerf: float = 0.0) -> tuple[Polyline, ...]:
    """Return the closed outlines that lines and arcs make where they meet, the outermost first.

    Args:
        marks: lines and arcs; others are passed over.
        kerf: width that the cut takes away; outlines lie half of it off the metal. 0 leaves the finished edge.

    Raises:
        ValueError: if they do not close.
    """
    loose = [_piece(mark) for mark in marks if isinstance(mark, Line | Arc)]
    loose = [piece for piece in loose if not _meets(piece[0], piece[1])]
    rings = []
    while loose:
        start, end, bulge = loose.pop(0)
        ring = [(start, bulge)]
        while not _meets(end, start):
            number = next((n for n, one in enumerate(loose) if _meets(one[0], end) or _meets(one[1], end)), None)
            if number is None:
                raise ValueError(f"an outline is open at {end[0]:.3f}, {end[1]:.3f}")
            a, b, bulge = loose.pop(number)
            if not _meets(a, end):
                a, b, bulge = b, a, -bulge
            ring.append((a, bulge))
            end = b
        rings.append(_straightened(ring))
    # The metal is on the left all the way: anticlockwise round the part, clockwise round its openings.
    rings.sort(key=lambda ring: -abs(_area(ring)))
    turned = [ring if (_area(ring) > 0) == (number == 0) else _reversed(ring) for number, ring in enumerate(rings)]
    finished = [tuple(zip(*_moved(ring, kerf / 2), strict=True)) for ring in turned]
    return tuple(Polyline(p, closed=True, pen=Pen.NARROW, group=Group.CUT, bulges=b) for p, b in finished)


_Ring = list[tuple[Point, float]]


def _meets(a: Point, b: Point) -> bool:
    return math.dist(a, b) < _SAME


def _piece(mark: Line | Arc) -> tuple[Point, Point, float]:
    """Return both ends of a mark and its bulge: the tangent of a quarter of its angle, positive anticlockwise."""
    if isinstance(mark, Line):
        return mark.a, mark.b, 0.0
    return mark.point(mark.start), mark.point(mark.end), math.tan(math.radians(mark.end - mark.start) / 4)


def _straightened(ring: _Ring) -> _Ring:
    """Return a ring without the corners in the middle of a straight edge."""
    kept = []
    for number, (point, bulge) in enumerate(ring):
        (before, bend), after = ring[number - 1], ring[(number + 1) % len(ring)][0]
        turn = (point[0] - before[0]) * (after[1] - point[1]) - (point[1] - before[1]) * (after[0] - point[0])
        if bulge or bend or abs(turn) > _SAME:
            kept.append((point, bulge))
    return kept


def _reversed(ring: _Ring) -> _Ring:
    return [(ring[n][0], -ring[n - 1][1]) for n in range(len(ring) - 1, -1, -1)]


def _area(ring: _Ring) -> float:
    """Return the area by straight lines through the corners and the middles of arcs, positive anticlockwise."""
    points: list[Point] = []
    for (a, bulge), (b, _) in pairwise([*ring, ring[0]]):
        points += [a, ((a[0] + b[0] + bulge * (b[1] - a[1])) / 2, (a[1] + b[1] - bulge * (b[0] - a[0])) / 2)]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*points, points[0]])) / 2


def _moved(ring: _Ring, by: float) -> _Ring:
    """Return a ring moved to its right; arcs meet their neighbours in a tangent, so that they keep their bulge."""
    if not by:
        return ring

    def normal(number: int, sign: int) -> Point:
        (a, bulge), (b, _) = ring[number], ring[(number + 1) % len(ring)]
        way = math.atan2(b[1] - a[1], b[0] - a[0]) + sign * 2 * math.atan(bulge)
        return math.sin(way), -math.cos(way)

    moved = []
    for number, ((u, v), bulge) in enumerate(ring):
        (a, b), (c, d) = normal((number - 1) % len(ring), 1), normal(number, -1)
        share = by / (1 + a * c + b * d)
        moved.append(((u + share * (a + c), v + share * (b + d)), bulge))
    return moved
