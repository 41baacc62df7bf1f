"""Two boats side by side, against figures worked by hand."""

import json
import math
import re
from io import BytesIO
from pathlib import Path

import made_boats
import pytest
from pypdf import PdfReader

from templater.boat.solved import Boat
from templater.cli import files as cli_files
from templater.cli.main import main
from templater.drawing.marks import Circle, Cross, Pen, Polyline, Text
from templater.pipeline.checked import check
from templater.pipeline.share import overlay_files
from templater.report.blocks import value_of
from templater.share.compare import compare, overlay


def boat(path: Path) -> Boat:
    return check(cli_files.read_source(path)).boat


def test_whinchat_3_and_4_by_hand(configs: Path) -> None:
    # By hand: the limit setting stands at 2350 - 4 - 6 = 2340 in both. Whinchat 3 has pitch 55 and half spread 215:
    # setting 1 at 2340 - 2 x 55 = 2230. Whinchat 4 has pitch 50 and half spread 8 3/4 in = 222.25: setting 1 at 2240.
    # So P1 moves 10 aft and 222.25 - 215 = 7.25 to port, sqrt(10^2 + 7.25^2) = 12.3516 away; P3 only 7.25 to port.
    found = compare(boat(configs / "whinchat-3.yaml"), boat(configs / "whinchat-4.yaml"))
    moves = {move.id: move for move in found.moves}
    assert moves["P1"].move == pytest.approx((10.0, -7.25))
    assert moves["P1"].distance == pytest.approx(12.3516, abs=1e-4)
    assert moves["S2"].move == pytest.approx((5.0, 7.25))
    assert moves["P3"].move == pytest.approx((0.0, -7.25))
    assert moves["A1"].move == pytest.approx((0.0, 0.0))  # the block base stays
    # The plank's holes lie along an arc: R asin(222.25/R) - R asin(215/R) is 7.2505 for R = 18 800 or so.
    assert moves["KS"].move == pytest.approx((0.0, 7.2505), abs=2e-4)
    keys = {difference.key: (difference.a, difference.b) for difference in found.differences}
    assert keys["fixing.half_spread"] == (215.0, 222.25)
    assert keys["fixing.settings.pitch"] == (55.0, 50.0)
    assert "plank.length" not in keys
    margins = {row.setting: row for row in found.margins}
    assert (margins[1].to_max_a, margins[1].to_max_b) == pytest.approx((114.0, 104.0))
    assert (margins[3].to_max_a, margins[3].to_max_b) == pytest.approx((4.0, 4.0))
    assert not found.serves


def test_a_boat_serves_itself(configs: Path) -> None:
    one = boat(configs / "whinchat-3.yaml")
    found = compare(one, one)
    assert found.serves
    assert not found.differences
    assert all(move.distance == 0 for move in found.moves)


def test_holes_that_move_alike_are_one_row(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # By hand as above: the pitch moves a setting's holes aft, the spread all of them outboard; the block base stays.
    assert main(["compare", str(configs / "whinchat-3.yaml"), str(configs / "whinchat-4.yaml")]) == 3
    told = capsys.readouterr().out
    rows = {tuple(re.split(" {2,}", line.strip())) for line in told.splitlines() if re.match("  [PS][123]", line)}
    assert rows == {
        (f"{side}{n}, {side}{n}a1..4, {side}{n}b1..4{pin}", f"+{aft}", f"{sign}7.25", away)
        for side, sign in (("P", "-"), ("S", "+"))
        for n, aft, away, pin in ((1, "10.00", "12.35", ""), (2, "5.00", "8.81", ""), (3, "0.00", "7.25", f", K{side}"))
    }
    assert "Holes that differ: 56 of 60" in told


def test_values_are_told_as_they_are_written(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["compare", str(configs / "whinchat-3.yaml"), str(configs / "whinchat-5.yaml")])
    told = capsys.readouterr().out
    assert re.search(r"fittings 1\.mirror +false +true", told)
    assert re.search(r"fittings 2\.rotate +not given +30\n", told)
    assert [value_of(value, False) for value in (123.4567, 123.4572, 0.5, -0.0)] == ["123.4567", "123.4572", "0.5", "0"]
    assert re.search(r"A1\.\.4 .* block base: only in Whinchat 3\n", told)


def test_holes_of_only_one_boat_are_named(configs: Path) -> None:
    found = compare(boat(configs / "whinchat-3.yaml"), boat(configs / "whinchat-5.yaml"))
    only = {move.id: move.only_in for move in found.moves if move.move is None}
    assert only["P4"] == "Whinchat 5"
    assert math.isinf(next(move.distance for move in found.moves if move.id == "P4"))


def test_only_the_second_boat_s_holes_can_be_punched(configs: Path) -> None:
    sheet = overlay(boat(configs / "whinchat-3.yaml"), boat(configs / "whinchat-4.yaml"))
    circles = {mark.id: mark.centre for mark in sheet.marks if isinstance(mark, Circle) and mark.pen is Pen.WIDE}
    squares = {mark.id for mark in sheet.marks if isinstance(mark, Polyline) and mark.pen is Pen.WIDE and mark.id}
    assert circles["P1"] == pytest.approx((-222.25, -2240.0))
    assert {hole.id for hole in sheet.holes} == set(circles) | squares
    crosses = [mark.centre for mark in sheet.marks if isinstance(mark, Cross)]
    assert sorted(crosses) == sorted(hole.at for hole in sheet.holes)
    dashed = [mark for mark in sheet.marks if isinstance(mark, Circle) and mark.pen is Pen.DASHED]
    # Whinchat 3's P1 by hand: 2230 aft, 215 to port; nothing dashed has an id to be found by.
    assert any(mark.centre == pytest.approx((-215.0, -2230.0)) and mark.diameter == 18.0 for mark in dashed)
    assert not any(mark.id for mark in dashed)


def test_the_overlay_says_how_far_each_bolt_hole_moves(configs: Path) -> None:
    # By hand as above: P1 10 aft and 7.25 to port, P3 7.25 to port alone.
    sheet = overlay(boat(configs / "whinchat-3.yaml"), boat(configs / "whinchat-4.yaml"))
    words = " ".join(mark.text for mark in sheet.marks if isinstance(mark, Text))
    assert "P1: Whinchat 4 has it 10.00 mm aft, 7.25 mm to port" in words
    assert "P3: Whinchat 4 has it 7.25 mm to port" in words


def test_the_overlay_goes_through_paper_and_proof(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["compare", str(configs / "whinchat-3.yaml"), str(configs / "whinchat-4.yaml"), "--json"]
    assert main([*arguments, "--overlay", str(tmp_path / "both.pdf"), "--paper", "A3"]) == 3
    found = json.loads(capsys.readouterr().out)
    move = next(hole for hole in found["moves"] if hole["id"] == "P1")
    assert move["move"] == pytest.approx([10.0, -7.25])
    assert [sheet["serves"] for sheet in found["sheets"]] == [False, False, False, True]
    assert {path.name for path in tmp_path.iterdir()} == {"both.pdf", "both.svg"}
    pages = PdfReader(tmp_path / "both.pdf").pages
    assert sorted(float(side) for side in pages[0].mediabox[2:]) == pytest.approx([841.8898, 1190.5512], abs=1e-3)


def test_templates_serve_within_the_tolerance_that_is_asked(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # The worst floor hole lies sqrt(10² + 7.25²) = 12.35 away, the plank's 7.25: 12.36 lets both pass, 12.3 one.
    paths = [str(configs / "whinchat-3.yaml"), str(configs / "whinchat-4.yaml")]
    assert main(["compare", *paths, "--tolerance", "12.36"]) == 0
    assert "A's floor template may be used on B within 12.36 mm" in capsys.readouterr().out
    assert main(["compare", *paths, "--tolerance", "12.3"]) == 3
    text = capsys.readouterr().out
    assert "A's floor template may NOT be used" in text
    assert "A's plank template may be used" in text


def test_a_boat_in_inches_is_compared_in_inches(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # By hand: half spreads of 8 in and 8 1/32 in; bolt holes 1/32 in = 0.79 mm = 0.031 in further out.
    one, other = tmp_path / "one.yaml", tmp_path / "other.yaml"
    text = (configs / "whinchat-5.yaml").read_text("utf-8")
    assert text.count("half_spread: 8\n") + text.count("half_spread: 8 ") == 1
    one.write_text(text, "utf-8")
    other.write_text(text.replace("half_spread: 8", "half_spread: 8 1/32"), "utf-8")
    assert main(["compare", str(one), str(other)]) == 3
    told = capsys.readouterr().out
    assert re.search(r"fixing\.half_spread +8 in +8 1/32 in", told)
    assert re.search(r"P1\.\.5, .*\(0\.031\)", told)
    words = " ".join(mark.text for mark in overlay(boat(one), boat(other)).marks if isinstance(mark, Text))
    assert "it 0.79 mm (0.031 in) to port" in words


@pytest.fixture
def revisions(configs: Path, tmp_path: Path) -> tuple[Path, Path]:
    """A boat in inches alone, and its next revision with bolt holes a quarter of an inch further out."""
    text = (configs / "whinchat-5.yaml").read_text("utf-8").replace("print: {", "print: {figures: in, ")
    one, other = tmp_path / "old" / "boat.yaml", tmp_path / "new" / "boat.yaml"
    for path, revision, spread in ((one, "B", "8"), (other, "C", "8 1/4")):
        path.parent.mkdir()
        changed = re.sub(
            r"half_spread: 8\b", f"half_spread: {spread}", text.replace("revision: B", f"revision: {revision}")
        )
        path.write_text(changed, "utf-8")
    return one, other


def test_two_revisions_of_a_boat_are_told_apart(
    revisions: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    # By hand: the bolt lines stand 8 1/4 - 8 = 1/4 in further out.
    one, other = revisions
    assert main(["compare", str(one), str(other), "--overlay", str(one.with_name("over.pdf")), "--paper", "A3"]) == 3
    told = capsys.readouterr().out.splitlines()
    assert any(re.search(r" key +Whinchat 5, revision B \(A\) +Whinchat 5, revision C \(B\)$", line) for line in told)
    assert told[-2:] == [f"wrote {one.with_name('over.pdf')}", f"wrote {one.with_name('over.svg')}"]
    assert all(Path(line.removeprefix("wrote ")).is_file() for line in told[-2:])
    pages = PdfReader(one.with_name("over.pdf")).pages
    written = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Whinchat 5, revision B: dashed, without crosshairs" in written
    assert "Whinchat 5, revision C: full lines" in written
    assert "P1: Whinchat 5, revision C has it 0.250 in to port" in written
    assert "Floor, Whinchat 5, revision B and revision C" in written


def test_one_revision_in_two_files_is_told_apart_by_them(revisions: tuple[Path, Path]) -> None:
    one, other = revisions
    other.write_text(other.read_text("utf-8").replace("revision: C", "revision: B"), "utf-8")
    assert compare(boat(one), boat(other))[:2] == ("Whinchat 5, old/boat.yaml", "Whinchat 5, new/boat.yaml")
    friend = other.rename(other.with_name("friend.yaml"))
    assert compare(boat(one), boat(friend))[:2] == ("Whinchat 5, boat.yaml", "Whinchat 5, friend.yaml")
    assert compare(boat(one), boat(one))[:2] == ("Whinchat 5, A", "Whinchat 5, B")


def test_the_overlay_is_no_template_and_in_the_boat_s_own_figures(configs: Path, revisions: tuple[Path, Path]) -> None:
    # By hand: Whinchat 5's bolts go through 5/8 in; in mm that would be 15.9.
    two = [check(cli_files.read_source(path)) for path in revisions]
    pages = PdfReader(BytesIO(overlay_files(*two)[".pdf"])).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert all("NOT FOR DRILLING" in text and "type comparison" in text for text in texts)
    assert not any("drilling template" in text or "UPPER FACE" in text for text in texts)
    assert "for comparing alone: drill by each boat's own sheets" in " ".join(texts)
    assert "P1 ⌀5/8 in" in " ".join(texts)
    assert "⌀15.9" not in " ".join(texts)
    floor = PdfReader(BytesIO(made_boats.files("whinchat-3")["floor.pdf"])).pages[0].extract_text()
    assert "type drilling template" in " ".join(floor.split())


def test_a_handover_file_is_compared_like_its_description(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    friend = tmp_path / "friend.pdf"
    friend.write_bytes(made_boats.handed_over("whinchat-4"))
    assert main(["compare", str(configs / "whinchat-4.yaml"), str(friend)]) == 0
    assert "Holes that differ: 0 of 60" in capsys.readouterr().out


def test_plates_serve_by_their_own_shape_not_by_their_place(configs: Path) -> None:
    # By hand: Whinchat 4 has Whinchat 3's plate; its strip's third plate stands 2 x 50 from the first and not 2 x 55.
    three, four = boat(configs / "whinchat-3.yaml"), boat(configs / "whinchat-4.yaml")
    rows = {sheet: (serves, worst, off) for sheet, serves, worst, off in compare(three, four).sheets}
    assert rows["plates"] == (False, "setting 3 from the first", pytest.approx(10.0))
    assert rows["spare-plates"][0]
    assert rows["spare-plates"][2] == pytest.approx(0.0, abs=1e-9)
    found = compare(three, boat(configs / "whinchat-5.yaml")).sheets
    five = {sheet: (serves, worst) for sheet, serves, worst, _ in found}
    assert five["plates"] == (False, "number of settings")
    assert not five["spare-plates"][0]


@pytest.mark.parametrize(("paper", "said"), [("A9", "no such paper"), ("10 x 10", "too small for a template")])
def test_a_paper_given_for_the_overlay_is_refused_as_given(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], paper: str, said: str
) -> None:
    paths = [str(configs / "whinchat-3.yaml"), str(configs / "whinchat-4.yaml")]
    assert main(["compare", *paths, "--overlay", str(tmp_path / "over"), "--paper", paper]) == 1
    assert capsys.readouterr().err.startswith(f"--paper: {paper}: {said}")
    assert not list(tmp_path.iterdir())
