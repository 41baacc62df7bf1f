"""Errors of the holes of one sheet, from paper to the far face of the wood."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from typing import Any

from uncertainties import ufloat

from templater.accuracy.sources import (
    ACROSS_GRAIN,
    ALONG_GRAIN,
    DRILL,
    HUMIDITY,
    LAYING,
    LEAN,
    PUNCH,
    SCALE,
    SEAM,
    SEAM_ANGLE,
    Sources,
)
from templater.paper.model import TiledSheet


@dataclass
class SheetErrors:
    """Errors of the holes of one sheet, as ``uncertainties`` numbers in the sheet frame; variables made when asked for.

    Mutable, as it hands out each shared variable once; it never leaves this module.
    """

    sheet: TiledSheet
    sources: Sources
    thickness: float
    _shared: dict[str, Any] = field(default_factory=dict)

    def shared(self, key: str, source: str) -> Any:
        """Return the variable of a source that several holes share, made once for each key."""
        if key not in self._shared:
            self._shared[key] = ufloat(0.0, self.sources.sigma(source), tag=source)
        return self._shared[key]

    def own(self, source: str) -> Any:
        """Return a variable of a single hole."""
        return ufloat(0.0, self.sources.sigma(source), tag=source)

    def middle(self) -> tuple[float, float]:
        """Return the place about which the sheet is laid: the middle of its holes."""
        us = [hole.at[0] for hole in self.sheet.drawing.holes]
        vs = [hole.at[1] for hole in self.sheet.drawing.holes]
        return (min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2

    def error(self, at: tuple[float, float], *, drilled: bool = True) -> tuple[Any, Any]:
        """Return the error (du, dv) of a hole at ``at``, from paper to the far face of the wood."""
        du, dv = self.paper_error(at)
        angle = self._laying()
        middle = self.middle()
        du = du + self.shared("lay u", LAYING) - angle * (at[1] - middle[1])
        dv = dv + self.shared("lay v", LAYING) + angle * (at[0] - middle[0])
        if drilled:
            lean = math.radians(1) * self.thickness
            du = du + self.own(PUNCH) + self.own(DRILL) + lean * self.own(LEAN)
            dv = dv + self.own(PUNCH) + self.own(DRILL) + lean * self.own(LEAN)
        return du, dv

    def _laying(self) -> Any:
        """Return the sheet's turn on the lines, from two sight windows near the ends of its longer side."""
        box = self.sheet.drawing.box
        apart = max(box[2] - box[0], box[3] - box[1], 1.0) * 0.8
        return (self.shared("lay end", LAYING) - self.shared("lay start", LAYING)) / apart

    def paper_error(self, at: tuple[float, float]) -> tuple[Any, Any]:
        """Return the error of a mark on the assembled paper, relative to the middle of the sheet's holes."""
        middle = self.middle()
        across, along = self.shared("scale across", SCALE), self.shared("scale along", SCALE)
        humidity = self.shared("humidity", HUMIDITY)
        # The grain usually runs along the long side of the paper (from memory).
        along_u, along_v = (ALONG_GRAIN, ACROSS_GRAIN) if self.sheet.sideways else (ACROSS_GRAIN, ALONG_GRAIN)
        du = (across + along_u * humidity) * (at[0] - middle[0])
        dv = (along + along_v * humidity) * (at[1] - middle[1])
        for key, (mu, mv) in self._seams_between(self._cell(middle), self._cell(at)):
            turn = math.radians(1) * self.shared(f"turn {key}", SEAM_ANGLE)
            du = du + self.shared(f"shift u {key}", SEAM) - turn * (at[1] - mv)
            dv = dv + self.shared(f"shift v {key}", SEAM) + turn * (at[0] - mu)
        return du, dv

    def _cell(self, at: tuple[float, float]) -> tuple[int, int]:
        """Return row and column of the tile whose own part holds a point."""
        column = sum(1 for seam in self.sheet.column_seams if at[0] >= seam)
        row = sum(1 for seam in self.sheet.row_seams if at[1] < seam)
        return row, column

    def _seams_between(self, start: tuple[int, int], end: tuple[int, int]) -> list[tuple[str, tuple[float, float]]]:
        """Return the seams crossed from one tile to another over printed tiles, fewest first, with their middles."""
        if start == end:
            return []
        printed = {(tile.row, tile.column): tile for tile in self.sheet.tiles}
        came: dict[tuple[int, int], tuple[int, int]] = {start: start}
        queue = deque([start])
        while queue and end not in came:
            row, column = queue.popleft()
            for step in ((row, column + 1), (row, column - 1), (row + 1, column), (row - 1, column)):
                if step in printed and step not in came:
                    came[step] = (row, column)
                    queue.append(step)
        path = []
        here = end
        while here != start and here in came:
            before = came[here]
            path.append(self._seam(before, here))
            here = before
        return path

    def _seam(self, a: tuple[int, int], b: tuple[int, int]) -> tuple[str, tuple[float, float]]:
        """Return the seam between two neighbouring tiles and its middle."""
        first, second = sorted((a, b))
        window = next(t.window for t in self.sheet.tiles if (t.row, t.column) == first)
        if first[0] == second[0]:
            return f"{first}{second}", (self.sheet.column_seams[first[1]], (window[1] + window[3]) / 2)
        return f"{first}{second}", ((window[0] + window[2]) / 2, self.sheet.row_seams[first[0]])
