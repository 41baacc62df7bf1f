"""What a report is made of, as plain data: a sheet of sections, and in them texts, lists, steps, tables and pictures.

Page, PDF, terminal and ``--json`` show the same. A table is made once of values in mm and degrees, never of text made
of them; how they are written follows from the boat's figures when it is shown. A column that holds one kind of quantity
says so and has its unit in its head; a cell that differs from its column is a ``Quantity`` and carries its own unit.

>>> steps = Table("settings", "Settings", (Column("setting"), Column("bolt line", "length")), ((1, 2285.0), (2, None)))
>>> shown(steps, Figures()).heads, shown(steps, Figures()).rows
(('setting', 'bolt line, mm'), (('1', '2285.0'), ('2', '–')))
>>> lines(steps, Figures("in"))
['Settings', '  setting  bolt line, in', '        1       89 31/32', '        2              –']
"""

import re
from collections.abc import Callable, Iterable, Sequence
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

from templater.drawing.marks import Mark
from templater.plane.shapes import Box
from templater.standards.tables import paragraphs
from templater.units import Figures, mm_text, without_units

#: What a cell says where there is no figure.
NOTHING = "–"
_ID = re.compile(r"(.*?)([0-9]+)")
#: Kinds of figures that are no lengths, with their units in ``--json``; the others are methods of ``Figures``.
_OTHER_UNITS = {"angle": "°", "text": "", "share": "", "number": "", "d": ""}


class Quantity(NamedTuple):
    """A figure that carries its own unit: a value in mm, degrees or as a share, and its kind as of a ``Column``."""

    value: float
    kind: str = "length"
    decimals: int | None = None
    before: str = ""  # said with it: ``stays 2 mm inside``
    after: str = ""  # ``5 mm, 3.5 pitches``


#: What a cell may hold: text, a count, a figure, nothing, or the ids of holes.
Value = str | int | float | None | Quantity | tuple[str, ...]


class Column(NamedTuple):
    """A column: its head, the kind of its figures, and decimals where not as usual."""

    head: str
    kind: str = "text"  # or angle, share, number, d (of the diameter), or a method of ``Figures`` that writes lengths
    decimals: int | None = None


class Table(NamedTuple):
    """A table of values; the first column heads its row."""

    key: str  # its name for programs
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]
    note: str = ""
    tick: str = ""  # head of a last column with a box to tick in every row
    cards: bool = False  # each row is set as a card on a narrow screen

    def without_empty(self) -> "Table":
        """Return the table less the columns, but the first, in which no row says anything."""
        kept = [n for n in range(len(self.columns)) if not n or any(row[n] not in (None, "", ()) for row in self.rows)]
        return self._replace(
            columns=tuple(self.columns[number] for number in kept),
            rows=tuple(tuple(row[number] for number in kept) for row in self.rows),
        )


class Bullets(NamedTuple):
    """A list without order; each with a source or remark in small type, which may be empty."""

    items: tuple[tuple[str, str], ...]


class Steps(NamedTuple):
    """Numbered steps with a box to tick; each with a caution, which may be empty."""

    items: tuple[tuple[str, str], ...]


class Picture(NamedTuple):
    """A drawing in the text: marks in mm within ``box``, u right, v up."""

    title: str
    description: str  # what it shows, in words
    marks: tuple[Mark, ...]
    box: Box
    true_size: bool = False  # kept at 1:1; else fitted to the width and marked "not to scale"


#: A text is a paragraph.
Block = str | Bullets | Steps | Table | Picture


class Section(NamedTuple):
    """A headed part of the sheet; ``id`` is its anchor."""

    id: str
    heading: str
    blocks: tuple[Block, ...]


class JobSheet(NamedTuple):
    """The whole sheet."""

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]  # short pairs for the head
    sections: tuple[Section, ...]
    program: str
    figures: Figures = Figures()  # how its lengths are written
    card: int = 0  # so many first sections hang over the bench: two pages in print, whose ticks a browser keeps


def items(texts: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Return texts as the items of a list or of steps, nothing said beside them."""
    return tuple((text, "") for text in texts)


def table(key: str, rows: Iterable[Any], **told: str) -> Table:
    """Return a table as ``tables.txt`` declares it; ``told`` is what stands in its braces.

    A table whose rows have their labels there gets the rows' values alone; a row without one is left out.
    """
    form, labels, how = _forms()[key]
    if labels:
        labelled = zip(labels, rows, strict=True)
        rows = ((label.head.format(**told), _valued(one, label)) for label, one in labelled if one is not None)
    rows = merged(rows) if "merged" in how else tuple(rows)
    columns = tuple(one._replace(head=one.head.format(**told)) for one in form.columns)
    made = Table(key, form.caption.format(**told), columns, rows, form.note.format(**told), *form[5:])
    return made.without_empty() if "less" in how else made


def _valued(value: Value, label: Column) -> Value:
    return Quantity(value, *label[1:]) if isinstance(value, int | float) and label.kind != "text" else value


def value_of(value: str | float | None, length: bool, kind: str = "size", decimals: int = 4) -> Value:
    """Return a value of the description for a cell, a length as a figure of some kind, others as written in YAML."""
    if value is None:
        return "not given"
    if isinstance(value, float):
        return Quantity(value, kind, decimals) if length else f"{value + 0.0:.4f}".rstrip("0").rstrip(".")
    return str(value).lower() if isinstance(value, bool) else value


@cache
def _forms() -> dict[str, tuple[Table, tuple[Column, ...], list[str]]]:
    """Return the tables of ``tables.txt`` by key, without rows, the labels of rows, and how each is set."""
    forms = {}
    for head, *rest in paragraphs(Path(__file__).with_name("tables.txt")):
        lines: dict[str, list[str]] = {"- ": [], "= ": [], "": []}
        for line in rest:
            mark = line[:2] if line[:2] in lines else ""
            lines[mark].append(line.removeprefix(mark))
        caption = "" if rest[0].startswith("- ") else lines[""].pop(0)
        key, *how = head.split("; ")
        tick = next((word.removeprefix("tick: ") for word in how if word.startswith("tick: ")), "")
        columns, labels = (tuple(map(_column, lines[mark])) for mark in ("- ", "= "))
        made = Table(key, caption, columns, (), " ".join(lines[""]), tick, "cards" in how)
        forms[key] = made, labels, how
    return forms


def _column(text: str) -> Column:
    """Return a column written as ``head``, ``head: kind`` or ``head: kind decimals``."""
    head, _, rest = text.rpartition(": ")
    kind, _, decimals = rest.partition(" ") if head else ("text", "", "")
    return Column(head or text, kind, int(decimals) if decimals else None)


class Shown(NamedTuple):
    """A table as text; ``figures`` says of each column whether it holds figures, which are set to the right."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: tuple[bool, ...] = ()
    note: str = ""
    tick: str = ""


def text(value: Value, figures: Figures, kind: str = "text", decimals: int | None = None) -> str:
    """Return a value with its unit."""
    if value is None:
        return NOTHING
    if isinstance(value, Quantity):
        return value.before + text(value.value, figures, value.kind, value.decimals) + value.after
    if isinstance(value, str) or (kind == "text" and isinstance(value, int | float)):
        return str(value)
    if not isinstance(value, int | float):
        return ids_text(value)
    if kind == "radius":
        return figures.radius(value)
    places = decimals if decimals is not None else 2 if kind in ("fine", "angle") else 1
    if kind == "share":
        return f"{value:.{places}%}"
    if kind in _OTHER_UNITS:
        return mm_text(value, places) + {"angle": "°", "d": " d"}.get(kind, "")
    write: Callable[[float, int], str] = getattr(figures, kind)
    return write(value, places)


def _unit(kind: str, figures: Figures) -> str:
    """Return the unit that stands in a column's head."""
    if kind in ("length", "signed", "fine"):
        return figures.unit
    if kind == "size" and figures.system == "mm":
        return "mm"
    return "°" if kind == "angle" else ""


@lru_cache(maxsize=256)  # page, PDF and every size of the card ask for the same
def shown(table: Table, figures: Figures) -> Shown:
    """Return the table as text in a boat's figures: what page, PDF and terminal set."""
    units = [_unit(column.kind, figures) for column in table.columns]

    def cell(value: Value, column: Column, unit: str) -> str:
        words = text(value, figures, column.kind, column.decimals)
        return without_units(words).removesuffix("°") if unit and isinstance(value, int | float) else words

    return Shown(
        table.caption,
        tuple(f"{c.head}, {unit}" if unit else c.head for c, unit in zip(table.columns, units, strict=True)),
        tuple(tuple(cell(*one) for one in zip(row, table.columns, units, strict=True)) for row in table.rows),
        tuple(
            all(row[number] is None or isinstance(row[number], int | float) for row in table.rows)
            for number in range(len(units))
        ),
        table.note,
        table.tick,
    )


def lines(block: Block, figures: Figures) -> list[str]:
    """Return a block for the terminal, a table with its figures to the right; a picture is left out."""
    if isinstance(block, str):
        return [block]
    if isinstance(block, Bullets | Steps):
        return [f"  {text}" for text, _ in block.items]
    if isinstance(block, Picture):
        return []
    caption, heads, rows, numeric, note, _ = shown(block, figures)
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]

    def line(cells: Sequence[str]) -> str:
        set_ = (
            one.rjust(wide) if right else one.ljust(wide)
            for one, wide, right in zip(cells, widths, numeric, strict=True)
        )
        return f"  {'  '.join(set_)}".rstrip()

    # What and how much: such a list needs no head.
    head = [] if len(heads) == 2 and not any(numeric) else [line(heads)]
    return [*([caption] if caption else []), *head, *map(line, rows), *([f"  {note}"] if note else [])]


def job_sheet_data(sheet: JobSheet) -> dict[str, Any]:
    """Return the job sheet as plain data for JSON; a block's ``kind`` is text, list, steps, table or picture."""
    return {
        "title": sheet.title,
        "subtitle": sheet.subtitle,
        "facts": dict(sheet.facts),
        "sections": [
            {"id": section.id, "heading": section.heading, "blocks": [data(block) for block in section.blocks]}
            for section in sheet.sections
        ],
        "program": sheet.program,
    }


def data(block: Block) -> dict[str, Any]:
    """Return a block for programs: lengths in mm, angles in degrees, nothing as null; what is empty is left out.

    >>> data(Table("settings", "", (Column("bolt line", "length"),), ((2285.0,), (None,))))["rows"]
    [[2285.0], [None]]
    """
    if isinstance(block, str):
        return {"kind": "text", "text": block}
    if isinstance(block, Picture):
        return {"kind": "picture", "title": block.title, "shows": block.description, "true_size": block.true_size}
    if isinstance(block, Bullets):
        return {"kind": "list", "items": [_filled(text=text, remark=remark) for text, remark in block.items]}
    if isinstance(block, Steps):
        steps = enumerate(block.items, 1)
        return {"kind": "steps", "steps": [_filled(number=n, text=text, caution=care) for n, (text, care) in steps]}
    return {
        "kind": "table",
        "key": block.key,
        "caption": block.caption,
        "columns": [{"head": one.head, "unit": _OTHER_UNITS.get(one.kind, "mm")} for one in block.columns],
        "rows": [[_plain(value) for value in row] for row in block.rows],
        "note": block.note,
    }


def _filled(**words: object) -> dict[str, Any]:
    return {key: word for key, word in words.items() if word != ""}


def _plain(value: Value) -> Any:
    if isinstance(value, Quantity):
        figure = {"value": round(value.value, 6) + 0.0, "unit": _OTHER_UNITS.get(value.kind, "mm")}
        return figure | _filled(before=value.before, after=value.after)
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
        stems.setdefault(match[1] if match else name, []).append(int(match[2]) if match else 0)
    texts: list[str] = []
    for stem, numbers in stems.items():
        # Numbers of a run are all as far ahead of their places.
        for _, run in groupby(enumerate(sorted(numbers)), lambda one: one[1] - one[0]):
            first, *rest = (number for _, number in run)
            texts.append(f"{stem}{first}..{rest[-1]}" if rest else f"{stem}{first or ''}")
    return ", ".join(texts)


def merged(rows: Iterable[tuple[Value, ...]]) -> tuple[tuple[Value, ...], ...]:
    """Return rows that differ in their first cell alone as one, the first cells joined, in order of appearance."""
    together: dict[tuple[Value, ...], list[str]] = {}
    for first, *rest in rows:
        together.setdefault(tuple(rest), []).append(str(first))
    return tuple((", ".join(dict.fromkeys(firsts)), *rest) for rest, firsts in together.items())
