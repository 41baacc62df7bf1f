"""Runs of many spoilt things: in parts, each with a seed of its own and a line in a log, to be taken up again.

A new fault is kept as a file, with as many lines taken out as go.
"""

from __future__ import annotations

import gc
import json
import resource
import signal
import sys
import time
import traceback
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any

from tests.campaigns import judge
from tests.campaigns.kinds import KINDS, Kind

FOUND = Path(__file__).parent / "found"
#: Things of one part of a run.
PART = 2000


class LateError(BaseException):
    """No answer in time; no part of the program may take it for a fault of its own."""


def _late(_signal: int, _frame: FrameType | None) -> None:
    raise LateError


def fault_of(kind: Kind, thing: Any, chance: str, answers: Counter[str] | None = None) -> str:
    """Return what goes wrong with a thing, in a word and a place; empty if nothing does. Answers are counted."""
    signal.signal(signal.SIGPROF, _late)
    signal.setitimer(signal.ITIMER_PROF, judge.PATIENCE + 1)
    try:
        said = kind.judged(thing, Random(chance))
        if answers is not None and isinstance(said, str):
            answers[said] += 1
    except KeyboardInterrupt:
        raise
    except BaseException as fault:
        last = traceback.extract_tb(fault.__traceback__)[-1]
        return f"{type(fault).__name__} {Path(last.filename).name}:{last.lineno} {str(fault)[:150]!r}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return ""


def _place(fault: str) -> str:
    return "-".join(fault.replace(":", " ").split()[:3])


def smallest(kind: Kind, thing: Any, chance: str) -> Any:
    """Return a text with as many lines taken out as go, the same fault still in it."""
    where, at = _place(fault_of(kind, thing, chance)), 0
    lines = thing.split("\n") if isinstance(thing, str) else []
    while at < len(lines):
        fewer = lines[:at] + lines[at + 1 :]
        if _place(fault_of(kind, "\n".join(fewer), chance)) == where:
            lines = fewer
        else:
            at += 1
    return "\n".join(lines) if lines else thing


def part(kinds: Mapping[str, Kind], number: int, seed: int, size: int = PART, found: Path = FOUND) -> dict[str, Any]:
    """Try one part of a run, the kinds by their shares; return a line for the log."""
    rng, start, used = Random(f"{seed} {number}"), time.monotonic(), time.process_time()
    counts, faults, answers, slowest = Counter[str](), Counter[str](), Counter[str](), 0.0
    for at, name in enumerate(rng.choices([*kinds], [kind.share or 1 for kind in kinds.values()], k=size)):
        kind, chance, before = kinds[name], f"{seed} {number} {at}", time.process_time()
        thing = kind.spoil(rng)
        counts[name] += 1
        if fault := fault_of(kind, thing, chance, answers):
            faults[f"{name}: {fault}"] += 1
            path = found / f"{name}-{_place(fault)}{kind.ending}"
            if not path.exists():
                found.mkdir(exist_ok=True, parents=True)
                thing = smallest(kind, thing, chance)
                path.write_bytes(thing if isinstance(thing, bytes) else thing.encode("utf-8", "surrogatepass"))
        slowest = max(slowest, time.process_time() - before)
    return {
        "part": number, "seed": seed, "tried": size, "kinds": counts, "faults": faults, "answers": answers,
        "seconds": round(time.monotonic() - start, 1), "processor": round(time.process_time() - used, 1),
        "slowest": round(slowest, 2), "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }  # fmt: skip


def run(names: list[str], count: int, seed: int, log: Path | None = None) -> tuple[int, int]:
    """Try things until so many are in the log; return how many were tried in all, and how many went wrong."""
    judge.limit_memory()
    gc.set_threshold(200_000)
    rows = [json.loads(line) for line in log.read_text("utf-8").splitlines()] if log and log.exists() else []
    done, number = {row["part"] for row in rows if row["seed"] == seed}, 0
    while (tried := sum(row["tried"] for row in rows)) < count:
        if number not in done:
            row = part({name: KINDS[name] for name in names}, number, seed, min(PART, count - tried))
            rows.append(row)
            for fault, times in row["faults"].items():
                sys.stderr.write(f"{times} times {fault}\n")
            if log:
                with log.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
        number += 1
    return tried, sum(sum(row["faults"].values()) for row in rows)
