"""Job sheets of the demo boats for several tests: as page, PDF, plain data, and their texts read by other programs."""

import ctypes
import re
from dataclasses import dataclass
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import made_boats
import pypdfium2
import pypdfium2.raw as pdfium

from templater.boat.solved import Boat
from templater.description.load import Source
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import Checked, Options, check, title_data
from templater.pipeline.make import page_size
from templater.pipeline.sheets import on_paper
from templater.report.blocks import JobSheet, job_sheet_data
from templater.report.html import job_sheet_html
from templater.report.job_sheet import job_sheet
from templater.report.pdf import job_sheet_pdf

CONFIGS = Path(__file__).parent.parent / "configs"
#: mm in a PDF point.
POINT = 25.4 / 72
BOATS = ("whinchat-3", "whinchat-5")


@dataclass(frozen=True)
class Job:
    """A job sheet in every form."""

    checked: Checked
    sheets: tuple[TiledSheet, ...]
    sheet: JobSheet
    html: bytes
    pdf: bytes
    data: dict

    @property
    def boat(self) -> Boat:
        return self.checked.boat


@cache
def job(name: str, *changes: tuple[str, str]) -> Job:
    """Return the job sheet of a demo boat, pieces of its description replaced first."""
    if not changes:
        made = made_boats.made(name)
        assert made.job_sheet is not None
        page, pdf = made.files["job-sheet.html"], made.files["job-sheet.pdf"]
        return Job(made.checked, made.sheets, made.job_sheet, page, pdf, job_sheet_data(made.job_sheet))
    text = (CONFIGS / f"{name}.yaml").read_text("utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return of(check(Source(text.encode(), f"{name}.yaml")))


def of(checked: Checked) -> Job:
    """Return the job sheet of a solved boat."""
    drawable = checked._replace(findings=tuple(one for one in checked.findings if one not in checked.errors))
    there, bare, report = on_paper(drawable, Options())
    sheets = tuple(sheet.drawn() for sheet in bare)
    checked = there.found(*checked.errors)
    sheet = job_sheet(checked.boat, title_data(checked), sheets, checked.findings, report)
    pdf = job_sheet_pdf(sheet, page_size(checked))
    return Job(checked, sheets, sheet, job_sheet_html(sheet), pdf, job_sheet_data(sheet))


class Page(HTMLParser):
    """A page's elements and text, read by Python's own parser; unclosed or crossed elements are refused."""

    VOID = frozenset({"meta", "input", "br", "hr", "img", "link"})

    def __init__(self, html: bytes) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(html.decode())
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] not in ("style", "script"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return squeeze(" ".join(self.words))


def squeeze(text: str) -> str:
    """Return a text with every run of white space as one space."""
    return re.sub(r"\s+", " ", text)


def pdf_pages(pdf: bytes) -> list[str]:
    """Return each page's text as PDFium reads it."""
    document = pypdfium2.PdfDocument(pdf)
    return [squeeze(page.get_textpage().get_text_range()) for page in document]


def data_text(value: object) -> str:
    """Return all texts of plain data, one after the other."""
    if isinstance(value, dict):
        return " ".join(data_text(item) for item in value.values())
    if isinstance(value, list):
        return " ".join(data_text(item) for item in value)
    return str(value)


def texts(one: Job) -> dict[str, str]:
    """Return the text of the page, of the PDF and of the data, without white space: lines break anywhere."""
    found = {"html": Page(one.html).text, "pdf": " ".join(pdf_pages(one.pdf)), "data": data_text(one.data)}
    return {form: re.sub(r"\s", "", text) for form, text in found.items()}


def bare(text: str) -> str:
    """Return a text without white space, to be looked for in ``texts``."""
    return re.sub(r"\s", "", text)


def boxes_on(page: pypdfium2.PdfPage) -> list[tuple[float, float, float, float]]:
    """Return the box of every path's own points on a page, mm, without its line width, as PDFium reads them."""
    found = []
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        matrix = item.get_matrix()
        points = []
        for number in range(pdfium.FPDFPath_CountSegments(item.raw)):
            x, y = ctypes.c_float(), ctypes.c_float()
            segment = pdfium.FPDFPath_GetPathSegment(item.raw, number)
            pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(matrix.on_point(x.value, y.value))
        xs, ys = [x * POINT for x, _ in points], [y * POINT for _, y in points]
        found.append((min(xs), min(ys), max(xs), max(ys)))
    return found


def stacked(boxes: list[tuple[float, float, float, float]], thicknesses: list[float], slack: float) -> bool:
    """True if boxes of these heights lie one below the other, touching, the first uppermost."""

    def below(top: float, rest: list[float]) -> bool:
        if not rest:
            return True
        return any(
            abs(y1 - top) < slack and abs(y1 - y0 - rest[0]) < slack and x1 - x0 > 1.0 and below(y0, rest[1:])
            for x0, y0, x1, y1 in boxes
        )

    tops = [y1 for _, y0, _, y1 in boxes if abs(y1 - y0 - thicknesses[0]) < slack]
    return any(below(top, thicknesses) for top in tops)
