"""The section through a bolt at 1:1: plate with its screws, floor with its sleeve, plank with its solid plug."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from templater.boat.solved import Boat
from templater.drawing.marks import Anchor, Group, Line, Mark, Pen, Polyline, Text
from templater.job.bolt_stack import BoltFit
from templater.job.hardware import Hardware
from templater.job.plate_screws import ScrewFit
from templater.plane.polygons import hatch
from templater.plane.shapes import Box, Point
from templater.report.blocks import Picture
from templater.report.table import text
from templater.report.tables import screw_point
from templater.standards.fasteners import nominal_diameter
from templater.standards.typeface import text_width

_TYPE = 2.8
#: From the parts to the labels, mm.
_LEADER = 8.0
#: Wood shown at either side of the bolt where no wider plate asks for more, mm.
_HALF = 38.0
#: Thinnest glue line that can be drawn as two lines, mm.
_DRAWABLE = 0.3


@dataclass(frozen=True, slots=True)
class _Label:
    """Words about a place of the picture; ``at`` is where the leader ends."""

    at: Point
    text: str


def bolt_section(boat: Boat, hardware: Hardware) -> Picture | None:
    """Return the section through a starboard bolt, seen from aft, at 1:1; nothing where the bolt is not known.

    v is 0 at the bearing face of the bolt's head; every part below it has its true thickness.
    """
    fit = hardware.bolt
    if fit is None:
        return None
    plate = boat.description.fixing.plate
    half = max(_HALF, min(plate.width / 2 + 4.0, 46.0)) if plate else _HALF
    marks: list[Mark] = []
    labels: list[_Label] = []
    screws, beside = _screw_places(boat, hardware, fit, half)
    half = max(half, *(u + 5.0 for u in screws)) if beside else half
    top = 0.0
    for layer in fit.layers:
        box = (-half, top - layer.thickness, half, top)
        marks += _layer(layer.name, box, boat, hardware, fit, screws)
        labels += _layer_labels(layer.name, box, boat, hardware, fit)
        top = box[1]
    if hardware.screws is not None:
        for u in screws:
            marks += _screw(hardware.screws, u)
        if screws:
            labels.append(_screw_label(boat, hardware.screws, screws[-1], beside))
        if beside:
            marks += _break(screws[0] - hardware.screws.head.diameter / 2 - 2.5, -hardware.screws.length - 2.0)
    bolt, named, ends = _bolt(boat, fit, top)
    marks += bolt
    labels += named
    lettering, words = _lettering(labels, half)
    marks += lettering
    texts = [mark for mark in lettering if isinstance(mark, Text)]
    right = max(mark.at[0] + text_width(mark.text, _TYPE) for mark in texts) + 2.0
    low = min(ends[0], min(mark.at[1] for mark in texts) - _TYPE) - 2.0
    high = max(ends[1], max(mark.at[1] for mark in texts) + _TYPE) + 2.0
    description = f"Seen from aft, from above downwards: {', '.join(words)}."
    return Picture("Section through a bolt", description, tuple(marks), (-half - 2.0, low, right, high), true_size=True)


def _screw_places(boat: Boat, hardware: Hardware, fit: BoltFit, half: float) -> tuple[list[float], bool]:
    """Return where the outermost screws of the first set stand athwart, port first, and whether that is out of place.

    Screws fore and aft of the bolt lie outside the section: one is then drawn beside it, off by a break.
    """
    plate = boat.description.fixing.plate
    if plate is None or plate.screws is None or not plate.screws.first or hardware.screws is None:
        return [], False
    head = hardware.screws.head.diameter / 2
    parts = [fit.washer.outer, fit.bolt.across, fit.nut.across, plate.slot.length if plate.slot else 0.0]
    clear = max(*parts, hardware.sleeve.outer if hardware.sleeve else 0.0) / 2 + head + 1.0
    places = sorted({y for _, y in plate.screws.first if clear <= abs(y) < half - plate.screws.diameter})
    if places:
        return ([places[0], places[-1]] if len(places) > 1 else places), False
    return [max(clear + 4.0, half - head - 1.0)], True


def _break(u: float, low: float) -> list[Mark]:
    """Return the break between the section and a screw that stands elsewhere."""
    points = [(u + (1.2 if n % 2 else -1.2 if n % 4 else 0.0), 1.0 - n * (1.0 - low) / 8) for n in range(9)]
    return [Line(a, b, Pen.NARROW, Group.OUTLINE) for a, b in pairwise(points)]


def _rectangle(box: Box) -> Polyline:
    return Polyline(_corners(box), closed=True, pen=Pen.WIDE, group=Group.OUTLINE)


def _corners(box: Box) -> tuple[Point, Point, Point, Point]:
    u0, v0, u1, v1 = box
    return ((u0, v0), (u1, v0), (u1, v1), (u0, v1))


def _cut(box: Box, *, step: float = 3.0, left: bool = False, blanks: Sequence[Box] = ()) -> list[Mark]:
    """Return a cut part: its outline, hatched at 45 degrees, leaning ``left`` to tell it from its neighbour."""
    sign = -1.0 if left else 1.0

    def turned(one: Box) -> Box:
        return one if not left else (-one[2], one[1], -one[0], one[3])

    lines = hatch(_corners(turned(box)), step, tuple(turned(blank) for blank in blanks))
    hatching: list[Mark] = [Line((sign * a[0], a[1]), (sign * b[0], b[1]), Pen.NARROW, Group.NOTE) for a, b in lines]
    return [_rectangle(box), *hatching]


def _layer(name: str, box: Box, boat: Boat, hardware: Hardware, fit: BoltFit, screws: Sequence[float]) -> list[Mark]:
    """Return one layer of the stack, both sides of its hole."""
    fixing, plank = boat.description.fixing, boat.description.plank
    _, low, half, top = box
    marks: list[Mark] = []
    bolt = nominal_diameter(fixing.bolt.thread)
    for side in (-1, 1):

        def part(inner: float, outer: float, side: int = side) -> Box:
            return (min(side * inner, side * outer), low, max(side * inner, side * outer), top)

        if name.startswith("washer"):
            marks.append(_rectangle(part(fit.washer.inner / 2, fit.washer.outer / 2)))
        elif name == "plate" and fixing.plate is not None:
            hole = fixing.plate.slot.length if fixing.plate.slot else fit.washer.inner
            blanks = _screw_blanks(hardware.screws, screws, head=True)
            marks += _cut(part(hole / 2, min(fixing.plate.width / 2, half)), step=1.6, left=True, blanks=blanks)
        elif name.startswith("floor") and hardware.sleeve is not None:
            sleeve = hardware.sleeve
            gap = sleeve.glue_gap if sleeve.glue_gap >= _DRAWABLE else 0.0
            marks += _cut(part(sleeve.inner / 2, sleeve.outer / 2), step=1.6, left=True)
            blanks = _screw_blanks(hardware.screws, screws, head=False)
            marks += _cut(part(sleeve.outer / 2 + gap, half), blanks=blanks)
        elif name == "plank" and plank.solid_at_bolts is not None and plank.solid_at_bolts / 2 < half:
            plug = plank.solid_at_bolts / 2
            marks += _cut(part((fixing.bolt.hole or bolt) / 2, plug), step=1.6, left=True)
            marks += _cut(part(plug, half), step=4.5)
        else:
            blanks = _screw_blanks(hardware.screws, screws, head=False) if name.startswith("floor") else []
            marks += _cut(part((fixing.bolt.hole or bolt) / 2, half), blanks=blanks)
    return marks


def _screw_blanks(fit: ScrewFit | None, screws: Sequence[float], *, head: bool) -> list[Box]:
    """Return the boxes that the screws take, in which nothing is hatched."""
    if fit is None:
        return []
    wide = (fit.head.diameter if head else fit.diameter) / 2
    return [(u - wide, -fit.length, u + wide, 0.0) for u in screws]


def _screw(fit: ScrewFit, u: float) -> list[Mark]:
    """Return a countersunk screw, its head flush with the plate, its gimlet point about one diameter long."""
    radius, head = fit.diameter / 2, fit.head.diameter / 2
    neck = -min((head - radius) / math.tan(math.radians(fit.head.angle / 2)), fit.length / 2)
    tip, shoulder = -fit.length, min(neck, -fit.length + fit.diameter)
    outline = (
        (u - head, 0.0), (u - radius, neck), (u - radius, shoulder), (u, tip), (u + radius, shoulder),
        (u + radius, neck), (u + head, 0.0),
    )  # fmt: skip
    return [
        Polyline(outline, closed=True, pen=Pen.WIDE, group=Group.FIRST_SCREW),
        Line((u, tip - 3.0), (u, 3.0), Pen.CHAIN, Group.CENTRELINE),
    ]


def _screw_label(boat: Boat, fit: ScrewFit, u: float, beside: bool) -> _Label:
    point = text(screw_point(fit.beyond), boat.description.figures)
    place = ", drawn out of place" if beside else ""
    return _Label((u + fit.head.diameter / 2, -0.2), f"screw {fit.name}{place}; point {point}")


def _layer_labels(name: str, box: Box, boat: Boat, hardware: Hardware, fit: BoltFit) -> list[_Label]:
    """Return what is said of a layer and of the parts in it."""
    say = boat.description.figures.size
    _, low, half, top = box
    middle = (low + top) / 2
    plank, plate = boat.description.plank, boat.description.fixing.plate
    if name.startswith("washer"):
        return [_Label((fit.washer.outer / 2, middle), f"{name}, {say(top - low)} thick")]
    if name == "plate" and plate is not None:
        slot = f", slot {say(plate.slot.length)}" if plate.slot else ""
        return [_Label((min(plate.width / 2, half), middle), f"plate {say(top - low)}{slot}")]
    sleeve = hardware.sleeve
    if name.startswith("floor") and sleeve is not None:
        text = f"sleeve {say(sleeve.outer)} outside, {say(sleeve.inner)} inside, flush"
        glue = f"epoxy glue line, {say(sleeve.glue_gap)} all round" if sleeve.glue_gap >= 0.05 else "epoxy glue line"
        return [
            _Label((half, top - (top - low) * 0.25), f"floor {say(top - low)}"),
            _Label((sleeve.outer / 2, top - (top - low) * 0.5), glue),
            _Label(((sleeve.inner + sleeve.outer) / 4, top - (top - low) * 0.75), text),
        ]
    labels = [_Label((half, middle), f"{name} {say(top - low)}")]
    if name == "plank" and plank.solid_at_bolts is not None:
        at = (plank.solid_at_bolts / 2, top - (top - low) * 0.75)
        labels.append(_Label(at, f"solid plug in the core, ⌀{say(plank.solid_at_bolts)}"))
    return labels


def _bolt(boat: Boat, fit: BoltFit, seat: float) -> tuple[list[Mark], list[_Label], tuple[float, float]]:
    """Return bolt and nut, what is said of them, and the lowest and highest v they reach."""
    say = boat.description.figures.size
    radius, across = nominal_diameter(fit.bolt.thread) / 2, fit.bolt.across / 2
    end = -fit.length
    countersunk = fit.bolt.head == "countersunk"
    head = (-across, -fit.bolt.height, across, 0.0) if countersunk else (-across, 0.0, across, fit.bolt.height)
    nut = (-fit.nut.across / 2, seat - fit.nut.height, fit.nut.across / 2, seat)
    marks: list[Mark] = [
        _rectangle(nut),
        _rectangle(head),
        _rectangle((-radius, end, radius, 0.0)),
        Line((0.0, end - 5.0), (0.0, head[3] + 5.0), Pen.CHAIN, Group.CENTRELINE),
        Line((-radius, -fit.thread_from), (radius, -fit.thread_from), Pen.NARROW, Group.OUTLINE),
    ]
    for side in (-1, 1):
        root = side * radius * 0.82  # the usual way to show a thread: its root as a narrow line
        marks.append(Line((root, end), (root, -fit.thread_from), Pen.NARROW, Group.OUTLINE))
    labels = [
        _Label((across, head[3] - 1.0), f"{fit.bolt.thread} x {say(fit.length)} {fit.bolt.head} bolt, from above"),
        _Label((nut[2], (nut[1] + nut[3]) / 2), f"{fit.nut.kind} nut, {say(fit.nut.height)} high"),
        _Label((radius, (end + nut[1]) / 2), f"thread showing {say(fit.showing)}"),
    ]
    return marks, labels, (end - 5.0, head[3] + 5.0)


def _lettering(labels: Sequence[_Label], half: float) -> tuple[list[Mark], list[str]]:
    """Return labels at the right with leaders, spread so that none stands on another, and their texts downwards."""
    step = _TYPE * 1.6
    marks: list[Mark] = []
    ordered = sorted(labels, key=lambda one: -one.at[1])
    places = [one.at[1] for one in ordered]
    # Where labels would crowd, half of the needed room is taken above and half below.
    for _ in range(len(places)):
        for number in range(1, len(places)):
            short = step - (places[number - 1] - places[number])
            if short > 1e-6:
                places[number - 1] += short / 2
                places[number] -= short / 2
    knee = half + 3.0
    for label, place in zip(ordered, places, strict=True):
        marks.append(Line(label.at, (knee, label.at[1]), Pen.NARROW, Group.NOTE))
        marks.append(Line((knee, label.at[1]), (half + _LEADER - 1.0, place), Pen.NARROW, Group.NOTE))
        marks.append(Text((half + _LEADER, place - _TYPE * 0.35), label.text, _TYPE, Group.NOTE, Anchor.START))
    return marks, [label.text for label in ordered]
