"""Commands in odd places: outputs that are full, closed or short of letters, folders without permission, no home.

A command is a child of this process with everything loaded, which changes its surroundings, itself alone, before it
begins. It must answer in words, whatever its surroundings are.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import resource
import signal
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from templater.cli.main import main
from tests.campaigns.judge import SMALL, SQUARED

#: Somebody whom this system does not know.
_NOBODY = 54_321
#: Longest answer by the clock, seconds.
_PATIENCE = 20
#: Commands. FILE is a description, READINGS are readings for it, OUT is where something goes, STORE is for printers.
COMMANDS = """\
check | FILE
check | FILE | --accuracy
check | OUT
make | FILE | --out | OUT | --only | plank
cut | FILE | --out | OUT
square | FILE | READINGS | --out | OUT
square | FILE | --port | 840 | --starboard | 842 | --setting | 1
shim | FILE | --tilt-port | 0.5 | --out | OUT
new | OUT/new.yaml
new | OUT | --readings | FILE
compare | FILE | FILE | --overlay | OUT
handover | FILE | --to | OUT/f.pdf
unpack | OUT | --out | OUT
proof | OUT
proof | FILE | --manifest | OUT
printer | page | --to | OUT
printer | list | --store | OUT
printer | set | shed | across=180 | along=267
page | --to | OUT
schema
"""


def _nobody() -> None:
    os.setuid(_NOBODY)
    os.environ.pop("HOME", None)


def _no_folder() -> None:
    with tempfile.TemporaryDirectory() as gone:
        os.chdir(gone)


def _output(encoding: str, path: str = "") -> Callable[[], None]:
    """Return what puts the two outputs into an encoding, the first one into another file."""

    def change() -> None:
        if path:
            os.dup2(os.open(path, os.O_WRONLY), 1)
        for stream in (sys.stdout, sys.stderr):
            stream.reconfigure(encoding=encoding, errors="strict")  # type: ignore[union-attr]

    return change


def _full() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))


#: Surroundings, by what they are called.
PLACES: dict[str, Callable[[], object]] = {
    "as usual": lambda: None,
    "cp1252": _output("cp1252"),
    "ascii": _output("ascii"),
    "a full output": _output("utf-8", "/dev/full"),
    "a closed output": lambda: os.close(1),
    "no outputs": lambda: os.closerange(1, 3),
    "nobody without a home": _nobody,
    "no folder of its own": _no_folder,
    "ten files": lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (10, 10)),
    "three files": lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (3, 3)),
    "files of 2000 bytes": _full,
    "no folder for passing things": lambda: os.environ.update(TMPDIR="/nowhere"),
    "a store that is a file": lambda: os.environ.update(XDG_CONFIG_HOME="/dev/null", HOME="/dev/null"),
}


def _paths(folder: Path) -> dict[str, str]:
    """Make what a path can lead to; return each by what it is called."""
    locked, loop = folder / "locked", folder / "loop"
    locked.mkdir(mode=0o700)
    loop.symlink_to("loop")
    (folder / "full").write_bytes(b"x")
    (folder / "empty").mkdir()
    os.mkfifo(folder / "pipe")
    return {
        "a new place": f"{folder}/new",
        "a folder": f"{folder}/empty",
        "a file": f"{folder}/full",
        "below a file": f"{folder}/full/a",
        "a loop": f"{loop}/a",
        "a locked place": f"{locked}/a",
        "a pipe": f"{folder}/pipe",
        "all bits nought": "/dev/zero",
        "a long name": f"{folder}/{'n' * 300}",
        "a long way": f"{folder}{'/n' * 3000}",
        "no UTF-8": f"{folder}/\udcff\udcfe",
        "letters": f"{folder}/Łódź \x1b[2J",
        "dot": ".",
        "nothing": "",
    }


def _answer(words: list[str], change: Callable[[], object], heard: Path) -> tuple[int, str]:
    """Run a command in changed surroundings; return its status, and what it said."""
    sys.stdout.flush()
    if not (process := os.fork()):
        status, told = 99, os.open(heard, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o666)
        try:
            spare = os.dup(told)
            os.dup2(told, 1)
            os.dup2(told, 2)
            sys.stdout, sys.stderr = (open(one, "w", encoding="utf-8", closefd=False) for one in (1, 2))  # noqa: SIM115
            os.chdir(heard.parent)
            signal.alarm(_PATIENCE)
            change()
            status = main(words)
        except SystemExit as stop:
            status = int(str(stop.code))
        except BaseException:
            os.write(spare, traceback.format_exc().encode("utf-8", "replace"))
        finally:
            with contextlib.suppress(BaseException):
                sys.stderr.flush()
            os._exit(status)
    _, code = os.waitpid(process, 0)
    return os.waitstatus_to_exitcode(code), heard.read_bytes().decode("utf-8", "replace")


def places(count: int, seed: int) -> tuple[int, int]:
    """Run commands in odd places; every command in each of them if ``count`` allows, else a sample."""
    failures = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o777)
        (folder / "boat.yaml").write_text(SMALL.replace("boat: Reed", "boat: Łódź"), "utf-8")
        (folder / "readings.yaml").write_text(SQUARED, "utf-8")
        (folder / "said").touch()
        (folder / "said").chmod(0o666)
        fixed = {"FILE": f"{folder}/boat.yaml", "READINGS": f"{folder}/readings.yaml"}
        for command in COMMANDS.splitlines():  # loads everything: not everybody may read what Python is made of
            words = [fixed.get(word, word.replace("OUT", f"{folder}/first")) for word in command.split(" | ")]
            with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
                main(words)
        order: list[tuple[int, int]] = []
        every = [
            (command.split(" | "), *place, *path)
            for path in _paths(folder).items()
            for place in PLACES.items()
            for command in COMMANDS.splitlines()
            if "OUT" in command or path[0] == "a new place"
        ]
        random.Random(seed).shuffle(every)
        turns = Counter[str]()
        for number, (_, place, *_) in enumerate(every):
            turns[place] += 1
            order.append((turns[place], number))  # every place in turn
        chosen = [every[number] for _, number in sorted(order)[:count]]
        for command, place, change, what, path in chosen:
            words = [fixed.get(word, word.replace("OUT", path)) for word in command]
            status, said = _answer(words, change, folder / "said")
            silent = place in ("no outputs", "a full output", "a closed output", "files of 2000 bytes")
            if "Traceback" in said or status not in (0, 1, 2, 3) or (status and not said and not silent):
                failures += 1
                sys.stderr.write(f"{' '.join(command)}; {place}; {what}: {status} {said[-400:]}\n")
    return len(chosen), failures
