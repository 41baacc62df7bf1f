"""Words stay readable once the tiles are taped, and nothing that joins tiles stands in what is cut out."""

from pathlib import Path

import pytest

from templater.cli import files as cli_files
from templater.drawing.marks import WORDS, Drawing, Group, Line, Polyline, Text, mark_box, text_box
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import Options, check
from templater.pipeline.sheets import drawings_of, tile_sheets
from templater.plane.shapes import Box, clip_segment

CASES = [(boat, paper) for boat in ("whinchat-3", "whinchat-4", "whinchat-5") for paper in ("A4", "Letter", "A3")]


def sheets(configs: Path, boat: str, paper: str) -> tuple[TiledSheet, ...]:
    checked = check(cli_files.read_source(configs / f"{boat}.yaml"), Options(paper=paper))
    return tile_sheets(checked, drawings_of(checked))


def own_parts(sheet: TiledSheet) -> list[tuple[Box, tuple[float, float]]]:
    """Return what no neighbour covers of each page, in page mm, by hand: seams and shift only."""
    parts = []
    for tile in sheet.tiles:
        u0, v0, u1, v1 = tile.window
        columns, rows = sheet.column_seams, sheet.row_seams
        left = columns[tile.column - 1] if tile.column else u0
        right = columns[tile.column] if tile.column < len(columns) else u1
        top = rows[tile.row - 1] if tile.row else v1
        foot = rows[tile.row] if tile.row < len(rows) else v0
        parts.append(((left, foot, right, top), (tile.to_page[4], tile.to_page[5])))
    return parts


def inside(inner: Box, outer: Box) -> bool:
    return all(inner[n] >= outer[n] - 1e-6 for n in (0, 1)) and all(inner[n] <= outer[n] + 1e-6 for n in (2, 3))


@pytest.mark.parametrize(("boat", "paper"), CASES)
def test_every_text_of_a_sheet_is_whole_where_no_neighbour_covers_it(configs: Path, boat: str, paper: str) -> None:
    for sheet in sheets(configs, boat, paper):
        wanted = sorted(mark.text for mark in sheet.drawing.marks if isinstance(mark, Text))
        shown = []
        for tile, (part, (e, f)) in zip(sheet.tiles, own_parts(sheet), strict=True):
            page = (part[0] + e, part[1] + f, part[2] + e, part[3] + f)
            shown += [m.text for m in tile.marks if isinstance(m, Text) and inside(text_box(m), page)]
        missing = [text for text in set(wanted) if shown.count(text) < wanted.count(text)]
        assert missing == [], f"{sheet.drawing.name} on {paper}"


@pytest.mark.parametrize(("boat", "paper"), CASES)
def test_no_registration_mark_stands_in_a_sight_window(configs: Path, boat: str, paper: str) -> None:
    for sheet in sheets(configs, boat, paper):
        windows = [mark_box(m) for m in sheet.drawing.marks if isinstance(m, Polyline) and m.group is Group.SIGHT]
        for mark in sheet.registrations:
            u, v = mark.at
            assert not any(box[0] < u < box[2] and box[1] < v < box[3] for box in windows), mark.id


def test_straight_edge_lines_keep_clear_of_windows_and_arrows(configs: Path) -> None:
    for sheet in sheets(configs, "whinchat-3", "A4"):
        whole = [box for name, box in zip(sheet.drawing.keep_names, sheet.drawing.keep_whole, strict=True) if name]
        for tile in sheet.tiles:
            e, f = tile.to_page[4], tile.to_page[5]
            for line in (m for m in tile.marks if getattr(m, "id", "") in ("E1", "E2") and hasattr(m, "a")):
                (x0, y0), (_, y1) = line.a, line.b  # type: ignore[union-attr]
                for box in whole:
                    level = abs(y0 - y1) < 1e-6
                    at, low, high = (y0 - f, box[1], box[3]) if level else (x0 - e, box[0], box[2])
                    assert not low - 2.9 < at < high + 2.9, f"{line.id} at {at:.1f} beside {box}"


def test_the_floor_s_words_are_split_by_no_seam_of_the_demo_boat(configs: Path) -> None:
    (floor,) = (sheet for sheet in sheets(configs, "whinchat-3", "A4") if sheet.drawing.name == "floor")
    assert all(not crossed(box, floor) for box in word_boxes(floor.drawing))


@pytest.mark.parametrize(("boat", "paper"), CASES[:6])
def test_moved_notes_stand_on_no_hatching_and_no_chained_line(configs: Path, boat: str, paper: str) -> None:
    for sheet in sheets(configs, boat, paper):
        for tile in sheet.tiles:
            marks = tuple(tile.marks)
            lines = [m for m in marks if isinstance(m, Line) and m.group in (Group.KEEP_CLEAR, Group.CENTRELINE)]
            for note in (m for m in marks if isinstance(m, Text) and m.group is Group.NOTE):
                met = [line for line in lines if clip_segment(line.a, line.b, text_box(note))]
                assert met == [], f"{sheet.drawing.name} {tile.name}: {note.text}"


def word_boxes(drawing: Drawing) -> list[Box]:
    return [box for name, box in zip(drawing.keep_names, drawing.keep_whole, strict=True) if name == WORDS]


def crossed(box: Box, sheet: TiledSheet) -> bool:
    return any(box[0] < u < box[2] for u in sheet.column_seams) or any(box[1] < v < box[3] for v in sheet.row_seams)
