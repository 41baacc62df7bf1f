"""Shims at full size: outline, bolt hole, and lines of equal thickness to sand to."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templater.boat.solved import Shim, side_word
from templater.drawing.compose import Sheet, Words
from templater.drawing.labels import Symbol, diameter
from templater.drawing.marks import ASCENT, Anchor, Drawing, Group, Line, Pen, Polyline, Text, mark_box
from templater.plane.shapes import Box, Point, box_corners, clip_segment, grow
from templater.units import MM, MM_PER_INCH, Figures, without_units

#: Steps of thickness between sanding lines, mm, the smallest first; for a boat in inches as many hundredths of an inch.
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: Most sanding lines on one shim.
MOST_LINES = 12
#: Type sizes of the thickness figures, mm, and how far they stand outside the outline.
FIGURE, SMALL, _OUTSIDE = 3.0, 2.4, 1.5


def shim_sheets(boat: str, shims: tuple[Shim, ...], figures: Figures, note: str) -> tuple[Drawing, ...]:
    """Return one sheet for each shim, ``shim-port`` and ``shim-starboard``; ``note`` says what they rest on."""
    return tuple(_shim_sheet(boat, shim, figures, note) for shim in shims)


def _shim_sheet(boat: str, plan: Shim, figures: Figures, note: str) -> Drawing:
    sheet, side, hole = Sheet(), side_word(plan.side), f"K{plan.side.value}"
    box: Box = (plan.y0, -plan.x1, plan.y1, -plan.x0)
    corners = box_corners(box)[::-1]  # from fore port by fore starboard
    sheet.add(Polyline(corners, closed=True, pen=Pen.WIDE, group=Group.CUT))
    sheet.keep_whole(grow(box, 1.0), "shim")
    labels = (f"{hole} {diameter(plan.hole, figures)}", hole)
    sheet.add_symbols((Symbol(hole, (0.0, 0.0), plan.hole, "bolt", Group.HOLE, labels, (FIGURE, SMALL)),))
    arm = plan.hole / 2 + 4.0
    for a, b in (
        ((0.0, box[1] - 3.0), (0.0, -arm)), ((0.0, arm), (0.0, box[3] + 3.0)),
        ((box[0] - 3.0, 0.0), (-arm, 0.0)), ((arm, 0.0), (box[2] + 3.0, 0.0)),
    ):  # fmt: skip
        sheet.add(Line(a, b, Pen.CHAIN, Group.CENTRELINE))
    # On the sheet itself there is room for one figure: in mm, in inches only where they stand alone.
    inches = figures.system == "in"
    one = figures if inches else MM
    for u, v in corners:
        sheet.add(_outside((u, v), box, without_units(one.fine(plan.thickness(-v, u))), FIGURE, bold=True))
    for value, a, b in _equal_thickness(plan, box, MM_PER_INCH / 100 if inches else 1.0):
        sheet.add(*_clear_of_bolt(a, b, plan.hole / 2 + 1.0))
        text = without_units(one.fine(value, 2 if inches else 1))
        marks = (_outside(end, box, text, SMALL) for end in (b, a))
        sheet.add(*[mark for mark in marks if sheet.layout.free(mark_box(mark), 0.4)][:1])
    sheet.add_labels()
    sheet.add_arrow((box[2] + 22.0, box[3] - 24.0))
    fore_port, fore_starboard, aft_port, aft_starboard = (without_units(figures.fine(one)) for one in plan.corners)
    lines = (
        f"{boat}: shim, {side}, upper face, forward up",
        f"thickness at the bolt {figures.fine(plan.at_bolt)}",
        f"thickness fore port {fore_port}, fore starboard {fore_starboard},",
        f"aft port {aft_port}, aft starboard {aft_starboard} {figures.unit}",
        f"cut to the outline, sand to the lines; each line is one thickness, {one.unit}",
        note,
        "dust mask and clamp; hard wood, plywood or plate; seal bare wood",
    )
    sheet.add_below(Words(lines, head=True), box[0])
    return sheet.drawing(f"shim-{side}", f"Shim, {side}", "template")


def _clear_of_bolt(a: Point, b: Point, radius: float) -> Iterator[Line]:
    """Yield a sanding line with the part nearer than ``radius`` to the bolt's middle left out."""
    reach = math.dist(a, b)
    along = ((b[0] - a[0]) / reach, (b[1] - a[1]) / reach)
    foot = -(a[0] * along[0] + a[1] * along[1])
    off2 = a[0] ** 2 + a[1] ** 2 - foot**2
    half = math.sqrt(max(radius**2 - off2, 0.0))
    for start, end in ((0.0, foot - half), (foot + half, reach)) if half > 0 else ((0.0, reach),):
        if end - start > 0.5:
            first, last = ((a[0] + along[0] * by, a[1] + along[1] * by) for by in (start, end))
            yield Line(first, last, Pen.NARROW, Group.OVERLAY)


def step_for(spread: float) -> float:
    """Return the smallest step that gives no more than the most sanding lines over a spread of thickness."""
    return next((step for step in STEPS if spread / step <= MOST_LINES), STEPS[-1])


def _equal_thickness(plan: Shim, box: Box, unit: float) -> Iterator[tuple[float, Point, Point]]:
    """Yield lines of equal thickness inside the outline, thinnest first; none for a shim of one thickness."""
    low, high = min(plan.corners), max(plan.corners)
    slope = (plan.slope_y, -plan.slope_x)
    steepness = math.hypot(*slope)
    if high - low < STEPS[0] or steepness == 0:
        return
    step = step_for((high - low) / unit) * unit
    across = (-slope[1] / steepness, slope[0] / steepness)
    reach = math.hypot(box[2] - box[0], box[3] - box[1]) * 2
    for number in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        away = (number * step - plan.at_bolt) / steepness
        foot = (slope[0] / steepness * away, slope[1] / steepness * away)
        a = (foot[0] - across[0] * reach, foot[1] - across[1] * reach)
        b = (foot[0] + across[0] * reach, foot[1] + across[1] * reach)
        part = clip_segment(a, b, box)
        if part is not None and math.dist(*part) > 2.0:
            yield (number * step, *part)


def _outside(at: Point, box: Box, text: str, size: float, *, bold: bool = False) -> Text:
    """Return a figure beside a point of the outline, outside it."""
    left, foot, right, top = (abs(at[n % 2] - box[n]) < 0.01 for n in range(4))
    u = at[0] + _OUTSIDE * (right - left)
    v = at[1] + (_OUTSIDE if top else -_OUTSIDE - ASCENT * size if foot else -0.35 * size)
    anchor = Anchor.START if right else Anchor.END if left else Anchor.MIDDLE
    return Text((u, v), text, size, Group.LABEL, anchor, bold=bold)
