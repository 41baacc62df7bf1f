"""How the tiles of a sheet are taped together, and what to measure on the whole."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from heapq import heappop, heappush
from itertools import combinations
from typing import NamedTuple

from templater.paper.tiles import Tile, TiledSheet
from templater.plane.shapes import Point

#: Most distances to check, and fewest where there are so many.
_CHECKS, _FEWEST = 6, 4
#: Points looked at on each side of the sheet, to keep the number of pairs small.
_PER_CORNER = 3


class PaperDistance(NamedTuple):
    """A distance to measure on the assembled paper, between two registration marks or holes, mm."""

    a: str
    b: str
    distance: float
    seams: int


class Assembly(NamedTuple):
    """Steps in words, in order, and distances to check afterwards."""

    steps: tuple[str, ...]
    checks: tuple[PaperDistance, ...]


def assembly(sheet: TiledSheet) -> Assembly:
    """Return how to tape a sheet's tiles together: each row from the left, then row below row."""
    if len(sheet.tiles) == 1:
        return Assembly((), ())
    return Assembly(tuple(_steps(sheet)), _checks(sheet))


def _steps(sheet: TiledSheet) -> Iterator[str]:
    yield "Measure the bars on every page before cutting, across and along: each must be as long as it says."
    yield "Cut each tile along the lines marked cut here, left and top, through the middle of the registration marks."
    tiles_of = {mark.id: mark.tiles for mark in sheet.registrations}
    placed: dict[str, Tile] = {}
    for tile in _in_order(sheet.tiles):
        beside = [placed[name] for name in tile.neighbours if name in placed]
        marks = [id_ for id_ in tile.registrations if any(name in placed for name in tiles_of[id_])]
        placed[tile.name] = tile
        if not beside:
            yield f"Lay down {tile.name}, face up, forward away from you."
            continue
        # A tile's own tabs, right and at the foot, go under its neighbours; it lies over the tabs left of it and above.
        later = [other.name for other in beside if other.row > tile.row or other.column > tile.column]
        earlier = [other.name for other in beside if other.name not in later]
        over = f"lay {tile.name} over the tab of {' and '.join(earlier)}" if earlier else ""
        under = f"slide the tab of {tile.name} under {' and '.join(later)}" if later else ""
        do = " and ".join(part for part in (over, under) if part)
        yield f"{do[0].upper()}{do[1:]} until the halves of {', '.join(marks)} meet, then tape."
    if sheet.straight_edges:
        edges = " and ".join(sheet.straight_edges)
        yield f"Hold a straight edge along {edges}: the lines must run through without a step."
    yield "Measure the check distances below on the whole sheet; take it apart again if one is out."


def _in_order(tiles: Sequence[Tile]) -> Iterator[Tile]:
    """Yield the tiles in their own order, but each beside one before it where there is such a one."""
    number = {tile.name: place for place, tile in enumerate(tiles)}
    waiting = dict(number)
    ready: list[int] = []
    while waiting:
        place = heappop(ready) if ready else next(iter(waiting.values()))
        tile = tiles[place]
        if waiting.pop(tile.name, None) is None:
            continue
        yield tile
        for name in tile.neighbours:
            if name in waiting:
                heappush(ready, number[name])


def _checks(sheet: TiledSheet) -> tuple[PaperDistance, ...]:
    """Return 4 to 6 distances between marks far apart, those across the most seams first."""
    points = [(hole.id, hole.at) for hole in sheet.drawing.holes] + [(r.id, r.at) for r in sheet.registrations]
    chosen: dict[str, Point] = {}
    for cu, cv in ((1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1)):
        far = sorted(points, key=lambda p, cu=cu, cv=cv: (-(cu * p[1][0] + cv * p[1][1]), p[0]))  # type: ignore[misc]
        chosen.update(far[:_PER_CORNER])
    rows = [-v for v in sheet.row_seams]

    def crossed(a: Point, b: Point) -> int:
        columns = abs(bisect_right(sheet.column_seams, a[0]) - bisect_right(sheet.column_seams, b[0]))
        return columns + abs(bisect_right(rows, -a[1]) - bisect_right(rows, -b[1]))

    pairs = [
        PaperDistance(a, b, math.dist(chosen[a], chosen[b]), crossed(chosen[a], chosen[b]))
        for a, b in combinations(sorted(chosen), 2)
    ]
    pairs.sort(key=lambda pair: (-pair.seams, -round(pair.distance, 6), pair.a, pair.b))
    used: dict[str, int] = {}
    found: list[PaperDistance] = []
    for limit in (1, 2, 99):  # different ends first, so that one bad mark does not spoil all checks
        for pair in pairs:
            if len(found) == _CHECKS or (limit > 1 and len(found) >= _FEWEST):
                break
            most = max(used.get(pair.a, 0), used.get(pair.b, 0))
            if (pair.seams or limit > 2) and pair not in found and most < limit:
                found.append(pair)
                used[pair.a] = used.get(pair.a, 0) + 1
                used[pair.b] = used.get(pair.b, 0) + 1
    return tuple(found)
