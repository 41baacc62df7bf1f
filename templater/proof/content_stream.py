"""PDF content streams to strokes in mm: a small interpreter of its own.

Operators after ISO 32000-1:2008: 8.4.4 (state), 8.5.2 and 8.5.3 (paths), 8.10 (form XObjects), 9.4 (text). Filled
shapes are no marks. Linear in the stream's size; one regular expression takes a whole operation at a time.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from templater.plane.shapes import Affine, Point
from templater.proof.marks import SAME, Bend, Polygon, Segment

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
_PIECE = re.compile(_STRING + rb"|" + _HEX, re.DOTALL)
_STROKING = {b"S": False, b"s": True, b"B": False, b"B*": False, b"b": True, b"b*": True}
_FORGETTING = {b"n", b"f", b"F", b"f*"}
_SHOWING = {b"Tj", b"TJ", b"'", b'"'}
#: Operators that neither draw strokes nor move them.
_QUIET = frozenset(
    b"w J j M d ri i gs W W* BT ET Tc Tw Tz TL Tr Ts Td TD Tm T* CS cs SC SCN sc scn G g RG rg K k sh "
    b"MP DP BMC BDC EMC BX EX d0 d1".split()
)
_CONSTANTS = (b"true", b"false", b"null")
_ARITY = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"re": 4, b"cm": 6}
#: Deepest nesting of forms that is followed.
_DEEPEST = 12

#: Draws an XObject: (name, map, depth).
FormReader = Callable[[bytes, Affine, int], None]
#: Takes shown text: (font name, codes).
TextReader = Callable[[bytes, bytes], None]


class Strokes:
    """Collects the strokes of a page from its content streams."""

    def __init__(self) -> None:
        self.segments: list[Segment] = []
        self.bends: list[Bend] = []
        self.polygons: list[Polygon] = []
        self.warnings: list[str] = []

    def read(self, data: bytes, ctm: Affine, draw: FormReader, show: TextReader, depth: int = 0) -> None:
        """Read one content stream.

        Args:
            data: decoded stream.
            ctm: user space of the stream to page mm.
            draw: called for every ``Do``.
            show: called for every text shown.
            depth: nesting of forms.
        """
        if depth > _DEEPEST:
            self.warnings.append(f"forms are nested more than {_DEEPEST} deep")
            return
        stack: list[Affine] = []
        operands: list[bytes] = []
        font = b""
        fonts: list[bytes] = []
        path = _Path()
        for numbers, operator, operand, lone, bad in _OPERATION.findall(data):
            if not operator:
                if bad:
                    self.warnings.append(f"content stream has a stray {bad[:20].decode('latin-1')!r}")
                elif operand or lone:
                    operands.append(operand or lone)
                continue
            wanted = _ARITY.get(operator)
            if wanted:
                values = [float(part) for part in numbers.split()]
                if len(values) != wanted or operands:
                    self.warnings.append(f"operator {operator.decode('latin-1')} has the wrong number of operands")
                elif operator == b"cm":
                    ctm = Affine(*values[:6]).compose(ctm)
                else:
                    path.add(operator, values, ctm)
            elif operator in _STROKING:
                if _STROKING[operator]:
                    path.close()
                self._keep(path)
                path = _Path()
            elif operator == b"h":
                path.close()
            elif operator == b"q":
                stack.append(ctm)
                fonts.append(font)
            elif operator == b"Q":
                if stack:
                    ctm, font = stack.pop(), fonts.pop()
                else:
                    self.warnings.append("content stream restores a state that it never saved")
            elif operator in _FORGETTING:
                path = _Path()
            elif operator in _SHOWING:
                for shown in operands:
                    show(font, b"".join(_codes(piece) for piece in _PIECE.findall(shown)))
            elif operator == b"Tf":
                font = operands[-1][1:] if operands else b""
            elif operator == b"Do":
                if operands:
                    draw(operands[-1][1:], ctm, depth + 1)
            elif operator in _CONSTANTS:
                operands.append(operator)
                continue
            elif operator not in _QUIET:
                self.warnings.append(f"content stream has an unknown operator {operator.decode('latin-1')!r}")
            operands.clear()

    def _keep(self, path: _Path) -> None:
        """Sort the painted path's parts into kinds of marks."""
        for part in path.parts:
            points, closed = part.points, part.closed
            if len(points) > 1 and math.dist(points[0], points[-1]) < SAME:
                points, closed = points[:-1], True
            if part.curves and part.bare:
                self.bends.append(Bend(tuple(points), closed))
            elif not part.curves and len(points) == 2:
                self.segments.append(Segment(points[0], points[1]))
            elif not part.curves and closed and len(points) > 2:
                self.polygons.append(Polygon(tuple(points)))


class _Part:
    """A part of a path: points on it, middles of curves included. ``bare`` while no straight side has any length."""

    __slots__ = ("bare", "closed", "curves", "first", "points", "raw")

    def __init__(self, raw: Point, at: Point) -> None:
        self.raw = self.first = raw
        self.points = [at]
        self.curves = 0
        self.bare = True
        self.closed = False


class _Path:
    """A path in the making; ``raw`` of a part is its current point in user space."""

    def __init__(self) -> None:
        self.parts: list[_Part] = []

    def add(self, operator: bytes, v: list[float], ctm: Affine) -> None:
        a, b, c, d, e, f = ctm
        if operator == b"m":
            self.parts.append(_Part((v[0], v[1]), (a * v[0] + c * v[1] + e, b * v[0] + d * v[1] + f)))
            return
        if operator == b"re":
            x, y, w, h = v
            part = _Part((x, y), ctm.apply((x, y)))
            part.points += [ctm.apply(p) for p in ((x + w, y), (x + w, y + h), (x, y + h))]
            part.bare, part.closed = False, True
            self.parts.append(part)
            return
        if not self.parts:
            return
        part = self.parts[-1]
        if part.closed:
            # A new part starts where the closed one did: ISO 32000-1:2008, table 59, operator h.
            part = _Part(part.first, part.points[0])
            self.parts.append(part)
        x0, y0 = part.raw
        if operator == b"l":
            at = (a * v[0] + c * v[1] + e, b * v[0] + d * v[1] + f)
            if part.curves and math.dist(at, part.points[-1]) < SAME:
                return
            part.bare = False
            part.raw = (v[0], v[1])
            part.points.append(at)
            return
        if operator == b"c":
            x1, y1, x2, y2, x3, y3 = v
        elif operator == b"v":
            x1, y1, (x2, y2, x3, y3) = x0, y0, v
        else:
            (x1, y1, x2, y2), x3, y3 = v, v[2], v[3]
        part.curves += 1
        part.raw = (x3, y3)
        # The curve's middle, at half its parameter.
        x, y = (x0 + 3 * (x1 + x2) + x3) / 8, (y0 + 3 * (y1 + y2) + y3) / 8
        part.points.append((a * x + c * y + e, b * x + d * y + f))
        part.points.append((a * x3 + c * y3 + e, b * x3 + d * y3 + f))

    def close(self) -> None:
        if self.parts and not self.parts[-1].closed:
            part = self.parts[-1]
            part.closed = True
            if part.curves and math.dist(part.points[0], part.points[-1]) >= SAME:
                part.bare = False  # closed by a straight side


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
