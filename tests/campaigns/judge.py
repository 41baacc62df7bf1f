"""What a campaign asks of every answer: words, no traceback; one line a fault; no nan; in time; and nothing untrue."""

from __future__ import annotations

import io
import json
import re
import time
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from templater.cli.console import say
from templater.description.load import Source
from templater.findings import Finding, TemplaterError
from templater.pipeline.checked import AS_DESCRIBED, check
from templater.pipeline.fitup import fit_up
from templater.pipeline.make import make
from templater.pipeline.sheets import on_paper
from templater.proof.prove import prove
from templater.share.handover import unpack

ROOT = Path(__file__).parents[2]
#: Longest answer, seconds.
PATIENCE = 10.0
NO_NUMBER = re.compile(r"(?<![A-Za-z])(nan|inf)(?![A-Za-z])")


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
        if NO_NUMBER.search(finding.text) and not NO_NUMBER.search(echo.lower()):
            raise WrongError(f"no figure: {finding.text}")
    return found


def description(text: str) -> tuple[Finding, ...]:
    """Check a description, its sheets' place on paper among it."""
    source = Source(text.encode("utf-8", "surrogatepass"), "boat.yaml")

    def answer() -> tuple[Finding, ...]:
        return on_paper(check(source), AS_DESCRIBED, drawn=False, larger=False).checked.findings

    try:
        source.data.decode("utf-8")
    except UnicodeDecodeError:  # the shell refuses such a file before anything is read from it
        return ()
    return in_words(answer, echo=text)


def whole_job(text: str) -> tuple[Finding, ...]:
    """Make everything of a description, where it can be made: no file may say nan."""
    try:
        source = Source(text.encode("utf-8"), "boat.yaml")
    except UnicodeEncodeError:
        return ()

    def answer() -> tuple[Finding, ...]:
        made = make(source)
        for name, data in made.files.items():
            if name.endswith((".svg", ".json", ".html")) and not NO_NUMBER.search(text):
                words = re.sub(r"<[^>]*>", " ", data.decode()) if name.endswith("html") else data.decode()
                if found := NO_NUMBER.search(words):
                    raise WrongError(f"{name} says {words[max(0, found.start() - 30) : found.end() + 10]!r}")
        if made.proof.worst.deviation > 0.02:
            raise WrongError(f"worst deviation {made.proof.worst}")
        return made.checked.findings

    return in_words(answer, echo=text)


BOAT = check(Source((ROOT / "configs/whinchat-3.yaml").read_bytes(), "boat.yaml"))


def readings(text: str) -> tuple[Finding, ...]:
    """Work out readings for the demo boat."""
    return in_words(lambda: fit_up(BOAT, text, "readings.yaml", sheets=False)[0].findings, echo=text)


def profile(text: str) -> tuple[Finding, ...]:
    """Read a printer's profile."""
    from templater.paper.printer import load_profile

    def answer() -> tuple[Finding, ...]:
        load_profile(text, "printer.yaml")
        return ()

    return in_words(answer, echo=text)


def manifest(text: str, files: dict[str, bytes]) -> tuple[Finding, ...]:
    """Hold true files against a spoilt manifest."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return ()
    return in_words(lambda: prove(files, data).findings, echo=text)


def page(data: bytes, name: str, true: Mapping[str, Any], original: bytes) -> tuple[Finding, ...]:
    """Prove a spoilt file; a PDF may pass only if a renderer of another make shows the same as before."""

    def answer() -> tuple[Finding, ...]:
        report = prove({name: data}, true, whole=False, as_written=False)
        if report.passed and original and not report.findings:
            pages = zip(shown(data), shown(original), strict=True)
            # A page's size may differ by half a millimetre; its picture then has other pixels.
            if any(one != other for (size, one), (due, other) in pages if size == due):
                raise WrongError("passes, and shows something else")
        return report.findings

    return in_words(answer, echo=data.decode("latin-1"))


def shown(data: bytes) -> list[tuple[tuple[float, float], bytes]]:
    """Return each page of a PDF, its size in points and as pdfium shows it, coarsely."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
        return [(one.get_size(), bytes(one.render(scale=0.5, grayscale=True).buffer)) for one in document]
    except pypdfium2.PdfiumError as fault:
        return [((0.0, 0.0), str(fault).encode())]


def limit_memory(most: int = 1_500_000_000) -> None:
    """Let this process have no more memory than that, bytes of address space, where the system can hold it to it."""
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (most, most))


def handover(data: bytes) -> tuple[Finding, ...]:
    """Take the texts out of a spoilt hand-over PDF."""

    def answer() -> tuple[Finding, ...]:
        unpack(data, "friend.pdf")
        return ()

    return in_words(answer)
