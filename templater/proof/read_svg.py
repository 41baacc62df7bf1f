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
from itertools import chain
from typing import NamedTuple
from xml.etree import ElementTree

from templater.findings import Finding, ProofError
from templater.plane.shapes import IDENTITY, Affine, Point
from templater.proof.marks import Look, Mark, PageMarks, Path, letters, pen
from templater.proof.match import LIMIT
from templater.standards.typeface import text_width

_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96, "pt": 25.4 / 72, "pc": 25.4 / 6}
_SIZE = re.compile(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(mm|cm|in|px|pt|pc|)\s*$")
_FUNCTION = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_FIGURE = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_NUMBER = re.compile(_FIGURE)
_PATH = re.compile(rf"([A-Za-z])|({_FIGURE})|[\s,]+|(.)", re.DOTALL)
#: Path commands that are read, with how many numbers each takes.
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "A": 7, "Z": 0}
_HIDDEN = frozenset({"defs", "clipPath", "mask", "marker", "pattern", "symbol"})
_CIRCLE = tuple((math.cos(math.pi * k / 8), math.sin(math.pi * k / 8)) for k in range(1, 17))
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
    try:
        if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
            raise ValueError("it has a document type declaration or entities, which are refused")
        events = ElementTree.iterparse(io.BytesIO(data), ("start", "end"))
        _, root = next(events)
        if root.tag.rpartition("}")[2] != "svg":
            raise ValueError("its root is no svg element")
        size, base = _frame(root)
        reader = _Reader()
        reader.read(root, events, base)
    except (ElementTree.ParseError, ValueError, IndexError, ZeroDivisionError, LookupError, OverflowError) as fault:
        raise ProofError(Finding("Q106", name, f"cannot be read as SVG: {fault}")) from fault
    return PageMarks(size, tuple(reader.marks), unread=tuple(reader.unread))


def _frame(root: ElementTree.Element) -> tuple[Point, Affine]:
    """Return the size in mm and the map from user space to mm, y up; where user space is zero stays zero."""
    sizes = [_SIZE.match(root.get(key, "")) for key in ("width", "height")]
    view = [float(part) for part in _NUMBER.findall(root.get("viewBox", ""))]
    if sizes[0] is None or sizes[1] is None or len(view) != 4:
        raise ValueError("it has no width and height in a unit of length with a viewBox")
    width, height = (float(size[1]) * _MM[size[2]] for size in sizes if size)
    return (width, height), Affine(width / view[2], 0.0, 0.0, -height / view[3])


class _State(NamedTuple):
    """Map to mm and the attributes in force."""

    at: Affine
    look: Mapping[str, str]

    def pen(self) -> Look:
        """Return the look of a stroke."""
        width, cap, start, pattern = (
            self.look[f"stroke-{key}"] for key in ("width", "linecap", "dashoffset", "dasharray")
        )
        dashes = () if pattern == "none" else tuple(map(_number, pattern.replace(",", " ").split()))
        return pen(self.at, _number(width), _CAPS.get(cap, 3.0), _number(start), dashes)


class _Reader:
    """Walks the elements and collects marks."""

    def __init__(self) -> None:
        self.marks: list[Mark] = []
        self.unread: dict[str, None] = {}

    def read(self, root: ElementTree.Element, events: Iterator[tuple[str, ElementTree.Element]], base: Affine) -> None:
        """Take in all elements, each let go once it has been read: the tree of a large sheet would fill the memory."""
        open_: list[tuple[ElementTree.Element, _State | None]] = []
        for event, element in chain([("start", root)], events):
            if event == "start":
                above = open_[-1][1] if open_ else _State(base, _LOOK)
                open_.append((element, self._start(element, above, inner=bool(open_)) if above else None))
                continue
            _, state = open_.pop()
            if state and _tag(element) == "text":  # its words are known at its end only
                self._text(element, state)
            if open_:
                open_[-1][0].remove(element)

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
            path, (fill, stroke) = _shape(tag, own, at), (state.look["fill"], state.look["stroke"])
            if fill != "none":
                self.marks += path.areas(_ink(fill))
            if stroke != "none":
                self.marks += path.strokes(state.pen(), _ink(stroke))
        return state

    def _pass_over(self, what: str) -> None:
        self.unread[f"has a {what}, which is not understood: what it does to the marks cannot be told"] = None

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


def _numbers(text: str) -> list[float]:
    return [_number(part) for part in _NUMBER.findall(text)]


def _ink(colour: str) -> str:
    """Return a colour in a word, nothing for black."""
    plain = colour.lower().replace(" ", "")
    if plain in ("black", "#000", "#000000", "rgb(0,0,0)"):
        return ""
    return "white" if plain in ("white", "#fff", "#ffffff", "rgb(255,255,255)") else "coloured"


def _shape(tag: str, own: Mapping[str, str], at: Affine) -> Path:
    """Return an element's path in mm."""

    def values(*keys: str) -> list[float]:
        return [_number(own.get(key, "0")) for key in keys]

    path = Path()
    if tag == "line":
        path.add(b"m", values("x1", "y1"), at)
        path.add(b"l", values("x2", "y2"), at)
    elif tag in ("circle", "ellipse"):
        x, y, rx, ry = values("cx", "cy", *(("r", "r") if tag == "circle" else ("rx", "ry")))
        path.add(b"m", [x + rx, y], at)
        path.through([(x + rx * cos, y + ry * sin) for cos, sin in _CIRCLE], at)
        path.close()
    elif tag == "rect":
        if own.get("rx") or own.get("ry"):
            raise ValueError("a rectangle with round corners is not read here")
        path.add(b"re", values("x", "y", "width", "height"), at)
    elif tag in ("polyline", "polygon"):
        flat = _numbers(own.get("points", ""))
        for n in range(0, len(flat) - 1, 2):
            path.add(b"l" if n else b"m", flat[n : n + 2], at)
        if tag == "polygon":
            path.close()
    else:
        for command, numbers in _commands(own.get("d", "")):
            _trace(path, command, numbers, at)
    return path


def _trace(path: Path, command: str, v: list[float], at: Affine) -> None:
    """Go on by one command of path data; numbers of a small letter count from the current point."""
    kind, (x, y) = command.upper(), path.at
    dx, dy = (x, y) if command.islower() else (0.0, 0.0)
    if kind == "Z":
        path.close()
    elif kind == "H":
        path.add(b"l", (v[0] + dx, y), at)
    elif kind == "V":
        path.add(b"l", (x, v[0] + dy), at)
    elif kind == "A":
        path.through(_arc((x, y), v, (v[5] + dx, v[6] + dy)), at)
    else:
        path.add(kind.lower().encode(), [value + (dy if n % 2 else dx) for n, value in enumerate(v)], at)


def _transform(text: str) -> Affine:
    """Return a list of transforms as one map; the last one is done first."""
    result = IDENTITY
    for kind, body in _FUNCTION.findall(text):
        v = _numbers(body)
        turn = math.radians(v[0])
        if kind == "matrix":
            one = Affine(v[0], v[1], v[2], v[3], v[4], v[5])
        elif kind == "translate":
            one = Affine(e=v[0], f=v[1] if len(v) > 1 else 0.0)
        elif kind == "scale":
            one = Affine(a=v[0], d=v[-1])
        elif kind == "rotate":
            x, y = v[1:3] if len(v) > 2 else (0.0, 0.0)
            cos, sin = math.cos(turn), math.sin(turn)
            one = Affine(e=-x, f=-y).compose(Affine(cos, sin, -sin, cos, x, y))
        else:
            one = Affine(c=math.tan(turn)) if kind == "skewX" else Affine(b=math.tan(turn))
        result = one.compose(result)
    return result


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    """Yield the commands with their numbers, repeated ones written out."""
    command, held = "", list[float]()
    for letter, digits, bad in _PATH.findall(data):
        if bad or (letter and (letter.upper() not in _ARITY or held)) or (digits and command in ("", "Z", "z")):
            raise ValueError(f"path data at {bad or letter or digits!r} is not read here")
        if letter:
            command = letter
            if letter in "Zz":
                yield letter, []
        elif digits:
            held.append(_number(digits))
            if len(held) == _ARITY[command.upper()]:
                yield command, held
                held = []
                command = {"M": "L", "m": "l"}.get(command, command)
    if held:
        raise ValueError("path data ends in the middle of a command")


def _arc(start: Point, v: list[float], end: Point) -> list[Point]:
    """Return points on a circular arc command, its end last. Source: W3C SVG 1.1, appendix F.6.5."""
    rx, ry, _, large, sweep = v[:5]
    if abs(rx - ry) > 1e-9 or rx <= 0:
        raise ValueError("an arc that is not circular is not read here")
    chord = math.dist(start, end)
    if chord == 0:
        return []
    radius = max(rx, chord / 2)
    rise = math.sqrt(max(0.0, radius**2 - chord**2 / 4)) / chord * (1 if bool(large) != bool(sweep) else -1)
    x = (start[0] + end[0]) / 2 - rise * (end[1] - start[1])
    y = (start[1] + end[1]) / 2 + rise * (end[0] - start[0])
    first = math.atan2(start[1] - y, start[0] - x)
    turn = math.atan2(end[1] - y, end[0] - x) - first
    turn = turn % (2 * math.pi) if sweep else -((-turn) % (2 * math.pi))
    middles = [first + turn * part / 4 for part in (1, 2, 3)]
    return [*((x + radius * math.cos(t), y + radius * math.sin(t)) for t in middles), end]
