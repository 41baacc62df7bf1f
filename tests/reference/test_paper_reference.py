"""Papers against a published table: reportlab's page sizes (points), and the construction rules of ISO 216."""

import math

import pytest
from reportlab.lib import pagesizes

from templater.description.keys import CustomPaper
from templater.findings import DrawingError
from templater.paper.tiles import LONGEST_PAGE, find_paper

POINT = 25.4 / 72


def sides(name: str) -> tuple[float, float]:
    paper = find_paper(name)
    return paper.width, paper.height or 0.0


@pytest.mark.parametrize("name", ["A0", "A1", "A2", "A3", "A4", "LETTER", "LEGAL", "TABLOID"])
def test_sheets_agree_with_an_open_library(name: str) -> None:
    width, height = getattr(pagesizes, name)
    paper = find_paper(name.lower())
    assert (paper.width, paper.height) == pytest.approx((width * POINT, height * POINT), abs=1e-3)


def test_a_series_follows_its_rule() -> None:
    """ISO 216: A0 is 1 m2, each size is the next larger one halved, sides 1 : sqrt 2, to whole mm."""
    assert math.prod(sides("A0")) == pytest.approx(1e6, rel=1e-3)
    for n in range(4):
        (w0, h0), (w1, h1) = sides(f"A{n}"), sides(f"A{n + 1}")
        assert h1 == w0
        assert w1 == math.floor(h0 / 2)
        assert h0 / w0 == pytest.approx(math.sqrt(2), abs=0.005)


def test_inch_drawing_sizes_double() -> None:
    """C, D and E as listed by a page on common US drawing sizes: 17 x 22, 22 x 34, 34 x 44 in; an inch is 25.4 mm."""
    for name, inches in {"C": (17, 22), "D": (22, 34), "E": (34, 44)}.items():
        assert sides(name) == pytest.approx((inches[0] * 25.4, inches[1] * 25.4))


def test_rolls_and_the_longest_page() -> None:
    assert find_paper("24 in roll").width == pytest.approx(609.6)
    assert find_paper("36 in roll").width == pytest.approx(914.4)
    # 14 400 units of 1/72 in are 200 in.
    assert pytest.approx(200 * 25.4) == LONGEST_PAGE


@pytest.mark.parametrize(
    ("said", "name"),
    [("a4", "A4"), (" Letter ", "Letter"), ("24 in roll", "24 in roll"), ("roll 24 in", "24 in roll"),
     ("ROLL 24in", "24 in roll"),
     ('24" roll', "24 in roll"), ("roll 594", "594 roll"), ("594 mm roll", "594 roll"), ("297mm Roll", "297 roll")],
)  # fmt: skip
def test_papers_are_found_however_written(said: str, name: str) -> None:
    assert find_paper(said).name == name


@pytest.mark.parametrize(
    ("said", "sides"),
    [
        ("roll 610 mm", (610.0, None)), ("610 mm roll", (610.0, None)), ("914 roll", (914.0, None)),
        ("roll 17 1/2 in", (444.5, None)), ("210x297", (210.0, 297.0)), ("210 × 297 mm", (210.0, 297.0)),
        ("21 x 29.7 cm", (210.0, 297.0)), ("8 1/2 x 13 in", (215.9, 330.2)), ("8 1/2 in by 13 in", (215.9, 330.2)),
        ('8.5" x 13"', (215.9, 330.2)),
    ],
)  # fmt: skip
def test_any_size_may_be_written(said: str, sides: tuple[float, float | None]) -> None:
    paper = find_paper(said)
    assert (paper.width, paper.height) == pytest.approx(sides) if sides[1] else (sides[0], None)


@pytest.mark.parametrize(
    ("said", "name"), [("210x297", "A4"), ("8 1/2 x 11 in", "Letter"), ("roll 609.6 mm", "24 in roll")]
)
def test_a_size_that_has_a_name_is_that_paper(said: str, name: str) -> None:
    # ISO 216:2007, table 1; US letter 8 1/2 x 11 in.
    assert find_paper(said).name == name


@pytest.mark.parametrize("said", ["roll", "roll of mine", "x 297", "210 x", "210 x 297 x 3", "210 x 297 apples", "A9"])
def test_what_is_no_size_is_no_paper(said: str) -> None:
    with pytest.raises(DrawingError, match="no such paper"):
        find_paper(said)


def test_an_unknown_paper_is_refused_with_the_nearest() -> None:
    with pytest.raises(DrawingError, match=r"did you mean Letter\? known are A4, A3, .*36 in roll") as caught:
        find_paper("leter")
    assert caught.value.findings[0].code == "S101"


def test_own_papers() -> None:
    assert find_paper(CustomPaper(width=320.0, height=450.0)).height == 450.0
    assert find_paper(CustomPaper(width=320.0)).height is None
    for width, height in ((0.0, 100.0), (6000.0, 100.0), (200.0, float("nan"))):
        bad = CustomPaper(width=width, height=height)
        with pytest.raises(DrawingError, match="no side of a page"):
            find_paper(bad)
