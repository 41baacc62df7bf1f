"""The files for the shop that cuts the plates: DXF and SVG of each part, proved, and the page that goes with them."""

from __future__ import annotations

import re

from templater.boat.solved import Boat
from templater.description.source import Source
from templater.drawing.cut import CutPart, cut_note, cut_parts
from templater.findings import DescriptionError, DrawingError, Finding
from templater.paper.tiles import find_paper, single_page
from templater.pipeline.checked import Options, check, title_data

#: The page that goes with the files.
NOTE = "for-the-shop.pdf"
#: Names of the files of parts, by which those of an earlier run are known.
FILES = re.compile(r"[a-z-]+-\d+x-[\d.]+mm\.(dxf|svg)")


def cut(source: Source, options: Options) -> tuple[Boat, tuple[CutPart, ...], dict[str, bytes]]:
    """Return the boat, its parts, and their files by name, each read back before it is returned.

    Raises:
        DescriptionError: if the description is at fault; carries every finding.
        DrawingError: S196, there is no plate to cut; S195, the kerf is too wide.
        ProofError: if a file read back differs from its drawing; nothing may then be published.
    """
    from templater.proof.cutting import prove_cut
    from templater.writers.dxf import write_dxf
    from templater.writers.pdf import write_pdf
    from templater.writers.svg import write_svg

    checked = check(source, options)
    if checked.errors:
        raise DescriptionError(*checked.errors, *checked.warnings)
    plate = checked.boat.description.fixing.plate
    if plate is None:
        text = "the boat has no plates, so there is nothing to cut - give fixing.plate"
        raise DrawingError(Finding("S196", "fixing.plate", text))
    parts, title = cut_parts(checked.boat, plate), title_data(checked)
    files: dict[str, bytes] = {}
    for part in parts:
        dxf, svg = write_dxf(part.drawing.marks), write_svg(part.drawing, title)
        prove_cut(part.drawing, dxf, svg)
        files |= {f"{part.stem}.dxf": dxf, f"{part.stem}.svg": svg}
    chosen = checked.boat.description.print
    paper = find_paper(chosen.paper)
    width, height = paper.width, paper.height or max(paper.width, 297.0)
    marks = cut_note(checked.boat, parts, (width, height), chosen.margin, checked.sha256[:8])
    page = single_page((width, height), marks)
    files[NOTE] = write_pdf([page], name="parts to cut", title=title)
    return checked.boat, parts, files
