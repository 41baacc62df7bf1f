"""The benchmark's scene: holes spread at constant density over a sheet twice as wide as high, tiled on A4.

Each hole is a circle, a crosshair and a short label; each page has four registration marks, two bars with ticks and its
name. 24, 240, 2400 and 24000 holes make 8, 44, 408 and 3816 pages. No random numbers: the same scene every time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from templater.drawing.marks import Anchor, Circle, Cross, Group, Line, Mark, Pen, Text
from templater.paper.tiles import Tile, TitleData
from templater.plane.shapes import Affine

TITLE = TitleData("Benchmark", "A", "", "", "", "", "", "0" * 64, "0")
PAPER = (210.0, 297.0)
MARGIN = 7.0
OVERLAP = 15.0
#: Part of the sheet that a page adds to its neighbour's.
STEP = (PAPER[0] - 2 * MARGIN - OVERLAP, PAPER[1] - 2 * MARGIN - OVERLAP)
#: Sheet area for each hole, mm2.
AREA = 7600.0
ARM = 9.0
DIAMETER = 8.5
TYPE = 3.5

Point = tuple[float, float]
Segment = tuple[Point, Point]


@dataclass(frozen=True)
class Hole:
    name: str
    at: Point


@dataclass(frozen=True)
class Page:
    """One page: where its lower left corner lies on the sheet, and the holes that reach into its window."""

    name: str
    row: int
    column: int
    corner: Point
    holes: tuple[Hole, ...]


#: Bars and ticks of every page, page mm.
BARS: tuple[Segment, ...] = (
    ((40.0, 12.0), (140.0, 12.0)), ((40.0, 10.0), (40.0, 14.0)), ((140.0, 10.0), (140.0, 14.0)),
    ((12.0, 40.0), (12.0, 140.0)), ((10.0, 40.0), (14.0, 40.0)), ((10.0, 140.0), (14.0, 140.0)),
)  # fmt: skip
#: Registration marks of every page, page mm.
CORNERS: tuple[Point, ...] = ((14.5, 14.5), (195.5, 14.5), (14.5, 282.5), (195.5, 282.5))


def size(count: int) -> Point:
    """Width and height of the sheet."""
    height = math.sqrt(count * AREA / 2)
    return 2 * height, height


def holes(count: int) -> list[Hole]:
    """Spread holes evenly without order: the plastic number's low-discrepancy sequence."""
    width, height = size(count)
    plastic = 1.324717957244746
    return [
        Hole(f"H{number}", ((number / plastic) % 1 * width, (number / plastic**2) % 1 * height))
        for number in range(1, count + 1)
    ]


def pages(count: int) -> Iterator[Page]:
    """Yield the pages row by row, each with the holes that a grid index finds for it."""
    width, height = size(count)
    columns, rows = math.ceil(width / STEP[0]), math.ceil(height / STEP[1])
    cells: dict[tuple[int, int], list[Hole]] = {}
    for hole in holes(count):
        # The windows overlap, so a hole may belong to its own cell and to those below and to the left of it.
        low = [math.floor((hole.at[axis] - OVERLAP - ARM) / STEP[axis]) for axis in (0, 1)]
        high = [math.floor((hole.at[axis] + ARM) / STEP[axis]) for axis in (0, 1)]
        for column in range(low[0], high[0] + 1):
            for row in range(low[1], high[1] + 1):
                cells.setdefault((column, row), []).append(hole)
    for row in range(rows):
        for column in range(columns):
            corner = (column * STEP[0] - MARGIN, row * STEP[1] - MARGIN)
            yield Page(f"{row + 1}/{column + 1}", row, column, corner, tuple(cells.get((column, row), ())))


def tiles(count: int) -> Iterator[Tile]:
    """Yield the pages as tiles, their marks placed in page mm."""
    for number, page in enumerate(pages(count), 1):
        dx, dy = page.corner
        marks: list[Mark] = []
        for hole in page.holes:
            x, y = hole.at[0] - dx, hole.at[1] - dy
            marks += (
                Cross((x, y), ARM, Group.HOLE, hole.name),
                Circle((x, y), DIAMETER, Pen.WIDE, Group.HOLE, hole.name),
                Text((x + 3, y + 5), hole.name, TYPE, Group.LABEL),
            )
        marks += [Line(a, b, Pen.NARROW, Group.BAR) for a, b in BARS]
        marks += [Cross(at, 4.0, Group.REGISTRATION) for at in CORNERS]
        marks.append(Text((105.0, 9.0), page.name, TYPE, Group.FRAME, Anchor.MIDDLE))
        window = (dx + MARGIN, dy + MARGIN, dx + PAPER[0] - MARGIN, dy + PAPER[1] - MARGIN)
        placed = Affine(e=-dx, f=-dy)
        yield Tile(page.name, page.row, page.column, number, PAPER, window, placed, tuple(marks))
