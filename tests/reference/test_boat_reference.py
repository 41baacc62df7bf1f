"""The solved boat against sums worked by hand, space geometry and the trade's own habits."""

import math

import hand_boat
import pytest

from templater.boat.solve import solve
from templater.boat.solved import Side
from templater.description.keys import ChockCorners, Settings, SteeringPost
from templater.units import mm_text, parse_length


def test_stations_worked_by_hand() -> None:
    # 2350 greatest - 4 kept inside - 6 from bolt line to runner pivot = 2340; then 55 forward of it, twice.
    boat = solve(hand_boat.WHINCHAT)
    assert [s.station for s in boat.settings] == [2230, 2285, 2340]
    assert [s.runner_base for s in boat.settings] == [2236, 2291, 2346]
    assert [s.to_max for s in boat.settings] == [114, 59, 4]
    assert [s.to_min for s in boat.settings] == [56, 111, 166]


def test_settings_60_mm_apart_put_the_middle_one_65_mm_inside_the_limit() -> None:
    # Common practice, no source: the pivot is kept 5 mm inside the limit; settings 60 mm apart are measured from the
    # middle one, which so stands 60 mm + 5 mm inside.
    rule = hand_boat.WHINCHAT.rule.changed(keep_inside=5.0)
    description = hand_boat.fixing(settings=Settings(count=3, pitch=60.0)).changed(rule=rule)
    fore, middle, aft = solve(description).settings
    assert aft.to_max == 5
    assert middle.to_max == 65
    assert middle.station - fore.station == aft.station - middle.station == 60


def test_a_half_spread_of_eight_inches_is_marked_as_203_mm() -> None:
    # Common practice, no source; 8 x 25.4 = 203.2 by the inch's definition.
    boat = solve(hand_boat.fixing(half_spread=parse_length("8 in")))
    assert mm_text(boat.holes[1].at[1], 0) == "203"
    assert {round(abs(hole.at[1]), 9) for hole in boat.holes if hole.id in ("P1", "S1", "P3", "S3")} == {203.2}


def test_equal_lengths_from_both_ends_meet_midway_between_two_marks() -> None:
    # Common practice, no source: measured alike from both ends, two marks that do not meet have the centre midway.
    boat = solve(hand_boat.WHINCHAT)
    length, reach = 2390.0, 1200.0
    marks = (-length / 2 + reach, length / 2 - reach)
    assert sum(marks) / 2 == 0
    places = {hole.id: hole.at[1] for hole in boat.holes}
    assert places["KP"] + places["KS"] == 0
    assert boat.plank.end_to_hole == pytest.approx(length / 2 - places["KS"])


def test_tape_figures_are_distances_in_space() -> None:
    # Corner and post as points of space, x aft, y to starboard, z up from the floor's upper face.
    corners = ChockCorners(apart=2290.0, aft_of_bolts=6.0, below_floor=60.0)
    description = hand_boat.plank(chock_corners=corners).changed(
        steering_post=SteeringPost(diameter=32.0, tape_height=12.0),
    )
    boat = solve(description)
    for figure, station in zip(boat.tape, (2230.0, 2285.0, 2340.0), strict=True):
        corner, axis = (station + 6.0, 1145.0, -60.0), (0.0, 0.0, 12.0)
        level = math.dist(corner[:2], axis[:2])
        post = (16 * corner[0] / level, 16 * corner[1] / level, 12.0)
        assert figure.level == pytest.approx(level, abs=1e-9)
        assert figure.drop == 72
        assert figure.slant == pytest.approx(math.dist(corner, axis), abs=1e-9)
        assert figure.slant_from_post == pytest.approx(math.dist(corner, post), abs=1e-9)
        assert figure.slope_correction == pytest.approx(figure.slant - level, abs=1e-9)
        # The survey rule for gentle slopes, drop^2 / (2 L), from memory.
        assert figure.slope_correction == pytest.approx(72**2 / (2 * level), rel=1e-3)
        assert math.tan(math.radians(figure.slope)) == pytest.approx(72 / level)


def test_a_right_triangle_of_whole_numbers_as_the_tape_reads_it() -> None:
    # Level 20-21-29 hundredfold, drop so that the slant closes 2900-660-2974.155342 (square root by hand).
    stations = Settings(stations=(2000.0,))
    corners = ChockCorners(apart=4200.0, aft_of_bolts=0.0, below_floor=660.0)
    description = hand_boat.plank(chock_corners=corners).changed(
        rule=None,
        fixing=hand_boat.WHINCHAT.fixing.changed(settings=stations),
    )
    (figure,) = solve(description).tape
    assert figure.level == pytest.approx(2900, abs=1e-9)
    assert figure.slant == pytest.approx(2974.155342, abs=1e-6)


def test_plank_that_is_the_worked_arc() -> None:
    # Chord 2400, rise 60: R = 12 030, arc 2403.998002 (R = c^2/(8h) + h/2, arc = 4 R atan(2h/c)).
    plank = solve(hand_boat.plank(length=2403.998002, crown=60.0)).plank
    assert plank.chord == pytest.approx(2400, abs=2e-6)
    assert plank.radius == pytest.approx(12030, rel=2e-6)
    # By hand, x = 215/12030: asin x = x + x^3/6 + 3 x^5/40 = 0.0178729382 rad = 1.024044 degrees.
    assert plank.hole_along == pytest.approx(12030 * 0.0178729382, abs=1e-5)
    assert plank.lean == pytest.approx(1.024044, abs=1e-5)


def test_a_hole_square_to_the_face_comes_out_nearer_the_middle_below() -> None:
    # The normal at the bolt laid out as a line from the centre of the circle, cut by the level of the hole's foot.
    boat = solve(hand_boat.WHINCHAT)
    radius, x, thickness = boat.plank.radius, 215.0, 34.0
    top = math.sqrt(radius**2 - x**2)
    foot = x * (top - thickness) / top
    assert boat.plank.lean_shift == pytest.approx(x - foot, abs=1e-9)
    assert 0 < foot < x


def test_check_distances_are_those_of_a_rectangle() -> None:
    # Taped distances agree to +-1 mm (common practice, no source), so the figures must be far better. By hand:
    # sqrt(430^2 + 110^2).
    distances = {(d.a, d.b): d for d in solve(hand_boat.WHINCHAT).distances}
    assert distances["P1", "S3"].distance == pytest.approx(443.846821, abs=1e-6)
    assert distances["S1", "P3"].distance == distances["P1", "S3"].distance
    assert distances["P1", "S2"].distance == pytest.approx(math.sqrt(430**2 + 55**2), abs=1e-9)
    assert distances["P2", "S2"].distance == 430
    assert distances["P2", "P3"].distance == distances["S1", "S2"].distance == 55
    # The tape is held taut over the crown: twice the half spread, not the 430.009 along the face.
    assert distances["KP", "KS"].distance == 430
    assert {d.kind for d in distances.values()} == {"across", "along", "diagonal"}
    assert len(distances) == 3 + 4 + 6 + 1


def test_sides_mirror_one_another() -> None:
    boat = solve(hand_boat.WHINCHAT)
    by_side = {
        side: {h.id[1:]: h.at for h in boat.holes if h.side is side and not h.id.startswith("K")} for side in Side
    }
    assert by_side[Side.PORT].keys() == by_side[Side.STARBOARD].keys()
    assert len(by_side[Side.PORT]) == 3 * 9
    for name, (x, y) in by_side[Side.STARBOARD].items():
        assert by_side[Side.PORT][name] == (x, -y)
