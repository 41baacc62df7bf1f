"""What a page or sheet must show and what is found on it: straight strokes, curves, filled areas, letters; all in mm.

Every path comes apart into these on both sides, so that one matcher serves for every mark.
"""

import functools
import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, pairwise
from typing import Any, NamedTuple

from templater.drawing.marks import PATTERNS, WIDTHS, Pen
from templater.plane.shapes import Affine, Box, Point, around
from templater.standards.typeface import text_width

#: Ends of a path nearer than this are one point, mm: some programs round coordinates to 0.01 point.
SAME = 0.005
#: What reaches so far over the edge of a clip is still whole, mm.
OVER = 0.1
#: Kinds of marks; that of words is ``LETTER`` and their letters without blanks. A blot is a picture or a shading.
LINE, CURVE, AREA, BLOT, LETTER = "line", "curve", "area", "blot", "letter "
#: Points round a circle of radius 1, the first once more at the end.
CIRCLE = tuple((math.cos(math.pi * k / 8), math.sin(math.pi * k / 8)) for k in range(17))
#: No length of a sheet or page reaches this, mm.
MOST = 1e6
#: Cosine and sine of quarter turns.
TURNS = ((1, 0), (0, 1), (-1, 0), (0, -1))
_PENS = {pen.value: (WIDTHS[pen], 0.0, *((0.0, *PATTERNS[pen]) if PATTERNS[pen] else ())) for pen in Pen}
#: What marks are for, in words: one of each.
_WORDS = {
    "holes": "hole", "first-screws": "screw", "second-screws": "screw", "plates": "plate", "outline": "outline",
    "centrelines": "centreline", "sight-windows": "sight window", "keep-clear": "keep-clear area", "cut": "cut edge",
    "registration": "registration mark", "bars": "bar", "countersinks": "countersink", "overlay": "other boat",
}  # fmt: skip
#: The look of a stroke is its width, end (0 butt, 1 round, 2 square), length of pattern used up at its start and the
#: pattern; that of a letter its em along and across the line of writing, and 1 for bold.
Look = tuple[float, ...]


class Mark(NamedTuple):
    """One mark."""

    kind: str
    points: tuple[Point, ...]  # ends; ends and middles of a curve's pieces; an area's corners; each letter's origin
    look: Look = ()
    ink: str = ""  # why it does not show as plain black: "white", "clipped", "in a layer" ..
    what: str = ""  # what it belongs to, for people, where that is known
    circle: tuple[Point, float] | None = None  # centre and radius, of a wanted curve that is part of a circle
    closed: bool = False  # of a curve

    @property
    def middle(self) -> Point:
        """The mean of the points: the centre, for a circle or ellipse in equal pieces."""
        return mean(self.points)

    @property
    def words(self) -> str:
        """The letters of words without blanks; of anything else nothing."""
        return self.kind[len(LETTER) :] if self.kind.startswith(LETTER) else ""

    def letters(self) -> "tuple[Mark, ...]":
        """Return a word's letters one by one; anything else as it is."""
        if len(self.points) == 1 or not self.words:
            return (self,)
        each = zip(self.words, self.points, strict=True)
        return tuple(self._replace(kind=LETTER + letter, points=(point,)) for letter, point in each)

    @property
    def name(self) -> str:
        """The mark for people."""
        return f"letter {self.words!r}" if self.words else self.kind

    def moved(self, by: Affine) -> "Mark":
        """Return the mark mapped; widths and patterns by the mean scale."""
        a, b, c, d, _, _ = by
        look = self.look
        if self.words:
            (x, y, u, v), rest = look[:4], look[4:]
            look = (a * x + c * y, b * x + d * y, a * u + c * v, b * u + d * v, *rest)
        elif look:
            look = pen(by, look[0], look[1], sum(look[2:3]), look[3:])
        return self._replace(points=tuple(by.over(self.points)), look=look)


class Path:
    """A path in the making: parts of runs of points, straight or curved, each from the end of the one before."""

    def __init__(self, parts: Iterable[list[tuple[bool, list[Point]]]] = ()) -> None:
        self.parts = list(parts)
        self._open = False

    @property
    def at(self) -> Point:
        """The current point: the last, or the first of a part that is closed."""
        if not self.parts:
            return (0.0, 0.0)
        return self.parts[-1][-1][1][-1] if self._open else self.parts[-1][0][1][0]

    def add(self, step: bytes, points: Sequence[Point]) -> None:
        """Go on by m, l, c, v, y or h, as operators of a PDF are called; nothing goes on before a start.

        Source: ISO 32000-1:2008, table 59.
        """
        if step == b"m":
            self._open = True
            self.parts.append([(False, [points[0]])])
        elif step == b"h":
            self.close()
        elif self.parts:
            if not self._open:  # a new part starts where the closed one did
                self.add(b"m", (self.at,))
            if step == b"l":
                self.through(points, curved=False)
                return
            (x0, y0), (x3, y3) = self.at, points[-1]
            (x1, y1), (x2, y2) = (self.at, points[0]) if step == b"v" else points[:2]
            # The curve's middle, at half its parameter, and its end.
            self.through((((x0 + 3 * (x1 + x2) + x3) / 8, (y0 + 3 * (y1 + y2) + y3) / 8), (x3, y3)))

    def through(self, points: Sequence[Point], *, curved: bool = True) -> None:
        """Go on through points on a curve, or the ends of straight pieces."""
        runs = self.parts[-1]
        bent, placed = runs[-1]
        if bent is curved:
            placed += points
        else:
            runs.append((curved, [placed[-1], *points]))

    def outline(self, points: Iterable[Point], *, curved: bool = False) -> None:
        """Add a closed part."""
        self._open = True
        self.parts.append([(curved, [*points])])
        self.close()

    def close(self) -> None:
        """Close the last part."""
        if self._open:
            first = self.parts[-1][0][1][0]
            if math.dist(first, self.at) >= SAME:
                self.through([first], curved=False)
            self._open = False

    def moved(self, by: Affine) -> "Path":
        """Return the path mapped."""
        return Path([(curved, by.over(points)) for curved, points in runs] for runs in self.parts)

    def strokes(self, look: Look, ink: str = "", what: str = "") -> list[Mark]:
        """Return the path as straight strokes and curves."""
        marks: list[Mark] = []
        for curved, points in chain.from_iterable(self.parts):
            if not curved:
                marks += strokes(points, look, ink, what)
                continue
            ring = _ring(points)
            marks.append(Mark(CURVE, ring, look, ink, what, closed=len(ring) < len(points)))
        return marks

    def areas(self, ink: str) -> list[Mark]:
        """Return each part that has an area, filled."""
        parts = [[runs[0][1][0], *(point for _, run in runs for point in run[1:])] for runs in self.parts]
        return [Mark(AREA, _ring(points), ink=ink) for points in parts if len(points) > 2]

    def box(self) -> Box:
        """Return what the path leaves of a clip: its box if it is upright, nothing if that cannot be said."""
        if not self.parts:
            return (-math.inf, -math.inf, math.inf, math.inf)
        (curved, points), *more = chain.from_iterable(self.parts)
        x0, y0, x1, y1 = box = around(points)
        whole = not curved and not more and len(points) in (4, 5)
        if whole and all(min(x - x0, x1 - x) < OVER and min(y - y0, y1 - y) < OVER for x, y in points):
            return box
        return (math.inf, math.inf, -math.inf, -math.inf)


def _ring(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return points without the last, if that is the first once more."""
    return tuple(points[:-1] if math.dist(points[0], points[-1]) < SAME else points)


@functools.lru_cache(1000)
def pen(at: Affine, width: float, end: float, used: float = 0.0, dashes: Look = ()) -> Look:
    """Return the look of a stroke whose lengths are in the units of a frame that ``at`` leads to mm from."""
    mm = math.sqrt(abs(at.a * at.d - at.b * at.c))
    if not any(dashes):
        return width * mm, end
    return width * mm, end, used * mm, *(length * mm for length in (dashes * 2 if len(dashes) % 2 else dashes))


def strokes(points: Iterable[Point], look: Look, ink: str = "", what: str = "") -> list[Mark]:
    """Return straight pieces through points as lines, each starting where the pattern of the one before ended."""
    ends = [(a, b) for a, b in pairwise(points) if math.dist(a, b) >= SAME]
    pattern = sum(look[3:])
    if not pattern:
        return [Mark(LINE, both, look[:2], ink, what) for both in ends]
    used, lines = look[2], list[Mark]()
    for both in ends:
        lines.append(Mark(LINE, both, (*look[:2], used % pattern, *look[3:]), ink, what))
        used += math.dist(*both)
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
    x, y = mean(points)
    radii = [math.dist((x, y), point) for point in points]
    if max(radii) - min(radii) > 1e-4:
        zs = [complex(u - x, v - y) for u, v in points]  # from their mean: their sum vanishes
        s, t, r = sum(abs(z) ** 2 for z in zs), sum(z * z for z in zs), sum(abs(z) ** 2 * z for z in zs)
        if (det := s * s - abs(t) ** 2) > 4e-12:
            off = (s * r - t * r.conjugate()) / det
            x, y = x + off.real, y + off.imag
            radii = [math.dist((x, y), point) for point in points]
    radius = sum(radii) / len(radii)
    return (x, y), 2 * radius, max(abs(r - radius) for r in radii)


def wanted_marks(record: Iterable[Any], frame: Sequence[tuple[Mark, ...]] = ()) -> Iterator[Mark]:
    """Yield the marks that a record's rows ask for, then those of the frame that it does not go without.

    Raises ValueError for a row that is none; it is the error's text.
    """
    around = dict(enumerate(frame))
    for row in record:
        try:
            if row[0] == "without":
                for number in row[2]:
                    del around[int(number)]
                continue
            marks = _marks(*row)
        except (ValueError, KeyError, IndexError, OverflowError, TypeError, AttributeError):
            raise ValueError(str(row)[:60]) from None
        yield from marks
    yield from chain.from_iterable(around.values())


def _marks(kind: str, pen: str, numbers: Sequence[float], group: str, words: str) -> Sequence[Mark]:
    if not math.hypot(*numbers) < MOST:  # nor is one of them no number at all
        raise ValueError
    if kind == "text":
        size, turn, bold, x, y = numbers
        cos, sin = (size * way for way in TURNS[int(turn) % 4])
        return letters(words, Affine(cos, sin, -sin, cos, x, y), bold=bool(bold), what=f"text {words!r}")
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
        x, y, size, *ends = numbers
        if size <= 0:
            raise ValueError
        radius, ways = size / 2, CIRCLE[:-1:2]
        if kind == "arc":
            radius, (start, end) = size, map(math.radians, ends)
            ways = tuple((math.cos(t), math.sin(t)) for t in [start + (end - start) * part / 8 for part in range(9)])
        points = tuple([(x + radius * cos, y + radius * sin) for cos, sin in ways])
        return (Mark(CURVE, points, look, what=what, circle=((x, y), radius), closed=kind == "circle"),)
    if kind != "curve" or len(numbers) % 6 != 2:
        raise ValueError
    path, points = Path(), _pairs(numbers)
    path.add(b"m", points[:1])
    for n in range(1, len(points), 3):
        path.add(b"c", points[n : n + 3])
    return path.strokes(look, what=what)


def _pairs(numbers: Sequence[float]) -> tuple[Point, ...]:
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def letters(words: str, em: Affine, *, bold: bool, ink: str = "", what: str = "") -> list[Mark]:
    """Return a text set in the project's typeface as one mark, none if it is all blank; ``em`` leads from it to mm.

    The text's own frame begins at its base line, x in the direction of writing, with the size of the type as unit.
    """
    (shown, places), (a, b, c, d, e, f) = _set(words, bold), em
    points = tuple([(a * used + e, b * used + f) for used in places])
    return [Mark(LETTER + shown, points, (a, b, c, d, float(bold)), ink, what)] if shown else []


@functools.lru_cache(1000)
def _set(words: str, bold: bool) -> tuple[str, list[float]]:
    """Return the letters of a text without blanks, and how far along the line of writing each stands, em."""
    used, places, shown = 0.0, list[float](), ""
    for letter in words:
        if not letter.isspace():
            places.append(used)
            shown += letter
        used += text_width(letter, 1.0, bold=bold)
    return shown, places
