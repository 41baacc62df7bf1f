"""The tables of the job sheet, made of the records of the rooms below: findings, figures, drilling, hardware, wood."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from templater.accuracy.report import AccuracyReport, chance_text
from templater.accuracy.sources import Budget
from templater.boat.solved import Boat
from templater.checks.wood import SECTION, WoodAdvice
from templater.findings import Finding
from templater.job.drilling import DrillingRow, Use
from templater.job.hardware import Hardware, ShoppingRow
from templater.report.table import WHAT, Quantity, Table, Value, columns, merged
from templater.units import Figures

#: A point nearer to the under face than this reaches it, mm.
_FLUSH = 0.05
#: Most improvements that are listed.
_HELPS = 6


def _size(value: float, before: str = "", after: str = "") -> Quantity:
    return Quantity(value, "size", before=before, after=after)


def findings_table(findings: Sequence[Finding]) -> Table:
    """Return the findings."""
    rows = tuple((one.severity.value, one.text, one.key or "the boat", one.code) for one in findings)
    note = "Warnings are printed on the sheets too. Advice is yours to take or leave."
    heads = columns("kind", "what, and what to do", "key of the description", "code")
    return Table("findings", "Findings", heads, rows, note)


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
    heads = columns(
        "setting", "bolt line aft of pivot axis: length", "runner base: length", "inside the greatest: length",
        "above the least: length", "tape from the post: length", "step: signed",
    )  # fmt: skip
    return Table("settings", "Settings, 1 foremost", heads, rows, cards=True).without_empty()


def chances_table(report: AccuracyReport) -> Table:
    """Return what play and errors let happen at each setting once the plank is squared at one."""
    rows = tuple(
        (
            f"{one.setting}{' (squared and marked here)' if one.marked else ''}", one.play, one.drop_in, one.agree,
            one.tapes or None, one.reach or None,
        )
        for one in report.settings
    )  # fmt: skip
    heads = columns(
        "setting", "play of a bolt: fine", "both bolts drop in: share 0", "and the tapes agree: share 0",
        "tapes differ by, typical: fine", "play shifts that by: fine",
    )  # fmt: skip
    note = (
        "Shares of boats built by these steps with the errors listed under Accuracy; the tapes are read three times a "
        "side, and agree where shifting the plank in the bolts' play brings them within tolerance."
    )
    return Table("chances", "Boats in a hundred", heads, rows, note).without_empty()


def tools_table(boat: Boat, drilling: Sequence[DrillingRow]) -> Table:
    """Return the tools and bits to lay out, each to be ticked off."""
    say, sleeve = boat.description.figures.size, boat.description.fixing.sleeve
    holes = [row for row in drilling if row.use is not Use.SECOND_SCREW]
    bits: dict[str, list[str]] = {}
    stops: dict[str, str] = {}
    for row in holes:
        for bit in filter(None, (row.pilot, row.final)):
            bits.setdefault(str(bit), []).append(row.title)
        if row.depth_stop is not None:
            stops[say(row.depth_stop)] = row.title
    rows: list[tuple[Value, ...]] = [(name, ", ".join(dict.fromkeys(uses))) for name, uses in bits.items()]
    if stops:
        rows.append(("depth stop", "; ".join(f"{stop} for {title}" for stop, title in stops.items())))
    rows += [
        ("steel rule, two tapes, square, sharp pencil, fine awl", "bars, lines, pricks and tapes"),
        ("clamps, scrap wood, eye protection, dust mask", "every hole"),
        ("epoxy, gloves, waxed bolts", "sleeves and bare wood") if sleeve else ("sealer, gloves", "bare wood"),
    ]
    return Table("tools", "Tools and bits", columns("what", "for"), tuple(rows), tick="here", cards=True)


def tape_table(boat: Boat) -> Table | None:
    """Return what the tape reads from the steering post, or nothing without chock corners."""
    rows = tuple(
        (row.setting, row.slant_from_post, row.slant, row.level, row.slope_correction, row.slope) for row in boat.tape
    )
    note = (
        "Read to both chock corners, port and starboard alike, from a ring or hook round the post, always at the same "
        "edge of the tape and under even tension. Readings repeat to about "
        f"{boat.description.figures.length(1.0, 0)} (common practice, no source)."
    )
    heads = columns(
        "setting", "from the post's surface: length", "from its axis: length", "level distance: length",
        "slope adds: fine", "slope: angle",
    )  # fmt: skip
    caption = "Tape figures, steering post to chock corner"
    return Table("tape", caption, heads, rows, note, cards=True) if rows else None


def plank_table(boat: Boat) -> Table:
    """Return the plank as an arc: where the bolts lie along its face, how they lean, what pressing it flat does."""
    plank = boat.plank
    rows = (
        ("bolt from the middle, along the face", Quantity(plank.hole_along)),
        ("bolt from the nearer end, along the face", Quantity(plank.end_to_hole)),
        ("end to end, straight", Quantity(plank.chord)),
        ("radius of the upper face", "flat" if math.isinf(plank.radius) else Quantity(plank.radius, "radius")),
        ("lean of a hole square to the face", Quantity(plank.lean, "angle")),
        ("its foot nearer the middle by", Quantity(plank.lean_shift)),
    )
    return Table("plank", "The plank, bent to its crown", WHAT, rows)


def distances_table(boat: Boat) -> Table:
    """Return the check distances between holes."""
    rows = tuple((f"{row.a} to {row.b}", row.kind, row.distance, "", "") for row in boat.distances)
    heads = columns("holes", "kind", "distance: length", "pricked", "drilled")
    note = "Straight distances, middle to middle. Write down what you measure on the pricks, then on the drilled holes."
    return Table("distances", "Check distances between holes", heads, rows, note)


def drilling_table(drilling: Sequence[DrillingRow]) -> Table:
    """Return bits and depths for each kind of hole."""
    rows = tuple(
        (
            row.title, row.ids, len(row.ids), str(row.pilot) if row.pilot else None, str(row.final),
            row.difference if abs(row.difference) > 0.005 else None,
            "right through" if row.depth_stop is None else _size(row.depth_stop, after=f" from {row.stop_from}"),
            row.countersink, row.countersink_deep,
        )
        for row in drilling
    )  # fmt: skip
    heads = columns(
        "holes", "ids", "count", "pilot", "final", "bit over size by: signed 2", "depth stop, to the bit's point",
        "countersink: diameter", "its depth: size",
    )  # fmt: skip
    note = "P1a1..4 stands for P1a1 to P1a4. The depth stop is set to the bit's point."
    return Table("drilling", "Bits and depths", heads, rows, note, cards=True).without_empty()


#: Holes that are drilled as others are but for what is said of them.
_AS = {Use.SECOND_SCREW: Use.FIRST_SCREW, Use.SECOND_HOLE: Use.PLANK}


def drilling_ways(drilling: Sequence[DrillingRow], figures: Figures) -> Iterator[str]:
    """Yield how to go about each kind of hole."""
    told: dict[Use, tuple[str, tuple[str, ...]]] = {}
    for row in drilling:
        finish = f", finished from the {row.finish} face" if row.finish else ""
        web = f"about {figures.size(row.web)} is left whole at the depth stop, to be taken out from the other face"
        named = (*row.notes, web if row.web else "", row.backing, row.plug, row.glue, row.rule)
        fresh = parts = tuple(one for one in named if one)
        if row.use in _AS and _AS[row.use] in told:
            title, known = told[_AS[row.use]]
            fresh = (*(one for one in parts if one not in known), f"the rest as for {title}")
        said = "".join(f" {one[0].upper()}{one[1:]}." for one in fresh)
        yield f"{row.title.capitalize()}: {row.part}, from the {row.start} face{finish}.{said}"
        told[row.use] = row.title, parts


def bolt_table(hardware: Hardware) -> Table | None:
    """Return the stack under one bolt's head."""
    fit = hardware.bolt
    if fit is None:
        return None
    bolt, nut = fit.bolt, fit.nut
    rows: list[tuple[Value, ...]] = [(layer.name, _size(layer.thickness)) for layer in fit.layers]
    rows += [
        ("clamped in all", _size(fit.grip)),
        (f"{nut.kind} nut, {nut.standard}", _size(nut.height)),
        ("shortest bolt that serves", _size(fit.needed)),
        (f"bolt to take: {bolt.thread} {bolt.head}, {bolt.standard}", _size(fit.length)),
        ("thread showing beyond the nut", _size(fit.showing, after=f", {fit.pitches_showing:.1f} pitches")),
        (f"full thread begins in the {fit.shank_ends_in}, from its face towards the head", _size(fit.shank_into)),
        ("nut runs out of thread", "YES" if fit.runs_out else "no"),
        ("play in the sleeve or floor", _size(fit.play_sleeve)),
        ("play in the plank", _size(fit.play_plank)),
    ]
    if fit.slot_travel is not None:
        rows.append(("travel in the plate's slot", _size(fit.slot_travel)))
    memory = f"From memory, check against what you buy: {', '.join(hardware.memory)}." if hardware.memory else ""
    return Table("bolt", "Under one bolt's head, towards the nut", columns("part", "size"), tuple(rows), memory)


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
    return Table("sleeves", "Sleeves", WHAT, rows)


def screw_point(beyond: float) -> Value:
    """Return how a screw's point lies to the floor's under face; ``beyond`` mm below it."""
    if abs(beyond) < _FLUSH:
        return "just reaches the under face"
    return _size(beyond, before="comes out ") if beyond > 0 else _size(-beyond, before="stays ", after=" inside")


def screw_tables(hardware: Hardware) -> Iterator[Table]:
    """Yield the wood screws: how they sit, and how others would hold."""
    fit = hardware.screws
    if fit is None:
        return
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
    yield Table("screws", "Plate screws", WHAT, tuple(rows))
    holding = tuple(
        (one.name + (" (yours)" if one.chosen else ""), one.thread_in_wood, screw_point(one.beyond), one.withdrawal,
         one.sideways)
        for one in hardware.holding
    )  # fmt: skip
    heads = columns("screw", "thread in wood: size", "point", "drawn out: number 2", "pushed sideways: number 2")
    note = "As multiples of what your screw holds, by the Wood Handbook's G² D L and by D²: a guide, not a proof."
    if holding:
        yield Table("holding", "One screw against another, best first", heads, holding, note)


def shopping_table(rows: Sequence[ShoppingRow]) -> Table:
    """Return the list of things to buy, with spares, each to be ticked off."""
    cells = tuple((row.item, row.size, row.standard, row.needed, row.spare, row.total, row.note) for row in rows)
    heads = columns("what", "size", "standard", "for the boat", "spare", "get", "note")
    return Table("hardware", "What to get", heads, cells, tick="got", cards=True).without_empty()


def spares_table(rows: Sequence[ShoppingRow]) -> Table:
    """Return the packing list of the spares bag, each to be ticked off."""
    cells = tuple((row.item, row.size, row.total, row.note) for row in rows)
    heads = columns("what", "size", "count", "note")
    return Table("spares", "Carry on the ice", heads, cells, tick="packed", cards=True).without_empty()


def wood_tables(advice: WoodAdvice) -> Iterator[Table]:
    """Yield the wood's figures and the guides they are held against, whose sources stand by letter below."""
    row = advice.section
    left: Value = "solid" if row.left_without_plug is None else row.left_without_plug
    heads = columns(
        "holes", "width: size", "thickness: size", "hole: size", "bending strength left: share",
        "if the plug carries nothing: share", "plug's wall: size",
    )  # fmt: skip
    cells = (row.ids, row.width, row.thickness, row.hole, row.left, left, row.plug_wall)
    note = f"Strength by section modulus (width x depth²/6). Source: {SECTION}."
    yield Table("section", "Plank at the bolts", heads, (cells,), note).without_empty()
    sources = list(dict.fromkeys(one.guide.source for one in advice.guides))
    letters = dict(zip(sources, "abcdefghijklmnopqrstuvwxyz", strict=False))
    rows = tuple(
        (
            f"{one.guide.what} {one.guide.way}", one.measured, one.diameters, one.guide.least,
            "kept" if one.met else "NOT kept", letters[one.guide.source],
        )
        for one in advice.guides
    )  # fmt: skip
    heads = columns("distance", "here: size", "diameters: d", "guide: size", "kept?", "source")
    note = f"Advice, not limits. Sources: {'; '.join(f'{letters[source]} {source}' for source in sources)}."
    yield Table("guides", "Spacing guides for wood", heads, rows, note)
    moves = tuple((one.what, one.width, one.least, one.greatest, one.play or None) for one in advice.movements)
    heads = columns(
        "what", "over: size", "moves at least: fine", "at most: fine", "taken up by the sleeves' play: fine"
    )  # fmt: skip
    note = f"Source: {'; '.join(dict.fromkeys(one.source for one in advice.movements))}."
    yield Table("movement", "Movement with moisture", heads, moves, note).without_empty()


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
    heads = columns("what", "where", "typical error", "largest part")
    note = "The typical error is one standard deviation: two in three boats are within it, 95 in 100 within twice it."
    yield Table("accuracy", "How good the drilled boat will be", heads, tuple(rows), note)
    if report.holes:
        holes = merged((one.id, one.athwart, one.fore_and_aft, one.largest) for one in report.holes)
        heads = columns("hole", "athwart: fine", "fore and aft: fine", "largest part")
        yield Table("holes", "Typical error of each hole", heads, holes)
    if report.limits:
        limits = merged(
            (row.setting, row.margin, row.sigma, chance_text(row.chance), row.largest) for row in report.limits
        )
        heads = columns(
            "setting", "inside the greatest distance: length", "typical error: fine", "chance of exceeding it",
            "largest part",
        )  # fmt: skip
        yield Table("limits", "The rule's limit", heads, limits)
    if report.improvements:
        helps = tuple((row.text, row.before, row.after) for row in report.improvements[:_HELPS])
        heads = columns("change", "before: fine", "after: fine")
        yield Table("helps", "What helps most against one runner ahead of the other", heads, helps)
    sources = tuple(
        (one.name, Quantity(one.sigma, "fine") if one.unit == "mm" else f"{one.sigma:.4g} {one.unit}", one.origin)
        for one in report.sources.items
    )
    heads = columns("source", "typical error", "where the figure comes from")
    yield Table("sources", "Sources of error", heads, sources)


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
