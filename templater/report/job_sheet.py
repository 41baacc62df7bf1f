"""What stands on the job sheet, in the order in which it is needed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from templater.accuracy.report import AccuracyReport
from templater.accuracy.sheet import allowed_error
from templater.accuracy.sources import Sources, default_sources
from templater.boat.solved import Boat
from templater.checks.wood import WoodAdvice
from templater.findings import Finding, Severity
from templater.job.drilling import drilling
from templater.job.hardware import Hardware
from templater.job.order import order_of_work
from templater.paper.joints import assembly
from templater.paper.tiles import TiledSheet, TitleData
from templater.report import tables
from templater.report.blocks import Block, Bullets, JobSheet, Paragraph, Section, Steps
from templater.report.bolt_section import bolt_section
from templater.report.plan import floor_plan, plank_plan, plate_detail, tile_map
from templater.report.table import Table, columns

PRINTING = (
    "Print at actual size (100 %), with every kind of fitting to the page turned off. Measure the bars of every page "
    "with a steel rule, across and along, before anything is cut: each must be as long as it says."
)


def job_sheet(
    boat: Boat,
    title: TitleData,
    sheets: Sequence[TiledSheet],
    findings: Sequence[Finding],
    hardware: Hardware,
    wood: WoodAdvice,
    accuracy: AccuracyReport | None,
) -> JobSheet:
    """Return the job sheet of a solved boat and its sheets on paper."""
    seams, holes = any(len(sheet.tiles) > 1 for sheet in sheets), drilling(boat)
    steps, rounding = order_of_work(boat, seams=seams), boat.description.figures.rounding_text
    told = tuple((step.text, " ".join(caution.text for caution in step.cautions)) for step in steps)
    cautions = [f"Step {step.number}, {one.id}: {one.source}" for step in steps for one in step.cautions]
    bolts = (
        bolt_section(boat, hardware),
        tables.bolt_table(hardware),
        tables.sleeve_table(hardware),
        *tables.screw_tables(hardware),
    )
    plans = (floor_plan(boat), plank_plan(boat), tables.plank_table(boat), plate_detail(boat))
    ways = _bullets(tables.drilling_ways(holes, boat.description.figures))
    card = (
        _section("settings", "Settings and tape figures", rounding, tables.settings_table(boat)),
        _section("tools", "Lay out first", tables.tools_table(boat, holes)),
        _section("order", "Order of work", Steps(told)),
        _section("distances", "Check distances", tables.distances_table(boat)),
    )
    appendix = (
        _section("warnings", "Warnings and findings", tables.findings_table(findings) if findings else "None."),
        _section("tape", "Tape figures in full", tables.tape_table(boat)),
        _section("chances", "What to expect at each setting", tables.chances_table(accuracy) if accuracy else None),
        _section("print", "Printing", PRINTING, _files(sheets)),
        _section("pages", "Putting the pages together", *_pages(boat, sheets, accuracy)),
        _section("plan", "Plan of floor and plank", *plans),
        _section("drilling", "Drilling", tables.drilling_table(holes), ways),
        _section("bolt", "Bolt, sleeve and screws" if hardware.sleeve else "Bolt and screws", *bolts),
        _section("hardware", "Hardware list", tables.shopping_table(hardware.shopping)),
        _section("spares", "Spares bag", tables.spares_table(hardware.spares)),
        _section("wood", "Wood", *tables.wood_tables(wood)),
        _section("accuracy", "Accuracy", *(tables.accuracy_tables(boat, accuracy) if accuracy else ())),
        _section("notes", "Where the cautions come from", _bullets(cautions)),
    )
    warnings = sum(finding.severity is not Severity.ADVICE for finding in findings)
    facts = (
        ("revision", title.revision),
        ("date of issue", title.date),
        ("drawn by", title.drawn_by),
        ("approved by", title.approved_by),
        ("description", title.description_sha256[:8]),
        ("warnings", f"{warnings}, read them in the appendix first" if warnings else "none"),
    )
    return JobSheet(
        f"{title.boat}: job sheet",
        "Two pages to pin over the bench, then the appendix with everything behind them",
        tuple((term, str(text)) for term, text in facts if text),
        (*card, *(section for section in appendix if section.blocks)),
        f"templater {title.program_version}",
        boat.description.figures,
        card=len(card),
    )


def _section(key: str, heading: str, *blocks: Block | str | None) -> Section:
    """Return a section of what there is of its blocks; a text is a paragraph."""
    return Section(key, heading, tuple(Paragraph(one) if isinstance(one, str) else one for one in blocks if one))


def _bullets(texts: Iterable[str]) -> Bullets:
    return Bullets(tuple((text, "") for text in texts))


def _files(sheets: Sequence[TiledSheet]) -> Table:
    listed = tuple(
        (
            f"{sheet.drawing.name}.pdf",
            sheet.drawing.title,
            len(sheet.tiles),
            f"{sheet.paper.name} {'sideways' if sheet.sideways else 'upright'}",
            ", ".join(f"{cut.id} ({cut.seam})" for cut in sheet.cut) or None,
            ", ".join(dict.fromkeys(cut.id for cut in sheet.crossed)) or None,
        )
        for sheet in sheets
    )
    heads = columns("file", "sheet", "pages", "paper", "holes cut by seams", "arms, plates or windows cut")
    return Table("files", "Files to print", heads, listed, tick="printed and measured", cards=True).without_empty()


def _pages(boat: Boat, sheets: Sequence[TiledSheet], accuracy: AccuracyReport | None) -> Iterator[Block]:
    """Yield how to tape each sheet's tiles, with the distances to measure on the assembled paper."""
    sources: Sources = accuracy.sources if accuracy else default_sources(boat)
    for sheet in sheets:
        if len(sheet.tiles) < 2:
            continue
        plan = assembly(sheet)
        checks = tuple(
            (f"{one.a} to {one.b}", one.distance, math.ceil(allowed_error(sheet, sources, one.a, one.b) * 10) / 10, "")
            for one in plan.checks
        )
        yield tile_map(sheet)
        yield Steps(tuple((step, "") for step in plan.steps))
        if checks:
            caption = f"{sheet.drawing.title}: check distances on the assembled paper"
            heads = columns("from, to", "distance: length", "may be off by: length", "measured")
            yield Table("assembly", caption, heads, checks)
