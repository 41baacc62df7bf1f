"""SVG of a whole sheet to strokes in sheet mm, with a reader of its own.

Sizes and viewBox after W3C SVG 1.1, 7.7 and 7.10; transforms 7.6; path data 8.3; 1 in = 96 px = 25.4 mm after W3C CSS
Values and Units Level 3, section 6.2. Text is not read: nothing is placed by it.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree

from templater.findings import Finding, ProofError
from templater.plane.shapes import IDENTITY, Affine, Point
from templater.proof.marks import SAME, Bend, PageMarks, Polygon, Segment

_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96, "pt": 25.4 / 72, "pc": 25.4 / 6}
_SIZE = re.compile(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(mm|cm|in|px|pt|pc|)\s*$")
_FUNCTION = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_PATH = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|[\s,]+|(.)", re.DOTALL)
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_HIDDEN = frozenset({"defs", "clipPath", "mask", "marker", "pattern", "symbol"})
_CIRCLE = tuple((math.cos(math.pi * k / 4), math.sin(math.pi * k / 4)) for k in range(8))


def read_svg(data: bytes, name: str) -> PageMarks:
    """Return the strokes of a sheet in mm: x as in the file, y up (turned over), both in the sheet frame.

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
    except (ElementTree.ParseError, ValueError, IndexError, ZeroDivisionError, LookupError) as fault:
        raise _fault(name, f"cannot be read as SVG: {fault}") from fault
    return PageMarks(size, tuple(reader.segments), tuple(reader.bends), tuple(reader.polygons))


def _frame(root: ElementTree.Element, name: str) -> tuple[Point, Affine]:
    """Return the size in mm and the map from user space to mm, y up; where user space is zero stays zero."""
    sizes = [_SIZE.match(root.get(key, "")) for key in ("width", "height")]
    view = [float(part) for part in _NUMBER.findall(root.get("viewBox", ""))]
    if sizes[0] is None or sizes[1] is None or len(view) != 4:
        raise _fault(name, "has no width and height in a unit of length with a viewBox")
    width, height = (float(size[1]) * _MM[size[2]] for size in sizes if size)
    return (width, height), Affine(width / view[2], 0.0, 0.0, -height / view[3])


#: Map to mm and stroke colour in force.
_State = tuple[Affine, str]


class _Reader:
    """Walks the elements and collects strokes."""

    def __init__(self) -> None:
        self.segments: list[Segment] = []
        self.bends: list[Bend] = []
        self.polygons: list[Polygon] = []

    def read(
        self, root: ElementTree.Element, events: Iterator[tuple[str, ElementTree.Element]], base: Affine
    ) -> None:
        """Take in all elements, each let go once it has been read: the tree of a large sheet would fill the memory."""
        open_: list[tuple[ElementTree.Element, _State | None]] = []
        event, element = "start", root
        while True:
            if event == "start":
                above = open_[-1][1] if open_ else (base, "none")
                open_.append((element, self._start(element, above) if above else None))
            else:
                open_.pop()
                if not open_:
                    break
                open_[-1][0].remove(element)
            event, element = next(events)

    def _start(self, element: ElementTree.Element, above: _State) -> _State | None:
        """Draw an element; return the map and the stroke for what is inside it, None if that is hidden."""
        at, stroke = above
        tag = element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""
        if tag in _HIDDEN or element.get("display") == "none" or element.get("visibility") == "hidden":
            return None
        if element.get("transform"):
            at = _transform(element.get("transform", "")).compose(at)
        stroke = element.get("stroke", stroke)
        if stroke != "none":
            self._draw(tag, element, at)
        return at, stroke

    def _draw(self, tag: str, element: ElementTree.Element, at: Affine) -> None:
        def value(key: str) -> float:
            return float(element.get(key, "0"))

        if tag == "line":
            ends = (value("x1"), value("y1")), (value("x2"), value("y2"))
            self.segments.append(Segment(at.apply(ends[0]), at.apply(ends[1])))
        elif tag in ("circle", "ellipse"):
            rx, ry = (value("r"), value("r")) if tag == "circle" else (value("rx"), value("ry"))
            x, y = value("cx"), value("cy")
            self.bends.append(Bend(tuple(at.apply((x + rx * c, y + ry * s)) for c, s in _CIRCLE), closed=True))
        elif tag == "rect":
            x, y, w, h = (value(key) for key in ("x", "y", "width", "height"))
            corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
            self.polygons.append(Polygon(tuple(at.apply(corner) for corner in corners)))
        elif tag in ("polyline", "polygon"):
            flat = [float(part) for part in _NUMBER.findall(element.get("points", ""))]
            points = [at.apply(point) for point in zip(flat[::2], flat[1::2], strict=True)]
            self._keep(points, tag == "polygon", curved=False, bare=False)
        elif tag == "path":
            for points, closed, curved, bare in _parts(element.get("d", "")):
                self._keep([at.apply(point) for point in points], closed, curved=curved, bare=bare)

    def _keep(self, points: list[Point], closed: bool, *, curved: bool, bare: bool) -> None:
        if len(points) > 1 and math.dist(points[0], points[-1]) < SAME:
            points, closed = points[:-1], True
        if curved and (bare or closed):  # the outline of a part for a shop has straight sides as well
            self.bends.append(Bend(tuple(points), closed))
        elif not curved and len(points) == 2:
            self.segments.append(Segment(points[0], points[1]))
        elif not curved and closed and len(points) > 2:
            self.polygons.append(Polygon(tuple(points)))


def _transform(text: str) -> Affine:
    """Return a list of transforms as one map; the last one is done first."""
    result = IDENTITY
    for kind, body in _FUNCTION.findall(text):
        v = [float(part) for part in _NUMBER.findall(body)]
        if kind == "matrix":
            one = (v[0], v[1], v[2], v[3], v[4], v[5])
        elif kind == "translate":
            one = (1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) > 1 else 0.0)
        elif kind == "scale":
            one = (v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
        elif kind == "rotate":
            cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            x, y = v[1:3] if len(v) > 2 else (0.0, 0.0)
            one = (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
        else:
            tan = math.tan(math.radians(v[0]))
            one = (1.0, 0.0, tan, 1.0, 0.0, 0.0) if kind == "skewX" else (1.0, tan, 0.0, 1.0, 0.0, 0.0)
        result = Affine(*one).compose(result)
    return result


_Part = tuple[list[Point], bool, bool, bool]


def _parts(data: str) -> list[_Part]:
    """Return the parts of a path: points, closed, curved, without straight sides."""
    parts: list[_Part] = []
    points: list[Point] = []
    curved, bare = False, True
    for command, numbers in _commands(data):
        v = numbers
        kind = command.upper()
        x, y = points[-1] if points else (0.0, 0.0)
        if kind == "M":
            if points:
                parts.append((points, False, curved, bare))
                x, y = points[0] if not points[1:] else (x, y)
            points, curved, bare = [(v[0] + x, v[1] + y) if command == "m" else (v[0], v[1])], False, True
            continue
        if kind == "Z":
            bare = bare and (len(points) < 2 or math.dist(points[0], points[-1]) < SAME)
            parts.append((points, True, curved, bare))
            points, curved, bare = points[:1], False, True
            continue
        if command.islower():
            v = _absolute(kind, v, x, y)
        if kind in "LHV":
            end = (v[0], y) if kind == "H" else (x, v[0]) if kind == "V" else (v[0], v[1])
            points.append(end)
            bare = False
        elif kind == "C":
            points.append(((x + 3 * (v[0] + v[2]) + v[4]) / 8, (y + 3 * (v[1] + v[3]) + v[5]) / 8))
            points.append((v[4], v[5]))
            curved = True
        elif kind == "A":
            points += _arc((x, y), v)
            curved = True
        else:
            raise ValueError(f"path command {command} is not read here")
    if len(points) > 1:
        parts.append((points, False, curved, bare))
    return parts


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
            held.append(float(digits))
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
