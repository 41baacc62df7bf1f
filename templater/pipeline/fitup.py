"""Fit-up: readings in, corrections, the record's page and the small sheets that go with them out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from templater.boat.model import HoleKind, Side
from templater.description.model import Surface
from templater.drawing.marks import Drawing
from templater.drawing.second_hole import SecondHolePlan, second_hole_sheet
from templater.drawing.shims import ShimPlan, shim_sheets
from templater.fitup.readings import load_readings
from templater.fitup.record import Record, record, record_data
from templater.pipeline.run import Checked, Options, manifest_bytes, sheet_files, tile_sheets

if TYPE_CHECKING:
    from templater.proof import ProofReport

#: Names of the fit-up's own files; those of another fit-up that this one does not write stay.
MANIFEST = "fit-up-manifest.json"


@dataclass(frozen=True, slots=True)
class FitUp:
    """What a fit-up gives: its record, and files by name; the proof of the sheets among them, if there are any."""

    record: Record
    files: dict[str, bytes]
    proof: ProofReport | None


def fit_up(
    checked: Checked,
    text: str,
    file: str,
    *,
    earlier: Mapping[str, Any] | None = None,
    sheets: tuple[str, ...] = ("second-hole", "shim"),
    options: Options | None = None,
) -> FitUp:
    """Work out a fit-up's readings.

    Args:
        checked: the boat.
        text: the readings' text, YAML.
        file: what findings call it.
        earlier: an earlier record to compare with.
        sheets: which of the small sheets are wanted.
        options: printer profiles for the sheets.

    Raises:
        ReadingsError: if the readings are at fault.
        DrawingError: if a sheet cannot be put on the description's paper.
        ProofError: if a sheet read back differs from its drawing.
    """
    from templater.jobsheet.fitup_page import fitup_page

    readings = load_readings(text, file, checked.boat.description.units)
    found = record(readings, checked.boat, earlier)
    drawings = (*(_second_hole(checked, found) if "second-hole" in sheets else ()),
                *(_shims(checked, found) if "shim" in sheets else ()))  # fmt: skip
    files = {
        "fit-up.html": fitup_page(found, checked.boat),
        "fit-up.json": (json.dumps(record_data(found), indent=1, ensure_ascii=False) + "\n").encode(),
    }
    if not drawings:
        return FitUp(found, files, None)
    correction = (options or Options()).correction_for(checked.boat.description)
    made, contents, proof = sheet_files(checked, tile_sheets(checked, drawings, correction))
    return FitUp(found, {**files, **made, MANIFEST: manifest_bytes(contents)}, proof)


def _second_hole(checked: Checked, found: Record) -> tuple[Drawing, ...]:
    """Return the sheet that pricks the plank's second hole, from the last attempt."""
    if not found.attempts:
        return ()
    hole = found.attempts[-1].second_hole
    plank = checked.boat.description.plank
    bolt = next(h for h in checked.boat.holes if h.on is Surface.PLANK and h.kind is HoleKind.BOLT)
    plan = SecondHolePlan(
        side=_word(hole.side),
        hole_id=f"K{hole.side.value}",
        x=hole.x,
        y=hole.y,
        hole=bolt.diameter,
        fore_edge=plank.fore_edge,
        aft_edge=plank.width - plank.fore_edge,
        from_first=hole.from_first,
        units=checked.boat.description.units,
    )
    return (second_hole_sheet(checked.boat.description.boat, plan),)


def _shims(checked: Checked, found: Record) -> tuple[Drawing, ...]:
    """Return the shims at full size."""
    if found.shim is None:
        return ()
    plans = tuple(
        ShimPlan(
            side=_word(seat.side),
            hole_id=f"K{seat.side.value}",
            x0=seat.x0,
            x1=seat.x1,
            y0=seat.y0,
            y1=seat.y1,
            at_bolt=seat.at_bolt,
            slope_x=seat.slope_x,
            slope_y=seat.slope_y,
            hole=seat.hole,
        )
        for seat in found.shim.seats
    )
    note = "from the gaps measured" if found.shim.measured else "from the plank's arc; measure the gaps if you can"
    return shim_sheets(checked.boat.description.boat, plans, note)


def _word(side: Side) -> str:
    return side.name.lower()
