"""Where words may stand, and words that no page holds whole moved to where one does; a block of lines moves as one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from templater.drawing.labels import Layout
from templater.drawing.marks import (
    SMALLEST_TYPE,
    Arc,
    Circle,
    Cross,
    Drawing,
    Group,
    Line,
    Mark,
    Polyline,
    SheetHole,
    Text,
    mark_box,
    shift,
)
from templater.paper.placing import chords
from templater.paper.seams import Grid, Place
from templater.plane.shapes import Box, Cells, Point, box_within, grow, moved, union

#: Most pages that are tried for a block of words.
_PAGES = 4
#: Moved words keep so far from others, and from their page's seams, mm.
_APART, _MARGIN = 1.5, 0.3
#: Steps of the search for a clear place, mm; finer for a block of lines, which fits into few.
_STEP, _FINE_STEP = 5.0, 2.0
#: Side of a cell of the indexes, mm: about as wide as an area to be kept whole.
_CELL = 50.0
#: How far a text may stand out of its area by rounding, mm.
_SLACK = 0.01
#: Circles wider than this are no holes: words may stand in them. mm.
_WIDE = 60.0


class Clear:
    """Knows what is drawn on the sheet, so that words and what joins the tiles find clear places."""

    def __init__(self, marks: Iterable[Mark]) -> None:
        """Take the drawing's marks."""
        # One layer each for lines, words, and what nothing may stand over: holes and places taken.
        self._lines, self._words, self._taken = Layout(), Layout(), Layout()
        for mark in map(_as_drawn, marks):
            if isinstance(mark, Circle | Cross) or mark.group is Group.SIGHT:
                self.take(mark_box(mark))  # a sight window is cut out, with whatever stands in it
            else:
                (self._words if isinstance(mark, Text) else self._lines).add(mark)

    def take(self, box: Box) -> None:
        """Take a place."""
        self._taken.add_box(box)

    def add_line(self, a: Point, b: Point) -> None:
        """Take a straight line as drawn."""
        self._lines.add_segment(a, b)

    def first(
        self, box: Box, places: Sequence[Point], *, over_lines: bool = True, over_words: bool = False
    ) -> Point | None:
        """Return the first place to which a box can be moved where nothing is drawn, else clear of words and holes.

        ``over_lines`` False takes none that stands on a line; ``over_words`` accepts one clear of holes rather than
        none.
        """
        layers = (self._taken, self._words, self._lines)
        choices = ((3, 0.4), *(((2, 0.3),) if over_lines else ()), *(((1, 0.1),) if over_words else ()))
        for count, clearance in choices:
            for place in places:
                there = moved(box, place)
                if all(layer.free(there, clearance) for layer in layers[:count]):
                    return place
        return None


def _as_drawn(mark: Mark) -> Mark:
    """Return arcs and wide circles as chords: only their line is in the way."""
    if isinstance(mark, Circle) and mark.diameter > _WIDE:
        mark = Arc(mark.centre, mark.diameter / 2, 0.0, 360.0, mark.pen, mark.group)
    return chords(mark) if isinstance(mark, Arc) else mark


def whole_texts(drawing: Drawing, grid: Grid, windows: dict[Place, Box]) -> tuple[Mark, ...]:
    """Return the drawing's marks, every text whole in one of ``windows``; only words and their arrows are moved.

    ``windows`` are the parts of the printed tiles where words can be read once they are taped.
    """
    marks = list(drawing.marks)

    def held(box: Box) -> bool:
        return any(place in windows and box_within(box, windows[place]) for place in grid.showing(box))

    split = [block for block in _blocks(drawing) if not held(_box(marks, block))]
    if not split:
        return drawing.marks
    moving = {number for block in split for number in block}
    clear = Clear(mark for number, mark in enumerate(marks) if number not in moving)
    for block in split:
        box = _box(marks, block)
        # A hole's label stays near its hole; a block of words may go to another page rather than stand on something.
        near = sorted(windows.values(), key=lambda window: (round(math.hypot(*_least_shift(box, window)), 6), window))
        near = near[: _PAGES if len(block) > 1 else 1]
        window = near[0]
        room = min((window[2] - window[0]) / (box[2] - box[0]), (window[3] - window[1]) / (box[3] - box[1])) * 0.999
        if room < 1:
            for number in block:
                marks[number] = _smaller(marks[number], room, (box[0], box[3]))
            box = _box(marks, block)
        # A place clear of lines on another page is better than one on top of them here.
        step = _FINE_STEP if len(block) > 1 else _STEP
        tries = (
            clear.first(grow(box, _APART), _shifts(box, one, step), over_lines=over)
            for over in (False, True)
            for one in near
        )
        by = next((one for one in tries if one is not None), None) or _least_shift(box, window)
        for number in block:
            marks[number] = shift(marks[number], *by)
        clear.take(_box(marks, block))
    return tuple(marks)


def _blocks(drawing: Drawing) -> list[list[int]]:
    """Return the words' numbers in blocks: what shares an area to be kept whole, and every other text by itself.

    An arrow moves with its words where both lie in one area.
    """
    holes: Cells[SheetHole] = Cells(_CELL)
    for hole in drawing.holes:
        holes.add(hole.at, hole)
    words = {
        number: mark_box(mark)
        for number, mark in enumerate(drawing.marks)
        if isinstance(mark, Text) or (mark.group is Group.NOTE and isinstance(mark, Line | Polyline))
    }
    corners: Cells[int] = Cells(_CELL)
    for number, box in words.items():
        corners.add((box[0], box[1]), number)
    blocks: list[list[int]] = []
    free = dict.fromkeys(words)
    for _, area in drawing.keep:
        if any(True for _ in holes.within(area)):
            continue
        near = sorted(corners.within(grow(area, _SLACK)))
        block = [number for number in near if number in free and box_within(words[number], area, _SLACK)]
        if len(block) > 1 and any(isinstance(drawing.marks[number], Text) for number in block):
            blocks.append(block)
            for number in block:
                del free[number]
    return [*blocks, *([number] for number in free if isinstance(drawing.marks[number], Text))]


def _box(marks: list[Mark], block: list[int]) -> Box:
    return union(*(mark_box(marks[number]) for number in block))


def _least_shift(box: Box, window: Box) -> Point:
    """Return how far to move a box to bring it into a window."""
    du = max(window[0] - box[0], 0.0) or min(window[2] - box[2], 0.0)
    dv = max(window[1] - box[1], 0.0) or min(window[3] - box[3], 0.0)
    return du, dv


def _shifts(box: Box, window: Box, step: float) -> list[Point]:
    """Return shifts of a box into a window, the least first; none if it is too large."""
    if window[2] - window[0] < box[2] - box[0] or window[3] - window[1] < box[3] - box[1]:
        return []

    def steps(low: float, high: float) -> list[float]:
        return [low + step * n for n in range(int(max(0.0, high - low) / step) + 1)]

    across = steps(window[0] + _MARGIN - box[0], window[2] - _MARGIN - box[2])
    along = steps(window[1] + _MARGIN - box[1], window[3] - _MARGIN - box[3])
    shifts = [_least_shift(box, window), *((du, dv) for du in across for dv in along)]
    return sorted(shifts, key=lambda by: round(math.hypot(*by), 6))


def _smaller(mark: Mark, scale: float, corner: Point) -> Mark:
    """Return a text made smaller towards a corner, but not below the smallest type."""
    if not isinstance(mark, Text):
        return mark
    size = max(SMALLEST_TYPE, mark.size * scale)
    u, v = (corner[n] + (mark.at[n] - corner[n]) * size / mark.size for n in (0, 1))
    return mark._replace(at=(u, v), size=size)
