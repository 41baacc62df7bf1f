"""Fit-up through the shell: readings files and single readings, the record, its sheets, and the exit status."""

import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import made_boats
import pytest

from templater.cli.main import main

#: The plank of Whinchat 3 at its aftmost setting, from the description: bolts 2340 mm aft and 215 mm off the
#: centreline, chock corners 2290 mm apart, 6 mm aft of the bolts and 60 mm below the floor.
STATION, SPREAD, CORNER, AFT, BELOW = 2340.0, 215.0, 1145.0, 6.0, 60.0
SQUARE_FILES = {"fit-up.html", "fit-up.json"}
SHIM_FILES = {f"shim-{side}.{kind}" for side in ("port", "starboard") for kind in ("pdf", "svg")}


def tapes(aft: float) -> tuple[float, float]:
    """Tape to port and starboard corner from the steering pivot axis with the plank on its port bolt.

    ``aft`` is how far the starboard corner stands aft of where it should be. By turning about the bolt, and Pythagoras.
    """
    bolt = complex(STATION, -SPREAD)
    turn = complex(1.0, aft / (CORNER + SPREAD))
    turn /= abs(turn)
    lengths = []
    for side in (-1, 1):
        arm = complex(AFT, side * CORNER + SPREAD)
        # Starboard end aft: athwart (imaginary) turns towards aft (real).
        corner = bolt + arm * turn.conjugate()
        lengths.append(math.sqrt(abs(corner) ** 2 + BELOW**2))
    return lengths[0], lengths[1]


def square_text(aft: float, *, scatter: float = 0.2, date: str = "2026-12-05") -> str:
    port, starboard = tapes(aft)
    rows = [", ".join(f"{value + off:.2f}" for off in (-scatter, 0.0, scatter)) for value in (port, starboard)]
    return f"""\
date: {date}
square:
  tolerance: 1 mm
  setting: 3
  first_bolt: port
  attempts:
    - {{date: {date}, port: [{rows[0]}], starboard: [{rows[1]}]}}
"""


CENTRELINE = """\
centreline:
  stations:
    - {at: 400, port: [199], starboard: [201]}
    - {at: 800, port: [248], starboard: [252]}
    - {at: 1200, port: [297], starboard: [303]}
    - {at: 1600, port: [296], starboard: [304]}
    - {at: 2000, port: [295], starboard: [305]}
"""
SHIM = """\
shim:
  tilt: {port: [1.0, 1.1], starboard: [1.05]}
  seat: {length: 120, width: 60}
  least: 2 mm
"""


@pytest.fixture
def shell(tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def run(command: str, text: str = "", *options: str) -> tuple[int, str, str]:
        arguments = [command, str(configs / "whinchat-3.yaml")]
        if text:
            (tmp_path / "readings.yaml").write_text(text, "utf-8")
            arguments.append(str(tmp_path / "readings.yaml"))
        capsys.readouterr()
        status = main([*arguments, *options, "--out", str(tmp_path / "out")])
        taken = capsys.readouterr()
        return status, taken.out, taken.err

    return run


Shell = Callable[..., tuple[int, str, str]]


def written(tmp_path: Path) -> set[str]:
    folder = tmp_path / "out" / "whinchat-3"
    return {path.name for path in folder.iterdir()} if folder.is_dir() else set()


def test_new_writes_a_readings_file_that_says_what_to_measure(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "fit-up.yaml"
    boat = str(configs / "whinchat-3.yaml")
    assert main(["new", str(path), "--readings", boat]) == 0
    text = path.read_text("utf-8")
    # A true boat's tapes at the aftmost setting, from the post's axis: sqrt(2346^2 + 1145^2 + 60^2) = 2611.2 mm.
    assert "setting 3: 2611.2 from the steering post's axis" in text
    assert main(["new", str(path), "--readings", boat]) == 1  # never replaced
    capsys.readouterr()
    assert main(["square", boat, str(path), "--out", str(tmp_path / "out")]) == 1
    assert "no readings yet - fill in centreline, square or shim" in capsys.readouterr().err
    assert written(tmp_path) == set()


def test_a_starter_filled_in_at_its_brackets_works(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "fit-up.yaml"
    boat = str(configs / "whinchat-3.yaml")
    assert main(["new", str(path), "--readings", boat]) == 0
    text = path.read_text("utf-8").replace("      port: []", "      port: [2590, 2590.5, 2590]")
    path.write_text(text.replace("      starboard: []", "      starboard: [2590.5, 2590, 2590]"), "utf-8")
    assert main(["square", boat, str(path), "--out", str(tmp_path / "out")]) == 0
    assert "within tolerance" in capsys.readouterr().out


@pytest.mark.parametrize(("aft", "status"), [(0.0, 0), (0.4, 0), (6.0, 3), (-6.0, 3)])
def test_square_writes_its_files_and_says_which_way_to_move(
    shell: Shell, tmp_path: Path, aft: float, status: int
) -> None:
    got, out, err = shell("square", square_text(aft))
    assert (got, err) == (status, "")
    assert written(tmp_path) == SQUARE_FILES
    assert f"wrote {tmp_path / 'out' / 'whinchat-3' / 'fit-up.html'}" in out
    assert "clamp the plank once the tapes agree and mark it through the floor's sleeve or hole" in out
    difference = tapes(aft)[1] - tapes(aft)[0]
    assert re.search(rf"tapes, starboard less port +{difference:.1f} ", out.replace("-0.0", "0.0"))
    if status:
        way = "forward" if aft > 0 else "aft"
        assert f"move the starboard end {abs(aft):.1f} mm {way} at the chock corner" in out
    else:
        assert "within tolerance" in out


def test_centreline_and_shim_write_theirs_beside_the_boat_s_files(
    shell: Shell, tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made_boats.written("whinchat-3", tmp_path / "out")
    made = written(tmp_path)
    status, out, _ = shell("centreline", CENTRELINE)
    assert status == 0
    # By hand: the middle lies 1, 2, 3, 4, 5 mm to starboard at 400 to 2000 mm: 1 in 400, atan = 0.143 degrees.
    assert "Runs 0.143" in out
    assert "off the line" in out
    assert written(tmp_path) == made | {"fit-up.html", "fit-up.json"}
    status, out, _ = shell("shim", SHIM)
    assert status == 0
    assert "sheets read back: worst deviation 0.00" in out
    assert written(tmp_path) == made | {"fit-up.html", "fit-up.json", "fit-up-manifest.json"} | SHIM_FILES
    folder = tmp_path / "out" / "whinchat-3"
    for looked in ([folder], sorted(folder.glob("*.pdf"))):  # each sheet by the manifest that knows it
        assert main(["proof", *map(str, looked)]) == 0
        table = capsys.readouterr().out
        for sheet in ("floor", "plank", "shim-port", "shim-starboard"):
            assert any(line.startswith(f"  {sheet} ") for line in table.splitlines()), sheet
        assert float(table.rpartition("worst deviation ")[2].partition(" mm")[0]) < 0.005
        assert ("job-sheet.pdf: not proved" in table) is (len(looked) > 1)
    assert main(["proof", str(folder / "shim-port.pdf")]) == 0
    # What an earlier fit-up left goes, what make left stays.
    assert shell("square", square_text(0.0))[0] == 0
    assert written(tmp_path) == made | SQUARE_FILES


def test_a_shim_sheet_tampered_with_fails_the_folder(
    shell: Shell, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert shell("shim", SHIM)[0] == 0
    folder = tmp_path / "out" / "whinchat-3"
    assert main(["proof", str(folder)]) == 0
    (folder / "shim-port.pdf").write_bytes((folder / "shim-starboard.pdf").read_bytes())
    assert main(["proof", str(folder)]) == 3
    assert "shim-port" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("command", "options", "words"),
    [
        ("square", ("--port", "2596.6,2596.5,2596.7", "--starboard", "2604.1,2604,2604.2", "--setting", "3"), "move "),
        ("square", ("--port", "8 ft 6 1/4 in", "--starboard", "8 ft 6 1/4 in", "--setting", "3"), "within"),
        ("centreline", ("--at", "400/199/201", "--at", "1200/297/303", "--at", "2000/295/305"), "Runs 0.143"),
        ("shim", ("--tilt-port", "1", "--tilt-starboard", "1"), "Shims\n"),
    ],
)
def test_single_readings_give_an_answer_and_leave_nothing(
    shell: Shell, tmp_path: Path, command: str, options: tuple[str, ...], words: str
) -> None:
    status, out, err = shell(command, "", *options)
    assert status == (3 if "move" in words else 0)
    assert err == ""
    assert words in out
    assert "wrote" not in out
    assert written(tmp_path) == set()


@pytest.mark.parametrize(
    ("command", "options", "words"),
    [
        (
            "square",
            ("--port", "wide", "--starboard", "2591", "--setting", "3"),
            "--port: wide: not a length",
        ),
        ("square", ("--port", "2591", "--setting", "3"), "--starboard: is missing - add its readings"),
        ("square", ("--port", "2591", "--starboard", "2591"), "--setting: is missing - add the number of the setting"),
        ("square", ("--port", "2746,5", "--starboard", "2746", "--setting", "3"), "--port: 2746,5: a comma separates"),
        ("square", ("--port", "274.5", "--starboard", "2595", "--setting", "3"), "--port: 274.5, taken as 274.5 mm"),
        (
            "square",
            ("--port", "2591", "--starboard", "2591", "--setting", "3", "--tolerance", "0,5"),
            "--tolerance: 0,5: not a length - a decimal has a point: write 0.5",
        ),
        ("shim", ("--tilt-starboard", "88"), "--tilt-starboard: 88.0: outside what is allowed"),
        ("square", ("--port", "2591", "--starboard", "2591", "--setting", "9"), "--setting: 9: no such setting"),
        ("centreline", ("--at", "1200/312.5"), "--at: 1200/312.5 - allowed: station, port and starboard"),
        ("centreline", ("--at", "500/330,5/328,5"), "--at: 500/330,5/328,5 - allowed: "),
        ("centreline", ("--at", "500,5/330/328"), "--at: 500,5/330/328 - allowed: "),
        ("centreline", ("--at", "48/12 1/4/12 1/8"), "--at: 48/12 1/4/12 1/8 - allowed: "),
        ("centreline", ("--at", "1200/312.5/310"), "--at: 1 station - a line needs"),
        ("square", (), "square: no readings - give a readings file"),
        ("shim", (), "shim: no readings"),
    ],
)
def test_single_readings_that_cannot_be_taken_are_named(
    shell: Shell, tmp_path: Path, command: str, options: tuple[str, ...], words: str
) -> None:
    status, out, err = shell(command, "", *options)
    assert (status, out) == (1, "")
    (line,) = err.splitlines()
    assert line.startswith(words), line
    assert written(tmp_path) == set()


def test_a_file_and_single_readings_are_not_mixed(shell: Shell) -> None:
    status, _, err = shell("square", square_text(0.0), "--port", "2591")
    assert status == 1
    assert "give a readings file or single readings, not both" in err


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("tolerance: 1 mm", "tolerance: wide", 3, "square.tolerance: "),
        (
            "setting: 3",
            "setting: 9",
            7,
            "square.attempts 1.setting: 9: no such setting of this boat - allowed: 1, 2, 3",
        ),
        ("first_bolt: port", "first_bolt: left", 5, "square.first_bolt: left"),
        ("port: [", "prot: [", 7, "prot: unknown key"),
        ("2611.20", "soft", 7, "soft: not a length"),
    ],
)
def test_wrong_readings_are_located(shell: Shell, tmp_path: Path, old: str, new: str, line: int, words: str) -> None:
    text = square_text(0.0, scatter=0.0)
    assert old in text
    status, out, err = shell("square", text.replace(old, new, 1))
    assert (status, out) == (1, "")
    located = [one for one in err.splitlines() if one.startswith(f"{tmp_path / 'readings.yaml'}:{line}:")]
    assert any(words in one for one in located), err
    assert written(tmp_path) == set()


def test_all_faults_are_told_at_once(shell: Shell) -> None:
    text = (
        square_text(0.0).replace("tolerance: 1 mm", "tolerance: wide").replace("first_bolt: port", "first_bolt: left")
    )
    text += text.splitlines(keepends=True)[-1]  # a second attempt, whose first bolt is the same
    lines = shell("square", text)[2].splitlines()
    assert [line.rpartition(": ")[2] for line in lines] == [  # in the order of their lines
        "a length such as 231, 231 mm, 9 in, 2 1/8 in or 1 ft 3 in [D123]",
        "port, starboard [D125]",
    ]
    assert [int(line.split(":")[1]) for line in lines] == sorted(int(line.split(":")[1]) for line in lines)


def test_a_section_that_is_not_there_is_asked_for(shell: Shell, tmp_path: Path) -> None:
    status, _, err = shell("shim", square_text(0.0))
    assert status == 1
    assert f"{tmp_path / 'readings.yaml'}: no readings for shim - fill in its section" in err
    assert written(tmp_path) == set()


def test_json_is_the_record_as_it_is_kept(shell: Shell, tmp_path: Path) -> None:
    status, out, _ = shell("square", square_text(6.0), "--json")
    assert status == 3
    data = json.loads(out)
    assert data == json.loads((tmp_path / "out" / "whinchat-3" / "fit-up.json").read_text("utf-8"))
    text = json.dumps(data)
    assert '"passed": false' in text


def test_an_earlier_record_is_compared_with(shell: Shell, tmp_path: Path) -> None:
    assert shell("square", square_text(0.0, date="2026-12-05"))[0] == 0
    kept = tmp_path / "last-season.json"
    kept.write_bytes((tmp_path / "out" / "whinchat-3" / "fit-up.json").read_bytes())
    status, out, _ = shell("square", square_text(6.0, date="2027-01-16"), "--earlier", str(kept))
    assert status == 3
    assert "Changes since 2026-12-05" in out
    # By hand: 6 mm at the chock corner, 1360 mm from the port bolt, is 0.253 degrees.
    assert re.search(r"turn of the plank at setting 3 +0\.00° +0\.25° +0\.25°", out.replace("-0.00", "0.00"))
    kept.write_text("{}", "utf-8")
    status, _, err = shell("square", square_text(0.0), "--earlier", str(kept))
    assert status == 1
    assert len(err.splitlines()) == 1
    assert str(kept) in err


def test_all_faults_of_single_readings_are_told_at_once(shell: Shell, capsys: pytest.CaptureFixture[str]) -> None:
    status, _, said = shell("square", "", "--port", "abc")
    assert status == 1
    assert [line.partition(":")[0] for line in said.splitlines()] == ["--port", "--starboard", "--setting"]
    status, _, said = shell("centreline", "", "--at", "1/2", "--at", "1200/312/310", "--at", "3")
    assert status == 1
    assert [line.split()[1] for line in said.splitlines()] == ["1/2", "3"]
    assert main(["printer", "set", "shop", "across=180,2", "along=wide,tall", "rising=299"]) == 1
    assert [line.partition(":")[0] for line in capsys.readouterr().err.splitlines()] == ["across", "along", "along"]
