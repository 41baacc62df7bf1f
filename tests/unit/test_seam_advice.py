"""What seams cut is said, and what is said to avoid it does."""

import re
from pathlib import Path

import made_boats
import pytest
from paper_scenes import TITLE, drawing

from templater.description.keys import Print
from templater.description.load import Source
from templater.drawing.marks import Circle, Cross, SheetHole
from templater.paper.tiles import Correction, Tile, TiledSheet, find_paper
from templater.paper.tiling import tile
from templater.pipeline import sheets as pipeline_sheets
from templater.pipeline.checked import Checked, Options, check
from templater.pipeline.sheets import drawings_of, on_paper, tile_sheets
from templater.plane.shapes import Box

DEMO = ("whinchat-3", "whinchat-4", "whinchat-5")
#: Holes so close that every column seam cuts one.
RAIL = "  - {name: rail, on: floor, at: [2257.5, 0], pattern: {row: {count: 114, pitch: 4.2}}, drill: 4, rotate: 90}\n"


def looked(configs: Path, **choice: object) -> Checked:
    """The demo boat with a rail, and other choices of paper."""
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    checked = check(Source(text.replace("print:", f"{RAIL}print:", 1).encode(), "boat.yaml"))
    return with_print(checked, checked.boat.description.print.changed(**choice))  # type: ignore[arg-type]


def with_print(checked: Checked, choice: Print) -> Checked:
    boat = checked.boat
    return checked._replace(boat=boat._replace(description=boat.description.changed(print=choice)))


def cuts(checked: Checked) -> dict[str, int]:
    """How many holes the pages, as they would be printed, cut on each sheet."""
    sheets = tile_sheets(checked, drawings_of(checked))
    return {sheet.drawing.name: len(sheet.cut) for sheet in sheets}


def advice(checked: Checked) -> dict[str, str]:
    """What is advised for each sheet that is cut."""
    found = on_paper(checked, Options()).checked
    texts = (finding.text for finding in found.findings if finding.code == "S120")
    return {text.split()[1].rstrip(":"): text.rpartition(" - ")[2] for text in texts}


@pytest.mark.parametrize(
    ("choice", "paper"),
    [
        ({}, "A2"),
        ({"paper": "Letter"}, "C"),
        ({"overlap": 25.0}, "A2"),
        ({"orientation": "sideways", "overlap": None}, "A2"),
    ],
)
def test_following_the_advice_avoids_what_is_cut(configs: Path, choice: dict[str, object], paper: str) -> None:
    checked = looked(configs, **choice)
    before, said = cuts(checked), advice(checked)
    assert {sheet for sheet, count in before.items() if count} == {"floor"}
    assert said == {"floor": f"{paper} would avoid it"}
    after = cuts(with_print(checked, checked.boat.description.print.changed(paper=paper)))
    assert after["floor"] == 0
    assert all(after[other] <= before[other] for other in before)


@pytest.mark.parametrize("name", DEMO)
@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
def test_every_hole_circle_of_the_demo_boats_is_whole(name: str, paper: str) -> None:
    _, sheets = made_boats.tiled(name, paper)
    assert not any(sheet.cut for sheet in sheets)
    for sheet in sheets:
        holes = {hole.id: hole for hole in sheet.drawing.holes}
        for page in sheet.tiles:
            own = own_part(sheet, page)
            for hole in (holes[id_] for id_ in page.holes):
                # By hand: the circle and 3 mm round it on the page's own part, where no neighbour covers it.
                room = min(*(hole.at[n] - own[n] for n in (0, 1)), *(own[n + 2] - hole.at[n] for n in (0, 1)))
                assert room >= hole.diameter / 2 + 3.0, hole.id


def own_part(sheet: TiledSheet, tile: Tile) -> Box:
    u0, v0, u1, v1 = tile.window
    columns, rows = sheet.column_seams, sheet.row_seams
    return (
        columns[tile.column - 1] if tile.column else u0, rows[tile.row] if tile.row < len(rows) else v0,
        columns[tile.column] if tile.column < len(columns) else u1, rows[tile.row - 1] if tile.row else v1,
    )  # fmt: skip


def test_seven_settings_on_a3_are_cut_nowhere_and_nothing_else_is_called_for(configs: Path) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    text = text.replace("count: 3, pitch: 55", "count: 7, pitch: 72").replace("paper: A4", "paper: A3")
    text = text.replace("min: 2180", "min: 1880").replace("[1980, -325], [1980, 325]", "[1680, -325], [1680, 325]")
    text = re.sub(r"  keep_clear:.*\n(    .*\n)*", "", text)
    checked = check(Source(text.encode(), "boat.yaml"))
    assert not checked.errors
    floor = tile_sheets(checked, drawings_of(checked, ("floor",)))[0]
    assert floor.cut == ()
    assert advice(checked) == {}


@pytest.mark.parametrize("what", ["hole", "plate"])
def test_another_overlap_is_taken_where_it_saves_a_hole_or_plate_and_none_was_asked_for(what: str) -> None:
    # A4 upright shows 184 mm across. 352 mm leave the seam 1 mm of room with an overlap of 15 (by hand: -3 to -2), and
    # 7 mm with 9 (-5 to 2): only there it passes the hole, whose circle and 3 mm lie from -6.3 to 1.7, or such a plate.
    sheet = drawing(350.0, 100.0, {"P1": (-2.3, -1050.0), "P2": (-100.0, -1050.0), "P3": (100.0, -1050.0)})
    holes = tuple(SheetHole(hole.id, hole.at, 2.0, "bolt") for hole in sheet.holes)
    marks = tuple(mark for mark in sheet.marks if not isinstance(mark, Circle | Cross))
    sheet = sheet._replace(holes=holes, marks=marks)
    if what == "plate":
        sheet = sheet._replace(holes=holes[1:], keep=(("plate A", (-6.3, -1090.0, 1.7, -1010.0)),))

    def tiled(overlap: float | None) -> TiledSheet:
        return tile(
            sheet, find_paper("A4"), margin=7.0, overlap=overlap, orientation="upright", title=TITLE
        )  # fmt: skip

    def cut(sheet: TiledSheet) -> list[str]:
        return [one.id for one in (*sheet.cut, *sheet.crossed)]

    assert cut(tiled(15.0)) == ["P1" if what == "hole" else "plate A"]
    chosen = tiled(None)
    assert cut(chosen) == []
    left, right = chosen.tiles
    assert left.window[2] - right.window[0] == pytest.approx(9.0)
    assert cut(tiled(12.0))  # what the builder asks for is done, cut or not


def test_advice_counts_the_printer_s_correction_in(configs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    right = pipeline_sheets.tile_sheets

    def spy(checked: object, drawings: object, correction: Correction, *rest: object, **more: object) -> object:
        seen.append(correction)
        return right(checked, drawings, correction, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(pipeline_sheets, "tile_sheets", spy)
    worn = Correction("worn", 1.003, 0.998, 0.0)
    monkeypatch.setattr(Options, "correction_for", lambda self, description: worn)
    on_paper(looked(configs, paper="Letter"), Options(), larger=False)
    assert len(seen) > 1  # the sheets as they are, and at least one other choice
    assert set(seen) == {worn}
