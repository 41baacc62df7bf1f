"""Marks on their way to a page: cut off at its window, moved, and changed so that what is printed is true.

Cut lines keep their pattern's phase, cut circles become arcs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from templater.drawing.marks import PATTERNS, Arc, Circle, Cross, Curve, Line, Mark, Polyline, Text, mark_box, put
from templater.findings import DrawingError, Finding
from templater.paper.tiles import Correction
from templater.plane.shapes import Affine, Box, Point, bezier_arc, box_within, boxes_overlap, clip_segment

#: Pieces shorter than this leave no ink worth having, mm.
_NOTHING = 1e-6
#: Beyond this a print was scaled by the print dialogue; the printer itself is far better (common practice, no source).
LARGEST = 0.03
#: Straight pieces of an arc that a correction makes elliptic, degrees each: 0.01 mm off at 60 mm radius (computed).
_ARC_STEP = 2.0


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
        return boxes_overlap(mark_box(mark), window)
    return any(True for _ in clip(mark, window))


def _line(mark: Line, window: Box) -> Iterator[Line]:
    part = clip_segment(mark.a, mark.b, window)
    if part and math.dist(*part) > _NOTHING:
        # Whole patterns are left out: over a long line what a file rounds of each length would add up.
        period = sum(PATTERNS[mark.pen])
        phase = (mark.phase + math.dist(mark.a, part[0])) % period if period else 0.0
        yield mark._replace(a=part[0], b=part[1], phase=phase)


def _polyline(mark: Polyline, window: Box) -> Iterator[Mark]:
    """Yield the runs of an outline inside a window; a side's pattern goes on where the side before ended."""
    used = 0.0
    for a, b in pairwise(mark.corners):
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
        yield mark._replace(points=tuple(points))


def _arc(mark: Arc, window: Box) -> Iterator[Arc]:
    """Yield the parts of an arc inside a window: cut where the circle crosses the window's edge lines."""
    cuts = {mark.start, mark.end}
    for number, bound in enumerate(window):
        axis = number % 2
        ratio = (bound - mark.centre[axis]) / mark.radius
        if abs(ratio) < 1:
            first = math.degrees(math.acos(ratio) if axis == 0 else math.asin(ratio))
            both = (first, -first if axis == 0 else 180 - first)
            turned = (mark.start + (angle - mark.start) % 360.0 for angle in both)
            cuts.update(angle for angle in turned if angle < mark.end)
    start: float | None = None
    for a, b in pairwise((*sorted(cuts), math.nan)):
        shown = not math.isnan(b) and box_within((*mark.point((a + b) / 2),) * 2, window, 0.0)
        if shown and start is None:
            start = a
        if start is not None and not shown:
            yield mark._replace(start=start, end=a)
            start = None


def check_correction(correction: Correction) -> None:
    """Refuse a correction that no sound printer needs: raises DrawingError S110, off by more than 3 per cent."""
    worst = max(abs(correction.across - 1), abs(correction.along - 1), abs(correction.skew))
    if not worst <= LARGEST:
        text = (
            f"{correction.name}: off by {100 * worst:.1f} %, allowed is {100 * LARGEST:.0f} % - "
            "the print was scaled to fit; print the test page again at actual size and measure it again"
        )
        raise DrawingError(Finding("S110", "print.printer", text))


def matrix(correction: Correction, paper: tuple[float, float]) -> Affine:
    """Return the correction of a page, about its middle, page mm to page mm."""
    x, y = paper[0] / 2, paper[1] / 2
    across, along, skew = correction.across, correction.along, correction.skew
    return Affine(across, 0.0, skew, along, x - across * x - skew * y, y - along * y)


def turned(correction: Correction) -> Correction:
    """Return a printer's correction for a page that goes through it sideways, in the axes of that page.

    The page is turned by a quarter on its way to the printer, so its level lines lie along the printer's way, and the
    correction in its axes is X = along x, Y = across y - skew x, whichever way it is turned. That is the same, but for
    a turn of the whole print by skew / across, which does no harm, as what is returned here.
    """
    across, along, skew = correction.across, correction.along, correction.skew
    size = math.hypot(across, skew)
    return correction._replace(across=along * across / size, along=size, skew=-along * skew / size)


def correct(marks: Iterable[Mark], affine: Affine) -> Iterator[Mark]:
    """Yield marks put through a correction: circles become curves, text is only moved."""
    for mark in marks:
        if isinstance(mark, Circle):
            start, pieces = bezier_arc(mark.centre, mark.diameter / 2, 0.0, 360.0)
            yield put(Curve(start, pieces, mark.pen, mark.group, mark.id), affine.apply)
        elif isinstance(mark, Arc):
            yield put(chords(mark), affine.apply)
        elif isinstance(mark, Cross):
            for a, b in mark.arms:
                yield Line(affine.apply(a), affine.apply(b), mark.pen, mark.group, mark.id)
        else:
            yield put(mark, affine.apply)


def chords(mark: Arc) -> Polyline:
    """Return an arc as an open polyline: there is no mark for part of an ellipse."""
    count = max(1, math.ceil((mark.end - mark.start) / _ARC_STEP))
    points = tuple(mark.point(mark.start + (mark.end - mark.start) * n / count) for n in range(count + 1))
    return Polyline(points, closed=False, pen=mark.pen, group=mark.group, id=mark.id)
