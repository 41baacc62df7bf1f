"""A checked boat's sheets: drawn, put on paper, looked at, written and read back."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import chain, count
from typing import TYPE_CHECKING, Any, BinaryIO, NamedTuple

from templater import __version__
from templater.description.keys import Print
from templater.drawing.marks import Drawing
from templater.findings import DrawingError, Finding, ProofError
from templater.paper.tiles import NO_CORRECTION, Correction, Tile, TiledSheet, TitleData
from templater.pipeline.checked import Checked, Options, Progress, no_progress, placed, printer_findings, title_data
from templater.reader.faults import told
from templater.units import MM

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport
    from templater.proof.report import ProofReport

#: The next larger paper, for what it would gain.
LARGER = {"A4": "A3", "A3": "A2", "A2": "A1", "A1": "A0", "Letter": "Tabloid", "Legal": "Tabloid", "Tabloid": "C"}
#: Rolls that are tried last, those of wide printers.
_ROLLS = ("24 in roll", "36 in roll")
_NAMED = 4
#: Bytes of a file that are read at a time.
_PART = 1 << 20


def drawings_of(checked: Checked, only: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Return the boat's drawings, or those of them that ``only`` names; raises as ``chosen``."""
    from templater.drawing.sheets import draw

    drawings = draw(checked.boat, warnings=tuple(finding.text for finding in checked.warnings))
    names = chosen([drawing.name for drawing in drawings], only)
    return tuple(drawing for drawing in drawings if drawing.name in names)


def chosen(sheets: Sequence[str], only: Sequence[str]) -> Sequence[str]:
    """Return the names of the sheets to make, all if ``only`` is empty; raises DrawingError S190 for an unknown one."""
    if unknown := [name for name in only if name not in sheets]:
        raise DrawingError(told("S190", "--only", unknown=", ".join(unknown), known=", ".join(sheets)))
    return only or sheets


def tile_sheets(
    checked: Checked,
    drawings: tuple[Drawing, ...],
    correction: Correction = NO_CORRECTION,
    progress: Progress = no_progress,
    *,
    drawn: bool = True,
) -> tuple[TiledSheet, ...]:
    """Return drawings on the description's paper; ``drawn`` False leaves the pages bare, where only seams matter.

    Raises DrawingError if the paper is unknown or too small.
    """
    from templater.paper.tiles import find_paper
    from templater.paper.tiling import tile

    choice, title = checked.boat.description.print, title_data(checked)
    sheets = []
    try:
        paper = find_paper(choice.paper)
        for number, drawing in enumerate(drawings):
            progress("placing seams", number, len(drawings))
            sheets.append(tile(
                drawing, paper, margin=choice.margin, overlap=choice.overlap, orientation=choice.orientation,
                correction=correction, title=title, drawn=drawn,
            ))  # fmt: skip
    except DrawingError as fault:
        raise DrawingError(*(placed(finding, checked) for finding in fault.findings)) from None
    return tuple(sheets)


class OnPaper(NamedTuple):
    """A checked boat with all that is found about it, on paper too; its sheets, and its error budget if there is one.

    A boat with errors has no sheets: nothing can be drawn for it.
    """

    checked: Checked
    sheets: tuple[TiledSheet, ...] = ()
    accuracy: "AccuracyReport | None" = None


def on_paper(checked: Checked, options: Options, progress: Progress = no_progress, *, larger: bool = True) -> OnPaper:
    """Put a boat on paper, its pages bare: the one list of findings that check, sheets, job sheet and page show.

    ``larger`` False spares what larger paper would gain. Raises as ``tile_sheets``.
    """
    if checked.errors:
        return OnPaper(checked)
    correction = options.correction_for(checked.boat.description)
    drawings = drawings_of(checked)
    sheets = tile_sheets(checked, drawings, correction, progress, drawn=False)
    report = accuracy_of(checked, sheets, options, larger=larger)
    found = checked.found(
        *_cut_findings(checked, drawings, correction, sheets), *printer_findings(checked, options),
        *(report.findings if report else ()),
    )  # fmt: skip
    if found.warnings != checked.warnings:  # the sheets say how many there are
        del sheets, drawings
        sheets = tile_sheets(found, drawings_of(found), correction, progress, drawn=False)
    return OnPaper(found, sheets, report)


def accuracy_of(
    checked: Checked, sheets: tuple[TiledSheet, ...], options: Options, *, larger: bool = True
) -> "AccuracyReport | None":
    """Return the error budget, with what ``larger`` paper would gain; nothing unless floor and plank are both there."""
    from templater.accuracy.errors import default_sources
    from templater.accuracy.report import accuracy

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
    there = printed(checked, checked.boat.description.print.changed(paper=larger))
    try:
        return [(larger, tile_sheets(there, tuple(sheet.drawing for sheet in pair), drawn=False))]
    except DrawingError:
        return []  # the builder's own margins do not suit that paper: nothing to say about it


def printed(checked: Checked, choice: Print) -> Checked:
    """Return the boat with another choice of paper."""
    boat = checked.boat
    return checked._replace(boat=boat._replace(description=boat.description.changed(print=choice)))


def _cut_findings(
    checked: Checked, drawings: tuple[Drawing, ...], correction: Correction, sheets: tuple[TiledSheet, ...]
) -> Iterator[Finding]:
    """Yield which holes seams cut, a finding for each sheet, and the least change that avoids it."""
    now = _cuts(sheets)
    cures = {name: "" for name, count in now.items() if count}
    for words, choice in _changes(checked, sheets) if cures else ():
        try:
            cuts = _cuts(tile_sheets(printed(checked, choice), drawings, correction, drawn=False))
        except DrawingError:
            continue
        if all(cuts[name] <= now[name] for name in now):
            cures |= {name: words for name, cure in cures.items() if not cure and not cuts[name]}
        if all(cures.values()):
            break
    for sheet in sheets if cures else ():
        if not sheet.cut:
            continue
        names = ", ".join(f"{cut.id} by {cut.seam}" for cut in sheet.cut[:_NAMED])
        more = f" and {len(sheet.cut) - _NAMED} more" if len(sheet.cut) > _NAMED else ""
        name, place = sheet.drawing.name, checked.boat.description.place("print")
        case = "cure" if cures[name] else "none"
        yield told("S120", "print", case, MM, place, sheet=name, names=names, more=more, cure=cures[name])


def _cuts(sheets: tuple[TiledSheet, ...]) -> dict[str, int]:
    """Return how many holes are cut on each sheet."""
    return {sheet.drawing.name: len(sheet.cut) for sheet in sheets}


def _changes(checked: Checked, sheets: tuple[TiledSheet, ...]) -> Iterator[tuple[str, Print]]:
    """Yield what may be changed, in words and as done, the least change first."""
    from templater.paper.tiles import find_paper
    from templater.paper.tiling import OVERLAPS

    choice, paper = checked.boat.description.print, sheets[0].paper
    if choice.orientation != "either":
        yield "orientation either", choice.changed(orientation="either")
    for overlap in OVERLAPS:
        if choice.overlap is not None and overlap < choice.overlap:
            yield f"an overlap of {MM.size(overlap)}", choice.changed(overlap=overlap)
    larger = LARGER.get(paper.name)
    while larger is not None:
        yield larger, choice.changed(paper=larger)
        larger = LARGER.get(larger)
    for roll in _ROLLS:
        if paper.height is not None and find_paper(roll).width > paper.width:
            yield f"a {roll}", choice.changed(paper=roll)


class Files(Mapping[str, bytes]):
    """Files by name, each in a stream: those of a large boat would fill the memory."""

    def __init__(self, store: Callable[[], BinaryIO]) -> None:
        """Take what makes a stream."""
        self._store, self.streams = store, dict[str, BinaryIO]()

    def add(self, name: str, parts: Iterable[bytes]) -> None:
        """Take in a file."""
        self.streams[name] = stream = self._store()
        stream.writelines(parts)
        stream.flush()  # a process that is begun beside this one would write it once more

    def parts(self, name: str) -> Iterator[bytes]:
        """Yield a file in parts."""
        self.streams[name].seek(0)
        yield from iter(partial(self.streams[name].read, _PART), b"")

    def __getitem__(self, name: str) -> bytes:
        return b"".join(self.parts(name))

    def __iter__(self) -> Iterator[str]:
        return iter(self.streams)

    def __len__(self) -> int:
        return len(self.streams)


def _gone() -> TiledSheet:
    raise RuntimeError("the sheet's marks were let go")


class SheetFiles(NamedTuple):
    """Files by name, not yet ``proved``; the sheets, and what the manifest says of each by its name."""

    files: Files
    sheets: list[TiledSheet]  # with what joins their tiles, but without any marks
    records: Files  # as written
    unread: list[tuple[dict[str, BinaryIO], dict[str, Any]]]  # each sheet's files with their manifest

    def add_manifest(self, name: str, checked: Checked) -> None:
        """Add the manifest to the files."""
        from templater.paper.manifest import manifest, manifest_json

        contents = {**manifest((), title_data(checked)), "sheets": [*map(self.records.parts, self.records)]}
        self.files.add(name, chain(manifest_json(contents), [b"\n"]))

    def read_back(self, kind: str = "", progress: Progress = no_progress) -> "ProofReport":
        """Return the proof of the files, all or those of a kind, as ``.svg``."""
        from templater.proof.prove import prove
        from templater.proof.report import ProofReport

        reports, done = [], count()
        of = sum(len(contents["sheets"][0]["pages"]) for _, contents in self.unread)
        for files, contents in self.unread:
            some = {name: stream for name, stream in files.items() if name.endswith(kind)}
            reports.append(prove(some, contents, whole=not kind, page=lambda: progress("reading back", next(done), of)))
        return ProofReport.of(reports)


def proved(*reports: "ProofReport") -> "ProofReport":
    """Return proofs as one; raises ProofError if a file differs from its drawing: nothing may then be published."""
    if not (proof := reports[0].of(reports)).passed:
        raise ProofError(*proof.findings)
    return proof


def sheet_files(
    checked: Checked,
    sheets: list[TiledSheet],
    progress: Progress = no_progress,
    only: Sequence[str] = (),
    earlier: Mapping[str, Any] = {},
) -> SheetFiles:
    """Draw sheets, write those that ``only`` names, or all, as PDF and SVG, and let them go, off the list.

    What ``earlier`` says of the others, by name, is kept. Of a large sheet nothing is held longer than it serves: it
    fills the memory.
    """
    from templater.paper.manifest import manifest, manifest_json
    from templater.writers.pdf import pdf_parts
    from templater.writers.svg import svg_parts

    title, made = title_data(checked), SheetFiles(Files(checked.options.store), [], Files(checked.options.store), [])
    total, number = sum(len(one.tiles) for one in sheets if not only or one.drawing.name in only), count()

    def watched(tiles: Iterable[Tile]) -> Iterator[Tile]:
        for tile in tiles:
            progress("writing", next(number), total)
            yield tile

    while sheets:
        drawn = sheets.pop(0).drawn()
        name, tiles = drawn.drawing.name, tuple(tile._replace(marks=()) for tile in drawn.tiles)
        drawing = drawn.drawing._replace(marks=(), keep=())
        made.sheets.append(drawn._replace(drawing=drawing, tiles=tiles, drawn=_gone))
        record = earlier.get(name)
        if not only or name in only:
            made.files.add(f"{name}.pdf", pdf_parts(watched(drawn.tiles), name=name, title=title))
            made.files.add(f"{name}.svg", svg_parts(drawn.drawing, title))
            contents = manifest([drawn], title)
            del drawn
            made.unread.append(({kind: made.files.streams[kind] for kind in (f"{name}.pdf", f"{name}.svg")}, contents))
            record = contents["sheets"][0]
        if record:
            made.records.add(name, manifest_json(record, b"  "))
    return made


def bars_page(paper: str, margin: float) -> tuple[bytes, dict[str, str], str]:
    """Return the page whose bars are measured, as PDF, the length of each, and what is typed next; the margin in mm.

    Raises DrawingError if the paper is unknown or too small.
    """
    from templater.paper.printer import printer_order, printer_page
    from templater.paper.tiles import find_paper
    from templater.writers.pdf import write_pdf

    found = find_paper(paper, "--paper")
    title = TitleData("Printer test page", "", "", "", "", "", "", "", __version__)
    page = printer_page(found, margin)
    data = write_pdf([page], name="printer-page", title=title)
    return data, {bar.id: MM.size(bar.length) for bar in page.bars}, " ".join(printer_order(found, margin))
