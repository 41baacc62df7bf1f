"""The typeface of all output and its advance widths.

DejaVu Sans Condensed 2.37, shipped unchanged with its licence in ``LICENSE.txt``. The widths in ``widths.txt``, one
row per letter (code point in hex, advance in regular, advance in bold), are the font files' own and are checked against
them by a test.
"""

from collections.abc import Iterable
from functools import cache, lru_cache
from pathlib import Path

from templater.findings import DrawingError, Finding, visible
from templater.units import words_of

#: Family name, for media that choose the font by name.
FAMILY = "DejaVu Sans Condensed"
#: Font units in one em. Source: the ``head`` table of both files.
UNITS_PER_EM = 2048
#: File names, regular and bold.
FILES = ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf")
_FOLDER = Path(__file__).parent


@cache
def _widths() -> tuple[dict[str, int], dict[str, int]]:
    """Return advance widths in font units by letter, regular and bold."""
    cells = (_FOLDER / "widths.txt").read_text("ascii").split()
    letters = [chr(int(code, 16)) for code in cells[::3]]
    regular, bold = (dict(zip(letters, map(int, cells[n::3]), strict=True)) for n in (1, 2))
    return regular, bold


@lru_cache(maxsize=8192)  # words come again and again
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a line of text in the unit of ``size``; a missing letter counts as one em."""
    table = _widths()[bold]
    return sum(table.get(letter, UNITS_PER_EM) for letter in text) * size / UNITS_PER_EM


def wrap(text: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """Return a text as lines no wider than ``room``, mm; a word that is wider by itself is broken between letters."""
    lines: list[str] = []
    line, used = "", 0.0
    space = text_width(" ", size, bold=bold)
    for word in words_of(text):
        long = text_width(word, size, bold=bold)
        for piece in (word,) if long <= room else _broken(word, room, size, bold=bold):
            long = text_width(piece, size, bold=bold)
            if line and used + space + long <= room:
                line, used = f"{line} {piece}", used + space + long
                continue
            if line:
                lines.append(line)
            line, used = piece, long
    return [*lines, line]


def _broken(word: str, room: float, size: float, *, bold: bool) -> list[str]:
    """Return a word in pieces that fit."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width(pieces[-1] + letter, size, bold=bold) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def missing_letters(text: str) -> str:
    """Return the letters of ``text`` that the typeface lacks, each once, in order of first appearance."""
    table = _widths()[0]
    return "".join(dict.fromkeys(letter for letter in text if letter not in table))


def font_bytes(*, bold: bool = False) -> bytes:
    """Return the font file."""
    return (_FOLDER / FILES[bold]).read_bytes()


def lacking(text: str) -> str:
    """Return what is wrong with a text's letters as the end of a sentence; empty if all can be printed."""
    named = (f"{letter} (U+{ord(letter):04X})" if letter.isprintable() else f"U+{ord(letter):04X}"
             for letter in missing_letters(text))  # fmt: skip
    told = ", ".join(named)
    return f"cannot be printed, for {FAMILY} lacks {told} - use other letters" if told else ""


def check_letters(texts: Iterable[str], where: str) -> None:
    """Refuse texts of a sheet with letters that the typeface lacks; raises DrawingError S301, a finding for each."""
    faults = [(visible(text), fault) for text in dict.fromkeys(texts) if (fault := lacking(text))]
    if faults:
        raise DrawingError(*(Finding("S301", "", f'"{text}" on sheet {where} {fault}') for text, fault in faults))
