"""The printed page under a ruler: a PDF renderer that shares nothing with the writer draws it, and it is measured."""

import pytest
from raster.measure import Picture, find_cross, find_line, render

from templater.drawing.marks import Circle, Cross, Group, Line, Mark, Pen, Text
from templater.paper.tiles import Tile, TitleData, single_page
from templater.writers.pdf import write_pdf

TITLE = TitleData("Whinchat 3", "A", "", "", "", "", "", "0" * 64, "0.1.0")
#: Half a tenth of a mm: less than one pixel and a quarter at 600 dpi.
CLOSE = 0.05
HOLES = ((23.456, 31.789), (187.02, 31.2), (105.0, 148.5), (24.7, 262.33), (180.005, 270.995))
BARS = (((20.0, 60.0), (120.0, 60.0)), ((150.3, 90.4), (150.3, 190.4)))


def page(*marks: Mark, paper: tuple[float, float] = (210.0, 297.0)) -> Tile:
    return single_page(paper, marks)


def bar(a: tuple[float, float], b: tuple[float, float]) -> list[Mark]:
    ticks: list[Mark] = [Line(a, b, Pen.NARROW, Group.BAR)]
    for x, y in (a, b):
        ends = ((x, y - 3), (x, y + 3)) if a[1] == b[1] else ((x - 3, y), (x + 3, y))
        ticks.append(Line(*ends, Pen.NARROW, Group.BAR))
    return ticks


@pytest.fixture(scope="module")
def picture() -> Picture:
    marks: list[Mark] = []
    for number, at in enumerate(HOLES, 1):
        marks += [
            Cross(at, 9.0, Group.HOLE, f"P{number}"),
            Circle(at, 8.5, Pen.WIDE, Group.HOLE, f"P{number}"),
            Text((at[0] + 2, at[1] + 5), f"P{number}", 3.5, Group.LABEL, bold=True),
        ]
    for ends in BARS:
        marks += bar(*ends)
    return render(write_pdf([page(*marks)], name="floor", title=TITLE))


@pytest.mark.parametrize("at", HOLES)
def test_crosshairs_stand_where_the_tile_has_them(picture: Picture, at: tuple[float, float]) -> None:
    assert find_cross(picture, at, 9.0) == pytest.approx(at, abs=CLOSE)


@pytest.mark.parametrize(("a", "b"), BARS)
def test_bars_are_100_mm_long(picture: Picture, a: tuple[float, float], b: tuple[float, float]) -> None:
    axis, side = ("x", (0, 2)) if a[1] == b[1] else ("y", (2, 0))
    ends = [find_line(picture, (x + side[0], y + side[1]), axis, run=0.8) for x, y in (a, b)]
    assert ends[1] - ends[0] == pytest.approx(100.0, abs=CLOSE)
    assert ends[0] == pytest.approx(a[0] if axis == "x" else a[1], abs=CLOSE)


def test_the_picture_is_as_large_as_a4(picture: Picture) -> None:
    # ISO 216: A4 is 210 mm by 297 mm.
    assert (picture.width, picture.height) == pytest.approx((210, 297), abs=0.001)
    assert picture.grey.shape == (7016, 4961)


@pytest.mark.parametrize("shift", [(0.2, 0.0), (0.0, -0.2), (-0.2, 0.2)])
def test_the_ruler_sees_a_crosshair_that_is_off_by_a_fifth_of_a_mm(shift: tuple[float, float]) -> None:
    at = (30.0, 25.0)
    moved = (at[0] + shift[0], at[1] + shift[1])
    small = render(write_pdf([page(Cross(moved, 9.0, Group.HOLE), paper=(60.0, 50.0))], name="floor", title=TITLE))
    found = find_cross(small, at, 9.0)
    assert found == pytest.approx(moved, abs=0.02)
    assert found != pytest.approx(at, abs=CLOSE)


def test_the_ruler_finds_no_crosshair_on_bare_paper_or_on_a_single_line() -> None:
    lone = Line((10.0, 25.0), (50.0, 25.0), Pen.NARROW, Group.HOLE)
    small = render(write_pdf([page(lone, paper=(60.0, 50.0))], name="floor", title=TITLE))
    with pytest.raises(ValueError, match="no upright arm"):
        find_cross(small, (30.0, 25.0), 9.0)
    with pytest.raises(ValueError, match="no line"):
        find_line(small, (30.0, 40.0), "y")


def test_each_page_keeps_its_own_size() -> None:
    tiles = [page(Cross((20.0, 30.0), 9.0, Group.HOLE), paper=size) for size in ((60.0, 50.0), (215.9, 279.4))]
    pdf = write_pdf(tiles, name="floor", title=TITLE)
    for number, tile in enumerate(tiles, 1):
        sheet = render(pdf, number, dpi=300)
        assert (sheet.width, sheet.height) == pytest.approx(tile.paper, abs=0.001)
        assert find_cross(sheet, (20.0, 30.0), 9.0) == pytest.approx((20.0, 30.0), abs=CLOSE)
