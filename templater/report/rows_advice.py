"""Tables of the job sheet that advise: the wood's guides, and how good the drilled boat will be."""

from __future__ import annotations

from collections.abc import Sequence

from templater.accuracy.budget import Budget
from templater.accuracy.report import AccuracyReport
from templater.accuracy.wording import chance_text
from templater.boat.solved import Boat
from templater.checks.wood import SECTION, WoodAdvice
from templater.report.blocks import Table
from templater.report.columns import NOTHING, ids_text, merged, table

_SECTION = ("holes", "section", "hole", "section modulus left", "if the plug bears nothing", "plug's wall")
_MOVEMENT = ("what", "over", "moves, mm", "note")
_LIMIT = ("setting", "inside the greatest distance", "uncertainty", "chance of exceeding it", "largest part")


def wood_tables(boat: Boat, advice: WoodAdvice) -> tuple[Table, ...]:
    """Return the wood's guides."""
    say = boat.description.figures.size
    tables = []
    row = advice.section
    if row is not None:
        cells = (
            ids_text(row.ids),
            f"{say(row.width)} x {say(row.thickness)}",
            say(row.hole),
            f"{row.left:.1%}",
            "solid" if row.left_without_plug is None else f"{row.left_without_plug:.1%}",
            NOTHING if row.plug_wall is None else say(row.plug_wall),
        )
        tables.append(table("Plank at the bolts", _SECTION, [cells], f"Source: {SECTION}."))
    if advice.guides:
        tables.append(_spacings(boat, advice))
    if advice.movements:
        moves = [
            (
                f"{move.part}: {move.what}",
                say(move.width),
                f"{move.least:.2f} to {move.greatest:.2f}",
                f"the sleeves' play takes up {say(move.play)} of it before the bolts bind" if move.play else "",
            )
            for move in advice.movements
        ]
        sources = "; ".join(dict.fromkeys(move.source for move in advice.movements))
        tables.append(table("Movement with moisture", _MOVEMENT, moves, f"Source: {sources}."))
    return tuple(tables)


def _spacings(boat: Boat, advice: WoodAdvice) -> Table:
    """Return the distances held against published guides, the sources by letter below."""
    say = boat.description.figures.size
    sources = list(dict.fromkeys(row.guide.source for row in advice.guides))
    rows = [
        (
            f"{row.guide.what} {row.guide.way}",
            say(row.measured),
            f"{row.diameters:.1f} d",
            say(row.guide.least),
            "kept" if row.met else "NOT kept",
            chr(ord("a") + sources.index(row.guide.source)),
        )
        for row in advice.guides
    ]
    named = "; ".join(f"{chr(ord('a') + number)} {source}" for number, source in enumerate(sources))
    headers = ("fastener", "here", "diameters", "guide", "kept?", "source")
    return table("Spacing guides for wood", headers, rows, f"Advice, not limits. Sources: {named}.")


def accuracy_tables(report: AccuracyReport) -> tuple[Table, ...]:
    """Return the error budget: how good the drilled boat will be, one standard deviation."""
    rows = _together((*report.leads, *report.yaws, *report.tapes, *report.pairs))
    note = "One standard deviation; two of them cover about 95 of 100 boats. Sources and their origin stand below."
    tables = [Table("How good the drilled boat will be", ("what", "uncertainty", "largest part"), rows, note)]
    if report.limits:
        limits = merged(
            (str(row.setting), f"{row.margin:.1f} mm", f"{row.sigma:.2f} mm", chance_text(row.chance), row.largest)
            for row in report.limits
        )
        tables.append(table("The rule's limit", _LIMIT, limits))
    if report.improvements:
        helps = [(row.text, f"{row.before:.2f} mm", f"{row.after:.2f} mm") for row in report.improvements[:6]]
        caption = "What helps most (uncertainty of one runner's lead)"
        tables.append(table(caption, ("change", "before", "after"), helps))
    sources = tuple((one.name, f"{one.sigma:.4g} {one.unit}", one.origin) for one in report.sources.items)
    tables.append(Table("Sources of error", ("source", "one standard deviation", "origin"), sources))
    return tuple(tables)


def _together(budgets: Sequence[Budget]) -> tuple[tuple[str, ...], ...]:
    """Return budgets of one kind and largest part as one row, with the range of their uncertainties.

    A budget is called ``yaw, setting 1`` or ``P1 to S1, across``.
    """
    groups: dict[tuple[str, str, str], list[tuple[str, float]]] = {}
    for one in budgets:
        first, _, last = one.what.rpartition(", ")
        kind, member = (first, last) if last.startswith("setting ") else (last, first)
        groups.setdefault((kind, one.unit, one.largest), []).append((member, one.sigma))
    return tuple(
        (f"{kind}: {_members([name for name, _ in members])}", _range([sigma for _, sigma in members], unit), largest)
        for (kind, unit, largest), members in groups.items()
    )


def _members(names: Sequence[str]) -> str:
    if all(name.startswith("setting ") for name in names) and len(names) > 1:
        return "settings " + ", ".join(name.removeprefix("setting ") for name in names)
    return ", ".join(names)


def _range(sigmas: Sequence[float], unit: str) -> str:
    least, most = f"{min(sigmas):.2f}", f"{max(sigmas):.2f}"
    return f"{most} {unit}" if least == most else f"{least} to {most} {unit}"
