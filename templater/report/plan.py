"""Plans of floor, plank and plates with their ids, seen from above, forward up, in type that can be read."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templater.boat.solved import Boat, Hole, HoleKind, SolvedPlate
from templater.description.keys import Surface
from templater.drawing.marks import Anchor, Arc, Circle, Cross, Group, Line, Mark, Pen, Polyline, Text
from templater.plane.polygons import grown
from templater.plane.shapes import Box, Point
from templater.report.blocks import Picture
from templater.report.table import ids_text
from templater.standards.typeface import text_width

#: Room for a plan on the page, mm.
_WIDE, _HIGH = 150.0, 122.0
#: Type in the plans, mm.
_TYPE, _ID = 2.6, 3.0
#: Smallest circle drawn, mm.
_SMALLEST = 0.8
#: Gap between two plates at 1:1, mm, and the widest picture that fits a page so.
_GAP, _PAGE = 10.0, 180.0


@dataclass(frozen=True, slots=True)
class _Scale:
    """From boat mm (x aft, y to starboard) to picture mm, forward up."""

    factor: float

    def __call__(self, point: Point) -> Point:
        return (point[1] * self.factor, -point[0] * self.factor)


def _words(u: float, v: float, text: str, anchor: Anchor = Anchor.MIDDLE, *, bold: bool = False) -> Text:
    return Text((u, v), text, _ID if bold else _TYPE, Group.LABEL, anchor, bold=bold)


def _closed(points: Sequence[Point], pen: Pen, group: Group = Group.OUTLINE) -> Polyline:
    return Polyline(tuple(points), closed=True, pen=pen, group=group)


def _arrow(u: float, v: float) -> list[Mark]:
    """Return an arrow forward with its word, its foot at (u, v)."""
    tip = ((u, v + 9.0), (u - 1.4, v + 5.0), (u + 1.4, v + 5.0))
    head = Polyline(tip, closed=True, pen=Pen.WIDE, group=Group.NOTE, filled=True)
    return [Line((u, v), (u, v + 5.0), Pen.WIDE, Group.NOTE), head, _words(u + 2.5, v + 3.0, "forward", Anchor.START)]


def _picture(title: str, description: str, marks: Sequence[Mark], *, true_size: bool = False) -> Picture:
    """Return a picture whose box holds all its marks."""
    boxes = [_box(mark) for mark in marks]
    box = (
        min(one[0] for one in boxes) - 2.0, min(one[1] for one in boxes) - 2.0,
        max(one[2] for one in boxes) + 2.0, max(one[3] for one in boxes) + 2.0,
    )  # fmt: skip
    return Picture(title, description, tuple(marks), box, true_size=true_size)


def _box(mark: Mark) -> Box:
    if isinstance(mark, Text):
        wide = text_width(mark.text, mark.size, bold=mark.bold)
        left = mark.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[mark.anchor]
        return (left, mark.at[1] - 0.25 * mark.size, left + wide, mark.at[1] + 0.8 * mark.size)
    if isinstance(mark, Circle | Cross):
        reach = mark.diameter / 2 if isinstance(mark, Circle) else mark.arm
        (u, v) = mark.centre
        return (u - reach, v - reach, u + reach, v + reach)
    if isinstance(mark, Line):
        points: tuple[Point, ...] = (mark.a, mark.b)
    elif isinstance(mark, Polyline):
        points = mark.points
    else:
        assert isinstance(mark, Arc)
        u, v = mark.centre
        points = ((u - mark.radius, v - mark.radius), (u + mark.radius, v + mark.radius))
    us, vs = [point[0] for point in points], [point[1] for point in points]
    return (min(us), min(vs), max(us), max(vs))


def floor_plan(boat: Boat) -> Picture | None:
    """Return the cockpit floor from above: outline, keep-clear areas, bolt lines, plates, ids."""
    holes = boat.on(Surface.FLOOR)
    if not holes:
        return None
    floor = boat.description.floor
    corners = [corner for plate in boat.plates for corner in plate.corners]
    points = [*floor.outline, *corners, *(hole.at for hole in holes)]
    xs, ys = [x for x, _ in points], [abs(y) for _, y in points]
    place = _Scale(min(_WIDE / (2 * max(ys)), _HIGH / (max(xs) - min(xs) + 1.0)))
    fore, aft, edge = -min(xs) * place.factor, -max(xs) * place.factor, max(ys) * place.factor
    marks: list[Mark] = [Line((0.0, aft - 4.0), (0.0, fore + 6.0), Pen.CHAIN, Group.CENTRELINE)]
    if floor.outline:
        marks.append(_closed([place(point) for point in floor.outline], Pen.WIDE))
    for area in floor.keep_clear:
        shape = [place(point) for point in grown(area.corners, area.margin)]
        marks.append(_closed(shape, Pen.CHAIN_WIDE, Group.KEEP_CLEAR))
        right, top = max(u for u, _ in shape), max(v for _, v in shape)
        marks.append(_words(right + 1.5, top - _TYPE, f"keep clear: {area.name}", Anchor.START))
    marks += [_closed([place(corner) for corner in plate.corners], Pen.NARROW, Group.PLATE) for plate in boat.plates]
    marks += _settings(boat, place)
    marks += _floor_holes(boat, holes, place)
    marks += _arrow(edge + 6.0, fore - 9.0)
    marks += [_words(-edge / 2, fore + 4.0, "port", bold=True), _words(edge / 2, fore + 4.0, "starboard", bold=True)]
    spread = boat.description.fixing.half_spread
    marks += _measure(0.0, spread * place.factor, aft - 6.0, boat.description.figures.length(spread))
    ids = ids_text([hole.id for hole in holes])
    title = "Cockpit floor from above; on each bolt line its setting and how far aft of the steering pivot axis it lies"
    return _picture(title, f"Cockpit floor, forward up, with holes {ids}.", marks)


def _settings(boat: Boat, place: _Scale) -> Iterator[Mark]:
    """Yield each setting's bolt line and where it stands."""
    spread = boat.description.fixing.half_spread
    inboard = min([abs(y) for plate in boat.plates for _, y in plate.corners], default=spread)
    for setting in boat.settings:
        a, b = place((setting.station, -spread)), place((setting.station, spread))
        yield Line(a, b, Pen.CHAIN, Group.CENTRELINE)
        text = f"{setting.number}: {boat.description.figures.length(setting.station)}"
        yield _words(-inboard * place.factor / 2, a[1] + 0.8, text)


def _floor_holes(boat: Boat, holes: Sequence[Hole], place: _Scale) -> Iterator[Mark]:
    plates = {plate.id: plate for plate in boat.plates}
    for hole in holes:
        at = place(hole.at)
        yield Circle(at, max(hole.diameter * place.factor, _SMALLEST), Pen.NARROW, Group.HOLE)
        if hole.kind in (HoleKind.BOLT, HoleKind.SLEEVE):
            side = math.copysign(1.0, hole.at[1])
            reach = max([abs(y) for _, y in plates[hole.id].corners] if hole.id in plates else [abs(hole.at[1])])
            anchor = Anchor.END if side < 0 else Anchor.START
            yield Cross(at, max(hole.diameter * place.factor / 2, _SMALLEST) + 1.2, Group.HOLE)
            yield _words(side * (reach * place.factor + 1.5), at[1] - 1.0, hole.id, anchor, bold=True)
    yield from _fittings(boat, holes, place)


def _groups(boat: Boat, holes: Sequence[Hole]) -> list[list[Hole]]:
    """Return the holes of each fitting, those of a mirrored one on either side apart."""
    mirrored = {fitting.name for fitting in boat.description.fittings if fitting.mirror}
    groups: dict[tuple[str, bool], list[Hole]] = {}
    for hole in holes:
        if hole.kind is HoleKind.FITTING:
            groups.setdefault((hole.key, hole.name in mirrored and hole.at[1] < 0), []).append(hole)
    return list(groups.values())


def _fittings(boat: Boat, holes: Sequence[Hole], place: _Scale) -> Iterator[Mark]:
    """Yield one label for the holes of a fitting on one side, beside them."""
    for group in _groups(boat, holes):
        spots = [place(hole.at) for hole in group]
        right = max(u for u, _ in spots)
        middle = sum(v for _, v in spots) / len(spots)
        yield _words(
            right + 2.0, middle - 1.0, f"{ids_text([hole.id for hole in group])} {group[0].name}", Anchor.START
        )


def _measure(a: float, b: float, v: float, text: str) -> list[Mark]:
    """Return a dimension from a to b along u, its figure above the line, or before it where the line is too short."""
    marks: list[Mark] = [Line((a, v), (b, v), Pen.NARROW, Group.NOTE)]
    for end, way in ((a, 1.0), (b, -1.0)):
        marks.append(Line((end, v - 1.5), (end, v + 1.5), Pen.NARROW, Group.NOTE))
        tip = ((end, v), (end + way * 2.2, v + 0.5), (end + way * 2.2, v - 0.5))
        marks.append(Polyline(tip, closed=True, pen=Pen.NARROW, group=Group.NOTE, filled=True))
    if text_width(text, _TYPE) < b - a - 6.0:
        marks.append(_words((a + b) / 2, v + 0.9, text))
    else:
        marks.append(_words(a - 2.0, v - 0.9, text, Anchor.END))
    return marks


def plank_plan(boat: Boat) -> Picture | None:
    """Return the runner plank from above: bolt line, middle, bolt holes with their distances, fittings."""
    holes = boat.on(Surface.PLANK)
    if not holes:
        return None
    plank, units = boat.description.plank, boat.description.figures
    place = _Scale(_WIDE / plank.length)
    half, fore, aft = plank.length / 2, plank.fore_edge, plank.width - plank.fore_edge
    shape = [place(point) for point in ((-fore, -half), (-fore, half), (aft, half), (aft, -half))]
    end, top, low = half * place.factor, shape[0][1], shape[2][1]
    marks: list[Mark] = [
        _closed(shape, Pen.WIDE),
        Line((-end - 4.0, 0.0), (end + 4.0, 0.0), Pen.CHAIN, Group.CENTRELINE),
        Line((0.0, low - 4.0), (0.0, top + 4.0), Pen.CHAIN, Group.CENTRELINE),
        _words(0.0, top + 5.0, "middle line"),
        _words(-end, top + 1.5, "port", Anchor.START, bold=True),
        _words(end, top + 1.5, "starboard", Anchor.END, bold=True),
        *_arrow(end + 6.0, top - 9.0),
    ]
    reach = place((0.0, boat.plank.hole_along))[0]
    for hole in holes:
        at = place(hole.at)
        marks.append(Circle(at, max(hole.diameter * place.factor, _SMALLEST), Pen.WIDE, Group.HOLE))
        if hole.kind is HoleKind.BOLT:
            marks += [Cross(at, 2.0, Group.HOLE), _words(at[0], top + 1.5, hole.id, bold=True)]
    marks += _plank_fittings(boat, holes, place, low)
    marks += _measure(0.0, reach, low - 10.0, units.length(boat.plank.hole_along))
    marks += _measure(reach, end, low - 10.0, units.length(boat.plank.end_to_hole))
    marks.append(_words(-end, low - 10.0, "distances along the face", Anchor.START))
    title = "Runner plank from above"
    ids = ids_text([hole.id for hole in holes])
    words = (
        f"Runner plank, forward up, with holes {ids}; along the face from the middle to a bolt hole "
        f"{units.length(boat.plank.hole_along)}, from there to the end {units.length(boat.plank.end_to_hole)}."
    )
    return _picture(title, words, marks)


def _plank_fittings(boat: Boat, holes: Sequence[Hole], place: _Scale, low: float) -> Iterator[Mark]:
    """Yield the fittings' labels below the plank."""
    for group in _groups(boat, holes):
        middle = sum(place(hole.at)[0] for hole in group) / len(group)
        yield _words(middle, low - 3.6, ids_text([hole.id for hole in group]), bold=True)


def plate_detail(boat: Boat) -> Picture | None:
    """Return the foremost plates from above at 1:1, port and starboard, with the ids of both sets of screws."""
    pair = [plate for plate in boat.plates if plate.setting == boat.settings[0].number]
    plate = boat.description.fixing.plate
    if not pair or plate is None or plate.screws is None:
        return None
    if len(pair) * plate.width + _GAP > _PAGE:
        pair = pair[-1:]
    marks: list[Mark] = []
    for number, solved in enumerate(sorted(pair, key=lambda one: one.centre[1])):
        marks += _one_plate(boat, solved, number * (plate.width + _GAP))
    names = ids_text([hole.id for hole in boat.holes if hole.setting == pair[0].setting])
    words = (
        f"Plates of setting {pair[0].setting} from above, forward up, with holes {names}. Circles: first screws, used "
        "when new. Squares: second screws, fresh wood for a replacement plate. Dashed: the hole in the floor below."
    )
    title = "Plates from above, the other settings alike; circles: first screws, squares: second, not drilled yet"
    return _picture(title, words, marks, true_size=True)


def _one_plate(boat: Boat, solved: SolvedPlate, left: float) -> Iterator[Mark]:
    """Yield one plate at 1:1, its middle at u = ``left``."""
    plate = boat.description.fixing.plate
    assert plate is not None
    x0, y0 = solved.centre

    def place(point: Point) -> Point:
        return (point[1] - y0 + left, x0 - point[0])

    yield _closed([place(corner) for corner in solved.corners], Pen.WIDE, Group.PLATE)
    if plate.slot is not None:
        reach, radius = (plate.slot.length - plate.slot.width) / 2, plate.slot.width / 2
        for v in (-radius, radius):
            yield Line((left - reach, v), (left + reach, v), Pen.WIDE, Group.PLATE)
        yield Arc((left + reach, 0.0), radius, -90.0, 90.0, Pen.WIDE, Group.PLATE)
        yield Arc((left - reach, 0.0), radius, 90.0, 270.0, Pen.WIDE, Group.PLATE)
    for hole in boat.holes:
        if hole.side is not solved.side or hole.setting != solved.setting:
            continue
        u, v = place(hole.at)
        radius = hole.diameter / 2
        if hole.kind is HoleKind.FIRST_SCREW:
            yield Circle((u, v), hole.diameter, Pen.WIDE, Group.FIRST_SCREW)
        elif hole.kind is HoleKind.SECOND_SCREW:
            box = (
                (u - radius, v - radius),
                (u + radius, v - radius),
                (u + radius, v + radius),
                (u - radius, v + radius),
            )
            yield _closed(box, Pen.WIDE, Group.SECOND_SCREW)
        elif hole.kind in (HoleKind.SLEEVE, HoleKind.BOLT):
            yield Circle((u, v), hole.diameter, Pen.DASHED, Group.HOLE)
            yield _words(u, plate.length / 2 + 1.5, f"plate {hole.id}", bold=True)
            continue
        yield Cross((u, v), radius + 1.0, Group.HOLE)
        below = v < 0
        yield _words(u, v - radius - 3.4 if below else v + radius + 1.6, hole.id)
