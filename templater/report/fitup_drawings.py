"""The sheets that follow from a fit-up: both shims, and the plank's second hole."""

from __future__ import annotations

from templater.boat.solved import Boat, Side
from templater.drawing.fitup_sheets import SecondHolePlan, ShimPlan, second_hole_sheet, shim_sheets
from templater.drawing.marks import Drawing
from templater.fitup.record import Record
from templater.fitup.shim import SeatShim, ShimResult
from templater.fitup.square import SquareResult
from templater.fitup.wording import side_word


def shim_drawings(boat: Boat, result: ShimResult) -> tuple[Drawing, ...]:
    """Return the sheets ``shim-port`` and ``shim-starboard``."""
    source = "gap as measured" if result.measured else "gap by the plank's arc"
    return shim_sheets(boat.description.boat, shim_plans(result), source)


def shim_plans(result: ShimResult) -> tuple[ShimPlan, ...]:
    """Return both shims in plain numbers; none where the readings decide nothing."""
    return tuple(_shim_plan(seat) for seat in result.seats) if result.decided else ()


def second_hole_drawing(boat: Boat, result: SquareResult) -> Drawing:
    """Return the sheet ``second-hole`` for the plank's upper face."""
    plank, hole = boat.description.plank, result.second_hole
    ident = _plank_hole(hole.side)
    plan = SecondHolePlan(
        side=side_word(hole.side),
        hole_id=ident,
        x=hole.x,
        y=hole.y,
        hole=next(item.diameter for item in boat.holes if item.id == ident),
        fore_edge=plank.fore_edge,
        aft_edge=plank.width - plank.fore_edge,
        from_first=hole.from_first,
        figures=boat.description.figures,
    )
    return second_hole_sheet(boat.description.boat, plan)


def fitup_drawings(boat: Boat, record: Record) -> tuple[Drawing, ...]:
    """Return every sheet that a record decides: the second hole of the last attempt, then the shims."""
    sheets: list[Drawing] = []
    if record.attempts and record.attempts[-1].decided:
        sheets.append(second_hole_drawing(boat, record.attempts[-1]))
    if record.shim is not None and record.shim.decided:
        sheets.extend(shim_drawings(boat, record.shim))
    return tuple(sheets)


def _plank_hole(side: Side) -> str:
    return f"K{side.value}"


def _shim_plan(seat: SeatShim) -> ShimPlan:
    return ShimPlan(
        side=side_word(seat.side), hole_id=_plank_hole(seat.side), x0=seat.x0, x1=seat.x1, y0=seat.y0, y1=seat.y1,
        at_bolt=seat.at_bolt, slope_x=seat.slope_x, slope_y=seat.slope_y, hole=seat.hole,
    )  # fmt: skip
