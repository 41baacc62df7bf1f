"""Runs that are stopped: killed at any moment, or refused one system call after another.

Whatever happens, the boat's folder holds the files of one run, all of them, and what the builder keeps in it; and what
was said is so. A run is a child of this process with everything loaded: what is tried is the run itself, not the
loading of Python. Of the kills from the keyboard some are sent to a process that is only starting.
"""

from __future__ import annotations

import contextlib
import ctypes
import hashlib
import io
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from templater.cli.main import main
from tests.campaigns.judge import SMALL

#: Calls by which a run changes what is on the disk, and those by which it only looks.
_CHANGING = (
    "mkdir", "rename", "renameat2", "link", "linkat", "symlink", "symlinkat", "unlink", "unlinkat", "rmdir", "chmod",
    "fchmod", "fchmodat", "fsync", "write", "utimensat", "close", "openat",
)  # fmt: skip
CALLS = (*_CHANGING, "read", "readlink", "newfstatat", "fstat", "lseek", "getdents64", "ioctl", "access",
         "clone", "pipe2")  # fmt: skip
#: Longest a run may take, seconds.
PATIENCE = 60.0


def _state(folder: Path) -> str:
    """Return a digest of all that is in a folder."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        digest.update(f"{path.relative_to(folder)} {path.is_symlink()} ".encode())
        digest.update(path.read_bytes() if path.is_file() and not path.is_symlink() else b"")
    return digest.hexdigest()


class Ended(NamedTuple):
    """How a run ended: its exit status, less than 0 for a signal, and what it said."""

    status: int
    said: str


class Bench:
    """Boats that are made by turns in two revisions; a file and a link of the builder's own lie with each."""

    def __init__(self, folder: Path, boats: tuple[str, ...] = ("reed",)) -> None:
        self.out, self.heard = folder / "out", folder / "said"
        self.boats = [self.out / name for name in boats]
        self.texts = [[folder / f"{name}-{letter}.yaml" for name in boats] for letter in "AB"]
        for letter, paths in zip("AB", self.texts, strict=True):
            for path, name in zip(paths, boats, strict=True):
                text = SMALL.replace("boat: Reed", f"boat: {name}\nissue: {{revision: {letter}}}")
                path.write_text(text, "utf-8")
        #: What a boat's folder holds after a whole run, to the revision's number.
        self.whole: dict[str, int] = {}
        self.renew()

    def renew(self) -> None:
        """Put everything in its place, and make the second revision and the first."""
        shutil.rmtree(self.out, ignore_errors=True)
        for boat in self.boats:
            (boat / "drawer").mkdir(parents=True)
            (boat / "my notes.txt").write_text("mine", "utf-8")
            (boat / "drawer" / "link").symlink_to("my notes.txt")
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            main(["make", str(self.texts[1][0]), "--out", str(self.out), "--only", "plank"])  # loads everything
        for number in (1, 0):
            ended = self.finish(self.start(number))
            if ended.status:
                raise RuntimeError(ended.said)
            self.whole |= {_state(boat): number for boat in self.boats}

    def arguments(self, number: int) -> list[str]:
        """Return the command that makes a revision of all boats, one sheet of each."""
        words = ["make", *map(str, self.texts[number]), "--out", str(self.out), "--only", "plank"]
        return [*words, "--processes", "2"] if len(self.boats) > 1 else words

    def start(self, number: int, *, waiting: bool = False) -> int:
        """Start a run as a group of processes of its own; ``waiting`` stops it at once. Return its id."""
        sys.stdout.flush()
        process = os.fork()
        if process:
            return process
        os.setpgid(0, 0)
        handle = os.open(f"{self.heard}{os.getpid()}", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(handle, 1)
        os.dup2(handle, 2)
        sys.stdout, sys.stderr = (open(one, "w", encoding="utf-8", closefd=False) for one in (1, 2))  # noqa: SIM115
        signal.signal(signal.SIGINT, signal.default_int_handler)
        status = 99
        try:
            if waiting:
                os.kill(os.getpid(), signal.SIGSTOP)
            status = main(self.arguments(number))
        except BaseException:
            sys.excepthook(*sys.exc_info())
        finally:
            with contextlib.suppress(BaseException):
                sys.stderr.flush()
            os._exit(status)

    def finish(self, process: int) -> Ended:
        """Wait for the end of a run and of every process that it started."""
        _, code = os.waitpid(process, 0)
        end = time.monotonic() + PATIENCE
        status = os.waitstatus_to_exitcode(code)
        while time.monotonic() < end:
            try:
                os.waitpid(-process, os.WNOHANG)
            except ChildProcessError:
                break
            time.sleep(0.01)
        else:
            os.killpg(process, signal.SIGKILL)
            return Ended(status, "Traceback: workers that do not end")
        heard = Path(f"{self.heard}{process}")
        said = heard.read_text("utf-8", "replace") if heard.exists() else ""  # killed before it had one
        heard.unlink(missing_ok=True)
        return Ended(status, said)

    def revisions(self) -> list[int | None]:
        """Return which revision each boat's folder holds; None for no whole one."""
        return [self.whole.get(_state(boat)) for boat in self.boats]

    def wrong(self, ended: Ended, before: list[int | None], number: int) -> str:
        """Return what is wrong with the folders, or with what was said; empty if nothing is."""
        now = self.revisions()
        if None in now:
            there = [sorted(path.name for path in boat.glob("*")) for boat in self.boats]
            return f"a mixed or missing set: {there}"
        if "Traceback" in ended.said or (ended.status in (1, 130) and not ended.said.strip()):
            return f"status {ended.status}: {ended.said[:300]} .. {ended.said[-300:]}"
        if ended.status == 0 and now != [number] * len(now):
            return "says done, and is not"
        if re.search("nothing was (written|changed)", ended.said) and len(now) == 1 and now != before:
            return f"says nothing was written, and it was: {ended.said[-300:]}"
        return ""

    def leftovers(self) -> list[str]:
        """Return what lies beside the boats' folders after one more run."""
        self.finish(self.start(0))
        return [path.name for path in self.out.iterdir() if path not in self.boats]


def _told(number: int, what: str, fault: str) -> None:
    sys.stderr.write(f"{number}: {what}: {fault}\n")


def _adopt() -> None:
    """Have orphans of our children as our own children, so that their end can be waited for. Source: prctl(2)."""
    ctypes.CDLL(None).prctl(36, 1, 0, 0, 0)


def kills(count: int, seed: int, boats: tuple[str, ...] = ("reed",)) -> tuple[int, int]:
    """Kill runs at random moments, by turns at once and as the keyboard does."""
    _adopt()
    rng, failures = random.Random(seed), 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder), boats)
        start = time.monotonic()
        bench.finish(bench.start(1))
        usual = time.monotonic() - start
        for number in range(count):
            before, revision = bench.revisions(), rng.randrange(2)
            how, start = rng.choice((signal.SIGKILL, signal.SIGINT)), time.monotonic()
            process = bench.start(revision)
            # Half of them in the last part, when files are written.
            time.sleep(rng.uniform(0.7, 1.02) * usual if number % 2 else rng.uniform(0.0, 1.0) * usual)
            with contextlib.suppress(ProcessLookupError):
                (os.killpg if how == signal.SIGINT else os.kill)(process, how)
            ended = bench.finish(process)
            if ended.status == 0:  # it was quicker: keep to its measure
                usual = 0.9 * usual + 0.1 * (time.monotonic() - start)
            if fault := bench.wrong(ended, before, revision):
                failures += 1
                _told(number, how.name, fault)
                bench.renew()
        if left := bench.leftovers():
            failures += 1
            _told(count, "left behind", ", ".join(left))
    return count, failures


def pairs(count: int, seed: int) -> tuple[int, int]:
    """Make two revisions of a boat at once, one a little after the other: one of them stands there whole."""
    _adopt()
    rng, failures = random.Random(seed), 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        for number in range(count):
            runs = []
            for revision in (0, 1):
                runs.append(bench.start(revision))
                time.sleep(rng.uniform(0.0, 0.2))
            ended, said = bench.finish(runs[0]), bench.finish(runs[1])
            if fault := bench.wrong(ended._replace(status=1), [], 0) or bench.wrong(said._replace(status=1), [], 1):
                failures += 1
                _told(number, "two at once", fault)
                bench.renew()
    return count, failures


def fleet(count: int, seed: int) -> tuple[int, int]:
    """Kill runs of two boats at a time."""
    return kills(count, seed, ("reed", "sedge"))


def early(count: int, seed: int) -> tuple[int, int]:
    """Stop runs from the keyboard while Python starts and loads the program."""
    signal.signal(signal.SIGINT, signal.default_int_handler)  # one that is passed over would be so in children too
    rng, failures = random.Random(seed), 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        command = [sys.executable, "-m", "templater", *bench.arguments(0)]
        start = time.monotonic()
        subprocess.run(command, check=True, capture_output=True)
        usual = time.monotonic() - start
        for number in range(count):
            before = bench.revisions()
            run = subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
            time.sleep(rng.uniform(0.02, 0.7) * usual)
            run.send_signal(signal.SIGINT)
            said = run.communicate(timeout=PATIENCE)[1]
            if fault := bench.wrong(Ended(run.returncode, said), before, 0):
                failures += 1
                _told(number, "keyboard", fault)
    return count, failures


def _traced(bench: Bench, number: int, *options: str) -> tuple[Ended, str]:
    """Run under strace from where everything is loaded; return how it ended, and the trace."""
    trace = bench.heard.with_name("trace")
    process = bench.start(number, waiting=True)
    os.waitpid(process, os.WUNTRACED)
    watch = subprocess.Popen(["strace", "-f", "-o", str(trace), *options, "-p", str(process)], stderr=subprocess.PIPE)
    assert watch.stderr is not None
    watch.stderr.readline()  # attached
    os.kill(process, signal.SIGCONT)
    ended = bench.finish(process)
    watch.communicate(timeout=PATIENCE)
    return ended, trace.read_text("utf-8", "replace")


def _injections(trace: str) -> Iterator[str]:
    """Yield every call of a run, refused; one that changes the disk also as the last thing the process does."""
    made = re.findall(r"^\d+\s+(\w+)\(", trace, re.MULTILINE)
    for name in CALLS:
        for number in range(1, made.count(name) + 1):
            yield f"{name}:error={'ENOSPC' if name in _CHANGING else 'EIO'}:when={number}"
            if name in _CHANGING:
                yield f"{name}:signal=KILL:when={number}"


def failing_calls(count: int, seed: int) -> tuple[int, int]:
    """Refuse a run one system call, or kill it there; every call of a run if ``count`` allows, else a sample."""
    if shutil.which("strace") is None:
        return 0, 0
    failures = 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        every = list(_injections(_traced(bench, 1, "-e", f"trace={','.join(CALLS)}")[1]))
        chosen = every if count >= len(every) else random.Random(seed).sample(every, count)
        for number, injection in enumerate(chosen):
            before = bench.revisions()
            ended, _ = _traced(bench, number % 2, "-e", f"trace={injection.split(':')[0]}", "-e", f"inject={injection}")
            if fault := bench.wrong(ended, before, number % 2):
                failures += 1
                _told(number, injection, fault)
                bench.renew()
        if left := bench.leftovers():
            failures += 1
            _told(len(chosen), "left behind", ", ".join(left))
    return len(chosen), failures


KINDS: dict[str, Callable[[int, int], tuple[int, int]]] = {
    "kills": kills, "fleet": fleet, "pairs": pairs, "early": early, "calls": failing_calls,
}  # fmt: skip
