"""A sheet divided by its seams: windows, the tiles' own parts, and which tiles are needed."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import deque
from collections.abc import Iterable, Iterator
from operator import neg
from typing import NamedTuple

from templater.drawing.marks import CONTEXT, Mark, mark_box
from templater.paper.clip import touches
from templater.plane.shapes import Box

#: Row from the top and column from the left, from 0.
Place = tuple[int, int]


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
        return ((row, column) for row in range(rows) for column in range(columns))

    def own(self, place: Place) -> Box:
        """Return the part that no neighbour covers once trimmed and taped."""
        row, column = place
        return (
            self.columns[column - 1] if column else self.box[0],
            self.rows[row] if row < len(self.rows) else self.box[1],
            self.columns[column] if column < len(self.columns) else self.box[2],
            self.rows[row - 1] if row else self.box[3],
        )

    def window(self, place: Place) -> Box:
        """Return what the tile shows: its own part, the bleed left and at the top, the tab right and at the foot."""
        row, column = place
        u0, v0, u1, v1 = self.own(place)
        rows, columns = self.shape
        return (
            u0 - self.bleed if column else u0,
            v0 - self.tab if row < rows - 1 else v0,
            u1 + self.tab if column < columns - 1 else u1,
            v1 + self.bleed if row else v1,
        )

    def showing(self, box: Box) -> Iterator[Place]:
        """Yield the places whose window a box may reach."""
        first = bisect_left(self.columns, box[0] - self.tab)
        last = bisect_right(self.columns, box[2] + self.bleed)
        top = bisect_left(self.rows, -box[3] - self.tab, key=neg)
        foot = bisect_right(self.rows, -box[1] + self.bleed, key=neg)
        return ((row, column) for row in range(top, foot + 1) for column in range(first, last + 1))

    def holder(self, u: float, v: float) -> Place:
        """Return the place whose own part holds a point; on a seam, the later one."""
        return bisect_right(self.rows, -v, key=neg), bisect_right(self.columns, u)

    def beside(self, place: Place) -> tuple[Place, ...]:
        """Return the places that share an edge with one: left, top, right, foot."""
        row, column = place
        rows, columns = self.shape
        around = ((row, column - 1), (row - 1, column), (row, column + 1), (row + 1, column))
        return tuple((r, c) for r, c in around if 0 <= r < rows and 0 <= c < columns)


def place_name(place: Place) -> str:
    """Return a tile's name, row from the top and column from the left; no hole's id looks like it.

    >>> place_name((0, 1))
    '1-2'
    """
    return f"{place[0] + 1}-{place[1] + 1}"


def needed(grid: Grid, marks: Iterable[Mark]) -> tuple[Place, ...]:
    """Return the places worth printing, row by row: those with more than context, and what joins them."""
    wanted: set[Place] = set()
    for mark in marks:
        if mark.group in CONTEXT:
            continue
        wanted.update(
            place for place in grid.showing(mark_box(mark)) if place not in wanted and touches(mark, grid.own(place))
        )
    return tuple(sorted(joined(grid, wanted) or set(grid.places())))


def joined(grid: Grid, wanted: set[Place]) -> set[Place]:
    """Return the wanted places and the fewest others that make all hang together, found by shortest paths."""
    kept = set(wanted)
    while kept:
        island = _island(grid, kept)
        if island == kept:
            break
        came: dict[Place, Place | None] = dict.fromkeys(sorted(island))
        queue = deque(came)
        while queue:
            here = queue.popleft()
            if here in kept and here not in island:
                while here not in island:
                    kept.add(here)
                    before = came[here]
                    assert before is not None
                    here = before
                break
            for step in grid.beside(here):
                if step not in came:
                    came[step] = here
                    queue.append(step)
    return kept


def _island(grid: Grid, kept: set[Place]) -> set[Place]:
    """Return the places that hang together with the first one."""
    first = min(kept)
    found, queue = {first}, deque([first])
    while queue:
        for step in grid.beside(queue.popleft()):
            if step in kept and step not in found:
                found.add(step)
                queue.append(step)
    return found
