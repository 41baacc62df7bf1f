"""Where to put the seams along one axis, by dynamic programming over a fine ladder of places.

The axis runs the way the tiles are laid: left to right, or top to bottom. A seam at ``s`` has a band from ``s - bleed``
(where the later tile's window begins) to ``s + tab`` (where the earlier tile's window ends).
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

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


class Bands:
    """Counts what a band would harm; n log n to build, log n to ask."""

    def __init__(
        self,
        axis: Axis,
        circles: Iterable[Interval],
        whole: Iterable[Interval] = (),
        texts: Iterable[Interval] = (),
    ) -> None:
        """Take intervals of hole circles, of other things not to be cut or touched, and of texts."""
        self._axis = axis
        self._circle_starts, self._circle_ends = _sorted_ends(circles)
        self._starts, self._ends = _sorted_ends(whole)
        # A text no longer than the band is always whole in one of the two windows.
        self._text_starts, self._text_ends = _sorted_ends(t for t in texts if t[1] - t[0] > axis.bleed + axis.tab)

    def cost(self, seam: float) -> Cost:
        """Return what a seam there costs, evenness left out."""
        low, high = seam - self._axis.bleed, seam + self._axis.tab
        circles = bisect_left(self._circle_starts, seam) - bisect_right(self._circle_ends, seam)
        cut = bisect_left(self._starts, seam) - bisect_right(self._ends, seam)
        next_start = bisect_left(self._starts, high)
        past_end = bisect_right(self._ends, low)
        touched = next_start - past_end
        lost = bisect_left(self._text_starts, low) - bisect_right(self._text_ends, high)
        if touched:
            return circles, cut, touched, lost, 1.0
        clear = _AMPLE
        if next_start < len(self._starts):
            clear = min(clear, self._starts[next_start] - high)
        if past_end:
            clear = min(clear, low - self._ends[past_end - 1])
        return circles, 0, 0, lost, 1.0 - clear / _AMPLE


def _sorted_ends(intervals: Iterable[Interval]) -> tuple[list[float], list[float]]:
    kept = list(intervals)
    return sorted(a for a, _ in kept), sorted(b for _, b in kept)


def place_seams(axis: Axis, bands: Bands) -> tuple[tuple[float, ...], Cost]:
    """Return the best seams, ascending, and their cost.

    Fewest tiles; then fewest hole circles cut, other things cut, things touched by a band, texts lost; then clearance.
    Linear in the length of the axis and n log n in the number of marks.
    """
    count = axis.tiles - 1
    if count == 0:
        return (), (0, 0, 0, 0, 0.0)
    ladder: list[list[float]] = []
    back: list[list[int]] = []
    costs: list[Cost] = []
    for number in range(1, count + 1):
        places = _rungs(axis.reach(number))
        even = axis.low + (axis.high - axis.low) * number / (count + 1)
        own = [_with_evenness(bands.cost(place), (place - even) / axis.window) for place in places]
        if number == 1:
            costs, came = own, [-1] * len(places)
        else:
            costs, came = _advance(ladder[-1], costs, places, own, axis)
        ladder.append(places)
        back.append(came)
    best = min(range(len(costs)), key=costs.__getitem__)
    total, index, seams = costs[best], best, []
    for places, came in zip(reversed(ladder), reversed(back), strict=True):
        seams.append(places[index])
        index = came[index]
    return tuple(reversed(seams)), total


def _rungs(reach: Interval) -> list[float]:
    """Return the places to try: multiples of the rung, and both ends of the reach."""
    low, high = reach
    if high - low < 1e-9:
        return [low]
    inner = range(math.floor(low / RUNG) + 1, math.ceil(high / RUNG))
    return [low, *(number * RUNG for number in inner), high]


def add_costs(a: Cost, b: Cost) -> Cost:
    """Return the costs of two seams together."""
    return a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3], a[4] + b[4]


def _with_evenness(cost: Cost, off: float) -> Cost:
    return (*cost[:4], cost[4] + _EVEN * off * off)


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
