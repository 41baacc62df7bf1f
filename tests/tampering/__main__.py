"""Print the table of what the proof sees: ``python -m tests.tampering [description]``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import NamedTuple

from tests.tampering.changes import Tile, moved, page_changes, picture_changes, strokes, texts


class Row(NamedTuple):
    """A change: how often it was missed and seen, whether it does harm and must be seen, what is said first."""

    change: str
    missed: int
    seen: int
    harm: bool
    said: str


def rows(tile: Tile) -> list[Row]:
    """Spoil one page in every way: each stroke and text, then the page and the whole sheet's picture."""
    tried = []
    for what, numbers in (("stroke", strokes(tile)), ("text", texts(tile))):
        off = [tile.with_line(number, moved(tile.stream[number], 1.0, 0.0)) for number in numbers]
        tried.append((f"each of {len(numbers)} {what}s moved by 1 mm", off, True, False))
        tried.append((f"each of {len(numbers)} {what}s left out", [tile.without(n) for n in numbers], True, False))
    tried += [(what, [data], not true, False) for what, data, true in page_changes(tile)]
    tried += [(f"picture: {what}", [data], not true, True) for what, data, true in picture_changes(tile)]
    found = []
    for change, spoilt, harm, picture in tried:
        reports = [tile.proved(svg=data) if picture else tile.proved(data) for data in spoilt]
        passed = sum(report.passed for report in reports)
        said = next((finding.text for finding in reports[0].findings), "")
        found.append(Row(change, passed, len(reports) - passed, harm, said))
    return found


def table(found: list[Row]) -> str:
    """Return the rows as a table for ``docs/reliability.md``."""
    lines = ["| change | seen | what is said first |", "| --- | --- | --- |"]
    for row in found:
        seen = "no harm" if not row.seen else "yes" if row.seen == 1 and not row.missed else str(row.seen)
        said = row.said.replace("|", "/")
        lines.append(f"| {row.change} | {seen} | {said} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(table(rows(Tile.of(Path(sys.argv[1] if len(sys.argv) > 1 else "configs/whinchat-3.yaml")))))
