"""Texts that no window holds whole are moved until one does; a block of lines is moved as one."""

from __future__ import annotations

import math
from dataclasses import replace

from templater.drawing.marks import SMALLEST_TYPE, Drawing, Mark, SheetHole, Text, text_box
from templater.paper.grid import Grid, Place
from templater.paper.registration import Clear
from templater.plane.cells import Cells
from templater.plane.shapes import Box, box_within, grow, union

#: Most pages that are tried for a block of words.
_PAGES = 4
#: Moved words keep so far from others, mm.
_APART = 1.5
#: Steps of the search for a clear place, mm; finer for a block of lines, which fits into few.
_STEP, _FINE_STEP = 5.0, 2.0
#: Side of a cell of the indexes, mm: about as wide as an area to be kept whole.
_CELL = 50.0
#: How far a text may stand out of its area by rounding, mm.
_SLACK = 0.01


def whole_texts(drawing: Drawing, grid: Grid, windows: dict[Place, Box]) -> tuple[Mark, ...]:
    """Return the drawing's marks, every text whole in one of ``windows``; only texts are moved.

    ``windows`` are the parts of the printed tiles where words can be read once they are taped.
    """
    marks = list(drawing.marks)
    texts = [number for number, mark in enumerate(marks) if isinstance(mark, Text)]
    split = [block for block in _blocks(drawing, marks, texts) if not _held(_box(marks, block), grid, windows)]
    if not split:
        return drawing.marks
    moving = {number for block in split for number in block}
    clear = Clear(mark for number, mark in enumerate(marks) if number not in moving)
    for block in split:
        box = _box(marks, block)
        # A hole's label stays near its hole; a block of words may go to another page rather than stand on something.
        near = _nearest(box, windows)[: _PAGES if len(block) > 1 else 1]
        window = near[0]
        room = min((window[2] - window[0]) / (box[2] - box[0]), (window[3] - window[1]) / (box[3] - box[1])) * 0.999
        if room < 1:
            for number in block:
                marks[number] = _smaller(marks[number], room, (box[0], box[3]))
            box = _box(marks, block)
        # A place clear of lines on another page is better than one on top of them here.
        fine = _FINE_STEP if len(block) > 1 else _STEP
        clear_shifts = (
            _clear_shift(box, one, clear, fine, over_lines=over) for over in (False, True) for one in near
        )
        du, dv = next((one for one in clear_shifts if one is not None), None) or _least_shift(box, window)
        for number in block:
            text = marks[number]
            assert isinstance(text, Text)
            marks[number] = replace(text, at=(text.at[0] + du, text.at[1] + dv))
        clear.take(_box(marks, block))
    return tuple(marks)


def _blocks(drawing: Drawing, marks: list[Mark], texts: list[int]) -> list[list[int]]:
    """Return the texts in blocks: those that share an area to be kept whole, and every other by itself."""
    holes: Cells[SheetHole] = Cells(_CELL)
    for hole in drawing.holes:
        holes.add(hole.at, hole)
    boxes = {number: text_box(_text(marks, number)) for number in texts}
    corners: Cells[int] = Cells(_CELL)
    for number, box in boxes.items():
        corners.add((box[0], box[1]), number)
    blocks: list[list[int]] = []
    free = dict.fromkeys(texts)
    for area in drawing.keep_whole:
        if any(True for _ in holes.within(area)):
            continue
        near = sorted(corners.within(grow(area, _SLACK)))
        block = [number for number in near if number in free and box_within(boxes[number], area, _SLACK)]
        if len(block) > 1:
            blocks.append(block)
            for number in block:
                del free[number]
    return [*blocks, *([number] for number in free)]


def _text(marks: list[Mark], number: int) -> Text:
    text = marks[number]
    assert isinstance(text, Text)
    return text


def _box(marks: list[Mark], block: list[int]) -> Box:
    return union(*(text_box(_text(marks, number)) for number in block))


def _held(box: Box, grid: Grid, windows: dict[Place, Box]) -> bool:
    return any(place in windows and box_within(box, windows[place]) for place in grid.showing(box))


def _nearest(box: Box, windows: dict[Place, Box]) -> list[Box]:
    """Return the windows, the one into which a box must be moved the least first."""
    return sorted(windows.values(), key=lambda window: (round(math.hypot(*_least_shift(box, window)), 6), window))


def _least_shift(box: Box, window: Box) -> tuple[float, float]:
    """Return how far to move a box to bring it into a window."""
    du = max(window[0] - box[0], 0.0) or min(window[2] - box[2], 0.0)
    dv = max(window[1] - box[1], 0.0) or min(window[3] - box[3], 0.0)
    return du, dv


def _clear_shift(
    box: Box, window: Box, clear: Clear, step: float, *, over_lines: bool
) -> tuple[float, float] | None:
    """Return the least shift into a window that meets nothing drawn, or with ``over_lines`` no words and holes."""
    if window[2] - window[0] < box[2] - box[0] or window[3] - window[1] < box[3] - box[1]:
        return None
    least = _least_shift(box, window)
    margin = 0.3

    def steps(low: float, high: float) -> list[float]:
        return [low + step * n for n in range(int(max(0.0, high - low) / step) + 1)]

    across = steps(window[0] + margin - box[0], window[2] - margin - box[2])
    along = steps(window[1] + margin - box[1], window[3] - margin - box[3])
    shifts = [least, *((du, dv) for du in across for dv in along)]
    shifts.sort(key=lambda shift: round(math.hypot(*shift), 6))
    wide = grow(box, _APART)
    places = [(wide[0] + du, wide[1] + dv, wide[2] + du, wide[3] + dv) for du, dv in shifts]
    found = clear.first(places, over_lines=over_lines)
    return None if found is None else shifts[found]


def _smaller(mark: Mark, scale: float, corner: tuple[float, float]) -> Text:
    """Return a text made smaller towards a corner, but not below the smallest type."""
    assert isinstance(mark, Text)
    size = max(SMALLEST_TYPE, mark.size * scale)
    u, v = (corner[n] + (mark.at[n] - corner[n]) * size / mark.size for n in (0, 1))
    return replace(mark, at=(u, v), size=size)
