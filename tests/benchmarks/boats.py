"""Descriptions of many holes: the demo boat, its floor without an outline, with rows of fitting holes aft of all.

The holes lie as close as those of the scene, 7600 mm² of floor for each, in rows of one fitting each.
"""

from __future__ import annotations

import math
from pathlib import Path

from tests.benchmarks import scene

#: Where the first row begins, mm aft of the steering pivot axis.
AFT = 3000


def description(demo: Path, count: int) -> str:
    """Return the demo's text with ``count`` holes of fittings in place of its own."""
    text = demo.read_text("utf-8")
    head, rest = text.split("\nfloor:", 1)
    head = head.replace("boat: Whinchat 3", f"boat: Floor of {count}", 1)
    middle, tail = rest[rest.index("\nplank:") :].split("\nfittings:", 1)
    pitch = round(math.sqrt(scene.AREA))
    columns = round(math.sqrt(2 * count))
    fittings = []
    for number, first in enumerate(range(0, count, columns)):
        holes = min(columns, count - first)
        at = f"[{AFT + pitch * (holes - 1) / 2:g}, {pitch * (number - count / columns / 2):.1f}]"
        row = f"{{row: {{count: {holes}, pitch: {pitch}}}}}"
        fittings.append(f"  - {{name: R{number}, on: floor, at: {at}, pattern: {row}, drill: 5}}")
    body = "\n".join(fittings)
    return f"{head}\nfloor: {{thickness: 14}}{middle}\nfittings:\n{body}\n{tail[tail.index('print:') :]}"
