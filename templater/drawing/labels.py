"""The symbol of a hole, its label, and where text may stand among all that is drawn."""

import math
from collections.abc import Iterable, Iterator
from itertools import islice, pairwise, product
from typing import NamedTuple

from templater.boat.solved import Hole, HoleKind
from templater.drawing.marks import ASCENT, DESCENT, Circle, Cross, Group, Line, Mark, Pen, Polyline, Text, mark_box
from templater.plane import shapes
from templater.plane.shapes import Box, Cells, Point, box_about, cells_along, cells_over, clip_segment, grow
from templater.standards.typeface import text_width
from templater.units import MM, Figures, without_units

#: Side of a cell of the index, mm: about the length of a label, so that few cells hold the usual mark.
CELL = 16.0
#: Clear space between a label and any mark, mm.
CLEARANCE = 0.4
#: A line by its ends, a circle by its centre and radius; nothing of a filled box.
_Thing = tuple[Point, Point] | tuple[Point, float] | None


class Layout:
    """What is drawn already, by cell of a grid: the box of each thing, with the thing where it is no filled box.

    Each has a ``level``: a search may leave those above one out.
    """

    def __init__(self) -> None:
        self._cells: dict[int, list[tuple[float, float, float, float, _Thing, int]]] = {}

    def _add(self, cells: Iterable[int], box: Box, thing: _Thing, level: int) -> None:
        entry = (*box, thing, level)  # one for all cells: a copy each would fill the memory
        for cell in cells:
            self._cells.setdefault(cell, []).append(entry)

    def forget(self, above: float) -> None:
        """Let go of what lies in cells wholly above a height, where no more is put."""
        self._cells = {cell: things for cell, things in self._cells.items() if shapes.cell_row(cell) * CELL <= above}

    def add(self, mark: Mark, level: int = 0) -> None:
        """Take a mark as drawn: lines by themselves, circles, areas, texts and arcs with what they hold."""
        if isinstance(mark, Line):
            self.add_segment(mark.a, mark.b, level)
        elif isinstance(mark, Circle):
            box = mark_box(mark)
            self._add(cells_over(box, CELL), box, (mark.centre, mark.diameter / 2), level)
        elif isinstance(mark, Cross):
            for a, b in mark.arms:
                self.add_segment(a, b, level)
        elif isinstance(mark, Polyline):
            if mark.group is Group.SECOND_SCREW:  # its square counts as filled
                self.add_box(mark_box(mark), level)
            for a, b in pairwise(mark.corners):
                self.add_segment(a, b, level)
        else:
            self.add_box(mark_box(mark), level)

    def add_box(self, box: Box, level: int = 0) -> None:
        """Take a box as filled: text, a sight window."""
        self._add(cells_over(box, CELL), box, None, level)

    def add_segment(self, a: Point, b: Point, level: int = 0) -> None:
        """Take a straight line as drawn."""
        self._add(cells_along(a, b, CELL), shapes.segment_box(a, b), (a, b), level)

    def free(self, box: Box, clearance: float = CLEARANCE, level: int = 0) -> bool:
        """True if nothing up to ``level`` lies in the box or nearer than ``clearance`` to it, square to its edges."""
        wide = u0, v0, u1, v1 = grow(box, clearance)
        known = self._cells
        for cell in cells_over(wide, CELL):
            for a, b, c, d, thing, own in known.get(cell, ()):
                if a > u1 or c < u0 or b > v1 or d < v0 or own > level:
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
        for u0, v0, u1, v1, thing, _ in (one for cell in cells_along(a, b, CELL) for one in self._cells.get(cell, ())):
            if thing is None:
                met = clip_segment(a, b, (u0, v0, u1, v1)) is not None
            elif isinstance(thing[1], tuple):
                met = shapes.segments_cross(a, b, thing[0], thing[1], touching=False)
            else:
                met = shapes.distance_to_segment(thing[0], a, b) < thing[1]
            if met:
                return False
        return True


#: How far a cross runs past its circle, mm: the first that keeps clear of the neighbours is taken.
#: US drafting practice is 1/4 to 3/8 in for a centre line that stands alone; shorter here, for screws stand close.
PAST_CIRCLE = (4.0, 3.5, 3.0, 2.5, 2.0)
#: Clear space between the arms of crosses, mm.
_ARMS_APART = 0.5
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
    """A hole as it is to be drawn."""

    id: str
    at: Point  # in the sheet frame
    diameter: float
    kind: str
    group: Group  # second screws are drawn square; ``EXPECTED`` is marked at fit-up and not pricked
    labels: tuple[str, ...]  # what may be written beside it, the fullest first; every one holds the id
    sizes: tuple[float, ...]  # of type, to try, mm
    clear: float = 0.0  # radius that the label keeps out of where it is more than the hole's: a countersink, a plug

    @property
    def radius(self) -> float:
        """Half the diameter, also half the side of a square."""
        return self.diameter / 2


def symbol(hole: Hole, at: Point, *, name: str = "", clear: float = 0.0, figures: Figures = MM) -> Symbol:
    """Return the symbol of a hole at a place of the sheet; ``name`` replaces its id, ``clear`` as in ``Symbol``."""
    ident, group = name or hole.id, _SCREW_GROUPS.get(hole.kind, Group.HOLE)
    sizes = _SCREW_SIZES if group is not Group.HOLE else _SIZES if hole.kind is HoleKind.FITTING else _BOLT_SIZES
    full = (f"{ident} {diameter(hole.diameter, figures)}",) if group is Group.HOLE else ()
    return Symbol(ident, at, hole.diameter, hole.kind.value, group, (*full, ident), sizes, clear)


def symbol_marks(item: Symbol, past: float) -> tuple[Mark, ...]:
    """Return circle (or square) and cross; the cross runs ``past`` mm beyond the circle.

    A place to expect has a chained circle and four slanting ticks that stop short of it: nothing to prick.
    """
    (u, v), r = item.at, item.radius
    if item.group is Group.EXPECTED:
        near, far = ((r + by) * math.sqrt(0.5) for by in (1.0, past))
        ticks = (
            Line((u + i * near, v + j * near), (u + i * far, v + j * far), Pen.NARROW, item.group)
            for i, j in ((1, 1), (-1, 1), (-1, -1), (1, -1))
        )
        return Circle(item.at, item.diameter, Pen.PHANTOM, item.group, item.id), *ticks
    shape: Mark = Circle(item.at, item.diameter, Pen.WIDE, item.group, item.id)
    if item.group is Group.SECOND_SCREW:
        corners = shapes.box_corners(box_about(item.at, r))
        shape = Polyline(corners, closed=True, pen=Pen.WIDE, group=item.group, id=item.id)
    return shape, Cross(item.at, r + past, item.group, item.id)


def arms_past(symbols: tuple[Symbol, ...]) -> tuple[float, ...]:
    """Return how far each cross runs past its circle so that arms meet neither arms nor circles of neighbours.

    Two symbols are judged with the same length for both; the longer the arms the sooner they meet, so if each takes
    the longest that suits all its neighbours, every pair is clear. Where even the shortest meets, it is taken.
    """
    reach = 2 * (max((item.radius for item in symbols), default=0.0) + PAST_CIRCLE[0]) + 1.0
    places: Cells[Symbol] = Cells(reach)
    for item in symbols:
        places.add(item.at, item)

    def past(item: Symbol) -> float:
        near = [other for other in places.within(box_about(item.at, reach)) if other is not item]
        fitting = (past for past in PAST_CIRCLE if not any(_arms_meet(item, other, past) for other in near))
        return next(fitting, PAST_CIRCLE[-1])

    return tuple(map(past, symbols))


def _arms_meet(a: Symbol, b: Symbol, past: float) -> bool:
    """True if an arm of one symbol comes too near to an arm or circle of the other."""
    du, dv = abs(a.at[0] - b.at[0]), abs(a.at[1] - b.at[1])
    arms = arm_a, arm_b = a.radius + past, b.radius + past
    reach_a, reach_b = arm_a + _ARMS_APART, arm_b + _ARMS_APART
    crossing = (du < reach_a and dv < reach_b) or (dv < reach_a and du < reach_b)
    in_line = min(du, dv) < _ARMS_APART and max(du, dv) < arm_a + reach_b
    return (
        crossing
        or in_line
        or any(
            math.hypot(max(0.0, along - arm), off) < other.radius + _ARMS_APART
            for arm, other in zip(arms, (b, a), strict=True)
            for along, off in ((du, dv), (dv, du))
        )
    )


def common_place(items: list[tuple[Symbol, float]], layout: Layout) -> tuple[float, int]:
    """Return the type size and the place beside the cross that suit most of some symbols' labels, so that they agree.

    Not all are asked where there are many; ``items`` are symbols with the length of their arms.
    """
    asked, best, most = items[:_ASKED], (items[0][0].sizes[0], 0), -1
    for size in items[0][0].sizes:
        places = [_near(item, arm, item.labels[0], size)[:_BESIDE] for item, arm in asked]
        for number, alike in enumerate(zip(*places, strict=True)):
            # Misses are counted no further than to where the place suits no more than the best one does.
            misses = sum(islice((1 for place in alike if not layout.free(place)), len(asked) - most))
            if len(asked) - misses > most:
                best, most = (size, number), len(asked) - misses
        if most == len(asked):
            break
    return best


def label_marks(item: Symbol, arm: float, layout: Layout, common: tuple[float, int]) -> tuple[Mark, ...]:
    """Return the label, with a leader if it had to go further off; take its place in the layout.

    Places are tried from the best on, the ``common`` one before all; the first that touches nothing is taken. If there
    is none, the id stands at the nearest place in the smallest size: a hole without a name is worse than a crowded one.
    """
    free = (
        one for one in _choices(item, arm, common)
        if layout.free(one[2]) and (not one[3] or layout.free_line(*one[3]))
    )  # fmt: skip
    text, size = item.labels[-1], item.sizes[-1]
    text, size, place, leader = next(free, (text, size, _near(item, arm, text, size)[0], None))
    mark = Text((place[0], place[1] + DESCENT * size), text, size, Group.LABEL, id=item.id)
    layout.add(mark)
    if not leader:
        return (mark,)
    layout.add_segment(*leader)
    return mark, Line(*leader, Pen.NARROW, Group.LABEL)


def _choices(
    item: Symbol, arm: float, common: tuple[float, int]
) -> Iterator[tuple[str, float, Box, tuple[Point, Point] | None]]:
    """Yield text, type size and place, the best first: beside the hole; then the id further off, with its leader."""
    yield item.labels[0], common[0], _near(item, arm, item.labels[0], common[0])[common[1]], None
    for text, size in product(item.labels, item.sizes):
        yield from ((text, size, place, None) for place in _near(item, arm, text, size))
    (u, v), extent = item.at, _extent(text, size)
    off = max(item.clear, item.radius * (1.42 if item.group is Group.SECOND_SCREW else 1.0)) + 0.5
    for reach, degrees, way in product((3.0, 6.0, 10.0, 15.0, 21.0, 28.0), (45.0, 30.0, 60.0), _WAYS):
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        du, dv = (arm + reach) * cos, (arm + reach) * sin
        ends = [(u + way[0] * cos * by, v + way[1] * sin * by) for by in (off, arm + reach)]
        yield text, size, _corner_box(item.at, du + 3 * CLEARANCE, dv, extent, way), (ends[0], ends[1])


def _near(item: Symbol, arm: float, text: str, size: float) -> list[Box]:
    """Return boxes in the four corners of the cross, then at the ends of its arms."""
    width, height = extent = _extent(text, size)
    r = max(item.radius, item.clear)
    beside, beyond, end = 2 * CLEARANCE, r + 2 * CLEARANCE, max(arm, r) + 2 * CLEARANCE
    slant = beyond if item.group is Group.SECOND_SCREW else r * math.sqrt(0.5) + CLEARANCE
    places = [(du, dv, way) for du, dv in ((beside, beyond), (beyond, beside), (slant, slant)) for way in _WAYS]
    places += ((end, -height / 2, (1, 1)), (end, -height / 2, (-1, 1)))
    places += ((-width / 2, end, (1, 1)), (-width / 2, end, (1, -1)))
    return [_corner_box(item.at, du, dv, extent, way) for du, dv, way in places]


def _extent(text: str, size: float) -> Point:
    return text_width(text, size), (ASCENT + DESCENT) * size


def _corner_box(at: Point, du: float, dv: float, extent: Point, way: tuple[int, int]) -> Box:
    width, height = extent
    u0 = at[0] + du if way[0] > 0 else at[0] - du - width
    v0 = at[1] + dv if way[1] > 0 else at[1] - dv - height
    return (u0, v0, u0 + width, v0 + height)
