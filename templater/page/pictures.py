"""Pictures beside the fields: the boat as it is solved, with each dimension under the key of its field.

A picture is SVG text; everything about one key carries it as ``data-key``, so that the page can draw it large.
From above: forward up, starboard to the right. Side: forward to the left, up is up. Text sizes follow from the width.
"""

import math
from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

from templater.boat.solved import Boat
from templater.description.keys import Plate, Surface
from templater.plane.shapes import Point, around, box_corners, grow

#: Text and gaps as shares of a picture's longer side.
_TEXT, _GAP = 0.026, 0.05


#: A name for the page, a title for people, SVG text, and the keys of the lists whose rows it numbers.
Picture = dict[str, Any]


def pictures(boat: Boat) -> list[Picture]:
    """Return plan, side view, plank from aft, the floor with what is listed on it, and a plate where there are any."""
    plate = boat.description.fixing.plate
    return [_plan(boat), _side(boat), _plank(boat), _floor(boat), *([_plate(boat, plate)] if plate is not None else [])]


class _Canvas:
    """Shapes of one picture, y down, mm, each with the key that it is about and its look; the box grows with them."""

    def __init__(self, boat: Boat, size: float) -> None:
        self.text, self.gap, self._say = size * _TEXT, size * _GAP, boat.description.figures.length
        self._parts: list[str] = []
        self._points: list[Point] = []

    def _group(self, key: str, look: str, *parts: str, more: str = "") -> None:
        about = f' data-key="{key}"' if key else ""
        self._parts.append(f'<g class="{look}"{about}{more}>{"".join(parts)}</g>')

    def shape(self, points: Sequence[Point], look: str, key: str = "", *, closed: bool = True) -> None:
        self._points += points
        self._group(key, look, f'<path d="{_way(points, closed=closed)}" />')

    def box(self, x: float, y: float, wide: float, high: float, look: str, key: str) -> None:
        """Draw a rectangle from its corner nearest to the picture's."""
        self.shape(box_corners((x, y, x + wide, y + high)), look, key)

    def line(self, a: Point, b: Point, look: str, key: str) -> None:
        self.shape([a, b], look, key, closed=False)

    def circle(self, at: Point, diameter: float, look: str, key: str) -> None:
        (x, y), radius = at, diameter / 2
        self._points += [(x - radius, y - radius), (x + radius, y + radius)]
        self._group(key, look, f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" />')

    def words(self, at: Point, text: str, key: str, anchor: str = "middle", *lines: str) -> None:
        """Write a text, beside the lines that it measures if there are any."""
        (x, y), wide = at, 0.6 * self.text * len(text)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        self._points += [(left, y - self.text), (left + wide, y + self.text / 3)]
        shown = f'<text x="{x:.2f}" y="{y:.2f}" text-anchor="{anchor}">{escape(text)}</text>'
        size = f' font-size="{self.text:.2f}"'  # the page makes the text of the field one is in larger than this
        self._group(key, "measure" if lines else "words", *lines, shown, more=size)

    def measure(self, a: Point, b: Point, off: float, key: str, value: float | None = None) -> None:
        """Draw a dimension along x or y from a to b, ``off`` to the side (down or right is plus), with its figure.

        ``value`` is the figure where the picture is another length, as along an arc.
        """
        level = abs(b[0] - a[0]) >= abs(b[1] - a[1])
        (p, near_p), (q, near_q) = (a, b) if level else (a[::-1], b[::-1])  # along the dimension, and across

        def at(along: float, across: float) -> Point:
            return (along, across) if level else (across, along)

        far, wide = (max if off > 0 else min)(near_p, near_q) + off, self.text * 0.15
        past, tip = far + math.copysign(self.text * 0.5, off), math.copysign(self.text * 0.45, q - p)
        ways = ((at(p, near_p), at(p, past)), (at(q, near_q), at(q, past)), (at(p, far), at(q, far)))
        lines = [f'<path d="{"".join(map(_way, ways))}" />']
        for end, way in ((p, tip), (q, -tip)):
            wing = (at(end, far), at(end + way, far - wide), at(end + way, far + wide))
            lines.append(f'<path d="{_way(wing, closed=True)}" class="tip" />')
        self._points += ways[2]
        x, y = at((p + q) / 2, far)
        middle = (x, y - 0.3 * self.text) if level else (x + 0.4 * self.text, y + 0.35 * self.text)
        figure = self._say(abs(q - p) if value is None else value)
        self.words(middle, figure, key, "middle" if level else "start", *lines)

    def picture(self, name: str, title: str, lists: tuple[str, ...] = ()) -> Picture:
        """Return what was drawn."""
        x0, y0, x1, y1 = grow(around(self._points), self.text)
        view = f"{x0:.1f} {y0:.1f} {x1 - x0:.1f} {y1 - y0:.1f}"
        head = f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="{view}"><title>{escape(title)}</title>'
        return {"name": name, "title": title, "svg": f"{head}{''.join(self._parts)}</svg>", "lists": lists}


def _way(points: Sequence[Point], *, closed: bool = False) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + ("Z" if closed else "")


def _from_above(points: Sequence[Point]) -> list[Point]:
    """Return points of the boat, x aft and y to starboard, as they lie in a picture with forward up."""
    return [(y, x) for x, y in points]


def _plan(boat: Boat) -> Picture:
    """Return hull and plank from above."""
    it, spread = boat.description, boat.description.fixing.half_spread
    plank, last, half = it.plank, boat.settings[-1].station, it.plank.length / 2
    canvas = _Canvas(boat, max(plank.length, last * 1.1))
    gap, fore = canvas.gap, last - plank.fore_edge
    aft = fore + plank.width
    canvas.line((0.0, -gap), (0.0, aft + gap), "axis", "")
    canvas.circle((0.0, 0.0), it.steering_post.diameter, "part", "steering_post.diameter")
    canvas.words((gap * 0.6, canvas.text * 0.3), "steering post", "steering_post.diameter", "start")
    if it.floor.outline:
        canvas.shape(_from_above(it.floor.outline), "part", "floor.outline")
    for number, area in enumerate(it.floor.keep_clear):
        canvas.shape(_from_above(area.corners), "keep", f"floor.keep_clear.{number}")
    canvas.box(-half, fore, plank.length, plank.width, "part", "plank")
    for plate in boat.plates:
        canvas.shape(_from_above(plate.corners), "thin", "fixing.plate")
    for hole in boat.on(Surface.FLOOR):
        canvas.circle(_from_above([hole.at])[0], max(hole.diameter, canvas.text * 0.25), "hole", hole.key)
    for setting in boat.settings:
        canvas.line((-spread, setting.station), (spread, setting.station), "axis", setting.key)
    canvas.measure((0.0, last), (spread, last), aft - last + gap, "fixing.half_spread")
    canvas.measure((-half, aft), (half, aft), 2.2 * gap, "plank.length")
    canvas.measure((half, fore), (half, aft), gap * 0.6, "plank.width")
    if len(boat.settings) > 1:
        first = boat.settings[-2].station
        canvas.measure((-spread, first), (-spread, last), -2.0 * gap, "fixing.settings.pitch")
    if it.rule is not None:
        base, reach = it.rule.runner_base, half * 0.55
        for limit, side, key in ((base.max, -reach, "max"), (base.min, reach, "min")):
            if limit is not None:
                canvas.line((-reach, limit), (reach, limit), "limit", f"rule.runner_base.{key}")
                canvas.measure((side, 0.0), (side, limit), math.copysign(gap * 0.2, side), f"rule.runner_base.{key}")
    return canvas.picture("plan", "From above, forward up")


def _side(boat: Boat) -> Picture:
    """Return post, floor and plank seen from starboard, the floor's upper face at 0; the way to the post is broken."""
    it, last = boat.description, boat.settings[-1].station
    fixing, floor, plank = it.fixing, it.floor.thickness, it.plank
    shim, post = fixing.shim + fixing.block, it.steering_post.diameter
    canvas = _Canvas(boat, plank.width * 3.2)
    gap, fore, top = canvas.gap, last - plank.fore_edge, floor + shim
    aft, near = fore + plank.width, fore - plank.width * 1.3
    height = max(it.steering_post.tape_height or 0.0, gap) + gap
    canvas.box(near - 1.5 * post, -height, post, height + floor, "part", "steering_post.diameter")
    canvas.measure((near - 1.5 * post, -height), (near - 0.5 * post, -height), -gap * 0.6, "steering_post.diameter")
    end, under = aft + gap * 2, top + plank.thickness
    canvas.box(near, 0.0, end - near, floor, "wood", "floor.thickness")
    canvas.measure((end, 0.0), (end, floor), gap * 0.6, "floor.thickness")
    if shim:
        canvas.box(fore, floor, plank.width, shim, "thin", "fixing.shim")
    canvas.box(fore, top, plank.width, plank.thickness, "wood", "plank.thickness")
    canvas.measure((aft, top), (aft, under), gap * 0.6, "plank.thickness")
    canvas.measure((fore, under), (aft, under), gap * 2.2, "plank.width")
    if fixing.sleeve is not None:
        outer, inner = fixing.sleeve.outer, fixing.sleeve.inner
        for wide, key in ((outer, "fixing.sleeve.outer"), (inner, "fixing.sleeve.inner")):
            canvas.box(last - wide / 2, 0.0, wide, floor, "thin", key)
        canvas.measure((last - outer / 2, 0.0), (last + outer / 2, 0.0), -gap * 0.8, "fixing.sleeve.outer")
    canvas.line((last, -gap * 0.6), (last, under + gap), "axis", "fixing.bolt")
    if plank.pivot_aft_of_bolts:
        pivot = plank.pivot_aft_of_bolts
        canvas.measure((last, under), (last + pivot, under), gap, "plank.pivot_aft_of_bolts", pivot)
    return canvas.picture("side", "From starboard, cut at a bolt, forward to the left")


def _plank(boat: Boat) -> Picture:
    """Return the plank from aft, its crown drawn large."""
    it = boat.description
    half, crown, thick, spread = boat.plank.chord / 2, it.plank.crown, it.plank.thickness, it.fixing.half_spread
    canvas = _Canvas(boat, it.plank.length)
    gap = canvas.gap

    def face(y: float) -> Point:
        return (y, crown * (y / half) ** 2)

    upper = [face(half * number / 16) for number in range(-16, 17)]
    canvas.shape([*upper, *((x, y + thick) for x, y in reversed(upper))], "wood", "plank")
    canvas.line((-half, crown), (half, crown), "axis", "plank.crown")
    canvas.measure((half * 0.1, 0.0), (half * 0.1, crown), 0.001, "plank.crown")
    canvas.measure((-half, crown + thick), (half, crown + thick), gap * 1.2, "plank.length", it.plank.length)
    for side in (-spread, spread):
        x, y = face(side)
        canvas.line((x, y - gap * 0.5), (x, y + thick + gap * 0.5), "axis", "fixing.half_spread")
    canvas.measure((0.0, 0.0), (spread, 0.0), -gap * 0.8, "fixing.half_spread")
    if it.plank.chock_corners is not None:
        reach = it.plank.chock_corners.apart / 2
        y = face(reach)[1] + thick
        for side in (-reach, reach):
            canvas.circle((side, y), canvas.text * 0.5, "hole", "plank.chock_corners")
        canvas.measure((-reach, y), (reach, y), gap * 2.8, "plank.chock_corners.apart")
    return canvas.picture("plank", "The plank from aft, the rise of its middle as it lies free")


def _floor(boat: Boat) -> Picture:
    """Return the floor with its listed corners, areas and fittings, each with its number or name."""
    floor, holes = boat.description.floor, boat.on(Surface.FLOOR)
    areas = [("floor.outline", floor.outline, "part")] if floor.outline else []
    areas += [(f"floor.keep_clear.{n}.corners", area.corners, "keep") for n, area in enumerate(floor.keep_clear)]
    box = around([*(point for _, corners, _ in areas for point in corners), *(hole.at for hole in holes)])
    canvas = _Canvas(boat, max(box[2] - box[0], box[3] - box[1]) * 1.1)
    for key, corners, look in areas:
        canvas.shape(_from_above(corners), look, key)
        for number, corner in enumerate(_from_above(corners)):
            canvas.words(corner, f"{number + 1}", f"{key}.{number}")
    for hole in holes:
        canvas.circle(_from_above([hole.at])[0], hole.diameter, "hole", hole.key)
    for number, fitting in enumerate(boat.description.fittings):
        if fitting.on is Surface.FLOOR:
            canvas.words(_from_above([fitting.at])[0], fitting.name, f"fittings.{number}")
    title = "The floor from above, forward up; corners have the numbers of their rows"
    return canvas.picture("floor", title, ("floor.outline", "floor.keep_clear", "fittings"))


def _plate(boat: Boat, plate: Plate) -> Picture:
    """Return one plate with its slot, its dimensions and the numbers of its screws."""
    canvas = _Canvas(boat, plate.width * 1.3)
    wide, long, gap = plate.width / 2, plate.length / 2, canvas.gap
    canvas.box(-wide, -long, plate.width, plate.length, "part", "fixing.plate")
    canvas.measure((-wide, long), (wide, long), gap * 1.2, "fixing.plate.width")
    canvas.measure((wide, -long), (wide, long), gap, "fixing.plate.length")
    if plate.slot is not None:
        radius, tip = plate.slot.width / 2, plate.slot.length / 2
        reach = tip - radius
        turn = [math.radians(angle) for angle in range(-90, 91, 15)]
        right = [(reach + radius * math.cos(angle), radius * math.sin(angle)) for angle in turn]
        canvas.shape([*right, *((-x, -y) for x, y in right)], "part", "fixing.plate.slot")
        canvas.measure((-tip, radius), (tip, radius), gap * 0.6, "fixing.plate.slot.length")
        canvas.measure((reach, -radius), (reach, radius), gap * 0.6 + radius, "fixing.plate.slot.width")
    screws = plate.screws
    for name, look, places in (("first", "hole", screws.first), ("second", "keep", screws.second)) if screws else ():
        for number, at in enumerate(_from_above(places)):
            key = f"fixing.plate.screws.{name}.{number}"
            canvas.circle(at, screws.diameter if screws else 0.0, look, key)
            canvas.words((at[0] + canvas.text, at[1] + canvas.text / 3), f"{number + 1}", key, "start")
    title = "A plate from above, forward up; first screws full, second dashed"
    return canvas.picture("plate", title, ("fixing.plate.screws",))
