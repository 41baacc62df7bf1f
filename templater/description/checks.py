"""Values of the description held against one another. Each fault stands at the key to be changed.

The checks work on what is known, so that they find what they can while other values are still at fault.
Whether the holes suit the wood and the rule is no matter of the text: see ``checks``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from templater.plane.shapes import Point, area, around, box_within, crossing_edges, grow
from templater.reader.compose import Given, Leaf
from templater.reader.faults import Fault, shown
from templater.standards.fasteners import find_thread, thread_names
from templater.standards.wood import all_species, find_species

#: Code, key, and the key that it must be below, times a share; and that in words.
_BELOW = (
    ("D130", "rule.runner_base.min", "rule.runner_base.max", 1.0, "must be below max"),
    ("D136", "plank.crown", "plank.length", 0.5, "must be less than half the plank's length"),
    ("D137", "plank.bolts_from_fore_edge", "plank.width", 1.0, "must be less than the plank's width"),
    ("D137", "plank.solid_at_bolts", "plank.width", 1.0, "must be less than the plank's width"),
    ("D137", "plank.chock_corners.apart", "plank.length", 2.0, "must be less than twice the plank's length"),
    ("D132", "fixing.sleeve.inner", "fixing.sleeve.outer", 1.0, "must be below the outer diameter"),
    ("D133", "fixing.plate.slot.length", "fixing.plate.width", 1.0, "must be less than the plate's width"),
    ("D133", "fixing.plate.slot.width", "fixing.plate.length", 1.0, "must be less than the plate's length"),
)
#: Longest row of holes, mm.
_LONGEST_ROW = 40_000


def check(about: Given) -> Iterator[Fault]:
    """Yield what is wrong between the values of a description."""
    for row in _BELOW:
        yield from _below(about, *row)
    for part in (_lengths, _areas, _settings, _plate, _patterns, _names):
        yield from part(about)


def _say(about: Given, *lengths: float) -> str:
    """Return a length for a message, or a point."""
    said = [about.figures.size(length, 3) for length in lengths]
    return said[0] if len(said) == 1 else f"[{', '.join(said)}]"


def _known(points: Iterable[Point | None]) -> list[Point]:
    return [point for point in points if point is not None]


def _given(about: Given, key: str, names: Sequence[str]) -> list[str]:
    """Return which of some keys below another are given."""
    return [name for name in names if about.at(f"{key}.{name}") is not None]


def _below(about: Given, code: str, key: str, other: str, share: float, what: str) -> Iterator[Fault]:
    """Yield a fault unless one number is below (a share of) another."""
    value, limit = about.numbers.get(key), about.numbers.get(other)
    if value is not None and limit is not None and not value < limit * share:
        text = f"{_say(about, value)} - {what}, which is {_say(about, limit)}"
        yield code, key, f"{text}; allowed: below {_say(about, limit * share)}"


def _lengths(about: Given) -> Iterator[Fault]:
    """Yield single lengths that do not go with others."""
    high, inside = about.numbers.get("rule.runner_base.max"), about.numbers.get("rule.keep_inside")
    room = (high or 0.0) - (about.numbers.get("rule.runner_base.min") or 0.0)
    if inside is not None and 0 < room <= inside:
        text = f"{_say(about, inside)} - leaves nothing of the rule's range; allowed: below {_say(about, room)}"
        yield "D130", "rule.keep_inside", text
    spread = about.numbers.get("fixing.half_spread")
    across = max((abs(y) for _, y in _known(about.points("floor.outline"))), default=0.0)
    if spread is not None and spread > across >= spread / 2 and not _exchanged(about):
        half, reach = _say(about, spread / 2), _say(about, across)
        text = f"{_say(about, spread)} - outside the floor, which reaches out to {reach}; measured from the centreline"
        yield "D135", "fixing.half_spread", f"{text}: if this is bolt to bolt, write {half}"
    else:
        what = "must be less than half the plank's length"
        yield from _below(about, "D135", "fixing.half_spread", "plank.length", 0.5, what)
    below = about.numbers.get("plank.chock_corners.below_floor")
    if below is not None and below < 0:
        text = f"{_say(about, below)} - allowed: from 0; it is measured downwards: write {_say(about, -below)}"
        yield "D137", "plank.chock_corners.below_floor", text
    if about.at("fixing.floor_hole") is not None and about.at("fixing.sleeve") is not None:
        text = "stands beside sleeve - the bolt passes through one or the other; null drops an inherited key"
        yield "D126", "fixing.floor_hole", text


def _areas(about: Given) -> Iterator[Fault]:
    if _exchanged(about):
        text = "lies all on one side of the hull - x, aft of the steering pivot axis, comes first, then y, to starboard"
        yield "D131", "floor.outline", text
    for key in ["floor.outline", *(f"{entry}.corners" for entry in about.entries("floor.keep_clear"))]:
        points = about.points(key)
        corners = _known(points)
        if len(corners) < len(points) or not 3 <= len(corners) <= 400:
            continue
        if (number := _exchanged_corner(corners)) is not None:
            x, y = corners[number]
            text = f"{_say(about, x, y)} - x and y exchanged? far from the other corners, where {_say(about, y, x)}"
            yield "D131", f"{key}.{number}", f"{text} is not; x, how far aft, comes first"
        elif crossing := crossing_edges(corners):
            first, second = crossing
            text = f"edges {first + 1} and {second + 1} meet - give the corners in order round the area"
            yield "D131", key, text
        elif abs(area(corners)) < 1.0:
            yield "D131", key, "the corners enclose nothing - give at least three that are not in line"


def _exchanged(about: Given) -> bool:
    """Return whether x and y of the floor's outline have been exchanged: it then lies all on one side of the hull."""
    corners = _known(about.points("floor.outline"))
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return len(corners) > 2 and min(ys) > 0 and min(xs) < 0 < max(xs)


def _exchanged_corner(corners: Sequence[Point]) -> int | None:
    """Return the corner of an area that lies far from the others, and near them if its x and y are exchanged."""
    for number, (x, y) in enumerate(corners if len(corners) > 3 else ()):
        box = around([*corners[:number], *corners[number + 1 :]])
        near = grow(box, max(box[2] - box[0], box[3] - box[1]) / 2)
        if not box_within((x, y, x, y), near) and box_within((y, x, y, x), near):
            return number
    return None


def _settings(about: Given) -> Iterator[Fault]:
    key = "fixing.settings"
    if not isinstance(about.at(key), dict):
        return
    given = _given(about, key, ("count", "pitch", "at_limit"))
    if about.at(f"{key}.stations") is not None:
        for name in given:
            text = "stands beside stations - give count, pitch and at_limit, or stations; null drops an inherited key"
            yield "D126", f"{key}.{name}", text
        seen: dict[float, int] = {}
        for number, station in enumerate(about.entries(f"{key}.stations"), 1):
            value = about.numbers.get(station)
            if value is not None and seen.setdefault(value, number) != number:
                text = f"{_say(about, value)} - the same as station {seen[value]}; allowed: each only once"
                yield "D138", station, text
        return
    if (about.numbers.get(f"{key}.count") or 1) > 1 and "pitch" not in given:
        yield "D121", key, '"pitch" is missing - give the distance between neighbouring settings'
    limit = about.at(f"{key}.at_limit")
    if isinstance(limit, Leaf) and limit.text == "fore" and about.at("rule.runner_base.min") is None:
        text = "fore - the rule has no min at which the foremost setting could stand; give it, or at_limit: aft"
        yield "D126", f"{key}.at_limit", text
    if about.at("rule") is None:
        yield "D126", key, "no stations, and no rule to work them out from - give stations, or the section rule"


def _plate(about: Given) -> Iterator[Fault]:
    plate = "fixing.plate"
    length, width = about.numbers.get(f"{plate}.length"), about.numbers.get(f"{plate}.width")
    slot = about.numbers.get(f"{plate}.slot.length"), about.numbers.get(f"{plate}.slot.width")
    if slot[0] is not None and slot[1] is not None and slot[0] < slot[1]:
        text = f"{_say(about, slot[0])} - overall, athwart; allowed: from the slot's width, {_say(about, slot[1])}"
        yield "D133", f"{plate}.slot.length", text
    radius = about.numbers.get(f"{plate}.corner_radius")
    if radius is not None and length is not None and width is not None and radius > min(length, width) / 2:
        most = _say(about, min(length, width) / 2)
        text = f"{_say(about, radius)} - allowed: up to half the plate's shorter side, {most}"
        yield "D139", f"{plate}.corner_radius", text
    diameter = about.numbers.get(f"{plate}.screws.diameter")
    if diameter is None:
        return
    sets = [f"{plate}.screws.{name}" for name in ("first", "second")]
    screws = [(f"{key}.{n}", point) for key in sets for n, point in enumerate(about.points(key)) if point is not None]
    off: set[str] = set()
    if length is not None and width is not None:
        reach = (length - diameter) / 2, (width - diameter) / 2
        off = {key for key, (x, y) in screws if abs(x) > reach[0] or abs(y) > reach[1]}
        if off and all(abs(x) <= reach[1] and abs(y) <= reach[0] for _, (x, y) in screws):
            text = f"{_say(about, length)} - screws run off the plate, and fit with length and width exchanged"
            yield "D139", f"{plate}.length", f"{text}; length is fore and aft, width athwart"
            return
        allowed = f"allowed: x within {_say(about, reach[0])}, y within {_say(about, reach[1])} of its centre"
    for key, point in screws:
        if key in off:
            yield "D134", key, f"{_say(about, *point)} - the screw's hole runs off the plate; {allowed}"
        elif slot[0] is not None and slot[1] is not None and _in_slot(point, slot[0], slot[1], diameter):
            yield "D134", key, f"{_say(about, *point)} - the screw's hole runs into the slot; move it clear"


def _in_slot(point: Point, length: float, width: float, diameter: float) -> bool:
    """Return whether a round hole touches a slot with round ends that lies athwart round the plate's centre."""
    beyond = max(abs(point[1]) - (length - width) / 2, 0.0)
    return math.hypot(point[0], beyond) < (width + diameter) / 2


def _patterns(about: Given) -> Iterator[Fault]:
    kinds = ("points", "row", "rectangle", "circle")
    for fitting in about.entries("fittings"):
        key = f"{fitting}.pattern"
        if not isinstance(about.at(key), dict):
            continue
        given = _given(about, key, kinds)
        if not given:
            yield "D126", key, f"no pattern - give one of {', '.join(kinds)}"
        for name in given[1:]:
            yield "D126", f"{key}.{name}", f"stands beside {given[0]} - give only one of {', '.join(kinds)}"
        count, pitch = about.numbers.get(f"{key}.row.count"), about.numbers.get(f"{key}.row.pitch")
        if count is not None and pitch is not None and count * pitch > _LONGEST_ROW:
            text = f"{count:.0f} holes {_say(about, pitch)} apart - allowed: up to {_say(about, _LONGEST_ROW)} in all"
            yield "D124", f"{key}.row.count", text


def _names(about: Given) -> Iterator[Fault]:
    """Yield a paper that is half described, and names that stand in no table."""
    paper = "print.paper"
    if isinstance(about.at(paper), dict):
        given = _given(about, paper, ("height", "roll", "width"))
        if given not in (["height", "width"], ["roll"]):
            names = ", ".join(given) or "nothing"
            text = f"{names} given - allowed: width and height, or roll, or a paper's name such as A4"
            yield "D126", paper, text
    for key in ("floor.wood", "floor.wood.species", "plank.wood", "plank.wood.species"):
        if _unknown(about, key, find_species):
            allowed = f"{', '.join(row.name for row in all_species())}; or give specific_gravity"
            yield "D125", key, f"{shown(about.texts[key])}: unknown wood - allowed: {allowed}"
    key = "fixing.bolt.thread"
    if _unknown(about, key, find_thread):
        text = f"{shown(about.texts[key])}: unknown thread - allowed: {', '.join(thread_names())}"
        yield "D125", key, text


def _unknown(about: Given, key: str, find: Callable[[str], object]) -> bool:
    """Return whether a name is given and stands in no table."""
    try:
        return key in about.texts and not find(about.texts[key])
    except KeyError:
        return True
