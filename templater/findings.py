"""The error root, places in a text, and findings with stable codes.

Library code raises only ``TemplaterError`` and its descendants for faults of the input; it never prints or exits.
"""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple


class Severity(Enum):
    """How much a finding weighs: an error stops ``make``, a warning is printed on the sheets, advice is only listed."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"


class Kind(NamedTuple):
    """A kind of finding: its severity, what it is, and the severity of a lighter case where there is one."""

    severity: Severity
    what: str
    lighter: Severity | None = None


ERROR, WARNING, ADVICE = Severity.ERROR, Severity.WARNING, Severity.ADVICE

#: Every kind of finding by its code, a letter and three digits: D description and files, R rule, F floor and plates,
#: P plank, H hardware, W wood between holes, S sheets and paper, Q proof of files, T readings. A code never changes its
#: meaning.
CATALOGUE = {
    # The text as YAML.
    "D101": Kind(ERROR, "not YAML"),
    "D102": Kind(ERROR, "a character that no text may hold"),
    "D103": Kind(ERROR, "a text that is too long"),
    "D104": Kind(ERROR, "values nested too deep"),
    "D105": Kind(ERROR, "a YAML tag or directive"),
    "D106": Kind(ERROR, "a YAML anchor, alias or merge key"),
    "D107": Kind(ERROR, "a key written twice"),
    "D108": Kind(ERROR, "more than one YAML document"),
    "D109": Kind(ERROR, "a key that is not a plain word"),
    "D110": Kind(ERROR, "a number that is infinite or not a number"),
    "D111": Kind(ERROR, "no keys at all"),
    # Keys and values one by one.
    "D120": Kind(ERROR, "an unknown key"),
    "D121": Kind(ERROR, "a key is missing"),
    "D122": Kind(ERROR, "keys or a list where a single value belongs, or the other way round"),
    "D123": Kind(ERROR, "a value of the wrong kind: not a length, number or word"),
    "D124": Kind(ERROR, "a value outside what is allowed"),
    "D125": Kind(ERROR, "a word that is not one of those allowed"),
    "D126": Kind(ERROR, "keys that exclude one another, or none of those needed"),
    # Values against one another.
    "D130": Kind(ERROR, "limits of the runner base that contradict one another"),
    "D131": Kind(ERROR, "corners whose edges cross or that enclose nothing"),
    "D132": Kind(ERROR, "a sleeve whose bore leaves no wall"),
    "D133": Kind(ERROR, "a slot that does not fit its plate"),
    "D134": Kind(ERROR, "screws outside the plate or in its slot"),
    "D135": Kind(ERROR, "bolt holes beyond the plank's ends"),
    "D136": Kind(ERROR, "more crown than a plank can have"),
    "D137": Kind(ERROR, "other sizes of the plank that contradict one another"),
    "D138": Kind(ERROR, "settings that fall on one another"),
    "D139": Kind(ERROR, "other sizes of the plate that contradict one another"),
    # Files.
    "D160": Kind(ERROR, "a description that another is based on cannot be read"),
    "D161": Kind(ERROR, "a description based on itself"),
    "D162": Kind(ERROR, "too many descriptions, each based on the next"),
    "D190": Kind(ERROR, "a file cannot be read"),
    "D191": Kind(ERROR, "a file cannot be written"),
    "D192": Kind(ERROR, "a file that exists already would be overwritten"),
    "D195": Kind(ERROR, "a hand-over PDF that cannot be unpacked"),
    "D196": Kind(ERROR, "two files of one name in a hand-over"),
    # The rule.
    "R110": Kind(ERROR, "a runner base beyond the rule's greatest"),
    "R111": Kind(ERROR, "a runner base short of the rule's least"),
    "R112": Kind(WARNING, "a runner base inside the rule's greatest by less than wanted"),
    # The floor and its plates.
    "F110": Kind(ERROR, "a hole past the floor's outline"),
    "F111": Kind(WARNING, "a hole near the floor's edge", ADVICE),
    "F112": Kind(ERROR, "a hole in an area to be kept clear"),
    "F120": Kind(ERROR, "a plate past the floor's outline"),
    "F121": Kind(ERROR, "a plate in an area to be kept clear"),
    "F122": Kind(ERROR, "plates of neighbouring settings overlap"),
    "F123": Kind(ERROR, "the port and starboard plates overlap"),
    "F124": Kind(WARNING, "a fitting's hole under a plate"),
    "F134": Kind(ADVICE, "a slot that leaves the bolt little travel"),
    "F135": Kind(ADVICE, "no second set of screws for a replacement plate"),
    "F140": Kind(ADVICE, "a sleeve with much play on the bolt"),
    "F142": Kind(WARNING, "play too small for both bolts to drop in and the tapes to agree", ADVICE),
    "F150": Kind(WARNING, "a steering post of unlikely size"),
    "F151": Kind(WARNING, "a corner of the floor far from the others"),
    # The plank.
    "P101": Kind(ERROR, "a crown that no arc can have"),
    "P102": Kind(ERROR, "bolts beyond the plank's ends"),
    "P110": Kind(ERROR, "a bolt hole larger than the solid plug"),
    "P111": Kind(WARNING, "little solid wood round the bolt in the plug"),
    "P112": Kind(ERROR, "bolt holes past the plank's edge"),
    "P113": Kind(WARNING, "bolts near the plank's edge", ADVICE),
    "P114": Kind(ERROR, "bolt holes past the plank's ends"),
    "P115": Kind(WARNING, "bolts near the plank's ends", ADVICE),
    "P116": Kind(ERROR, "a fitting's hole past the plank's edge or end"),
    "P117": Kind(ADVICE, "the share of the plank that a bolt hole takes"),
    "P120": Kind(WARNING, "a crown of unlikely size"),
    "P121": Kind(ERROR, "chock corners further apart than the plank is long"),
    "P122": Kind(WARNING, "chock corners unlikely close together"),
    "P123": Kind(WARNING, "chock corners unlikely far below the floor"),
    "P124": Kind(WARNING, "pivot axis or chock corners clear of the plank"),
    "P125": Kind(WARNING, "a plank shorter than the floor is wide"),
    "P126": Kind(WARNING, "a plank of unlikely width or thickness"),
    "P128": Kind(WARNING, "a size so small that centimetres may be meant"),
    "P127": Kind(WARNING, "chock corners a little beyond the plank's ends"),
    # The hardware.
    "H101": Kind(WARNING, "screws that break through the floor"),
    "H102": Kind(ADVICE, "screws that come to the floor's under face"),
    "H103": Kind(WARNING, "a countersink deeper than the plate is thick"),
    "H104": Kind(ERROR, "screws that do not reach through the plate"),
    "H105": Kind(ADVICE, "screws that are light for the plates"),
    "H106": Kind(WARNING, "two screw heads overlap"),
    "H110": Kind(WARNING, "a stack longer than the longest bolt in the table"),
    "H111": Kind(WARNING, "the nut runs out of thread"),
    "H112": Kind(ERROR, "too little thread beyond the nut", WARNING),
    "H113": Kind(ADVICE, "a bolt length that is not a standard one"),
    "H114": Kind(ERROR, "a bolt that does not pass its hole, sleeve or slot"),
    "H115": Kind(WARNING, "a bolt head that drops into the slot"),
    "H116": Kind(WARNING, "a bolt head larger than the plate"),
    "H117": Kind(WARNING, "a bolt head that meets a screw head"),
    "H118": Kind(WARNING, "a countersunk head higher than the plate is thick"),
    "H119": Kind(WARNING, "a washer past the plank's edge"),
    "H120": Kind(WARNING, "hardware that the tables lack"),
    "H121": Kind(WARNING, "a sleeve wider than the plate above it"),
    # The wood between holes.
    "W101": Kind(ERROR, "holes that cut into one another"),
    "W102": Kind(WARNING, "thin wood between two holes", ADVICE),
    "W103": Kind(WARNING, "screws close together", ADVICE),
    "W104": Kind(WARNING, "bolts close together", ADVICE),
    # Paper, sheets and lettering.
    "S101": Kind(ERROR, "a paper that is not known"),
    "S102": Kind(ERROR, "a paper of impossible size"),
    "S103": Kind(ERROR, "a paper too small for a template"),
    "S104": Kind(ERROR, "an overlap too small for the registration marks"),
    "S110": Kind(ERROR, "a printer profile that is off by too much"),
    "S111": Kind(ADVICE, "a printer profile measured on another paper"),
    "S120": Kind(ADVICE, "marks cut by seams"),
    "S190": Kind(ERROR, "a sheet that this boat does not have"),
    "S195": Kind(ERROR, "a kerf that leaves nothing of an opening"),
    "S196": Kind(ERROR, "no plate to cut"),
    "S301": Kind(ERROR, "a letter that the typeface lacks"),
    # The proof of files.
    "Q100": Kind(ERROR, "no manifest found"),
    "Q101": Kind(ERROR, "a damaged manifest"),
    "Q102": Kind(ERROR, "a file is missing"),
    "Q103": Kind(ERROR, "a file that cannot be read as PDF"),
    "Q104": Kind(ERROR, "an encrypted PDF"),
    "Q105": Kind(ERROR, "a PDF that the reader complains about", WARNING),
    "Q106": Kind(ERROR, "a file that cannot be read as SVG"),
    "Q107": Kind(ERROR, "a file that cannot be read as DXF"),
    "Q108": Kind(ERROR, "something in a file that is not understood, so that its marks cannot be told"),
    "Q110": Kind(ERROR, "a page missing or one too many"),
    "Q111": Kind(ERROR, "a page that is another tile than expected, or is there twice", WARNING),
    "Q112": Kind(ERROR, "a page of another revision"),
    "Q113": Kind(ERROR, "a page on other paper", ADVICE),
    "Q120": Kind(ERROR, "a mark or text is missing"),
    "Q121": Kind(ERROR, "a mark or text is out of place, size or round"),
    "Q122": Kind(ERROR, "a mark or text is not drawn in its own pen or type, or not in black"),
    "Q127": Kind(ERROR, "something that is not in the drawing"),
    "Q130": Kind(ERROR, "a page that is scaled"),
    "Q131": Kind(ERROR, "a page that is rotated", ADVICE),
    "Q132": Kind(ADVICE, "a page that is shifted"),
    "Q133": Kind(ERROR, "a page that is cropped", WARNING),
    "Q134": Kind(ERROR, "a page that is sheared or mirrored"),
    "Q135": Kind(ERROR, "a file that is not one of the sheets"),
    "Q136": Kind(ERROR, "a page without text, taken by its order"),
    "Q138": Kind(ERROR, "a page whose marks cannot be found"),
    # Readings at fit-up and at the printer.
    "T000": Kind(ERROR, "readings that are not YAML"),
    "T001": Kind(ERROR, "an unknown key in the readings"),
    "T002": Kind(ERROR, "a reading is missing"),
    "T003": Kind(ERROR, "keys or a list are missing in the readings"),
    "T004": Kind(ERROR, "a reading of the wrong kind"),
    "T005": Kind(ERROR, "a reading outside what is allowed"),
    "T006": Kind(ERROR, "a decimal comma read as two readings"),
    "T101": Kind(ERROR, "a bar of the printer page unknown or not measured"),
    "T102": Kind(ERROR, "a bar off by too much"),
    "T121": Kind(ERROR, "no profile of this printer"),
    "T122": Kind(ERROR, "a bar's reading of the wrong form"),
    "T210": Kind(ERROR, "tape readings without chock corners in the description"),
    "T211": Kind(ERROR, "a setting that the boat does not have"),
    "T212": Kind(ERROR, "tape readings that no turn of the plank can give"),
    "T213": Kind(ERROR, "a plank further off centre than it can be"),
    "T214": Kind(ERROR, "a tape reading far from what is expected"),
    "T220": Kind(WARNING, "a tape reading that does not agree with its repeats"),
    "T221": Kind(WARNING, "tapes out of tolerance"),
    "T222": Kind(ADVICE, "within tolerance, but not surely"),
    "T223": Kind(WARNING, "tape readings that scatter widely"),
    "T224": Kind(WARNING, "readings of different kinds disagree"),
    "T225": Kind(ADVICE, "readings that fit another setting better"),
    "T226": Kind(ADVICE, "a move larger than the bolts' play allows"),
    "T227": Kind(ADVICE, "too few tape readings"),
    "T228": Kind(ADVICE, "a slip on all readings of one side"),
    "T229": Kind(WARNING, "a ring length that the readings contradict"),
    "T230": Kind(WARNING, "a station that does not fit the centreline"),
    "T232": Kind(WARNING, "a hull whose middle is curved"),
    "T233": Kind(WARNING, "a steering post off the centreline"),
    "T234": Kind(ADVICE, "too few stations"),
    "T235": Kind(WARNING, "a centreline that is not known well enough"),
    "T236": Kind(WARNING, "a half breadth that does not agree with its repeats"),
    "T240": Kind(ERROR, "a seat or gap beyond the plank"),
    "T241": Kind(ADVICE, "shims that run out to nothing"),
    "T242": Kind(WARNING, "a twisted plank"),
    "T243": Kind(WARNING, "crown gaps that the plank's arc contradicts"),
    "T244": Kind(ADVICE, "too few crown gaps"),
    "T245": Kind(WARNING, "a toe that shims cannot correct"),
    "T246": Kind(WARNING, "a shim reading that does not agree with its repeats"),
    "T247": Kind(WARNING, "readings that would make one shim thicker than the other"),
    "T250": Kind(ERROR, "a damaged record of a fit-up"),
    "T251": Kind(ERROR, "readings of another boat"),
}


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
    """One thing found wrong or worth knowing.

    Attributes:
        code: of the ``CATALOGUE``, which gives its severity.
        key: dotted key of the description or readings, ``fixing.settings.pitch``; empty when there is none.
        text: one sentence: the value, what is allowed, what to do. No newline.
        where: place of the key in its text, if known.
        graded: severity of this case where its kind has a lighter one.
    """

    code: str
    key: str
    text: str
    where: Location | None = None
    graded: Severity | None = None

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
