"""The map that another program put a page through: robust matching of points, then least squares."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

from templater.plane.shapes import IDENTITY, Affine, Point
from templater.proof.expect import ExpectedPage, ExpectedSheet
from templater.proof.marks import PageMarks, crossing
from templater.proof.match import Middles

#: Scales that are looked for, and how far across and along may differ.
_SMALLEST, _LARGEST, _UNEVEN = 0.4, 2.5, 0.1
#: How near a point must come to count as matched, mm; wide enough for a slight shear.
_NEAR = 0.8
#: Share of the expected points that ends the search at once, and that is needed at all.
_SURE, _ENOUGH = 0.9, 0.5
#: Quarter turns anticlockwise, then the same of the mirror image.
_TURNS: tuple[Affine, ...] = (
    Affine(1, 0, 0, 1), Affine(0, 1, -1, 0), Affine(-1, 0, 0, -1), Affine(0, -1, 1, 0),
    Affine(-1, 0, 0, 1), Affine(0, -1, -1, 0), Affine(1, 0, 0, -1), Affine(0, 1, 1, 0),
)  # fmt: skip
#: Pairs of expected points that are tried, in case a point of the first is lost.
_PAIRS = 8


@dataclass(frozen=True, slots=True)
class PageMap:
    """How a page as laid out came to lie on the page as found: X = a x + c y + e, Y = b x + d y + f.

    ``matched`` of ``wanted`` points agree with it.
    """

    affine: Affine
    matched: int
    wanted: int

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


def expected_points(sheet: ExpectedSheet, page: ExpectedPage) -> tuple[Point, ...]:
    """Return the points of a page that can be found again: crosses and ends of bars, page mm."""
    points = [page.to_page.apply(hole.at) for hole in sheet.holes if page.shows_whole(hole)]
    points += [page.to_page.apply(mark.at) for mark in sheet.registrations if page.tile in mark.tiles]
    points += [end for bar in page.bars for end in page.bar_ends(bar)]
    return tuple(dict.fromkeys((round(x, 6), round(y, 6)) for x, y in points))


def found_points(marks: PageMarks) -> tuple[Point, ...]:
    """Return the points of a page where a cross or the end of a bar is: an arm's middle on another's middle or end."""
    grid = Middles([segment.middle for segment in marks.segments])
    points: list[Point] = []
    for number, one in enumerate(marks.segments):
        if not 1.0 < one.length < 400.0:
            continue
        for at in (one.middle, one.a, one.b):
            for other in grid.near(at, 0.05)[:12]:
                if other != number and crossing(one, marks.segments[other]) is not None:
                    points.append(at)
                    break
    return tuple(dict.fromkeys((round(x, 2), round(y, 2)) for x, y in points)) and _thin(points)


def _thin(points: list[Point]) -> tuple[Point, ...]:
    """Return the points, those that coincide once."""
    kept: list[Point] = []
    cells: set[tuple[int, int]] = set()
    for x, y in points:
        cell = (round(x / 0.1), round(y / 0.1))
        if not any((cell[0] + i, cell[1] + j) in cells for i in (-1, 0, 1) for j in (-1, 0, 1)):
            cells.add(cell)
            kept.append((x, y))
    return tuple(kept)


def find_map(expected: tuple[Point, ...], found: tuple[Point, ...]) -> PageMap | None:
    """Return the map that takes most expected points to found ones; None if fewer than half, or three, agree."""
    if len(expected) < 3 or len(found) < 3:
        return None
    grid = Middles(found)
    best, score = IDENTITY, _score(IDENTITY, expected, grid)
    if score < _SURE * len(expected):
        best, score = _search(expected, found, grid, best, score)
    if score < max(3.0, _ENOUGH * len(expected)):
        return None
    affine, matched = _refine(best, expected, grid)
    return PageMap(affine, matched, len(expected)) if matched >= max(3.0, _ENOUGH * len(expected)) else None


def _search(
    expected: tuple[Point, ...], found: tuple[Point, ...], grid: Middles, best: Affine, score: int
) -> tuple[Affine, int]:
    """Try every quarter turn, scale and shift that takes a far pair of expected points to a pair found."""
    def spread(pair: tuple[Point, Point]) -> float:
        return min(abs(pair[0][0] - pair[1][0]), abs(pair[0][1] - pair[1][1]))

    pairs = sorted(combinations(expected[:60], 2), key=spread, reverse=True)[:_PAIRS]
    for one, other in pairs:
        for turn in _TURNS:
            p, q = turn.apply(one), turn.apply(other)
            dx, dy = q[0] - p[0], q[1] - p[1]
            if abs(dx) < 5 or abs(dy) < 5:
                continue
            for start in found:
                for end in found:
                    sx, sy = (end[0] - start[0]) / dx, (end[1] - start[1]) / dy
                    if not (_SMALLEST < sx < _LARGEST and abs(sy / sx - 1) < _UNEVEN):
                        continue
                    a, b, c, d = turn[:4]
                    guess = Affine(sx * a, sy * b, sx * c, sy * d, start[0] - sx * p[0], start[1] - sy * p[1])
                    reached = _score(guess, expected, grid, needed=score)
                    if reached > score:
                        best, score = guess, reached
                        if score >= _SURE * len(expected):
                            return best, score
    return best, score


def _score(guess: Affine, expected: tuple[Point, ...], grid: Middles, needed: int = 0) -> int:
    """Return how many expected points come near a found one; gives up when ``needed`` cannot be passed any more."""
    score = 0
    for number, point in enumerate(expected):
        if grid.near(guess.apply(point), _NEAR):
            score += 1
        elif score + len(expected) - number - 1 <= needed:
            return score
    return score


def _refine(guess: Affine, expected: tuple[Point, ...], grid: Middles) -> tuple[Affine, int]:
    """Return the least-squares map of the matched points, those that stand out left aside, and their number."""
    matched = 0
    reach = _NEAR
    for _ in range(4):
        pairs = []
        for point in expected:
            near = grid.near(guess.apply(point), reach)
            if near:
                pairs.append((point, grid.middles[near[0]]))
        if len(pairs) < 3:
            return guess, 0
        guess = least_squares(pairs) or guess
        offs = sorted(math.dist(guess.apply(p), q) for p, q in pairs)
        reach = max(0.01, 4 * offs[len(offs) // 2])
        matched = sum(off <= reach for off in offs)
    return guess, matched


def least_squares(pairs: list[tuple[Point, Point]]) -> Affine | None:
    """Return the affine map of least squares; None if the points lie on one line."""
    count = len(pairs)
    mx, my = (sum(p[0][i] for p in pairs) / count for i in (0, 1))
    nx, ny = (sum(p[1][i] for p in pairs) / count for i in (0, 1))
    sxx = sum((p[0] - mx) ** 2 for p, _ in pairs)
    syy = sum((p[1] - my) ** 2 for p, _ in pairs)
    sxy = sum((p[0] - mx) * (p[1] - my) for p, _ in pairs)
    det = sxx * syy - sxy * sxy
    if det <= 1e-9 * max(1.0, sxx * syy):
        return None
    rows = []
    for axis, mean in ((0, nx), (1, ny)):
        tx = sum((p[0] - mx) * (q[axis] - mean) for p, q in pairs)
        ty = sum((p[1] - my) * (q[axis] - mean) for p, q in pairs)
        rows.append(((tx * syy - ty * sxy) / det, (ty * sxx - tx * sxy) / det))
    (a, c), (b, d) = rows
    return Affine(a, b, c, d, nx - a * mx - c * my, ny - b * mx - d * my)
