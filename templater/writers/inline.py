"""Marks to a piece of SVG that stands inside an HTML page, in the colour of the text round it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from templater.drawing.marks import Mark
from templater.plane.shapes import Box
from templater.writers.lettering import check_letters, texts_of
from templater.writers.svg import Picture


def write_inline_svg(
    marks: Sequence[Mark], box: Box, *, key: str, title: str, description: str, true_size: bool
) -> str:
    """Return an ``svg`` element.

    Args:
        marks: mm, u right, v up.
        box: the part shown, u0, v0, u1, v1.
        key: prefix of the ids in it, unique in the page.
        title: its name for people who do not see it.
        description: what it shows, in words.
        true_size: keep the size in mm; else the page's style decides (class ``fitted``).

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    check_letters(texts_of(marks), title)
    picture = Picture(box, ink="currentColor", ids=False)
    picture.add(marks)
    look = picture.canvas.attribs
    for name in ("baseProfile", "version", *(() if true_size else ("width", "height"))):
        look.pop(name, None)
    if not true_size:
        look["class"] = "fitted"
    look |= {"role": "img", "aria-labelledby": f"{key}-title {key}-desc"}
    opening, rest = picture.text().split(">", 1)
    words = f'<title id="{key}-title">{escape(title)}</title><desc id="{key}-desc">{escape(description)}</desc>'
    return f"{opening}>{words}{rest}"
