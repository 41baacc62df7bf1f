"""For the next builder: the whole job as one file, and two boats over one another."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from templater import __version__
from templater.description.source import Source
from templater.findings import Finding, TemplaterError
from templater.pipeline.checked import Checked, Options, Progress, no_progress
from templater.pipeline.cover import Entry, cover_sheet
from templater.pipeline.make import Made, make, page_size
from templater.pipeline.sheets import on_paper, sheet_files, tile_sheets
from templater.report.blocks import Block, Bullets, Paragraph
from templater.report.pdf import job_sheet_pdf
from templater.report.table import Column, Table
from templater.share.compare import Comparison
from templater.share.handover import BASE, DESCRIPTION, MANIFEST, READINGS, Attached, Part, assemble, page_count
from templater.units import MM, Figures

#: What an attached file is, for people.
_WHAT = {
    DESCRIPTION: "description of the boat, as it was written",
    BASE: "description that it is based on",
    READINGS: "readings taken at fit-up",
    MANIFEST: "where every hole stands on every page, for checking",
}


def handover(
    source: Source,
    options: Options | None = None,
    extra: Sequence[tuple[str, bytes]] = (),
    progress: Progress = no_progress,
) -> tuple[str, bytes]:
    """Return the boat's name and the whole job as one PDF, the description inside.

    The giver's printer correction does not go in.

    Args:
        source: the description.
        options: of the run; printer profiles are passed over.
        extra: readings to put in: file name and bytes.
        progress: told what is being done.

    Raises:
        DescriptionError: if the description is at fault.
        DrawingError: if the sheets cannot be put on this paper.
        ProofError: if a sheet read back differs from its drawing.
        TemplaterError: D196, two files that go in have one name.
    """
    made = make(source, replace(options or Options(), printer=None, profiles=None), progress)
    attached = _attached(made, extra)
    progress("binding", 0, 1)
    boat = made.checked.boat.description.boat
    parts = [
        (sheet.drawing.title, f"{sheet.paper.name} {'sideways' if sheet.sideways else 'upright'}",
         made.files[f"{sheet.drawing.name}.pdf"])
        for sheet in made.sheets
    ]  # fmt: skip
    parts.append(("Job sheet", "", made.files["job-sheet.pdf"]))
    cover = _cover(made, parts, attached)
    bound = [Part("Cover", cover), *(Part(title, data) for title, _, data in parts)]
    return boat, assemble(bound, attached, title=f"{boat}: handover", program=f"templater {__version__}")


def _cover(made: Made, parts: Sequence[tuple[str, str, bytes]], attached: Sequence[Attached]) -> bytes:
    """Return the cover's pages; its table of contents counts them as well."""
    inside = [(item.name, _WHAT[item.role]) for item in attached]
    size = page_size(made.checked)
    counts = [page_count(data) for _, _, data in parts]
    own, data = 0, b""
    for guess in (1, 2, 3, 4, 5, 6):
        first = guess + 1
        entries = [Entry("Cover", "", 1, guess)]
        for (what, paper, _), count in zip(parts, counts, strict=True):
            entries.append(Entry(what, paper, first, count))
            first += count
        data = job_sheet_pdf(cover_sheet(made.checked, made.sheets, entries, inside), size)
        own = page_count(data)
        if own == guess:
            return data
    return data


def _attached(made: Made, extra: Sequence[tuple[str, bytes]]) -> list[Attached]:
    """Return what goes inside.

    Raises:
        TemplaterError: D196, two of the files have one name.
    """
    checked = made.checked
    files = [(checked.source.file, checked.source.data, DESCRIPTION)]
    for base in checked.bases:
        data = base.data if base.whole is None else base.whole
        if data:
            files.append((base.name, data, BASE))
    files += [(name, data, READINGS) for name, data in extra]
    files.append(("manifest.json", made.files["manifest.json"], MANIFEST))
    attached: list[Attached] = []
    for path, data, role in files:
        name = re.split(r"[/\\]", path)[-1]
        before = next((item for item in attached if item.name == name), None)
        if before is not None:
            text = f"{name}: name of the {_SHORT[before.role]} and of the {_SHORT[role]} - rename one of the files"
            raise TemplaterError(Finding("D196", "based_on" if role == BASE else "", text))
        attached.append(Attached(name, data, role))
    return attached


_SHORT = {DESCRIPTION: "description", BASE: "description it is based on", READINGS: "readings", MANIFEST: "manifest"}


def comparison_blocks(comparison: Comparison, figures: Figures) -> tuple[Block, ...]:
    """Return how two boats differ, as blocks for the terminal or a page; lengths in the figures of the second boat."""
    a, b = comparison.a, comparison.b
    differences = Table(
        "differences", f"{len(comparison.differences)} keys of the description differ",
        (Column("key"), Column(f"{a} (A)"), Column(f"{b} (B)")),
        tuple((row.key, row.a, row.b) for row in comparison.differences), f"Lengths in {MM.unit}.",
    )  # fmt: skip
    moved = [row for row in comparison.moves if row.distance > 5e-4 or abs(row.widening) > 5e-4]
    columns = (
        Column("hole"), Column("aft", "signed", 2), Column("to starboard", "signed", 2), Column("away", "fine"),
        Column("wider", "signed", 2), Column("remark"),
    )  # fmt: skip
    holes = Table(
        "holes", f"{len(moved)} of {len(comparison.moves)} holes differ, B less A", columns,
        tuple(
            (row.id, None, None, None, None, f"{row.name}: only in {row.only_in}") if row.move is None
            else (row.id, *row.move, row.distance, row.widening if abs(row.widening) > 5e-4 else None, None)
            for row in moved
        ),
    )  # fmt: skip
    heads = ("runner base in A", "in B", "inside the greatest in A", "in B")
    margins = Table(
        "margins", "Settings", (Column("setting"), *(Column(head, "length") for head in heads)),
        tuple((row.setting, row.base_a, row.base_b, row.to_max_a, row.to_max_b) for row in comparison.margins),
    )  # fmt: skip
    serves = []
    for sheet in comparison.sheets:
        off = "only in one of them" if math.isinf(sheet.distance) else figures.fine(sheet.distance)
        where = f" (worst: {sheet.worst}, {off})" if sheet.worst and sheet.distance else ""
        word = "may be used" if sheet.serves else "may NOT be used"
        serves.append(f"A's {sheet.sheet} template {word} on B within {figures.fine(comparison.tolerance)}{where}")
    tables = [
        table.without_empty() if table.rows else Paragraph(table.caption) for table in (differences, holes, margins)
    ]
    return (*tables, Bullets(tuple((text, "") for text in serves)))


def overlay_files(a: Checked, b: Checked, paper: str | None = None) -> dict[str, bytes]:
    """Return both boats' floors over one another, proved, as {".pdf": .., ".svg": ..}.

    Args:
        a: the boat whose templates there are; dashed.
        b: the other; full, with crosshairs.
        paper: name of a paper, else that of B's description.

    Raises:
        DrawingError: if the sheet cannot be put on this paper.
        ProofError: if it is read back otherwise than it was drawn.
    """
    from templater.share.overlay import overlay

    drawing = overlay(a.boat, b.boat)
    boat = b.boat
    if paper is not None:
        description = boat.description.changed(print=boat.description.print.changed(paper=paper))
        boat = replace(boat, description=description)
    there = on_paper(replace(b, boat=boat), b.options, drawn=False, larger=False).checked
    files = sheet_files(there, tile_sheets(there, (drawing,))).files
    return {f".{name.rpartition('.')[2]}": data for name, data in files.items()}
