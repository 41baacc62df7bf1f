"""Making a boat: text and options in, all files of the job out, proved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from templater.description.source import Source
from templater.findings import DescriptionError
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options, Progress, check, no_progress, printer_findings
from templater.pipeline.sheets import drawings_of, manifest_bytes, sheet_files, tile_sheets

if TYPE_CHECKING:
    from templater.proof.report import ProofReport
    from templater.report.blocks import JobSheet

#: Every file that a run of ``make`` may write; those of an earlier run that this one does not write are removed.
PRODUCTS = frozenset(
    [f"{sheet}.{kind}" for sheet in ("floor", "plank", "plates", "spare-plates") for kind in ("pdf", "svg")]
    + ["job-sheet.html", "job-sheet.pdf", "manifest.json"]
)


@dataclass(frozen=True, slots=True)
class Made:
    """The files of a run, by name, with the proof of the sheets among them."""

    checked: Checked
    sheets: tuple[TiledSheet, ...]
    files: dict[str, bytes]
    manifest: dict[str, Any]
    proof: ProofReport
    job_sheet: JobSheet

    @property
    def pages(self) -> int:
        """Number of pages of all sheets."""
        return sum(len(sheet.tiles) for sheet in self.sheets)


def make(source: Source, options: Options = AS_DESCRIBED, progress: Progress = no_progress) -> Made:
    """Return all files of the job, proved.

    Raises:
        DescriptionError: if the description is at fault; carries every finding.
        DrawingError: if the sheets cannot be put on this paper.
        ProofError: if a sheet read back differs from its drawing; nothing may then be published.
    """
    from templater.pipeline.jobsheet import job_sheet_files, job_sheet_of

    checked = check(source, options)
    if checked.errors:
        raise DescriptionError(*checked.errors, *checked.warnings)
    correction = options.correction_for(checked.boat.description)
    checked = replace(checked, findings=(*checked.findings, *printer_findings(checked, options)))
    sheets = tile_sheets(checked, drawings_of(checked, options.only), correction, progress)
    files, contents, report = sheet_files(checked, sheets, progress)
    files["manifest.json"] = manifest_bytes(contents)
    progress("writing the job sheet", 0, 1)
    job_sheet = job_sheet_of(checked, sheets, options)
    files.update(job_sheet_files(checked, job_sheet))
    return Made(checked, sheets, files, contents, report, job_sheet)
