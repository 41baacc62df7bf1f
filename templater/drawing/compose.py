"""What all sheets are put together from: symbols, lines with sight windows, hatching, arrow, blocks of text."""

import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from templater.drawing import marks
from templater.drawing.labels import Layout, Symbol, arms_past, common_place, label_marks, symbol_marks
from templater.drawing.marks import WORDS, Drawing, Group, Line, Mark, Pen, Text, mark_box
from templater.plane import shapes
from templater.plane.shapes import Box, Point, box_about, clip_segment, edges, grow, union
from templater.standards.tables import paragraphs, said
from templater.standards.typeface import text_width, wrap
from templater.units import MM, Figures, mm_text

#: A sight window along its line and across it, mm.
WINDOW = (24.0, 12.0)
#: Length of the index beside a sight window, laid on the pencilled line, mm; its arrowhead's tip touches the window.
INDEX = 3.0
#: Distance of base lines in a block as part of the type size.
LEADING = 1.3
#: Type sizes of blocks of text and of headings, mm.
BODY, HEADING = 2.6, 4.0
#: Distance of the places that are tried for a block, mm, and how many of them on each side.
_STEP, _REACH = 3.0, 60


class Words(NamedTuple):
    """A block of lines, top down; with ``head`` the first of them is a heading."""

    lines: tuple[str, ...]
    size: float = BODY
    bold: bool = False
    head: bool = False
    group: Group = Group.NOTE

    @property
    def sized(self) -> list[tuple[str, float, bool]]:
        """The lines with their type sizes and faces."""
        looks = [(HEADING, True), *[(self.size, self.bold)] * len(self.lines)][not self.head :]
        return [(text, *look) for text, look in zip(self.lines, looks, strict=False)]

    @property
    def extent(self) -> Point:
        """Width and height of the block, mm."""
        sized = self.sized
        return max(text_width(t, s, bold=b) for t, s, b in sized), sum(LEADING * s for _, s, _ in sized)


class Sheet:
    """Collects the marks of one sheet, its holes, what no seam should cut, and where text may stand.

    Its notes tell the boat's name, lengths as ``figures`` write them, and how many ``warnings`` there are.
    """

    def __init__(self, boat: str = "", figures: Figures = MM, warnings: Sequence[str] = ()) -> None:
        self.boat, self.figures, self._warnings = boat, figures, warnings
        self.marks: list[Mark] = []
        self.holes: list[marks.SheetHole] = []
        self.expected: list[marks.SheetHole] = []
        self.keep: list[tuple[str, Box]] = []
        self.layout = Layout()
        self._symbols: list[tuple[Symbol, float]] = []
        self._measured, self._boxes = 0, list[Box]()

    def add(self, *drawn: Mark) -> None:
        """Draw marks, and keep later text clear of them."""
        for mark in drawn:
            self.marks.append(mark)
            self.layout.add(mark)

    def add_symbols(self, symbols: Iterable[Symbol]) -> None:
        """Draw holes without their labels; ``add_labels`` follows when everything that labels must clear is drawn."""
        items = tuple(symbols)
        for item, past in zip(items, arms_past(items), strict=True):
            self.add(*symbol_marks(item, past))
            hole = marks.SheetHole(item.id, item.at, item.diameter, item.kind)
            (self.expected if item.group is Group.EXPECTED else self.holes).append(hole)
            self._symbols.append((item, item.radius + past))

    def add_labels(self) -> None:
        """Write the labels of all holes drawn so far."""
        alike: dict[Group, list[tuple[Symbol, float]]] = {}
        for one in self._symbols:
            alike.setdefault(one[0].group, []).append(one)
        common = {kind: common_place(items, self.layout) for kind, items in alike.items()}
        for item, arm in self._symbols:
            label = label_marks(item, arm, self.layout, common[item.group])
            self.marks.extend(label)
            self.keep.append(("", union(box_about(item.at, arm), *map(mark_box, label))))
        self._symbols.clear()

    def add_axis(self, start: float, end: float, at: float, *, along_u: bool, windows: Iterable[Box] = ()) -> None:
        """Draw a level or upright line that leaves room for crosses on it and stops at sight windows.

        Beside each window the line is unbroken and ends in an arrowhead: the index for the pencilled line.
        """
        across, along = (1, 0) if along_u else (0, 1)
        on_it = [(item.at[along], arm) for item, arm in self._symbols if abs(item.at[across] - at) < 0.01]
        openings = [(box[along], box[along + 2]) for box in windows]
        index = [(a - INDEX, a) for a, _ in openings] + [(b, b + INDEX) for _, b in openings]

        def line(a: float, b: float, kind: Pen) -> Line:
            ends = ((a, at), (b, at)) if along_u else ((at, a), (at, b))
            return Line(*ends, kind, Group.CENTRELINE)

        taken = (*openings, *index, *((middle - arm, middle + arm) for middle, arm in on_it))
        stretches = [(max(a, start), min(b, end)) for a, b in taken if a < end and b > start]
        self.add(*(line(a, b, Pen.CHAIN) for a, b in shapes.left_over(start, end, stretches, 0.5)))
        self.add(*(line(a, b, Pen.NARROW) for a, b in index))
        for tip, way in ((tip, way) for a, b in openings for tip, way in ((a, -2.4), (b, 2.4))):
            head = ((tip, at), (tip + way, at - 0.8), (tip + way, at + 0.8))
            points = head if along_u else ((v, u) for u, v in head)
            self.add(marks.closed(points, Pen.NARROW, Group.SIGHT, filled=True))

    def free_window(self, middles: Iterable[Point], *, along_u: bool, inside: tuple[Point, ...] = ()) -> Box | None:
        """Return the first sight window about one of ``middles`` that touches nothing, nor does its index; or None.

        ``inside`` are the corners of an area that the window must not leave.
        """
        long, wide = (length / 2 for length in WINDOW)
        extents = (long, wide), (long + INDEX + 0.5, 1.0)  # of the window and of its index
        for middle in middles:
            box, index = (box_about(middle, *(extent if along_u else extent[::-1])) for extent in extents)
            within = not inside or shapes.box_inside(grow(box, 2.0), inside)
            if within and self.layout.free(box, 1.5) and self.layout.free(index, 0.0):
                return box
        return None

    def add_windows(self, boxes: Iterable[Box]) -> None:
        """Draw sight windows: openings to be cut out, through which the pencilled line is seen."""
        for box in boxes:
            self.add(marks.rectangle(box, Pen.NARROW, Group.SIGHT))
            size, wide, (u, v) = 2.2, box[2] - box[0] > box[3] - box[1], shapes.middle_of(box)
            at = (u, v - 0.35 * size) if wide else (u + 0.35 * size, v)
            self.marks.append(Text(at, "cut out", size, Group.SIGHT, marks.Anchor.MIDDLE, turn=0 if wide else 1))
            self.layout.add_box(box)
            self.keep.append((f"sight window at {mm_text(u, 0)}, {mm_text(v, 0)}", box))

    def add_keep_clear(self, corners: tuple[Point, ...], within: Box, lines: tuple[str, ...]) -> None:
        """Draw a keep-clear area's chained border, and its name inside where there is room."""
        self.add(*clipped(edges(corners), within, Pen.CHAIN_WIDE, Group.KEEP_CLEAR))
        (u0, v0, u1, v1), (a, b, c, d), words = shapes.around(corners), within, Words(lines, group=Group.KEEP_CLEAR)
        room = (max(u0, a), max(v0, b), min(u1, c), min(v1, d))
        place = self.free_place(words.extent, shapes.middle_of(room), room, clearance=1.0, inside=corners)
        if place:
            self.write(words, place)

    def add_hatching(self, corners: tuple[Point, ...], within: Box) -> None:
        """Hatch an area at 45 degrees, leaving out holes, labels, windows and words drawn so far."""
        blanks = tuple(grow(box, 1.0) for _, box in self.keep if shapes.boxes_overlap(box, shapes.around(corners)))
        self.add(*clipped(shapes.hatch(corners, 5.0, blanks), within, Pen.NARROW, Group.KEEP_CLEAR))

    def add_block(
        self, words: Words, near: Point, region: Box, *, reach: float = math.inf, below: float | None = None
    ) -> bool:
        """Write a block of words at the free place of a region that brings its middle nearest to a point.

        There may be none within ``reach``. With ``below`` the block then stands below everything drawn so far, its
        left edge there; without, nothing is drawn, and False is returned.
        """
        for clearance in (3.0, 1.2):
            if place := self.free_place(words.extent, near, region, clearance=clearance, reach=reach):
                self.write(words, place)
                return True
        if below is not None:
            self.add_below(words, below)
        return False

    def add_below(self, words: Words, left: float) -> None:
        """Write a block of words below everything drawn so far."""
        (width, height), top = words.extent, self.box()[1] - 3.0
        self.write(words, (left, top - height, left + width, top))

    def free_place(
        self,
        extent: Point,
        near: Point,
        region: Box,
        *,
        clearance: float = 1.5,
        reach: float = math.inf,
        inside: tuple[Point, ...] = (),
    ) -> Box | None:
        """Return the free box of this extent in a region with its middle nearest to a point, or None.

        Its middle is within ``reach`` of the point, and the box with 1 mm to spare ``inside`` an area of such corners.
        """
        for place in _places(region, extent, near):
            if math.dist(near, shapes.middle_of(place)) > reach:
                return None
            if self.layout.free(place, clearance) and (not inside or shapes.box_inside(grow(place, 1.0), inside)):
                return place
        return None

    def write(self, words: Words, place: Box) -> None:
        """Write lines into a box, top down from its upper left corner, and keep the box whole."""
        v = place[3]
        for text, size, bold in words.sized:
            v -= LEADING * size
            self.marks.append(Text((place[0], v + 0.4 * size), text, size, words.group, bold=bold))
        self.layout.add_box(place)
        self.keep.append((WORDS, place))

    def add_arrow(self, foot: Point, words: tuple[str, ...] = ("forward",)) -> None:
        """Draw the arrow that points forward, from ``foot`` up the sheet, and words at its right that move with it."""
        (u, v), block = foot, Words(words, BODY + 0.4)
        tip, right, high = v + 20.0, u + 5.0 + block.extent[0], 3.0 * len(words)
        head = ((u, tip), (u - 2.5, tip - 7.0), (u + 2.5, tip - 7.0))
        self.add(Line(foot, (u, tip - 6.0), Pen.WIDE, Group.NOTE))
        self.add(marks.closed(head, Pen.WIDE, Group.NOTE, filled=True))
        self.keep.append((WORDS, (u - 2.5, v, right, tip)))
        self.write(block, (u + 5.0, v + 3.0, right, v + 6.0 + high))

    def box(self) -> Box:
        """Return the box of all marks, text included."""
        fresh = self.marks[self._measured :]  # most have been measured before
        self._measured, self._boxes = len(self.marks), [union(*self._boxes, *map(mark_box, fresh))]
        return self._boxes[0]

    def notes(self, what: str, texts: Iterable[str], width: float) -> Words:
        """Return a sheet's notes under a heading, at last what rounding did to inches and how many warnings there are.

        ``width`` is the widest line, mm.
        """
        many = len(self._warnings)
        told = f"{many} warning{'s' if many > 1 else ''}: see the job sheet before drilling" if many else ""
        closing = filter(None, (self.figures.rounding_text, told))
        return Words((f"{self.boat}: {what}", *note_lines((*texts, *closing), BODY, width)), head=True)

    def drawing(self, name: str, title: str, face: str, *, mirrored: bool = False) -> Drawing:
        """Return the finished sheet."""
        of = tuple(self.marks), tuple(self.holes), tuple(self.keep), self.box(), mirrored, tuple(self.expected)
        return Drawing(name, title, face, *of)


def clipped(pieces: Iterable[tuple[Point, Point]], within: Box, pen: Pen, group: Group) -> Iterator[Line]:
    """Yield as lines what lies in a box of straight pieces."""
    for a, b in pieces:
        part = clip_segment(a, b, within)
        if part and part[0] != part[1]:
            yield Line(*part, pen, group)


def _places(region: Box, extent: Point, near: Point) -> Iterator[Box]:
    """Yield boxes of one size inside a region, on a grid, the one with its middle nearest to ``near`` first.

    They are made ring by ring, as a free place is mostly found close by.
    """
    width, height = (side / 2 for side in extent)
    across = _grid(region[0] + width, region[2] - width, near[0])
    along = _grid(region[1] + height, region[3] - height, near[1])
    corners = [(u, v) for u in across[:: len(across) - 1 or 1] for v in along[:: len(along) - 1 or 1]]
    inner, outer, furthest = -1.0, 2.1 * _STEP, max((math.dist(corner, near) for corner in corners), default=-1.0)
    while inner < furthest:
        level = [v for v in along if abs(v - near[1]) <= outer]
        places = [(math.dist((u, v), near), u, v) for u in across if abs(u - near[0]) <= outer for v in level]
        for _, u, v in sorted((round(off, 6), u, v) for off, u, v in places if inner < off <= outer):
            yield box_about((u, v), width, height)
        inner, outer = outer, outer * 1.6


def _grid(low: float, high: float, near: float) -> list[float]:
    """Return values from low to high a step apart, up to so many steps from the one nearest to ``near``."""
    middle = min(max(near, low), high)
    return [place for n in range(-_REACH, _REACH + 1) if low <= (place := middle + n * _STEP) <= high]


def note_lines(notes: Iterable[str], size: float, width: float) -> tuple[str, ...]:
    """Return notes in lines, each note begun with a dash."""
    return tuple(line for note in notes for line in wrap(f"– {note}", width, size))


def told(part: str, **figures: object) -> tuple[str, ...]:
    """Return what a part of ``words.txt`` says with these figures; one that is False or empty does not hold."""
    texts = paragraphs(Path(__file__).with_name("words.txt"))
    return tuple(said(next(lines for head, *lines in texts if head == part), figures))
