"""Marks cut off at the edges of a window, exactly: lines keep their pattern's phase, circles become arcs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from templater.drawing.marks import Arc, Circle, Cross, Line, Mark, Polyline, Text, mark_box
from templater.plane.shapes import Box, Point, box_within, clip_segment

#: Pieces shorter than this leave no ink worth having, mm.
_NOTHING = 1e-6


def clip(mark: Mark, window: Box) -> Iterator[Mark]:
    """Yield the parts of a mark inside a window. A text is yielded whole or not at all; so is a curve, made later."""
    if box_within(mark_box(mark), window):
        yield mark
    elif isinstance(mark, Line):
        yield from _line(mark, window)
    elif isinstance(mark, Circle):
        arc = Arc(mark.centre, mark.diameter / 2, 0.0, 360.0, mark.pen, mark.group, mark.id)
        yield from _arc(arc, window)
    elif isinstance(mark, Arc):
        yield from _arc(mark, window)
    elif isinstance(mark, Cross):
        for a, b in mark.arms:
            yield from _line(Line(a, b, mark.pen, mark.group, mark.id), window)
    elif isinstance(mark, Polyline):
        yield from _filled(mark, window) if mark.filled else _polyline(mark, window)


def touches(mark: Mark, window: Box) -> bool:
    """True if a mark leaves ink in a window; a text counts if it shares more than an edge with it."""
    if isinstance(mark, Text):
        box = mark_box(mark)
        return box[0] < window[2] and box[2] > window[0] and box[1] < window[3] and box[3] > window[1]
    return any(True for _ in clip(mark, window))


def _line(mark: Line, window: Box) -> Iterator[Line]:
    part = clip_segment(mark.a, mark.b, window)
    if part and math.dist(*part) > _NOTHING:
        yield replace(mark, a=part[0], b=part[1], phase=mark.phase + math.dist(mark.a, part[0]))


def _polyline(mark: Polyline, window: Box) -> Iterator[Mark]:
    """Yield the runs of an outline inside a window; a side's pattern goes on where the side before ended."""
    corners = (*mark.points, mark.points[0]) if mark.closed else mark.points
    used = 0.0
    for a, b in pairwise(corners):
        length = math.dist(a, b)
        if length > _NOTHING:
            yield from _line(Line(a, b, mark.pen, mark.group, mark.id, used), window)
        used += length


def _filled(mark: Polyline, window: Box) -> Iterator[Polyline]:
    """Yield a filled area cut off at the window, side by side. Sutherland and Hodgman's method (1974)."""
    points = list(mark.points)
    for axis, bound, sign in ((0, window[0], 1), (0, window[2], -1), (1, window[1], 1), (1, window[3], -1)):
        kept: list[Point] = []
        for a, b in pairwise((*points, points[0])) if points else ():
            in_a, in_b = sign * (a[axis] - bound) >= 0, sign * (b[axis] - bound) >= 0
            if in_a:
                kept.append(a)
            if in_a != in_b:
                t = (bound - a[axis]) / (b[axis] - a[axis])
                kept.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        # A corner on the very edge comes twice: as itself and as where its side leaves.
        points = [point for n, point in enumerate(kept) if math.dist(point, kept[n - 1]) > _NOTHING]
    if len(points) > 2:
        yield replace(mark, points=tuple(points))


def _arc(mark: Arc, window: Box) -> Iterator[Arc]:
    """Yield the parts of an arc inside a window: cut where the circle crosses the window's edge lines."""
    (u, v), radius = mark.centre, mark.radius
    crossings: list[float] = []
    for axis, bound in ((0, window[0]), (0, window[2]), (1, window[1]), (1, window[3])):
        ratio = (bound - mark.centre[axis]) / radius
        if abs(ratio) < 1:
            first = math.degrees(math.acos(ratio) if axis == 0 else math.asin(ratio))
            crossings += [first, -first if axis == 0 else 180 - first]
    cuts = {mark.start, mark.end}
    for angle in crossings:
        turned = mark.start + (angle - mark.start) % 360.0
        if turned < mark.end:
            cuts.add(turned)
    start: float | None = None
    ordered = sorted(cuts)
    for a, b in pairwise(ordered):
        middle = math.radians((a + b) / 2)
        x, y = u + radius * math.cos(middle), v + radius * math.sin(middle)
        shown = window[0] <= x <= window[2] and window[1] <= y <= window[3]
        if shown and start is None:
            start = a
        if start is not None and not shown:
            yield replace(mark, start=start, end=a)
            start = None
    if start is not None:
        yield replace(mark, start=start, end=ordered[-1])
