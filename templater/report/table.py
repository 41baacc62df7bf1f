"""One table for everything: made once of values, shown on the page, in the PDF, on the terminal and as data.

A table holds values in mm and degrees, never text made of them; how they are written follows from the boat's figures
when it is shown. A column that holds one kind of quantity says so and has its unit in its head; a cell that differs
from its column, as in a table of what and how much, is a ``Quantity`` and carries its own unit.

>>> steps = Table("settings", "Settings", (Column("setting"), Column("bolt line", "length")), ((1, 2285.0), (2, None)))
>>> shown(steps, Figures()).heads, shown(steps, Figures()).rows
(('setting', 'bolt line, mm'), (('1', '2285.0'), ('2', '–')))
>>> lines(steps, Figures("in"))
['Settings', '  setting  bolt line, in', '        1       89 31/32', '        2              –']
>>> data(steps)["rows"]
[[1, 2285.0], [2, None]]
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from templater.units import Figures, mm_text, without_units

#: What a cell says where there is no figure.
NOTHING = "–"
_ID = re.compile(r"(.*?)([0-9]+)")


class Quantity(NamedTuple):
    """A figure that carries its own unit: a value in mm, degrees or as a share, and a key of ``KINDS``.

    ``before`` and ``after`` are said with it, such as ``stays 2 mm inside`` or ``5 mm, 3.5 pitches``.
    """

    value: float
    kind: str = "length"
    decimals: int | None = None
    before: str = ""
    after: str = ""


#: What a cell may hold: text, a count, a figure, nothing, or the ids of holes.
Value = str | int | float | None | Quantity | tuple[str, ...]


class Column(NamedTuple):
    """A column: its head, the kind of its figures (a key of ``KINDS``, or text), and decimals where not as usual."""

    head: str
    kind: str = "text"
    decimals: int | None = None


def columns(*texts: str) -> tuple[Column, ...]:
    """Return columns written as ``head``, ``head: kind`` or ``head: kind decimals``.

    >>> columns("setting", "turn: angle 3")
    (Column(head='setting', kind='text', decimals=None), Column(head='turn', kind='angle', decimals=3))
    """
    found = []
    for one in texts:
        head, _, rest = one.partition(": ")
        kind, _, decimals = rest.partition(" ")
        found.append(Column(head, kind or "text", int(decimals) if decimals else None))
    return tuple(found)


class Table(NamedTuple):
    """A table of values; the first column heads its row.

    With ``tick`` a last column of that head has a box to tick in every row; with ``cards`` each row is set as a card on
    a narrow screen; ``key`` is its name for programs.
    """

    key: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]
    note: str = ""
    tick: str = ""
    cards: bool = False

    def without_empty(self) -> Table:
        """Return the table less the columns, but the first, in which no row says anything."""
        kept = [n for n in range(1, len(self.columns)) if any(row[n] not in (None, "", ()) for row in self.rows)]
        return self._replace(
            columns=tuple(self.columns[number] for number in (0, *kept)),
            rows=tuple(tuple(row[number] for number in (0, *kept)) for row in self.rows),
        )


#: What and how much.
WHAT = columns("what", "figure")


class Shown(NamedTuple):
    """A table as text; ``figures`` says of each column whether it holds figures, which are set to the right."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: tuple[bool, ...] = ()
    note: str = ""
    tick: str = ""


#: How each kind of figure is written: value, the boat's figures, decimals.
KINDS: dict[str, tuple[Callable[[float, Figures, int], str], int]] = {
    "length": (lambda value, figures, decimals: figures.length(value, decimals), 1),
    "signed": (lambda value, figures, decimals: figures.signed(value, decimals), 1),
    "size": (lambda value, figures, decimals: figures.size(value, decimals), 1),
    "diameter": (lambda value, figures, decimals: figures.diameter(value, decimals), 1),
    "fine": (lambda value, figures, decimals: figures.fine(value, decimals), 2),
    "radius": (lambda value, figures, _: figures.radius(value), 2),
    "angle": (lambda value, _, decimals: f"{mm_text(value, decimals)}°", 2),
    "share": (lambda value, _, decimals: f"{value:.{decimals}%}", 1),
    "number": (lambda value, _, decimals: mm_text(value, decimals), 1),
    "d": (lambda value, _, decimals: f"{value:.{decimals}f} d", 1),
}
#: Kinds that have their unit in the head of their column.
_IN_HEAD = ("length", "signed", "fine")
#: Units of the kinds that are no lengths.
_OTHER_UNITS = {"angle": "°", "text": "", "share": "", "number": "", "d": ""}


def text(value: Value, figures: Figures, kind: str = "text", decimals: int | None = None) -> str:
    """Return a value with its unit."""
    if value is None:
        return NOTHING
    if isinstance(value, Quantity):
        return value.before + text(value.value, figures, value.kind, value.decimals) + value.after
    if isinstance(value, str | int | float):
        if isinstance(value, str) or kind == "text":
            return str(value)
    else:
        return ids_text(value)
    write, usual = KINDS[kind]
    return write(float(value), figures, usual if decimals is None else decimals)


def _unit(column: Column, figures: Figures) -> str:
    """Return the unit that stands in a column's head."""
    if column.kind in _IN_HEAD:
        return figures.unit
    if column.kind == "angle":
        return "°"
    return "mm" if column.kind == "size" and figures.system == "mm" else ""


@lru_cache(maxsize=256)  # page, PDF and every size of the card ask for the same
def shown(table: Table, figures: Figures) -> Shown:
    """Return the table as text in a boat's figures: what page, PDF and terminal set."""
    units = [_unit(column, figures) for column in table.columns]
    heads = tuple(f"{c.head}, {unit}" if unit else c.head for c, unit in zip(table.columns, units, strict=True))

    def cell(value: Value, column: Column, unit: str) -> str:
        words = text(value, figures, column.kind, column.decimals)
        if unit and isinstance(value, int | float):
            return without_units(words).removesuffix("°")
        return words

    rows = tuple(tuple(cell(*one) for one in zip(row, table.columns, units, strict=True)) for row in table.rows)
    numeric = tuple(
        all(row[number] is None or isinstance(row[number], int | float) for row in table.rows)
        for number in range(len(table.columns))
    )
    return Shown(table.caption, heads, rows, numeric, table.note, table.tick)


def lines(table: Table, figures: Figures) -> list[str]:
    """Return the table for the terminal: caption, head, rows, note; figures to the right."""
    caption, heads, rows, numeric, note, _ = shown(table, figures)
    widths = [max(len(row[number]) for row in (heads, *rows)) for number in range(len(heads))]

    def line(cells: Sequence[str]) -> str:
        set_ = (
            one.rjust(wide) if right else one.ljust(wide)
            for one, wide, right in zip(cells, widths, numeric, strict=True)
        )
        return f"  {'  '.join(set_)}".rstrip()

    # What and how much: such a list needs no head.
    head = [] if len(heads) == 2 and not any(numeric) else [line(heads)]
    return [*([caption] if caption else []), *head, *map(line, rows), *([f"  {note}"] if note else [])]


def data(table: Table) -> dict[str, Any]:
    """Return the table for programs: lengths in mm, angles in degrees, nothing as null."""
    return {
        "kind": "table",
        "key": table.key,
        "caption": table.caption,
        "columns": [{"head": one.head, "unit": _OTHER_UNITS.get(one.kind, "mm")} for one in table.columns],
        "rows": [[_plain(value) for value in row] for row in table.rows],
        "note": table.note,
    }


def _plain(value: Value) -> Any:
    if isinstance(value, Quantity):
        words = {key: word for key, word in (("before", value.before), ("after", value.after)) if word}
        return {"value": round(value.value, 6) + 0.0, "unit": _OTHER_UNITS.get(value.kind, "mm"), **words}
    if isinstance(value, tuple):
        return list(value)
    return round(value, 6) + 0.0 if isinstance(value, float) else value


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


def merged(rows: Iterable[tuple[Value, ...]]) -> tuple[tuple[Value, ...], ...]:
    """Return rows that differ in their first cell alone as one, the first cells joined, in order of appearance."""
    together: dict[tuple[Value, ...], list[str]] = {}
    for first, *rest in rows:
        together.setdefault(tuple(rest), []).append(str(first))
    return tuple((", ".join(dict.fromkeys(firsts)), *rest) for rest, firsts in together.items())
