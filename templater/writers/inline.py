"""Marks to a piece of SVG that stands inside an HTML page, in the colour of the text round it."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

from templater.drawing.marks import Box, Mark
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
    look = picture.look()
    if true_size:
        look |= {"height": f"{picture.height}mm", "width": f"{picture.width}mm"}
    attributes = dict(sorted(look.items()))
    if not true_size:
        attributes["class"] = "fitted"
    attributes |= {"role": "img", "aria-labelledby": f"{key}-title {key}-desc"}
    start = "".join(f' {name}="{escape(value)}"' for name, value in attributes.items())
    words = f'<title id="{key}-title">{escape(title)}</title><desc id="{key}-desc">{escape(description)}</desc>'
    return f"<svg{start}>{words}<defs />{picture.content()}</svg>"
