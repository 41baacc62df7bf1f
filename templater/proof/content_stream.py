"""PDF content streams to marks in mm: a small interpreter of its own.

Operators after ISO 32000-1:2008: 8.4.4 (state), 8.5 (paths, clipping), 8.6.8 (colour), 8.10 (forms), 8.11 (layers), 9.3
and 9.4 (text). Linear in the stream's size; one regular expression takes a whole operation at a time.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Protocol

from templater.plane.shapes import IDENTITY, Affine, Box, Point, around
from templater.proof.marks import AREA, BLOT, LETTER, OVER, Mark, Path

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


class _State:
    """The graphics state as far as it is looked at. ``clip`` is a box in mm."""

    def __init__(self, ctm: Affine, clip: Box, veil: str) -> None:
        self.ctm, self.clip, self.veil = ctm, clip, veil
        self.width, self.cap, self.phase = 1.0, 0.0, 0.0
        self.dashes: tuple[float, ...] = ()
        self.stroke = self.fill = ""
        self.font: Font | None = None
        self.bold = False
        self.size = self.between = self.words = self.leading = self.rise = self.mode = 0.0
        self.stretch = 100.0

    def copy(self) -> _State:
        """Return a state that may be changed by itself."""
        new = _State(self.ctm, self.clip, self.veil)
        new.__dict__.update(self.__dict__)
        return new

    def look(self) -> tuple[float, ...]:
        """Return the look of a stroke."""
        a, b, c, d, _, _ = self.ctm
        mm = math.sqrt(abs(a * d - b * c))
        if not any(self.dashes):
            return self.width * mm, self.cap
        dashes = self.dashes * 2 if len(self.dashes) % 2 else self.dashes
        return self.width * mm, self.cap, self.phase * mm, *(length * mm for length in dashes)


class Interpreter:
    """Collects the marks of a page from its content streams."""

    def __init__(self) -> None:
        self.marks: list[Mark] = []
        self.unread: dict[str, None] = {}
        self._forms = self._operators = 0

    def read(self, data: bytes, ctm: Affine, page: Box, resources: Resources) -> None:
        """Read a page's content stream: ``ctm`` leads from its user space to page mm, ``page`` is what is seen, mm.

        Raises:
            TooMuchError: for more operators, forms or nesting than any drawing needs.
        """
        _Run(self, _State(ctm, page, ""), resources, 0).run(data)

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
        self.outer = state.veil if depth else ""  # the veil that lies over the whole stream
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
            values = list(map(float, numbers.split()))
            wanted, carry_out = _OPERATORS.get(operator, _UNKNOWN)
            if wanted is not None and (len(values) != wanted or operands):
                self.complain(f"operator {operator.decode('latin-1')} has the wrong number of operands")
            elif operator in _PATH:
                self.path.add(operator, values, self.state.ctm)
            elif carry_out is None:
                self.complain(f"content stream has an unknown operator {operator.decode('latin-1')!r}")
            else:
                carry_out(self, values, operands)
            if operands:
                operands = []
        self.page.count(operators=counted)

    def dash(self, v: list[float], operands: list[bytes]) -> None:
        self.state.dashes = tuple(map(float, operands[0].strip(b"[]").split())) if operands else ()
        self.state.phase = v[0] if v else 0.0

    def save(self, _v: list[float], _operands: list[bytes]) -> None:
        self.stack.append(self.state.copy())

    def restore(self, _v: list[float], _operands: list[bytes]) -> None:
        if self.stack:
            self.state = self.stack.pop()
        else:
            self.complain("content stream restores a state that it never saved")

    def map(self, v: list[float], _operands: list[bytes]) -> None:
        self.state.ctm = Affine(*v).compose(self.state.ctm)

    def clip(self, _v: list[float], _operands: list[bytes]) -> None:
        self.clipping = True

    def apply(self, _v: list[float], operands: list[bytes]) -> None:
        """Put a graphics state from the resources in force."""
        veil = self.resources.state(operands[-1][1:] if operands else b"")
        if veil is not None:
            self.state.veil = veil or self.outer

    def mark(self, _v: list[float], operands: list[bytes]) -> None:
        """Begin what is marked, as a layer is."""
        self.layers.append(operands[:1] == [b"/OC"])

    def unmark(self, _v: list[float], _operands: list[bytes]) -> None:
        if self.layers:
            self.layers.pop()

    def veil(self) -> str:
        """Return why what is painted now does not show as it is."""
        return "in a layer" if True in self.layers else self.state.veil

    def add(self, mark: Mark) -> None:
        """Take a mark in, unless nothing of it lies on the page; say so if a clip cuts it."""
        x0, y0, x1, y1 = around(mark.points)
        left, low, right, high = self.state.clip
        if x0 < left - OVER or y0 < low - OVER or x1 > right + OVER or y1 > high + OVER:
            if max(x0, left) > min(x1, right) or max(y0, low) > min(y1, high):
                return
            mark = mark._replace(ink="clipped")
        self.page.marks.append(mark)

    def paint(self, *, close: bool = False, stroke: bool = False, fill: bool = False) -> None:
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
            for mark in path.strokes(state.look(), self.veil() or state.stroke):
                self.add(mark)
        if self.clipping:
            state.clip = _meet(state.clip, path.box())
            self.clipping = False
        self.path = Path()

    def draw(self, _v: list[float], operands: list[bytes]) -> None:
        """Draw an XObject."""
        found = self.resources.form(operands[-1][1:] if operands else b"")
        if isinstance(found, str):
            self.blot(found, _UNIT)
            return
        data, matrix, box, resources, ink = found
        self.page.count(forms=1, depth=self.depth + 1)
        inner = self.state.copy()
        inner.ctm = matrix.compose(inner.ctm)
        if box is not None:
            inner.clip = _meet(inner.clip, around([inner.ctm.apply(p) for p in _corners(box)]))
        inner.veil = ink or self.veil()
        _Run(self.page, inner, resources, self.depth + 1).run(data)

    def blot(self, what: str, box: Box, *, placed: bool = False) -> None:
        """Take in what no drawing of ours has."""
        corners = _corners(box)
        placed_ = corners if placed else tuple(self.state.ctm.apply(p) for p in corners)
        self.page.marks.append(Mark(BLOT, placed_, what=what))

    def begin(self, _v: list[float], _operands: list[bytes]) -> None:
        self.line = self.text = IDENTITY

    def choose(self, v: list[float], operands: list[bytes]) -> None:
        self.state.font, self.state.bold = self.resources.font(operands[-1][1:] if operands else b"")
        self.state.size = v[0] if v else 0.0

    def place(self, v: list[float], _operands: list[bytes]) -> None:
        self.line = self.text = Affine(*v)

    def go(self, v: list[float], _operands: list[bytes]) -> None:
        self.line = self.text = Affine(e=v[0], f=v[1]).compose(self.line)

    def go_leading(self, v: list[float], operands: list[bytes]) -> None:
        self.state.leading = -v[1]
        self.go(v, operands)

    def next_line(self, _v: list[float], operands: list[bytes]) -> None:
        self.go([0.0, -self.state.leading], operands)

    def next_shown(self, v: list[float], operands: list[bytes]) -> None:
        if len(v) == 2:
            self.state.words, self.state.between = v
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
            x0, y0, x1, y1 = around(points)
            clip = state.clip
            word = Mark(LETTER + shown, tuple(points), look, ink)
            whole = clip[0] <= x0 and clip[1] <= y0 and x1 <= clip[2] and y1 <= clip[3]
            for mark in (word,) if whole else word.letters():
                self.add(mark)


#: What carries out an operator: it is given the run, the numbers before the operator, and other operands.
_Does = Callable[[_Run, list[float], list[bytes]], None]


def _paints(**how: bool) -> tuple[None, _Does]:
    return None, lambda run, _v, _operands: run.paint(**how)


def _sets(name: str) -> tuple[int, _Does]:
    return 1, lambda run, v, _operands: setattr(run.state, name, v[0])


def _inks(name: str) -> tuple[None, _Does]:
    return None, lambda run, v, operands: setattr(run.state, name, "in a pattern" if operands else _ink(v))


_CONSTANTS = (b"true", b"false", b"null")
_PATH = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"re": 4}
_UNKNOWN: tuple[int | None, _Does | None] = (None, None)
#: Operator: how many numbers and nothing else it must have, if that is held; what it does.
_OPERATORS: dict[bytes, tuple[int | None, _Does | None]] = {
    **{name: (count, None) for name, count in _PATH.items()},
    b"h": (None, lambda run, _v, _operands: run.path.close()),
    b"S": _paints(stroke=True), b"s": _paints(close=True, stroke=True), b"n": _paints(),
    b"f": _paints(fill=True), b"F": _paints(fill=True), b"f*": _paints(fill=True),
    b"B": _paints(stroke=True, fill=True), b"B*": _paints(stroke=True, fill=True),
    b"b": _paints(close=True, stroke=True, fill=True), b"b*": _paints(close=True, stroke=True, fill=True),
    b"w": _sets("width"), b"J": _sets("cap"), b"Tc": _sets("between"), b"Tw": _sets("words"), b"Tz": _sets("stretch"),
    b"TL": _sets("leading"), b"Ts": _sets("rise"), b"Tr": _sets("mode"),
    **{name: _inks("fill") for name in (b"g", b"rg", b"k", b"sc", b"scn")},
    **{name: _inks("stroke") for name in (b"G", b"RG", b"K", b"SC", b"SCN")},
    b"d": (None, _Run.dash), b"q": (None, _Run.save), b"Q": (None, _Run.restore), b"cm": (6, _Run.map),
    b"W": (None, _Run.clip), b"W*": (None, _Run.clip), b"gs": (None, _Run.apply), b"Do": (None, _Run.draw),
    b"BDC": (None, _Run.mark), b"BMC": (None, _Run.mark), b"EMC": (None, _Run.unmark),
    b"sh": (None, lambda run, _v, _operands: run.blot("shading", run.state.clip, placed=True)),
    b"BT": (None, _Run.begin), b"Tf": (None, _Run.choose), b"Tm": (6, _Run.place), b"Td": (2, _Run.go),
    b"TD": (2, _Run.go_leading), b"T*": (None, _Run.next_line), b"Tj": (None, _Run.show), b"TJ": (None, _Run.show),
    b"'": (None, _Run.next_shown), b'"': (None, _Run.next_shown),
    # What changes nothing that is looked at.
    **dict.fromkeys(b"ET j M ri i MP DP BX EX d0 d1 CS cs".split(), (None, lambda _run, _v, _operands: None)),
}  # fmt: skip
_UNIT: Box = (0.0, 0.0, 1.0, 1.0)


def _meet(one: Box, other: Box) -> Box:
    """Return what two boxes have in common; where that is nothing, a box that is turned inside out."""
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def _corners(box: Box) -> tuple[Point, ...]:
    x0, y0, x1, y1 = box
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


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
