"""What the demo boat's holes take from the wood, reckoned by hand."""

import pytest
from bench_demo import DEMO, demo

from templater.boat.solve import solve
from templater.boat.solved import Boat
from templater.checks.wood import Distance, guide_findings, guides, movements, section
from templater.description.keys import Wood


def guide(boat: Boat, what: str, way: str) -> Distance:
    return next(row for row in guides(boat) if (row.guide.what, row.guide.way) == (what, way))


def test_section_left_at_the_planks_bolts() -> None:
    # (175 - 8) / 175; plug 24: (24 - 8) / 2 = 8; plug gone: (175 - 24) / 175.
    ids, *_, left, without, wall = section(demo())
    assert (ids, wall) == (("KP", "KS"), 8)
    assert (left, without) == (pytest.approx(0.95429, abs=1e-5), pytest.approx(0.86286, abs=1e-5))
    solid = section(solve(DEMO.changed(plank=DEMO.plank.changed(solid_at_bolts=None))))
    assert solid[-2:] == ("solid", None)


def test_plank_guides() -> None:
    # EN 1995-1-1:2004, table 8.4. End: 2390 / 2 - 215 (a little more along the face), against 7 x 8 = 56, at least 80.
    # Edge: 87.5 against 4 x 8.
    end = guide(demo(), "bolts in the plank", "from the plank's ends")
    edge = guide(demo(), "bolts in the plank", "from the plank's fore edge")
    assert (end.guide.least, edge.guide.least, edge.measured) == (80, 32, 87.5)
    assert end.measured == pytest.approx(980, abs=0.5)
    assert end.met
    assert edge.diameters == pytest.approx(10.94, abs=0.005)


def test_floor_guides() -> None:
    # Common practice, no source: 3 x 18 = 54 from sleeve hole to sleeve hole, of which one setting's carry the bolt.
    sleeves = guide(demo(), "bolt holes", "from one another")
    assert (sleeves.measured, sleeves.guide.least, sleeves.met) == (pytest.approx(55), 54, True)
    # First and second set of screws 4.5 stand 30 - 16 = 14 apart, against 3 x 4.5 (table 8.2, predrilled).
    screws = guide(demo(), "plate screws", "from one another")
    assert (screws.measured, screws.guide.least, screws.met) == (pytest.approx(14), 13.5, True)


def test_a_missed_guide_is_a_row_and_a_finding_of_the_same_figures() -> None:
    close = solve(DEMO.changed(fixing=DEMO.fixing.changed(half_spread=262.0)))
    row = guide(close, "bolt holes", "from the floor's edge")
    finding = next(one for one in guide_findings(close) if one.code == "F111")
    assert not row.met
    assert f"{row.measured:.1f} mm" in finding.text
    assert f"guide: {row.guide.least:g} mm" in finding.text


def test_screws_in_a_thin_floor_locate_rather_than_carry() -> None:
    # Thread in the wood 9.8 (see the hardware test) against 6 x 4.5 = 27.
    depth = guide(demo(), "plate screws:", "thread in the wood")
    assert (depth.measured, depth.guide.least, depth.met) == (pytest.approx(9.8), 27, False)


def test_distances_to_the_outline() -> None:
    # Setting at the limit: 2350 - 4 - 6 = 2340; the aft edge lies at 2450: 110 to the end, against 7 x 8, at least 80.
    end = guide(demo(), "bolt holes", "from the floor's end")
    assert (end.measured, end.guide.least) == (pytest.approx(110), 80)
    # Side from (1980, 325) to (2450, 300): at 2340, y = 325 - 25 x 360 / 470 = 305.851; 90.851 x 470 / 470.664.
    # A hole of 18 asks for 54, more than 4 x 8.
    side = guide(demo(), "bolt holes", "from the floor's edge")
    assert (side.measured, side.guide.least) == (pytest.approx(90.723, abs=1e-3), 54)


def test_movement_with_moisture() -> None:
    # GTR-190, chapter 13: white ash, 4 %: 430 x 4 x 0.00169 = 2.907 and x 0.00274 = 4.713; 175 wide: 1.183 and 1.918.
    ash = Wood(species="white ash")
    boat = solve(DEMO.changed(floor=DEMO.floor.changed(wood=ash), plank=DEMO.plank.changed(wood=ash)))
    floor, plank, along = (row[2:5] for row in movements(boat))
    # Sleeve 10 on bolt 8.
    assert floor == (pytest.approx(2.907, abs=1e-3), pytest.approx(4.713, abs=1e-3), 2)
    assert plank == (pytest.approx(1.183, abs=1e-3), pytest.approx(1.918, abs=1e-3), None)
    # Along the grain it is nothing to speak of: 430 x 0.0015 / 30 x 4 = 0.086.
    assert along[1] == pytest.approx(0.086)


def test_a_wood_that_is_not_named_is_taken_for_softwood() -> None:
    # Least radial: white fir 0.00112; greatest tangential: Douglas-fir 0.00267; 430 x 4 x each.
    _, _, least, greatest, _, source = next(movements(demo()))
    assert (least, greatest) == (pytest.approx(1.926, abs=1e-3), pytest.approx(4.592, abs=1e-3))
    assert "softwood assumed" in source


def test_plywood_hardly_moves_and_has_no_end_of_the_grain() -> None:
    # From memory: 0.00015 both ways; 430 x 4 x 0.00015 = 0.258. Solid wood asks for 80 mm to the floor's end.
    boat = solve(DEMO.changed(floor=DEMO.floor.changed(wood=Wood(species="plywood"))))
    assert next(movements(boat))[3] == pytest.approx(0.258)
    assert {row.guide.way for row in guides(boat) if row.guide.what == "bolt holes"} == {
        "from one another", "from the floor's edge",
    }  # fmt: skip
