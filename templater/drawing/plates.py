"""The plates' sheets: one plate at full size, the strip of all settings joined by bridges, the spares."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from templater.boat.solved import Boat, Hole, HoleKind, Side, SolvedPlate
from templater.description.keys import Plate, Slot
from templater.drawing.compose import Sheet, Words, told
from templater.drawing.labels import diameter, symbol
from templater.drawing.marks import Arc, Circle, Cross, Drawing, Group, Line, Mark, Pen
from templater.plane.shapes import Box, Point, box_about, grow, union

Span = tuple[float, float]
#: Clear space between parts, mm.
GAP = 14.0
#: Straight edge left between a rounded corner and the bridge beside it, mm: room for a file.
BESIDE_BRIDGE = 1.5


class Variant(NamedTuple):
    """A plate as it is to be made, for one side or, if they are alike, for both."""

    sides: tuple[Side, ...]
    screws: tuple[Point, ...]  # (x, y) from the plate's centre, x aft, y to starboard, in the order of their ids

    @property
    def word(self) -> str:
        """The sides for people."""
        return " and ".join(side.word for side in self.sides)

    @property
    def letter(self) -> str:
        """What goes before the ids of its screws: the side, nothing for a plate that serves both."""
        return self.sides[0].value if len(self.sides) == 1 else ""

    def named(self, what: str, joint: str = ", ") -> str:
        """Return the name of what is made with its side; without, for a plate that serves both."""
        return f"{what}{joint}{self.word}" if self.letter else what


def variants(boat: Boat, kind: HoleKind) -> tuple[Variant, ...]:
    """Return the plates to be made with one set of screws: one if port and starboard are alike, else two."""
    found = []
    for side in Side:
        (x, y), holes = _plates(boat, side)[0].centre, _holes(boat, _plates(boat, side)[0], kind)
        found.append(Variant((side,), tuple((round(h.at[0] - x, 6), round(h.at[1] - y, 6)) for h in holes)))
    alike = sorted(found[0].screws) == sorted(found[1].screws)
    return (Variant(tuple(Side), found[0].screws),) if alike else tuple(found)


def _plates(boat: Boat, side: Side) -> list[SolvedPlate]:
    """Return the plates of a side, the foremost first."""
    return [plate for plate in boat.plates if plate.side is side]


def _holes(boat: Boat, plate: SolvedPlate, kind: HoleKind) -> list[Hole]:
    """Return a plate's screws of one set in the order of their ids."""
    own = (plate.side, plate.setting)
    return [hole for hole in boat.holes if hole.kind is kind and (hole.side, hole.setting) == own]


def plate_box(plate: Plate, at: Point) -> Box:
    """Return the box of a plate about its centre in the sheet frame."""
    return box_about(at, plate.width / 2, plate.length / 2)


def countersink(boat: Boat) -> float:
    """Return the diameter of the countersink, mm; 0 without screws."""
    return boat.screw_head.diameter if boat.screw_head else 0.0


def plate_figures(boat: Boat) -> dict[str, str]:
    """Return the figures of a boat's plates for ``told``, empty what there is not; none without plates."""
    plate, units = boat.description.fixing.plate, boat.description.figures
    if plate is None:
        return {}
    return {
        "thick": units.size(plate.thickness),
        "screw": diameter(plate.screws.diameter, units) if plate.screws else "",
        "sunk": diameter(countersink(boat), units),
        "slot": diameter(plate.slot.width, units) if plate.slot else "",
        "opening": "slot" if plate.slot else "hole",
    }


def plate_contour(
    box: Box,
    radius: float,
    *,
    pen: Pen = Pen.WIDE,
    group: Group = Group.PLATE,
    opens: tuple[tuple[Span, ...], tuple[Span, ...]] = ((), ()),
) -> list[Mark]:
    """Return a plate's outline; corners of ``radius``, beside a bridge as far as there is room.

    ``opens`` are the stretches along u of top and foot that are left out, where bridges join them.
    """
    u0, v0, u1, v1 = box
    marks: list[Mark] = []
    radii = []
    for v, spans in zip((v1, v0), opens, strict=True):
        room = min((min(a - u0, u1 - b) for a, b in spans), default=math.inf)
        r = min(radius, max(room - BESIDE_BRIDGE, 0.0))
        bounds = [u0 + r, *(bound for span in spans for bound in span), u1 - r]
        edge = zip(bounds[::2], bounds[1::2], strict=True)
        marks += [Line((a, v), (b, v), pen, group) for a, b in edge if b > a]
        radii.append(r)
    top, foot = radii
    marks += [Line((u, v0 + foot), (u, v1 - top), pen, group) for u in (u0, u1)]
    for number, (u, v, r) in enumerate(((u1, v1, top), (u0, v1, top), (u0, v0, foot), (u1, v0, foot))):
        centre = (u - r if u == u1 else u + r, v - r if v == v1 else v + r)
        marks += [Arc(centre, r, 90.0 * number, 90.0 * (number + 1), pen, group)] if r > 0 else []
    return marks


def slot_contour(centre: Point, slot: Slot, *, pen: Pen = Pen.NARROW, group: Group = Group.PLATE) -> tuple[Mark, ...]:
    """Return the outline of a slot along u with round ends."""
    (u, v), r = centre, slot.width / 2
    half = slot.length / 2 - r
    return (
        Line((u - half, v + r), (u + half, v + r), pen, group),
        Line((u - half, v - r), (u + half, v - r), pen, group),
        Arc((u + half, v), r, -90.0, 90.0, pen, group),
        Arc((u - half, v), r, 90.0, 270.0, pen, group),
    )


def bore_contour(plate: Plate, at: Point, bolt_hole: float) -> tuple[Mark, ...]:
    """Return the outline of the plate's slot, or of the bolt's hole if it has none."""
    slot = plate.slot
    if slot is None or slot.length - slot.width < 1e-6:
        return (Circle(at, slot.width if slot else bolt_hole, Pen.WIDE, Group.CUT),)
    return slot_contour(at, slot, pen=Pen.WIDE, group=Group.CUT)


def strip_contour(plate: Plate, u: float, boxes: Sequence[Box]) -> list[Mark]:
    """Return the outline of plates in a row at ``u``, the foremost first, joined by bridges where they stand apart.

    Dashed lines that are not cut (``Group.PLATE``) show where the bridges are sawn through later.
    """
    half = min(plate.bridge, plate.width) / 2
    middles = (u - plate.width / 4, u + plate.width / 4) if plate.width >= 4 * plate.bridge else (u,)
    bridges = tuple((middle - half, middle + half) for middle in middles)
    joins = [bridges if upper[1] > lower[3] else () for upper, lower in pairwise(boxes)]
    marks: list[Mark] = []
    for box, opens in zip(boxes, pairwise(((), *joins, ())), strict=True):
        marks += plate_contour(box, plate.corner_radius, group=Group.CUT, opens=opens)
    for (upper, lower), spans in zip(pairwise(boxes), joins, strict=True):
        for span in spans:
            marks += (Line((side, upper[1]), (side, lower[3]), Pen.WIDE, Group.CUT) for side in span)
            marks += (Line((span[0], v), (span[1], v), Pen.DASHED, Group.PLATE) for v in (upper[1], lower[3]))
    return marks


class _Part(NamedTuple):
    """Plates of one side in a row, the foremost first, with one set of screws and words on each."""

    variant: Variant
    places: list[Point]
    words: list[str]
    name: str = ""  # goes before the screws' numbers; without, they have the ids of the floor's
    paper: bool = False  # laid where the old plate was: slot over the bolt hole, the bolt line, no countersinks


def draw_plates(sheet: Sheet, boat: Boat) -> Drawing:
    """Return the plates' sheet: one plate, and the strip. A part's u is starboard, v forward, as on the floor."""
    plate, kinds = _plate(boat), variants(boat, HoleKind.FIRST_SCREW)
    left, first = -GAP / 2 - plate.width / 2, boat.settings[0].station
    parts = [
        _Part(variant, [(left, -n * (plate.length + GAP))], [variant.named("one plate")], f"{variant.letter}a")
        for n, variant in enumerate(kinds)
    ]
    for number, variant in enumerate(kinds):
        u = -left + number * (plate.width + GAP)
        row = [(u, first - setting.station) for setting in boat.settings]
        ids = [", ".join(f"{side.value}{setting.number}" for side in variant.sides) for setting in boat.settings]
        parts.append(_Part(variant, row, ids))
    _draw_parts(sheet, boat, parts, HoleKind.FIRST_SCREW, 3.5)
    words = {
        "alike": len(kinds) == 1,
        "sides": " and one for ".join(variant.word for variant in kinds),
        "bridges": len(boat.settings) > 1,
    }
    _write_below(sheet, plate, "plates", told("plates", **words, **plate_figures(boat)))
    return sheet.drawing("plates", "Plates", "template")


def draw_spare_plates(sheet: Sheet, boat: Boat) -> Drawing:
    """Return the sheet: per kind of plate a row of two, left the metal plate, right the paper for the floor."""
    plate, aside, parts = _plate(boat), GAP / 2 + _plate(boat).width / 2, []
    for number, variant in enumerate(variants(boat, HoleKind.SECOND_SCREW)):
        v, name = -number * (plate.length + GAP), f"{variant.letter}b"
        parts.append(_Part(variant, [(-aside, v)], [variant.named("loose plate")], name))
        parts.append(_Part(variant, [(aside, v)], [variant.named("for the floor")], f"F{name}", paper=True))
    _draw_parts(sheet, boat, parts, HoleKind.SECOND_SCREW, 3.0)
    spares = boat.description.spares.plates
    _write_below(sheet, plate, "spare plates", told("spare plates", spares=spares, **plate_figures(boat)))
    return sheet.drawing("spare-plates", "Spare plates", "template")


def _plate(boat: Boat) -> Plate:
    plate = boat.description.fixing.plate
    assert plate is not None  # these sheets are drawn of boats with plates only
    return plate


def _draw_parts(sheet: Sheet, boat: Boat, parts: Sequence[_Part], kind: HoleKind, size: float) -> None:
    """Draw parts with their screws and countersinks, then labels, then words of type ``size``."""
    plate, bolt, bore = _plate(boat), boat.bolt_hole, boat.bore
    slot, sunk = plate.slot, countersink(boat)
    for variant, places, _, name, paper in parts:
        boxes = [plate_box(plate, at) for at in places]
        sheet.add(*strip_contour(plate, places[0][0], boxes))
        sheet.keep += (("spare plate" if paper else "plate", box) for box in boxes)
        for (u, v), solved in zip(places, _plates(boat, variant.sides[0]), strict=False):
            sheet.add(*bore_contour(plate, (u, v), bolt))
            if slot is None:
                sheet.add(Cross((u, v), bolt / 2 + 4.0, Group.CUT))
            elif not paper:
                half = (slot.length - slot.width) / 2
                sheet.add(*(Cross((at, v), 2.5, Group.CUT) for at in (u - half, u + half)))
            if paper:
                sheet.add(Circle((u, v), bore, Pen.DASHED, Group.OUTLINE))
                start, end = (slot.length if slot else bore) / 2 + 1.0, plate.width / 2
                ends = (((u + way * start, v), (u + way * end, v)) for way in (-1, 1))
                sheet.add(*(Line(a, b, Pen.CHAIN, Group.CENTRELINE) for a, b in ends))
            holes = zip(_holes(boat, solved, kind), variant.screws, strict=True)
            screws = [
                symbol(hole, (u + y, v - x), name=name and f"{name}{number}", clear=0.0 if paper else sunk / 2)
                for number, (hole, (x, y)) in enumerate(holes, 1)
            ]
            sheet.add_symbols(screws)
            if not paper:
                sheet.add(*(Circle(item.at, sunk, Pen.DASHED, Group.COUNTERSINK) for item in screws))
    sheet.add_labels()
    for part in parts:
        for (u, v), text in zip(part.places, part.words, strict=True):  # below the slot if that can be had
            box, near = grow(plate_box(plate, (u, v)), -1.0), (u, v - plate.length / 3)
            tries = ((size, box), (2.2, box), (2.2, grow(box, GAP / 2)))
            any(sheet.add_block(Words((text,), type_size), near, room) for type_size, room in tries)


def _write_below(sheet: Sheet, plate: Plate, what: str, notes: Sequence[str]) -> None:
    """Write arrow and notes in the free room beside the parts, or below them."""
    box = sheet.box()
    left, width = box[0], max(plate.width, 76.0)
    room = union(box, (left, box[3] - 130.0, left + width, box[3]))
    place = sheet.free_place((24.0, 20.0), (left + 12.0, box[1] + 10.0), box)
    u, v = place[:2] if place else (box[2] + 4.0, box[3] - 20.0)
    sheet.add_arrow((u + 4.0, v))
    near = (left + width / 2, box[3] - plate.length - 30.0)
    sheet.add_block(sheet.notes(what, notes, width), near, room, below=left)
