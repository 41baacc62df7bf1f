"""What another program, or a print dialogue, did to a file: every page's map, and the words for it.

A page that is only turned or moved on its paper is no fault, for every size on it is true: a viewer's Rotate flag, a
larger paper, a shift are told as advice. A change of scale, shear or mirror, a lost mark or page, a page of another
description are errors.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from templater.findings import Finding, ProofError, Severity
from templater.proof.compare import Tally, compare_page, compare_whole, finish
from templater.proof.expect import Expected, ExpectedPage, ExpectedSheet, Identity, read_manifest
from templater.proof.fit import PageMap, expected_points, find_map, found_points
from templater.proof.marks import PageMarks
from templater.proof.prove import identity_of
from templater.proof.read_pdf import read_pdf
from templater.proof.read_svg import read_svg
from templater.proof.report import LIMIT, ProofReport

#: Less than this missing at an edge is no crop, mm: page sizes are often rounded to whole points.
_CROP = 0.4
#: Fewest marks named of a page where many are lost.
_NAMED = 3


@dataclass(frozen=True, slots=True)
class FoundPage:
    """One page of a file: which tile it is and how it lies. ``map`` is None if its marks cannot be matched."""

    file: str
    page: int
    sheet: str
    tile: str
    map: PageMap | None


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """All pages that were given, and the proof of their marks once a mere turn or shift of the page is undone."""

    pages: tuple[FoundPage, ...]
    report: ProofReport

    @property
    def passed(self) -> bool:
        """True if the pages can be used as they are, when printed at actual size."""
        return self.report.passed

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything to be said, page by page; pages of which the same is to be said are named together."""
        return self.report.findings


def diagnose(files: Mapping[str, bytes], manifest: Mapping[str, Any], *, whole: bool = False) -> Diagnosis:
    """Say what became of files that went through another program.

    Args:
        files: PDF files by name, some or all of a run's, in any order, also several sheets in one file; SVG files of
            whole sheets under their own names.
        manifest: as read from ``manifest.json``.
        whole: these should be all files of the run: name those that are missing.

    Raises:
        ProofError: Q101, the manifest is malformed.
    """
    expected = read_manifest(manifest)
    work = _Work(expected)
    for name, data in files.items():
        try:
            if name.lower().endswith(".svg"):
                work.picture(name, data)
            else:
                work.file(name, list(read_pdf(data, name)))
        except ProofError as fault:
            work.findings += fault.findings
    work.missing(files, whole=whole)
    sheets = []
    for tally in work.tallies.values():
        if tally.pages or tally.svg_marks:
            finish(tally)
            sheets.append(tally.result())
            work.findings += tally.findings
    return Diagnosis(tuple(work.pages), ProofReport(tuple(sheets), _together(work.findings)))


class _Work:
    """Pages seen so far."""

    def __init__(self, expected: Expected) -> None:
        self.expected = expected
        self.tallies = {sheet.name: Tally(sheet) for sheet in expected.sheets}
        self.pages: list[FoundPage] = []
        self.findings: list[Finding] = []
        self._seen: set[tuple[str, str]] = set()
        self._unreadable: set[str] = set()
        self._tiles = {(sheet.name, page.tile): (sheet, page) for sheet in expected.sheets for page in sheet.pages}

    def _say(self, code: str, where: str, text: str, graded: Severity | None = None) -> None:
        self.findings.append(Finding(code, where, text, graded=graded))

    def file(self, name: str, pages: list[PageMarks]) -> None:
        """Take in all pages of a file."""
        identities = [identity_of(marks.text) for marks in pages]
        before, seen = len(self.findings), set(self._seen)
        fitted = False
        for number, (marks, identity) in enumerate(zip(pages, identities, strict=True), 1):
            where = f"{name} page {number}"
            for warning in marks.warnings:
                self._say("Q105", where, f"the reader complains: {warning}", graded=Severity.WARNING)
            tile = self._which(name, number, len(pages), identity, where)
            if tile is not None:
                fitted = self._page(*tile, marks, name, number) or fitted
        if not fitted and not any(identities):
            del self.findings[before:]
            self._seen = seen
            self._unreadable.add(name)
            self._say("Q135", name, "not one of the sheets: no page says which tile it is, and no marks match")

    def picture(self, name: str, data: bytes) -> None:
        """Take in the picture of a whole sheet."""
        for tally in self.tallies.values():
            if tally.sheet.svg == name:
                compare_whole(tally, read_svg(data, name), name)
                return
        self._say("Q135", name, "not one of the sheets: none of this run has a picture of that name")

    def _which(
        self, name: str, number: int, count: int, identity: Identity | None, where: str
    ) -> tuple[ExpectedSheet, ExpectedPage] | None:
        """Return the tile that a page is: by its own words, else by its order in the file."""
        if identity is None:
            for sheet, page in self._tiles.values():
                if page.page == number and (page.file == name or self._only_one_fits(count, page.file)):
                    text = f"text turned into outlines or lost: page taken by its order, as {sheet.name} {page.tile}; "
                    text += "its revision cannot be told"
                    self._say("Q136", where, text)
                    return sheet, page
            return None
        if identity.stamp != self.expected.stamp:
            text = f"belongs to another revision ({identity.stamp}, expected {self.expected.stamp})"
            self._say("Q112", where, f"{text}: {identity.sheet} {identity.tile}")
            self._seen.add((identity.sheet, identity.tile))  # it is there, though wrong; "missing" would mislead
            return None
        found = self._tiles.get((identity.sheet, identity.tile))
        if found is None:
            self._say("Q111", where, f"says it is {identity.sheet} {identity.tile}, which this run has not")
        elif (identity.sheet, identity.tile) in self._seen:
            self._say("Q111", where, f"is {identity.sheet} {identity.tile} once more", graded=Severity.WARNING)
            return None
        return found

    def _only_one_fits(self, count: int, file: str) -> bool:
        """True if this is the only file of the run with so many pages."""
        counts: dict[str, int] = {}
        for _, page in self._tiles.values():
            counts[page.file] = counts.get(page.file, 0) + 1
        return [other for other, pages in counts.items() if pages == count] == [file]

    def _page(self, sheet: ExpectedSheet, page: ExpectedPage, marks: PageMarks, name: str, number: int) -> bool:
        """Estimate the page's map, say what is wrong with it, undo it and compare the marks; False if none fits."""
        self._seen.add((sheet.name, page.tile))
        where = f"{name} page {number}"
        wanted, found = expected_points(sheet, page), found_points(marks)
        fit = find_map(wanted, found)
        self.pages.append(FoundPage(name, number, sheet.name, page.tile, fit))
        if fit is None:
            self._say("Q138", where, f"the marks of {sheet.name} {page.tile} cannot be found on the page")
            return False
        sized = self._scale(fit, page, where)
        self._place(fit, page, marks, where, sized=sized)
        lost = self._crop(fit, page, marks)
        undo = (fit.rigid() if sized else fit.affine).inverse()
        tally = self.tallies[sheet.name]
        tally.sized &= sized
        before = len(tally.findings)
        placed = replace(page, file=name, page=number)
        compare_page(tally, placed, _visible(marks).moved(undo, page.paper), sized=False)
        if lost:
            faults = tally.findings[before:]
            gone = [fault for fault in faults if fault.code in ("Q120", "Q123", "Q124")]
            tally.findings[before:] = [fault for fault in faults if fault not in gone]
            text = f"cropped: {lost}; "
            count = f"{len(gone)} mark{'s' if len(gone) > 1 else ''} lost"
            text += f"{count}: {'; '.join(fault.text for fault in gone[:_NAMED])}" if gone else "no mark is lost"
            self._say("Q133", where, text, graded=None if gone else Severity.WARNING)
        return True

    def _scale(self, fit: PageMap, page: ExpectedPage, where: str) -> bool:
        """Say how the page was scaled, sheared or mirrored; return True if every size is true."""
        width, height = page.paper
        off = max(abs(fit.across - 1) * width, abs(fit.along - 1) * height)
        true = True
        if off > LIMIT:
            text = f"scaled to {_percent(fit.across)} across, {_percent(fit.along)} along: print at actual size"
            self._say("Q130", where, text)
            true = False
        if math.radians(fit.shear) * height > LIMIT:
            self._say("Q134", where, f"sheared: corners are {fit.shear:.2f} degrees off a right angle")
            true = False
        if fit.mirrored:
            self._say("Q134", where, "mirrored: left and right are exchanged")
            true = False
        return true

    def _place(self, fit: PageMap, page: ExpectedPage, marks: PageMarks, where: str, *, sized: bool) -> None:
        """Say how the page was turned or moved, which does no harm where its sizes are true, ``sized``."""
        if fit.mirrored:
            return
        if abs(fit.turn) > 0.005:
            way = "" if abs(fit.turn) > 179.99 else " clockwise" if fit.turn < 0 else " anticlockwise"
            text = f"pages rotated by {_plain(abs(fit.turn))} degrees{way}"
            text += ": no harm, for sizes stay as they are" if sized else ""
            self._say("Q131", where, text, graded=Severity.ADVICE)
            return
        size = " x ".join(f"{value:.1f}" for value in marks.size)
        other = max(abs(marks.size[0] - page.paper[0]), abs(marks.size[1] - page.paper[1])) > _CROP
        middle = page.paper[0] / 2, page.paper[1] / 2
        x, y = fit.affine.apply(middle)
        dx, dy = x - middle[0], y - middle[1]
        if other:
            wanted = " x ".join(f"{value:.1f}" for value in page.paper)
            self._say("Q113", where, f"paper is {size} mm instead of {wanted}", graded=Severity.ADVICE)
        elif sized and math.hypot(dx, dy) > LIMIT:  # a scale moves the page as well, and has been told
            text = f"moved on the paper by {dx:+.2f} mm across, {dy:+.2f} mm along"
            self._say("Q132", where, text)

    def _crop(self, fit: PageMap, page: ExpectedPage, marks: PageMarks) -> str:
        """Return how much of the page is missing at which edge, as the page is seen; empty if nothing is."""
        (w, h), (width, height) = page.paper, marks.size
        corners = [fit.affine.apply(corner) for corner in ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))]
        over = {
            "left": -min(x for x, _ in corners),
            "right": max(x for x, _ in corners) - width,
            "foot": -min(y for _, y in corners),
            "top": max(y for _, y in corners) - height,
        }
        return ", ".join(f"{value:.1f} mm missing at the {edge}" for edge, value in over.items() if value > _CROP)

    def missing(self, files: Mapping[str, bytes], *, whole: bool) -> None:
        """Name the pages that are missing of every sheet that was given, and files of a whole run."""
        if whole:
            wanted_files = [page.file for _, page in self._tiles.values()]
            wanted_files += [sheet.svg for sheet in self.expected.sheets if sheet.svg]
            for file in dict.fromkeys(wanted_files):
                if file not in files:
                    self._say("Q102", file, "is missing")
        given = {sheet for sheet, _ in self._seen}
        for (name, tile), (_, page) in self._tiles.items():
            wanted = name in given or (page.file in files and page.file not in self._unreadable)
            if wanted and (name, tile) not in self._seen and not self._failed(page.file):
                self._say("Q110", page.file, f"page {page.page} missing ({name} {tile})")

    def _failed(self, file: str) -> bool:
        """True if the file could not be read at all, which has been said."""
        return any(finding.code in ("Q103", "Q104") and finding.key == file for finding in self.findings)


def _visible(marks: PageMarks) -> PageMarks:
    """Return the marks that lie on the visible page; what a crop box hides is not printed."""
    width, height = marks.size

    def inside(points: tuple[tuple[float, float], ...]) -> bool:
        return all(-0.1 <= x <= width + 0.1 and -0.1 <= y <= height + 0.1 for x, y in points)

    return replace(
        marks,
        segments=tuple(s for s in marks.segments if inside((s.a, s.b))),
        bends=tuple(b for b in marks.bends if inside(b.points)),
        polygons=tuple(p for p in marks.polygons if inside(p.points)),
    )


def _percent(scale: float) -> str:
    """Return a scale in per cent, to a tenth, or finer where a tenth would show nothing."""
    tenth = f"{100 * scale:.1f}"
    return f"{100 * scale:.3f} %" if tenth == "100.0" and abs(scale - 1) > 1e-6 else f"{tenth} %"


def _plain(degrees: float) -> str:
    return f"{degrees:.2f}".rstrip("0").rstrip(".")


_PAGE = re.compile(r"(.*) page (\d+)$")


def _together(findings: list[Finding]) -> tuple[Finding, ...]:
    """Return the findings, those that say the same of several pages of a file as one."""
    groups: dict[tuple[str, Severity | None, str, str], list[int]] = {}
    for finding in findings:
        place = _PAGE.match(finding.key)
        key = (finding.code, finding.graded, place[1] if place else finding.key, finding.text)
        groups.setdefault(key, []).extend([int(place[2])] if place else [])
    result = []
    for (code, graded, file, text), pages in groups.items():
        where = f"{file} page{'s' if len(pages) > 1 else ''} {_runs(pages)}" if pages else file
        result.append(Finding(code, where, text, graded=graded))
    return tuple(result)


def _runs(numbers: list[int]) -> str:
    """Return page numbers in short.

    >>> _runs([1, 2, 3, 5])
    '1 to 3, 5'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a} to {b}" if b > a + 1 else f"{a}, {b}" for a, b in runs)
