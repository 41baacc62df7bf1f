"""Papers by name, however the builder writes it."""

from __future__ import annotations

import difflib
import math
import re

from templater.description.keys import CustomPaper
from templater.findings import DrawingError, Finding
from templater.paper.tiles import Paper
from templater.standards.papers import LONGEST_PAGE, ROLLS, SHEETS
from templater.units import mm_text, parse_length

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
        return _custom(wanted.roll or wanted.width or 0.0, wanted.height, key)
    names = {_key(name): name for name in (*SHEETS, *ROLLS)}
    name = names.get(_key(wanted))
    if name is None and (size := _size(wanted)) is not None:
        name = _known(size)
        if name is None:
            return _custom(*size, key)
    if name is None:
        near = difflib.get_close_matches(_key(wanted), list(names), 1, 0.4)
        hint = f"did you mean {names[near[0]]}? " if near else ""
        shown = " ".join(wanted.split())[:60]
        text = f"{shown}: no such paper - {hint}known are {', '.join(names.values())}; or give a size as " \
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
            text = f"{side:g} mm: no side of a page - allowed: above 0 to {mm_text(LONGEST_PAGE, 0)} mm"
            raise DrawingError(Finding("S102", key, text))
    if height is None:
        return Paper(f"{width:g} roll", width, None)
    return Paper(f"{width:g} x {height:g}", width, height)
