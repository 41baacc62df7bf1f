"""What the builder is told about one round of squaring."""

import math
import re
import statistics

import pytest
from fitup_boats import Builder, attempt, both, point_pair, readings, whinchat

from templater.boat.solved import Boat, Side, plain
from templater.description.keys import Bolt, Plate, Sleeve, Slot
from templater.findings import ReadingsError
from templater.fitup.misread import explain, suspects, swapped
from templater.fitup.rig import Surroundings, Verdict, rig_of
from templater.fitup.square import SquareResult, square
from templater.reader.values import Reading, Repeats
from templater.report.blocks import lines
from templater.report.fitup import advice, attempt_table, verdict
from templater.units import Figures, plus_minus

MM, BOTH = Figures(), Figures("both", parts="in")


def square_lines(result: SquareResult, figures: Figures = MM) -> list[str]:
    return lines(attempt_table(result, figures), figures)


def squared(builder: Builder, scatter: tuple[float, ...] = (-0.4, 0.0, 0.4), **more: object) -> SquareResult:
    tape = both(*([builder.tape(side) + e for e in scatter] for side in Side))
    turn = attempt(tape, builder.first, **more)
    return square(turn, whinchat(), readings(turn))


def codes(result: SquareResult) -> list[str]:
    return [finding.code for finding in result.findings]


def test_a_square_plank_passes_and_is_left_alone() -> None:
    result = squared(Builder(0.0), (-0.1, 0.0, 0.1))
    assert result.passed
    assert result.sure
    assert advice(result, MM) == "nothing"
    assert codes(result) == []


def test_the_free_end_goes_forward_when_it_lies_aft() -> None:
    result = squared(Builder(0.3, Side.PORT))
    assert not result.passed
    assert result.free_side is Side.STARBOARD
    assert advice(result, MM).startswith("move the starboard end 7.1 mm forward")
    assert "port end then goes 4.9 mm aft" in advice(result, MM)
    assert result.free_bolt_aft == pytest.approx(-430 * math.sin(math.radians(0.3)), abs=1e-6)
    mirrored = squared(Builder(-0.3, Side.STARBOARD))
    assert advice(mirrored, MM).startswith("move the port end 7.1 mm forward")


def test_a_steering_post_off_the_centreline_makes_square_tapes_differ() -> None:
    # Post 6 mm to starboard, plank square: by Pythagoras sqrt(2346^2 + 1139^2 + 85^2) less sqrt(2346^2 + 1151^2 + 85^2)
    # is -5.3 mm.
    port, starboard = (math.sqrt(2346.0**2 + (1145.0 - side * 6.0) ** 2 + 85.0**2) - 20.0 for side in (-1, 1))
    assert starboard - port == pytest.approx(-5.26, abs=5e-3)
    turn = attempt(both([port] * 3, [starboard] * 3))
    result = square(turn, whinchat(), readings(turn), Surroundings(post=6.0, post_sd=0.3))
    assert result.passed
    assert result.aim_difference == pytest.approx(starboard - port, abs=1e-6)
    assert (result.aim_port, result.aim_starboard) == pytest.approx((port, starboard), abs=1e-6)
    assert result.yaw == pytest.approx(0.0, abs=1e-6)
    assert result.yaw_95 > math.degrees(1.9 * 0.3 / 2346)
    # Without the offset the same readings would turn a square plank.
    assert not square(turn, whinchat(), readings(turn)).passed


def test_the_tape_then_reads_what_it_was_told_to_read() -> None:
    result = squared(Builder(0.8, ring=50.0), (0.0,))
    true = Builder(0.0, ring=50.0)
    assert result.aim_port == pytest.approx(true.tape(Side.PORT), abs=1e-6)
    assert result.aim_starboard == pytest.approx(true.tape(Side.STARBOARD), abs=1e-6)


def test_out_of_tolerance_is_a_millimetre_unless_told_otherwise() -> None:
    # 1 mm of tape difference is about 0.028 degrees.
    assert squared(Builder(0.025)).passed
    assert not squared(Builder(0.03)).passed


def test_within_tolerance_but_not_for_sure_is_said() -> None:
    result = squared(Builder(0.025), (-1.0, 0.0, 1.0))
    assert result.passed
    assert not result.sure
    (said,) = (finding.text for finding in result.findings if finding.code == "T222")
    assert "and measure off_centre" in said
    measured = squared(Builder(0.025), (-1.0, 0.0, 1.0), off_centre=both([1145.0], [1145.0]))
    (said,) = (finding.text for finding in measured.findings if finding.code == "T222")
    assert "off_centre" not in said


def test_a_hooked_reading_is_left_out_where_two_remain() -> None:
    builder = Builder(0.0)
    tape = both([builder.tape(Side.PORT) + e for e in (0, 10.2, 0.3)], [builder.tape(Side.STARBOARD) + 3.5] * 3)
    result = square(attempt(tape), whinchat(), readings(attempt(tape)))
    # With the slip in, the means would agree within 0.1 mm: it would hide an error of the other side.
    assert result.excess == pytest.approx(3.5 - 0.15, abs=1e-9)
    assert result.difference == pytest.approx(3.5 - 0.15 + builder.tape(Side.STARBOARD) - builder.tape(Side.PORT))
    assert (result.decided, result.left_out, result.passed) == (True, 1, False)
    assert "out of tolerance, 1 suspect reading left out" in verdict(result)
    [finding] = [finding for finding in result.findings if finding.code == "T220"]
    assert "reading 2" in finding.text
    assert "10 mm mark" in finding.text
    assert finding.text.endswith("; left out")
    assert finding.key == "square.port"
    # The table of readings tells what the result rests on, not the slip.
    port = result.repeatability[0]
    assert (port.number, port.mean) == (2, pytest.approx(builder.tape(Side.PORT) + 0.15))


@pytest.mark.parametrize("port", [(0, 10.2), (0, 10.2, 20.4)])
def test_where_too_few_readings_remain_nothing_is_advised(port: tuple[float, ...]) -> None:
    builder = Builder(0.0)
    tape = both([builder.tape(Side.PORT) + e for e in port], [builder.tape(Side.STARBOARD)] * 3)
    result = square(attempt(tape), whinchat(), readings(attempt(tape)))
    assert (result.decided, result.passed) == (False, False)
    text = "\n".join(square_lines(result))
    assert "not decided: a reading is suspect, read it again" in text
    assert not re.search("move|second hole|tape should|turn of", text)
    assert all("not decided: read it again" in f.text for f in result.findings if f.code == "T220")
    assert "T221" not in codes(result)


def test_figures_that_no_plank_can_give_are_refused_with_what_to_expect() -> None:
    # By hand: sqrt(2346^2 + 1145^2 + 85^2) = 2611.9, less the post's radius of 16 mm: 2595.9 mm.
    for values in ((274.55, 274.4), (2746.0, 5.0), (5000.0, 2595.0)):
        turn = attempt(both([values[0]], [values[1]]))
        with pytest.raises(ReadingsError, match=r"about 2595\.9 mm from the steering post's surface .*T214"):
            square(turn, whinchat(), readings(turn))
    # 700 mm short on both sides: no ring is that long.  150 mm too much: no ring reaches beyond the post.
    for ring in (700.0, -150.0):
        builder = Builder(0.0, ring=ring)
        turn = attempt(both(*([builder.tape(side)] for side in Side)))
        with pytest.raises(ReadingsError, match=r"about 2595\.9 mm from the steering post's surface .*T214"):
            square(turn, whinchat(), readings(turn))
        stated = turn.changed(ring=ring + 20.0)
        assert square(stated, whinchat(), readings(stated)).ring == pytest.approx(ring)
        wrong = turn.changed(ring=ring + 30.0)
        # The tape should show the slant, 2611.9 mm, less what the ring takes up: 1881.9 mm and 2731.9 mm.
        expected = rf"but ring is .* about {2611.9 - ring - 30.0:.1f} mm with that ring"
        with pytest.raises(ReadingsError, match=expected):
            square(wrong, whinchat(), readings(wrong))


def test_an_odd_ring_that_no_setting_explains_is_asked_about() -> None:
    assert "T229" in codes(squared(Builder(0.0, ring=300.0)))
    assert "T229" in codes(squared(Builder(0.0, ring=-80.0)))
    assert "T229" not in codes(squared(Builder(0.0, ring=300.0), ring=300.0))


def test_the_end_that_need_not_move_is_said_to_stay() -> None:
    # 0.06 mm at the free corner, 1360 mm from the first bolt, is 0.04 mm at the other, 930 mm from it.
    result = squared(Builder(math.degrees(math.asin(0.06 / 1360))), (0.0,))
    assert advice(result, MM).endswith("the port end stays where it is")
    assert advice(result, MM) in "".join(square_lines(result))


def test_of_one_reading_a_side_no_scatter_is_claimed() -> None:
    text = verdict(squared(Builder(0.0), (0.0,)))
    assert text.endswith("(not sure: one reading a side says nothing of the scatter)")
    scattered = verdict(squared(Builder(0.025), (-1.0, 0.0, 1.0)))
    assert scattered.endswith("(not sure: the readings scatter too much)")


def test_moves_are_given_in_inches_too_for_a_boat_in_inches() -> None:
    # 7.1 mm is 0.28 in, nearest 9/32 (0.28125); 4.9 mm is 0.19 in, nearest 3/16 (0.1875).
    result = squared(Builder(0.3))
    assert advice(result, BOTH).startswith("move the starboard end 7.1 mm (9/32 in) forward")
    assert "port end then goes 4.9 mm (3/16 in) aft" in advice(result, BOTH)
    text = "\n".join(square_lines(result, BOTH))
    assert advice(result, BOTH) in text
    assert "(0 in)" not in text
    assert "in)" not in "\n".join(square_lines(result))
    assert advice(result, Figures("in")).startswith("move the starboard end 0.280 in forward")


def test_swapped_figures_are_suggested() -> None:
    assert swapped("2319") == ("3219", "2139", "2391")
    assert swapped("2259") == ("2529", "2295")
    assert swapped("259.1") == ("529.1", "295.1", "251.9")
    assert explain(Reading(2519.0, "2519"), 2591.4) == "two figures swapped: 2591 written as 2519"
    assert explain(Reading(25.4 * 48, "48", 25.4), 25.4 * 84.0) == "two figures swapped: 84 written as 48"
    assert explain(Reading(2600.0, "2600"), 2530.0) == ""


def test_of_three_readings_only_the_odd_one_is_suspect() -> None:
    repeats = Repeats(tuple(Reading(v, f"{v:g}") for v in (2591.0, 2519.0, 2591.5)))
    assert [index for index, _, _ in suspects(repeats)] == [1]
    assert suspects(Repeats((Reading(2591.0, "2591"),))) == ()
    agreeing = Repeats(tuple(Reading(v, f"{v:g}") for v in (2590.0, 2591.0, 2592.0)))
    assert suspects(agreeing) == ()


def test_of_two_that_differ_both_are_named() -> None:
    repeats = Repeats((Reading(2591.0, "2591"), Reading(2601.0, "2601")))
    assert [index for index, _, _ in suspects(repeats)] == [0, 1]


def test_a_whole_side_that_may_be_hooked_is_asked_about() -> None:
    builder = Builder(0.0)
    tape = both([builder.tape(Side.PORT) + 10] * 3, [builder.tape(Side.STARBOARD)] * 3)
    assert "T228" in codes(square(attempt(tape), whinchat(), readings(attempt(tape))))


def test_poor_repeats_are_called_poor() -> None:
    assert "T223" in codes(squared(Builder(0.0), (-1.5, 0.0, 1.5)))
    assert "T223" not in codes(squared(Builder(0.0), (-0.7, 0.0, 0.7)))


def test_readings_of_the_wrong_setting_are_noticed() -> None:
    builder = Builder(0.0, station=2230.0, ring=10.0)
    assert "T225" in codes(squared(builder))
    assert "setting 1 or 2 would fit better" in next(f.text for f in squared(builder).findings if f.code == "T225")
    assert "T225" not in codes(squared(Builder(0.0, ring=10.0)))


@pytest.mark.parametrize("setting", [0, 4])
def test_an_unknown_setting_is_refused(setting: int) -> None:
    turn = attempt(both([2591], [2591]), setting=setting)
    with pytest.raises(ReadingsError, match="allowed: 1, 2, 3"):
        square(turn, whinchat(), readings(turn))


def test_impossible_readings_are_refused() -> None:
    turn = attempt(both([2000], [3500]))
    with pytest.raises(ReadingsError, match="T212"):
        square(turn, whinchat(), readings(turn))


def test_a_description_without_chock_corners_is_refused() -> None:
    boat = whinchat()
    plank = boat.description.plank.changed(chock_corners=None)
    bare = boat._replace(description=boat.description.changed(plank=plank))
    turn = attempt(both([2591], [2591]))
    with pytest.raises(ReadingsError, match="T210"):
        square(turn, bare, readings(turn))


def test_the_free_bolts_room_is_that_of_slot_and_sleeve() -> None:
    # M8 in a slot 8.5 wide and 16 long, sleeve 10: 0.5 mm fore and aft, 2 mm athwart.
    boat = whinchat()
    assert (rig_of(boat, 3).room(0, 0).play_fore_aft, rig_of(boat, 3).room(0, 0).play_athwart) == (0.5, 2.0)
    assert rig_of(boat, 3).room(0.25, 0.0).verdict is Verdict.FITS
    assert rig_of(boat, 3).room(0.3, 0.0).verdict is Verdict.DEPENDS
    assert rig_of(boat, 3).room(0.6, 0.0).verdict is Verdict.TOO_FAR
    assert rig_of(boat, 3).room(0.0, 1.1).verdict is Verdict.DEPENDS


def with_fixing(**changes: object) -> Boat:
    boat = whinchat()
    description = boat.description
    return boat._replace(description=description.changed(fixing=description.fixing.changed(**changes)))


def test_play_in_the_planks_own_hole_counts_and_a_wide_slot_gives_no_more_than_the_sleeve() -> None:
    # A hole of 8.4 mm for M8 adds 0.4 mm both ways. A slot 12 wide in a 10 mm sleeve still leaves 2 mm.
    loose = rig_of(with_fixing(bolt=Bolt(thread="M8", hole=8.4)), 3).room(0, 0)
    assert (loose.play_fore_aft, loose.play_athwart) == pytest.approx((0.9, 2.4))
    plate = Plate(length=46.0, width=76.0, thickness=3.0, slot=Slot(length=16.0, width=12.0))
    wide = rig_of(with_fixing(plate=plate), 3).room(0, 0)
    assert (wide.play_fore_aft, wide.play_athwart) == (2.0, 2.0)
    # Without a sleeve the floor's hole is the bolt's size: no slot gives play there.
    bare = rig_of(with_fixing(sleeve=None), 3).room(0, 0)
    assert (bare.play_fore_aft, bare.play_athwart) == (0.0, 0.0)


def test_a_bolt_without_play_is_told_as_such() -> None:
    # M8 in a sleeve of 8 mm and a plank's hole of 8 mm; a hundredth of a mm more cannot be felt.
    for bore in (8.0, 8.01):
        boat = with_fixing(sleeve=Sleeve(outer=18.0, inner=bore))
        assert boat.play == (0.0, 0.0, 0.0, 0.0)
    turn = attempt(both(*([Builder(0.1).tape(side)] for side in Side)))
    result = square(turn, boat, readings(turn))
    assert "has no play" in next(one.text for one in result.findings if one.code == "T226")
    assert "; no play fore and aft: does not fit" in "\n".join(square_lines(result))


def test_chocks_that_stand_unevenly_are_squared_by_their_corners() -> None:
    # Starboard corner 3 mm further aft on the plank: square corners need the plank turned forward to starboard, and
    # the second hole then lies aft of the bolt line by 430 * 3 / 2290.
    aim = math.atan2(-3.0, 2290.0)
    chocks = both([6.0], [9.0])
    result = squared(Builder(math.degrees(aim)), (0.0,), chock_aft=chocks)
    assert result.second_hole.x == pytest.approx(-430 * math.sin(aim), abs=1e-9)
    assert result.second_hole.x == pytest.approx(0.563, abs=1e-3)
    level = squared(Builder(0.0), (0.0,))
    assert level.second_hole.x == 0.0
    assert level.second_hole.y == pytest.approx(whinchat().plank.hole_along, abs=1e-9)


def test_further_readings_that_disagree_are_reported_with_the_worst() -> None:
    builder = Builder(0.0)
    stern = [abs(complex(3500.0, side.sign * 280.0) - builder.corner(side)) for side in Side]
    wrong = point_pair(both([stern[0] + 8], [stern[1]]))
    result = squared(builder, further=(wrong,))
    (said,) = (finding.text for finding in result.findings if finding.code == "T224")
    # The tapes, read three times, decide on the yaw. Of the stern's 8 mm each side is left with half, give or take.
    assert re.search(r"the worst is stern port, \+[34]\.\d mm", said), said
    # The interval is widened by the misfit, so that it does not claim what the readings do not bear out.
    assert result.p is not None
    assert result.yaw_95 > 2 * squared(builder).yaw_95
    right = point_pair(both([stern[0]], [stern[1]]))
    assert "T224" not in codes(squared(builder, further=(right,)))
    # With the plank's middle unknown by a millimetre the tapes are as sure of it as before, or less, for the misfit.
    tape = both(*([builder.tape(side) + e for e in (-0.4, 0.0, 0.4)] for side in Side))
    doubts = []
    for pair in (right, wrong):
        turn = attempt(tape, further=(pair,))
        doubts.append(square(turn, whinchat(), readings(turn), Surroundings(centring=1.0)).off_centre_sd)
    assert doubts[1] > 2 * doubts[0]


def test_lines_and_data_tell_the_same() -> None:
    result = squared(Builder(0.3))
    text = "\n".join(square_lines(result))
    assert "out of tolerance" in text
    assert "move the starboard end 7.1 mm forward" in text
    assert "(101 31/32 in)" in "\n".join(square_lines(result, BOTH))
    data = plain(result)
    assert data["yaw"] == pytest.approx(result.yaw, abs=1e-6)
    assert data["free_side"] == "starboard"
    assert data["room"]["verdict"] == "too far"


def test_an_interval_is_rounded_up() -> None:
    assert plus_minus(1.04, 0.11) == "1.0 ± 0.2"
    assert plus_minus(-0.04, 0.2) == "0.0 ± 0.2"


def test_repeats_have_the_scatter_of_any_text_and_a_single_reading_has_none() -> None:
    first, *_ = squared(Builder(0.0), (-1.0, 0.0, 0.4)).repeatability
    assert (first.name, first.side, first.number) == ("tape", Side.PORT, 3)
    assert (first.sd, first.spread) == (pytest.approx(statistics.stdev((-1.0, 0.0, 0.4))), pytest.approx(1.4))
    assert squared(Builder(0.0), (0.0,)).repeatability[0].sd is None


def test_repeats_count_by_side() -> None:
    tape = both([1.0], [2.0, 4.0])
    assert tape.side(Side.STARBOARD).mean == 3.0
    assert tape.side(Side.STARBOARD).sum_of_squares == 2.0


def test_a_plank_measured_far_off_centre_is_refused_for_that_and_not_for_its_turn() -> None:
    # Off-centre readings 3 m apart, against tapes to the stern corners that all but agree: the fit goes on until its
    # steps are those of rounding alone. A bolt may stand (2388 / 2 - 215) mm off centre before it leaves the plank.
    stern = point_pair(both([1442.0, 1442.5], [1451.0, 1451.0]))
    off = both([1144.5, 1145.0, 1144.0], [4144.5, 4145.5, 4146.0])
    for tape in (2525.0, 2526.0, 2526.5):
        turn = attempt(both([2527.0] * 2, [tape] * 3), setting=1, off_centre=off, further=(stern,))
        with pytest.raises(ReadingsError, match=r"off centre - allowed: under 979 mm .*T213"):
            square(turn, whinchat(), readings(turn))


def test_readings_that_are_all_alike_are_no_better_than_the_tape_is_read() -> None:
    # JCGM 100:2008, F.2.2.1: what is read to d has at least a standard uncertainty of d / sqrt 12.
    turn = attempt(both(*([Builder(0.0).tape(side)] * 3 for side in Side)))
    assert square(turn, whinchat(), readings(turn, step=0.5)).reading_sd == pytest.approx(0.5 / math.sqrt(12))
