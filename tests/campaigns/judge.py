"""What a campaign asks of every answer: words, no traceback; one line a fault; no nan; in time; and nothing untrue.

Each judge takes what was spoilt and a source of chance: dear questions are asked of a few only.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from pypdf import PdfReader

from templater.cli.console import say
from templater.cli.main import main as shell
from templater.description.load import Base, Source
from templater.findings import Finding, Severity, TemplaterError
from templater.fitup.record import read_record, record_data
from templater.paper.printer import load_profile
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options, check
from templater.pipeline.fitup import fit_up
from templater.pipeline.make import make
from templater.pipeline.sheets import on_paper
from templater.proof.prove import prove
from templater.proof.report import ProofReport
from templater.share.handover import Attached, unpack

ROOT = Path(__file__).parents[2]
#: Longest answer, seconds of the processor.
PATIENCE = 10.0
#: Dots to a point in the fine pictures: one is 0.09 mm; and how much two shades of 255 may differ.
FINE, SHADES = 4, 40
_FIGURES = re.compile(rb"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
#: What does not show: in an SVG what is said of it, what no text or arc here needs; in a
#: DXF the entities' numbers, owners and classes.
_UNSEEN = re.compile(
    rb"\n *(?:5|100|330|\d{5,})\r?\n[^\n]*(?=\n)|<(?P<tag>title|desc)>[^<]*</(?P=tag)>|<!--.*?-->"
    rb"| (?:version|baseProfile|lengthAdjust|font-family|id)=\"[^\"<]*\"| text-anchor=\"(?!middle|end)[^\"<]*\""
    rb"|\s+(?=[\s/<>])|(?<=\d )[\d.]+ [01] (?=[01] )", re.DOTALL,
)  # fmt: skip
_NO_NUMBER = re.compile(r"(?<![A-Za-z])(nan|inf)(?![A-Za-z])")
#: A description of the least size, for readings, options and manifests.
SMALL = """\
boat: Reed
units: mm
steering_post: {diameter: 32}
floor: {thickness: 14}
plank: {length: 600, width: 175, thickness: 34, crown: 8, pivot_aft_of_bolts: 6,
  chock_corners: {apart: 560, aft_of_bolts: 6, below_floor: 60}}
fixing:
  half_spread: 60
  settings: {stations: [800]}
  bolt: {thread: M8}
"""
SQUARED = (
    "square:\n  tolerance: 2\n  setting: 1\n  first_bolt: port\n  attempts:\n    - {port: 840, starboard: 842}\n"
    "    - {port: 840.5, starboard: 841, first_bolt: starboard, note: moved, date: 2026-11-25}\n"
)


#: How many dots a row of a picture has, and its dots in shades of grey.
Picture = tuple[int, bytes]


class WrongError(AssertionError):
    """The program did what it must never do."""


def in_words(answer: Callable[[], Iterable[Finding]], *, echo: str = "") -> tuple[Finding, ...]:
    """Return what the program says; every fault is a finding that takes one line of a terminal.

    ``echo`` is what the user wrote: what stands in it may be said.
    """
    start = time.process_time()
    try:
        found = tuple(answer())
    except TemplaterError as fault:
        found = fault.findings
        if not found:
            raise WrongError("an error that says nothing") from None
    if time.process_time() - start > PATIENCE:
        raise WrongError(f"took {time.process_time() - start:.1f} s")
    for finding in found:
        out = io.StringIO()
        say(finding.line(), file=out)
        shown = out.getvalue()
        if shown.count("\n") != 1 or not shown.rstrip("\n").isprintable():
            raise WrongError(f"not one line of a terminal: {shown!r}")
        if _NO_NUMBER.search(finding.text) and not _endless(echo):
            raise WrongError(f"no figure: {finding.text}")
    return found


def _endless(written: str) -> bool:
    """Return whether no number, or one without end, was written."""
    return bool(_NO_NUMBER.search(written.lower()) or re.search(r"\de\+?\d{3}|\d{300}", written))


def twice(answer: Callable[[], Iterable[Finding]], rng: Random, echo: str) -> tuple[Finding, ...]:
    """Return what the program says, as ``in_words``; of some it is asked again and must say the same."""
    found = in_words(answer, echo=echo)
    if rng.random() < 0.02 and in_words(answer, echo=echo) != found:
        raise WrongError("two answers to one text")
    return found


def description(text: str, rng: Random) -> None:
    """Check a description; the sheets of some are put on paper, and of a few everything is made."""
    try:
        source = Source(text.encode("utf-8"), "boat.yaml", lambda name, _: Base(name, "reed.yaml", SMALL.encode()))
    except UnicodeEncodeError:  # the shell refuses such a file before anything is read from it
        return
    kept: list[Checked] = []

    def answer() -> tuple[Finding, ...]:
        kept.append(check(source))
        return kept[-1].findings

    twice(answer, rng, text)
    if kept and not kept[0].errors and (chance := rng.random()) < 0.03:
        if chance < 0.0015:
            whole_job(text, rng)
        else:
            on = on_paper
            in_words(lambda: on(kept[0], AS_DESCRIBED, larger=False).checked.findings, echo=text)


def whole_job(text: str, _rng: Random) -> None:
    """Make everything of a description, where it can be made: no file may say nan."""
    try:
        source = Source(text.encode("utf-8"), "boat.yaml")
    except UnicodeEncodeError:
        return

    def answer() -> tuple[Finding, ...]:
        made = make(source)
        for name, data in made.files.items():
            if name.endswith((".svg", ".json", ".html")) and not _NO_NUMBER.search(text):
                words = re.sub(r"<[^>]*>", " ", data.decode()) if name.endswith("html") else data.decode()
                if found := _NO_NUMBER.search(words):
                    raise WrongError(f"{name} says {words[max(0, found.start() - 30) : found.end() + 10]!r}")
        if made.proof.worst.deviation > 0.02:
            raise WrongError(f"worst deviation {made.proof.worst}")
        return made.checked.findings

    in_words(answer, echo=text)


@cache
def small() -> Checked:
    """Return the boat of the least size."""
    return check(Source(SMALL.encode(), "boat.yaml"))


@cache
def demo() -> Checked:
    """Return the demo boat."""
    return check(Source((ROOT / "configs/whinchat-3.yaml").read_bytes(), "boat.yaml"))


def readings(text: str, rng: Random) -> None:
    """Work out readings for a boat; of some the sheets and the record's page are made too."""
    boat, sheets = rng.choice((small, demo))(), rng.random() < 0.002
    twice(lambda: fit_up(boat, text, "readings.yaml", sheets=sheets)[0].findings, rng, text)


@cache
def record() -> str:
    """Return the record of a fit-up of the small boat."""
    return json.dumps(record_data(fit_up(small(), SQUARED, "readings.yaml", sheets=False)[0]), indent=1)


def recorded(text: str, rng: Random) -> None:
    """Hold a fit-up against a spoilt record of an earlier one."""

    def answer() -> Iterable[Finding]:
        earlier = read_record(text, "fit-up.json")
        return fit_up(small(), SQUARED, "readings.yaml", earlier=earlier, sheets=False)[0].findings

    twice(answer, rng, text)


def profile(text: str, rng: Random) -> None:
    """Read a printer's profile."""

    def answer() -> tuple[Finding, ...]:
        load_profile(text, "printer.yaml")
        return ()

    twice(answer, rng, text)


@cache
def plates() -> Mapping[str, bytes]:
    """Return the files of the sheet of plates of a small boat."""
    plated = SMALL + "  plate: {length: 40, width: 50, thickness: 3}\n"
    return make(Source(plated.encode(), "boat.yaml"), Options(only=("plates",))).files


def manifest(text: str, rng: Random) -> None:
    """Read a spoilt manifest, and hold true files against some."""
    chance, files = rng.random(), {}
    if chance < 0.1:
        name = "plates.pdf" if chance < 0.01 else "plates.svg"
        files = {name: plates()[name]}
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return
    twice(lambda: prove(files, data, as_written=False).findings, rng, text)


@cache
def bench() -> Path:
    """Return a folder with the small boat in it, in which commands are run."""
    folder = Path(tempfile.mkdtemp(prefix="campaign"))
    (folder / "boat.yaml").write_text(SMALL, "utf-8")
    return folder


def command(text: str, _rng: Random) -> None:
    """Run a command line, a word a line, in this process; all that it says is caught and must suit a terminal."""
    there = str(bench())
    words = [word.replace("BOAT", f"{there}/boat.yaml").replace("OUT", there) for word in text.split("\n")]
    if words[0] in ("make", "unpack") and "--out" not in words:
        words += ["--out", there]
    if words[0] == "new" and not words[1].startswith(there):  # nothing is written elsewhere
        return
    (bench() / "new.yaml").unlink(missing_ok=True)
    out, err, start = io.StringIO(), io.StringIO(), time.process_time()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            status = shell(words)
        except SystemExit as stop:
            status = int(str(stop.code))
    if time.process_time() - start > PATIENCE:
        raise WrongError(f"took {time.process_time() - start:.1f} s")
    said = err.getvalue() + ("" if "--json" in text else out.getvalue())
    if status not in (0, 1, 2, 3) or (status and not said.strip() and "--json" not in text):
        raise WrongError(f"status {status}, said {said[:200]!r}")
    if unfit := [line for line in said.split("\n") if not line.isprintable()]:
        raise WrongError(f"not for a terminal: {unfit[0][:200]!r}")
    if "Traceback" in said or (_NO_NUMBER.search(said) and not _endless(text)):
        raise WrongError(said[:300])


def page(data: bytes, name: str, true: Mapping[str, Any], original: bytes) -> str:
    """Prove a spoilt file; a PDF may be called true only if a renderer of another make shows the same as before.

    The shapes of letters are what proof says it does not see: such a file counts apart.
    """
    report: list[ProofReport] = []

    def answer() -> tuple[Finding, ...]:
        report.append(prove({name: data}, true, whole=False, as_written=False))
        return report[0].findings

    in_words(answer, echo=data.decode("latin-1"))
    if not report or not report[0].passed:
        return "refused"
    if not original or report[0].findings or alike(data, original):
        return "true"
    if letters(data) != letters(original):
        return "true, with other shapes of letters"
    raise WrongError("passes, and shows something else")


def picture(answer: Callable[[], Iterable[Finding]], data: bytes, original: bytes) -> str:
    """Judge what is said of a spoilt SVG or DXF: it may be called true only if it differs in figures by a hair."""
    said = in_words(answer, echo=data.decode("latin-1"))
    data, original = (some.rpartition(b"\nENTITIES")[2].partition(b"ENDSEC")[0] for some in (data, original))
    if any(finding.severity is Severity.ERROR for finding in said):
        return "refused"
    one, other = (_FIGURES.split(_UNSEEN.sub(b"", some)) for some in (data, original))
    if len(one) != len(other) and b"\nAcDb" in original:  # the library passes over what is no part of an entity
        return "true, written otherwise"
    if len(one) != len(other) or any(not _beside(*pair) for pair in zip(one, other, strict=True)):
        raise WrongError("passes, and says something else")
    return "true"


def _beside(one: bytes, other: bytes) -> bool:
    """Return whether two texts are the same, or figures no further apart than is allowed."""
    try:
        return one == other or abs(float(one) - float(other)) <= 0.021
    except ValueError:
        return False


def alike(data: bytes, other: bytes) -> bool:
    """Return whether a PDF shows what another shows, a page's size apart: some programs round it.

    The renderer puts letters on whole dots. Where its pictures differ at all, finer ones are taken: each dot must be
    there in the other as well, or beside its place.
    """
    here, there = shown(data, 1), shown(other, 1)
    if here == there:
        return True
    if len(here) != len(there):
        return False
    return all(
        one == due or size != right or _within(one, due)
        for (size, one), (right, due) in zip(shown(data, FINE), shown(other, FINE), strict=True)
    )


def _within(one: Picture, other: Picture) -> bool:
    """Return whether each dot of two pictures of equal size stands in the other at its place, or beside it."""
    pictures = [np.frombuffer(dots, np.uint8).reshape(-1, width).astype(np.int16) for width, dots in (one, other)]
    for a, b in (pictures, pictures[::-1]):
        near = np.stack([np.roll(b, (dy, dx), (0, 1)) for dy in (-1, 0, 1) for dx in (-1, 0, 1)])
        if ((a < near.min(0) - SHADES) | (a > near.max(0) + SHADES)).any():
            return False
    return True


def letters(data: bytes) -> set[tuple[str, bytes]]:
    """Return the names of a file's fonts and their programs, as far as they can be read."""
    found = set()
    with contextlib.suppress(Exception):
        for page in PdfReader(io.BytesIO(data)).pages:
            for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
                descriptor = font.get_object()["/FontDescriptor"]
                found.add((str(descriptor["/FontName"]), descriptor["/FontFile2"].get_data()))
    return found


def shown(data: bytes, scale: int) -> list[tuple[tuple[float, float], Picture]]:
    """Return each page of a PDF as pdfium shows it, ``scale`` dots a point: its size in points, and its picture."""
    import pypdfium2

    try:
        pages = []
        for page in pypdfium2.PdfDocument(data):
            picture = page.render(scale=scale, grayscale=True)
            pages.append((page.get_size(), (picture.stride, bytes(picture.buffer))))
        return pages
    except pypdfium2.PdfiumError as fault:
        return [((0.0, 0.0), (1, str(fault).encode()))]


def untrue(data: bytes, true: Mapping[str, Any]) -> str:
    """Prove a file that is none of the pages: it must never be called true."""
    said = page(data, "plates.pdf", true, b"")
    if said != "refused":
        raise WrongError("passes, and is another page")
    return said


def handover(data: bytes, whole: Mapping[str, bytes]) -> str:
    """Take the texts out of a spoilt hand-over PDF: what comes out is what was put in."""
    found: list[Attached] = []

    def answer() -> tuple[Finding, ...]:
        found.extend(unpack(data, "friend.pdf").all)
        return ()

    in_words(answer)
    for item in found:
        if whole.get(item.name, item.data) != item.data:
            raise WrongError(f"{item.name} is another text")
    return "unpacked" if found else "refused"


def limit_memory(most: int = 1_000_000_000) -> None:
    """Let this process have no more memory than that, bytes of address space, where the system can hold it to it."""
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (most, most))
