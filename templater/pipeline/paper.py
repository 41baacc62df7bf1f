"""What the paper has to say to a check: marks that seams cut, what would avoid it, and the error budget."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from templater.description.model import CustomPaper
from templater.errors import DrawingError, Finding, Severity
from templater.paper.model import TiledSheet
from templater.pipeline.jobsheet import LARGER, accuracy_of
from templater.pipeline.run import Checked, Options, drawings_of, tile_sheets

if TYPE_CHECKING:
    from templater.accuracy import AccuracyReport

#: Overlaps that are tried where seams cut marks, mm: narrower ones find room between close marks.
_OVERLAPS = (12.0, 10.0, 9.0)


def look_at_paper(checked: Checked, options: Options) -> tuple[Checked, AccuracyReport | None]:
    """Return the checked boat with findings about its sheets on paper, and the error budget.

    A boat with errors is returned as it is: nothing can be drawn for it.

    Raises:
        DrawingError: if the paper is unknown or too small.
    """
    if checked.errors:
        return checked, None
    correction = options.correction_for(checked.boat.description)
    sheets = tile_sheets(checked, drawings_of(checked), correction, drawn=False)
    findings = tuple(_finding(checked, sheet) for sheet in sheets if sheet.cut)
    return replace(checked, findings=(*checked.findings, *findings)), accuracy_of(checked, sheets, options)


def _finding(checked: Checked, sheet: TiledSheet) -> Finding:
    """Return what is cut on a sheet, and what would avoid it."""
    names = ", ".join(f"{cut.id} by {cut.seam}" for cut in sheet.cut[:4])
    more = f" and {len(sheet.cut) - 4} more" if len(sheet.cut) > 4 else ""
    cure = _cure(checked, sheet)
    text = f"sheet {sheet.drawing.name}: seams cut {names}{more} - {cure}"
    return Finding("S120", Severity.ADVICE, "print", text, checked.boat.description.place("print"))


def _cure(checked: Checked, sheet: TiledSheet) -> str:
    """Return the least change of paper with which no seam of the sheet cuts anything."""
    for overlap in _OVERLAPS:
        if overlap < sheet.overlap and _uncut(checked, sheet, overlap=overlap):
            return f"an overlap of {overlap:g} mm would avoid it"
    paper = LARGER.get(sheet.paper.name)
    while paper is not None:
        if _uncut(checked, sheet, paper=paper):
            return f"{paper} would avoid it"
        paper = LARGER.get(paper)
    return "its marks stand closer than any overlap; make the cut marks meet with care, or print on a roll"


def _uncut(
    checked: Checked, sheet: TiledSheet, *, overlap: float | None = None, paper: str | CustomPaper | None = None
) -> bool:
    """True if a sheet on other paper, or with another overlap, has no mark cut."""
    description = checked.boat.description
    choice = replace(description.print, overlap=overlap or sheet.overlap, paper=paper or description.print.paper)
    there = replace(checked, boat=replace(checked.boat, description=replace(description, print=choice)))
    try:
        return not tile_sheets(there, (sheet.drawing,), drawn=False)[0].cut
    except DrawingError:
        return False
