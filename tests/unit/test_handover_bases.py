"""A boat based on another, through the shell: what is inherited, and what goes wrong with the base."""

import json
import re
from pathlib import Path

import pytest

from templater.cli.main import main


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1, lines
    return lines[0]


def test_check_shows_which_values_are_inherited(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = configs / "whinchat-4.yaml"
    assert main(["check", str(path), "--json"]) == 0
    rows = {row["key"]: row for row in json.loads(capsys.readouterr().out)["inherited"]}
    # By the two texts: what stands in Whinchat 4 is its own, all else comes from Whinchat 3, at its line there.
    base = (configs / "whinchat-3.yaml").read_text("utf-8").splitlines()
    assert rows["plank.crown"]["value"] == 38.0
    assert base[rows["plank.crown"]["line"] - 1].lstrip().startswith("crown:")
    assert rows["plank.crown"]["file"].endswith("whinchat-3.yaml")
    assert rows["fixing.settings.count"]["value"] == 3
    assert rows["floor.outline"]["value"] is None  # a list, replaced whole or not at all
    for own in ("boat", "fixing.half_spread", "fixing.settings.pitch", "print.paper", "issue.drawn_by"):
        assert own not in rows
    assert main(["check", str(path)]) == 0
    text = capsys.readouterr().out
    assert f"Inherited values: {len(rows)}\n" in text
    assert re.search(r"  plank\.crown +38 mm ", text)


def test_a_boat_of_its_own_inherits_nothing(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(configs / "whinchat-3.yaml"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["inherited"] == []
    assert main(["check", str(configs / "whinchat-3.yaml")]) == 0
    assert "inherited" not in capsys.readouterr().out


def test_bases_that_go_in_a_circle(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, base in (("a", "b"), ("b", "c"), ("c", "a")):
        (tmp_path / f"{name}.yaml").write_text(f"boat: {name}\nunits: mm\nbased_on: {base}.yaml\n")
    assert main(["check", str(tmp_path / "a.yaml")]) == 1
    line = one_line(capsys)
    assert f"{tmp_path}/c.yaml:3:1: based_on: " in line
    assert "is itself based on this description" in line


def test_a_boat_based_on_itself(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.yaml").write_text("boat: a\nbased_on: a.yaml\n")
    assert main(["make", str(tmp_path / "a.yaml"), "--out", str(tmp_path / "out")]) == 1
    assert "a.yaml:2:1: based_on: " in one_line(capsys)
    assert not (tmp_path / "out").exists()


def test_a_base_that_is_missing_or_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("boat: a\nbased_on: nowhere.yaml\n")
    assert main(["check", str(path)]) == 1
    assert f"{path}:2:1: based_on: nowhere.yaml: cannot be read (no such file)" in one_line(capsys)
    path.write_text("boat: a\nbased_on: .\n")
    assert main(["check", str(path)]) == 1
    assert "is a folder" in one_line(capsys)


def test_a_base_that_is_a_broken_handover_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "friend.pdf").write_bytes(b"%PDF-1.7\nnothing")
    path = tmp_path / "a.yaml"
    path.write_text("boat: a\nbased_on: friend.pdf\n")
    assert main(["check", str(path)]) == 1
    assert f"{path}:2:1: based_on: friend.pdf: " in one_line(capsys)


def test_a_fault_in_the_base_is_told_at_its_place_there(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8").replace("crown: 38", "crown: a hand")
    (tmp_path / "base.yaml").write_text(text)
    (tmp_path / "a.yaml").write_text("boat: a\nbased_on: base.yaml\n")
    assert main(["check", str(tmp_path / "a.yaml")]) == 1
    assert f"{tmp_path}/base.yaml:19:3: plank.crown: " in one_line(capsys)


def test_too_long_a_chain_ends(configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "0.yaml").write_bytes((configs / "whinchat-3.yaml").read_bytes())
    for number in range(1, 10):
        (tmp_path / f"{number}.yaml").write_text(f"boat: Whinchat {number}\nbased_on: {number - 1}.yaml\n")
    assert main(["check", str(tmp_path / "7.yaml")]) == 0
    capsys.readouterr()
    assert main(["check", str(tmp_path / "8.yaml")]) == 1
    assert "too many descriptions based on one another" in one_line(capsys)
