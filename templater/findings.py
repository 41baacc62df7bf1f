"""The error root, places in a text, and findings with stable codes.

Library code raises only ``TemplaterError`` and its descendants for faults of the input; it never prints or exits.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """How much a finding weighs: an error stops ``make``, a warning is printed on the sheets, advice is only listed."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class Location:
    """A place in a text: file name as given by the user, line and column counted from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found wrong or worth knowing.

    Attributes:
        code: stable code, a letter for the kind and three digits: D description, R rule, F floor and plates, P plank,
            H hardware, W wood, A accuracy, S seams and paper, Q proof, T readings at fit-up.
        severity: see ``Severity``.
        key: dotted key of the description or readings, ``fixing.settings.pitch``; empty when there is none.
        text: one sentence: the value, what is allowed, what to do. No newline.
        where: place of the key in its text, if known.
    """

    code: str
    severity: Severity
    key: str
    text: str
    where: Location | None = None

    def line(self) -> str:
        """Return the finding as one line, ``file:line:column: key: text [code]``."""
        place = f"{self.where}: " if self.where else ""
        key = f"{self.key}: " if self.key else ""
        return f"{place}{key}{self.text} [{self.code}]"


class TemplaterError(Exception):
    """Root of every error that the user can mend; carries one or more findings."""

    def __init__(self, *findings: Finding) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(f.line() for f in findings))


class DescriptionError(TemplaterError):
    """The description is at fault."""


class ReadingsError(TemplaterError):
    """The readings taken at fit-up, or at the printer, are at fault."""


class DrawingError(TemplaterError):
    """A drawing cannot be put on this paper or written in this font."""


class ProofError(TemplaterError):
    """A file to be proved cannot be read at all."""
