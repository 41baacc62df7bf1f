"""What stands on the job sheet, in the order in which it is needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.accuracy.paper import allowed_error
from templater.accuracy.report import AccuracyReport
from templater.accuracy.sources import Sources, default_sources
from templater.boat.solved import Boat
from templater.checks.wood import WoodAdvice
from templater.findings import Finding, Severity
from templater.job.hardware import Hardware
from templater.job.order import CAUTIONS, find_caution, order_of_work
from templater.paper.assembly import assembly
from templater.paper.tiles import TiledSheet, TitleData
from templater.report import rows
from templater.report.blocks import Block, Bullets, JobSheet, Paragraph, Section, Steps, Table
from templater.report.bolt_section import bolt_section
from templater.report.columns import NOTHING, figure, table
from templater.report.plan import floor_plan, plank_plan, plate_detail
from templater.report.rows_advice import accuracy_tables, wood_tables
from templater.report.rows_hardware import bolt_table, screw_tables, shopping_table, sleeve_table, spares_table
from templater.report.tile_map import tile_map

PRINTING = (
    "Print at actual size (100 %), with every kind of fitting to the page turned off. Measure the bars of every page "
    "with a steel rule, across and along, before anything is cut: 100.0 mm and 4 in."
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
    warnings = [finding for finding in findings if finding.severity is not Severity.ADVICE]
    sections = (
        _section("warnings", "Warnings and findings", _findings(findings)),
        _section(
            "settings",
            "Settings and tape figures",
            [*_rounding(boat), rows.settings_table(boat), rows.tape_table(boat)],
        ),
        _section("print", "Printing", _files(sheets)),
        _section("cautions", "Cautions", [Bullets(tuple((one.text, one.source) for one in CAUTIONS))]),
        _section("order", "Order of work", _steps(boat, sheets)),
        _section("pages", "Putting the pages together", _pages(boat, sheets, accuracy)),
        _section("distances", "Check distances", [rows.distances_table(boat)]),
        _section("plan", "Plan of floor and plank", _plans(boat)),
        _section("drilling", "Drilling", list(rows.drilling_blocks(boat))),
        _section("bolt", "Bolt, sleeve and screws", _bolt(boat, hardware)),
        _section("hardware", "Hardware list", [shopping_table("What to get", hardware.shopping)]),
        _section("spares", "Spares bag", [spares_table("Carry on the ice", hardware.spares)]),
        _section("wood", "Wood", list(wood_tables(boat, wood))),
        _section("accuracy", "Accuracy", list(accuracy_tables(accuracy)) if accuracy else []),
    )
    facts = (
        ("boat", title.boat),
        ("revision", title.revision or "none"),
        ("date of issue", title.date or "none"),
        ("drawn by", title.drawn_by or "not named"),
        ("approved by", title.approved_by or "not named"),
        ("description", title.description_sha256[:8]),
        ("warnings", str(len(warnings))),
    )
    return JobSheet(
        f"{title.boat}: job sheet",
        "Fixing the runner plank: what to do, in which order, with which figures",
        facts,
        tuple(section for section in sections if section.blocks),
        f"templater {title.program_version}",
    )


def _plans(boat: Boat) -> list[Block | None]:
    return [floor_plan(boat), plank_plan(boat), rows.plank_table(boat), plate_detail(boat)]


def _section(key: str, heading: str, blocks: Sequence[Block | None]) -> Section:
    return Section(key, heading, tuple(block for block in blocks if block is not None))


def _findings(findings: Sequence[Finding]) -> list[Block | None]:
    table = rows.findings_table(findings)
    return [table] if table else [Paragraph("None.")]


def _steps(boat: Boat, sheets: Sequence[TiledSheet]) -> list[Block | None]:
    """Return the order of work, each caution's text where it first matters."""
    steps = order_of_work(boat, seams=any(len(sheet.tiles) > 1 for sheet in sheets))
    items = tuple((step.text, " ".join(find_caution(name).text for name in step.cautions)) for step in steps)
    return [Steps(items)]


def _files(sheets: Sequence[TiledSheet]) -> list[Block | None]:
    listed = tuple(
        (
            f"{sheet.drawing.name}.pdf",
            sheet.drawing.title,
            str(len(sheet.tiles)),
            f"{sheet.paper.name} {'sideways' if sheet.sideways else 'upright'}",
            ", ".join(f"{cut.id} ({cut.seam})" for cut in sheet.cut) or NOTHING,
        )
        for sheet in sheets
    )
    headers = ("file", "sheet", "pages", "paper", "marks cut by seams")
    return [Paragraph(PRINTING), Table("Files to print", headers, listed, tick="printed and measured")]


def _rounding(boat: Boat) -> list[Block | None]:
    """Return what rounding does to the figures, where inches stand alone."""
    text = boat.description.figures.rounding_text
    return [Paragraph(text)] if text else []


def _pages(boat: Boat, sheets: Sequence[TiledSheet], accuracy: AccuracyReport | None) -> list[Block | None]:
    sources = accuracy.sources if accuracy else default_sources(boat)
    blocks: list[Block | None] = []
    for sheet in sheets:
        if len(sheet.tiles) > 1:
            blocks += _assembly(boat, sheet, sources)
    return blocks or [Paragraph("Every sheet fits on one page: nothing to put together.")]


def _assembly(boat: Boat, sheet: TiledSheet, sources: Sources) -> list[Block | None]:
    """Return how to tape one sheet's tiles, with the distances to measure on the assembled paper."""
    plan = assembly(sheet)
    figures = boat.description.figures
    checks = [
        (
            f"{one.a} to {one.b}",
            figure(one.distance, figures),
            figure(math.ceil(allowed_error(sheet, sources, one.a, one.b) * 10) / 10, figures),
            "",
        )
        for one in plan.checks
    ]
    caption = f"{sheet.drawing.title}: check distances on the assembled paper"
    return [
        tile_map(sheet),
        Steps(tuple((step, "") for step in plan.steps)),
        table(caption, ("from, to", "distance", "may be off by", "measured"), checks) if checks else None,
    ]


def _bolt(boat: Boat, hardware: Hardware) -> list[Block | None]:
    return [
        bolt_section(boat, hardware),
        bolt_table(boat, hardware),
        sleeve_table(boat, hardware),
        *screw_tables(boat, hardware),
    ]
