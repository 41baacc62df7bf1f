"""Checking and making a boat: text and options in, findings or files out."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from templater import __version__
from templater.boat import solve
from templater.boat.solved import Boat
from templater.checks.all import check as check_boat
from templater.description import load_description
from templater.description.model import CustomPaper, Description, Orientation
from templater.description.source import Base, Source
from templater.drawing.marks import Drawing
from templater.findings import DescriptionError, DrawingError, Finding, Location, ProofError, Severity
from templater.paper.tiles import Correction, TiledSheet, TitleData

if TYPE_CHECKING:
    from templater.paper.printer import PrinterProfile
    from templater.proof import ProofReport
    from templater.report.blocks import JobSheet

#: Called with what is being done and how many parts of how many are done.
Progress = Callable[[str, int, int], None]

NO_CORRECTION = Correction()

#: Every file that a run of ``make`` may write; those of an earlier run that this one does not write are removed.
PRODUCTS = frozenset(
    [f"{sheet}.{kind}" for sheet in ("floor", "plank", "plates", "spare-plates") for kind in ("pdf", "svg")]
    + ["job-sheet.html", "job-sheet.pdf", "manifest.json", "plates.dxf", "plates-cut.svg"]
)


def no_progress(_what: str, _done: int, _of: int) -> None:
    """Report no progress."""


@dataclass(frozen=True, slots=True)
class Options:
    """What the command line may change of a run.

    Attributes:
        only: names the sheets to make; empty makes all.
        profiles: returns a stored printer profile by name, raising a TemplaterError if there is none; without it the
            description's ``print: printer`` is passed over, as for a file that goes to another printer.
    """

    paper: str | CustomPaper | None = None
    orientation: Orientation | None = None
    only: tuple[str, ...] = ()
    printer: str | None = None
    profiles: Callable[[str], PrinterProfile] | None = None

    def profile_for(self, description: Description) -> PrinterProfile | None:
        """Return the profile of the printer that the description names, if any."""
        name = description.print.printer
        return self.profiles(name) if name and self.profiles else None

    def correction_for(self, description: Description) -> Correction:
        """Return the printer's correction, none without a profile."""
        profile = self.profile_for(description)
        return profile.correction() if profile else NO_CORRECTION


@dataclass(frozen=True, slots=True)
class Checked:
    """A solved boat with everything found about it, errors first.

    ``bases`` are those that were read, nearest first; ``options`` are those that the description was changed by.
    """

    source: Source
    boat: Boat
    findings: tuple[Finding, ...]
    bases: tuple[Base, ...] = ()
    options: Options = Options()

    @property
    def sha256(self) -> str:
        """SHA-256 of the description's bytes, followed by those of its bases if it has any, in hex."""
        return hashlib.sha256(b"".join([self.source.data, *(base.data for base in self.bases)])).hexdigest()

    @property
    def errors(self) -> tuple[Finding, ...]:
        """The findings that stop ``make``."""
        return tuple(finding for finding in self.findings if finding.severity is Severity.ERROR)

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """The findings that are printed on the sheets."""
        return tuple(finding for finding in self.findings if finding.severity is Severity.WARNING)


@dataclass(frozen=True, slots=True)
class Made:
    """The files of a run, by name, with the proof of the sheets among them."""

    checked: Checked
    sheets: tuple[TiledSheet, ...]
    files: dict[str, bytes]
    manifest: dict[str, Any]
    proof: ProofReport
    job_sheet: JobSheet

    @property
    def pages(self) -> int:
        """Number of pages of all sheets."""
        return sum(len(sheet.tiles) for sheet in self.sheets)


def check(source: Source, options: Options = Options()) -> Checked:
    """Return the solved boat and all findings.

    Raises:
        DescriptionError: if the text is no valid description, or nothing can be solved from it.
    """
    from templater.job.hardware import hardware

    description, bases = _load(source)
    if source.handed_over:
        description = replace(description, print=replace(description.print, printer=None))
    boat = solve(_with_options(description, options))
    findings = (*check_boat(boat), *hardware(boat).findings)
    order = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 2}
    return Checked(source, boat, tuple(sorted(findings, key=lambda finding: order[finding.severity])), bases, options)


def _load(source: Source) -> tuple[Description, tuple[Base, ...]]:
    """Return the description and the ones it was based on, as they were read."""
    bases: list[Base] = []

    def resolve(name: str, where: Location) -> tuple[str, str]:
        if source.resolve is None:
            text = f"{name}: cannot be found from here - name a description that lies beside this one"
            raise DescriptionError(Finding("D160", Severity.ERROR, "based_on", text, where))
        base = source.resolve(name, where)
        bases.append(base)
        return base.file, base.data.decode("utf-8-sig")

    return load_description(source.data.decode("utf-8-sig"), source.file, resolve=resolve), tuple(bases)


def boat_name(source: Source) -> str:
    """Return the boat's name, without solving anything.

    Raises:
        DescriptionError: if the text is no valid description.
    """
    return _load(source)[0].boat


def title_data(checked: Checked) -> TitleData:
    """Return the title data that every tile of a run carries."""
    description = checked.boat.description
    issue = description.issue
    return TitleData(
        boat=description.boat,
        revision=issue.revision,
        date=issue.date,
        owner=issue.owner,
        number=issue.number,
        drawn_by=issue.drawn_by,
        approved_by=issue.approved_by,
        description_sha256=checked.sha256,
        program_version=__version__,
        warnings=tuple(finding.text for finding in checked.warnings),
    )


def drawings_of(checked: Checked, only: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Return the boat's drawings, or those of them that ``only`` names.

    Raises:
        DrawingError: if a name is not that of one of its sheets.
    """
    from templater.drawing.sheets import draw

    drawings = draw(checked.boat, warnings=tuple(finding.text for finding in checked.warnings))
    names = [drawing.name for drawing in drawings]
    unknown = [name for name in only if name not in names]
    if unknown:
        text = f"{', '.join(unknown)}: no such sheet of this boat - allowed: {', '.join(names)}"
        raise DrawingError(Finding("S190", Severity.ERROR, "--only", text))
    return tuple(drawing for drawing in drawings if not only or drawing.name in only)


def tile_sheets(
    checked: Checked,
    drawings: tuple[Drawing, ...],
    correction: Correction = NO_CORRECTION,
    progress: Progress = no_progress,
    *,
    drawn: bool = True,
) -> tuple[TiledSheet, ...]:
    """Return drawings on the description's paper; ``drawn`` False leaves the pages bare, where only seams matter.

    Raises:
        DrawingError: if the paper is unknown or too small.
    """
    from templater.paper.choice import find_paper
    from templater.paper.tiling import tile

    choice = checked.boat.description.print
    title = title_data(checked)
    sheets = []
    try:
        paper = find_paper(choice.paper)
        for number, drawing in enumerate(drawings):
            progress("placing seams", number, len(drawings))
            sheets.append(
                tile(
                    drawing,
                    paper,
                    margin=choice.margin,
                    overlap=choice.overlap,
                    orientation=choice.orientation,
                    correction=correction,
                    title=title,
                    drawn=drawn,
                )
            )
    except DrawingError as fault:
        raise DrawingError(*(_placed(finding, checked) for finding in fault.findings)) from None
    return tuple(sheets)


def printer_findings(checked: Checked, options: Options) -> tuple[Finding, ...]:
    """Return what is to be said of the printer's profile: S111, it was measured on another paper.

    Raises:
        DrawingError: if the paper is unknown.
        ReadingsError: if there is no such profile.
    """
    from templater.paper.choice import find_paper

    description = checked.boat.description
    profile = options.profile_for(description)
    if profile is None:
        return ()
    try:
        paper = find_paper(description.print.paper).name
    except DrawingError as fault:
        raise DrawingError(*(_placed(finding, checked) for finding in fault.findings)) from None
    if paper == profile.paper:
        return ()
    text = f"{profile.name}: its profile was measured on {profile.paper}, and the sheets go on {paper} - measure the " \
        f"printer page on {paper} too, for another paper may run through the printer otherwise"
    return (_placed(Finding("S111", Severity.ADVICE, "print.printer", text), checked),)


def _placed(finding: Finding, checked: Checked) -> Finding:
    """Return a finding about paper with the place of its key, or with the option that was given instead of it."""
    given = {"print.paper": checked.options.paper, "print.printer": checked.options.printer}
    if finding.where is not None or not finding.key:
        return finding
    if given.get(finding.key) is not None:
        return replace(finding, key=f"--{finding.key.removeprefix('print.')}")
    return replace(finding, where=checked.boat.description.place(finding.key))


def sheet_files(
    checked: Checked,
    sheets: tuple[TiledSheet, ...],
    progress: Progress = no_progress,
    cut: tuple[dict[str, bytes], dict[str, Any]] = ({}, {}),
) -> tuple[dict[str, bytes], dict[str, Any], ProofReport]:
    """Return sheets as PDF and SVG, their manifest, and the proof of both.

    ``cut`` is cut files and what the manifest says of them; they are proved with the sheets.

    Raises:
        ProofError: if a file read back differs from its drawing; nothing may then be published.
    """
    from templater.paper.manifest import manifest
    from templater.proof import prove
    from templater.writers.pdf import write_pdf
    from templater.writers.svg import write_svg

    title = title_data(checked)
    files: dict[str, bytes] = {}
    for number, sheet in enumerate(sheets):
        progress("writing", number, len(sheets))
        name = sheet.drawing.name
        files[f"{name}.pdf"] = write_pdf(sheet.tiles, name=name, title=title)
        files[f"{name}.svg"] = write_svg(sheet.drawing, title)
    files.update(cut[0])
    contents = {**manifest(sheets, title), **cut[1]}
    progress("proving", 0, 1)
    report = prove(files, contents)
    if not report.passed:
        raise ProofError(*report.findings)
    return files, contents, report


def manifest_bytes(contents: dict[str, Any]) -> bytes:
    """Return a manifest as the bytes of its file."""
    stream = io.BytesIO()
    with io.TextIOWrapper(stream, "utf-8", newline="\n") as text:
        json.dump(contents, text, indent=1, ensure_ascii=False)  # piece by piece: all pieces together are far larger
        text.write("\n")
        text.flush()
        return stream.getvalue()


def make(source: Source, options: Options = Options(), progress: Progress = no_progress) -> Made:
    """Return all files of the job, proved.

    Raises:
        DescriptionError: if the description is at fault; carries every finding.
        DrawingError: if the sheets cannot be put on this paper, or the plates cut from this metal.
        ProofError: if a sheet read back differs from its drawing; nothing may then be published.
    """
    from templater.pipeline.cutting import cut_files
    from templater.pipeline.jobsheet import job_sheet_files, job_sheet_of

    checked = check(source, options)
    if checked.errors:
        raise DescriptionError(*checked.errors, *checked.warnings)
    correction = options.correction_for(checked.boat.description)
    checked = replace(checked, findings=(*checked.findings, *printer_findings(checked, options)))
    sheets = tile_sheets(checked, drawings_of(checked, options.only), correction, progress)
    cut = cut_files(checked) if not options.only or "plates" in options.only else ({}, {})
    files, contents, report = sheet_files(checked, sheets, progress, cut)
    files["manifest.json"] = manifest_bytes(contents)
    progress("writing the job sheet", 0, 1)
    job_sheet = job_sheet_of(checked, sheets, options)
    files.update(job_sheet_files(checked, job_sheet))
    return Made(checked, sheets, files, contents, report, job_sheet)


def _with_options(description: Description, options: Options) -> Description:
    """Return the description with the command line's choices put in."""
    chosen = description.print
    if options.paper is not None:
        chosen = replace(chosen, paper=options.paper)
    if options.orientation is not None:
        chosen = replace(chosen, orientation=options.orientation)
    if options.printer is not None:
        chosen = replace(chosen, printer=options.printer)
    return replace(description, print=chosen)
