"""The runner plank's sheet: its middle, bolt line and holes, laid along the upper face."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import Surface
from templater.drawing.compose import BODY, WINDOW, Sheet, closing_lines, note_lines, window_at, wrap
from templater.drawing.labels import PAST_CIRCLE, diameter, symbol
from templater.drawing.marks import Circle, Drawing, Group, Line, Pen
from templater.plane.shapes import Box, Point
from templater.units import mm_text

BLOCK = 70.0
#: Sight windows of the middle line stand so far from the plank's edges, mm. The aft one stands further in, and no
#: text aft of it, so that a plank a little wider than the paper still goes on one row of pages, with its fore edge.
FORE_INSET, AFT_INSET = 4.0, 25.0
#: The sheet ends this far past the last thing on it, mm.
PAST_END = 5.0


def draw_plank(boat: Boat, warnings: tuple[str, ...] = ()) -> Drawing:
    """Return the plank's sheet, seen from above with forward up, u along the face from the middle to starboard."""
    plank = boat.description.plank
    fore, aft = plank.fore_edge, plank.fore_edge - plank.width
    sheet = Sheet()
    holes = boat.on(Surface.PLANK)
    plug = (plank.solid_at_bolts or 0.0) / 2
    figures = boat.description.figures
    symbols = [
        symbol(hole, (hole.at[1], -hole.at[0]), clear=plug if hole.kind is HoleKind.BOLT else 0.0, figures=figures)
        for hole in holes
    ]
    sheet.add_symbols(
        replace(item, expected=True, kind="place to expect", labels=(f"{item.id} expected", item.id))
        if item.id == boat.expected else item for item in symbols
    )  # fmt: skip
    if plank.solid_at_bolts:
        for hole in holes:
            if hole.kind is HoleKind.BOLT:
                sheet.add(Circle((hole.at[1], -hole.at[0]), plank.solid_at_bolts, Pen.DASHED, Group.OUTLINE))
    box = sheet.box()
    bolt = max(hole.diameter for hole in holes if hole.kind is HoleKind.BOLT)
    beyond = max(plug, bolt / 2 + PAST_CIRCLE[0])
    reach = min(max(-box[0], box[2], boat.plank.hole_along + beyond) + PAST_END, plank.length / 2)
    for v in (fore, aft):
        sheet.add(Line((-reach, v), (reach, v), Pen.WIDE, Group.OUTLINE))
    for u in (-reach, reach):
        _draw_end(sheet, u, aft, fore, is_end=reach == plank.length / 2)
    region = (-reach, aft, reach, fore)
    _draw_axes(sheet, boat, region)
    sheet.add_labels()
    _write_notes(sheet, boat, region, warnings)
    return sheet.drawing("plank", "Runner plank", "upper")


def _draw_end(sheet: Sheet, u: float, low: float, high: float, *, is_end: bool) -> None:
    """Draw the plank's end, or a break line where the sheet ends before it."""
    if is_end:
        sheet.add(Line((u, low), (u, high), Pen.WIDE, Group.OUTLINE))
        return
    middle = high - (high - low) / 4
    inward = -2.5 if u > 0 else 2.5
    zigzag = ((u, -5.0), (u + inward, -2.5), (u, 0.0), (u + inward, 2.5), (u, 5.0))
    points = ((u, low), *((at, middle + v) for at, v in zigzag), (u, high))
    sheet.add(*(Line(a, b, Pen.NARROW, Group.OUTLINE) for a, b in pairwise(points)))


def _draw_axes(sheet: Sheet, boat: Boat, region: Box) -> None:
    """Draw bolt line, middle line and runner pivot axis with their sight windows."""
    plank = boat.description.plank
    reach = region[2]
    ends = [_window(sheet, sign, reach - PAST_END - WINDOW[0] / 2) for sign in (-1, 1)]
    bolt_windows = [box for box in ends if box]
    middle = []
    for v in (region[3] - FORE_INSET - WINDOW[0] / 2, region[1] + AFT_INSET + WINDOW[0] / 2):
        box = window_at((0.0, v), along_u=False)
        if sheet.window_fits(box, along_u=False):
            middle.append(box)
    sheet.add_axis(-reach, reach, 0.0, along_u=True, windows=bolt_windows)
    sheet.add_axis(region[1], region[3], 0.0, along_u=False, windows=middle)
    for box in (*bolt_windows, *middle):
        sheet.add_window(box)
    v = -plank.pivot_aft_of_bolts
    if v:
        blocked = [(box[0] - 1.0, box[2] + 1.0) for box in bolt_windows if box[1] - 1.0 < v < box[3] + 1.0]
        position = -reach
        for a, b in [*sorted(blocked), (reach, reach)]:
            if a - position > 1.0:
                sheet.add(Line((position, v), (a, v), Pen.PHANTOM, Group.CENTRELINE))
            position = b


def _window(sheet: Sheet, sign: int, u: float) -> Box | None:
    """Return the outermost free sight window on the bolt line on one side."""
    while u > WINDOW[0]:
        box = window_at((sign * u, 0.0), along_u=True)
        if sheet.window_fits(box, along_u=True):
            return box
        u -= 1.0
    return None


def _room(region: Box) -> Box:
    """Return where text may stand: off the edges, and off the strip along the aft edge."""
    return (region[0] + 1.0, region[1] + AFT_INSET, region[2] - 1.0, region[3] - 1.0)


def _write_notes(sheet: Sheet, boat: Boat, region: Box, warnings: tuple[str, ...]) -> None:
    description, solved = boat.description, boat.plank
    units, plank = description.figures, description.plank
    fore, aft = region[3], region[1]
    holes = solved.hole_along

    def block(text: str, near: Point, *, bold_first: bool = False, width: float = BLOCK, size: float = BODY) -> None:
        head, _, rest = text.partition("\n") if bold_first else ("", "", text)
        parts = rest.split("\n")
        body = note_lines(parts, size, width) if bold_first else [x for part in parts for x in wrap(part, size, width)]
        lines = (*([head] if head else []), *body)
        if not sheet.add_block(lines, near, _room(region), bold_first=bold_first, size=size):
            sheet.add_block_below(lines, region[0], bold_first=bold_first)

    block(f"middle line: {units.length(plank.length / 2)} along the face from either end", (30.0, fore / 2), width=50)
    pivot = plank.pivot_aft_of_bolts
    way = "aft" if pivot > 0 else "forward"
    axis = f"runner pivot axis, {units.length(abs(pivot))} {way} of the bolt line" if pivot else (
        "the bolt line is the runner pivot axis")  # fmt: skip
    lean = (
        f"Drill square to the face: the hole leans {mm_text(solved.lean, 2)} degrees, "
        f"{units.length(solved.lean_shift)} over the thickness."
    )
    core = f"Dashed: solid plug in the core, {diameter(plank.solid_at_bolts, units)}." if plank.solid_at_bolts else ""
    for sign, word in ((-1, "port"), (1, "starboard")):
        block(f"{word}", (sign * holes, fore * 0.8), size=4.0)
        if sign > 0 and boat.expected:
            through = "the sleeve" if description.fixing.sleeve else "the hole in the floor"
            words = f"{boat.expected}: a place to expect, not to prick.\nMark through {through} once square."
            block(words, (sign * holes, 14.0), width=62)
        block(axis, (sign * (holes - 55.0), -abs(pivot) - 4.0), width=90)
        bolts = f"bolt line, {units.length(plank.fore_edge)} aft of the fore edge"
        block(bolts, (sign * (holes - 55.0), 5.0), width=90)
        block("\n".join(part for part in (lean, core) if part), (sign * holes, aft * 0.4), width=62)
        place = sheet.free_place((38.0, 20.0), (sign * holes, fore * 0.45), _room(region))
        if place:
            sheet.add_arrow((place[0] + 3.0, place[1]), ("forward",))
    notes = [
        f"{description.boat}: runner plank, upper face",
        "Tape this sheet to the plank's upper face, flat along the curve, the arrow forward.",
        "Lay the middle line and the bolt line on the lines pencilled on the wood, seen through the sight windows. "
        "Punch where the cross meets.",
        f"KP and KS: {units.length(holes)} along the face from the middle, {units.length(solved.end_to_hole)} "
        "from the ends.",
        *closing_lines(boat, warnings),
    ]
    block("\n".join(notes), (-holes / 2, aft * 0.5), bold_first=True, width=84)
