"""Pictures beside the fields: the boat as it is solved, with each dimension under the key of its field.

A picture is SVG text; everything about one key carries it as ``data-key``, so that the page can draw it large.
Floor: forward up, starboard to the right. Side: forward to the left, up is up. Text sizes follow from the width.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple
from xml.etree import ElementTree

from templater.boat.solved import Boat
from templater.plane.shapes import Point

#: Text and gaps as shares of a picture's longer side.
_TEXT, _GAP = 0.026, 0.05


class Picture(NamedTuple):
    """A picture: a name for the page, a title for people, SVG text."""

    name: str
    title: str
    svg: str


def pictures(boat: Boat) -> tuple[Picture, ...]:
    """Return plan, side view, plank from aft and, where there are plates, a plate."""
    drawn = [_plan(boat), _side(boat), _plank(boat)]
    if boat.description.fixing.plate is not None:
        drawn.append(_plate(boat))
    return tuple(drawn)


class _Canvas:
    """Shapes of one picture, y down, mm; the box grows with them."""

    def __init__(self, name: str, title: str, size: float) -> None:
        self.name, self.title, self.text, self.gap = name, title, size * _TEXT, size * _GAP
        self._root = ElementTree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "role": "img"})
        ElementTree.SubElement(self._root, "title").text = title
        self._xs: list[float] = []
        self._ys: list[float] = []

    def _reach(self, *points: Point) -> None:
        self._xs += [x for x, _ in points]
        self._ys += [y for _, y in points]

    def _group(self, key: str, look: str) -> ElementTree.Element:
        return ElementTree.SubElement(self._root, "g", {"class": look, **({"data-key": key} if key else {})})

    def shape(self, points: Sequence[Point], look: str, key: str = "", *, closed: bool = True) -> None:
        """Draw a line through points."""
        self._reach(*points)
        path = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + ("Z" if closed else "")
        ElementTree.SubElement(self._group(key, look), "path", {"d": path})

    def circle(self, at: Point, diameter: float, look: str, key: str = "") -> None:
        """Draw a circle."""
        radius = diameter / 2
        self._reach((at[0] - radius, at[1] - radius), (at[0] + radius, at[1] + radius))
        place = {"cx": f"{at[0]:.2f}", "cy": f"{at[1]:.2f}", "r": f"{radius:.2f}"}
        ElementTree.SubElement(self._group(key, look), "circle", place)

    def words(self, at: Point, text: str, key: str = "", anchor: str = "middle", look: str = "words") -> None:
        """Write a text."""
        self._text(self._group(key, look), at, text, anchor)

    def _text(self, group: ElementTree.Element, at: Point, text: str, anchor: str) -> None:
        wide = 0.6 * self.text * len(text)
        left = at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        self._reach((left, at[1] - self.text), (left + wide, at[1] + self.text / 3))
        place = {"x": f"{at[0]:.2f}", "y": f"{at[1]:.2f}", "text-anchor": anchor, "font-size": f"{self.text:.2f}"}
        ElementTree.SubElement(group, "text", place).text = text

    def measure(self, a: Point, b: Point, off: float, text: str, key: str) -> None:
        """Draw a dimension along x or y from a to b, ``off`` to the side (down or right is plus), with its figure."""
        level = abs(b[0] - a[0]) >= abs(b[1] - a[1])
        far = max(a[1], b[1]) if off > 0 else min(a[1], b[1])
        side = max(a[0], b[0]) if off > 0 else min(a[0], b[0])
        p, q = ((a[0], far + off), (b[0], far + off)) if level else ((side + off, a[1]), (side + off, b[1]))
        group = self._group(key, "measure")
        past = math.copysign(self.text * 0.5, off)
        ends = [(one, (two[0], two[1] + past) if level else (two[0] + past, two[1])) for one, two in ((a, p), (b, q))]
        lines = [*ends, (p, q)]
        path = "".join(f"M{s[0]:.2f} {s[1]:.2f}L{e[0]:.2f} {e[1]:.2f}" for s, e in lines)
        ElementTree.SubElement(group, "path", {"d": path})
        tip = self.text * 0.45
        inward = math.copysign(tip, (q[0] - p[0]) if level else (q[1] - p[1]))
        for at, way in ((p, inward), (q, -inward)):
            wing = [(at[0] + way, at[1] + s * tip / 3) if level else (at[0] + s * tip / 3, at[1] + way)
                    for s in (-1.0, 1.0)]  # fmt: skip
            head = f"M{at[0]:.2f} {at[1]:.2f}" + "".join(f"L{x:.2f} {y:.2f}" for x, y in wing) + "Z"
            ElementTree.SubElement(group, "path", {"d": head, "class": "tip"})
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        self._reach(p, q)
        shift = (0.0, -0.3 * self.text) if level else (0.4 * self.text, 0.35 * self.text)
        self._text(group, (middle[0] + shift[0], middle[1] + shift[1]), text, "middle" if level else "start")

    def picture(self) -> Picture:
        """Return what was drawn."""
        edge = self.text
        x, y = min(self._xs) - edge, min(self._ys) - edge
        box = f"{x:.1f} {y:.1f} {max(self._xs) + edge - x:.1f} {max(self._ys) + edge - y:.1f}"
        self._root.set("viewBox", box)
        return Picture(self.name, self.title, ElementTree.tostring(self._root, encoding="unicode"))


def _plan(boat: Boat) -> Picture:
    """Return hull and plank from above, forward up: boat x runs down the picture, y to the right."""
    it, say = boat.description, boat.description.figures.length
    last = boat.settings[-1]
    half = it.plank.length / 2
    canvas = _Canvas("plan", "From above, forward up", max(it.plank.length, last.station * 1.1))

    def place(point: Point) -> Point:
        return (point[1], point[0])

    fore, aft = last.station - it.plank.fore_edge, last.station - it.plank.fore_edge + it.plank.width
    canvas.shape([(0.0, -canvas.gap), (0.0, aft + canvas.gap)], "axis", closed=False)
    canvas.circle((0.0, 0.0), it.steering_post.diameter, "part", "steering_post.diameter")
    canvas.words((canvas.gap * 0.6, canvas.text * 0.3), "steering post", "steering_post.diameter", "start")
    if it.floor.outline:
        canvas.shape([place(corner) for corner in it.floor.outline], "part", "floor.outline")
    for number, area in enumerate(it.floor.keep_clear):
        canvas.shape([place(corner) for corner in area.corners], "keep", f"floor.keep_clear.{number}")
    canvas.shape([(-half, fore), (half, fore), (half, aft), (-half, aft)], "part", "plank")
    for plate in boat.plates:
        canvas.shape([place(corner) for corner in plate.corners], "thin", "fixing.plate")
    for hole in boat.holes:
        if hole.on.value == "floor":
            canvas.circle(place(hole.at), max(hole.diameter, canvas.text * 0.25), "hole", hole.key)
    spread = it.fixing.half_spread
    for setting in boat.settings:
        canvas.shape([(-spread, setting.station), (spread, setting.station)], "axis", setting.key, closed=False)
    canvas.measure(
        (0.0, last.station), (spread, last.station), aft - last.station + canvas.gap, say(spread), "fixing.half_spread"
    )
    canvas.measure((-half, aft), (half, aft), 2.2 * canvas.gap, say(it.plank.length), "plank.length")
    canvas.measure((half, fore), (half, aft), canvas.gap * 0.6, say(it.plank.width), "plank.width")
    if len(boat.settings) > 1:
        first = boat.settings[-2].station
        key = "fixing.settings.pitch"
        canvas.measure((-spread, first), (-spread, last.station), -2.0 * canvas.gap, say(last.station - first), key)
    if it.rule is not None:
        limit = it.rule.runner_base.max
        reach = half * 0.55
        canvas.shape([(-reach, limit), (reach, limit)], "limit", "rule.runner_base.max", closed=False)
        canvas.measure((-reach, 0.0), (-reach, limit), -canvas.gap * 0.2, say(limit), "rule.runner_base.max")
        if it.rule.runner_base.min is not None:
            least = it.rule.runner_base.min
            canvas.shape([(-reach, least), (reach, least)], "limit", "rule.runner_base.min", closed=False)
            canvas.measure((reach, 0.0), (reach, least), canvas.gap * 0.2, say(least), "rule.runner_base.min")
    return canvas.picture()


def _side(boat: Boat) -> Picture:
    """Return post, floor and plank seen from starboard; forward is to the left, the floor's upper face at 0."""
    it, say = boat.description, boat.description.figures.length
    last = boat.settings[-1]
    fore = last.station - it.plank.fore_edge
    aft = fore + it.plank.width
    floor, plank = it.floor.thickness, it.plank.thickness
    shim = it.fixing.shim + it.fixing.block
    near = fore - it.plank.width * 1.3  # the long way to the post is broken off
    canvas = _Canvas("side", "From starboard, cut at a bolt, forward to the left", it.plank.width * 3.2)
    post = near - it.steering_post.diameter
    height = max(it.steering_post.tape_height or 0.0, canvas.gap) + canvas.gap
    half = it.steering_post.diameter / 2
    canvas.shape([(post - half, -height), (post + half, -height), (post + half, floor), (post - half, floor)], "part",
                 "steering_post.diameter")  # fmt: skip
    canvas.measure(
        (post - half, -height), (post + half, -height), -canvas.gap * 0.6, say(2 * half), "steering_post.diameter"
    )
    end = aft + canvas.gap * 2
    canvas.shape([(near, 0.0), (end, 0.0), (end, floor), (near, floor)], "wood", "floor.thickness")
    canvas.measure((end, 0.0), (end, floor), canvas.gap * 0.6, say(floor), "floor.thickness")
    top = floor + shim
    if shim:
        canvas.shape([(fore, floor), (aft, floor), (aft, top), (fore, top)], "thin", "fixing.shim")
    canvas.shape([(fore, top), (aft, top), (aft, top + plank), (fore, top + plank)], "wood", "plank.thickness")
    canvas.measure((aft, top), (aft, top + plank), canvas.gap * 0.6, say(plank), "plank.thickness")
    canvas.measure((fore, top + plank), (aft, top + plank), canvas.gap * 2.2, say(it.plank.width), "plank.width")
    station = last.station
    sleeve = it.fixing.sleeve
    if sleeve is not None:
        for wide, key in ((sleeve.outer, "fixing.sleeve.outer"), (sleeve.inner, "fixing.sleeve.inner")):
            canvas.shape([(station - wide / 2, 0.0), (station + wide / 2, 0.0), (station + wide / 2, floor),
                          (station - wide / 2, floor)], "thin", key)  # fmt: skip
        canvas.measure((station - sleeve.outer / 2, 0.0), (station + sleeve.outer / 2, 0.0), -canvas.gap * 0.8,
                       say(sleeve.outer), "fixing.sleeve.outer")  # fmt: skip
    canvas.shape(
        [(station, -canvas.gap * 0.6), (station, top + plank + canvas.gap)], "axis", "fixing.bolt", closed=False
    )
    pivot = it.plank.pivot_aft_of_bolts
    if pivot:
        canvas.measure((station, top + plank), (station + pivot, top + plank), canvas.gap, say(pivot),
                       "plank.pivot_aft_of_bolts")  # fmt: skip
    return canvas.picture()


def _plank(boat: Boat) -> Picture:
    """Return the plank from aft, its crown twice as high as it is."""
    it, say = boat.description, boat.description.figures.length
    half, crown, thick = boat.plank.chord / 2, it.plank.crown * 2, it.plank.thickness
    canvas = _Canvas("plank", "The plank from aft; crown drawn twice as high as it is", it.plank.length)
    steps = [number / 16 for number in range(-16, 17)]
    upper = [(share * half, crown * share * share) for share in steps]
    lower = [(x, y + thick) for x, y in reversed(upper)]
    canvas.shape([*upper, *lower], "wood", "plank")
    canvas.shape([(-half, crown), (half, crown)], "axis", "plank.crown", closed=False)
    canvas.measure((half * 0.1, 0.0), (half * 0.1, crown), 0.001, say(it.plank.crown), "plank.crown")
    canvas.measure(
        (-half, crown + thick), (half, crown + thick), canvas.gap * 1.2, say(it.plank.length), "plank.length"
    )
    spread = it.fixing.half_spread
    for side in (-1.0, 1.0):
        share = side * spread / half
        y = crown * share * share
        canvas.shape([(side * spread, y - canvas.gap * 0.5), (side * spread, y + thick + canvas.gap * 0.5)], "axis",
                     "fixing.half_spread", closed=False)  # fmt: skip
    canvas.measure((0.0, 0.0), (spread, 0.0), -canvas.gap * 0.8, say(spread), "fixing.half_spread")
    chocks = it.plank.chock_corners
    if chocks is not None:
        reach = chocks.apart / 2
        y = crown * (reach / half) ** 2 + thick
        for side in (-1.0, 1.0):
            canvas.circle((side * reach, y), canvas.text * 0.5, "hole", "plank.chock_corners")
        canvas.measure((-reach, y), (reach, y), canvas.gap * 2.8, say(chocks.apart), "plank.chock_corners.apart")
    return canvas.picture()


def _plate(boat: Boat) -> Picture:
    """Return one plate from above, forward up, with its slot and both sets of screws."""
    it, say = boat.description, boat.description.figures.length
    plate = it.fixing.plate
    assert plate is not None
    canvas = _Canvas("plate", "A plate from above, forward up; first screws full, second dashed", plate.width * 1.3)
    wide, long = plate.width / 2, plate.length / 2
    canvas.shape([(-wide, -long), (wide, -long), (wide, long), (-wide, long)], "part", "fixing.plate")
    canvas.measure((-wide, long), (wide, long), canvas.gap * 1.2, say(plate.width), "fixing.plate.width")
    canvas.measure((wide, -long), (wide, long), canvas.gap, say(plate.length), "fixing.plate.length")
    slot = plate.slot
    if slot is not None:
        radius, reach = slot.width / 2, slot.length / 2 - slot.width / 2
        turn = [math.radians(angle) for angle in range(-90, 91, 15)]
        right = [(reach + radius * math.cos(angle), radius * math.sin(angle)) for angle in turn]
        canvas.shape([*right, *((-x, -y) for x, y in right)], "part", "fixing.plate.slot")
        ends = (-slot.length / 2, radius), (slot.length / 2, radius)
        canvas.measure(*ends, canvas.gap * 0.6, say(slot.length), "fixing.plate.slot.length")
        canvas.measure(
            (reach, -radius), (reach, radius), canvas.gap * 0.6 + radius, say(slot.width), "fixing.plate.slot.width"
        )
    screws = plate.screws
    if screws is not None:
        for name, look in (("first", "hole"), ("second", "keep")):
            for number, (x, y) in enumerate(getattr(screws, name)):
                canvas.circle((y, x), screws.diameter, look, f"fixing.plate.screws.{name}.{number}")
    return canvas.picture()
