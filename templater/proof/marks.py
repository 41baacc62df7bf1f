"""What the readers find on a page or sheet, and the little plane geometry that proof needs. All mm, y up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from templater.plane.shapes import Affine, Point

#: Ends of a path nearer than this are one point, mm: some programs round coordinates to 0.01 point.
SAME = 0.005


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight stroke from ``a`` to ``b``."""

    a: Point
    b: Point

    @property
    def middle(self) -> Point:
        """The middle of the stroke."""
        return (self.a[0] + self.b[0]) / 2, (self.a[1] + self.b[1]) / 2

    @property
    def length(self) -> float:
        """The length, mm."""
        return math.dist(self.a, self.b)


@dataclass(frozen=True, slots=True)
class Bend:
    """A stroke of curves only: points on it, the ends and middles of its pieces. A closed one starts but once."""

    points: tuple[Point, ...]
    closed: bool

    @property
    def middle(self) -> Point:
        """The mean of the points: the centre, for a circle or ellipse in equal pieces."""
        return mean(self.points)


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed stroke of straight sides; the first corner is not repeated."""

    points: tuple[Point, ...]

    @property
    def middle(self) -> Point:
        """The mean of the corners."""
        return mean(self.points)


@dataclass(frozen=True, slots=True)
class PageMarks:
    """What is stroked on one page, from the visible page's lower left corner, and its text without any spaces.

    Attributes:
        size: width and height of the visible page, mm.
        turned: quarter turns clockwise that a viewer makes; size and marks are as the viewer shows them.
        warnings: what the reader could not make out.
    """

    size: Point
    segments: tuple[Segment, ...]
    bends: tuple[Bend, ...]
    polygons: tuple[Polygon, ...]
    text: str = ""
    turned: int = 0
    warnings: tuple[str, ...] = ()

    def moved(self, by: Affine, size: Point) -> PageMarks:
        """Return the marks mapped by an affine map, on a page of another size."""
        return PageMarks(
            size,
            tuple(Segment(by.apply(s.a), by.apply(s.b)) for s in self.segments),
            tuple(Bend(tuple(by.apply(p) for p in bend.points), bend.closed) for bend in self.bends),
            tuple(Polygon(tuple(by.apply(p) for p in polygon.points)) for polygon in self.polygons),
            self.text,
            0,
            self.warnings,
        )


def mean(points: tuple[Point, ...]) -> Point:
    """Return the mean of points."""
    count = len(points)
    return sum(p[0] for p in points) / count, sum(p[1] for p in points) / count


def fit_circle(points: tuple[Point, ...]) -> tuple[Point, float, float]:
    """Return centre, diameter and greatest departure of points from the circle through them.

    Algebraic least squares: exact for points on a circle, however unevenly they lie. Source of the method: I. Kasa,
    "A circle fitting procedure and its error analysis", IEEE Trans. Instrum. Meas. 25 (1976), from memory.
    """
    middle = mean(points)
    radii = [math.dist(middle, p) for p in points]
    if max(radii) - min(radii) > 1e-4:
        middle = _kasa(points, middle)
        radii = [math.dist(middle, p) for p in points]
    radius = sum(radii) / len(radii)
    return middle, 2 * radius, max(abs(r - radius) for r in radii)


def _kasa(points: tuple[Point, ...], origin: Point) -> Point:
    """Return the centre; ``origin`` is the mean of the points, so that the sums of u and v vanish."""
    shifted = [(x - origin[0], y - origin[1]) for x, y in points]
    suu = sum(u * u for u, _ in shifted)
    svv = sum(v * v for _, v in shifted)
    suv = sum(u * v for u, v in shifted)
    p = sum(u * (u * u + v * v) for u, v in shifted) / 2
    q = sum(v * (u * u + v * v) for u, v in shifted) / 2
    det = suu * svv - suv * suv
    if abs(det) < 1e-12:
        return origin
    return origin[0] + (p * svv - q * suv) / det, origin[1] + (q * suu - p * suv) / det


def crossing(one: Segment, other: Segment) -> Point | None:
    """Return where the two strokes' lines cross; None for lines within 30 degrees of parallel."""
    ux, uy = one.b[0] - one.a[0], one.b[1] - one.a[1]
    vx, vy = other.b[0] - other.a[0], other.b[1] - other.a[1]
    det = ux * vy - uy * vx
    if abs(det) < 0.5 * math.hypot(ux, uy) * math.hypot(vx, vy) or det == 0:
        return None
    t = ((other.a[0] - one.a[0]) * vy - (other.a[1] - one.a[1]) * vx) / det
    return one.a[0] + t * ux, one.a[1] + t * uy
