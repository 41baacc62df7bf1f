"""Try wrong changes and count those that the tests catch.

    python -m tests.mutants --count 25 --seed 1        25 of each room, a fair sample over all lines that tests run
    python -m tests.mutants --rooms paper proof
    python -m tests.mutants --only paper/seams.py:61   every change of one line

Which tests run which lines is measured first (:mod:`tests.mutants.reach`). Each change is then tried in a process of
its own, forked before anything of the program is loaded: there the changed text is what Python imports, and the tests
that run the changed line are run, the quickest first, until one fails. Nothing is written to the tree. The survivors
are listed; some change nothing that can be seen, the others want a test.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import sys
import tempfile
import time
from collections import defaultdict
from itertools import zip_longest
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.mutants.changes import Change, changes
from tests.mutants.reach import PYTEST, ROOT, Reach, import_as, measured

ROOMS = ("plane", "maths", "boat", "fitup", "paper", "proof", "writers")
#: What the program and its tests take from elsewhere, loaded once for all.
LIBRARIES = (
    "numpy", "scipy.stats", "scipy.optimize", "uncertainties", "shapely", "pikepdf", "pypdfium2", "pypdf", "pydantic",
    "reportlab.pdfgen.canvas", "reportlab.pdfbase.ttfonts", "svgwrite", "svgelements", "ruamel.yaml", "mpmath", "ezdxf",
    "pint", "hypothesis.strategies", "jinja2",
)  # fmt: skip
#: What pytest says of the libraries that were loaded before it.
LOADED = "ignore::pytest.PytestAssertRewriteWarning"
#: A change whose tests take this many times as long as they should, and these seconds more, is caught: somebody waits.
TIMES, MORE, MEMORY = 5, 30, 6 << 30


class Mutant(NamedTuple):
    """A wrong change of one file, relative to the tree."""

    file: str
    change: Change

    def __str__(self) -> str:
        return f"{self.file}:{self.change.line}: {self.change.was!r} -> {self.change.now!r}"


def mutants(room: str, reach: Reach) -> list[Mutant]:
    found = []
    for path in sorted((ROOT / "templater" / room).rglob("*.py")):
        name, text = path.relative_to(ROOT).as_posix(), path.read_text("utf-8")
        found += [Mutant(name, change) for change in changes(text) if reach.of(name, change.line)]
    return found


def file_of(test: str) -> str:
    return test.partition("::")[0]


class Chosen:
    """Lets only these tests run, those of the quickest file first; keeps the name of the one that fails."""

    def __init__(self, tests: list[tuple[str, float]]) -> None:
        self.failed = ""
        cost: dict[str, float] = defaultdict(float)
        for test, seconds in tests:
            cost[file_of(test)] += seconds
        by_file = [
            test for test, seconds in sorted(tests, key=lambda one: (cost[file_of(one[0])], file_of(one[0]), one[1]))
        ]
        self.order = {test: number for number, test in enumerate(by_file)}
        self.files = list(dict.fromkeys(map(file_of, by_file)))

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((one for one in items if one.nodeid in self.order), key=lambda one: self.order[one.nodeid])

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.failed = report.nodeid


def try_out(mutant: Mutant, tests: list[tuple[str, float]]) -> None:
    """In a forked process: make the change, run the tests, tell through the exit status whether one fails."""
    path, change = ROOT / mutant.file, mutant.change
    text = path.read_text("utf-8")
    wrong = compile(text[: change.start] + change.now + text[change.end :], str(path), "exec", dont_inherit=True)
    import_as(lambda other: wrong if other == path else None)
    allowed = int(MORE + TIMES * sum(seconds for _, seconds in tests))
    resource.setrlimit(resource.RLIMIT_CPU, (allowed, allowed))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    chosen = Chosen(tests)
    with Path(os.devnull).open("w") as nowhere:
        for stream in (1, 2):
            os.dup2(nowhere.fileno(), stream)
    status = 0
    for file in chosen.files:  # one by one: a change is mostly caught by the first, and the others need not be loaded
        if status := pytest.main(["-x", "-W", LOADED, *PYTEST, str(ROOT / file)], plugins=[chosen]):
            break
    Path(note_of(os.getpid())).write_text(chosen.failed or ("" if not status else f"pytest ends with {status}"))
    os._exit(status)


def note_of(process: int) -> str:
    return f"{tempfile.gettempdir()}/mutant-{process}"


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants")
    parser.add_argument("--count", type=int, default=25, help="changes of each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="+", default=ROOMS)
    parser.add_argument("--only", nargs="+", default=(), help="FILE:LINE below templater/: all changes of these lines")
    parser.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir(), "templater-reach.json"))
    arguments = parser.parse_args()
    reach = measured(arguments.cache)
    chance, by_room = random.Random(arguments.seed), []
    for room in sorted({name.partition("/")[0] for name in arguments.only} or set(arguments.rooms)):
        every = mutants(room, reach)
        if arguments.only:
            by_room.append(
                [one for one in every if f"{one.file}:{one.change.line}".partition("/")[2] in arguments.only]
            )
        else:
            by_room.append(chance.sample(every, min(arguments.count, len(every))))
    chosen = [one for turn in zip_longest(*by_room) for one in turn if one]  # room by room in turn
    for library in LIBRARIES:
        __import__(library)
    caught = 0
    for number, mutant in enumerate(chosen, 1):
        start, tests = time.monotonic(), reach.of(mutant.file, mutant.change.line)
        child = os.fork()
        if not child:
            try:
                try_out(mutant, tests)
            finally:
                os._exit(9)
        status = os.waitpid(child, 0)[1]
        if os.WIFEXITED(status) and os.WEXITSTATUS(status) not in (0, 1, 2):
            raise SystemExit(f"could not try {mutant}")
        note = Path(note_of(child))
        told = note.read_text() if note.exists() else f"ended with {status}"
        note.unlink(missing_ok=True)
        caught += bool(status)
        seconds = time.monotonic() - start
        print(f"{number:4} {'caught' if status else 'SURVIVES'} {mutant}", flush=True)
        print(f"     by {told or 'none'} of {len(tests)} tests, {seconds:.0f} s", flush=True)
    print(f"{caught} of {len(chosen)} wrong changes caught ({caught / len(chosen):.1%})")
    return 0


if __name__ == "__main__":
    sys.exit(main())
