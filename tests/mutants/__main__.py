"""Try wrong changes and count those that the tests catch.

    python -m tests.mutants --count 120 --seed 1        a fair sample over all lines that tests run
    python -m tests.mutants --rooms paper proof

Each change is made in a copy of the tree, and the test files that run the changed line are run until one fails. Which
files run which lines is measured first, with coverage (kept in ``--cache``). The survivors are listed; some change
nothing that can be seen, the others want a test.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

from tests.mutants.changes import Change, changes

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("plane", "maths", "paper", "proof", "fitup", "boat", "writers")
#: Test files that are left out: they take long, and what they hold is held by quicker ones too.
LEFT_OUT = ("browser", "raster", "benchmarks", "mutants", "campaigns")
PYTEST = ("-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider")
#: A change that makes a test file run longer than this, seconds, is caught: somebody waits for ever.
PATIENCE = 240


class Mutant(NamedTuple):
    """A wrong change of one file, relative to the tree."""

    file: str
    change: Change

    def __str__(self) -> str:
        return f"{self.file}:{self.change.line}: {self.change.was!r} -> {self.change.now!r}"


class Reach(NamedTuple):
    """What a test file runs: seconds, and the lines of each file."""

    seconds: float
    lines: dict[str, list[int]]


def test_files() -> list[str]:
    found = sorted((ROOT / "tests").rglob("test_*.py"))
    return [path.relative_to(ROOT).as_posix() for path in found if path.relative_to(ROOT).parts[1] not in LEFT_OUT]


def measured(test: str) -> Reach:
    """Run one test file under coverage and return what it reaches."""
    with tempfile.TemporaryDirectory() as folder:
        data, report = Path(folder, "data"), Path(folder, "report.json")
        environment = {**os.environ, "COVERAGE_FILE": str(data), "PYTHONDONTWRITEBYTECODE": "1"}
        start = time.monotonic()
        cover = [sys.executable, "-m", "coverage"]
        subprocess.run(
            [*cover, "run", "--source=templater", *PYTEST, test],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            check=False,
        )
        seconds = time.monotonic() - start
        subprocess.run(
            [*cover, "json", "-q", "-o", str(report)], cwd=ROOT, env=environment, capture_output=True, check=False
        )
        files = json.loads(report.read_text())["files"] if report.exists() else {}
    return Reach(seconds, {name: one["executed_lines"] for name, one in files.items()})


def reach(cache: Path, jobs: int) -> dict[str, Reach]:
    """Return what every test file reaches, measured once and kept."""
    if cache.exists():
        return {test: Reach(*one) for test, one in json.loads(cache.read_text()).items()}
    tests = test_files()
    with ThreadPoolExecutor(jobs) as pool:
        found = dict(zip(tests, pool.map(measured, tests), strict=True))
    cache.write_text(json.dumps(found))
    return found


def body_lines(text: str) -> set[int]:
    """Return the lines inside functions: what stands outside them is run by every test that imports the file."""
    lines: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            lines |= set(range(node.body[0].lineno, (node.end_lineno or 0) + 1))
    return lines


def all_mutants(rooms: tuple[str, ...], run: dict[str, set[int]]) -> list[Mutant]:
    found = []
    for room in rooms:
        for path in sorted((ROOT / "templater" / room).rglob("*.py")):
            name, text = path.relative_to(ROOT).as_posix(), path.read_text("utf-8")
            inside = body_lines(text)
            found += [
                Mutant(name, change) for change in changes(text)
                if change.line in inside and change.line in run.get(name, set())
            ]  # fmt: skip
    return found


def catch(mutant: Mutant, tests: list[str]) -> str:
    """Return the test file that catches a change, or nothing."""
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder, "tree")
        skipped = shutil.ignore_patterns(".git", ".venv", "out", "__pycache__", ".*_cache", "*.egg-info")
        shutil.copytree(ROOT, tree, ignore=skipped)
        path, change = tree / mutant.file, mutant.change
        text = path.read_text("utf-8")
        path.write_text(text[: change.start] + change.now + text[change.end :], "utf-8")
        environment = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
        for test in tests:
            command = [sys.executable, *PYTEST, test]
            try:
                done = subprocess.run(
                    command, cwd=tree, env=environment, capture_output=True, timeout=PATIENCE, check=False
                )
            except subprocess.TimeoutExpired:
                return f"{test} (never ends)"
            if done.returncode:
                return test
    return ""


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants")
    parser.add_argument("--count", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="+", default=ROOMS)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir(), "templater-reach.json"))
    arguments = parser.parse_args()
    reached = reach(arguments.cache, arguments.jobs)
    by_line: dict[str, set[int]] = {}
    for one in reached.values():
        for name, lines in one.lines.items():
            by_line.setdefault(name, set()).update(lines)
    mutants = all_mutants(tuple(arguments.rooms), by_line)
    chosen = random.Random(arguments.seed).sample(mutants, min(arguments.count, len(mutants)))

    def tried(mutant: Mutant) -> tuple[Mutant, str]:
        line = mutant.change.line
        tests = [test for test, one in reached.items() if line in one.lines.get(mutant.file, ())]
        return mutant, catch(mutant, sorted(tests, key=lambda test: reached[test].seconds))

    caught = 0
    with ThreadPoolExecutor(arguments.jobs) as pool:
        for number, (mutant, test) in enumerate(pool.map(tried, chosen), 1):
            caught += bool(test)
            print(f"{number:4} {'caught' if test else 'SURVIVES'} {mutant} {test}", flush=True)
    print(f"{caught} of {len(chosen)} wrong changes caught ({caught / len(chosen):.0%}); {len(mutants)} could be made")
    return 0


if __name__ == "__main__":
    sys.exit(main())
