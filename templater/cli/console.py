"""What every command shares: exit statuses, findings and JSON on the terminal, the bar of a long run."""

import contextlib
import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, TextIO

from templater.findings import Finding, visible

if TYPE_CHECKING:
    from tqdm import tqdm

#: Exit statuses: done (warnings allowed); description or readings at fault; usage (argparse's own); done, but out of
#: tolerance or undecided; stopped from the keyboard (128 and the number of the signal, common practice, no source).
DONE, FAULT, USAGE, OUT_OF_TOLERANCE, INTERRUPTED = 0, 1, 2, 3, 130


def say(*lines: str, file: TextIO | None = None) -> None:
    """Print lines, each of them one: what would not be seen in it is written out."""
    for line in lines:
        print(visible(line), file=file or sys.stdout)


def print_findings(findings: Iterable[Finding], stream: TextIO | None = None) -> None:
    """Print findings, one a line, the severity in front."""
    for finding in findings:
        say(f"{finding.severity.value}: {finding.line()}", file=stream)


def print_faults(findings: tuple[Finding, ...]) -> None:
    """Print what stopped a command; where findings weigh differently, say how much, errors first."""
    mixed = len({finding.severity for finding in findings}) > 1
    for finding in sorted(findings, key=lambda one: one.severity.rank):
        say(f"{finding.severity.value}: {finding.line()}" if mixed else finding.line(), file=sys.stderr)


def print_json(data: object) -> None:
    """Print plain data for other programs."""
    print(json.dumps(data, indent=1, ensure_ascii=False))


def count(number: int, what: str) -> str:
    """Return a number of things in words.

    >>> count(1, "tile"), count(2, "tile")
    ('1 tile', '2 tiles')
    """
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


_BAR = "{desc}: {n_fmt} of {total_fmt} |{bar:40}|"


@contextlib.contextmanager
def progress_bar() -> Iterator[Callable[[str, int, int], None]]:
    """Give what shows how far a run is: a bar on the terminal, only once it takes over a second."""
    bar: tqdm[None] | None = None
    due, doing = time.monotonic() + 1.0, ""

    def step(what: str, done: int, of: int) -> None:
        nonlocal bar, due, doing
        now = time.monotonic()
        if not (sys.stderr and sys.stderr.isatty()) or (now < due and (what == doing or bar is None)):
            return
        if bar is None:
            from tqdm import tqdm  # only now: most runs end before loading it would have paid

            tqdm.monitor_interval = 0  # no thread of its own: a second process may be begun
            bar = tqdm(desc=what, total=of, initial=done, leave=False, file=sys.stderr, bar_format=_BAR)
        due, doing, bar.total, bar.n = now + 0.1, what, of, done
        bar.set_description_str(what)

    try:
        yield step
    finally:
        if bar is not None:
            bar.close()
