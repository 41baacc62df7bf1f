"""A grid of square cells, to find what is near a place without looking at everything."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Generic, TypeVar

from templater.plane.shapes import Box, Point, clip_segment

Item = TypeVar("Item")
#: Cells in a column: a cell is one number, which is smaller than a pair. With cells of 12 mm, 12 km of sheet.
_COLUMN = 1 << 20


def cells_over(box: Box, size: float) -> Iterator[int]:
    """Yield the cells of side ``size`` that a box meets, column by column."""
    for column in range(math.floor(box[0] / size), math.floor(box[2] / size) + 1):
        for row in range(math.floor(box[1] / size), math.floor(box[3] / size) + 1):
            yield column * _COLUMN + row


def cells_along(a: Point, b: Point, size: float) -> Iterator[int]:
    """Yield the cells of side ``size`` that a straight piece meets, column by column."""
    if b[0] < a[0]:
        a, b = b, a
    for column in range(math.floor(a[0] / size), math.floor(b[0] / size) + 1):
        part = clip_segment(a, b, (column * size, -math.inf, (column + 1) * size, math.inf)) or (a, b)
        low, high = sorted((part[0][1], part[1][1]))
        for row in range(math.floor(low / size), math.floor(high / size) + 1):
            yield column * _COLUMN + row


class Cells(Generic[Item]):
    """Items at points in the plane; a search costs only the cells that it touches."""

    def __init__(self, size: float) -> None:
        """Take the side of a cell; best about as long as the usual search reaches."""
        self._size = size
        self._cells: dict[int, list[tuple[float, float, Item]]] = {}

    def add(self, point: Point, item: Item) -> None:
        """Put an item at a point."""
        cell = math.floor(point[0] / self._size) * _COLUMN + math.floor(point[1] / self._size)
        self._cells.setdefault(cell, []).append((point[0], point[1], item))

    def near(self, point: Point, reach: float) -> Iterator[tuple[float, Item]]:
        """Yield distance and item of everything within ``reach`` of a point, in a fixed order."""
        x, y = point
        for cell in cells_over((x - reach, y - reach, x + reach, y + reach), self._size):
            for px, py, item in self._cells.get(cell, ()):
                distance = math.hypot(px - x, py - y)
                if distance <= reach:
                    yield distance, item

    def within(self, box: Box) -> Iterator[Item]:
        """Yield every item whose point lies in a box or on its edge, in a fixed order."""
        x0, y0, x1, y1 = box
        for cell in cells_over(box, self._size):
            for px, py, item in self._cells.get(cell, ()):
                if x0 <= px <= x1 and y0 <= py <= y1:
                    yield item
