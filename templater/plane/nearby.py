"""Points in square cells, to find those near a place without looking at all of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Generic, TypeVar

Item = TypeVar("Item")


class Cells(Generic[Item]):
    """Items at points in the plane; a search costs only the cells that it touches."""

    def __init__(self, size: float) -> None:
        """Take the side of a cell; best about as long as the usual search reaches."""
        self._size = size
        self._cells: dict[tuple[int, int], list[tuple[float, float, Item]]] = {}

    def add(self, point: tuple[float, float], item: Item) -> None:
        """Put an item at a point."""
        cell = (math.floor(point[0] / self._size), math.floor(point[1] / self._size))
        self._cells.setdefault(cell, []).append((point[0], point[1], item))

    def near(self, point: tuple[float, float], reach: float) -> Iterator[tuple[float, Item]]:
        """Yield distance and item of everything within ``reach`` of a point, in a fixed order."""
        x, y = point
        size = self._size
        for column in range(math.floor((x - reach) / size), math.floor((x + reach) / size) + 1):
            for row in range(math.floor((y - reach) / size), math.floor((y + reach) / size) + 1):
                for px, py, item in self._cells.get((column, row), ()):
                    distance = math.hypot(px - x, py - y)
                    if distance <= reach:
                        yield distance, item

    def within(self, box: tuple[float, float, float, float]) -> Iterator[Item]:
        """Yield every item whose point lies in a box (x0, y0, x1, y1) or on its edge, in a fixed order."""
        x0, y0, x1, y1 = box
        size = self._size
        for column in range(math.floor(x0 / size), math.floor(x1 / size) + 1):
            for row in range(math.floor(y0 / size), math.floor(y1 / size) + 1):
                for px, py, item in self._cells.get((column, row), ()):
                    if x0 <= px <= x1 and y0 <= py <= y1:
                        yield item
