"""Checking a boat: text and options in, the solved boat and everything found about it out."""

import hashlib
import io
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, BinaryIO, NamedTuple

from templater import __version__
from templater.boat.solve import solve
from templater.boat.solved import Boat
from templater.checks.all import check as check_boat
from templater.description.keys import CustomPaper, Description
from templater.description.load import Base, Source, load
from templater.findings import Finding, Severity
from templater.paper.tiles import NO_CORRECTION, Correction, TitleData
from templater.reader.faults import told

if TYPE_CHECKING:
    from templater.paper.printer import PrinterProfile

#: Called with what is being done and how many parts of how many are done.
Progress = Callable[[str, int, int], None]


def no_progress(_what: str, _done: int, _of: int) -> None:
    """Report no progress."""


class Options(NamedTuple):
    """What the command line may change of a run.

    ``profiles`` returns a stored printer profile by name or raises a TemplaterError; without it the description's
    ``print: printer`` is passed over, as for a file that goes to another printer.
    """

    paper: str | CustomPaper | None = None
    only: tuple[str, ...] = ()  # sheets to make; empty makes all
    tiles: tuple[str, ...] = ()  # lost tiles of that sheet to make again; empty makes whole sheets
    earlier: Callable[[str], bytes | None] = lambda _boat: None  # the manifest in the folder of a boat of this name
    printer: str | None = None
    profiles: "Callable[[str], PrinterProfile] | None" = None
    store: Callable[[], BinaryIO] = io.BytesIO  # makes what holds a file until all are made
    beside: Callable[[Callable[[], Any]], Callable[[], Any]] = lambda work: work  # begins work, gives its result later

    def profile_for(self, description: Description) -> "PrinterProfile | None":
        """Return the profile of the printer that the description names, if any."""
        name = description.print.printer
        return self.profiles(name) if name and self.profiles else None

    def correction_for(self, description: Description) -> Correction:
        """Return the printer's correction, none without a profile."""
        profile = self.profile_for(description)
        return profile.correction() if profile else NO_CORRECTION


#: Nothing of the description is changed.
AS_DESCRIBED = Options()


class Checked(NamedTuple):
    """A solved boat with everything found about it, errors first."""

    source: Source
    boat: Boat
    findings: tuple[Finding, ...]
    bases: tuple[Base, ...] = ()  # those that were read, nearest first
    options: Options = AS_DESCRIBED  # those that the description was changed by

    @property
    def sha256(self) -> str:
        """SHA-256 of the description's bytes, followed by those of its bases if it has any, in hex."""
        return hashlib.sha256(b"".join([self.source.data, *(base.data for base in self.bases)])).hexdigest()

    @property
    def errors(self) -> tuple[Finding, ...]:
        """The findings that stop ``make``."""
        return tuple(finding for finding in self.findings if finding.severity is Severity.ERROR)

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """The findings that are printed on the sheets."""
        return tuple(finding for finding in self.findings if finding.severity is Severity.WARNING)

    def found(self, *findings: Finding) -> "Checked":
        """Return the boat with more findings."""
        all_ = (*self.findings, *findings)
        if any(one.code == "F142" for one in all_):  # the errors need the play: F140 would advise it away
            all_ = tuple(one for one in all_ if one.code != "F140")
        return self._replace(findings=tuple(sorted(all_, key=lambda one: one.severity.rank)))


def check(source: Source, options: Options = AS_DESCRIBED) -> Checked:
    """Return the solved boat and all findings.

    Raises DescriptionError if the text is no valid description, or nothing can be solved from it.
    """
    from templater.job.hardware import hardware

    description, bases = load(source)
    choice = description.print
    printer = options.printer or (None if source.handed_over else choice.printer)
    boat = solve(description.changed(print=choice.changed(paper=options.paper or choice.paper, printer=printer)))
    return Checked(source, boat, (), bases, options).found(*check_boat(boat), *hardware(boat).findings)


def boat_name(source: Source) -> str:
    """Return the boat's name, without solving anything; raises DescriptionError if the text is no valid description."""
    return load(source)[0].boat


def title_data(checked: Checked) -> TitleData:
    """Return the title data that every tile of a run carries."""
    issue, warnings = checked.boat.description.issue, tuple(finding.text for finding in checked.warnings)
    return TitleData(
        checked.boat.description.boat, issue.revision, issue.date, issue.owner, issue.number, issue.drawn_by,
        issue.approved_by, checked.sha256, __version__, warnings,
    )  # fmt: skip


def printer_findings(checked: Checked, options: Options) -> tuple[Finding, ...]:
    """Return S111 if the printer's profile was measured on another paper; raises ReadingsError if there is none."""
    from templater.paper.tiles import find_paper

    description = checked.boat.description
    profile, paper = options.profile_for(description), find_paper(description.print.paper).name
    if profile is None or paper == profile.paper:
        return ()
    found = told("S111", "print.printer", printer=profile.printer, measured=profile.paper, paper=paper)
    return (placed(found, checked),)


def placed(finding: Finding, checked: Checked) -> Finding:
    """Return a finding about paper with the place of its key, or with the option that was given instead of it."""
    given = {"print.paper": checked.options.paper, "print.printer": checked.options.printer}
    if finding.where is not None or not finding.key:
        return finding
    if given.get(finding.key) is not None:
        return finding._replace(key=f"--{finding.key.removeprefix('print.')}")
    return finding._replace(where=checked.boat.description.place(finding.key))
