"""The job sheet as plain data: sections of a few kinds of blocks. HTML and PDF are made from the same."""

from __future__ import annotations

from dataclasses import dataclass

from templater.drawing.marks import Mark
from templater.plane.shapes import Box


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list without order; each with a source or remark in small type, which may be empty."""

    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbered steps with a box to tick; each with a caution, which may be empty. ``start`` numbers the first."""

    items: tuple[tuple[str, str], ...]
    start: int = 1


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text. The first column heads its row. ``note`` stands below.

    ``tick`` heads a last column with a box to tick in every row; empty for none.
    """

    caption: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    tick: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing in the text: marks in mm within ``box``, u right, v up.

    ``description`` says in words what it shows. ``true_size`` keeps 1:1; else it is fitted to the width and marked
    "not to scale".
    """

    title: str
    description: str
    marks: tuple[Mark, ...]
    box: Box
    true_size: bool = False


Block = Paragraph | Bullets | Steps | Table | Picture


@dataclass(frozen=True, slots=True)
class Section:
    """A headed part of the sheet; ``id`` is its anchor."""

    id: str
    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class JobSheet:
    """The whole sheet. ``facts`` are short pairs for the head: boat, revision, date and so on."""

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    program: str
