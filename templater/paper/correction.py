"""A printer's correction: what is drawn is changed so that what is printed is true."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from templater.drawing.marks import Arc, Circle, Cross, Curve, Line, Mark, Polyline, Text
from templater.findings import DrawingError, Finding
from templater.paper.tiles import Correction
from templater.plane.shapes import Affine, Point

#: Beyond this a print was scaled by the print dialogue; the printer itself is far better (common practice, no source).
LARGEST = 0.03
#: Bezier pieces of a circle; eight are within 4.2e-6 of the radius (computed).
_PIECES = 8
#: Straight pieces of an arc that a correction makes elliptic, degrees each: 0.01 mm off at 60 mm radius (computed).
_ARC_STEP = 2.0


def check_correction(correction: Correction) -> None:
    """Refuse a correction that no sound printer needs.

    Raises:
        DrawingError: S110, scale or skew off by more than 3 per cent.
    """
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


def shift(mark: Mark, du: float, dv: float) -> Mark:
    """Return a mark moved, its kind kept."""
    return _put(mark, lambda point: (point[0] + du, point[1] + dv))


def correct(marks: Iterable[Mark], affine: Affine) -> Iterator[Mark]:
    """Yield marks put through a correction: circles become curves, text is only moved."""
    for mark in marks:
        if isinstance(mark, Circle):
            yield _put(circle_curve(mark), affine.apply)
        elif isinstance(mark, Arc):
            yield _put(chords(mark), affine.apply)
        elif isinstance(mark, Cross):
            for a, b in mark.arms:
                yield Line(affine.apply(a), affine.apply(b), mark.pen, mark.group, mark.id)
        else:
            yield _put(mark, affine.apply)


def _put(mark: Mark, move: Callable[[Point], Point]) -> Mark:
    """Return a mark with its points moved; of what has a centre only that is."""
    if isinstance(mark, Line):
        return Line(move(mark.a), move(mark.b), mark.pen, mark.group, mark.id, mark.phase)
    if isinstance(mark, Text):
        return replace(mark, at=move(mark.at))
    if isinstance(mark, Polyline):
        return replace(mark, points=tuple(move(point) for point in mark.points))
    if isinstance(mark, Curve):
        pieces = tuple((move(a), move(b), move(c)) for a, b, c in mark.pieces)
        return replace(mark, start=move(mark.start), pieces=pieces)
    return replace(mark, centre=move(mark.centre))


def circle_curve(mark: Circle) -> Curve:
    """Return a circle as Bezier pieces; a handle of 4/3 tan(t/4) puts each piece's middle on the circle."""
    step = 2 * math.pi / _PIECES
    handle = 4 / 3 * math.tan(step / 4)
    (x, y), r = mark.centre, mark.diameter / 2
    ends = [(math.cos(step * n), math.sin(step * n)) for n in range(_PIECES)]
    ends.append(ends[0])
    pieces = tuple(
        (
            (x + r * (ac - handle * as_), y + r * (as_ + handle * ac)),
            (x + r * (bc + handle * bs), y + r * (bs - handle * bc)),
            (x + r * bc, y + r * bs),
        )
        for (ac, as_), (bc, bs) in pairwise(ends)
    )
    return Curve((x + r, y), pieces, mark.pen, mark.group, mark.id)


def chords(mark: Arc) -> Polyline:
    """Return an arc as an open polyline: there is no mark for part of an ellipse."""
    count = max(1, math.ceil((mark.end - mark.start) / _ARC_STEP))
    angles = [math.radians(mark.start + (mark.end - mark.start) * n / count) for n in range(count + 1)]
    (x, y), r = mark.centre, mark.radius
    points = tuple((x + r * math.cos(t), y + r * math.sin(t)) for t in angles)
    return Polyline(points, closed=False, pen=mark.pen, group=mark.group, id=mark.id)
