"""The symbol of a hole, its label, and where text may stand among all that is drawn."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from templater.boat.solved import Hole, HoleKind
from templater.drawing.marks import ASCENT, DESCENT, Circle, Cross, Group, Line, Mark, Pen, Polyline, Text, text_box
from templater.plane.shapes import (
    Box,
    Cells,
    Point,
    around,
    box_corners,
    cells_along,
    cells_over,
    clip_segment,
    distance_to_segment,
    grow,
    segments_cross,
)
from templater.standards.typeface import text_width
from templater.units import MM, Figures, without_units

#: Side of a cell of the index, mm: about the length of a label, so that few cells hold the usual mark.
CELL = 12.0
#: A line by its ends, a circle by its centre and radius; nothing of a filled box.
_Thing = tuple[Point, Point] | tuple[Point, float] | None


class Layout:
    """What is drawn already, by cell of a grid: the box of each thing, with the thing where it is no filled box."""

    def __init__(self) -> None:
        self._cells: dict[int, list[tuple[float, float, float, float, _Thing]]] = {}

    def _add(self, cells: Iterable[int], box: Box, thing: _Thing = None) -> None:
        for cell in cells:
            self._cells.setdefault(cell, []).append((*box, thing))

    def add_box(self, box: Box) -> None:
        """Take a box as filled: text, a sight window."""
        self._add(cells_over(box, CELL), box)

    def add_segment(self, a: Point, b: Point) -> None:
        """Take a straight line as drawn."""
        self._add(cells_along(a, b, CELL), around((a, b)), (a, b))

    def add_circle(self, centre: Point, radius: float) -> None:
        """Take a circle as drawn; its inside counts as filled."""
        box = grow((*centre, *centre), radius)
        self._add(cells_over(box, CELL), box, (centre, radius))

    def free(self, box: Box, clearance: float = 0.4) -> bool:
        """True if nothing lies in the box or nearer than ``clearance`` to it (measured square to its edges)."""
        wide = u0, v0, u1, v1 = grow(box, clearance)
        for cell in cells_over(wide, CELL):
            for a, b, c, d, thing in self._cells.get(cell, ()):
                if a > u1 or c < u0 or b > v1 or d < v0:
                    continue
                if thing is None:
                    if a < u1 and c > u0 and b < v1 and d > v0:
                        return False
                elif isinstance(thing[1], tuple):
                    if clip_segment(thing[0], thing[1], wide):
                        return False
                else:
                    (u, v), radius = thing[0], thing[1]
                    if math.hypot(max(u0 - u, 0.0, u - u1), max(v0 - v, 0.0, v - v1)) < radius:
                        return False
        return True

    def free_line(self, a: Point, b: Point) -> bool:
        """True if a straight line from a to b meets no box, circle or other line."""
        for u0, v0, u1, v1, thing in (one for cell in cells_along(a, b, CELL) for one in self._cells.get(cell, ())):
            if thing is None:
                met = clip_segment(a, b, (u0, v0, u1, v1)) is not None
            elif isinstance(thing[1], tuple):
                met = segments_cross(a, b, thing[0], thing[1], touching=False)
            else:
                met = distance_to_segment(thing[0], a, b) < thing[1]
            if met:
                return False
        return True


#: How far a cross runs past its circle, mm: the first that keeps clear of the neighbours is taken.
#: US drafting practice is 1/4 to 3/8 in for a centre line that stands alone; shorter here, for screws stand close.
PAST_CIRCLE = (4.0, 3.5, 3.0, 2.5, 2.0)
#: Clear space between a label and any mark, and between the arms of crosses, mm.
CLEARANCE, _ARMS_APART = 0.4, 0.5
#: Type sizes to try for the labels of screws, fittings and bolts, mm, the largest first.
_SCREW_SIZES, _SIZES, _BOLT_SIZES = (2.6, 2.4, 2.2), (3.0, 2.6, 2.2), (3.5, 3.0, 2.6, 2.2)
#: Places in the corners of a cross, and symbols asked for the place that suits most.
_BESIDE, _ASKED = 12, 100
#: The four ways out of a cross, to the right or left and up or down.
_WAYS = ((1, 1), (-1, 1), (1, -1), (-1, -1))
_SCREW_GROUPS = {HoleKind.FIRST_SCREW: Group.FIRST_SCREW, HoleKind.SECOND_SCREW: Group.SECOND_SCREW}


def diameter(value: float, figures: Figures = MM) -> str:
    """Return a diameter as labels have it: in mm without the unit, in inches where they stand alone.

    >>> diameter(18.0), diameter(15.875)
    ('⌀18', '⌀15.9')
    """
    return figures.diameter(value) if figures.system == "in" else without_units(MM.diameter(value))


class Symbol(NamedTuple):
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


def symbol(hole: Hole, at: Point, *, name: str = "", clear: float = 0.0, figures: Figures = MM) -> Symbol:
    """Return the symbol of a hole at a place of the sheet; ``name`` replaces its id, ``clear`` as in ``Symbol``."""
    ident, kind = name or hole.id, hole.kind.value
    if hole.kind in _SCREW_GROUPS:
        square, group = hole.kind is HoleKind.SECOND_SCREW, _SCREW_GROUPS[hole.kind]
        return Symbol(ident, at, hole.diameter, kind, group, (ident,), _SCREW_SIZES, square=square, clear=clear)
    sizes = _SIZES if hole.kind is HoleKind.FITTING else _BOLT_SIZES
    labels = (f"{ident} {diameter(hole.diameter, figures)}", ident)
    return Symbol(ident, at, hole.diameter, kind, Group.HOLE, labels, sizes, clear=clear)


def symbol_marks(item: Symbol, past: float) -> tuple[Mark, ...]:
    """Return circle (or square) and cross; the cross runs ``past`` mm beyond the circle.

    A place to expect has a chained circle and four slanting ticks that stop short of it: nothing to prick.
    """
    (u, v), r = item.at, item.radius
    if item.expected:
        near, far = ((r + by) * math.sqrt(0.5) for by in (1.0, past))
        ticks = (
            Line((u + i * near, v + j * near), (u + i * far, v + j * far), Pen.NARROW, Group.EXPECTED)
            for i, j in ((1, 1), (-1, 1), (-1, -1), (1, -1))
        )
        return Circle(item.at, item.diameter, Pen.PHANTOM, Group.EXPECTED, item.id), *ticks
    shape: Mark = Circle(item.at, item.diameter, Pen.WIDE, item.group, item.id)
    if item.square:
        shape = Polyline(box_corners(grow((u, v, u, v), r)), closed=True, pen=Pen.WIDE, group=item.group, id=item.id)
    return shape, Cross(item.at, r + past, item.group, item.id)


def arms_past(symbols: tuple[Symbol, ...]) -> tuple[float, ...]:
    """Return how far each cross runs past its circle so that arms meet neither arms nor circles of neighbours.

    Two symbols are judged with the same length for both; the longer the arms the sooner they meet, so if each takes
    the longest that suits all its neighbours, every pair is clear. Where even the shortest meets, it is taken.
    """
    reach = 2 * (max((item.radius for item in symbols), default=0.0) + PAST_CIRCLE[0]) + 1.0
    places: Cells[int] = Cells(reach)
    for number, item in enumerate(symbols):
        places.add(item.at, number)
    result = []
    for number, item in enumerate(symbols):
        near = [symbols[other] for other in places.within(grow((*item.at, *item.at), reach)) if other != number]
        fitting = (past for past in PAST_CIRCLE if not any(_arms_meet(item, other, past) for other in near))
        result.append(next(fitting, PAST_CIRCLE[-1]))
    return tuple(result)


def _arms_meet(a: Symbol, b: Symbol, past: float) -> bool:
    """True if an arm of one symbol comes too near to an arm or circle of the other."""
    du, dv = abs(a.at[0] - b.at[0]), abs(a.at[1] - b.at[1])
    arm_a, arm_b = a.radius + past, b.radius + past
    reach_a, reach_b = arm_a + _ARMS_APART, arm_b + _ARMS_APART
    crossing = (du < reach_a and dv < reach_b) or (dv < reach_a and du < reach_b)
    in_line = min(du, dv) < _ARMS_APART and max(du, dv) < arm_a + arm_b + _ARMS_APART
    return crossing or in_line or _arm_on_circle(du, dv, arm_a, b.radius) or _arm_on_circle(du, dv, arm_b, a.radius)


def _arm_on_circle(du: float, dv: float, arm: float, radius: float) -> bool:
    """True if an arm along u or along v comes too near to the circle du, dv away."""
    along_u = math.hypot(max(0.0, du - arm), dv)
    along_v = math.hypot(du, max(0.0, dv - arm))
    return min(along_u, along_v) < radius + _ARMS_APART


def common_place(items: list[tuple[Symbol, float]], layout: Layout) -> tuple[float, int]:
    """Return the type size and the place beside the cross that suit most of some symbols' labels, so that they agree.

    Not all are asked where there are many; ``items`` are symbols with the length of their arms.
    """
    best, most = (items[0][0].sizes[0], 0), -1
    for size in items[0][0].sizes:
        fits = [0] * _BESIDE
        for item, arm in items[:_ASKED]:
            for number, place in enumerate(_near(item, arm, _extent(item.labels[0], size))[:_BESIDE]):
                fits[number] += layout.free(place, CLEARANCE)
        if max(fits) > most:
            best, most = (size, fits.index(max(fits))), max(fits)
        if most == len(items[:_ASKED]):
            break  # a smaller type cannot suit more of them
    return best


def label_marks(item: Symbol, arm: float, layout: Layout, common: tuple[float, int]) -> tuple[Mark, ...]:
    """Return the label, with a leader if it had to go further off; take its place in the layout.

    Places are tried from the best on, the ``common`` one before all; the first that touches nothing is taken. If there
    is none, the id stands at the nearest place in the smallest size: a hole without a name is worse than a crowded one.
    """
    size, number = common
    place = _near(item, arm, _extent(item.labels[0], size))[number]
    if layout.free(place, CLEARANCE):
        return _write(item, item.labels[0], size, place, layout)
    for text in item.labels:
        for size in item.sizes:
            for place in _near(item, arm, _extent(text, size)):
                if layout.free(place, CLEARANCE):
                    return _write(item, text, size, place, layout)
    text, size = item.labels[-1], item.sizes[-1]
    for place, foot in _far(item, arm, _extent(text, size)):
        part = (max(item.clear, item.radius * (1.42 if item.square else 1.0)) + 0.5) / math.dist(item.at, foot)
        start = (item.at[0] + (foot[0] - item.at[0]) * part, item.at[1] + (foot[1] - item.at[1]) * part)
        if layout.free(place, CLEARANCE) and layout.free_line(start, foot):
            layout.add_segment(start, foot)
            return (*_write(item, text, size, place, layout), Line(start, foot, Pen.NARROW, Group.LABEL))
    return _write(item, text, size, _near(item, arm, _extent(text, size))[0], layout)


def _extent(text: str, size: float) -> Point:
    return text_width(text, size), (ASCENT + DESCENT) * size


def _write(item: Symbol, text: str, size: float, place: Box, layout: Layout) -> tuple[Mark, ...]:
    mark = Text((place[0], place[1] + DESCENT * size), text, size, Group.LABEL, id=item.id)
    layout.add_box(text_box(mark))
    return (mark,)


def _near(item: Symbol, arm: float, extent: Point) -> list[Box]:
    """Return boxes in the four corners of the cross, then at the ends of its arms."""
    width, height = extent
    (u, v), r = item.at, max(item.radius, item.clear)
    beside, beyond = 2 * CLEARANCE, r + 2 * CLEARANCE
    slant = beyond if item.square else r * math.sqrt(0.5) + CLEARANCE
    offs = ((beside, beyond), (beyond, beside), (slant, slant))
    end = max(arm, r) + 2 * CLEARANCE
    return [
        *(_corner_box(item.at, du, dv, extent, way) for du, dv in offs for way in _WAYS),
        (u + end, v - height / 2, u + end + width, v + height / 2),
        (u - end - width, v - height / 2, u - end, v + height / 2),
        (u - width / 2, v + end, u + width / 2, v + end + height),
        (u - width / 2, v - end - height, u + width / 2, v - end),
    ]


def _far(item: Symbol, arm: float, extent: Point) -> Iterator[tuple[Box, Point]]:
    """Yield boxes further off in slanting directions, each with the point where its leader ends."""
    for reach in (3.0, 6.0, 10.0, 15.0, 21.0, 28.0):
        for degrees in (45.0, 30.0, 60.0):
            du = (arm + reach) * math.cos(math.radians(degrees))
            dv = (arm + reach) * math.sin(math.radians(degrees))
            for way in _WAYS:
                foot = (item.at[0] + way[0] * du, item.at[1] + way[1] * dv)
                yield _corner_box(item.at, du + 3 * CLEARANCE, dv, extent, way), foot


def _corner_box(at: Point, du: float, dv: float, extent: Point, way: tuple[int, int]) -> Box:
    width, height = extent
    u0 = at[0] + du if way[0] > 0 else at[0] - du - width
    v0 = at[1] + dv if way[1] > 0 else at[1] - dv - height
    return (u0, v0, u0 + width, v0 + height)
