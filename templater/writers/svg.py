"""Drawings to SVG at 1:1: size in mm and a viewBox of the same numbers, so that one user unit is 1 mm.

SVG's y runs down, the sheet's v up: x = u, y = -v, and nothing else is done to a coordinate.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import svgwrite

from templater.drawing.marks import (
    PATTERNS,
    WIDTHS,
    Arc,
    Circle,
    Cross,
    Curve,
    Drawing,
    Group,
    Line,
    Mark,
    Pen,
    Polyline,
    Text,
)
from templater.paper.tiles import TitleData
from templater.plane.shapes import Box, Point
from templater.standards.typeface import FAMILY, text_width
from templater.writers.lettering import check_letters, texts_of
from templater.writers.marks_to_pdf import cross_arms, unit_circle
from templater.writers.numbers import svg_number as number

#: Room left round the drawing's box so that lines on its edge keep their full width, mm.
BORDER = 2.0
#: The shipped family first, then whatever the reader has.
_FAMILIES = f"'{FAMILY}', 'DejaVu Sans', sans-serif"
#: Letters that need no replacing in an id. Source: XML 1.0, production 5 (Name), its ASCII part without the colon.
_NOT_IN_A_NAME = re.compile(r"[^A-Za-z0-9_.-]")
#: What a mark's id ends in, so that the circle and the crosshair of one hole have ids of their own.
_ENDINGS: dict[type, str] = {
    Cross: "cross",
    Circle: "circle",
    Arc: "arc",
    Curve: "curve",
    Line: "line",
    Polyline: "outline",
    Text: "text",
}


def write_svg(drawing: Drawing, title: TitleData) -> bytes:
    """Return the whole sheet as SVG, one group of elements for each ``Group``, ids on all marks that have one.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    return _document(drawing, title, validate=False)


def _document(drawing: Drawing, title: TitleData, *, validate: bool) -> bytes:
    """Return the sheet; ``validate`` lets the library hold every element against SVG 1.1, slowly."""
    heading = f"{title.boat} - {drawing.title}"
    check_letters([heading, *texts_of(drawing.marks)], drawing.name)
    u0, v0, u1, v1 = drawing.box
    picture = Picture((u0 - BORDER, v0 - BORDER, u1 + BORDER, v1 + BORDER), validate=validate)
    picture.canvas.set_desc(
        title=heading,
        desc=f"Full size, 1 unit is 1 mm. Face: {drawing.face}{', mirror image' if drawing.mirrored else ''}. "
        f"Revision {title.revision or '-'}. Description SHA-256 {title.description_sha256}. "
        f"templater {title.program_version}.",
    )
    picture.add(drawing.marks)
    return picture.encoded()


class Picture:
    """One SVG file in the making, or one that stands inside a page.

    Every element is made by the library and turned into text at once: a tree of a large sheet would fill the memory.
    """

    def __init__(
        self, box: Box, *, validate: bool = False, ink: str = "black", ids: bool = True
    ) -> None:
        """Open a picture of ``box`` (u0, v0, u1, v1, mm) without a background.

        ``ink`` is the colour of everything; ``ids`` False leaves out all ids.
        """
        u0, v0, u1, v1 = box
        width, height = number(u1 - u0), number(v1 - v0)
        view = f"{number(u0)} {number(-v1)} {width} {height}"
        size = (f"{width}mm", f"{height}mm")
        self.canvas = svgwrite.Drawing(size=size, viewBox=view, font_family=_FAMILIES, debug=validate)
        self._ink = ink
        self._ids = {group.value for group in Group} if ids else None
        self._content: list[str] = []

    def encoded(self) -> bytes:
        """Return the file."""
        return b'<?xml version="1.0" encoding="utf-8" ?>\n' + self.text().encode()

    def text(self) -> str:
        """Return the ``svg`` element."""
        shell = ElementTree.tostring(self.canvas.get_xml(), encoding="unicode")
        return shell.removesuffix("</svg>") + "".join(self._content) + "</svg>"

    def add(self, marks: Iterable[Mark]) -> None:
        """Add marks, group by group in the order of ``Group``, within a group in their own order."""
        by_group: dict[Group, list[Mark]] = {group: [] for group in Group}
        for mark in marks:
            by_group[mark.group].append(mark)
        for group, members in by_group.items():
            if members:
                named = {} if self._ids is None else {"id": group.value}
                holder = _text_of(self.canvas.g(fill="none", stroke=self._ink, **named))
                self._content.append(holder.removesuffix(" />") + ">")
                self._content += [_text_of(_DRAW[type(mark)](self, mark)) for mark in members]
                self._content.append("</g>")

    def _place(self, point: Point) -> tuple[str, str]:
        return number(point[0]), number(-point[1])

    def _at(self, point: Point) -> str:
        return f"{number(point[0])},{number(-point[1])}"

    def _id(self, mark: Mark) -> dict[str, str]:
        """Return the id attribute, unique in the file; none for a mark without id."""
        if not mark.id or self._ids is None:
            return {}
        name = _NOT_IN_A_NAME.sub("_", mark.id)
        stem = f"{name if name[0].isalpha() or name[0] == '_' else '_' + name}-{_ENDINGS[type(mark)]}"
        unique, copy = stem, 1
        while unique in self._ids:
            copy += 1
            unique = f"{stem}-{copy}"
        self._ids.add(unique)
        return {"id": unique}

    def _stroke(self, mark: Line | Circle | Arc | Polyline | Cross | Curve, phase: float = 0.0) -> dict[str, str]:
        """Return the attributes of a stroked mark."""
        return {**_PENS[mark.pen], **({"stroke_dashoffset": number(phase)} if phase else {}), **self._id(mark)}

    def _line(self, mark: Line) -> Any:
        phase = mark.phase if PATTERNS[mark.pen] else 0.0
        return self.canvas.line(self._place(mark.a), self._place(mark.b), **self._stroke(mark, phase))

    def _circle(self, mark: Circle) -> Any:
        return self.canvas.circle(self._place(mark.centre), number(mark.diameter / 2), **self._stroke(mark))

    def _cross(self, mark: Cross) -> Any:
        path = " ".join(f"M{self._at(a)} L{self._at(b)}" for a, b in cross_arms(mark))
        return self.canvas.path(path, **self._stroke(mark))

    def _arc(self, mark: Arc) -> Any:
        """Draw an arc as two, since one whole turn in a single arc command would be nothing."""
        (x, y), radius = mark.centre, mark.radius
        angles = (mark.start, (mark.start + mark.end) / 2, mark.end)
        units = [unit_circle(angle, angle)[0] for angle in angles]
        start, *ends = [self._at((x + radius * cos, y + radius * sin)) for cos, sin in units]
        size = number(radius)
        path = f"M{start} " + " ".join(f"A{size},{size} 0 0 0 {end}" for end in ends)
        return self.canvas.path(path, **self._stroke(mark))

    def _curve(self, mark: Curve) -> Any:
        bends = " ".join(f"C{self._at(a)} {self._at(b)} {self._at(c)}" for a, b, c in mark.pieces)
        return self.canvas.path(f"M{self._at(mark.start)} {bends} Z", **self._stroke(mark))

    def _polyline(self, mark: Polyline) -> Any:
        way = self._bulged(mark) if mark.bulges else " L".join(self._at(point) for point in mark.points)
        path = f"M{way}{' Z' if mark.closed or mark.filled else ''}"
        if mark.filled:
            return self.canvas.path(path, fill=self._ink, stroke="none", **self._id(mark))
        return self.canvas.path(path, **self._stroke(mark))

    def _bulged(self, mark: Polyline) -> str:
        """Return the way round an outline with arcs; a bulge b is an arc over four times the arc tangent of b."""
        parts = [self._at(mark.points[0])]
        ends = (*mark.points, mark.points[0]) if mark.closed else mark.points
        for (a, b), bulge in zip(pairwise(ends), mark.bulges, strict=False):
            radius = number(math.dist(a, b) / 2 / math.sin(2 * math.atan(abs(bulge)))) if bulge else ""
            kind = f"A{radius},{radius} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} " if bulge else "L"
            parts.append(kind + self._at(b))
        return " ".join(parts)

    def _text(self, mark: Text) -> Any:
        """Draw a text; its length is stated so that another font keeps to the room that was laid out for it."""
        x, y = self._place(mark.at)
        look = {"font_weight": "bold"} if mark.bold else {}
        if mark.turn % 4:
            look["transform"] = f"rotate({-90 * (mark.turn % 4)} {x} {y})"
        return self.canvas.text(
            mark.text,
            insert=(x, y),
            fill=self._ink,
            stroke="none",
            font_size=number(mark.size),
            text_anchor=mark.anchor.value,
            textLength=number(text_width(mark.text, mark.size, bold=mark.bold)),
            lengthAdjust="spacingAndGlyphs",
            **look,
            **self._id(mark),
        )


def _text_of(element: Any) -> str:
    return ElementTree.tostring(element.get_xml(), encoding="unicode")


def _pen(pen: Pen) -> dict[str, str]:
    """Return the attributes of a pen."""
    look = {"stroke_width": number(WIDTHS[pen])}
    if PATTERNS[pen]:
        look["stroke_dasharray"] = ",".join(number(length) for length in PATTERNS[pen])
    return look


_PENS = {pen: _pen(pen) for pen in Pen}
_DRAW: dict[type, Callable[[Picture, Any], Any]] = {
    Line: Picture._line,
    Circle: Picture._circle,
    Cross: Picture._cross,
    Arc: Picture._arc,
    Curve: Picture._curve,
    Polyline: Picture._polyline,
    Text: Picture._text,
}
