"""Errors of the holes of one sheet, from paper to the far face of the wood."""

from __future__ import annotations

import math
from collections import deque

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
    TAPE,
    Sources,
    budget,
)
from templater.drawing.marks import Group, Polyline
from templater.maths.fits import least_squares
from templater.maths.linear import Linear
from templater.paper.tiles import TiledSheet
from templater.plane.shapes import Point

#: Coverage of an allowed error: two standard deviations hold 95 of 100 good sheets. Source: JCGM 100:2008, 6.3.3.
COVERAGE = 2.0


def _steer(at: Point, middle: Point, *, line_along_u: bool) -> tuple[float, float, float]:
    """Return what a window sees of a move along u, a move along v and a turn of the sheet about its middle."""
    # A line along u shows only how far the sheet is off along v, and the other way about.
    return (0.0, 1.0, at[0] - middle[0]) if line_along_u else (1.0, 0.0, -(at[1] - middle[1]))


class SheetErrors:
    """Errors of the holes of one sheet, as linear forms in the sheet frame; variables made when asked for.

    It hands out each shared variable once, and never leaves this room. ``printer`` holds the variables of the printer,
    which are the same for every sheet that it prints; ``thickness`` is that of the wood that is drilled, mm.
    """

    def __init__(
        self, sheet: TiledSheet, sources: Sources, thickness: float = 0.0, printer: dict[str, Linear] | None = None
    ) -> None:
        self.sheet, self.sources, self.thickness = sheet, sources, thickness
        self._printer: dict[str, Linear] = {} if printer is None else printer
        self._shared: dict[str, Linear] = {}
        self._motion: tuple[Linear, Linear, Linear] | None = None

    def shared(self, key: str, source: str, among: dict[str, Linear] | None = None) -> Linear:
        """Return the variable of a source that several holes share, made once for each key."""
        among = self._shared if among is None else among
        if key not in among:
            among[key] = self.sources.variable(source)
        return among[key]

    def middle(self) -> Point:
        """Return the middle of the sheet's holes, from which places are counted; it has no part in the result."""
        us = [hole.at[0] for hole in self.sheet.drawing.holes]
        vs = [hole.at[1] for hole in self.sheet.drawing.holes]
        return (min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2

    def error(self, at: Point) -> tuple[Linear, Linear]:
        """Return the error (du, dv) of a hole at ``at``, from paper to the far face of the wood."""
        du, dv = self.paper_error(at)
        move_u, move_v, turn = self._laid()
        middle = self.middle()
        du = du + move_u - turn * (at[1] - middle[1])
        dv = dv + move_v + turn * (at[0] - middle[0])
        own, lean = self.sources.variable, math.radians(1) * self.thickness
        return (
            du + own(PUNCH) + own(DRILL) + lean * own(LEAN),
            dv + own(PUNCH) + own(DRILL) + lean * own(LEAN),
        )

    def _laid(self) -> tuple[Linear, Linear, Linear]:
        """Return how the assembled sheet is moved and turned when its windows are laid on the pencilled lines.

        The builder moves the sheet until all windows show the lines as well as they can together: least squares over
        the windows, each with an error of its own. So the printed lines' own errors, at the windows, count as well.
        """
        if self._motion is None:
            middle = self.middle()
            rows, offs = [], []
            for number, (at, line_along_u) in enumerate(self._windows()):
                du, dv = self.paper_error(at)
                rows.append(_steer(at, middle, line_along_u=line_along_u))
                offs.append(self.shared(f"window {number}", LAYING) - (dv if line_along_u else du))
            solver = least_squares(rows)
            assert solver is not None  # ``_windows`` gives none that leave the sheet free
            move_u, move_v, turn = (
                sum((float(weight) * off for weight, off in zip(row, offs, strict=True)), Linear())
                for row in solver.gains
            )
            self._motion = move_u, move_v, turn
        return self._motion

    def _windows(self) -> list[tuple[Point, bool]]:
        """Return the middles of the sight windows and whether their line runs along u.

        A sheet without windows enough to lay it is taken as laid on both lines near the ends of its longer side.
        """
        found = []
        for mark in self.sheet.drawing.marks:
            if isinstance(mark, Polyline) and mark.group is Group.SIGHT and not mark.filled:
                us, vs = [u for u, _ in mark.points], [v for _, v in mark.points]
                wide = max(us) - min(us) > max(vs) - min(vs)
                found.append((((min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2), wide))
        middle = self.middle()
        steers = [_steer(at, middle, line_along_u=wide) for at, wide in found]
        if found and least_squares(steers) is not None:
            return found
        u0, v0, u1, v1 = self.sheet.drawing.box
        u, v = (u0 + u1) / 2, (v0 + v1) / 2
        far = 0.4 * max(u1 - u0, v1 - v0)
        ends = [(u - far, v), (u + far, v)] if u1 - u0 >= v1 - v0 else [(u, v - far), (u, v + far)]
        return [(end, wide) for end in ends for wide in (True, False)]

    def paper_error(self, at: Point) -> tuple[Linear, Linear]:
        """Return the error of a mark on the assembled paper, relative to the middle of the sheet's holes."""
        middle = self.middle()
        sideways = self.sheet.sideways
        # Across and along as the printer sees them: a page that lies sideways is turned on its way to it.
        scale_u, scale_v = (
            self.shared(way, SCALE, self._printer) for way in (("along", "across") if sideways else ("across", "along"))
        )
        humidity = self.shared("humidity", HUMIDITY)
        grain_u, grain_v = (ALONG_GRAIN, ACROSS_GRAIN) if self._grain_along_u() else (ACROSS_GRAIN, ALONG_GRAIN)
        du = (scale_u + grain_u * humidity) * (at[0] - middle[0])
        dv = (scale_v + grain_v * humidity) * (at[1] - middle[1])
        for key, (mu, mv) in self._seams_between(self._cell(middle), self._cell(at)):
            turn = math.radians(1) * self.shared(f"turn {key}", SEAM_ANGLE)
            du = du + self.shared(f"shift u {key}", SEAM) - turn * (at[1] - mv)
            dv = dv + self.shared(f"shift v {key}", SEAM) + turn * (at[0] - mu)
        return du, dv

    def _grain_along_u(self) -> bool:
        """True if the paper's grain lies along u: it runs along a roll, and along a cut paper's longer side.

        Source: from memory; cut papers with the grain along the shorter side are sold too, mostly in larger sizes.
        """
        paper = self.sheet.paper
        if paper.height is None:
            return self.sheet.sideways
        return (paper.width > paper.height) != self.sheet.sideways

    def _cell(self, at: Point) -> tuple[int, int]:
        """Return row and column of the printed tile whose own part holds a point, or of the nearest one."""
        column = sum(1 for seam in self.sheet.column_seams if at[0] >= seam)
        row = sum(1 for seam in self.sheet.row_seams if at[1] <= seam)
        printed = [(tile.row, tile.column) for tile in self.sheet.tiles]
        # The middle may lie on a tile that is left blank: a neighbour holds the sheet together just as well.
        return min(printed, key=lambda cell: (abs(cell[0] - row) + abs(cell[1] - column), cell))

    def _seams_between(self, start: tuple[int, int], end: tuple[int, int]) -> list[tuple[str, Point]]:
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

    def _seam(self, a: tuple[int, int], b: tuple[int, int]) -> tuple[str, Point]:
        """Return the seam between two neighbouring tiles and its middle."""
        first, second = sorted((a, b))
        window = next(t.window for t in self.sheet.tiles if (t.row, t.column) == first)
        if first[0] == second[0]:
            return f"{first}{second}", (self.sheet.column_seams[first[1]], (window[1] + window[3]) / 2)
        return f"{first}{second}", ((window[0] + window[2]) / 2, self.sheet.row_seams[first[0]])


def allowed_error(sheet: TiledSheet, sources: Sources, a: str, b: str) -> float:
    """Return the error allowed between two marks, by id, of the assembled sheet, mm, reading the tape included.

    Printing, humidity and every seam between the two count; laying, pricking and drilling come later.

    Raises:
        KeyError: if the sheet has no such mark.
    """
    places = {hole.id: hole.at for hole in (*sheet.drawing.holes, *sheet.drawing.expected)}
    places.update({mark.id: mark.at for mark in sheet.registrations})
    first, second = places[a], places[b]
    errors = SheetErrors(sheet, sources)
    (au, av), (bu, bv) = errors.paper_error(first), errors.paper_error(second)
    distance = math.dist(first, second)
    along = ((bu - au) * (second[0] - first[0]) + (bv - av) * (second[1] - first[1])) / distance
    return COVERAGE * budget(f"{a} to {b}", "mm", along + sources.variable(TAPE)).sigma
