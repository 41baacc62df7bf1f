"""PDF content streams to marks in mm: a small interpreter of its own.

Operators after ISO 32000-1:2008: 8.4.4 (state), 8.5 (paths, clipping), 8.6.8 (colour), 8.10 (forms), 8.11 (layers), 9.3
and 9.4 (text). Linear in the stream's size; one regular expression takes a whole operation at a time.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any, NamedTuple, Protocol

from templater.plane.shapes import IDENTITY, Affine, Point
from templater.proof.marks import AREA, BLOT, LETTER, Mark
from templater.proof.paths import OVER, Box, Path, bounds, meet

_SPACE = rb"[\x00\t\n\f\r ]"
_NUMBER = rb"[-+]?(?:\d++\.?+\d*+|\.\d++)"
_STRING = rb"\((?>[^()\\]|\\.|\((?>[^()\\]|\\.|\((?>[^()\\]|\\.)*\))*\))*\)"
_HEX = rb"<[0-9A-Fa-f\s]*>"
_NAME = rb"/[^\x00\t\n\f\r ()<>\[\]{}/%]*"
#: Groups: up to six numbers and the operator after them; another operand; a lone number; what cannot be read, which
#: for a string without end is the whole rest. Bounds and possessive repeats keep it linear for hostile streams too.
_OPERATION = re.compile(
    rb"BI(?=[\s/]).{0,300}?\sID\s.{0,65535}?\sEI(?=\s|$)"
    rb"|((?>(?:" + _NUMBER + _SPACE + rb"+){0,6}))([A-Za-z'\"][A-Za-z0-9]*\*?)"
    rb"|(" + _STRING + rb"|" + _HEX + rb"|" + _NAME
    + rb"|\[(?>[^\[\]()<>]|" + _STRING + rb"|" + _HEX + rb")*\]|<<(?>[^<>()]|" + _STRING + rb"|" + _HEX + rb")*>>)"
    rb"|(" + _NUMBER + rb")"
    rb"|%[^\r\n]*"
    rb"|(\(.*|[^\x00\t\n\f\r ])",
    re.DOTALL,
)  # fmt: skip
_PIECE = re.compile(_STRING + rb"|" + _HEX + rb"|(" + _NUMBER + rb")", re.DOTALL)
#: How each painting operator paints: close the path, stroke it, fill it.
_PAINTING = {
    b"S": (False, True, False), b"s": (True, True, False), b"f": (False, False, True), b"F": (False, False, True),
    b"f*": (False, False, True), b"B": (False, True, True), b"B*": (False, True, True), b"b": (True, True, True),
    b"b*": (True, True, True), b"n": (False, False, False),
}  # fmt: skip
#: Operators that set one number of the state.
_NUMBERS = {b"w": "width", b"J": "cap", b"Tc": "between", b"Tw": "words", b"Tz": "stretch", b"TL": "leading",
            b"Ts": "rise", b"Tr": "mode"}  # fmt: skip
#: Operators that change nothing that is looked at.
_QUIET = frozenset(b"j M ri i MP DP BX EX d0 d1 CS cs".split())
_CONSTANTS = (b"true", b"false", b"null")
_ARITY = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"re": 4, b"cm": 6, b"Tm": 6, b"w": 1, b"Td": 2, b"TD": 2,
          b"Tc": 1, b"Tw": 1, b"Tz": 1, b"TL": 1, b"Ts": 1, b"Tr": 1, b"J": 1}  # fmt: skip
_COLOURS = {b"g": False, b"rg": False, b"k": False, b"sc": False, b"scn": False,
            b"G": True, b"RG": True, b"K": True, b"SC": True, b"SCN": True}  # fmt: skip
#: Most of each that a file may have, so that a hostile one ends.
DEEPEST, MOST_FORMS, MOST_OPERATORS = 8, 10_000, 2_000_000
#: A font's letters: codes shown to letters with their advance, in parts of the em.
Font = Callable[[bytes], list[tuple[str, float, bool]]]


class Resources(Protocol):
    """What a content stream names."""

    def font(self, name: bytes) -> tuple[Font, bool]:
        """Return a font's letters, and whether it is bold."""

    def form(self, name: bytes) -> tuple[bytes, Affine, Box | None, Resources, str] | str:
        """Return a form's stream, matrix, box, own resources and ink; for anything else what it is, in a word."""

    def state(self, name: bytes) -> str | None:
        """Return why what is painted with a graphics state does not show as it is, or None if it leaves that be."""


class TooMuchError(ValueError):
    """A file goes on for ever, or nearly."""


class _State(NamedTuple):
    """The graphics state as far as it is looked at. ``clip`` is a box in mm."""

    ctm: Affine
    clip: Box
    width: float = 1.0
    cap: float = 0.0
    dashes: tuple[float, ...] = ()
    phase: float = 0.0
    stroke: str = ""
    fill: str = ""
    veil: str = ""
    font: Font | None = None
    bold: bool = False
    size: float = 0.0
    between: float = 0.0
    words: float = 0.0
    stretch: float = 100.0
    leading: float = 0.0
    rise: float = 0.0
    mode: float = 0.0

    def scale(self) -> float:
        """Return how long a unit of the stream is, mm."""
        a, b, c, d, _, _ = self.ctm
        return math.sqrt(abs(a * d - b * c))

    def look(self) -> tuple[float, ...]:
        """Return the look of a stroke."""
        mm = self.scale()
        if not any(self.dashes):
            return self.width * mm, self.cap
        dashes = self.dashes * 2 if len(self.dashes) % 2 else self.dashes
        return self.width * mm, self.cap, self.phase * mm, *(length * mm for length in dashes)


class Interpreter:
    """Collects the marks of a page from its content streams."""

    def __init__(self) -> None:
        self.marks: list[Mark] = []
        self.unread: dict[str, None] = {}
        self._forms = 0
        self._operators = 0

    def read(
        self, data: bytes, ctm: Affine, page: Box, resources: Resources, veil: str = "", depth: int = 0
    ) -> None:
        """Read one content stream.

        Args:
            data: decoded stream.
            ctm: user space of the stream to page mm.
            page: what of the page is seen, mm.
            resources: what the stream names.
            veil: why nothing of it shows as it is; empty if it does.
            depth: nesting of forms.

        Raises:
            TooMuchError: for more operators, forms or nesting than any drawing needs.
        """
        _Run(self, _State(ctm, page, veil=veil), resources, depth).run(data)

    def count(self, operators: int = 0, forms: int = 0, depth: int = 0) -> None:
        """Count what was read, and stop where it is too much."""
        self._operators += operators
        self._forms += forms
        if depth > DEEPEST:
            raise TooMuchError(f"forms are nested more than {DEEPEST} deep")
        if self._forms > MOST_FORMS or self._operators > MOST_OPERATORS:
            raise TooMuchError(f"more than {MOST_OPERATORS} operators or {MOST_FORMS} forms")


class _Run:
    """One content stream being read."""

    def __init__(self, page: Interpreter, state: _State, resources: Resources, depth: int) -> None:
        self.page, self.state, self.resources, self.depth = page, state, resources, depth
        self.stack: list[_State] = []
        self.path = Path()
        self.clipping = False
        self.layers: list[bool] = []
        self.line = self.text = IDENTITY

    def complain(self, text: str) -> None:
        self.page.unread[text] = None

    def run(self, data: bytes) -> None:
        """Go through the stream."""
        operands: list[bytes] = []
        counted = 0
        for found in _OPERATION.finditer(data):
            numbers, operator, operand, lone, bad = found.groups(b"")
            if not operator:
                if bad:
                    self.complain(f"content stream has a stray {bad[:20].decode('latin-1')!r}")
                elif operand or lone:
                    operands.append(operand or lone)
                elif found[0][:2] == b"BI":
                    self.blot("picture", _UNIT)
                continue
            counted += 1
            if counted == 10_000:
                self.page.count(operators=counted)
                counted = 0
            if operator in _CONSTANTS:
                operands.append(operator)
                continue
            values = [float(part) for part in numbers.split()]
            wanted = _ARITY.get(operator)
            if wanted and (len(values) != wanted or operands):
                self.complain(f"operator {operator.decode('latin-1')} has the wrong number of operands")
            else:
                self.do(operator, values, operands)
            operands.clear()
        self.page.count(operators=counted)

    def do(self, operator: bytes, v: list[float], operands: list[bytes]) -> None:
        """Carry out one operator; the commonest first."""
        state = self.state
        if operator in _PATH:
            self.path.add(operator, v, state.ctm)
        elif operator in _PAINTING:
            self.paint(*_PAINTING[operator])
        elif operator == b"h":
            self.path.close()
        elif operator in _TEXT:
            _TEXT[operator](self, v, operands)
        elif operator in _NUMBERS:
            numbers: dict[str, Any] = {_NUMBERS[operator]: v[0]}
            self.state = state._replace(**numbers)
        elif operator == b"d":
            dashes = tuple(float(part) for part in operands[0].strip(b"[]").split()) if operands else ()
            self.state = state._replace(dashes=dashes, phase=v[0] if v else 0.0)
        elif operator == b"q":
            self.stack.append(state)
        elif operator == b"Q":
            if self.stack:
                self.state = self.stack.pop()
            else:
                self.complain("content stream restores a state that it never saved")
        elif operator == b"cm":
            self.state = state._replace(ctm=_affine(v).compose(state.ctm))
        elif operator in _COLOURS:
            ink = "in a pattern" if operands else _ink(v)
            self.state = state._replace(stroke=ink) if _COLOURS[operator] else state._replace(fill=ink)
        elif operator in (b"W", b"W*"):
            self.clipping = True
        elif operator == b"gs":
            veil = self.resources.state(operands[-1][1:] if operands else b"")
            self.state = state if veil is None else state._replace(veil=veil or self.under())
        elif operator in (b"BDC", b"BMC"):
            self.layers.append(operator == b"BDC" and bool(operands) and operands[0] == b"/OC")
        elif operator == b"EMC":
            if self.layers:
                self.layers.pop()
        elif operator == b"Do":
            self.draw(operands[-1][1:] if operands else b"")
        elif operator == b"sh":
            self.blot("shading", state.clip, placed=True)
        elif operator not in _QUIET:
            self.complain(f"content stream has an unknown operator {operator.decode('latin-1')!r}")

    def under(self) -> str:
        """Return the veil that lies over the whole stream."""
        return (self.stack[0] if self.stack else self.state).veil if self.depth else ""

    def veil(self) -> str:
        """Return why what is painted now does not show as it is."""
        return "in a layer" if any(self.layers) else self.state.veil

    def add(self, mark: Mark) -> None:
        """Take a mark in, unless nothing of it lies on the page; say so if a clip cuts it."""
        x0, y0, x1, y1 = self.state.clip
        for x, y in mark.points:
            if not (x0 - OVER <= x <= x1 + OVER and y0 - OVER <= y <= y1 + OVER):
                shown = meet(bounds(mark.points), self.state.clip)
                if shown[0] > shown[2] or shown[1] > shown[3]:
                    return
                mark = mark._replace(ink="clipped")
                break
        self.page.marks.append(mark)

    def paint(self, close: bool, stroke: bool, fill: bool) -> None:
        """Paint the path and let it go; first to clip with it, if that was asked for."""
        path, state = self.path, self.state
        if close:
            path.close()
        if fill:
            ink = self.veil() or state.fill
            for points in path.outlines():
                if ink != "white" or self.page.marks:  # white below everything covers nothing
                    self.add(Mark(AREA, points, ink=ink))
        if stroke:
            look, ink = state.look(), self.veil() or state.stroke
            for mark in path.strokes(look, ink):
                self.add(mark)
        if self.clipping:
            self.state = state._replace(clip=meet(state.clip, path.box()))
            self.clipping = False
        self.path = Path()

    def draw(self, name: bytes) -> None:
        """Draw an XObject."""
        found = self.resources.form(name)
        if isinstance(found, str):
            self.blot(found, _UNIT)
            return
        data, matrix, box, resources, ink = found
        self.page.count(forms=1, depth=self.depth + 1)
        ctm = matrix.compose(self.state.ctm)
        clip = self.state.clip
        if box is not None:
            x0, y0, x1, y1 = box
            clip = meet(clip, bounds([ctm.apply(p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]))
        inner = self.state._replace(ctm=ctm, clip=clip, veil=ink or self.veil())
        _Run(self.page, inner, resources, self.depth + 1).run(data)

    def blot(self, what: str, box: Box, *, placed: bool = False) -> None:
        """Take in what no drawing of ours has."""
        x0, y0, x1, y1 = box
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        self.page.marks.append(
            Mark(BLOT, corners if placed else tuple(self.state.ctm.apply(p) for p in corners), what=what)
        )

    def begin(self, _v: list[float], _operands: list[bytes]) -> None:
        self.line = self.text = IDENTITY

    def choose(self, v: list[float], operands: list[bytes]) -> None:
        font, bold = self.resources.font(operands[-1][1:] if operands else b"")
        self.state = self.state._replace(font=font, bold=bold, size=v[0] if v else 0.0)

    def place(self, v: list[float], _operands: list[bytes]) -> None:
        self.line = self.text = _affine(v)

    def go(self, v: list[float], _operands: list[bytes]) -> None:
        self.line = self.text = Affine(e=v[0], f=v[1]).compose(self.line)

    def go_leading(self, v: list[float], operands: list[bytes]) -> None:
        self.state = self.state._replace(leading=-v[1])
        self.go(v, operands)

    def next_line(self, _v: list[float], operands: list[bytes]) -> None:
        self.go([0.0, -self.state.leading], operands)

    def next_shown(self, v: list[float], operands: list[bytes]) -> None:
        if len(v) == 2:
            self.state = self.state._replace(words=v[0], between=v[1])
        self.next_line(v, operands)
        self.show(v, operands)

    def show(self, _v: list[float], operands: list[bytes]) -> None:
        """Show a text, letter by letter; numbers within an array move on by thousandths of the em."""
        state = self.state
        if state.font is None or not operands:
            return
        modes = {0: state.fill, 4: state.fill, 3: "invisible", 7: "invisible"}
        ink = self.veil() or modes.get(int(state.mode), "outlined")
        size, stretch, between, words = state.size, state.stretch / 100, state.between, state.words
        a, b, c, d, e, f = self.text.compose(state.ctm)
        look = (size * stretch * a, size * stretch * b, size * c, size * d, float(state.bold))
        e, f = c * state.rise + e, d * state.rise + f
        used, points, shown = 0.0, list[Point](), ""
        for piece in _PIECE.finditer(operands[-1]):
            if piece[1]:
                used -= float(piece[1]) / 1000 * size * stretch
                continue
            for letter, advance, blank in state.font(_codes(piece[0])):
                if not letter.isspace():
                    points.append((a * used + e, b * used + f))
                    shown += letter
                used += (advance * size + between + (words if blank else 0.0)) * stretch
        self.text = Affine(e=used).compose(self.text)
        if shown:
            x0, y0, x1, y1 = bounds(points)
            clip = state.clip
            word = Mark(LETTER + shown, tuple(points), look, ink)
            whole = clip[0] <= x0 and clip[1] <= y0 and x1 <= clip[2] and y1 <= clip[3]
            for mark in (word,) if whole else word.letters():
                self.add(mark)


_UNIT: Box = (0.0, 0.0, 1.0, 1.0)
_PATH = frozenset((b"m", b"l", b"c", b"v", b"y", b"re"))
_TEXT: dict[bytes, Callable[[_Run, list[float], list[bytes]], None]] = {
    b"BT": _Run.begin, b"ET": lambda *_: None, b"Tf": _Run.choose, b"Tm": _Run.place, b"Td": _Run.go,
    b"TD": _Run.go_leading, b"T*": _Run.next_line, b"Tj": _Run.show, b"TJ": _Run.show, b"'": _Run.next_shown,
    b'"': _Run.next_shown,
}  # fmt: skip


def _affine(v: list[float]) -> Affine:
    return Affine(v[0], v[1], v[2], v[3], v[4], v[5])


def _ink(v: list[float]) -> str:
    """Return a colour in a word, nothing for black: one number is grey, three are red, green, blue, four ink parts."""
    if len(v) == 4:
        v = [1 - min(1.0, part + v[3]) for part in v[:3]]
    if all(part < 0.02 for part in v):
        return ""
    return "white" if all(part > 0.98 for part in v) else "coloured" if len(set(v)) > 1 else "grey"


_ESCAPES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|.)", re.DOTALL)


def _codes(token: bytes) -> bytes:
    """Return the bytes of a string operand. Source: ISO 32000-1:2008, 7.3.4."""
    if token[:1] == b"<":
        digits = b"".join(token[1:-1].split())
        return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))

    def plain(match: re.Match[bytes]) -> bytes:
        what = match[1]
        if what[:1].isdigit():
            return bytes([int(what, 8) & 255])
        return b"" if what in (b"\n", b"\r", b"\r\n") else _ESCAPES.get(what, what)

    return _ESCAPE.sub(plain, token[1:-1]) if b"\\" in token else token[1:-1]
