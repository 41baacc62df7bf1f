"""Tiles to PDF, one page each, at 1:1.

Every print dialogue is told not to scale (PrintScaling, PDF 1.6), but may not listen: the bars on each page tell.
UserUnit is left out, since viewers differ over it. Same tiles, same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any, BinaryIO

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFZCompress
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from templater.drawing.marks import Mark
from templater.paper.tiles import Tile, TitleData
from templater.standards.typeface import FAMILY, font_bytes
from templater.units import POINTS_PER_MM
from templater.writers.lettering import check_letters, texts_of
from templater.writers.marks_to_pdf import Content, Encoder

#: First version of PDF with the key PrintScaling. Source: ISO 32000-1:2008, table 150.
_VERSION = (1, 6)
FACES = (FAMILY.replace(" ", ""), FAMILY.replace(" ", "") + "-Bold")
#: A date of issue that can stand in the document information; without one it carries the library's fixed day.
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def write_pdf(pages: Sequence[Tile], *, name: str, title: TitleData) -> bytes:
    """Return the tiles as one PDF file.

    Args:
        pages: tiles in page order; their marks are in page mm, origin lower left, Y up, already placed and corrected.
        name: of the sheet, for the document's title.
        title: title data; goes into the document information.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    stream = io.BytesIO()
    write_pdf_to(stream, pages, name=name, title=title)
    return stream.getvalue()


def write_pdf_to(stream: BinaryIO, pages: Iterable[Tile], *, name: str, title: TitleData) -> None:
    """Write the tiles as one PDF file; ``pages`` may make them one at a time. See ``write_pdf``.

    Nothing is written to ``stream`` before the last page is drawn.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    canvas = _canvas(stream, name, title)
    document: Any = vars(canvas)["_doc"]  # the library has no public way to a font's subsets, nor to a page's stream
    encode = encoder(document)
    for tile in pages:
        marks = tuple(tile.marks)
        check_letters(texts_of(marks), name)
        content = Content(encode)
        content.add(marks)
        canvas.setPageSize((tile.paper[0] * POINTS_PER_MM, tile.paper[1] * POINTS_PER_MM))
        canvas.showPage()
        document.Pages.pages[-1].Contents = _compressed(content.text())
    finish(canvas)


def _compressed(content: str) -> PDFStream:
    """Return a page's content compressed now, not when the file is written: pages waiting for that fill the memory."""
    filters = PDFDictionary({"Filter": PDFArray([PDFName("FlateDecode")])})
    return PDFStream(filters, PDFZCompress.encode(content))


def _canvas(stream: BinaryIO, name: str, title: TitleData) -> Canvas:
    """Return an empty document with its information, print preferences and fonts."""
    register_faces()
    face: Any = FACES[0]  # typed as a number in the library's stubs
    canvas = Canvas(stream, invariant=1, pdfVersion=_VERSION, pageCompression=1, initialFontName=face)
    canvas.setTitle(f"{title.boat} - {name}")
    canvas.setCreator(f"templater {title.program_version}")
    canvas.setSubject(f"Description SHA-256 {title.description_sha256}, revision {title.revision or '-'}")
    canvas.setAuthor(title.drawn_by)
    if _DAY.fullmatch(title.date):
        day = f"D:{title.date.replace('-', '')}"
        canvas.setDateFormatter(lambda *_parts: day)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("Duplex", "Simplex")
    return canvas


@cache
def register_faces() -> tuple[TTFont, TTFont]:
    """Return the regular and the bold face, registered once under their own names."""
    # asciiReadable off: only the letters that are used are embedded, not the whole of ASCII with them.
    regular = TTFont(FACES[0], io.BytesIO(font_bytes()), asciiReadable=False)
    bold = TTFont(FACES[1], io.BytesIO(font_bytes(bold=True)), asciiReadable=False)
    pdfmetrics.registerFont(regular)
    pdfmetrics.registerFont(bold)
    return regular, bold


def faces() -> tuple[str, str]:
    """Return the names of the regular and bold face, registered for use by the PDF library."""
    register_faces()
    return FACES


def draw_marks(canvas: Canvas, marks: Sequence[Mark]) -> None:
    """Draw marks onto a page that somebody else lays out, mm from the canvas's present origin."""
    document: Any = vars(canvas)["_doc"]
    content = Content(encoder(document))
    content.add(marks)
    canvas.addLiteral(content.text())


def finish(canvas: Canvas) -> None:
    """Write the document that a canvas belongs to, its streams compressed but without text armour."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        canvas.save()
    finally:
        rl_config.useA85 = before


def encoder(document: Any) -> Encoder:
    """Return the function that encodes text in the document's font subsets, which grow as letters are used."""
    fonts = register_faces()

    def encode(text: str, bold: bool) -> list[tuple[str, str]]:
        font = fonts[bold]
        return [
            (font.getSubsetInternalName(subset, document), codes.hex())
            for subset, codes in font.splitString(text, document)
        ]

    return encode
