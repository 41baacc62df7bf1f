"""Papers by name, however the builder writes it, and tiles: what a sheet becomes when it is put on paper.

All mm; a page's origin is its lower left corner, Y up.
"""

import math
import re
from collections.abc import Callable, Iterable
from typing import NamedTuple

from templater.description.keys import CustomPaper
from templater.drawing.marks import Drawing, Mark
from templater.findings import DrawingError
from templater.plane.shapes import Affine, Box, Point
from templater.reader.faults import told
from templater.standards.tables import read_table
from templater.units import MM_PER_INCH, parse_length

#: Longest side of a page, mm: 14 400 default units of 1/72 inch. Source: ISO 32000-1:2008, annex C (from memory), a
#: limit of common viewers rather than of the file format.
LONGEST_PAGE = 14400 * MM_PER_INCH / 72
#: Sizes that differ by less are one paper, mm.
_ALIKE = 0.1


class Paper(NamedTuple):
    """A paper as it lies in the printer; ``height`` None means a roll."""

    name: str
    width: float
    height: float | None


def _key(name: str) -> str:
    """Return a name's words in a fixed order and one case, so that ``Roll 24in`` finds ``24 in roll``."""
    bare = re.sub(r"(\d)\s*mm\b", r"\1", name.lower())  # mm goes without saying
    return " ".join(sorted(re.sub(r"(\d)\s*(inches\b|inch\b|in\b|\")", r"\1 in", bare).split()))


_NAMED = {_key(paper.name): paper for paper in read_table("papers", Paper)}


def find_paper(wanted: str | CustomPaper, key: str = "print.paper") -> Paper:
    """Return a paper by its name, in any case, or its size: ``210 x 297``, ``8 1/2 x 13 in``, ``roll 610 mm``.

    ``key`` is what findings name. Raises DrawingError: S101, no such paper; S102, no page can be of that size.
    """
    if isinstance(wanted, CustomPaper):
        return _of_size(wanted.roll or wanted.width or 0.0, wanted.height, key)
    if paper := _NAMED.get(_key(wanted)):
        return paper
    if size := _size(wanted):
        return _of_size(*size, key)
    from difflib import get_close_matches  # slow to load, and only faults need it

    near = get_close_matches(_key(wanted), list(_NAMED), 1, 0.4)
    hint = f"did you mean {_NAMED[near[0]].name}? " if near else ""
    known = ", ".join(paper.name for paper in _NAMED.values())
    raise DrawingError(told("S101", key, text=" ".join(wanted.split())[:60], hint=hint, known=known))


def _size(wanted: str) -> tuple[float, float | None] | None:
    """Return width and height that a text gives, no height for a roll; None if it gives neither."""
    text = wanted.strip().lower()
    try:
        if roll := re.fullmatch(r"roll\b(.+)|(.+)\broll", text):
            return parse_length(roll[1] or roll[2]), None
        width, height = re.split(r"\s*(?:x|×|by)\s*", text)
        if re.search(r"[\d.]$", width) and (unit := re.search(r"[^\d\s./]+$", height)):
            width = f"{width} {unit[0]}"  # one unit behind serves both
        return parse_length(width), parse_length(height)
    except ValueError:
        return None


def _of_size(width: float, height: float | None, key: str) -> Paper:
    """Return the paper of a size, by its name if it has one."""
    for side in (width, height):
        if side is not None and not 0 < side <= LONGEST_PAGE:
            raise DrawingError(told("S102", key, side=side, most=LONGEST_PAGE))
    width, height = round(width, 2), height and round(height, 2)  # as its name says it
    for paper in _NAMED.values():
        off = math.dist((paper.width, paper.height or 0.0), (width, height or 0.0))
        if off < _ALIKE and (paper.height is None) == (height is None):
            return paper
    return Paper(f"{width:g} roll" if height is None else f"{width:g} x {height:g}", width, height)


class Correction(NamedTuple):
    """A printer's correction, applied about the page's middle."""

    name: str = ""
    across: float = 1.0  # what drawn lengths are multiplied by: nominal over measured
    along: float = 1.0
    skew: float = 0.0  # shear in radians, X += skew * Y


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
    """One page of a sheet."""

    name: str  # row from the top and column from the left, ``1-2``
    row: int  # from 0, as the column
    column: int
    page: int  # from 1 in the sheet's file
    paper: tuple[float, float]  # width and height as printed, turned if sideways
    window: Box  # part of the sheet shown, before correction
    to_page: Affine  # sheet frame to page mm: a shift, and the printer's correction
    marks: Iterable[Mark]  # all, page mm, corrected and clipped; may be made anew at each pass, so take them once
    bars: tuple[Bar, ...] = ()
    registrations: tuple[str, ...] = ()
    neighbours: tuple[str, ...] = ()  # tiles that share an edge with this one: left, top, right, foot
    holes: tuple[str, ...] = ()  # whose centre lies in the window's own part, not in a neighbour's


def single_page(paper: tuple[float, float], marks: Iterable[Mark], bars: tuple[Bar, ...] = ()) -> Tile:
    """Return a page that is no part of a sheet, marks in page mm."""
    return Tile("1-1", 0, 0, 1, paper, (0.0, 0.0, *paper), Affine(), marks, bars)


class CutMark(NamedTuple):
    """Something that a seam cuts because no better seam could be had: a hole by its id, else by its name."""

    id: str
    seam: str


class TiledSheet(NamedTuple):
    """A drawing on paper."""

    drawing: Drawing
    paper: Paper
    sideways: bool
    correction: Correction  # in the page's axes: turned where the pages lie sideways
    grid: tuple[int, int]  # rows by columns
    column_seams: tuple[float, ...]  # u of the trim edges between columns
    row_seams: tuple[float, ...]  # v of those between rows, top down
    tiles: tuple[Tile, ...]
    blank: tuple[str, ...]  # names of the tiles left out
    registrations: tuple[Registration, ...]
    cut: tuple[CutMark, ...]  # holes whose circle, with 3 mm round it, a seam cuts
    crossed: tuple[CutMark, ...]  # what else is cut: the arms of holes, plates, sight windows
    straight_edges: tuple[str, ...]  # ids of the lines that a straight edge is held along
    drawn: "Callable[[], TiledSheet]"  # the same with all marks on its pages, where they were left bare

    @property
    def lying(self) -> str:
        """The paper and which way up it lies, for people."""
        return f"{self.paper.name} {'sideways' if self.sideways else 'upright'}"


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
