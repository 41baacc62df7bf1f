"""The job sheet as PDF, from the same sections as the page."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from templater.drawing.marks import Anchor, Group, Mark, Text
from templater.report.blocks import Bullets, JobSheet, Paragraph, Steps
from templater.report.layout import MARGIN, Placed, lay_out
from templater.report.table import Table, shown
from templater.report.typeset import SMALL
from templater.standards.typeface import check_letters
from templater.units import POINTS_PER_MM as MM
from templater.writers.pdf import draw_marks, faces, finish


def job_sheet_pdf(sheet: JobSheet, paper: tuple[float, float]) -> bytes:
    """Return the job sheet on upright pages of ``paper`` (width, height in mm). Same sheet, same bytes.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    check_letters(_texts(sheet), "job sheet")
    out = io.BytesIO()
    face: Any = faces()[0]  # typed as a number in the library's stubs
    size = (paper[0] * MM, paper[1] * MM)
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1, initialFontName=face, lang="en")
    canvas.setTitle(sheet.title)
    canvas.setCreator(sheet.program)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    pages = lay_out(sheet, paper)
    for number, page in enumerate(pages, 1):
        for placed in page:
            _place(canvas, placed)
        draw_marks(canvas, _foot(sheet, f"page {number} of {len(pages)}", paper[0]))
        canvas.showPage()
    finish(canvas)
    return out.getvalue()


def _foot(sheet: JobSheet, page: str, wide: float) -> tuple[Mark, ...]:
    text = f"{sheet.title} · {sheet.program}"
    return (
        Text((MARGIN, MARGIN), text, SMALL, Group.FRAME),
        Text((wide - MARGIN, MARGIN), page, SMALL, Group.FRAME, Anchor.END),
    )


def _place(canvas: Canvas, placed: Placed) -> None:
    """Draw a piece and those in it; nothing but the card's text and a picture that is made to fit is scaled."""
    piece, picture = placed.piece, placed.piece.picture
    canvas.saveState()
    canvas.translate(placed.left * MM, placed.top * MM)
    if placed.scale != 1.0:
        canvas.scale(placed.scale, placed.scale)
    if piece.bookmark:
        canvas.bookmarkHorizontal(piece.bookmark, 0, 0)
        canvas.addOutlineEntry(piece.bookmark, piece.bookmark, 0, closed=False)
    draw_marks(canvas, piece.marks)
    for part in piece.parts:
        _place(canvas, part)
    if picture is not None:
        u0, v0, _, _ = picture.box
        canvas.translate(0, -piece.height * MM)
        if piece.factor != 1.0:
            canvas.scale(piece.factor, piece.factor)
        canvas.translate(-u0 * MM, -v0 * MM)
        draw_marks(canvas, picture.marks)
    canvas.restoreState()


def _texts(sheet: JobSheet) -> Iterator[str]:
    """Yield every text of the sheet."""
    yield from (sheet.title, sheet.subtitle, sheet.program, *(text for fact in sheet.facts for text in fact))
    for section in sheet.sections:
        yield section.heading
        for block in section.blocks:
            if isinstance(block, Paragraph):
                yield block.text
            elif isinstance(block, Bullets | Steps):
                yield from (text for item in block.items for text in item)
            elif isinstance(block, Table):
                set_ = shown(block, sheet.figures)
                yield from (set_.caption, set_.note, set_.tick, *set_.heads)
                yield from (cell for row in set_.rows for cell in row)
            else:
                yield from (block.title, block.description)
