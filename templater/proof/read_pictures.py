"""Pictures to marks in sheet mm: SVG of a whole sheet, with a reader of its own, and DXF of a part to cut.

Sizes and viewBox after W3C SVG 1.1, 7.7 and 7.10; transforms 7.6; path data 8.3; text 10; painting 11; 1 in = 96 px =
25.4 mm after W3C CSS Values and Units Level 3, section 6.2. What may change how a mark looks or where it stands and is
not understood here is named, so that nobody takes the file for read.
"""

import cmath
import functools
import io
import math
import re
from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Any, BinaryIO
from xml.parsers import expat

from templater.drawing.marks import Arc, Circle, Group, Line, Pen, Polyline, pieces
from templater.findings import Finding, ProofError
from templater.paper.manifest import rows
from templater.plane.shapes import IDENTITY, Affine, Box, Point, box_corners
from templater.proof.marks import BLOT, CIRCLE, OVER, Look, Mark, Path, letters, pen, wanted_marks
from templater.proof.match import LIMIT
from templater.standards.typeface import text_width
from templater.units import MM

#: Bytes read at a time: all marks of a large sheet would fill the memory.
_AT_A_TIME = 1 << 16
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96, "pt": 25.4 / 72, "pc": 25.4 / 6}
_SIZE = re.compile(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(mm|cm|in|px|pt|pc|)\s*$")
_FUNCTION = re.compile(r"[\s,]*(matrix|translate|scale|rotate|skewX|skewY)\s*\(((?:[-+\d.eE,\s]|px|deg)*)\)\s*")
_NUMBER = re.compile(r"[-+]?(?:\d++\.?+\d*+|\.\d++)(?:[eE][-+]?\d++)?+")
#: Path commands that are read, with how many numbers each takes, and a command with all numbers after it.
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "A": 7, "Z": 0}
_COMMAND = re.compile(rf"\s*([MLHVCAZmlhvcaz])((?:[\s,]*+{_NUMBER.pattern})*+)[\s,]*+")
_HIDDEN = frozenset({"defs", "clipPath", "mask", "marker", "pattern", "symbol"})
_SPACE = "http://www.w3.org/2000/svg}"
#: Attributes that hold for what is inside an element too, and what they are at first.
_LOOK = {
    "stroke": "none", "fill": "black", "stroke-width": "1", "stroke-dasharray": "none", "stroke-dashoffset": "0",
    "stroke-linecap": "butt", "font-size": "0", "font-weight": "normal", "text-anchor": "start",
}  # fmt: skip
#: Attributes that are known: these, places, names, and what only other programs use.
_KNOWN = frozenset((
    *_LOOK, "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "width", "height", "points", "d",
    "transform", "id", "viewBox", "version", "baseProfile", "textLength", "lengthAdjust", "font-family",
    "stroke-linejoin", "stroke-miterlimit", "display", "visibility",
))  # fmt: skip
_PEN = ("stroke-width", "stroke-linecap", "stroke-dashoffset", "stroke-dasharray")
_CAPS = {"butt": 0.0, "round": 1.0, "square": 2.0}
_DRAWN = frozenset(["line", "circle", "ellipse", "rect", "polyline", "polygon", "path"])
_READ = _DRAWN | frozenset(["text", "svg", "g", "title", "desc", "metadata"])
#: Of DXF: the layer for cuts, its colour, what an entity on it may say of itself, and the number of mm as a unit.
_LAYER, _COLOUR = "cut", 1
_PLAIN = frozenset(["handle", "owner", "layer", "center", "radius", "flags", "count"])
_DXF_MM = 4


def read_svg(stream: BinaryIO, name: str, unread: dict[str, None]) -> Iterator[Mark]:
    """Yield the marks of a sheet in mm: x as in the file, y up (turned over), both in the sheet frame.

    ``unread`` takes in what is not understood. Raises ProofError Q106: it cannot be read as SVG of a stated size;
    documents with a DTD or entities are refused.
    """
    reader, parser = _Reader(unread), expat.ParserCreate(namespace_separator="}")
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = reader.words.append, _refuse
    try:
        for part in chain(iter(functools.partial(stream.read, _AT_A_TIME), b""), [b""]):
            parser.Parse(part, not part)
            yield from map(reader.seen, reader.marks)
            reader.marks.clear()
    except (expat.ExpatError, ValueError, IndexError, ZeroDivisionError, LookupError, OverflowError) as fault:
        raise ProofError(Finding("Q106", name, f"cannot be read as SVG: {fault}")) from fault


def _refuse(*_doctype: object) -> None:
    raise ValueError("it has a document type declaration or entities, which are refused")


def _frame(tag: str, root: Mapping[str, str]) -> tuple[Affine, Box]:
    """Return the map from user space to mm, y up, where user space is zero stays zero; and what a viewer shows, mm."""
    if tag != "svg":
        raise ValueError("its root is no svg element")
    sizes = [_SIZE.match(root.get(key, "")) for key in ("width", "height")]
    view = [float(part) for part in _NUMBER.findall(root.get("viewBox", ""))]
    if sizes[0] is None or sizes[1] is None or len(view) != 4:
        raise ValueError("it has no width and height in a unit of length with a viewBox")
    width, height = (float(size[1]) * _MM[size[2]] for size in sizes if size)
    at = Affine(width / view[2], 0.0, 0.0, -height / view[3])
    x, y = at.apply((view[0], view[1]))
    return at, (x, y - height, x + width, y)


class _Reader:
    """Hears of elements as they begin and end, and collects marks."""

    def __init__(self, unread: dict[str, None]) -> None:
        self.marks: list[Mark] = []
        self.words: list[str] = []
        self._unread = unread
        #: The elements that are open: tag, attributes, the map to mm, none if they are hidden, and what holds in them.
        self._open: list[tuple[str, Mapping[str, str], Affine | None, Mapping[str, str]]] = []

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Draw an element, unless it is hidden: what holds inside it is known then."""
        tag = name.removeprefix(_SPACE)  # what is no SVG is none of the elements that are known
        if self._open:
            within, _, at, look = self._open[-1]
        else:
            within, look, (at, self._view) = "", _LOOK, _frame(tag, attributes)
        if within == "text" and at:
            self._pass_over("text in pieces")
        own = {key: value for key, value in attributes.items() if "}" not in key}
        if at and self._shown(tag, own):
            if own.get("transform"):
                at = _transform(own["transform"]).compose(at)
            if mine := {key: own[key] for key in own if key in _LOOK}:
                look = {**look, **mine}
            if tag in _DRAWN:
                path = _shape(tag, own).moved(at)
                if look["fill"] != "none":
                    self.marks += path.areas(_ink(look["fill"]))
                if look["stroke"] != "none":
                    self.marks += path.strokes(_pen(at, *map(look.__getitem__, _PEN)), _ink(look["stroke"]))
        else:
            at = None
        self._open.append((tag, own, at, look))
        self.words.clear()

    def seen(self, mark: Mark) -> Mark:
        """Return a mark; one that reaches out of the picture as clipped."""
        left, low, right, high = self._view
        for x, y in mark.points:
            if not (left - OVER <= x <= right + OVER and low - OVER <= y <= high + OVER):
                return mark._replace(ink="clipped")
        return mark

    def end(self, _name: str) -> None:
        """Take in an element's words, which are known at its end only."""
        tag, own, at, look = self._open.pop()
        if at and tag == "text":
            self._text(own, at, look)

    def _shown(self, tag: str, own: dict[str, str]) -> bool:
        """Put an element's style among its attributes; return whether what is in it may show."""
        if tag in _HIDDEN:
            return False
        if tag not in _READ or (tag == "svg" and self._open):
            self._pass_over(f"{tag} element")
            return False
        for part in own.pop("style", "").split(";"):
            key, _, value = part.partition(":")
            if key.strip():
                own[key.strip()] = value.strip().removesuffix("px")
        if own.get("display") == "none" or own.get("visibility") in ("hidden", "collapse"):
            return False
        for key in own.keys() - _KNOWN:
            self._pass_over(f"{key} attribute")
        return True

    def _pass_over(self, what: str) -> None:
        self._unread[f"has a {what}, which is not understood: what it does to the marks cannot be told"] = None

    def _text(self, own: Mapping[str, str], at: Affine, look: Mapping[str, str]) -> None:
        """Take in one line of text, which is set in the project's own typeface."""
        words, bold, size = "".join(self.words), look["font-weight"] in ("bold", "700"), _number(look["font-size"])
        length = text_width(words, size, bold=bold)
        if abs(_number(own.get("textLength", str(length))) - length) > LIMIT:
            self._pass_over("text of another length")
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}.get(look["text-anchor"], 0.0) * length
        em = Affine(size, 0.0, 0.0, -size, _number(own.get("x", "0")) - back, _number(own.get("y", "0")))
        ink = "" if look["fill"] == "black" and look["stroke"] == "none" else _ink(look["fill"]) or "outlined"
        self.marks += letters(words, em.compose(at), bold=bold, ink=ink)


def _number(text: str) -> float:
    value = float(text)
    if not -1e6 < value < 1e6:
        raise ValueError(f"{text[:40]} is no length")
    return value


def _numbers(text: str) -> list[float]:
    return [_number(part) for part in _NUMBER.findall(text)]


@functools.lru_cache(100)
def _pen(at: Affine, width: str, cap: str, start: str, pattern: str) -> Look:
    dashes = () if pattern == "none" else tuple(map(_number, pattern.replace(",", " ").split()))
    return pen(at, _number(width), _CAPS.get(cap, 3.0), _number(start), dashes)


@functools.lru_cache(100)
def _ink(colour: str) -> str:
    """Return a colour in a word, nothing for black."""
    plain = colour.lower().replace(" ", "")
    if plain in ("black", "#000", "#000000", "rgb(0,0,0)"):
        return ""
    return "white" if plain in ("white", "#fff", "#ffffff", "rgb(255,255,255)") else "coloured"


def _shape(tag: str, own: Mapping[str, str]) -> Path:

    def values(*keys: str) -> list[float]:
        return [_number(own.get(key, "0")) for key in keys]

    path = Path()
    if tag == "path":
        _trace(path, own.get("d", ""))
    elif tag in ("circle", "ellipse"):
        x, y, rx, ry = values("cx", "cy", *(("r", "r") if tag == "circle" else ("rx", "ry")))
        path.outline([(x + rx * cos, y + ry * sin) for cos, sin in CIRCLE], curved=True)
    elif tag == "rect":
        if own.get("rx") or own.get("ry"):
            raise ValueError("a rectangle with round corners is not read here")
        x, y, w, h = values("x", "y", "width", "height")
        path.outline(box_corners((x, y, x + w, y + h)))
    else:
        flat = values("x1", "y1", "x2", "y2") if tag == "line" else _numbers(own.get("points", ""))
        for n, point in enumerate(zip(flat[::2], flat[1::2], strict=False)):
            path.add(b"l" if n else b"m", (point,))
        if tag == "polygon":
            path.close()
    return path


def _trace(path: Path, data: str) -> None:
    """Draw path data, in which a command's letter may be left out where the same is done again."""
    if rest := _COMMAND.sub("", data).strip():
        raise ValueError(f"path data at {rest[:20]!r} is not read here")
    for command, body in _COMMAND.findall(data):
        v, count = _numbers(body), _ARITY[command.upper()]
        steps = [v[n : n + count] for n in range(0, len(v), count)] if count else [v]
        if not steps or len(steps[-1]) != count:
            raise ValueError("path data ends in the middle of a command")
        again = {"M": "L", "m": "l"}.get(command, command)
        for number, step in enumerate(steps):
            _go_on(path, again if number else command, step)


def _go_on(path: Path, command: str, v: list[float]) -> None:
    """Go on by one command of path data; numbers of a small letter count from the current point."""
    kind, (x, y) = command.upper(), path.at
    dx, dy = (x, y) if command.islower() else (0.0, 0.0)
    if kind == "Z":
        path.close()
    elif kind in "HV":
        path.add(b"l", ((v[0] + dx, y) if kind == "H" else (x, v[0] + dy),))
    elif kind == "A":
        path.through(_arc((x, y), v, (v[5] + dx, v[6] + dy)))
    else:
        path.add(kind.lower().encode(), [(px + dx, py + dy) for px, py in zip(v[::2], v[1::2], strict=True)])


def _transform(text: str) -> Affine:
    """Return a list of transforms as one map; the last one is done first."""
    if _FUNCTION.sub("", text):
        raise ValueError(f"a transform {text[:40]!r} is not read here")
    result = IDENTITY
    for kind, body in _FUNCTION.findall(text):
        v = _numbers(body)
        cos, sin, tan = (way(math.radians(v[0])) for way in (math.cos, math.sin, math.tan))
        if kind == "matrix":
            one = Affine(v[0], v[1], v[2], v[3], v[4], v[5])
        elif kind == "translate":
            one = Affine(e=v[0], f=v[1] if len(v) > 1 else 0.0)
        elif kind == "scale":
            one = Affine(a=v[0], d=v[-1])
        elif kind == "rotate":
            x, y = v[1:3] if len(v) > 2 else (0.0, 0.0)
            one = Affine(e=-x, f=-y).compose(Affine(cos, sin, -sin, cos, x, y))
        else:
            one = Affine(c=tan) if kind == "skewX" else Affine(b=tan)
        result = one.compose(result)
    return result


def _arc(start: Point, v: list[float], end: Point) -> list[Point]:
    """Return points on a circular arc command, its end last. Source: W3C SVG 1.1, appendix F.6.5."""
    rx, ry, _, large, sweep = v[:5]
    if abs(rx - ry) > 1e-9 or rx <= 0 or {large, sweep} - {0, 1}:
        raise ValueError("an arc that is not circular is not read here")
    a, chord = complex(*start), complex(*end) - complex(*start)
    if not chord:
        return []
    half = math.asin(min(1.0, abs(chord) / 2 / rx))  # of the angle; a radius that is too short grows
    half = (math.pi - half if large else half) * (1 if sweep else -1)
    arm = -chord / 2 * complex(1.0, 1 / math.tan(half))  # from the centre to the start
    middles = [a - arm + arm * cmath.rect(1.0, half * part / 2) for part in (1, 2, 3)]
    return [*((z.real, z.imag) for z in middles), end]


def read_dxf(data: bytes, name: str) -> tuple[Mark, ...]:
    """Return the marks of a DXF file in mm; what is no plain circle or closed outline on a layer for cuts as a blot.

    Raises ProofError Q107: it cannot be read as DXF in mm.
    """
    from ezdxf.filemanagement import read  # the library takes long to load
    from ezdxf.lldxf.const import DXFError

    look = (Pen.NARROW, Group.CUT)
    marks, others = list[Circle | Line | Arc](), list[Mark]()
    try:
        document = read(io.StringIO(data.decode("utf-8")))
        if document.units != _DXF_MM:
            raise ValueError(f"its unit is not {MM.unit}")
        papers = [space for space in document.layouts if not space.is_modelspace]
        beside = [one for paper in papers for one in paper if one.dxftype() != "VIEWPORT"]
        for entity in (*document.modelspace(), *beside):
            if entity in beside or not _plain(entity, document.layers):
                what = f"open, hidden, lifted, wide, mirrored or unknown {entity.dxftype()}"
                others.append(Mark(BLOT, ((0.0, 0.0),), what=what))
            elif entity.dxftype() == "CIRCLE":
                x, y, _ = entity.dxf.center
                marks.append(Circle((x, y), 2 * entity.dxf.radius, *look))
            else:
                points, bulges = zip(*(((x, y), b) for x, y, b in entity.get_points("xyb")), strict=True)
                marks += pieces(Polyline(points, True, *look, bulges=bulges))  # noqa: FBT003
        return (*wanted_marks(rows(marks)), *others)
    except (DXFError, ValueError, IndexError, KeyError, OverflowError, TypeError) as fault:
        raise ProofError(Finding("Q107", name, f"cannot be read as DXF: {str(fault)[:100]}")) from None


def _plain(entity: Any, layers: Any) -> bool:
    """Return whether an entity is a circle or closed outline that nothing hides, lifts, widens or dashes."""
    layer = layers.get(entity.dxf.layer) if entity.dxf.layer == _LAYER else None
    if layer is None or layer.is_off() or layer.is_frozen() or layer.color != _COLOUR:
        return False
    if entity.dxfattribs().keys() - _PLAIN:
        return False
    if entity.dxftype() == "CIRCLE":
        return bool(entity.dxf.center.z == 0)
    return entity.dxftype() == "LWPOLYLINE" and bool(entity.closed) and not any(map(any, entity.get_points("se")))
