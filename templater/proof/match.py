"""Finds a mark near where it should be among all strokes of a page. A grid of the strokes' middles keeps it quick."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from templater.plane.cells import Cells
from templater.plane.shapes import Point, distance_to_segment
from templater.proof.marks import Bend, PageMarks, Polygon, Segment, crossing

#: How far from its place a mark is still taken for the one that is meant, mm.
REACH = 3.0
_CELL = 4.0


class Middles:
    """Marks by the place of their middle."""

    def __init__(self, middles: Sequence[Point]) -> None:
        self.middles = middles
        self._cells: Cells[int] = Cells(_CELL)
        for number, middle in enumerate(middles):
            self._cells.add(middle, number)

    def near(self, at: Point, reach: float = REACH) -> list[int]:
        """Return the marks whose middle is within ``reach`` of a point, the nearest first."""
        return [number for _, number in sorted(self._cells.near(at, reach))]


class Finder:
    """All strokes of a page, ready to be asked for marks. A cross found is not found again for another mark."""

    def __init__(self, marks: PageMarks) -> None:
        self.marks = marks
        self.segments = Middles([segment.middle for segment in marks.segments])
        self.bends = Middles([bend.middle for bend in marks.bends])
        self.polygons = Middles([polygon.middle for polygon in marks.polygons])
        self._used: dict[int, Point] = {}

    def cross(self, at: Point) -> tuple[Point, float] | None:
        """Return the centre of the cross at a point and how far it is off: arms' middles and crossing alike.

        A cross is two strokes of one length, not parallel, each with its middle near the point.
        """
        numbers = [n for n in self.segments.near(at) if math.dist(self._used.get(n, at), at) < 1e-6][:16]
        fresh = [n for n in numbers if n not in self._used]
        best = self._best_cross(at, fresh) or self._best_cross(at, numbers)
        if best is None:
            return None
        off, centre, pair = best
        for number in pair:
            self._used[number] = at
        return centre, off

    def _best_cross(self, at: Point, numbers: list[int]) -> tuple[float, Point, tuple[int, int]] | None:
        best: tuple[float, Point, tuple[int, int]] | None = None
        for index, first in enumerate(numbers):
            one = self.marks.segments[first]
            if best is not None and math.dist(one.middle, at) > best[0]:
                break
            for second in numbers[index + 1 :]:
                other = self.marks.segments[second]
                if abs(one.length - other.length) > 0.04 * one.length:
                    continue
                centre = crossing(one, other)
                if centre is None:
                    continue
                off = max(math.dist(point, at) for point in (centre, one.middle, other.middle))
                if best is None or off < best[0]:
                    best = off, centre, (first, second)
        return best

    def cut_cross(self, at: Point) -> tuple[Point, float] | None:
        """Return the centre of a cross that the window's edge may have cut: two strokes that cross near the point."""
        through = [segment for segment in self.marks.segments if distance_to_segment(at, segment.a, segment.b) <= REACH]
        best: tuple[Point, float] | None = None
        for index, one in enumerate(through):
            for other in through[index + 1 :]:
                centre = crossing(one, other)
                if centre is not None and (best is None or math.dist(centre, at) < best[1]):
                    best = centre, math.dist(centre, at)
        return best

    def closed_bends(self, at: Point) -> Iterator[Bend]:
        """Yield the closed curves about a point, the nearest first."""
        for number in self.bends.near(at):
            if self.marks.bends[number].closed:
                yield self.marks.bends[number]

    def squares(self, at: Point) -> Iterator[Polygon]:
        """Yield the four-sided shapes about a point, the nearest first."""
        for number in self.polygons.near(at):
            if len(self.marks.polygons[number].points) == 4:
                yield self.marks.polygons[number]

    def stroke(self, a: Point, b: Point) -> tuple[Segment, float] | None:
        """Return the stroke whose ends are nearest to two points, from ``a`` to ``b``, and how far the worse is off."""
        best: tuple[Segment, float] | None = None
        for number in self.segments.near(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)):
            segment = self.marks.segments[number]
            for one in (segment, Segment(segment.b, segment.a)):
                off = max(math.dist(one.a, a), math.dist(one.b, b))
                if off <= 2 * REACH and (best is None or off < best[1]):
                    best = one, off
        return best


