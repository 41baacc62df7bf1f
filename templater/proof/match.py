"""What a page must show against what it shows, mark by mark and both ways; the map that it was put through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from difflib import SequenceMatcher
from itertools import pairwise
from typing import NamedTuple

from templater.plane.shapes import Affine, Cells, Point
from templater.proof.marks import AREA, BLOT, CURVE, LETTER, LINE, Mark, fit_circle, mean

#: Greatest deviation that passes, mm.
LIMIT = 0.02
#: How far from its place a mark is still taken for the one that is meant, mm.
REACH = 3.0
#: Share of the marks that must agree with a map, and strokes that are enough for one.
_ENOUGH, _STROKES = 0.5, 8
#: Marks that are looked over for the next one, where something was left out or put in.
_AHEAD = 3


class Pair(NamedTuple):
    """A wanted mark, the mark found for it, how far that is off its place, mm, and whether it looks as it should."""

    wanted: Mark
    found: Mark
    off: float
    alike: bool


class Matched(NamedTuple):
    """What matching gives: all pairs, those among them that are wrong, what is missing, what is too much."""

    pairs: tuple[Pair, ...]
    wrong: tuple[Pair, ...]
    missing: tuple[Mark, ...]
    extra: tuple[Mark, ...]

    @property
    def clean(self) -> bool:
        """True if everything is where it should be and nothing else is there."""
        return not (self.wrong or self.missing or self.extra)


def match(wanted: Sequence[Mark], found: Sequence[Mark]) -> Matched:
    """Match marks: words whole, then what is left letter by letter, then the nearest of a kind."""
    pairs, waiting, free = _exact(wanted, found)
    if waiting or free:
        more, waiting, free = _exact(_letters(waiting), _letters(free))
        pairs += more
    left = dict(enumerate(free))
    cells = _cells(free) if waiting else {}
    missing = []
    for mark in waiting:
        number, off = _near(mark, left, cells, REACH)
        if number < 0:
            missing.append(mark)
        else:
            pairs.append(Pair(mark, left[number], off, _alike(mark, left.pop(number))))
    wrong = tuple(pair for pair in pairs if pair.off > LIMIT or not pair.alike)
    return Matched(tuple(pairs), wrong, tuple(missing), tuple(left.values()))


def _exact(wanted: Sequence[Mark], found: Sequence[Mark]) -> tuple[list[Pair], list[Mark], list[Mark]]:
    """Pair the marks that are as they should be, mostly in the order of painting; return the rest of both as well."""
    pairs, waiting = list[Pair](), list[Mark]()
    left = dict(enumerate(found))
    at = 0
    cells: dict[str, Cells[int]] | None = None
    for mark in wanted:
        number = -1
        for next_ in range(at, min(at + _AHEAD, len(found))):
            other = found[next_]
            if other.kind == mark.kind and (off := deviation(mark, other)) <= LIMIT and _alike(mark, other):
                number = next_ if next_ in left else -1
                break
        if number < 0:
            cells = _cells(found) if cells is None else cells
            number, off = _near(mark, left, cells, LIMIT)
        if number < 0:
            waiting.append(mark)
        else:
            pairs.append(Pair(mark, left.pop(number), off, alike=True))
            at = number + 1
    return pairs, waiting, list(left.values())


def _letters(marks: Sequence[Mark]) -> list[Mark]:
    return [one for mark in marks for one in mark.letters()]


def _cells(found: Sequence[Mark]) -> dict[str, Cells[int]]:
    cells: dict[str, Cells[int]] = {}
    for number, mark in enumerate(found):
        cells.setdefault(mark.kind, Cells(REACH)).add(_anchor(mark), number)
    return cells


def _near(mark: Mark, left: dict[int, Mark], cells: dict[str, Cells[int]], reach: float) -> tuple[int, float]:
    """Return the nearest mark of a kind within reach; only one that looks as it should if that is the limit."""
    best, least = -1, math.inf
    if mark.kind in cells:
        for _, number in cells[mark.kind].near(_anchor(mark), max(reach, 4 * LIMIT)):
            if number in left:
                off = deviation(mark, left[number])
                if off < least and off <= reach and (reach > LIMIT or _alike(mark, left[number])):
                    best, least = number, off
    return best, least


def _anchor(mark: Mark) -> Point:
    """Return a point of a mark that does not hang on which way it is drawn, or of how many pieces."""
    if mark.kind == LINE or (mark.kind == CURVE and not mark.closed):
        return mean((mark.points[0], mark.points[-1]))
    return mark.middle


def _alike(wanted: Mark, found: Mark) -> bool:
    """True if a mark is black and has the width, pattern or type that it should have."""
    if found.ink or len(wanted.look) != len(found.look):
        return False
    if wanted.look == found.look:
        return True
    if all(abs(a - b) <= LIMIT for a, b in zip(wanted.look, found.look, strict=True)):
        return True
    if len(wanted.look) < 4 or wanted.kind.startswith(LETTER):
        return False
    # A pattern that starts a whole length later is the same.
    a, b = wanted.look, found.look
    phase = abs(a[2] - b[2]) % sum(a[3:])
    rest = all(abs(p - q) <= LIMIT for p, q in zip((*a[:2], *a[3:]), (*b[:2], *b[3:]), strict=True))
    return rest and min(phase, sum(a[3:]) - phase) <= LIMIT


def deviation(wanted: Mark, found: Mark) -> float:
    """Return how far a mark of the same kind is off its place at most, mm."""
    a, b = wanted.points, found.points
    if wanted.kind == LINE:
        there = max(math.dist(a[0], b[0]), math.dist(a[1], b[1]))
        if there <= LIMIT or len(wanted.look) > 2:  # a pattern has a direction
            return there
        return min(there, max(math.dist(a[0], b[1]), math.dist(a[1], b[0])))
    if wanted.circle is not None:
        return _off_circle(wanted, wanted.circle, found)
    if wanted.kind.startswith(LETTER):
        return max(map(math.dist, a, b))
    return _off_outline(a, b) if len(a) == len(b) and wanted.closed == found.closed else math.inf


def _off_circle(wanted: Mark, circle: tuple[Point, float], found: Mark) -> float:
    """Return how far a curve is off a circle in place, size and roundness, or off a part of it in its ends as well."""
    centre, radius = circle
    if wanted.closed != found.closed:
        return math.inf
    points = found.points
    round_ = max(abs(math.dist(centre, point) - radius) for point in points)
    if wanted.closed:
        middle, diameter, _ = fit_circle(points)
        return max(round_, math.dist(middle, centre), abs(diameter - 2 * radius))
    a, b = wanted.points[0], wanted.points[-1]
    ends = min(max(math.dist(a, points[0]), math.dist(b, points[-1])),
               max(math.dist(a, points[-1]), math.dist(b, points[0])))  # fmt: skip
    # The other way round the circle has the same ends.
    same_way = abs(_length(wanted.points) - _length(points)) <= LIMIT + 0.05 * _length(wanted.points)
    return max(round_, ends) if same_way else math.inf


def _length(points: tuple[Point, ...]) -> float:
    return sum(math.dist(p, q) for p, q in pairwise(points))


def _off_outline(a: tuple[Point, ...], b: tuple[Point, ...]) -> float:
    """Return how far one closed outline is off another at its points, from wherever and whichever way it is drawn."""
    count = len(a)
    start = min(range(count), key=lambda k: math.dist(a[0], b[k]))
    return min(max(math.dist(a[k], b[(start + way * k) % count]) for k in range(count)) for way in (1, -1))


class PageMap(NamedTuple):
    """How a page as laid out came to lie on the page as found: X = a x + c y + e, Y = b x + d y + f."""

    affine: Affine

    @property
    def across(self) -> float:
        """What lengths across the page as laid out were multiplied by."""
        return math.hypot(self.affine[0], self.affine[1])

    @property
    def along(self) -> float:
        """What lengths along the page as laid out were multiplied by."""
        return math.hypot(self.affine[2], self.affine[3])

    @property
    def mirrored(self) -> bool:
        """True if left and right are exchanged."""
        a, b, c, d = self.affine[:4]
        return a * d - b * c < 0

    @property
    def turn(self) -> float:
        """How far the page is turned anticlockwise, degrees, -180 to 180."""
        return math.degrees(math.atan2(self.affine[1], self.affine[0]))

    @property
    def shear(self) -> float:
        """How far the angle between across and along is off a right angle, degrees."""
        a, b, c, d = self.affine[:4]
        return math.degrees(math.atan2(abs(a * c + b * d), abs(a * d - b * c)))

    def rigid(self) -> Affine:
        """Return the nearest turn and shift, through the same centre of the page's points."""
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        quarter = round(self.turn / 90)
        if abs(self.turn - 90 * quarter) < 1e-3:
            cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarter % 4]
        return Affine(cos, sin, -sin, cos, self.affine.e, self.affine.f)


def find_map(wanted: Sequence[Mark], found: Sequence[Mark]) -> PageMap | None:
    """Return the map that most marks agree with; None if fewer than half do, or three."""
    pairs = _pairs([m for m in wanted if m.kind not in (AREA, BLOT)], [m for m in found if m.kind not in (AREA, BLOT)])
    affine = least_squares(pairs)
    kept = pairs
    for _ in range(12):
        if affine is None:
            return None
        offs = [math.dist(affine.apply(p), q) for p, q in pairs]
        reach = max(0.01, 2 * sorted(offs)[len(offs) // 2])
        kept = [pair for pair, off in zip(pairs, offs, strict=True) if off <= reach]
        affine = least_squares(kept)
    near = affine is not None and sum(math.dist(affine.apply(p), q) < 0.5 for p, q in kept)
    return PageMap(affine) if affine is not None and near >= max(3.0, _ENOUGH * len(pairs)) else None


def _pairs(wanted: Sequence[Mark], found: Sequence[Mark]) -> list[tuple[Point, Point]]:
    """Return points of marks that may be the same, for they come in the same order among others of their kinds.

    Strokes if there are enough: letters may be set otherwise, which is to be told and not to bend the map.
    """
    ours, theirs = [m.kind for m in wanted], [m.kind for m in found]
    same = SequenceMatcher(None, ours, theirs, autojunk=False)
    blocks = [(0, 0, len(ours))] if ours == theirs else same.get_matching_blocks()
    pairs = [(wanted[i + n], found[j + n]) for i, j, length in blocks for n in range(length)]
    strokes = [pair for pair in pairs if pair[0].kind in (LINE, CURVE)]
    return [(a.middle, b.middle) for a, b in (strokes if len(strokes) >= _STROKES else pairs)]


def least_squares(pairs: Sequence[tuple[Point, Point]]) -> Affine | None:
    """Return the affine map of least squares; None if the points lie on one line, or are fewer than three."""
    if len(pairs) < 3:
        return None
    columns = [(p[0], p[1], q[0], q[1]) for p, q in pairs]
    mx, my, nx, ny = (sum(column) / len(pairs) for column in zip(*columns, strict=True))
    sxx = syy = sxy = txu = tyu = txv = tyv = 0.0
    for x, y, u, v in columns:
        dx, dy, du, dv = x - mx, y - my, u - nx, v - ny
        sxx, syy, sxy = sxx + dx * dx, syy + dy * dy, sxy + dx * dy
        txu, tyu, txv, tyv = txu + dx * du, tyu + dy * du, txv + dx * dv, tyv + dy * dv
    det = sxx * syy - sxy * sxy
    if det <= 1e-9 * max(1.0, sxx * syy):
        return None
    a, c = (txu * syy - tyu * sxy) / det, (tyu * sxx - txu * sxy) / det
    b, d = (txv * syy - tyv * sxy) / det, (tyv * sxx - txv * sxy) / det
    return Affine(a, b, c, d, nx - a * mx - c * my, ny - b * mx - d * my)
