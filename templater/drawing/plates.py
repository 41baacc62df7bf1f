"""The plates' sheet: one plate at full size, the strip of all settings joined by bridges, and the spares."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from templater.boat.solved import Boat, Hole, HoleKind, Side, SolvedPlate
from templater.description.keys import Plate
from templater.drawing.compose import BODY, Sheet, closing_lines, note_lines
from templater.drawing.contour import Span, plate_contour, slot_contour
from templater.drawing.labels import Symbol, diameter, symbol
from templater.drawing.marks import Circle, Cross, Drawing, Group, Line, Mark, Pen
from templater.plane.shapes import Box, Point, grow, union

#: Clear space between parts, mm.
GAP = 14.0
#: A countersink is drawn twice the screw's diameter if the description does not give the head's.
#: Source: common practice, no source: heads of countersunk wood screws are about twice the nominal diameter.
HEAD_FACTOR = 2.0


@dataclass(frozen=True, slots=True)
class Variant:
    """A plate as it is to be made, for one side or, if they are alike, for both.

    ``screws`` are ``(x, y)`` from the plate's centre, x aft, y to starboard, in the order of their ids.
    """

    sides: tuple[Side, ...]
    screws: tuple[Point, ...]

    @property
    def word(self) -> str:
        """Return the sides for people."""
        return " and ".join("port" if side is Side.PORT else "starboard" for side in self.sides)


def variants(boat: Boat, kind: HoleKind) -> tuple[Variant, ...]:
    """Return the plates to be made with one set of screws: one if port and starboard are alike, else two."""
    found: list[Variant] = []
    for side in Side:
        plate = next(plate for plate in boat.plates if plate.side is side)
        screws = tuple(
            (round(hole.at[0] - plate.centre[0], 6), round(hole.at[1] - plate.centre[1], 6))
            for hole in plate_holes(boat, plate, kind)
        )
        if found and sorted(screws) == sorted(found[0].screws):
            found = [Variant((*found[0].sides, side), found[0].screws)]
        else:
            found.append(Variant((side,), screws))
    return tuple(found)


def plate_holes(boat: Boat, plate: SolvedPlate, kind: HoleKind) -> tuple[Hole, ...]:
    """Return a plate's screws of one set in the order of their ids."""
    return tuple(
        hole for hole in boat.holes if hole.kind is kind and hole.side is plate.side and hole.setting == plate.setting
    )


def plate_box(plate: Plate, at: Point) -> Box:
    """Return the box of a plate about its centre in the sheet frame."""
    return (at[0] - plate.width / 2, at[1] - plate.length / 2, at[0] + plate.width / 2, at[1] + plate.length / 2)


def countersink(plate: Plate) -> float:
    """Return the diameter of the countersink, mm."""
    screws = plate.screws
    if screws is None:
        return 0.0
    return screws.head_diameter or HEAD_FACTOR * screws.diameter


def draw_bore(sheet: Sheet, plate: Plate, at: Point, bolt_hole: float, *, crosses: bool = True) -> None:
    """Draw the plate's slot with crosses at the middles of its ends, or the bolt's hole if it has no slot."""
    sheet.add(*bore_contour(plate, at, bolt_hole))
    if plate.slot is None:
        sheet.add(Cross(at, bolt_hole / 2 + 4.0, Group.CUT))
        return
    half = (plate.slot.length - plate.slot.width) / 2
    for u in (at[0] - half, at[0] + half) if crosses else ():
        sheet.add(Cross((u, at[1]), 2.5, Group.CUT))


def bore_contour(plate: Plate, at: Point, bolt_hole: float) -> tuple[Mark, ...]:
    """Return the outline of the plate's slot, or of the bolt's hole if it has none."""
    slot = plate.slot
    if slot is None or slot.length - slot.width < 1e-6:
        return (Circle(at, slot.width if slot else bolt_hole, Pen.WIDE, Group.CUT),)
    return slot_contour(at, slot, pen=Pen.WIDE, group=Group.CUT)


def bolt_hole(boat: Boat) -> float:
    """Return the diameter of the bolt's own hole: that of the plank."""
    return next(hole.diameter for hole in boat.holes if hole.id == "KP")


def draw_screws(sheet: Sheet, plate: Plate, symbols: Iterable[Symbol]) -> None:
    """Draw screw holes with their countersinks."""
    items = tuple(symbols)
    sheet.add_symbols(items)
    for item in items:
        sheet.add(Circle(item.at, countersink(plate), Pen.DASHED, Group.COUNTERSINK))


def draw_plates(boat: Boat, plate: Plate, warnings: tuple[str, ...] = ()) -> Drawing:
    """Return the plates' sheet. A part's u is starboard, v forward, as it lies on the floor."""
    sheet = Sheet()
    kinds = variants(boat, HoleKind.FIRST_SCREW)
    for number, variant in enumerate(kinds):
        at = (-GAP / 2 - plate.width / 2, -number * (plate.length + GAP))
        draw_single(sheet, boat, plate, at, variant, HoleKind.FIRST_SCREW, name="a" if len(kinds) == 1 else "")
    for number, variant in enumerate(kinds):
        _draw_strip(sheet, boat, plate, GAP / 2 + plate.width / 2 + number * (plate.width + GAP), variant)
    sheet.add_labels()
    _name_parts(sheet, boat, plate, kinds)
    _write_notes(sheet, boat, plate, warnings)
    return sheet.drawing("plates", "Plates", "template")


def draw_single(
    sheet: Sheet, boat: Boat, plate: Plate, at: Point, variant: Variant, kind: HoleKind, *, name: str
) -> None:
    """Draw one plate with one set of screws; ``name`` goes before the screws' numbers, the side's letter if empty."""
    box = plate_box(plate, at)
    sheet.add(*plate_contour(box, plate.corner_radius, group=Group.CUT))
    sheet.keep_whole(box, "plate")
    draw_bore(sheet, plate, at, bolt_hole(boat))
    holes = plate_holes(boat, next(p for p in boat.plates if p.side is variant.sides[0]), kind)
    letter = name or variant.sides[0].value + ("a" if kind is HoleKind.FIRST_SCREW else "b")
    draw_screws(
        sheet,
        plate,
        (
            symbol(hole, (at[0] + y, at[1] - x), name=f"{letter}{number}", clear=countersink(plate) / 2)
            for number, (hole, (x, y)) in enumerate(zip(holes, variant.screws, strict=True), 1)
        ),
    )


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
        draw_bore(sheet, plate, (u, top - centre[0]), bolt_hole(boat))
        draw_screws(
            sheet,
            plate,
            (
                symbol(hole, (u + hole.at[1] - centre[1], top - hole.at[0]), clear=countersink(plate) / 2)
                for hole in plate_holes(boat, solved, HoleKind.FIRST_SCREW)
            ),
        )


def strip_contour(plate: Plate, u: float, boxes: list[Box]) -> tuple[Mark, ...]:
    """Return the outline of plates in a row at ``u``, the foremost first, joined by bridges where they stand apart.

    Dashed lines that are not cut (``Group.PLATE``) show where the bridges are sawn through later.
    """
    bridges = bridge_spans(plate, u)
    joined = [upper[1] > lower[3] for upper, lower in pairwise(boxes)]
    marks: list[Mark] = []
    for number, box in enumerate(boxes):
        top = bridges if number > 0 and joined[number - 1] else ()
        foot = bridges if number < len(joined) and joined[number] else ()
        marks += plate_contour(box, plate.corner_radius, group=Group.CUT, open_top=top, open_foot=foot)
    for (upper, lower), apart in zip(pairwise(boxes), joined, strict=True):
        for span in bridges if apart else ():
            marks += (Line((side, upper[1]), (side, lower[3]), Pen.WIDE, Group.CUT) for side in span)
            marks += (Line((span[0], v), (span[1], v), Pen.DASHED, Group.PLATE) for v in (upper[1], lower[3]))
    return tuple(marks)


def bridge_spans(plate: Plate, u: float) -> tuple[Span, ...]:
    """Return where bridges join neighbouring plates: two at the quarters of a wide plate, else one in its middle."""
    half = min(plate.bridge, plate.width) / 2
    middles = (u - plate.width / 4, u + plate.width / 4) if plate.width >= 4 * plate.bridge else (u,)
    return tuple((middle - half, middle + half) for middle in middles)


def _name_parts(sheet: Sheet, boat: Boat, plate: Plate, kinds: tuple[Variant, ...]) -> None:
    """Write on every plate what it is."""
    for number, variant in enumerate(kinds):
        at = (-GAP / 2 - plate.width / 2, -number * (plate.length + GAP))
        word = "one plate" if len(kinds) == 1 else f"one plate, {variant.word}"
        _name(sheet, plate, at, word)
        u = GAP / 2 + plate.width / 2 + number * (plate.width + GAP)
        first = boat.settings[0].station
        for setting in boat.settings:
            words = ", ".join(f"{side.value}{setting.number}" for side in variant.sides)
            _name(sheet, plate, (u, first - setting.station), words)


def _name(sheet: Sheet, plate: Plate, at: Point, words: str) -> None:
    """Write words on a plate where there is room, below its slot if that can be had."""
    box = grow(plate_box(plate, at), -1.0)
    near = (at[0], at[1] - plate.length / 3)
    if not sheet.add_block((words,), near, box, size=3.5) and not sheet.add_block((words,), near, box, size=2.2):
        sheet.add_block((words,), near, grow(box, GAP / 2), size=2.2)


def _write_notes(sheet: Sheet, boat: Boat, plate: Plate, warnings: tuple[str, ...]) -> None:
    units = boat.description.figures
    kinds = variants(boat, HoleKind.FIRST_SCREW)
    notes = [
        f"Sheet metal {units.size(plate.thickness)} thick; paste the sheet on it, or prick through. As seen from "
        "above, forward up.",
        f"Make one strip for {' and one for '.join(v.word for v in kinds)}."
        if len(kinds) > 1
        else "Make two strips alike: port and starboard. The ids are those of port; those of "
        "starboard run from the other edge.",
    ]
    if plate.slot:
        bit = diameter(plate.slot.width, units)
        notes.append(f"Slot: drill {bit} at both crosses, then saw and file between them.")
    if plate.screws:
        notes.append(
            f"a: first screws {diameter(plate.screws.diameter, units)}, countersunk "
            f"{diameter(countersink(plate), units)} (dashed)."
        )
    if len(boat.settings) > 1:
        notes.append(
            "Bridges: part-cut them along the dashed lines before fixing, at most 2/3 deep; "
            "fix the whole strip; saw through afterwards."
        )
    notes.append("Eye protection; clamp the metal, never hold it by hand; break sharp edges.")
    write_below(sheet, boat, plate, "plates", [*notes, *closing_lines(boat, warnings)])


def write_below(sheet: Sheet, boat: Boat, plate: Plate, what: str, notes: list[str]) -> None:
    """Write arrow and notes in the free room beside the parts, or below them."""
    box = sheet.box()
    left = box[0]
    width = max(plate.width, 76.0)
    lines = note_lines(notes, BODY, width)
    head = f"{boat.description.boat}: {what}"
    room = union(box, (left, box[3] - 130.0, left + width, box[3]))
    place = sheet.free_place((24.0, 20.0), (left + 12.0, box[1] + 10.0), box)
    if place is None:
        place = (box[2] + 4.0, box[3] - 20.0, box[2] + 28.0, box[3])
    sheet.add_arrow((place[0] + 4.0, place[1]))
    sheet.write(("forward",), (place[0] + 8.0, place[1] + 5.0, place[2], place[1] + 9.0), BODY + 0.4)
    if not sheet.add_block((head, *lines), (left + width / 2, box[3] - plate.length - 30.0), room, bold_first=True):
        sheet.add_block_below((head, *lines), left, bold_first=True)


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
        draw_single(sheet, boat, plate, left, variant, HoleKind.SECOND_SCREW, name=f"{letter}b")
        _draw_pricker(sheet, boat, plate, right, variant, f"F{letter}b")
    sheet.add_labels()
    for variant, left, right in rows:
        side = "" if len(kinds) == 1 else f", {variant.word}"
        for at, words in ((left, f"loose plate{side}"), (right, f"for the floor{side}")):
            box = grow(plate_box(plate, at), -1.0)
            near = (at[0], at[1] - plate.length / 3)
            if not sheet.add_block((words,), near, box, size=3.0):
                sheet.add_block((words,), near, grow(box, GAP / 2), size=2.2)
    _write_spare_notes(sheet, boat, plate, warnings)
    return sheet.drawing("spare-plates", "Spare plates", "template")


def _draw_pricker(sheet: Sheet, boat: Boat, plate: Plate, at: Point, variant: Variant, name: str) -> None:
    """Draw the paper that is laid where the old plate was, its slot over the bolt hole."""
    box = plate_box(plate, at)
    sheet.add(*plate_contour(box, plate.corner_radius, group=Group.CUT))
    sheet.keep_whole(box, "spare plate")
    draw_bore(sheet, plate, at, bolt_hole(boat), crosses=False)
    sleeve = boat.description.fixing.sleeve
    bore = sleeve.inner if sleeve else bolt_hole(boat)
    sheet.add(Circle(at, bore, Pen.DASHED, Group.OUTLINE))
    half = plate.slot.length / 2 if plate.slot else bore / 2
    for end in (-1, 1):
        edge = (at[0] + end * plate.width / 2, at[1])
        sheet.add(Line((at[0] + end * (half + 1.0), at[1]), edge, Pen.CHAIN, Group.CENTRELINE))
    holes = plate_holes(boat, next(p for p in boat.plates if p.side is variant.sides[0]), HoleKind.SECOND_SCREW)
    sheet.add_symbols(
        symbol(hole, (at[0] + y, at[1] - x), name=f"{name}{number}")
        for number, (hole, (x, y)) in enumerate(zip(holes, variant.screws, strict=True), 1)
    )


def _write_spare_notes(sheet: Sheet, boat: Boat, plate: Plate, warnings: tuple[str, ...]) -> None:
    units = boat.description.figures
    notes = [
        f"Loose plate: sheet metal {units.size(plate.thickness)} thick, screws of the second set only, "
        f"{diameter(plate.screws.diameter if plate.screws else 0.0, units)}, "
        f"countersunk {diameter(countersink(plate), units)}.",
        f"Spares bag: {boat.description.spares.plates} of them, with bolts and screws.",
        f"For the floor: cut out along the outline and the {'slot' if plate.slot else 'hole'}. "
        "Take the old plate off, lay the paper where it was, "
        "the dashed circle on the rim of the bolt hole, the chained line on the bolt line, forward as the arrow says; "
        "prick the crosses; drill the pilots as on the job sheet.",
        "Eye protection; clamp the metal, never hold it by hand; break sharp edges.",
        *closing_lines(boat, warnings),
    ]
    write_below(sheet, boat, plate, "spare plates", notes)
