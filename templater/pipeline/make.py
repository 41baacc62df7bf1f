"""Making a boat: text and options in, all files of the job out, proved; and the files for the shop that cuts plates."""

import json
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from templater import __version__
from templater.description.load import Source
from templater.drawing.sheets import NAMES
from templater.findings import DescriptionError, DrawingError, Finding, ProofError
from templater.paper.manifest import JOB_SHEET, MANIFEST_FILE
from templater.paper.tiles import TiledSheet, find_paper
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options, Progress, check, no_progress, placed, title_data
from templater.pipeline.sheets import Files, chosen, on_paper, proved, sheet_files

if TYPE_CHECKING:
    from templater.boat.solved import Boat
    from templater.drawing.cut import CutPart
    from templater.proof.report import ProofReport
    from templater.report.blocks import JobSheet

#: The page that goes with the files.
CUT_NOTE = "for-the-shop.pdf"
#: Names of the files of parts, by which those of an earlier run are known.
CUT_FILES = re.compile(r"[a-z-]+-\d+x-[\d.]+mm\.(dxf|svg)")
#: Every file that a run of ``make`` may write; those of an earlier run that this one does not write are removed.
PRODUCTS = frozenset(
    [f"{sheet}.{kind}" for sheet in NAMES for kind in ("pdf", "svg")] + ["job-sheet.html", JOB_SHEET, MANIFEST_FILE]
)
#: Up to so many pages work is done in two processes, which hold more than one.
_FEW = 500
#: Names of files with one tile of a sheet.
_TILE = re.compile(r"([a-z-]+)-\d+-\d+\.pdf")


class Made(NamedTuple):
    """The files of a run, by name, with the proof of the sheets among them; ``kept`` names sheets of an earlier run.

    Without a job sheet only lost tiles were made, and everything else stays as it is.
    """

    checked: Checked
    sheets: tuple[TiledSheet, ...]
    files: Files
    proof: "ProofReport"
    job_sheet: "JobSheet | None" = None
    kept: tuple[str, ...] = ()

    @property
    def pages(self) -> int:
        """Number of pages of all sheets."""
        return sum(len(sheet.tiles) for sheet in self.sheets)

    def stale(self, standing: Iterable[str]) -> list[str]:
        """Return which of the files that stand in the boat's folder are of an earlier run and have had their day."""
        if self.job_sheet is None:
            return []
        products = [(name, _TILE.fullmatch(name)) for name in standing if name in PRODUCTS or _TILE.fullmatch(name)]
        return [name for name, tile in products if (tile[1] if tile else name.partition(".")[0]) not in self.kept]


def make(source: Source, options: Options = AS_DESCRIBED, progress: Progress = no_progress) -> Made:
    """Return all files of the job, proved.

    Raises DescriptionError with every finding, DrawingError if the sheets cannot be put on this paper, ProofError if
    one is read back otherwise than it was drawn; nothing may then be published.
    """
    from templater.report.html import job_sheet_html
    from templater.report.job_sheet import job_sheet
    from templater.report.pdf import job_sheet_pdf

    checked, tiled, accuracy = on_paper(_sound(source, options), options, progress)
    names = chosen([sheet.drawing.name for sheet in tiled], options.only)
    earlier = _earlier(options.earlier(checked.boat.description.boat)) if options.only or options.tiles else {}
    if options.tiles:
        return _lost_tiles(checked, [sheet for sheet in tiled if sheet.drawing.name in names], options, earlier)
    same = earlier.get("description_sha256") == checked.sha256
    before = {sheet["name"]: sheet for sheet in earlier.get("sheets", ()) if same and sheet["name"] not in names}
    kept = tuple(sheet.drawing.name for sheet in tiled if sheet.drawing.name in before)
    waiting = [*tiled]
    del tiled  # they are let go one by one
    made = sheet_files(checked, waiting, progress, names, before)
    made.add_manifest(MANIFEST_FILE, checked)
    sheet = job_sheet(checked.boat, title_data(checked), made.sheets, checked.findings, accuracy)
    how = options if sum(len(one.tiles) for one in made.sheets) <= _FEW else AS_DESCRIBED
    rest = how.beside(lambda: (job_sheet_html(sheet), job_sheet_pdf(sheet, page_size(checked)), made.read_back(".svg")))
    pages = made.read_back(".pdf", progress)
    progress("writing the job sheet", 0, 1)
    html, pdf, pictures = rest()
    proof = proved(pages, pictures)
    made.files.add("job-sheet.html", [html])
    made.files.add(JOB_SHEET, [pdf])
    sheets = tuple(one for one in made.sheets if one.drawing.name in names)
    return Made(checked, sheets, made.files, proof, sheet, kept)


def _sound(source: Source, options: Options) -> Checked:
    checked = check(source, options)
    if checked.errors:
        raise DescriptionError(*checked.errors, *checked.warnings)
    return checked


def _earlier(data: bytes | None) -> dict[str, Any]:
    """Return an earlier manifest; an empty one if it is none, or none of this version."""
    from templater.proof.expect import read_manifest

    try:
        contents: dict[str, Any] = json.loads(data or b"{}")
        read_manifest(contents)
    except (ValueError, RecursionError, ProofError):
        return {}
    return contents if contents["version"] == __version__ else {}


def _lost_tiles(checked: Checked, sheets: Sequence[TiledSheet], options: Options, earlier: dict[str, Any]) -> Made:
    """Return single tiles of a sheet, each a file, proved.

    Raises DrawingError S191: there is no such tile, or it would not fit those that were printed before.
    """
    from templater.paper.manifest import manifest
    from templater.proof.prove import prove
    from templater.writers.pdf import pdf_parts

    if len(sheets) != 1:
        raise DrawingError(Finding("S191", "--tile", "is a tile of one sheet - name that sheet with --only"))
    sheet, title = sheets[0].drawn(), title_data(checked)
    name = sheet.drawing.name
    tiles = [tile for tile in sheet.tiles if tile.name in options.tiles]
    if unknown := [tile for tile in options.tiles if tile not in [one.name for one in tiles]]:
        text = f"{', '.join(unknown)}: no such tile of {name} - allowed: {', '.join(tile.name for tile in sheet.tiles)}"
        raise DrawingError(Finding("S191", "--tile", text))
    contents = manifest([sheet], title)
    (now,) = contents["sheets"]
    before = next((one for one in earlier.get("sheets", ()) if one["name"] == name), None)
    layout = ("box", "column_seams", "row_seams", "holes")
    if before and (earlier["description_sha256"] != checked.sha256 or any(before.get(k) != now[k] for k in layout)):
        text = f"the {name} in the boat's folder is of another description or paper, and one tile of this would not fit"
        raise DrawingError(Finding("S191", "--tile", f"{text} its others - make the whole sheet, with --only {name}"))
    files = Files(options.store)
    for tile in tiles:
        files.add(f"{name}-{tile.name}.pdf", pdf_parts([tile], name=name, title=title))
    report = prove(files.streams, contents, whole=False, as_written=False)
    if report.findings:
        raise ProofError(*report.findings)
    return Made(checked, (sheet._replace(tiles=tuple(tiles)),), files, report)


def page_size(checked: Checked) -> tuple[float, float]:
    """Return the page that running text is printed on, mm: Letter where the sheets are on a paper of its kind."""
    inches = str(checked.boat.description.print.paper).lower() in ("letter", "legal", "tabloid")
    paper = find_paper("Letter" if inches else "A4")
    return paper.width, paper.height or 0.0


def cut(source: Source, options: Options) -> "tuple[Boat, tuple[CutPart, ...], dict[str, bytes]]":
    """Return the boat, its parts, and their files by name, each read back before it is returned.

    Raises as ``make``; DrawingError S196, there is no plate to cut; S195, the kerf is too wide.
    """
    from templater.drawing.cut import cut_note, cut_parts
    from templater.paper.tiles import single_page
    from templater.proof.prove import prove_cut
    from templater.writers.dxf import write_dxf
    from templater.writers.pdf import write_pdf
    from templater.writers.svg import write_svg

    checked = _sound(source, options)
    plate = checked.boat.description.fixing.plate
    if plate is None:
        text = "the boat has no plates, so there is nothing to cut - give fixing.plate"
        raise DrawingError(Finding("S196", "fixing.plate", text))
    parts, title = cut_parts(checked.boat, plate), title_data(checked)
    files: dict[str, bytes] = {}
    for part in parts:
        dxf, svg = write_dxf(part.drawing.marks), write_svg(part.drawing, title)
        prove_cut(part.drawing, dxf, svg)
        files |= {f"{part.stem}.dxf": dxf, f"{part.stem}.svg": svg}
    choice = checked.boat.description.print
    try:
        paper = find_paper(choice.paper)
    except DrawingError as fault:
        raise DrawingError(*(placed(finding, checked) for finding in fault.findings)) from None
    size = paper.width, paper.height or max(paper.width, find_paper("A4").height or 0.0)
    note = cut_note(checked.boat, parts, size, choice.margin, checked.sha256[:8])
    files[CUT_NOTE] = write_pdf([single_page(size, note)], name="parts to cut", title=title)
    return checked.boat, parts, files
