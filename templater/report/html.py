"""The job sheet as one self-contained HTML page: no network, inline pictures, readable on a phone and on paper."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from templater.report.blocks import Block, JobSheet, Picture
from templater.report.table import Shown, Table, shown
from templater.writers.svg import write_inline_svg

_FOLDER = Path(__file__).parent


def job_sheet_html(sheet: JobSheet) -> bytes:
    """Return the page as UTF-8 bytes. Every text is escaped; the same sheet gives the same bytes."""
    environment = Environment(autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True)
    template = environment.from_string((_FOLDER / "page.html").read_text("utf-8"))
    style, ticks = (Markup((_FOLDER / name).read_text("utf-8").rstrip()) for name in ("style.css", "ticks.js"))


    def text_of(table: Table) -> Shown:
        return shown(table, sheet.figures)

    return template.render(sheet=sheet, style=style, ticks=ticks, kind=_kind, picture=_picture, shown=text_of).encode()


def _kind(block: Block) -> str:
    return type(block).__name__


def _picture(picture: Picture, key: str) -> Markup:
    """Return a picture as inline SVG in the colour of the text."""
    svg = write_inline_svg(
        picture.marks, picture.box, key=key, title=picture.title, description=picture.description,
        true_size=picture.true_size,
    )  # fmt: skip
    return Markup(svg)
