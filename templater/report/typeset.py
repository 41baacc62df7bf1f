"""Breaking text into lines and sharing a width among columns, in mm, by the typeface's own widths."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.standards.typeface import text_width
from templater.units import words_of

#: mm in a point of type.
POINT = 25.4 / 72
#: Type sizes, mm.
TEXT, CELL, SMALL, HEADING, TITLE = 9.5 * POINT, 8.5 * POINT, 8.0 * POINT, 13 * POINT, 18 * POINT
#: Distance between lines as a multiple of the type size.
LEADING = 1.28
#: Room between a cell's text and its rules, mm.
PAD = 1.2
#: A longer word may be broken so that the other columns keep theirs whole, mm.
_LONG_WORD = 50.0
#: Least width of a column that is left blank to be written in, mm.
WRITE_IN = 18.0


def column_widths(headers: Sequence[str], rows: Sequence[Sequence[str]], room: float) -> list[float]:
    """Return column widths, mm, together no wider than ``room``.

    Columns whose longest text takes less than an even share get what they need; the others share what is left by the
    square root of their longest text, none narrower than its longest word where that can be had.
    """
    needs, words = [], []
    for number, header in enumerate(headers):
        cells = [row[number] for row in rows]
        blank = bool(rows) and not any(cells)
        body = max((text_width(cell, CELL, bold=number == 0) for cell in cells), default=0.0)
        longest = max(text_width(header, CELL, bold=True), body)
        word = max(
            text_width(word, CELL, bold=bold)
            for text, bold in [(header, True), *((cell, number == 0) for cell in cells)]
            for word in words_of(text)
        )
        # A long heading over short cells is broken rather than left to set the width.
        if not blank and body < longest:
            longest = max(body, word, min(longest, 22.0))
        needs.append(max(longest, WRITE_IN if blank else 0.0) + 2 * PAD + 0.1)
        words.append(min(word, _LONG_WORD) + 2 * PAD + 0.1)
    return _share(needs, words, room)


def _share(needs: list[float], words: list[float], room: float) -> list[float]:
    """Return how ``room`` is shared among columns that would like ``needs`` and must have ``words``."""
    given = [0.0] * len(needs)
    open_ones = list(range(len(needs)))
    left = room
    while content := [number for number in open_ones if needs[number] <= left / len(open_ones)]:
        for number in content:
            given[number] = needs[number]
            left -= needs[number]
            open_ones.remove(number)
    total = sum(math.sqrt(needs[number]) for number in open_ones)
    for number in open_ones:
        given[number] = max(left * math.sqrt(needs[number]) / total, words[number])
    over = sum(given) - room
    slack = sum(given[number] - words[number] for number in open_ones)
    if over > 0 and slack > 0:
        for number in open_ones:
            given[number] -= min(over, slack) * (given[number] - words[number]) / slack
    scale = min(1.0, room / sum(given))
    return [one * scale for one in given]
