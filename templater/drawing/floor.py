"""The cockpit floor's sheet: bolt and screw holes of every setting, plates, lines to lay it by."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import pairwise

from templater.boat.solved import Boat, HoleKind, Setting, SolvedPlate
from templater.description.keys import FloorFace, Plate, Surface
from templater.drawing.compose import BODY, WINDOW, Sheet, closing_lines, note_lines, window_at
from templater.drawing.contour import plate_contour, slot_contour
from templater.drawing.labels import diameter, symbol
from templater.drawing.marks import Cross, Drawing, Group, Line, Pen, mark_box
from templater.plane.polygons import box_inside, grown
from templater.plane.shapes import Box, Point, around, boxes_overlap, clip_segment, grow, union

#: How far a line runs past the last thing on it, mm.
PAST_END = 5.0
#: Half length of the ticks that cross at a plate's corners, to be pricked so that the plate can be laid, mm.
CORNER = 2.0
#: Clear space between a sight window and the plate beside it, mm.
BESIDE = 4.0
#: Sight windows on a bolt line stand at least this part of the half spread from the centreline, if they can.
FAR_APART = 0.6
#: Width of the blocks of text, mm: they must go on one page beside the holes.
BLOCK = 66.0

ToSheet = Callable[[Point], Point]


def draw_floor(boat: Boat, warnings: tuple[str, ...] = ()) -> Drawing:
    """Return the floor's sheet; from the under face it is the mirror image with readable text."""
    under = boat.description.print.floor_face is FloorFace.UNDER

    def to_sheet(point: Point) -> Point:
        return (-point[1] if under else point[1], -point[0])

    sheet = Sheet()
    figures = boat.description.figures
    sheet.add_symbols(symbol(hole, to_sheet(hole.at), figures=figures) for hole in boat.on(Surface.FLOOR))
    for plate in boat.plates:
        _draw_plate(sheet, plate, boat.description.fixing.plate, to_sheet, under=under)
    core = grow(sheet.box(), 2.0)
    outline = tuple(to_sheet(point) for point in boat.description.floor.outline)
    wide = grow(core, 4 * WINDOW[0])
    border = _outline(outline, wide)
    areas = _keep_clear(boat, to_sheet)
    for a, b in [(line.a, line.b) for line in border] + [side for area in areas.values() for side in _sides(area)]:
        sheet.layout.add_segment(a, b)
    _draw_bolt_lines(sheet, boat, outline)
    core = union(core, sheet.box())
    _draw_centreline(sheet, core)
    core = grow(union(core, sheet.box()), 1.0)
    shown = {number: corners for number, corners in areas.items() if boxes_overlap(around(corners), core)}
    for number, corners in shown.items():
        sheet.add_keep_clear(corners, core, _keep_clear_words(boat, number))
    sheet.add_labels()
    for corners in shown.values():
        sheet.add_hatching(corners, core)
    _write_settings(sheet, boat, core)
    _write_notes(sheet, boat, core, warnings, under=under)
    sheet.marks.extend(_outline(outline, sheet.box()))
    return sheet.drawing("floor", "Cockpit floor", "under" if under else "upper", mirrored=under)


def _draw_plate(sheet: Sheet, solved: SolvedPlate, plate: Plate | None, to_sheet: ToSheet, *, under: bool) -> None:
    """Draw a plate and its slot; seen from the under face they are hidden edges."""
    box = around(tuple(to_sheet(corner) for corner in solved.corners))
    sheet.add(*plate_contour(box, plate.corner_radius if plate else 0.0, pen=Pen.DASHED if under else Pen.WIDE))
    sheet.keep_whole(box, f"plate {solved.id}")
    for u, v in () if under else ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])):
        sheet.add(Cross((u, v), CORNER, Group.PLATE))
    if plate and plate.slot:
        sheet.add(*slot_contour(to_sheet(solved.centre), plate.slot, pen=Pen.DASHED if under else Pen.NARROW))


def _outline(corners: tuple[Point, ...], within: Box) -> tuple[Line, ...]:
    parts = (clip_segment(a, b, within) for a, b in _sides(corners))
    return tuple(Line(*part, Pen.PHANTOM, Group.OUTLINE) for part in parts if part and part[0] != part[1])


def _draw_bolt_lines(sheet: Sheet, boat: Boat, outline: tuple[Point, ...]) -> None:
    """Draw each setting's bolt line past the outermost plates, with a sight window at either end."""
    boxes = _setting_boxes(sheet, boat)
    outer = max(max(-box[0], box[2]) for box in boxes)
    inner = min(min(abs(box[0]), abs(box[2])) for box in boxes)
    least = FAR_APART * boat.description.fixing.half_spread
    for setting in boat.settings:
        v = -setting.station
        found = (_bolt_line_window(sheet, sign, v, (inner, outer, least), outline) for sign in (-1, 1))
        windows = tuple(box for box in found if box)
        low = min([-outer, *(box[0] for box in windows)])
        high = max([outer, *(box[2] for box in windows)])
        sheet.add_axis(low - PAST_END, high + PAST_END, v, along_u=True, windows=windows)
        for box in windows:
            sheet.add_window(box)


def _setting_boxes(sheet: Sheet, boat: Boat) -> list[Box]:
    """Return the boxes of plates, or of the bolt holes' symbols where there are no plates."""
    if boat.plates:
        return [mark_box(mark) for mark in sheet.marks if mark.group is Group.PLATE]
    bolts = {hole.id for hole in boat.on(Surface.FLOOR) if hole.setting is not None}
    return [mark_box(mark) for mark in sheet.marks if mark.id in bolts]


def _bolt_line_window(
    sheet: Sheet, sign: int, v: float, bounds: tuple[float, float, float], outline: tuple[Point, ...]
) -> Box | None:
    """Return a sight window on a bolt line: just inboard of the plates, else outboard, else anywhere, else none.

    ``bounds`` are the plates' inner and outer edges and the least distance from the centreline that steers the sheet
    well; inboard windows are preferred because the sheet is narrower then, and goes on fewer pages.
    """
    inner, outer, least = bounds
    half = WINDOW[0] / 2
    inboard = [inner - BESIDE - half - n for n in range(0, max(0, int(inner - WINDOW[0])), 2)]
    outboard = [outer + BESIDE + half + n for n in range(0, 24, 3)]
    near = [u for u in inboard if u >= least]
    for u in (*near, *outboard, *(u for u in inboard if u < least)):
        box = window_at((sign * u, v), along_u=True)
        on_floor = not outline or box_inside(grow(box, 2.0), outline)
        if u > half and on_floor and sheet.window_fits(box, along_u=True):
            return box
    return None


def _draw_centreline(sheet: Sheet, core: Box) -> None:
    """Draw the centreline from beyond the foremost to beyond the aftmost, with a sight window near each end.

    Windows stand as far apart as they can without making the sheet much longer.
    """
    windows: list[Box] = []
    for sign, end in ((1, core[3]), (-1, core[1])):
        shifts = sorted((s * 0.5 for s in range(-60, 400)), key=lambda s: (-3 * s if s < 0 else s, s))
        places = (window_at((0.0, end - sign * (s + WINDOW[0] / 2)), along_u=False) for s in shifts)
        box = next((place for place in places if sheet.window_fits(place, along_u=False)), None)
        if box and not any(abs(box[1] - other[1]) < 2 * WINDOW[0] for other in windows):
            windows.append(box)
    low = min(core[1], *(box[1] - PAST_END for box in windows), core[1])
    high = max(core[3], *(box[3] + PAST_END for box in windows), core[3])
    sheet.add_axis(low, high, 0.0, along_u=False, windows=windows)
    for box in windows:
        sheet.add_window(box)


def _keep_clear(boat: Boat, to_sheet: ToSheet) -> dict[int, tuple[Point, ...]]:
    """Return the corners of the keep-clear areas, margins included, by their place in the description."""
    return {
        number: grown(tuple(to_sheet(corner) for corner in area.corners), area.margin)
        for number, area in enumerate(boat.description.floor.keep_clear)
    }


def _keep_clear_words(boat: Boat, number: int) -> tuple[str, ...]:
    area = boat.description.floor.keep_clear[number]
    margin = f"{boat.description.figures.length(area.margin)} margin included"
    return (area.name, "keep clear: no holes", *([margin] if area.margin else []))


def _sides(corners: tuple[Point, ...]) -> tuple[tuple[Point, Point], ...]:
    return tuple(pairwise((*corners, *corners[:1])))


def _write_settings(sheet: Sheet, boat: Boat, core: Box) -> None:
    """Write beside each bolt line where it stands, inboard of the port and of the starboard plates."""
    inner = min(min(abs(box[0]), abs(box[2])) for box in _setting_boxes(sheet, boat))
    height = BODY * 1.3 * 3
    for setting in boat.settings:
        lines = setting_lines(boat, setting)
        v = -setting.station
        written = [
            any(
                sheet.add_block(lines, (sign * (inner - 39.0), v + side * height), core, reach=39.0) for side in (1, -1)
            )
            for sign in (-1, 1)
        ]
        if not any(written):
            sheet.add_block_below(lines, core[0])


def _notes(boat: Boat, warnings: tuple[str, ...], *, under: bool) -> list[str]:
    description = boat.description
    figures = description.figures
    face = "under" if under else "upper"
    kinds = {hole.kind for hole in boat.on(Surface.FLOOR)}
    notes = [
        f"Tape this sheet to the {face} face of the cockpit floor, the arrow towards the steering pivot.",
        "Cut out the sight windows; lay the centreline and the bolt lines on the lines pencilled on the wood.",
        "Measure from the steering pivot axis to a bolt line before punching. Punch where the cross meets.",
    ]
    bores = (hole.diameter for hole in boat.holes if hole.kind in (HoleKind.SLEEVE, HoleKind.BOLT))
    bore = diameter(next(bores), figures)
    if HoleKind.SLEEVE in kinds and description.fixing.sleeve:
        outer = figures.size(description.fixing.sleeve.outer)
        notes.append(f"P, S {bore}: bore for the sleeve, outer {outer}, see job sheet.")
    else:
        notes.append(f"P, S {bore}: bore for the bolt, see job sheet.")
    screws = description.fixing.plate.screws if description.fixing.plate else None
    if screws and HoleKind.FIRST_SCREW in kinds:
        notes.append(f"a, circle: first screws {diameter(screws.diameter, figures)}; pilot on the job sheet.")
    if screws and HoleKind.SECOND_SCREW in kinds:
        notes.append("b, square: second screws, fresh wood for a spare plate. Do not drill them now.")
    if under and boat.plates:
        notes.append("Dashed: the plates, on the other face; their screws are marked there, through the plates.")
    return [*notes, *closing_lines(boat, warnings)]


def _write_notes(sheet: Sheet, boat: Boat, core: Box, warnings: tuple[str, ...], *, under: bool) -> None:
    boxes = _setting_boxes(sheet, boat)
    inner = min(min(abs(box[0]), abs(box[2])) for box in boxes)
    fore, aft = max(box[3] for box in boxes), min(box[1] for box in boxes)
    middle = (fore + aft) / 2
    outer = max(max(-box[0], box[2]) for box in boxes)
    if under:
        for u in (-(inner + outer) / 2, BLOCK / 2 + 3.0, (inner + outer) / 2):
            _block(sheet, ("UNDER FACE - mirrored",), (u, fore + 14.0), core, size=5.0, bold=True)
    arrow = ("forward", "to the steering pivot")
    for sign in (-1, 1):
        _draw_arrow(sheet, (sign * inner * 0.75, fore), core, arrow)
    port = 1 if under else -1
    for word, sign in (("port", port), ("starboard", -port)):
        _block(sheet, (word,), (sign * (inner + outer) / 2, fore + 5.0), grow(core, 6.0), size=4.0)
    head = (f"{boat.description.boat}: floor, {'under' if under else 'upper'} face",)
    lines = note_lines(_notes(boat, warnings, under=under), BODY, BLOCK)
    _block(sheet, (*head, *lines), (-BLOCK / 2 - 3.0, middle), core, bold_first=True)


def _block(
    sheet: Sheet,
    lines: tuple[str, ...],
    near: Point,
    region: Box,
    *,
    size: float = BODY,
    bold_first: bool = False,
    bold: bool = False,
) -> None:
    if not sheet.add_block(lines, near, region, size=size, bold_first=bold_first, bold=bold):
        sheet.add_block_below(lines, region[0], bold_first=bold_first)


def _draw_arrow(sheet: Sheet, near: Point, region: Box, words: Iterable[str]) -> None:
    """Draw the arrow forward with its words to the right of it, at the free place nearest to ``near``."""
    place = sheet.free_place((38.0, 20.0), near, region)
    if place is None:
        place = (region[0], math.floor(sheet.box()[1]) - 22.0, region[0] + 38.0, 0.0)
    sheet.add_arrow((place[0] + 3.0, place[1]), tuple(words))


def setting_lines(boat: Boat, setting: Setting) -> tuple[str, ...]:
    """Return what stands beside a bolt line, in short lines that make one sentence."""
    units = boat.description.figures
    lines = [
        f"setting {setting.number}: bolt line {units.length(setting.station)}",
        "aft of the steering pivot axis,",
        f"runner pivot axis {units.length(setting.runner_base)}",
    ]
    rule = boat.description.rule
    if setting.at_limit and rule is not None:
        lines[-1] += ","
        lines.append(f"at the rule's limit less {units.length(rule.keep_inside)}")
    return tuple(lines)
