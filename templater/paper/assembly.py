"""How the tiles of a sheet are taped together, and what to measure on the whole."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from itertools import combinations

from templater.paper.model import Tile, TiledSheet

#: Most distances to check.
_CHECKS = 6
#: Points looked at on each side of the sheet, to keep the number of pairs small.
_PER_CORNER = 3


@dataclass(frozen=True, slots=True)
class CheckDistance:
    """A distance to measure on the assembled paper, between two registration marks or holes, mm."""

    a: str
    b: str
    distance: float
    seams: int


@dataclass(frozen=True, slots=True)
class Assembly:
    """Steps in words, in order, and distances to check afterwards."""

    steps: tuple[str, ...]
    checks: tuple[CheckDistance, ...]


def assembly(sheet: TiledSheet) -> Assembly:
    """Return how to tape a sheet's tiles together: each row from the left, then row below row."""
    if len(sheet.tiles) == 1:
        return Assembly((), ())
    return Assembly(tuple(_steps(sheet)), checks(sheet))


def _steps(sheet: TiledSheet) -> list[str]:
    steps = [
        "Measure the bars on every page before cutting: 100 mm and 4 in, across and along.",
        "On each tile cut along the lines marked cut here, left and top, through the middle of the registration marks.",
    ]
    placed: list[Tile] = []
    rest = list(sheet.tiles)
    while rest:
        joined = {tile.name for tile in placed}
        tile = next((t for t in rest if joined.intersection(t.neighbours)), rest[0])
        rest.remove(tile)
        beside = [name for name in tile.neighbours if name in joined]
        placed.append(tile)
        if not beside:
            steps.append(f"Lay down {tile.name}, face up, forward away from you.")
            continue
        marks = [r.id for r in sheet.registrations if tile.name in r.tiles and joined.intersection(r.tiles)]
        others = " and ".join(beside)
        under = _lies_under(tile, beside, placed)
        do = f"Slide the tab of {tile.name} under {others}" if under else f"Lay {tile.name} over the tab of {others}"
        steps.append(f"{do} until the halves of {', '.join(marks)} meet, then tape.")
    edges = sorted({mark.id for tile in sheet.tiles for mark in tile.marks if mark.id in ("E1", "E2")})
    if edges:
        steps.append(f"Hold a straight edge along {' and '.join(edges)}: the lines must run through without a step.")
    steps.append("Measure the check distances below on the whole sheet; take it apart again if one is out.")
    return steps


def _lies_under(tile: Tile, beside: list[str], placed: list[Tile]) -> bool:
    """True if all tiles that it joins lie to its right or below it, so that its own tab goes under them."""
    joined = [other for other in placed if other.name in beside]
    return all(other.row > tile.row or other.column > tile.column for other in joined)


def checks(sheet: TiledSheet) -> tuple[CheckDistance, ...]:
    """Return 4 to 6 distances between marks far apart, those across the most seams first."""
    points = [(hole.id, hole.at) for hole in sheet.drawing.holes] + [(r.id, r.at) for r in sheet.registrations]
    chosen: dict[str, tuple[float, float]] = {}
    for cu, cv in ((1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1)):
        far = sorted(points, key=lambda p, cu=cu, cv=cv: (-(cu * p[1][0] + cv * p[1][1]), p[0]))  # type: ignore[misc]
        chosen.update(far[:_PER_CORNER])
    rows = [-v for v in sheet.row_seams]

    def crossed(a: tuple[float, float], b: tuple[float, float]) -> int:
        columns = abs(bisect_right(sheet.column_seams, a[0]) - bisect_right(sheet.column_seams, b[0]))
        return columns + abs(bisect_right(rows, -a[1]) - bisect_right(rows, -b[1]))

    pairs = [
        CheckDistance(a, b, math.dist(chosen[a], chosen[b]), crossed(chosen[a], chosen[b]))
        for a, b in combinations(sorted(chosen), 2)
    ]
    pairs.sort(key=lambda pair: (-pair.seams, -round(pair.distance, 6), pair.a, pair.b))
    used: dict[str, int] = {}
    found: list[CheckDistance] = []
    for limit in (1, 2, 99):  # different ends first, so that one bad mark does not spoil all checks
        for pair in pairs:
            if len(found) == _CHECKS or (limit > 1 and len(found) >= 4):
                break
            if pair.seams and pair not in found and max(used.get(pair.a, 0), used.get(pair.b, 0)) < limit:
                found.append(pair)
                used[pair.a] = used.get(pair.a, 0) + 1
                used[pair.b] = used.get(pair.b, 0) + 1
    return tuple(found)
