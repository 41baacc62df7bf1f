"""The door of the readings: every fault located, all in one go; the starter file passes its own door."""

import re

import pytest
from fitup_boats import whinchat

from templater.boat.solved import Side
from templater.findings import CATALOGUE, Finding, ReadingsError
from templater.fitup.readings import Readings, load_readings, starter_readings
from templater.fitup.record import record

FULL = """\
boat: Whinchat 3
units: mm
date: 2026-12-01
read_to: 0.5
tape: 0.4
centreline:
  stations:
    - {at: 300, port: [150, 150.5], starboard: 151}
    - {at: 1 m, port_edge: -240, starboard_edge: [9 1/2 in, 242]}
    - {at: 2400, port: 250, starboard: 250}
  post_offset: -1
square:
  tolerance: 1.5
  setting: 3
  first_bolt: starboard
  attempts:
    - {date: 2026-11-30, port: [2591, 2591.5], starboard: [2595, 2595.5], note: cold}
    - port: 2593
      starboard: 2593
      setting: 2
      off_centre: {port: 1145, starboard: 1146}
      further:
        - {name: stern, to: [3500, 280], below_floor: 20, port: 1400, starboard: 1401}
        - {name: bulkhead, edge: aft, out: 250, line: aft, port: 60, starboard: 61}
shim:
  crown_gap: [{at: -215, gap: [1.2, 1.3]}, {at: 215, gap: 1}]
  hull_bottom: [[-300, 2], [0, 0], [300, 2]]
  tilt: {port: [0.5, 0.6], starboard: -1}
  toe: {fore: 2200, aft: 2202, apart: 900}
  seat: {length: 170, width: 3 in}
  least: 2
"""


def read(text: str, units: str = "mm") -> Readings:
    return load_readings(text, "r.yaml", units)[0]


def faults(text: str) -> list[tuple[str, int, str]]:
    with pytest.raises(ReadingsError) as caught:
        load_readings(text, "r.yaml")
    return [(f.code, f.where.line if f.where else 0, f.key) for f in caught.value.findings]


def test_a_full_file_is_read() -> None:
    readings = read(FULL)
    assert (readings.read_to, readings.tape, readings.date) == (0.5, 0.4, "2026-12-01")
    assert readings.centreline is not None
    first, second, _ = readings.centreline.stations
    assert first.port.values == (150.0, 150.5)
    assert second.at == 1000.0
    assert second.port.values == (240.0,)
    assert second.starboard.values == pytest.approx((241.3, 242.0))
    assert readings.centreline.post_offset.mean == -1.0
    assert readings.square is not None
    old, last = readings.square.attempts
    assert (old.number, old.setting, old.first_bolt, old.date) == (1, 3, Side.STARBOARD, "2026-11-30")
    assert (last.number, last.setting, last.first_bolt) == (2, 2, Side.STARBOARD)
    stern, bulkhead = last.further
    assert (stern.to, stern.below_floor) == ((3500.0, 280.0), 20.0)
    assert (bulkhead.to, bulkhead.edge, bulkhead.line, bulkhead.out) == (None, "aft", "aft", 250.0)
    assert readings.shim is not None
    assert readings.shim.seat is not None
    assert readings.shim.seat.width == pytest.approx(76.2)
    assert readings.shim.tilt is not None
    assert readings.shim.tilt.starboard.values == (-1.0,)


def test_one_attempt_may_stand_without_a_list() -> None:
    readings = read("square: {setting: 1, first_bolt: port, port: 2591, starboard: [2592, 2593]}")
    assert readings.square is not None
    assert readings.square.attempts[0].starboard.mean == 2592.5


@pytest.mark.parametrize(("ring", "taken"), [("20", 20.0), ("1 in", 25.4), ("unknown", None)])
def test_a_ring_that_was_measured_is_read_for_all_attempts(ring: str, taken: float | None) -> None:
    attempts = "attempts: [{port: 1, starboard: 1}, {port: 1, starboard: 1, ring: 30}]"
    readings = read(f"square: {{setting: 1, first_bolt: port, ring: {ring}, {attempts}}}")
    assert readings.square is not None
    assert [attempt.ring for attempt in readings.square.attempts] == [taken, 30.0]


def test_bare_numbers_take_the_descriptions_units_unless_the_readings_name_theirs() -> None:
    text = "square: {setting: 1, first_bolt: port, port: 102, starboard: 102 1/2}"
    inches = read(text, "in")
    assert inches.square is not None
    assert inches.square.attempts[0].port.mean == pytest.approx(2590.8)
    assert inches.square.attempts[0].port.readings[0].factor == 25.4
    mm = read(f"units: mm\n{text}", "in")
    assert mm.square is not None
    assert mm.square.attempts[0].port.mean == 102.0


def test_all_faults_are_found_in_one_go_each_with_its_line() -> None:
    text = """\
unit: mm
square:
  seting: 3
  first_bolt: left
  port: [2591, 25x1]
  starboard: {a: 1}
shim:
  tilt: {port: 3, starboard: 80}
"""
    assert sorted(faults(text)) == [
        ("D120", 1, "unit"),
        ("D120", 3, "square.seting"),
        ("D123", 5, "square.port.1"),
        ("D123", 6, "square.starboard"),
        ("D124", 8, "shim.tilt.starboard"),
        ("D125", 4, "square.first_bolt"),
    ]


def test_an_unknown_key_is_answered_with_the_nearest_known_one() -> None:
    with pytest.raises(ReadingsError, match=r'r.yaml:2:3: square.seting: .*did you mean "setting"\? .*\[D120\]'):
        load_readings("square:\n  seting: 3\n", "r.yaml")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "D111"),
        ("{}", "T002"),
        ("boat: x", "T002"),
        ("[1, 2]", "D111"),
        ("a: [", "D101"),
        ("square: 5", "D122"),
        ("square: {setting: 3, first_bolt: port, attempts: []}", "D124"),
        ("square: {setting: 0, first_bolt: port, port: 1, starboard: 1}", "D124"),
        ("square: {setting: true, first_bolt: port, port: 1, starboard: 1}", "D123"),
        ("square: {setting: 1, first_bolt: port, port: 1, starboard: .nan}", "D110"),
        ("square: {setting: 1, first_bolt: port, port: 1, starboard: 1e300}", "D124"),
        ("square: {setting: 1, first_bolt: port, port: 1, starboard: -5}", "D124"),
        ("square: {setting: 1, first_bolt: port, port: [], starboard: 5}", "T002"),
        ("square: {setting: 1, first_bolt: port, port: 5}", "T002"),
        ("square: {setting: 1, first_bolt: port, port: 1, starboard: 1, tolerance: 0}", "D124"),
        ("square: {setting: 1, first_bolt: port, port: 1, starboard: 1, further: [{name: a, port: 1, starboard: 1}]}",
         "T002"),
        ("square: {setting: 1, first_bolt: port, port: 1, attempts: [{port: 1, starboard: 1}]}", "D126"),
        ("square: {setting: 1, first_bolt: port, port: [], starboard: []}", "T002"),
        ("shim: {tilt: {port: [], starboard: [1]}}", "T002"),
        ("centreline: {stations: 3}", "D122"),
        ("centreline: {stations: [{at: 1, port: 1, starboard: 1}]}", "D124"),
        ("shim: {hull_bottom: [[1, 1], [0, 1]]}", "D124"),
        ("shim: {seat: {length: 0, width: 5}}", "D124"),
        ("units: cubits\nshim: {least: 2}", "D125"),
        ("date: [1]\nshim: {least: 2}", "D123"),
        ("square: {setting: 1, first_bolt: port, port: 1, starboard: 1, off_centre: {port: 3}}", "T002"),
        ("centreline: {stations: [{at: 1, port: 1, starboard: 1, port_edge: 1, starboard_edge: 1}]}", "D126"),
        ("shim: {toe: {fore: 1, apart: 900}}", "T002"),
        ("shim: {tilt: {port: steep, starboard: 1}}", "D123"),
        (f"shim: {{least: {'9' * 400}}}", "D110"),
        ("shim: [[1, 2]]", "D122"),
        ("square: {attempts: [[1, 2]]}", "D122"),
        ("square: {setting: 1, first_bolt: port, port: [[1]], starboard: {a: 1}}", "D123"),
    ],
)  # fmt: skip
def test_a_faulty_file_is_refused_with_one_clear_line(text: str, code: str) -> None:
    assert code in [found for found, _, _ in faults(text)]
    with pytest.raises(ReadingsError) as caught:
        read(text)
    assert all("\n" not in finding.line() for finding in caught.value.findings)


def test_the_starter_file_of_a_boat_in_inches_has_fractions() -> None:
    text = starter_readings(whinchat("in"))
    # By hand: level sqrt(2346^2 + 1145^2) = 2610.50 mm and 85 mm up make 2611.89 mm, 102.830 in: nearest 102 27/32
    # (102.844). Level less the radius of 16 mm, and 85 mm up: 2595.90 mm, 102.201 in: nearest 102 3/16 (102.188).
    assert "setting 3: 102.83 (102 27/32 in) from the steering post's axis, 102.201 (102 3/16 in) from its" in text
    for words in ("read_to: 1/32 in ", "tolerance: 1/32 in ", "least: 1/16 in ",
                  "# packing where plank and hull touch; a shim is thicker by the gap"):  # fmt: skip
        assert words in text
    # Fifths of the way to 2340 mm, 92.126 in: 18.4, 36.9, 55.3, 73.7.
    assert re.findall(r"at: (\S+),", text)[:5] == ["18", "37", "55", "74", "92"]
    places = re.findall(r"at: (\S+),", starter_readings(whinchat()))[:5]
    assert [float(place) for place in places] == [468, 936, 1404, 1872, 2340]
    assert "1 mm " not in text
    # Half a millimetre is read off a tape, 2 mm is the thinnest shim worth making: common practice, no source.
    for words in ("read_to: 0.5 mm ", "tolerance: 1 mm ", "least: 2 mm "):
        assert words in starter_readings(whinchat())


@pytest.mark.parametrize(
    ("given", "meant"), [("[2746, 5]", "2746.5"), ("[2746, 75]", "2746.75"), ("[2746, 5 mm]", "2746.5 mm")]
)
def test_a_decimal_comma_is_named(given: str, meant: str) -> None:
    text = f"square:\n  setting: 1\n  first_bolt: port\n  starboard: 2746\n  port: {given}\n"
    with pytest.raises(ReadingsError) as caught:
        load_readings(text, "r.yaml")
    (finding,) = caught.value.findings
    assert (finding.code, finding.key, finding.where and finding.where.line) == ("T006", "square.port.1", 5)
    assert f"a comma separates repeats - write {meant}, or" in finding.text


def test_repeats_of_like_size_are_no_decimal_comma() -> None:
    text = "shim: {crown_gap: [{at: 0, gap: [12, 1.1]}, {at: 9, gap: [3, 2, 0.2]}], least: 2}"
    readings = read(text)
    assert readings.shim is not None
    assert readings.shim.crown_gap[0].gap.values == (12.0, 1.1)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_starter_file_passes_nothing_before_it_is_filled_in(units: str) -> None:
    with pytest.raises(ReadingsError, match="no readings yet"):
        load_readings(starter_readings(whinchat(units)), "starter.yaml", units)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_starter_file_with_the_figures_of_its_comments_is_a_square_boat(units: str) -> None:
    boat = whinchat(units)
    text = starter_readings(boat)
    figure = re.search(r"setting 3: ([0-9.]+)(?: \([0-9/ ]+ in\))? from the steering post's axis", text)
    assert figure is not None
    filled = text.replace("      port: []", f"      port: [{figure[1]}]")
    filled = filled.replace("      starboard: []", f"      starboard: [{figure[1]}]")
    readings = read(filled, units)
    assert readings.centreline is None
    assert readings.shim is None
    result = record(readings, boat)
    assert result.attempts[-1].passed
    assert abs(result.attempts[-1].ring) < 0.1
    assert abs(result.attempts[-1].yaw) < 1e-9
    assert not [finding for finding in result.findings if finding.severity.value != "advice"]


ODD = ("[]", "[[1]]", "{a: 1}", "-.inf", "9" * 400, "0/0 in", "[1, x]")


@pytest.mark.parametrize("odd", ODD)
def test_nothing_odd_behind_any_key_breaks_the_door(odd: str) -> None:
    # Whatever stands behind a key, it is read or refused in lines with a place and a code.
    keys = re.findall(r"(?<=[{ ,\n])\w+: (?=[^\n])", FULL)
    assert len(keys) > 50
    for match in re.finditer(r"(?<=[{ ,\n])\w+: (\[[^\]]*\]|[^\[{\n,}]+)", FULL):
        text = FULL[: match.start(1)] + odd + FULL[match.end(1) :]
        found: list[Finding] = []
        try:
            read(text)
        except ReadingsError as fault:
            found += fault.findings
        assert all(one.where is not None and one.code in CATALOGUE for one in found)
        assert all(len(one.line().splitlines()) == 1 for one in found)


@pytest.mark.parametrize(
    ("given", "said"),
    [("first_bolt: port", "is missing - add the number of the setting, 1 foremost"),
     ("setting: 1", "is missing - add the side whose bolt is in")],
)  # fmt: skip
def test_what_a_square_cannot_do_without_is_asked_for_by_name(given: str, said: str) -> None:
    with pytest.raises(ReadingsError) as fault:
        load_readings(f"square: {{{given}, port: 2595, starboard: 2595}}\n", "readings.yaml")
    (finding,) = fault.value.findings
    assert (finding.code, said in finding.text) == ("T002", True), finding.text


def test_faults_are_told_in_the_order_of_their_lines() -> None:
    text = "square:\n  setting: two\n  first_bolt: both\n  port: [2595]\n  starboard: [2595, '2,594 mm']\nshim: 7\n"
    with pytest.raises(ReadingsError) as fault:
        load_readings(text, "readings.yaml")
    lines = [finding.where.line for finding in fault.value.findings if finding.where]
    assert lines == [2, 3, 5, 6]
