import cmath
import math

import hand_boat
import pytest

from templater.boat.solve import solve
from templater.boat.solved import HoleKind, Side, plain
from templater.description.keys import (
    Bolt,
    Description,
    Fitting,
    HoleCircle,
    HoleRow,
    Pattern,
    Settings,
    Sleeve,
    Surface,
)
from templater.findings import DescriptionError, Location


def with_fittings(*fittings: Fitting) -> Description:
    return hand_boat.WHINCHAT.changed(fittings=fittings)


def fitting_places(pattern: Pattern, *, on: Surface = Surface.FLOOR, rotate: float = 0.0, mirror: bool = False) -> dict:
    fitting = Fitting(name="eye", on=on, at=(100.0, 50.0), pattern=pattern, drill=5.0, rotate=rotate, mirror=mirror)
    boat = solve(with_fittings(fitting))
    return {hole.id: (round(hole.at[0], 9), round(hole.at[1], 9)) for hole in boat.holes if hole.name == "eye"}


@pytest.mark.parametrize(
    ("limit", "count", "stations"),
    [
        ("aft", 3, [2220, 2280, 2340]),
        ("fore", 3, [2178, 2238, 2298]),  # 2180 + 4 - 6, for the foremost
        ("fore", 1, [2178]),
        ("aft", 1, [2340]),
    ],
)
def test_the_chosen_setting_stands_at_the_limit(limit: str, count: int, stations: list[float]) -> None:
    boat = solve(hand_boat.fixing(settings=Settings(count=count, pitch=60.0, at_limit=limit)))
    assert [s.station for s in boat.settings] == stations
    assert [s.number for s in boat.settings] == list(range(1, count + 1))
    assert [s.station for s in boat.settings if s.at_limit] == ([2340] if limit == "aft" else [])


def test_stations_as_given_are_sorted_and_remember_their_place_in_the_text() -> None:
    boat = solve(hand_boat.fixing(settings=Settings(stations=(2340.0, 2200.0, 2260.0))))
    assert [s.station for s in boat.settings] == [2200, 2260, 2340]
    assert [s.key.rpartition(".")[2] for s in boat.settings] == ["1", "2", "0"]
    assert [s.at_limit for s in boat.settings] == [False, False, True]


def test_stations_as_given_short_of_the_limit_are_not_said_to_stand_at_it() -> None:
    assert not any(s.at_limit for s in solve(hand_boat.fixing(settings=Settings(stations=(2200.0, 2330.0)))).settings)
    # 2340 to the last decimal that is printed.
    near = solve(hand_boat.fixing(settings=Settings(stations=(2339.94, 2339.96, 2340.04, 2340.06)))).settings
    assert [s.at_limit for s in near] == [False, True, True, False]


def test_bolts_reach_as_far_as_half_the_plank_s_chord() -> None:
    # An arc of 2390 that rises 38: half its angle is 4 x 38 / 2390 nearly, its chord 2390 (1 - 0.0636^2 / 6) = 2388.4.
    assert solve(hand_boat.fixing(half_spread=1194.0)).plank.chord == pytest.approx(2388.4, abs=0.05)
    with pytest.raises(DescriptionError, match=r"P102"):
        solve(hand_boat.fixing(half_spread=1194.3))


def test_without_a_rule_stations_stand_alone() -> None:
    boat = solve(hand_boat.fixing(settings=Settings(stations=(2200.0,))).changed(rule=None))
    (setting,) = boat.settings
    assert (setting.runner_base, setting.to_max, setting.to_min, setting.at_limit) == (2206, None, None, False)


@pytest.mark.parametrize(
    ("description", "code", "key", "where"),
    [
        (hand_boat.fixing(half_spread=1200.0), "P102", "fixing.half_spread", Location("boat.yaml", 20, 1)),
        (hand_boat.plank(crown=900.0), "P101", "plank.crown", None),
    ],
)
def test_what_cannot_be_solved_is_one_clear_line_at_its_place(
    description: Description, code: str, key: str, where: Location | None
) -> None:
    with pytest.raises(DescriptionError) as caught:
        solve(description)
    (finding,) = caught.value.findings
    assert (finding.code, finding.key, finding.where) == (code, key, where)
    assert "\n" not in finding.text


def test_floor_holes_take_the_sleeve_with_its_glue_gap_or_the_bolt() -> None:
    def first(description: Description) -> tuple[HoleKind, float]:
        hole = solve(description).holes[0]
        return hole.kind, hole.diameter

    assert first(hand_boat.fixing(sleeve=Sleeve(outer=18.0, inner=8.4, glue_gap=0.3))) == (HoleKind.SLEEVE, 18.3)
    assert first(hand_boat.fixing(sleeve=None)) == (HoleKind.BOLT, 8.0)
    assert first(hand_boat.fixing(sleeve=None, bolt=Bolt(thread="M8", hole=8.5))) == (HoleKind.BOLT, 8.5)
    # 5/16 in = 7.9375 mm by the inch's definition.
    assert first(hand_boat.fixing(sleeve=None, bolt=Bolt(thread="5/16 in"))) == (HoleKind.BOLT, 7.9375)


def test_plank_holes_take_the_bolt_whatever_the_floor_takes() -> None:
    for bolt, diameter in ((Bolt(thread="M8"), 8.0), (Bolt(thread="M8", hole=8.4), 8.4)):
        holes = {hole.id: hole for hole in solve(hand_boat.fixing(bolt=bolt)).on(Surface.PLANK)}
        assert {hole.diameter for hole in holes.values()} == {diameter}
        assert holes["KP"].at[1] < 0 < holes["KS"].at[1]


@pytest.mark.parametrize(
    ("changes", "play"),
    [
        # A sleeve of 10 on a bolt of 8; the slot is 8.5 wide, 16 long athwart; what the plank's hole gives is added.
        ({"bolt": Bolt(thread="M8", hole=8.25)}, (2, 0.25, 0.75, 2.25)),
        ({"plate": None}, (2, 0, 2, 2)),
        ({"sleeve": Sleeve(outer=18.0, inner=8.0)}, (0, 0, 0, 0)),
        # Parts too narrow for the bolt leave it no play, not less than none.
        ({"sleeve": Sleeve(outer=18.0, inner=7.5), "bolt": Bolt(thread="M8", hole=7.5)}, (0, 0, 0, 0)),
        ({"sleeve": None, "floor_hole": 9.0, "plate": None}, (1, 0, 1, 1)),
    ],
)
def test_a_bolt_s_play_is_what_the_tightest_part_leaves_it(changes: dict, play: tuple[float, ...]) -> None:
    assert solve(hand_boat.fixing(**changes)).play == play


def test_holes_come_in_a_fixed_order_with_ids_of_their_own() -> None:
    boat = solve(hand_boat.WHINCHAT)
    ids = [hole.id for hole in boat.holes]
    assert ids[:6] == ["P1", "S1", "P2", "S2", "P3", "S3"]
    assert ids[6:14] == [f"P1{s}{n}" for s in "ab" for n in (1, 2, 3, 4)]
    assert ids[-6:] == ["KP", "KS", "A1", "A2", "A3", "A4"]
    assert len(set(ids)) == len(ids) == 6 + 6 * 8 + 2 + 4


def test_screws_stand_as_given_to_starboard_and_mirrored_to_port() -> None:
    assert hand_boat.WHINCHAT.fixing.plate is not None
    screws = hand_boat.WHINCHAT.fixing.plate.screws.changed(first=((-10.0, 25.0),), second=())
    places = {hole.id: hole.at for hole in solve(hand_boat.plate(screws=screws)).holes}
    assert places["S1a1"] == (2220, 240)
    assert places["P1a1"] == (2220, -240)


def test_as_plain_data_lengths_have_six_decimals_and_what_is_endless_is_null() -> None:
    flat = solve(hand_boat.plank(crown=0.0)).plank
    assert plain(flat)["radius"] is None
    assert plain({"a": [1.23456789, -1e-9, (Side.PORT, HoleKind.BOLT, 3)]}) == {
        "a": [1.234568, 0.0, ["port", "bolt", 3]]
    }
    assert math.copysign(1.0, plain(-1e-9)) == 1.0  # no negative zero


def test_plates_lie_round_their_bolts() -> None:
    plates = {plate.id: plate for plate in solve(hand_boat.WHINCHAT).plates}
    assert list(plates) == ["P1", "S1", "P2", "S2", "P3", "S3"]
    assert set(plates["P3"].corners) == {(2317, -253), (2317, -177), (2363, -253), (2363, -177)}
    assert solve(hand_boat.fixing(plate=None)).plates == ()


def test_patterns_lie_about_the_fittings_place() -> None:
    assert fitting_places(Pattern(points=((1.0, 2.0), (3.0, -4.0)))) == {"A1": (101, 52), "A2": (103, 46)}
    row = Pattern(row=HoleRow(count=3, pitch=20.0))
    assert fitting_places(row) == {"A1": (80, 50), "A2": (100, 50), "A3": (120, 50)}
    assert set(fitting_places(Pattern(rectangle=(40.0, 24.0))).values()) == {(80, 38), (80, 62), (120, 38), (120, 62)}
    circle = fitting_places(Pattern(circle=HoleCircle(diameter=60.0, count=4, start=90.0)))
    assert circle == {"A1": (100, 80), "A2": (70, 50), "A3": (100, 20), "A4": (130, 50)}


@pytest.mark.parametrize("rotate", [0.0, 90.0, 180.0, 270.0, -90.0, 450.0, 1.0, 91.0, 181.5, 271.0, 359.0])
def test_a_pattern_turns_as_the_complex_numbers_do(rotate: float) -> None:
    # A turn in the plane is a product: (x + i y) e^(i angle), aft + i starboard.
    at = complex(30.0, 7.0) * cmath.exp(1j * math.radians(rotate)) + complex(100.0, 50.0)
    (place,) = fitting_places(Pattern(points=((30.0, 7.0),)), rotate=rotate).values()
    assert place == pytest.approx((at.real, at.imag), abs=1e-9)


def test_rotation_goes_from_aft_towards_starboard_and_mirror_repeats_to_port() -> None:
    assert fitting_places(Pattern(row=HoleRow(count=2, pitch=20.0)), rotate=90.0) == {"A1": (100, 40), "A2": (100, 60)}
    tilted = fitting_places(Pattern(row=HoleRow(count=2, pitch=20.0)), rotate=30.0)
    assert tilted["A2"] == pytest.approx((100 + 10 * math.sqrt(3) / 2, 55))
    mirrored = fitting_places(Pattern(row=HoleRow(count=2, pitch=20.0)), rotate=30.0, mirror=True, on=Surface.PLANK)
    assert list(mirrored) == ["A1", "A2", "A3", "A4"]
    assert mirrored["A4"] == pytest.approx((mirrored["A2"][0], -mirrored["A2"][1]))


def test_fittings_letters_leave_out_those_that_are_taken_and_run_on() -> None:
    eye = Pattern(points=((0.0, 0.0),))
    fittings = tuple(
        Fitting(name=f"eye {n}", on=Surface.FLOOR, at=(2000.0, 3.0 * n), pattern=eye, drill=2.0) for n in range(60)
    )
    names = [hole.id for hole in solve(with_fittings(*fittings)).holes if hole.kind is HoleKind.FITTING]
    assert names[0] == "A1"
    assert len(set(names)) == 60
    assert not {letter for name in names for letter in name} & set("PSK")
    assert "AA1" in names
    assert names.index("AA1") == names.index("Z1") + 1


def test_a_gap_that_cannot_be_felt_is_no_play() -> None:
    # An M8 bolt in bores of 8.019 and 8.03 mm; 0.02 mm is from memory.
    for bore, play in ((8.019, 0.0), (8.03, 0.03)):
        boat = solve(hand_boat.fixing(sleeve=Sleeve(outer=18.0, inner=bore), bolt=Bolt(thread="M8")))
        assert boat.play.floor == pytest.approx(play)
