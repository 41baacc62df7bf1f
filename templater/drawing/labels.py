"""The symbol of a hole, its label, and where text may stand among all that is drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from templater.boat.solved import Hole, HoleKind
from templater.drawing.marks import (
    ASCENT,
    DESCENT,
    Anchor,
    Circle,
    Cross,
    Group,
    Line,
    Mark,
    Pen,
    Polyline,
    Text,
    text_box,
)
from templater.plane.cells import cells_along, cells_over
from templater.plane.shapes import Box, Point, boxes_overlap, clip_segment, distance_to_segment, grow, segments_cross
from templater.standards.typeface import text_width
from templater.units import MM, Figures

#: Side of a cell of the index, mm: about the length of a label, so that few cells hold the usual mark.
CELL = 12.0


def _beside(a: Point, b: Point, box: Box) -> bool:
    """True if both ends lie beyond the same side of the box: the quick answer for most segments."""
    return (
        (a[0] < box[0] and b[0] < box[0])
        or (a[0] > box[2] and b[0] > box[2])
        or (a[1] < box[1] and b[1] < box[1])
        or (a[1] > box[3] and b[1] > box[3])
    )


def _circle_meets(centre: Point, radius: float, box: Box) -> bool:
    du = max(box[0] - centre[0], 0.0, centre[0] - box[2])
    dv = max(box[1] - centre[1], 0.0, centre[1] - box[3])
    return math.hypot(du, dv) < radius


class Layout:
    """What is drawn already, by cell of a grid: boxes, segments and circles."""

    def __init__(self) -> None:
        self._boxes: dict[int, list[Box]] = {}
        self._segments: dict[int, list[tuple[Point, Point]]] = {}
        self._circles: dict[int, list[tuple[Point, float]]] = {}

    def add_box(self, box: Box) -> None:
        """Take a box as filled: text, a sight window."""
        for cell in cells_over(box, CELL):
            self._boxes.setdefault(cell, []).append(box)

    def add_segment(self, a: Point, b: Point) -> None:
        """Take a straight line as drawn."""
        segment = (a, b)
        for cell in cells_along(a, b, CELL):
            self._segments.setdefault(cell, []).append(segment)

    def add_circle(self, centre: Point, radius: float) -> None:
        """Take a circle as drawn; its inside counts as filled."""
        u, v = centre
        circle = (centre, radius)
        for cell in cells_over((u - radius, v - radius, u + radius, v + radius), CELL):
            self._circles.setdefault(cell, []).append(circle)

    def free(self, box: Box, clearance: float = 0.4) -> bool:
        """True if nothing lies in the box or nearer than ``clearance`` to it (measured square to its edges)."""
        wide = grow(box, clearance)
        for cell in cells_over(wide, CELL):
            for other in self._boxes.get(cell, ()):
                if boxes_overlap(wide, other):
                    return False
            for centre, radius in self._circles.get(cell, ()):
                if _circle_meets(centre, radius, wide):
                    return False
            for a, b in self._segments.get(cell, ()):
                if not _beside(a, b, wide) and clip_segment(a, b, wide):
                    return False
        return True

    def free_line(self, a: Point, b: Point) -> bool:
        """True if a straight line from a to b meets no box, circle or other line."""
        for cell in cells_along(a, b, CELL):
            if any(clip_segment(a, b, box) for box in self._boxes.get(cell, ())):
                return False
            if any(distance_to_segment(centre, a, b) < radius for centre, radius in self._circles.get(cell, ())):
                return False
            if any(segments_cross(a, b, c, d, touching=False) for c, d in self._segments.get(cell, ())):
                return False
        return True


#: How far a cross runs past its circle, mm: the first that keeps clear of the neighbours is taken.
#: US drafting practice is 1/4 to 3/8 in for a centre line that stands alone; shorter here, for screws stand close.
PAST_CIRCLE = (4.0, 3.5, 3.0, 2.5, 2.0)
#: Smallest label on a sheet, mm.
SMALLEST_LABEL = 2.2
#: Clear space between a label and any mark, mm.
CLEARANCE = 0.4


def diameter(value: float, figures: Figures = MM) -> str:
    """Return a diameter as labels have it: in mm without the unit, in inches where they stand alone.

    >>> diameter(18.0), diameter(15.875)
    ('⌀18', '⌀15.9')
    """
    return (figures if figures.system == "in" else MM).diameter(value).removesuffix(" mm")


@dataclass(frozen=True, slots=True)
class Symbol:
    """A hole as it is to be drawn.

    Attributes:
        at: place in the sheet frame.
        labels: what may be written beside it, the fullest first; every one holds the id.
        sizes: type sizes to try, mm, the largest first.
        square: True for the second screws, told apart by shape.
        clear: radius round the hole, beyond its own, that the label keeps out of: a countersink, a plug.
        expected: True for a place to expect, which is marked at fit-up and not pricked.
    """

    id: str
    at: Point
    diameter: float
    kind: str
    group: Group
    labels: tuple[str, ...]
    sizes: tuple[float, ...]
    square: bool = False
    clear: float = 0.0
    expected: bool = False

    @property
    def radius(self) -> float:
        """Half the diameter, also half the side of a square."""
        return self.diameter / 2


_SCREW_SIZES = (2.6, 2.4, SMALLEST_LABEL)
_SIZES = (3.0, 2.6, SMALLEST_LABEL)
_BOLT_SIZES = (3.5, 3.0, 2.6, SMALLEST_LABEL)


#: Places in the corners of a cross, and symbols asked for the place that suits most.
_BESIDE, _ASKED = 12, 100
_SCREW_GROUPS = {HoleKind.FIRST_SCREW: Group.FIRST_SCREW, HoleKind.SECOND_SCREW: Group.SECOND_SCREW}


def symbol(
    hole: Hole, at: Point, *, name: str = "", clear: float = 0.0, figures: Figures = MM
) -> Symbol:
    """Return the symbol of a hole at a place of the sheet; ``name`` replaces its id, ``clear`` as in ``Symbol``.

    ``figures`` is how the diameter is written; in mm if not given.
    """
    ident = name or hole.id
    kind = hole.kind.value
    if hole.kind in _SCREW_GROUPS:
        square = hole.kind is HoleKind.SECOND_SCREW
        group = _SCREW_GROUPS[hole.kind]
        return Symbol(ident, at, hole.diameter, kind, group, (ident,), _SCREW_SIZES, square=square, clear=clear)
    sizes = _SIZES if hole.kind is HoleKind.FITTING else _BOLT_SIZES
    labels = (f"{ident} {diameter(hole.diameter, figures)}", ident)
    return Symbol(ident, at, hole.diameter, kind, Group.HOLE, labels, sizes, clear=clear)


def symbol_marks(item: Symbol, past: float) -> tuple[Mark, ...]:
    """Return circle (or square) and cross; the cross runs ``past`` mm beyond the circle.

    A place to expect has a chained circle and four slanting ticks that stop short of it: nothing to prick.
    """
    u, v = item.at
    r = item.radius
    if item.expected:
        near, far = ((r + by) * math.sqrt(0.5) for by in (1.0, past))
        ticks = (Line((u + i * near, v + j * near), (u + i * far, v + j * far), Pen.NARROW, Group.EXPECTED)
                 for i, j in ((1, 1), (-1, 1), (-1, -1), (1, -1)))  # fmt: skip
        return Circle(item.at, item.diameter, Pen.PHANTOM, Group.EXPECTED, item.id), *ticks
    shape: Mark = Circle(item.at, item.diameter, Pen.WIDE, item.group, item.id)
    if item.square:
        corners = ((u - r, v - r), (u + r, v - r), (u + r, v + r), (u - r, v + r))
        shape = Polyline(corners, closed=True, pen=Pen.WIDE, group=item.group, id=item.id)
    return shape, Cross(item.at, r + past, item.group, item.id)


def arms_past(symbols: tuple[Symbol, ...]) -> tuple[float, ...]:
    """Return how far each cross runs past its circle so that arms meet neither arms nor circles of neighbours.

    Two symbols are judged with the same length for both; the longer the arms the sooner they meet, so if each takes
    the longest that suits all its neighbours, every pair is clear. Where even the shortest meets, it is taken.
    """
    largest = max((item.radius for item in symbols), default=0.0)
    cell = 2 * (largest + PAST_CIRCLE[0])
    grid: dict[tuple[int, int], list[int]] = {}
    keys = [(math.floor(item.at[0] / cell), math.floor(item.at[1] / cell)) for item in symbols] if symbols else []
    for number, key in enumerate(keys):
        grid.setdefault(key, []).append(number)
    result = []
    for number, (column, row) in enumerate(keys):
        item = symbols[number]
        near = [
            symbols[other]
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for other in grid.get((i, j), ())
            if other != number and _within_reach(item, symbols[other])
        ]
        fitting = (past for past in PAST_CIRCLE if not any(_arms_meet(item, other, past) for other in near))
        result.append(next(fitting, PAST_CIRCLE[-1]))
    return tuple(result)


def _within_reach(a: Symbol, b: Symbol) -> bool:
    """False if two symbols stand so far apart that not even the longest arms can meet."""
    reach = a.radius + b.radius + 2 * PAST_CIRCLE[0] + 1.0
    return abs(a.at[0] - b.at[0]) < reach and abs(a.at[1] - b.at[1]) < reach


def _arms_meet(a: Symbol, b: Symbol, past: float, clearance: float = 0.5) -> bool:
    """True if an arm of one symbol comes nearer than ``clearance`` to an arm or circle of the other."""
    du, dv = abs(a.at[0] - b.at[0]), abs(a.at[1] - b.at[1])
    arm_a, arm_b = a.radius + past, b.radius + past
    reach_a, reach_b = arm_a + clearance, arm_b + clearance
    crossing = (du < reach_a and dv < reach_b) or (dv < reach_a and du < reach_b)
    in_line = min(du, dv) < clearance and max(du, dv) < arm_a + arm_b + clearance
    return crossing or in_line or _arm_on_circle(du, dv, arm_a, b.radius) or _arm_on_circle(du, dv, arm_b, a.radius)


def _arm_on_circle(du: float, dv: float, arm: float, radius: float, clearance: float = 0.5) -> bool:
    """True if an arm along u or along v comes nearer than ``clearance`` to the circle du, dv away."""
    along_u = math.hypot(max(0.0, du - arm), dv)
    along_v = math.hypot(du, max(0.0, dv - arm))
    return min(along_u, along_v) < radius + clearance


def common_place(items: list[tuple[Symbol, float]], layout: Layout) -> tuple[float, int]:
    """Return the type size and the place beside the cross that suit most of some symbols' labels, so that they agree.

    Not all are asked where there are many; ``items`` are symbols with the length of their arms.
    """
    best, most = (items[0][0].sizes[0], 0), -1
    for size in items[0][0].sizes:
        fits = [0] * _BESIDE
        for item, arm in items[:_ASKED]:
            for number, place in zip(range(_BESIDE), _near(item, arm, _extent(item.labels[0], size)), strict=False):
                fits[number] += layout.free(place, CLEARANCE)
        if max(fits) > most:
            best, most = (size, fits.index(max(fits))), max(fits)
    return best


def label_marks(item: Symbol, arm: float, layout: Layout, common: tuple[float, int]) -> tuple[Mark, ...]:
    """Return the label, with a leader if it had to go further off; take its place in the layout.

    Places are tried from the best on, the ``common`` one before all; the first that touches nothing is taken. If there
    is none, the id stands at the nearest place in the smallest size: a hole without a name is worse than a crowded one.
    """
    size, number = common
    place = next(islice(_near(item, arm, _extent(item.labels[0], size)), number, None))
    if layout.free(place, CLEARANCE):
        return _write(item, item.labels[0], size, place, layout)
    for text in item.labels:
        for size in item.sizes:
            for place in _near(item, arm, _extent(text, size)):
                if layout.free(place, CLEARANCE):
                    return _write(item, text, size, place, layout)
    text, size = item.labels[-1], item.sizes[-1]
    for place, foot in _far(item, arm, _extent(text, size)):
        reach = math.dist(item.at, foot)
        part = (max(item.clear, item.radius * (1.42 if item.square else 1.0)) + 0.5) / reach
        start = (item.at[0] + (foot[0] - item.at[0]) * part, item.at[1] + (foot[1] - item.at[1]) * part)
        leader = start, foot
        if layout.free(place, CLEARANCE) and layout.free_line(*leader):
            layout.add_segment(*leader)
            return (*_write(item, text, size, place, layout), Line(*leader, Pen.NARROW, Group.LABEL))
    return _write(item, text, size, next(_near(item, arm, _extent(text, size))), layout)


def _extent(text: str, size: float) -> Point:
    return text_width(text, size), (ASCENT + DESCENT) * size


def _write(item: Symbol, text: str, size: float, place: Box, layout: Layout) -> tuple[Mark, ...]:
    mark = Text((place[0], place[1] + DESCENT * size), text, size, Group.LABEL, Anchor.START, id=item.id)
    layout.add_box(text_box(mark))
    return (mark,)


def _near(item: Symbol, arm: float, extent: Point) -> Iterator[Box]:
    """Yield boxes in the four corners of the cross, then at the ends of its arms."""
    width, height = extent
    r = max(item.radius, item.clear)
    beside, beyond = 2 * CLEARANCE, r + 2 * CLEARANCE
    slant = beyond if item.square else r * math.sqrt(0.5) + CLEARANCE
    for du, dv in ((beside, beyond), (beyond, beside), (slant, slant)):
        for right, up in ((True, True), (False, True), (True, False), (False, False)):
            yield _corner_box(item.at, du, dv, width, height, right=right, up=up)
    end = max(arm, r) + 2 * CLEARANCE
    u, v = item.at
    yield (u + end, v - height / 2, u + end + width, v + height / 2)
    yield (u - end - width, v - height / 2, u - end, v + height / 2)
    yield (u - width / 2, v + end, u + width / 2, v + end + height)
    yield (u - width / 2, v - end - height, u + width / 2, v - end)


def _far(item: Symbol, arm: float, extent: Point) -> Iterator[tuple[Box, Point]]:
    """Yield boxes further off in slanting directions, each with the point where its leader ends."""
    width, height = extent
    for reach in (3.0, 6.0, 10.0, 15.0, 21.0, 28.0):
        for degrees in (45.0, 30.0, 60.0):
            du = (arm + reach) * math.cos(math.radians(degrees))
            dv = (arm + reach) * math.sin(math.radians(degrees))
            for right, up in ((True, True), (False, True), (True, False), (False, False)):
                foot = (item.at[0] + (du if right else -du), item.at[1] + (dv if up else -dv))
                gap = 3 * CLEARANCE
                yield _corner_box(item.at, du + gap, dv, width, height, right=right, up=up), foot


def _corner_box(at: Point, du: float, dv: float, width: float, height: float, *, right: bool, up: bool) -> Box:
    u0 = at[0] + du if right else at[0] - du - width
    v0 = at[1] + dv if up else at[1] - dv - height
    return (u0, v0, u0 + width, v0 + height)
