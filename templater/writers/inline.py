"""Marks to a piece of SVG that stands inside an HTML page, in the colour of the text round it."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

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
    picture = Picture(box)
    picture.add(marks)
    root = picture.canvas.get_xml()
    for element in root.iter():
        element.attrib.pop("id", None)
        for attribute in ("fill", "stroke"):
            if element.get(attribute) == "black":
                element.set(attribute, "currentColor")
    for name in ("baseProfile", "version"):
        root.attrib.pop(name, None)
    if not true_size:
        del root.attrib["width"], root.attrib["height"]
        root.set("class", "fitted")
    root.set("role", "img")
    root.set("aria-labelledby", f"{key}-title {key}-desc")
    for position, (name, text) in enumerate((("title", title), ("desc", description))):
        child = ElementTree.Element(name, {"id": f"{key}-{name}"})
        child.text = text
        root.insert(position, child)
    return ElementTree.tostring(root, encoding="unicode")
