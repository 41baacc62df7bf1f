"""The demo boats' own sheets through the SVG writer: every hole is where the drawing has it."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import pytest
import svgelements
from loading import load_description
from svg_rules import hold_against_svg_1_1

from templater.boat.solve import solve
from templater.drawing.marks import Circle, Drawing
from templater.drawing.sheets import draw
from templater.paper.tiles import TitleData
from templater.writers.svg import BORDER, write_svg

ROOT = Path(__file__).parents[2]
TITLE = TitleData("Whinchat", "", "", "", "", "", "", "0" * 64, "0.1.0")
#: CSS reference pixels in a mm. Source: W3C CSS Values and Units Level 3, 6.2.
PIXEL = 96 / 25.4


@cache
def sheets(boat: str) -> dict[str, Drawing]:
    file = ROOT / "configs" / f"{boat}.yaml"
    return {drawing.name: drawing for drawing in draw(solve(load_description(file.read_text("utf-8"), file.name)))}


every_sheet = pytest.mark.parametrize(
    ("boat", "sheet"),
    [(boat, sheet) for boat in ("whinchat-3", "whinchat-5") for sheet in ("floor", "plank", "plates", "spare-plates")],
)


@every_sheet
def test_svg_crosshairs_and_circles_stand_on_the_holes(boat: str, sheet: str) -> None:
    drawing = sheets(boat)[sheet]
    diameters = {mark.id: mark.diameter for mark in drawing.marks if isinstance(mark, Circle) and mark.id}
    parsed = svgelements.SVG.parse(io.BytesIO(write_svg(drawing, TITLE)), ppi=96, reify=True)
    found = {shape.id: shape for shape in parsed.elements() if isinstance(shape, svgelements.Shape)}
    left, top = drawing.box[0] - BORDER, drawing.box[3] + BORDER
    assert drawing.holes
    for hole in drawing.holes:
        x0, y0, x1, y1 = found[f"{hole.id}-cross"].bbox()
        place = ((x0 + x1) / 2 / PIXEL + left, top - (y0 + y1) / 2 / PIXEL)
        assert place == pytest.approx(hole.at, abs=0.001), hole.id
        if hole.id in diameters:  # screws of the second set have a square instead
            circle = found[f"{hole.id}-circle"]
            assert (circle.cx / PIXEL + left, top - circle.cy / PIXEL) == pytest.approx(hole.at, abs=0.001), hole.id
            assert 2 * circle.implicit_rx / PIXEL == pytest.approx(diameters[hole.id], abs=0.001), hole.id


@every_sheet
def test_svg_is_valid(boat: str, sheet: str) -> None:
    hold_against_svg_1_1(write_svg(sheets(boat)[sheet], TITLE))
