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
from templater.description.source import Base, Source
from templater.findings import Finding, Location, ReadingsError, TemplaterError
from templater.page.opened import job_of, values, zipped
from templater.page.splice import SpliceError, leave_out, put
from templater.pipeline.checked import Checked, Options, check
from templater.pipeline.sheets import OnPaper, drawings_of, on_paper, tile_sheets
from templater.share.names import safe_name
from templater.units import parse_length

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

    The answer has ``faults`` where the input is at fault, and then nothing else but what was typed at fit-up.
    """
    given = json.loads(argument)
    job = Job(**given.pop("job", {}))
    try:
        answer, out = _QUESTIONS[name](job, given, dict(files))
    except TemplaterError as fault:
        answer, out = {"faults": plain(fault.findings)}, {}
    except SpliceError:
        text = "the text cannot be read as it stands, so no field can be changed - put it right in the text first"
        answer, out = {"faults": [plain(Finding("D101", "", text))]}, {}
    return json.dumps(answer, ensure_ascii=False), out


def _form(_job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return the fields of the description."""
    from templater.page.form import Field, form

    def data(one: Field) -> dict[str, Any]:
        return {**one._asdict(), "fields": [data(below) for below in one.fields]}

    sections = [{"title": one.title, "fields": [data(item) for item in one.fields]} for one in form()]
    return {"sections": sections, "version": __version__}, {}


def _new(_job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return a description to start from."""
    from templater.description import starter_text

    return {"text": starter_text(given.get("boat", "My boat"), given.get("units", "mm"))}, {}


def _edit(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return a text with values put in or left out: ``changes`` are [key, value], None leaves the key out."""
    text = given.get("text", job.text)
    for key, value in given["changes"]:
        text = leave_out(text, key) if value is None else put(text, key, value)
    return {"text": text}, {}


def _look(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return what stands in the description, what is found about it, and its pictures."""
    from templater.page.pictures import pictures

    answer: dict[str, Any] = {"values": values(job.text)}
    found: tuple[Finding, ...] = ()
    try:
        checked = _checked(job)
        found = checked.findings
        answer["boat"] = checked.boat.description.boat
        answer["pictures"] = [picture._asdict() for picture in pictures(checked.boat)]
        found = _on_paper(job).checked.findings
    except TemplaterError as fault:
        found = (*found, *fault.findings)
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


def _on_paper(job: Job) -> OnPaper:
    """Return the boat on paper, the pages bare; without sheets if it has errors."""
    checked = _checked(job)
    if _Last.on_paper is None:
        _Last.on_paper = on_paper(checked, job.options(), drawn=False, larger=False)
    return _Last.on_paper


def _sheets(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return every sheet with its tiles over it; ``paper`` tries another paper than the description's."""
    from templater.page.screens import sheet_data

    there = _sound(job)
    if given.get("paper"):
        options = job.options(paper=given["paper"])
        there = on_paper(check(job.source(), options), options, drawn=False, larger=False)
    return {"sheets": [sheet_data(sheet) for sheet in there.sheets]}, {}


def _tile(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return one tile as it will be printed."""
    from templater.page.screens import tile_svg

    checked = _sound(job).checked
    correction = job.options().correction_for(checked.boat.description)
    (sheet,) = tile_sheets(checked, drawings_of(checked, (given["sheet"],)), correction)
    tile = next(one for one in sheet.tiles if one.name == given["tile"])
    return {"svg": tile_svg(sheet, tile)}, {}


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


def _sound(job: Job) -> OnPaper:
    """Return the boat on paper.

    Raises:
        TemplaterError: if something stops its sheets from being made.
    """
    checked = _checked(job)
    if checked.errors:
        raise TemplaterError(*checked.errors)
    return _on_paper(job)


def _make(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return all files of the job, proved, and how far the worst mark is off."""
    from templater.pipeline.make import make

    made = make(job.source(), job.options(only=tuple(given.get("only", ()))))
    answer = {"worst": made.proof.worst_text, "pages": made.pages, "names": sorted(made.files)}
    if given.get("zip"):
        return answer, {f"{safe_name(made.checked.boat.description.boat)}.zip": zipped(made.files)}
    return answer, made.files


def _prove(_job: Job, _given: dict[str, Any], files: Files) -> Answer:
    """Return whether files that were made before are still true; a manifest must be among them."""
    from templater.proof.prove import prove

    report = prove(files, json.loads(files.pop("manifest.json")))
    found = plain(report.findings)
    return {"worst": report.worst_text, "passed": report.passed, "findings": found}, {}


def _printer_page(_job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return the page whose bars are measured, and the bars drawn on it."""
    from templater.pipeline.printing import bars_page

    data, bars = bars_page(given["paper"], _margin(given))
    return {"bars": [{"id": bar.id, "length": f"{bar.length:g}"} for bar in bars]}, {"printer-page.pdf": data}


def _margin(given: dict[str, Any]) -> float:
    return parse_length(given["margin"]) if given.get("margin") else _MARGIN


def _printer_set(_job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return a printer's profile, as text to keep and in words, from the readings of its bars."""
    from templater.paper.printer import profile_yaml
    from templater.pipeline.printing import measured_profile

    readings = {
        bar: re.split(r"[;\s]+", re.sub(r"(?<=\d),(?=\d)", ".", typed.strip()))
        for bar, typed in given["readings"].items()
        if typed.strip()
    }
    profile = measured_profile(given["name"], given["paper"], _margin(given), readings)
    return {
        "profile": profile_yaml(profile),
        "words": f"prints {profile.across:.5f} across and {profile.along:.5f} along; the sheets are drawn to make up "
        "for it",
    }, {}


def _readings_new(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return a readings text to fill in for this boat."""
    from templater.fitup.starter import starter_readings

    return {"text": starter_readings(_checked(job).boat)}, {}


def _fit_up(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return what the readings say: each attempt with its picture and what to move, the record's page, and sheets."""
    from templater.page.screens import attempt_data
    from templater.pipeline.fitup import fit_up
    from templater.report.fitup import fitup_page

    checked = _checked(job)
    try:
        found = fit_up(checked, job.readings, "readings.yaml", sheets=bool(given.get("sheets")), options=job.options())
    except ReadingsError as fault:
        # What was typed so far is answered with the faults: one side is always read before the other.
        return {"values": values(job.readings), "faults": plain(fault.findings)}, {}
    answer: dict[str, Any] = {
        "values": values(job.readings),
        "attempts": [attempt_data(checked.boat, one) for one in found.record.attempts],
        "findings": plain(found.record.findings),
        "page": fitup_page(found.record, checked.boat).decode(),
    }
    if found.proof is not None:
        answer["worst"] = found.proof.worst_text
    return answer, found.files if given.get("sheets") else {}


def _handover(job: Job, _given: dict[str, Any], _files: Files) -> Answer:
    """Return the whole job as one PDF, the description and the readings inside."""
    from templater.pipeline.share import handover

    extra = [("readings.yaml", job.readings.encode())] if job.readings else []
    name, data = handover(job.source(), None, extra)
    return {}, {f"{safe_name(name)}-handover.pdf": data}


def _compare(job: Job, given: dict[str, Any], _files: Files) -> Answer:
    """Return how two boats differ: this one, and the one of ``other`` (the texts of a job)."""
    from templater.pipeline.share import values_of
    from templater.report.table import text
    from templater.share.compare import compare

    a, b = _checked(job), check(Job(**given["other"]).source(), Options())
    found = compare(a.boat, b.boat, given.get("tolerance", 0.5))
    figures = a.boat.description.figures
    moved = [
        [row.id, row.name, figures.fine(row.distance) if row.move else f"only in {row.only_in}"]
        for row in found.moves
        if row.differs
    ]
    differ = [[row.key, *(text(value, figures) for value in values_of(row, figures))] for row in found.differences]
    return {
        "a": found.a, "b": found.b, "serves": found.serves, "differences": differ,
        "moves": moved,
        "sheets": [[sheet, "may be used" if serves else "may NOT be used", worst or ""]
                   for sheet, serves, worst, _ in found.sheets],
    }, {}  # fmt: skip


def _open(_job: Job, _given: dict[str, Any], files: Files) -> Answer:
    """Return the texts in a file that was dropped: YAML, readings, a handover PDF, or another page with its boat."""
    ((name, data),) = files.items()
    job = job_of(name, data)
    return {"kind": "readings" if "text" not in job else "boat", "job": job}, {}


_QUESTIONS: dict[str, Callable[[Job, dict[str, Any], Files], Answer]] = {
    "form": _form, "new": _new, "edit": _edit, "look": _look, "sheets": _sheets, "tile": _tile, "papers": _papers,
    "make": _make, "prove": _prove, "printer page": _printer_page, "printer set": _printer_set,
    "new readings": _readings_new, "fit up": _fit_up, "hand over": _handover, "compare": _compare, "open": _open,
}  # fmt: skip
