"""A checked boat's sheets: drawn, put on paper, written and read back."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING, Any

from templater.drawing.marks import Drawing
from templater.findings import DrawingError, Finding, ProofError
from templater.paper.tiles import NO_CORRECTION, Correction, TiledSheet
from templater.pipeline.checked import Checked, Progress, no_progress, placed, title_data

if TYPE_CHECKING:
    from templater.proof.report import ProofReport


def drawings_of(checked: Checked, only: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Return the boat's drawings, or those of them that ``only`` names.

    Raises:
        DrawingError: if a name is not that of one of its sheets.
    """
    from templater.drawing.sheets import draw

    drawings = draw(checked.boat, warnings=tuple(finding.text for finding in checked.warnings))
    names = [drawing.name for drawing in drawings]
    unknown = [name for name in only if name not in names]
    if unknown:
        text = f"{', '.join(unknown)}: no such sheet of this boat - allowed: {', '.join(names)}"
        raise DrawingError(Finding("S190", "--only", text))
    return tuple(drawing for drawing in drawings if not only or drawing.name in only)


def tile_sheets(
    checked: Checked,
    drawings: tuple[Drawing, ...],
    correction: Correction = NO_CORRECTION,
    progress: Progress = no_progress,
    *,
    drawn: bool = True,
) -> tuple[TiledSheet, ...]:
    """Return drawings on the description's paper; ``drawn`` False leaves the pages bare, where only seams matter.

    Raises:
        DrawingError: if the paper is unknown or too small.
    """
    from templater.paper.papers import find_paper
    from templater.paper.tiling import tile

    choice = checked.boat.description.print
    title = title_data(checked)
    sheets = []
    try:
        paper = find_paper(choice.paper)
        for number, drawing in enumerate(drawings):
            progress("placing seams", number, len(drawings))
            sheets.append(
                tile(
                    drawing,
                    paper,
                    margin=choice.margin,
                    overlap=choice.overlap,
                    orientation=choice.orientation,
                    correction=correction,
                    title=title,
                    drawn=drawn,
                )
            )
    except DrawingError as fault:
        raise DrawingError(*(placed(finding, checked) for finding in fault.findings)) from None
    return tuple(sheets)


def sheet_files(
    checked: Checked,
    sheets: tuple[TiledSheet, ...],
    progress: Progress = no_progress,
) -> tuple[dict[str, bytes], dict[str, Any], ProofReport]:
    """Return sheets as PDF and SVG, their manifest, and the proof of both.

    Raises:
        ProofError: if a file read back differs from its drawing; nothing may then be published.
    """
    from templater.paper.manifest import manifest
    from templater.proof.prove import prove
    from templater.writers.pdf import write_pdf
    from templater.writers.svg import write_svg

    title = title_data(checked)
    files: dict[str, bytes] = {}
    for number, sheet in enumerate(sheets):
        progress("writing", number, len(sheets))
        name = sheet.drawing.name
        files[f"{name}.pdf"] = write_pdf(sheet.tiles, name=name, title=title)
        files[f"{name}.svg"] = write_svg(sheet.drawing, title)
    contents = manifest(sheets, title)
    progress("proving", 0, 1)
    report = prove(files, contents)
    if not report.passed:
        raise ProofError(*report.findings)
    return files, contents, report


def manifest_bytes(contents: dict[str, Any]) -> bytes:
    """Return a manifest as the bytes of its file."""
    stream = io.BytesIO()
    with io.TextIOWrapper(stream, "utf-8", newline="\n") as text:
        # Piece by piece: all pieces together are far larger. Records of marks become lists as they are written.
        json.dump(contents, text, indent=1, ensure_ascii=False, default=list)
        text.write("\n")
        text.flush()
        return stream.getvalue()
