"""Tiles: together they show the whole sheet, neighbours agree, and nothing is printed where it cannot be."""

import io
import math
from itertools import pairwise

import made_boats
import pytest
from paper_scenes import TITLE, drawing, floor, hole_marks
from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from shapely.geometry import Point, box
from shapely.ops import unary_union

from templater.description.keys import CustomPaper
from templater.drawing.marks import (
    WORDS,
    Arc,
    Circle,
    Cross,
    Curve,
    Drawing,
    Group,
    Line,
    Pen,
    Polyline,
    Text,
    mark_box,
)
from templater.findings import DrawingError
from templater.paper.page_frame import fitted
from templater.paper.placing import Clear
from templater.paper.tiles import Correction, Tile, TiledSheet, find_paper
from templater.paper.tiling import tile
from templater.plane.shapes import box_about, box_within, boxes_overlap
from templater.standards.typeface import font_bytes

PAPERS: list[tuple[str | CustomPaper, str]] = [
    ("A4", "upright"),
    ("A4", "sideways"),
    ("Letter", "either"),
    ("Legal", "either"),
    ("A0", "either"),
    ("297 roll", "upright"),
    ("24 in roll", "sideways"),
    (CustomPaper(width=194.0, height=194.0), "either"),
]


def tiled(sheet: Drawing, paper: str | CustomPaper = "A4", orientation: str = "either", **more: object) -> TiledSheet:
    options = {"margin": 7.0, "overlap": 15.0, "title": TITLE, **more}
    return tile(sheet, find_paper(paper), orientation=orientation, **options)  # type: ignore[arg-type]


@pytest.fixture(scope="module", params=PAPERS, ids=lambda p: f"{p[0]}-{p[1]}")
def sheet(request: pytest.FixtureRequest) -> TiledSheet:
    paper, orientation = request.param
    return tiled(floor(), paper, orientation)


def area(tile_: Tile) -> tuple[float, float, float, float]:
    return (7.0, 7.0, tile_.paper[0] - 7.0, tile_.paper[1] - 7.0)


def test_everything_but_context_lies_in_some_window(sheet: TiledSheet) -> None:
    shown = unary_union([box(*t.window) for t in sheet.tiles])
    if not sheet.blank:
        assert shown.buffer(1e-6).contains(box(*sheet.drawing.box))
    for hole in sheet.drawing.holes:
        assert shown.contains(Point(hole.at).buffer(8.0))
        assert sum(hole.id in t.holes for t in sheet.tiles) == 1


def test_every_hole_is_whole_on_its_page(sheet: TiledSheet) -> None:
    cut = {c.id for c in sheet.cut}
    whole: dict[str, int] = {}
    for t in sheet.tiles:
        for mark in t.marks:
            if isinstance(mark, Circle) and mark.group is Group.HOLE:
                whole[mark.id] = whole.get(mark.id, 0) + 1
                hole = next(h for h in sheet.drawing.holes if h.id == mark.id)
                assert mark.centre == pytest.approx(t.to_page.apply(hole.at), abs=1e-9)
    for hole in sheet.drawing.holes:
        # A hole in an overlap may be whole on both pages; one out of it is on a single page.
        assert whole.get(hole.id, 0) == 1 or hole.id in cut


def test_every_text_is_shown_whole_on_some_page(sheet: TiledSheet) -> None:
    printed = {mark.text for t in sheet.tiles for mark in t.marks if isinstance(mark, Text)}
    for mark in sheet.drawing.marks:
        if isinstance(mark, Text):
            assert mark.text in printed


def test_the_big_arc_and_ring_keep_their_length(sheet: TiledSheet) -> None:
    """On the assembled paper, overlaps counted once, as much of them is to be seen as was drawn."""
    for t in sheet.tiles:
        here = Point(0.0, -1250.0).buffer(150.0, 4000).exterior.intersection(box(*t.window)).length
        drawn = 0.0
        for mark in t.marks:
            if getattr(mark, "id", "") == "ring":
                assert isinstance(mark, Arc | Circle)
                turn = mark.end - mark.start if isinstance(mark, Arc) else 360.0
                drawn += math.radians(turn) * 150.0
        assert drawn == pytest.approx(here, abs=0.05)


def test_window_stands_clear_of_the_strips(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        x0, y0 = t.to_page.apply((t.window[0], t.window[1]))
        x1, y1 = t.to_page.apply((t.window[2], t.window[3]))
        a = area(t)
        assert x0 >= a[0] - 1e-6
        assert y0 >= a[1] + 28.0 - 1e-6
        assert x1 <= a[2] - 12.0 + 1e-6
        assert y1 <= a[3] + 1e-6


def test_nothing_lies_in_the_margin(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        for mark in t.marks:
            assert box_within(mark_box(mark), area(t), 0.01), (t.name, mark)


def test_texts_are_disjoint(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        texts = [mark for mark in t.marks if isinstance(mark, Text)]
        assert min(text.size for text in texts) >= 2.12
        for n, a in enumerate(texts):
            for b in texts[n + 1 :]:
                assert not boxes_overlap(mark_box(a), mark_box(b)), (t.name, a.text, b.text)


def test_furniture_keeps_out_of_the_window(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        corner, far = t.to_page.apply(t.window[:2]), t.to_page.apply(t.window[2:])
        window = (corner[0], corner[1], far[0], far[1])
        for mark in t.marks:
            if mark.group is Group.BAR:
                assert not boxes_overlap(mark_box(mark), window), (t.name, mark)


def test_texts_in_the_title_block_cross_no_rule(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        foot = (0.0, 0.0, t.paper[0], 35.0)
        lines = [m for m in t.marks if isinstance(m, Line) and m.group in (Group.FRAME, Group.BAR)]
        lines = [m for m in lines if box_within(mark_box(m), foot)]
        for text in (m for m in t.marks if isinstance(m, Text) and m.at[1] < 34.9):
            for line in lines:
                assert not boxes_overlap(mark_box(text), mark_box(line)), (text.text, line)


def test_the_cells_of_a_full_title_block_are_whole_millimetres_wide() -> None:
    (page,) = tiled(drawing(80.0, 60.0, {"P1": (0.0, -30.0)})).tiles
    rules = [m for m in page.marks if isinstance(m, Line) and m.group is Group.FRAME and m.a[0] == m.b[0]]
    across = {m.a[0] - 7.0 for m in rules if m.a[1] < 7.0 + 20.0 and m.a[0] <= 7.0 + 150.0}
    assert len(across) == 7  # of rows of three, four, three and three cells, less rules in one line
    assert {round(u, 6) for u in across} == {round(u) for u in across}


@pytest.mark.parametrize("size", [(2100.0, 60.0), (60.0, 2600.0), (900.0, 900.0), (4200.0, 2600.0)])
def test_the_map_of_many_tiles_stays_in_its_cell(size: tuple[float, float]) -> None:
    sheet = tiled(drawing(*size, {"P1": (0.0, -1030.0)}), overlap=9.0)
    for t in (sheet.tiles[0], sheet.tiles[-1]):
        block = (7.0 + 150.0, 7.0 + 4.0, 7.0 + 180.0, 7.0 + 4.0 + 16.0)
        own = next(mark_box(m) for m in t.marks if m.id == "this tile")
        assert box_within(own, block)
        rules = [mark_box(m) for m in t.marks if isinstance(m, Line) and m.group is Group.FRAME]
        inside = [
            one for one in rules if one[0] > block[0] + 0.5 and one[1] > block[1] + 0.5 and one[3] < block[3] - 0.5
        ]
        assert len(inside) >= 4
        assert all(one[2] < block[2] - 0.5 for one in inside)


def test_neighbours_share_registration_marks_at_the_same_place(sheet: TiledSheet) -> None:
    by_name = {t.name: t for t in sheet.tiles}
    places = {r.id: r for r in sheet.registrations}
    assert len(places) == len(sheet.registrations)
    for t in sheet.tiles:
        for name in t.neighbours:
            shared = set(t.registrations) & set(by_name[name].registrations)
            assert len(shared) >= 2
        for id_ in t.registrations:
            at = t.to_page.apply(places[id_].at)
            circles = [m for m in t.marks if isinstance(m, Circle) and m.id == id_]
            crosses = [m for m in t.marks if isinstance(m, Cross) and m.id == id_]
            assert len(circles) == len(crosses) == 1
            assert circles[0].centre == pytest.approx(at, abs=1e-9)
            assert crosses[0].centre == pytest.approx(at, abs=1e-9)
    for r in sheet.registrations:
        on_column = any(abs(r.at[0] - s) < 1e-9 for s in sheet.column_seams)
        on_row = any(abs(r.at[1] - s) < 1e-9 for s in sheet.row_seams)
        assert on_column or on_row


def frame_line(t: Tile, id_: str) -> bool:
    return any(isinstance(m, Line) and m.id == id_ for m in t.marks)


def test_the_two_marks_of_a_seam_are_far_apart(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        if frame_line(t, "tab right"):
            on = [r.at for r in sheet.registrations if t.name in r.tiles and r.at[0] in sheet.column_seams]
            assert max(a[1] for a in on) - min(a[1] for a in on) >= 0.4 * (t.window[3] - t.window[1])


def test_bars_are_as_long_as_they_say(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        assert [bar.axis for bar in t.bars] == ["across", "across", "along", "along"]
        for bar, step, label in zip(t.bars, (100.0, 101.6) * 2, ("mm", "in") * 2, strict=True):
            assert bar.length / step == pytest.approx(round(bar.length / step), abs=1e-9)
            side = t.paper[0] if bar.axis == "across" else t.paper[1]
            # As long as the paper allows, beside labels, face and arrow.
            assert side - 160 < bar.length + step <= side - 70 + step or 1000 < bar.length + step < 1000 + step
            said = f"{bar.length:g} mm" if label == "mm" else f"{bar.length / 25.4:.0f} in = {bar.length:g} mm"
            assert any(isinstance(m, Text) and m.text == said for m in t.marks)
            assert math.dist(bar.a, bar.b) == pytest.approx(bar.length, abs=1e-9)
            line = next(m for m in t.marks if isinstance(m, Line) and m.id == bar.id)
            assert (line.a, line.b) == (bar.a, bar.b)


def test_every_page_says_which_it_is(sheet: TiledSheet) -> None:
    for t in sheet.tiles:
        (identity,) = [m for m in t.marks if isinstance(m, Text) and m.id == "page-identity"]
        of = len(sheet.tiles)
        assert identity.text == f"templater 0.1.0 · floor {t.name} · page {t.page} of {of} · ab12cd34"
        words = [m.text for m in t.marks if isinstance(m, Text)]
        for word in (
            "Whinchat 3",
            "drilling template",
            "SCALE 1:1",
            "forward",
            "UPPER FACE",
            "B",
            "WH-3-001",
        ):
            assert word in words, word


def test_trim_and_tab_agree_with_the_neighbours(sheet: TiledSheet) -> None:
    printed = {(t.row, t.column) for t in sheet.tiles}
    for t in sheet.tiles:
        assert frame_line(t, "trim left") == ((t.row, t.column - 1) in printed)
        assert frame_line(t, "trim top") == ((t.row - 1, t.column) in printed)
        assert frame_line(t, "tab right") == ((t.row, t.column + 1) in printed)
        assert frame_line(t, "tab foot") == ((t.row + 1, t.column) in printed)


def test_words_at_the_edges_stand_in_the_middle_of_their_strips(sheet: TiledSheet) -> None:
    # Of 15 mm of overlap 5 are cut off, left of a seam or above it, and 10 are the tab, right of it or below.
    for t in sheet.tiles:
        seams = {m.id: t.to_page.inverse().over([m.a])[0] for m in t.marks if isinstance(m, Line)}
        for text in (m for m in t.marks if isinstance(m, Text) and m.bold and m.group is Group.FRAME):
            if not text.text.startswith(("cut here", "tab, under")):
                continue
            upright, cut = text.turn % 2 == 1, text.text == "cut here"
            seam = seams[("trim left" if upright else "trim top") if cut else ("tab right" if upright else "tab foot")]
            box_ = mark_box(text._replace(at=t.to_page.inverse().apply(text.at)))
            off = (box_[0] + box_[2]) / 2 - seam[0] if upright else seam[1] - (box_[1] + box_[3]) / 2
            assert off == pytest.approx(-2.5 if cut else 5.0, abs=0.02), text.text


def test_the_first_row_is_foremost() -> None:
    sheet = tiled(floor())
    first = min(sheet.tiles, key=lambda t: t.page)
    assert first.row == min(t.row for t in sheet.tiles)
    assert first.window[3] == max(t.window[3] for t in sheet.tiles)
    assert list(sheet.row_seams) == sorted(sheet.row_seams, reverse=True)


def test_overlap_is_a_third_bleed_and_two_thirds_tab() -> None:
    sheet = tiled(floor(), "A4", "upright")
    by_place = {(t.row, t.column): t for t in sheet.tiles}
    pairs = [(t, by_place.get((t.row, t.column + 1))) for t in sheet.tiles]
    for left, right in pairs:
        if right:
            seam = sheet.column_seams[left.column]
            assert left.window[2] == pytest.approx(seam + 10.0)
            assert right.window[0] == pytest.approx(seam - 5.0)


def test_a_small_sheet_is_one_centred_tile() -> None:
    sheet = tiled(drawing(80.0, 60.0, {"P1": (0.0, -1030.0)}))
    (only,) = sheet.tiles
    assert sheet.grid == (1, 1)
    assert only.neighbours == only.registrations == ()
    x, y = only.to_page.apply((0.0, -1030.0))
    # Middle of what margins (7), side strip (12) and foot strip (28) leave.
    assert x == pytest.approx((7 + only.paper[0] - 7 - 12) / 2)
    assert y == pytest.approx((7 + 28 + only.paper[1] - 7) / 2)


def test_blank_tiles_are_left_out_but_the_rest_hangs_together() -> None:
    far = {"P1": (-330.0, -1100.0), "S1": (330.0, -1100.0), "P2": (-330.0, -1700.0)}
    sheet = tiled(drawing(800.0, 800.0, far), "A4", "upright")
    assert sheet.blank
    names = {t.name for t in sheet.tiles}
    assert not names & set(sheet.blank)
    assert len(names) + len(sheet.blank) == sheet.grid[0] * sheet.grid[1]
    reached, queue = set(), [sheet.tiles[0]]
    while queue:
        here = queue.pop()
        if here.name not in reached:
            reached.add(here.name)
            queue += [t for t in sheet.tiles if t.name in here.neighbours]
    assert reached == names
    # Three corners of the grid: the shortest way is along two of its edges.
    assert len(names) == sheet.grid[0] + sheet.grid[1] - 1


@pytest.mark.parametrize("count", [2, 6])
def test_a_block_of_text_moves_as_one(count: int) -> None:
    block = tuple(
        Text((-100.0, -1300.0 - 4 * n), "line of a note " * (1 + n % 2 * 2), 3.0, Group.NOTE) for n in range(count)
    )
    keep = (-101.0, -1301.0 - 4 * count, 30.0, -1293.0)
    plain, arrow = floor(), Line((-95.0, -1296.0), (-85.0, -1296.0), Pen.NARROW, Group.NOTE, "way")
    sheet = plain._replace(marks=(*plain.marks, *block, arrow), keep=((WORDS, keep),))
    for t in tiled(sheet, "A4", "upright").tiles:
        lines = [m for m in t.marks if isinstance(m, Text) and m.text.startswith("line of a note")]
        assert len(lines) in (0, count)
        if lines:
            assert {round(a.at[1] - b.at[1], 6) for a, b in pairwise(lines)} == {4.0}
            (way,) = (m for m in t.marks if m.id == "way" and isinstance(m, Line))
            assert (way.a[0] - lines[0].at[0], way.a[1] - lines[0].at[1]) == pytest.approx((5.0, 4.0))


@pytest.mark.parametrize(("count", "words"), [(60, "line"), (8, "line of a long note " * 8)])
def test_a_block_of_text_larger_than_a_page_is_made_small_as_a_whole(count: int, words: str) -> None:
    block = tuple(Text((-170.0, -1020.0 - 5 * n), words, 3.0, Group.NOTE) for n in range(count))
    boxes = [mark_box(mark) for mark in block]
    keep = (boxes[0][0], boxes[-1][1], boxes[0][2], boxes[0][3])
    corners = ((side * 240.0, v) for side in (-1, 1) for v in (-1020.0, -1240.0, -1460.0))
    plain = drawing(520.0, 480.0, {f"P{n}": at for n, at in enumerate(corners)})
    sheet = plain._replace(marks=(*plain.marks, *block), keep=((WORDS, keep),))
    pages = tiled(sheet, "A4", "upright").tiles
    lines = max(([m for m in page.marks if isinstance(m, Text) and m.text == words] for page in pages), key=len)
    assert len(lines) == count
    (size,) = {mark.size for mark in lines}
    assert 2.2 < size < 3.0  # no smaller than it must be: the smallest type is 2.12
    assert {round((a.at[1] - b.at[1]) / size, 6) for a, b in pairwise(lines)} == {round(5 / 3, 6)}
    assert {mark.at[0] for mark in lines} == {lines[0].at[0]}


def test_under_faces_say_so() -> None:
    sheet = tiled(drawing(80.0, 60.0, {"P1": (0.0, -1030.0)}, face="under"))
    face = next(m for m in sheet.tiles[0].marks if isinstance(m, Text) and m.id == "face")
    assert face.text == "UNDER FACE - mirrored"
    assert face.size > 4


@pytest.mark.parametrize("paper", ["A4", "196 x 220"])
def test_long_title_data_is_fitted_into_its_field(paper: str) -> None:
    long = TITLE._replace(boat="Whinchat 3 " * 9, owner="W" * 80, number="9" * 60, drawn_by="M" * 60, revision="R" * 40)
    long = long._replace(program_version=f"0.1.0.dev1+{'0123456789' * 4}")
    sheet = tile(
        floor(), find_paper(paper), margin=7, overlap=15, orientation="upright", title=long,
        correction=Correction("a printer with a very long name, in the shed behind the house", 1.004, 0.997, 0.001),
    )  # fmt: skip
    for t in sheet.tiles:
        assert_texts_fit(t)


def test_a_text_is_made_smaller_then_shorter_until_a_pdf_library_finds_it_fits() -> None:
    registerFont(TTFont("Shipped bold", io.BytesIO(font_bytes(bold=True)), asciiReadable=False))
    text = "lower deck, forward"
    whole = stringWidth(text, "Shipped bold", 2.5)
    for part in (1.01, 0.99, 0.95, 0.89):
        size, shown = fitted(text, whole * part, 2.5, bold=True)
        assert shown == text
        # Not a hundredth wider than its room, and no more than a hundredth smaller than it must be.
        assert 0.99 * min(part, 1.0) < stringWidth(shown, "Shipped bold", size) / whole <= part
    for part in (0.87, 0.4, 0.2):
        size, shown = fitted(text, whole * part, 2.5, bold=True)
        kept = shown.removesuffix("...")
        assert (size, shown[-3:], text[: len(kept)]) == (2.2, "...", kept)
        assert stringWidth(shown, "Shipped bold", size) <= whole * part
        longer = stringWidth(text[: len(kept) + 2] + "...", "Shipped bold", size)
        assert longer > whole * part


def assert_texts_fit(t: Tile) -> None:
    texts = [m for m in t.marks if isinstance(m, Text)]
    for n, a in enumerate(texts):
        assert box_within(mark_box(a), area(t), 0.3)
        assert not any(boxes_overlap(mark_box(a), mark_box(b)) for b in texts[n + 1 :]), a.text


def test_a_correction_is_put_on_everything_and_stays_in_the_margins() -> None:
    correction = Correction("shed", 1.02, 0.99, 0.004)
    sheet = tiled(floor(), "A4", "upright", correction=correction)
    for t in sheet.tiles:
        assert not any(isinstance(m, Circle | Arc | Cross) for m in t.marks)
        assert any(isinstance(m, Curve) for m in t.marks)
        for mark in t.marks:
            assert box_within(mark_box(mark), area(t), 0.35), mark
        # About the page's middle: X = mx + 1.02 (x - mx) + 0.004 (y - my), Y = my + 0.99 (y - my).
        for corner in ((t.window[0], t.window[1]), (t.window[2], t.window[3])):
            mx, my = t.paper[0] / 2, t.paper[1] / 2
            # Uncorrected, the window stands in the middle of what the strips leave.
            x = corner[0] + mx - 6.0 - (t.window[0] + t.window[2]) / 2
            y = corner[1] + my + 14.0 - (t.window[1] + t.window[3]) / 2
            expected = (mx + 1.02 * (x - mx) + 0.004 * (y - my), my + 0.99 * (y - my))
            assert t.to_page.apply(corner) == pytest.approx(expected, abs=1e-9)
        for bar in t.bars:
            drawn = next(m for m in t.marks if isinstance(m, Line) and m.id == bar.id)
            ratio = 1.02 if bar.axis == "across" else math.hypot(0.99, 0.004)
            assert math.dist(drawn.a, drawn.b) == pytest.approx(bar.length * ratio, rel=1e-9)


def test_a_stretched_page_stays_in_the_margins() -> None:
    sheet = tiled(floor(), "A4", "upright", correction=Correction("shed", 1.0, 1.02, 0.0))
    for t in sheet.tiles:
        assert all(box_within(mark_box(mark), area(t), 0.35) for mark in t.marks)


def test_a_roll_is_cut_to_length() -> None:
    sheet = tiled(floor(), "24 in roll", "upright")
    assert sheet.grid == (1, 1)
    # 480 of sheet, 1 mm round it, the foot of 28 and two margins of 7.
    assert sheet.tiles[0].paper == pytest.approx((609.6, 482 + 28 + 14))


def test_a_roll_given_by_its_width_has_its_name() -> None:
    assert find_paper(CustomPaper(roll=24 * 25.4)).name == "24 in roll"


def test_a_roll_is_split_at_the_longest_page() -> None:
    long = drawing(200.0, 7000.0, {"P1": (0.0, -1050.0), "P2": (0.0, -7900.0), "P3": (0.0, -4000.0)})
    sheet = tiled(long, "297 roll", "upright")
    assert sheet.grid == (2, 1)
    assert max(t.paper[1] for t in sheet.tiles) <= 5080.0


@pytest.mark.parametrize("size", [(150.0, 400.0), (193.0, 183.0), (148.0, 210.0)])
def test_too_small_a_paper_is_refused_with_the_smallest_that_works(size: tuple[float, float]) -> None:
    with pytest.raises(DrawingError, match="194 mm x 184 mm") as caught:
        tiled(floor(), CustomPaper(width=size[0], height=size[1]))
    assert caught.value.findings[0].code == "S103"
    assert tiled(floor(), CustomPaper(width=194.0, height=184.0)).tiles


def test_of_overlaps_that_cut_alike_the_one_whose_band_takes_in_least_is_taken() -> None:
    # A3 takes the floor in two tiles; the seam runs beside the middle, through the sight windows whatever the overlap.
    whole = next(one.drawing for one in made_boats.tiled("whinchat-3")[1] if one.drawing.name == "floor")
    things = [box_about(hole.at, hole.diameter / 2) for hole in whole.holes]
    things += [box for name, box in whole.keep if name != WORDS]

    def taken_in(overlap: float | None) -> tuple[int, int]:
        made = tiled(whole, "A3", overlap=overlap)
        left, right = made.tiles[1].window[0], made.tiles[0].window[2]
        return len(made.crossed), sum(box[0] < right and box[2] > left for box in things)

    tried = [taken_in(overlap) for overlap in (15.0, 12.0, 10.0, 9.0)]
    assert len({cut for cut, _ in tried}) == 1
    assert taken_in(None) == min(tried) < tried[0]


def test_too_small_an_overlap_is_refused() -> None:
    with pytest.raises(DrawingError, match="9 mm or more"):
        tiled(floor(), overlap=8.0)


def test_a_correction_beyond_3_per_cent_is_refused() -> None:
    with pytest.raises(DrawingError, match="scaled to fit"):
        tiled(floor(), correction=Correction("shed", 0.96, 1.0, 0.0))


def test_a_hole_in_a_seam_is_owned_up_to() -> None:
    wall = {f"P{n}": (-240.0 + 12.0 * n, -1100.0) for n in range(41)}
    sheet = tiled(drawing(500.0, 200.0, wall), "A4", "upright")
    assert sheet.cut
    assert {c.id for c in sheet.cut} <= set(wall)


def test_straight_edge_lines_run_through_and_are_named() -> None:
    sheet = tiled(floor(), "A4", "upright")
    for id_, axis in (("E1", 1), ("E2", 0)):
        places = set()
        for t in sheet.tiles:
            for mark in t.marks:
                if isinstance(mark, Line) and mark.id == id_:
                    assert mark.a[axis] == pytest.approx(mark.b[axis])
                    places.add(round(mark.a[axis] - t.to_page[4 if axis == 0 else 5], 6))
                    assert any(isinstance(m, Text) and m.text == f"{id_} straight edge" for m in t.marks)
        assert len(places) == 1


def test_registration_marks_keep_off_holes() -> None:
    # Holes so close that every row seam meets some, at the end of the seam where a mark would stand first.
    holes = {f"P{n}": (-238.0 + 18.0 * (n % 3), -1010.0 - 17.0 * (n // 3)) for n in range(72)}
    sheet = tiled(drawing(500.0, 420.0, holes), "A4", "upright")
    assert sheet.row_seams
    assert any(abs(at[1] - sheet.row_seams[0]) < 12.0 for at in holes.values())
    for r in sheet.registrations:
        assert all(math.dist(r.at, at) > 9.0 for at in holes.values())


@pytest.mark.parametrize("mark", [Circle((5, 5), 6, Pen.WIDE, Group.HOLE), Cross((5, 5), 4, Group.HOLE)])
def test_what_joins_tiles_stands_on_a_line_rather_than_on_a_hole(mark: Circle | Cross) -> None:
    clear = Clear([mark, Line((0, 25), (40, 25), Pen.NARROW, Group.OUTLINE)])
    box, on_hole, on_line = (0.0, 0.0, 10.0, 10.0), (0.0, 0.0), (0.0, 20.0)
    assert clear.first(box, [on_hole, on_line], Clear.LINES, Clear.WORDS) == on_line
    assert clear.first(box, [on_hole], Clear.LINES, Clear.WORDS) is None
    assert clear.first(box, [on_hole], Clear.TAKEN) is None


def test_same_input_same_tiles() -> None:
    one, two = tiled(floor()), tiled(floor())
    assert [(t.to_page, tuple(t.marks)) for t in one.tiles] == [(t.to_page, tuple(t.marks)) for t in two.tiles]
    assert (one.registrations, one.cut, one.crossed) == (two.registrations, two.cut, two.crossed)


def test_many_holes_on_many_pages() -> None:
    holes = {f"P{n}": (-2900.0 + 25.0 * (n % 230), -1050.0 - 25.0 * (n // 230)) for n in range(4600)}
    marks = tuple(mark for id_, at in holes.items() for mark in hole_marks(id_, at, 5.0, 4.0))
    plain = drawing(5900.0, 600.0, {})
    sheet = tiled(plain._replace(marks=(*plain.marks, *marks)), "A4", "upright")
    assert len(sheet.tiles) > 90
    assert sum(isinstance(m, Polyline) and m.filled for m in sheet.tiles[0].marks) >= 1
