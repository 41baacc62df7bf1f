"""The tables of the job sheet, made of the records of the rooms below: findings, figures, drilling, hardware, wood."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from templater.accuracy.budget import Budget
from templater.accuracy.report import AccuracyReport
from templater.accuracy.wording import chance_text
from templater.boat.solved import Boat
from templater.checks.wood import SECTION, WoodAdvice
from templater.findings import Finding
from templater.job.drilling import DrillingRow, Use, drilling
from templater.job.hardware import Hardware, ShoppingRow
from templater.report.table import Column, Quantity, Table, Value, merged
from templater.units import Figures

#: A point nearer to the under face than this reaches it, mm.
_FLUSH = 0.05
_WHAT = (Column("what"), Column("figure"))


def _size(value: float, before: str = "", after: str = "") -> Quantity:
    return Quantity(value, "size", before=before, after=after)


def findings_table(findings: Sequence[Finding]) -> Table | None:
    """Return the findings, or nothing if there are none."""
    if not findings:
        return None
    rows = tuple((one.severity.value, one.text, one.key or "the boat", one.code) for one in findings)
    note = "Warnings are printed on the sheets too. Advice is yours to take or leave."
    heads = ("kind", "what, and what to do", "key of the description", "code")
    return Table("findings", "Findings", tuple(map(Column, heads)), rows, note)


def settings_table(boat: Boat) -> Table:
    """Return the settings: where they stand, what the rule leaves, what changes from one to the next."""
    tape = {one.setting: one.slant_from_post for one in boat.tape}
    rows = tuple(
        (
            f"{row.number}{' (limit)' if row.at_limit else ''}", row.station, row.runner_base, row.to_max, row.to_min,
            tape.get(row.number), row.station - before.station if before else None,
        )
        for before, row in zip((None, *boat.settings), boat.settings, strict=False)
    )  # fmt: skip
    heads = (
        "bolt line aft of pivot axis", "runner base", "inside the greatest", "above the least", "tape from the post",
    )  # fmt: skip
    columns = (Column("setting"), *(Column(head, "length") for head in heads), Column("step", "signed"))
    return Table("settings", "Settings, 1 foremost", columns, rows).without_empty()


def chances_table(report: AccuracyReport) -> Table:
    """Return what play and errors let happen at each setting once the plank is squared at one."""
    rows = tuple(
        (
            f"{one.setting}{' (squared and marked here)' if one.marked else ''}", one.play, one.drop_in, one.agree,
            one.tapes,
        )
        for one in report.settings
    )  # fmt: skip
    columns = (
        Column("setting"), Column("play of a bolt", "fine"), Column("both bolts drop in", "share", 0),
        Column("and the tapes agree", "share", 0), Column("tapes differ by, typical", "fine"),
    )  # fmt: skip
    note = (
        "Shares of boats built by these steps with the errors listed under Accuracy. The tapes agree where shifting "
        "the plank in its play brings them within tolerance."
    )
    return Table("chances", "Boats in a hundred", columns, rows, note).without_empty()


def tools_table(boat: Boat) -> Table:
    """Return the tools and bits to lay out, each to be ticked off."""
    figures = boat.description.figures
    bits: dict[str, list[str]] = {}
    holes = [row for row in drilling(boat) if row.use is not Use.SECOND_SCREW]
    for row in holes:
        for bit in filter(None, (row.pilot, row.final)):
            bits.setdefault(f"{bit.size} {bit.kind}", []).append(row.title)
    rows: list[tuple[Value, ...]] = [(name, ", ".join(dict.fromkeys(uses))) for name, uses in bits.items()]
    stops = {figures.size(row.depth_stop): row.title for row in holes if row.depth_stop is not None}
    if stops:
        rows.append(("depth stop", "; ".join(f"{stop} for {title}" for stop, title in stops.items())))
    rows += [
        ("steel rule, two tapes, square, sharp pencil, fine awl", "bars, lines, pricks and tapes"),
        ("clamps, scrap wood, eye protection, dust mask", "every hole"),
    ]
    glue = "epoxy, gloves, waxed bolts" if boat.description.fixing.sleeve else "sealer for bare wood, gloves"
    rows.append((glue, "sleeves and bare wood" if boat.description.fixing.sleeve else "bare wood"))
    return Table("tools", "Tools and bits", (Column("what"), Column("for")), tuple(rows), tick="here")


def tape_table(boat: Boat) -> Table | None:
    """Return what the tape reads from the steering post, or nothing without chock corners."""
    rows = tuple(
        (row.setting, row.slant_from_post, row.slant, row.level, row.slope_correction, row.slope) for row in boat.tape
    )
    if not rows:
        return None
    note = (
        "Read to both chock corners, port and starboard alike, from a ring or hook round the post, always at the same "
        "edge of the tape and under even tension. Readings repeat to about "
        f"{boat.description.figures.length(1.0, 0)} (common practice, no source)."
    )
    columns = (
        Column("setting"), Column("from the post's surface", "length"), Column("from its axis", "length"),
        Column("level distance", "length"), Column("slope adds", "fine"), Column("slope", "angle"),
    )  # fmt: skip
    return Table("tape", "Tape figures, steering post to chock corner", columns, rows, note)


def plank_table(boat: Boat) -> Table:
    """Return the plank as an arc: where the bolts lie along its face, how they lean, what pressing it flat does."""
    plank = boat.plank
    radius: Value = "flat" if math.isinf(plank.radius) else Quantity(plank.radius, "radius")
    rows = (
        ("bolt from the middle, along the face", Quantity(plank.hole_along)),
        ("bolt from the nearer end, along the face", Quantity(plank.end_to_hole)),
        ("end to end, straight", Quantity(plank.chord)),
        ("radius of the upper face", radius),
        ("lean of a hole square to the face", Quantity(plank.lean, "angle")),
        ("its foot nearer the middle by", Quantity(plank.lean_shift)),
    )
    return Table("plank", "The plank, bent to its crown", _WHAT, rows)


def distances_table(boat: Boat) -> Table:
    """Return the check distances between holes."""
    rows = tuple((f"{row.a} to {row.b}", row.kind, row.distance, "", "") for row in boat.distances)
    columns = (Column("holes"), Column("kind"), Column("distance", "length"), Column("pricked"), Column("drilled"))
    note = "Straight distances, middle to middle. Write down what you measure on the pricks, then on the drilled holes."
    return Table("distances", "Check distances between holes", columns, rows, note)


def drilling_table(boat: Boat) -> Table:
    """Return bits and depths for each kind of hole."""
    rows = tuple(
        (
            row.title, row.ids, len(row.ids), f"{row.pilot.size} {row.pilot.kind}" if row.pilot else None,
            f"{row.final.size} {row.final.kind}",
            row.difference if abs(row.difference) > 0.005 else None,
            "right through" if row.depth_stop is None else _size(row.depth_stop, after=f" from {row.stop_from}"),
            row.countersink, row.countersink_deep,
        )
        for row in drilling(boat)
    )  # fmt: skip
    columns = (
        Column("holes"), Column("ids"), Column("count"), Column("pilot"), Column("final"),
        Column("bit over size by", "signed", 2), Column("depth stop, to the bit's point"),
        Column("countersink", "diameter"), Column("its depth", "size"),
    )  # fmt: skip
    note = "P1a1..4 stands for P1a1 to P1a4. The depth stop is set to the bit's point."
    return Table("drilling", "Bits and depths", columns, rows, note, cards=True).without_empty()


def drilling_ways(boat: Boat) -> tuple[str, ...]:
    """Return how to go about each kind of hole."""
    return tuple(
        f"{row.title.capitalize()}: {_faces(row)}. {_way(row, boat.description.figures)}" for row in drilling(boat)
    )


def _faces(row: DrillingRow) -> str:
    start = f"{row.part}, from the {row.start} face"
    return f"{start}, finished from the {row.finish} face" if row.finish else start


def _way(row: DrillingRow, figures: Figures) -> str:
    lean = f"lean {row.lean:.2f}° from vertical, its foot towards the plank's middle" if row.lean else ""
    web = f"about {figures.size(row.web)} is left whole at the depth stop, to be taken out from the other face"
    parts = (*row.notes, web if row.web else "", row.backing, lean, row.plug, row.glue, row.rule)
    sentences = [part[0].upper() + part[1:] for part in parts if part]
    return ". ".join(sentences) + "." if sentences else ""


def bolt_table(hardware: Hardware) -> Table | None:
    """Return the stack under one bolt's head."""
    fit = hardware.bolt
    if fit is None:
        return None
    rows: list[tuple[Value, ...]] = [(layer.name, _size(layer.thickness)) for layer in fit.layers]
    rows += [
        ("clamped in all", _size(fit.grip)),
        (f"{fit.nut.kind} nut, {fit.nut.standard}", _size(fit.nut.height)),
        ("shortest bolt that serves", _size(fit.needed)),
        (f"bolt to take: {fit.bolt.thread} {fit.bolt.head}, {fit.bolt.standard}", _size(fit.length)),
        ("thread showing beyond the nut", _size(fit.showing, after=f", {fit.pitches_showing:.1f} pitches")),
        (f"full thread begins in the {fit.shank_ends_in}, from its face towards the head", _size(fit.shank_into)),
        ("nut runs out of thread", "YES" if fit.runs_out else "no"),
        ("play in the sleeve or floor", _size(fit.play_sleeve)),
        ("play in the plank", _size(fit.play_plank)),
    ]
    if fit.slot_travel is not None:
        rows.append(("travel in the plate's slot", _size(fit.slot_travel)))
    memory = f"From memory, check against what you buy: {', '.join(hardware.memory)}." if hardware.memory else ""
    columns = (Column("part"), Column("size"))
    return Table("bolt", "Under one bolt's head, from above", columns, tuple(rows), memory)


def sleeve_table(hardware: Hardware) -> Table | None:
    """Return the sleeves, or nothing where there are none."""
    sleeve = hardware.sleeve
    if sleeve is None:
        return None
    rows = (
        ("sleeves", sleeve.number),
        ("length, flush with both faces", _size(sleeve.length)),
        ("outer diameter", _size(sleeve.outer)),
        ("inner diameter", _size(sleeve.inner)),
        ("hole in the floor", _size(sleeve.hole)),
        ("room for glue all round", _size(sleeve.glue_gap)),
        ("wall", _size(sleeve.wall)),
    )
    return Table("sleeves", "Sleeves", _WHAT, rows)


def screw_point(beyond: float) -> Value:
    """Return how a screw's point lies to the floor's under face; ``beyond`` mm below it."""
    if abs(beyond) < _FLUSH:
        return "just reaches the under face"
    return _size(beyond, before="comes out ") if beyond > 0 else _size(-beyond, before="stays ", after=" inside")


def screw_tables(hardware: Hardware) -> tuple[Table, ...]:
    """Return the wood screws: how they sit, and how others would hold."""
    fit = hardware.screws
    if fit is None:
        return ()
    rows: list[tuple[Value, ...]] = [
        ("screw", fit.name),
        ("first set, when new", fit.first),
        ("places of the second set", fit.second),
        ("hole in the plate", _size(fit.diameter)),
        ("countersink in the plate", Quantity(fit.head.diameter, "diameter", after=f", {fit.head.angle:g}°")),
        ("depth of the countersink", _size(fit.head.deep)),
        ("point below the floor's upper face", _size(fit.point_depth)),
        ("point at the under face", screw_point(fit.beyond)),
        (
            "thread in the floor",
            _size(fit.thread_in_wood, after=f", {fit.thread_in_wood / fit.diameter:.1f} diameters"),
        ),
    ]
    if fit.allowable is not None and fit.ultimate is not None:
        rows.append(("drawn out at about, guide only", f"{fit.ultimate:.0f} N; working load {fit.allowable:.0f} N"))
    tables = [Table("screws", "Plate screws", _WHAT, tuple(rows))]
    if hardware.holding:
        holding = tuple(
            (
                one.name + (" (yours)" if one.chosen else ""), one.thread_in_wood, screw_point(one.beyond),
                one.withdrawal, one.sideways,
            )
            for one in hardware.holding
        )  # fmt: skip
        columns = (
            Column("screw"), Column("thread in wood", "size"), Column("point"), Column("drawn out", "number", 2),
            Column("pushed sideways", "number", 2),
        )  # fmt: skip
        note = "As multiples of what your screw holds, by the Wood Handbook's G² D L and by D²: a guide, not a proof."
        tables.append(Table("holding", "One screw against another, best first", columns, holding, note))
    return tuple(tables)


def shopping_table(rows: Sequence[ShoppingRow]) -> Table:
    """Return the list of things to buy, with spares, each to be ticked off."""
    cells = tuple((row.item, row.size, row.standard, row.needed, row.spare, row.total, row.note) for row in rows)
    heads = ("what", "size", "standard", "for the boat", "spare", "get", "note")
    table = Table("hardware", "What to get", tuple(map(Column, heads)), cells, tick="got", cards=True)
    return table.without_empty()


def spares_table(rows: Sequence[ShoppingRow]) -> Table:
    """Return the packing list of the spares bag, each to be ticked off."""
    cells = tuple((row.item, row.size, row.total, row.note) for row in rows)
    columns = tuple(map(Column, ("what", "size", "count", "note")))
    return Table("spares", "Carry on the ice", columns, cells, tick="packed", cards=True).without_empty()


def wood_tables(advice: WoodAdvice) -> tuple[Table, ...]:
    """Return the wood's figures and the guides they are held against, whose sources stand by letter below."""
    columns: tuple[Column, ...]
    tables = []
    row = advice.section
    if row is not None:
        left: Value = "solid" if row.left_without_plug is None else row.left_without_plug
        columns = (
            Column("holes"), Column("width", "size"), Column("thickness", "size"), Column("hole", "size"),
            Column("bending strength left", "share"), Column("if the plug carries nothing", "share"),
            Column("plug's wall", "size"),
        )  # fmt: skip
        cells = (row.ids, row.width, row.thickness, row.hole, row.left, left, row.plug_wall)
        note = f"Strength by section modulus (width x depth²/6). Source: {SECTION}."
        tables.append(Table("section", "Plank at the bolts", columns, (cells,), note).without_empty())
    if advice.guides:
        sources = list(dict.fromkeys(one.guide.source for one in advice.guides))
        letters = dict(zip(sources, "abcdefghijklmnopqrstuvwxyz", strict=False))
        rows = tuple(
            (
                f"{one.guide.what} {one.guide.way}", one.measured, one.diameters, one.guide.least,
                "kept" if one.met else "NOT kept", letters[one.guide.source],
            )
            for one in advice.guides
        )  # fmt: skip
        columns = (
            Column("fastener"), Column("here", "size"), Column("diameters", "d"), Column("guide", "size"),
            Column("kept?"), Column("source"),
        )  # fmt: skip
        note = f"Advice, not limits. Sources: {'; '.join(f'{letters[source]} {source}' for source in sources)}."
        tables.append(Table("guides", "Spacing guides for wood", columns, rows, note))
    if advice.movements:
        moves = tuple((one.what, one.width, one.least, one.greatest, one.play or None)
                      for one in advice.movements)  # fmt: skip
        columns = (
            Column("what"), Column("over", "size"), Column("moves at least", "fine"), Column("at most", "fine"),
            Column("taken up by the sleeves' play", "fine"),
        )  # fmt: skip
        note = f"Source: {'; '.join(dict.fromkeys(one.source for one in advice.movements))}."
        tables.append(Table("movement", "Movement with moisture", columns, moves, note).without_empty())
    return tuple(tables)


def accuracy_tables(boat: Boat, report: AccuracyReport) -> tuple[Table, ...]:
    """Return the error budget: how good the drilled boat will be."""
    columns: tuple[Column, ...]
    at_settings = [f"setting {setting.number}" for setting in boat.settings]
    rows = [
        *_worst("one runner ahead of the other", zip(at_settings, report.leads, strict=True)),
        *_worst("turn of the plank", zip(at_settings, report.yaws, strict=True)),
        *_worst("difference of the tapes", zip(at_settings, report.tapes, strict=bool(report.tapes))),
    ]
    names = [(d.kind, f"{d.a} to {d.b}") for d in boat.distances]
    for kind in dict.fromkeys(kind for kind, _ in names):
        pairs = [(name, pair) for (own, name), pair in zip(names, report.pairs, strict=True) if own == kind]
        rows += _worst(kind, pairs)
    columns = (Column("what"), Column("where"), Column("typical error"), Column("largest part"))
    note = "The typical error is one standard deviation: two in three boats are within it, 95 in 100 within twice it."
    tables = [Table("accuracy", "How good the drilled boat will be", columns, tuple(rows), note)]
    if report.holes:
        holes = merged((one.id, one.athwart, one.fore_and_aft, one.largest) for one in report.holes)
        columns = (
            Column("hole"), Column("athwart", "fine"), Column("fore and aft", "fine"), Column("largest part"),
        )  # fmt: skip
        tables.append(Table("holes", "Typical error of each hole", columns, holes))
    if report.limits:
        limits = merged((row.setting, row.margin, row.sigma, chance_text(row.chance), row.largest)
                        for row in report.limits)  # fmt: skip
        columns = (
            Column("setting"), Column("inside the greatest distance", "length"), Column("typical error", "fine"),
            Column("chance of exceeding it"), Column("largest part"),
        )  # fmt: skip
        tables.append(Table("limits", "The rule's limit", columns, limits))
    shares = merged((row.setting, row.drop_in, row.agree, row.tapes or None, row.reach or None)
                    for row in report.settings)  # fmt: skip
    columns = (
        Column("setting"), Column("both bolts drop in", "share", 0), Column("tapes can be made to agree", "share", 0),
        Column("tapes differ by", "length"), Column("play shifts that by", "length"),
    )  # fmt: skip
    note = (
        "Share of boats drilled like this one; tapes within tolerance as read three times a side. The second hole is "
        "marked at one setting; at the others the plank is shifted in the bolts' play, then the plates screwed down."
    )
    caption = "Both bolts and the tapes, setting by setting"
    tables.append(Table("settings", caption, columns, shares, note).without_empty())
    if report.improvements:
        helps = tuple((row.text, row.before, row.after) for row in report.improvements[:6])
        columns = (Column("change"), Column("before", "fine"), Column("after", "fine"))
        tables.append(Table("helps", "What helps most, one runner ahead of the other", columns, helps))
    sources = tuple(
        (one.name, Quantity(one.sigma, "fine") if one.unit == "mm" else f"{one.sigma:.4g} {one.unit}",
         one.origin)
        for one in report.sources.items
    )  # fmt: skip
    columns = (Column("source"), Column("typical error"), Column("where the figure comes from"))
    return (*tables, Table("sources", "Sources of error", columns, sources))


def _worst(what: str, budgets: Iterable[tuple[str, Budget]]) -> list[tuple[Value, ...]]:
    """Return budgets of one kind and largest part as one row, with the worst of their errors."""
    groups: dict[str, list[tuple[str, Budget]]] = {}
    for name, one in budgets:
        groups.setdefault(one.largest, []).append((name, one))
    return [
        (
            what,
            ", ".join(name for name, _ in members),
            Quantity(max(one.sigma for _, one in members), "fine" if members[0][1].unit == "mm" else "angle"),
            largest,
        )
        for largest, members in groups.items()
    ]
