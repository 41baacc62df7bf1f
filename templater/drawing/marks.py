"""The few kinds of marks that every drawing is made of, all frozen, all in mm.

A drawing's frame is the sheet frame: u to the right, v up, as the reader looks at the sheet lying on the wood with
forward up. For an upper face ``u = y, v = -x`` of the boat frame; for an under face ``u = -y, v = -x``. A drawing
knows no paper.
"""

import math
from collections.abc import Callable, Iterable
from enum import Enum
from itertools import pairwise
from typing import NamedTuple

from templater.plane.shapes import Box, Point, around, box_corners, grow, segment_box, union
from templater.standards.typeface import text_width


class Pen(Enum):
    """Line types after ISO 128-2, widths after ISO 128-24 (wide to narrow 2:1, here 0.5 and 0.25 mm)."""

    WIDE = "01.2"  # continuous wide: visible edges, hole circles
    NARROW = "01.1"  # continuous narrow: crosshair arms, dimensions, hatching
    DASHED = "02.1"  # dashed narrow: hidden edges, the other of two boats
    CHAIN = "04.1"  # long-dash dot narrow: centrelines, bolt lines
    CHAIN_WIDE = "04.2"  # long-dash dot wide: limits of a keep-clear area
    PHANTOM = "05.1"  # long-dash double-dot narrow: adjacent parts


#: Line widths, mm. Source: ISO 128-24 pen series; wide to narrow 2:1.
WIDTHS = {pen: 0.5 if pen in (Pen.WIDE, Pen.CHAIN_WIDE) else 0.25 for pen in Pen}

#: Dash patterns, mm, mark and gap in turn; empty is continuous. Long dash 24d, dash 12d, gap 3d, dot 0.5d for
#: line width d. Source: ISO 128-2, from memory.
PATTERNS: dict[Pen, tuple[float, ...]] = {
    Pen.WIDE: (),
    Pen.NARROW: (),
    Pen.DASHED: (3.0, 0.75),
    Pen.CHAIN: (6.0, 0.75, 0.125, 0.75),
    Pen.CHAIN_WIDE: (12.0, 1.5, 0.25, 1.5),
    Pen.PHANTOM: (6.0, 0.75, 0.125, 0.75, 0.125, 0.75),
}


class Group(Enum):
    """What a mark is for; becomes the group id in SVG."""

    HOLE = "holes"  # circle and crosshair of a bolt, sleeve or fitting hole
    FIRST_SCREW = "first-screws"
    SECOND_SCREW = "second-screws"
    PLATE = "plates"
    OUTLINE = "outline"
    CENTRELINE = "centrelines"
    SIGHT = "sight-windows"
    KEEP_CLEAR = "keep-clear"
    LABEL = "labels"
    NOTE = "notes"
    CUT = "cut"
    COUNTERSINK = "countersinks"
    EXPECTED = "expected"  # a place to expect: a hole that is marked at fit-up, nothing to prick
    OVERLAY = "overlay"
    REGISTRATION = "registration"  # put there by paper/
    BAR = "bars"  # put there by paper/
    FRAME = "frame"  # put there by paper/: title data, trim edges, tile map


#: Groups that never make a tile worth printing by themselves: a tile with nothing else is blank.
CONTEXT = (Group.OUTLINE, Group.CENTRELINE, Group.NOTE, Group.KEEP_CLEAR)


class Anchor(Enum):
    """Which point of the text stands at ``at``, along the reading direction; always on the base line."""

    START = "start"
    MIDDLE = "middle"
    END = "end"

    @property
    def part(self) -> float:
        """How much of the text's width lies before ``at``."""
        return {"start": 0.0, "middle": 0.5, "end": 1.0}[self.value]


class Line(NamedTuple):
    """A straight line. ``phase`` is the length of pattern already used up at ``a``, mm, for chained and dashed pens."""

    a: Point
    b: Point
    pen: Pen
    group: Group
    id: str = ""
    phase: float = 0.0


class Circle(NamedTuple):
    """A full circle."""

    centre: Point
    diameter: float
    pen: Pen
    group: Group
    id: str = ""


class Arc(NamedTuple):
    """Part of a circle, from ``start`` to ``end`` degrees, anticlockwise from u; end greater than start."""

    centre: Point
    radius: float
    start: float
    end: float
    pen: Pen
    group: Group
    id: str = ""

    def point(self, degrees: float) -> Point:
        """Return the point of its circle at an angle."""
        (u, v), t = self.centre, math.radians(degrees)
        return u + self.radius * math.cos(t), v + self.radius * math.sin(t)


class Polyline(NamedTuple):
    """Straight pieces through ``points``; ``filled`` means filled black, without outline.

    ``bulges``, in outlines for a shop only, are one for each point: the tangent of a quarter of the angle of the arc
    that starts there, positive anticlockwise, 0 for a straight piece (as in DXF).
    """

    points: tuple[Point, ...]
    closed: bool
    pen: Pen
    group: Group
    id: str = ""
    filled: bool = False
    bulges: tuple[float, ...] = ()

    @property
    def corners(self) -> tuple[Point, ...]:
        """The points; of a closed line the first comes again at the end."""
        return (*self.points, self.points[0]) if self.closed else self.points


class Text(NamedTuple):
    """One line of text. ``size`` is the type size (em) in mm; ``turn`` anticlockwise quarter turns, 0 to 3."""

    at: Point
    text: str
    size: float
    group: Group
    anchor: Anchor = Anchor.START
    turn: int = 0
    bold: bool = False
    id: str = ""

    @property
    def way(self) -> tuple[int, int]:
        """The reading direction, one unit long."""
        return ((1, 0), (0, 1), (-1, 0), (0, -1))[self.turn % 4]

    @property
    def start(self) -> Point:
        """The start of the base line."""
        if self.anchor is Anchor.START:  # nearly all are, and their width costs time
            return self.at
        back, (cos, sin) = text_width(self.text, self.size, bold=self.bold) * self.anchor.part, self.way
        return self.at[0] - back * cos, self.at[1] - back * sin


class Cross(NamedTuple):
    """A crosshair: two lines of half length ``arm`` that cross at ``centre``, along u and v or turned by 45 degrees."""

    centre: Point
    arm: float
    group: Group
    id: str = ""
    pen: Pen = Pen.NARROW
    diagonal: bool = False

    @property
    def arms(self) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
        """The two lines, end to end through the centre."""
        (u, v), arm, leg = self.centre, self.arm, self.arm * math.sqrt(0.5)
        if self.diagonal:
            return ((u - leg, v - leg), (u + leg, v + leg)), ((u - leg, v + leg), (u + leg, v - leg))
        return ((u - arm, v), (u + arm, v)), ((u, v - arm), (u, v + arm))


class Curve(NamedTuple):
    """A closed path of cubic Bezier pieces, (control, control, end) each: what a correction makes of a circle."""

    start: Point
    pieces: tuple[tuple[Point, Point, Point], ...]
    pen: Pen
    group: Group
    id: str = ""


def closed(
    points: Iterable[Point], pen: Pen = Pen.WIDE, group: Group = Group.OUTLINE, *, filled: bool = False
) -> Polyline:
    """Return a closed outline."""
    return Polyline(tuple(points), closed=True, pen=pen, group=group, filled=filled)


def rectangle(box: Box, pen: Pen = Pen.WIDE, group: Group = Group.OUTLINE, *, filled: bool = False) -> Polyline:
    """Return a box as a closed outline."""
    return closed(box_corners(box), pen, group, filled=filled)


Mark = Line | Circle | Arc | Polyline | Text | Cross | Curve

#: Name, among what a drawing keeps whole, of boxes that hold nothing but words.
WORDS = "words"

#: Smallest type size, mm: 6 pt of 1/72 inch.
SMALLEST_TYPE = 2.12

#: Ink above and below the base line as parts of the type size. Source: the glyph bounds of the shipped font files:
#: letters l, b, d reach 0.76; g, p, y hang 0.21 to 0.24; brackets and the diameter sign lie between.
ASCENT = 0.77
DESCENT = 0.24


class SheetHole(NamedTuple):
    """A hole in the sheet frame; ``kind`` is the value of the boat's hole kind as plain text."""

    id: str
    at: Point
    diameter: float
    kind: str


class Drawing(NamedTuple):
    """One whole sheet.

    Each of ``holes`` has a ``Cross`` and a ``Circle`` (screws of the second set: a square) of its ``id`` among the
    marks. ``keep`` are the boxes that no seam should cut, each after what it is called if one does: a plate, a sight
    window; nothing for those of holes, ``WORDS`` for words, which may be moved.
    """

    name: str  # of the sheet and its files: ``floor``, ``plank``, ``plates``, ``spare-plates``
    title: str  # for people, ``Cockpit floor``
    face: str  # of the wood it goes on: ``upper``, ``under``; ``template`` for cut-out parts, ``none`` for no template
    marks: tuple[Mark, ...]
    holes: tuple[SheetHole, ...]
    keep: tuple[tuple[str, Box], ...]
    box: Box  # of all marks
    mirrored: bool = False  # True for an under face
    expected: tuple[SheetHole, ...] = ()  # holes that are marked at fit-up, shown without a cross, never pricked


def pieces(outline: Polyline) -> tuple[Line | Arc, ...]:
    """Return the straight pieces and arcs of an outline, in its order."""
    bulges = outline.bulges or (0.0,) * len(outline.points)
    found: list[Line | Arc] = []
    for (a, b), bulge in zip(pairwise(outline.corners), bulges, strict=False):
        if not bulge:
            found.append(Line(a, b, outline.pen, outline.group, outline.id))
            continue
        # The centre lies left of the chord's middle by chord (1 - b²) / (4 b), the bulge b being tan(angle / 4).
        shift = (1 - bulge**2) / (4 * bulge)
        centre = ((a[0] + b[0]) / 2 - (b[1] - a[1]) * shift, (a[1] + b[1]) / 2 + (b[0] - a[0]) * shift)
        first, sweep = a if bulge > 0 else b, math.degrees(4 * math.atan(abs(bulge)))
        start = math.degrees(math.atan2(first[1] - centre[1], first[0] - centre[0]))
        found.append(Arc(centre, math.dist(a, centre), start, start + sweep, outline.pen, outline.group, outline.id))
    return tuple(found)


def mark_box(mark: Mark) -> Box:
    """Return the box of a mark, its pen width left out; of a text, what a line of such letters fills."""
    if isinstance(mark, Text):
        width = text_width(mark.text, mark.size, bold=mark.bold)
        (u, v), (cos, sin), before = mark.at, mark.way, width * mark.anchor.part
        ends = ((-before, -DESCENT * mark.size), (width - before, ASCENT * mark.size))  # along the base line and across
        return segment_box(*((u + along * cos - up * sin, v + along * sin + up * cos) for along, up in ends))
    if isinstance(mark, Line):
        return segment_box(mark.a, mark.b)
    if isinstance(mark, Polyline):
        return union(*(mark_box(piece) for piece in pieces(mark))) if mark.bulges else around(mark.points)
    if isinstance(mark, Curve):
        return around((mark.start, *(point for piece in mark.pieces for point in piece)))
    if isinstance(mark, Arc):
        quarters = [q * 90.0 for q in range(math.ceil(mark.start / 90), math.floor(mark.end / 90) + 1)]
        return around(mark.point(degrees) for degrees in (mark.start, mark.end, *quarters))
    half = mark.diameter / 2 if isinstance(mark, Circle) else mark.arm * (math.sqrt(0.5) if mark.diagonal else 1.0)
    return grow((*mark.centre, *mark.centre), half)


def put(mark: Mark, go: Callable[[Point], Point], scale: float = 1.0) -> Mark:
    """Return a mark with its points moved; ``scale`` is for the size of what has a centre."""
    if isinstance(mark, Line):
        return Line(go(mark.a), go(mark.b), *mark[2:])
    if isinstance(mark, Text):
        return Text(go(mark.at), *mark[1:])
    if isinstance(mark, Polyline):
        return mark._replace(points=tuple(map(go, mark.points)))
    if isinstance(mark, Curve):
        return mark._replace(start=go(mark.start), pieces=tuple((go(a), go(b), go(c)) for a, b, c in mark.pieces))
    if isinstance(mark, Circle):
        return mark._replace(centre=go(mark.centre), diameter=scale * mark.diameter)
    if isinstance(mark, Arc):
        return mark._replace(centre=go(mark.centre), radius=scale * mark.radius)
    return mark._replace(centre=go(mark.centre), arm=scale * mark.arm)


def shift(mark: Mark, du: float, dv: float) -> Mark:
    """Return a mark moved."""
    return put(mark, lambda point: (point[0] + du, point[1] + dv))


def in_groups(marks: Iterable[Mark]) -> list[Mark]:
    """Return marks in the order of ``Group``, those of a group in their own."""
    order = {group: number for number, group in enumerate(Group)}
    return sorted(marks, key=lambda mark: order[mark.group])


def texts_of(marks: Iterable[Mark]) -> list[str]:
    """Return the texts among ``marks``, in their order."""
    return [mark.text for mark in marks if isinstance(mark, Text)]
