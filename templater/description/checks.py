"""Values of the description held against one another. Each fault stands at the key to be changed.

The checks work on what is known, so that they find what they can while other values are still at fault.
Whether the holes suit the wood and the rule is no matter of the text: see ``checks``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from templater.plane.shapes import Point, area, around, box_within, crossing_edges, grow
from templater.reader.compose import Leaf
from templater.reader.faults import Fault, shown
from templater.reader.keys import Given
from templater.standards.fasteners import thread_name, thread_names
from templater.standards.wood import all_species, find_species


def check(about: Given) -> Iterator[Fault]:
    """Yield what is wrong between the values of a description."""
    yield from _rule(about)
    yield from _areas(about)
    yield from _plank(about)
    yield from _settings(about)
    yield from _bolt(about)
    yield from _plate(about)
    yield from _patterns(about)
    yield from _paper(about)
    yield from _names(about)


def _say(about: Given, value: float) -> str:
    """Return a length for a message."""
    return about.figures.size(value, 3)


def _place(about: Given, point: Point) -> str:
    """Return a point for a message."""
    return f"[{_say(about, point[0])}, {_say(about, point[1])}]"


def _less(about: Given, code: str, key: str, other: str, what: str, share: float = 1.0) -> Iterator[Fault]:
    """Yield a fault unless one number is below (a share of) another."""
    value, limit = about.number(key), about.number(other)
    if value is not None and limit is not None and not value < limit * share:
        text = f"{_say(about, value)} - {what}, which is {_say(about, limit)}"
        yield code, key, f"{text}; allowed: below {_say(about, limit * share)}"


def _rule(about: Given) -> Iterator[Fault]:
    least, most = "rule.runner_base.min", "rule.runner_base.max"
    yield from _less(about, "D130", least, most, "must be below max")
    low, high, inside = about.number(least), about.number(most), about.number("rule.keep_inside")
    if high is None or inside is None:
        return
    room = high - (low or 0.0)
    if 0 < room <= inside:
        text = f"{_say(about, inside)} - leaves nothing of the rule's range; allowed: below {_say(about, room)}"
        yield "D130", "rule.keep_inside", text


def _areas(about: Given) -> Iterator[Fault]:
    if _exchanged(about):
        text = "lies all on one side of the hull - x, aft of the steering pivot axis, comes first, then y, to starboard"
        yield "D131", "floor.outline", text
    keys = [f"floor.keep_clear.{number}.corners" for number in range(len(about.entries("floor.keep_clear")))]
    for key in ["floor.outline", *keys]:
        points = about.points(key)
        corners = [point for point in points if point is not None]
        if len(corners) < len(points) or not 3 <= len(corners) <= 400:
            continue
        if (number := _exchanged_corner(corners)) is not None:
            x, y = corners[number]
            text = f"{_place(about, (x, y))} - x and y exchanged? far from the other corners, where"
            yield "D131", f"{key}.{number}", f"{text} {_place(about, (y, x))} is not; x, how far aft, comes first"
        elif crossing := crossing_edges(corners):
            first, second = crossing
            text = f"edges {first + 1} and {second + 1} meet - give the corners in order round the area"
            yield "D131", key, text
        elif abs(area(corners)) < 1.0:
            yield "D131", key, "the corners enclose nothing - give at least three that are not in line"


def _exchanged(about: Given) -> bool:
    """Return whether x and y of the floor's outline have been exchanged: it then lies all on one side of the hull."""
    corners = [point for point in about.points("floor.outline") if point is not None]
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


def _spread(about: Given) -> Iterator[Fault]:
    spread, length = "fixing.half_spread", "plank.length"
    value = about.number(spread)
    across = [abs(point[1]) for point in about.points("floor.outline") if point is not None]
    if value is not None and across and value > max(across) >= value / 2 and not _exchanged(about):
        half = _say(about, value / 2)
        text = f"{_say(about, value)} - outside the floor, which reaches out to {_say(about, max(across))}"
        yield "D135", spread, f"{text}; measured from the centreline: if this is bolt to bolt, write {half}"
        return
    yield from _less(about, "D135", spread, length, "must be less than half the plank's length", 0.5)


def _plank(about: Given) -> Iterator[Fault]:
    yield from _spread(about)
    length = "plank.length"
    yield from _less(about, "D136", "plank.crown", length, "must be less than half the plank's length", 0.5)
    edge, width = "plank.bolts_from_fore_edge", "plank.width"
    yield from _less(about, "D137", edge, width, "must be less than the plank's width")
    yield from _less(about, "D137", "plank.solid_at_bolts", width, "must be less than the plank's width")
    apart = "plank.chock_corners.apart"
    yield from _less(about, "D137", apart, length, "must be less than twice the plank's length", 2.0)
    below = about.number("plank.chock_corners.below_floor")
    if below is not None and below < 0:
        text = f"{_say(about, below)} - allowed: from 0; it is measured downwards: write {_say(about, -below)}"
        yield "D137", "plank.chock_corners.below_floor", text


def _settings(about: Given) -> Iterator[Fault]:
    key = "fixing.settings"
    settings = about.at(key)
    if not isinstance(settings, dict):
        return
    given = [name for name in ("count", "pitch", "at_limit") if about.at(f"{key}.{name}") is not None]
    if about.at(f"{key}.stations") is not None:
        for name in given:
            text = "stands beside stations - give count, pitch and at_limit, or stations; null drops an inherited key"
            yield "D126", f"{key}.{name}", text
        seen: dict[float, int] = {}
        for number in range(len(about.entries(f"{key}.stations"))):
            value = about.number(f"{key}.stations.{number}")
            if value is not None and value in seen:
                text = f"{_say(about, value)} - the same as station {seen[value] + 1}; allowed: each only once"
                yield "D138", f"{key}.stations.{number}", text
            elif value is not None:
                seen[value] = number
        return
    if (about.number(f"{key}.count") or 1) > 1 and "pitch" not in given:
        yield "D121", key, '"pitch" is missing - give the distance between neighbouring settings'
    limit = about.at(f"{key}.at_limit")
    if isinstance(limit, Leaf) and limit.text == "fore" and about.at("rule.runner_base.min") is None:
        text = "fore - the rule has no min at which the foremost setting could stand; give it, or at_limit: aft"
        yield "D126", f"{key}.at_limit", text
    if about.at("rule") is None:
        yield "D126", key, "no stations, and no rule to work them out from - give stations, or the section rule"


def _bolt(about: Given) -> Iterator[Fault]:
    inner, outer = "fixing.sleeve.inner", "fixing.sleeve.outer"
    yield from _less(about, "D132", inner, outer, "must be below the outer diameter")
    if about.at("fixing.floor_hole") is not None and about.at("fixing.sleeve") is not None:
        text = "stands beside sleeve - the bolt passes through one or the other; null drops an inherited key"
        yield "D126", "fixing.floor_hole", text


def _plate(about: Given) -> Iterator[Fault]:
    plate = "fixing.plate"
    length, width = about.number(f"{plate}.length"), about.number(f"{plate}.width")
    slot = about.number(f"{plate}.slot.length"), about.number(f"{plate}.slot.width")
    athwart, across = "must be less than the plate's width", "must be less than the plate's length"
    yield from _less(about, "D133", f"{plate}.slot.length", f"{plate}.width", athwart)
    yield from _less(about, "D133", f"{plate}.slot.width", f"{plate}.length", across)
    if slot[0] is not None and slot[1] is not None and slot[0] < slot[1]:
        text = f"{_say(about, slot[0])} - overall, athwart; allowed: from the slot's width, {_say(about, slot[1])}"
        yield "D133", f"{plate}.slot.length", text
    radius = about.number(f"{plate}.corner_radius")
    if radius is not None and length is not None and width is not None and radius > min(length, width) / 2:
        most = _say(about, min(length, width) / 2)
        text = f"{_say(about, radius)} - allowed: up to half the plate's shorter side, {most}"
        yield "D139", f"{plate}.corner_radius", text
    diameter = about.number(f"{plate}.screws.diameter")
    if diameter is None:
        return
    if length is not None and width is not None and _fits_exchanged(about, length, width, diameter):
        text = f"{_say(about, length)} - screws run off the plate, and fit with length and width exchanged"
        yield "D139", f"{plate}.length", f"{text}; length is fore and aft, width athwart"
        return
    for name in ("first", "second"):
        for number, point in enumerate(about.points(f"{plate}.screws.{name}")):
            if point is None:
                continue
            key = f"{plate}.screws.{name}.{number}"
            if length is not None and width is not None:
                reach = (length - diameter) / 2, (width - diameter) / 2
                if abs(point[0]) > reach[0] or abs(point[1]) > reach[1]:
                    x, y = _say(about, reach[0]), _say(about, reach[1])
                    allowed = f"allowed: x within {x}, y within {y} of its centre"
                    yield "D134", key, f"{_place(about, point)} - the screw's hole runs off the plate; {allowed}"
                    continue
            if slot[0] is not None and slot[1] is not None and _in_slot(point, slot[0], slot[1], diameter):
                yield "D134", key, f"{_place(about, point)} - the screw's hole runs into the slot; move it clear"


def _fits_exchanged(about: Given, length: float, width: float, diameter: float) -> bool:
    """Return whether screws run off a plate and would not if its length and width were exchanged."""
    names = ("fixing.plate.screws.first", "fixing.plate.screws.second")
    points = [point for name in names for point in about.points(name) if point is not None]
    reach, across = (length - diameter) / 2, (width - diameter) / 2
    off = any(abs(x) > reach or abs(y) > across for x, y in points)
    return off and all(abs(x) <= across and abs(y) <= reach for x, y in points)


def _patterns(about: Given) -> Iterator[Fault]:
    for number in range(len(about.entries("fittings"))):
        key = f"fittings.{number}.pattern"
        if not isinstance(about.at(key), dict):
            continue
        kinds = ("points", "row", "rectangle", "circle")
        given = [name for name in kinds if about.at(f"{key}.{name}") is not None]
        if not given:
            yield "D126", key, f"no pattern - give one of {', '.join(kinds)}"
        for name in given[1:]:
            yield "D126", f"{key}.{name}", f"stands beside {given[0]} - give only one of {', '.join(kinds)}"
        count = about.number(f"{key}.row.count")
        pitch = about.number(f"{key}.row.pitch")
        if count is not None and pitch is not None and count * pitch > 40_000:
            text = f"{count:.0f} holes {_say(about, pitch)} apart"
            yield "D124", f"{key}.row.count", f"{text} - allowed: up to {_say(about, 40_000)} in all"


def _paper(about: Given) -> Iterator[Fault]:
    key = "print.paper"
    if not isinstance(about.at(key), dict):
        return
    given = {name for name in ("width", "height", "roll") if about.at(f"{key}.{name}") is not None}
    if given not in ({"width", "height"}, {"roll"}):
        names = ", ".join(sorted(given)) or "nothing"
        yield "D126", key, f"{names} given - allowed: width and height, or roll, or a paper's name such as A4"


def _names(about: Given) -> Iterator[Fault]:
    thread = about.known.texts.get("fixing.bolt.thread")
    if thread is not None:
        try:
            thread_name(thread)
        except KeyError:
            allowed = ", ".join(thread_names())
            yield "D125", "fixing.bolt.thread", f"{shown(thread)}: unknown thread - allowed: {allowed}"
    for key in ("floor.wood", "floor.wood.species", "plank.wood", "plank.wood.species"):
        species = about.known.texts.get(key)
        if species is None:
            continue
        try:
            find_species(species)
        except KeyError:
            allowed = ", ".join(row.name for row in all_species())
            text = f"{shown(species)}: unknown wood - allowed: {allowed}; or give specific_gravity"
            yield "D125", key, text


def _in_slot(point: Point, length: float, width: float, diameter: float) -> bool:
    """Return whether a round hole touches a slot with round ends that lies athwart round the plate's centre."""
    beyond = max(abs(point[1]) - (length - width) / 2, 0.0)
    return math.hypot(point[0], beyond) < (width + diameter) / 2


