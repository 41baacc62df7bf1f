"""Seams without drawing, pages made when asked for, and the index that finds what lies in a box."""

import random

from paper_scenes import TITLE, drawing

from templater.paper.tiles import TiledSheet, find_paper
from templater.paper.tiling import tile
from templater.plane.shapes import Cells


def tiled(*, drawn: bool) -> TiledSheet:
    holes = {f"P{n}": (90.0 * (n % 6) - 225.0, -90.0 * (n // 6) - 1060.0) for n in range(24)}
    return tile(
        drawing(560.0, 420.0, holes), find_paper("A4"), margin=7.0, overlap=15.0, orientation="either",
        title=TITLE, drawn=drawn,
    )  # fmt: skip


def test_a_sheet_that_is_not_drawn_has_the_same_seams_tiles_and_cuts() -> None:
    full, bare = tiled(drawn=True), tiled(drawn=False)
    assert len(full.tiles) > 2
    for name in ("sideways", "grid", "column_seams", "row_seams", "blank", "cut"):
        assert getattr(bare, name) == getattr(full, name)
    for one, other in zip(bare.tiles, full.tiles, strict=True):
        assert (one.name, one.window, one.to_page, one.holes, one.neighbours) == (
            other.name, other.window, other.to_page, other.holes, other.neighbours,
        )  # fmt: skip
    assert bare.registrations == ()
    assert sum(len(tuple(page.marks)) for page in bare.tiles) < sum(len(tuple(page.marks)) for page in full.tiles)


def test_a_page_s_marks_are_the_same_each_time_they_are_asked_for() -> None:
    page = tiled(drawn=True).tiles[0]
    marks = tuple(page.marks)
    assert tuple(page.marks) == marks


def test_what_lies_in_a_box_is_found_as_by_looking_at_all() -> None:
    numbers = random.Random(7)
    points = [(numbers.uniform(-200, 200), numbers.uniform(-200, 200)) for _ in range(300)]
    points += [(-50.0, 0.0), (100.0, 50.0), (99.999, 50.001)]  # on edges and corners of cells and of the box
    cells: Cells[int] = Cells(50.0)
    for number, point in enumerate(points):
        cells.add(point, number)
    for box in ((-50.0, -30.0, 100.0, 50.0), (-200.0, -200.0, 200.0, 200.0), (3.0, 3.0, 3.5, 3.5)):
        inside = [n for n, (x, y) in enumerate(points) if box[0] <= x <= box[2] and box[1] <= y <= box[3]]
        assert sorted(cells.within(box)) == inside
