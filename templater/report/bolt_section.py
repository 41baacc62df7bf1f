"""The section through a bolt at 1:1: plate with its screws, floor with its sleeve, plank with its solid plug."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.drawing.marks import Anchor, Group, Line, Mark, Pen, Text, closed, mark_box, rectangle
from templater.job.fasteners import FLUSH, BoltFit, Layer, ScrewFit
from templater.job.hardware import Hardware
from templater.plane.shapes import Box, Point, around, box_corners, hatch, union
from templater.report.blocks import Picture, Quantity, Value, text

_TYPE = 2.8
#: From the parts to the labels, mm.
_LEADER = 8.0
#: Wood shown at either side of the bolt where no wider plate asks for more, mm.
_HALF = 38.0
#: Thinnest glue line that can be drawn as two lines, and that has a figure worth saying, mm.
_DRAWABLE, _SAID = 0.3, 0.05

#: Where a leader ends, and the words about that place.
_Label = tuple[Point, str]


class _Cut(NamedTuple):
    """A cut part at either side of the bolt: from ``inner`` to ``outer``, with the words about it and their place."""

    inner: float
    outer: float
    text: str
    at: float  # where the leader ends, from the bolt's middle
    step: float = 3.0  # between the lines of its hatching; 0 for a part that is not cut
    left: bool = False  # hatched leaning left, to tell it from its neighbour
    down: float = 0.5  # how far down the part its leader ends


def bolt_section(boat: Boat, hardware: Hardware) -> Picture | None:
    """Return the section through a starboard bolt, from aft, 1:1, v 0 at the stack's top; None without a known bolt."""
    fit, screw = hardware.bolt, hardware.screws
    if fit is None:
        return None
    plate = boat.description.fixing.plate
    half = max(_HALF, min(plate.width / 2 + 4.0, 46.0)) if plate else _HALF
    screws, beside = _screw_places(boat, hardware, fit, half)
    half = max(half, *(u + 5.0 for u in screws)) if beside else half
    marks: list[Mark] = []
    labels: list[_Label] = []
    head_up = boat.description.fixing.bolt.from_ == "above"
    top = plate_top = 0.0
    for layer in fit.layers if head_up else reversed(fit.layers):
        low = top - layer.thickness
        plate_top = top if layer.part == "plate" else plate_top
        head = screw.head.diameter if screw and layer.part == "plate" else screw.diameter if screw else 0.0
        held = screws if layer.part in ("plate", "floor") else []
        blanks = [(u - head / 2, plate_top - screw.length, u + head / 2, plate_top) for u in held] if screw else []
        for part in _parts(layer, half, boat, fit):
            marks += _drawn(part, low, top, blanks)
            labels.append(((part.at, top - (top - low) * part.down), part.text))
        top = low
    if screw and screws:
        for u in screws:
            marks += _screw(screw, (u, plate_top))
        point = text(screw_point(screw.beyond), boat.description.figures)
        place = ", drawn out of place" if beside else ""
        at = (screws[-1] + screw.head.diameter / 2, plate_top - 0.2)
        labels.append((at, f"screw {screw.name}{place}; point {point}"))
        if beside:
            marks += _break(screws[0] - screw.head.diameter / 2 - 2.5, plate_top, -screw.length - 2.0)
    bolt, named = _bolt(boat, fit, top, head_up=head_up)
    marks += bolt
    lettering, words = _lettering([*labels, *named], half)
    box = union(*map(mark_box, (*marks, *lettering)))
    description = f"Seen from aft, from above downwards: {', '.join(words)}."
    box = (-half - 2.0, box[1] - 2.0, box[2] + 2.0, box[3] + 2.0)
    return Picture("Section through a bolt", description, (*marks, *lettering), box, true_size=True)


def screw_point(beyond: float) -> Value:
    """Return how a screw's point lies to the floor's under face; ``beyond`` mm below it."""
    if abs(beyond) < FLUSH:
        return "just reaches the under face"
    before, after = ("comes out ", "") if beyond > 0 else ("stays ", " inside")
    return Quantity(abs(beyond), "size", before=before, after=after)


def _screw_places(boat: Boat, hardware: Hardware, fit: BoltFit, half: float) -> tuple[list[float], bool]:
    """Return where the outermost screws of the first set stand athwart, port first, and whether that is out of place.

    Screws fore and aft of the bolt lie outside the section: one is then drawn beside it, off by a break.
    """
    plate = boat.description.fixing.plate
    if plate is None or plate.screws is None or hardware.screws is None:
        return [], False
    head = hardware.screws.head.diameter / 2
    parts = [fit.washer.outer, fit.bolt.across, fit.nut.across, plate.slot.length if plate.slot else 0.0]
    sleeve = boat.description.fixing.sleeve
    clear = max(*parts, sleeve.outer if sleeve else 0.0) / 2 + head + 1.0
    places = sorted({y for _, y in plate.screws.first if clear <= abs(y) < half - plate.screws.diameter})
    if places:
        return sorted({places[0], places[-1]}), False
    return [max(clear + 4.0, half - head - 1.0)], True


def _break(u: float, top: float, low: float) -> list[Mark]:
    """Return the break between the section and a screw that stands elsewhere, ``low`` from ``top``."""
    points = [(u + (1.2 if n % 2 else -1.2 if n % 4 else 0.0), top + 1.0 - n * (1.0 - low) / 8) for n in range(9)]
    return [Line(a, b, Pen.NARROW, Group.OUTLINE) for a, b in pairwise(points)]


def _parts(layer: Layer, half: float, boat: Boat, fit: BoltFit) -> Iterator[_Cut]:
    """Yield the parts of one layer of the stack, from the bolt outwards."""
    kind, name, thick = layer[:3]
    fixing, plug, say = boat.description.fixing, boat.description.plank.solid_at_bolts, boat.description.figures.size
    sleeve, plate, hole = fixing.sleeve, fixing.plate, boat.bolt_hole / 2
    if kind == "washer":
        outer = fit.washer.outer / 2
        yield _Cut(fit.washer.inner / 2, outer, f"{name}, {say(thick)} thick", outer, step=0.0)
    elif kind == "plate" and plate is not None:
        slot = f", slot {say(plate.slot.length)}" if plate.slot else ""
        inner, outer = plate.slot.length if plate.slot else fit.washer.inner, min(plate.width / 2, half)
        yield _Cut(inner / 2, outer, f"plate {say(thick)}{slot}", outer, step=1.6, left=True)
    elif kind == "floor" and sleeve is not None:
        inner, outer, gap = sleeve.inner / 2, sleeve.outer / 2, sleeve.glue_gap / 2
        tube = f"sleeve {say(sleeve.outer)} outside, {say(sleeve.inner)} inside, flush"
        yield _Cut(inner, outer, tube, (inner + outer) / 2, step=1.6, left=True, down=0.75)
        glue = f"epoxy glue line, {say(gap)} all round" if gap >= _SAID else "epoxy glue line"
        yield _Cut(outer, outer, glue, outer)
        yield _Cut(outer + (gap if gap >= _DRAWABLE else 0.0), half, f"floor {say(thick)}", half, down=0.25)
    elif kind == "plank" and plug is not None and plug / 2 < half:
        yield _Cut(hole, plug / 2, f"solid plug in the core, ⌀{say(plug)}", plug / 2, step=1.6, left=True, down=0.75)
        yield _Cut(plug / 2, half, f"{name} {say(thick)}", half, step=4.5)
    else:
        yield _Cut(boat.bore / 2 if kind == "floor" else hole, half, f"{name} {say(thick)}", half)


def _drawn(part: _Cut, low: float, top: float, blanks: Sequence[Box]) -> Iterator[Mark]:
    """Yield a part at both sides of the bolt: its outline, hatched at 45 degrees but where screws stand."""
    way = -1.0 if part.left else 1.0  # hatching leans left as seen in a mirror

    def seen(box: Box) -> Box:
        return around((way * u, v) for u, v in (box[:2], box[2:]))

    for side in (-1, 1) if part.outer > part.inner else ():
        box = around(((side * part.inner, low), (side * part.outer, top)))
        yield rectangle(box)
        for a, b in hatch(box_corners(seen(box)), part.step, tuple(map(seen, blanks))) if part.step else ():
            yield Line((way * a[0], a[1]), (way * b[0], b[1]), Pen.NARROW, Group.NOTE)


def _screw(fit: ScrewFit, at: Point) -> list[Mark]:
    """Return a countersunk screw, its head flush with the plate, its gimlet point about one diameter long."""
    (u, top), radius, head = at, fit.diameter / 2, fit.head.diameter / 2
    neck = top - min((head - radius) / math.tan(math.radians(fit.head.angle / 2)), fit.length / 2)
    tip, shoulder = top - fit.length, min(neck, top - fit.length + fit.diameter)
    side = ((head, top), (radius, neck), (radius, shoulder))
    outline = (*((u - x, v) for x, v in side), (u, tip), *((u + x, v) for x, v in reversed(side)))
    return [
        closed(outline, Pen.WIDE, Group.FIRST_SCREW),
        Line((u, tip - 3.0), (u, top + 3.0), Pen.CHAIN, Group.CENTRELINE),
    ]


def _bolt(boat: Boat, fit: BoltFit, foot: float, *, head_up: bool) -> tuple[list[Mark], list[_Label]]:
    """Return bolt and nut, and what is said of them; ``foot`` is the foot of the stack."""
    say, bolt, nut = boat.description.figures.size, fit.bolt, fit.nut
    radius = boat.thread.nominal / 2
    across, out = bolt.across / 2, 0.0 if bolt.countersunk else bolt.height
    seat, way = (0.0, -1.0) if head_up else (foot, 1.0)

    def v(along: float) -> float:
        """Return the place so far from the bearing face of the head towards the nut."""
        return seat + way * along

    def box(half: float, start: float, end: float) -> Box:
        return around(((-half, v(start)), (half, v(end))))

    bears, end, thread = -foot, fit.length, fit.thread_from
    marks: list[Mark] = [
        rectangle(box(nut.across / 2, bears, bears + nut.height)),
        rectangle(box(across, -out, bolt.height - out)),
        rectangle(box(radius, 0.0, end)),
        Line((0.0, v(end + 5.0)), (0.0, v(-out - 5.0)), Pen.CHAIN, Group.CENTRELINE),
        Line((-radius, v(thread)), (radius, v(thread)), Pen.NARROW, Group.OUTLINE),
    ]
    for root in (-0.82 * radius, 0.82 * radius):  # the usual way to show a thread: its root as a narrow line
        marks.append(Line((root, v(end)), (root, v(thread)), Pen.NARROW, Group.OUTLINE))
    side = boat.description.fixing.bolt.from_
    return marks, [
        ((across, v(1.0 - out)), f"{bolt.thread} x {say(fit.length)} {bolt.head} bolt, from {side}"),
        ((nut.across / 2, v(bears + nut.height / 2)), f"{nut.kind} nut, {say(nut.height)} high"),
        ((radius, v((end + bears + nut.height) / 2)), f"thread showing {say(fit.showing)}"),
    ]


def _lettering(labels: Sequence[_Label], half: float) -> tuple[list[Mark], list[str]]:
    """Return labels at the right with leaders, spread so that none stands on another, and their texts downwards."""
    step = _TYPE * 1.6
    marks: list[Mark] = []
    ordered = sorted(labels, key=lambda one: -one[0][1])
    places = [at[1] for at, _ in ordered]
    # Where labels would crowd, half of the needed room is taken above and half below.
    for _ in places:
        for number in range(1, len(places)):
            short = step - (places[number - 1] - places[number])
            if short > 1e-6:
                places[number - 1] += short / 2
                places[number] -= short / 2
    knee = half + 3.0
    for (at, words), place in zip(ordered, places, strict=True):
        marks.append(Line(at, (knee, at[1]), Pen.NARROW, Group.NOTE))
        marks.append(Line((knee, at[1]), (half + _LEADER - 1.0, place), Pen.NARROW, Group.NOTE))
        marks.append(Text((half + _LEADER, place - _TYPE * 0.35), words, _TYPE, Group.NOTE, Anchor.START))
    return marks, [words for _, words in ordered]
