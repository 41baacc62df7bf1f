"""Fit-up: readings in, corrections, the record's page and the small sheets that go with them out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from templater.findings import Finding, ReadingsError
from templater.fitup.readings import load_readings
from templater.fitup.record import Record, record, record_data
from templater.fitup.taken import Readings
from templater.pipeline.checked import Checked, Options
from templater.pipeline.sheets import manifest_bytes, on_paper, sheet_files, tile_sheets

if TYPE_CHECKING:
    from templater.proof.report import ProofReport

MANIFEST = "fit-up-manifest.json"
#: Every file that a fit-up may write; those of an earlier one that this one does not write are removed.
PRODUCTS = frozenset(
    [f"{sheet}.{kind}" for sheet in ("shim-port", "shim-starboard") for kind in ("pdf", "svg")]
    + ["fit-up.html", "fit-up.json", MANIFEST]
)


def _placed(finding: Finding, readings: Readings) -> Finding:
    """Return a finding with its place in the readings, if it has a key there."""
    return finding if finding.where else finding._replace(where=readings.place(finding.key))


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
    sheets: bool = True,
    options: Options | None = None,
) -> FitUp:
    """Work out a fit-up's readings.

    Args:
        checked: the boat.
        text: the readings' text, YAML.
        file: what findings call it.
        earlier: an earlier record to compare with.
        sheets: whether files are wanted: the record, its page and the small sheets.
        options: printer profiles for the sheets.

    Raises:
        ReadingsError: if the readings are at fault.
        DrawingError: if a sheet cannot be put on the description's paper.
        ProofError: if a sheet read back differs from its drawing.
    """
    from templater.accuracy.sources import centring, default_sources

    readings = load_readings(text, file, checked.boat.description.units)
    try:
        sources = default_sources(checked.boat)
        found = record(readings, checked.boat, earlier, centring=centring(checked.boat, sources))
    except ReadingsError as fault:
        raise ReadingsError(*(_placed(finding, readings) for finding in fault.findings)) from None
    if not sheets:
        return FitUp(found, {}, None)
    from templater.report.fitup import fitup_page
    from templater.report.fitup_drawings import fitup_drawings

    drawings = fitup_drawings(checked.boat, found)
    files = {
        "fit-up.html": fitup_page(found, checked.boat),
        "fit-up.json": (json.dumps(record_data(found), indent=1, ensure_ascii=False) + "\n").encode(),
    }
    if not drawings:
        return FitUp(found, files, None)
    options = options or Options()
    looked = on_paper(checked, options, drawn=False, larger=False).checked  # the small sheets count the same warnings
    correction = options.correction_for(checked.boat.description)
    made, contents, proof = sheet_files(looked, tile_sheets(looked, drawings, correction))
    return FitUp(found, {**files, **made, MANIFEST: manifest_bytes(contents)}, proof)
