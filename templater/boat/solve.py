"""The whole solution, in one place: settings, holes, plates, the plank's arc, tape figures, check distances; mm."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise, product

from templater.boat.solved import Boat, Distance, Hole, HoleKind, Setting, Side, SolvedPlank, SolvedPlate, TapeFigure
from templater.description.keys import Description, Fitting, Pattern, Surface
from templater.findings import DescriptionError
from templater.maths import along_arc, arc_from_length, slope_correction
from templater.plane.shapes import Point
from templater.reader.faults import told
from templater.standards.fasteners import find_thread

#: Letters for fittings; P, S and K belong to port, starboard and the plank, I and O look like figures.
_LETTERS = "ABCDEFGHJLMNQRTUVWXYZ"


def solve(description: Description) -> Boat:
    """Return the solved boat.

    Raises DescriptionError: P101, P102, if the plank cannot be as described.
    """
    settings = _settings(description)
    plank = _plank(description)
    plates = tuple(_plates(description, settings))
    nominal = find_thread(description.fixing.bolt.thread).nominal
    holes = (
        *_floor_bolts(description, settings, nominal),
        *_screws(description, plates),
        *_plank_bolts(description, plank.hole_along, nominal),
        *_fitting_holes(description),
    )
    return Boat(
        description=description,
        settings=settings,
        holes=holes,
        plates=plates,
        plank=plank,
        tape=tuple(_tape_figures(description, settings)),
        distances=tuple(_check_distances(description, holes, settings)),
    )


def _settings(description: Description) -> tuple[Setting, ...]:
    """Return the settings, numbered from 1 at the foremost.

    The aftmost stands with its runner pivot axis ``keep_inside`` short of the rule's greatest distance, or the foremost
    by as much beyond its least; the others follow by pitch.
    """
    settings, rule, pivot = description.fixing.settings, description.rule, description.plank.pivot_aft_of_bolts
    if settings.stations:
        placed = sorted((at, f"fixing.settings.stations.{n}") for n, at in enumerate(settings.stations))
    else:
        assert rule is not None  # the description refuses count and pitch without one
        base, aft = rule.runner_base, settings.at_limit == "aft"
        at = (base.max - rule.keep_inside if aft else (base.min or 0.0) + rule.keep_inside) - pivot
        limit = settings.count - 1 if aft else 0
        placed = [
            (at + (n - limit) * settings.pitch, "fixing.settings" if n == limit else "fixing.settings.pitch")
            for n in range(settings.count)
        ]
    found = []
    for number, (station, key) in enumerate(placed, 1):
        reached = station + pivot
        to_max = rule.runner_base.max - reached if rule else None
        to_min = reached - rule.runner_base.min if rule and rule.runner_base.min is not None else None
        # At the greatest distance, to the last decimal that is printed.
        at_limit = rule is not None and to_max is not None and abs(to_max - rule.keep_inside) < 0.05
        found.append(Setting(number, station, reached, to_max, to_min, at_limit, key))
    return tuple(found)


def _plank(description: Description) -> SolvedPlank:
    """Return the plank as an arc of its upper face, solved from its length along the face and its crown."""
    plank, half_spread = description.plank, description.fixing.half_spread

    def fault(code: str, key: str, **values: float | str) -> DescriptionError:
        return DescriptionError(told(code, key, "", description.figures, description.place(key), **values))

    try:
        arc = arc_from_length(plank.length, plank.crown)
    except ValueError as wrong:
        most = plank.length / math.pi
        raise fault("P101", "plank.crown", crown=plank.crown, why=str(wrong), most=most) from None
    if half_spread > arc.chord / 2:
        raise fault("P102", "fixing.half_spread", spread=half_spread, half=arc.chord / 2)
    along = along_arc(arc.radius, half_spread)
    lean = math.asin(half_spread / arc.radius)
    shift = plank.thickness * math.tan(lean)
    return SolvedPlank(arc.radius, arc.chord, along, math.degrees(lean), shift, plank.length / 2 - along)


def _tape_figures(description: Description, settings: Sequence[Setting]) -> Iterator[TapeFigure]:
    """Yield what the tape reads at each setting; nothing without chock corners."""
    corners, post = description.plank.chock_corners, description.steering_post
    if corners is None:
        return
    drop = corners.below_floor + post.tape_height
    for setting in settings:
        level = math.hypot(setting.station + corners.aft_of_bolts, corners.apart / 2)
        straight, from_post = math.hypot(level, drop), math.hypot(level - post.diameter / 2, drop)
        slope, correction = math.degrees(math.atan2(drop, level)), slope_correction(level, drop)
        yield TapeFigure(setting.number, level, drop, straight, from_post, slope, correction)


def _check_distances(
    description: Description, holes: Sequence[Hole], settings: Sequence[Setting]
) -> Iterator[Distance]:
    """Yield distances to measure: across each setting, along each side, diagonals, and the plank's pair.

    All are straight: over the plank's crown the tape is held taut from hole to hole, not laid along the face.
    """
    places = {hole.id: hole.at for hole in holes}
    numbers = [setting.number for setting in settings]
    pairs = [("across", f"P{number}", f"S{number}") for number in numbers]
    pairs += [("along", f"{side}{fore}", f"{side}{aft}") for side in "PS" for fore, aft in pairwise(numbers)]
    for fore, aft in [*pairwise(numbers), *([(1, len(numbers))] if len(numbers) > 2 else [])]:
        pairs += [("diagonal", f"P{fore}", f"S{aft}"), ("diagonal", f"S{fore}", f"P{aft}")]
    yield from (Distance(a, b, kind, math.dist(places[a], places[b])) for kind, a, b in pairs)
    yield Distance("KP", "KS", "across", 2 * description.fixing.half_spread)


def _floor_bolts(description: Description, settings: tuple[Setting, ...], nominal: float) -> Iterator[Hole]:
    """Yield the bolt or sleeve holes of the floor, setting by setting, port first."""
    fixing = description.fixing
    if fixing.sleeve is not None:
        kind, diameter, key = HoleKind.SLEEVE, fixing.sleeve.outer + fixing.sleeve.glue_gap, "fixing.sleeve.outer"
    else:
        kind, key = HoleKind.BOLT, "fixing.bolt" if fixing.floor_hole is None else "fixing.floor_hole"
        diameter = fixing.floor_hole or fixing.bolt.hole or nominal
    for setting in settings:
        for side in Side:
            number, at = setting.number, (setting.station, side.sign * fixing.half_spread)
            name = f"{kind.value}, setting {number}, {side.word}"
            yield Hole(f"{side.value}{number}", kind, Surface.FLOOR, at, diameter, key, name, side, number)


def _plates(description: Description, settings: tuple[Setting, ...]) -> Iterator[SolvedPlate]:
    """Yield the plates, in the order of their bolt holes."""
    plate = description.fixing.plate
    if plate is None:
        return
    for setting in settings:
        for side in Side:
            x, y = setting.station, side.sign * description.fixing.half_spread
            dx, dy = plate.length / 2, plate.width / 2
            corners = ((x - dx, y - dy), (x - dx, y + dy), (x + dx, y + dy), (x + dx, y - dy))
            yield SolvedPlate(f"{side.value}{setting.number}", side, setting.number, (x, y), corners)


def _screws(description: Description, solved: tuple[SolvedPlate, ...]) -> Iterator[Hole]:
    """Yield the screw holes of every plate, first set then second; the port side is the mirror image of starboard."""
    plate = description.fixing.plate
    if plate is None or plate.screws is None:
        return
    sets = (("a", HoleKind.FIRST_SCREW, "first"), ("b", HoleKind.SECOND_SCREW, "second"))
    for (id_, side, setting, (x, y), _), (letter, kind, key) in product(solved, sets):
        for number, (dx, dy) in enumerate(getattr(plate.screws, key)):
            at, name = (x + dx, y + side.sign * dy), f"{kind.value}, plate {id_}"
            place, diameter = f"fixing.plate.screws.{key}.{number}", plate.screws.diameter
            yield Hole(f"{id_}{letter}{number + 1}", kind, Surface.FLOOR, at, diameter, place, name, side, setting)


def _plank_bolts(description: Description, along: float, nominal: float) -> Iterator[Hole]:
    """Yield the plank's two bolt holes, ``along`` the face from its middle."""
    diameter = description.fixing.bolt.hole or nominal
    for side in Side:
        at, name = (0.0, side.sign * along), f"bolt, plank, {side.word}"
        yield Hole(f"K{side.value}", HoleKind.BOLT, Surface.PLANK, at, diameter, "fixing.bolt", name, side)


def _fitting_holes(description: Description) -> Iterator[Hole]:
    """Yield the holes of all fittings; a mirrored half follows its fitting and carries on counting."""
    for number, fitting in enumerate(description.fittings):
        places = list(_places(fitting))
        for count, (x, y) in enumerate([*places, *((x, -y) for x, y in places if fitting.mirror)], 1):
            id_, key = f"{_prefix(number)}{count}", f"fittings.{number}"
            yield Hole(id_, HoleKind.FITTING, fitting.on, (x, y), fitting.drill, key, fitting.name)


def _prefix(number: int) -> str:
    """Return A, B .. Z, AA, AB and so on, without the letters that are taken."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, len(_LETTERS))
        text = _LETTERS[rest] + text
    return text


def _places(fitting: Fitting) -> Iterator[Point]:
    """Yield the holes of one fitting in its part's frame."""
    turn = math.radians(fitting.rotate)
    quarter, rest = divmod(fitting.rotate % 360, 90)
    # Quarter turns are exact, so that a turned rectangle stays on round figures.
    cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarter)] if rest == 0 else (math.cos(turn), math.sin(turn))
    for x, y in _pattern(fitting.pattern):
        yield fitting.at[0] + x * cos - y * sin, fitting.at[1] + x * sin + y * cos


def _pattern(pattern: Pattern) -> Iterator[Point]:
    """Yield the holes of a pattern about its middle."""
    if pattern.points is not None:
        yield from pattern.points
    elif pattern.row is not None:
        for number in range(pattern.row.count):
            yield (number - (pattern.row.count - 1) / 2) * pattern.row.pitch, 0.0
    elif pattern.rectangle is not None:
        dx, dy = pattern.rectangle[0] / 2, pattern.rectangle[1] / 2
        yield from ((-dx, -dy), (-dx, dy), (dx, -dy), (dx, dy))
    elif pattern.circle is not None:
        circle = pattern.circle
        for number in range(circle.count):
            angle = math.radians(circle.start + 360 * number / circle.count)
            yield circle.diameter / 2 * math.cos(angle), circle.diameter / 2 * math.sin(angle)
