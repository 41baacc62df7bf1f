"""Print the table of what the proof sees: ``python -m tests.tampering [description]``."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.tampering.changes import Tile, moved, page_changes, picture_changes, strokes, texts


def main() -> None:
    """Spoil one page in every way and print a row for each."""
    tile = Tile.of(Path(sys.argv[1] if len(sys.argv) > 1 else "configs/whinchat-3.yaml"))
    rows = [("change", "seen", "what is said first")]
    for what, numbers in (("stroke", strokes(tile)), ("text", texts(tile))):
        for change in ("moved by 1 mm", "left out"):
            missed = [
                number
                for number in numbers
                if tile.proved(
                    tile.without(number)
                    if change == "left out"
                    else tile.with_line(number, moved(tile.stream[number], 1.0, 0.0))
                ).passed
            ]
            rows.append((f"each of {len(numbers)} {what}s {change}", f"{len(numbers) - len(missed)}", "names it"))
    for what, data, _ in page_changes(tile):
        report = tile.proved(data)
        said = next((f.text for f in report.findings), "")
        rows.append((what, "no harm" if report.passed else "yes", said))
    for what, data, _ in picture_changes(tile):
        report = tile.proved(svg=data)
        said = next((f.text for f in report.findings), "")
        rows.append((f"picture: {what}", "no harm" if report.passed else "yes", said))
    for number, row in enumerate(rows):
        sys.stdout.write("| " + " | ".join(cell.replace("|", "/") for cell in row) + " |\n")
        if not number:
            sys.stdout.write("| --- | --- | --- |\n")


if __name__ == "__main__":
    main()
