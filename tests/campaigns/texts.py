"""Very many spoilt texts, judged in this process: small seeds, so that one takes a few milliseconds.

A description is put together from a few short parts, each of several makes, and then spoilt; the demo boats come once in
a while. Every text is read and checked; of some the sheets are put on paper, of a few everything is made, and of some
the answer is asked for twice. The work is done in parts, each with a seed of its own and a line in a log, so that a run
can be stopped and taken up again.
"""

from __future__ import annotations

import contextlib
import gc
import io
import json
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any, NamedTuple

from templater.cli.main import main as shell
from templater.description.load import Base, Source
from templater.findings import Finding
from templater.fitup.record import read_record, record_data
from templater.paper.printer import load_profile
from templater.pipeline.checked import AS_DESCRIBED, Checked, Options, check
from templater.pipeline.fitup import fit_up
from templater.pipeline.make import make
from templater.pipeline.sheets import on_paper
from templater.proof.prove import prove
from tests.campaigns import judge
from tests.campaigns.kinds import BOATS, READINGS, _profile
from tests.campaigns.spoil import LETTERS, ODD, nudged, spoilt

#: Texts of one part of a run.
PART = 2000
SMALL = """\
boat: Reed
units: mm
steering_post: {diameter: 32}
floor: {thickness: 14}
plank: {length: 600, width: 175, thickness: 34, crown: 8, pivot_aft_of_bolts: 6}
fixing:
  half_spread: 60
  settings: {stations: [800]}
  bolt: {thread: M8}
"""
#: Each part of a description in several makes; the first five are needed.
_NEEDED = (
    ("boat: Reed\nunits: mm", "boat: Reed\nunits: in", 'boat: "Sedge 2"\nunits: mm'),
    ("steering_post: {diameter: 32 mm}", "steering_post: {diameter: 30 mm, tape_height: 1 in}"),
    ("floor: {thickness: 14 mm}", "floor: {thickness: 12 mm, wood: white ash}",
     "floor: {thickness: 14 mm, outline: [[700 mm, -9 in], [700 mm, 9 in], [1 m, 9 in], [1 m, -9 in]]}",
     "floor:\n  thickness: 14 mm\n  keep_clear:\n    - {name: lead, margin: 5 mm, corners: [[720 mm, -30 mm], "
     "[720 mm, 30 mm], [740 mm, 0]]}", "floor: {thickness: 14 mm, wood: {specific_gravity: 0.5}}"),
    ("plank: {length: 600 mm, width: 175 mm, thickness: 34 mm, crown: 8 mm, pivot_aft_of_bolts: 6 mm}",
     "plank: {length: 24 in, width: 7 in, thickness: 1 1/4 in, crown: 0, pivot_aft_of_bolts: 0, second_hole: template}",
     "plank:\n  length: 800 mm\n  width: 175 mm\n  thickness: 34 mm\n  crown: 8 mm\n  pivot_aft_of_bolts: -6 mm\n"
     "  chock_corners: {apart: 560 mm, aft_of_bolts: 6 mm, below_floor: 60 mm}\n  solid_at_bolts: 24 mm",
     "plank: {length: 600 mm, width: 175 mm, thickness: 34 mm, crown: 8 mm, pivot_aft_of_bolts: 6 mm,\n"
     "  bolts_from_fore_edge: 80 mm, wood: {species: sitka spruce}}"),
    ("fixing:\n  half_spread: 60 mm\n  settings: {stations: [800 mm]}\n  bolt: {thread: M8}",
     "rule: {runner_base: {max: 900 mm, min: 800 mm}}\nfixing:\n  half_spread: 4 in\n  settings: {count: 2, pitch: 2 in, at_limit: fore}\n"
     "  bolt: {thread: 5/16 in, head: socket, washer: normal, from: below}",
     "rule: {runner_base: {max: 1 m}, keep_inside: 4 mm}\nfixing:\n  half_spread: 80 mm\n  settings: {count: 3, pitch: 55 mm}\n  bolt: {thread: M8, hole: 8.4 mm, "
     "length: 80 mm}\n  sleeve: {outer: 18 mm, inner: 10 mm, glue_gap: 0.2 mm}\n  shim: 2 mm",
     "fixing:\n  half_spread: 70 mm\n  settings: {stations: [760 mm, 800 mm]}\n  bolt: {thread: M8}\n  plate:\n"
     "    {length: 46 mm, width: 76 mm, thickness: 3 mm, slot: {length: 16 mm, width: 8.5 mm}}",
     "fixing:\n  half_spread: 70 mm\n  settings: {stations: [800 mm]}\n  bolt: {thread: M8}\n  plate:\n"
     "    length: 46 mm\n    width: 76 mm\n    thickness: 3 mm\n    screws: {diameter: 5 mm, length: 16 mm, first: "
     "[[-16 mm, -30 mm], [16 mm, 30 mm]], second: [[-16 mm, -16 mm]]}", "fixing: {floor_hole: 9 mm, block: 5 mm,\n"
     "  half_spread: 60 mm, settings: {stations: [800 mm]}, bolt: {thread: 3/8 in}}"),
)  # fmt: skip
_OTHER = (
    "rule:\n  runner_base: {max: 900 mm, min: 600 mm}\n  keep_inside: 4 mm", "rule: {runner_base: {max: 1 m}}",
    "fittings:\n  - {name: base, on: floor, at: [700 mm, 0], pattern: {rectangle: [40 mm, 24 mm]}, drill: 5 mm}",
    "fittings:\n  - {name: eye, on: plank, at: [0, 50 mm], pattern: {points: [[0, 0]]}, drill: 5 mm, mirror: true}",
    "fittings:\n  - name: row\n    on: floor\n    at: [720 mm, 1 in]\n    pattern: {row: {count: 4, pitch: 20 mm}}\n"
    "    drill: 1/4 in\n    rotate: 30",
    "fittings:\n  - {name: ring, on: floor, at: [720 mm, 9 mm], pattern: {circle: {diameter: 60 mm, count: 5, start: 9}},"
    " drill: 4 mm}",
    "print: {paper: Letter, margin: 10 mm, overlap: 15 mm}", "print: {paper: A3, orientation: upright}",
    "print: {paper: {width: 300 mm, height: 400 mm}, figures: both, fraction: 1/16}", "print: {paper: {roll: 24 in}}",
    "print: {paper: A4, floor_face: under, printer: shed}", "accuracy: {tape: 0.5 mm, seam: 0.2 mm, punch: 0.25 mm}",
    "accuracy: {drill_lean: 1, printer_scale: 0.001, humidity: 20, lay: 0.5 mm, seam_angle: 0.1}",
    "issue: {date: 2026-11-25, revision: A, owner: the club, number: 7, drawn_by: nobody}", "based_on: other.yaml",
    "spares: {plates: 2, bolts: 1, screws: 4}", "cutting: {kerf: 0.2 mm}",
)  # fmt: skip
#: Spoilt command lines, a word a line; BOAT and OUT stand for a small description and for a folder.
COMMANDS = (
    "check\nBOAT\n--paper\nA4", "check\nBOAT\n--accuracy", "square\nBOAT\n--port\n800,801\n--starboard\n800.5\n--setting\n1",
    "square\nBOAT\n--port\n31 1/2 in\n--starboard\n800 mm\n--setting\n1\n--first-bolt\nport\n--tolerance\n1",
    "centreline\nBOAT\n--at\n400/200/201\n--at\n800,250,251\n--at\n1200 300 302", "shim\nBOAT\n--tilt-port\n0.5",
    "shim\nBOAT\n--tilt-starboard\n-1\n--tilt-port\n2", "printer\npage\n--paper\nA4\n--margin\n7\n--to\nOUT/page.pdf",
    "printer\nset\nshed\nacross=180.1,180.2\nalong=267\n--store\nOUT/store", "compare\nBOAT\nBOAT\n--tolerance\n0.5",
    "new\nOUT/new.yaml\n--boat\nReed\n--units\nmm", "make\nBOAT\n--out\nOUT\n--only\nplank\n--tile\n1-1\n--paper\nA4",
    "printer\nset\nshed\nacross=180.1\nalong=267.2\nrising=299\nfalling=299.1\n--paper\nLetter\n--store\nOUT/store",
    "handover\nBOAT\n--paper\nA5\n--to\nOUT/friend.pdf", "proof\nOUT\n--manifest\nOUT/no.json", "unpack\nBOAT",
)  # fmt: skip


class LateError(BaseException):
    """No answer in time; no part of the program may take it for a fault of its own."""


class Texts(NamedTuple):
    """A kind of text: its share of all, how one is spoilt, and who judges the answer."""

    share: int
    spoil: Callable[[Random], str]
    judged: Callable[[str, Random], object]
    ending: str


def describe(rng: Random) -> str:
    """Return a description put together from parts, with some of it spoilt."""
    if rng.random() < 0.01:
        return spoilt(rng, BOATS)
    parts = [rng.choice(makes) for makes in _NEEDED]
    parts += rng.sample(_OTHER, rng.choice((0, 0, 1, 1, 2)))
    text, way = "\n".join(parts), rng.random()
    if way < 0.5:
        return nudged(rng, text)
    if way < 0.8:
        return spoilt(rng, (text,), 2)
    return spoilt(rng, (nudged(rng, text),), 1) + "\n" + spoilt(rng, (*rng.choice(_NEEDED), rng.choice(_OTHER)), 1)


def described(text: str, rng: Random) -> None:
    """Check a description; of some the sheets are put on paper, of a few everything is made, of some all twice."""
    try:
        source = Source(text.encode("utf-8"), "boat.yaml", lambda name, _: Base(name, "reed.yaml", SMALL.encode()))
    except UnicodeEncodeError:  # the shell refuses such a file before anything is read from it
        return
    kept: list[Checked] = []

    def answer() -> tuple[Finding, ...]:
        kept.append(check(source))
        return kept[-1].findings

    found = judge.in_words(answer, echo=text)
    if rng.random() < 0.02 and judge.in_words(answer, echo=text) != found:
        raise judge.WrongError("two answers to one text")
    if kept and not kept[0].errors and (chance := rng.random()) < 0.03:
        if chance < 0.0015:
            judge.whole_job(text)
        else:
            judge.in_words(
                lambda: on_paper(kept[0], AS_DESCRIBED, drawn=False, larger=False).checked.findings, echo=text
            )


@cache
def _small() -> Checked:
    return check(Source(SMALL.encode(), "boat.yaml"))


#: Two boats whose readings are worked out: one of the least, and one with everything.
_BOATS: tuple[Callable[[], Checked], ...] = (_small, lambda: judge.BOAT)
_SHORT_READINGS = (
    *READINGS[1:], "square: {setting: 1, port: [800], starboard: [800.5, 801], ring: 0, chock_aft: {port: 6}}\n",
    "square:\n  tolerance: 2\n  setting: 1\n  attempts:\n    - {port: 800, starboard: 802}\n"
    "    - {port: 800.5, starboard: 801, first_bolt: starboard, note: moved, date: 2026-11-25}\n",
    "units: in\nread_to: 1/32\ncentreline: {stations: [{at: 16, port: 8, starboard: 8 1/16}, {at: 32, port: 10, "
    "starboard: 10}, {at: 48, port_edge: -12, starboard_edge: 12}]}\n", "shim: {toe: {fore: 500, aft: 501, apart: 300}}",
    "shim:\n  hull_bottom: [[-200, 3], [0, 0], [200, 3]]\n  tilt: {port: 1, starboard: [-0.5, 0.5]}\n",
    "tape: 0.3\nshim:\n  crown_gap: [{at: -200, gap: 5}, {at: -60, gap: 7}, {at: 60, gap: 7}, {at: 200, gap: 5}]\n",
)  # fmt: skip


def read(text: str, rng: Random) -> None:
    """Work out readings for a boat; of some the sheets and the record's page are made too."""
    boat, sheets = rng.choice(_BOATS)(), rng.random() < 0.002
    made = judge.in_words(lambda: fit_up(boat, text, "readings.yaml", sheets=sheets)[0].findings, echo=text)
    if rng.random() < 0.02 and made != judge.in_words(
        lambda: fit_up(boat, text, "readings.yaml", sheets=sheets)[0].findings, echo=text
    ):
        raise judge.WrongError("two answers to one text")


@cache
def _record() -> str:
    """Return the record of a fit-up of the small boat."""
    text = json.dumps(record_data(fit_up(_small(), _SHORT_READINGS[2], "readings.yaml", sheets=False)[0]), indent=1)
    return text


def recorded(text: str, rng: Random) -> None:
    """Hold a fit-up against an earlier one, as spoilt."""
    readings = _SHORT_READINGS[2]

    def answer() -> Iterable[Finding]:
        return fit_up(_small(), readings, "r.yaml", earlier=read_record(text, "fit-up.json"), sheets=False)[0].findings

    judge.in_words(answer, echo=text)


@cache
def _made() -> dict[str, bytes]:
    plated = SMALL + "  plate: {length: 40, width: 50, thickness: 3}\n"
    return make(Source(plated.encode(), "boat.yaml"), Options(only=("plates",))).files


def vouched(text: str, rng: Random) -> None:
    """Read a spoilt manifest; hold true files against some."""
    files = {"plates.svg": _made()["plates.svg"]} if (chance := rng.random()) < 0.1 else {}
    if chance < 0.01:
        files = {"plates.pdf": _made()["plates.pdf"]}
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return
    judge.in_words(lambda: prove(files, data, as_written=False).findings, echo=text)


def profiled(text: str, _rng: Random) -> None:
    """Read a printer's profile."""

    def answer() -> tuple[Finding, ...]:
        load_profile(text, "printer.yaml")
        return ()

    judge.in_words(answer, echo=text)


@cache
def _bench() -> Path:
    """Return a folder with the small boat in it, in which commands are run."""
    folder = Path(tempfile.mkdtemp(prefix="campaign"))
    (folder / "boat.yaml").write_text(SMALL, "utf-8")
    return folder


def command(rng: Random) -> str:
    """Return a command line, one to three of its words spoilt; no word names a file outside the folder."""
    words = rng.choice(COMMANDS).split("\n")
    for _ in range(rng.randint(1, 3)):
        at, way = rng.randrange(1, len(words)), rng.randrange(6)
        if words[at - 1] in ("--to", "--out", "--store", "--manifest") or words[at][:3] in ("BOA", "OUT"):
            continue
        if way == 0:
            words[at] = rng.choice(ODD)
        elif way == 1:
            words[at] = words[at] + rng.choice(LETTERS)
        elif way == 2:
            words[at] = spoilt(rng, (words[at],), 1)
        elif way == 3:
            words[at:at] = [rng.choice(("--json", "--paper", "--boat", "--setting", "--at", "--no", "-h", ""))]
        elif way == 4:
            words[at] = rng.choice(rng.choice(COMMANDS).replace("OUT", "").replace("BOAT", "").split("\n"))
        else:
            words[at] = words[at].replace("0", rng.choice(("", "1e300", "-", "nan", "٣", "1/0", "9" * 30)))
    return "\n".join(words)


def commanded(text: str, _rng: Random) -> None:
    """Run a command line in this process, all that it says caught."""
    words = [
        word.replace("BOAT", str(_bench() / "boat.yaml")).replace("OUT", str(_bench())) for word in text.split("\n")
    ]
    if "--out" not in words and words[0] == "make" or words[0] == "unpack" and "--out" not in words:
        words += ["--out", str(_bench())]
    if words[0] == "new" and not words[1].startswith(str(_bench())):
        return
    (_bench() / "new.yaml").unlink(missing_ok=True)
    out, err = io.StringIO(), io.StringIO()
    start = time.process_time()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            status = shell(words)
        except SystemExit as stop:
            status = int(str(stop.code))
    if time.process_time() - start > judge.PATIENCE:
        raise judge.WrongError(f"took {time.process_time() - start:.1f} s")
    if status not in (0, 1, 2, 3):
        raise judge.WrongError(f"status {status}")
    said = err.getvalue() + ("" if "--json" in text else out.getvalue())
    if status and not said.strip() and "--json" not in text:
        raise judge.WrongError(f"status {status} and no word")
    if unfit := [line for line in said.split("\n") if not line.isprintable()]:
        raise judge.WrongError(f"not for a terminal: {unfit[0][:200]!r}")
    if "Traceback" in said or (judge.NO_NUMBER.search(said) and not judge.NO_NUMBER.search(text.lower())):
        raise judge.WrongError(said[:300])


def _either(rng: Random, text: str) -> str:
    """Return a text with figures changed, or spoilt otherwise."""
    return nudged(rng, text) if rng.random() < 0.5 else spoilt(rng, (text,), 3)


KINDS = {
    "descriptions": Texts(38, describe, described, ".yaml"),
    "readings": Texts(32, lambda rng: _either(rng, rng.choice(_SHORT_READINGS)), read,
                      ".readings.yaml"),
    "profiles": Texts(12, lambda rng: _either(rng, _profile()), profiled, ".printer.yaml"),
    "manifests": Texts(12, lambda rng: _either(rng, _made()["manifest.json"].decode()), vouched, ".json"),
    "records": Texts(4, lambda rng: _either(rng, _record()), recorded, ".record.json"),
    "options": Texts(2, command, commanded, ".options"),
}  # fmt: skip


def _late(_signal: int, _frame: FrameType | None) -> None:
    raise LateError


def fault_of(name: str, text: str, seed: str) -> str:
    """Return what goes wrong with a text, in a word and a place; empty if nothing does."""
    signal.signal(signal.SIGPROF, _late)
    signal.setitimer(signal.ITIMER_PROF, judge.PATIENCE + 1)
    try:
        KINDS[name].judged(text, Random(seed))
    except KeyboardInterrupt:
        raise
    except BaseException as fault:
        last = traceback.extract_tb(fault.__traceback__)[-1]
        return f"{type(fault).__name__} {Path(last.filename).name}:{last.lineno} {str(fault)[:150]!r}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return ""


def smallest(name: str, text: str, seed: str) -> str:
    """Return a text with as many lines taken out as go, the same fault still in it."""
    where = fault_of(name, text, seed).split("'")[0]
    lines, at = text.split("\n"), 0
    while at < len(lines) and where:
        fewer = lines[:at] + lines[at + 1 :]
        if fault_of(name, "\n".join(fewer), seed).split("'")[0] == where:
            lines = fewer
        else:
            at += 1
    return "\n".join(lines)


def part(number: int, seed: int, found: Path) -> dict[str, Any]:
    """Try one part of a run; each new fault is kept as a file."""
    rng, start, counts, faults = Random(f"{seed} {number}"), time.monotonic(), Counter[str](), Counter[str]()
    names, used = rng.choices([*KINDS], [kind.share for kind in KINDS.values()], k=PART), time.process_time()
    slowest = 0.0
    for at, name in enumerate(names):
        text, chance, before = KINDS[name].spoil(rng), f"{seed} {number} {at}", time.process_time()
        counts[name] += 1
        if fault := fault_of(name, text, chance):
            faults[f"{name}: {fault}"] += 1
            place = fault.split("'")[0].split('"')[0].strip().replace(" ", "-").replace(":", "-")
            path = found / f"{name}-{place}{KINDS[name].ending}"
            if not path.exists():
                found.mkdir(exist_ok=True, parents=True)
                path.write_bytes(smallest(name, text, chance).encode("utf-8", "surrogatepass"))
        slowest = max(slowest, time.process_time() - before)
    return {
        "part": number, "seed": seed, "tried": sum(counts.values()), "kinds": counts, "faults": faults,
        "seconds": round(time.monotonic() - start, 1), "processor": round(time.process_time() - used, 1),
        "slowest": round(slowest, 2), "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }  # fmt: skip


def run(count: int, seed: int, log: Path, found: Path) -> tuple[int, int]:
    """Try texts until a log counts so many; return how many were tried in all, and how many went wrong."""
    judge.limit_memory(1_000_000_000)
    gc.set_threshold(200_000)
    there = [json.loads(line) for line in log.read_text("utf-8").splitlines()] if log.exists() else []
    done = {row["part"] for row in there if row["seed"] == seed}
    tried = sum(row["tried"] for row in there)
    wrong = sum(sum(row["faults"].values()) for row in there)
    number = 0
    while tried < count:
        if number not in done:
            row = part(number, seed, found)
            tried, wrong = tried + row["tried"], wrong + sum(row["faults"].values())
            with log.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")
            gc.collect()
            sys.stderr.write(f"{tried} tried, {wrong} wrong, {row['seconds']} s\n")
        number += 1
    return tried, wrong
