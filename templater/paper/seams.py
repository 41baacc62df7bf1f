"""Where the seams of a sheet are: placed along each axis by dynamic programming over a fine ladder; the grid they make.

An axis runs the way the tiles are laid: left to right, or top to bottom. A seam at ``s`` has a band from ``s - bleed``
(where the later tile's window begins) to ``s + tab`` (where the earlier tile's window ends).
"""

import math
from bisect import bisect_left, bisect_right
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import product, repeat
from operator import neg, sub
from typing import NamedTuple

from templater.plane.shapes import Box, grow

#: Row from the top and column from the left, from 0.
Place = tuple[int, int]
Interval = tuple[float, float]
#: Hole circles cut, other things cut, things touched by the band, texts that no window holds whole, want of clearance
#: and evenness.
Cost = tuple[int, int, int, int, float]

#: Distance of the ladder's rungs, mm; a band is placed to within this.
RUNG = 0.25
#: Clearance beyond which a seam gains nothing, mm.
_AMPLE = 20.0
#: Weight of an even spread against clearance: breaks ties only.
_EVEN = 0.05
#: Least distance between two seams as part of the window: a tile must be worth taping.
_LEAST_PART = 0.3
_NEVER: Cost = (1 << 40, 0, 0, 0, 0.0)


class Grid(NamedTuple):
    """Where the seams are: ``columns`` are u ascending, ``rows`` v descending; ``box`` is what is to be covered."""

    box: Box
    columns: tuple[float, ...]
    rows: tuple[float, ...]
    bleed: float
    tab: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows by columns."""
        return len(self.rows) + 1, len(self.columns) + 1

    def places(self) -> Iterator[Place]:
        """Yield all places row by row."""
        rows, columns = self.shape
        return product(range(rows), range(columns))

    def own(self, place: Place, left: float = 0.0, foot: float = 0.0, right: float = 0.0, top: float = 0.0) -> Box:
        """Return the part that no neighbour covers once trimmed and taped, with so much more at its seams."""
        (row, column), (u0, v0, u1, v1) = place, self.box
        return (
            self.columns[column - 1] - left if column else u0,
            self.rows[row] - foot if row < len(self.rows) else v0,
            self.columns[column] + right if column < len(self.columns) else u1,
            self.rows[row - 1] + top if row else v1,
        )

    def window(self, place: Place) -> Box:
        """Return what the tile shows: its own part, the bleed left and at the top, the tab right and at the foot."""
        return self.own(place, self.bleed, self.tab, self.tab, self.bleed)

    def met(self, box: Box, *, bands: bool = False) -> tuple[range, range]:
        """Return which column seams and which row seams, from 0, cut a box, or in whose ``bands`` it lies."""
        bleed, tab = (self.bleed, self.tab) if bands else (0.0, 0.0)
        u0, v0, u1, v1 = box
        return (
            range(bisect_right(self.columns, u0 - tab), bisect_left(self.columns, u1 + bleed)),
            range(bisect_right(self.rows, -v1 - tab, key=neg), bisect_left(self.rows, -v0 + bleed, key=neg)),
        )

    def showing(self, box: Box) -> Iterator[Place]:
        """Yield the places whose window a box may reach."""
        columns, rows = self.met(grow(box, 1e-9), bands=True)
        return product(range(rows.start, rows.stop + 1), range(columns.start, columns.stop + 1))

    def holder(self, u: float, v: float) -> Place:
        """Return the place whose own part holds a point; on a seam, the later one."""
        return bisect_right(self.rows, -v, key=neg), bisect_right(self.columns, u)

    def beside(self, place: Place) -> tuple[Place, ...]:
        """Return the places that share an edge with one: left, top, right, foot."""
        row, column = place
        rows, columns = self.shape
        around = ((row, column - 1), (row - 1, column), (row, column + 1), (row + 1, column))
        return tuple((r, c) for r, c in around if 0 <= r < rows and 0 <= c < columns)


@cache  # one text for all that name the tile
def place_name(place: Place) -> str:
    """Return a tile's name, row from the top and column from the left; no hole's id looks like it.

    >>> place_name((0, 1))
    '1-2'
    """
    return f"{place[0] + 1}-{place[1] + 1}"


class Axis(NamedTuple):
    """One axis of a sheet on paper: extent of the content and of a page's window, mm."""

    low: float
    high: float
    window: float
    bleed: float
    tab: float

    @property
    def step(self) -> float:
        """Greatest distance from one seam to the next."""
        return self.window - self.bleed - self.tab

    @property
    def tiles(self) -> int:
        """Fewest tiles that cover the content."""
        return 1 + max(0, math.ceil((self.high - self.low - self.window) / self.step - 1e-9))

    def reach(self, number: int) -> Interval:
        """Return from where to where seam ``number`` (from 1) may stand."""
        latest = self.low + self.window - self.tab + (number - 1) * self.step
        earliest = self.high - self.window + self.bleed - (self.tiles - 1 - number) * self.step
        return earliest, latest


class Extents(NamedTuple):
    """Things' extents along an axis: their starts and their ends, each ascending."""

    starts: Sequence[float] = ()
    ends: Sequence[float] = ()

    @classmethod
    def of(cls, each: Sequence[Interval]) -> "Extents":
        """Return extents put in order."""
        return cls(sorted(a for a, _ in each), sorted(b for _, b in each))

    def met(self, lows: Iterable[float], highs: Iterable[float]) -> Iterator[int]:
        """Yield how many reach into each stretch from low to high; the ends exchanged, how many reach over it."""
        return map(sub, map(bisect_left, repeat(self.starts), highs), map(bisect_right, repeat(self.ends), lows))


_NONE = Extents()


def place_seams(
    axis: Axis, circles: Extents = _NONE, whole: Extents = _NONE, texts: Sequence[Interval] = ()
) -> tuple[tuple[float, ...], Cost]:
    """Return the best seams, ascending, and their cost.

    Fewest tiles; then fewest hole circles cut, other things cut, things touched by a band, texts lost; then clearance.
    Linear in the length of the axis and n log n in the number of texts.
    """
    count = axis.tiles - 1
    if count == 0:
        return (), (0, 0, 0, 0, 0.0)
    # A text no longer than the band is always whole in one of the two windows.
    harms = circles, whole, Extents.of([t for t in texts if t[1] - t[0] > axis.bleed + axis.tab])
    ladder: list[list[float]] = []
    back: list[list[int]] = []
    costs: list[Cost] = []
    for number in range(1, count + 1):
        even = axis.low + (axis.high - axis.low) * number / (count + 1)
        places, own = _costs(axis, _rungs(axis.reach(number)), even, harms, lone=count == 1)
        costs, came = _advance(ladder[-1], costs, places, own, axis) if ladder else (own, [-1] * len(places))
        ladder.append(places)
        back.append(came)
    index = min(range(len(costs)), key=costs.__getitem__)
    total, seams = costs[index], []
    for places, came in zip(reversed(ladder), reversed(back), strict=True):
        seams.append(places[index])
        index = came[index]
    return tuple(reversed(seams)), total


def _costs(
    axis: Axis, places: list[float], even: float, harms: tuple[Extents, Extents, Extents], *, lone: bool
) -> tuple[list[float], list[Cost]]:
    """Return places for a seam and what it costs there; of a lone seam those alone where it harms least."""
    lows, highs = [seam - axis.bleed for seam in places], [seam + axis.tab for seam in places]
    circles, whole, texts = harms
    afters, befores = [*map(bisect_left, repeat(whole.starts), highs)], [*map(bisect_right, repeat(whole.ends), lows)]
    # A stretch holds no text whole, for all are longer: those over it can be told from those in it.
    hit, cut, lost = circles.met(places, places), whole.met(places, places), texts.met(highs, lows)
    counts = [*zip(hit, cut, map(sub, afters, befores), lost, strict=True)]
    least = min(counts)
    starts, ends = [*whole.starts, math.inf], [*whole.ends, -math.inf]
    chosen = [n for n, count in enumerate(counts) if count == least] if lone else range(len(places))
    found: list[Cost] = []
    for n in chosen:
        want, off = 1.0, (places[n] - even) / axis.window
        if not counts[n][2]:
            want -= min(starts[afters[n]] - highs[n], lows[n] - ends[befores[n] - 1], _AMPLE) / _AMPLE
        found.append((*counts[n], want + _EVEN * off * off))
    return [places[n] for n in chosen], found


def _rungs(reach: Interval) -> list[float]:
    """Return the places to try: multiples of the rung, and both ends of the reach."""
    low, high = reach
    if high - low < 1e-9:
        return [low]
    return [low, *[n * RUNG for n in range(math.floor(low / RUNG) + 1, math.ceil(high / RUNG))], high]


def add_costs(a: Cost, b: Cost) -> Cost:
    """Return the costs of two seams together."""
    return a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3], a[4] + b[4]


def _advance(
    before: list[float], costs: list[Cost], places: list[float], own: list[Cost], axis: Axis
) -> tuple[list[Cost], list[int]]:
    """Return the best cost at each place, and from which place before it comes: least in a sliding window."""
    step, least = axis.step, _LEAST_PART * axis.window
    totals: list[Cost] = []
    came: list[int] = []
    queue: deque[int] = deque()
    entered = 0
    for place, extra in zip(places, own, strict=True):
        while entered < len(before) and before[entered] <= place - least + 1e-9:
            while queue and costs[queue[-1]] > costs[entered]:
                queue.pop()
            queue.append(entered)
            entered += 1
        while queue and before[queue[0]] < place - step - 1e-6:
            queue.popleft()
        base = costs[queue[0]] if queue else _NEVER
        came.append(queue[0] if queue else 0)
        totals.append(add_costs(base, extra))
    return totals, came
