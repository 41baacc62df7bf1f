"""Views from above, forward up, in type that can be read: floor, plank, plates, tiles, and the plank being squared."""

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import product
from typing import TYPE_CHECKING

from templater.boat.solved import Boat, Hole, HoleKind, Side, SolvedPlate
from templater.description.keys import Surface
from templater.drawing.labels import symbol, symbol_marks
from templater.drawing.marks import Anchor, Circle, Cross, Group, Line, Mark, Pen, Text, closed, mark_box, rectangle
from templater.drawing.plates import slot_contour
from templater.plane.shapes import Point, around, box_corners, grow, grown, union
from templater.report.blocks import Picture, ids_text
from templater.standards.typeface import text_width
from templater.units import Figures

if TYPE_CHECKING:
    from templater.fitup.square import EndMove, SquareResult
    from templater.paper.tiles import TiledSheet

#: Room for a plan on the page, mm.
_WIDE, _HIGH = 150.0, 122.0
#: Type in the plans, mm.
_TYPE, _ID = 2.6, 3.0
#: Smallest circle drawn, mm.
_SMALLEST = 0.8
#: Gap between two plates at 1:1, mm, and the widest picture that fits a page so.
_GAP, _PAGE = 10.0, 180.0
#: Width of the picture's plank, mm, and the largest turn drawn, degrees.
WIDTH, LARGEST = 150.0, 8.0
#: By how much the turn may be exaggerated.
FACTORS = (100, 50, 20, 10, 5, 2)
#: Type size in the picture, and the shortest arrow drawn there, mm.
SIZE, _SHORTEST = 4.6, 3.0
#: A tile in the map of a sheet, mm.
_TILE = (20.0, 15.0)


def scaled(factor: float) -> Callable[[Point], Point]:
    """Return the map from boat mm, x aft and y to starboard, to picture mm, forward up."""
    return lambda point: (point[1] * factor, -point[0] * factor)


def _arrow(foot: Point, tip: Point, long: float, half: float) -> list[Mark]:
    """Return an arrow whose head is ``long`` mm long and twice ``half`` wide."""
    reach = math.dist(foot, tip)
    du, dv = (tip[0] - foot[0]) / reach, (tip[1] - foot[1]) / reach
    u, v = neck = tip[0] - long * du, tip[1] - long * dv
    corners = (tip, (u - half * dv, v + half * du), (u + half * dv, v - half * du))
    return [Line(foot, neck, Pen.WIDE, Group.NOTE), closed(corners, Pen.WIDE, Group.NOTE, filled=True)]


def _forward(u: float, v: float) -> list[Mark]:
    """Return an arrow forward with its word, its foot at (u, v)."""
    return [*_arrow((u, v), (u, v + 9.0), 4.0, 1.4), _words(u + 2.5, v + 3.0, "forward", Anchor.START)]


def picture(title: str, description: str, marks: Sequence[Mark], *, true_size: bool = False) -> Picture:
    """Return a picture whose box holds all its marks."""
    return Picture(title, description, tuple(marks), grow(union(*map(mark_box, marks)), 2.0), true_size=true_size)


def _words(
    u: float, v: float, text: str, anchor: Anchor = Anchor.MIDDLE, *, bold: bool = False, size: float = 0.0
) -> Text:
    return Text((u, v), text, size or (_ID if bold else _TYPE), Group.LABEL, anchor, bold=bold)


def tile_map(sheet: "TiledSheet") -> Picture:
    """Return the map of a sheet's tiles, forward up; pages left out as blank are crossed."""
    rows, columns = sheet.grid
    width, height = _TILE
    marks: list[Mark] = []
    pages = {(tile.row, tile.column): tile for tile in sheet.tiles}
    for row, column in product(range(rows), range(columns)):
        u, v = column * width, -row * height
        marks.append(rectangle((u, v - height, u + width, v)))
        if tile := pages.get((row, column)):
            marks.append(_words(u + width / 2, v - 7, tile.name, bold=True, size=4.5))
            marks.append(_words(u + width / 2, v - 12, f"page {tile.page}", size=2.8))
        else:
            marks.append(Line((u, v), (u + width, v - height), Pen.NARROW, Group.NOTE))
            marks.append(Line((u, v - height), (u + width, v), Pen.NARROW, Group.NOTE))
    words = ", ".join(f"{tile.name} on page {tile.page}" for tile in sheet.tiles[:60])
    title = f"Tiles of {sheet.drawing.name}, forward up"
    return picture(title, f"{rows} rows, {columns} columns: {words}.", marks)


def floor_plan(boat: Boat) -> Picture:
    """Return the cockpit floor from above: outline, keep-clear areas, bolt lines, plates, ids."""
    holes, floor = boat.on(Surface.FLOOR), boat.description.floor
    points = [*floor.outline, *(corner for plate in boat.plates for corner in plate.corners), *(h.at for h in holes)]
    x0, y0, x1, y1 = around(points)
    factor = min(_WIDE / (2 * max(y1, -y0)), _HIGH / (x1 - x0 + 1.0))
    place = scaled(factor)
    fore, aft, edge = -x0 * factor, -x1 * factor, max(y1, -y0) * factor
    marks: list[Mark] = [Line((0.0, aft - 4.0), (0.0, fore + 6.0), Pen.CHAIN, Group.CENTRELINE)]
    if floor.outline:
        marks.append(closed(map(place, floor.outline)))
    for area in floor.keep_clear:
        shape = [place(point) for point in grown(area.corners, area.margin)]
        marks.append(closed(shape, Pen.CHAIN_WIDE, Group.KEEP_CLEAR))
        right, top = max(u for u, _ in shape), max(v for _, v in shape)
        marks.append(_words(right + 1.5, top - _TYPE, f"keep clear: {area.name}", Anchor.START))
    marks += [closed(map(place, plate.corners), Pen.NARROW, Group.PLATE) for plate in boat.plates]
    spread, say = boat.description.fixing.half_spread, boat.description.figures.length
    inboard = min([abs(y) for plate in boat.plates for _, y in plate.corners], default=spread)
    for setting in boat.settings:
        a, b = place((setting.station, -spread)), place((setting.station, spread))
        marks.append(Line(a, b, Pen.CHAIN, Group.CENTRELINE))
        marks.append(_words(-inboard * factor / 2, a[1] + 0.8, f"{setting.number}: {say(setting.station)}"))
    outboard = {plate.id: max(abs(y) for _, y in plate.corners) for plate in boat.plates}
    for hole in holes:
        at, diameter = place(hole.at), max(hole.diameter * factor, _SMALLEST)
        marks.append(Circle(at, diameter, Pen.NARROW, Group.HOLE))
        if hole.kind in (HoleKind.BOLT, HoleKind.SLEEVE):
            side = math.copysign(1.0, hole.at[1])
            reach = outboard.get(hole.id, abs(hole.at[1])) * factor + 1.5
            anchor = Anchor.END if side < 0 else Anchor.START
            marks.append(Cross(at, max(hole.diameter * factor / 2, _SMALLEST) + 1.2, Group.HOLE))
            marks.append(_words(side * reach, at[1] - 1.0, hole.id, anchor, bold=True))
    for group in _groups(boat, holes):
        spots = [place(hole.at) for hole in group]
        right, middle = max(u for u, _ in spots), sum(v for _, v in spots) / len(spots)
        marks.append(_words(right + 2.0, middle - 1.0, f"{_ids(group)} {group[0].name}", Anchor.START))
    # Clear of the ids beside the outermost plates.
    marks += _forward(edge + (6.0 if floor.outline else 14.0), fore - 9.0)
    marks += [_words(-edge / 2, fore + 4.0, "port", bold=True), _words(edge / 2, fore + 4.0, "starboard", bold=True)]
    marks += _measure(0.0, spread * factor, aft - 6.0, say(spread))
    title = "Cockpit floor from above; on each bolt line its setting and how far aft of the steering pivot axis it lies"
    return picture(title, f"Cockpit floor, forward up, with holes {_ids(holes)}.", marks)


def _ids(holes: Sequence[Hole]) -> str:
    return ids_text([hole.id for hole in holes])


def _groups(boat: Boat, holes: Sequence[Hole]) -> list[list[Hole]]:
    """Return the holes of each fitting, those of a mirrored one on either side apart."""
    mirrored = {fitting.name for fitting in boat.description.fittings if fitting.mirror}
    groups: dict[tuple[str, bool], list[Hole]] = {}
    for hole in holes:
        if hole.kind is HoleKind.FITTING:
            groups.setdefault((hole.key, hole.name in mirrored and hole.at[1] < 0), []).append(hole)
    return list(groups.values())


def _measure(a: float, b: float, v: float, text: str) -> list[Mark]:
    """Return a dimension from a to b along u, its figure above the line, or before it where the line is too short."""
    marks: list[Mark] = [Line((a, v), (b, v), Pen.NARROW, Group.NOTE)]
    for end, way in ((a, 2.2), (b, -2.2)):
        marks.append(Line((end, v - 1.5), (end, v + 1.5), Pen.NARROW, Group.NOTE))
        tip = ((end, v), (end + way, v + 0.5), (end + way, v - 0.5))
        marks.append(closed(tip, Pen.NARROW, Group.NOTE, filled=True))
    if text_width(text, _TYPE) < b - a - 6.0:
        return [*marks, _words((a + b) / 2, v + 0.9, text)]
    return [*marks, _words(a - 2.0, v - 0.9, text, Anchor.END)]


def plank_plan(boat: Boat) -> Picture:
    """Return the runner plank from above: bolt line, middle, bolt holes with their distances, fittings."""
    holes, plank, say = boat.on(Surface.PLANK), boat.description.plank, boat.description.figures.length
    factor = _WIDE / plank.length
    place = scaled(factor)
    end, top, low = _WIDE / 2, plank.fore_edge * factor, (plank.fore_edge - plank.width) * factor
    marks: list[Mark] = [
        rectangle((-end, low, end, top)),
        Line((-end - 4.0, 0.0), (end + 4.0, 0.0), Pen.CHAIN, Group.CENTRELINE),
        Line((0.0, low - 4.0), (0.0, top + 4.0), Pen.CHAIN, Group.CENTRELINE),
        _words(0.0, top + 5.0, "middle line"),
        _words(-end, top + 1.5, "port", Anchor.START, bold=True),
        _words(end, top + 1.5, "starboard", Anchor.END, bold=True),
        *_forward(end + 6.0, top - 9.0),
    ]
    for hole in holes:
        at = place(hole.at)
        if hole.id == boat.expected:  # no hole yet: the fit-up says where
            marks.append(Circle(at, 4.0, Pen.DASHED, Group.HOLE))
            marks.append(_words(at[0] - 2.0, top + 1.5, f"{hole.id}: marked at fit-up", Anchor.START))
            continue
        marks.append(Circle(at, max(hole.diameter * factor, _SMALLEST), Pen.WIDE, Group.HOLE))
        if hole.kind is HoleKind.BOLT:
            marks += [Cross(at, 2.0, Group.HOLE), _words(at[0], top + 1.5, hole.id, bold=True)]
    for group in _groups(boat, holes):
        middle = sum(place(hole.at)[0] for hole in group) / len(group)
        marks.append(_words(middle, low - 3.6, _ids(group), bold=True))
    along, rest = boat.plank.hole_along, boat.plank.end_to_hole
    marks += _measure(0.0, along * factor, low - 10.0, say(along))
    marks += _measure(along * factor, end, low - 10.0, say(rest))
    marks.append(_words(-end, low - 10.0, "distances along the face", Anchor.START))
    words = (
        f"Runner plank, forward up, with holes {_ids(holes)}; along the face from the middle to a bolt hole "
        f"{say(along)}, from there to the end {say(rest)}."
    )
    return picture("Runner plank from above", words, marks)


def plate_detail(boat: Boat) -> Picture | None:
    """Return the foremost plates from above at 1:1, port and starboard, with the ids of both sets of screws."""
    plate = boat.description.fixing.plate
    pair = sorted((one for one in boat.plates if one.setting == 1), key=lambda one: one.centre[1])
    if plate is None or plate.screws is None:
        return None
    pair = pair if 2 * plate.width + _GAP <= _PAGE else pair[-1:]
    marks = [mark for number, one in enumerate(pair) for mark in _plate(boat, one, number * (plate.width + _GAP))]
    words = (
        f"Plates of setting 1 from above, forward up, with holes {_ids([h for h in boat.holes if h.setting == 1])}. "
        "Circles: first screws, used when new. Squares: second screws, fresh wood for a replacement plate. Dashed: the "
        "hole in the floor below."
    )
    title = "Plates from above, the other settings alike; circles: first screws, squares: second, not drilled yet"
    return picture(title, words, marks, true_size=True)


def _plate(boat: Boat, solved: SolvedPlate, left: float) -> Iterator[Mark]:
    """Yield one plate at 1:1, its middle at u = ``left``."""
    plate = boat.description.fixing.plate
    assert plate is not None
    x0, y0 = solved.centre
    half, long = plate.width / 2, plate.length / 2
    yield rectangle((left - half, -long, left + half, long), Pen.WIDE, Group.PLATE)
    if plate.slot is not None:
        yield from slot_contour((left, 0.0), plate.slot, pen=Pen.WIDE)
    for hole in boat.holes:
        if hole.side is not solved.side or hole.setting != solved.setting:
            continue
        u, v, radius = hole.at[1] - y0 + left, x0 - hole.at[0], hole.diameter / 2
        if hole.kind in (HoleKind.SLEEVE, HoleKind.BOLT):
            yield Circle((u, v), hole.diameter, Pen.DASHED, Group.HOLE)
            yield _words(u, long + 1.5, f"plate {hole.id}", bold=True)
            continue
        yield from symbol_marks(symbol(hole, (u, v)), 1.0)
        yield _words(u, v - radius - 3.4 if v < 0 else v + radius + 1.6, hole.id)


def exaggeration(yaw: float) -> int:
    """Return the largest factor that keeps a turn, degrees, drawable."""
    return next((factor for factor in FACTORS if abs(yaw) * factor <= LARGEST), 1)


def move(end: "EndMove", figures: Figures) -> str:
    """Return how far and which way an end must go; nothing if it stands right."""
    return "" if end.stays else f"{figures.length(abs(end.aft))} {'forward' if end.aft > 0 else 'aft'}"


def plan_view(boat: Boat, result: "SquareResult") -> Picture:
    """Return the plan view of one attempt at squaring, forward up, not to scale, the turn exaggerated."""
    from templater.fitup.rig import rig_of

    first = result.attempt.first_bolt
    rig, factor = rig_of(boat, result.attempt.setting, first), exaggeration(result.yaw)
    station, plank = rig.setting.station, boat.description.plank
    yaw = math.radians(result.yaw) * factor
    at, words = scaled(WIDTH / plank.length), partial(_words, size=SIZE)
    corners = box_corners((-plank.length / 2, -plank.fore_edge, plank.length / 2, plank.width - plank.fore_edge))
    foot, line = at((station + 260.0, 0.0))[1], at((station, 0.0))[1]
    marks: list[Mark] = [
        Line(at((-120.0, 0.0)), (0.0, foot), Pen.CHAIN, Group.CENTRELINE),
        Circle((0.0, 0.0), 3.0, Pen.WIDE, Group.OUTLINE),
        words(3.0, 1.0, "steering post", Anchor.START),
        closed((at(rig.place(x, y, 0.0)) for y, x in corners), Pen.DASHED),
        closed((at(rig.place(x, y, yaw)) for y, x in corners), Pen.WIDE, Group.OUTLINE),
    ]
    for end in result.ends:
        tip, square = (at(rig.corner(end.side, turn)) for turn in (yaw, 0.0))
        marks += [Line((0.0, 0.0), tip, Pen.NARROW, Group.NOTE), Cross(tip, 1.6, Group.NOTE, diagonal=True)]
        edge, anchor = end.side.sign * (WIDTH / 2 + 6.0), Anchor.START if end.side is Side.PORT else Anchor.END
        name, what = end.side.word, move(end, boat.description.figures)
        marks.append(words(edge, line - 24.0, f"{name}: move" if what else name, anchor))
        marks.append(words(edge, line - 30.0, what or "leave as it is", anchor, bold=True))
        if what and math.dist(tip, square) >= _SHORTEST:
            marks += _arrow(tip, square, 2.5, 1.0)
    for side in Side:
        u, v = at((station, side.sign * abs(rig.pivot)))
        marks.append(Circle((u, v), 2.4, Pen.WIDE, Group.HOLE))
        if side is first:
            marks += [Cross((u, v), 3.0, Group.HOLE), words(u, v - 23.0, "first bolt")]
            marks.append(Line((u, v - 18.5), (u, v - 3.5), Pen.NARROW, Group.LABEL))
    note = f"turn drawn {factor} times as large as it is" if factor > 1 else "turn drawn as it is"
    right = WIDTH / 2 - 8.0
    marks += _arrow((right, -14.0), (right, 2.0), 5.0, 2.0)
    marks += [words(0.0, foot - 22.0, note), words(right, -20.0, "forward")]
    description = (
        f"Plan view, forward up: the plank at setting {result.attempt.setting} on its first bolt to "
        f"{first.word}; solid as it lies, dashed where it is square; {note}."
    )
    title = f"Attempt {result.attempt.number}: plank as it lies (solid) and square (dashed), {note}"
    return Picture(title, description, tuple(marks), (-WIDTH / 2 - 8.0, foot - 26.0, WIDTH / 2 + 8.0, 12.0))
