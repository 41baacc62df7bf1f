"""The cover of a handover file: what it is, how to print it true, what to do first, and where everything stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templater.job.order import CAUTIONS, order_of_work
from templater.paper.tiles import TiledSheet, TitleData
from templater.pipeline.checked import Checked, title_data
from templater.report.blocks import Bullets, JobSheet, Paragraph, Section, Steps
from templater.report.table import Column, Table


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
    order = tuple((step.text, "") for step in order_of_work(checked.boat))
    sections = (
        Section("job", "The job", (_job(checked),)),
        Section("contents", "Contents", (_contents(entries),)),
        Section("print", "How to print at true size", (_printing(sheets),)),
        Section("bars", "How to check the bars", (_bars(checked),)),
        Section("cautions", "Cautions", (Bullets(tuple((one.text, one.source) for one in CAUTIONS)),)),
        Section("order", "Order of work", (Paragraph(_ORDER), Steps(order))),
        Section("inside", "What lies inside this file", (Paragraph(_INSIDE), _attached(inside))),
    )
    return JobSheet(
        f"{title.boat}: handover",
        "Templates, figures and the description, from one builder to the next",
        _facts(title),
        sections,
        f"templater {title.program_version}",
    )


_CUT = " The files for a shop that cuts the plates are written by templater make, too."
_ORDER = "In short; the job sheet has the same steps with the caution that belongs to each, and all figures."
_INSIDE = (
    "These files are attached. Every program that shows attachments can save them; templater unpack writes them to a "
    "folder, byte for byte."
)


def _facts(title: TitleData) -> tuple[tuple[str, str], ...]:
    return (
        ("boat", title.boat),
        ("revision", title.revision or "none"),
        ("date of issue", title.date or "none"),
        ("drawn by", title.drawn_by or "not named"),
        ("description", title.description_sha256[:8]),
        ("warnings", str(len(title.warnings))),
    )


def _job(checked: Checked) -> Paragraph:
    boat = checked.boat
    count = len(boat.settings)
    settings = "one setting" if count == 1 else f"{count} settings"
    return Paragraph(
        f"The runner plank of {boat.description.boat} is bolted across the hull at {settings}. The sheets go on floor "
        "and plank at full size, and every hole is pricked through the paper. They are true for a boat built to this "
        "description alone: measure yours first. If it differs, change the description inside and make the sheets "
        f"anew.{_CUT if boat.description.fixing.plate else ''}"
    )


def _contents(entries: Sequence[Entry]) -> Table:
    rows = tuple((entry.what, entry.paper, entry.first, entry.pages) for entry in entries)
    columns = tuple(map(Column, ("part", "paper", "first page", "pages")))
    return Table("contents", "Pages of this file", columns, rows).without_empty()


def _printing(sheets: Sequence[TiledSheet]) -> Steps:
    paper = sheets[0].paper.name if sheets else ""
    return Steps(
        (
            (f"Put {paper} in the printer. For other paper do not let the printer fit the pages to it: run templater "
             "make on this file with --paper and the paper's name, as in --paper Letter.", ""),
            ("Print at actual size (100 %), every kind of fitting, shrinking and centring turned off, one page to a "
             "sheet, on one side.", ""),
            ("Print one page of the floor first and check its bars; then print the rest on the same paper, in the same "
             "room, at one go.", ""),
            ("No correction for the giver's printer is in these pages. If your bars are off, print templater printer "
             "page, measure it, and make the sheets again with the profile of your printer.", ""),
        )
    )  # fmt: skip


def _bars(checked: Checked) -> Steps:
    description = checked.boat.description
    over = description.figures.length(2 * description.fixing.half_spread * 0.003)
    return Steps(
        (
            ("Measure with a steel rule, not with a tape: from the middle of one end stroke to the middle of the "
             "other, on every page, across and along. They are 100 mm, and 4 in.", ""),
            ("Start at a division of the rule away from its end, so that a worn end does no harm.", ""),
            ("Use no page whose bars are off by what you can see. An error of 0.3 mm in 100 mm is "
             f"{over} between the bolts of this plank.", ""),
        )
    )  # fmt: skip


def _attached(inside: Sequence[tuple[str, str]]) -> Table:
    return Table("attached", "Attached", (Column("file"), Column("what it is")), tuple(inside))
