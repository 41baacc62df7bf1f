"""A small sheet for the plank's second hole, found when the plank lies square on its first bolt."""

from __future__ import annotations

from dataclasses import dataclass

from templater.drawing.compose import Sheet, window_at
from templater.drawing.marks import Anchor, Drawing, Group, Line, Pen, Text
from templater.drawing.symbols import Symbol
from templater.drawing.wording import diameter, length

#: Half of the strip of plank that is drawn, along the plank, mm.
HALF_STRIP = 62.0
#: How far past the bolt line edges are drawn before they are left out so that the sheet fits one tile, mm.
FURTHEST_EDGE = 100.0


@dataclass(frozen=True, slots=True)
class SecondHolePlan:
    """The second hole in plain numbers, mm.

    Attributes:
        side: ``port`` or ``starboard``; ``hole_id`` as in the lists.
        x: aft of the plank's bolt line. y: along the upper face from the plank's middle, starboard positive.
        hole: its diameter.
        fore_edge, aft_edge: distances of the plank's edges from the bolt line, both positive.
        from_first: straight distance from the first hole.
        units: of the description, for the figures.
    """

    side: str
    hole_id: str
    x: float
    y: float
    hole: float
    fore_edge: float
    aft_edge: float
    from_first: float
    units: str = "mm"


def second_hole_sheet(boat: str, plan: SecondHolePlan) -> Drawing:
    """Return the sheet, for the plank's upper face, small enough for one tile of A4.

    The sheet's frame has its nought where the bolt line meets the hole's own athwart place: u to starboard, v forward.
    """
    sheet = Sheet()
    at = (0.0, 0.0 - plan.x)
    label = f"{plan.hole_id} {diameter(plan.hole)}"
    labels = (label, plan.hole_id)
    sheet.add_symbols((Symbol(plan.hole_id, at, plan.hole, "bolt", Group.HOLE, labels, (3.5, 3.0, 2.4)),))
    fore, aft = min(plan.fore_edge, FURTHEST_EDGE), min(plan.aft_edge, FURTHEST_EDGE)
    for edge, limit, name in ((plan.fore_edge, fore, "fore edge"), (-plan.aft_edge, aft, "aft edge")):
        if abs(edge) <= limit:
            sheet.add(
                Line((-HALF_STRIP, edge), (HALF_STRIP, edge), Pen.WIDE, Group.OUTLINE),
                Text((HALF_STRIP, edge + 1.2), name, 2.6, Group.NOTE, Anchor.END),
            )
    windows = (window_at((-44.0, 0.0), along_u=True), window_at((44.0, 0.0), along_u=True))
    for window in windows:
        sheet.add_window(window)
    sheet.add_axis(-HALF_STRIP, HALF_STRIP, 0.0, along_u=True, windows=windows)
    upright = (window_at((0.0, fore - 22.0), along_u=False), window_at((0.0, 22.0 - aft), along_u=False))
    for window in upright:
        sheet.add_window(window)
    sheet.add_axis(-aft, fore, 0.0, along_u=False, windows=upright)
    sheet.add(Text((-HALF_STRIP, 7.5), "bolt line", 2.6, Group.NOTE))
    sheet.add_labels()
    sheet.add_arrow((HALF_STRIP - 8.0, fore - 32.0))
    middle = "port" if plan.y > 0 else "starboard"
    tie = f"upright line {length(abs(plan.y), plan.units)} along the face from the plank's middle"
    where = f"{abs(plan.x):.1f} mm {'aft' if plan.x > 0 else 'forward'} of" if abs(plan.x) >= 0.05 else "on"
    lines = (
        f"{boat}: second hole of the plank, {plan.side}",
        "plank, upper face, forward up; only once the plank is square",
        f"{tie},",
        f"which lies to {middle}; the hole is {where} the bolt line",
        f"check: {length(plan.from_first, plan.units)} straight to the first hole",
        "pilot first, clamp, back the exit face; eye protection, no gloves at the drill",
    )
    sheet.add_block_below(lines, -HALF_STRIP, bold_first=True)
    return sheet.drawing("second-hole", f"Second hole, {plan.side}", "upper")
