"""From the description to the printed page: every crosshair and bar of the demo boat's sheets under the ruler."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from raster.measure import Picture, Point, find_cross, find_line, render

from templater.pipeline import make
from templater.source import Source

CONFIG = Path(__file__).parents[2] / "configs" / "whinchat-3.yaml"
#: mm. A crosshair's arms are looked at as far as this from the middle: the shortest arms are longer.
ARM = 4.0
CLOSE = 0.05


@dataclass(frozen=True)
class Measured:
    """What the ruler says of one page: crosshairs and the ends of bars along their axis, by id."""

    sheet: dict[str, Any]
    page: dict[str, Any]
    crosses: dict[str, Point]
    bars: dict[str, tuple[float, float]]

    def stated(self, ident: str) -> Point:
        """Where the manifest has a hole, page mm."""
        hole = next(hole for hole in self.sheet["holes"] if hole["id"] == ident)
        return on_page(self.page, hole)


def on_page(page: dict[str, Any], hole: dict[str, Any]) -> Point:
    a, b, c, d, e, f = page["to_page"]
    return a * hole["x"] + c * hole["y"] + e, b * hole["x"] + d * hole["y"] + f


def ends(picture: Picture, bar: dict[str, Any]) -> tuple[float, float]:
    """Find the ticks at a bar's ends, beside the bar itself."""
    aside, axis = ((0.0, 0.8), "x") if bar["axis"] == "across" else ((0.8, 0.0), "y")
    first, last = (
        find_line(picture, (end[0] + aside[0], end[1] + aside[1]), axis, run=0.4) for end in (bar["a"], bar["b"])
    )
    return first, last


@pytest.fixture(scope="module")
def measured() -> list[Measured]:
    files = make(Source(CONFIG.read_bytes(), CONFIG.name)).files
    found = []
    for sheet in json.loads(files["manifest.json"])["sheets"]:
        for page in sheet["pages"]:
            picture = render(files[page["file"]], page["page"])
            holes = [hole for hole in sheet["holes"] if hole["id"] in page["holes"]]
            crosses = {hole["id"]: find_cross(picture, on_page(page, hole), ARM, reach=0.6) for hole in holes}
            bars = {bar["id"]: ends(picture, bar) for bar in page["bars"] if bar["axis"] != "diagonal"}
            found.append(Measured(sheet, page, crosses, bars))
    return found


def test_every_hole_is_where_the_manifest_says(measured: list[Measured]) -> None:
    for one in measured:
        for ident, found in one.crosses.items():
            assert found == pytest.approx(one.stated(ident), abs=CLOSE), (
                f"{one.page['file']} {one.page['tile']} {ident}"
            )


def test_no_hole_is_left_out(measured: list[Measured]) -> None:
    seen = {(one.sheet["name"], ident) for one in measured for ident in one.crosses}
    assert seen == {(one.sheet["name"], hole["id"]) for one in measured for hole in one.sheet["holes"]}


def test_neighbouring_settings_are_their_pitch_apart(measured: list[Measured]) -> None:
    # By hand from the description: the pitch is 55 mm. Both holes are on one page; the manifest plays no part.
    apart = {
        (side, number): math.dist(one.crosses[f"{side}{number}"], one.crosses[f"{side}{number + 1}"])
        for one in measured
        for side in "PS"
        for number in (1, 2)
        if one.sheet["name"] == "floor" and {f"{side}{number}", f"{side}{number + 1}"} <= set(one.crosses)
    }
    assert len(apart) == 4
    assert list(apart.values()) == [pytest.approx(55.0, abs=CLOSE)] * 4


def test_every_bar_has_its_length(measured: list[Measured]) -> None:
    for one in measured:
        assert {bar["axis"] for bar in one.page["bars"]} >= {"across", "along"}
        for bar in one.page["bars"]:
            if bar["id"] in one.bars:
                first, last = one.bars[bar["id"]]
                assert last - first == pytest.approx(bar["length"], abs=CLOSE), f"{one.page['file']} {bar['id']}"
