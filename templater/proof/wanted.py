"""The manifest's record of a page's marks to what the page must show. The record's lines: ``paper/record.py``."""

from __future__ import annotations

import math
from collections.abc import Iterable

from templater.drawing.marks import PATTERNS, WIDTHS, Pen
from templater.plane.shapes import Point
from templater.proof.marks import AREA, CURVE, LETTER, Mark, strokes
from templater.standards.typeface import text_width

_PENS = {pen.value: (WIDTHS[pen], 0.0, *((0.0, *PATTERNS[pen]) if PATTERNS[pen] else ())) for pen in Pen}
#: Points on a whole circle, and the cosine and sine of each.
_ROUND = tuple((math.cos(math.pi * k / 8), math.sin(math.pi * k / 8)) for k in range(16))
_TURNS = ((1, 0), (0, 1), (-1, 0), (0, -1))
#: Groups in words, one of their marks.
_WORDS = {
    "holes": "hole", "first-screws": "screw", "second-screws": "screw", "plates": "plate", "outline": "outline",
    "centrelines": "centreline", "sight-windows": "sight window", "keep-clear": "keep-clear area", "cut": "cut edge",
    "registration": "registration mark", "bars": "bar", "countersinks": "countersink", "overlay": "other boat",
}  # fmt: skip


def wanted_marks(record: Iterable[str]) -> tuple[Mark, ...]:
    """Return the marks that a record's lines ask for.

    Raises:
        ValueError: for a line that is none; it is the error's text.
    """
    marks: list[Mark] = []
    for line in record:
        try:
            marks += _marks(line)
        except (ValueError, KeyError, IndexError, OverflowError, AttributeError):
            raise ValueError(str(line)[:60]) from None
    return tuple(marks)


def _marks(line: str) -> Iterable[Mark]:
    kind, rest = line.split(" ", 1)
    look: tuple[float, ...] = ()
    if kind not in ("area", "text"):
        pen, rest = rest.split(" ", 1)
        look = _PENS[pen]
    numbers: list[float] = []
    while True:
        word, _, after = rest.partition(" ")
        if word[-1:].isalpha():
            break
        value = float(word)
        if not -1e6 < value < 1e6:
            raise ValueError
        numbers.append(value)
        rest = after
    what = f"{_WORDS.get(word, '')} {after}".strip()
    if kind == "text":
        return _letters(numbers, after)
    if kind in ("circle", "arc"):
        return (_arc(numbers, look, what),)
    if kind in ("line", "outline"):
        if len(look) > 2:
            look = (*look[:2], numbers[0], *look[3:])
        points = _pairs(numbers[1:])
        return strokes((*points, points[0]) if kind == "outline" else points, look, what=what)
    points = _pairs(numbers)
    if kind == "area":
        return (Mark(AREA, points, what=what),)
    if kind == "curve" and len(points) % 3 == 1:
        return (Mark(CURVE, bezier_points(points)[:-1], look, what=what, closed=True),)
    raise ValueError


def _pairs(numbers: list[float]) -> tuple[Point, ...]:
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _arc(numbers: list[float], look: tuple[float, ...], what: str) -> Mark:
    if len(numbers) == 3:
        (x, y, diameter), closed = numbers, True
        radius = diameter / 2
        units: Iterable[Point] = _ROUND
    else:
        (x, y, radius, start, end), closed = numbers, False
        angles = [math.radians(start + (end - start) * part / 8) for part in range(9)]
        units = [(math.cos(angle), math.sin(angle)) for angle in angles]
    if radius <= 0:
        raise ValueError
    points = tuple((x + radius * cos, y + radius * sin) for cos, sin in units)
    return Mark(CURVE, points, look, what=what, circle=((x, y), radius), closed=closed)


def _letters(numbers: list[float], words: str) -> tuple[Mark, ...]:
    size, turn, bold, x, y = numbers
    return letters(words, (x, y), size, _TURNS[int(turn) % 4], bold=bool(bold))


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
        used += text_width(letter, size, bold=bold)
    return (Mark(LETTER + shown, tuple(points), look, what=f"text {words!r}"),) if shown else ()


def bezier_points(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the ends and middles of cubic Bezier pieces: start, then two handles and an end for each piece."""
    found = [points[0]]
    for n in range(1, len(points) - 2, 3):
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points[n - 1 : n + 3]
        found += [((ax + 3 * (bx + cx) + dx) / 8, (ay + 3 * (by + cy) + dy) / 8), (dx, dy)]
    return tuple(found)
