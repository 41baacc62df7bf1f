"""For the next builder: the whole job as one file with a cover, and two boats compared and over one another."""

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from templater import __version__
from templater.description.load import Source
from templater.findings import TemplaterError, counted
from templater.paper.manifest import JOB_SHEET, MANIFEST_FILE
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options, Progress, no_progress, title_data
from templater.pipeline.make import Made, make, page_size
from templater.pipeline.sheets import on_paper, printed, proved, sheet_files, tile_sheets
from templater.reader.faults import told
from templater.report.blocks import Block, Bullets, JobSheet, Section, Steps, Table, Value, items, table, value_of
from templater.report.job_sheet import title_facts
from templater.report.pdf import job_sheet_pdf
from templater.share.compare import Comparison, Difference, overlay
from templater.share.handover import BASE, DESCRIPTION, MANIFEST, READINGS, Attached, Part, assemble, page_count
from templater.standards.tables import paragraphs
from templater.units import MM, Figures

#: What an attached file is, for people: in short, and in the list of what is inside.
_WHAT = {
    DESCRIPTION: ("description", "description of the boat, as it was written"),
    BASE: ("description it is based on", "description that it is based on"),
    READINGS: ("readings", "readings taken at fit-up"),
    MANIFEST: ("manifest", "where every hole stands on every page, for checking"),
}
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


def handover(
    source: Source,
    options: Options = AS_DESCRIBED,
    extra: Sequence[tuple[str, bytes]] = (),
    progress: Progress = no_progress,
) -> tuple[str, bytes]:
    """Return the boat's name and the whole job as one PDF, the description and ``extra`` readings inside.

    The giver's printer correction does not go in. Raises as ``make``; TemplaterError D196, two files have one name.
    """
    made = make(source, options._replace(printer=None, profiles=None), progress)
    attached = _attached(made, extra)
    progress("binding", 0, 1)
    boat = made.checked.boat.description.boat
    parts = [Part(sheet.drawing.title, made.files[f"{sheet.drawing.name}.pdf"]) for sheet in made.sheets]
    parts.append(Part("Job sheet", made.files[JOB_SHEET]))
    bound = [Part("Cover", _cover(made, parts, attached)), *parts]
    return boat, assemble(bound, attached, title=f"{boat}: handover", program=f"templater {__version__}")


def _attached(made: Made, extra: Sequence[tuple[str, bytes]]) -> list[Attached]:
    """Return what goes inside."""
    checked = made.checked
    bases = [(base.name, base.data if base.whole is None else base.whole, BASE) for base in checked.bases]
    attached: dict[str, Attached] = {}
    for path, data, role in (
        (checked.source.file, checked.source.data, DESCRIPTION), *(base for base in bases if base[1]),
        *((name, data, READINGS) for name, data in extra), (MANIFEST_FILE, made.files[MANIFEST_FILE], MANIFEST),
    ):  # fmt: skip
        name = re.split(r"[/\\]", path)[-1]
        if name in attached:
            key, one, other = "based_on" if role == BASE else "", _WHAT[attached[name].role][0], _WHAT[role][0]
            raise TemplaterError(told("D196", key, name=name, one=one, other=other))
        attached[name] = Attached(name, data, role)
    return list(attached.values())


def _cover(made: Made, parts: Sequence[Part], attached: Sequence[Attached]) -> bytes:
    """Return the cover's pages; its table of contents counts them as well."""
    papers = [sheet.lying for sheet in made.sheets]
    counts = [page_count(part.data) for part in parts]
    data = b""
    for own in (1, 2, 3, 4, 5, 6):
        rows: list[tuple[Value, ...]] = [("Cover", "", 1, own)]
        for part, paper, count in zip(parts, [*papers, ""], counts, strict=True):
            rows.append((part.title, paper, 1 + own + sum(counts[: len(rows) - 1]), count))
        data = job_sheet_pdf(_cover_sheet(made, table("contents", rows), attached), page_size(made.checked))
        if page_count(data) == own:
            break
    return data


def _cover_sheet(made: Made, contents: Table, attached: Sequence[Attached]) -> JobSheet:
    """Return the cover: what it is, how to print it true, what to do first, and where everything stands."""
    checked, title = made.checked, title_data(made.checked)
    boat, description = checked.boat, checked.boat.description
    count, paper = len(boat.settings), description.print.paper
    over = description.figures.length(2 * description.fixing.half_spread * 0.003)
    said: dict[str, list[str]] = defaultdict(list)
    for key, *lines in paragraphs(Path(__file__).with_name("cover.txt")):
        said[key].append(" ".join(lines).format(
            boat=title.boat, settings="one setting" if count == 1 else f"{count} settings",
            same=paper if isinstance(paper, str) else "the same paper", paper=made.sheets[0].paper.name,
            error=MM.length(0.3), bar=MM.length(100, 0), over=over,
        ))  # fmt: skip
    files = table("attached", ((item.name, _WHAT[item.role][1]) for item in attached))
    places = [(key, why, description.place(key)) for key, why in _LOOK if key in description.places]
    changes = table("lines", (
        (where.line, key, why) for key, why, where in places if where and where.file == checked.source.file
    ))  # fmt: skip
    sections = (
        Section("job", "What this is", tuple(said["job"])),
        Section("use", "What to do with it", (Steps(items(said["use"])), changes)),
        Section("contents", "Contents", (contents,)),
        Section("print", "How to print at true size", (Steps(items(said["print"])),)),
        Section("inside", "What lies inside this file", (*said["inside"], files)),
    )
    subtitle = "Templates, figures and the description, from one builder to the next"
    facts = title_facts(title, "see the job sheet")
    return JobSheet(f"{title.boat}: handover", subtitle, facts, sections, f"templater {title.program_version}")


def comparison_blocks(comparison: Comparison, figures: Figures) -> tuple[Block, ...]:
    """Return how two boats differ, as blocks for the terminal or a page; lengths in the figures of the second boat."""
    differing = [(counted(row.key), *values_of(row, figures)) for row in comparison.differences]
    differences = table("differences", differing, count=str(len(differing)), a=comparison.a, b=comparison.b)
    alike: dict[tuple[Value, ...], list[str]] = defaultdict(list)  # a spread or a pitch moves many holes alike
    for row in (row for row in comparison.moves if row.differs):
        only = f"{row.name}: only in {row.only_in}" if row.only_in else None
        moved = [round(value, 3) for value in (*row.move, row.distance)] if row.move else [None] * 3
        alike[*moved, round(row.widening, 3) or None, only].append(row.id)
    count, rows = sum(map(len, alike.values())), ((tuple(ids), *rest) for rest, ids in alike.items())
    moves = table("moves", rows, moved=str(count), all=str(len(comparison.moves)))
    margins = table("margins", comparison.margins)
    serves = []
    for sheet in comparison.sheets:
        off = "only in one of them" if math.isinf(sheet.distance) else figures.fine(sheet.distance)
        where = f" (worst: {sheet.worst}, {off})" if sheet.worst and sheet.distance else ""
        word, within = "may be used" if sheet.serves else "may NOT be used", figures.fine(comparison.tolerance)
        serves.append(f"A's {sheet.sheet} template {word} on B within {within}{where}")
    return (*(one if one.rows else one.caption for one in (differences, moves, margins)), Bullets(items(serves)))


def values_of(row: Difference, figures: Figures) -> tuple[Value, Value]:
    """Return what A and B say, lengths as sizes, or finer where those would read the same."""
    sizes = {figures.size(value) for value in (row.a, row.b) if isinstance(value, float)}
    kind = ("size", 1) if len(sizes) == 2 or None in (row.a, row.b) else ("fine", 4)
    return value_of(row.a, row.length, *kind), value_of(row.b, row.length, *kind)


def overlay_files(a: Checked, b: Checked, paper: str | None = None) -> dict[str, bytes]:
    """Return both boats' floors over one another, proved, as {".pdf": .., ".svg": ..}; on B's paper if none is named.

    Raises DrawingError if the sheet cannot be put on this paper, ProofError if it is read back otherwise than drawn.
    """
    if paper is not None:
        b = printed(b, b.boat.description.print.changed(paper=paper))._replace(options=b.options._replace(paper=paper))
    there = on_paper(b, b.options, larger=False).checked
    made = sheet_files(there, [*tile_sheets(there, (overlay(a.boat, b.boat),), drawn=False)])
    proved(made.read_back())
    return {f".{name.rpartition('.')[2]}": data for name, data in made.files.items()}
