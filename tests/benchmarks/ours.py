"""What is measured: the PDF writer and the SVG writer of this program."""

from __future__ import annotations

from collections.abc import Callable
from itertools import chain

from templater.drawing.marks import Circle, Cross, Drawing, Group, Mark, Pen, Text
from templater.writers.pdf import write_pdf
from tests.benchmarks import scene


def tiles_to_bytes(count: int) -> Callable[[], bytes]:
    """Make the tiles; return what writes them."""
    made = tuple(scene.tiles(count))
    return lambda: write_pdf(made, name="scene", title=scene.TITLE)


def streamed(count: int) -> bytes:
    """Make and write the tiles one at a time."""
    return write_pdf(scene.tiles(count), name="scene", title=scene.TITLE)


def drawing_to_svg(count: int) -> Callable[[], bytes]:
    """Make the whole sheet; return what writes it."""
    from templater.writers.svg import write_svg

    marks: tuple[Mark, ...] = tuple(
        chain.from_iterable(
            (
                Cross(hole.at, scene.ARM, Group.HOLE, hole.name),
                Circle(hole.at, scene.DIAMETER, Pen.WIDE, Group.HOLE, hole.name),
                Text((hole.at[0] + 3, hole.at[1] + 5), hole.name, scene.TYPE, Group.LABEL),
            )
            for hole in scene.holes(count)
        )
    )
    sheet = Drawing("scene", "Scene", "upper", marks, (), (), (0.0, 0.0, *scene.size(count)))
    return lambda: write_svg(sheet, scene.TITLE)
