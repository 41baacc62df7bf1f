"""Spoil what the program is given, many times over, and print one table of what became of it.

    python -m tests.campaigns                                        a little of everything
    python -m tests.campaigns texts --count 1000000 --log texts.log  every kind of text; can be taken up again
    python -m tests.campaigns descriptions --count 100000 --seed 7   one kind
    python -m tests.campaigns kills --count 1000

A failure is kept as a file in ``tests/campaigns/found/``; put the fault right, and leave the file:
``tests/unit/test_campaigns.py`` tries every one of them again.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import Any

from tests.campaigns import attack, runs
from tests.campaigns.hostile import hostile
from tests.campaigns.kinds import KINDS, PDFS, TEXTS
from tests.campaigns.places import places


def main() -> int:
    """Run the campaigns that are named, all by default."""
    other = {**runs.KINDS, "hostile": hostile, "places": places}
    several = {"texts": [*TEXTS], "pdfs": [*PDFS]}
    parser = argparse.ArgumentParser(prog="python -m tests.campaigns")
    parser.add_argument("kinds", nargs="*", choices=[[], *several, *KINDS, *other], default=[])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--log", type=Path, help="file with a line for each part of a run")
    arguments = parser.parse_args()
    rows: list[tuple[Any, ...]] = []
    for name in arguments.kinds or [*several, *KINDS, *other]:
        start = time.monotonic()
        if name in other:
            tried, failures = other[name](arguments.count, arguments.seed)
        else:
            tried, failures = attack.run(several.get(name, [name]), arguments.count, arguments.seed, arguments.log)
        rows.append((name, tried, failures, f"{time.monotonic() - start:.0f} s"))
    for row in (("what is spoilt", "tried", "failures", "time"), ("---",) * 4, *rows):
        sys.stdout.write("| " + " | ".join(map(str, row)) + " |\n")
    return int(any(row[2] for row in rows))


if __name__ == "__main__":
    sys.exit(main())
