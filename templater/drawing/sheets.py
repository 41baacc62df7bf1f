"""The sheets that are taped to the wood, cockpit floor and runner plank, and all sheets of a boat."""

import math
from collections.abc import Callable
from functools import partial
from itertools import pairwise

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import Surface
from templater.drawing.compose import BODY, LEADING, WINDOW, Sheet, Words, clipped, told
from templater.drawing.labels import PAST_CIRCLE, Symbol, diameter, symbol
from templater.drawing.marks import Circle, Cross, Drawing, Group, Line, Pen, mark_box
from templater.drawing.plates import draw_plates, draw_spare_plates, plate_contour, plate_figures, slot_contour
from templater.plane.shapes import Box, Point, around, box_corners, boxes_overlap, edges, grow, grown, left_over, union
from templater.standards.typeface import wrap
from templater.units import mm_text

#: How far a line, or the plank's sheet, runs past the last thing on it, mm.
PAST_END = 5.0
#: Half length of the ticks that cross at a plate's corners, to be pricked so that the plate can be laid, mm.
CORNER = 2.0
#: Clear space between a sight window and the plate beside it, mm.
BESIDE = 4.0
#: Sight windows on a bolt line stand at least this part of the half spread from the centreline, if they can.
FAR_APART = 0.6
#: Width of the blocks of text on the floor's sheet, mm: they must go on one page beside the holes.
BLOCK = 66.0
#: Sight windows of the plank's middle line stand so far from its edges, mm. The aft one stands further in, and no text
#: aft of it, so that a plank a little wider than the paper still goes on one row of pages, with its fore edge.
FORE_INSET, AFT_INSET = 4.0, 25.0

ToSheet = Callable[..., tuple[Point, ...]]

#: Names of the sheets, and so of their files.
NAMES = ("floor", "plank", "plates", "spare-plates")


def draw(boat: Boat, *, warnings: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Return the boat's sheets in the order of use: floor, plank, with plates also plates, with second screws spares.

    ``warnings`` are their texts; the sheets say how many there are.
    """
    draws = [_draw_floor, _draw_plank]
    plate = boat.description.fixing.plate
    if plate:
        draws += [draw_plates, draw_spare_plates] if plate.screws and plate.screws.second else [draw_plates]
    name, figures = boat.description.boat, boat.description.figures
    return tuple(draw_one(Sheet(name, figures, warnings), boat) for draw_one in draws)


def _draw_floor(sheet: Sheet, boat: Boat) -> Drawing:
    """Return the floor's sheet; from the under face it is the mirror image with readable text."""
    under = boat.description.print.floor_face == "under"
    floor, figures, rule = boat.description.floor, boat.description.figures, boat.description.rule

    def to_sheet(*points: Point) -> tuple[Point, ...]:
        return tuple((-y if under else y, -x) for x, y in points)

    sheet.add_symbols(symbol(hole, *to_sheet(hole.at), figures=figures) for hole in boat.on(Surface.FLOOR))
    _draw_plates(sheet, boat, to_sheet, under=under)
    core = grow(sheet.box(), 2.0)
    outline = to_sheet(*floor.outline)
    areas = [(area, grown(to_sheet(*area.corners), area.margin)) for area in floor.keep_clear]
    for line in clipped(edges(outline), grow(core, 4 * WINDOW[0]), Pen.PHANTOM, Group.OUTLINE):
        sheet.layout.add(line)
    for a, b in (side for _, corners in areas for side in edges(corners)):
        sheet.layout.add_segment(a, b)
    # Boxes of plates, or of the bolt holes' symbols where there are none.
    bolts = {hole.id for hole in boat.on(Surface.FLOOR) if hole.setting is not None}
    own = (mark for mark in sheet.marks if (mark.group is Group.PLATE if boat.plates else mark.id in bolts))
    boxes = [*map(mark_box, own)]
    inner = min(min(abs(box[0]), abs(box[2])) for box in boxes)
    outer = max(max(-box[0], box[2]) for box in boxes)
    _draw_bolt_lines(sheet, boat, inner, outer, outline)
    core = union(core, sheet.box())
    _draw_centreline(sheet, core)
    core = grow(union(core, sheet.box()), 1.0)
    shown = [(area, corners) for area, corners in areas if boxes_overlap(around(corners), core)]
    for area, corners in shown:
        margin = (f"{figures.length(area.margin)} margin included",) if area.margin else ()
        sheet.add_keep_clear(corners, core, (area.name, "keep clear: no holes", *margin))
    sheet.add_labels()
    for _, corners in shown:
        sheet.add_hatching(corners, core)
    for setting in boat.settings:  # inboard of the port and of the starboard plates, fore or aft of the line
        inside = figures.length(rule.keep_inside) if rule and setting.at_limit else ""
        station, base = figures.length(setting.station), figures.length(setting.runner_base)
        words = Words(told("setting", number=setting.number, station=station, base=base, inside=inside))
        off = BODY * LEADING * 3
        tries = [[(sign * (inner - 39.0), side * off - setting.station) for side in (1, -1)] for sign in (-1, 1)]
        written = [any(sheet.add_block(words, near, core, reach=39.0) for near in places) for places in tries]
        if not any(written):
            sheet.add_below(words, core[0])
    fore, aft = max(box[3] for box in boxes), min(box[1] for box in boxes)
    write, aside = partial(sheet.add_block, below=core[0]), (inner + outer) / 2
    for u in (-aside, BLOCK / 2 + 3.0, aside) if under else ():
        write(Words(("UNDER FACE - mirrored",), 5.0, bold=True), (u, fore + 14.0), core)
    for sign in (-1, 1):
        place = sheet.free_place((38.0, 20.0), (sign * inner * 0.75, fore), core)
        foot = (place[0], place[1]) if place else (core[0], math.floor(sheet.box()[1]) - 22.0)
        sheet.add_arrow((foot[0] + 3.0, foot[1]), ("forward", "to the steering pivot"))
    for word, sign in (("port", 1 if under else -1), ("starboard", -1 if under else 1)):
        write(Words((word,), 4.0), (sign * aside, fore + 5.0), grow(core, 6.0))
    face = "under" if under else "upper"
    words = sheet.notes(f"floor, {face} face", _floor_notes(boat, face), BLOCK)
    write(words, (-BLOCK / 2 - 3.0, (fore + aft) / 2), core)
    sheet.marks.extend(clipped(edges(outline), sheet.box(), Pen.PHANTOM, Group.OUTLINE))
    return sheet.drawing("floor", "Cockpit floor", face, mirrored=under)


def _draw_plates(sheet: Sheet, boat: Boat, to_sheet: ToSheet, *, under: bool) -> None:
    """Draw plates and their slots; seen from the under face they are hidden edges."""
    plate = boat.description.fixing.plate
    for solved in boat.plates if plate else ():
        assert plate is not None
        box = around(to_sheet(*solved.corners))
        sheet.add(*plate_contour(box, plate.corner_radius, pen=Pen.DASHED if under else Pen.WIDE))
        sheet.keep.append((f"plate {solved.id}", box))
        sheet.add(*(Cross(corner, CORNER, Group.PLATE) for corner in box_corners(box) if not under))
        if plate.slot:
            (centre,) = to_sheet(solved.centre)
            sheet.add(*slot_contour(centre, plate.slot, pen=Pen.DASHED if under else Pen.NARROW))


def _draw_bolt_lines(sheet: Sheet, boat: Boat, inner: float, outer: float, outline: tuple[Point, ...]) -> None:
    """Draw each setting's bolt line past the outermost plates, with a sight window at either end.

    It opens just inboard of the plates where it still steers the sheet well, else outboard, else anywhere, else
    nowhere. ``inner`` and ``outer`` are the plates' edges; inboard the sheet is narrower and goes on fewer pages.
    """
    half, least = WINDOW[0] / 2, FAR_APART * boat.description.fixing.half_spread
    inboard = [inner - BESIDE - half - n for n in range(0, max(0, int(inner - WINDOW[0])), 2)]
    outboard = [outer + BESIDE + half + n for n in range(0, 24, 3)]
    far, near = ([u for u in inboard if u > half and (u >= least) is well] for well in (True, False))
    order = [*far, *outboard, *near]
    for setting in boat.settings:
        v = -setting.station
        found = [sheet.free_window(((sign * u, v) for u in order), along_u=True, inside=outline) for sign in (-1, 1)]
        windows = [box for box in found if box]
        low = min([-outer, *(box[0] for box in windows)])
        high = max([outer, *(box[2] for box in windows)])
        sheet.add_axis(low - PAST_END, high + PAST_END, v, along_u=True, windows=windows)
        sheet.add_windows(windows)


def _draw_centreline(sheet: Sheet, core: Box) -> None:
    """Draw the centreline from beyond the foremost to beyond the aftmost, with a sight window near each end.

    Windows stand as far apart as they can without making the sheet much longer.
    """
    windows: list[Box] = []
    shifts = sorted((s * 0.5 for s in range(-60, 400)), key=lambda s: (-3 * s if s < 0 else s, s))
    for sign, end in ((1, core[3]), (-1, core[1])):
        box = sheet.free_window(((0.0, end - sign * (s + WINDOW[0] / 2)) for s in shifts), along_u=False)
        if box and not any(abs(box[1] - other[1]) < 2 * WINDOW[0] for other in windows):
            windows.append(box)
    low = min([core[1], *(box[1] - PAST_END for box in windows)])
    high = max([core[3], *(box[3] + PAST_END for box in windows)])
    sheet.add_axis(low, high, 0.0, along_u=False, windows=windows)
    sheet.add_windows(windows)


def _floor_notes(boat: Boat, face: str) -> tuple[str, ...]:
    sleeve, figures = boat.description.fixing.sleeve, boat.description.figures
    holes = boat.on(Surface.FLOOR)
    bore = diameter(next(hole.diameter for hole in holes if hole.kind in (HoleKind.SLEEVE, HoleKind.BOLT)), figures)
    first, second = (any(h.kind is kind for h in holes) for kind in (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW))
    kinds = {"sleeve": sleeve and figures.size(sleeve.outer), "first": first, "second": second}
    return told("floor", face=face, bore=bore, hidden=face == "under" and boat.plates, **kinds, **plate_figures(boat))


def _draw_plank(sheet: Sheet, boat: Boat) -> Drawing:
    """Return the plank's sheet, seen from above with forward up, u along the face from the middle to starboard."""
    plank, figures = boat.description.plank, boat.description.figures
    fore, aft, plug = plank.fore_edge, plank.fore_edge - plank.width, (plank.solid_at_bolts or 0.0) / 2
    bolts, symbols = boat.on(Surface.PLANK, HoleKind.BOLT), list[Symbol]()
    for hole in boat.on(Surface.PLANK):
        item = symbol(hole, (hole.at[1], -hole.at[0]), clear=plug if hole in bolts else 0.0, figures=figures)
        if item.id == boat.expected:
            labels = (f"{item.id} expected", item.id)
            item = item._replace(group=Group.EXPECTED, kind="place to expect", labels=labels)
        symbols.append(item)
    sheet.add_symbols(symbols)
    if plug:
        sheet.add(*(Circle((h.at[1], -h.at[0]), 2 * plug, Pen.DASHED, Group.OUTLINE) for h in bolts))
    box = sheet.box()
    beyond = max(plug, max(hole.diameter for hole in bolts) / 2 + PAST_CIRCLE[0])
    reach = min(max(-box[0], box[2], boat.plank.hole_along + beyond) + PAST_END, plank.length / 2)
    for v in (fore, aft):
        sheet.add(Line((-reach, v), (reach, v), Pen.WIDE, Group.OUTLINE))
    for u in (-reach, reach):
        _draw_end(sheet, u, aft, fore, is_end=reach == plank.length / 2)
    region = (-reach, aft, reach, fore)
    _draw_axes(sheet, region, plank.pivot_aft_of_bolts)
    sheet.add_labels()
    _write_plank_notes(sheet, boat, region)
    return sheet.drawing("plank", "Runner plank", "upper")


def _draw_end(sheet: Sheet, u: float, low: float, high: float, *, is_end: bool) -> None:
    """Draw the plank's end, or a break line where the sheet ends before it."""
    if is_end:
        sheet.add(Line((u, low), (u, high), Pen.WIDE, Group.OUTLINE))
        return
    middle, inward = high - (high - low) / 4, math.copysign(2.5, -u)
    zigzag = [(u + inward * (n % 2), middle + (2.5 * n - 5.0)) for n in range(5)]
    sheet.add(*(Line(a, b, Pen.NARROW, Group.OUTLINE) for a, b in pairwise(((u, low), *zigzag, (u, high)))))


def _draw_axes(sheet: Sheet, region: Box, pivot: float) -> None:
    """Draw bolt line, middle line and runner pivot axis with their sight windows."""
    reach, half = region[2], WINDOW[0] / 2
    outermost = reach - PAST_END - half
    places = [outermost - n for n in range(max(0, math.ceil(outermost - WINDOW[0])))]
    bolt_windows = [sheet.free_window([(sign * u, 0.0) for u in places], along_u=True) for sign in (-1, 1)]
    ends = (region[3] - FORE_INSET - half, region[1] + AFT_INSET + half)
    middle = [sheet.free_window([(0.0, v)], along_u=False) for v in ends]
    windows = [[box for box in boxes if box] for boxes in (bolt_windows, middle)]
    sheet.add_axis(-reach, reach, 0.0, along_u=True, windows=windows[0])
    sheet.add_axis(region[1], region[3], 0.0, along_u=False, windows=windows[1])
    sheet.add_windows((*windows[0], *windows[1]))
    if pivot:
        blocked = [(box[0] - 1.0, box[2] + 1.0) for box in windows[0] if box[1] - 1.0 < -pivot < box[3] + 1.0]
        free = left_over(-reach, reach, blocked, 1.0)
        sheet.add(*(Line((a, -pivot), (b, -pivot), Pen.PHANTOM, Group.CENTRELINE) for a, b in free))


def _write_plank_notes(sheet: Sheet, boat: Boat, region: Box) -> None:
    description, solved = boat.description, boat.plank
    units, plank = description.figures, description.plank
    left, aft, right, fore = region
    holes, pivot = solved.hole_along, plank.pivot_aft_of_bolts
    # Words stand off the edges, and off the strip along the aft edge.
    room = (left + 1.0, aft + AFT_INSET, right - 1.0, fore - 1.0)

    def write(near: Point, width: float, *texts: str, size: float = BODY) -> None:
        lines = tuple(line for text in texts if text for line in wrap(text, width, size))
        sheet.add_block(Words(lines, size), near, room, below=left)

    write((30.0, fore / 2), 50.0, f"middle line: {units.length(plank.length / 2)} along the face from either end")
    side = 1 if pivot >= 0 else -1  # each line has its words on its own side
    way = "aft" if pivot > 0 else "forward"
    axis = f"runner pivot axis, {units.length(abs(pivot))} {way} of the bolt line"
    lean = (
        f"Drill square to the face: the hole leans {mm_text(solved.lean, 2)} degrees, "
        f"{units.length(solved.lean_shift)} over the thickness."
    )
    core = f"Dashed: solid plug in the core, {diameter(plank.solid_at_bolts, units)}." if plank.solid_at_bolts else ""
    for sign, word in ((-1, "port"), (1, "starboard")):
        write((sign * holes, fore * 0.8), 70.0, word, size=4.0)
        if sign > 0 and boat.expected:
            through = "the sleeve" if description.fixing.sleeve else "the hole in the floor"
            place = f"{boat.expected}: a place to expect, not to prick."
            write((sign * holes, 14.0), 62.0, place, f"Mark through {through} once square.")
        near = (sign * (holes - 55.0), -pivot - side * 4.0)
        write(near, 90.0, axis if pivot else "the bolt line is the runner pivot axis")
        bolts = f"bolt line, {units.length(plank.fore_edge)} aft of the fore edge"
        write((sign * (holes - 55.0), side * 5.0), 90.0, bolts)
        write((sign * holes, aft * 0.4), 62.0, lean, core)
        if free := sheet.free_place((38.0, 20.0), (sign * holes, fore * 0.45), room):
            sheet.add_arrow((free[0] + 3.0, free[1]))
    notes = told("plank", along=units.length(holes), ends=units.length(solved.end_to_hole))
    sheet.add_block(sheet.notes("runner plank, upper face", notes, 84.0), (-holes / 2, aft * 0.5), room, below=left)
