"""The job sheet as plain data: sections of a few kinds of blocks. Page, PDF, terminal and ``--json`` show the same."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from templater.drawing.marks import Mark
from templater.plane.shapes import Box
from templater.report.table import Table, data, lines
from templater.units import Figures


class Paragraph(NamedTuple):
    """Running text."""

    text: str


class Bullets(NamedTuple):
    """A list without order; each with a source or remark in small type, which may be empty."""

    items: tuple[tuple[str, str], ...]


class Steps(NamedTuple):
    """Numbered steps with a box to tick; each with a caution, which may be empty."""

    items: tuple[tuple[str, str], ...]


class Picture(NamedTuple):
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


class Section(NamedTuple):
    """A headed part of the sheet; ``id`` is its anchor."""

    id: str
    heading: str
    blocks: tuple[Block, ...]


class JobSheet(NamedTuple):
    """The whole sheet.

    ``facts`` are short pairs for the head; ``figures`` say how its lengths are written; the first ``card`` sections
    are the card to pin over the bench, two pages in print, whose ticks a browser keeps.
    """

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    program: str
    figures: Figures = Figures()
    card: int = 0

    @property
    def blocks(self) -> Iterator[Block]:
        """Every block, in order."""
        return (block for section in self.sections for block in section.blocks)


def block_lines(block: Block, figures: Figures) -> list[str]:
    """Return a block for the terminal; a picture is left out."""
    if isinstance(block, Table):
        return lines(block, figures)
    if isinstance(block, Paragraph):
        return [block.text]
    return [] if isinstance(block, Picture) else [f"  {text}" for text, _ in block.items]


def job_sheet_data(sheet: JobSheet) -> dict[str, Any]:
    """Return the job sheet as dicts, lists, texts and numbers, fit for JSON; the same sheet gives the same data.

    Every block has a ``kind``: ``text``, ``list``, ``steps``, ``table`` or ``picture``; a picture is given by what it
    shows, not by its lines.
    """
    return {
        "title": sheet.title,
        "subtitle": sheet.subtitle,
        "facts": dict(sheet.facts),
        "sections": [
            {"id": section.id, "heading": section.heading, "blocks": [_data(block) for block in section.blocks]}
            for section in sheet.sections
        ],
        "program": sheet.program,
    }


def _data(block: Block) -> dict[str, Any]:
    """Return one block; texts that are empty are left out of lists and steps."""
    if isinstance(block, Table):
        return data(block)
    if isinstance(block, Paragraph):
        return {"kind": "text", "text": block.text}
    if isinstance(block, Picture):
        return {"kind": "picture", "title": block.title, "shows": block.description, "true_size": block.true_size}
    if isinstance(block, Bullets):
        items = [{"text": text, **({"remark": remark} if remark else {})} for text, remark in block.items]
        return {"kind": "list", "items": items}
    steps = [
        {"number": number, "text": text, **({"caution": caution} if caution else {})}
        for number, (text, caution) in enumerate(block.items, 1)
    ]
    return {"kind": "steps", "steps": steps}
