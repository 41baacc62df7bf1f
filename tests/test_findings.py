"""The catalogue of findings: every code that the program names is in it, and the page for people follows it."""

import ast
import re
from pathlib import Path

import pytest
from program import nodes

from templater.cli.main import main
from templater.description.load import Source
from templater.findings import CATALOGUE, DescriptionError, DrawingError, Finding, Severity
from templater.paper.printer import profile_from_readings, profile_yaml
from templater.paper.tiles import find_paper
from templater.pipeline.checked import check
from templater.pipeline.sheets import drawings_of, tile_sheets

TESTS = Path(__file__).parent
DEMO = (TESTS / "findings_boat.yaml").read_text("utf-8")
PAGE = TESTS.parent / "docs" / "findings.md"
LETTERS = {
    "D": "Description and files", "R": "Rule", "F": "Floor and plates", "P": "Plank", "H": "Hardware",
    "W": "Wood between holes", "S": "Sheets and paper", "Q": "Proof of files", "T": "Readings at fit-up and printer",
}  # fmt: skip


def named_in_the_code() -> set[str]:
    """Every finding code that a module other than the catalogue's names."""
    return {
        node.value
        for module, tree in nodes().items()
        if module != "templater.findings"
        for node in tree
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        and len(node.value) == 4 and node.value[0] in LETTERS and node.value[1:].isdigit()
    }  # fmt: skip


def page() -> str:
    """The list of findings for people, from the catalogue."""
    lines = [
        "# Findings",
        "",
        "Every message has a code. An error stops `make`; a warning is printed on the sheets; advice is only listed.",
    ]
    for letter, name in LETTERS.items():
        lines += ["", f"## {letter}: {name}", "", "| code | severity | what it is |", "| --- | --- | --- |"]
        for code, kind in CATALOGUE.items():
            lighter = f", or {kind.lighter.value}" if kind.lighter else ""
            if code.startswith(letter):
                lines.append(f"| {code} | {kind.severity.value}{lighter} | {kind.what} |")
    return "\n".join(lines) + "\n"


def test_the_catalogue_holds_the_codes_that_the_program_names_and_no_others() -> None:
    assert named_in_the_code() == set(CATALOGUE)


def test_severity_comes_from_the_catalogue_unless_the_kind_has_a_lighter_case() -> None:
    assert Finding("R110", "", "").severity is Severity.ERROR
    assert Finding("W102", "", "").severity is Severity.WARNING
    assert Finding("W102", "", "", graded=Severity.ADVICE).severity is Severity.ADVICE


def test_the_page_of_findings_is_up_to_date(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--refresh-golden"):
        PAGE.write_text(page(), "utf-8")
    assert PAGE.read_text("utf-8") == page()


#: Code: what to change in the demo's text so that it is found: pairs of old and new.
EXAMPLES: dict[str, tuple[str, ...]] = {
    "D101": ("boat: Whinchat 3", "boat: [Whinchat 3"),
    "D102": ("boat: Whinchat 3", "boat: Whin\x00chat"),
    "D103": ("boat: Whinchat 3", "boat: Whinchat 3\n#" + "x" * 9_000_000),
    "D104": ("boat: Whinchat 3", "boat: " + "[" * 200 + "]" * 200),
    "D105": ("boat: Whinchat 3", "boat: !!str Whinchat"),
    "D106": ("boat: Whinchat 3", "boat: &name Whinchat"),
    "D107": ("units: mm", "units: mm\nunits: in"),
    "D108": ("units: mm", "units: mm\n---\nunits: mm"),
    "D109": ("units: mm", "units: mm\n[1, 2]: 3"),
    "D110": ("thickness: 14", "thickness: .inf"),
    "D111": (DEMO, "# nothing"),
    "D120": ("units: mm", "units: mm\ncolour: red"),
    "D121": ("units: mm\n", ""),
    "D122": ("thickness: 14", "thickness: [14]"),
    "D123": ("thickness: 14", "thickness: fourteen"),
    "D124": ("thickness: 14", "thickness: -14"),
    "D125": ("head: hexagon", "head: square"),
    "D126": ("pattern: {rectangle: [40, 24]}", "pattern: {rectangle: [40, 24], circle: {diameter: 9, count: 3}}"),
    "D130": ("min: 2180", "min: 2400"),
    "D131": ("[[1980, -325], [1980, 325]", "[[1980, 325], [1980, -325]"),
    "D132": ("inner: 10", "inner: 18"),
    "D133": ("slot: {length: 16", "slot: {length: 80"),
    "D134": ("first:  [[-16, -30]", "first:  [[-16, -60]"),
    "D135": ("half_spread: 215", "half_spread: 1300"),
    "D136": ("crown: 38", "crown: 1300"),
    "D137": ("solid_at_bolts: 24", "solid_at_bolts: 200"),
    "D138": ("{count: 3, pitch: 55, at_limit: aft}", "{stations: [2300, 2300]}"),
    "D139": ("    thickness: 3", "    corner_radius: 40\n    thickness: 3"),
    "D160": ("units: mm", "units: mm\nbased_on: no-such-boat.yaml"),
    "R110": ("{count: 3, pitch: 55, at_limit: aft}", "{stations: [2345]}"),
    "R111": ("pitch: 55", "pitch: 90"),
    "R112": ("{count: 3, pitch: 55, at_limit: aft}", "{stations: [2342]}"),
    "F110": ("at: [2060, 0]", "at: [1980, 0]"),
    "F111": ("at: [2060, 0]", "at: [2010, 0]"),
    "F112": ("at: [2060, 0]", "at: [2100, 0]"),
    "F120": ("half_spread: 215", "half_spread: 270"),
    "F121": ("corners: [[2120, -30], [2120, 30]", "corners: [[2120, -30], [2120, 230]"),
    "F122": ("pitch: 55", "pitch: 45"),
    "F123": ("half_spread: 215", "half_spread: 37"),
    "F124": ("at: [2060, 0]", "at: [2300, 250]"),
    "F134": ("slot: {length: 16", "slot: {length: 9"),
    "F135": ("      second: [[-16, -16], [-16, 16], [16, -16], [16, 16]]", ""),
    "F140": ("inner: 10", "inner: 11"),
    "F150": ("steering_post: {diameter: 32}", "steering_post: {diameter: 320}"),
    "P101": ("crown: 38", "crown: 900"),
    "P102": ("half_spread: 215", "half_spread: 1194.5"),
    "P110": ("solid_at_bolts: 24", "solid_at_bolts: 7"),
    "P111": ("solid_at_bolts: 24", "solid_at_bolts: 11"),
    "P112": ("  width: 175", "  bolts_from_fore_edge: 3\n  width: 175"),
    "P113": ("  width: 175", "  bolts_from_fore_edge: 30\n  width: 175"),
    "P114": ("half_spread: 215", "half_spread: 1192"),
    "P115": ("half_spread: 215", "half_spread: 1120"),
    "P116": ("on: floor, at: [2060, 0]", "on: plank, at: [90, 0]"),
    "P117": ("  width: 175", "  width: 90"),
    "P120": ("crown: 38", "crown: 380"),
    "P121": ("apart: 2290", "apart: 2900"),
    "P122": ("apart: 2290", "apart: 229"),
    "P123": ("below_floor: 60", "below_floor: 600"),
    "P124": ("pivot_aft_of_bolts: 6 ", "pivot_aft_of_bolts: 600 "),
    "P125": ("length: 2390", "length: 600"),
    "P126": ("  width: 175", "  width: 1750"),
    "P127": ("apart: 2290", "apart: 2400"),
    "H101": ("floor:\n  thickness: 14", "floor:\n  thickness: 9"),
    "H102": ("length: 18", "length: 17"),
    "H103": ("    thickness: 3", "    thickness: 2"),
    "H104": ("length: 18", "length: 3"),
    "H105": ("diameter: 4.5", "diameter: 4", "length: 18", "length: 16"),
    "H106": ("first:  [[-16, -30], [-16, 30]", "first:  [[-16, -30], [-16, -25]"),
    "H110": ("  thickness: 34", "  thickness: 90"),
    "H111": ("head: hexagon", "head: socket, length: 80", "  thickness: 34", "  thickness: 32"),
    "H112": ("head: hexagon", "head: hexagon, length: 65"),
    "H113": ("head: hexagon", "head: hexagon, length: 72"),
    "H114": ("head: hexagon", "head: hexagon, hole: 7"),
    "H115": ("slot: {length: 16, width: 8.5}", "slot: {length: 20, width: 13}"),
    "H116": ("    length: 46", "    length: 14", "-16, -30], [-16, 30], [16, -30], [16, 30]", "0, -30], [0, 30]",
             "-16, -16], [-16, 16], [16, -16], [16, 16]", "0, -16], [0, 16]"),
    "H117": ("first:  [[-16, -30]", "first:  [[0, -12.9]"),
    "H118": ("head: hexagon", "head: countersunk"),
    "H119": ("  width: 175", "  width: 22"),
    "H120": ("thread: M8", "thread: M3"),
    "H121": ("outer: 18", "outer: 50"),
    "W101": ("at: [2060, 0]", "at: [2285, 215]"),
    "W102": ("at: [2060, 0]", "at: [2285, 190]"),
    "W103": ("second: [[-16, -16]", "second: [[-16, -20]"),
    "W104": ("outer: 18", "outer: 24"),
    "S101": ("paper: A4", "paper: Foolscap"),
    "S102": ("paper: A4", "paper: {width: 6000, height: 300}"),
    "S103": ("paper: A4", "paper: {width: 60, height: 60}"),
    "S104": ("overlap: 15", "overlap: 1"),
    "S301": ("boat: Whinchat 3", "boat: Whinchat 三"),
}  # fmt: skip


def fired(changes: tuple[str, ...]) -> dict[str, Severity]:
    """The codes found on the demo boat with some of its text replaced."""
    text = DEMO
    for before, after in zip(changes[::2], changes[1::2], strict=True):
        assert text.count(before) >= 1, before
        text = text.replace(before, after, 1)
    try:
        checked = check(Source(text.encode(), "boat.yaml"))
        findings = checked.findings
        if not checked.errors:
            tile_sheets(checked, drawings_of(checked, ("plank",)), drawn=False)
    except (DescriptionError, DrawingError) as fault:
        findings = fault.findings
    return {finding.code: finding.severity for finding in findings}


@pytest.mark.parametrize("code", EXAMPLES)
def test_a_description_fires_the_code(code: str) -> None:
    found = fired(EXAMPLES[code])
    assert found.get(code) in (CATALOGUE[code].severity, CATALOGUE[code].lighter)


READINGS = """
centreline: {post_offset: 6, stations: [{at: 400, port: 199, starboard: 201}, {at: 800, port: 248, starboard: 252},
  {at: 1200, port: 297, starboard: 303}, {at: 1600, port: 296, starboard: 304}]}
"""
SQUARE = "square: {setting: 3, first_bolt: port, port: 2595, starboard: 2595}"
SHIM = "shim: {least: 1, seat: {length: 60, width: 80}, crown_gap: [{at: 0, gap: 38}]}"
#: Code: command, its readings.
COMMANDS: dict[str, tuple[str, str]] = {
    "T002": ("square", SQUARE.replace(", starboard: 2595", "")),
    "T211": ("square", SQUARE.replace("setting: 3", "setting: 7")),
    "T213": (
        "square",
        "square: {setting: 3, first_bolt: port, off_centre: {port: 155, starboard: 2135}, port: 2335, starboard: 3156}",
    ),
    "T226": ("square", SQUARE.replace("starboard: 2595", "starboard: 2590")),
    "T227": ("square", SQUARE),
    "T233": ("centreline", READINGS),
    "T234": ("centreline", READINGS),
    "T240": ("shim", SHIM.replace("width: 80", "width: 8000")),
    "T241": ("shim", SHIM.replace("least: 1", "least: 0").replace("width: 80", "width: 430")),
    "T243": ("shim", SHIM.replace("gap: 38", "gap: 60")),
    "T244": ("shim", SHIM),
    "T251": ("square", f"boat: another\n{SQUARE}"),
}


@pytest.mark.parametrize("code", COMMANDS)
def test_readings_fire_the_code(
    code: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    command, readings = COMMANDS[code]
    (tmp_path / "boat.yaml").write_text(DEMO, "utf-8")
    (tmp_path / "readings.yaml").write_text(readings, "utf-8")
    main([command, str(tmp_path / "boat.yaml"), str(tmp_path / "readings.yaml")])
    out, err = capsys.readouterr()
    if code in ("T226", "T233"):  # what the terminal shows of the readings says it
        (out,) = (
            path.read_text("utf-8").replace(f'"code": "{code}"', f"[{code}]") for path in tmp_path.rglob("*.json")
        )
    assert f"[{code}]" in out + err, out + err


@pytest.mark.parametrize(
    ("code", "arguments"),
    [
        ("D190", ["check", "none.yaml"]),
        ("D191", ["new", "boat.yaml/below.yaml"]),
        ("D192", ["new", "boat.yaml"]),
        ("D196", ["handover", "boat.yaml", "--readings", "boat.yaml"]),
        ("S110", ["make", "boat.yaml", "--printer", "one"]),
        ("S190", ["make", "boat.yaml", "--only", "sail"]),
        ("S191", ["make", "boat.yaml", "--tile", "2-1"]),
        ("Q100", ["proof", "."]),
        ("T121", ["make", "boat.yaml", "--printer", "none"]),
        ("T122", ["printer", "set", "one", "across=many"]),
    ],
)
def test_a_command_fires_the_code(
    code: str, arguments: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "boat.yaml").write_text(DEMO, "utf-8")
    monkeypatch.setenv("TEMPLATER_HOME", str(tmp_path))
    (tmp_path / "printers").mkdir()
    profile = profile_yaml(profile_from_readings("one", find_paper("A4"), 7.0, {"across": [180.0], "along": [260.0]}))
    worn = re.sub("across: [0-9.]+", "across: 1.05", profile, count=1)
    (tmp_path / "printers" / "one.yaml").write_text(worn, "utf-8")
    main(arguments)
    assert f"[{code}]" in capsys.readouterr().err


def test_every_other_code_is_held_by_a_test_of_its_room() -> None:
    text = "".join(path.read_text("utf-8") for path in TESTS.rglob("test_*.py"))
    assert [code for code in CATALOGUE if code not in text] == []
