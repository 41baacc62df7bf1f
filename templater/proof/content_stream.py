"""PDF content streams to marks in mm: a small interpreter of its own.

Operators after ISO 32000-1:2008: 8.4.4 (state), 8.5 (paths, clipping), 8.6.8 (colour), 8.10 (forms), 8.11 (layers), 9.3
and 9.4 (text). Linear in the stream's size; one regular expression takes a whole operation at a time.
"""

import re
from collections.abc import Callable
from copy import copy
from functools import lru_cache
from operator import methodcaller
from typing import Any

from pypdf.generic import ArrayObject, DictionaryObject, NullObject, StreamObject

from templater.plane.shapes import IDENTITY, Affine, Box, around, box_corners
from templater.proof.marks import BLOT, LETTER, OVER, Mark, Path, pen

_SPACE = rb"[\x00\t\n\f\r ]"
_NUMBER = rb"[-+]?(?:\d++\.?+\d*+|\.\d++)"
_STRING = rb"\((?>[^()\\]|\\.|\((?>[^()\\]|\\.|\((?>[^()\\]|\\.)*\))*\))*\)"
_HEX = rb"<[0-9A-Fa-f\s]*>"
_REGULAR = rb"[^\x00\t\n\f\r ()<>\[\]{}/%]"
_NAME = rb"/" + _REGULAR + rb"*"
#: Groups: up to six numbers and the operator after them; a picture in the stream; another operand, a lone number among
#: them; what cannot be read, which for a string without end is the whole rest. Bounds and possessive repeats keep it
#: linear for hostile streams too.
_OPERATION = re.compile(
    rb"(BI(?=[\s/]).{0,300}?\sID\s.{0,65535}?\sEI(?=\s|$))"
    rb"|((?>(?:" + _NUMBER + _SPACE + rb"+){0,6}))([A-Za-z'\"]" + _REGULAR + rb"*)"
    rb"|(" + _STRING + rb"|" + _HEX + rb"|" + _NAME
    + rb"|\[(?>[^\[\]()<>]|" + _STRING + rb"|" + _HEX + rb")*\]|<<(?>[^<>()]|" + _STRING + rb"|" + _HEX + rb")*>>"
    rb"|" + _NUMBER + rb")"
    rb"|%[^\r\n]*"
    rb"|(\(.*|[^\x00\t\n\f\r ])",
    re.DOTALL,
)  # fmt: skip
_GROUPS = methodcaller("groups", b"")
_PIECE = re.compile(_STRING + rb"|" + _HEX + rb"|(" + _NUMBER + rb")", re.DOTALL)
#: Ways in which text may be packed. Source: ISO 32000-1:2008, table 6, without those for pictures and ciphers.
_FILTERS = ("/FlateDecode", "/LZWDecode", "/ASCII85Decode", "/ASCIIHexDecode", "/RunLengthDecode")
#: Most of each that a file may have, so that a hostile one ends.
DEEPEST, MOST_FORMS = 8, 10_000
#: A font's letters: codes shown to letters with their advance, in parts of the em, and whether they are blanks.
Font = Callable[[bytes], list[tuple[str, float, bool]]]


class State:
    """The graphics state as far as it is looked at; ``clip`` is in mm, ``veil`` why nothing shows as it is."""

    def __init__(self, ctm: Affine, clip: Box, veil: str = "") -> None:
        self.ctm, self.clip, self.veil = ctm, clip, veil
        self.width, self.cap, self.phase = 1.0, 0.0, 0.0
        self.dashes: tuple[float, ...] = ()
        self.stroke = self.fill = ""
        self.font: Font | None = None
        self.bold = False
        self.size = self.between = self.words = self.leading = self.rise = self.mode = 0.0
        self.stretch = 100.0


class ContentStream:
    """A page's content stream, or a form's within it, being read: collects ``marks`` and what is ``unread``."""

    def __init__(self, state: State, resources: Any, letters: Callable[[Any], Font], left: dict[str, float]) -> None:
        """Take the state at first, what the stream names, what makes letters of a font, and what the file may have.

        ``left`` is how many bytes and forms that is, less what was read.
        """
        self.marks: list[Mark] = []
        self.unread: dict[str, None] = {}
        self._letters, self._left, self._depth = letters, left, 0
        self._begin(state, resources)

    def _begin(self, state: State, resources: Any) -> None:
        self._state, self._resources = state, resources
        self._outer = state.veil  # the veil that lies over the whole stream
        self._fonts: dict[bytes, tuple[Font, bool]] = {}  # by name, and whether it is bold
        self._stack: list[State] = []
        self._path = Path()
        self._clipping = False
        self._layers: list[bool] = []
        self._line, self._used = IDENTITY, 0.0  # how much of the line of text is written

    def read(self, data: bytes) -> None:
        """Go through the stream.

        Raises ValueError for more bytes, forms or nesting than the drawing needs; nothing more is read then.
        """
        operands: list[bytes] = []
        self._spend("bytes", len(data))
        for picture, numbers, operator, operand, bad in map(_GROUPS, _OPERATION.finditer(data)):
            if operator == b"BI":  # what comes after it is nobody's guess, and every further one would be looked for
                self.unread["content stream has a picture without an end"] = None
                break
            if operator and operator not in _CONSTANTS:
                self._carry_out(operator, list(map(float, numbers.split())), operands)
                if operands:
                    operands = []
            elif operand or operator:
                operands.append(operand or operator)
            elif picture:
                self._blot("picture", _UNIT, self._state.ctm)
            elif bad:
                self.unread[f"content stream has a stray {bad[:20].decode('latin-1')!r}"] = None

    def _spend(self, what: str, count: int) -> None:
        self._left[what] -= count
        if self._depth > DEEPEST:
            raise ValueError(f"forms are nested more than {DEEPEST} deep")
        if self._left[what] < 0:
            raise ValueError(f"it has more {what} than its drawing can need")

    def _carry_out(self, operator: bytes, v: list[float], operands: list[bytes]) -> None:
        state, count = self._state, _COUNTS.get(operator)
        if count is not None and (operands or len(v) != count):
            self.unread[f"operator {operator.decode('latin-1')} has the wrong number of operands"] = None
        elif operator in _STEPS:
            a, b, c, d, e, f = state.ctm
            points = [(a * x + c * y + e, b * x + d * y + f) for x, y in zip(v[::2], v[1::2], strict=True)]
            self._path.add(operator, points)
        elif operator in _PAINTS:
            self._paint(*_PAINTS[operator])
        elif operator in _SETS:
            setattr(state, _SETS[operator], v[0])
        elif operator in _INKS:
            setattr(state, _INKS[operator], "in a pattern" if operands else _ink(v))
        elif operator not in _NOTHING:
            self._do(operator, v, operands)

    def _do(self, operator: bytes, v: list[float], operands: list[bytes]) -> None:
        state = self._state
        match operator:
            case b"re":
                x, y, w, h = v
                self._path.outline(state.ctm.over(box_corners((x, y, x + w, y + h))))
            case b"d":
                state.dashes = tuple(map(float, operands[0].strip(b"[]").split())) if operands else ()
                state.phase = v[0] if v else 0.0
            case b"BT":
                self._start(IDENTITY)
            case b"Tm":
                self._start(Affine(*v))
            case b"Tf":
                state.font, state.bold = self._font(operands[-1] if operands else b"/")
                state.size = v[0] if v else 0.0
            case b"Tj" | b"TJ" if operands and (operands[-1][:1] == b"[") is (operator == b"TJ"):
                self._show(operands)
            case b"Td" | b"TD" | b"T*" | b"'" | b'"':
                if operator == b"TD":
                    state.leading = -v[1]
                elif operator == b'"':  # numbers before a string are operands as it is
                    state.words, state.between = map(float, operands[:-1])
                x, y = v if operator[1:].lower() == b"d" else (0.0, -state.leading)
                self._start(Affine(e=x, f=y).compose(self._line))
                if operator in (b"'", b'"'):
                    self._show(operands)
            case b"q":
                self._stack.append(copy(state))
            case b"Q" if self._stack:
                self._state = self._stack.pop()
            case b"Q":
                self.unread["content stream restores a state that it never saved"] = None
            case b"cm":
                state.ctm = Affine(*v).compose(state.ctm)
            case b"W" | b"W*":
                self._clipping = True
            case b"gs":
                state.veil = self._veil_of(self._named("/ExtGState", operands))
            case b"BDC" | b"BMC":
                self._layers.append(operands[:1] == [b"/OC"])
            case b"EMC":
                del self._layers[-1:]
            case b"sh":
                self._blot("shading", state.clip, IDENTITY)
            case b"Do":
                self._draw(self._named("/XObject", operands))
            case _:
                self.unread[f"content stream has an unknown operator {operator.decode('latin-1')!r}"] = None

    def _veil(self) -> str:
        """Return why what is painted now does not show as it is."""
        return "in a layer" if True in self._layers else self._state.veil

    def _add(self, mark: Mark) -> None:
        """Take a mark in, unless nothing of it lies on the page; say so if a clip cuts it."""
        left, low, right, high = self._state.clip
        for x, y in mark.points:
            if not (left - OVER <= x <= right + OVER and low - OVER <= y <= high + OVER):
                break
        else:
            self.marks.append(mark)
            return
        x0, y0, x1, y1 = around(mark.points)
        if len(letters := mark.letters()) > 1:
            for letter in letters:
                self._add(letter)
        elif max(x0, left) <= min(x1, right) and max(y0, low) <= min(y1, high):
            self.marks.append(mark._replace(ink="clipped"))

    def _paint(self, close: bool, fill: bool, stroke: bool) -> None:
        """Paint the path and let it go; clip with it, if that was asked for."""
        path, state = self._path, self._state
        if close:
            path.close()
        if fill:
            for mark in path.areas(self._veil() or state.fill):
                if mark.ink != "white" or self.marks:  # white below everything covers nothing
                    self._add(mark)
        if stroke:
            look = pen(state.ctm, state.width, state.cap, state.phase, state.dashes)
            for mark in path.strokes(look, self._veil() or state.stroke):
                self._add(mark)
        if self._clipping:
            state.clip = _meet(state.clip, path.box())
            self._clipping = False
        self._path = Path()

    def _named(self, kind: str, operands: list[bytes]) -> Any:
        return entry(entry(self._resources, kind), operands[-1].decode("latin-1") if operands else "/")

    def _veil_of(self, found: Any) -> str:
        """Return why what is painted with a graphics state of the resources does not show as it is."""
        if found is None or {"/LW", "/LC", "/D", "/Font"} & set(found):
            return "in a state that cannot be told"
        plain = {"/CA": (1,), "/ca": (1,), "/SMask": ("/None",), "/BM": ("/Normal", "/Compatible")}
        said = {key: found[key] for key in plain if key in found}
        if any(value not in plain[key] for key, value in said.items()):
            return "transparent"
        return self._outer if said else self._state.veil

    def _draw(self, found: Any) -> None:
        if not isinstance(found, StreamObject) or found.get("/Subtype") != "/Form":
            self._blot("picture", _UNIT, self._state.ctm)
            return
        inner = copy(self._state)
        inner.ctm = Affine(*map(float, found.get("/Matrix", (1, 0, 0, 1, 0, 0)))).compose(inner.ctm)
        if len(box := [float(value) for value in found.get("/BBox", ())]) == 4:
            corners = box_corners((box[0], box[1], box[2], box[3]))
            inner.clip = _meet(inner.clip, around(inner.ctm.over(corners)))
        inner.veil = "in a layer" if "/OC" in found else self._veil()
        own = entry(found, "/Resources")
        stream = copy(self)
        stream._depth += 1
        stream._begin(inner, self._resources if own is None else own)
        stream._spend("forms", 1)
        stream.read(of_text(found).get_data())

    def _blot(self, what: str, box: Box, at: Affine) -> None:
        self.marks.append(Mark(BLOT, tuple(at.over(box_corners(box))), what=what))

    def _font(self, name: bytes) -> tuple[Font, bool]:
        if name not in self._fonts:
            font = self._named("/Font", [name])
            self._fonts[name] = self._letters(font), "Bold" in str(entry(font, "/BaseFont"))
        return self._fonts[name]

    def _start(self, line: Affine) -> None:
        self._line, self._used = line, 0.0

    def _show(self, operands: list[bytes]) -> None:
        state, font = self._state, self._state.font
        if font is None or not operands:
            return
        ink = state.fill if state.mode in (0, 4) else "invisible" if state.mode in (3, 7) else "outlined"
        size, stretch = state.size, state.stretch / 100
        laid = _laid if len(operands[-1]) < 1000 else _laid.__wrapped__  # a hostile one would fill the memory
        shown, places, used = laid(font, operands[-1], size, state.between, state.words, stretch)
        a, b, c, d, e, f = self._line.compose(state.ctm)
        if shown:
            look = (size * stretch * a, size * stretch * b, size * c, size * d, float(state.bold))
            x, y = a * self._used + c * state.rise + e, b * self._used + d * state.rise + f
            points = tuple([(a * u + x, b * u + y) for u in places])
            self._add(Mark(LETTER + shown, points, look, self._veil() or ink))
        self._used += used


@lru_cache(1000)
def _laid(
    font: Font, text: bytes, size: float, between: float, words: float, stretch: float
) -> tuple[str, list[float], float]:
    """Return a text's letters without blanks, how far along the line of writing each stands, and the text's length."""
    used, places, shown = 0.0, list[float](), ""
    for piece in _PIECE.finditer(text):
        if piece[1]:  # within an array, thousandths of the em to go back
            used -= float(piece[1]) / 1000 * size * stretch
            continue
        for letter, advance, blank in font(_codes(piece[0])):
            if not letter.isspace():
                places.append(used)
                shown += letter
            used += (advance * size + between + (words if blank else 0.0)) * stretch
    return shown, places, used


_CONSTANTS = (b"true", b"false", b"null")
#: Operators that go on with a path, and how many numbers each takes.
_STEPS = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"h": 0}
#: Whether an operator closes, fills and strokes the path.
_PAINTS = {
    b"S": (False, False, True), b"s": (True, False, True), b"n": (False, False, False),
    **dict.fromkeys((b"f", b"F", b"f*"), (False, True, False)), **dict.fromkeys((b"B", b"B*"), (False, True, True)),
    **dict.fromkeys((b"b", b"b*"), (True, True, True)),
}  # fmt: skip
#: What an operator with one number sets, and one with a colour.
_SETS = {b"w": "width", b"J": "cap", b"Tc": "between", b"Tw": "words", b"Tz": "stretch", b"TL": "leading",
         b"Ts": "rise", b"Tr": "mode"}  # fmt: skip
_INKS = {**dict.fromkeys(b"g rg k sc scn".split(), "fill"), **dict.fromkeys(b"G RG K SC SCN".split(), "stroke")}
#: What changes nothing that is looked at.
_NOTHING = frozenset(b"ET j M ri i MP DP BX EX d0 d1 CS cs".split())
#: How many numbers and nothing else an operator must have, if that is held.
_COUNTS = {**_STEPS, **dict.fromkeys(_SETS, 1), b"re": 4, b"cm": 6, b"Tm": 6, b"Td": 2, b"TD": 2}
_UNIT: Box = (0.0, 0.0, 1.0, 1.0)


def entry(holder: Any, key: str) -> Any:
    """Return an entry of a PDF's dictionary with references followed; None if there is none."""
    if not isinstance(holder, DictionaryObject):
        return None
    found = holder.get(key)
    found = found.get_object() if found is not None else None
    return None if isinstance(found, NullObject) else found


def of_text(stream: Any) -> Any:
    """Return a stream; raises ValueError where its text stands in another file, or is packed as pictures are.

    The PDF library gives such a stream's own bytes, where viewers show nothing. Source: ISO 32000-1:2008, 7.3.8.2, 7.4.
    """
    packed = entry(stream, "/Filter") or ArrayObject()
    named = [str(one.get_object()) for one in (packed if isinstance(packed, ArrayObject) else [packed])]
    if odd := [name for name in named if name not in _FILTERS]:
        raise ValueError(f"a page's text is packed as {odd[0][:40]}")
    if entry(stream, "/F") is not None:
        raise ValueError("a page's text stands in another file")
    return stream


def _meet(one: Box, other: Box) -> Box:
    """Return what two boxes have in common; where that is nothing, a box that is turned inside out."""
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def _ink(v: list[float]) -> str:
    """Return a colour in a word, nothing for black: one number is grey, three are red, green, blue, four ink parts."""
    if len(v) == 4:
        v = [1 - min(1.0, part + v[3]) for part in v[:3]]
    if all(part < 0.02 for part in v):
        return ""
    return "white" if all(part > 0.98 for part in v) else "coloured" if len(set(v)) > 1 else "grey"


_ESCAPES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\n": b"", b"\r": b"", b"\r\n": b""}
_ESCAPE = re.compile(rb"\\(?:([0-7]{1,3})|(\r\n|.))", re.DOTALL)


def _codes(token: bytes) -> bytes:
    """Return the bytes of a string operand. Source: ISO 32000-1:2008, 7.3.4."""
    if token[:1] == b"<":
        digits = b"".join(token[1:-1].split())
        return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))
    return _ESCAPE.sub(lambda m: bytes([int(m[1], 8) & 255]) if m[1] else _ESCAPES.get(m[2], m[2]), token[1:-1])
