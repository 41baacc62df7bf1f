"""Named sources of error, each with one standard deviation and its origin, and what they do to the holes of a sheet.

Combined standard uncertainties are to first order (JCGM 100:2008, GUM, clause 5). A source that several holes share, as
the printer's scale, a seam or the laying of the sheet, is one variable: what is common cancels in a difference.
"""

import math
from collections import deque
from functools import cached_property
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.drawing.marks import Group, Polyline
from templater.maths import Linear, Variable, least_squares
from templater.paper.tiles import TiledSheet
from templater.plane.shapes import Box, Point, around, box_corners
from templater.standards.tables import read_table
from templater.units import MM

#: Coverage of an allowed error: two standard deviations hold 95 of 100 good sheets. Source: JCGM 100:2008, 6.3.3.
COVERAGE = 2.0
#: Class II tape, maximum permissible error a + b L (L in whole metres, rounded up) plus c at the hook, mm.
#: Source: Directive 2014/32/EU, Annex X (MI-008), chapter I.
TAPE_A, TAPE_B, TAPE_C = 0.3, 0.2, 0.2


class Source(NamedTuple):
    """A named source of error."""

    name: str
    sigma: float  # one standard deviation, in ``unit``
    unit: str
    origin: str  # where the figure comes from
    cure: str = ""
    key: str = ""  # of the builder's own figure in the description


class Sources(NamedTuple):
    """Every source of the budget. Lengths mm, angles degrees, scales mm per mm, humidity per cent."""

    items: tuple[Source, ...]

    def of(self, name: str) -> Source:
        """Return one source."""
        return next(item for item in self.items if item.name == name)

    def variable(self, name: str) -> Linear:
        """Return zero with a new variable of a source; without one if the source has no error."""
        sigma = self.of(name).sigma
        return Linear(0.0, {Variable(name, sigma): 1.0} if sigma else {})

    def tapes(self) -> Linear:
        """Return the error of a difference of two readings of the tape."""
        return self.variable(TAPE) - self.variable(TAPE)


class Budget(NamedTuple):
    """A combined standard uncertainty."""

    what: str  # what it is the uncertainty of
    unit: str  # mm or degrees
    value: float  # nominal
    sigma: float  # one combined standard deviation
    parts: tuple[tuple[str, float], ...]  # source name and its share as a standard deviation, largest first

    @property
    def largest(self) -> str:
        """Name of the largest contributor."""
        return self.parts[0][0] if self.parts else ""


def budget(what: str, unit: str, result: Linear) -> Budget:
    """Return the budget of a value whose variables bear their sources' names."""
    squares: dict[str, float] = {}
    for one, part in result.parts.items():
        squares[one.name] = squares.get(one.name, 0.0) + (part * one.sigma) ** 2
    parts = [(name, math.sqrt(square)) for name, square in squares.items() if square > 0]
    parts.sort(key=lambda part: (-part[1], part[0]))
    return Budget(what, unit, result.value, math.sqrt(sum(squares.values())), tuple(parts))


SCALE = "printer scale"
HUMIDITY = "paper movement with humidity"
SEAM = "seam shift"
SEAM_ANGLE = "seam rotation"
LAYING = "laying the sheet on the lines"
PUNCH = "punching"
DRILL = "drill wander"
LEAN = "drill lean"
TAPE = "tape reading"
TAPE_SCALE = "tape's own error"
LINE = "pencil line"
PIVOT = "finding the steering pivot axis"
CHOCKS = "placing the chocks"
PLAY = "play of the bolt"

#: A usual distance of the two registration marks of a seam on A4 and Letter, mm: 130 to 210 on the demo boats' sheets.
_MARKS_APART = 150.0

#: Paper movement, mm per mm for one per cent of relative humidity, along and across the grain: 0.15 % and 0.30 %
#: (middle of the typical values of a paper-trade page) for a change from 35 to 65 per cent; the change is from memory.
ALONG_GRAIN, ACROSS_GRAIN = 0.0015 / 30, 0.0030 / 30


def tape_limit(length: float) -> float:
    """Return the largest permissible error of a class II tape over ``length`` mm from its hook, mm: a + b L + c."""
    return TAPE_A + TAPE_B * math.ceil(length / 1000 - 1e-12) + TAPE_C


def rectangular(half_width: float) -> float:
    """Return the standard deviation of a rectangular distribution. Source: JCGM 100:2008, 4.3.7."""
    return half_width / math.sqrt(3)


def default_sources(boat: Boat, *, printer: float | None = None) -> Sources:
    """Return the builder's own figures, else stated defaults; ``printer`` is the sd of a profile's scale, mm per mm."""
    items: list[Source] = []
    for usual in read_table("errors", Source):
        given, by = getattr(boat.description.accuracy, usual.key), "the description"
        if given is None and usual.name == SCALE:
            given, by = printer, "the printer's profile"
        if given is not None:
            items.append(usual._replace(sigma=given, origin=by))
        elif usual.name == SEAM_ANGLE:
            seam = items[-1].sigma
            origin = f"default: {MM.size(seam, 3)} at each of two marks {MM.size(_MARKS_APART)} apart"
            items.append(usual._replace(sigma=math.degrees(math.sqrt(2) * seam / _MARKS_APART), origin=origin))
        else:
            items.append(usual._replace(origin=f"default: {usual.origin}"))
    longest = max((figure.slant for figure in boat.tape), default=boat.settings[-1].station)
    tape = f"class II tape over {longest / 1000:.1f} m, rectangular: Directive 2014/32/EU, Annex X"
    items.append(Source(TAPE_SCALE, rectangular(tape_limit(longest)), "mm", tape, "one tape for everything"))
    play = boat.play.fore_aft / 2
    items.append(Source(PLAY, rectangular(play), "mm", "least of slot and sleeve, rectangular", "a closer slot"))
    return Sources(tuple(items))


def centring(boat: Boat, sources: Sources) -> float:
    """Return how far the plank's middle may lie off the centreline on its first bolt, one standard deviation, mm.

    As the builder says, else worked out: the middle is that between the chock corners; holes of floor and plank count
    with laying, pricking and drilling, the floor's with its lean too, the printer's scale over the half spread, the
    bolt's play athwart, and the chocks.
    """
    said = boat.description.accuracy.centring
    if said is not None:
        return said
    hole = sum(sources.of(name).sigma ** 2 for name in (LAYING, PUNCH, DRILL))
    lean = math.radians(sources.of(LEAN).sigma) * boat.description.floor.thickness
    scale = sources.of(SCALE).sigma * boat.description.fixing.half_spread
    play = rectangular(boat.play.athwart / 2)
    return math.sqrt(2 * hole + lean**2 + 2 * scale**2 + play**2 + sources.of(CHOCKS).sigma ** 2 / 2)


#: Errors of a place both ways, mm: along u and v, or aft and to starboard.
Error = tuple[Linear, Linear]
Cell = tuple[int, int]


class SheetErrors:
    """Errors of the holes of one sheet, as linear forms in the sheet frame; each shared variable is made once.

    ``printer`` holds those of its scale, the same for every sheet; ``thickness`` is that of the wood drilled, mm.
    """

    def __init__(
        self, sheet: TiledSheet, sources: Sources, thickness: float = 0.0, printer: dict[str, Linear] | None = None
    ) -> None:
        self.sheet, self.sources, self.thickness = sheet, sources, thickness
        self._shared = dict(printer or {})
        # Places are counted from the middle of the sheet's holes; it has no part in the result.
        places = [hole.at for hole in sheet.drawing.holes] or box_corners(sheet.drawing.box)
        self._middle = _middle(around(places))

    def shared(self, key: str, source: str) -> Linear:
        """Return the variable of a source that several holes share, made once for each key."""
        if key not in self._shared:
            self._shared[key] = self.sources.variable(source)
        return self._shared[key]

    def error(self, at: Point) -> Error:
        """Return the error (du, dv) of a hole at ``at``, from paper to the far face of the wood."""
        du, dv = self.paper_error(at)
        move_u, move_v, turn = self._laid
        u, v = self._from_middle(at)
        own, lean = self.sources.variable, math.radians(1) * self.thickness
        return (
            du + move_u - turn * v + own(PUNCH) + own(DRILL) + lean * own(LEAN),
            dv + move_v + turn * u + own(PUNCH) + own(DRILL) + lean * own(LEAN),
        )

    def _from_middle(self, at: Point) -> Point:
        return at[0] - self._middle[0], at[1] - self._middle[1]

    @cached_property
    def _laid(self) -> tuple[Linear, Linear, Linear]:
        """How the assembled sheet is moved and turned when its windows are laid on the pencilled lines.

        All windows show the lines as well as they can together: least squares, each window with an error of its own and
        the printed line's. A sheet without windows enough is taken as laid on both lines near its longer side's ends.
        """
        boxes = [
            around(mark.points)
            for mark in self.sheet.drawing.marks
            if isinstance(mark, Polyline) and mark.group is Group.SIGHT and not mark.filled
        ]
        # A window's line runs along its longer side.
        windows = [(_middle(box), box[2] - box[0] > box[3] - box[1]) for box in boxes]
        u0, v0, u1, v1 = whole = self.sheet.drawing.box
        u, v = _middle(whole)
        far = 0.4 * max(u1 - u0, v1 - v0)
        ends = [(u - far, v), (u + far, v)] if u1 - u0 >= v1 - v0 else [(u, v - far), (u, v + far)]
        for looked in (windows, [(end, along_u) for end in ends for along_u in (True, False)]):
            rows, offs = [], []
            for number, (at, line_along_u) in enumerate(looked):
                du, dv = self.paper_error(at)
                from_u, from_v = self._from_middle(at)
                # A line along u shows only how far the sheet is off along v, and the other way about.
                rows.append((0.0, 1.0, from_u) if line_along_u else (1.0, 0.0, -from_v))
                offs.append(self.shared(f"window {number}", LAYING) - (dv if line_along_u else du))
            if rows and (solver := least_squares(rows)) is not None:
                break
        assert solver is not None  # both lines at two places leave no sheet free
        move_u, move_v, turn = (
            sum((float(weight) * off for weight, off in zip(row, offs, strict=True)), Linear()) for row in solver.gains
        )
        return move_u, move_v, turn

    def paper_error(self, at: Point) -> Error:
        """Return the error of a mark on the assembled paper, relative to the middle of the sheet's holes."""
        paper, sideways = self.sheet.paper, self.sheet.sideways
        # Across and along as the printer sees them: a page that lies sideways is turned on its way to it.
        ways = ("along", "across") if sideways else ("across", "along")
        scale_u, scale_v = (self.shared(way, SCALE) for way in ways)
        humidity = self.shared("humidity", HUMIDITY)
        grain_u, grain_v = ACROSS_GRAIN, ALONG_GRAIN
        # The grain runs along a roll, and along a cut paper's longer side. Source: from memory; cut papers with the
        # grain along the shorter side are sold too, mostly in larger sizes.
        if sideways if paper.height is None else (paper.width > paper.height) != sideways:
            grain_u, grain_v = grain_v, grain_u
        u, v = self._from_middle(at)
        du, dv = (scale_u + grain_u * humidity) * u, (scale_v + grain_v * humidity) * v
        for key, (mu, mv) in self._ways.get(self._cell(at), ()):
            turn = math.radians(1) * self.shared(f"turn {key}", SEAM_ANGLE)
            du = du + self.shared(f"shift u {key}", SEAM) - turn * (at[1] - mv)
            dv = dv + self.shared(f"shift v {key}", SEAM) + turn * (at[0] - mu)
        return du, dv

    def _cell(self, at: Point) -> Cell:
        """Return row and column of the printed tile whose own part holds a point, or of the nearest one."""
        column = sum(1 for seam in self.sheet.column_seams if at[0] >= seam)
        row = sum(1 for seam in self.sheet.row_seams if at[1] <= seam)
        # The middle may lie on a tile that is left blank: a neighbour holds the sheet together just as well.
        return min(self._windows, key=lambda cell: (abs(cell[0] - row) + abs(cell[1] - column), cell))

    @cached_property
    def _windows(self) -> dict[Cell, Box]:
        """What each printed tile shows of the sheet, by row and column."""
        return {(tile.row, tile.column): tile.window for tile in self.sheet.tiles}

    @cached_property
    def _ways(self) -> dict[Cell, list[tuple[str, Point]]]:
        """The seams crossed from the middle's tile to each other one, fewest first, with their middles."""
        start = self._cell(self._middle)
        ways: dict[Cell, list[tuple[str, Point]]] = {start: []}
        queue = deque([start])
        while queue:
            row, column = here = queue.popleft()
            for step in ((row, column + 1), (row, column - 1), (row + 1, column), (row - 1, column)):
                if step in self._windows and step not in ways:
                    ways[step] = [self._seam(here, step), *ways[here]]
                    queue.append(step)
        return ways

    def _seam(self, a: Cell, b: Cell) -> tuple[str, Point]:
        """Return the seam between two neighbouring tiles and its middle."""
        first, second = sorted((a, b))
        u, v = _middle(self._windows[first])
        if first[0] == second[0]:
            return f"{first}{second}", (self.sheet.column_seams[first[1]], v)
        return f"{first}{second}", (u, self.sheet.row_seams[first[0]])


def _middle(box: Box) -> Point:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def allowed_error(sheet: TiledSheet, sources: Sources, a: str, b: str) -> float:
    """Return the error allowed between two marks, by id, of the assembled sheet, mm, reading the tape included.

    Printing, humidity and every seam between the two count; laying, pricking and drilling come later. Raises KeyError
    if the sheet has no such mark.
    """
    places = {hole.id: hole.at for hole in (*sheet.drawing.holes, *sheet.drawing.expected)}
    places.update({mark.id: mark.at for mark in sheet.registrations})
    errors = SheetErrors(sheet, sources)
    (a_at, a_error), (b_at, b_error) = ((places[name], errors.paper_error(places[name])) for name in (a, b))
    along = apart(a_at, b_at, a_error, b_error, math.dist(a_at, b_at))
    return COVERAGE * budget(f"{a} to {b}", "mm", along + sources.variable(TAPE)).sigma


def apart(a: Point, b: Point, a_error: Error, b_error: Error, distance: float) -> Linear:
    """Return the distance between two places with its error, from theirs."""
    x, y = b[0] - a[0], b[1] - a[1]
    return distance + ((b_error[0] - a_error[0]) * x + (b_error[1] - a_error[1]) * y) / distance
