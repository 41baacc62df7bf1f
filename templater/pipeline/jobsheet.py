"""The job sheet of a run, and the error budget that stands on it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from templater.findings import DrawingError
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import Checked, Options, title_data
from templater.pipeline.sheets import tile_sheets

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport
    from templater.report.blocks import JobSheet

#: The next larger paper, for what it would gain.
LARGER = {"A4": "A3", "A3": "A2", "A2": "A1", "A1": "A0", "Letter": "Tabloid", "Legal": "Tabloid", "Tabloid": "C"}
#: Papers on which the job sheet itself is printed; others use A4. Source: ISO 216; ANSI/ASME Y14.1 sizes in inches.
_LETTER, _A4 = (215.9, 279.4), (210.0, 297.0)


def accuracy_of(
    checked: Checked, sheets: tuple[TiledSheet, ...], options: Options, *, larger: bool = True
) -> AccuracyReport | None:
    """Return the error budget, with what ``larger`` paper would gain; nothing unless floor and plank are both there."""
    from templater.accuracy.report import accuracy
    from templater.accuracy.sources import default_sources

    if not {"floor", "plank"} <= {sheet.drawing.name for sheet in sheets}:
        return None
    boat = checked.boat
    profile = options.profile_for(boat.description)
    sources = default_sources(boat, printer=max(profile.u_across, profile.u_along) if profile else None)
    return accuracy(boat, sheets, sources, others=_larger(checked, sheets) if larger else ())


def _larger(checked: Checked, sheets: tuple[TiledSheet, ...]) -> list[tuple[str, tuple[TiledSheet, ...]]]:
    """Return the same sheets on the next larger paper, if that leaves fewer seams."""
    larger = LARGER.get(sheets[0].paper.name)
    pair = tuple(sheet for sheet in sheets if sheet.drawing.name in ("floor", "plank"))
    if larger is None or all(len(sheet.tiles) == 1 for sheet in pair):
        return []
    boat = checked.boat
    on_larger = boat.description.changed(print=boat.description.print.changed(paper=larger))
    there = replace(checked, boat=replace(boat, description=on_larger))
    try:
        return [(larger, tile_sheets(there, tuple(sheet.drawing for sheet in pair), drawn=False))]
    except DrawingError:
        return []  # the builder's own margins do not suit that paper: nothing to say about it


def job_sheet_of(checked: Checked, sheets: tuple[TiledSheet, ...], options: Options) -> JobSheet:
    """Return the job sheet as plain data."""
    from templater.checks.wood import wood
    from templater.job.hardware import hardware
    from templater.report.job_sheet import job_sheet

    boat = checked.boat
    return job_sheet(
        boat, title_data(checked), sheets, checked.findings, hardware(boat), wood(boat),
        accuracy_of(checked, sheets, options),
    )  # fmt: skip


def job_sheet_files(checked: Checked, sheet: JobSheet) -> dict[str, bytes]:
    """Return the job sheet as HTML and PDF."""
    from templater.report.html import job_sheet_html
    from templater.report.pdf import job_sheet_pdf

    return {"job-sheet.html": job_sheet_html(sheet), "job-sheet.pdf": job_sheet_pdf(sheet, page_size(checked))}


def page_size(checked: Checked) -> tuple[float, float]:
    """Return the page that running text is printed on, mm: Letter where the sheets are on a paper of its kind."""
    inches = str(checked.boat.description.print.paper).lower() in ("letter", "legal", "tabloid")
    return _LETTER if inches else _A4


