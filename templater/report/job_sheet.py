"""What stands on the job sheet, in the order in which it is needed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

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
from templater.report.blocks import Block, Bullets, JobSheet, Section, Steps, Table, items, table
from templater.report.bolt_section import bolt_section
from templater.report.plan import floor_plan, plank_plan, plate_detail, tile_map

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
    steps, figures = order_of_work(boat, seams=seams), boat.description.figures
    told = tuple((step.text, " ".join(caution.text for caution in step.cautions)) for step in steps)
    cautions = [f"Step {step.number}, {one.id}: {one.source}" for step in steps for one in step.cautions]
    distances = table("distances", ((f"{row.a} to {row.b}", row.kind, row.distance, "", "") for row in boat.distances))
    found = ((one.severity.value, one.text, one.key or "the boat", one.code) for one in findings)
    got = ((row.item, row.size, row.standard, row.needed, row.spare, row.total, row.note) for row in hardware.shopping)
    packed = ((row.item, row.size, row.total, row.note) for row in hardware.spares)
    bolts = (
        bolt_section(boat, hardware),
        tables.bolt_table(hardware),
        tables.sleeve_table(hardware),
        *tables.screw_tables(hardware),
    )
    card = (
        _section("settings", "Settings and tape figures", figures.rounding_text, tables.settings_table(boat)),
        _section("tools", "Lay out first", tables.tools_table(boat, holes)),
        _section("order", "Order of work", Steps(told)),
        _section("distances", "Check distances", distances),
    )
    plans = (floor_plan(boat), plank_plan(boat), tables.plank_table(boat), plate_detail(boat))
    ways = Bullets(items(tables.drilling_ways(holes)))
    appendix = (
        _section("warnings", "Warnings and findings", table("findings", found) if findings else "None."),
        _section("tape", "Tape figures in full", tables.tape_table(boat)),
        _section("chances", "What to expect at each setting", tables.chances_table(accuracy) if accuracy else None),
        _section("print", "Printing", PRINTING, _files(sheets)),
        _section("pages", "Putting the pages together", *_pages(boat, sheets, accuracy)),
        _section("plan", "Plan of floor and plank", *plans),
        _section("drilling", "Drilling", tables.drilling_table(holes), ways),
        _section("bolt", "Bolt, sleeve and screws" if hardware.sleeve else "Bolt and screws", *bolts),
        _section("hardware", "Hardware list", table("hardware", got)),
        _section("spares", "Spares bag", table("spares", packed)),
        _section("wood", "Wood", *tables.wood_tables(wood)),
        _section("accuracy", "Accuracy", *(tables.accuracy_tables(boat, accuracy) if accuracy else ())),
        _section("notes", "Where the cautions come from", Bullets(items(cautions))),
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
        figures,
        card=len(card),
    )


def _section(key: str, heading: str, *blocks: Block | None) -> Section:
    """Return a section of what there is of its blocks."""
    return Section(key, heading, tuple(one for one in blocks if one))


def _files(sheets: Sequence[TiledSheet]) -> Table:
    return table("files", (
        (
            f"{sheet.drawing.name}.pdf",
            sheet.drawing.title,
            len(sheet.tiles),
            f"{sheet.paper.name} {'sideways' if sheet.sideways else 'upright'}",
            ", ".join(f"{cut.id} ({cut.seam})" for cut in sheet.cut) or None,
            ", ".join(dict.fromkeys(cut.id for cut in sheet.crossed)) or None,
        )
        for sheet in sheets
    ))  # fmt: skip


def _pages(boat: Boat, sheets: Sequence[TiledSheet], accuracy: AccuracyReport | None) -> Iterator[Block]:
    """Yield how to tape each sheet's tiles, with the distances to measure on the assembled paper."""
    sources: Sources = accuracy.sources if accuracy else default_sources(boat)
    for sheet in sheets:
        if len(sheet.tiles) < 2:
            continue
        plan = assembly(sheet)
        yield tile_map(sheet)
        yield Steps(items(plan.steps))
        if plan.checks:
            off = (math.ceil(allowed_error(sheet, sources, one.a, one.b) * 10) / 10 for one in plan.checks)
            rows = ((f"{one.a} to {one.b}", one.distance, by, "") for one, by in zip(plan.checks, off, strict=True))
            yield table("assembly", rows, sheet=sheet.drawing.title)
