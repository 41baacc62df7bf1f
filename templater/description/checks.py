"""Values of the description held against one another. Each fault stands at the key to be changed.

The checks work on what is known, so that they find what they can while other values are still at fault.
Whether the holes suit the wood and the rule is no matter of the text: see ``bench``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from templater.plane.polygons import area, crossing_edges
from templater.plane.shapes import Point
from templater.reader import faults
from templater.reader.compose import Leaf, Tree
from templater.reader.faults import Fault
from templater.reader.values import Known
from templater.standards.fasteners import thread_name, thread_names
from templater.standards.wood import all_species, find_species
from templater.units import MM_PER_INCH


def check(tree: Tree, known: Known) -> Iterator[Fault]:
    """Yield what is wrong between the values of a description.

    Args:
        tree: the merged leaves.
        known: every value that is sound by itself.
    """
    about = _About(tree, known)
    yield from _rule(about)
    yield from _areas(about)
    yield from _plank(about)
    yield from _settings(about)
    yield from _bolt(about)
    yield from _plate(about)
    yield from _patterns(about)
    yield from _paper(about)
    yield from _names(about)


class _About:
    """Looks values up by dotted key."""

    def __init__(self, tree: Tree, known: Known) -> None:
        self.tree = tree
        self.known = known
        units = tree.get("units")
        self.unit = units.text if isinstance(units, Leaf) else "mm"

    def number(self, key: str) -> float | None:
        """Return a sound number, or None."""
        return self.known.numbers.get(key)

    def given(self, key: str) -> Tree:
        """Return what stands under a key, sound or not, or None."""
        tree = self.tree
        for name in key.split("."):
            if isinstance(tree, list):
                tree = tree[int(name)] if name.isdecimal() else None
            elif isinstance(tree, dict):
                tree = tree.get(name)
            else:
                return None
        return None if isinstance(tree, Leaf) and tree.value is None else tree

    def count(self, key: str) -> int:
        """Return how many entries a list has; 0 if there is none."""
        tree = self.given(key)
        return len(tree) if isinstance(tree, list) else 0

    def length(self, value: float) -> str:
        """Return a length for a message, in the description's unit."""
        if self.unit == "in":
            return f"{round(value / MM_PER_INCH, 4):.10g} in"
        return f"{round(value, 3):.10g} mm"

    def place(self, point: Point) -> str:
        """Return a point for a message."""
        return f"[{self.length(point[0])}, {self.length(point[1])}]"

    def points(self, key: str) -> list[Point | None]:
        """Return a list of points, None for one at fault."""
        found: list[Point | None] = []
        for number in range(self.count(key)):
            x, y = self.number(f"{key}.{number}.0"), self.number(f"{key}.{number}.1")
            found.append(None if x is None or y is None else (x, y))
        return found


def _less(about: _About, code: str, key: str, other: str, what: str, share: float = 1.0) -> Iterator[Fault]:
    """Yield a fault unless one number is below (a share of) another."""
    value, limit = about.number(key), about.number(other)
    if value is not None and limit is not None and not value < limit * share:
        text = f"{about.length(value)} - {what}, which is {about.length(limit)}"
        yield code, key, f"{text}; allowed: below {about.length(limit * share)}"


def _rule(about: _About) -> Iterator[Fault]:
    least, most = "rule.runner_base.min", "rule.runner_base.max"
    yield from _less(about, faults.RUNNER_BASE, least, most, "must be below max")
    low, high, inside = about.number(least), about.number(most), about.number("rule.keep_inside")
    if high is None or inside is None:
        return
    room = high - (low or 0.0)
    if 0 < room <= inside:
        text = f"{about.length(inside)} - leaves nothing of the rule's range; allowed: below {about.length(room)}"
        yield faults.RUNNER_BASE, "rule.keep_inside", text


def _areas(about: _About) -> Iterator[Fault]:
    if _exchanged(about):
        text = "lies all on one side of the hull - x, aft of the steering pivot axis, comes first, then y, to starboard"
        yield faults.POLYGON, "floor.outline", text
    keys = [f"floor.keep_clear.{number}.corners" for number in range(about.count("floor.keep_clear"))]
    for key in ["floor.outline", *keys]:
        points = about.points(key)
        corners = [point for point in points if point is not None]
        if len(corners) < len(points) or not 3 <= len(corners) <= 400:
            continue
        if crossing := crossing_edges(corners):
            first, second = crossing
            text = f"edges {first + 1} and {second + 1} meet - give the corners in order round the area"
            yield faults.POLYGON, key, text
        elif abs(area(corners)) < 1.0:
            yield faults.POLYGON, key, "the corners enclose nothing - give at least three that are not in line"


def _exchanged(about: _About) -> bool:
    """Return whether x and y of the floor's outline have been exchanged: it then lies all on one side of the hull."""
    corners = [point for point in about.points("floor.outline") if point is not None]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return len(corners) > 2 and min(ys) > 0 and min(xs) < 0 < max(xs)


def _spread(about: _About) -> Iterator[Fault]:
    spread, length = "fixing.half_spread", "plank.length"
    value = about.number(spread)
    across = [abs(point[1]) for point in about.points("floor.outline") if point is not None]
    if value is not None and across and value > max(across) >= value / 2 and not _exchanged(about):
        half = about.length(value / 2)
        text = f"{about.length(value)} - outside the floor, which reaches out to {about.length(max(across))}"
        yield faults.SPREAD, spread, f"{text}; measured from the centreline: if this is bolt to bolt, write {half}"
        return
    yield from _less(about, faults.SPREAD, spread, length, "must be less than half the plank's length", 0.5)


def _plank(about: _About) -> Iterator[Fault]:
    yield from _spread(about)
    length = "plank.length"
    yield from _less(about, faults.CROWN, "plank.crown", length, "must be less than half the plank's length", 0.5)
    edge, width = "plank.bolts_from_fore_edge", "plank.width"
    yield from _less(about, faults.PLANK, edge, width, "must be less than the plank's width")
    yield from _less(about, faults.PLANK, "plank.solid_at_bolts", width, "must be less than the plank's width")
    apart = "plank.chock_corners.apart"
    yield from _less(about, faults.PLANK, apart, length, "must be less than twice the plank's length", 2.0)
    below = about.number("plank.chock_corners.below_floor")
    if below is not None and below < 0:
        text = f"{about.length(below)} - allowed: from 0; it is measured downwards: write {about.length(-below)}"
        yield faults.PLANK, "plank.chock_corners.below_floor", text


def _settings(about: _About) -> Iterator[Fault]:
    key = "fixing.settings"
    settings = about.given(key)
    if not isinstance(settings, dict):
        return
    given = [name for name in ("count", "pitch", "at_limit") if about.given(f"{key}.{name}") is not None]
    if about.given(f"{key}.stations") is not None:
        for name in given:
            text = "stands beside stations - give count, pitch and at_limit, or stations; null drops an inherited key"
            yield faults.EITHER, f"{key}.{name}", text
        seen: dict[float, int] = {}
        for number in range(about.count(f"{key}.stations")):
            value = about.number(f"{key}.stations.{number}")
            if value is not None and value in seen:
                text = f"{about.length(value)} - the same as station {seen[value] + 1}; allowed: each only once"
                yield faults.SETTINGS, f"{key}.stations.{number}", text
            elif value is not None:
                seen[value] = number
        return
    if (about.number(f"{key}.count") or 1) > 1 and "pitch" not in given:
        yield faults.MISSING, key, '"pitch" is missing - give the distance between neighbouring settings'
    limit = about.given(f"{key}.at_limit")
    if isinstance(limit, Leaf) and limit.text == "fore" and about.given("rule.runner_base.min") is None:
        text = "fore - the rule has no min at which the foremost setting could stand; give it, or at_limit: aft"
        yield faults.EITHER, f"{key}.at_limit", text
    if about.given("rule") is None:
        yield faults.EITHER, key, "no stations, and no rule to reckon them from - give stations, or the section rule"


def _bolt(about: _About) -> Iterator[Fault]:
    inner, outer = "fixing.sleeve.inner", "fixing.sleeve.outer"
    yield from _less(about, faults.SLEEVE, inner, outer, "must be below the outer diameter")
    if about.given("fixing.floor_hole") is not None and about.given("fixing.sleeve") is not None:
        text = "stands beside sleeve - the bolt passes through one or the other; null drops an inherited key"
        yield faults.EITHER, "fixing.floor_hole", text


def _plate(about: _About) -> Iterator[Fault]:
    plate = "fixing.plate"
    length, width = about.number(f"{plate}.length"), about.number(f"{plate}.width")
    slot = about.number(f"{plate}.slot.length"), about.number(f"{plate}.slot.width")
    athwart, across = "must be less than the plate's width", "must be less than the plate's length"
    yield from _less(about, faults.SLOT, f"{plate}.slot.length", f"{plate}.width", athwart)
    yield from _less(about, faults.SLOT, f"{plate}.slot.width", f"{plate}.length", across)
    if slot[0] is not None and slot[1] is not None and slot[0] < slot[1]:
        text = f"{about.length(slot[0])} - overall, athwart; allowed: from the slot's width, {about.length(slot[1])}"
        yield faults.SLOT, f"{plate}.slot.length", text
    radius = about.number(f"{plate}.corner_radius")
    if radius is not None and length is not None and width is not None and radius > min(length, width) / 2:
        most = about.length(min(length, width) / 2)
        text = f"{about.length(radius)} - allowed: up to half the plate's shorter side, {most}"
        yield faults.PLATE, f"{plate}.corner_radius", text
    diameter = about.number(f"{plate}.screws.diameter")
    if diameter is None:
        return
    if length is not None and width is not None and _fits_exchanged(about, length, width, diameter):
        text = f"{about.length(length)} - screws run off the plate, and fit with length and width exchanged"
        yield faults.PLATE, f"{plate}.length", f"{text}; length is fore and aft, width athwart"
        return
    for name in ("first", "second"):
        for number, point in enumerate(about.points(f"{plate}.screws.{name}")):
            if point is None:
                continue
            key = f"{plate}.screws.{name}.{number}"
            if length is not None and width is not None:
                reach = (length - diameter) / 2, (width - diameter) / 2
                if abs(point[0]) > reach[0] or abs(point[1]) > reach[1]:
                    x, y = about.length(reach[0]), about.length(reach[1])
                    allowed = f"allowed: x within {x}, y within {y} of its centre"
                    yield faults.SCREWS, key, f"{about.place(point)} - the screw's hole runs off the plate; {allowed}"
                    continue
            if slot[0] is not None and slot[1] is not None and _in_slot(point, slot[0], slot[1], diameter):
                yield faults.SCREWS, key, f"{about.place(point)} - the screw's hole runs into the slot; move it clear"


def _fits_exchanged(about: _About, length: float, width: float, diameter: float) -> bool:
    """Return whether screws run off a plate and would not if its length and width were exchanged."""
    names = ("fixing.plate.screws.first", "fixing.plate.screws.second")
    points = [point for name in names for point in about.points(name) if point is not None]
    reach, across = (length - diameter) / 2, (width - diameter) / 2
    off = any(abs(x) > reach or abs(y) > across for x, y in points)
    return off and all(abs(x) <= across and abs(y) <= reach for x, y in points)


def _patterns(about: _About) -> Iterator[Fault]:
    for number in range(about.count("fittings")):
        key = f"fittings.{number}.pattern"
        if not isinstance(about.given(key), dict):
            continue
        kinds = ("points", "row", "rectangle", "circle")
        given = [name for name in kinds if about.given(f"{key}.{name}") is not None]
        if not given:
            yield faults.EITHER, key, f"no pattern - give one of {', '.join(kinds)}"
        for name in given[1:]:
            yield faults.EITHER, f"{key}.{name}", f"stands beside {given[0]} - give only one of {', '.join(kinds)}"
        count = about.number(f"{key}.row.count")
        pitch = about.number(f"{key}.row.pitch")
        if count is not None and pitch is not None and count * pitch > 40_000:
            text = f"{count:.0f} holes {about.length(pitch)} apart"
            yield faults.RANGE, f"{key}.row.count", f"{text} - allowed: up to {about.length(40_000)} in all"


def _paper(about: _About) -> Iterator[Fault]:
    key = "print.paper"
    if not isinstance(about.given(key), dict):
        return
    given = {name for name in ("width", "height", "roll") if about.given(f"{key}.{name}") is not None}
    if given not in ({"width", "height"}, {"roll"}):
        names = ", ".join(sorted(given)) or "nothing"
        yield faults.EITHER, key, f"{names} given - allowed: width and height, or roll, or a paper's name such as A4"


def _names(about: _About) -> Iterator[Fault]:
    thread = about.known.texts.get("fixing.bolt.thread")
    if thread is not None:
        try:
            thread_name(thread)
        except KeyError:
            allowed = ", ".join(thread_names())
            yield faults.CHOICE, "fixing.bolt.thread", f"{faults.shown(thread)}: unknown thread - allowed: {allowed}"
    for key in ("floor.wood", "floor.wood.species", "plank.wood", "plank.wood.species"):
        species = about.known.texts.get(key)
        if species is None:
            continue
        try:
            find_species(species)
        except KeyError:
            allowed = ", ".join(row.name for row in all_species())
            text = f"{faults.shown(species)}: unknown wood - allowed: {allowed}; or give specific_gravity"
            yield faults.CHOICE, key, text


def _in_slot(point: Point, length: float, width: float, diameter: float) -> bool:
    """Return whether a round hole touches a slot with round ends that lies athwart round the plate's centre."""
    beyond = max(abs(point[1]) - (length - width) / 2, 0.0)
    return math.hypot(point[0], beyond) < (width + diameter) / 2


