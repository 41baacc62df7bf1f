"""Values of the description held against one another. Each fault stands at the key to be changed.

The checks work on what is known, so that they find what they can while other values are still at fault.
Whether the holes suit the wood and the rule is no matter of the text: see ``checks``.
"""

import math
from collections.abc import Iterable, Iterator, Sequence

from templater.plane.shapes import Point, area, around, box_within, crossing_edges, grow
from templater.reader.compose import Given
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


def _known(points: Iterable[Point | None]) -> list[Point]:
    return [point for point in points if point is not None]


def _given(about: Given, key: str, *names: str) -> list[str]:
    """Return which of some keys below another are given."""
    return [name for name in names if about.at(f"{key}.{name}") is not None]


def _below(about: Given, code: str, key: str, other: str, share: float, what: str) -> Iterator[Fault]:
    """Yield a fault unless one number is below (a share of) another."""
    value, limit = about.numbers.get(key), about.numbers.get(other)
    if value is not None and limit is not None and not value < limit * share:
        yield about.told(code, key, "below", value=value, what=what, limit=limit, most=limit * share)


def _lengths(about: Given) -> Iterator[Fault]:
    """Yield single lengths that do not go with others."""
    known = about.numbers.get
    inside, spread = known("rule.keep_inside"), known("fixing.half_spread")
    room = known("rule.runner_base.max", 0.0) - known("rule.runner_base.min", 0.0)
    if inside is not None and 0 < room <= inside:
        yield about.told("D130", "rule.keep_inside", "inside", value=inside, room=room)
    across = max((abs(y) for _, y in _known(about.points("floor.outline"))), default=0.0)
    if spread is not None and spread > across >= spread / 2 and not _exchanged(about):
        yield about.told("D135", "fixing.half_spread", "floor", value=spread, reach=across, half=spread / 2)
    else:
        what = "must be less than half the plank's length"
        yield from _below(about, "D135", "fixing.half_spread", "plank.length", 0.5, what)
    below = known("plank.chock_corners.below_floor", 0.0)
    if below < 0:
        yield about.told("D137", "plank.chock_corners.below_floor", "above", value=below, meant=-below)
    if about.at("fixing.floor_hole") is not None and about.at("fixing.sleeve") is not None:
        yield about.told("D126", "fixing.floor_hole", "sleeve")


def _areas(about: Given) -> Iterator[Fault]:
    if _exchanged(about):
        yield about.told("D131", "floor.outline", "side")
    for key in ["floor.outline", *(f"{entry}.corners" for entry in about.entries("floor.keep_clear"))]:
        points = about.points(key)
        corners = _known(points)
        if len(corners) < len(points) or not 3 <= len(corners) <= 400:
            continue
        if (number := _exchanged_corner(corners)) is not None:
            x, y = corners[number]
            yield about.told("D131", f"{key}.{number}", "corner", x=x, y=y)
        elif crossing := crossing_edges(corners):
            first, second = (str(edge + 1) for edge in crossing)
            yield about.told("D131", key, "edges", first=first, second=second)
        elif abs(area(corners)) < 1.0:
            yield about.told("D131", key, "nothing")


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
    given = _given(about, key, "count", "pitch", "at_limit")
    if about.at(f"{key}.stations") is not None:
        yield from (about.told("D126", f"{key}.{name}", "stations") for name in given)
        seen: dict[float, int] = {}
        for number, station in enumerate(about.entries(f"{key}.stations"), 1):
            value = about.numbers.get(station)
            if value is not None and seen.setdefault(value, number) != number:
                yield about.told("D138", station, value=value, first=str(seen[value]))
        return
    if about.numbers.get(f"{key}.count", 1) > 1 and "pitch" not in given:
        yield about.told("D121", key, "pitch")
    if about.texts.get(f"{key}.at_limit") == "fore" and about.at("rule.runner_base.min") is None:
        yield about.told("D126", f"{key}.at_limit", "fore")
    if about.at("rule") is None:
        yield about.told("D126", key, "rule")


def _plate(about: Given) -> Iterator[Fault]:
    plate, known = "fixing.plate", about.numbers.get
    length, width, radius = (known(f"{plate}.{name}") for name in ("length", "width", "corner_radius"))
    long, wide = known(f"{plate}.slot.length"), known(f"{plate}.slot.width")
    if long is not None and wide is not None and long < wide:
        yield about.told("D133", f"{plate}.slot.length", "short", value=long, width=wide)
    if radius is not None and length is not None and width is not None and radius > min(length, width) / 2:
        yield about.told("D139", f"{plate}.corner_radius", "radius", value=radius, most=min(length, width) / 2)
    diameter = known(f"{plate}.screws.diameter")
    if diameter is None:
        return
    sets = [f"{plate}.screws.{name}" for name in ("first", "second")]
    screws = [(f"{key}.{n}", point) for key in sets for n, point in enumerate(about.points(key)) if point is not None]
    reach = math.inf, math.inf
    if length is not None and width is not None:
        reach = (length - diameter) / 2, (width - diameter) / 2
    off = {key for key, (x, y) in screws if abs(x) > reach[0] or abs(y) > reach[1]}
    if off and all(abs(x) <= reach[1] and abs(y) <= reach[0] for _, (x, y) in screws):
        yield about.told("D139", f"{plate}.length", "exchanged", value=length or 0.0)
        return
    for key, (x, y) in screws:
        if key in off:
            yield about.told("D134", key, "plate", x=x, y=y, far=reach[0], wide=reach[1])
        elif long is not None and wide is not None and _in_slot((x, y), long, wide, diameter):
            yield about.told("D134", key, "slot", x=x, y=y)


def _in_slot(point: Point, length: float, width: float, diameter: float) -> bool:
    """Return whether a round hole touches a slot with round ends that lies athwart round the plate's centre."""
    beyond = max(abs(point[1]) - (length - width) / 2, 0.0)
    return math.hypot(point[0], beyond) < (width + diameter) / 2


def _patterns(about: Given) -> Iterator[Fault]:
    for fitting in about.entries("fittings"):
        key = f"{fitting}.pattern"
        if not isinstance(about.at(key), dict):
            continue
        given = _given(about, key, "points", "row", "rectangle", "circle")
        if not given:
            yield about.told("D126", key, "no pattern")
        yield from (about.told("D126", f"{key}.{name}", "pattern", first=given[0]) for name in given[1:])
        count, pitch = (about.numbers.get(f"{key}.row.{name}", 0.0) for name in ("count", "pitch"))
        if count * pitch > _LONGEST_ROW:
            yield about.told("D124", f"{key}.row.count", "holes", count=f"{count:.0f}", pitch=pitch, most=_LONGEST_ROW)


def _names(about: Given) -> Iterator[Fault]:
    """Yield a paper that is half described, and names that stand in no table."""
    paper = "print.paper"
    if isinstance(about.at(paper), dict):
        given = _given(about, paper, "height", "roll", "width")
        if given not in (["height", "width"], ["roll"]):
            yield about.told("D126", paper, "paper", given=", ".join(given) or "nothing")
    for key in ("floor.wood", "floor.wood.species", "plank.wood", "plank.wood.species", "fixing.bolt.thread"):
        thread = key == "fixing.bolt.thread"
        try:
            if key in about.texts:
                (find_thread if thread else find_species)(about.texts[key])
        except KeyError:
            known = thread_names() if thread else [row.name for row in all_species()]
            name = shown(about.texts[key])
            yield about.told("D125", key, "thread" if thread else "wood", name=name, known=", ".join(known))
