"""SVG of a whole sheet to marks in sheet mm, with a reader of its own.

Sizes and viewBox after W3C SVG 1.1, 7.7 and 7.10; transforms 7.6; path data 8.3; text 10; painting 11; 1 in = 96 px =
25.4 mm after W3C CSS Values and Units Level 3, section 6.2. What may change how a mark looks or where it stands and is
not understood here is named, so that nobody takes the file for read.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple
from xml.etree import ElementTree

from templater.findings import Finding, ProofError
from templater.plane.shapes import IDENTITY, Affine, Point
from templater.proof.marks import AREA, Mark, PageMarks, Path, letters
from templater.proof.match import LIMIT
from templater.standards.typeface import text_width

_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96, "pt": 25.4 / 72, "pc": 25.4 / 6}
_SIZE = re.compile(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(mm|cm|in|px|pt|pc|)\s*$")
_FUNCTION = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_PATH = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|[\s,]+|(.)", re.DOTALL)
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_HIDDEN = frozenset({"defs", "clipPath", "mask", "marker", "pattern", "symbol"})
_CIRCLE = tuple((math.cos(math.pi * k / 8), math.sin(math.pi * k / 8)) for k in range(17))
#: Attributes that hold for what is inside an element too, and what they are at first.
_LOOK = {
    "stroke": "none", "fill": "black", "stroke-width": "1", "stroke-dasharray": "none", "stroke-dashoffset": "0",
    "stroke-linecap": "butt", "font-size": "0", "font-weight": "normal", "text-anchor": "start",
}  # fmt: skip
#: Attributes beside those that are known: places, names, and what only other programs use.
_KNOWN = frozenset((
    "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "width", "height", "points", "d", "transform", "id",
    "viewBox", "version", "baseProfile", "textLength", "lengthAdjust", "font-family", "stroke-linejoin",
    "stroke-miterlimit", "display", "visibility",
))  # fmt: skip
_CAPS = {"butt": 0.0, "round": 1.0, "square": 2.0}
_DRAWN = frozenset(["line", "circle", "ellipse", "rect", "polyline", "polygon", "path", "text"])
_QUIET = frozenset(["svg", "g", "title", "desc", "metadata"])


def read_svg(data: bytes, name: str) -> PageMarks:
    """Return the marks of a sheet in mm: x as in the file, y up (turned over), both in the sheet frame.

    Raises:
        ProofError: Q106, it cannot be read as SVG of a stated size; documents with a DTD or entities are refused.
    """
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise _fault(name, "has a document type declaration or entities, which are refused")
    try:
        events = ElementTree.iterparse(io.BytesIO(data), ("start", "end"))
        _, root = next(events)
        if root.tag.rpartition("}")[2] != "svg":
            raise _fault(name, "cannot be read as SVG: its root is no svg element")
        size, base = _frame(root, name)
        reader = _Reader()
        reader.read(root, events, base)
    except (ElementTree.ParseError, ValueError, IndexError, ZeroDivisionError, LookupError, OverflowError) as fault:
        raise _fault(name, f"cannot be read as SVG: {fault}") from fault
    return PageMarks(size, tuple(reader.marks), unread=tuple(reader.unread))


def _frame(root: ElementTree.Element, name: str) -> tuple[Point, Affine]:
    """Return the size in mm and the map from user space to mm, y up; where user space is zero stays zero."""
    sizes = [_SIZE.match(root.get(key, "")) for key in ("width", "height")]
    view = [float(part) for part in _NUMBER.findall(root.get("viewBox", ""))]
    if sizes[0] is None or sizes[1] is None or len(view) != 4:
        raise _fault(name, "has no width and height in a unit of length with a viewBox")
    width, height = (float(size[1]) * _MM[size[2]] for size in sizes if size)
    return (width, height), Affine(width / view[2], 0.0, 0.0, -height / view[3])


class _State(NamedTuple):
    """Map to mm and the attributes in force."""

    at: Affine
    look: Mapping[str, str]

    def scale(self) -> float:
        """Return how long a unit is, mm."""
        a, b, c, d, _, _ = self.at
        return math.sqrt(abs(a * d - b * c))

    def pen(self) -> tuple[float, ...]:
        """Return the look of a stroke."""
        mm, look = self.scale(), self.look
        pen = (_number(look["stroke-width"]) * mm, _CAPS.get(look["stroke-linecap"], 3.0))
        if look["stroke-dasharray"] == "none":
            return pen
        dashes = tuple(_number(part) * mm for part in look["stroke-dasharray"].replace(",", " ").split())
        return *pen, _number(look["stroke-dashoffset"]) * mm, *(dashes * 2 if len(dashes) % 2 else dashes)


class _Reader:
    """Walks the elements and collects marks."""

    def __init__(self) -> None:
        self.marks: list[Mark] = []
        self.unread: dict[str, None] = {}

    def read(self, root: ElementTree.Element, events: Iterator[tuple[str, ElementTree.Element]], base: Affine) -> None:
        """Take in all elements, each let go once it has been read: the tree of a large sheet would fill the memory."""
        open_: list[tuple[ElementTree.Element, _State | None]] = []
        event, element = "start", root
        while True:
            if event == "start":
                above = open_[-1][1] if open_ else _State(base, _LOOK)
                open_.append((element, self._start(element, above, inner=bool(open_)) if above else None))
            else:
                _, state = open_.pop()
                if state and _tag(element) == "text":  # its words are known at its end only
                    self._text(element, state)
                if not open_:
                    break
                open_[-1][0].remove(element)
            event, element = next(events)

    def _start(self, element: ElementTree.Element, above: _State, *, inner: bool) -> _State | None:
        """Draw an element; return the map and the look for what is inside it, None if that is hidden."""
        tag = _tag(element)
        if tag in _HIDDEN:
            return None
        if tag not in _DRAWN | _QUIET or (tag == "svg" and inner):
            self._pass_over(f"{tag} element")
            return None
        own = {key: value for key, value in element.attrib.items() if "}" not in key}
        for part in own.pop("style", "").split(";"):
            key, _, value = part.partition(":")
            if key.strip():
                own[key.strip()] = value.strip().removesuffix("px")
        if own.get("display") == "none" or own.get("visibility") in ("hidden", "collapse"):
            return None
        for key in own.keys() - _LOOK.keys() - _KNOWN:
            self._pass_over(f"{key} attribute")
        at = _transform(own["transform"]).compose(above.at) if own.get("transform") else above.at
        mine = {key: own[key] for key in own.keys() & _LOOK.keys()}
        state = _State(at, {**above.look, **mine} if mine else above.look)
        if tag in _DRAWN and tag != "text":
            self._draw(_shape(tag, own, at), state)
        return state

    def _pass_over(self, what: str) -> None:
        self.unread[f"has a {what}, which is not understood: what it does to the marks cannot be told"] = None

    def _draw(self, path: Path, state: _State) -> None:
        fill, stroke = state.look["fill"], state.look["stroke"]
        if fill != "none":
            self.marks += [Mark(AREA, points, ink=_ink(fill)) for points in path.outlines()]
        if stroke != "none":
            self.marks += path.strokes(state.pen(), _ink(stroke))

    def _text(self, element: ElementTree.Element, state: _State) -> None:
        """Take in one line of text, which is set in the project's own typeface."""
        words, look = element.text or "", state.look
        bold = look["font-weight"] in ("bold", "700")
        size = _number(look["font-size"])
        length = text_width(words, size, bold=bold)
        if len(element) or abs(_number(element.get("textLength", str(length))) - length) > LIMIT:
            self._pass_over("text in pieces or of another length")
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}.get(look["text-anchor"], 0.0) * length
        x, y = _number(element.get("x", "0")), _number(element.get("y", "0"))
        place = Affine(1.0, 0.0, 0.0, -1.0, x, y).compose(state.at)
        ink = "" if look["fill"] == "black" and look["stroke"] == "none" else _ink(look["fill"]) or "outlined"
        for letter in letters(words, (-back, 0.0), size, (1.0, 0.0), bold=bold):
            self.marks.append(letter.moved(place)._replace(ink=ink, what=""))


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else "desc"


def _number(text: str) -> float:
    value = float(text)
    if not -1e6 < value < 1e6:
        raise ValueError(f"{text[:40]} is no length")
    return value


def _ink(colour: str) -> str:
    """Return a colour in a word, nothing for black."""
    plain = colour.lower().replace(" ", "")
    if plain in ("black", "#000", "#000000", "rgb(0,0,0)"):
        return ""
    return "white" if plain in ("white", "#fff", "#ffffff", "rgb(255,255,255)") else "coloured"


def _shape(tag: str, own: Mapping[str, str], at: Affine) -> Path:
    """Return an element's path in mm."""

    def value(key: str, other: str = "0") -> float:
        return _number(own.get(key, other))

    path = Path()
    if tag == "line":
        path.add(b"m", [value("x1"), value("y1")], at)
        path.add(b"l", [value("x2"), value("y2")], at)
    elif tag in ("circle", "ellipse"):
        rx, ry = (value("r"), value("r")) if tag == "circle" else (value("rx"), value("ry"))
        points = [(value("cx") + rx * c, value("cy") + ry * s) for c, s in _CIRCLE]
        path.add(b"m", [*points[0]], at)
        path.through(points[1:], at)
        path.close()
    elif tag == "rect":
        if own.get("rx") or own.get("ry"):
            raise ValueError("a rectangle with round corners is not read here")
        path.add(b"re", [value(key) for key in ("x", "y", "width", "height")], at)
    elif tag in ("polyline", "polygon"):
        flat = [_number(part) for part in _NUMBER.findall(own.get("points", ""))]
        for n in range(0, len(flat) - 1, 2):
            path.add(b"l" if n else b"m", flat[n : n + 2], at)
        if tag == "polygon":
            path.close()
    else:
        _trace(path, own.get("d", ""), at)
    return path


def _trace(path: Path, data: str, at: Affine) -> None:
    """Trace path data."""
    for command, numbers in _commands(data):
        kind = command.upper()
        if kind == "Z":
            path.close()
            continue
        x, y = path.at
        v = _absolute(kind, numbers, x, y) if command.islower() else numbers
        if kind in "HV":
            path.add(b"l", [v[0], y] if kind == "H" else [x, v[0]], at)
        elif kind == "A":
            path.through(_arc((x, y), v), at)
        elif kind in "MLC":
            path.add({"M": b"m", "C": b"c"}.get(kind, b"l"), v, at)
        else:
            raise ValueError(f"path command {command} is not read here")


def _transform(text: str) -> Affine:
    """Return a list of transforms as one map; the last one is done first."""
    result = IDENTITY
    for kind, body in _FUNCTION.findall(text):
        v = [_number(part) for part in _NUMBER.findall(body)]
        if kind == "matrix":
            one = Affine(v[0], v[1], v[2], v[3], v[4], v[5])
        elif kind == "translate":
            one = Affine(1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) > 1 else 0.0)
        elif kind == "scale":
            one = Affine(v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
        elif kind == "rotate":
            cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            x, y = v[1:3] if len(v) > 2 else (0.0, 0.0)
            one = Affine(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
        else:
            tan = math.tan(math.radians(v[0]))
            one = Affine(1.0, 0.0, tan, 1.0, 0.0, 0.0) if kind == "skewX" else Affine(1.0, tan, 0.0, 1.0, 0.0, 0.0)
        result = one.compose(result)
    return result


def _commands(data: str) -> list[tuple[str, list[float]]]:
    """Return the commands with their numbers, repeated ones written out."""
    found: list[tuple[str, list[float]]] = []
    command, held = "", list[float]()
    for letter, digits, bad in _PATH.findall(data):
        if bad or (letter and (letter.upper() not in _ARITY or held)) or (digits and not command):
            raise ValueError(f"path data cannot be read at {bad or letter or digits!r}")
        if letter:
            command = letter
            if letter in "Zz":
                found.append((letter, []))
        elif digits:
            held.append(_number(digits))
            if len(held) == _ARITY[command.upper()]:
                found.append((command, held))
                held = []
                command = {"M": "L", "m": "l"}.get(command, command)
    if held:
        raise ValueError("path data ends in the middle of a command")
    return found


def _absolute(kind: str, v: list[float], x: float, y: float) -> list[float]:
    """Return the numbers of a relative command made absolute."""
    if kind == "H":
        return [v[0] + x]
    if kind == "V":
        return [v[0] + y]
    if kind == "A":
        return [*v[:5], v[5] + x, v[6] + y]
    return [value + (y if index % 2 else x) for index, value in enumerate(v)]


def _arc(start: Point, v: list[float]) -> list[Point]:
    """Return points on a circular arc command, its end last. Source: W3C SVG 1.1, appendix F.6.5."""
    rx, ry, _, large, sweep, x, y = v
    if abs(rx - ry) > 1e-9 or rx <= 0:
        raise ValueError("an arc that is not circular is not read here")
    half = math.dist(start, (x, y)) / 2
    radius = max(rx, half)
    rise = math.sqrt(max(0.0, radius * radius - half * half)) * (1 if bool(large) != bool(sweep) else -1)
    if half == 0:
        return []
    ux, uy = (x - start[0]) / (2 * half), (y - start[1]) / (2 * half)
    centre = ((start[0] + x) / 2 - rise * uy, (start[1] + y) / 2 + rise * ux)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    turn = math.atan2(y - centre[1], x - centre[0]) - first
    turn = turn % (2 * math.pi) if sweep else -((-turn) % (2 * math.pi))
    middles = [first + turn * part / 4 for part in (1, 2, 3)]
    return [*((centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in middles), (x, y)]


def _fault(name: str, text: str) -> ProofError:
    return ProofError(Finding("Q106", name, text))
