"""Papers by name, however the builder writes it, and tiles: what a sheet becomes when it is put on paper.

All mm; a page's origin is its lower left corner, Y up.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from typing import NamedTuple

from templater.description.keys import CustomPaper
from templater.drawing.marks import Drawing, Mark
from templater.findings import DrawingError, Finding
from templater.plane.shapes import Affine, Box, Point
from templater.standards.papers import LONGEST_PAGE, ROLLS, SHEETS
from templater.units import MM, parse_length

#: Sizes that differ by less are one paper, mm.
_ALIKE = 0.1


class Paper(NamedTuple):
    """A paper as it lies in the printer; ``height`` None means a roll."""

    name: str
    width: float
    height: float | None


def find_paper(wanted: str | CustomPaper, key: str = "print.paper") -> Paper:
    """Return a paper.

    Args:
        wanted: a name (``A4``, ``letter``, ``24 in roll``), upper or lower case, any roll (``roll 610 mm``), or a size
            (``210 x 297``, ``8 1/2 x 13 in``; mm where no unit stands), also as numbers.
        key: that findings name.

    Raises:
        DrawingError: S101, no paper has that name; S102, no page can be of that size.
    """
    if isinstance(wanted, CustomPaper):
        size: tuple[float, float | None] | None = (wanted.roll or wanted.width or 0.0, wanted.height)
        name, wanted = None, ""
    else:
        name = _NAMES.get(_key(wanted))
        size = None if name else _size(wanted)
    if size is not None and (name := _known(size)) is None:
        return _custom(*size, key)
    if name is None:
        near = difflib.get_close_matches(_key(wanted), list(_NAMES), 1, 0.4)
        hint = f"did you mean {_NAMES[near[0]]}? " if near else ""
        shown = " ".join(wanted.split())[:60]
        text = (
            f"{shown}: no such paper - {hint}known are {', '.join(_NAMES.values())}; or give a size as "
            "210 x 297 mm or 8 1/2 x 13 in, or any roll as 610 mm roll"
        )
        raise DrawingError(Finding("S101", key, text))
    if name in ROLLS:
        return Paper(name, ROLLS[name], None)
    return Paper(name, *SHEETS[name])


def _key(name: str) -> str:
    """Return a name's words in a fixed order and one case, so that ``Roll 24in`` finds ``24 in roll``."""
    text = re.sub(r"(\d)\s*(mm\b|inches\b|inch\b|in\b|\")", _unit, name.lower())
    return " ".join(sorted(text.split()))


def _unit(match: re.Match[str]) -> str:
    """Return a number with its unit set apart; mm goes without saying."""
    return match[1] if match[2] == "mm" else f"{match[1]} in"


_NAMES = {_key(name): name for name in (*SHEETS, *ROLLS)}


def _size(wanted: str) -> tuple[float, float | None] | None:
    """Return width and height that a text gives, no height for a roll; None if it gives neither."""
    text = wanted.strip().lower()
    try:
        if roll := re.fullmatch(r"roll\b(.+)|(.+)\broll", text):
            return parse_length(roll[1] or roll[2]), None
        sides = re.split(r"\s*(?:x|×|by)\s*", text)
        if len(sides) != 2:
            return None
        if re.search(r"[\d.]$", sides[0]) and (unit := re.search(r"[^\d\s./]+$", sides[1])):
            sides[0] = f"{sides[0]} {unit[0]}"  # one unit behind serves both
        return parse_length(sides[0]), parse_length(sides[1])
    except ValueError:
        return None


def _known(size: tuple[float, float | None]) -> str | None:
    """Return the name of the paper of a size, if it has one."""
    width, height = size
    if height is None:
        return next((name for name, its in ROLLS.items() if abs(its - width) < _ALIKE), None)
    return next((name for name, its in SHEETS.items() if math.dist(its, (width, height)) < _ALIKE), None)


def _custom(width: float, height: float | None, key: str) -> Paper:
    """Return the user's own paper, width and height as given."""
    for side in (width, height):
        if side is not None and not 0 < side <= LONGEST_PAGE:
            text = f"{MM.size(side)}: no side of a page - allowed: above 0 to {MM.size(LONGEST_PAGE, 0)}"
            raise DrawingError(Finding("S102", key, text))
    if height is None:
        return Paper(f"{width:g} roll", width, None)
    return Paper(f"{width:g} x {height:g}", width, height)


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
