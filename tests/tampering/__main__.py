"""Print the table of what the proof sees: ``python -m tests.tampering [description]``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import NamedTuple

from templater.findings import Finding, Severity
from tests.tampering.changes import Tile, moved, page_changes, picture_changes, strokes, texts
from tests.tampering.cuts import CutFiles, changes


class Row(NamedTuple):
    """A change: how often it was missed and seen, whether it does harm and must be seen, what is said first."""

    change: str
    missed: int
    seen: int
    harm: bool
    said: str


def rows(description: Path) -> list[Row]:
    """Spoil one page in every way: each stroke and text, then the page, its sheet's picture, and a part to cut."""
    tile, part = Tile.of(description), CutFiles.of(description)
    tried: list[tuple[str, list[tuple[Finding, ...]], bool]] = []
    for what, numbers in (("stroke", strokes(tile)), ("text", texts(tile))):
        off = [tile.with_line(number, moved(tile.stream[number], 1.0, 0.0)) for number in numbers]
        tried.append((f"each of {len(numbers)} {what}s moved by 1 mm", [*map(tile.proved, off)], False))
        left = [tile.without(number) for number in numbers]
        tried.append((f"each of {len(numbers)} {what}s left out", [*map(tile.proved, left)], False))
    tried += [(what, [tile.proved(data)], true) for what, data, true in page_changes(tile)]
    tried += [(f"picture: {what}", [tile.proved(svg=data)], true) for what, data, true in picture_changes(tile)]
    tried += [(what, [part.proved(*one) for one in files], true) for what, files, true in changes(part)]
    found = []
    for change, answers, true in tried:
        missed = sum(not any(one.severity is Severity.ERROR for one in said) for said in answers)
        said = next((finding.text for finding in answers[0]), "")
        found.append(Row(change, missed, len(answers) - missed, not true, said))
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
    sys.stdout.write(table(rows(Path(sys.argv[1] if len(sys.argv) > 1 else "configs/whinchat-3.yaml"))))
