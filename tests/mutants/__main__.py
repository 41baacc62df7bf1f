"""Try wrong changes and count those that the tests catch.

    python -m tests.mutants --count 25 --seed 1        25 of each room, a fair sample over all lines that tests run
    python -m tests.mutants --rooms paper proof
    python -m tests.mutants --only paper/seams.py:61   every change of one line

Which tests run which lines is measured first (:mod:`tests.mutants.reach`), then all tests are collected once. Each
change is tried in a process forked from there: the functions of the changed file get the code of the changed text, and
the tests that run the changed line are run, the quickest first, until one fails. Nothing is written to the tree. What a
changed function worked out while the program was loaded stays as it was. The survivors are listed; some change nothing
that can be seen, the others want a test.
"""

from __future__ import annotations

import argparse
import functools
import gc
import os
import random
import resource
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, NamedTuple

import pytest

from tests.mutants.changes import Change, changes
from tests.mutants.reach import PYTEST, ROOT, Reach, measured

ROOMS = ("plane", "maths", "boat", "fitup", "paper", "proof", "writers")
#: A change whose tests take this many times as long as they should, and these seconds more, is caught: somebody waits.
TIMES, MORE, MEMORY = 3, 10, 6 << 30


class Mutant(NamedTuple):
    """A wrong change of one file, relative to the tree."""

    file: str
    change: Change

    def __str__(self) -> str:
        return f"{self.file}:{self.change.line}: {self.change.was!r} -> {self.change.now!r}"


def mutants(room: str, reach: Reach) -> list[Mutant]:
    found = []
    for path in sorted((ROOT / "templater").glob(f"{room}.py")) + sorted((ROOT / "templater" / room).rglob("*.py")):
        name, text = path.relative_to(ROOT).as_posix(), path.read_text("utf-8")
        found += [Mutant(name, change) for change in changes(text) if reach.of(name, change.line)]
    return found


def functions(code: CodeType, path: str) -> Iterator[CodeType]:
    """Yield the code of a module's functions and methods, in order; those inside a function come with it."""
    for one in code.co_consts:
        if isinstance(one, CodeType) and one.co_filename == path:
            if one.co_flags & 0x2:  # CO_NEWLOCALS: a function; a class's body has no locals of its own
                yield one
            else:
                yield from functions(one, path)


def put_in(mutant: Mutant) -> None:
    """Give the functions of the loaded program the code of the changed text."""
    path, change = str(ROOT / mutant.file), mutant.change
    text = Path(path).read_text("utf-8")
    wrong = compile(text[: change.start] + change.now + text[change.end :], path, "exec", dont_inherit=True)
    right = compile(text, path, "exec", dont_inherit=True)
    now = {
        (old.co_qualname, old.co_firstlineno): new
        for old, new in zip(functions(right, path), functions(wrong, path), strict=True)
    }
    for one in gc.get_objects():
        if isinstance(one, FunctionType) and one.__code__.co_filename == path:
            one.__code__ = now.get((one.__code__.co_qualname, one.__code__.co_firstlineno), one.__code__)
        elif isinstance(one, functools._lru_cache_wrapper):
            one.cache_clear()


class Trial:
    """In place of running the tests: tries each change in a process of its own."""

    def __init__(self, chosen: list[Mutant], reach: Reach, within: float) -> None:
        self.chosen, self.reach, self.within = chosen, reach, within
        self.caught = 0

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        for number, mutant in enumerate(self.chosen, 1):
            tests = self.tests_of(mutant)
            child = os.fork()
            if not child:
                try:
                    self.try_out(mutant, [items[test] for test, _ in tests], sum(seconds for _, seconds in tests))
                finally:
                    os._exit(9)
            status = os.waitpid(child, 0)[1]
            if os.WIFEXITED(status) and os.WEXITSTATUS(status) not in (0, 1):
                raise SystemExit(f"could not try {mutant}")
            note = Path(note_of(child))
            told = note.read_text() if note.exists() else f"ended with {status}" if status else "none"
            note.unlink(missing_ok=True)
            self.caught += bool(status)
            print(f"{number:4} {'caught' if status else 'SURVIVES'} {mutant}\n     {told}, of {len(tests)}", flush=True)
        return True

    def tests_of(self, mutant: Mutant) -> list[tuple[str, float]]:
        """Return the tests that run the changed line, those of the quickest file first, as far as there is time."""
        tests = self.reach.of(mutant.file, mutant.change.line)
        cost: dict[str, float] = defaultdict(float)
        for test, seconds in tests:
            cost[test.partition("::")[0]] += seconds
        found, left = [], self.within
        for test, seconds in sorted(tests, key=lambda one: (cost[file := one[0].partition("::")[0]], file, one[1])):
            left -= seconds
            if left > 0 or not found:
                found.append((test, seconds))
        return found

    def try_out(self, mutant: Mutant, items: list[pytest.Item], seconds: float) -> None:
        with Path(os.devnull).open("w") as nowhere:
            for stream in (1, 2):
                os.dup2(nowhere.fileno(), stream)
        allowed = int(MORE + TIMES * seconds)
        resource.setrlimit(resource.RLIMIT_CPU, (allowed, allowed))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        put_in(mutant)
        for item, following in zip_longest(items, items[1:]):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        os._exit(0)

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            Path(note_of(os.getpid())).write_text(report.nodeid)
            os._exit(1)


def note_of(process: int) -> str:
    return f"{tempfile.gettempdir()}/mutant-{process}"


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants")
    parser.add_argument("--count", type=int, default=25, help="changes of each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="+", default=ROOMS)
    parser.add_argument("--only", nargs="+", default=(), help="FILE:LINE below templater/: all changes of these lines")
    parser.add_argument("--within", type=float, default=60.0, help="seconds of tests for one change")
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
    trial = Trial(chosen, reach, arguments.within)
    files = sorted({str(ROOT / test.partition("::")[0]) for one in chosen for test, _ in trial.tests_of(one)})
    pytest.main(["-s", *PYTEST, *files], plugins=[trial])
    print(f"{trial.caught} of {len(chosen)} wrong changes caught ({trial.caught / len(chosen):.1%})")
    return 0


if __name__ == "__main__":
    sys.exit(main())
