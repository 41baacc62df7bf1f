"""A printer's correction on pages that go through the printer sideways: what comes out is true all the same."""

import itertools
import math
from pathlib import Path

import pytest
from paper_scenes import printer_profile

from templater.description.load import Source
from templater.paper.placing import matrix, turned
from templater.paper.tiles import Correction
from templater.pipeline.checked import check
from templater.pipeline.sheets import drawings_of, tile_sheets

PRINTER = printer_profile("shed", 1.0043, 0.9968, 0.0015)


def printed(point: tuple[float, float], paper: tuple[float, float], quarter: int) -> tuple[float, float]:
    """What the printer makes of a point of a sideways page: turned a quarter, fed upright, distorted, turned back."""
    x, y = point
    upright = (paper[1] - y, x) if quarter == 1 else (y, paper[0] - x)
    u = PRINTER.across * upright[0] + PRINTER.skew * upright[1]
    v = PRINTER.along * upright[1]
    return (v, paper[1] - u) if quarter == 1 else (paper[0] - v, u)


@pytest.mark.parametrize("quarter", [1, -1])
def test_distances_on_a_sideways_page_come_out_true(quarter: int) -> None:
    paper = (297.0, 210.0)
    drawn = matrix(turned(PRINTER.correction()), paper)
    points = [(20.0, 15.0), (280.0, 20.0), (25.0, 190.0), (270.0, 185.0)]
    out = [printed(drawn.apply(point), paper, quarter) for point in points]
    for a, b in itertools.combinations(range(4), 2):
        assert math.dist(out[a], out[b]) == pytest.approx(math.dist(points[a], points[b]), abs=1e-9)


@pytest.mark.parametrize("orientation", ["sideways", "upright"])
def test_sheets_are_corrected_as_they_lie_in_the_printer(configs: Path, orientation: str) -> None:
    # By hand: a printer that prints 1 % too long along its way and true across it. On pages that lie sideways it is the
    # level lines that must be drawn shorter, by 1/1.01; on upright ones those along the page.
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    text = text.replace("print: {", f"print: {{orientation: {orientation}, ")
    checked = check(Source(text.encode(), "boat.yaml"))
    correction = Correction("shed", 1.0, 1 / 1.01, 0.0)
    for sheet in tile_sheets(checked, drawings_of(checked, ("floor", "plank")), correction):
        a, b, c, d, _, _ = sheet.tiles[0].to_page
        level, upright = (1 / 1.01, 1.0) if orientation == "sideways" else (1.0, 1 / 1.01)
        assert sheet.sideways == (orientation == "sideways")
        assert (a, b, c, d) == pytest.approx((level, 0.0, 0.0, upright))
