"""What the demo boat's holes take from the wood, reckoned by hand."""

from dataclasses import replace

import pytest
from bench_demo import DEMO, demo

from templater.boat import solve
from templater.boat.solved import Boat
from templater.checks.wood import SpacingRow, wood
from templater.description.model import Wood


def spacing(boat: Boat, fastener: str, direction: str, part: str = "floor", source: str = "EN") -> SpacingRow:
    return next(
        row
        for row in wood(boat).spacings
        if (row.part, row.fastener, row.direction) == (part, fastener, direction) and row.source.startswith(source)
    )


def test_section_left_at_the_planks_bolts() -> None:
    # (175 - 8) / 175; plug 24: (24 - 8) / 2 = 8 = 1.0 hole; plug gone: (175 - 24) / 175.
    section = wood(demo()).sections[0]
    assert section.ids == ("KP", "KS")
    assert section.left == pytest.approx(0.95429, abs=1e-5)
    assert section.left_without_plug == pytest.approx(0.86286, abs=1e-5)
    assert (section.plug_wall, section.plug_wall_diameters) == (8, 1)
    solid = wood(solve(replace(DEMO, plank=replace(DEMO.plank, solid_at_bolts=None)))).sections[0]
    assert (solid.left_without_plug, solid.plug_wall) == (None, None)


def test_net_wood_between_the_floors_holes() -> None:
    # Settings 55 apart, holes 18: 37 left. Second screw at (16, 16): 22.627 - 9 - 2.25 = 11.377.
    rows = {(row.a, row.b): row for row in wood(demo()).net}
    assert rows["P1", "P2"].net == pytest.approx(37)
    assert rows["P1", "P1b1"].centres == pytest.approx(22.627, abs=1e-3)
    assert rows["P1", "P1b1"].net == pytest.approx(11.377, abs=1e-3)


def test_plank_spacings() -> None:
    # End: 2390 / 2 - 215 (a little more along the face), against 7 x 8 = 56, at least 80. Edge: 87.5 against 4 x 8.
    end, edge = spacing(demo(), "bolt", "to the end", "plank"), spacing(demo(), "bolt", "to the edge", "plank")
    assert (end.guide, edge.guide, edge.measured) == (80, 32, 87.5)
    assert end.measured == pytest.approx(980, abs=0.5)
    assert end.met
    assert edge.diameters == pytest.approx(10.94, abs=0.005)
    assert spacing(demo(), "bolt", "to the end", "plank", "FPL").guide == 56


def test_floor_spacings() -> None:
    # Bolts 55 apart along the grain: 5 x 8 = 40 is kept; the sleeves taken as bolts of 18 ask 90, which is not.
    assert spacing(demo(), "bolt", "along the grain").guide == 40
    assert spacing(demo(), "bolt", "along the grain").met
    sleeves = spacing(demo(), "sleeve taken as a bolt", "along the grain")
    assert (sleeves.measured, sleeves.guide, sleeves.met) == (pytest.approx(55), 90, False)
    # Screws 4.5: plates 55 apart with screws 16 fore and aft: 55 - 32 = 23 along, against 5 x 4.5 = 22.5.
    along = spacing(demo(), "plate screw, both sets", "along the grain")
    assert (along.measured, along.guide, along.met) == (pytest.approx(23), 22.5, True)
    # First and second set 30 - 16 = 14 apart across, against 4 x 4.5 = 18 for a force across the grain.
    across = spacing(demo(), "plate screw, both sets", "across the grain")
    assert (across.measured, across.guide, across.met) == (pytest.approx(14), 18, False)


def test_screws_in_a_thin_floor_locate_rather_than_carry() -> None:
    # Thread in the wood 9.8 (see the hardware test) against 6 x 4.5 = 27.
    depth = spacing(demo(), "plate screw", "thread in the wood")
    assert (depth.measured, depth.guide, depth.met) == (pytest.approx(9.8), 27, False)


def test_distances_to_the_outline() -> None:
    # Setting at the limit: 2350 - 4 - 6 = 2340; the aft edge lies at 2450: 110 to the end.
    assert spacing(demo(), "bolt", "to the end").measured == pytest.approx(110)
    # Side from (1980, 325) to (2450, 300): at 2340, y = 325 - 25 x 360 / 470 = 305.851; 90.851 x 470 / 470.664.
    assert spacing(demo(), "bolt", "to the edge").measured == pytest.approx(90.723, abs=1e-3)


def test_movement_with_moisture() -> None:
    # GTR-190, chapter 13: white ash, 4 %: 430 x 4 x 0.00169 = 2.907 and x 0.00274 = 4.713; 175 wide: 1.183 and 1.918.
    ash = Wood(species="white ash")
    boat = solve(
        replace(DEMO, floor=replace(DEMO.floor, wood=ash), plank=replace(DEMO.plank, wood=ash))
    )
    floor, plank, along = wood(boat).movements
    assert (floor.least, floor.greatest) == (pytest.approx(2.907, abs=1e-3), pytest.approx(4.713, abs=1e-3))
    assert (plank.least, plank.greatest) == (pytest.approx(1.183, abs=1e-3), pytest.approx(1.918, abs=1e-3))
    # Sleeve 10 on bolt 8.
    assert "play takes up 2 mm" in floor.note
    # Along the grain it is nothing to speak of: 430 x 0.0015 / 30 x 4 = 0.086.
    assert along.greatest == pytest.approx(0.086)


def test_movement_of_an_unknown_wood_is_the_tables_range() -> None:
    # Least radial: white fir 0.00112; greatest tangential: yellow birch 0.00338; 430 x 4 x each.
    floor = wood(demo()).movements[0]
    assert (floor.least, floor.greatest) == (pytest.approx(1.926, abs=1e-3), pytest.approx(5.814, abs=1e-3))
    assert "range" in floor.source
