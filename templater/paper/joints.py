"""What joins the tiles: registration marks on the seams, straight-edge lines, words at the edges; how to tape them."""

import math
from array import array
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from itertools import chain, combinations
from typing import NamedTuple

from templater.drawing.marks import ASCENT, DESCENT, Anchor, Circle, Cross, Group, Line, Mark, Pen, Text, mark_box
from templater.paper.placing import Clear, touches
from templater.paper.seams import Grid, Place, place_name
from templater.paper.tiles import Registration, Tile, TiledSheet
from templater.plane.shapes import Box, Point, box_within, boxes_overlap, grow, left_over, moved, union

#: Diameter of a registration mark's circle and half length of its arms, mm, where the bleed allows.
CIRCLE, ARM = 5.0, 4.5
#: Type size of the names of registration marks and straight-edge lines, mm; of words at the edges, the largest that
#: their strip takes first.
SIZE, EDGE_SIZES = 2.2, (4.0, 3.4, 2.8, 2.2)
#: Seams longer than this get a third mark, mm.
_LONG = 500.0
#: Steps of a search along a seam, mm.
_STEP = 3.0
#: Straight-edge lines stop so far from words and holes, keep so far from lines that run beside them, and shorter
#: pieces of them are left out, mm.
_OFF, _BESIDE, _PIECE = 0.8, 4.0, 10.0
#: What is further from a straight-edge line does not touch its name, mm.
_NEAR = 10.0
#: Most distances to check on the assembled paper, and fewest where there are so many.
_CHECKS, _FEWEST = 6, 4
#: Points looked at on each side of the sheet for those, to keep the number of pairs small.
_PER_CORNER = 3


class Seam(NamedTuple):
    """A seam between two printed tiles, in the sheet frame: at ``at``, from ``low`` to ``high`` along it."""

    at: float
    low: float
    high: float
    first: Place
    second: Place
    upright: bool

    def point(self, along: float, off: float = 0.0) -> Point:
        """Return the point so far along the seam's axis, and off the seam."""
        return (self.at + off, along) if self.upright else (along, self.at + off)


class Joints(NamedTuple):
    """Marks in the sheet frame: ``common`` for every tile whose window holds them, ``own`` for one tile each."""

    registrations: tuple[Registration, ...]
    common: tuple[Mark, ...]
    own: dict[Place, list[Mark]]
    straight_edges: tuple[str, ...]  # ids of the lines that some page shows


def joints(grid: Grid, windows: dict[Place, Box], keep: Sequence[Box], marks: Sequence[Mark]) -> Joints:
    """Return everything that joins the printed tiles, clear of the sheet's marks and of what it keeps whole."""
    rows: list[tuple[list[Mark], list[Seam]]] = [([], []) for _ in range(grid.shape[0] + 1)]
    for mark in marks:  # by the first row of tiles that shows it, if any does
        rows[next(grid.showing(mark_box(mark)))[0]][0].append(mark)
    for seam in _seams(grid, windows):
        rows[seam.first[0]][1].append(seam)
    registrations: list[Registration] = []
    common: list[Mark] = []
    own: dict[Place, list[Mark]] = {place: [] for place in windows}
    clear, before = Clear(), list[Seam]()
    # Marks come and go row by row: the sheet's all at once would fill the memory. Words come a row later than
    # registration marks, which they must clear.
    for row, (shown, seams) in enumerate(rows):
        clear.forget(grid.window((max(row - 1, 0), 0))[3] + 1.0)
        clear.draw(shown)
        for seam in seams:
            for at in _along(grid, seam, clear):
                id_ = f"R{len(registrations) + 1}"
                three = registration_marks(id_, at, grid, upright=seam.upright)
                # The label may stand out of a narrow tab; the circle and the cross may not.
                extent = mark_box(three[1])
                on = (one for one in grid.showing(extent) if one in windows and box_within(extent, windows[one]))
                registrations.append(Registration(id_, at, tuple(map(place_name, on))))
                for mark in three:
                    common.append(mark)
                    clear.add_box(mark_box(mark))
        for seam in before:
            clear.add_segment(seam.point(seam.low), seam.point(seam.high), Clear.LINES)
            _name_edges(grid, seam, clear, own)
        before = seams
    words = [mark for place in own for mark in own[place]]
    edges = [
        line
        for line in _straight_edges(grid, keep, marks, (*words, *common))
        if any(touches(line, window) for window in windows.values())
    ]
    ids = tuple(dict.fromkeys(line.id for line in edges))
    # For their names, what is drawn near these lines counts.
    bands = [grow(union(*(mark_box(line) for line in edges if line.id == id_)), _NEAR) for id_ in ids]
    drawn = chain(marks, common, words, edges)
    clear = Clear(mark for mark in drawn if any(map(partial(boxes_overlap, mark_box(mark)), bands)))
    for line in edges:
        _label_edge(line, windows, clear, own)
    return Joints(tuple(registrations), (*common, *edges), own, ids)


def _seams(grid: Grid, printed: dict[Place, Box]) -> Iterator[Seam]:
    """Yield the seams between printed tiles, row by row."""
    for row, column in printed:
        u0, v0, u1, v1 = grid.own((row, column))
        if (row, column + 1) in printed:
            yield Seam(u1, v0, v1, (row, column), (row, column + 1), upright=True)
        if (row + 1, column) in printed:
            yield Seam(v0, u0, u1, (row, column), (row + 1, column), upright=False)


def _arm(grid: Grid) -> float:
    """Return half the length of a registration mark's arms: it must lie within the bleed."""
    return min(ARM, grid.bleed - 0.2)


def registration_marks(id_: str, at: Point, grid: Grid, *, upright: bool) -> tuple[Circle, Cross, Text]:
    """Return circle, cross and label. The label stands on the side that is not cut off."""
    diameter = min(CIRCLE, 2 * _arm(grid) - 1)
    u, v = at
    place = (u + 0.8, v + diameter / 2 + 0.6) if upright else (u + diameter / 2 + 0.6, v - 0.8 - 0.8 * SIZE)
    return (
        Circle(at, diameter, Pen.NARROW, Group.REGISTRATION, id_),
        Cross(at, _arm(grid), Group.REGISTRATION, id_),
        Text(place, id_, SIZE, Group.REGISTRATION),
    )


def _along(grid: Grid, seam: Seam, clear: Clear) -> list[Point]:
    """Return the places of a seam's marks: as far apart as clear places allow."""
    # Clear of the bands that cross the seam at its ends, so that a mark is on these two tiles alone.
    inset = grid.tab + _arm(grid) + 1.0
    low, high = seam.low + inset, seam.high - inset
    if high - low < 2 * _STEP:
        low, high = seam.low + _arm(grid) + 0.5, seam.high - _arm(grid) - 0.5
    middle = (seam.low + seam.high) / 2
    count = int((high - low) * 0.45 / _STEP) + 1
    searches = [[low + _STEP * n for n in range(count)], [high - _STEP * n for n in range(count)]]
    if high <= low:
        searches = [[middle]]
    elif high - low > _LONG:
        searches.append([middle + _STEP * n * sign for n in range(count // 2) for sign in (1, -1)])
    extent = union(*(mark_box(mark) for mark in registration_marks("R99", (0.0, 0.0), grid, upright=seam.upright)))
    ladders = [[seam.point(t) for t in search] for search in searches]
    return [clear.first(extent, places, Clear.LINES, Clear.WORDS, Clear.TAKEN) or places[0] for places in ladders]


def _name_edges(grid: Grid, seam: Seam, clear: Clear, own: dict[Place, list[Mark]]) -> None:
    """Draw a seam on both its tiles, with words in the strip to cut off on the one and on the tab of the other."""
    middle, reach = (seam.low + seam.high) / 2, int((seam.high - seam.low) / 2)
    steps = [middle + n * sign for n in range(reach) for sign in (1, -1)]
    trim, tab = ("trim left", "tab right") if seam.upright else ("trim top", "tab foot")
    under = f"tab, under {place_name(seam.second)}"
    for place, line, word, strip in (
        (seam.second, trim, "cut here", grid.bleed), (seam.first, tab, under, grid.tab)
    ):  # fmt: skip
        window = grid.window(place)
        low, high = window[1::2] if seam.upright else window[::2]
        own[place].append(Line(seam.point(low), seam.point(high), Pen.NARROW, Group.FRAME, line))
        outward = -1.0 if (line == trim) == seam.upright else 1.0
        for size in (size for size in EDGE_SIZES if size < strip - 0.8 or size == EDGE_SIZES[-1]):
            # In the middle of the strip; the letters' feet are on the seam's side where it is cut off.
            gap = max(0.41, (strip - (ASCENT + DESCENT) * size) / 2)
            off = outward * (gap + (DESCENT if line == trim else ASCENT) * size)
            text = Text((0.0, 0.0), word, size, Group.FRAME, Anchor.MIDDLE, turn=int(seam.upright), bold=True)
            if _write(text, (seam.point(t, off) for t in steps), window, clear, own[place]):
                break


def _write(text: Text, places: Iterable[Point], window: Box, clear: Clear, own: list[Mark]) -> bool:
    """Write a text at the first clear place that lies in the window; False if there is none."""
    extent = mark_box(text)
    room = (window[0] - extent[0], window[1] - extent[1], window[2] - extent[2], window[3] - extent[3])
    inside = [(u, v) for u, v in places if box_within((u, v, u, v), room)]
    found = clear.first(extent, inside, Clear.LINES)
    if found is not None:
        own.append(text._replace(at=found))
        clear.add_box(moved(extent, found))
    return found is not None


def _straight_edges(grid: Grid, keep: Sequence[Box], marks: Sequence[Mark], joining: Sequence[Mark]) -> Iterator[Line]:
    """Yield one line along u and one along v through the whole sheet, where they meet the fewest words and holes.

    A line stops short of what it would strike through, and goes on beyond.
    """
    boxes = array("d")  # four numbers each
    for mark in chain(marks, joining):
        if isinstance(mark, Text | Circle | Cross):
            boxes.extend(grow(mark_box(mark), _OFF))
    for box in keep:
        boxes.extend(grow(box, 3.0))
    # Beside a line that runs the same way, a straight-edge line would be taken for it.
    lines = [mark for mark in marks if isinstance(mark, Line)]
    for name, along, across, seams in (("E1", 0, 1, grid.rows), ("E2", 1, 0, grid.columns)):
        if grid.shape[1 - along] < 2:
            continue
        parallel = [m.a[across] for m in lines if abs(m.a[across] - m.b[across]) < 0.01]
        starts = sorted(chain(boxes[across::4], (place - _BESIDE for place in parallel)))
        ends = sorted(chain(boxes[across + 2 :: 4], (place + _BESIDE for place in parallel)))
        low, high, band = grid.box[across], grid.box[across + 2], grid.bleed + grid.tab
        middle, steps = (low + high) / 2, max(1, int(high - low))
        clear = (  # where it meets the fewest, as near to the middle as that allows
            (bisect_right(starts, at) - bisect_right(ends, at), abs(at - middle), at)
            for at in (low + (high - low) * number / steps for number in range(1, steps))
            if all(abs(at - seam) > band for seam in seams)
        )
        at = min(clear, default=(0, 0.0, middle))[2]
        each = zip(*(boxes[n::4] for n in range(4)), strict=True)
        met = ((box[along], box[along + 2]) for box in each if box[across] < at < box[across + 2])
        for a, b in left_over(grid.box[along], grid.box[along + 2], met, _PIECE):
            tips = ((a, at), (b, at)) if along == 0 else ((at, a), (at, b))
            yield Line(*tips, Pen.NARROW, Group.FRAME, name)


def _label_edge(line: Line, windows: dict[Place, Box], clear: Clear, own: dict[Place, list[Mark]]) -> None:
    """Write a straight-edge line's name beside it on every tile that shows some of it."""
    level = line.a[1] == line.b[1]
    along, across = (0, 1) if level else (1, 0)
    at = line.a[across]
    text = Text((0.0, 0.0), f"{line.id} straight edge", SIZE, Group.FRAME, turn=0 if level else 1)
    beside = (at + 1.0, at - 1.0 - SIZE) if level else (at - 1.0, at + 1.0 + SIZE)
    for place, window in windows.items():
        named = any(isinstance(mark, Text) and mark.text == text.text for mark in own[place])
        if named or not window[across] <= at <= window[across + 2]:
            continue
        start, end = max(window[along], line.a[along]), min(window[along + 2], line.b[along])
        steps = [start + 2.0 + n for n in range(max(1, int(end - start - 20.0)))]
        _write(text, ((t, v) if level else (v, t) for v in beside for t in steps), window, clear, own[place])


class PaperDistance(NamedTuple):
    """A distance to measure on the assembled paper, between two registration marks or holes, mm."""

    a: str
    b: str
    distance: float
    seams: int


def assembly(sheet: TiledSheet) -> tuple[tuple[str, ...], tuple[PaperDistance, ...]]:
    """Return how to tape a sheet's tiles together, row below row from the left, and distances to check afterwards."""
    return (tuple(_steps(sheet)), _checks(sheet)) if len(sheet.tiles) > 1 else ((), ())


def _steps(sheet: TiledSheet) -> Iterator[str]:
    yield "Cut each tile along the lines marked cut here, left and top, through the middle of the registration marks."
    tiles_of = {mark.id: mark.tiles for mark in sheet.registrations}
    waiting, placed = {tile.name: tile for tile in sheet.tiles}, dict[str, Tile]()
    while waiting:  # in their own order, but each beside one before it where there is such a one
        joined = (tile for tile in waiting.values() if not placed.keys().isdisjoint(tile.neighbours))
        tile = waiting.pop((next(joined, None) or next(iter(waiting.values()))).name)
        # A tile's own tabs, right and at the foot, go under its neighbours; it lies over the tabs left of it and above.
        beside = [(name, placed[name]) for name in tile.neighbours if name in placed]
        later = [name for name, other in beside if other.row > tile.row or other.column > tile.column]
        earlier = [name for name, _ in beside if name not in later]
        marks = [id_ for id_ in tile.registrations if any(name in placed for name in tiles_of[id_])]
        placed[tile.name] = tile
        if not beside:
            yield f"Lay down {tile.name}, face up, forward away from you."
            continue
        over = f"lay {tile.name} over the tab of {' and '.join(earlier)}" if earlier else ""
        under = f"slide the tab of {tile.name} under {' and '.join(later)}" if later else ""
        do = " and ".join(filter(None, (over, under)))
        yield f"{do[0].upper()}{do[1:]} until the halves of {', '.join(marks)} meet, then tape."
    if sheet.straight_edges:
        edges = " and ".join(sheet.straight_edges)
        yield f"Hold a straight edge along {edges}: the lines must run through without a step."
    yield "Measure the check distances below on the whole sheet; take it apart again if one is out."


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

    ends = combinations(sorted(chosen.items()), 2)
    pairs = [PaperDistance(a, b, math.dist(at, to), crossed(at, to)) for (a, at), (b, to) in ends]
    pairs.sort(key=lambda pair: (-pair.seams, -round(pair.distance, 6), pair.a, pair.b))
    used: Counter[str] = Counter()
    found: list[PaperDistance] = []
    for limit in (1, 2, 99):  # different ends first, so that one bad mark does not spoil all checks
        for pair in pairs:
            if len(found) == _CHECKS or (limit > 1 and len(found) >= _FEWEST):
                break
            if (pair.seams or limit > 2) and pair not in found and max(used[pair.a], used[pair.b]) < limit:
                found.append(pair)
                used.update((pair.a, pair.b))
    return tuple(found)
