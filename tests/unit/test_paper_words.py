"""Words stay readable once the tiles are taped, and nothing that joins tiles stands in what is cut out."""

import functools
import math
from itertools import pairwise
from pathlib import Path

import made_boats
import numpy as np
import pytest

from templater.cli import files as cli_files
from templater.drawing.marks import (
    WORDS,
    Arc,
    Circle,
    Cross,
    Drawing,
    Group,
    Line,
    Mark,
    Polyline,
    Text,
    mark_box,
)
from templater.paper.placing import chords
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import Options, check
from templater.pipeline.sheets import drawings_of, tile_sheets
from templater.plane.shapes import Box, Point, clip_segment, grow

DEMO = ("whinchat-3", "whinchat-4", "whinchat-5")
CASES = [(boat, paper) for boat in DEMO for paper in ("A4", "Letter", "A3")]


@functools.cache
def sheets(folder: Path, boat: str, paper: str, more: str = "") -> tuple[TiledSheet, ...]:
    if not more and folder == made_boats.CONFIGS:
        return made_boats.tiled(boat, paper)[1]
    source = cli_files.read_source(folder / f"{boat}.yaml")
    if more:
        source = source._replace(data=source.data.replace(b"margin: 7", f"margin: 7, {more}".encode()))
    checked = check(source, Options(paper=paper))
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
            shown += [m.text for m in tile.marks if isinstance(m, Text) and inside(mark_box(m), page)]
        missing = [text for text in set(wanted) if shown.count(text) < wanted.count(text)]
        assert missing == [], f"{sheet.drawing.name} on {paper}"


@pytest.mark.parametrize(("boat", "paper"), CASES)
def test_no_registration_mark_stands_in_a_sight_window(configs: Path, boat: str, paper: str) -> None:
    for sheet in sheets(configs, boat, paper):
        windows = [mark_box(m) for m in sheet.drawing.marks if isinstance(m, Polyline) and m.group is Group.SIGHT]
        for mark in sheet.registrations:
            u, v = mark.at
            assert not any(box[0] < u < box[2] and box[1] < v < box[3] for box in windows), mark.id


HELD = ("off-the-floor", "plain", "whinchat-3", "whinchat-5")


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
@pytest.mark.parametrize("boat", [*DEMO, *(f"golden/{name}" for name in HELD)])
def test_no_word_is_struck_through(configs: Path, boat: str, paper: str) -> None:
    folder = Path(__file__).parents[1] if "/" in boat else configs
    for sheet in sheets(folder, boat, paper):
        for tile in sheet.tiles:
            marks = tuple(tile.marks)
            strokes = [(mark, a, b) for mark in marks for a, b in strokes_of(mark)]
            ends = np.array([(*a, *b) for _, a, b in strokes])
            low, high = np.minimum(ends[:, :2], ends[:, 2:]), np.maximum(ends[:, :2], ends[:, 2:])
            for text in (mark for mark in marks if isinstance(mark, Text)):
                box = grow(mark_box(text), -0.15)
                near = np.flatnonzero(((high >= box[:2]) & (low <= box[2:])).all(axis=1))
                there = [strokes[n] for n in near]
                met = [(mark.group.value, mark.id) for mark, a, b in there if clip_segment(a, b, box)]
                assert met == [], f"{sheet.drawing.name} {tile.name}: {text.text}"


def strokes_of(mark: Mark) -> list[tuple[Point, Point]]:
    """Every straight stroke of a mark, curves as short ones."""
    if isinstance(mark, Line):
        return [(mark.a, mark.b)]
    if isinstance(mark, Polyline):
        return [] if mark.filled else list(pairwise((*mark.points, mark.points[0]) if mark.closed else mark.points))
    if isinstance(mark, Cross):
        return list(mark.arms)
    if isinstance(mark, Circle):
        mark = Arc(mark.centre, mark.diameter / 2, 0.0, 360.0, mark.pen, mark.group)
    return list(pairwise(chords(mark).points)) if isinstance(mark, Arc) else []


@pytest.mark.parametrize(("boat", "paper"), CASES)
def test_every_arrow_stands_beside_its_word(configs: Path, boat: str, paper: str) -> None:
    for sheet in sheets(configs, boat, paper):
        for tile in sheet.tiles:
            marks = tuple(tile.marks)
            words = [mark.at for mark in marks if isinstance(mark, Text) and mark.text == "forward"]
            heads = [m for m in marks if isinstance(m, Polyline) and m.filled and m.id != "this tile"]
            for head in (m for m in heads if m.group in (Group.NOTE, Group.FRAME)):
                assert any(math.dist(head.points[0], at) < 22.0 for at in words), f"{sheet.drawing.name} {tile.name}"


def test_straight_edge_lines_keep_clear_of_windows_and_arrows(configs: Path) -> None:
    for sheet in sheets(configs, "whinchat-3", "A4"):
        whole = [box for name, box in sheet.drawing.keep if name]
        for tile in sheet.tiles:
            e, f = tile.to_page[4], tile.to_page[5]
            for line in (m for m in tile.marks if isinstance(m, Line) and m.id in ("E1", "E2")):
                a, b = (line.a[0] - e, line.a[1] - f), (line.b[0] - e, line.b[1] - f)
                assert not any(clip_segment(a, b, grow(box, 2.9)) for box in whole), line.id


@pytest.mark.parametrize("overlap", [15.0, 9.0])
def test_what_to_cut_and_what_is_a_tab_can_be_seen(configs: Path, overlap: float) -> None:
    for sheet in sheets(configs, "whinchat-3", "A4", f"overlap: {overlap:g}"):
        by_place = {(tile.row, tile.column): tile.name for tile in sheet.tiles}
        for tile in sheet.tiles:
            words = [m for m in tile.marks if isinstance(m, Text) and m.group is Group.FRAME and m.bold]
            cut = [m for m in words if m.text == "cut here"]
            tabs = sorted(m.text for m in words if m.text.startswith("tab"))
            r, c = tile.row, tile.column
            assert len(cut) == sum(place in by_place for place in ((r, c - 1), (r - 1, c)))
            under = [by_place[place] for place in ((r, c + 1), (r + 1, c)) if place in by_place]
            assert tabs == sorted(f"tab, under {name}" for name in under)
            assert all(m.size >= (3.4 if overlap == 15.0 else 2.2) for m in cut)


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
                met = [line for line in lines if clip_segment(line.a, line.b, mark_box(note))]
                assert met == [], f"{sheet.drawing.name} {tile.name}: {note.text}"


def word_boxes(drawing: Drawing) -> list[Box]:
    return [box for name, box in drawing.keep if name == WORDS]


def crossed(box: Box, sheet: TiledSheet) -> bool:
    return any(box[0] < u < box[2] for u in sheet.column_seams) or any(box[1] < v < box[3] for v in sheet.row_seams)


@pytest.mark.parametrize(("boat", "paper"), CASES[::3])
def test_the_map_of_the_tiles_is_a_grid_with_this_one_filled(configs: Path, boat: str, paper: str) -> None:
    for sheet in sheets(configs, boat, paper):
        rows, columns = len(sheet.row_seams) + 1, len(sheet.column_seams) + 1
        blank = rows * columns - len(sheet.tiles)
        for tile in sheet.tiles:
            (this,) = (mark for mark in tile.marks if mark.id == "this tile")
            box = mark_box(this)
            # By hand, square cells counted from this one: columns from the left, rows from the top.
            cell = box[2] - box[0]
            left, top = box[0] - tile.column * cell, box[3] + tile.row * cell
            right, foot = left + columns * cell, top - rows * cell
            grid = {((left, foot + n * cell), (right, foot + n * cell)) for n in range(rows + 1)}
            grid |= {((left + n * cell, foot), (left + n * cell, top)) for n in range(columns + 1)}
            inside = grow((left, foot, right, top), 0.01)
            lines = [m for m in tile.marks if isinstance(m, Line) and m.group is Group.FRAME]
            there = {
                tuple(sorted(tuple(round(part, 6) for part in end) for end in (line.a, line.b)))
                for line in lines
                if all(inside[n] <= end[n] <= inside[n + 2] for end in (line.a, line.b) for n in (0, 1))
            }
            wanted = {tuple(sorted(tuple(round(part, 6) for part in end) for end in ends)) for ends in grid}
            assert wanted <= there
            assert len(there) == len(wanted) + 2 * blank  # a tile left out is crossed
            assert any(isinstance(m, Text) and m.text.startswith("crossed: ") for m in tile.marks) is (blank > 0)
            names = {m.text for m in tile.marks if isinstance(m, Text) and m.group is Group.FRAME
                     and inside[0] < m.at[0] < inside[2] and inside[1] < m.at[1] < inside[3]}  # fmt: skip
            assert names <= {other.name for other in sheet.tiles if other is not tile}
