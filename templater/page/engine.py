"""What the page asks of Python: plain data in, plain data out, by the same pipeline as the shell.

``call`` takes a name, JSON and files by name, and gives JSON and files by name. Every fault comes back as findings.
The page keeps all texts; nothing is kept here but the last result, so it may be stopped and started again.
"""

import json
import re
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from templater import __version__
from templater.boat.solved import plain
from templater.description.load import Base, Source, starter_text
from templater.findings import Location, ReadingsError, TemplaterError
from templater.page.pictures import pictures
from templater.page.texts import job_of, put, values, zipped
from templater.paper.printer import PrinterProfile, load_profile, measured_profile, profile_yaml
from templater.pipeline.checked import Checked, Options, check
from templater.pipeline.sheets import OnPaper, bars_page, drawings_of, on_paper, tile_sheets
from templater.reader.faults import told
from templater.share.names import safe_name
from templater.units import MM

Files = dict[str, bytes]
Answer = tuple[dict[str, Any], Files]
#: Papers whose number of pages is told, as far as the program knows them.
PAPERS = ("A4", "A3", "A2", "A1", "Letter", "Legal", "Tabloid", "24 in roll", "36 in roll")
#: Margin of the page with the bars, mm.
_MARGIN = 7.0
#: What stands between two readings: blanks, but not those before a fraction, a unit or a slash, nor that behind one.
_BETWEEN = r"(?i)\s*;\s*|(?<![\s/])\s+(?![\s/a-z\"'″′]|\d+/(?:2|4|8|16|32|64)(?!\d))"


class Job(NamedTuple):
    """The texts of the page: the description with what it is based on, readings, and printer profiles by name."""

    text: str = ""
    file: str = "boat.yaml"
    bases: Mapping[str, str] = MappingProxyType({})
    readings: str = ""
    printers: Mapping[str, str] = MappingProxyType({})

    def source(self) -> Source:
        """Return the description as the pipeline takes it."""
        return Source(self.text.encode(), self.file, self._base)

    def _base(self, name: str, where: Location) -> Base:
        bare = re.split(r"[/\\]", name)[-1]
        if bare not in self.bases:
            raise TemplaterError(told("D160", "based_on", "not here", MM, where, name=name))
        return Base(name, bare, self.bases[bare].encode())

    def options(self, paper: str | None = None) -> Options:
        """Return the options of a run; only printers that were measured here are corrected for."""

        def profile(name: str) -> PrinterProfile:
            if name not in self.printers:
                raise TemplaterError(told("T121", "print.printer", "not here", name=name))
            return load_profile(self.printers[name], name)

        return Options(paper, profiles=profile)


def call(name: str, argument: str, files: Mapping[str, bytes]) -> tuple[str, Files]:
    """Answer one question: JSON and files in and out; ``faults``, and nothing else, where the input is at fault."""
    given = json.loads(argument)
    job = Job(**given.pop("job", {}))
    if files:
        given["files"] = {title: bytes(data) for title, data in files.items()}
    try:
        answer, out = _QUESTIONS[name](job, **given)
    except TemplaterError as fault:
        answer, out = {"faults": plain(fault.findings)}, {}
    return json.dumps(answer, ensure_ascii=False), out


def _new(_job: Job, boat: str = "My boat", units: str = "mm") -> Answer:
    return {"text": starter_text(boat, units)}, {}


def _edit(_job: Job, text: str, changes: list[tuple[str, Any]]) -> Answer:
    """Return a text with values put in or left out: ``changes`` are [key, value]."""
    for key, value in changes:
        text = put(text, key, value)
    return {"text": text}, {}


def _look(job: Job) -> Answer:
    """Return what stands in the description, what is found about the boat, and its pictures."""
    answer: dict[str, Any] = {"values": values(job.text)}
    try:
        checked = _checked(job)
        found = checked.findings
        answer["boat"] = checked.boat.description.boat
        answer["pictures"] = pictures(checked.boat)
    except TemplaterError as fault:
        found = fault.findings
    return {**answer, "findings": plain(found)}, {}


#: The boat that was checked last and its texts, and it on paper: most questions are about the same one.
_last: dict[str, Any] = {}


def _checked(job: Job) -> Checked:
    key = job._replace(readings="")
    if _last.get("job") != key:
        _last.clear()
        _last.update(checked=check(job.source(), job.options()), job=key)
    checked: Checked = _last["checked"]
    return checked


def _sound(job: Job) -> OnPaper:
    """Return the boat on paper, the pages bare; raises TemplaterError if something stops its sheets."""
    checked = _checked(job)
    if checked.errors:
        raise TemplaterError(*checked.errors)
    if "paper" not in _last:
        _last["paper"] = on_paper(checked, job.options(), larger=False)
    there: OnPaper = _last["paper"]
    return there


def _sheets(job: Job, *, drawn: bool) -> Answer:
    """Return all that is found about the boat, on paper too; every sheet with its tiles over it if ``drawn``."""
    from templater.page.screens import sheet_data

    there = _sound(job)
    shown = [sheet_data(sheet) for sheet in there.sheets] if drawn else []
    return {"findings": plain(there.checked.findings), "sheets": shown}, {}


def _tile(job: Job, sheet: str, tile: str) -> Answer:
    from templater.page.screens import tile_svg

    checked = _sound(job).checked
    correction = job.options().correction_for(checked.boat.description)
    (there,) = tile_sheets(checked, drawings_of(checked, (sheet,)), correction)
    return {"svg": tile_svg(there, next(one for one in there.tiles if one.name == tile))}, {}


def _papers(job: Job) -> Answer:
    """Return each paper with how many tiles the sheets take on it; None where they do not go on it."""
    drawings = drawings_of(_sound(job).checked)
    rows: list[dict[str, Any]] = []
    for paper in PAPERS:
        try:
            sheets = tile_sheets(check(job.source(), job.options(paper)), drawings, drawn=False)
            tiles, cut = sum(len(sheet.tiles) for sheet in sheets), sum(len(sheet.cut) for sheet in sheets)
            rows.append({"paper": paper, "tiles": tiles, "cut": cut})
        except TemplaterError:
            rows.append({"paper": paper, "tiles": None, "cut": 0})
    return {"papers": rows}, {}


def _make(job: Job, *, zip: bool = False) -> Answer:  # noqa: A002 - the page's word
    """Return all files of the job, proved, and how far the worst mark is off."""
    from templater.pipeline.make import make

    made = make(job.source(), job.options())
    name = f"{safe_name(made.checked.boat.description.boat)}.zip"
    files = {name: zipped(made.files)} if zip else dict(made.files)
    return {"worst": made.proof.worst_text, "pages": made.pages}, files


def _printer_page(_job: Job, paper: str) -> Answer:
    """Return the page whose bars are measured, and the bars drawn on it."""
    data, bars, _ = bars_page(paper, _MARGIN)
    return {"bars": bars, "paper": paper}, {"printer-page.pdf": data}


def _printer_set(_job: Job, name: str, paper: str, readings: dict[str, str]) -> Answer:
    """Return a printer's profile, as text to keep and in words, from the readings of its bars."""
    pointed = {bar: re.sub(r"(?<=\d),(?=\d)", ".", text.strip()) for bar, text in readings.items() if text.strip()}
    typed = {bar: re.split(_BETWEEN, text) for bar, text in pointed.items()}
    profile = measured_profile(name, paper, _MARGIN, typed)
    words = f"prints {profile.across:.5f} across and {profile.along:.5f} along; the sheets are drawn to make up for it"
    return {"profile": profile_yaml(profile), "words": words}, {}


def _readings_new(job: Job) -> Answer:
    from templater.fitup.readings import starter_readings

    return {"text": starter_readings(_checked(job).boat)}, {}


def _fit_up(job: Job, *, sheets: bool = False) -> Answer:
    """Return what was read and what it says: where the next reading goes, each attempt, the record's page, sheets."""
    from templater.page.screens import fit_up_data, places
    from templater.pipeline.fitup import fit_up

    checked = _checked(job)
    answer = places(values(job.readings), checked.boat)
    try:
        found = fit_up(checked, job.readings, "readings.yaml", sheets=sheets, options=job.options())
    except ReadingsError as fault:
        # What was typed so far is answered with the faults: one side is always read before the other.
        return {**answer, "findings": plain(fault.findings)}, {}
    answer |= fit_up_data(checked.boat, found.record)
    answer["findings"] = plain(found.record.findings)
    if found.proof is not None:
        answer["worst"] = found.proof.worst_text
    return answer, found.files


def _handover(job: Job) -> Answer:
    """Return the whole job as one PDF, the description and the readings inside."""
    from templater.pipeline.share import handover

    extra = [("readings.yaml", job.readings.encode())] if job.readings else []
    name, data = handover(job.source(), extra=extra)
    return {}, {f"{safe_name(name)}-handover.pdf": data}


def _compare(job: Job, other: dict[str, Any]) -> Answer:
    """Return how this boat differs from that of ``other`` (the texts of a job), as a page."""
    from templater.pipeline.share import comparison_blocks
    from templater.report.blocks import JobSheet, Section
    from templater.report.html import job_sheet_html
    from templater.share.compare import compare

    a, b = _checked(job).boat, check(Job(**other).source()).boat
    figures = a.description.figures
    found = compare(a, b)
    blocks = comparison_blocks(found, figures)
    title = f"{found.a} (A) and {found.b} (B)"
    sheet = JobSheet(title, "What differs", (), (Section("compared", "Compared", blocks),), __version__, figures)
    return {"page": job_sheet_html(sheet).decode()}, {}


def _open(_job: Job, files: Files) -> Answer:
    """Return the texts in a file that was dropped: YAML, readings, a handover PDF, or another page with its boat."""
    ((name, data),) = files.items()
    job = job_of(name, data)
    return {"kind": "readings" if "text" not in job else "boat", "job": job}, {}


_QUESTIONS: dict[str, Callable[..., Answer]] = {
    "new": _new, "edit": _edit, "look": _look, "sheets": _sheets, "tile": _tile, "papers": _papers, "make": _make,
    "printer page": _printer_page, "printer set": _printer_set, "new readings": _readings_new, "fit up": _fit_up,
    "hand over": _handover, "compare": _compare, "open": _open,
}  # fmt: skip
