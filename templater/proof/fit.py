"""The map that another program put a page through: marks paired in their order, then least squares without outliers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from difflib import SequenceMatcher
from typing import NamedTuple

from templater.plane.shapes import Affine, Point
from templater.proof.marks import AREA, BLOT, CURVE, LINE, Mark

#: Share of the marks that must agree with a map, and strokes that are enough for one.
_ENOUGH, _STROKES = 0.5, 8


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
    count = len(pairs)
    if count < 3:
        return None
    mx, my = (sum(p[0][i] for p in pairs) / count for i in (0, 1))
    nx, ny = (sum(p[1][i] for p in pairs) / count for i in (0, 1))
    sxx = sum((p[0] - mx) ** 2 for p, _ in pairs)
    syy = sum((p[1] - my) ** 2 for p, _ in pairs)
    sxy = sum((p[0] - mx) * (p[1] - my) for p, _ in pairs)
    det = sxx * syy - sxy * sxy
    if det <= 1e-9 * max(1.0, sxx * syy):
        return None
    rows = []
    for axis, middle in ((0, nx), (1, ny)):
        tx = sum((p[0] - mx) * (q[axis] - middle) for p, q in pairs)
        ty = sum((p[1] - my) * (q[axis] - middle) for p, q in pairs)
        rows.append(((tx * syy - ty * sxy) / det, (ty * sxx - tx * sxy) / det))
    (a, c), (b, d) = rows
    return Affine(a, b, c, d, nx - a * mx - c * my, ny - b * mx - d * my)
