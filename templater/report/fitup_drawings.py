"""The sheets that follow from a fit-up: both shims."""

from __future__ import annotations

from templater.boat.solved import Boat, Side, side_word
from templater.drawing.fitup_sheets import ShimPlan, shim_sheets
from templater.drawing.marks import Drawing
from templater.fitup.record import Record
from templater.fitup.shim import SeatShim, ShimResult


def shim_drawings(boat: Boat, result: ShimResult) -> tuple[Drawing, ...]:
    """Return the sheets ``shim-port`` and ``shim-starboard``."""
    source = "gap as measured" if result.measured else "gap by the plank's arc"
    return shim_sheets(boat.description.boat, shim_plans(result), source)


def shim_plans(result: ShimResult) -> tuple[ShimPlan, ...]:
    """Return both shims in plain numbers; none where the readings decide nothing."""
    return tuple(_shim_plan(seat) for seat in result.seats) if result.decided else ()


def fitup_drawings(boat: Boat, record: Record) -> tuple[Drawing, ...]:
    """Return the sheets that a record decides: those of the shims."""
    return shim_drawings(boat, record.shim) if record.shim is not None and record.shim.decided else ()


def _plank_hole(side: Side) -> str:
    return f"K{side.value}"


def _shim_plan(seat: SeatShim) -> ShimPlan:
    return ShimPlan(
        side=side_word(seat.side), hole_id=_plank_hole(seat.side), x0=seat.x0, x1=seat.x1, y0=seat.y0, y1=seat.y1,
        at_bolt=seat.at_bolt, slope_x=seat.slope_x, slope_y=seat.slope_y, hole=seat.hole,
    )  # fmt: skip
