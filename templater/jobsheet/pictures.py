"""Pictures of the job sheet: whole sheets, the section through a bolt at 1:1, the maps of the tiles."""

from __future__ import annotations

import math

from templater.bench.bolt_stack import BoltFit
from templater.bench.sizes import sayer
from templater.boat.model import Boat
from templater.drawing.marks import Anchor, Box, Drawing, Group, Line, Mark, Pen, Polyline, Text
from templater.jobsheet.model import Picture
from templater.paper.model import TiledSheet
from templater.standards.typeface import text_width

_TYPE = 2.8
_LEADER = 26.0


def sheet_picture(drawing: Drawing) -> Picture:
    """Return a whole sheet as a picture."""
    holes = ", ".join(hole.id for hole in drawing.holes[:40])
    more = "" if len(drawing.holes) <= 40 else f" and {len(drawing.holes) - 40} more"
    return Picture(
        drawing.title,
        f"{drawing.title}, {drawing.face} face, forward up, with holes {holes}{more}.",
        drawing.marks,
        drawing.box,
    )


def _rectangle(box: Box, pen: Pen = Pen.WIDE) -> Polyline:
    u0, v0, u1, v1 = box
    return Polyline(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), closed=True, pen=pen, group=Group.OUTLINE)


def _hatch(box: Box, step: float = 3.0) -> list[Mark]:
    """Return thin lines at 45 degrees in a box, as sections are hatched."""
    u0, v0, u1, v1 = box
    height = v1 - v0
    lines: list[Mark] = []
    start = u0 - height + step / 2
    while start < u1:
        a, b = max(start, u0), min(start + height, u1)
        if b > a:
            lines.append(Line((a, v0 + a - start), (b, v0 + b - start), Pen.NARROW, Group.NOTE))
        start += step
    return lines


def bolt_section(boat: Boat, fit: BoltFit) -> Picture:
    """Return the section through a starboard bolt, seen from aft, at 1:1."""
    say = sayer(boat.description)
    fixing = boat.description.fixing
    d = _nominal(boat)
    marks: list[Mark] = []
    labels: list[tuple[float, str]] = []
    half_wood = 38.0
    top = 0.0
    for layer in fit.layers:
        low = top - layer.thickness
        half, hole, hatched = _layer_shape(layer.name, boat, fit, half_wood)
        for side in (-1, 1):
            box = (min(side * hole, side * half), low, max(side * hole, side * half), top)
            marks.append(_rectangle(box))
            if hatched:
                marks += _hatch(box)
        if fixing.sleeve and "floor" in layer.name:
            for side in (-1, 1):
                edge = side * fixing.sleeve.outer / 2
                marks.append(Line((edge, low), (edge, top), Pen.WIDE, Group.OUTLINE))
        labels.append(((low + top) / 2, f"{layer.name} {say(layer.thickness)}"))
        top = low
    nut = (-fit.nut.across / 2, top - fit.nut.height, fit.nut.across / 2, top)
    head_low = 0.0
    countersunk = fit.bolt.head == "countersunk"
    head = (-fit.bolt.across / 2, head_low - fit.bolt.height if countersunk else head_low,
            fit.bolt.across / 2, head_low if countersunk else head_low + fit.bolt.height)  # fmt: skip
    end = -fit.length
    marks += [
        _rectangle(nut),
        _rectangle(head),
        _rectangle((-d / 2, end, d / 2, head_low)),
        Line((0.0, end - 5), (0.0, head[3] + 5), Pen.CHAIN, Group.CENTRELINE),
        Line((-d / 2, -fit.thread_from), (d / 2, -fit.thread_from), Pen.NARROW, Group.OUTLINE),
    ]
    labels += [
        (head[3] - 1.0, f"{fit.bolt.thread} x {say(fit.length)} {fit.bolt.head} bolt, from above"),
        ((nut[1] + nut[3]) / 2, f"{fit.nut.kind} nut {say(fit.nut.height)}"),
        (end, f"thread showing {say(fit.showing)}"),
    ]
    texts, lowest, highest, widest = _lettering(labels, half_wood)
    marks += texts
    box = (-half_wood - 3, min(lowest, end - 6), half_wood + _LEADER + widest + 3, max(highest, head[3] + 6))
    words = ", ".join(text for _, text in sorted(labels, reverse=True))
    return Picture("Section through a bolt", f"From above downwards: {words}.", tuple(marks), box, true_size=True)


def _nominal(boat: Boat) -> float:
    from templater.standards.fasteners import nominal_diameter

    return nominal_diameter(boat.description.fixing.bolt.thread)


def _layer_shape(name: str, boat: Boat, fit: BoltFit, half_wood: float) -> tuple[float, float, bool]:
    """Return a layer's half width, half its hole, and whether it is hatched as cut."""
    fixing = boat.description.fixing
    if name.startswith("washer"):
        return fit.washer.outer / 2, fit.washer.inner / 2, False
    if name.startswith("plate") and fixing.plate:
        hole = fixing.plate.slot.length if fixing.plate.slot else fit.washer.inner
        return min(fixing.plate.width / 2, half_wood), hole / 2, True
    if fixing.sleeve and ("floor" in name or "sleeve" in name):
        return half_wood, fixing.sleeve.inner / 2, True
    return half_wood, (fixing.bolt.hole or _nominal(boat)) / 2 + 0.01, True


def _lettering(labels: list[tuple[float, str]], half: float) -> tuple[list[Mark], float, float, float]:
    """Return labels at the right with leaders, spread so that none stands on another."""
    step = _TYPE * 1.5
    marks: list[Mark] = []
    place = math.inf
    lowest, highest = math.inf, -math.inf
    for v, text in sorted(labels, reverse=True):
        place = min(v, place - step)
        marks.append(Line((half + 2, v), (half + _LEADER - 3, place), Pen.NARROW, Group.NOTE))
        marks.append(Text((half + _LEADER - 1, place - _TYPE * 0.35), text, _TYPE, Group.NOTE, Anchor.START))
        lowest, highest = min(lowest, place - step), max(highest, place + step)
    return marks, lowest, highest, max(text_width(text, _TYPE) for _, text in labels)


def tile_map(sheet: TiledSheet) -> Picture:
    """Return the map of a sheet's tiles, forward up; pages left out as blank are crossed."""
    rows, columns = sheet.grid
    width, height = 20.0, 15.0
    marks: list[Mark] = []
    pages = {(tile.row, tile.column): tile for tile in sheet.tiles}
    for row in range(rows):
        for column in range(columns):
            u, v = column * width, -row * height
            marks.append(_rectangle((u, v - height, u + width, v)))
            tile = pages.get((row, column))
            if tile is None:
                marks.append(Line((u, v), (u + width, v - height), Pen.NARROW, Group.NOTE))
                marks.append(Line((u, v - height), (u + width, v), Pen.NARROW, Group.NOTE))
                continue
            marks.append(Text((u + width / 2, v - 7), tile.name, 4.5, Group.LABEL, Anchor.MIDDLE, bold=True))
            marks.append(Text((u + width / 2, v - 12), f"page {tile.page}", 2.8, Group.LABEL, Anchor.MIDDLE))
    words = ", ".join(f"{tile.name} on page {tile.page}" for tile in sheet.tiles[:60])
    box = (-2.0, -rows * height - 2, columns * width + 2, 2.0)
    title = f"Tiles of {sheet.drawing.name}, forward up"
    return Picture(title, f"{rows} rows, {columns} columns: {words}.", tuple(marks), box)
