"""Letters that the typeface lacks are refused before anything is written: printed, they would be empty boxes."""

from __future__ import annotations

from collections.abc import Iterable

from templater.drawing.marks import Mark, Text
from templater.findings import DrawingError, Finding
from templater.standards.typeface import FAMILY, missing_letters


def check_letters(texts: Iterable[str], where: str) -> None:
    """Refuse texts with letters that the typeface lacks, control letters among them.

    Args:
        texts: lines of text.
        where: name of the sheet, for the finding.

    Raises:
        DrawingError: S301, one finding for each text at fault.
    """
    faults = []
    for text in dict.fromkeys(texts):
        missing = missing_letters(text)
        if missing:
            named = ", ".join(f"{_shown(letter)} (U+{ord(letter):04X})" for letter in missing)
            sentence = f"{_shown(text)} on sheet {where} has a letter that {FAMILY} lacks: {named} - use other letters"
            faults.append(Finding("S301", "", sentence))
    if faults:
        raise DrawingError(*faults)


def texts_of(marks: Iterable[Mark]) -> list[str]:
    """Return the texts among ``marks``, in their order."""
    return [mark.text for mark in marks if isinstance(mark, Text)]


def _shown(text: str) -> str:
    """Return the text in quotes, control letters written as escapes, so that a finding stays one line."""
    return '"' + "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text) + '"'
