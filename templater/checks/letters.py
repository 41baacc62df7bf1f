"""Names and title data that are written on the sheets: every letter must be one that the typeface has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

from templater.boat.solved import Boat
from templater.description.model import Description
from templater.findings import Finding
from templater.job.lengths import finding_at
from templater.standards.typeface import FAMILY, missing_letters


def letter_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings S301: texts with letters that cannot be printed, each at its key."""
    description = boat.description
    for key, text in _texts(description):
        if missing := missing_letters(text):
            named = ", ".join(_named(letter) for letter in missing)
            sentence = f"{text}: cannot be printed, for {FAMILY} lacks {named} - use other letters"
            yield finding_at(description, "S301", key, sentence)


def _named(letter: str) -> str:
    """Return a letter with its code point, that alone if the letter cannot be shown."""
    point = f"U+{ord(letter):04X}"
    return f"{letter} ({point})" if letter.isprintable() else point


def _texts(description: Description) -> Iterator[tuple[str, str]]:
    """Yield every text of the description that a sheet may show, with its key."""
    yield "boat", description.boat
    for field in fields(description.issue):
        yield f"issue.{field.name}", getattr(description.issue, field.name)
    for number, area in enumerate(description.floor.keep_clear):
        yield f"floor.keep_clear.{number}.name", area.name
    for number, fitting in enumerate(description.fittings):
        yield f"fittings.{number}.name", fitting.name
    yield "print.printer", description.print.printer or ""
