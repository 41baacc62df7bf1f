"""Shims held against published arcs and against vectors turned apart from the program.

Arc cases: two published calculator pages (chord 8, rise 2: radius 5; chord 10, rise 3: radius 5.667) and their inverse
(radius 10, chord 12: rise 2; radius 15, chord 20: rise 3.82).
"""

import math

import numpy as np
import pytest
from fitup_boats import both, repeats, whinchat

from templater.boat.solved import Side
from templater.fitup.readings import CrownGap, Seat, ShimReadings, Sides, Tilts, Toe
from templater.fitup.shim import ShimResult, sagitta, shims, toe_of_tilt


def shimmed(yaw: float = 0.0, **section: object) -> ShimResult:
    if isinstance(tilt := section.get("tilt"), Sides):
        section["tilt"] = Tilts(port=tilt.port, starboard=tilt.starboard)
    return shims(ShimReadings(**section), whinchat(), yaw)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("radius", "chord", "rise"), [(5.0, 8.0, 2.0), (17 / 3, 10.0, 3.0), (10.0, 12.0, 2.0), (15.0, 20.0, 3.8197)]
)
def test_the_gap_under_an_arc_is_its_rise(radius: float, chord: float, rise: float) -> None:
    assert sagitta(radius, chord / 2) == pytest.approx(rise, abs=5e-5)
    assert sagitta(math.inf, chord) == 0.0


def test_shims_fill_the_gap_of_the_crown_at_the_bolts() -> None:
    # Plank 2390 long with 38 mm crown: R = c^2 / 8h + h / 2 with c the chord, so the fall at 215 is 215^2 / 2R nearly.
    result = shimmed(least=2.0)
    radius = whinchat().plank.radius
    bolt = next(row for row in result.profile if row.y == 215.0)
    assert bolt.gap == pytest.approx(radius - math.sqrt(radius**2 - 215.0**2), abs=1e-9)
    assert bolt.gap == pytest.approx(215.0**2 / (2 * radius), rel=1e-3)
    assert bolt.thickness == pytest.approx(2.0 + bolt.gap)
    assert min(row.thickness for row in result.profile) == pytest.approx(2.0)
    for seat in result.seats:
        outer = seat.corners[0] if seat.side is Side.PORT else seat.corners[1]
        assert outer == pytest.approx(2.0 + radius - math.sqrt(radius**2 - 253.0**2), abs=1e-9)
        # ``least`` is the packing where plank and hull touch; a shim at its thinnest, 177 out, has that
        # arc's fall more: 177^2 / (2 x 18 783) = 0.834.
        assert min(seat.corners) == pytest.approx(2.834, abs=1e-3)
        # The plane bears on the seat's edges, and is thicker than the gap in the middle by some hundredths.
        assert 0 < seat.at_bolt - bolt.thickness < 0.05
    # The middle, the bolts, the edges of seats 76 wide about them, and half way in.
    assert [row.y for row in result.profile] == [-253, -215, -177, -88.5, 0, 88.5, 177, 215, 253]
    assert all(row.gap == row.arc_gap for row in result.profile)
    assert result.seats[0].at_bolt == result.seats[1].at_bolt
    assert result.seats[0].slope_y == -result.seats[1].slope_y


def test_a_hull_bottom_as_round_as_the_plank_needs_parallel_shims() -> None:
    radius = whinchat().plank.radius
    points = tuple((float(y), sagitta(radius, y)) for y in range(-300, 301, 2))
    rising = shimmed(least=3.0, hull_bottom=points)
    hollow = shimmed(least=3.0, hull_bottom=tuple((y, -z) for y, z in points))
    assert rising.seats[1].at_bolt - 3.0 == pytest.approx(2 * (shimmed(least=3.0).seats[1].at_bolt - 3.0), rel=1e-3)
    assert hollow.seats[1].at_bolt == pytest.approx(3.0, abs=1e-3)
    assert hollow.seats[1].slope_y == pytest.approx(0.0, abs=1e-5)


def test_a_plank_that_touches_outboard_leaves_its_gap_in_the_middle() -> None:
    # A bottom that falls 5 mm at 253 mm out, where the plank falls only 1.7 mm: contact there, 3.3 mm in the middle.
    result = shimmed(least=2.0, hull_bottom=((-253.0, -5.0), (0.0, 0.0), (253.0, -5.0)))
    assert min(row.gap for row in result.profile) == pytest.approx(0.0, abs=1e-9)
    middle = next(row for row in result.profile if row.y == 0.0)
    assert middle.gap == pytest.approx(5.0 - sagitta(whinchat().plank.radius, 253.0), abs=1e-9)


def test_measured_gaps_outrank_the_arc() -> None:
    places = (-250.0, -150.0, 0.0, 150.0, 250.0)
    gaps = tuple(CrownGap(at=y, gap=repeats([1e-5 * y * y + 0.6])) for y in places)
    result = shimmed(least=1.0, crown_gap=gaps)
    assert result.measured
    assert result.gap_sd == pytest.approx(0.0, abs=1e-9)
    port, starboard = result.seats
    assert starboard.corners[1] - 1.0 == pytest.approx(1e-5 * 253**2 + 0.6, abs=1e-6)
    assert port.corners[0] - 1.0 == pytest.approx(1e-5 * 253**2 + 0.6, abs=1e-6)


def test_four_gaps_are_enough_to_know_the_curve_and_three_are_not() -> None:
    # 1e-5 y squared and 0.6 mm, read 1 mm off the plank's arc at most: 1.24 mm at 253 mm out.
    places = (-250.0, -100.0, 150.0, 250.0)
    gaps = tuple(CrownGap(at=y, gap=repeats([1e-5 * y * y + 0.6])) for y in places)
    four, three = shimmed(least=1.0, crown_gap=gaps), shimmed(least=1.0, crown_gap=gaps[1:])
    assert four.seats[1].corners[1] - 1.0 == pytest.approx(1e-5 * 253**2 + 0.6, abs=1e-6)
    assert "T244" not in codes(four)
    radius = whinchat().plank.radius
    assert three.seats[1].corners[1] - 1.0 == pytest.approx(radius - math.sqrt(radius**2 - 253.0**2), abs=1e-9)
    assert "T244" in codes(three)


def codes(result: ShimResult) -> list[str]:
    return [finding.code for finding in result.findings]


def test_shims_are_equal_at_the_bolts_and_the_difference_of_the_readings_is_told() -> None:
    # By hand: 0.9 degrees over a plank 175 mm wide, its bolts in the middle, lift the bolt by 87.5 tan 0.9 = 1.37 mm;
    # bolts 430 mm and chock corners 2290 mm apart would set the runners 7.3 mm apart in height.
    result = shimmed(least=1.0, tilt=both([0.9], [0.0]))
    port, starboard = result.seats
    assert port.at_bolt == starboard.at_bolt
    assert result.difference == pytest.approx(-87.5 * math.tan(math.radians(0.9)), abs=1e-9)
    [finding] = [finding for finding in result.findings if finding.code == "T247"]
    assert "the port shim would be 1.4 mm thicker at the bolt and set one runner 7.3 mm lower" in finding.text
    # The tilt is still taken out on its own side, and no place is thinner than was asked.
    assert port.corners[0] - port.corners[2] == pytest.approx(175 * math.tan(math.radians(0.9)))
    assert starboard.corners[0] == pytest.approx(starboard.corners[2])
    assert min((*port.corners, *starboard.corners)) >= 1.0
    assert "T247" not in codes(shimmed(least=1.0, tilt=both([0.3], [0.0])))
    assert "T247" in codes(shimmed(least=1.0, tilt=both([0.35], [0.0])))


def test_a_plank_that_rocked_while_the_gaps_were_read_gives_the_shims_of_one_that_did_not() -> None:
    places = (-250.0, -150.0, 0.0, 150.0, 250.0)
    level, rocked = (
        shimmed(
            least=1.0,
            crown_gap=tuple(CrownGap(at=y, gap=repeats([1e-5 * y * y + slope * y + 0.6])) for y in places),
        )
        for slope in (0.0, 0.002)
    )
    assert [seat.at_bolt for seat in rocked.seats] == pytest.approx([seat.at_bolt for seat in level.seats], abs=1e-9)
    assert rocked.seats[0].corners == pytest.approx(level.seats[0].corners, abs=1e-9)
    assert rocked.difference == pytest.approx(0.002 * 430, abs=1e-9)
    assert "T247" in codes(rocked)
    assert "T247" not in codes(level)


def test_tilt_is_taken_out_by_a_wedge_thick_where_the_plank_stands_high() -> None:
    # tan 2 degrees over 175 mm is 6.11 mm.
    result = shimmed(least=2.0, tilt=both([2.0], [-2.0]))
    port, starboard = result.seats
    assert port.corners[0] - port.corners[2] == pytest.approx(175 * math.tan(math.radians(2)), abs=1e-9)
    assert starboard.corners[2] - starboard.corners[0] == pytest.approx(6.1111, abs=1e-3)
    flat = shimmed(least=2.0).seats[0]
    assert min(port.corners) == pytest.approx(min(flat.corners))
    assert "T242" in codes(result)


@pytest.mark.parametrize(("apart", "twisted"), [(0.99, False), (1.01, True)])
def test_a_plank_is_twisted_from_one_degree_between_its_ends(apart: float, twisted: bool) -> None:
    assert ("T242" in codes(shimmed(least=2.0, tilt=both([apart], [0.0])))) is twisted  # common practice, no source


@pytest.mark.parametrize(("tilt", "lean"), [(1.0, 3.5), (-2.0, 3.5), (5.0, 10.0), (0.0, 4.0)])
def test_toe_from_tilt_is_that_of_a_turned_vector(tilt: float, lean: float) -> None:
    # Axis of the starboard chock: outboard and down by the lean. Fore edge up: the bow (-x) rises towards +z.
    t = math.radians(tilt)
    turn = np.array([[math.cos(t), 0, math.sin(t)], [0, 1, 0], [-math.sin(t), 0, math.cos(t)]])
    assert (turn @ np.array([-1.0, 0, 0]))[2] == pytest.approx(math.sin(t))
    axis = turn @ np.array([0, math.cos(math.radians(lean)), -math.sin(math.radians(lean))])
    runner = np.cross(axis, [0, 0, 1.0])  # square to the axis and level
    aft = runner * np.sign(runner[0])
    assert toe_of_tilt(tilt, lean) == pytest.approx(math.degrees(math.atan2(aft[1], aft[0])), abs=1e-12)


def test_toe_read_between_the_runners_gives_back_the_tilt_that_made_it() -> None:
    lean = shimmed().chock_lean
    each = math.radians(toe_of_tilt(1.2, lean))
    toe = Toe(fore=repeats([2200.0]), aft=repeats([2200.0 + 2 * 900 * math.tan(each)]), apart=900.0)
    result = shimmed(yaw=0.1, least=2.0, toe=toe)
    assert result.toe is not None
    assert result.toe.tilt == pytest.approx(1.2, abs=1e-6)
    assert "T245" not in codes(result)
    assert result.seats[0].tilt == pytest.approx(1.2, abs=1e-6)
    assert result.toe.lead_port - result.toe.lead_starboard == pytest.approx(0.2, abs=1e-12)
    assert result.toe.total == pytest.approx(2 * math.degrees(each), rel=1e-9)


def test_the_plank_leans_at_the_chocks_as_its_arc_does() -> None:
    radius = whinchat().plank.radius
    assert math.sin(math.radians(shimmed().chock_lean)) == pytest.approx(1145 / radius, rel=1e-12)


def test_what_a_degree_of_tilt_and_a_millimetre_of_wedge_mean_at_the_runner() -> None:
    # On a seat of 175 mm, 1 degree is 175 tan 1 = 3.0546 mm, and 1 mm is atan(1 / 175) = 0.32740 degrees.
    degree, millimetre = shimmed().meanings
    assert (degree.tilt, degree.seat) == (1.0, pytest.approx(3.0546, abs=5e-5))
    assert (millimetre.tilt, millimetre.seat) == (pytest.approx(0.32740, abs=5e-6), pytest.approx(1.0))
    slope = 1145 / math.sqrt(whinchat().plank.radius ** 2 - 1145**2)
    for one in (degree, millimetre):
        toe = slope * math.sin(math.radians(one.tilt))
        assert (math.tan(math.radians(one.toe)), one.runner) == (pytest.approx(toe), pytest.approx(1000 * toe))


def test_toe_that_no_tilt_explains_is_refused() -> None:
    result = shimmed(least=2.0, toe=Toe(fore=repeats([1000.0]), aft=repeats([1100.0]), apart=900.0))
    assert result.toe is not None
    assert result.toe.tilt is None
    assert "T245" in [finding.code for finding in result.findings]
    assert result.seats[0].tilt == 0.0


def test_an_own_seat_is_taken() -> None:
    seat = shimmed(seat=Seat(length=100.0, width=50.0), least=1.0).seats[0]
    assert (seat.x0, seat.x1, seat.y0, seat.y1) == (-50.0, 50.0, -25.0, 25.0)
    assert seat.tilt == 0.0
