"""Which tests run which lines, and how long each takes.

The suite runs once, with a call put at the head of every block of the program as Python imports it: that costs a few
hundredths of the time, where tracing lines would cost several times of it. What a shared fixture or a cached function
runs counts for every test that uses it, not only for the first one.
"""

from __future__ import annotations

import ast
import builtins
import functools
import hashlib
import json
import os
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any, NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
#: Tests that are left out: those that run the program in processes of their own, where no change made here comes, and
#: those of the shell, which take long and hold by whole runs what those of the rooms hold one by one.
LEFT_OUT = (
    "browser", "raster", "benchmarks", "mutants", "test_wheel.py", "test_start.py", "unit/test_campaigns.py",
    "unit/test_cli.py", "unit/test_fleet_boats.py", "unit/test_handover_job.py", "unit/test_page_engine.py",
    "unit/test_proof_tampering.py", "unit/test_no_nan.py",
)  # fmt: skip
PYTEST = ("-q", "-n", "0", "-p", "no:cacheprovider")


class Reach(NamedTuple):
    """Each test with its seconds; of each file the blocks, first and last line, with the numbers of their tests."""

    tests: list[tuple[str, float]]
    blocks: dict[str, list[tuple[int, int, list[int]]]]

    def of(self, file: str, line: int) -> list[tuple[str, float]]:
        """Return the tests that run the smallest block with this line in it; none if it stands in no function."""
        around = [(last - first, own) for first, last, own in self.blocks.get(file, ()) if first <= line <= last]
        return [self.tests[number] for number in min(around, default=(0, []))[1]]


def import_as(code_of: Callable[[Path], CodeType | None]) -> None:
    """Let Python import other code than what stands in a file, wherever some is given."""
    right = SourceFileLoader.get_code

    def get_code(self: SourceFileLoader, name: str) -> Any:
        return code_of(Path(self.path)) or right(self, name)

    SourceFileLoader.get_code = get_code  # type: ignore[method-assign]


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
                os._exit(0)
            finally:
                os._exit(1)
        if os.waitpid(child, 0)[1]:
            raise SystemExit("the tests fail before anything is changed")
        kept = json.loads(cache.read_text())
    return Reach(kept["tests"], kept["blocks"])


def _run(tests: Path = ROOT / "tests") -> Reach:
    watch = _Watch()
    builtins.__reached__ = watch.reached.add  # type: ignore[attr-defined]
    import_as(watch.instrumented)
    functools.lru_cache = watch.lru_cache  # type: ignore[assignment]
    functools.cache = watch.lru_cache(maxsize=None)  # type: ignore[assignment]
    left_out = [f"--ignore={ROOT / 'tests' / name}" for name in LEFT_OUT]
    if pytest.main([*PYTEST, *left_out, str(tests)], plugins=[watch]):
        raise RuntimeError
    users: dict[int, list[int]] = defaultdict(list)
    for number, test in enumerate(watch.seconds):
        for block in set().union(*(watch.runs[used] for used in watch.all_used(test))):
            users[block].append(number)
    blocks: dict[str, list[tuple[int, int, list[int]]]] = defaultdict(list)
    for number, (file, first, last) in enumerate(watch.blocks):
        blocks[file].append((first, last, users[number]))
    return Reach(list(watch.seconds.items()), blocks)


class _Watch:
    """Keeps which blocks each context runs: a test, a shared fixture or a cached function."""

    def __init__(self) -> None:
        self.blocks: list[tuple[str, int, int]] = []
        self.reached: set[int] = set()
        self.inside = [""]
        self.runs: dict[str, set[int]] = defaultdict(set)
        self.uses: dict[str, set[str]] = defaultdict(set)
        self.seconds: dict[str, float] = {}

    def instrumented(self, path: Path) -> CodeType | None:
        """Return a module's code with a call at the head of every block inside its functions."""
        if not path.is_relative_to(ROOT / "templater"):
            return None
        tree = ast.parse(path.read_text("utf-8"))
        functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
        inside = {id(below): below for node in functions for below in ast.walk(node)}
        for node in inside.values():
            for field in ("body", "orelse", "finalbody"):
                block = getattr(node, field, None)
                if not isinstance(block, list) or not block or isinstance(node, ast.ClassDef):
                    continue
                number = len(self.blocks)
                self.blocks.append((path.relative_to(ROOT).as_posix(), block[0].lineno, block[-1].end_lineno or 0))
                call = ast.parse(f"__reached__({number})").body[0]
                block.insert(_after_docstring(block), ast.copy_location(call, block[0]))
        return compile(ast.fix_missing_locations(tree), str(path), "exec", dont_inherit=True)

    def all_used(self, context: str) -> set[str]:
        found: set[str] = set()
        ahead = [context]
        while ahead:
            if (one := ahead.pop()) not in found:
                found.add(one)
                ahead += self.uses[one]
        return found

    @contextmanager
    def context(self, name: str) -> Iterator[None]:
        self.uses[self.inside[-1]].add(name)
        self._leave()
        self.inside.append(name)
        try:
            yield
        finally:
            self._leave()
            self.inside.pop()

    def _leave(self) -> None:
        self.runs[self.inside[-1]] |= self.reached
        self.reached.clear()

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


def _after_docstring(block: list[ast.stmt]) -> int:
    first = block[0]
    return int(
        isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str)
    )


def _fixture(definition: Any) -> str:
    return f"{definition.baseid}::{definition.argname}"


def _processor_time() -> float:
    now = os.times()
    return now.user + now.system + now.children_user + now.children_system
