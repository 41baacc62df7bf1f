"""Fit-up: readings in, corrections, the record's page and the small sheets that go with them out."""

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from templater.boat.solved import Boat
from templater.findings import Finding, ReadingsError
from templater.fitup.readings import Readings, load_readings
from templater.fitup.record import Record, record, record_data
from templater.paper.manifest import FIT_UP_FILE
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options
from templater.pipeline.sheets import on_paper, proved, sheet_files, tile_sheets
from templater.reader.keys import place

if TYPE_CHECKING:
    from templater.drawing.marks import Drawing
    from templater.proof.report import ProofReport

#: Every file that a fit-up may write; those of an earlier one that this one does not write are removed.
PRODUCTS = frozenset(
    [f"{sheet}.{kind}" for sheet in ("shim-port", "shim-starboard") for kind in ("pdf", "svg")]
    + ["fit-up.html", "fit-up.json", FIT_UP_FILE]
)


class FitUp(NamedTuple):
    """What a fit-up gives: its record, and files by name; the proof of the sheets among them, if there are any."""

    record: Record
    files: dict[str, bytes]
    proof: "ProofReport | None"


def fit_up(
    checked: Checked,
    text: str,
    file: str,
    *,
    earlier: Mapping[str, Any] | None = None,
    sheets: bool = True,
    options: Options = AS_DESCRIBED,
) -> FitUp:
    """Work out the readings in a YAML text that findings call ``file``; ``earlier`` is a record to compare with.

    ``sheets`` False spares the files: the record, its page and the small sheets. Raises ReadingsError if the readings
    are at fault, DrawingError if a sheet cannot be put on the paper, ProofError if one is read back otherwise.
    """
    readings, places = load_readings(text, file, checked.boat.description.units)

    def placed(finding: Finding) -> Finding:
        return finding if finding.where or not finding.key else finding._replace(where=place(places, finding.key))

    try:
        found = record_of(checked, readings, earlier)
    except ReadingsError as fault:
        raise ReadingsError(*map(placed, fault.findings)) from None
    found = found._replace(findings=tuple(map(placed, found.findings)))
    if not sheets:
        return FitUp(found, {}, None)
    from templater.report.fitup import fitup_page

    drawings = fitup_drawings(checked.boat, found)
    files = {
        "fit-up.html": fitup_page(found, checked.boat),
        "fit-up.json": (json.dumps(record_data(found), indent=1, ensure_ascii=False) + "\n").encode(),
    }
    if not drawings:
        return FitUp(found, files, None)
    looked = on_paper(checked, options, larger=False).checked  # the small sheets count the same warnings
    correction = options.correction_for(checked.boat.description)
    made = sheet_files(looked, [*tile_sheets(looked, drawings, correction, drawn=False)])
    made.add_manifest(FIT_UP_FILE, looked)
    return FitUp(found, {**files, **made.files}, proved(made.read_back()))


def record_of(checked: Checked, readings: Readings, earlier: Mapping[str, Any] | None = None) -> Record:
    """Return what some readings of a boat give, or raise ReadingsError; ``earlier`` is a record to compare with."""
    from templater.accuracy.errors import centring, default_sources

    return record(readings, checked.boat, earlier, centring=centring(checked.boat, default_sources(checked.boat)))


def fitup_drawings(boat: Boat, record: Record) -> "tuple[Drawing, ...]":
    """Return the sheets that a record decides, ``shim-port`` and ``shim-starboard``."""
    from templater.drawing.cut import shim_sheets

    shim, description = record.shim, boat.description
    if shim is None or not shim.decided:
        return ()
    note = "gap as measured" if shim.measured else "gap by the plank's arc"
    return shim_sheets(description.boat, shim.seats, description.figures, note)
