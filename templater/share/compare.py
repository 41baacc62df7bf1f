"""Two boats side by side: description, holes, the rule; whether A's templates serve B; both floors on one sheet."""

import math
import re
from collections.abc import Iterator
from enum import Enum
from itertools import zip_longest
from typing import Any, NamedTuple, get_args

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.keys import Surface
from templater.drawing.compose import BODY, Sheet, Words, note_lines
from templater.drawing.labels import symbol
from templater.drawing.marks import Circle, Drawing, Group, Line, Mark, Pen, closed, rectangle
from templater.plane.shapes import box_about, grow
from templater.reader.keys import Keys
from templater.reader.values import Number
from templater.units import Figures

#: Two holes less than this apart, mm, are in one place, and bores that differ by no more are alike for a template.
SAME, ALIKE = 5e-4, 0.01
#: How far the centreline runs past the last hole, and the width of the block of words, mm.
_PAST, _BLOCK = 12.0, 110.0
#: What a plate measures, after the description's keys.
_PLATE = ("length", "width", "thickness", "corner radius")
_SCREWS = (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)


class Difference(NamedTuple):
    """One key of the description whose values differ; None where it is not given. Lengths (``length``) are in mm."""

    key: str
    a: str | float | None
    b: str | float | None
    length: bool = False


class HoleMove(NamedTuple):
    """Where a hole of A stands in B, by id."""

    id: str
    on: str
    name: str
    move: tuple[float, float] | None  # B less A, mm, in the part's frame; None if only one has it
    distance: float
    widening: float  # B's diameter less A's
    only_in: str = ""

    @property
    def differs(self) -> bool:
        """True if the hole is elsewhere or of another size."""
        return self.distance > SAME or abs(self.widening) > SAME


class MarginRow(NamedTuple):
    """One setting's runner base and distance to the rule's greatest, mm; None without a rule or the setting."""

    setting: int
    base_a: float | None
    base_b: float | None
    to_max_a: float | None
    to_max_b: float | None


class SheetRow(NamedTuple):
    """Whether A's template of a sheet serves B; the worst is a hole's id or a part's measure, ``distance`` off, mm."""

    sheet: str
    serves: bool
    worst: str
    distance: float


class Comparison(NamedTuple):
    """The whole comparison. ``sheets`` says for each sheet whether A's template serves B within ``tolerance`` mm."""

    a: str  # what the boats are called, never alike
    b: str
    tolerance: float
    differences: tuple[Difference, ...]
    moves: tuple[HoleMove, ...]
    margins: tuple[MarginRow, ...]
    sheets: tuple[SheetRow, ...]

    @property
    def serves(self) -> bool:
        """True if every template of A may be used on B."""
        return all(sheet.serves for sheet in self.sheets)


def compare(a: Boat, b: Boat, tolerance: float = 0.5) -> Comparison:
    """Compare two boats, holes by id: a middle may lie ``tolerance`` mm off, a diameter differ by ``ALIKE``."""
    one, other = ({hole.id: hole for hole in boat.holes} for boat in (a, b))
    names = names_of(a, b)
    moves = tuple(_move(one.get(id_), other.get(id_), *names) for id_ in {**one, **other})
    first, second = ({key: (value, long) for key, value, long in leaves(boat.description)} for boat in (a, b))
    differences = tuple(
        Difference(key, left[0], right[0], left[1] or right[1])
        for key in {**first, **second}
        if (left := first.get(key, _NONE)) != (right := second.get(key, _NONE))
    )
    margins = tuple(
        MarginRow(number, *(s and s.runner_base for s in pair), *(s and s.to_max for s in pair))
        for number, pair in enumerate(zip_longest(a.settings, b.settings), 1)
    )
    sheets = (*(_sheet(surface, moves, tolerance) for surface in Surface), *_plate_sheets(a, b, tolerance))
    return Comparison(*names, tolerance, differences, moves, margins, sheets)


def names_of(a: Boat, b: Boat) -> tuple[str, str]:
    """Return what two boats are called, never alike: by name, revision, as much of the path as differs, or A and B."""

    def ways(boat: Boat, last: str) -> Iterator[str]:
        name, revision = boat.description.boat, boat.description.issue.revision
        path = re.split(r"[/\\]", boat.description.places[""].file)
        tails = ("/".join(path[-number:]) for number in range(1, 9))
        yield name
        yield from (f"{name}, {more}" for more in (f"revision {revision or '-'}", *tails, last))

    return next(pair for pair in zip(ways(a, "A"), ways(b, "B"), strict=True) if pair[0] != pair[1])


_NONE: tuple[None, bool] = (None, False)


def leaves(value: Any, key: str = "", *, length: bool = False) -> Iterator[tuple[str, str | float, bool]]:
    """Yield dotted key, value and whether it is a length (mm) of all that a description says, in order."""
    if isinstance(value, Keys):
        for name, one in value.declared().items():
            kinds = [kind for inner in (one.shape, *get_args(one.shape)) for kind in getattr(inner, "__metadata__", ())]
            if name != "based_on":
                long = not any(isinstance(kind, Number) for kind in kinds)
                yield from leaves(getattr(value, one.name), f"{key}.{name}".removeprefix("."), length=long)
    elif isinstance(value, tuple):
        for number, item in enumerate(value):
            yield from leaves(item, f"{key}.{number}", length=length)
    elif isinstance(value, Enum):
        yield key, str(value.value), False
    elif isinstance(value, float):
        yield key, round(value, 4), length
    elif value is not None:
        yield key, value if isinstance(value, str | int) else str(value), False


def _move(a: Hole | None, b: Hole | None, name_a: str, name_b: str) -> HoleMove:
    known = a or b
    assert known is not None
    if a is None or b is None or a.on is not b.on:
        return HoleMove(known.id, known.on.value, known.name, None, math.inf, 0.0, name_b if a is None else name_a)
    move = (b.at[0] - a.at[0], b.at[1] - a.at[1])
    return HoleMove(a.id, a.on.value, a.name, move, math.hypot(*move), b.diameter - a.diameter)


def _sheet(surface: Surface, moves: tuple[HoleMove, ...], tolerance: float) -> SheetRow:
    """Return whether A's template of one part serves B."""
    here = [(move.distance, abs(move.widening), move.id) for move in moves if move.on == surface.value]
    serves = all(off <= tolerance and wider <= ALIKE for off, wider, _ in here)
    off, _, name = max(here, default=(0.0, 0.0, ""))
    return SheetRow(surface.value, serves, name, off)


def _plate_sheets(a: Boat, b: Boat, tolerance: float) -> Iterator[SheetRow]:
    """Yield a row for each of A's sheets of plates; none for a boat without plates."""
    for name, kind in zip(("plates", "spare-plates"), _SCREWS, strict=True):
        if a.plates and (kind is HoleKind.FIRST_SCREW or any(hole.kind is kind for hole in a.holes)):
            one, other = _measures(a, kind), _measures(b, kind)
            offs = {measure: _off(one.get(measure), other.get(measure)) for measure in {**one, **other}}
            if not b.plates:
                offs = {"plate": math.inf}
            elif kind is HoleKind.FIRST_SCREW and len(a.settings) != len(b.settings):
                offs = {"number of settings": math.inf}
            worst = max(offs, key=lambda measure: offs[measure])
            yield SheetRow(name, offs[worst] <= tolerance, worst, offs[worst])


def _off(one: tuple[float, float, float] | None, other: tuple[float, float, float] | None) -> float:
    """Return how much a measure, or a screw's place and diameter, differs, mm; infinite where only one boat has it."""
    if one is None or other is None:
        return math.inf
    return max(math.dist(one[:2], other[:2]), abs(one[2] - other[2]))


def _measures(boat: Boat, kind: HoleKind) -> dict[str, tuple[float, float, float]]:
    """Return every measure of the plates that takes a line or a screw: x, y from the middle, and diameter or length."""
    plate = boat.description.fixing.plate
    if plate is None:
        return {}
    lengths = {measure: getattr(plate, measure.replace(" ", "_")) for measure in _PLATE}
    if plate.slot is not None:
        lengths |= {"slot": 0.0, "slot's length": plate.slot.length, "slot's width": plate.slot.width}
    if kind is HoleKind.FIRST_SCREW:  # a strip holds all settings; a loose plate serves any
        first, *others = (setting.station for setting in boat.settings)
        lengths |= {f"setting {number} from the first": at - first for number, at in enumerate(others, 2)}
    centres = {plate.side: plate.centre for plate in boat.plates if plate.setting == 1}
    screws = {
        hole.id: (hole.at[0] - x, hole.at[1] - y, hole.diameter)
        for hole in boat.holes
        if hole.kind is kind and hole.setting == 1 and hole.side in centres
        for x, y in [centres[hole.side]]
    }
    return {**{name: (0.0, 0.0, length) for name, length in lengths.items()}, **screws}


def overlay(a: Boat, b: Boat) -> Drawing:
    """Return two boats' floors over one another, forward up; A's holes are dashed, without crosshairs: not to punch."""
    sheet = Sheet()
    figures = b.description.figures
    sheet.add_symbols(symbol(hole, (hole.at[1], -hole.at[0]), figures=figures) for hole in b.on(Surface.FLOOR))
    for boat, pen in ((a, Pen.DASHED), (b, Pen.NARROW)):
        for plate in boat.plates:
            sheet.add(closed(((y, -x) for x, y in plate.corners), pen, Group.OVERLAY))
    sheet.add(*(_dashed(hole) for hole in a.on(Surface.FLOOR)))
    box = sheet.box() if sheet.marks else (0.0, -_PAST, 0.0, _PAST)
    sheet.add(Line((0.0, box[1] - _PAST), (0.0, box[3] + _PAST), Pen.CHAIN, Group.CENTRELINE))
    sheet.add_labels()
    compared = compare(a, b)
    _write(sheet, compared, {hole.id for boat in (a, b) for hole in boat.holes if hole.kind in _SCREWS}, figures)
    title = f"Floor, {compared.a} and {compared.b.removeprefix(f'{a.description.boat}, ')}"
    return sheet.drawing("overlay", title, "none")


def _dashed(hole: Hole) -> Mark:
    """Return a hole of the boat that is only looked at: circle, or square for the second screws."""
    place = (hole.at[1], -hole.at[0])
    if hole.kind is not HoleKind.SECOND_SCREW:
        return Circle(place, hole.diameter, Pen.DASHED, Group.OVERLAY)
    return rectangle(box_about(place, hole.diameter / 2), Pen.DASHED, Group.OVERLAY)


def _write(sheet: Sheet, compared: Comparison, screws: set[str], figures: Figures) -> None:
    """Write what is what, and how far each bolt hole and fitting moves, where there is room between the sides."""
    moves = [move for move in compared.moves if move.on == Surface.FLOOR.value and move.id not in screws]
    notes = (
        f"{compared.a}: dashed, without crosshairs",
        f"{compared.b}: full lines, crosshairs and ids",
        "both laid on the steering pivot axis (forward of this sheet) and the centreline, seen from above",
        "for comparing alone: drill by each boat's own sheets",
        *(_words(move, compared.b, figures) for move in moves if move.differs),
    )
    words = Words(("Two boats over one another", *note_lines(notes, BODY, _BLOCK)), head=True)
    box = sheet.box()
    room, middle = grow(box, -2.0), (box[1] + box[3]) / 2
    place = sheet.free_place((24.0, 24.0), (10.0, middle + 40.0), room)
    if place is not None:
        sheet.add_arrow((place[0] + 5.0, place[1] + 2.0))
    sheet.add_block(words, (-_BLOCK / 2 - 8.0, middle), room, below=-_BLOCK / 2)


def _words(move: HoleMove, b: str, figures: Figures) -> str:
    """Return in words where a hole of A stands in B."""
    if move.move is None:
        return f"{move.id}: only in {move.only_in}"
    aft, starboard = move.move
    ways = ((aft, "aft" if aft > 0 else "forward"), (starboard, "to starboard" if starboard > 0 else "to port"))
    parts = [f"{figures.fine(abs(value))} {word}" for value, word in ways if abs(value) > 5e-3]
    wider = [f"diameter {figures.signed(move.widening, 2)}"] if abs(move.widening) > 5e-3 else []
    return f"{move.id}: {b} has it {', '.join([*parts, *wider])}"
