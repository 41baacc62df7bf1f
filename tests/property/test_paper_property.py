"""Whatever the sheet and the paper: covered, joined, and every hole where it belongs."""

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paper_scenes import TITLE, drawing

from templater.description.keys import CustomPaper
from templater.drawing.marks import Circle, Group
from templater.findings import DrawingError
from templater.paper.seams import Grid
from templater.paper.tiles import find_paper
from templater.paper.tiling import joined, tile

LENGTHS = st.floats(60.0, 900.0)


@settings(max_examples=25, deadline=None)
@given(LENGTHS, LENGTHS, st.floats(200.0, 700.0), st.floats(200.0, 700.0), st.floats(9.0, 30.0), st.data())
def test_every_hole_is_shown_where_it_is(
    width: float, height: float, paper_w: float, paper_h: float, overlap: float, data: st.DataObject
) -> None:
    us = st.floats(-width / 2 + 15, width / 2 - 15)
    vs = st.floats(-1000 - height + 15, -1015)
    places = data.draw(st.lists(st.tuples(us, vs), min_size=1, max_size=8))
    sheet = drawing(width, height, {f"P{n}": at for n, at in enumerate(places)})
    paper = find_paper(CustomPaper(width=paper_w, height=paper_h))
    done = tile(sheet, paper, margin=7.0, overlap=overlap, orientation="either", title=TITLE)
    for way in ("upright", "sideways"):
        with suppress(DrawingError):  # the paper is too small that way
            alone = tile(sheet, paper, margin=7.0, overlap=overlap, orientation=way, title=TITLE, drawn=False)
            assert len(done.tiles) <= len(alone.tiles)
    names = {t.name for t in done.tiles}
    assert not names & set(done.blank)
    assert len(names) + len(done.blank) == done.grid[0] * done.grid[1]
    assert sorted(h for t in done.tiles for h in t.holes) == sorted(h.id for h in sheet.holes)
    for t in done.tiles:
        if len(done.tiles) > 1:
            assert t.neighbours
        assert set(t.neighbours) <= names
        for id_ in t.holes:
            hole = next(h for h in sheet.holes if h.id == id_)
            assert t.window[0] <= hole.at[0] <= t.window[2]
            assert t.window[1] <= hole.at[1] <= t.window[3]
            rings = [m for m in t.marks if isinstance(m, Circle) and m.group is Group.HOLE and m.id == id_]
            if id_ not in {c.id for c in done.cut}:
                assert rings[0].centre == pytest.approx(t.to_page.apply(hole.at), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.sets(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=6))
def test_wanted_tiles_are_joined_by_few_others(wanted: set[tuple[int, int]]) -> None:
    grid = Grid((0.0, 0.0, 500.0, 500.0), (100.0, 200.0, 300.0, 400.0), (400.0, 300.0, 200.0, 100.0), 5.0, 10.0)
    kept = joined(grid, wanted)
    assert wanted <= kept
    reached, queue = set(), [min(kept)]
    while queue:
        here = queue.pop()
        if here not in reached:
            reached.add(here)
            queue += [p for p in kept if abs(p[0] - here[0]) + abs(p[1] - here[1]) == 1]
    assert reached == kept
    # No more than a chain from each to the next, nearest corner first.
    first = min(wanted)
    assert len(kept) <= 1 + sum(abs(p[0] - first[0]) + abs(p[1] - first[1]) for p in wanted)
