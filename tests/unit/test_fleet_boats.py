"""Many boats at once: one boat's fault stops no other, names that clash are told, the exit status says it all."""

import json
from pathlib import Path

import made_boats
import pytest

from templater.cli.main import main
from templater.description.load import Source
from templater.pipeline.make import make


def fleet(configs: Path, folder: Path) -> list[str]:
    """Three boats: a good one, a faulty one, another good one."""
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    boats = {
        "a.yaml": text.replace("boat: Whinchat 3", "boat: Whinchat 31"),
        "b.yaml": text.replace("boat: Whinchat 3", "boat: Whinchat 32").replace("half_spread: 215", "half_spred: 215"),
        "c.yaml": text.replace("boat: Whinchat 3", "boat: Whinchat 33").replace("pitch: 55", "pitch: 56"),
    }
    for name, content in boats.items():
        (folder / name).write_text(content, "utf-8")
    return [str(folder / name) for name in boats]


def test_one_boat_s_fault_stops_no_other(configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = fleet(configs, tmp_path)
    assert main(["make", *paths, "--out", str(tmp_path / "out"), "--processes", "2"]) == 1
    shown = capsys.readouterr()
    rows = shown.out.splitlines()
    assert [row.split()[0] for row in rows[1:4]] == paths  # in the order given, whichever was ready first
    assert rows[2].endswith("FAILED, 1 fault")
    assert rows[4] == "2 of 3 boats made"
    errors = shown.err.splitlines()
    assert len(errors) == 1
    assert "b.yaml" in errors[0]
    assert "half_spread" in errors[0]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["whinchat-31", "whinchat-33"]
    assert main(["proof", str(tmp_path / "out" / "whinchat-33")]) == 0
    # And its files are those that are made for a boat alone.
    alone = make(Source(Path(paths[0]).read_bytes(), paths[0])).files
    assert {path.name: path.read_bytes() for path in (tmp_path / "out" / "whinchat-31").iterdir()} == alone


def test_clashing_names_and_doubled_files(configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, other = tmp_path / "one.yaml", tmp_path / "other.yaml"
    text = (configs / "whinchat-3.yaml").read_bytes()
    one.write_bytes(text)
    other.write_bytes(text.replace(b"boat: Whinchat 3", b"boat: Whinchat-3"))  # the same folder name
    assert main(["make", str(one), str(other), "--out", str(tmp_path / "out"), "--only", "plates", "--json"]) == 1
    rows = json.loads(capsys.readouterr().out)
    assert [bool(row["faults"]) for row in rows] == [False, True]
    assert f"whinchat-3 is that of {one} already" in rows[1]["faults"][0]
    assert rows[0]["worst_deviation"] < 0.005
    assert main(["make", str(one), str(one), "--out", str(tmp_path / "twice")]) == 1
    assert "given 2 times" in capsys.readouterr().err


def test_all_good_is_status_nought(configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = [str(configs / f"whinchat-{n}.yaml") for n in (3, 4)]
    friend = tmp_path / "friend.pdf"
    friend.write_bytes(made_boats.handed_over("whinchat-5"))
    assert main(["make", *paths, str(friend), "--out", str(tmp_path / "out"), "--only", "floor"]) == 0
    assert "3 of 3 boats made" in capsys.readouterr().out
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["whinchat-3", "whinchat-4", "whinchat-5"]


def test_a_defect_that_one_boat_brings_to_light_stops_no_other(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from templater.cli import build

    whole = build._build

    def broken(path: Path, *rest: object) -> object:
        if path.name == "whinchat-4.yaml":
            raise ZeroDivisionError("division by zero")
        return whole(path, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(build, "_build", broken)  # the processes are forked, and take it with them
    paths = [str(configs / f"whinchat-{n}.yaml") for n in (3, 4)]
    assert main(["make", *paths, "--out", str(tmp_path), "--only", "plank"]) == 1
    shown = capsys.readouterr()
    assert "1 of 2 boats made" in shown.out
    assert "ZeroDivisionError" in shown.err
    assert [path.name for path in tmp_path.iterdir()] == ["whinchat-3"]
