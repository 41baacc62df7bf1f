"""Shims at full size: outline, bolt hole, and lines of equal thickness to sand to."""

from __future__ import annotations

import math

from templater.boat.solved import Shim, side_word
from templater.drawing.compose import Sheet
from templater.drawing.labels import Symbol, diameter
from templater.drawing.marks import Anchor, Drawing, Group, Line, Pen, Polyline, Text, text_box
from templater.plane.shapes import Box, Point, clip_segment, grow
from templater.units import Figures, without_units

#: Steps of thickness between sanding lines, mm, the smallest first.
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: Most sanding lines on one shim.
MOST_LINES = 12
#: Type sizes of the thickness figures, mm.
FIGURE, SMALL = 3.0, 2.4


def shim_sheets(boat: str, shims: tuple[Shim, ...], figures: Figures, note: str) -> tuple[Drawing, ...]:
    """Return one sheet for each shim, ``shim-port`` and ``shim-starboard``.

    Args:
        boat: its name, for the heading.
        shims: with thicknesses in mm.
        figures: how the boat's lengths are written.
        note: a line that says what the shims rest on.
    """
    return tuple(_shim_sheet(boat, shim, figures, note) for shim in shims)


def _shim_sheet(boat: str, plan: Shim, figures: Figures, note: str) -> Drawing:
    sheet = Sheet()
    box: Box = (plan.y0, -plan.x1, plan.y1, -plan.x0)
    corners = ((box[0], box[3]), (box[2], box[3]), (box[2], box[1]), (box[0], box[1]))
    sheet.add(Polyline(corners, closed=True, pen=Pen.WIDE, group=Group.CUT))
    sheet.keep_whole(grow(box, 1.0), "shim")
    size = f"{diameter(plan.hole)}"
    id_ = f"K{plan.side.value}"
    bolt = Symbol(id_, (0.0, 0.0), plan.hole, "bolt", Group.HOLE, (f"{id_} {size}", id_), (FIGURE, SMALL))
    sheet.add_symbols((bolt,))
    arm = plan.hole / 2 + 4.0
    sheet.add(
        *(Line(a, b, Pen.CHAIN, Group.CENTRELINE) for a, b in (
            ((0.0, box[1] - 3.0), (0.0, -arm)), ((0.0, arm), (0.0, box[3] + 3.0)),
            ((box[0] - 3.0, 0.0), (-arm, 0.0)), ((arm, 0.0), (box[2] + 3.0, 0.0)),
        ) if a != b)
    )  # fmt: skip

    def thickness(at: Point) -> float:
        """Thickness at a place of the sheet, u to starboard, v forward of the bolt."""
        return plan.thickness(-at[1], at[0])

    for number, corner in enumerate(corners):
        words = without_units(figures.fine(thickness(corner)))
        _figure(sheet, corner, words, right=number in (1, 2), up=number in (0, 1))
    for value, a, b in _equal_thickness(plan, box):
        sheet.add(*_clear_of_bolt(a, b, plan.hole / 2 + 1.0))
        # A tenth of a mm is enough for a sanding line; in inches it takes three figures to say as much.
        _line_figure(sheet, without_units(figures.fine(value, 1 if figures.system == "mm" else 2)), a, b, box)
    sheet.add_labels()
    sheet.add_arrow((box[2] + 22.0, box[3] - 24.0))
    fore_port, fore_starboard, aft_port, aft_starboard = (without_units(figures.fine(one)) for one in plan.corners)
    side = side_word(plan.side)
    text = (
        f"{boat}: shim, {side}, upper face, forward up",
        f"thickness at the bolt {figures.fine(plan.at_bolt)}",
        f"thickness fore port {fore_port}, fore starboard {fore_starboard},",
        f"aft port {aft_port}, aft starboard {aft_starboard} {figures.unit}",
        f"cut to the outline, sand to the lines; each line is one thickness, {figures.unit}",
        note,
        "dust mask and clamp; hard wood, plywood or plate; seal bare wood",
    )
    sheet.add_block_below(text, box[0], bold_first=True)
    return sheet.drawing(f"shim-{side}", f"Shim, {side}", "template")


def _clear_of_bolt(a: Point, b: Point, radius: float) -> tuple[Line, ...]:
    """Return a sanding line with the part nearer than ``radius`` to the bolt's middle left out."""
    reach = math.dist(a, b)
    along = ((b[0] - a[0]) / reach, (b[1] - a[1]) / reach)
    foot = -(a[0] * along[0] + a[1] * along[1])
    off2 = a[0] ** 2 + a[1] ** 2 - foot**2
    half = math.sqrt(max(radius**2 - off2, 0.0))
    ends = ((0.0, foot - half), (foot + half, reach)) if half > 0 else ((0.0, reach),)
    return tuple(
        Line(
            (a[0] + along[0] * start, a[1] + along[1] * start),
            (a[0] + along[0] * end, a[1] + along[1] * end),
            Pen.NARROW, Group.OVERLAY,
        ) for start, end in ends if end - start > 0.5
    )  # fmt: skip


def step_for(spread: float) -> float:
    """Return the smallest step that gives no more than the most sanding lines over a spread of thickness."""
    return next((step for step in STEPS if spread / step <= MOST_LINES), STEPS[-1])


def _equal_thickness(plan: Shim, box: Box) -> tuple[tuple[float, Point, Point], ...]:
    """Return lines of equal thickness inside the outline, thinnest first; none for a shim of one thickness."""
    low, high = min(plan.corners), max(plan.corners)
    slope = (plan.slope_y, -plan.slope_x)
    steepness = math.hypot(*slope)
    if high - low < STEPS[0] or steepness == 0:
        return ()
    step = step_for(high - low)
    across = (-slope[1] / steepness, slope[0] / steepness)
    reach = math.hypot(box[2] - box[0], box[3] - box[1]) * 2
    found = []
    for number in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        value = number * step
        away = (value - plan.at_bolt) / steepness
        foot = (slope[0] / steepness * away, slope[1] / steepness * away)
        a = (foot[0] - across[0] * reach, foot[1] - across[1] * reach)
        b = (foot[0] + across[0] * reach, foot[1] + across[1] * reach)
        part = clip_segment(a, b, box)
        if part is not None and math.dist(*part) > 2.0:
            found.append((value, *part))
    return tuple(found)


def _figure(sheet: Sheet, corner: Point, text: str, *, right: bool, up: bool) -> None:
    """Write a corner's thickness outside the corner."""
    u = corner[0] + 1.5 if right else corner[0] - 1.5
    v = corner[1] + 1.5 if up else corner[1] - 1.5 - 0.77 * FIGURE
    sheet.add(Text((u, v), text, FIGURE, Group.LABEL, Anchor.START if right else Anchor.END, bold=True))


def _line_figure(sheet: Sheet, text: str, a: Point, b: Point, box: Box) -> None:
    """Write a sanding line's thickness outside the outline where the line meets it."""
    for end in (b, a):
        on_side = min(abs(end[0] - box[0]), abs(end[0] - box[2])) < 0.01
        if on_side:
            right = abs(end[0] - box[2]) < 0.01
            at = (end[0] + 1.5 if right else end[0] - 1.5, end[1] - 0.35 * SMALL)
            mark = Text(at, text, SMALL, Group.LABEL, Anchor.START if right else Anchor.END)
        else:
            top = abs(end[1] - box[3]) < 0.01
            at = (end[0], end[1] + 1.5 if top else end[1] - 1.5 - 0.77 * SMALL)
            mark = Text(at, text, SMALL, Group.LABEL, Anchor.MIDDLE)
        if sheet.layout.free(text_box(mark), 0.4):
            sheet.add(mark)
            return
