"""Marks onto a page that somebody else lays out, for pictures in the job sheet's PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from templater.drawing.marks import Mark
from templater.writers.marks_to_pdf import Content
from templater.writers.pdf import FACES, _binary_streams, encoder, register_faces


def faces() -> tuple[str, str]:
    """Return the names of the regular and bold face, registered for use by the PDF library."""
    register_faces()
    return FACES


def draw_marks(canvas: Canvas, marks: Sequence[Mark]) -> None:
    """Draw marks, mm from the canvas's present origin."""
    document: Any = vars(canvas)["_doc"]
    content = Content(encoder(document))
    content.add(marks)
    canvas.addLiteral(content.text())


def finish(canvas: Canvas) -> None:
    """Write the document that a canvas belongs to, its streams compressed but without text armour."""
    with _binary_streams():
        canvas.save()
