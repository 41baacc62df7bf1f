"""The packaged tables: CSV with a head of comments that names standard, edition and what confirms it.

A table is read into records whose fields are its columns: texts as they stand, figures of the row's unit in mm.
"""

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, get_type_hints

from templater.units import UNIT_FACTORS

FOLDER = Path(__file__).parent / "data"
#: Columns of figures that are no lengths.
_NO_LENGTHS = frozenset({"angle", "times"})
_Record = TypeVar("_Record", bound=tuple[Any, ...])


def read_table(name: str, kind: type[_Record]) -> tuple[_Record, ...]:
    """Return the rows of a packaged table as records of a NamedTuple, read once.

    A figure may be a fraction; none is None. Several are separated by blanks, ``1:13:0.5`` is a ladder of them. A field
    ``memory`` holds the names of the figures that are from memory.
    """
    return _records(name, kind)


@cache
def _records(name: str, kind: type[Any]) -> tuple[Any, ...]:
    shapes = get_type_hints(kind)
    figures = frozenset(field for field, shape in shapes.items() if shape is not str and field != "memory")
    records, lines = [], (FOLDER / f"{name}.csv").read_text("utf-8").splitlines()
    for cells in csv.DictReader(line for line in lines if line and not line.startswith("#")):
        factor = UNIT_FACTORS.get(cells.get("unit", "mm"), Fraction(1))
        values: dict[str, Any] = {}
        for field, shape in shapes.items():
            text = cells[field]
            if field == "memory":
                values[field] = figures if text == "all" else frozenset(text.split())
            elif shape is str:
                values[field] = text
            elif shape == tuple[float, ...]:
                values[field] = tuple(_figures(text, factor))
            else:
                values[field] = next(_figures(text, Fraction(1) if field in _NO_LENGTHS else factor), None)
        records.append(kind(**values))
    return tuple(records)


def _figures(text: str, factor: Fraction) -> Iterator[float]:
    """Yield the figures of a cell, those of ladders ``first:last:step`` one by one.

    >>> [*_figures("1/4 2.5 1:2:0.5", Fraction(1))]
    [0.25, 2.5, 1.0, 1.5, 2.0]
    """
    for part in text.split():
        if factor == 1 and not {":", "/"} & set(part):
            yield float(part)  # the same, and much faster
            continue
        first, *rest = (Fraction(bound) for bound in part.split(":"))
        last, step = rest if rest else (first, Fraction(1))
        yield from (float((first + step * number) * factor) for number in range(int((last - first) / step) + 1))


@cache
def paragraphs(path: Path) -> tuple[tuple[str, ...], ...]:
    """Return the paragraphs of a text of the program as lines, but the first, which says how the others are written."""
    return tuple(tuple(paragraph.strip().split("\n")) for paragraph in path.read_text("utf-8").split("\n\n")[1:])


def holds(words: str, figures: Mapping[str, object]) -> bool:
    """Return whether each of some words, ``!`` before those that must not, stands for something among the figures."""
    return all(bool(figures.get(word.removeprefix("!"))) != word.startswith("!") for word in words.split())


def said(lines: Sequence[str], figures: Mapping[str, object]) -> Iterator[str]:
    """Yield those lines whose words in brackets hold, with their figures."""
    for line in lines:
        words, _, rest = line[1:].partition(") ") if line.startswith("(") else ("", "", line)
        if holds(words, figures):
            yield rest.format_map(figures)


def unknown(what: str, asked: str, known: Iterable[str]) -> KeyError:
    """Return the error of a look-up that names what is known."""
    return KeyError(f"{asked}: not a known {what}; known are {', '.join(dict.fromkeys(known))}")
