"""What stands on the job sheet, in the order in which it is needed, and its tables."""

import math
from collections.abc import Iterable, Iterator, Sequence

from templater.accuracy.errors import COVERAGE, Budget, Sources, allowed_error, default_sources
from templater.accuracy.report import AccuracyReport, chance_text
from templater.boat.solved import Boat, HoleKind
from templater.checks.wood import guides, movements, section
from templater.description.keys import Surface
from templater.findings import Finding
from templater.job.hardware import Hardware, hardware
from templater.job.work import DrillingRow, Use, drilling, order_of_work
from templater.paper.joints import assembly
from templater.paper.tiles import TiledSheet, TitleData
from templater.report.blocks import Block, Bullets, JobSheet, Quantity, Section, Steps, Table, Value, items, table
from templater.report.bolt_section import bolt_section, screw_point
from templater.report.plan import floor_plan, plank_plan, plate_detail, tile_map

#: Most improvements that are listed.
_HELPS = 6


def title_facts(title: TitleData, where: str) -> tuple[tuple[str, str], ...]:
    """Return the facts at the head of the job sheet or the cover, and ``where`` the warnings are told."""
    number = len(title.warnings)
    facts = (
        ("revision", title.revision),
        ("date of issue", title.date),
        ("drawn by", title.drawn_by),
        ("approved by", title.approved_by),
        ("description", title.description_sha256[:8]),
        ("warnings", f"{number}, {where}" if number else "none"),
    )
    return tuple((term, text) for term, text in facts if text)


def job_sheet(
    boat: Boat,
    title: TitleData,
    sheets: Sequence[TiledSheet],
    findings: Sequence[Finding],
    accuracy: AccuracyReport | None,
) -> JobSheet:
    """Return the job sheet of a solved boat and its sheets on paper."""
    seams, holes, parts = any(len(sheet.tiles) > 1 for sheet in sheets), drilling(boat), hardware(boat)
    steps, figures = order_of_work(boat, seams=seams), boat.description.figures
    told = tuple((step.text, " ".join(caution.text for caution in step.cautions)) for step in steps)
    cautions = [f"Step {step.number}, {one.id}: {one.source}" for step in steps for one in step.cautions]
    pairs = zip(boat.distances, accuracy.pairs if accuracy else [None] * len(boat.distances), strict=True)
    spans = ((f"{one.a} to {one.b}", one.distance, off and _allowed(COVERAGE * off.sigma), "", "")
             for one, off in pairs)  # fmt: skip
    found = ((one.severity.value, one.text, one.key or "the boat", one.code) for one in findings)
    got = ((row.item, row.size, row.standard, row.needed, row.spare, row.total, row.note) for row in parts.shopping)
    packed = ((row.item, row.size, row.total, row.note) for row in parts.spares)
    taped = ((one.setting, one.slant_from_post, one.slant, one.level, one.slope_correction, one.slope)
             for one in boat.tape)  # fmt: skip
    tape = table("tape", taped, repeats=figures.length(1.0, 0))
    bolts = (bolt_section(boat, parts), bolt_table(boat, parts), sleeve_table(boat), *screw_tables(boat, parts))
    card = (
        _section("settings", "Settings and tape figures", figures.rounding_text, settings_table(boat)),
        _section("tools", "Lay out first", tools_table(boat, holes)),
        _section("order", "Order of work", Steps(told)),
        _section("distances", "Check distances", table("distances", spans)),
    )
    plans = (floor_plan(boat), plank_plan(boat), plank_table(boat), plate_detail(boat))
    ways = Bullets(items(drilling_ways(holes)))
    appendix = (
        _section("warnings", "Warnings and findings", table("findings", found) if findings else "None."),
        _section("tape", "Tape figures in full", tape if boat.tape else None),
        _section("chances", "What to expect at each setting", chances_table(accuracy) if accuracy else None),
        _section("print", "Printing", _files(sheets)),
        _section("pages", "Putting the pages together", *_pages(boat, sheets, accuracy)),
        _section("plan", "Plan of floor and plank", *plans),
        _section("drilling", "Drilling", drilling_table(holes), ways),
        _section("bolt", "Bolt, sleeve and screws" if boat.description.fixing.sleeve else "Bolt and screws", *bolts),
        _section("hardware", "Hardware list", table("hardware", got)),
        _section("spares", "Spares bag", table("spares", packed)),
        _section("wood", "Wood", *wood_tables(boat)),
        _section("accuracy", "Accuracy", *(accuracy_tables(boat, accuracy) if accuracy else ())),
        _section("notes", "Where the cautions come from", Bullets(items(cautions))),
    )
    return JobSheet(
        f"{title.boat}: job sheet",
        "Two pages to pin over the bench, then the appendix with everything behind them",
        title_facts(title, "read them in the appendix first"),
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
            sheet.lying,
            ", ".join(f"{cut.id} ({cut.seam})" for cut in sheet.cut) or None,
            ", ".join(dict.fromkeys(cut.id for cut in sheet.crossed)) or None,
        )
        for sheet in sheets
    ))  # fmt: skip


def _pages(boat: Boat, sheets: Sequence[TiledSheet], accuracy: AccuracyReport | None) -> Iterator[Block]:
    """Yield how to tape each sheet's tiles, with the distances to measure on the assembled paper."""
    sources: Sources = accuracy.sources if accuracy else default_sources(boat)
    for sheet in sheets:
        steps, checks = assembly(sheet)
        if not steps:
            continue
        yield tile_map(sheet)
        yield Steps(items(steps))
        if checks:
            off = {one: _allowed(allowed_error(sheet, sources, one.a, one.b)) for one in checks}
            rows = ((f"{one.a} to {one.b}", one.distance, by, "") for one, by in off.items())
            yield table("assembly", rows, sheet=sheet.drawing.title)


def _allowed(error: float) -> float:
    return math.ceil(error * 10) / 10


def _size(value: float, before: str = "", after: str = "") -> Quantity:
    return Quantity(value, "size", before=before, after=after)


def settings_table(boat: Boat) -> Table:
    """Return the settings: where they stand, what the rule leaves, what changes from one to the next."""
    tape = {one.setting: one.slant_from_post for one in boat.tape}
    return table("settings", (
        (
            f"{row.number}{' (limit)' if row.at_limit else ''}", row.station, row.runner_base, row.to_max, row.to_min,
            tape.get(row.number), row.station - before.station if before else None,
        )
        for before, row in zip((None, *boat.settings), boat.settings, strict=False)
    ))  # fmt: skip


def chances_table(report: AccuracyReport) -> Table:
    """Return what play and errors let happen at each setting once the plank is squared at one."""
    return table("chances", (
        (
            f"{one.setting}{' (squared and marked here)' if one.marked else ''}", one.play, one.drop_in, one.agree,
            one.tapes or None, one.reach or None,
        )
        for one in report.settings
    ))  # fmt: skip


def tools_table(boat: Boat, holes: Sequence[DrillingRow]) -> Table:
    """Return the tools and bits to lay out, each to be ticked off."""
    say, now = boat.description.figures.size, [row for row in holes if row.use != "second screws"]
    bits: dict[str, dict[str, None]] = {}
    stops: dict[str, list[str]] = {}
    for row in now:
        for bit in filter(None, (row.pilot, row.final)):
            bits.setdefault(str(bit), {})[row.title] = None
        if row.depth_stop is not None:
            stops.setdefault(say(row.depth_stop), []).append(row.title)
    rows = [(name, ", ".join(uses)) for name, uses in bits.items()]
    if stops:
        rows.append(("depth stop", "; ".join(f"{stop} for {' and '.join(titles)}" for stop, titles in stops.items())))
    sealing = ("epoxy, gloves, waxed bolts", "sleeves and bare wood")
    return table("tools", (
        *rows,
        ("steel rule, two tapes, square, sharp pencil, fine awl", "bars, lines, pricks and tapes"),
        ("clamps, scrap wood, eye protection, dust mask", "every hole"),
        sealing if boat.description.fixing.sleeve else ("sealer, gloves", "bare wood"),
    ))  # fmt: skip


def plank_table(boat: Boat) -> Table:
    """Return the plank as an arc: where the bolts lie along its face, how they lean, what pressing it flat does."""
    plank = boat.plank
    radius = "flat" if math.isinf(plank.radius) else plank.radius
    rows = (plank.hole_along, plank.end_to_hole, plank.chord, radius, plank.lean, plank.lean_shift)
    return table("plank", rows)


def drilling_table(holes: Sequence[DrillingRow]) -> Table:
    """Return bits and depths for each kind of hole."""
    return table("drilling", (
        (
            row.title, row.ids, len(row.ids), str(row.pilot) if row.pilot else None, str(row.final),
            row.difference if abs(row.difference) > 0.005 else None,
            "right through" if row.depth_stop is None else _size(row.depth_stop, after=f" from {row.stop_from}"),
            row.countersink, row.countersink_deep,
        )
        for row in holes
    ))  # fmt: skip


#: Holes that are drilled as others but for what is said of them.
_AS: dict[Use, Use] = {"second screws": "first screws", "second hole": "plank"}


def drilling_ways(holes: Sequence[DrillingRow]) -> Iterator[str]:
    """Yield how to go about each kind of hole."""
    told = {row.use: row for row in holes}
    for row in holes:
        finish = f", finished from the {row.finish} face" if row.finish else ""
        like = told.get(_AS.get(row.use, row.use), row)
        notes = row.notes
        if like.use != row.use:
            notes = (*(one for one in notes if one not in like.notes), f"the rest as for {like.title}")
        said = "".join(f" {one[0].upper()}{one[1:]}." for one in notes)
        yield f"{row.title.capitalize()}: {row.part}, from the {row.start} face{finish}.{said}"


def bolt_table(boat: Boat, parts: Hardware) -> Table | None:
    """Return the stack under one bolt's head."""
    fit = parts.bolt
    if fit is None:
        return None
    bolt, nut, play, plate = fit.bolt, fit.nut, boat.play, boat.description.fixing.plate
    (layer, into), out = fit.shank_ends, "YES" if fit.runs_out else "no"
    showing = _size(fit.showing, after=f", {fit.showing / boat.thread.pitch:.1f} pitches")
    travel = play.athwart - play.plank if plate and plate.slot else None
    rows = (fit.grip, nut.height, fit.needed, fit.length, showing, into, out, play.floor, play.plank, travel)
    memory = f"From memory, check against what you buy: {', '.join(parts.memory)}." if parts.memory else ""
    said = {"nut": f"{nut.kind} nut, {nut.standard}", "memory": memory}
    said["bolt"] = f"bolt to take: {bolt.thread} {bolt.head}, {bolt.standard}"
    told = table("bolt", rows, layer=layer, **said)
    return told._replace(rows=(*((layer.name, _size(layer.thickness)) for layer in fit.layers), *told.rows))


def sleeve_table(boat: Boat) -> Table | None:
    """Return the sleeves, or nothing where there are none."""
    sleeve = boat.description.fixing.sleeve
    if sleeve is None:
        return None
    outer, inner, gap = sleeve.outer, sleeve.inner, sleeve.glue_gap
    size = (boat.description.floor.thickness, outer, inner, outer + gap, gap / 2, (outer - inner) / 2)
    return table("sleeves", (2 * len(boat.settings), *size))


def screw_tables(boat: Boat, parts: Hardware) -> Iterator[Table]:
    """Yield the wood screws: how they sit, and how others would hold."""
    fit = parts.screws
    if fit is None:
        return
    yield table("screws", (
        fit.name,
        *(len(boat.on(Surface.FLOOR, kind)) for kind in (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)),
        next(row.final.diameter for row in drilling(boat) if row.use == "plate"),
        Quantity(fit.head.diameter, "diameter", after=f", {fit.head.angle:g}°"),
        fit.head.deep,
        fit.point_depth,
        screw_point(fit.beyond),
        _size(fit.thread_in_wood, after=f", {fit.thread_in_wood / fit.diameter:.1f} diameters"),
        f"{fit.ultimate:.0f} N; working load {fit.allowable:.0f} N" if fit.ultimate is not None else None,
    ))  # fmt: skip
    if fit.holding:
        yield table("holding", (
            (one.name + (" (yours)" if one.chosen else ""), one.thread_in_wood, screw_point(one.beyond),
             one.withdrawal, one.sideways)
            for one in fit.holding
        ))  # fmt: skip


def wood_tables(boat: Boat) -> Iterator[Table]:
    """Yield the wood's figures and the guides they are held against, whose sources stand by letter below."""
    yield table("section", (section(boat),))
    rows, moves = guides(boat), tuple(movements(boat))
    letters = dict(zip(dict.fromkeys(one.guide.source for one in rows), "abcdefghijklmnopqrstuvwxyz",
                       strict=False))  # fmt: skip
    yield table("guides", (
        (
            f"{one.guide.what} {one.guide.way}", one.measured, one.diameters, one.guide.least,
            "kept" if one.met else "NOT kept", letters[one.guide.source],
        )
        for one in rows
    ), sources="; ".join(f"{letter} {source}" for source, letter in letters.items()))  # fmt: skip
    sources = "; ".join(dict.fromkeys(one[-1] for one in moves))
    yield table("movement", (one[:5] for one in moves), sources=sources)


def accuracy_tables(boat: Boat, report: AccuracyReport) -> Iterator[Table]:
    """Yield the error budget: how good the drilled boat will be, what to expect at each setting left out."""
    at_settings = [f"setting {setting.number}" for setting in boat.settings]
    rows = [
        *_worst("one runner ahead of the other", zip(at_settings, report.leads, strict=True)),
        *_worst("turn of the plank", zip(at_settings, report.yaws, strict=True)),
        *_worst("difference of the tapes", zip(at_settings, report.tapes, strict=bool(report.tapes))),
    ]
    pairs = [(d.kind, f"{d.a} to {d.b}", pair) for d, pair in zip(boat.distances, report.pairs, strict=True)]
    for kind in dict.fromkeys(kind for kind, _, _ in pairs):
        rows += _worst(kind, ((name, pair) for own, name, pair in pairs if own == kind))
    yield table("accuracy", rows)
    if report.holes:
        yield table("holes", report.holes)
    if report.limits:
        limits = ((row.setting, row.margin, row.sigma, chance_text(row.chance), row.largest) for row in report.limits)
        yield table("limits", limits)
    if report.improvements:
        yield table("helps", report.improvements[:_HELPS])
    yield table("sources", (
        (one.name, Quantity(one.sigma, "fine") if one.unit == "mm" else f"{one.sigma:.4g} {one.unit}", one.origin)
        for one in report.sources.items
    ))  # fmt: skip


def _worst(what: str, budgets: Iterable[tuple[str, Budget]]) -> list[tuple[Value, ...]]:
    """Return budgets of one kind and largest part as one row, with the worst of their errors."""
    groups: dict[str, list[tuple[str, Budget]]] = {}
    for name, one in budgets:
        groups.setdefault(one.largest, []).append((name, one))
    kinds = {"mm": "fine", "°": "angle"}
    return [
        (
            what,
            ", ".join(name for name, _ in members),
            Quantity(max(one.sigma for _, one in members), kinds[members[0][1].unit]),
            largest,
        )
        for largest, members in groups.items()
    ]
