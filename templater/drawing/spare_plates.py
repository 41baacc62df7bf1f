"""The spare plates' sheet: the loose plate for the spares bag, and the paper that pricks its fresh screws."""

from __future__ import annotations

from templater.boat.solved import Boat, HoleKind
from templater.description.model import Plate
from templater.drawing.compose import Sheet
from templater.drawing.contour import plate_contour
from templater.drawing.marks import Circle, Drawing, Group, Line, Pen
from templater.drawing.plates import (
    GAP,
    Variant,
    bolt_hole,
    countersink,
    draw_bore,
    draw_single,
    plate_box,
    plate_holes,
    variants,
    write_below,
)
from templater.drawing.symbols import symbol
from templater.drawing.wording import closing_lines, diameter, size
from templater.plane.shapes import Point, grow


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
    _write_notes(sheet, boat, plate, warnings)
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


def _write_notes(sheet: Sheet, boat: Boat, plate: Plate, warnings: tuple[str, ...]) -> None:
    units = boat.description.figures
    notes = [
        f"Loose plate: sheet metal {size(plate.thickness, units)} thick, screws of the second set only, "
        f"{diameter(plate.screws.diameter if plate.screws else 0.0, units)}, "
        f"countersunk {diameter(countersink(plate), units)}.",
        f"Spares bag: {boat.description.spares.plates} of them, with bolts and screws.",
        "For the floor: cut out along the outline and the slot. Take the old plate off, lay the paper where it was, "
        "the dashed circle on the rim of the bolt hole, the chained line on the bolt line, forward as the arrow says; "
        "prick the crosses; drill the pilots as on the job sheet.",
        "Eye protection; clamp the metal, never hold it by hand; break sharp edges.",
        *closing_lines(boat, warnings),
    ]
    write_below(sheet, boat, plate, "spare plates", notes)
