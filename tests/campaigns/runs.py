"""Runs that are stopped: killed at any moment, or refused one system call after another.

Whatever happens, the boat's folder holds the files of one run, all of them, and what the builder keeps in it.
"""

from __future__ import annotations

import hashlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "configs/whinchat-3.yaml"
MAKE = [sys.executable, "-m", "templater", "make"]
#: Calls by which a run changes what is on the disk.
CALLS = (
    "mkdir", "rename", "renameat2", "link", "linkat", "symlink", "unlink", "unlinkat", "rmdir", "chmod", "fchmod",
    "fsync", "write", "utimensat", "close",
)  # fmt: skip
#: Longest a run may take, seconds.
PATIENCE = 60.0


def _state(folder: Path) -> str:
    """Return a digest of all that is in a folder."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        digest.update(f"{path.relative_to(folder)} {path.is_symlink()} ".encode())
        digest.update(path.read_bytes() if path.is_file() and not path.is_symlink() else b"")
    return digest.hexdigest()


class Bench:
    """A folder in which one boat is made by turns in two revisions, with a file and a link of the builder's own."""

    def __init__(self, folder: Path) -> None:
        self.out = folder / "out"
        self.boat = self.out / "whinchat-3"
        text = DEMO.read_text("utf-8")
        self.texts = [folder / "a.yaml", folder / "b.yaml"]
        for path, letter in zip(self.texts, "AB", strict=True):
            path.write_text(text.replace("revision: A", f"revision: {letter}"), "utf-8")
        self.boat.mkdir(parents=True)
        (self.boat / "my notes.txt").write_text("mine", "utf-8")
        (self.boat / "link").symlink_to("my notes.txt")
        self.whole: dict[str, str] = {}
        for path in self.texts[::-1]:
            subprocess.run(self.command(path), cwd=ROOT, check=True, capture_output=True)
            self.whole[_state(self.boat)] = path.stem

    def command(self, text: Path) -> list[str]:
        return [*MAKE, str(text), "--out", str(self.out), "--only", "plates"]

    def wrong(self, said: str) -> str:
        """Return what is wrong with the folder, or with what was said; empty if nothing is."""
        if "Traceback" in said:
            return said[-300:]
        there = sorted(path.name for path in self.boat.glob("*"))
        return "" if _state(self.boat) in self.whole else f"a mixed or missing set: {there}"

    def leftovers(self) -> list[str]:
        """Return what lies beside the boat's folder after one more run."""
        subprocess.run(self.command(self.texts[0]), cwd=ROOT, check=True, capture_output=True)
        return [path.name for path in self.out.iterdir() if path != self.boat]


def _told(number: int, what: str, fault: str) -> None:
    sys.stderr.write(f"{number}: {what}: {fault}\n")


def kills(count: int, seed: int) -> tuple[int, int]:
    """Kill a run at a random moment, many times."""
    rng, failures = random.Random(seed), 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        start = time.monotonic()
        subprocess.run(bench.command(bench.texts[1]), cwd=ROOT, check=True, capture_output=True)
        usual = time.monotonic() - start
        for number in range(count):
            run = subprocess.Popen(bench.command(bench.texts[number % 2]), cwd=ROOT, stderr=subprocess.PIPE,
                                   stdout=subprocess.DEVNULL, text=True)  # fmt: skip
            # Half of them in the last fifth, when files are written.
            time.sleep(rng.uniform(0.8, 1.02) * usual if number % 2 else rng.uniform(0.0, 1.0) * usual)
            run.kill()
            _, said = run.communicate(timeout=PATIENCE)
            if fault := bench.wrong(said):
                failures += 1
                _told(number, "killed", fault)
        if left := bench.leftovers():
            failures += 1
            _told(count, "left behind", ", ".join(left))
    return count, failures


def _made_calls(bench: Bench) -> dict[str, int]:
    """Return how often a run makes each call."""
    trace = ["strace", "-f", "-qq", "-c", "-e", f"trace={','.join(CALLS)}", "-o", str(bench.out / "calls")]
    subprocess.run([*trace, *bench.command(bench.texts[0])], cwd=ROOT, check=True, capture_output=True)
    table = (bench.out / "calls").read_text("utf-8")
    (bench.out / "calls").unlink()
    rows = re.findall(r"^\s*[\d.]+\s+[\d.]+\s+\d+\s+(\d+)\s+(?:\d+\s+)?(\w+)$", table, re.MULTILINE)
    return {name: int(times) for times, name in rows if name in CALLS}


def _injections(calls: dict[str, int]) -> Iterator[str]:
    """Yield every call of a run, refused or the last thing the process does."""
    for name, times in calls.items():
        first = max(1, times - 150) if name == "close" else 1  # the early ones close what Python itself imports
        for number in range(first, times + 1):
            for what in ("error=ENOSPC", "error=EIO", "signal=KILL"):
                yield f"{name}:{what}:when={number}"


def failing_calls(count: int, seed: int) -> tuple[int, int]:
    """Refuse a run one system call, or kill it there; every call of a run if ``count`` allows, else a sample."""
    if shutil.which("strace") is None:
        return 0, 0
    failures = 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        every = list(_injections(_made_calls(bench)))
        chosen = every if count >= len(every) else random.Random(seed).sample(every, count)
        for number, injection in enumerate(chosen):
            inject = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", f"inject={injection}"]
            done = subprocess.run([*inject, *bench.command(bench.texts[number % 2])], cwd=ROOT, capture_output=True,
                                  text=True, check=False, timeout=PATIENCE)  # fmt: skip
            if fault := bench.wrong(done.stderr):
                failures += 1
                _told(number, injection, fault)
        if left := bench.leftovers():
            failures += 1
            _told(len(chosen), "left behind", ", ".join(left))
    return len(chosen), failures
