"""Tables of the job sheet about hardware: bolt, sleeves, wood screws, what to get, the spares bag."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from templater.boat.solved import Boat
from templater.job.hardware import Hardware, ShoppingRow
from templater.report.blocks import Table
from templater.report.columns import table, without_empty

#: A point nearer to the under face than this reaches it, mm.
_FLUSH = 0.05


def bolt_table(boat: Boat, hardware: Hardware) -> Table | None:
    """Return the stack under one bolt's head."""
    fit = hardware.bolt
    if fit is None:
        return None
    say = boat.description.figures.size
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


def sleeve_table(boat: Boat, hardware: Hardware) -> Table | None:
    """Return the sleeves, or nothing where there are none."""
    sleeve = hardware.sleeve
    if sleeve is None:
        return None
    say = boat.description.figures.size
    rows = (
        ("sleeves", str(sleeve.number)),
        ("length, flush with both faces", say(sleeve.length)),
        ("outer and inner diameter", f"{say(sleeve.outer)}, {say(sleeve.inner)}"),
        ("hole in the floor", say(sleeve.hole)),
        ("room for glue all round", say(sleeve.glue_gap)),
        ("wall", say(sleeve.wall)),
    )
    return Table("Sleeves", ("what", "figure"), rows)


def point_words(beyond: float, say: Callable[[float], str]) -> str:
    """Return how a screw's point lies to the floor's under face; ``beyond`` mm below it."""
    if abs(beyond) < _FLUSH:
        return "just reaches the under face"
    return f"comes out {say(beyond)}" if beyond > 0 else f"stays {say(-beyond)} inside"


def screw_tables(boat: Boat, hardware: Hardware) -> tuple[Table, ...]:
    """Return the wood screws: how they sit, and how others would hold."""
    fit = hardware.screws
    if fit is None:
        return ()
    say = boat.description.figures.size
    rows = [
        ("screw", fit.name),
        ("first set, when new", str(fit.first)),
        ("places of the second set", str(fit.second)),
        ("hole in the plate", say(fit.plate_hole)),
        ("countersink in the plate", f"⌀{say(fit.countersink)}, {say(fit.countersink_deep)} deep, {fit.angle:g}°"),
        ("point below the floor's upper face", say(fit.point_depth)),
        ("point at the under face", point_words(fit.beyond, say)),
        ("thread in the floor", f"{say(fit.thread_in_wood)}, {fit.thread_diameters:.1f} diameters"),
    ]
    if fit.allowable is not None and fit.ultimate is not None:
        rows.append(("drawn out at about, guide only", f"{fit.ultimate:.0f} N; working load {fit.allowable:.0f} N"))
    tables = [Table("Plate screws", ("what", "figure"), tuple(rows))]
    holding = [
        (
            one.name + (" (yours)" if one.chosen else ""),
            say(one.thread_in_wood),
            point_words(one.beyond, say),
            f"{one.withdrawal:.2f}",
            f"{one.sideways:.2f}",
        )
        for one in hardware.holding
    ]
    if holding:
        note = "Shares of your screw's holding, by the Wood Handbook's G² D L and by D²: a guide, not a proof."
        headers = ("screw", "thread in wood", "point", "drawn out", "pushed sideways")
        tables.append(table("One screw against another, best first", headers, holding, note))
    return tuple(tables)


def shopping_table(caption: str, rows: Sequence[ShoppingRow]) -> Table:
    """Return a list of things to buy, with spares, each to be ticked off."""
    full = tuple(
        (row.item, row.size, row.standard, str(row.needed), str(row.spare), str(row.total), row.note) for row in rows
    )
    headers = ("what", "size", "standard", "for the boat", "spare", "get", "note")
    return replace(without_empty(Table(caption, headers, full)), tick="got")


def spares_table(caption: str, rows: Sequence[ShoppingRow]) -> Table:
    """Return the packing list of the spares bag, each to be ticked off."""
    cells = tuple((row.item, row.size, str(row.total), row.note) for row in rows)
    return Table(caption, ("what", "size", "count", "note"), cells, tick="packed")
