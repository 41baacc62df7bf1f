"""What a page or sheet must show and what is found on it: straight strokes, curves, filled areas, letters; all in mm.

Every path comes apart into these on both sides, so that one matcher serves for every mark.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Sequence
from itertools import chain, pairwise
from typing import Any, NamedTuple

from templater.drawing.marks import PATTERNS, WIDTHS, Pen
from templater.plane.shapes import Affine, Box, Point, around
from templater.standards.typeface import text_width

#: Ends of a path nearer than this are one point, mm: some programs round coordinates to 0.01 point.
SAME = 0.005
#: What reaches so far over the edge of a clip is still whole, mm.
OVER = 0.1
#: Kinds of marks; that of words is ``LETTER`` and their letters without blanks.
LINE, CURVE, AREA, BLOT, LETTER = "line", "curve", "area", "blot", "letter "
#: No length of a sheet or page reaches this, mm.
MOST = 1e6
#: Cosine and sine of quarter turns.
TURNS = ((1, 0), (0, 1), (-1, 0), (0, -1))
_PENS = {pen.value: (WIDTHS[pen], 0.0, *((0.0, *PATTERNS[pen]) if PATTERNS[pen] else ())) for pen in Pen}
#: Points on a whole circle, as cosine and sine.
_ROUND = tuple((math.cos(math.pi * k / 8), math.sin(math.pi * k / 8)) for k in range(16))
#: What marks are for, in words: one of each.
_WORDS = {
    "holes": "hole", "first-screws": "screw", "second-screws": "screw", "plates": "plate", "outline": "outline",
    "centrelines": "centreline", "sight-windows": "sight window", "keep-clear": "keep-clear area", "cut": "cut edge",
    "registration": "registration mark", "bars": "bar", "countersinks": "countersink", "overlay": "other boat",
}  # fmt: skip


class Mark(NamedTuple):
    """One mark.

    Attributes:
        kind: ``LINE``, ``CURVE``, ``AREA`` (filled), ``BLOT`` (a picture, a shading: nothing of ours) or words.
        points: ends of a line; points along a curve, ends and middles of its pieces; corners of an area; the
            origin of each letter.
        look: of a stroke its width, end (0 butt, 1 round, 2 square), length of pattern used up at its start and the
            pattern; of a letter its em along and across the line of writing, and 1 for bold.
        ink: why it does not show as plain black: ``white``, ``clipped``, ``in a layer`` ..; empty if it does.
        what: what it belongs to, for people, where that is known.
        circle: centre and radius, of a wanted curve that is part of a circle.
        closed: of a curve.
    """

    kind: str
    points: tuple[Point, ...]
    look: tuple[float, ...] = ()
    ink: str = ""
    what: str = ""
    circle: tuple[Point, float] | None = None
    closed: bool = False

    @property
    def middle(self) -> Point:
        """The mean of the points: the centre, for a circle or ellipse in equal pieces."""
        return mean(self.points)

    def letters(self) -> tuple[Mark, ...]:
        """Return a word's letters one by one; anything else as it is."""
        if len(self.points) == 1 or not self.kind.startswith(LETTER):
            return (self,)
        return tuple(
            self._replace(kind=LETTER + letter, points=(point,))
            for letter, point in zip(self.kind[len(LETTER) :], self.points, strict=True)
        )

    @property
    def name(self) -> str:
        """The mark for people."""
        return f"letter {self.kind[len(LETTER) :]!r}" if self.kind.startswith(LETTER) else self.kind

    def moved(self, by: Affine) -> Mark:
        """Return the mark mapped; widths and patterns by the mean scale."""
        a, b, c, d, _, _ = by
        look = self.look
        if self.kind.startswith(LETTER):
            (x, y, u, v), rest = look[:4], look[4:]
            look = (a * x + c * y, b * x + d * y, a * u + c * v, b * u + d * v, *rest)
        elif look:
            scale = math.sqrt(abs(a * d - b * c))
            look = (look[0] * scale, look[1], *(length * scale for length in look[2:]))
        return self._replace(points=tuple(by.apply(point) for point in self.points), look=look)


class PageMarks(NamedTuple):
    """What one page shows, from the visible page's lower left corner.

    Attributes:
        size: width and height of the visible page, mm.
        marks: in the order in which they are painted.
        turned: quarter turns clockwise that a viewer makes; size and marks are as the viewer shows them.
        complaints: what the library complains of.
        unread: what cannot be made out, so that nothing can be said of the page.
    """

    size: Point
    marks: tuple[Mark, ...]
    turned: int = 0
    complaints: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The page's letters in order, without any spaces."""
        return "".join(mark.kind[len(LETTER) :] for mark in self.marks if mark.kind.startswith(LETTER))


class Path:
    """A path in the making: parts of pieces in page mm, straight or curved."""

    def __init__(self) -> None:
        #: Each part: points, and for each point after the first whether a curve leads to it.
        self.parts: list[tuple[list[Point], list[bool]]] = []
        #: The current point, in user space.
        self.at = self._first = (0.0, 0.0)
        self._open = False

    def add(self, operator: bytes, v: list[float], ctm: Affine) -> None:
        """Add what a path operator of a PDF says; ``v`` is in user space."""
        if operator == b"m":
            self._start((v[0], v[1]), ctm)
            return
        if operator == b"re":
            x, y, w, h = v
            self._start((x, y), ctm)
            self.through(((x + w, y), (x + w, y + h), (x, y + h)), ctm, curved=False)
            self.close()
            return
        if not self.parts:
            return
        if not self._open:  # a new part starts where the closed one did: ISO 32000-1:2008, table 59, operator h
            self._start(self._first, ctm)
        if operator == b"l":
            self.through(((v[0], v[1]),), ctm, curved=False)
            return
        x0, y0 = self.at
        x1, y1, x2, y2 = (x0, y0, *v[:2]) if operator == b"v" else v[:4]
        x3, y3 = v[-2:]
        # The curve's middle, at half its parameter, and its end.
        self.through((((x0 + 3 * (x1 + x2) + x3) / 8, (y0 + 3 * (y1 + y2) + y3) / 8), (x3, y3)), ctm)

    def through(self, points: Iterable[Point], ctm: Affine, *, curved: bool = True) -> None:
        """Go on through points in user space: points on a curve, or the ends of straight pieces."""
        a, b, c, d, e, f = ctm
        placed, bends = self.parts[-1]
        for x, y in points:
            placed.append((a * x + c * y + e, b * x + d * y + f))
            bends.append(curved)
            self.at = (x, y)

    def _start(self, at: Point, ctm: Affine) -> None:
        self.at = self._first = at
        self._open = True
        self.parts.append(([ctm.apply(at)], []))

    def close(self) -> None:
        """Close the last part."""
        if self.parts and self._open:
            self._open = False
            points, bends = self.parts[-1]
            if math.dist(points[0], points[-1]) >= SAME:
                points.append(points[0])
                bends.append(False)
            self.at = self._first

    def strokes(self, look: tuple[float, ...], ink: str) -> list[Mark]:
        """Return the path as straight strokes and curves."""
        marks: list[Mark] = []
        for points, curved in self.parts:
            if True not in curved:
                marks += strokes(points, look, ink)
                continue
            start = 0
            for end in range(1, len(points)):
                if end == len(points) - 1 or curved[end] != curved[start]:
                    run = tuple(points[start : end + 1])
                    if curved[start]:
                        closed = math.dist(run[0], run[-1]) < SAME
                        marks.append(Mark(CURVE, run[:-1] if closed else run, look, ink, closed=closed))
                    else:
                        marks += strokes(run, look, ink)
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
        if not self.parts:
            return (-math.inf, -math.inf, math.inf, math.inf)
        points, curved = self.parts[0]
        box = around(points)
        upright = all(min(abs(x - box[0]), abs(x - box[2])) < OVER and min(abs(y - box[1]), abs(y - box[3])) < OVER
                      for x, y in points)  # fmt: skip
        whole = len(self.parts) == 1 and upright and not any(curved) and len(points) in (4, 5)
        return box if whole else (math.inf, math.inf, -math.inf, -math.inf)


def strokes(points: Iterable[Point], look: tuple[float, ...], ink: str = "", what: str = "") -> list[Mark]:
    """Return straight pieces through points as lines, each starting where the pattern of the one before ended."""
    lines = []
    used, pattern = (look[2], sum(look[3:])) if len(look) > 3 else (0.0, 0.0)
    for a, b in pairwise(points):
        length = math.dist(a, b)
        if length >= SAME:
            lines.append(Mark(LINE, (a, b), (*look[:2], used % pattern, *look[3:]) if pattern else look[:2], ink, what))
            used += length
    return lines


def mean(points: tuple[Point, ...]) -> Point:
    """Return the mean of points."""
    xs, ys = zip(*points, strict=True)
    return sum(xs) / len(xs), sum(ys) / len(ys)


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


def wanted_marks(record: Iterable[Any], frame: Sequence[tuple[Mark, ...]] = ()) -> tuple[Mark, ...]:
    """Return the marks that a record's rows ask for, and those of the frame that it does not go without.

    Raises:
        ValueError: for a row that is none; it is the error's text.
    """
    marks: list[Mark] = []
    around = dict(enumerate(frame))
    for row in record:
        try:
            if row[0] == "without":
                for number in row[2]:
                    del around[int(number)]
            else:
                marks += _marks(*row)
        except (ValueError, KeyError, IndexError, OverflowError, TypeError, AttributeError):
            raise ValueError(str(row)[:60]) from None
    return (*marks, *chain.from_iterable(around.values()))


def _marks(kind: str, pen: str, numbers: list[float], group: str, words: str) -> Iterable[Mark]:
    if not all(-MOST < value < MOST for value in numbers):
        raise ValueError
    if kind == "text":
        size, turn, bold, x, y = numbers
        return letters(words, (x, y), size, TURNS[int(turn) % 4], bold=bool(bold))
    what = f"{_WORDS.get(group, '')} {words}".strip()
    if kind == "area":
        return (Mark(AREA, _pairs(numbers), what=what),)
    look = _PENS[pen]
    if kind in ("line", "outline"):
        points = _pairs(numbers[1:])
        if len(look) > 2:
            look = (*look[:2], numbers[0], *look[3:])
        return strokes((*points, points[0]) if kind == "outline" else points, look, what=what)
    if kind in ("circle", "arc"):
        return (_arc(numbers, look, what),)
    points = _pairs(numbers)
    if kind == "curve" and len(points) % 3 == 1:
        return (Mark(CURVE, bezier_points(points)[:-1], look, what=what, closed=True),)
    raise ValueError


def _pairs(numbers: list[float]) -> tuple[Point, ...]:
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _arc(numbers: list[float], look: tuple[float, ...], what: str) -> Mark:
    """Return a circle, or an arc in eight pieces."""
    units: Iterable[Point] = _ROUND
    if len(numbers) == 3:
        x, y, radius = numbers[0], numbers[1], numbers[2] / 2
    else:
        x, y, radius, start, end = numbers
        angles = [math.radians(start + (end - start) * part / 8) for part in range(9)]
        units = [(math.cos(angle), math.sin(angle)) for angle in angles]
    if radius <= 0:
        raise ValueError
    points = tuple((x + radius * cos, y + radius * sin) for cos, sin in units)
    return Mark(CURVE, points, look, what=what, circle=((x, y), radius), closed=len(numbers) == 3)


def letters(words: str, at: Point, size: float, along: Point, *, bold: bool) -> tuple[Mark, ...]:
    """Return a text that is set in the project's typeface as one mark; nothing if it is all blank.

    Args:
        words: the text.
        at: start of the base line, mm.
        size: of the type, mm.
        along: unit vector in the direction of writing; up is a quarter turn anticlockwise of it.
        bold: the bold face.
    """
    cos, sin = along
    look = (size * cos, size * sin, -size * sin, size * cos, float(bold))
    used, points, shown = 0.0, list[Point](), ""
    for letter in words:
        if not letter.isspace():
            points.append((at[0] + used * cos, at[1] + used * sin))
            shown += letter
        used += size * _em(letter, bold)
    return (Mark(LETTER + shown, tuple(points), look, what=f"text {words!r}"),) if shown else ()


@functools.cache
def _em(letter: str, bold: bool) -> float:
    return text_width(letter, 1.0, bold=bold)


def bezier_points(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the ends and middles of cubic Bezier pieces: start, then two handles and an end for each piece."""
    found = [points[0]]
    for n in range(1, len(points) - 2, 3):
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points[n - 1 : n + 3]
        found += [((ax + 3 * (bx + cx) + dx) / 8, (ay + 3 * (by + cy) + dy) / 8), (dx, dy)]
    return tuple(found)
