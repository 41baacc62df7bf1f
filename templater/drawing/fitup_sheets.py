"""Shims at full size: outline, bolt hole or slot, and lines of equal thickness to sand to."""

from __future__ import annotations

import math
from dataclasses import dataclass

from templater.drawing.compose import Sheet
from templater.drawing.labels import Symbol, diameter
from templater.drawing.marks import Anchor, Arc, Drawing, Group, Line, Pen, Polyline, Text, text_box
from templater.plane.shapes import Box, Point, clip_segment, grow

#: Steps of thickness between sanding lines, mm, the smallest first.
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: Most sanding lines on one shim.
MOST_LINES = 12
#: Type sizes of the thickness figures, mm.
FIGURE, SMALL = 3.0, 2.4


@dataclass(frozen=True, slots=True)
class ShimPlan:
    """A shim in plain numbers, mm from the bolt: x aft, y to starboard.

    Attributes:
        side: ``port`` or ``starboard``.
        hole_id: of the bolt's hole.
        x0, x1, y0, y1: fore, aft, port and starboard edges.
        at_bolt: thickness at the bolt; ``slope_x``, ``slope_y``: mm of thickness for each mm aft and to starboard.
        hole: diameter of the bolt hole.
        slot: length athwart and width of a slot instead of a round hole.
    """

    side: str
    hole_id: str
    x0: float
    x1: float
    y0: float
    y1: float
    at_bolt: float
    slope_x: float
    slope_y: float
    hole: float
    slot: tuple[float, float] | None = None

    def thickness(self, point: Point) -> float:
        """Return the thickness at a place of the sheet, u to starboard, v forward of the bolt."""
        return self.at_bolt - self.slope_x * point[1] + self.slope_y * point[0]


def shim_sheets(boat: str, plans: tuple[ShimPlan, ...], note: str = "") -> tuple[Drawing, ...]:
    """Return one sheet for each shim, ``shim-port`` and ``shim-starboard``.

    Args:
        boat: its name, for the heading.
        plans: the shims.
        note: a line that says what the shims rest on.
    """
    return tuple(_shim_sheet(boat, plan, note) for plan in plans)


def _shim_sheet(boat: str, plan: ShimPlan, note: str) -> Drawing:
    sheet = Sheet()
    box: Box = (plan.y0, -plan.x1, plan.y1, -plan.x0)
    corners = ((box[0], box[3]), (box[2], box[3]), (box[2], box[1]), (box[0], box[1]))
    sheet.add(Polyline(corners, closed=True, pen=Pen.WIDE, group=Group.CUT))
    sheet.keep_whole(grow(box, 1.0), "shim")
    size = f"{diameter(plan.hole)}"
    bolt = Symbol(plan.hole_id, (0.0, 0.0), plan.hole, "bolt", Group.HOLE,
                  (f"{plan.hole_id} {size}", plan.hole_id), (FIGURE, SMALL))  # fmt: skip
    sheet.add_symbols((bolt,))
    if plan.slot is not None:
        sheet.add(*_slot(plan.slot))
    arm = plan.hole / 2 + 4.0
    sheet.add(
        *(Line(a, b, Pen.CHAIN, Group.CENTRELINE) for a, b in (
            ((0.0, box[1] - 3.0), (0.0, -arm)), ((0.0, arm), (0.0, box[3] + 3.0)),
            ((box[0] - 3.0, 0.0), (-arm, 0.0)), ((arm, 0.0), (box[2] + 3.0, 0.0)),
        ) if a != b)
    )  # fmt: skip
    for number, corner in enumerate(corners):
        _figure(sheet, corner, plan.thickness(corner), right=number in (1, 2), up=number in (0, 1))
    lines = _equal_thickness(plan, box, corners)
    for value, a, b in lines:
        sheet.add(*_clear_of_bolt(a, b, plan.hole / 2 + 1.0))
        _line_figure(sheet, value, a, b, box)
    sheet.add_labels()
    sheet.add_arrow((box[2] + 22.0, box[3] - 24.0))
    ends = f"thickness fore port {plan.thickness(corners[0]):.2f}, fore starboard {plan.thickness(corners[1]):.2f}"
    other = f"aft port {plan.thickness(corners[3]):.2f}, aft starboard {plan.thickness(corners[2]):.2f} mm"
    text = (
        f"{boat}: shim, {plan.side}, upper face, forward up",
        f"thickness at the bolt {plan.at_bolt:.2f} mm",
        f"{ends},",
        f"{other}",
        "cut to the outline, sand to the lines; each line is one thickness, mm",
        *((note,) if note else ()),
        "dust mask and clamp; hard wood, plywood or plate; seal bare wood",
    )
    sheet.add_block_below(text, box[0], bold_first=True)
    return sheet.drawing(f"shim-{plan.side}", f"Shim, {plan.side}", "template")


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


def _slot(slot: tuple[float, float]) -> tuple[Line | Arc, ...]:
    length, width = slot
    half, r = (length - width) / 2, width / 2
    return (
        Line((-half, r), (half, r), Pen.WIDE, Group.CUT),
        Line((-half, -r), (half, -r), Pen.WIDE, Group.CUT),
        Arc((half, 0.0), r, -90.0, 90.0, Pen.WIDE, Group.CUT),
        Arc((-half, 0.0), r, 90.0, 270.0, Pen.WIDE, Group.CUT),
    )


def step_for(spread: float) -> float:
    """Return the smallest step that gives no more than the most sanding lines over a spread of thickness."""
    return next((step for step in STEPS if spread / step <= MOST_LINES), STEPS[-1])


def _equal_thickness(
    plan: ShimPlan, box: Box, corners: tuple[Point, ...]
) -> tuple[tuple[float, Point, Point], ...]:
    """Return lines of equal thickness inside the outline, thinnest first; none for a shim of one thickness."""
    values = [plan.thickness(corner) for corner in corners]
    low, high = min(values), max(values)
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


def _figure(sheet: Sheet, corner: Point, value: float, *, right: bool, up: bool) -> None:
    """Write a corner's thickness outside the corner."""
    text = f"{value:.2f}"
    u = corner[0] + 1.5 if right else corner[0] - 1.5
    v = corner[1] + 1.5 if up else corner[1] - 1.5 - 0.77 * FIGURE
    sheet.add(Text((u, v), text, FIGURE, Group.LABEL, Anchor.START if right else Anchor.END, bold=True))


def _line_figure(sheet: Sheet, value: float, a: Point, b: Point, box: Box) -> None:
    """Write a sanding line's thickness outside the outline where the line meets it."""
    text = f"{value:.1f}"
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
