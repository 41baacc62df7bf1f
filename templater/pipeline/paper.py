"""What the paper has to say to a check: marks that seams cut, what would avoid it, and the error budget."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from templater.description.keys import Orientation, Print
from templater.drawing.marks import Drawing
from templater.findings import DrawingError, Finding
from templater.paper.tiles import Correction, TiledSheet
from templater.pipeline.checked import Checked, Options, printer_findings
from templater.pipeline.jobsheet import LARGER, accuracy_of
from templater.pipeline.sheets import drawings_of, tile_sheets
from templater.standards.papers import ROLLS

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport

#: Overlaps that are tried where seams cut marks, mm: narrower ones find room between close marks.
_OVERLAPS = (12.0, 10.0, 9.0)
#: Rolls that are tried last, those of wide printers.
_ROLLS = ("24 in roll", "36 in roll")


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
    choices = _Choices(checked, drawings, correction, sheets)
    findings = tuple(_finding(choices, sheet) for sheet in sheets if sheet.cut)
    findings += printer_findings(checked, options)
    report = accuracy_of(checked, sheets, options, larger=larger)
    if report is not None:
        findings += report.findings
    return replace(checked, findings=(*checked.findings, *findings)), report


@dataclass
class _Choices:
    """Other choices of paper and what they would cut; each is worked out once, when asked for."""

    checked: Checked
    drawings: tuple[Drawing, ...]
    correction: Correction
    sheets: tuple[TiledSheet, ...]
    _tried: list[tuple[str, dict[str, int]]] = field(default_factory=list)
    _left: Iterator[tuple[str, Print]] | None = None

    def cure(self, name: str) -> str:
        """Return the least change with which no seam cuts a sheet, and no other sheet is cut more than now."""
        now = {sheet.drawing.name: len(sheet.cut) for sheet in self.sheets}
        for words, cuts in self._all():
            if cuts and not cuts[name] and all(cuts[one] <= now[one] for one in now):
                return words
        return ""

    def _all(self) -> Iterator[tuple[str, dict[str, int]]]:
        yield from self._tried
        if self._left is None:
            self._left = self._changes()
        for words, choice in self._left:
            self._tried.append((words, self._cuts(choice)))
            yield self._tried[-1]

    def _changes(self) -> Iterator[tuple[str, Print]]:
        """Yield what may be changed, in words and as done, the least change first."""
        choice, paper = self.checked.boat.description.print, self.sheets[0].paper
        if choice.orientation is not Orientation.EITHER:
            yield "orientation either", choice.changed(orientation=Orientation.EITHER)
        for overlap in _OVERLAPS:
            if overlap < choice.overlap:
                yield f"an overlap of {overlap:g} mm", choice.changed(overlap=overlap)
        larger = LARGER.get(paper.name)
        while larger is not None:
            yield larger, choice.changed(paper=larger)
            larger = LARGER.get(larger)
        for roll in _ROLLS:
            if paper.height is not None and ROLLS[roll] > paper.width:
                yield f"a {roll}", choice.changed(paper=roll)

    def _cuts(self, choice: Print) -> dict[str, int]:
        """Return how many marks a choice cuts on each sheet; nothing if it cannot be had."""
        boat = self.checked.boat
        there = replace(self.checked, boat=replace(boat, description=boat.description.changed(print=choice)))
        try:
            sheets = tile_sheets(there, self.drawings, self.correction, drawn=False)
        except DrawingError:
            return {}
        return {sheet.drawing.name: len(sheet.cut) for sheet in sheets}


def _finding(choices: _Choices, sheet: TiledSheet) -> Finding:
    """Return what is cut on a sheet, and what would avoid it."""
    names = ", ".join(f"{cut.id} by {cut.seam}" for cut in sheet.cut[:4])
    more = f" and {len(sheet.cut) - 4} more" if len(sheet.cut) > 4 else ""
    cure = choices.cure(sheet.drawing.name)
    none = "no other paper or overlap avoids it: make the cut marks meet with care"
    advice = f"{cure} would avoid it" if cure else none
    text = f"sheet {sheet.drawing.name}: seams cut {names}{more} - {advice}"
    return Finding("S120", "print", text, choices.checked.boat.description.place("print"))
