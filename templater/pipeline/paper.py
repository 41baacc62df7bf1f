"""What the paper has to say to a check: holes that seams cut, what would avoid it, and the error budget."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.description.keys import Orientation, Print
from templater.drawing.marks import Drawing
from templater.findings import DrawingError, Finding
from templater.paper.tiles import Correction, TiledSheet
from templater.paper.tiling import OVERLAPS
from templater.pipeline.checked import Checked, Options, printer_findings
from templater.pipeline.jobsheet import LARGER, accuracy_of
from templater.pipeline.sheets import drawings_of, tile_sheets
from templater.standards.papers import ROLLS
from templater.units import MM

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport

#: Rolls that are tried last, those of wide printers.
_ROLLS = ("24 in roll", "36 in roll")
_NAMED = 4


def look_at_paper(
    checked: Checked, options: Options, *, larger: bool = True
) -> tuple[Checked, AccuracyReport | None]:
    """Return the checked boat with findings about its sheets on paper, and the error budget, see ``accuracy_of``.

    A boat with errors is returned as it is: nothing can be drawn for it.

    Raises:
        DrawingError: if the paper is unknown or too small.
    """
    if checked.errors:
        return checked, None
    correction = options.correction_for(checked.boat.description)
    drawings = drawings_of(checked)
    sheets = tile_sheets(checked, drawings, correction, drawn=False)
    report = accuracy_of(checked, sheets, options, larger=larger)
    findings = (*_cut_findings(checked, drawings, correction, sheets), *printer_findings(checked, options))
    if report is not None:
        findings += report.findings
    return replace(checked, findings=(*checked.findings, *findings)), report


def _cut_findings(
    checked: Checked, drawings: tuple[Drawing, ...], correction: Correction, sheets: tuple[TiledSheet, ...]
) -> Iterator[Finding]:
    """Yield which holes seams cut, a finding for each sheet, and the least change that avoids it."""
    now = _cuts(sheets)
    cures = {name: "" for name, count in now.items() if count}
    for words, choice in _changes(checked, sheets) if cures else ():
        boat = checked.boat
        there = replace(checked, boat=replace(boat, description=boat.description.changed(print=choice)))
        try:
            cuts = _cuts(tile_sheets(there, drawings, correction, drawn=False))
        except DrawingError:
            continue
        if all(cuts[name] <= now[name] for name in now):
            cures |= {name: words for name, cure in cures.items() if not cure and not cuts[name]}
        if all(cures.values()):
            break
    for sheet in (sheet for sheet in sheets if sheet.cut):
        names = ", ".join(f"{cut.id} by {cut.seam}" for cut in sheet.cut[:_NAMED])
        more = f" and {len(sheet.cut) - _NAMED} more" if len(sheet.cut) > _NAMED else ""
        cure = cures[sheet.drawing.name]
        none = "no other paper or overlap avoids it: make the cut circles meet with care"
        text = f"sheet {sheet.drawing.name}: seams cut {names}{more} - {f'{cure} would avoid it' if cure else none}"
        yield Finding("S120", "print", text, checked.boat.description.place("print"))


def _cuts(sheets: tuple[TiledSheet, ...]) -> dict[str, int]:
    """Return how many holes are cut on each sheet."""
    return {sheet.drawing.name: len(sheet.cut) for sheet in sheets}


def _changes(checked: Checked, sheets: tuple[TiledSheet, ...]) -> Iterator[tuple[str, Print]]:
    """Yield what may be changed, in words and as done, the least change first."""
    choice, paper = checked.boat.description.print, sheets[0].paper
    if choice.orientation is not Orientation.EITHER:
        yield "orientation either", choice.changed(orientation=Orientation.EITHER)
    for overlap in OVERLAPS:
        if choice.overlap is not None and overlap < choice.overlap:
            yield f"an overlap of {MM.size(overlap)}", choice.changed(overlap=overlap)
    larger = LARGER.get(paper.name)
    while larger is not None:
        yield larger, choice.changed(paper=larger)
        larger = LARGER.get(larger)
    for roll in _ROLLS:
        if paper.height is not None and ROLLS[roll] > paper.width:
            yield f"a {roll}", choice.changed(paper=roll)
