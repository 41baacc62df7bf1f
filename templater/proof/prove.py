"""Every page and picture of a run, read back and compared with what the manifest says it shows.

As written, nothing is forgiven. A file that went through another program is looked at page by page: which tile it is is
read from its own words, then the map it was put through is found and told. What does no harm, a page's Rotate flag, a
larger paper, a shift, is advice. A change of scale, shear or mirror, a lost mark or page, one too many, a page of
another description are errors.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping

from templater.findings import CATALOGUE, Finding, ProofError
from templater.plane.shapes import IDENTITY
from templater.proof.expect import Expected, ExpectedPage, ExpectedSheet, Identity, read_manifest
from templater.proof.marks import AREA, LETTER, Mark, PageMarks
from templater.proof.match import LIMIT, Matched, PageMap, find_map, least_squares, match
from templater.proof.read_pdf import read_pdf
from templater.proof.read_svg import read_svg
from templater.proof.report import Deviation, ProofReport, SheetProof, together, told
from templater.units import MM

#: The line that every page carries, read without spaces: program and version, sheet and tile, page, stamp.
_IDENTITY = re.compile(r"templater([^·]{1,40})·([a-z0-9-]+?)(\d{1,6}-\d{1,6})·page(\d{1,6})of(\d{1,6})·([0-9a-f]{8})")
#: Less than this missing at an edge is no crop, mm: page sizes are often rounded to whole points.
_CROP = 0.4
#: Share of the marks in their places that shows that the page was not moved, whatever became of the others.
_STAYED = 0.6


def prove(files: Mapping[str, bytes], manifest: object, *, whole: bool = True, as_written: bool = True) -> ProofReport:
    """Read files back and compare them with the manifest.

    Args:
        files: PDF files by name, some or all of a run's, also several sheets in one file; SVG files of whole sheets
            under their own names. Others are not looked at.
        manifest: as read from ``manifest.json``, or as it is about to be written; or what was made of it.
        whole: these should be all files of the run: name those that are missing.
        as_written: no other program had the files: forgive nothing.

    Raises:
        ProofError: Q101, the manifest is malformed, or contradicts itself.
    """
    work = _Work(manifest if isinstance(manifest, Expected) else read_manifest(manifest), as_written=as_written)
    for name, data in files.items():
        try:
            if name.lower().endswith(".svg"):
                work.picture(name, data)
            elif name.lower().endswith(".pdf"):
                work.file(name, read_pdf(data, name))
        except ProofError as fault:
            if any(finding.code == "Q101" for finding in fault.findings):
                raise
            work.findings += fault.findings
            work.unreadable.add(name)
    work.missing(files, whole=whole)
    sheets = tuple(proof for proof in work.proofs.values() if proof.pages or proof.svg_marks)
    return ProofReport(sheets, together(work.findings, as_written=as_written))


def _identity_of(text: str) -> Identity | None:
    """Return what a page says it is; ``text`` is the page's text without spaces. None if it says nothing."""
    found = _IDENTITY.search(text)
    return Identity(found[1], found[2], found[3], int(found[4]), int(found[5]), found[6]) if found else None


class _Work:
    """Pages seen so far."""

    def __init__(self, expected: Expected, *, as_written: bool) -> None:
        self.expected = expected
        self.as_written = as_written
        self.proofs = {sheet.name: SheetProof(sheet.name) for sheet in expected.sheets}
        self.findings: list[Finding] = []
        self.unreadable: set[str] = set()
        self._seen: set[tuple[str, str]] = set()
        self._tiles = {(sheet.name, page.tile): (sheet, page) for sheet in expected.sheets for page in sheet.pages}

    def _say(self, code: str, where: str, text: str, *, lighter: bool = False) -> None:
        self.findings.append(Finding(code, where, text, graded=CATALOGUE[code].lighter if lighter else None))

    def file(self, name: str, pages: Iterable[PageMarks]) -> None:
        """Take in all pages of a file."""
        before, seen = len(self.findings), set(self._seen)
        fitted = named = False
        for number, marks in enumerate(pages, 1):
            where = f"{name} page {number}"
            for complaint in marks.complaints:
                self._say("Q105", where, f"the reader complains: {complaint}", lighter=True)
            identity = _identity_of(marks.text)
            named = named or identity is not None
            tile = self._which(name, number, identity, where)
            if tile is not None:
                fitted = self._page(*tile, marks, where) or fitted
        if not fitted and not named:
            del self.findings[before:]
            self._seen = seen
            self.unreadable.add(name)
            self._say("Q135", name, "not one of the sheets: no page says which tile it is, and no marks match")

    def picture(self, name: str, data: bytes) -> None:
        """Take in the picture of a whole sheet."""
        sheet = next((sheet for sheet in self.expected.sheets if sheet.svg == name), None)
        if sheet is None:
            self._say("Q135", name, "not one of the sheets: none of this run has a picture of that name")
            return
        shown, wanted = read_svg(data, name), sheet.marks()
        found = match(wanted, shown.marks)
        self._compared(sheet.name, found, wanted, name, svg_marks=len(wanted))
        self._scale(found, sheet.pages[0].paper, name)
        for text in shown.unread:
            self._say("Q108", name, text)

    def _compared(self, sheet: str, found: Matched, wanted: tuple[Mark, ...], where: str, **counts: int) -> None:
        """Count what was compared, keep the worst deviation, and tell what is wrong."""
        proof = self.proofs[sheet]
        pair = max(found.pairs, key=lambda pair: pair.off, default=None)
        worst = Deviation(pair.off, pair.wanted.what or pair.wanted.name, where) if pair else Deviation()
        more = {name: getattr(proof, name) + count for name, count in counts.items()}
        self.proofs[sheet] = proof._replace(worst=max(proof.worst, worst, key=lambda one: one.deviation), **more)
        self.findings += told(found, wanted, where)

    def _which(
        self, name: str, number: int, identity: Identity | None, where: str
    ) -> tuple[ExpectedSheet, ExpectedPage] | None:
        """Return the tile that a page is: by its own words, else by its order in the file."""
        if identity is None:
            for sheet, page in self._tiles.values():
                if page.page == number and page.file == name:
                    return sheet, page
            if self.as_written or len(self.expected.sheets) == 1:
                self._say("Q110", where, "is a page too many: it says of no tile that it is one")
            return None
        key = identity.sheet, identity.tile
        if identity.stamp != self.expected.stamp:
            text = f"belongs to another revision ({identity.stamp}, expected {self.expected.stamp})"
            self._say("Q112", where, f"{text}: {identity.sheet} {identity.tile}")
            self._seen.add(key)  # it is there, though wrong; "missing" would mislead
            return None
        found = self._tiles.get(key)
        if found is None:
            self._say("Q111", where, f"says it is {identity.sheet} {identity.tile}, which is not in this run")
            return None
        wanted = self.expected.identity(*found)
        if self.as_written and (identity, number, name) != (wanted, wanted.page, found[1].file):
            said, due = (f"{one.sheet} {one.tile}, page {one.page} of {one.of}, version {one.version}"
                         for one in (identity, wanted))  # fmt: skip
            self._say("Q111", where, f"says it is {said}; expected here is {due}", lighter=True)
        if key in self._seen:
            self._say("Q111", where, f"is {identity.sheet} {identity.tile} once more", lighter=True)
        return found

    def _page(self, sheet: ExpectedSheet, page: ExpectedPage, shown: PageMarks, where: str) -> bool:
        """Compare one page, and say what was done to it; False if its marks cannot be matched at all."""
        wanted, marks = page.marks(), shown.marks
        self._seen.add((sheet.name, page.tile))
        for text in shown.unread:
            self._say("Q108", where, text)
        if not any(mark.kind.startswith(LETTER) for mark in marks):
            text = f"text turned into outlines or lost, so that it was not read: taken by its order, as {sheet.name} "
            self._say("Q136", where, f"{text}{page.tile}")
            wanted = tuple(mark for mark in wanted if not mark.kind.startswith(LETTER) and mark.kind != AREA)
            marks = tuple(mark for mark in marks if mark.kind != AREA)
        found = match(wanted, marks)
        sized = not found.clean or bool(shown.turned) or self._scale(found, page.paper, where)
        if self.as_written and not shown.turned:
            self._paper(page, shown, where)
        else:
            there = sum(pair.off <= LIMIT for pair in found.pairs) > _STAYED * len(wanted) and not shown.turned
            fit = PageMap(IDENTITY) if there else find_map(wanted, marks)
            if fit is None:
                self._say("Q138", where, f"the marks of {sheet.name} {page.tile} cannot be found on the page")
                return False
            true = self._sized(fit, page, where)
            sized = sized and true
            self._moved(fit, page, shown, where, sized=true)
            back = (fit.rigid() if true else fit.affine).inverse()
            found = self._uncropped(
                match(wanted, [mark.moved(back) for mark in marks]), wanted, fit, page, shown, where
            )
        self.proofs[sheet.name] = self.proofs[sheet.name]._replace(sized=self.proofs[sheet.name].sized and sized)
        letters = sum(len(mark.points) for mark in wanted if mark.kind.startswith(LETTER))
        strokes = sum(not mark.kind.startswith(LETTER) for mark in wanted)
        self._compared(sheet.name, found, wanted, where, pages=1, letters=letters, marks=strokes)
        return True

    def _uncropped(
        self, found: Matched, wanted: tuple[Mark, ...], fit: PageMap, page: ExpectedPage, shown: PageMarks, where: str
    ) -> Matched:
        """Say what a crop took away, and return what was found less that."""
        lost = _crop(fit, page, shown)
        if not lost:
            return found
        cut = tuple(pair for pair in found.wrong if pair.found.ink == "clipped")
        gone = (*found.missing, *(pair.wanted for pair in cut))
        left = found._replace(missing=gone, wrong=tuple(pair for pair in found.wrong if pair not in cut))
        which = told(left, wanted, where)[0].text if gone else ""
        count = f"{len(gone)} mark{'s' if len(gone) > 1 else ''} lost: {which}" if gone else "no mark is lost"
        self._say("Q133", where, f"cropped: {lost}; {count}", lighter=not gone)
        return left._replace(missing=())

    def _paper(self, page: ExpectedPage, shown: PageMarks, where: str, allowed: float = LIMIT) -> bool:
        """Say if the paper is another one, which does no harm by itself."""
        if max(abs(shown.size[0] - page.paper[0]), abs(shown.size[1] - page.paper[1])) <= allowed:
            return False
        size, wanted = (" x ".join(f"{value:.2f}" for value in one) for one in (shown.size, page.paper))
        self._say("Q113", where, f"paper is {size} {MM.unit} instead of {wanted}", lighter=True)
        return True

    def _scale(self, found: Matched, paper: tuple[float, float], where: str) -> bool:
        """Say if marks that are each near enough to their place are drawn to another scale all the same."""
        strokes = [(pair.wanted.middle, pair.found.middle) for pair in found.pairs if len(pair.wanted.points) == 2]
        affine = least_squares(strokes) if found.clean else None
        return affine is None or self._true(PageMap(affine), paper, where)

    def _true(self, fit: PageMap, paper: tuple[float, float], where: str) -> bool:
        if max(abs(fit.across - 1) * paper[0], abs(fit.along - 1) * paper[1]) <= LIMIT:
            return True
        text = f"scaled to {_percent(fit.across)} across, {_percent(fit.along)} along: print at actual size"
        self._say("Q130", where, text)
        return False

    def _sized(self, fit: PageMap, page: ExpectedPage, where: str) -> bool:
        """Say how the page was scaled, sheared or mirrored; return True if every size is true."""
        true = self._true(fit, page.paper, where)
        if math.radians(fit.shear) * page.paper[1] > LIMIT:
            self._say("Q134", where, f"sheared: corners are {fit.shear:.2f} degrees off a right angle")
            true = False
        if fit.mirrored:
            self._say("Q134", where, "mirrored: left and right are exchanged")
            true = False
        return true

    def _moved(self, fit: PageMap, page: ExpectedPage, shown: PageMarks, where: str, *, sized: bool) -> None:
        """Say how the page was turned or moved, which does no harm where its sizes are true, ``sized``."""
        if fit.mirrored:
            return
        if abs(fit.turn) > 0.005:
            way = "" if abs(fit.turn) > 179.99 else " clockwise" if fit.turn < 0 else " anticlockwise"
            text = f"pages rotated by {f'{abs(fit.turn):.2f}'.rstrip('0').rstrip('.')} degrees{way}"
            text += ": no harm, for sizes stay as they are" if sized else ""
            self._say("Q131", where, text, lighter=True)
            return
        middle = page.paper[0] / 2, page.paper[1] / 2
        x, y = fit.affine.apply(middle)
        dx, dy = x - middle[0], y - middle[1]
        other = self._paper(page, shown, where, _CROP)
        if sized and not other and math.hypot(dx, dy) > LIMIT:  # a scale moves the page as well, and has been told
            text = f"moved on the paper by {MM.signed(dx, 2)} across, {MM.signed(dy, 2)} along"
            self._say("Q132", where, text, lighter=True)

    def missing(self, files: Mapping[str, bytes], *, whole: bool) -> None:
        """Name the pages that are missing of every sheet that was given, and files of a whole run."""
        lost = {file for file in self.expected.files if whole and file not in files}
        for file in sorted(lost, key=self.expected.files.index):
            self._say("Q102", file, "is missing")
        alone = {name for name, tile in self._tiles if f"{name}-{tile}.pdf" in files}  # as one lost tile made again
        given = {sheet for sheet, _ in self._seen} - alone
        for (name, tile), (_, page) in self._tiles.items():
            wanted = name in given or page.file in files
            if wanted and (name, tile) not in self._seen and page.file not in self.unreadable | lost:
                self._say("Q110", page.file, f"page {page.page} missing ({name} {tile})")


def _crop(fit: PageMap, page: ExpectedPage, shown: PageMarks) -> str:
    """Return how much of the page is missing at which edge, as the page is seen; empty if nothing is."""
    (w, h), (width, height) = page.paper, shown.size
    xs, ys = zip(*map(fit.affine.apply, ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))), strict=True)
    over = {"left": -min(xs), "right": max(xs) - width, "foot": -min(ys), "top": max(ys) - height}
    return ", ".join(f"{MM.length(value)} missing at the {edge}" for edge, value in over.items() if value > _CROP)


def _percent(scale: float) -> str:
    """Return a scale in per cent, to a tenth, or finer where a tenth would show nothing."""
    tenth = f"{100 * scale:.1f}"
    return f"{100 * scale:.3f} %" if tenth == "100.0" and abs(scale - 1) > 1e-6 else f"{tenth} %"
