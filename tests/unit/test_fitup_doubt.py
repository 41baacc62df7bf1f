"""What the commands of fit-up do when a figure cannot be right: they name it, do without it, or decide nothing."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from templater.cli.main import main

Shell = Callable[..., tuple[int, str, str]]
#: Half breadths of a hull whose middle lies 1 mm to port of the trial line at every station.
STATIONS = ("500/330/328", "1000/329/327", "1500/327/325", "2500/300/298")


@pytest.fixture
def shell(tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    def run(command: str, *options: str, readings: str = "", boat: str = "whinchat-3") -> tuple[int, str, str]:
        arguments = [command, str(configs / f"{boat}.yaml")]
        if readings:
            (tmp_path / "readings.yaml").write_text(readings, "utf-8")
            arguments.append(str(tmp_path / "readings.yaml"))
        capsys.readouterr()
        status = main([*arguments, *options, "--out", str(tmp_path / "out")])
        taken = capsys.readouterr()
        return status, taken.out, taken.err

    return run


def at(*stations: str) -> list[str]:
    return [word for station in stations for word in ("--at", station)]


def written(tmp_path: Path) -> set[str]:
    return {path.name for path in (tmp_path / "out").rglob("*") if path.is_file()}


def test_marks_are_those_without_the_station_that_stands_apart(shell: Shell) -> None:
    status, out, _ = shell("centreline", *at(*STATIONS, "2000/325/232"))
    assert status == 0
    assert "Through 4 stations, scatter 0.00 mm, the suspect station 2000 mm left out" in out
    # By hand: 1 mm to port everywhere, so the marks stand 1 mm to port and the line does not turn.
    assert "Runs 0.000" in out
    assert "Mark at station 500 mm: 1.0 mm to port of the trial line, 329.0 mm from the port edge" in out
    assert "Mark at station 2500 mm: 1.0 mm to port of the trial line, 299.0 mm from the port edge" in out
    assert "322 written as 232; left out of the line [T230]" in out


def test_a_mark_is_never_put_at_a_suspect_station(shell: Shell) -> None:
    status, out, _ = shell("centreline", *at(*STATIONS, "1800/320/318", "3000/260/285"))
    assert status == 0
    assert "Mark at station 2500 mm" in out
    assert "mark at station 3000" not in out


def test_three_stations_with_one_misread_decide_nothing(shell: Shell) -> None:
    status, out, _ = shell("centreline", *at("500/330/328", "1000/329/237", "1500/327/325"))
    assert status == 3
    assert out.strip().startswith("Not decided: read it again")
    assert "mark at" not in out
    assert "draw the centreline" not in out
    # By hand: residuals 15, -30, 15 leave a standard deviation of 36.7 mm with one degree of freedom; at an end
    # sqrt(1/3 + 1/2) of it, times Student's 12.71 (JCGM 100:2008, table G.2): 426 mm.
    assert "the marks are only sure to 426.2 mm" in out


def test_sides_are_named_and_no_distance_is_negative(shell: Shell) -> None:
    status, out, _ = shell("centreline", *at("500/330/327", "1000/329/325", "1500/327/322"))
    assert status == 0
    # By hand: 1.5, 2 and 2.5 mm to port: 1 in 1000 to port, 1 mm at the pivot; atan(0.001) = 0.057 degrees.
    assert "Runs 0.057" in out
    assert "to port of the trial line, going aft" in out
    assert "mm to port of it" in out
    assert "-1.0" not in out


@pytest.mark.parametrize(("stations", "words"), [(1, "1 station - a line"), (2, "2 stations - a line")])
def test_too_few_stations_are_counted_in_words_that_fit(shell: Shell, stations: int, words: str) -> None:
    status, _, err = shell("centreline", *at(*STATIONS[:stations]))
    assert status == 1
    assert words in err


def test_a_misread_tape_is_left_out_of_what_is_advised(shell: Shell) -> None:
    status, out, err = shell(
        "square", "--port", "2595,2595.5,2559", "--starboard", "2595,2595.5,2595", "--setting", "3"
    )
    assert (status, err) == (0, "")
    assert "within tolerance, 1 suspect reading left out" in out
    # By hand: means of 2595.25 to port and 2595.17 to starboard.
    assert "starboard less port                     -0.1" in out
    assert "2595 written as 2559; left out [T220]" in out
    assert "move as advised" not in out


def test_a_tape_read_in_centimetres_is_refused_with_what_it_should_read(shell: Shell, tmp_path: Path) -> None:
    status, out, err = shell("square", "--port", "274.55", "--starboard", "274.4", "--setting", "3")
    assert (status, out) == (1, "")
    # By hand: sqrt(2346^2 + 1145^2 + 60^2) = 2611.2 mm, less the post's radius.
    assert "a tape should read about 2595.2 mm from the steering post's surface" in err
    text = "square:\n  setting: 3\n  first_bolt: port\n  port: [2595]\n  starboard: [274.4]\n"
    status, _, err = shell("square", readings=text)
    assert status == 1
    assert err.startswith(f"{tmp_path / 'readings.yaml'}:5:15: square.starboard 1: 274.4, taken as 274.4 mm")


def test_readings_of_another_boat_are_refused_where_they_name_it(shell: Shell, tmp_path: Path) -> None:
    text = "square: {setting: 3, first_bolt: port, port: [2595], starboard: [2595]}\nboat: Whinchat 5\n"
    status, out, err = shell("square", readings=text)
    assert (status, out) == (1, "")
    assert err.startswith(f"{tmp_path / 'readings.yaml'}:2:")
    assert "the readings are of Whinchat 5, the description is of Whinchat 3" in err
    assert written(tmp_path) == set()


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ("tilt: {port: [0.5, 6.0], starboard: [0.5]}", "shim.tilt.port: tilt port, reading 2: 6 is +5.5° off"),
        ("tilt: {port: [0.5, 1.5], starboard: [0.5]}", "shim.tilt.port: tilt port, reading 1: 0.5 is -1.0° off"),
        ("crown_gap: [{at: -215, gap: [1.2, 3.4]}]", "crown gap at -215 mm, reading 2: 3.4 is +2.2 mm off"),
        ("toe: {fore: [2200, 2220], aft: 2202, apart: 900}", "toe fore, reading 2: 2220 is +20.0 mm off"),
    ],
)
def test_no_shim_is_drawn_from_readings_that_disagree(shell: Shell, tmp_path: Path, section: str, words: str) -> None:
    status, out, _ = shell("shim", readings=f"shim:\n  least: 2 mm\n  {section}\n")
    assert status == 3
    assert out.startswith("Shims not decided: readings of the same thing disagree, read them again")
    assert words in out
    assert "read it again [T246]" in out
    assert not {name for name in written(tmp_path) if name.startswith("shim")}
    page = (tmp_path / "out" / "whinchat-3" / "fit-up.html").read_text("utf-8")
    assert "Shims not decided" in page
    assert "Fore edge" not in page


def test_a_shim_reading_that_its_repeats_contradict_is_left_out(shell: Shell) -> None:
    # The tape, the half breadths and the gauges are judged alike: two repeats that agree outvote a third.
    status, out, _ = shell("shim", readings="shim: {tilt: {port: [0.5, 6.0, 0.5], starboard: [0.5]}, least: 2}\n")
    assert status == 0
    assert "tilt port, reading 2: 6 is +5.5° off the others; left out [T246]" in out


def test_readings_of_a_steady_gauge_still_give_shims(shell: Shell, tmp_path: Path) -> None:
    text = "shim:\n  tilt: {port: [0.5, 0.7, 0.4], starboard: [0.5, 0.6]}\n  least: 2\n"
    status, out, _ = shell("shim", readings=text)
    assert status == 0
    assert "at the bolt, mm" in out
    assert "shim-port.pdf" in written(tmp_path)


@pytest.mark.parametrize("form", ["{}, {}, {}", "{},{},{}"])
def test_half_breadths_may_have_fractions(shell: Shell, form: str) -> None:
    stations = [form.format(x, "12 1/4", "12 1/8") for x in ("24", "48 1/2", "6 ft")]
    status, out, _ = shell("centreline", *at(*stations), boat="whinchat-5")
    assert status == 0
    # By hand: (12 1/8 - 12 1/4) / 2 is 1/16 in = 1.6 mm to port; 12 3/16 in from the port edge, 309.6 mm.
    assert (
        "Mark at station 610 mm (24 in): 1.6 mm (1/16 in) to port of the trial line, 309.6 mm (12 3/16 in) from the "
        "port edge"
    ) in out
    assert "1232 (48 1/2)" in out


def test_half_breadths_may_be_parted_by_blanks(shell: Shell) -> None:
    blanks = [station.replace("/", " ") for station in STATIONS]
    assert shell("centreline", *at(*blanks)) == shell("centreline", *at(*STATIONS))


def test_single_readings_are_told_by_their_options_in_data_too(shell: Shell) -> None:
    status, out, _ = shell("square", "--port", "2595,2559", "--starboard", "2595", "--setting", "3", "--json")
    assert status == 3
    data = json.loads(out)
    findings = data["findings"] + data["attempts"][0]["findings"]
    assert {finding["key"] for finding in findings} == {"--port"}
    assert {(finding["file"], finding["line"]) for finding in findings} == {(None, None)}


def test_a_boat_in_inches_is_moved_in_inches(shell: Shell) -> None:
    status, out, _ = shell(
        "square", "--port", "102 1/8, 102 1/8", "--starboard", "102, 102", "--setting", "5", boat="whinchat-5"
    )
    assert status == 3
    # By hand: 1/8 in of tape, slant 102.7 in over a station of 92.1 in, is 0.139 in between corners 90 in apart; the
    # free one, 45 + 8 in from the first bolt, moves by 53 / 90 of that: 0.082 in, nearest 3/32 (0.094), 2.1 mm.
    assert "move the starboard end 2.1 mm (3/32 in) aft at the chock corner" in out


@pytest.mark.parametrize(
    ("port", "status", "words"),
    [
        ("[327, 327, 372]", 0, "station 1500 mm port, reading 3: 372 is +45.0 mm off the others - likely two figures"),
        ("[327, 372]", 3, "station 1500 mm port, reading 2: 372 is +45.0 mm off the others"),
    ],
)
def test_a_half_breadth_that_its_repeats_gainsay_is_left_out(shell: Shell, port: str, status: int, words: str) -> None:
    rows = "".join(
        f"    - {{at: {x}, port: {port if x == 1500 else half}, starboard: {half - 2}}}\n"
        for x, half in ((500, 330), (1000, 329), (1500, 327), (2000, 325), (2500, 300))
    )
    got, out, _ = shell("centreline", readings=f"centreline:\n  stations:\n{rows}")
    assert got == status
    assert words in out
    assert ("Mark at station 500 mm: 1.0 mm to port of the trial line" in out) is (status == 0)
    assert f"; {'not decided: read it again' if status else 'left out'} [T236]" in out


#: Readings at the edge of what can be, or past it, by name: the section, and the status it must give.
ODD = {
    "no scatter and no rounding": ("read_to: 0\nsquare: {SQUARE, port: [2590, 2590], starboard: [2590, 2590]}", 0),
    "a chock a whole hull aft": (
        "square: {SQUARE, port: 2590, starboard: 2590, chock_aft: {port: 2346, starboard: -9}}", 1
    ),
    "a point in the corner": (
        "square: {SQUARE, port: 2590, starboard: 2590, further: [{name: a, to: [2346, 1145], port: 0, starboard: 0}]}",
        0
    ),
    "an edge far out": (
        "square: {SQUARE, port: 2590, starboard: 2590, "
        "further: [{name: a, edge: fore, out: 20000, line: fore, port: 0, starboard: 0}]}", 0
    ),
    "stations in one place": (
        "centreline: {stations: [{at: 0, port: 0, starboard: 0}, {at: 0.0001, port: 0, starboard: 0}, "
        "{at: 0.0002, port: 0, starboard: 0}]}", 1
    ),
    "half breadths as long as a hull": (
        "centreline: {stations: [{at: 1, port: 20000, starboard: 0}, {at: 2, port: 0, starboard: 20000}, "
        "{at: 3, port: 0, starboard: 0}], post_offset: 20000}", 3
    ),
    "runners across the hull": ("shim: {toe: {fore: 20000, aft: 0, apart: 1}}", 0),
    "a tilt of 45 degrees": ("shim: {tilt: {port: 45, starboard: -45}}", 1),
    "a shim as thick as a hull": ("shim: {least: 20000}", 1),
    "a hull like a tower": ("shim: {hull_bottom: [[0, 20000], [0.00001, -20000]]}", 1),
    "a seat longer than the hull": ("shim: {seat: {length: 20000, width: 1}}", 1),
}  # fmt: skip


@pytest.mark.parametrize("name", ODD)
def test_no_odd_reading_leads_to_an_output_that_is_no_number(shell: Shell, tmp_path: Path, name: str) -> None:
    text, expected = ODD[name]
    command = text.partition(":")[0] if not text.startswith("read_to") else "square"
    status, out, err = shell(command, readings=text.replace("SQUARE", "setting: 3, first_bolt: port") + "\n")
    assert status == expected, out + err
    files = [path.read_text("utf-8") for path in tmp_path.rglob("*") if path.suffix in (".json", ".html", ".svg")]
    for told in (out, err, *files):
        assert not re.search(r"\b(nan|inf|NaN|Infinity)\b", told)
    assert bool(files) is (status != 1)
