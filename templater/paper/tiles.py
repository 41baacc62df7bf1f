"""Tiles: what a sheet becomes when it is put on paper. All mm; a page's origin is its lower left corner, Y up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templater.drawing.marks import Drawing, Mark
from templater.plane.shapes import Affine, Box, Point


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper as it lies in the printer; ``height`` None means a roll."""

    name: str
    width: float
    height: float | None


@dataclass(frozen=True, slots=True)
class Correction:
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
        return self.across == 1.0 and self.along == 1.0 and self.skew == 0.0


@dataclass(frozen=True, slots=True)
class Registration:
    """A registration mark, common to the tiles of a seam: ``R1``, place in the sheet frame, the tiles that show it."""

    id: str
    at: Point
    tiles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """A calibration bar of a tile, end points in page mm before correction; ``axis`` across, along or diagonal."""

    id: str
    axis: str
    a: Point
    b: Point
    length: float


@dataclass(frozen=True, slots=True)
class Tile:
    """One page of a sheet.

    Attributes:
        name: row letter from the top and column number from the left, ``A1``.
        page: from 1 in the sheet's file.
        paper: width and height of the page as printed (turned if sideways).
        window: part of the sheet shown, u0, v0, u1, v1, before correction.
        to_page: sheet frame to page mm, correction included.
        placement: the same without the correction: a quarter turn and a shift only.
        marks: everything on the page, in page mm, correction applied, clipped to the window where it belongs there;
            may be made anew each time it is gone through, so take it once.
        seams: which edges are cut and which carry a tab: subset of ``trim left``, ``trim top``, ``tab right``,
            ``tab foot``.
        holes: ids of the sheet's holes whose centre lies in the window's own part (not in a neighbour's).
    """

    name: str
    row: int
    column: int
    page: int
    paper: tuple[float, float]
    window: Box
    to_page: Affine
    placement: Affine
    marks: Sequence[Mark]
    bars: tuple[Bar, ...]
    registrations: tuple[str, ...]
    neighbours: tuple[str, ...]
    seams: tuple[str, ...]
    holes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CutMark:
    """A hole or whole-kept area that a seam or tab cuts, because no better seam could be had."""

    id: str
    seam: str


@dataclass(frozen=True, slots=True)
class TiledSheet:
    """A drawing on paper. ``grid`` is rows by columns; ``blank`` names the tiles left out.

    ``column_seams`` are the u of the trim edges between columns, ``row_seams`` the v between rows, top down.
    ``straight_edges`` are the ids of the lines through the whole sheet that a straight edge is held along.
    ``correction`` is in the page's axes: turned where the pages lie sideways.
    """

    drawing: Drawing
    paper: Paper
    sideways: bool
    margin: float
    overlap: float
    correction: Correction
    grid: tuple[int, int]
    column_seams: tuple[float, ...]
    row_seams: tuple[float, ...]
    tiles: tuple[Tile, ...]
    blank: tuple[str, ...]
    registrations: tuple[Registration, ...]
    cut: tuple[CutMark, ...]
    straight_edges: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TitleData:
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
