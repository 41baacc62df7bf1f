"""Marks as lines of text, for the manifest: what a page shows, so that it can be proved away from its description.

A line is the kind, its pen (``drawing.marks.Pen``), numbers in mm, what the mark is for, and its id or a text's words::

    line 01.1 0 x y x y ..             open straight pieces; first the length of pattern used up
    outline 01.2 0 x y x y ..          closed ones
    area x y x y ..                    filled black
    circle 01.2 x y diameter
    arc 01.2 x y radius start end      degrees, anticlockwise from X
    curve 01.1 x y (x y x y x y) ..    closed, of cubic Bezier pieces
    text size turn bold x y            the start of the base line, quarter turns anticlockwise; bold 1 or 0
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from templater.drawing.marks import Anchor, Arc, Circle, Cross, Curve, Line, Mark, Polyline, Text
from templater.standards.typeface import text_width

#: Cosine and sine of a text's quarter turns.
_TURNS = ((1, 0), (0, 1), (-1, 0), (0, -1))


class Record:
    """The lines of a page's or a sheet's marks; made anew each time they are gone through, for they fill the memory."""

    def __init__(self, marks: Iterable[Mark]) -> None:
        self._marks = marks

    def __iter__(self) -> Iterator[str]:
        for mark in self._marks:
            yield from _LINES[type(mark)](mark)


def _numbers(*values: float) -> str:
    return " ".join(f"{value:.5f}".rstrip("0").rstrip(".") for value in values)


def _line(mark: Line) -> Iterator[str]:
    yield f"line {mark.pen.value} {_numbers(mark.phase, *mark.a, *mark.b)} {mark.group.value} {mark.id}"


def _cross(mark: Cross) -> Iterator[str]:
    for a, b in mark.arms:
        yield f"line {mark.pen.value} 0 {_numbers(*a, *b)} {mark.group.value} {mark.id}"


def _polyline(mark: Polyline) -> Iterator[str]:
    points = _numbers(*(value for point in mark.points for value in point))
    kind = "area" if mark.filled else f"{'outline' if mark.closed else 'line'} {mark.pen.value} 0"
    yield f"{kind} {points} {mark.group.value} {mark.id}"


def _circle(mark: Circle) -> Iterator[str]:
    yield f"circle {mark.pen.value} {_numbers(*mark.centre, mark.diameter)} {mark.group.value} {mark.id}"


def _arc(mark: Arc) -> Iterator[str]:
    numbers = _numbers(*mark.centre, mark.radius, mark.start, mark.end)
    yield f"arc {mark.pen.value} {numbers} {mark.group.value} {mark.id}"


def _curve(mark: Curve) -> Iterator[str]:
    points = (mark.start, *(point for piece in mark.pieces for point in piece))
    numbers = _numbers(*(value for point in points for value in point))
    yield f"curve {mark.pen.value} {numbers} {mark.group.value} {mark.id}"


def _text(mark: Text) -> Iterator[str]:
    back = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[mark.anchor]
    cos, sin = _TURNS[mark.turn % 4]
    length = back * text_width(mark.text, mark.size, bold=mark.bold) if back else 0.0
    numbers = _numbers(mark.size, mark.turn % 4, mark.bold, mark.at[0] - length * cos, mark.at[1] - length * sin)
    yield f"text {numbers} {mark.group.value} {mark.text}"


_LINES: dict[type, Callable[[Any], Iterator[str]]] = {
    Line: _line, Cross: _cross, Polyline: _polyline, Circle: _circle, Arc: _arc, Curve: _curve, Text: _text,
}  # fmt: skip
