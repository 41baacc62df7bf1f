"""The job sheet as PDF, from the same sections as the page."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    LongTable,
    SimpleDocTemplate,
    Spacer,
    TableStyle,
)
from reportlab.platypus import Paragraph as Running

from templater.jobsheet.model import Block, Bullets, JobSheet, Paragraph, Picture, Section, Steps, Table
from templater.units import POINTS_PER_MM as MM
from templater.writers.lettering import check_letters
from templater.writers.picture import draw_marks, faces

_MARGIN = 14.0 * MM
_BOX = "\u2610"


def job_sheet_pdf(sheet: JobSheet, paper: tuple[float, float]) -> bytes:
    """Return the job sheet on upright pages of ``paper`` (width, height in mm). Same sheet, same bytes.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    check_letters(_texts(sheet), "job sheet")
    styles = _styles()
    width = paper[0] * MM - 2 * _MARGIN - 12  # the library pads its frame by 6 points a side
    story: list[Flowable] = [Running(escape(sheet.title), styles["title"])]
    story.append(Running(escape(sheet.subtitle), styles["text"]))
    facts = "   ".join(f"<b>{escape(term)}:</b> {escape(text)}" for term, text in sheet.facts)
    story += [Running(facts, styles["text"]), Spacer(0, 2 * MM)]
    for section in sheet.sections:
        story += _section(section, styles, width)
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=(paper[0] * MM, paper[1] * MM), title=sheet.title, creator=sheet.program, invariant=1,
        leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=_MARGIN, bottomMargin=_MARGIN + 4 * MM,
        initialFontName=faces()[0],
    )  # fmt: skip

    def foot(canvas: Canvas, document: Any) -> None:
        canvas.setFont(faces()[0], 8)
        canvas.drawString(_MARGIN, _MARGIN, f"{sheet.title} · {sheet.program}")
        canvas.drawRightString(paper[0] * MM - _MARGIN, _MARGIN, f"page {document.page}")

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _styles() -> dict[str, ParagraphStyle]:
    regular, bold = faces()
    text = ParagraphStyle("text", fontName=regular, fontSize=9.5, leading=12.5, alignment=TA_LEFT, spaceAfter=3)
    return {
        "text": text,
        "title": ParagraphStyle("title", parent=text, fontName=bold, fontSize=18, leading=22),
        "heading": ParagraphStyle("heading", parent=text, fontName=bold, fontSize=13, leading=16, spaceBefore=10),
        "caption": ParagraphStyle("caption", parent=text, fontName=bold, spaceBefore=6),
        "cell": ParagraphStyle("cell", parent=text, fontSize=8.5, leading=10.5, spaceAfter=0),
        "head": ParagraphStyle("head", parent=text, fontName=bold, fontSize=8.5, leading=10.5, spaceAfter=0),
        "item": ParagraphStyle("item", parent=text, leftIndent=22, bulletIndent=0, bulletFontName=regular),
        "small": ParagraphStyle("small", parent=text, fontSize=8, leading=10),
        "caution": ParagraphStyle(
            "caution", parent=text, leftIndent=22, borderWidth=0.8, borderColor=black, borderPadding=3, spaceAfter=6
        ),
    }


def _section(section: Section, styles: dict[str, ParagraphStyle], width: float) -> list[Flowable]:
    story: list[Flowable] = [CondPageBreak(35 * MM), Running(escape(section.heading), styles["heading"])]
    for block in section.blocks:
        story += _block(block, styles, width)
    return story


def _block(block: Block, styles: dict[str, ParagraphStyle], width: float) -> list[Flowable]:
    if isinstance(block, Paragraph):
        return [Running(escape(block.text), styles["text"])]
    if isinstance(block, Bullets):
        return [
            Running(escape(text) + (f" ({escape(remark)})" if remark else ""), styles["item"], bulletText="•")
            for text, remark in block.items
        ]
    if isinstance(block, Steps):
        return _steps(block, styles)
    if isinstance(block, Table):
        return _table(block, styles, width)
    return _picture(block, styles, width)


def _steps(block: Steps, styles: dict[str, ParagraphStyle]) -> list[Flowable]:
    story: list[Flowable] = []
    for number, (text, caution) in enumerate(block.items, block.start):
        step: list[Flowable] = [Running(escape(text), styles["item"], bulletText=f"{_BOX} {number}")]
        if caution:
            step.append(Running(f"Caution: {escape(caution)}", styles["caution"]))
        story.append(KeepTogether(step))
    return story


def _table(block: Table, styles: dict[str, ParagraphStyle], width: float) -> list[Flowable]:
    rows: list[list[Flowable]] = [[Running(escape(header), styles["head"]) for header in block.headers]]
    for row in block.rows:
        rows.append([Running(escape(cell), styles["cell"]) for cell in row])
    table = LongTable(rows, colWidths=_widths(block, width), repeatRows=1)
    table.setStyle(
        TableStyle(
            [
                ("GRID", (0, 0), (-1, -1), 0.4, black),
                ("LINEBELOW", (0, 0), (-1, 0), 1.0, black),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("TOPPADDING", (0, 0), (-1, -1), 2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
            ]
        )
    )
    story: list[Flowable] = [CondPageBreak(25 * MM), Running(escape(block.caption), styles["caption"]), table]
    if block.note:
        story.append(Running(escape(block.note), styles["small"]))
    return [*story, Spacer(0, 2 * MM)]


def _widths(block: Table, width: float) -> list[float]:
    """Return column widths by how long the texts are, none so narrow that a word breaks."""
    columns = [[header, *(row[number] for row in block.rows)] for number, header in enumerate(block.headers)]
    needs = [min(max(len(text) for text in column), 60) for column in columns]
    words = [max(len(word) for text in column for word in [*text.split(), ""]) for column in columns]
    least = [word * 5.0 + 14 for word in words]
    spare = max(width - sum(least), 0.0)
    wanted = [max(need * 5.0 + 14 - low, 0.0) for need, low in zip(needs, least, strict=True)]
    total = sum(wanted) or 1.0
    given = [low + spare * want / total for low, want in zip(least, wanted, strict=True)]
    factor = width / sum(given)
    return [one * factor for one in given]


def _picture(block: Picture, styles: dict[str, ParagraphStyle], width: float) -> list[Flowable]:
    size = "1:1" if block.true_size else "not to scale"
    return [KeepTogether([_Marks(block, width), Running(escape(f"{block.title}, {size}"), styles["small"])])]


class _Marks(Flowable):
    """A picture among running text: at true size, or made to fit."""

    def __init__(self, picture: Picture, width: float) -> None:
        super().__init__()
        self._picture = picture
        u0, v0, u1, v1 = picture.box
        largest = 165.0 * MM
        fit = min(width / ((u1 - u0) * MM), largest / ((v1 - v0) * MM))
        self._factor = 1.0 if picture.true_size else fit
        self.width, self.height = (u1 - u0) * MM * self._factor, (v1 - v0) * MM * self._factor

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the room it takes, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it at the present origin."""
        u0, v0, _, _ = self._picture.box
        canvas: Canvas = self.canv
        canvas.saveState()
        if self._factor != 1.0:
            canvas.scale(self._factor, self._factor)
        canvas.translate(-u0 * MM, -v0 * MM)
        draw_marks(canvas, self._picture.marks)
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
                yield from (block.caption, block.note, *block.headers, *(cell for row in block.rows for cell in row))
            else:
                yield from (block.title, block.description)
