"""The fit-up's sheets on paper: one tile each, and true when read back."""

import pytest
from fitup_boats import Builder, attempt, both, readings, repeats, whinchat

from templater.boat.solved import Side
from templater.drawing.marks import Drawing
from templater.fitup.readings import ShimReadings, Toe
from templater.fitup.record import record
from templater.paper.manifest import manifest
from templater.paper.tiles import TitleData, find_paper
from templater.paper.tiling import tile
from templater.pipeline.fitup import fitup_drawings
from templater.proof.prove import prove
from templater.writers.pdf import write_pdf
from templater.writers.svg import write_svg

TITLE = TitleData("Whinchat 3", "A", "", "", "", "", "", "0" * 64, "0.1.0")


def sheets() -> tuple[Drawing, ...]:
    boat, builder = whinchat(), Builder(0.2)
    turn = attempt(both([builder.tape(Side.PORT)], [builder.tape(Side.STARBOARD)]), chock_aft=both([6.0], [9.0]))
    toe = Toe(fore=repeats([2200.0]), aft=repeats([2202.0]), apart=900.0)
    return fitup_drawings(boat, record(readings(turn, shim=ShimReadings(least=2.0, toe=toe)), boat))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_sheet_is_one_tile_and_reads_back_true(paper: str) -> None:
    page, either = find_paper(paper), "either"
    tiled = tuple(tile(item, page, margin=7.0, overlap=15.0, orientation=either, title=TITLE) for item in sheets())
    assert [(sheet.drawing.name, len(sheet.tiles), sheet.cut) for sheet in tiled] == [
        ("shim-port", 1, ()), ("shim-starboard", 1, ()),
    ]  # fmt: skip
    files = {}
    for sheet in tiled:
        name = sheet.drawing.name
        files[f"{name}.pdf"] = write_pdf(sheet.tiles, name=name, title=TITLE)
        files[f"{name}.svg"] = write_svg(sheet.drawing, TITLE)
    report = prove(files, manifest(tiled, TITLE))
    assert report.passed, report.findings
    assert report.worst.deviation < 0.02
