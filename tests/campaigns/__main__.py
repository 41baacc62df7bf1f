"""Spoil what the program is given, many times over, and print one table of what became of it.

    python -m tests.campaigns                          a little of everything
    python -m tests.campaigns descriptions --count 100000 --seed 7
    python -m tests.campaigns kills --count 1000

A failure is kept as a file in ``tests/campaigns/found/``, made as small as hypothesis can; put the fault right,
and leave the file: ``tests/unit/test_campaigns.py`` tries every one of them again.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.campaigns import judge, runs
from tests.campaigns.kinds import KINDS, Kind, attack

FOUND = Path(__file__).parent / "found"


def campaign(name: str, kind: Kind, count: int, seed: int) -> tuple[int, int]:
    """Return how many were tried, and how many different failures were kept."""
    tried, failures = 0, 0
    while tried < count:
        done, failure = attack(kind, count - tried, seed + tried)
        tried += max(done, 1)
        if failure is None:
            break
        failures += 1
        spoilt, fault = failure
        data = spoilt if isinstance(spoilt, bytes) else spoilt.encode("utf-8", "surrogatepass")
        FOUND.mkdir(exist_ok=True)
        path = FOUND / f"{name}-{seed}-{tried}{kind.ending}"
        path.write_bytes(data)
        last = traceback.extract_tb(fault.__traceback__)[-1]
        sys.stderr.write(
            f"{path}: {type(fault).__name__}: {str(fault)[:200]} ({Path(last.filename).name}:{last.lineno})\n"
        )
    return tried, failures


def main() -> int:
    """Run the campaigns that are named, all by default."""
    other: dict[str, Callable[[int, int], tuple[int, int]]] = {"kills": runs.kills, "calls": runs.failing_calls}
    parser = argparse.ArgumentParser(prog="python -m tests.campaigns")
    parser.add_argument("kinds", nargs="*", choices=[[], *KINDS, *other], default=[])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    judge.limit_memory()
    rows: list[tuple[Any, ...]] = []
    for name in arguments.kinds or [*KINDS, *other]:
        start = time.monotonic()
        if name in KINDS:
            tried, failures = campaign(name, KINDS[name], arguments.count, arguments.seed)
        else:
            tried, failures = other[name](arguments.count, arguments.seed)
        rows.append((name, tried, failures, f"{time.monotonic() - start:.0f} s"))
    for row in (("what is spoilt", "tried", "failures", "time"), ("---",) * 4, *rows):
        sys.stdout.write("| " + " | ".join(map(str, row)) + " |\n")
    return int(any(row[2] for row in rows))


if __name__ == "__main__":
    sys.exit(main())
