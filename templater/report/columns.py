"""Making tables short: units once in the heading, runs of ids, equal rows said together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from templater.report.blocks import Table
from templater.units import Figures, length_text

#: A figure with its unit: mm, mm with inches beside it, or degrees.
_FIGURE = re.compile(r"([+-]?[0-9]+(?:\.[0-9]+)?)(?: (mm)(?: \(([0-9 ./-]+) in\))?|(°))")
_ID = re.compile(r"(.*?)([0-9]+)")
#: What a cell says where there is no figure.
NOTHING = "none"


def table(caption: str, headers: Sequence[str], rows: Iterable[Sequence[str]], note: str = "") -> Table:
    """Return a table in which a unit common to a whole column stands in its heading, not in every cell."""
    full = [list(row) for row in rows]
    heads = list(headers)
    for number in range(1, len(heads)):
        unit = _common_unit([row[number] for row in full])
        if unit:
            heads[number] += f", {unit}"
            for row in full:
                row[number] = _bare(row[number])
    return Table(caption, tuple(heads), tuple(tuple(row) for row in full), note)


def _common_unit(cells: Sequence[str]) -> str:
    """Return the unit that all figures of a column share; empty if there are none or other texts among them."""
    units = set()
    for cell in cells:
        match = _FIGURE.fullmatch(cell)
        if match:
            units.add("°" if match[4] else "mm (in)" if match[3] else "mm")
        elif cell != NOTHING:
            return ""
    return units.pop() if len(units) == 1 else ""


def _bare(cell: str) -> str:
    match = _FIGURE.fullmatch(cell)
    if match is None:
        return cell
    return f"{match[1]} ({match[3]})" if match[3] else match[1]


def without_empty(table: Table) -> Table:
    """Return the table less the columns, but the first, in which every cell says that there is nothing."""
    kept = [
        number
        for number in range(len(table.headers))
        if number == 0 or any(row[number] not in ("", NOTHING) for row in table.rows)
    ]
    headers = tuple(table.headers[number] for number in kept)
    rows = tuple(tuple(row[number] for number in kept) for row in table.rows)
    return replace(table, headers=headers, rows=rows)


def figure(value: float | None, units: str | Figures) -> str:
    """Return a length to 0.1 mm, for boats in inches with the nearest 1/32 in beside it, or as asked."""
    if value is None:
        return NOTHING
    return length_text(value, units)


def change(value: float | None, units: str | Figures) -> str:
    """Return by how much a length changes, with its sign: in mm, or in inches where they stand alone."""
    if value is None:
        return NOTHING
    if isinstance(units, Figures) and units.system == "in":
        return f"{'-' if value < 0 else '+'}{units.length(abs(value))}"
    return f"{value:+.1f} mm"


def ids_text(ids: Sequence[str]) -> str:
    """Return hole ids for a cell, those that count on as a run.

    >>> ids_text(["P1", "S1", "P2", "S2", "KP", "P1a1", "P1a2", "P1a4"])
    'P1..2, S1..2, KP, P1a1..2, P1a4'
    """
    stems: dict[str, list[int]] = {}
    for name in ids:
        match = _ID.fullmatch(name)
        stem, number = (match[1], int(match[2])) if match else (name, 0)
        stems.setdefault(stem, []).append(number)
    texts: list[str] = []
    for stem, numbers in stems.items():
        texts += [stem] if numbers == [0] else [f"{stem}{run}" for run in _runs(sorted(numbers))]
    return ", ".join(texts)


def _runs(numbers: Sequence[int]) -> list[str]:
    """Return numbers as text, runs of two or more as first and last."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return [str(first) if first == last else f"{first}..{last}" for first, last in runs]


def merged(rows: Iterable[Sequence[str]], joint: str = ", ") -> list[tuple[str, ...]]:
    """Return rows that differ in their first cell alone as one, the first cells joined, in order of appearance."""
    together: dict[tuple[str, ...], list[str]] = {}
    for first, *rest in rows:
        together.setdefault(tuple(rest), []).append(first)
    return [(joint.join(dict.fromkeys(firsts)), *rest) for rest, firsts in together.items()]
