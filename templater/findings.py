"""The error root, places in a text, and findings with stable codes.

Library code raises only ``TemplaterError`` and its descendants for faults of the input; it never prints or exits.
"""

from enum import Enum
from pathlib import Path
from typing import NamedTuple


class Severity(Enum):
    """How much a finding weighs: an error stops ``make``, a warning is printed on the sheets, advice is only listed."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"

    @property
    def rank(self) -> int:
        """What findings are sorted by: errors first."""
        return list(Severity).index(self)


class Kind(NamedTuple):
    """A kind of finding: its severity, that of a lighter case where there is one, what it is, what is said of it."""

    severity: Severity
    lighter: Severity | None
    what: str
    sentences: dict[str, str]  # by the name of the case, with names of figures in braces


def _catalogue() -> dict[str, Kind]:
    kinds: dict[str, Kind] = {}
    sentences = common = dict[str, str]()
    for line in Path(__file__).with_name("findings.txt").read_text("utf-8").splitlines():
        if line.startswith(" "):
            case, _, sentence = line.strip().rpartition("| ")
            sentences[case] = sentence
        elif line and not line.startswith("#"):
            code, severities, what = line.split(" ", 2)
            severity, *lighter = map(Severity, severities.split("/"))
            sentences = dict(common)
            kinds[code] = Kind(severity, lighter[0] if lighter else None, what, sentences)
    return kinds


#: Every kind of finding by its code, from ``findings.txt``.
CATALOGUE = _catalogue()


class Location(NamedTuple):
    """A place in a text: file name as given by the user, line and column counted from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


#: How a letter that cannot be seen is written out, by whether its number is above 255.
_WRITTEN = (r"\x%02x", r"\u%04x")
#: Letters that ids of screws carry for their set.
_SETS = {"first": "a", "second": "b"}


def visible(text: str) -> str:
    r"""Return a text with every letter that could not be seen, or would move what stands round it, written out.

    >>> visible("a\rb\u202e")
    'a\\x0db\\u202e'
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else _WRITTEN[ord(letter) > 255] % ord(letter) for letter in text)


def counted(key: str) -> str:
    """Return a dotted key with places in lists counted from 1 as on the sheets, and x and y of points named.

    >>> counted("fixing.plate.screws.second.1"), counted("floor.outline.0.1")
    ('fixing.plate.screws.second b2', 'floor.outline 1 y')
    """
    words: list[str] = []
    parts = key.split(".")
    for before, part in zip(["", *parts], parts, strict=False):
        if not (part.isascii() and part.isdigit() and len(part) < 7):
            words.append(f".{part}")
        elif (before == "at" or before.isdigit()) and part in "01":
            words.append(" x" if part == "0" else " y")
        else:
            words.append(f" {_SETS.get(before, '')}{int(part) + 1}")
    return "".join(words).removeprefix(".")


class Finding(NamedTuple):
    """One thing found wrong or worth knowing."""

    code: str  # of the ``CATALOGUE``, which gives its severity
    key: str  # dotted key of the description or readings, ``fixing.settings.pitch``; empty when there is none
    text: str  # one sentence: the value, what is allowed, what to do; no newline
    where: Location | None = None  # place of the key in its text, if known
    graded: Severity | None = None  # severity of this case where its kind has a lighter one

    @property
    def severity(self) -> Severity:
        """How much it weighs."""
        return self.graded or CATALOGUE[self.code].severity

    def line(self) -> str:
        """Return the finding as one line, ``file:line:column: key: text [code]``."""
        place = f"{self.where}: " if self.where else ""
        key = f"{counted(self.key)}: " if self.key else ""
        return visible(f"{place}{key}{self.text} [{self.code}]")


class TemplaterError(Exception):
    """Root of every error that the user can mend; carries one or more findings."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__(*findings)
        self.findings = findings

    def __str__(self) -> str:
        return "\n".join(finding.line() for finding in self.findings)


class DescriptionError(TemplaterError):
    """The description is at fault."""


class ReadingsError(TemplaterError):
    """The readings taken at fit-up, or at the printer, are at fault."""


class DrawingError(TemplaterError):
    """A drawing cannot be put on this paper or written in this font."""


class ProofError(TemplaterError):
    """A file to be proved cannot be read at all."""
