"""What the page asks of Python: plain data in, plain data out, by the same pipeline as the shell.

``call`` takes a name, JSON and files by name, and gives JSON and files by name. Every fault comes back as findings.
The page keeps all texts; nothing is kept here but the last result, so it may be stopped and started again.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from templater import __version__
from templater.boat.solved import plain
from templater.description.load import Base, Source
from templater.findings import Finding, Location, ReadingsError, TemplaterError
from templater.page.opened import job_of, values, zipped
from templater.page.splice import SpliceError, add, leave_out, put
from templater.pipeline.checked import Checked, Options, check
from templater.pipeline.sheets import OnPaper, drawings_of, on_paper, tile_sheets
from templater.share.names import safe_name
from templater.units import MM

Files = dict[str, bytes]
Answer = tuple[dict[str, Any], Files]
#: Papers whose number of pages is told, as far as the program knows them.
PAPERS = ("A4", "A3", "A2", "A1", "Letter", "Legal", "Tabloid", "24 in roll", "36 in roll")
#: Margin of the page with the bars, mm.
_MARGIN = 7.0


@dataclass(frozen=True)
class Job:
    """The texts of the page: the description with what it is based on, readings, and printer profiles by name."""

    text: str = ""
    file: str = "boat.yaml"
    bases: Mapping[str, str] = field(default_factory=dict)
    readings: str = ""
    printers: Mapping[str, str] = field(default_factory=dict)

    def source(self) -> Source:
        """Return the description as the pipeline takes it."""
        return Source(self.text.encode(), self.file, self._base)

    def _base(self, name: str, where: Location) -> Base:
        bare = re.split(r"[/\\]", name)[-1]
        if bare not in self.bases:
            text = f"{name}: is not here - open it together with this description"
            raise TemplaterError(Finding("D160", "based_on", text, where))
        return Base(name, bare, self.bases[bare].encode())

    def options(self, **chosen: Any) -> Options:
        """Return the options of a run; only printers that were measured here are corrected for."""
        from templater.paper.printer import PrinterProfile, load_profile

        def profile(name: str) -> PrinterProfile:
            if name not in self.printers:
                text = f"{name}: not measured here - measure it at the printer, or leave the name out"
                raise TemplaterError(Finding("T121", "print.printer", text))
            return load_profile(self.printers[name], name)

        return Options(profiles=profile, **chosen)


def call(name: str, argument: str, files: Mapping[str, bytes]) -> tuple[str, Files]:
    """Answer one question of the page: JSON and files in, JSON and files out.

    The answer has ``faults``, and nothing else, where the input is at fault.
    """
    given = json.loads(argument)
    job = Job(**given.pop("job", {}))
    try:
        answer, out = _QUESTIONS[name](job, given, {title: bytes(data) for title, data in files.items()})
    except TemplaterError as fault:
        answer, out = {"faults": plain(fault.findings)}, {}
    except SpliceError:
        text = "the text cannot be read as it stands, so no field can be changed - put it right in the text first"
        answer, out = {"faults": [plain(Finding("D101", "", text))]}, {}
    return json.dumps(answer, ensure_ascii=False), out


def _new(_job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return a description to start from."""
    from templater.description.editing import starter_text

    return {"text": starter_text(given.get("boat", "My boat"), given.get("units", "mm"))}, {}


def _edit(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return a text with values put in or left out: ``changes`` are [key, value], None leaves the key out.

    A key that ends in ``.+`` adds to its list.
    """
    text = given.get("text", job.text)
    for key, value in given["changes"]:
        if key.endswith(".+"):
            text = add(text, key.removesuffix(".+"), value)
        else:
            text = leave_out(text, key) if value is None else put(text, key, value)
    return {"text": text}, {}


def _look(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return what stands in the description, what is found about the boat, and its pictures."""
    from templater.page.pictures import pictures

    answer: dict[str, Any] = {"values": values(job.text)}
    try:
        checked = _checked(job)
        found = checked.findings
        answer["boat"] = checked.boat.description.boat
        answer["pictures"] = [picture._asdict() for picture in pictures(checked.boat)]
    except TemplaterError as fault:
        found = fault.findings
    return {**answer, "findings": plain(found)}, {}


class _Last:
    """The boat that was checked last, and its texts: most questions are about the same one."""

    job: Job | None = None
    checked: Checked | None = None
    on_paper: OnPaper | None = None


def _checked(job: Job) -> Checked:
    key = replace(job, readings="")
    if _Last.checked is None or _Last.job != key:
        _Last.checked = _Last.on_paper = None
        _Last.checked = check(job.source(), job.options())
        _Last.job = key
    return _Last.checked


def _sound(job: Job) -> OnPaper:
    """Return the boat on paper, the pages bare.

    Raises TemplaterError if something stops its sheets from being made.
    """
    checked = _checked(job)
    if checked.errors:
        raise TemplaterError(*checked.errors)
    if _Last.on_paper is None:
        _Last.on_paper = on_paper(checked, job.options(), drawn=False, larger=False)
    return _Last.on_paper


def _sheets(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return all that is found about the boat, on paper too; every sheet with its tiles over it if ``drawn``."""
    from templater.page.screens import sheet_data

    there = _sound(job)
    drawn = [sheet_data(sheet) for sheet in there.sheets] if given["drawn"] else []
    return {"findings": plain(there.checked.findings), "sheets": drawn}, {}


def _tile(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return one tile as it will be printed."""
    from templater.page.screens import tile_svg

    checked = _sound(job).checked
    correction = job.options().correction_for(checked.boat.description)
    (sheet,) = tile_sheets(checked, drawings_of(checked, (given["sheet"],)), correction)
    return {"svg": tile_svg(sheet, next(one for one in sheet.tiles if one.name == given["tile"]))}, {}


def _papers(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return each paper with how many tiles the sheets take on it; None where they do not go on it."""
    drawings = drawings_of(_sound(job).checked)
    rows: list[dict[str, Any]] = []
    for paper in PAPERS:
        try:
            there = check(job.source(), job.options(paper=paper))
            sheets = tile_sheets(there, drawings, drawn=False)
            cut = sum(len(sheet.cut) for sheet in sheets)
            rows.append({"paper": paper, "tiles": sum(len(sheet.tiles) for sheet in sheets), "cut": cut})
        except TemplaterError:
            rows.append({"paper": paper, "tiles": None, "cut": 0})
    return {"papers": rows}, {}


def _make(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return all files of the job, proved, and how far the worst mark is off."""
    from templater.pipeline.make import make

    made = make(job.source(), job.options())
    name = f"{safe_name(made.checked.boat.description.boat)}.zip"
    answer = {"worst": made.proof.worst_text, "pages": made.pages}
    return answer, {name: zipped(made.files)} if given.get("zip") else made.files


def _printer_page(_job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return the page whose bars are measured, and the bars drawn on it."""
    from templater.pipeline.printing import bars_page

    data, bars = bars_page(given["paper"], _MARGIN)
    return {"bars": [{"id": bar.id, "length": MM.size(bar.length)} for bar in bars]}, {"printer-page.pdf": data}


def _printer_set(_job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return a printer's profile, as text to keep and in words, from the readings of its bars."""
    from templater.paper.printer import profile_yaml
    from templater.pipeline.printing import measured_profile

    readings = {
        bar: re.split(r"[;\s]+", re.sub(r"(?<=\d),(?=\d)", ".", typed.strip()))
        for bar, typed in given["readings"].items()
        if typed.strip()
    }
    profile = measured_profile(given["name"], given["paper"], _MARGIN, readings)
    words = f"prints {profile.across:.5f} across and {profile.along:.5f} along; the sheets are drawn to make up for it"
    return {"profile": profile_yaml(profile), "words": words}, {}


def _readings_new(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return a readings text to fill in for this boat."""
    from templater.fitup.readings import starter_readings

    return {"text": starter_readings(_checked(job).boat)}, {}


def _fit_up(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return what was read and what it says: where the next reading goes, each attempt, the record's page, sheets."""
    from templater.page.screens import fit_up_data, places
    from templater.pipeline.fitup import fit_up

    checked = _checked(job)
    answer = places(values(job.readings), checked.boat)
    try:
        found = fit_up(checked, job.readings, "readings.yaml", sheets=bool(given.get("sheets")), options=job.options())
    except ReadingsError as fault:
        # What was typed so far is answered with the faults: one side is always read before the other.
        return {**answer, "findings": plain(fault.findings)}, {}
    answer |= fit_up_data(checked.boat, found.record)
    answer["findings"] = plain(found.record.findings)
    if found.proof is not None:
        answer["worst"] = found.proof.worst_text
    return answer, found.files


def _handover(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return the whole job as one PDF, the description and the readings inside."""
    from templater.pipeline.share import handover

    extra = [("readings.yaml", job.readings.encode())] if job.readings else []
    name, data = handover(job.source(), extra=extra)
    return {}, {f"{safe_name(name)}-handover.pdf": data}


def _compare(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return how this boat differs from that of ``other`` (the texts of a job), as a page."""
    from templater.pipeline.share import comparison_blocks
    from templater.report.blocks import JobSheet, Section
    from templater.report.html import job_sheet_html
    from templater.share.compare import compare

    a, b = _checked(job).boat, check(Job(**given["other"]).source()).boat
    figures = a.description.figures
    blocks = comparison_blocks(compare(a, b, given.get("tolerance", 0.5)), figures)
    title = f"{a.description.boat} (A) and {b.description.boat} (B)"
    sheet = JobSheet(title, "What differs", (), (Section("compared", "Compared", blocks),), __version__, figures)
    return {"page": job_sheet_html(sheet).decode()}, {}


def _open(_job: Job, _given: dict[str, Any], files: Files) -> Answer:
    """Return the texts in a file that was dropped: YAML, readings, a handover PDF, or another page with its boat."""
    ((name, data),) = files.items()
    job = job_of(name, data)
    return {"kind": "readings" if "text" not in job else "boat", "job": job}, {}


_QUESTIONS: dict[str, Callable[[Job, dict[str, Any], Files], Answer]] = {
    "new": _new, "edit": _edit, "look": _look, "sheets": _sheets, "tile": _tile, "papers": _papers, "make": _make,
    "printer page": _printer_page, "printer set": _printer_set, "new readings": _readings_new, "fit up": _fit_up,
    "hand over": _handover, "compare": _compare, "open": _open,
}  # fmt: skip
