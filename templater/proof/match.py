"""What a page must show against what it shows, mark by mark and both ways; the map that it was put through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from difflib import SequenceMatcher
from itertools import pairwise
from typing import NamedTuple

from templater.plane.shapes import Affine, Cells, Point
from templater.proof.marks import CURVE, LINE, Mark, fit_circle, mean

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
        whole = (waiting, free)
        more, waiting, free = _exact(*([one for mark in marks for one in mark.letters()] for marks in whole))
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
    a, b = wanted.look, found.look
    if found.ink or len(a) != len(b):
        return False
    if a == b:
        return True
    offs = [abs(p - q) for p, q in zip(a, b, strict=True)]
    if len(a) > 3 and not wanted.words:  # a pattern that starts a whole length later is the same
        offs[2] = min(offs[2] % sum(a[3:]), -offs[2] % sum(a[3:]))
    return max(offs, default=0.0) <= LIMIT


def deviation(wanted: Mark, found: Mark) -> float:
    """Return how far a mark of the same kind is off its place at most, mm."""
    a, b = wanted.points, found.points
    if wanted.kind == LINE:
        there = max(math.dist(a[0], b[0]), math.dist(a[1], b[1]))
        if there <= LIMIT or len(wanted.look) > 2:  # a pattern has a direction
            return there
        return min(there, _ends_off(a, b))
    if wanted.circle is not None:
        return _off_circle(wanted, *wanted.circle, found) if wanted.closed == found.closed else math.inf
    if wanted.words:
        return max(map(math.dist, a, b))
    count = len(a)
    if count != len(b) or wanted.closed != found.closed:
        return math.inf
    # One closed outline is off another at its points, from wherever and whichever way it is drawn.
    start = min(range(count), key=lambda k: math.dist(a[0], b[k]))
    return min(max(math.dist(a[k], b[(start + way * k) % count]) for k in range(count)) for way in (1, -1))


def _ends_off(a: tuple[Point, ...], b: tuple[Point, ...]) -> float:
    """Return how far the ends of a piece are off those of another, whichever way they are drawn."""
    return min(max(math.dist(a[0], b[0]), math.dist(a[-1], b[-1])), max(math.dist(a[0], b[-1]), math.dist(a[-1], b[0])))


def _off_circle(wanted: Mark, centre: Point, radius: float, found: Mark) -> float:
    """Return how far a curve is off a circle in place, size and roundness, or off a part of it in its ends as well."""
    points = found.points
    unround = max(abs(math.dist(centre, point) - radius) for point in points)
    if wanted.closed:
        middle, diameter, _ = fit_circle(points)
        return max(unround, math.dist(middle, centre), abs(diameter - 2 * radius))
    # The other way round the circle has the same ends.
    due, length = (sum(math.dist(p, q) for p, q in pairwise(mark.points)) for mark in (wanted, found))
    return max(unround, _ends_off(wanted.points, points)) if abs(due - length) <= LIMIT + 0.05 * due else math.inf


class PageMap(NamedTuple):
    """How a page as laid out came to lie on the page as found."""

    affine: Affine
    across: float  # what lengths across the page as laid out were multiplied by, and along it
    along: float
    turn: float  # anticlockwise, degrees, -180 to 180
    shear: float  # how far the angle between across and along is off a right angle, degrees
    mirrored: bool  # left and right are exchanged

    @classmethod
    def of(cls, affine: Affine) -> PageMap:
        """Return what an affine map does."""
        a, b, c, d, _, _ = affine
        area = a * d - b * c
        turn, shear = (math.degrees(math.atan2(*ways)) for ways in ((b, a), (abs(a * c + b * d), abs(area))))
        return cls(affine, math.hypot(a, b), math.hypot(c, d), turn, shear, area < 0)

    def rigid(self) -> Affine:
        """Return the nearest turn and shift, through the same centre of the page's points."""
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        if abs(self.turn - 90 * round(self.turn / 90)) < 1e-3:
            cos, sin = round(cos), round(sin)
        return Affine(cos, sin, -sin, cos, self.affine.e, self.affine.f)


def find_map(wanted: Sequence[Mark], found: Sequence[Mark]) -> PageMap | None:
    """Return the map that most marks agree with; None if fewer than half do, or three."""
    kept = pairs = _pairs(*([m for m in marks if m.kind in (LINE, CURVE) or m.words] for marks in (wanted, found)))
    affine = least_squares(pairs)
    for _ in range(12):
        if affine is None:
            return None
        offs = [math.dist(affine.apply(p), q) for p, q in pairs]
        reach = max(0.01, 2 * sorted(offs)[len(offs) // 2])
        kept = [pair for pair, off in zip(pairs, offs, strict=True) if off <= reach]
        affine = least_squares(kept)
    near = affine is not None and sum(math.dist(affine.apply(p), q) < 0.5 for p, q in kept)
    return PageMap.of(affine) if affine is not None and near >= max(3.0, _ENOUGH * len(pairs)) else None


def _pairs(wanted: Sequence[Mark], found: Sequence[Mark]) -> list[tuple[Point, Point]]:
    """Return points of marks that may be the same, for they come in the same order among others of their kinds.

    Strokes if there are enough: letters may be set otherwise, which is to be told and not to bend the map.
    """
    ours, theirs = [m.kind for m in wanted], [m.kind for m in found]
    same = SequenceMatcher(None, ours, theirs, autojunk=False)
    blocks = [(0, 0, len(ours))] if ours == theirs else same.get_matching_blocks()
    pairs = [(wanted[i + n], found[j + n]) for i, j, length in blocks for n in range(length)]
    strokes = [pair for pair in pairs if not pair[0].words]
    return [(a.middle, b.middle) for a, b in (strokes if len(strokes) >= _STROKES else pairs)]


def least_squares(pairs: Sequence[tuple[Point, Point]]) -> Affine | None:
    """Return the affine map of least squares; None if the points lie on one line, or are fewer than three."""
    if len(pairs) < 3:
        return None
    columns = [(*p, *q) for p, q in pairs]
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
