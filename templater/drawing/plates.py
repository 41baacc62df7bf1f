"""The plates' sheets: one plate at full size, the strip of all settings joined by bridges, the spares."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

from templater.boat.solved import Boat, Hole, HoleKind, Side, SolvedPlate, side_word
from templater.description.keys import Plate, Slot
from templater.drawing.compose import BODY, Sheet, Words, closing_lines, note_lines
from templater.drawing.labels import Symbol, diameter, symbol
from templater.drawing.marks import Arc, Circle, Cross, Drawing, Group, Line, Mark, Pen
from templater.plane.shapes import Box, Point, grow, union

Span = tuple[float, float]
#: Clear space between parts, mm.
GAP = 14.0
#: A countersink is drawn twice the screw's diameter if the description does not give the head's.
#: Source: common practice, no source: heads of countersunk wood screws are about twice the nominal diameter.
HEAD_FACTOR = 2.0
#: Straight edge left between a rounded corner and the bridge beside it, mm: room for a file.
BESIDE_BRIDGE = 1.5


class Variant(NamedTuple):
    """A plate as it is to be made, for one side or, if they are alike, for both.

    ``screws`` are ``(x, y)`` from the plate's centre, x aft, y to starboard, in the order of their ids.
    """

    sides: tuple[Side, ...]
    screws: tuple[Point, ...]

    @property
    def word(self) -> str:
        """The sides for people."""
        return " and ".join(side_word(side) for side in self.sides)


def variants(boat: Boat, kind: HoleKind) -> tuple[Variant, ...]:
    """Return the plates to be made with one set of screws: one if port and starboard are alike, else two."""
    port, starboard = (
        tuple(
            (round(hole.at[0] - plate.centre[0], 6), round(hole.at[1] - plate.centre[1], 6))
            for hole in plate_holes(boat, plate, kind)
        )
        for plate in (_plate_of(boat, side) for side in Side)
    )
    first, other = Side
    if sorted(port) == sorted(starboard):
        return (Variant((first, other), port),)
    return Variant((first,), port), Variant((other,), starboard)


def _plate_of(boat: Boat, side: Side) -> SolvedPlate:
    """Return the foremost plate of a side."""
    return next(plate for plate in boat.plates if plate.side is side)


def plate_holes(boat: Boat, plate: SolvedPlate, kind: HoleKind) -> tuple[Hole, ...]:
    """Return a plate's screws of one set in the order of their ids."""
    return tuple(
        hole for hole in boat.holes if hole.kind is kind and hole.side is plate.side and hole.setting == plate.setting
    )


def plate_box(plate: Plate, at: Point) -> Box:
    """Return the box of a plate about its centre in the sheet frame."""
    return (at[0] - plate.width / 2, at[1] - plate.length / 2, at[0] + plate.width / 2, at[1] + plate.length / 2)


def countersink(plate: Plate) -> float:
    """Return the diameter of the countersink, mm; 0 without screws."""
    screws = plate.screws
    return (screws.head_diameter or HEAD_FACTOR * screws.diameter) if screws else 0.0


def bolt_hole(boat: Boat) -> float:
    """Return the diameter of the bolt's own hole: that of the plank."""
    return next(hole.diameter for hole in boat.holes if hole.id == "KP")


def plate_contour(
    box: Box,
    radius: float,
    *,
    pen: Pen = Pen.WIDE,
    group: Group = Group.PLATE,
    open_top: tuple[Span, ...] = (),
    open_foot: tuple[Span, ...] = (),
) -> tuple[Mark, ...]:
    """Return a plate's outline; corners of ``radius``, beside a bridge as far as there is room.

    ``open_top`` and ``open_foot`` are the stretches along u of those edges that are left out, where bridges join them.
    """
    u0, v0, u1, v1 = box
    top, foot = (_corner(radius, box, spans) for spans in (open_top, open_foot))
    marks: list[Mark] = [Line((a, v1), (b, v1), pen, group) for a, b in _left(u0 + top, u1 - top, open_top)]
    marks += [Line((a, v0), (b, v0), pen, group) for a, b in _left(u0 + foot, u1 - foot, open_foot)]
    marks += [Line((u, v0 + foot), (u, v1 - top), pen, group) for u in (u0, u1)]
    corners = ((u1, v1, top), (u0, v1, top), (u0, v0, foot), (u1, v0, foot))
    for number, (u, v, r) in enumerate(corners):
        centre = (u - r if u == u1 else u + r, v - r if v == v1 else v + r)
        marks += [Arc(centre, r, 90.0 * number, 90.0 * (number + 1), pen, group)] if r > 0 else []
    return tuple(marks)


def _corner(radius: float, box: Box, openings: tuple[Span, ...]) -> float:
    """Return the radius of the corners at an edge with openings."""
    room = min((min(a - box[0], box[2] - b) for a, b in openings), default=math.inf)
    return min(radius, max(room - BESIDE_BRIDGE, 0.0))


def _left(start: float, end: float, openings: tuple[Span, ...]) -> list[Span]:
    """Return what is left of a stretch when openings are taken out."""
    bounds = [start, *(bound for opening in sorted(openings) for bound in opening), end]
    return [(a, b) for a, b in zip(bounds[::2], bounds[1::2], strict=True) if b > a]


def slot_contour(centre: Point, slot: Slot, *, pen: Pen = Pen.NARROW, group: Group = Group.PLATE) -> tuple[Mark, ...]:
    """Return the outline of a slot along u with round ends."""
    u, v = centre
    r = slot.width / 2
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


def strip_contour(plate: Plate, u: float, boxes: list[Box]) -> tuple[Mark, ...]:
    """Return the outline of plates in a row at ``u``, the foremost first, joined by bridges where they stand apart.

    Dashed lines that are not cut (``Group.PLATE``) show where the bridges are sawn through later.
    """
    half = min(plate.bridge, plate.width) / 2
    middles = (u - plate.width / 4, u + plate.width / 4) if plate.width >= 4 * plate.bridge else (u,)
    bridges = tuple((middle - half, middle + half) for middle in middles)
    joined = [upper[1] > lower[3] for upper, lower in pairwise(boxes)]
    marks: list[Mark] = []
    for box, above, below in zip(boxes, (False, *joined), (*joined, False), strict=True):
        top, foot = bridges if above else (), bridges if below else ()
        marks += plate_contour(box, plate.corner_radius, group=Group.CUT, open_top=top, open_foot=foot)
    for (upper, lower), apart in zip(pairwise(boxes), joined, strict=True):
        for span in bridges if apart else ():
            marks += (Line((side, upper[1]), (side, lower[3]), Pen.WIDE, Group.CUT) for side in span)
            marks += (Line((span[0], v), (span[1], v), Pen.DASHED, Group.PLATE) for v in (upper[1], lower[3]))
    return tuple(marks)


def draw_plates(boat: Boat, plate: Plate, warnings: tuple[str, ...] = ()) -> Drawing:
    """Return the plates' sheet. A part's u is starboard, v forward, as it lies on the floor."""
    sheet = Sheet()
    kinds = variants(boat, HoleKind.FIRST_SCREW)
    places = [(-GAP / 2 - plate.width / 2, -number * (plate.length + GAP)) for number, _ in enumerate(kinds)]
    strips = [GAP / 2 + plate.width / 2 + number * (plate.width + GAP) for number, _ in enumerate(kinds)]
    for at, variant in zip(places, kinds, strict=True):
        _draw_single(sheet, boat, plate, at, variant, HoleKind.FIRST_SCREW, "a" if len(kinds) == 1 else "")
    for u, variant in zip(strips, kinds, strict=True):
        _draw_strip(sheet, boat, plate, u, variant)
    sheet.add_labels()
    first = boat.settings[0].station
    for at, u, variant in zip(places, strips, kinds, strict=True):
        _name(sheet, plate, at, "one plate" if len(kinds) == 1 else f"one plate, {variant.word}", 3.5)
        for setting in boat.settings:
            words = ", ".join(f"{side.value}{setting.number}" for side in variant.sides)
            _name(sheet, plate, (u, first - setting.station), words, 3.5)
    units = boat.description.figures
    strip = (
        "Make two strips alike: port and starboard. The ids are those of port; those of starboard run from the other "
        "edge."
        if len(kinds) == 1
        else f"Make one strip for {' and one for '.join(variant.word for variant in kinds)}."
    )
    notes = [
        f"Sheet metal {units.size(plate.thickness)} thick; paste the sheet on it, or prick through. As seen from "
        "above, forward up.",
        strip,
    ]
    if plate.slot:
        bit = diameter(plate.slot.width, units)
        notes.append(f"Slot: drill {bit} at both crosses, then saw and file between them.")
    if plate.screws:
        notes.append(f"a: first screws {_screw_words(boat, plate)} (dashed).")
    if len(boat.settings) > 1:
        notes.append(
            "Bridges: part-cut them along the dashed lines before fixing, at most 2/3 deep; fix the whole strip; saw "
            "through afterwards."
        )
    _write_below(sheet, boat, plate, "plates", tuple(notes), warnings)
    return sheet.drawing("plates", "Plates", "template")


def draw_spare_plates(boat: Boat, plate: Plate, warnings: tuple[str, ...] = ()) -> Drawing:
    """Return the sheet: per kind of plate a row of two, left the metal plate, right the paper for the floor."""
    sheet = Sheet()
    kinds = variants(boat, HoleKind.SECOND_SCREW)
    rows = []
    for number, variant in enumerate(kinds):
        v = -number * (plate.length + GAP)
        left, right = (-GAP / 2 - plate.width / 2, v), (GAP / 2 + plate.width / 2, v)
        rows.append((variant, left, right))
        letter = "" if len(kinds) == 1 else variant.sides[0].value
        _draw_single(sheet, boat, plate, left, variant, HoleKind.SECOND_SCREW, f"{letter}b")
        _draw_pricker(sheet, boat, plate, right, variant, f"F{letter}b")
    sheet.add_labels()
    for variant, left, right in rows:
        side = "" if len(kinds) == 1 else f", {variant.word}"
        _name(sheet, plate, left, f"loose plate{side}", 3.0)
        _name(sheet, plate, right, f"for the floor{side}", 3.0)
    notes = (
        f"Loose plate: sheet metal {boat.description.figures.size(plate.thickness)} thick, screws of the second set "
        f"only, {_screw_words(boat, plate)}.",
        f"Spares bag: {boat.description.spares.plates} of them, with bolts and screws.",
        f"For the floor: cut out along the outline and the {'slot' if plate.slot else 'hole'}. Take the old plate off, "
        "lay the paper where it was, the dashed circle on the rim of the bolt hole, the chained line on the bolt line, "
        "forward as the arrow says; prick the crosses; drill the pilots as on the job sheet.",
    )
    _write_below(sheet, boat, plate, "spare plates", notes, warnings)
    return sheet.drawing("spare-plates", "Spare plates", "template")


def _screw_words(boat: Boat, plate: Plate) -> str:
    units = boat.description.figures
    size = plate.screws.diameter if plate.screws else 0.0
    return f"{diameter(size, units)}, countersunk {diameter(countersink(plate), units)}"


def _draw_bore(sheet: Sheet, plate: Plate, at: Point, bolt_hole: float, *, crosses: bool = True) -> None:
    """Draw the plate's slot with crosses at the middles of its ends, or the bolt's hole if it has no slot."""
    sheet.add(*bore_contour(plate, at, bolt_hole))
    if plate.slot is None:
        sheet.add(Cross(at, bolt_hole / 2 + 4.0, Group.CUT))
    elif crosses:
        half = (plate.slot.length - plate.slot.width) / 2
        sheet.add(*(Cross((u, at[1]), 2.5, Group.CUT) for u in (at[0] - half, at[0] + half)))


def _draw_screws(sheet: Sheet, plate: Plate, symbols: tuple[Symbol, ...]) -> None:
    """Draw screw holes with their countersinks."""
    sheet.add_symbols(symbols)
    sheet.add(*(Circle(item.at, countersink(plate), Pen.DASHED, Group.COUNTERSINK) for item in symbols))


def _named_screws(
    boat: Boat, at: Point, variant: Variant, kind: HoleKind, name: str, clear: float = 0.0
) -> tuple[Symbol, ...]:
    """Return a single plate's screws, numbered after ``name``."""
    holes = plate_holes(boat, _plate_of(boat, variant.sides[0]), kind)
    return tuple(
        symbol(hole, (at[0] + y, at[1] - x), name=f"{name}{number}", clear=clear)
        for number, (hole, (x, y)) in enumerate(zip(holes, variant.screws, strict=True), 1)
    )


def _draw_single(
    sheet: Sheet, boat: Boat, plate: Plate, at: Point, variant: Variant, kind: HoleKind, name: str
) -> None:
    """Draw one plate with one set of screws; ``name`` goes before the screws' numbers, the side's letter if empty."""
    box = plate_box(plate, at)
    sheet.add(*plate_contour(box, plate.corner_radius, group=Group.CUT))
    sheet.keep_whole(box, "plate")
    _draw_bore(sheet, plate, at, bolt_hole(boat))
    letter = name or variant.sides[0].value + "a"
    _draw_screws(sheet, plate, _named_screws(boat, at, variant, kind, letter, countersink(plate) / 2))


def _draw_strip(sheet: Sheet, boat: Boat, plate: Plate, u: float, variant: Variant) -> None:
    """Draw the plates of one side in their true places fore and aft, joined by bridges."""
    plates = [solved for solved in boat.plates if solved.side is variant.sides[0]]
    top = plates[0].centre[0]
    boxes = [plate_box(plate, (u, top - solved.centre[0])) for solved in plates]
    sheet.add(*strip_contour(plate, u, boxes))
    for box in boxes:
        sheet.keep_whole(box, "plate")
    for solved in plates:
        centre = solved.centre
        _draw_bore(sheet, plate, (u, top - centre[0]), bolt_hole(boat))
        screws = (
            symbol(hole, (u + hole.at[1] - centre[1], top - hole.at[0]), clear=countersink(plate) / 2)
            for hole in plate_holes(boat, solved, HoleKind.FIRST_SCREW)
        )
        _draw_screws(sheet, plate, tuple(screws))


def _draw_pricker(sheet: Sheet, boat: Boat, plate: Plate, at: Point, variant: Variant, name: str) -> None:
    """Draw the paper that is laid where the old plate was, its slot over the bolt hole."""
    box = plate_box(plate, at)
    sheet.add(*plate_contour(box, plate.corner_radius, group=Group.CUT))
    sheet.keep_whole(box, "spare plate")
    _draw_bore(sheet, plate, at, bolt_hole(boat), crosses=False)
    sleeve = boat.description.fixing.sleeve
    bore = sleeve.inner if sleeve else bolt_hole(boat)
    sheet.add(Circle(at, bore, Pen.DASHED, Group.OUTLINE))
    half = plate.slot.length / 2 if plate.slot else bore / 2
    for end in (-1, 1):
        edge = (at[0] + end * plate.width / 2, at[1])
        sheet.add(Line((at[0] + end * (half + 1.0), at[1]), edge, Pen.CHAIN, Group.CENTRELINE))
    sheet.add_symbols(_named_screws(boat, at, variant, HoleKind.SECOND_SCREW, name))


def _name(sheet: Sheet, plate: Plate, at: Point, words: str, size: float) -> None:
    """Write words on a plate where there is room, below its slot if that can be had; else beside it."""
    box, near = grow(plate_box(plate, at), -1.0), (at[0], at[1] - plate.length / 3)
    for type_size, room in ((size, box), (2.2, box), (2.2, grow(box, GAP / 2))):
        if sheet.add_block(Words((words,), type_size), near, room):
            return


def _write_below(
    sheet: Sheet, boat: Boat, plate: Plate, what: str, notes: tuple[str, ...], warnings: tuple[str, ...]
) -> None:
    """Write arrow and notes in the free room beside the parts, or below them."""
    box = sheet.box()
    left, width = box[0], max(plate.width, 76.0)
    safety = "Eye protection; clamp the metal, never hold it by hand; break sharp edges."
    lines = note_lines((*notes, safety, *closing_lines(boat, warnings)), BODY, width)
    room = union(box, (left, box[3] - 130.0, left + width, box[3]))
    place = sheet.free_place((24.0, 20.0), (left + 12.0, box[1] + 10.0), box)
    if place is None:
        place = (box[2] + 4.0, box[3] - 20.0, box[2] + 28.0, box[3])
    sheet.add_arrow((place[0] + 4.0, place[1]))
    near = (left + width / 2, box[3] - plate.length - 30.0)
    sheet.add_block(Words((f"{boat.description.boat}: {what}", *lines), head=True), near, room, below=left)
