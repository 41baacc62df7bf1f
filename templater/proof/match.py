"""What a page must show against what it shows, mark by mark and both ways; the map that it was put through."""

import math
from array import array
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import chain, islice, pairwise
from typing import NamedTuple

from templater.plane.shapes import Affine, Cells, Point, area
from templater.proof.marks import CURVE, LINE, Look, Mark, fit_circle, mean

#: Greatest deviation that passes, mm.
LIMIT = 0.02
#: How far from its place a mark is still taken for the one that is meant, mm.
REACH = 3.0
#: Share of the marks that must agree with a map, and strokes that are enough for one.
_ENOUGH, _STROKES = 0.5, 8
#: A map that leaves less than this of an area is none: all strokes lie in one place, or along one line.
_FLAT = 1e-6
#: So near a circle all points of a curve make one that is as near in place and size, mm.
_ROUND = 1e-4
#: Marks that are looked over for the next one, where something was left out or put in.
_AHEAD = 3


class Pair(NamedTuple):
    """A wanted mark and the mark found for it."""

    wanted: Mark
    found: Mark
    off: float  # how far it is off its place, mm
    alike: bool  # it looks as it should


class Matched:
    """What matching gives: what is wrong, missing, or too much; of what is right only how much there is."""

    def __init__(self) -> None:
        self.wrong: list[Pair] = []
        self.missing: list[Mark] = []
        self.extra: list[Mark] = []
        self.worst: Pair | None = None
        #: How many are wanted, words as one each; how many letters; how many pairs are not off their place.
        self.wanted = self.words = self.letters = self.stayed = 0
        self.strokes = array("d")  # middles of straight strokes, wanted and found, one after the other

    def take(self, wanted: Mark, found: Mark, off: float, *, alike: bool) -> None:
        """Take in a pair."""
        if off <= LIMIT:
            self.stayed += 1
        if off > LIMIT or not alike:
            self.wrong.append(Pair(wanted, found, off, alike))
        if self.worst is None or off > self.worst.off:
            self.worst = Pair(wanted, found, off, alike)
        if wanted.kind == LINE:
            ((a, b), (c, d)), ((p, q), (r, s)) = wanted.points, found.points
            self.strokes.extend(((a + c) / 2, (b + d) / 2, (p + r) / 2, (q + s) / 2))

    @property
    def clean(self) -> bool:
        """True if everything is where it should be and nothing else is there."""
        return not (self.wrong or self.missing or self.extra)


def match(wanted: Iterable[Mark], found: Iterable[Mark]) -> Matched:
    """Match marks as they come, mostly in the same order; the others letter by letter, then the nearest of a kind.

    Raises ValueError if one that is found stands nowhere: at no number, or one without end.
    """
    matched, waiting, free = Matched(), list[Mark](), list[Mark]()
    coming = iter(found)
    ahead = list(islice(coming, _AHEAD))
    for mark in wanted:
        matched.wanted += 1
        if words := mark.words:
            matched.words += 1
            matched.letters += len(words)
        for number, other in enumerate(ahead):
            if other.kind == mark.kind and (off := deviation(mark, other)) <= LIMIT and _alike(mark, other):
                matched.take(mark, other, off, alike=True)
                free += ahead[:number]
                del ahead[: number + 1]
                ahead += islice(coming, number + 1)
                break
        else:
            waiting.append(mark)
    free += chain(ahead, coming)
    if not math.isfinite(sum(sum(map(sum, mark.points)) for mark in free)):
        raise ValueError("it has marks that stand nowhere")
    for reach, whole in ((LIMIT, True), (LIMIT, False), (REACH, False)):
        if not whole:
            waiting, free = ([one for mark in marks for one in mark.letters()] for marks in (waiting, free))
        waiting, free = _nearest(waiting, free, reach, matched)
    matched.missing, matched.extra = waiting, free
    return matched


def _nearest(wanted: list[Mark], found: list[Mark], reach: float, matched: Matched) -> tuple[list[Mark], list[Mark]]:
    """Match each mark with the nearest of its kind; if the limit is the reach, one that looks as it should.

    Return the rest of both.
    """
    left, cells, waiting = dict(enumerate(found)), dict[str, Cells[int]](), list[Mark]()
    for number, mark in left.items() if wanted else ():
        cells.setdefault(mark.kind, Cells(REACH)).add(_anchor(mark), number)
    for mark in wanted:
        best, least = -1, math.inf
        near = cells[mark.kind].near(_anchor(mark), max(reach, 4 * LIMIT)) if mark.kind in cells else ()
        for _, number in near:
            if number in left:
                off = deviation(mark, left[number])
                if off < least and off <= reach and (reach > LIMIT or _alike(mark, left[number])):
                    best, least = number, off
        if best < 0:
            waiting.append(mark)
        else:
            other = left.pop(best)
            matched.take(mark, other, least, alike=_alike(mark, other))
    return waiting, [*left.values()]


def _anchor(mark: Mark) -> Point:
    """Return a point of a mark that does not hang on which way it is drawn, or of how many pieces."""
    whole = mark.kind != CURVE or mark.closed
    return mark.middle if whole else mean((mark.points[0], mark.points[-1]))


def _alike(wanted: Mark, found: Mark) -> bool:
    """True if a mark is black and has the width, pattern or type that it should have."""
    return not found.ink and _look_alike(wanted.look, found.look, bool(wanted.words))


@lru_cache(1000)
def _look_alike(a: Look, b: Look, words: bool) -> bool:
    if a == b or len(a) != len(b):
        return a == b
    offs = [abs(p - q) for p, q in zip(a, b, strict=True)]
    if not words and (length := sum(a[3:])):  # a pattern that starts a whole length later is the same
        offs[2] = min(offs[2] % length, -offs[2] % length)
    return all(off <= LIMIT for off in offs)  # none is no number


def deviation(wanted: Mark, found: Mark) -> float:
    """Return how far a mark of the same kind is off its place at most, mm."""
    a, b = wanted.points, found.points
    if wanted.kind == LINE:
        there = max(math.dist(a[0], b[0]), math.dist(a[1], b[1]))
        return there if there <= LIMIT or len(wanted.look) > 2 else _ends_off(a, b)  # a pattern has a direction
    if wanted.words:
        return max(map(math.dist, a, b))
    if wanted.closed != found.closed:
        return math.inf
    if wanted.circle is not None:
        return _off_circle(wanted, *wanted.circle, found)
    if (count := len(a)) != len(b):
        return math.inf
    # One closed outline is off another at its points, from wherever and whichever way it is drawn.
    start = min(range(count), key=lambda k: math.dist(a[0], b[k]))
    return min(max(math.dist(a[k], b[(start + way * k) % count]) for k in range(count)) for way in (1, -1))


def _ends_off(a: tuple[Point, ...], b: tuple[Point, ...]) -> float:
    """Return how far the ends of a piece are off those of another, whichever way they are drawn."""
    return min(max(math.dist(a[0], p), math.dist(a[-1], q)) for p, q in ((b[0], b[-1]), (b[-1], b[0])))


def _off_circle(wanted: Mark, centre: Point, radius: float, found: Mark) -> float:
    """Return how far a curve is off a circle in place, size and roundness, or off a part of it in its ends as well."""
    points = found.points
    unround = max(abs(math.dist(centre, point) - radius) for point in points)
    if not wanted.closed:
        # The other way round the circle has the same ends.
        due, length = (sum(math.dist(p, q) for p, q in pairwise(mark.points)) for mark in (wanted, found))
        return max(unround, _ends_off(wanted.points, points)) if abs(due - length) <= LIMIT + 0.05 * due else math.inf
    if abs(area(points)) < radius**2:  # forth and back along a part of the circle
        return math.inf
    if unround < _ROUND:
        return unround
    middle, diameter, _ = fit_circle(points)
    return max(unround, math.dist(middle, centre), abs(diameter - 2 * radius))


class PageMap:
    """How a page as laid out came to lie on the page as found."""

    def __init__(self, affine: Affine) -> None:
        """Take what an affine map does apart."""
        a, b, c, d, _, _ = affine
        self.affine, area = affine, a * d - b * c
        #: What lengths across the page as laid out were multiplied by, and along it.
        self.across, self.along = math.hypot(a, b), math.hypot(c, d)
        self.turn = math.degrees(math.atan2(b, a))  # anticlockwise, -180 to 180
        #: How far the angle between across and along is off a right angle, degrees; whether left and right changed.
        self.shear, self.mirrored = math.degrees(math.atan2(abs(a * c + b * d), abs(area))), area < 0
        self.flat = abs(area) < _FLAT

    def rigid(self) -> Affine:
        """Return the nearest turn and shift, through the same centre of the page's points."""
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        if abs(self.turn - 90 * round(self.turn / 90)) < 1e-3:
            cos, sin = round(cos), round(sin)
        return Affine(cos, sin, -sin, cos, self.affine.e, self.affine.f)


def find_map(wanted: Sequence[Mark], found: Sequence[Mark]) -> PageMap | None:
    """Return the map that most marks agree with; None if fewer than half do, or three."""
    kept = pairs = _pairs(*([m for m in marks if m.kind in (LINE, CURVE) or m.words] for marks in (wanted, found)))
    for _ in range(13):
        if (affine := least_squares(chain.from_iterable(kept))) is None:
            return None
        fit = PageMap(affine)
        offs = [math.dist(affine.apply((x, y)), (u, v)) for x, y, u, v in pairs]
        near, reach = sum(off < 0.5 for off in offs), max(0.01, 2 * sorted(offs)[len(offs) // 2])
        kept = [pair for pair, off in zip(pairs, offs, strict=True) if off <= reach]
    return None if fit.flat or near < max(3.0, _ENOUGH * len(pairs)) else fit


def _pairs(wanted: Sequence[Mark], found: Sequence[Mark]) -> list[tuple[float, float, float, float]]:
    """Return middles of marks that may be the same, for they come in the same order among others of their kinds.

    Strokes if there are enough: letters may be set otherwise, which is to be told and not to bend the map.
    """
    from difflib import SequenceMatcher  # seldom needed, and slow to load

    ours, theirs = [m.kind for m in wanted], [m.kind for m in found]
    same = SequenceMatcher(None, ours, theirs, autojunk=False)
    blocks = [(0, 0, len(ours))] if ours == theirs else same.get_matching_blocks()
    pairs = [(wanted[i + n], found[j + n]) for i, j, length in blocks for n in range(length)]
    strokes = [pair for pair in pairs if not pair[0].words]
    return [(*a.middle, *b.middle) for a, b in (strokes if len(strokes) >= _STROKES else pairs)]


def least_squares(numbers: Iterable[float]) -> Affine | None:
    """Return the affine map of least squares, of pairs of points: x, y and where they came to lie, x, y, in turn.

    None if the points lie on one line, or are fewer than three. In complex numbers, both ends of each pair from their
    means, the map is w = p z + q conj(z): two normal equations.
    """
    ends = [(complex(x, y), complex(u, v)) for x, y, u, v in zip(*[iter(numbers)] * 4, strict=True)]
    if len(ends) < 3:
        return None
    z0, w0 = (sum(some) / len(ends) for some in zip(*ends, strict=True))
    ends = [(z - z0, w - w0) for z, w in ends]
    s, t = sum(abs(z) ** 2 for z, _ in ends), sum(z * z for z, _ in ends)
    u, v = sum(w * z.conjugate() for z, w in ends), sum(w * z for z, w in ends)
    det = s * s - abs(t) ** 2
    if det <= 1e-9 * max(4.0, s * s):
        return None
    p, q = (u * s - v * t.conjugate()) / det, (v * s - u * t) / det
    x, y, at = p + q, 1j * (p - q), w0 - p * z0 - q * z0.conjugate()
    return Affine(x.real, x.imag, y.real, y.imag, at.real, at.imag)
