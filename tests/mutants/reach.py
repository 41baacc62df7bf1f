"""Which test runs which line, and how long each takes: the suite runs once under coverage.

What a shared fixture or a cached function runs counts for every test that uses it, not only for the first one.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import coverage
import pytest

ROOT = Path(__file__).resolve().parents[2]
#: Tests that are left out: they run the program as processes of their own, where a change made here does not come.
LEFT_OUT = ("browser", "raster", "benchmarks", "mutants", "campaigns", "test_wheel.py", "test_start.py")
PYTEST = ("-q", "-x", "-n", "0", "-p", "no:cacheprovider")


class Reach(NamedTuple):
    """Seconds of each test, and the tests that run each line, as ``tests[file][line]``."""

    seconds: dict[str, float]
    tests: dict[str, dict[int, list[str]]]


def measured(cache: Path) -> Reach:
    """Return what the tests reach, measured anew if a file of the program or of the tests is another one."""
    files = sorted([*(ROOT / "templater").rglob("*.py"), *(ROOT / "tests").rglob("*.py")])
    state = hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()
    kept = json.loads(cache.read_text()) if cache.exists() else {}
    if kept.get("state") != state:
        child = os.fork()  # this process stays as it is: nothing of the program is loaded in it
        if not child:
            try:
                cache.write_text(json.dumps({"state": state, **_run()._asdict()}))
            finally:
                os._exit(0)
        os.waitpid(child, 0)
        kept = json.loads(cache.read_text())
    tests = {file: {int(line): ids for line, ids in lines.items()} for file, lines in kept["tests"].items()}
    return Reach(kept["seconds"], tests)


def _run(tests: Path = ROOT / "tests") -> Reach:
    cover = coverage.Coverage(data_file=None, source=[str(ROOT / "templater")])
    watch = _Watch(cover)
    functools.lru_cache = watch.lru_cache  # type: ignore[assignment]
    functools.cache = watch.lru_cache(maxsize=None)  # type: ignore[assignment]
    cover.start()
    left_out = [f"--ignore={ROOT / 'tests' / name}" for name in LEFT_OUT]
    status = pytest.main([*PYTEST, *left_out, str(tests)], plugins=[watch])
    cover.stop()
    if status:
        raise SystemExit("the tests fail before anything is changed")
    users: dict[str, list[str]] = defaultdict(list)
    for test in watch.seconds:
        for used in watch.all_used(test):
            users[used].append(test)
    data = cover.get_data()
    found: dict[str, dict[int, list[str]]] = {}
    for file in data.measured_files():
        by_line = data.contexts_by_lineno(file)
        found[Path(file).relative_to(ROOT).as_posix()] = {
            line: sorted({test for context in contexts for test in users[context]})
            for line, contexts in by_line.items()
        }
    return Reach(watch.seconds, found)


class _Watch:
    """Tells coverage whose lines are run: a test's, a shared fixture's or a cached function's."""

    def __init__(self, cover: coverage.Coverage) -> None:
        self.cover = cover
        self.inside = [""]
        self.uses: dict[str, set[str]] = defaultdict(set)
        self.seconds: dict[str, float] = {}

    def all_used(self, context: str) -> set[str]:
        found, open_ = set(), [context]
        while open_:
            if (one := open_.pop()) not in found:
                found.add(one)
                open_ += self.uses[one]
        return found

    @contextmanager
    def context(self, name: str) -> Iterator[None]:
        self.uses[self.inside[-1]].add(name)
        self.inside.append(name)
        self.cover.switch_context(name)
        try:
            yield
        finally:
            self.inside.pop()
            self.cover.switch_context(self.inside[-1])

    def lru_cache(self, maxsize: Any = 128, typed: bool = False) -> Callable[..., Any]:
        if callable(maxsize):
            return self.lru_cache()(maxsize)

        def kept(function: Callable[..., Any]) -> Callable[..., Any]:
            name = f"{function.__module__}.{function.__qualname__}"

            @functools.wraps(function)
            def missed(*given: Any, **named: Any) -> Any:
                with self.context(name):
                    return function(*given, **named)

            cached = _LRU_CACHE(maxsize, typed)(missed)

            @functools.wraps(function)
            def called(*given: Any, **named: Any) -> Any:
                self.uses[self.inside[-1]].add(name)
                return cached(*given, **named)

            called.cache_clear, called.cache_info = cached.cache_clear, cached.cache_info  # type: ignore[attr-defined]
            return called

        return kept

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        start = _processor_time()
        for definitions in item._fixtureinfo.name2fixturedefs.values():  # type: ignore[attr-defined]
            self.uses[item.nodeid] |= {_fixture(one) for one in definitions}
        with self.context(item.nodeid):
            result = yield
        self.seconds[item.nodeid] = _processor_time() - start
        return result

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        if fixturedef.scope == "function":
            return (yield)
        with self.context(_fixture(fixturedef)):
            return (yield)


_LRU_CACHE = functools.lru_cache


def _fixture(definition: Any) -> str:
    return f"{definition.baseid}::{definition.argname}"


def _processor_time() -> float:
    now = os.times()
    return now.user + now.system + now.children_user + now.children_system
