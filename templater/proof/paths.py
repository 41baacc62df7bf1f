"""Paths of a PDF's content stream, in page mm: to strokes and curves, to outlines, to the box that they clip with."""

from __future__ import annotations

import math
from collections.abc import Iterable

from templater.plane.shapes import Affine, Point
from templater.proof.marks import CURVE, SAME, Mark, strokes

Box = tuple[float, float, float, float]
#: What reaches so far over the edge of a clip is still whole, mm.
OVER = 0.1
EVERYWHERE: Box = (-math.inf, -math.inf, math.inf, math.inf)
NOWHERE: Box = (math.inf, math.inf, -math.inf, -math.inf)


class Path:
    """A path in the making: its pieces in page mm, straight or curved."""

    def __init__(self) -> None:
        #: Each part: points, whether it is closed, and for each point after the first whether a curve leads to it.
        self.parts: list[tuple[list[Point], list[bool]]] = []
        self._raw = self._first = (0.0, 0.0)
        self._open = False

    def add(self, operator: bytes, v: list[float], ctm: Affine) -> None:
        """Add to the path; ``v`` is in user space."""
        a, b, c, d, e, f = ctm
        if operator == b"m":
            self._start((v[0], v[1]), ctm)
            return
        if operator == b"re":
            x, y, w, h = v
            self._start((x, y), ctm)
            for p in ((x + w, y), (x + w, y + h), (x, y + h)):
                self._to(ctm.apply(p), curved=False)
            self.close()
            return
        if not self.parts:
            return
        if not self._open:  # a new part starts where the closed one did: ISO 32000-1:2008, table 59, operator h
            self._start(self._first, ctm)
        x0, y0 = self._raw
        self._raw = (v[-2], v[-1])
        if operator != b"l":
            x1, y1, x2, y2 = (*v[:4],) if operator == b"c" else (x0, y0, *v[:2]) if operator == b"v" else v
            # The curve's middle, at half its parameter.
            x, y = (x0 + 3 * (x1 + x2) + v[-2]) / 8, (y0 + 3 * (y1 + y2) + v[-1]) / 8
            self._to((a * x + c * y + e, b * x + d * y + f), curved=True)
        x, y = self._raw
        self._to((a * x + c * y + e, b * x + d * y + f), curved=operator != b"l")

    def through(self, points: Iterable[Point], ctm: Affine) -> None:
        """Go on along a curve, through points on it in user space."""
        for point in points:
            self._raw = point
            self._to(ctm.apply(point), curved=True)

    @property
    def at(self) -> Point:
        """The current point, in user space."""
        return self._raw

    def _start(self, raw: Point, ctm: Affine) -> None:
        self._raw = self._first = raw
        self._open = True
        self.parts.append(([ctm.apply(raw)], []))

    def _to(self, point: Point, *, curved: bool) -> None:
        self.parts[-1][0].append(point)
        self.parts[-1][1].append(curved)

    def close(self) -> None:
        """Close the last part."""
        if self.parts and self._open:
            self._open = False
            points, _ = self.parts[-1]
            if math.dist(points[0], points[-1]) >= SAME:
                self._to(points[0], curved=False)
            self._raw = self._first

    def strokes(self, look: tuple[float, ...], ink: str) -> list[Mark]:
        """Return the path as straight strokes and curves."""
        marks: list[Mark] = []
        for points, curved in self.parts:
            if not any(curved):
                marks += strokes(tuple(points), look, ink)
                continue
            start = 0
            for end in range(1, len(points)):
                if end == len(points) - 1 or curved[end] != curved[start]:
                    run = tuple(points[start : end + 1])
                    marks += _curve(run, look, ink) if curved[start] else strokes(run, look, ink)
                    start = end
        return marks

    def outlines(self) -> list[tuple[Point, ...]]:
        """Return the outline of each part that has an area."""
        return [
            tuple(points[:-1] if math.dist(points[0], points[-1]) < SAME else points)
            for points, _ in self.parts
            if len(points) > 2
        ]

    def box(self) -> Box:
        """Return what the path leaves of a clip: its box if it is upright, nothing if that cannot be said."""
        if len(self.parts) != 1:
            return NOWHERE if self.parts else EVERYWHERE
        points, curved = self.parts[0]
        box = bounds(points)
        upright = all(min(abs(x - box[0]), abs(x - box[2])) < OVER and min(abs(y - box[1]), abs(y - box[3])) < OVER
                      for x, y in points)  # fmt: skip
        return box if upright and not any(curved) and len(points) in (4, 5) else NOWHERE


def _curve(points: tuple[Point, ...], look: tuple[float, ...], ink: str) -> list[Mark]:
    closed = math.dist(points[0], points[-1]) < SAME
    return [Mark(CURVE, points[:-1] if closed else points, look, ink, closed=closed)]


def bounds(points: Iterable[Point]) -> Box:
    """Return the least upright box round points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def meet(one: Box, other: Box) -> Box:
    """Return what two boxes have in common; where that is nothing, a box that is turned inside out."""
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])
