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
from templater.job.order import order_of_work
from templater.paper.assembly import assembly
from templater.paper.tiles import TiledSheet, TitleData
from templater.report import tables
from templater.report.blocks import Block, Bullets, JobSheet, Paragraph, Section, Steps
from templater.report.bolt_section import bolt_section
from templater.report.plan import floor_plan, plank_plan, plate_detail
from templater.report.table import Column, Table
from templater.report.tile_map import tile_map

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
    seams = any(len(sheet.tiles) > 1 for sheet in sheets)
    card = (
        _section("settings", "Settings and tape figures", [*_rounding(boat), tables.settings_table(boat)]),
        _section("tools", "Lay out first", [tables.tools_table(boat)]),
        _section("order", "Order of work", _steps(boat, seams=seams)),
        _section("distances", "Check distances", [tables.distances_table(boat)]),
    )
    appendix = (
        _section("warnings", "Warnings and findings", _findings(findings)),
        _section("tape", "Tape figures in full", [tables.tape_table(boat)]),
        _section("chances", "What to expect at each setting", [tables.chances_table(accuracy)] if accuracy else []),
        _section("print", "Printing", _files(sheets)),
        _section("pages", "Putting the pages together", _pages(boat, sheets, accuracy) if seams else []),
        _section("plan", "Plan of floor and plank", _plans(boat)),
        _section("drilling", "Drilling", _drilling(boat)),
        _section("bolt", "Bolt, sleeve and screws" if hardware.sleeve else "Bolt and screws", _bolt(boat, hardware)),
        _section("hardware", "Hardware list", [tables.shopping_table(hardware.shopping)]),
        _section("spares", "Spares bag", [tables.spares_table(hardware.spares)]),
        _section("wood", "Wood", list(tables.wood_tables(wood))),
        _section("accuracy", "Accuracy", list(tables.accuracy_tables(boat, accuracy)) if accuracy else []),
        _section("notes", "Where the cautions come from", [_caution_sources(boat, seams=seams)]),
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


def _plans(boat: Boat) -> list[Block | None]:
    return [floor_plan(boat), plank_plan(boat), tables.plank_table(boat), plate_detail(boat)]


def _section(key: str, heading: str, blocks: Sequence[Block | None]) -> Section:
    return Section(key, heading, tuple(block for block in blocks if block is not None))


def _findings(findings: Sequence[Finding]) -> list[Block | None]:
    return [tables.findings_table(findings) or Paragraph("None.")]


def _steps(boat: Boat, *, seams: bool) -> list[Block | None]:
    """Return the order of work, each caution's text where it first matters."""
    steps = order_of_work(boat, seams=seams)
    return [Steps(tuple((one.text, " ".join(caution.text for caution in one.cautions)) for one in steps))]


def _caution_sources(boat: Boat, *, seams: bool) -> Bullets:
    """Return where each caution of the steps comes from."""
    said = [(step.number, one) for step in order_of_work(boat, seams=seams) for one in step.cautions]
    return Bullets(tuple((f"Step {number}, {one.id}: {one.source}", "") for number, one in said))


def _files(sheets: Sequence[TiledSheet]) -> list[Block | None]:
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
    heads = ("file", "sheet", "pages", "paper", "holes cut by seams", "arms, plates or windows cut")
    columns = tuple(map(Column, heads))
    table = Table("files", "Files to print", columns, listed, tick="printed and measured")
    return [Paragraph(PRINTING), table.without_empty()]


def _rounding(boat: Boat) -> list[Block | None]:
    """Return what rounding does to the figures, where inches stand alone."""
    text = boat.description.figures.rounding_text
    return [Paragraph(text)] if text else []


def _pages(boat: Boat, sheets: Sequence[TiledSheet], accuracy: AccuracyReport | None) -> list[Block | None]:
    sources = accuracy.sources if accuracy else default_sources(boat)
    blocks: list[Block | None] = []
    for sheet in sheets:
        if len(sheet.tiles) > 1:
            blocks += _assembly(sheet, sources)
    return blocks


def _assembly(sheet: TiledSheet, sources: Sources) -> list[Block | None]:
    """Return how to tape one sheet's tiles, with the distances to measure on the assembled paper."""
    plan = assembly(sheet)
    checks = tuple(
        (
            f"{one.a} to {one.b}",
            one.distance,
            math.ceil(allowed_error(sheet, sources, one.a, one.b) * 10) / 10,
            "",
        )
        for one in plan.checks
    )
    caption = f"{sheet.drawing.title}: check distances on the assembled paper"
    columns = (Column("from, to"), Column("distance", "length"), Column("may be off by", "length"), Column("measured"))
    return [
        tile_map(sheet),
        Steps(tuple((step, "") for step in plan.steps)),
        Table("assembly", caption, columns, checks) if checks else None,
    ]


def _drilling(boat: Boat) -> list[Block | None]:
    return [tables.drilling_table(boat), Bullets(tuple((way, "") for way in tables.drilling_ways(boat)))]


def _bolt(boat: Boat, hardware: Hardware) -> list[Block | None]:
    return [
        bolt_section(boat, hardware),
        tables.bolt_table(hardware),
        tables.sleeve_table(hardware),
        *tables.screw_tables(hardware),
    ]
