"""A printer's profile through the shell: its page, its readings, its file, and what it does to the sheets."""

import json
import math
import shlex
from pathlib import Path

import pytest
from paper_scenes import printer_profile
from pypdf import PdfReader
from raster.measure import Picture, find_line, render

from templater.cli.main import main
from templater.findings import ReadingsError
from templater.paper.printer import BarLengths, load_profile, profile_yaml

#: A printer that prints 0.4 % long across, 0.3 % short along, and is true to the square; its A4 page has bars of
#: 180 mm across and 267 mm along.
PRINTED = ("across=180.72", "along=266.199")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test may touch the user's own profiles."""
    monkeypatch.setenv("TEMPLATER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("HOME", str(tmp_path / "nobody"))
    return tmp_path / "home" / "printers"


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    assert main(list(arguments)) == 1
    return capsys.readouterr().err.splitlines()


@pytest.fixture(scope="module", params=["A4", "Letter"])
def page_picture(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Picture:
    path = tmp_path_factory.mktemp("page") / "page.pdf"
    assert main(["printer", "page", "--paper", request.param, "--to", str(path)]) == 0
    return render(path.read_bytes())


def test_the_bars_of_the_printed_page_have_their_lengths(page_picture: Picture) -> None:
    # Where the ticks stand is looked for on the picture of the page; how far apart they must be is said in words on
    # the page: 180 and 267 mm on A4, 185 and 249 mm on Letter, so ISO 216 and ANSI/ASME Y14.1 sizes less margins.
    across, along = (180.0, 267.0) if page_picture.width < 212 else (185.0, 249.0)
    left, right = (find_line(page_picture, (x, 12.5), "x", run=0.8) for x in (19.0, 19.0 + across))
    assert right - left == pytest.approx(across, abs=0.05)
    low, high = (find_line(page_picture, (12.5, y), "y", run=0.8) for y in (19.0, 19.0 + along))
    assert high - low == pytest.approx(along, abs=0.05)


def test_the_diagonals_of_the_printed_page_cross_in_its_middle(page_picture: Picture) -> None:
    # Two straight lines that run through each other at their middles: seen at the quarter points, left and right.
    middle = None
    for way in (1, -1):
        found = []
        for part in (-0.3, 0.3):
            x = page_picture.width / 2 + 4 + part * 163.55 if page_picture.width < 212 else 111.95 + part * 169.49
            found.append((x, _level(page_picture, x, way, part)))
        (x0, y0), (x1, y1) = found
        here = (x0 + x1) / 2, (y0 + y1) / 2
        middle = middle or here
        assert here == pytest.approx(middle, abs=0.1)


def _level(picture: Picture, x: float, way: int, part: float) -> float:
    """Return the Y at which a diagonal stands at X."""
    height = 250.3066 if picture.width < 212 else 232.8426
    middle = 152.5 if picture.width < 212 else 143.7
    return find_line(picture, (x, middle + way * part * height), "y", run=0.02, reach=0.7)


# What is drawn, by hand: width and length less twice the margin and 16 mm; the diagonal of both less twice the margin
# and 32 mm; whole mm. Letter is 215.9 by 279.4 mm, Tabloid 279.4 by 431.8 (ANSI/ASME Y14.1), a roll's page is square.
@pytest.mark.parametrize(
    ("paper", "margin", "order", "across", "along", "diagonal"),
    [
        ("A4", "7", "--paper A4 --margin 7", 180, 267, 299),
        ("A4", "6.502", "--paper A4 --margin 6.5", 181, 268, 301),  # the margin counts as it is written
        ("Letter", "7 mm", "--paper Letter --margin 7", 185, 249, 288),
        ("Letter", "1/4 in", "--paper Letter --margin 6.35", 187, 250, 290),
        ("tabloid", "3/8 in", "--paper Tabloid --margin 9.53", 244, 396, 443),
        ("8 1/2 x 13 in", "1/2 in", "--paper '215.9 x 330.2' --margin 12.7", 174, 288, 315),
        ("roll 24 in", "1 cm", "--paper '24 in roll' --margin 10", 573, 573, 788),
    ],
)
@pytest.mark.parametrize("diagonals", [("rising", "falling"), ("rising",), ("falling",)])
def test_a_true_print_entered_as_the_page_says_needs_no_correction(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    paper: str, margin: str, order: str, across: int, along: int, diagonal: int, diagonals: tuple[str, ...],
) -> None:  # fmt: skip
    path = tmp_path / "page.pdf"
    assert main(["printer", "page", "--to", str(path), "--paper", paper, "--margin", margin]) == 0
    out = capsys.readouterr().out
    assert f"wrote {path}; print it at actual size (100 %)" in out
    page, said = render_text(path, 1), out.splitlines()[-1]
    assert said == f"templater printer set NAME {order} across=.. along=.. rising=.. falling=.."
    assert said in page
    read = {"across": across, "along": along} | dict.fromkeys(diagonals, diagonal)
    assert all(f"{bar} {length} mm" in page for bar, length in read.items())
    typed = [f"{bar}={length}" for bar, length in read.items()]
    assert main([*shlex.split(said)[1:-4], *typed]) == 0
    profile = load_profile((home / "name.yaml").read_text("utf-8"), "name.yaml")
    assert (profile.across, profile.along, profile.skew) == (1.0, 1.0, 0.0)


def test_a_margin_that_leaves_no_room_for_bars_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # By hand: 210 - 2 x 60 - 16 = 74, less than the 90 that a bar must have.
    (line,) = refused(capsys, "printer", "page", "--margin", "60", "--to", str(tmp_path / "page.pdf"))
    assert line.startswith("--paper: A4: too small for bars of 90 mm with a margin of 60 mm")
    assert not list(tmp_path.iterdir())


def test_set_with_repeats_stores_what_was_measured(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["printer", "set", "Shed Laser", "across=180.7,181.1,180.36", "along=266.2,266.3", "rising=299"]) == 0
    out = capsys.readouterr().out
    path = home / "shed-laser.yaml"
    assert f"wrote {path}" in out
    assert "print: {printer: Shed Laser}" in out
    profile = load_profile(path.read_text("utf-8"), str(path))
    assert profile.across == pytest.approx(180.72 / 180, abs=1e-6)
    assert profile.along == pytest.approx(266.25 / 267, abs=1e-6)
    # Mean and deviation of the mean by hand, JCGM 100:2008, 4.2.3: deviations -0.02, 0.38, -0.36 give
    # s^2 = 0.2744 / 2, u = s / sqrt 3.
    assert profile.u_across == pytest.approx(math.sqrt(0.2744 / 2 / 3) / 180, abs=1e-6)
    assert (profile.printer, profile.paper, profile.readings) == ("Shed Laser", "A4", 6)


def test_set_takes_the_bars_of_any_sheet_that_was_printed(home: Path) -> None:
    assert main(["printer", "set", "shed", "across=98.5/100,98.7/100", "along=7 15/16 in/8 in"]) == 0
    profile = load_profile((home / "shed.yaml").read_text("utf-8"), "shed.yaml")
    assert profile.across == pytest.approx(0.986)
    assert profile.along == pytest.approx(127 / 128)
    assert not profile.skew_measured


# By hand: 7 3/32 in is 7.09375 x 25.4 = 180.18125 mm, and 7 3/32 to 7 1/8 is 227 to 228.
@pytest.mark.parametrize(
    ("reading", "share"),
    [
        ("7 3/32 in", 180.18125 / 180), ('7-3/32"', 180.18125 / 180), ("7 3/32", 180.18125 / 180),
        ("7 3/32 in/7 1/8 in", 227 / 228), ("7 3/32/7 1/8", 227 / 228), ("180 1/2", 180.5 / 180),
        ("180/180", 1.0), ("98.5/100", 0.985), ("180.18125/7 3/32 in", 1.0),
    ],
)  # fmt: skip
def test_a_fraction_of_an_inch_is_no_measured_over_drawn(home: Path, reading: str, share: float) -> None:
    assert main(["printer", "set", "shed", f"across={reading}", "along=267"]) == 0
    profile = load_profile((home / "shed.yaml").read_text("utf-8"), "shed.yaml")
    assert profile.across == pytest.approx(share, abs=1e-7)


def test_what_a_bare_figure_is_stands_in_the_help_and_on_the_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main(["printer", "set", "--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert "figures without a unit are mm, inches are as across='7 3/32 in'" in told
    assert main(["printer", "page", "--to", str(tmp_path / "page.pdf")]) == 0
    assert "Without a unit they are in mm; write inches as 7 3/32 in." in render_text(tmp_path / "page.pdf", 1)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_set_takes_lengths_with_units(home: Path, unit: str) -> None:
    readings = PRINTED if unit == "mm" else (f"across={180.72 / 25.4:.6f} in", f"along={266.199 / 25.4:.6f} in")
    assert main(["printer", "set", "shed", *readings]) == 0
    profile = load_profile((home / "shed.yaml").read_text("utf-8"), "shed.yaml")
    assert (profile.across, profile.along) == pytest.approx((1.004, 0.997), abs=1e-6)
    assert (profile.skew, profile.u_skew) == (0.0, 0.0)


def sheared(skew: float) -> tuple[float, float]:
    """Lengths of both diagonals, 163.547 by 250.307 mm, when the top leans by this much and nothing is stretched."""
    w, h = 190.77347266 - 27.22652734, 277.65330267 - 27.34669733
    return math.hypot(w + skew * h, h), math.hypot(w - skew * h, h)


@pytest.mark.parametrize("bars", ["rising", "falling", "both", "diagonal"])
def test_a_skew_is_found_from_either_diagonal_or_both(home: Path, bars: str) -> None:
    rising, falling = sheared(0.002)
    given = {"rising": [f"rising={rising}"], "falling": [f"falling={falling}"], "diagonal": [f"diagonal={rising}"],
             "both": [f"rising={rising}", f"falling={falling}"]}[bars]  # fmt: skip
    assert main(["printer", "set", "shed", "across=180", "along=267", *given]) == 0
    profile = load_profile((home / "shed.yaml").read_text("utf-8"), "shed.yaml")
    assert profile.skew == pytest.approx(0.002, abs=1e-6)
    assert profile.u_skew > 0


def test_a_print_scaled_to_fit_is_refused(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (line,) = refused(capsys, "printer", "set", "shed", "across=173.0", "along=267")
    assert "across: 173 mm: the bar is 180 mm, allowed is within 3 % of it" in line
    assert "the print was scaled to fit" in line
    assert not home.exists()


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (("across=180", "along=267", "up=10"), "up: no such bar on the test page - allowed: across, along, rising"),
        (("across=180",), "along: not measured - both across and along are needed"),
        (
            ("across=wide", "along=267"),
            "across: wide: no bar's length - allowed: 199.4 (mm where no unit stands), '7 27",
        ),
        (("across=11/32 in", "along=267"), "across: 11/32 in: no bar's length - allowed: 199.4 (mm where no unit"),
        (("across=100/7", "along=267"), "across: 100/7: no bar's length - allowed: 199.4 (mm where no unit"),
        (
            ("across=7.09", "along=267"),
            "across: 7.09 mm: the bar is 180 mm, allowed is within 3 % of it - misread, inches",
        ),
        (("across", "along=267"), "across: not BAR=LENGTH"),
        (("across=180,,181", "along=267"), "across: nothing: no bar's length - allowed: 199.4"),
    ],
)
def test_readings_that_cannot_be_taken_give_one_line(
    home: Path, capsys: pytest.CaptureFixture[str], readings: tuple[str, ...], words: str
) -> None:
    (line,) = refused(capsys, "printer", "set", "shed", *readings)
    assert words in line
    assert not home.exists()


def test_list_names_every_printer(tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["printer", "list"]) == 0
    assert capsys.readouterr().out == ""
    store = tmp_path / "club"
    for name, across in (("Attic", "180.36"), ("shed", "179.82")):
        assert main(["printer", "set", name, f"across={across}", "along=267", "--store", str(store)]) == 0
    capsys.readouterr()
    assert main(["printer", "list", "--store", str(store)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "Attic: A4, 1.00200 across, 1.00000 along",
        "shed: A4, 0.99900 across, 1.00000 along",
    ]
    assert not home.exists()
    (store / "bench.yaml").write_text("printer: bench\n", "utf-8")
    assert main(["printer", "list", "--store", str(store)]) == 1
    taken = capsys.readouterr()
    assert [line.partition(":")[0] for line in taken.out.splitlines()] == ["Attic", "shed"]
    assert all(line.startswith(f"{store / 'bench.yaml'}:") for line in taken.err.splitlines())
    assert taken.err


def test_a_profile_is_the_same_when_read_back() -> None:
    attic = printer_profile('Attic "old" \\ printer', 1.0042, 0.9971, -0.0008, u_across=0.0003, u_along=0.0002,
                            u_skew=0.0001, readings=7, nominal=BarLengths(across=180.0, rising=299.0))  # fmt: skip
    assert load_profile(profile_yaml(attic), "attic.yaml") == attic


SOUND = profile_yaml(printer_profile("shed", 1.0, 1.0, 0.0, readings=2, nominal=BarLengths(across=180.0)))


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("across: 1.0000000\n", "across: one\n", "shed.yaml:4:1: across: one: not a plain number - allowed: a number"),
        ("along: 1.0000000\n", "along: .nan\n", "shed.yaml:5:1: along: .nan: not a number that can be used"),
        ('printer: "shed"\n', "printer: [7]\n", "shed.yaml:2:1: printer: a list or keys: no text"),
        ("skew: ", "slant: ", "shed.yaml:6:1: slant: unknown key - allowed here: printer, paper"),
        ("across: 1.0000000\n", "across: -1\n", "shed.yaml:4:1: across: -1: outside what is allowed"),
        ("along: 1.0000000\n", "along: 0\n", "shed.yaml:5:1: along: 0: outside what is allowed"),
        ("u_skew: 0.0000000\n", "u_skew: -0.1\n", "shed.yaml:9:1: u_skew: -0.1: outside what is allowed"),
        ("{across: 180}", "{sideways: 180}", "shed.yaml:11:11: nominal.sideways: unknown key"),
        ("readings: 2\n", "readings: many\n", "shed.yaml:10:1: readings: many: not a whole number"),
    ],
)
def test_a_damaged_profile_says_where(old: str, new: str, line: str) -> None:
    assert old in SOUND
    with pytest.raises(ReadingsError) as caught:
        load_profile(SOUND.replace(old, new), "shed.yaml")
    assert any(finding.line().startswith(line) for finding in caught.value.findings), str(caught.value)


@pytest.mark.parametrize("text", ["", "- 1\n- 2\n", "printer: [", "just words", SOUND + "across: 1\n"])
def test_what_is_no_profile_is_told_in_one_line(
    home: Path, configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    home.mkdir(parents=True)
    (home / "shed.yaml").write_text(text, "utf-8")
    boat = str(configs / "whinchat-3.yaml")
    (line,) = refused(capsys, "make", boat, "--printer", "shed", "--out", str(tmp_path / "out"))
    assert line.startswith(f"{home / 'shed.yaml'}:")
    assert not (tmp_path / "out").exists()


def test_a_profile_out_of_reason_is_refused(home: Path, configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home.mkdir(parents=True)
    (home / "shed.yaml").write_text(SOUND.replace("across: 1.0000000", "across: 1.05"), "utf-8")
    (line,) = refused(capsys, "make", str(configs / "whinchat-3.yaml"), "--printer", "shed")
    assert "shed: off by 4.8 %, allowed is 3 %" in line
    assert "scaled to fit" in line


@pytest.mark.parametrize("by", ["option", "description"])
def test_the_printer_s_correction_is_drawn_told_kept_and_undone(
    home: Path, configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], by: str
) -> None:
    assert main(["printer", "set", "shed", *PRINTED]) == 0
    boat = tmp_path / "boat.yaml"
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    if by == "description":
        text = text.replace("print: {paper: A4,", "print: {printer: shed, orientation: upright, paper: A4,")
    else:
        text = text.replace("print: {paper: A4,", "print: {orientation: upright, paper: A4,")
    boat.write_text(text, "utf-8")
    option = ["--printer", "shed"] if by == "option" else []
    assert main(["make", str(boat), "--out", str(tmp_path / "out"), *option]) == 0
    folder = tmp_path / "out" / "whinchat-3"
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    for sheet in manifest["sheets"]:
        for page in sheet["pages"]:
            a, b, c, d, _, _ = page["to_page"]
            # What the printer prints 0.4 % long must be drawn that much shorter: 1 / 1.004, by hand 0.996016.
            assert (a, b, c, d) == pytest.approx((0.996016, 0.0, 0.0, 1.003009), abs=1e-6)
            kept = page["correction"]
            assert kept["name"] == "shed"
            assert (kept["across"], kept["along"], kept["skew"]) == pytest.approx((0.996016, 1.003009, 0), abs=1e-6)
            words = render_text(folder / page["file"], page["page"])
            assert "printer shed: across -0.40 %, along +0.30 %" in words
            assert "skew" not in words  # no diagonal was measured
    capsys.readouterr()
    assert main(["proof", str(folder)]) == 0
    out = capsys.readouterr().out
    worst = float(out.rpartition("worst deviation ")[2].partition(" mm")[0])
    assert worst < 0.005
    # The picture of the whole sheet is for looking at and for cutting: nothing of the printer is in it.
    assert "printer shed" not in (folder / "floor.svg").read_text("utf-8")


def render_text(path: Path, page: int) -> str:
    import pypdfium2

    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        return " ".join(document[page - 1].get_textpage().get_text_range().split())
    finally:
        document.close()


def test_a_printer_without_a_profile_is_named_in_one_line(
    home: Path, configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat = str(configs / "whinchat-3.yaml")
    (line,) = refused(capsys, "make", boat, "--printer", "Attic", "--out", str(tmp_path / "out"))
    assert "print.printer: Attic: no profile of this printer - leave the name out, or store one with " in line
    assert "stored: none" in line
    assert main(["printer", "set", "shed", *PRINTED]) == 0
    capsys.readouterr()
    (line,) = refused(capsys, "make", boat, "--printer", "Attic", "--out", str(tmp_path / "out"))
    assert "stored: shed" in line
    assert not (tmp_path / "out").exists()


def test_the_profile_s_uncertainty_goes_into_the_budget(
    home: Path, configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["printer", "set", "shed", *PRINTED]) == 0
    boat = tmp_path / "boat.yaml"
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    boat.write_text(text.replace("print: {paper: A4,", "print: {printer: shed, paper: A4,"), "utf-8")
    capsys.readouterr()
    assert main(["check", str(boat), "--accuracy"]) == 0
    # One reading of each bar to 0.2 mm: 0.2 / 180 is the larger of the two.
    assert "printer scale 0.001111 mm/mm the printer's profile" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("reading", ["179,1", "179,1,179,2"])
def test_a_decimal_comma_is_named(home: Path, capsys: pytest.CaptureFixture[str], reading: str) -> None:
    (line,) = refused(capsys, "printer", "set", "shed", f"across={reading}", "along=267")
    assert line.startswith(f"across: {reading}: readings too far apart - write decimals with a point, as 179.1")
    assert not home.exists()


def test_the_margin_of_the_page_takes_a_unit(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for margin, name in (("1/4 in", "inch"), ("6.35", "mm")):
        assert main(["printer", "page", "--margin", margin, "--to", str(tmp_path / f"{name}.pdf")]) == 0
    assert (tmp_path / "inch.pdf").read_bytes() == (tmp_path / "mm.pdf").read_bytes()
    for wrong, said in (("a little", "a little: not a length - allowed: a length such as"), ("-1", "-1: less than 0")):
        with pytest.raises(SystemExit) as end:
            main(["printer", "page", f"--margin={wrong}", "--to", str(tmp_path / "none.pdf")])
        assert end.value.code == 2
        assert f"argument --margin: {said}" in capsys.readouterr().err


def test_the_tolerance_of_a_comparison_takes_a_unit(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    boat = str(configs / "whinchat-3.yaml")
    assert main(["compare", boat, boat, "--tolerance", "1/16 in", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["tolerance"] == pytest.approx(25.4 / 16)


@pytest.mark.parametrize("command", ["check", "make"])
@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_a_profile_of_another_paper_is_told(
    command: str, paper: str, tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["printer", "set", "shed", *PRINTED]) == 0
    path = tmp_path / "boat.yaml"
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    path.write_text(text.replace("paper: A4", f"printer: shed, paper: {paper}"), "utf-8")
    capsys.readouterr()
    assert main([command, str(path), *(["--out", str(tmp_path)] if command == "make" else [])]) == 0
    taken = capsys.readouterr()
    said = [line for line in (taken.out + taken.err).splitlines() if "[S111]" in line]
    assert len(said) == (paper == "A3")
    if said:
        line = text[: text.index("paper: A4")].count("\n") + 1
        assert said[0].startswith(f"advice: {path}:{line}:")
        assert "print.printer: shed: its profile was measured on A4, and the sheets go on A3" in said[0]


def test_a_skew_that_was_not_measured_is_not_claimed(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat = str(configs / "whinchat-3.yaml")
    for bars, words in (((), "skew not measured"), (("rising=298", "falling=300"), "skew -")):
        assert main(["printer", "set", "shed", *PRINTED, *bars]) == 0
        assert words in capsys.readouterr().out
        assert main(["make", boat, "--printer", "shed", "--only", "plates", "--out", str(tmp_path)]) == 0
        page = PdfReader(tmp_path / "whinchat-3" / "plates.pdf").pages[0].extract_text()
        assert "printer shed: across -0.40 %" in page
        assert ("skew" in page) == bool(bars)
