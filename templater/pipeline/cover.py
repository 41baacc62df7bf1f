"""The cover of a handover file: what it is, how to print it true, what to do first, and where everything stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templater.paper.tiles import TiledSheet, TitleData
from templater.pipeline.checked import Checked, title_data
from templater.report.blocks import JobSheet, Paragraph, Section, Steps
from templater.report.table import Column, Table
from templater.units import MM


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the table of contents: what stands there, on what paper, its first page from 1, how many pages."""

    what: str
    paper: str
    first: int
    pages: int


def cover_sheet(
    checked: Checked, sheets: Sequence[TiledSheet], entries: Sequence[Entry], inside: Sequence[tuple[str, str]]
) -> JobSheet:
    """Return the cover.

    Args:
        checked: the boat.
        sheets: as they are printed in the file.
        entries: the table of contents.
        inside: names of the attached files, and what each is.
    """
    title = title_data(checked)
    sections = (
        Section("job", "What this is", (_job(checked),)),
        Section("use", "What to do with it", (_use(checked), _changes(checked))),
        Section("contents", "Contents", (_contents(entries),)),
        Section("print", "How to print at true size", (_printing(sheets, checked),)),
        Section("inside", "What lies inside this file", (Paragraph(_INSIDE), _attached(inside))),
    )
    return JobSheet(
        f"{title.boat}: handover",
        "Templates, figures and the description, from one builder to the next",
        _facts(title),
        sections,
        f"templater {title.program_version}",
    )


_INSIDE = (
    "These files are attached. Every program that shows attachments can save them; templater unpack writes them to a "
    "folder, byte for byte."
)


def _facts(title: TitleData) -> tuple[tuple[str, str], ...]:
    facts = (
        ("revision", title.revision), ("date of issue", title.date), ("drawn by", title.drawn_by),
        ("description", title.description_sha256[:8]),
        ("warnings", f"{len(title.warnings)}, see the job sheet" if title.warnings else "none"),
    )  # fmt: skip
    return tuple((term, str(text)) for term, text in facts if text)


def _job(checked: Checked) -> Paragraph:
    boat = checked.boat
    count = len(boat.settings)
    settings = "one setting" if count == 1 else f"{count} settings"
    return Paragraph(
        f"Everything to bolt the runner plank of {boat.description.boat} across the hull at {settings}: sheets at full "
        "size that go on floor and plank, the job sheet with the order of work and its cautions, and the description "
        "that they were made from. They fit a boat built to this description alone: measure yours first."
    )


def _use(checked: Checked) -> Steps:
    paper = checked.boat.description.print.paper
    same = paper if isinstance(paper, str) else "the same paper"
    return Steps(
        (
            (f"Your boat is the same and you print on {same}: print the sheets from this file; there is nothing to "
             "install.", ""),
            ("Your boat or your paper differs: set up templater (Python 3.11 or later, and the giver's copy of the "
             "program, whose README says how), then run templater unpack on this file. It writes the description as a "
             "text file; change the lines below in any editor.", ""),
            ("Run templater check on the description, then templater make. If the paper alone differs, templater make "
             "on this file with --paper Letter, say, is enough.", ""),
        )
    )  # fmt: skip


#: Keys that the next builder looks at first, and why.
_LOOK = (
    ("boat", "your boat's name"),
    ("rule", "your class's rule; delete it where none applies"),
    ("steering_post.diameter", "measure yours"),
    ("floor.thickness", "measure yours"),
    ("floor.outline", "your floor's corners"),
    ("plank", "your plank: length along the face, width, thickness, crown"),
    ("fixing.half_spread", "where your bolts stand"),
    ("print.paper", "your paper"),
    ("print.printer", "delete this line: it names the giver's printer"),
)


def _changes(checked: Checked) -> Table:
    """Return the description's lines to change, as far as they stand in it."""
    description = checked.boat.description
    file = checked.source.file
    rows = []
    for key, why in _LOOK:
        where = description.place(key)
        if where is not None and key in description.places and where.file == file:
            rows.append((where.line, key, why))
    columns = (Column("line"), Column("key"), Column("what to do"))
    return Table("lines", "Lines to change in the description", columns, tuple(rows))


def _contents(entries: Sequence[Entry]) -> Table:
    rows = tuple((entry.what, entry.paper, entry.first, entry.pages) for entry in entries)
    columns = tuple(map(Column, ("part", "paper", "first page", "pages")))
    return Table("contents", "Pages of this file", columns, rows).without_empty()


def _printing(sheets: Sequence[TiledSheet], checked: Checked) -> Steps:
    paper = sheets[0].paper.name if sheets else ""
    description = checked.boat.description
    over = description.figures.length(2 * description.fixing.half_spread * 0.003)
    return Steps(
        (
            (f"Put {paper} in the printer. Print at actual size (100 %), every kind of fitting, shrinking and centring "
             "turned off, one page to a sheet, on one side.", ""),
            ("Print one page of the floor first. Measure its bars with a steel rule, from the middle of one end stroke "
             "to the middle of the other, across and along: each must be as long as it says. An error of "
             f"{MM.length(0.3)} in {MM.length(100, 0)} is {over} between the bolts of this plank.", ""),
            ("Then print the rest on the same paper in one go, and measure the bars of every page.", ""),
            ("These pages carry no correction for any printer. If your bars are off, print templater printer page, "
             "measure it, and make the sheets again with your printer's profile.", ""),
        )
    )  # fmt: skip


def _attached(inside: Sequence[tuple[str, str]]) -> Table:
    return Table("attached", "Attached", (Column("file"), Column("what it is")), tuple(inside))
