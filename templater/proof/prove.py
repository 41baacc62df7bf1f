"""Every page and picture of a run, read back and compared with what the manifest says it shows.

As written, nothing is forgiven. A file that went through another program is looked at page by page: which tile it is is
read from its own words, then the map it was put through is found and told. What does no harm, a page's Rotate flag, a
larger paper, a shift, is advice. A change of scale, shear or mirror, a lost mark or page, one too many, a page of
another description are errors.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Container, Iterable, Mapping
from typing import TYPE_CHECKING, BinaryIO

from templater.drawing.marks import Drawing, Polyline, pieces
from templater.findings import CATALOGUE, Finding, ProofError
from templater.paper.manifest import JOB_SHEET, rows
from templater.plane.shapes import IDENTITY, Point, box_corners
from templater.proof.expect import Expected, Identity, Wanted, read_manifest
from templater.proof.marks import AREA, Mark
from templater.proof.match import LIMIT, Matched, PageMap, find_map, least_squares, match
from templater.proof.read_pictures import read_dxf, read_svg
from templater.proof.report import Deviation, ProofReport, SheetProof, together, told
from templater.units import MM

if TYPE_CHECKING:
    from templater.proof.read_pdf import PageMarks

#: Less than this missing at an edge is no crop, mm: page sizes are often rounded to whole points.
_CROP = 0.4
#: Share of the marks in their places that shows that the page was not moved, whatever became of the others.
_STAYED = 0.6


def prove(
    files: Mapping[str, bytes | BinaryIO], manifest: object, *, whole: bool = True, as_written: bool = True,
    page: Callable[[], None] = lambda: None,
) -> ProofReport:  # fmt: skip
    """Read files back and compare them with the manifest, as read from ``manifest.json`` or about to be written.

    ``files``, by name, are PDF files, some or all of a run's, also several sheets in one; SVG files of whole sheets
    under their own names; streams if they are large. They are ``whole`` if all of the run should be there: those
    missing are named. Nothing is forgiven files ``as_written``, which no other program had. ``page`` is called before
    each page. Raises ProofError Q101: the manifest is at fault.
    """
    expected = manifest if isinstance(manifest, Expected) else read_manifest(manifest)
    work = _Work(expected, page, as_written=as_written, several=len(files) > 1)
    for name, data in files.items():
        work.file(name, data)
    work.missing(files, whole=whole)
    sheets = tuple(proof for proof in work.proofs.values() if proof.pages or proof.svg_marks)
    return ProofReport(sheets, tuple(together(work.findings, as_written=as_written)))


def prove_cut(drawing: Drawing, dxf: bytes, svg: bytes) -> float:
    """Return the worst deviation of a part's files from its drawing, mm: each piece, arc and circle once, nothing else.

    Raises ProofError: Q106, Q107, one cannot be read; Q108, Q120 to Q130, it shows something else than the drawing.
    """
    marks = [piece for mark in drawing.marks for piece in (pieces(mark) if isinstance(mark, Polyline) else (mark,))]
    (left, low, right, high), record = drawing.box, [*rows(marks)]
    files = {f"{drawing.name}.svg": svg, f"{drawing.name}.dxf": dxf}
    name = Identity("", drawing.name)
    wanted = tuple(Wanted(file, name, (right - left, high - low), record, dict) for file in files)
    report = prove(files, Expected("", (), wanted))
    if not report.passed:
        raise ProofError(*report.findings)
    return report.worst.deviation


class _Work:
    """Pages seen so far."""

    def __init__(self, expected: Expected, page: Callable[[], None], *, as_written: bool, several: bool) -> None:
        self._expected, self._told, self._as_written, self._several = expected, page, as_written, several
        self.proofs = {one.identity.sheet: SheetProof(one.identity.sheet) for one in expected.pictures}
        self.findings: list[Finding] = []
        self._unreadable: set[str] = set()
        self._seen: set[tuple[str, str]] = set()
        self._tiles = {one.identity[1:3]: one for one in expected.pages}
        self._where = ""  # the file and page looked at

    def _say(self, code: str, text: str, *, lighter: bool = False) -> None:
        self.findings.append(Finding(code, self._where, text, graded=CATALOGUE[code].lighter if lighter else None))

    def file(self, name: str, data: bytes | BinaryIO) -> None:
        """Take in a file."""
        self._where = name
        try:
            if name.lower().endswith(".pdf"):
                self._pages(name, data)
            elif name.lower().endswith((".svg", ".dxf")):
                self._picture(name, data)
        except ProofError as fault:
            if any(finding.code == "Q101" for finding in fault.findings):
                raise
            self.findings += fault.findings
            self._unreadable.add(name)
        except ValueError as fault:
            self._say("Q106" if name.lower().endswith(".svg") else "Q103", f"cannot be read: {fault}")
            self._unreadable.add(name)

    def _pages(self, name: str, data: bytes | BinaryIO) -> None:
        from templater.proof.read_pdf import read_pdf  # the library takes long to load

        before, seen, ours = len(self.findings), set(self._seen), False
        for number, shown in enumerate(read_pdf(data, name, self._expected.most), 1):
            self._told()
            self._where = f"{name} page {number}"
            for complaint in shown.complaints:
                self._say("Q105", f"the reader complains: {complaint}", lighter=True)
            identity = Identity.of_page(shown.text, self._expected.stamp)
            page = self._which(name, number, identity)
            ours = (page is not None and self._page(page, shown)) or ours or identity is not None
        if not ours:
            del self.findings[before:]
            self._seen, self._where = seen, name
            self._unreadable.add(name)
            own = name == JOB_SHEET and self._several  # else nothing might be proved, and nothing be said against it
            text = "not one of the sheets: no page says which tile it is, and no marks match"
            self._say("Q135", "not proved: it holds no sheet" if own else text, lighter=own)

    def _picture(self, name: str, data: bytes | BinaryIO) -> None:
        wanted = next((one for one in self._expected.pictures if one.file == name), None)
        if wanted is None:
            self._say("Q135", "not one of the sheets: none of this run has a picture of that name")
            return
        stream = io.BytesIO(data) if isinstance(data, bytes) else data
        if stream.seek(0, io.SEEK_END) > self._expected.most:
            text = "cannot be read as SVG: it has more bytes than its drawing can need"
            raise ProofError(Finding("Q106", name, text))
        stream.seek(0)
        unread: dict[str, None] = {}
        dxf = name.lower().endswith(".dxf")
        found = match(wanted.marks(), read_dxf(stream.read(), name) if dxf else read_svg(stream, name, unread))
        self._compared(wanted, found, wanted.marks())
        self._rescaled(found, wanted.paper)
        for text in unread:
            self._say("Q108", text)

    def _compared(self, of: Wanted, found: Matched, wanted: Iterable[Mark], *, sized: bool = True) -> None:
        """Count what was compared, keep the worst deviation, and tell what is wrong."""
        proof, pair, page = self.proofs[of.identity.sheet], found.worst, bool(of.identity.tile)
        worst = Deviation(pair.off, pair.wanted.what or pair.wanted.name, self._where) if pair else Deviation()
        self.proofs[proof.name] = SheetProof(
            proof.name,
            max(proof.worst, worst, key=lambda one: one.deviation),
            proof.pages + page,
            proof.marks + page * (found.wanted - found.words),
            proof.letters + page * found.letters,
            proof.svg_marks + (not page) * found.wanted,
            proof.sized and sized,
        )
        self.findings += told(found, wanted, self._where)

    def _which(self, name: str, number: int, identity: Identity | None) -> Wanted | None:
        """Return the tile that a page is: by its own words, else by its order in the file."""
        if identity is None:
            here = [page for page in self._tiles.values() if (page.file, page.identity.page) == (name, number)]
            if not here and (self._as_written or len(self._expected.pictures) == 1):
                self._say("Q110", "is a page too many: it says of no tile that it is one")
            return here[0] if here else None
        key, tile = (identity.sheet, identity.tile), f"{identity.sheet} {identity.tile}"
        if identity.stamp != self._expected.stamp:
            due = f"({identity.stamp}, expected {self._expected.stamp})"
            self._say("Q112", f"belongs to another revision {due}: {tile}")
            self._seen.add(key)  # it is there, though wrong; "missing" would mislead
            return None
        if key not in self._tiles:
            self._say("Q111", f"says it is {tile}, which is not in this run")
            return None
        page = self._tiles[key]
        wanted = page.identity
        if self._as_written and (identity, number, name) != (wanted, wanted.page, page.file):
            said, due = (f"{one.sheet} {one.tile}, page {one.page} of {one.of}, version {one.version}"
                         for one in (identity, wanted))  # fmt: skip
            self._say("Q111", f"says it is {said}; expected here is {due}", lighter=True)
        if key in self._seen:
            self._say("Q111", f"is {tile} once more", lighter=True)
        return page

    def _page(self, page: Wanted, shown: PageMarks) -> bool:
        """Compare one page, and say what was done to it; False if its marks cannot be matched at all."""
        wanted, marks, tile = tuple(page.marks()), shown.marks, " ".join(page.identity[1:3])
        self._seen.add(page.identity[1:3])
        for text in shown.unread:
            self._say("Q108", text)
        if not any(mark.words for mark in marks):
            text = "text turned into outlines or lost, so that it was not read: taken by its order"
            self._say("Q136", f"{text}, as {tile}")
            wanted = tuple(mark for mark in wanted if not mark.words and mark.kind != AREA)
            marks = tuple(mark for mark in marks if mark.kind != AREA)
        found = match(wanted, marks)
        sized = not found.clean or bool(shown.turned) or self._rescaled(found, page.paper)
        if self._as_written and not shown.turned:
            self._other_paper(page, shown, LIMIT)
        else:
            stayed = found.stayed > _STAYED * len(wanted) and not shown.turned
            fit = PageMap(IDENTITY) if stayed else find_map(wanted, marks)
            if fit is None:
                self._say("Q138", f"the marks of {tile} cannot be found on the page")
                return False
            true = self._put(fit, page, shown)
            sized = sized and true
            if not stayed:
                back = (fit.rigid() if true else fit.affine).inverse()
                found = match(wanted, [mark.moved(back) for mark in marks])
            self._cropped(found, wanted, fit, page, shown)
        self._compared(page, found, wanted, sized=sized)
        return True

    def _rescaled(self, found: Matched, paper: Point) -> bool:
        """Say if marks that are each near enough to their place are drawn to another scale; return True if not."""
        affine = least_squares(found.strokes) if found.clean else None
        return affine is None or self._unscaled(PageMap(affine), paper)

    def _unscaled(self, fit: PageMap, paper: Point) -> bool:
        """Say how a page was scaled; return True if it was not."""
        if max(abs(fit.across - 1) * paper[0], abs(fit.along - 1) * paper[1]) <= LIMIT:
            return True
        scales = f"{_percent(fit.across)} across, {_percent(fit.along)} along"
        self._say("Q130", f"scaled to {scales}: print at actual size")
        return False

    def _put(self, fit: PageMap, page: Wanted, shown: PageMarks) -> bool:
        """Say what was done to a page; return True if its sizes are right, so that a turn or shift does no harm."""
        sheared = math.radians(fit.shear) * page.paper[1] > LIMIT
        sized = self._unscaled(fit, page.paper) and not sheared and not fit.mirrored
        if sheared:
            self._say("Q134", f"sheared: corners are {fit.shear:.2f} degrees off a right angle")
        if fit.mirrored:
            self._say("Q134", "mirrored: left and right are exchanged")
        elif abs(fit.turn) > 0.005:
            way = "" if abs(fit.turn) > 179.99 else " clockwise" if fit.turn < 0 else " anticlockwise"
            degrees = f"{abs(fit.turn):.2f}".rstrip("0").rstrip(".")
            harm = ": no harm, for sizes stay as they are" if sized else ""
            self._say("Q131", f"pages rotated by {degrees} degrees{way}{harm}", lighter=True)
        elif not self._other_paper(page, shown, _CROP) and sized:  # a scale moves the page as well, and has been told
            middle = page.paper[0] / 2, page.paper[1] / 2
            dx, dy = (there - here for there, here in zip(fit.affine.apply(middle), middle, strict=True))
            if math.hypot(dx, dy) > LIMIT:
                text = f"moved on the paper by {MM.signed(dx, 2)} across, {MM.signed(dy, 2)} along"
                self._say("Q132", text, lighter=True)
        return sized

    def _other_paper(self, page: Wanted, shown: PageMarks, allowed: float) -> bool:
        """Say if the paper is another one, which does no harm by itself."""
        if max(abs(shown.size[0] - page.paper[0]), abs(shown.size[1] - page.paper[1])) <= allowed:
            return False
        size, wanted = (" x ".join(f"{value:.2f}" for value in one) for one in (shown.size, page.paper))
        self._say("Q113", f"paper is {size} {MM.unit} instead of {wanted}", lighter=True)
        return True

    def _cropped(self, found: Matched, wanted: tuple[Mark, ...], fit: PageMap, page: Wanted, shown: PageMarks) -> None:
        """Say what a crop took away, at which edge as the page is seen, and take that out of what is wrong."""
        xs, ys = zip(*fit.affine.over(box_corners((0.0, 0.0, *page.paper))), strict=True)
        over = {"left": -min(xs), "right": max(xs) - shown.size[0], "foot": -min(ys), "top": max(ys) - shown.size[1]}
        lost = [f"{MM.length(value)} missing at the {edge}" for edge, value in over.items() if value > _CROP]
        if not lost:
            return
        cut = [pair for pair in found.wrong if pair.found.ink == "clipped"]
        gone = found.missing = [*found.missing, *(pair.wanted for pair in cut)]
        found.wrong = [pair for pair in found.wrong if pair not in cut]
        which = next(told(found, wanted, self._where)).text if gone else ""
        count = f"{len(gone)} mark{'s' if len(gone) > 1 else ''} lost: {which}" if gone else "no mark is lost"
        self._say("Q133", f"cropped: {', '.join(lost)}; {count}", lighter=not gone)
        found.missing = []

    def missing(self, files: Container[str], *, whole: bool) -> None:
        """Name the pages that are missing of every sheet that was given, and files of a whole run."""
        lost = [file for file in self._expected.files if whole and file not in files]
        self.findings += [Finding("Q102", file, "is missing") for file in lost]
        alone = {name for name, tile in self._tiles if f"{name}-{tile}.pdf" in files}  # as one lost tile made again
        given = {sheet for sheet, _ in self._seen} - alone
        for (name, tile), page in self._tiles.items():
            wanted = name in given or page.file in files
            if wanted and (name, tile) not in self._seen and page.file not in self._unreadable.union(lost):
                self._where = page.file
                self._say("Q110", f"page {page.identity.page} missing ({name} {tile})")


def _percent(scale: float) -> str:
    """Return a scale in per cent, to a tenth, or finer where a tenth would show nothing."""
    tenth = f"{100 * scale:.1f}"
    return f"{100 * scale:.3f} %" if tenth == "100.0" and abs(scale - 1) > 1e-6 else f"{tenth} %"
