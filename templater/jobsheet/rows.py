"""Tables of the job sheet, from the bench's rows."""

from __future__ import annotations

from collections.abc import Sequence

from templater.accuracy.report import AccuracyReport
from templater.bench.drilling import DrillingRow, drilling
from templater.bench.figures import distance_rows, setting_rows, tape_rows
from templater.bench.hardware import Hardware
from templater.bench.shopping import ShoppingRow
from templater.bench.sizes import sayer
from templater.bench.wood import WoodAdvice
from templater.boat.model import Boat
from templater.errors import Finding
from templater.jobsheet.model import Table
from templater.units import inch_text, mm_text

#: How many ids a cell shows before it only counts.
_MOST_IDS = 24


def figure(value: float | None, units: str) -> str:
    """Return a length to 0.1 mm, for boats in inches with the nearest 1/32 in beside it."""
    if value is None:
        return "none"
    text = f"{mm_text(value)} mm"
    return f"{text} ({inch_text(value)})" if units == "in" else text


def ids_text(ids: Sequence[str]) -> str:
    """Return hole ids for a cell."""
    if len(ids) <= _MOST_IDS:
        return ", ".join(ids)
    return f"{', '.join(ids[:8])} .. {ids[-1]} ({len(ids)})"


def settings_table(boat: Boat) -> Table:
    """Return the settings: where they stand, what the rule leaves, what changes from one to the next."""
    units = boat.description.units
    rows = tuple(
        (
            f"{row.number}{' (limit)' if row.at_limit else ''}",
            figure(row.station, units),
            figure(row.runner_base, units),
            figure(row.to_max, units),
            figure(row.to_min, units),
            figure(row.tape_from_post, units),
            "first" if row.change is None else f"{row.change:+.1f} mm",
        )
        for row in setting_rows(boat)
    )
    headers = (
        "setting", "bolt line aft of pivot axis", "runner base", "inside greatest", "above least", "tape from post",
        "against the one before",
    )  # fmt: skip
    return Table("Settings, 1 foremost", headers, rows)


def tape_table(boat: Boat) -> Table | None:
    """Return what the tape reads from the steering post, or nothing without chock corners."""
    units = boat.description.units
    rows = tuple(
        (
            str(row.setting),
            figure(row.from_post, units),
            figure(row.from_axis, units),
            figure(row.level, units),
            f"{row.correction:.2f} mm",
            f"{row.slope:.2f}°",
        )
        for row in tape_rows(boat)
    )
    if not rows:
        return None
    note = (
        "Read to both chock corners, port and starboard alike, from a ring or hook round the post, always at the same "
        "edge of the tape and under even tension. Readings repeat to about 1 mm (common practice, no source)."
    )
    headers = ("setting", "from the post's surface", "from its axis", "level distance", "slope adds", "slope")
    return Table("Tape figures, steering post to chock corner", headers, rows, note)


def distances_table(boat: Boat) -> Table:
    """Return the check distances between holes."""
    units = boat.description.units
    rows = tuple((f"{row.a} to {row.b}", row.kind, figure(row.distance, units), "", "") for row in distance_rows(boat))
    note = "Straight distances, middle to middle. Write down what you measure on the pricks, then on the drilled holes."
    return Table("Check distances", ("holes", "kind", "distance", "pricked", "drilled"), rows, note)


def drilling_tables(boat: Boat) -> tuple[Table, ...]:
    """Return the drilling table in two: bits, and how to go about it."""
    say = sayer(boat.description)
    rows = drilling(boat)
    bits = tuple(
        (
            row.title,
            ids_text(row.ids),
            str(row.count),
            f"{row.pilot.size} {row.pilot.kind}" if row.pilot else "none",
            ", ".join(bit.size for bit in row.steps) or "none",
            _final(row),
            say(row.depth_stop) if row.depth_stop is not None else "right through",
            f"⌀{say(row.countersink)}, {say(row.countersink_deep or 0.0)} deep" if row.countersink else "none",
        )
        for row in rows
    )
    headers = ("holes", "ids", "count", "pilot", "steps", "final", "depth stop, to the bit's point", "countersink")
    ways = tuple((row.title, f"{row.part}, {row.start}", row.finish or "not needed", _way(row)) for row in rows)
    return (
        Table("Drilling: bits and depths", headers, bits),
        Table("Drilling: how", ("holes", "start from", "finish from", "how"), ways),
    )


def _final(row: DrillingRow) -> str:
    text = f"{row.final.size} {row.final.kind}"
    if abs(row.difference) <= 0.005:
        return text
    return f"{text} ({row.difference:+.2f} mm against the {row.wanted:.2f} asked)"


def _way(row: DrillingRow) -> str:
    lean = f"lean {row.lean:.2f}° from vertical, the foot towards the plank's middle" if row.lean else ""
    parts = (*row.notes, row.backing, lean, row.plug, row.glue, row.rule)
    sentences = [part[0].upper() + part[1:] for part in parts if part]
    return ". ".join(sentences) + "." if sentences else ""


def bolt_table(boat: Boat, hardware: Hardware) -> Table | None:
    """Return the stack under one bolt's head."""
    fit = hardware.bolt
    if fit is None:
        return None
    say = sayer(boat.description)
    rows = [(layer.name, say(layer.thickness)) for layer in fit.layers]
    rows += [
        ("clamped in all", say(fit.grip)),
        (f"{fit.nut.kind} nut, {fit.nut.standard}", say(fit.nut.height)),
        ("shortest bolt that serves", say(fit.needed)),
        (f"bolt to take: {fit.bolt.thread} {fit.bolt.head}, {fit.bolt.standard}", say(fit.length)),
        ("thread showing beyond the nut", f"{say(fit.showing)}, {fit.pitches_showing:.1f} pitches"),
        ("full thread begins", f"in the {fit.shank_ends_in}, {say(fit.shank_into)} below its upper face"),
        ("nut runs out of thread", "YES" if fit.runs_out else "no"),
        ("play in the sleeve or floor", say(fit.play_sleeve)),
        ("play in the plank", say(fit.play_plank)),
    ]
    if fit.slot_travel is not None:
        rows.append(("travel in the plate's slot", say(fit.slot_travel)))
    return Table("Under one bolt's head, from above", ("part", "size"), tuple(rows), _memory(hardware.memory))


def _memory(names: Sequence[str]) -> str:
    return f"From memory, check against what you buy: {', '.join(names)}." if names else ""


def screw_tables(boat: Boat, hardware: Hardware) -> tuple[Table, ...]:
    """Return the wood screws: how they sit, and how others would hold."""
    fit = hardware.screws
    if fit is None:
        return ()
    say = sayer(boat.description)
    beyond = f"comes out {say(fit.beyond)}" if fit.beyond > 0 else f"stays {say(-fit.beyond)} above the under face"
    rows = [
        ("screw", fit.name),
        ("first set, when new", str(fit.first)),
        ("places of the second set", str(fit.second)),
        ("hole in the plate", say(fit.plate_hole)),
        ("countersink in the plate", f"⌀{say(fit.countersink)}, {say(fit.countersink_deep)} deep, {fit.angle:g}°"),
        ("point below the floor's upper face", say(fit.point_depth)),
        ("point at the under face", beyond),
        ("thread in the floor", f"{say(fit.thread_in_wood)}, {fit.thread_diameters:.1f} diameters"),
    ]
    if fit.allowable is not None and fit.ultimate is not None:
        rows.append(("drawn out at about, guide only", f"{fit.ultimate:.0f} N; working load {fit.allowable:.0f} N"))
    tables = [Table("Wood screws", ("what", "figure"), tuple(rows))]
    holding = tuple(
        (
            one.name + (" (yours)" if one.chosen else ""),
            say(one.thread_in_wood),
            f"comes out {say(one.beyond)}" if one.beyond > 0 else "stays inside",
            f"{one.withdrawal:.2f}",
            f"{one.sideways:.2f}",
        )
        for one in hardware.holding
    )
    if holding:
        note = "Shares of your screw's holding, by the Wood Handbook's G² D L and by D²: a guide, not a proof."
        headers = ("screw", "thread in wood", "point", "drawn out", "pushed sideways")
        tables.append(Table("One screw against another, best first", headers, holding, note))
    return tuple(tables)


def shopping_table(caption: str, rows: Sequence[ShoppingRow], *, spares: bool) -> Table:
    """Return a list of things to buy, with spares, or of the spares bag."""
    if spares:
        cells = tuple((row.item, row.size, str(row.total), row.note) for row in rows)
        return Table(caption, ("what", "size", "count", "note"), cells)
    full = tuple(
        (row.item, row.size, row.standard, str(row.count), str(row.spare), str(row.total), row.note) for row in rows
    )
    return Table(caption, ("what", "size", "standard", "for the boat", "spare", "get", "note"), full)


def wood_tables(boat: Boat, advice: WoodAdvice) -> tuple[Table, ...]:
    """Return the wood's guides."""
    say = sayer(boat.description)
    tables = []
    if advice.sections:
        sections = tuple(
            (
                ids_text(row.ids),
                f"{say(row.width)} x {say(row.thickness)}",
                say(row.hole),
                f"{row.left:.1%}",
                "solid" if row.left_without_plug is None else f"{row.left_without_plug:.1%}",
                "none" if row.plug_wall is None else say(row.plug_wall),
            )
            for row in advice.sections
        )
        headers = ("holes", "section", "hole", "section modulus left", "if the plug bears nothing", "plug's wall")
        tables.append(Table("Plank at the bolts", headers, sections, f"Source: {advice.sections[0].source}."))
    if advice.net:
        net = tuple((f"{row.a} to {row.b}", say(row.centres), say(row.net)) for row in advice.net)
        tables.append(Table("Floor left between sleeves", ("holes", "middles apart", "wood between"), net))
    if advice.spacings:
        spacings = tuple(
            (
                f"{row.part}, {row.fastener}",
                row.direction,
                f"{say(row.measured)} = {row.measured / row.diameter:.1f} d",
                say(row.guide),
                "kept" if row.measured >= row.guide - 1e-9 else "NOT kept",
                row.source,
            )
            for row in advice.spacings
        )
        headers = ("fastener", "direction", "here", "guide", "kept?", "source")
        tables.append(Table("Spacing guides for wood", headers, spacings, "Advice, not limits."))
    if advice.movements:
        moves = tuple(
            (row.part, row.what, say(row.width), f"{row.least:.2f} to {row.greatest:.2f} mm", row.source)
            for row in advice.movements
        )
        tables.append(Table("Movement with moisture", ("part", "what", "over", "moves", "source"), moves))
    return tuple(tables)


def accuracy_tables(report: AccuracyReport) -> tuple[Table, ...]:
    """Return the error budget: how good the drilled boat will be, one standard deviation."""
    rows = [
        (budget.what, f"{budget.sigma:.2f} {budget.unit}", budget.largest)
        for budget in (*report.leads, *report.yaws, *report.tapes, *report.pairs)
    ]
    note = "One standard deviation; two of them cover about 95 of 100 boats. Sources and their origin stand below."
    tables = [Table("How good the drilled boat will be", ("what", "uncertainty", "largest part"), tuple(rows), note)]
    if report.limits:
        limits = tuple(
            (str(row.setting), f"{row.margin:.1f} mm", f"{row.sigma:.2f} mm", _chance(row.chance), row.largest)
            for row in report.limits
        )
        headers = ("setting", "inside the greatest distance", "uncertainty", "chance of exceeding it", "largest part")
        tables.append(Table("The rule's limit", headers, limits))
    if report.improvements:
        helps = tuple((row.text, f"{row.before:.2f} -> {row.after:.2f} mm") for row in report.improvements[:6])
        tables.append(Table("What helps most (lead of one runner)", ("change", "uncertainty"), helps))
    sources = tuple((one.name, f"{one.sigma:.4g} {one.unit}", one.origin) for one in report.sources.items)
    tables.append(Table("Sources of error", ("source", "one standard deviation", "origin"), sources))
    return tuple(tables)


def _chance(chance: float) -> str:
    return "under 1 in 100 000" if chance < 1e-5 else f"{chance:.2%}"


def findings_table(findings: Sequence[Finding]) -> Table | None:
    """Return the findings, or nothing if there are none."""
    if not findings:
        return None
    rows = tuple((one.severity.value, one.key or "the boat", one.text, one.code) for one in findings)
    return Table("Findings", ("weight", "key", "what and what to do", "code"), rows)


