"""Drawings and tiles to SVG at 1:1: size in mm and a viewBox of the same numbers, so that one user unit is 1 mm.

SVG's y runs down, the sheet's v up: x = u, y = top - v, and nothing else is done to a coordinate. Elements after W3C
SVG 1.1, written directly: there are four of them, a tree of objects for a large sheet fills the memory, and loading a
library takes longer than writing a boat's sheets. The tests hold every element and attribute against the standard.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Any
from xml.sax.saxutils import escape

from templater.drawing.marks import (
    PATTERNS,
    WIDTHS,
    Arc,
    Box,
    Circle,
    Cross,
    Curve,
    Drawing,
    Group,
    Line,
    Mark,
    Pen,
    Point,
    Polyline,
    Text,
)
from templater.paper.model import Tile, TitleData
from templater.standards.typeface import FAMILY, text_width
from templater.writers.content import cross_arms, unit_circle
from templater.writers.lettering import check_letters, texts_of
from templater.writers.numbers import svg_number as number

#: Room left round the drawing's box so that lines on its edge keep their full width, mm.
BORDER = 2.0
#: The shipped family first, then whatever the reader has.
_FAMILIES = f"'{FAMILY}', 'DejaVu Sans', sans-serif"
#: Name spaces beside SVG's own that some cutting programs look for: common practice, no source.
_SPACES = {"xmlns:ev": "http://www.w3.org/2001/xml-events", "xmlns:xlink": "http://www.w3.org/1999/xlink"}
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
    heading = f"{title.boat} - {drawing.title}"
    check_letters([heading, *texts_of(drawing.marks)], drawing.name)
    u0, v0, u1, v1 = drawing.box
    picture = Picture((u0 - BORDER, v0 - BORDER, u1 + BORDER, v1 + BORDER))
    picture.add(drawing.marks)
    return picture.encoded(
        title=heading,
        description=f"Full size, 1 unit is 1 mm. Face: {drawing.face}{', mirror image' if drawing.mirrored else ''}. "
        f"Revision {title.revision or '-'}. Description SHA-256 {title.description_sha256}. "
        f"templater {title.program_version}.",
    )


def write_page_svg(tile: Tile) -> bytes:
    """Return one tile as SVG, in page mm, for a picture of the page.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    width, height = tile.paper
    marks = tuple(tile.marks)
    check_letters(texts_of(marks), tile.name)
    picture = Picture((0.0, 0.0, width, height), top=height)
    picture.add(marks)
    return picture.encoded(title=f"Tile {tile.name}")


class Picture:
    """One SVG file in the making, or one that stands inside a page. Attributes are in alphabetical order."""

    def __init__(self, box: Box, *, top: float = 0.0, ink: str = "black", ids: bool = True) -> None:
        """Open a picture of ``box`` (u0, v0, u1, v1, mm) without a background; v = ``top`` becomes y = 0.

        ``ink`` is the colour of everything, ``ids`` False leaves out all ids.
        """
        u0, v0, u1, v1 = box
        self.width, self.height = number(u1 - u0), number(v1 - v0)
        self.view = f"{number(u0)} {number(top - v1)} {self.width} {self.height}"
        self._top, self._ink, self._with_ids = top, ink, ids
        self._ids = {group.value for group in Group}
        self._parts: list[str] = []

    def encoded(self, *, title: str, description: str = "") -> bytes:
        """Return the file."""
        size = {"height": f"{self.height}mm", "width": f"{self.width}mm"}
        attributes = {"baseProfile": "full", "version": "1.1", **size, **self.look()}
        start = "".join(f' {name}="{value}"' for name, value in sorted(attributes.items()))
        words = f"<title>{escape(title)}</title>" + (f"<desc>{escape(description)}</desc>" if description else "")
        return f'<?xml version="1.0" encoding="utf-8" ?>\n<svg{start}>{words}<defs />{self.content()}</svg>'.encode()

    def look(self) -> dict[str, str]:
        """Return the attributes that every picture has."""
        spaces = {"xmlns": "http://www.w3.org/2000/svg", **_SPACES}
        return {"font-family": _FAMILIES, "viewBox": self.view, **spaces}

    def content(self) -> str:
        """Return all groups."""
        return "".join(self._parts)

    def add(self, marks: Iterable[Mark]) -> None:
        """Add marks, group by group in the order of ``Group``, within a group in their own order."""
        by_group: dict[Group, list[Mark]] = {group: [] for group in Group}
        for mark in marks:
            by_group[mark.group].append(mark)
        for group, members in by_group.items():
            if members:
                name = f' id="{group.value}"' if self._with_ids else ""
                self._parts.append(f'<g fill="none"{name} stroke="{self._ink}">')
                self._parts.extend(_DRAW[type(mark)](self, mark) for mark in members)
                self._parts.append("</g>")

    def _at(self, point: Point) -> str:
        return f"{number(point[0])},{number(self._top - point[1])}"

    def _id(self, mark: Mark) -> str:
        """Return the id attribute, unique in the file; none for a mark without id."""
        if not mark.id or not self._with_ids:
            return ""
        name = _NOT_IN_A_NAME.sub("_", mark.id)
        stem = f"{name if name[0].isalpha() or name[0] == '_' else '_' + name}-{_ENDINGS[type(mark)]}"
        unique, copy = stem, 1
        while unique in self._ids:
            copy += 1
            unique = f"{stem}-{copy}"
        self._ids.add(unique)
        return f' id="{unique}"'

    def _line(self, mark: Line) -> str:
        phase = mark.phase if PATTERNS[mark.pen] else 0.0
        offset = f' stroke-dashoffset="{number(phase)}"' if phase else ""
        (x1, y1), (x2, y2) = mark.a, mark.b
        y1, y2 = self._top - y1, self._top - y2
        ends = f'x1="{number(x1)}" x2="{number(x2)}" y1="{number(y1)}" y2="{number(y2)}"'
        return f"<line{self._id(mark)}{_DASHES[mark.pen]}{offset}{_WIDTHS[mark.pen]} {ends} />"

    def _circle(self, mark: Circle) -> str:
        x, y, radius = mark.centre[0], self._top - mark.centre[1], mark.diameter / 2
        place = f'cx="{number(x)}" cy="{number(y)}"'
        return f'<circle {place}{self._id(mark)} r="{number(radius)}"{_DASHES[mark.pen]}{_WIDTHS[mark.pen]} />'

    def _path(self, mark: Arc | Polyline | Cross | Curve, path: str) -> str:
        return f'<path d="{path}"{self._id(mark)}{_DASHES[mark.pen]}{_WIDTHS[mark.pen]} />'

    def _cross(self, mark: Cross) -> str:
        return self._path(mark, " ".join(f"M{self._at(a)} L{self._at(b)}" for a, b in cross_arms(mark)))

    def _arc(self, mark: Arc) -> str:
        """Draw an arc as two, since one whole turn in a single arc command would be nothing."""
        (x, y), radius = mark.centre, mark.radius
        angles = (mark.start, (mark.start + mark.end) / 2, mark.end)
        units = [unit_circle(angle, angle)[0] for angle in angles]
        start, *ends = [self._at((x + radius * cos, y + radius * sin)) for cos, sin in units]
        size = number(radius)
        return self._path(mark, f"M{start} " + " ".join(f"A{size},{size} 0 0 0 {end}" for end in ends))

    def _curve(self, mark: Curve) -> str:
        bends = " ".join(f"C{self._at(a)} {self._at(b)} {self._at(c)}" for a, b, c in mark.pieces)
        return self._path(mark, f"M{self._at(mark.start)} {bends} Z")

    def _polyline(self, mark: Polyline) -> str:
        path = "M" + " L".join(self._at(point) for point in mark.points) + (" Z" if mark.closed or mark.filled else "")
        if mark.filled:
            return f'<path d="{path}" fill="{self._ink}"{self._id(mark)} stroke="none" />'
        return self._path(mark, path)

    def _text(self, mark: Text) -> str:
        """Draw a text; its length is stated so that another font keeps to the room that was laid out for it."""
        x, y = number(mark.at[0]), number(self._top - mark.at[1])
        weight = ' font-weight="bold"' if mark.bold else ""
        turn = f' transform="rotate({-90 * (mark.turn % 4)} {x} {y})"' if mark.turn % 4 else ""
        length = number(text_width(mark.text, mark.size, bold=mark.bold))
        return (
            f'<text fill="{self._ink}" font-size="{number(mark.size)}"{weight}{self._id(mark)} '
            f'lengthAdjust="spacingAndGlyphs" stroke="none" text-anchor="{mark.anchor.value}" textLength="{length}"'
            f'{turn} x="{x}" y="{y}">{escape(mark.text)}</text>'
        )


def _dashes(pen: Pen) -> str:
    """Return the attribute of a pen's dash pattern; none for a continuous line."""
    return f' stroke-dasharray="{",".join(map(number, PATTERNS[pen]))}"' if PATTERNS[pen] else ""


_DASHES = {pen: _dashes(pen) for pen in Pen}
_WIDTHS = {pen: f' stroke-width="{number(WIDTHS[pen])}"' for pen in Pen}
_DRAW: dict[type, Callable[[Picture, Any], str]] = {
    Line: Picture._line,
    Circle: Picture._circle,
    Cross: Picture._cross,
    Arc: Picture._arc,
    Curve: Picture._curve,
    Polyline: Picture._polyline,
    Text: Picture._text,
}
