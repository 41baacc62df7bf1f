"""Every hole of the boat, with its id."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import count

from templater.boat.solved import Hole, HoleKind, Setting, Side, SolvedPlate
from templater.description.keys import Description, Fitting, Pattern, Surface
from templater.plane.shapes import Point

#: Letters for fittings; P, S and K belong to port, starboard and the plank, I and O look like figures.
_LETTERS = "ABCDEFGHJLMNQRTUVWXYZ"


def floor_bolts(description: Description, settings: tuple[Setting, ...], nominal: float) -> Iterator[Hole]:
    """Yield the bolt or sleeve holes of the floor, setting by setting, port first."""
    fixing = description.fixing
    if fixing.sleeve is not None:
        kind, diameter, key = HoleKind.SLEEVE, fixing.sleeve.outer + fixing.sleeve.glue_gap, "fixing.sleeve.outer"
    else:
        kind, key = HoleKind.BOLT, "fixing.bolt" if fixing.floor_hole is None else "fixing.floor_hole"
        diameter = fixing.floor_hole or fixing.bolt.hole or nominal
    for setting in settings:
        for side in Side:
            name = f"{kind.value}, setting {setting.number}, {side.name.lower()}"
            at = (setting.station, side.sign * fixing.half_spread)
            number = setting.number
            yield Hole(f"{side.value}{number}", kind, Surface.FLOOR, at, diameter, key, name, side, number)


def plates(description: Description, settings: tuple[Setting, ...]) -> Iterator[SolvedPlate]:
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


def screws(description: Description, solved: tuple[SolvedPlate, ...]) -> Iterator[Hole]:
    """Yield the screw holes of every plate, first set then second; the port side is the mirror image of starboard."""
    plate = description.fixing.plate
    if plate is None or plate.screws is None:
        return
    sets = (
        ("a", HoleKind.FIRST_SCREW, plate.screws.first, "first"),
        ("b", HoleKind.SECOND_SCREW, plate.screws.second, "second"),
    )
    for one in solved:
        for letter, kind, points, key in sets:
            for number, (x, y) in enumerate(points):
                at = (one.centre[0] + x, one.centre[1] + one.side.sign * y)
                yield Hole(
                    f"{one.id}{letter}{number + 1}",
                    kind,
                    Surface.FLOOR,
                    at,
                    plate.screws.diameter,
                    f"fixing.plate.screws.{key}.{number}",
                    f"{kind.value}, plate {one.id}",
                    one.side,
                    one.setting,
                )


def plank_bolts(description: Description, along: float, nominal: float) -> Iterator[Hole]:
    """Yield the plank's two bolt holes, ``along`` the face from its middle."""
    bolt = description.fixing.bolt
    for side in Side:
        name = f"bolt, plank, {side.name.lower()}"
        diameter = nominal if bolt.hole is None else bolt.hole
        at = (0.0, side.sign * along)
        yield Hole(f"K{side.value}", HoleKind.BOLT, Surface.PLANK, at, diameter, "fixing.bolt", name, side)


def fitting_holes(description: Description) -> Iterator[Hole]:
    """Yield the holes of all fittings; a mirrored half follows its fitting and carries on counting."""
    for number, fitting in enumerate(description.fittings):
        prefix = _prefix(number)
        counter = count(1)
        for sign in (1, -1) if fitting.mirror else (1,):
            for x, y in _places(fitting):
                at = (x, sign * y)
                yield Hole(
                    f"{prefix}{next(counter)}", HoleKind.FITTING, fitting.on, at, fitting.drill,
                    f"fittings.{number}", fitting.name,
                )  # fmt: skip


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
