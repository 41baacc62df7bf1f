"""Reading the packaged tables: CSV with a head of comments that names standard, edition and what confirms it."""

from __future__ import annotations

import csv
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import NamedTuple

from templater.units import UNIT_FACTORS

_FOLDER = Path(__file__).parent / "data"


class Row(NamedTuple):
    """One row of a table: cells by column name, and the columns whose figures are from memory."""

    cells: dict[str, str]
    memory: frozenset[str]

    def text(self, column: str) -> str:
        """Return a cell as it stands."""
        return self.cells[column]

    def number(self, column: str) -> float:
        """Return a cell without a unit as a number; ``nan`` when it is empty."""
        return float(Fraction(self.cells[column])) if self.cells[column] else float("nan")

    def length(self, column: str) -> float:
        """Return a cell in the row's unit as mm; ``nan`` when it is empty."""
        return to_mm(self.cells[column], self.cells.get("unit", "mm")) if self.cells[column] else float("nan")

    def lengths(self, column: str) -> tuple[float, ...]:
        """Return a cell of several lengths, or of ladders ``first:last:step``, as mm, ascending."""
        unit = self.cells.get("unit", "mm")
        found: list[float] = []
        for part in self.cells[column].split():
            first, *rest = (Fraction(bound) for bound in part.split(":"))
            last, step = rest if rest else (first, Fraction(1))
            steps = int((last - first) / step)
            found += [float((first + step * number) * UNIT_FACTORS[unit]) for number in range(steps + 1)]
        return tuple(found)


def to_mm(text: str, unit: str) -> float:
    """Return a number or fraction of a unit as mm."""
    return float(Fraction(text) * UNIT_FACTORS[unit])


@cache
def read_table(name: str) -> tuple[Row, ...]:
    """Return the rows of a packaged table.

    Args:
        name: file name without its ending, ``washers``.
    """
    lines = [line for line in _file(name).splitlines() if line and not line.startswith("#")]
    rows = []
    for cells in csv.DictReader(lines):
        from_memory = cells.pop("memory").split()
        columns = [column for column in cells if column not in _NAMES] if from_memory == ["all"] else from_memory
        rows.append(Row(cells, frozenset(columns)))
    return tuple(rows)


#: Columns that name a row; they are not figures.
_NAMES = frozenset({"standard", "kind", "head", "thread", "threaded", "unit", "name"})


def _file(name: str) -> str:
    """Return a packaged table's text."""
    return (_FOLDER / f"{name}.csv").read_text("utf-8")


def unknown(what: str, asked: object, known: tuple[str, ...] | list[str]) -> KeyError:
    """Return the error of a look-up that names what is known."""
    return KeyError(f"{asked}: not a known {what}; known are {', '.join(known)}")
