"""Papers by name, however the builder writes it, and how a page is divided."""

from __future__ import annotations

import difflib
import math
import re
from typing import NamedTuple

from templater.description.keys import CustomPaper
from templater.findings import DrawingError, Finding
from templater.paper.tiles import Correction, Paper
from templater.plane.shapes import Box
from templater.standards.papers import LONGEST_PAGE, ROLLS, SHEETS
from templater.units import MM, parse_length

#: Height of the strip along the foot and width of the strip at the right, mm.
FOOT, SIDE = 28.0, 12.0
#: Smallest printable area: the title block is 180 mm wide (ISO 7200, from memory); beside the foot stand the bars
#: along the paper and the arrow.
LEAST_WIDTH, LEAST_HEIGHT = 180.0, FOOT + 142.0
#: Sizes that differ by less are one paper, mm.
_ALIKE = 0.1


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
        text = f"{shown}: no such paper - {hint}known are {', '.join(_NAMES.values())}; or give a size as " \
            "210 x 297 mm or 8 1/2 x 13 in, or any roll as 610 mm roll"
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


class Page(NamedTuple):
    """A page's sides and what may be printed on, mm; before correction."""

    width: float
    height: float
    printable: Box

    @property
    def area(self) -> Box:
        """Where the window may stand."""
        x0, y0, x1, y1 = self.printable
        return (x0, y0 + FOOT, x1 - SIDE, y1)

    @property
    def foot(self) -> Box:
        """The strip along the foot, over the full width."""
        x0, y0, x1, _ = self.printable
        return (x0, y0, x1, y0 + FOOT)

    @property
    def side(self) -> Box:
        """The strip at the right, above the foot."""
        _, y0, x1, y1 = self.printable
        return (x1 - SIDE, y0 + FOOT, x1, y1)


def make_page(width: float, height: float, margin: float, correction: Correction) -> Page:
    """Return a page; where a correction makes things larger, the printable area is smaller by as much."""
    half_x, half_y = width / 2 - margin, height / 2 - margin
    grown_y = half_y / max(1.0, correction.along)
    grown_x = (half_x - abs(correction.skew) * half_y) / max(1.0, correction.across)
    middle_x, middle_y = width / 2, height / 2
    return Page(width, height, (middle_x - grown_x, middle_y - grown_y, middle_x + grown_x, middle_y + grown_y))


def page_sides(paper: Paper, *, sideways: bool) -> tuple[float, float]:
    """Return width and height of the page; a roll's free side is as long as a page can be."""
    height = LONGEST_PAGE if paper.height is None else paper.height
    return (height, paper.width) if sideways else (paper.width, height)


def check_page(page: Page, paper: Paper, margin: float) -> DrawingError | None:
    """Return what is wrong if the page is too small to carry bars, title data and a window."""
    x0, y0, x1, y1 = page.printable
    if x1 - x0 >= LEAST_WIDTH - 1e-9 and y1 - y0 >= LEAST_HEIGHT - 1e-9:
        return None
    least = f"{MM.size(LEAST_WIDTH + 2 * margin)} x {MM.size(LEAST_HEIGHT + 2 * margin)}"
    text = (
        f"{paper.name}: too small for a template with a margin of {MM.size(margin)} - the smallest paper that works "
        f"is {least}, either way up"
    )
    return DrawingError(Finding("S103", "print.paper", text))
