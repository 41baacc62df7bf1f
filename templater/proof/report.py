"""What proof found: the worst deviation of each sheet, how much was compared, and every fault."""

from __future__ import annotations

from typing import NamedTuple

from templater.findings import Finding, Severity
from templater.proof.match import LIMIT


class Deviation(NamedTuple):
    """How far a mark is off, mm, which and where (file and page)."""

    value: float = 0.0
    what: str = ""
    where: str = ""


class SheetProof(NamedTuple):
    """One sheet: its worst deviation and how much was compared: strokes and areas, letters, marks of the whole picture.

    ``sized`` is False if a page was scaled, sheared or mirrored: that was undone to compare the marks, so that the
    deviation says nothing about the page as it is.
    """

    name: str
    worst: Deviation
    pages: int
    marks: int
    letters: int
    svg_marks: int
    sized: bool = True


class ProofReport(NamedTuple):
    """All sheets of a run."""

    sheets: tuple[SheetProof, ...]
    findings: tuple[Finding, ...]

    @property
    def passed(self) -> bool:
        """True if no finding is an error."""
        return not any(finding.severity is Severity.ERROR for finding in self.findings)

    @property
    def worst(self) -> float:
        """The greatest deviation of all sheets that are of the right size, mm."""
        return self.worst_of_all.value

    @property
    def worst_of_all(self) -> Deviation:
        """The greatest deviation of all sheets with its mark."""
        measured = [sheet.worst for sheet in self.sheets if sheet.sized]
        return max(measured, key=lambda worst: worst.value, default=Deviation())


def deviation_text(value: float) -> str:
    """Return a deviation for people, mm.

    >>> deviation_text(0.1), deviation_text(0.00004)
    ('0.10000', '0.00004')
    """
    return f"{value:.5f}"


def verdict(report: ProofReport) -> str:
    """Return the proof in one line: the worst deviation where that decides, else what is wrong."""
    figure = f"worst deviation {deviation_text(report.worst)} mm, {LIMIT:g} mm allowed"
    if report.passed:
        return f"true: {figure}"
    if report.worst > LIMIT:
        return f"NOT TRUE: {figure}"
    errors = [finding for finding in report.findings if finding.severity is Severity.ERROR]
    more = f", and {len(errors) - 1} more error{'s' if len(errors) > 2 else ''}" if len(errors) > 1 else ""
    return f"NOT TRUE: {errors[0].key}: {errors[0].text}{more}"


def report_rows(report: ProofReport) -> tuple[tuple[str, ...], ...]:
    """Return a table of texts, the heading first."""
    heading = ("sheet", "pages", "marks", "letters", "marks in the picture", "worst deviation, mm", "mark")
    rows = [
        (
            sheet.name,
            str(sheet.pages),
            str(sheet.marks),
            str(sheet.letters),
            str(sheet.svg_marks),
            deviation_text(sheet.worst.value) if sheet.sized else "not measured",
            f"{sheet.worst.what}, {sheet.worst.where}" if sheet.sized and sheet.worst.what else "-",
        )
        for sheet in report.sheets
    ]
    return (heading, *rows)


def report_dict(report: ProofReport) -> dict[str, object]:
    """Return the report in plain values, ready for JSON."""
    return {
        "passed": report.passed,
        "limit": LIMIT,
        "worst_deviation": round(report.worst, 6) if any(sheet.sized for sheet in report.sheets) else None,
        "sheets": [
            {
                "name": sheet.name,
                "pages": sheet.pages,
                "marks": sheet.marks,
                "letters": sheet.letters,
                "svg_marks": sheet.svg_marks,
                "worst": {
                    "deviation": round(sheet.worst.value, 6),
                    "mark": sheet.worst.what,
                    "place": sheet.worst.where,
                }
                if sheet.sized
                else None,
            }
            for sheet in report.sheets
        ],
        "findings": [
            {"code": f.code, "severity": f.severity.value, "place": f.key, "text": f.text} for f in report.findings
        ],
    }
