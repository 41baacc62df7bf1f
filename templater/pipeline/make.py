"""Making a boat: text and options in, all files of the job out, proved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.description.source import Source
from templater.findings import DescriptionError
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options, Progress, check, no_progress, title_data
from templater.pipeline.sheets import chosen, on_paper, sheet_files

if TYPE_CHECKING:
    from templater.proof.report import ProofReport
    from templater.report.blocks import JobSheet

#: Papers on which the job sheet itself is printed; others use A4. Source: ISO 216; ANSI/ASME Y14.1 sizes in inches.
_LETTER, _A4 = (215.9, 279.4), (210.0, 297.0)
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
    from templater.checks.wood import wood
    from templater.job.hardware import hardware
    from templater.report.html import job_sheet_html
    from templater.report.job_sheet import job_sheet
    from templater.report.pdf import job_sheet_pdf

    checked = check(source, options)
    if checked.errors:
        raise DescriptionError(*checked.errors, *checked.warnings)
    there = on_paper(checked, options, progress)
    checked = there.checked
    names = chosen([sheet.drawing.name for sheet in there.sheets], options.only)
    sheets = tuple(sheet for sheet in there.sheets if sheet.drawing.name in names)
    made = sheet_files(checked, sheets, progress)
    files = made.files
    files["manifest.json"] = made.manifest(checked)
    progress("writing the job sheet", 0, 1)
    boat = checked.boat
    sheet = job_sheet(
        boat, title_data(checked), there.sheets, checked.findings, hardware(boat), wood(boat), there.accuracy
    )
    files["job-sheet.html"] = job_sheet_html(sheet)
    files["job-sheet.pdf"] = job_sheet_pdf(sheet, page_size(checked))
    return Made(checked, sheets, files, made.proof, sheet)


def page_size(checked: Checked) -> tuple[float, float]:
    """Return the page that running text is printed on, mm: Letter where the sheets are on a paper of its kind."""
    inches = str(checked.boat.description.print.paper).lower() in ("letter", "legal", "tabloid")
    return _LETTER if inches else _A4
