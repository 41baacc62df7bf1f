"""Tiles: what a sheet becomes when it is put on paper. All mm; a page's origin is its lower left corner, Y up."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from templater.drawing.marks import Drawing, Mark
from templater.plane.shapes import Affine, Box, Point


class Paper(NamedTuple):
    """A paper as it lies in the printer; ``height`` None means a roll."""

    name: str
    width: float
    height: float | None


class Correction(NamedTuple):
    """A printer's correction, applied about the page's middle.

    ``across`` and ``along`` are what drawn lengths are multiplied by (nominal / measured), ``skew`` is the shear in
    radians, X += skew * Y.
    """

    name: str = ""
    across: float = 1.0
    along: float = 1.0
    skew: float = 0.0

    @property
    def is_none(self) -> bool:
        """True if nothing is corrected."""
        return self[1:] == (1.0, 1.0, 0.0)


NO_CORRECTION = Correction()


class Registration(NamedTuple):
    """A registration mark, common to the tiles of a seam: ``R1``, place in the sheet frame, the tiles that show it."""

    id: str
    at: Point
    tiles: tuple[str, ...]


class Bar(NamedTuple):
    """A calibration bar of a tile, end points in page mm before correction; ``axis`` across, along or diagonal."""

    id: str
    axis: str
    a: Point
    b: Point
    length: float


class Tile(NamedTuple):
    """One page of a sheet.

    Attributes:
        name: row from the top and column from the left, ``1-2``; ``row`` and ``column`` are counted from 0.
        page: from 1 in the sheet's file.
        paper: width and height of the page as printed (turned if sideways).
        window: part of the sheet shown, u0, v0, u1, v1, before correction.
        to_page: sheet frame to page mm: a shift, and the printer's correction.
        marks: everything on the page, in page mm, correction applied, clipped to the window where it belongs there;
            may be made anew each time it is gone through, so take it once.
        neighbours: tiles that share an edge with this one: left, top, right, foot.
        holes: ids of the sheet's holes whose centre lies in the window's own part (not in a neighbour's).
    """

    name: str
    row: int
    column: int
    page: int
    paper: tuple[float, float]
    window: Box
    to_page: Affine
    marks: Iterable[Mark]
    bars: tuple[Bar, ...] = ()
    registrations: tuple[str, ...] = ()
    neighbours: tuple[str, ...] = ()
    holes: tuple[str, ...] = ()


def single_page(paper: tuple[float, float], marks: Iterable[Mark], bars: tuple[Bar, ...] = ()) -> Tile:
    """Return a page that is no part of a sheet, marks in page mm."""
    return Tile("1-1", 0, 0, 1, paper, (0.0, 0.0, *paper), Affine(), marks, bars)


class CutMark(NamedTuple):
    """Something that a seam cuts because no better seam could be had: a hole by its id, else by its name."""

    id: str
    seam: str


class TiledSheet(NamedTuple):
    """A drawing on paper. ``grid`` is rows by columns; ``blank`` names the tiles left out.

    ``column_seams`` are the u of the trim edges between columns, ``row_seams`` the v between rows, top down.
    ``cut`` are the holes whose circle, with 3 mm round it, a seam cuts; ``crossed`` what else is cut: the arms of
    holes, plates, sight windows. ``straight_edges`` are the ids of the lines that a straight edge is held along.
    ``correction`` is in the page's axes: turned where the pages lie sideways.
    """

    drawing: Drawing
    paper: Paper
    sideways: bool
    correction: Correction
    grid: tuple[int, int]
    column_seams: tuple[float, ...]
    row_seams: tuple[float, ...]
    tiles: tuple[Tile, ...]
    blank: tuple[str, ...]
    registrations: tuple[Registration, ...]
    cut: tuple[CutMark, ...]
    crossed: tuple[CutMark, ...]
    straight_edges: tuple[str, ...]


class TitleData(NamedTuple):
    """Title data after ISO 7200, the same on every tile of a run; empty text where the builder gave none."""

    boat: str
    revision: str
    date: str
    owner: str
    number: str
    drawn_by: str
    approved_by: str
    description_sha256: str
    program_version: str
    warnings: tuple[str, ...] = ()
