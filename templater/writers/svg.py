"""Drawings to SVG at 1:1: size in mm and a viewBox of the same numbers, so that one user unit is 1 mm.

SVG's y runs down, the sheet's v up: x = u, y = -v, and nothing else is done to a coordinate. Source: W3C SVG 1.1.
"""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, groupby, islice, pairwise
from xml.etree import ElementTree

from svgwrite.base import BaseElement

from templater.drawing import marks as kinds
from templater.paper.tiles import TitleData
from templater.plane.shapes import Box, Point, grow
from templater.standards.typeface import FAMILY, check_letters, text_width
from templater.units import MM

#: Room left round the drawing's box so that lines on its edge keep their full width, mm.
BORDER = 2.0
#: The shipped family first, then whatever the reader has.
_FAMILIES = f"'{FAMILY}', 'DejaVu Sans', sans-serif"
#: Letters that need no replacing in an id. Source: XML 1.0, production 5 (Name), its ASCII part without the colon.
_NOT_IN_A_NAME = re.compile(r"[^A-Za-z0-9_.-]")
#: Elements turned into text at a time: a tree of a large sheet would fill the memory.
_AT_A_TIME = 500

Attributes = dict[str, str]


def number(value: float) -> str:
    """Return a length in mm with at most four decimals (0.1 micrometre), without trailing zeros or negative zero.

    >>> number(12.50004), number(-0.00001)
    ('12.5', '0')
    """
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def write_svg(drawing: kinds.Drawing, title: TitleData) -> bytes:
    """Return the file of ``svg_parts``."""
    return b"".join(svg_parts(drawing, title))


def svg_parts(drawing: kinds.Drawing, title: TitleData) -> Iterator[bytes]:
    """Yield the whole sheet as SVG, one group of elements for each ``Group``, ids on all marks that have one.

    Raises DrawingError: S301, a text has a letter that the typeface lacks.
    """
    heading = f"{title.boat} - {drawing.title}"
    check_letters([heading, *kinds.texts_of(drawing.marks)], drawing.name)
    words = (
        f"Full size, 1 unit is {MM.size(1)}. Face: {drawing.face}{', mirror image' if drawing.mirrored else ''}. "
        f"Revision {title.revision or '-'}. Description SHA-256 {title.description_sha256}. "
        f"templater {title.program_version}."
    )
    box = grow(drawing.box, BORDER)
    root = {"version": "1.1", **_size(box)}
    content = chain([_text("title", {}, heading), _text("desc", {}, words)], _Picture().groups(drawing.marks))
    yield b'<?xml version="1.0" encoding="utf-8"?>\n'
    for part in _svg(box, root, content):
        yield f"{part}\n".encode()


def write_inline_svg(
    marks: Sequence[kinds.Mark], box: Box, *, key: str, title: str, description: str, true_size: bool
) -> str:
    """Return an ``svg`` element that shows a ``box`` of marks in an HTML page, in the colour of the text round it.

    ``key`` begins its ids and is unique in the page; ``title`` and ``description`` are for people who do not see it.
    Without ``true_size`` the page's style decides on the size (class ``fitted``). Raises DrawingError as ``write_svg``.
    """
    check_letters(kinds.texts_of(marks), title)
    root = {"role": "img", "aria-labelledby": f"{key}-title {key}-desc"}
    root |= _size(box) if true_size else {"class": "fitted"}
    content = [_text("title", {"id": f"{key}-title"}, title), _text("desc", {"id": f"{key}-desc"}, description)]
    groups = _Picture(ink="currentColor", ids=False).groups(marks)
    return "\n".join(_svg(box, root, chain(content, groups)))


def _size(box: Box) -> Attributes:
    return {"width": f"{number(box[2] - box[0])}mm", "height": f"{number(box[3] - box[1])}mm"}


def _svg(box: Box, attributes: Attributes, content: Iterable[str]) -> Iterator[str]:
    """Yield the ``svg`` element, without a background."""
    view = f"{number(box[0])} {number(-box[3])} {number(box[2] - box[0])} {number(box[3] - box[1])}"
    names = {"xmlns": "http://www.w3.org/2000/svg", "viewBox": view, "font-family": _FAMILIES}
    yield _head("svg", {**names, **attributes})
    yield from content
    yield "</svg>"


def _xml(name: str, attributes: Attributes, text: str | None = None) -> ElementTree.Element:
    element = BaseElement(debug=False)  # without the library's own validation, which takes longer than all else
    element.elementname, element.attribs = name, attributes
    xml: ElementTree.Element = element.get_xml()
    xml.text = text
    return xml


def _text(name: str, attributes: Attributes, text: str | None = None) -> str:
    return ElementTree.tostring(_xml(name, attributes, text), encoding="unicode")


def _head(name: str, attributes: Attributes) -> str:
    """Return what opens an element."""
    return _text(name, attributes).replace(" />", ">")


def _lines(elements: Iterable[ElementTree.Element]) -> Iterator[str]:
    """Yield the texts of elements, each on a line of its own."""
    waiting = iter(elements)
    while some := list(islice(waiting, _AT_A_TIME)):
        parent = ElementTree.Element("g")
        for element in some:
            element.tail = "\n"
            parent.append(element)
        yield ElementTree.tostring(parent, encoding="unicode")[len("<g>") : -len("\n</g>")]


def _at(point: Point) -> str:
    return f"{number(point[0])},{number(-point[1])}"


class _Picture:
    """Turns marks into elements; ``ink`` is the colour of everything, ``ids`` False leaves out all ids."""

    def __init__(self, *, ink: str = "black", ids: bool = True) -> None:
        self._ink = ink
        self._ids = {group.value for group in kinds.Group} if ids else None

    def groups(self, marks: Iterable[kinds.Mark]) -> Iterator[str]:
        """Yield elements, group by group in the order of ``Group``, within a group in their own order."""
        for group, members in groupby(kinds.in_groups(marks), key=lambda mark: mark.group):
            named = {} if self._ids is None else {"id": group.value}
            yield _head("g", {"fill": "none", "stroke": self._ink, **named})
            yield from _lines(self._element(mark) for mark in members)
            yield "</g>"

    def _element(self, mark: kinds.Mark) -> ElementTree.Element:
        """Return a mark's element; a text's length is stated so that another font keeps to the room laid out for it."""
        words, name, attributes = None, "path", {} if isinstance(mark, kinds.Text) else dict(_PENS[mark.pen])
        if isinstance(mark, kinds.Line):
            name, ends = "line", {"x1": mark.a[0], "y1": -mark.a[1], "x2": mark.b[0], "y2": -mark.b[1]}
            attributes |= {key: number(value) for key, value in ends.items()}
            if mark.phase and kinds.PATTERNS[mark.pen]:
                attributes["stroke-dashoffset"] = number(mark.phase)
        elif isinstance(mark, kinds.Circle):
            (x, y), name = mark.centre, "circle"
            attributes |= {"cx": number(x), "cy": number(-y), "r": number(mark.diameter / 2)}
        elif isinstance(mark, kinds.Text):
            (u, v), name, words = mark.at, "text", mark.text
            attributes = {
                "x": number(u),
                "y": number(-v),
                "fill": self._ink,
                "stroke": "none",
                "font-size": number(mark.size),
                "text-anchor": mark.anchor.value,
                "textLength": number(text_width(words, mark.size, bold=mark.bold)),
                "lengthAdjust": "spacingAndGlyphs",
            }
            if mark.bold:
                attributes["font-weight"] = "bold"
            if mark.turn % 4:
                attributes["transform"] = f"rotate({-90 * (mark.turn % 4)} {number(u)} {number(-v)})"
        elif isinstance(mark, kinds.Polyline) and mark.filled:
            attributes = {"d": _way(mark), "fill": self._ink, "stroke": "none"}
        else:
            attributes["d"] = _way(mark)
        if mark.id and self._ids is not None:
            # The circle and the crosshair of one hole have ids of their own.
            ending = "outline" if isinstance(mark, kinds.Polyline) else type(mark).__name__.lower()
            attributes["id"] = self._unique(mark.id, ending)
        return _xml(name, attributes, words)

    def _unique(self, ident: str, ending: str) -> str:
        """Return a mark's id, unique in the file."""
        assert self._ids is not None
        name = _NOT_IN_A_NAME.sub("_", ident)
        stem = f"{name if name[0].isalpha() or name[0] == '_' else '_' + name}-{ending}"
        unique, copy = stem, 1
        while unique in self._ids:
            copy += 1
            unique = f"{stem}-{copy}"
        self._ids.add(unique)
        return unique


def _way(mark: kinds.Cross | kinds.Arc | kinds.Curve | kinds.Polyline) -> str:
    """Return the way of a path."""
    if isinstance(mark, kinds.Cross):
        return " ".join(f"M{_at(a)} L{_at(b)}" for a, b in mark.arms)
    if isinstance(mark, kinds.Arc):  # as two, since one whole turn in a single arc command would be nothing
        start, *ends = [_at(mark.point(angle)) for angle in (mark.start, (mark.start + mark.end) / 2, mark.end)]
        size = number(mark.radius)
        return f"M{start} " + " ".join(f"A{size},{size} 0 0 0 {end}" for end in ends)
    if isinstance(mark, kinds.Curve):
        return f"M{_at(mark.start)} {' '.join(f'C{_at(a)} {_at(b)} {_at(c)}' for a, b, c in mark.pieces)} Z"
    way = _bulged(mark) if mark.bulges else " L".join(_at(point) for point in mark.points)
    return f"M{way}{' Z' if mark.closed or mark.filled else ''}"


def _bulged(mark: kinds.Polyline) -> str:
    """Return the way round an outline with arcs; a bulge b is an arc over four times the arc tangent of b."""
    parts = [_at(mark.points[0])]
    for (a, b), bulge in zip(pairwise(mark.corners), mark.bulges, strict=False):
        radius = number(math.dist(a, b) / 2 / math.sin(2 * math.atan(abs(bulge)))) if bulge else ""
        kind = f"A{radius},{radius} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} " if bulge else "L"
        parts.append(kind + _at(b))
    return " ".join(parts)


_PENS = {
    pen: {"stroke-width": number(width)}
    | ({"stroke-dasharray": ",".join(map(number, kinds.PATTERNS[pen]))} if kinds.PATTERNS[pen] else {})
    for pen, width in kinds.WIDTHS.items()
}
