"""From the description to the printed page: every crosshair and bar of both demo boats' sheets under the ruler.

The manifest is read as an outsider would read it, as JSON and nothing else.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

import made_boats
import pytest
from paper_scenes import printer_profile
from raster.measure import Picture, Point, find_cross, find_line, render

from templater.pipeline.checked import Options
from templater.pipeline.make import make

#: mm. A crosshair's arms are looked at as far as this from the middle: the shortest arms are longer.
ARM = 4.0
CLOSE = 0.05
#: What is asked of a crosshair, mm.
HOLE = 0.1
#: A printer that has gone off: stretched across, short along, its lines leaning.
WORN = printer_profile("worn rollers", 1.0042, 0.9971, 0.0008)


@dataclass(frozen=True)
class Measured:
    """What the ruler says of one page: crosshairs and the ends of bars along their axis, by id."""

    sheet: dict[str, Any]
    page: dict[str, Any]
    crosses: dict[str, Point]
    bars: dict[str, float]

    def stated(self, ident: str) -> Point:
        """Where the manifest has a hole, page mm."""
        hole = next(hole for hole in self.sheet["holes"] if hole["id"] == ident)
        return on_page(self.page["to_page"], (hole["x"], hole["y"]))


def on_page(to_page: list[float], at: Point) -> Point:
    a, b, c, d, e, f = to_page
    return a * at[0] + c * at[1] + e, b * at[0] + d * at[1] + f


def corrected(page: dict[str, Any], at: Point) -> Point:
    """Where a point of the page stands with the correction that the manifest names, about the page's middle."""
    x, y = page["paper"][0] / 2, page["paper"][1] / 2
    by = page["correction"]
    return (x + by["across"] * (at[0] - x) + by["skew"] * (at[1] - y), y + by["along"] * (at[1] - y))


def printed(page: dict[str, Any], at: Point) -> Point:
    """Where the printer puts a drawn point: the correction undone, by solving the two lines of ``corrected``."""
    x, y = page["paper"][0] / 2, page["paper"][1] / 2
    by = page["correction"]
    level = (at[1] - y) / by["along"]
    return x + (at[0] - x - by["skew"] * level) / by["across"], y + level


def measure_bar(picture: Picture, page: dict[str, Any], bar: dict[str, Any]) -> float:
    """Return a bar's length as printed: between the ticks at its ends, looked at on one side of the bar."""
    aside, axis = ((0.0, 0.8), "x") if bar["axis"] == "across" else ((0.8, 0.0), "y")
    places = []
    for end in (bar["a"], bar["b"]):
        near = corrected(page, (end[0] + aside[0], end[1] + aside[1]))
        found = find_line(picture, near, axis, run=0.4)
        places.append(printed(page, (found, near[1]) if axis == "x" else (near[0], found)))
    return math.dist(*places)


def measured(files: Mapping[str, bytes]) -> list[Measured]:
    found = []
    for sheet in json.loads(files["manifest.json"])["sheets"]:
        for page in sheet["pages"]:
            picture = render(files[page["file"]], page["page"])
            holes = [hole for hole in sheet["holes"] if hole["id"] in page["holes"]]
            crosses = {
                hole["id"]: find_cross(picture, on_page(page["to_page"], (hole["x"], hole["y"])), ARM, reach=0.6)
                for hole in holes
            }
            bars = {bar["id"]: measure_bar(picture, page, bar) for bar in page["bars"]}
            found.append(Measured(sheet, page, crosses, bars))
    return found


@cache
def measured_demo(name: str) -> list[Measured]:
    return measured(made_boats.files(name))


@pytest.fixture(params=["whinchat-3", "whinchat-5"])
def pages(request: pytest.FixtureRequest) -> list[Measured]:
    return measured_demo(request.param)


def test_every_hole_is_where_the_manifest_says(pages: list[Measured]) -> None:
    seen = set()
    for one in pages:
        for ident, found in one.crosses.items():
            seen.add((one.sheet["name"], ident))
            assert math.dist(found, one.stated(ident)) < HOLE, f"{one.page['file']} {one.page['tile']} {ident}"
    assert seen == {(one.sheet["name"], hole["id"]) for one in pages for hole in one.sheet["holes"]}


def test_every_bar_has_its_length(pages: list[Measured]) -> None:
    for one in pages:
        # Whole hundreds of mm, and of 4 in: 101.6 mm exactly, International yard and pound agreement of 1959.
        for axis in ("across", "along"):
            metric, inch = (bar["length"] for bar in one.page["bars"] if bar["axis"] == axis)
            assert metric / 100 == pytest.approx(round(metric / 100), abs=1e-8)
            assert inch / 101.6 == pytest.approx(round(inch / 101.6), abs=1e-8)
        assert {bar["axis"] for bar in one.page["bars"]} == {"across", "along"}
        for bar in one.page["bars"]:
            assert one.bars[bar["id"]] == pytest.approx(bar["length"], abs=CLOSE), f"{one.page['file']} {bar['id']}"


def test_holes_on_one_page_are_as_far_apart_as_the_description_says() -> None:
    # By hand from the descriptions: neighbouring settings are 55 mm and 2.25 in apart. The manifest plays no part.
    for name, pitch in (("whinchat-3", 55.0), ("whinchat-5", 2.25 * 25.4)):
        apart = [
            math.dist(one.crosses[f"{side}{number}"], one.crosses[f"{side}{number + 1}"])
            for one in measured_demo(name)
            if one.sheet["name"] == "floor"
            for side in "PS"
            for number in range(1, 5)
            if {f"{side}{number}", f"{side}{number + 1}"} <= set(one.crosses)
        ]
        assert len(apart) >= 4
        assert apart == [pytest.approx(pitch, abs=CLOSE)] * len(apart)


def test_with_a_printer_s_correction_what_comes_out_of_the_printer_is_true() -> None:
    # The page as drawn is measured; what the printer then makes of it, (x, y) to (across x + skew y, along y), must
    # have every hole and bar in its place again.
    files = make(made_boats.made("whinchat-3").checked.source, Options(printer="worn", profiles=lambda _: WORN)).files
    drawn_off = 0.0
    for one in measured(files):
        a, b, c, d, _, _ = one.page["to_page"]
        sideways = one.page["paper"][0] > one.page["paper"][1]

        def out(at: Point, sideways: bool = sideways) -> Point:
            x, y = (-at[1], at[0]) if sideways else at  # a sideways page is turned on its way to the printer
            return WORN.across * x + WORN.skew * y, WORN.along * y

        names = list(one.crosses)
        for first, second in pairwise(names):
            holes = {hole["id"]: (hole["x"], hole["y"]) for hole in one.sheet["holes"]}
            true = math.dist(holes[first], holes[second])
            drawn_off = max(drawn_off, abs(math.dist(one.crosses[first], one.crosses[second]) - true))
            got = math.dist(out(one.crosses[first]), out(one.crosses[second]))
            assert got == pytest.approx(true, abs=HOLE), f"{one.page['file']} {first} {second}"
        for bar in one.page["bars"]:
            assert one.bars[bar["id"]] == pytest.approx(bar["length"], abs=CLOSE), f"{one.page['file']} {bar['id']}"
        assert math.dist(out((a, b)), (0.0, 0.0)) == pytest.approx(1.0, abs=1e-6)
        assert math.dist(out((c, d)), (0.0, 0.0)) == pytest.approx(1.0, abs=1e-6)
    assert drawn_off > 0.15  # the correction is really there
