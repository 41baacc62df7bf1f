"""How the tiles of a sheet are taped together, and what to measure on the whole."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import combinations

from templater.paper.tiles import Tile, TiledSheet

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
    tiles_of = {mark.id: mark.tiles for mark in sheet.registrations}
    placed: dict[str, Tile] = {}
    for tile in _in_order(sheet.tiles):
        beside = [placed[name] for name in tile.neighbours if name in placed]
        marks = [id_ for id_ in tile.registrations if any(name in placed for name in tiles_of[id_])]
        placed[tile.name] = tile
        if not beside:
            steps.append(f"Lay down {tile.name}, face up, forward away from you.")
            continue
        others = " and ".join(other.name for other in beside)
        # Its own tab goes under them if all tiles that it joins lie to its right or below it.
        under = all(other.row > tile.row or other.column > tile.column for other in beside)
        do = f"Slide the tab of {tile.name} under {others}" if under else f"Lay {tile.name} over the tab of {others}"
        steps.append(f"{do} until the halves of {', '.join(marks)} meet, then tape.")
    if sheet.straight_edges:
        edges = " and ".join(sheet.straight_edges)
        steps.append(f"Hold a straight edge along {edges}: the lines must run through without a step.")
    steps.append("Measure the check distances below on the whole sheet; take it apart again if one is out.")
    return steps


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
            most = max(used.get(pair.a, 0), used.get(pair.b, 0))
            if (pair.seams or limit > 2) and pair not in found and most < limit:
                found.append(pair)
                used[pair.a] = used.get(pair.a, 0) + 1
                used[pair.b] = used.get(pair.b, 0) + 1
    return tuple(found)
