"""Marks on their way to a page: words moved to where one holds them whole, marks cut off at its window and corrected.

Cut lines keep their pattern's phase, cut circles become arcs.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, product

from templater.drawing import marks
from templater.drawing.labels import Layout
from templater.drawing.marks import Arc, Circle, Cross, Curve, Group, Line, Mark, Polyline, Text, mark_box, put, shift
from templater.findings import DrawingError
from templater.paper.seams import Grid, Place
from templater.paper.tiles import Correction
from templater.plane import shapes
from templater.plane.shapes import Affine, Box, Cells, Point, box_within, boxes_overlap, clip_segment, grow, moved
from templater.reader.faults import told

#: Pieces shorter than this leave no ink worth having, mm.
_NOTHING = 1e-6
#: Beyond this a print was scaled by the print dialogue; the printer itself is far better (common practice, no source).
LARGEST = 0.03
#: Straight pieces of an arc that a correction makes elliptic, degrees each: 0.01 mm off at 60 mm radius (computed).
_ARC_STEP = 2.0
#: The same where they are only in the way of words: 0.1 mm off at 60 mm radius (computed).
_CLEAR_STEP = 10.0
#: Clear space round what may not be stood over, for each level of ``Clear``, mm.
_CLEARANCES = (0.1, 0.3, 0.4)
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


def clip(mark: Mark, window: Box) -> Iterator[Mark]:
    """Yield the parts of a mark inside a window. A text is yielded whole or not at all; so is a curve, made later."""
    if box_within(mark_box(mark), window):
        yield mark
    elif isinstance(mark, Line):
        yield from _line(mark, window)
    elif isinstance(mark, Circle):
        arc = Arc(mark.centre, mark.diameter / 2, 0.0, 360.0, mark.pen, mark.group, mark.id)
        yield from _arc(arc, window)
    elif isinstance(mark, Arc):
        yield from _arc(mark, window)
    elif isinstance(mark, Cross):
        for a, b in mark.arms:
            yield from _line(Line(a, b, mark.pen, mark.group, mark.id), window)
    elif isinstance(mark, Polyline):
        yield from _filled(mark, window) if mark.filled else _polyline(mark, window)


def touches(mark: Mark, window: Box) -> bool:
    """True if a mark leaves ink in a window; a text counts if it shares more than an edge with it."""
    if isinstance(mark, Text):
        return boxes_overlap(mark_box(mark), window)
    return any(True for _ in clip(mark, window))


def _line(mark: Line, window: Box) -> Iterator[Line]:
    part = clip_segment(mark.a, mark.b, window)
    if part and math.dist(*part) > _NOTHING:
        # Whole patterns are left out: over a long line what a file rounds of each length would add up.
        period = sum(marks.PATTERNS[mark.pen])
        phase = (mark.phase + math.dist(mark.a, part[0])) % period if period else 0.0
        yield mark._replace(a=part[0], b=part[1], phase=phase)


def _polyline(mark: Polyline, window: Box) -> Iterator[Mark]:
    """Yield the runs of an outline inside a window; a side's pattern goes on where the side before ended."""
    used = 0.0
    for a, b in pairwise(mark.corners):
        length = math.dist(a, b)
        if length > _NOTHING:
            yield from _line(Line(a, b, mark.pen, mark.group, mark.id, used), window)
        used += length


def _filled(mark: Polyline, window: Box) -> Iterator[Polyline]:
    """Yield a filled area cut off at the window, side by side. Sutherland and Hodgman's method (1974)."""
    points = list(mark.points)
    for axis, bound, sign in ((0, window[0], 1), (0, window[2], -1), (1, window[1], 1), (1, window[3], -1)):
        kept: list[Point] = []
        for a, b in pairwise((*points, points[0])) if points else ():
            in_a, in_b = sign * (a[axis] - bound) >= 0, sign * (b[axis] - bound) >= 0
            if in_a:
                kept.append(a)
            if in_a != in_b:
                t = (bound - a[axis]) / (b[axis] - a[axis])
                kept.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        # A corner on the very edge comes twice: as itself and as where its side leaves.
        points = [point for n, point in enumerate(kept) if math.dist(point, kept[n - 1]) > _NOTHING]
    if len(points) > 2:
        yield mark._replace(points=tuple(points))


def _arc(mark: Arc, window: Box) -> Iterator[Arc]:
    """Yield the parts of an arc inside a window: cut where the circle crosses the window's edge lines."""
    cuts = {mark.start, mark.end}
    for number, bound in enumerate(window):
        axis = number % 2
        ratio = (bound - mark.centre[axis]) / mark.radius
        if abs(ratio) < 1:
            first = math.degrees(math.acos(ratio) if axis == 0 else math.asin(ratio))
            both = (first, -first if axis == 0 else 180 - first)
            turned = (mark.start + (angle - mark.start) % 360.0 for angle in both)
            cuts.update(angle for angle in turned if angle < mark.end)
    start: float | None = None
    for a, b in pairwise((*sorted(cuts), math.nan)):
        shown = not math.isnan(b) and box_within((*mark.point((a + b) / 2),) * 2, window)
        if shown and start is None:
            start = a
        if start is not None and not shown:
            yield mark._replace(start=start, end=a)
            start = None


def check_correction(correction: Correction) -> None:
    """Refuse a correction that no sound printer needs: raises DrawingError S110, off by more than 3 per cent."""
    worst = max(abs(correction.across - 1), abs(correction.along - 1), abs(correction.skew))
    if not worst <= LARGEST:
        percents = {"off": f"{100 * worst:.1f}", "most": f"{100 * LARGEST:.0f}"}
        raise DrawingError(told("S110", "print.printer", printer=correction.name, **percents))


def matrix(correction: Correction, paper: tuple[float, float]) -> Affine:
    """Return the correction of a page, about its middle, page mm to page mm."""
    x, y = paper[0] / 2, paper[1] / 2
    across, along, skew = correction.across, correction.along, correction.skew
    return Affine(across, 0.0, skew, along, x - across * x - skew * y, y - along * y)


def turned(correction: Correction) -> Correction:
    """Return a printer's correction for a page that goes through it sideways, in the axes of that page.

    The page is turned by a quarter on its way to the printer, so its level lines lie along the printer's way, and the
    correction in its axes is X = along x, Y = across y - skew x, whichever way it is turned. That is the same, but for
    a turn of the whole print by skew / across, which does no harm, as what is returned here.
    """
    across, along, skew = correction.across, correction.along, correction.skew
    size = math.hypot(across, skew)
    return correction._replace(across=along * across / size, along=size, skew=-along * skew / size)


def correct(marks: Iterable[Mark], affine: Affine) -> Iterator[Mark]:
    """Yield marks put through a correction: circles become curves, text is only moved."""
    for mark in marks:
        if isinstance(mark, Circle):
            start, pieces = shapes.bezier_arc(mark.centre, mark.diameter / 2, 0.0, 360.0)
            yield put(Curve(start, pieces, mark.pen, mark.group, mark.id), affine.apply)
        elif isinstance(mark, Arc):
            yield put(chords(mark), affine.apply)
        elif isinstance(mark, Cross):
            for a, b in mark.arms:
                yield Line(affine.apply(a), affine.apply(b), mark.pen, mark.group, mark.id)
        else:
            yield put(mark, affine.apply)


def chords(mark: Arc, step: float = _ARC_STEP) -> Polyline:
    """Return an arc as an open polyline, ``step`` degrees a piece: there is no mark for part of an ellipse."""
    count = max(1, math.ceil((mark.end - mark.start) / step))
    points = tuple(mark.point(mark.start + (mark.end - mark.start) * n / count) for n in range(count + 1))
    return Polyline(points, closed=False, pen=mark.pen, group=mark.group, id=mark.id)


class Clear(Layout):
    """What is drawn on a sheet in three levels, so that words and what joins the tiles find clear places.

    Nothing may stand over holes and places ``TAKEN``; over ``WORDS`` rather than over those; over ``LINES`` first.
    """

    TAKEN, WORDS, LINES = range(3)

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        super().__init__()
        self.draw(marks)

    def draw(self, marks: Iterable[Mark]) -> None:
        """Take marks of the drawing."""
        for mark in marks:
            one: Mark = mark
            if isinstance(mark, Circle) and mark.diameter > _WIDE:  # no hole
                one = Arc(mark.centre, mark.diameter / 2, 0.0, 360.0, mark.pen, mark.group)
            if isinstance(one, Circle | Cross) or one.group is Group.SIGHT:
                self.add_box(mark_box(one))  # a sight window is cut out, with whatever stands in it
            elif isinstance(one, Arc):  # only its line is in the way
                self.add(chords(one, _CLEAR_STEP), self.LINES)
            else:
                self.add(one, self.WORDS if isinstance(one, Text) else self.LINES)

    def first(self, box: Box, places: Sequence[Point], *levels: int) -> Point | None:
        """Return the first place to which a box can be moved clear of the first of ``levels``, else of the next."""
        for level in levels:
            for place in places:
                if self.free(moved(box, place), _CLEARANCES[level], level):
                    return place
        return None


def whole_texts(drawing: marks.Drawing, grid: Grid, windows: dict[Place, Box]) -> tuple[Mark, ...]:
    """Return the drawing's marks, every text whole in one of ``windows``; only words and their arrows are moved.

    ``windows`` are the parts of the printed tiles where words can be read once they are taped.
    """
    marks = list(drawing.marks)

    def held(box: Box) -> bool:
        return any(place in windows and box_within(box, windows[place]) for place in grid.showing(box))

    split = [block for block in _blocks(drawing) if not held(_box(marks[number] for number in block))]
    if not split:
        return drawing.marks
    moving = {number for block in split for number in block}
    clear = Clear(mark for number, mark in enumerate(marks) if number not in moving)
    for block in split:
        words = [marks[number] for number in block]
        box = _box(words)
        # A hole's label stays near its hole; a block of words may go to another page rather than stand on something.
        pages, step = (_PAGES, _FINE_STEP) if len(block) > 1 else (1, _STEP)
        near = sorted(windows.values(), key=lambda window: (round(math.hypot(*_least_shift(box, window)), 6), window))
        window = near[0]
        room = min((window[2] - window[0]) / (box[2] - box[0]), (window[3] - window[1]) / (box[3] - box[1])) * 0.999
        if room < 1:
            words = [_smaller(mark, room, (box[0], box[3])) for mark in words]
            box = _box(words)
        # A place clear of lines on another page is better than one on top of them here.
        tries = (
            clear.first(grow(box, _APART), _shifts(box, one, step), level)
            for level in (Clear.LINES, Clear.WORDS)
            for one in near[:pages]
        )
        by = next(filter(None, tries), None) or _least_shift(box, window)
        for number, mark in zip(block, words, strict=True):
            marks[number] = shift(mark, *by)
        clear.add_box(moved(box, by))
    return tuple(marks)


def _blocks(drawing: marks.Drawing) -> list[list[int]]:
    """Return the words' numbers in blocks: what shares an area of words, and every other text by itself.

    An arrow moves with its words where both lie in one area.
    """
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
    for area in (box for name, box in drawing.keep if name == marks.WORDS):
        near = sorted(corners.within(grow(area, _SLACK)))
        block = [number for number in near if number in free and box_within(words[number], area, _SLACK)]
        if len(block) > 1 and any(isinstance(drawing.marks[number], Text) for number in block):
            blocks.append(block)
            for number in block:
                del free[number]
    return [*blocks, *([number] for number in free if isinstance(drawing.marks[number], Text))]


def _box(words: Iterable[Mark]) -> Box:
    return shapes.union(*map(mark_box, words))


def _least_shift(box: Box, window: Box) -> Point:
    """Return how far to move a box to bring it into a window."""
    du = max(window[0] - box[0], 0.0) or min(window[2] - box[2], 0.0)
    dv = max(window[1] - box[1], 0.0) or min(window[3] - box[3], 0.0)
    return du, dv


def _shifts(box: Box, window: Box, step: float) -> list[Point]:
    """Return shifts of a box into a window, the least first; none if it is too large."""
    if window[2] - window[0] < box[2] - box[0] or window[3] - window[1] < box[3] - box[1]:
        return []

    spare = (max(0.0, window[n + 2] - box[n + 2] - window[n] + box[n] - 2 * _MARGIN) for n in (0, 1))
    across, along = (
        [window[n] + _MARGIN - box[n] + step * number for number in range(int(room / step) + 1)]
        for n, room in enumerate(spare)
    )
    shifts = [_least_shift(box, window), *product(across, along)]
    return sorted(shifts, key=lambda by: round(math.hypot(*by), 6))


def _smaller(mark: Mark, scale: float, corner: Point) -> Mark:
    """Return a text made smaller towards a corner, but not below the smallest type."""
    if not isinstance(mark, Text):
        return mark
    size = max(marks.SMALLEST_TYPE, mark.size * scale)
    u, v = (corner[n] + (mark.at[n] - corner[n]) * size / mark.size for n in (0, 1))
    return mark._replace(at=(u, v), size=size)
