"""The shell: exit status, messages, and files that appear together or not at all."""

import ctypes
import io
import json
import os
import re
import shlex
import signal
import subprocess
import sys
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import made_boats
import pypdf
import pytest

from templater.cli import files as cli_files
from templater.cli.console import progress_bar
from templater.cli.main import main
from templater.page.engine import call
from templater.pipeline.checked import Options, check
from templater.pipeline.make import make
from templater.pipeline.sheets import on_paper
from templater.report.job_sheet import accuracy_tables
from templater.share.names import safe_name, unfit_names

SEVEN_FAULTS = Path(__file__).parent.parent / "golden" / "seven-faults.yaml"


def test_new_writes_a_description_that_passes_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "my-boat.yaml"
    assert main(["new", str(path)]) == 0
    assert 'boat: "My Boat"' in path.read_text("utf-8")
    assert main(["check", str(path)]) == 0
    assert "0 errors" in capsys.readouterr().out


def test_new_in_inches_passes_check_too(tmp_path: Path) -> None:
    path = tmp_path / "inches.yaml"
    assert main(["new", str(path), "--units", "in", "--boat", "Friend's"]) == 0
    assert main(["check", str(path)]) == 0


@pytest.mark.parametrize("name", ["null", "yes", "1e3", "~", "2026-11-27", "O'Neill: no 3 # \\"])
def test_new_takes_any_name_as_a_name(tmp_path: Path, name: str) -> None:
    path = tmp_path / "new.yaml"
    assert main(["new", str(path), "--boat", name]) == 0
    assert check(cli_files.read_source(path)).boat.description.boat == name


@pytest.mark.parametrize("name", ["templater1·plates1-1·page1of1·01234567", "templater"])
def test_a_boat_may_be_named_like_the_line_that_says_what_a_page_is(tmp_path: Path, configs: Path, name: str) -> None:
    path = tmp_path / "boat.yaml"
    path.write_text(
        (configs / "whinchat-3.yaml").read_text("utf-8").replace("boat: Whinchat 3", f"boat: {name}"), "utf-8"
    )
    assert main(["make", str(path), "--only", "plates", "--out", str(tmp_path)]) == 0


@pytest.mark.parametrize("epoch", ["abc", "1"])
def test_the_surroundings_change_no_file(
    tmp_path: Path, configs: Path, monkeypatch: pytest.MonkeyPatch, epoch: str
) -> None:
    boat = str(configs / "whinchat-3.yaml")
    assert main(["make", boat, "--only", "plates", "--out", str(tmp_path / "before")]) == 0
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    assert main(["make", boat, "--only", "plates", "--out", str(tmp_path / "after")]) == 0
    for path in (tmp_path / "before" / "whinchat-3").iterdir():
        assert path.read_bytes() == (tmp_path / "after" / "whinchat-3" / path.name).read_bytes()


def test_new_never_replaces_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "boat.yaml"
    path.write_text("mine")
    assert main(["new", str(path)]) == 1
    assert path.read_text() == "mine"
    assert "left as it is" in capsys.readouterr().err


def test_seven_faults_give_seven_lines_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["make", str(SEVEN_FAULTS), "--out", str(out)]) == 1
    lines = capsys.readouterr().err.splitlines()
    places = [int(line.removeprefix(f"{SEVEN_FAULTS}:").partition(":")[0]) for line in lines]
    assert places == [4, 5, 7, 9, 12, 16, 16], lines
    assert not out.exists()


def test_make_writes_everything_and_says_the_worst_deviation(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["make", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path)]) == 0
    there = shown(tmp_path / "whinchat-3")
    assert set(there) == {
        "floor.pdf", "floor.svg", "plank.pdf", "plank.svg", "plates.pdf", "plates.svg", "spare-plates.pdf",
        "spare-plates.svg", "job-sheet.html", "job-sheet.pdf", "manifest.json",
    }  # fmt: skip
    assert there == made_boats.files("whinchat-3")  # and the same bytes as when they were made without the shell
    assert "worst deviation read back 0.00" in capsys.readouterr().out
    assert [path.name for path in tmp_path.iterdir()] == ["whinchat-3"]  # no folder of a half run is left


def test_check_make_sheets_and_job_sheet_tell_the_same_findings(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat = str(configs / "whinchat-5.yaml")
    assert main(["check", boat, "--json"]) == 0
    findings = json.loads(capsys.readouterr().out)["findings"]
    warnings = [one["text"] for one in findings if one["severity"] == "warning"]
    assert len(warnings) == 1  # F142, which only the error budget can say
    assert main(["make", boat, "--out", str(tmp_path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["boat"] == "Whinchat 5"
    assert found["worst_deviation"] < 0.005
    assert found["findings"] == findings
    there = shown(tmp_path / "whinchat-5")
    assert set(found["files"]) == set(there)
    assert there == made_boats.files("whinchat-5")  # the same bytes as the other time
    for page in pypdf.PdfReader(tmp_path / "whinchat-5" / "plates.pdf").pages:
        assert "1 warning: see the job sheet" in page.extract_text()
    assert "1 warning: see the job sheet before drilling" in (tmp_path / "whinchat-5" / "plates.svg").read_text("utf-8")
    page = (tmp_path / "whinchat-5" / "job-sheet.html").read_text("utf-8")
    words = unescape(page).replace("\u00a0", " ")  # keeps figures with their units
    assert all(one["text"] in words for one in findings)
    job = {"text": Path(boat).read_text("utf-8")}
    (answer, _) = call("sheets", json.dumps({"job": job, "drawn": False}), {})
    assert [one["text"] for one in json.loads(answer)["findings"]] == [one["text"] for one in findings]


def made(configs: Path, out: Path) -> tuple[Path, Path, list[str]]:
    """Make a copy of the demo boat; return its description, its folder, and the arguments that made it."""
    boat = out / "boat.yaml"
    boat.write_bytes((configs / "whinchat-3.yaml").read_bytes())
    return boat, made_boats.written("whinchat-3", out), ["make", str(boat), "--out", str(out)]


def shown(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_only_one_sheet_leaves_the_others_of_the_same_description_as_they_were(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat, folder, arguments = made(configs, tmp_path)
    whole = shown(folder)
    (folder / "my notes.txt").write_text("mine")
    (folder / "floor.pdf").write_bytes(b"spoilt")
    capsys.readouterr()
    assert main([*arguments, "--only", "floor"]) == 0
    assert shown(folder) == whole | {"my notes.txt": b"mine"}  # the manifest and the job sheet are those of all sheets
    out = capsys.readouterr().out
    assert f"{folder}: left as they were: plank, plates, spare-plates\n" in out
    assert "removed" not in out
    assert main(["proof", str(folder)]) == 0
    # Another description: what was made from the old one does not fit, and goes.
    boat.write_text(boat.read_text("utf-8").replace("pitch: 55", "pitch: 54"), "utf-8")
    capsys.readouterr()
    assert main([*arguments, "--only", "floor"]) == 0
    gone = [f"{sheet}.{kind}" for sheet in ("plank", "plates", "spare-plates") for kind in ("pdf", "svg")]
    (line,) = (line for line in capsys.readouterr().out.splitlines() if "removed" in line)
    assert line == f"{folder}: removed, for they were of an earlier run: {', '.join(sorted(gone))}"
    assert [one["name"] for one in json.loads((folder / "manifest.json").read_text("utf-8"))["sheets"]] == ["floor"]
    assert (folder / "my notes.txt").read_text() == "mine"


@pytest.mark.parametrize("manifest", [b"", b"{}", b"[1]", b'{"sheets": [{}]}', b'{"sheets": NaN', b"[" * 100_000])
def test_only_one_sheet_beside_a_manifest_that_is_none(tmp_path: Path, configs: Path, manifest: bytes) -> None:
    folder = tmp_path / "whinchat-3"
    folder.mkdir()
    (folder / "manifest.json").write_bytes(manifest)
    assert main(["make", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path), "--only", "plates"]) == 0
    assert main(["proof", str(folder)]) == 0


def test_a_lost_tile_is_made_again_alone_and_only_where_it_fits_the_others(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat, folder, arguments = made(configs, tmp_path)
    whole = shown(folder)
    lost = [*arguments, "--only", "floor", "--tile", "2-1"]
    assert main(lost) == 0
    after = shown(folder)
    assert {name: data for name, data in after.items() if name != "floor-2-1.pdf"} == whole
    (page,) = pypdf.PdfReader(folder / "floor-2-1.pdf").pages
    number = next(n for n, tile in enumerate(json.loads(whole["manifest.json"])["sheets"][0]["pages"])
                  if tile["tile"] == "2-1")  # fmt: skip
    same = pypdf.PdfReader(folder / "floor.pdf").pages[number]
    assert page.extract_text() == same.extract_text()
    assert main(["proof", str(folder / "floor-2-1.pdf")]) == 0
    for wrong, told in (
        ([*arguments, "--tile", "2-1"], "--tile: is a tile of one sheet - name that sheet with --only"),
        ([*arguments, "--only", "floor", "--tile", "9-9"], "--tile: 9-9: no such tile of floor - allowed: 1-2, 2-1"),
        ([*lost, "--paper", "Letter"], "of another description or paper"),
    ):
        capsys.readouterr()
        assert main(wrong) == 1
        assert told in capsys.readouterr().err
    boat.write_text(boat.read_text("utf-8").replace("pitch: 55", "pitch: 54"), "utf-8")
    assert main(lost) == 1
    assert "of another description or paper" in capsys.readouterr().err
    assert shown(folder) == after
    assert main(arguments) == 0  # all sheets anew: the tile of the old one goes
    assert "floor-2-1.pdf" not in shown(folder)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["make", "no-such-file.yaml"], "no such file"),
        (["check", "."], "is a folder"),
        (["make", "{demo}", "--paper", "A9"], "A9"),
        (["make", "{demo}", "--only", "roof"], "roof"),
    ],
)
def test_one_clear_line_for_what_cannot_be_done(
    arguments: list[str], words: str, configs: Path, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert main([part.replace("{demo}", str(configs / "whinchat-3.yaml")) for part in arguments]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert words in lines[0]
    assert not list(tmp_path.iterdir())


def test_wrong_usage_is_status_two() -> None:
    with pytest.raises(SystemExit) as end:
        main(["make"])
    assert end.value.code == 2


def test_a_command_by_another_name_is_answered_with_those_that_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["mak", "boat.yaml"])
    assert "invalid choice: 'mak' (choose from 'new', 'check', 'make', 'cut'," in capsys.readouterr().err


def test_a_text_that_is_no_utf_8(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "boat.yaml"
    path.write_bytes(b"boat: a\nunits: \xff\n")
    assert main(["check", str(path)]) == 1
    assert "line 2 is not UTF-8" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("boat", "name"),
    [
        ("Whinchat 3", "whinchat-3"),
        ('a/b\\c:*?"<>|', "a-b-c"),
        ("NUL", "boat-nul"),
        ("  ..  ", "2e-2e"),
        ("Łódź Żółw", "lodz-zolw"),
        ("Größe STRAẞE", "grosse-strasse"),
        ("Ærø Đ Þór Eð Cœur Ħ ıstanbul", "aero-d-thor-ed-coeur-h-istanbul"),
        ("Ängel Örn Über Å", "angel-orn-uber-a"),
        ("Лодка Щегол подъём", "lodka-shchegol-podem"),
        ("Їжак й ґава", "izhak-j-gava"),
        ("Άνεμος ψυχή θάλασσα", "anemos-psychi-thalassa"),
        ("船", "8239"),
    ],
)
def test_names_are_safe_on_every_system(boat: str, name: str) -> None:
    assert safe_name(boat) == name


def test_names_that_some_system_cannot_hold_beside_one_another_are_told() -> None:
    assert unfit_names(["boat.yaml", "manifest.json"]) == ""
    assert (
        unfit_names(["Boat.yaml", "boat.YAML"]) == "holds Boat.yaml and boat.YAML, which some systems take for one file"
    )
    assert "take for one file" in unfit_names(["\u00e9.yaml", "e\u0301.yaml"])
    for name in ("nul.txt", "CON", "x" * 300):
        assert "not every system can write" in unfit_names([name])


def test_publish_leaves_the_old_files_when_it_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "boat"
    cli_files.publish(folder, {"a.pdf": b"old"})

    def full_disk(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(cli_files.FileError) as fault:
        cli_files.publish(folder, {"a.pdf": b"new"})
    assert "nothing was changed" in str(fault.value)
    assert (folder / "a.pdf").read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["boat"]


@pytest.mark.parametrize("exchange", [True, False])
def test_publish_keeps_what_is_not_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exchange: bool) -> None:
    real, folder = tmp_path / "elsewhere" / "boat", tmp_path / "boat"
    real.mkdir(parents=True)
    folder.symlink_to(real)
    cli_files.publish(folder, {"a.pdf": b"old", "b.pdf": b"old"})
    real.chmod(0o700)
    (real / "notes.txt").write_text("mine")
    (real / "link").symlink_to("nowhere")
    (real / "empty").mkdir()
    os.mkfifo(real / "pipe")
    inode = (real / "notes.txt").stat().st_ino
    dead = real.parent / ".boat-999999999-abcdefgh.new"
    dead.mkdir()
    if not exchange:
        monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: None)
    assert cli_files.publish(folder, {"a.pdf": b"new"}, stale=["b.pdf"]) == ("b.pdf",)
    assert (real / "a.pdf").read_bytes() == b"new"
    assert (real / "link").readlink() == Path("nowhere")
    assert (real / "empty").is_dir()
    assert (real / "pipe").is_fifo()
    assert (real / "notes.txt").stat().st_ino == inode
    assert (folder.is_symlink(), real.stat().st_mode & 0o777) == (True, 0o700)
    assert [path.name for path in real.parent.iterdir()] == ["boat"]


def test_publish_loses_nothing_of_a_folder_that_it_cannot_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawer = tmp_path / "boat" / "drawer"
    drawer.mkdir(parents=True)
    (drawer / "mine.txt").write_text("mine", "utf-8")

    def refusing(read: Any) -> Any:
        def refused(path: Any = ".") -> Any:
            if str(path) == str(drawer):
                raise PermissionError(13, "Permission denied")
            return read(path)

        return refused

    with monkeypatch.context() as refused:
        for name in ("scandir", "listdir"):
            refused.setattr(os, name, refusing(getattr(os, name)))
        with pytest.raises(cli_files.FileError, match="nothing was changed"):
            cli_files.publish(tmp_path / "boat", {"a.pdf": b"new"})
    assert (drawer / "mine.txt").read_text("utf-8") == "mine"
    assert not (tmp_path / "boat" / "a.pdf").exists()


def test_a_folder_without_its_new_one_takes_its_place_again(tmp_path: Path) -> None:
    # As a run leaves it that was killed between two renames, on a system that cannot exchange names.
    (tmp_path / ".boat-999999999-abcdefgh.old" / "boat").mkdir(parents=True)
    (tmp_path / ".boat-999999999-abcdefgh.old" / "boat" / "notes.txt").write_text("mine")
    cli_files.publish(tmp_path / "boat", {"a.pdf": b"new"})
    assert (tmp_path / "boat" / "notes.txt").read_text() == "mine"


@pytest.mark.parametrize("given", ["/dev/zero", "/dev", "nowhere/boat.yaml", "x" * 300])
def test_what_the_system_refuses_is_one_line(given: str, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["check", given], ["proof", given], ["unpack", given], ["handover", given]):
        assert main(command) == 1
        (line,) = capsys.readouterr().err.splitlines()
        assert "Traceback" not in line


def test_a_pipe_and_a_loop_of_links_are_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], configs: Path
) -> None:
    os.mkfifo(pipe := tmp_path / "pipe")
    (loop := tmp_path / "loop").symlink_to("loop")
    signal.signal(signal.SIGALRM, lambda *_: pytest.fail("waits for the pipe"))
    signal.alarm(20)
    for words in (
        ["check", pipe],
        ["proof", pipe],
        ["make", configs / "whinchat-3.yaml", "--only", "plates", "--out", loop],
    ):
        assert main([*map(str, words)]) == 1
        (line,) = (line for line in capsys.readouterr().err.splitlines() if str(tmp_path) in line)
        assert "is no plain file" in line or "cannot be written" in line
    signal.alarm(0)


def test_no_message_moves_the_cursor(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "boat.yaml"
    path.write_text('"\\rOK nothing wrong\\e[2K\\u202e": 1\n', "utf-8")
    assert main(["check", str(path)]) == 1
    shown = capsys.readouterr().err
    assert not {"\r", "\x1b", "\u202e"} & set(shown)


def test_an_output_that_is_full_is_told(configs: Path) -> None:
    words = shlex.join([sys.executable, "-m", "templater", "check", str(configs / "whinchat-3.yaml")])
    command = f"{words} > /dev/full"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    closed = subprocess.run(["sh", "-c", command.replace("> /dev/full", ">&-")], capture_output=True, check=False)
    assert (closed.returncode, closed.stderr) == (0, b"")


def test_errors_come_first_and_are_told_from_warnings(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "boat.yaml"
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    path.write_text(text.replace("half_spread: 215", "half_spread: 310").replace("pitch: 55", "pitch: 30"), "utf-8")
    assert main(["make", str(path), "--out", str(tmp_path / "out")]) == 1
    kinds = [line.partition(":")[0] for line in capsys.readouterr().err.splitlines()]
    assert set(kinds) == {"error", "warning"}, kinds
    assert kinds == sorted(kinds)


def test_what_is_unpacked_must_be_a_pdf(configs: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = configs / "whinchat-3.yaml"
    assert main(["unpack", str(path)]) == 1
    assert capfd.readouterr().err == f"{path}: is no PDF - give a file written by templater handover [D195]\n"


def test_a_broken_pdf_is_told_in_one_line(tmp_path: Path) -> None:
    path = tmp_path / "boat.pdf"
    path.write_bytes(b"%PDF-1.7\n1 0 obj\n<< /Type /Cat")
    # A process of its own: what the PDF library logs would stay in the test runner's hands.
    done = subprocess.run([sys.executable, "-m", "templater", "unpack", path], check=False,
                          capture_output=True, text=True)  # fmt: skip
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"{path}: cannot be read as PDF")


@pytest.mark.parametrize(("key", "paper"), [("paper: A4", "paper: A9"), ("margin: 7", "margin: 90")])
@pytest.mark.parametrize("command", ["check", "make"])
def test_a_fault_of_the_paper_has_its_place(
    command: str, key: str, paper: str, tmp_path: Path, configs: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    path = tmp_path / "boat.yaml"
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    path.write_text(text.replace(key, paper), "utf-8")
    line = text[: text.index("paper: A4")].count("\n") + 1
    monkeypatch.chdir(tmp_path)
    assert main([command, "boat.yaml"]) == 1
    (said,) = capsys.readouterr().err.splitlines()
    assert said.startswith(f"boat.yaml:{line}:"), said
    assert ": print.paper: " in said


@pytest.mark.parametrize("arguments", [["check", "{demo}"], ["make", "{demo}"], ["printer", "page"]])
def test_a_fault_of_the_option_names_the_option(
    arguments: list[str], tmp_path: Path, configs: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    given = [part.replace("{demo}", str(configs / "whinchat-3.yaml")) for part in arguments]
    assert main([*given, "--paper", "A9"]) == 1
    assert capsys.readouterr().err.startswith("--paper: A9: no such paper")


def test_letters_that_cannot_be_printed_are_told_before_anything_is_made(
    tmp_path: Path, configs: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    changed = {"boat: Whinchat 3": "boat: Whinchat 🧊", "drawn_by: ": "drawn_by: 🐧 ", "name: sheet lead": "name: 🪢 ",
               "name: block base": "name: 🔩 base"}  # fmt: skip
    lines = []
    for before, after in changed.items():
        assert before in text
        lines.append(text[: text.index(before)].count("\n") + 1)
        text = text.replace(before, after)
    (tmp_path / "boat.yaml").write_text(text, "utf-8")
    for command in ("check", "make"):
        assert main([command, "boat.yaml"]) == 1
        taken = capsys.readouterr()
        said = [line.removeprefix("error: ") for line in (taken.out + taken.err).splitlines() if "[S301]" in line]
        assert [line.split(":")[:2] for line in said] == [["boat.yaml", str(number)] for number in lines]
        assert "boat: Whinchat 🧊: cannot be printed" in said[0]
        assert "🧊 (U+1F9CA)" in said[0]
    assert not (tmp_path / "out").exists()


def test_new_refuses_a_name_that_cannot_be_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for given in (["Boat.yaml", "--boat", "Ice 🧊"], ["🧊.yaml"]):
        path = tmp_path / given[0]
        assert main(["new", str(path), *given[1:]]) == 1
        (line,) = capsys.readouterr().err.splitlines()
        assert "cannot be printed" in line
        assert not path.exists()


def test_an_inch_boat_is_checked_in_inches(configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    boat = configs / "whinchat-5.yaml"
    assert main(["check", str(boat), "--accuracy"]) == 0
    out = capsys.readouterr().out
    # The runner base at the limit: 7 ft 8 1/2 in less a margin of 5 mm, by hand 2349.5 - 5.
    assert "2344.5 (92 5/16)" in out
    assert "runner base, mm (in)" in out
    assert re.search(r"\bKP\b.* 0\.\d\d \(0\.0\d\d\)", out)
    path = tmp_path / "inches.yaml"
    text = boat.read_text("utf-8")
    assert "print: {" in text
    path.write_text(text.replace("print: {", "print: {figures: in, "), "utf-8")
    assert main(["check", str(path), "--accuracy"]) == 0
    ours = capsys.readouterr().out.partition("advice\n\n")[2].partition("Sources of error")[0]
    assert "KP" in ours
    assert " mm" not in ours


def test_a_chance_is_given_alike_everywhere(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(configs / "whinchat-3.yaml"), "--accuracy"]) == 0
    out = capsys.readouterr().out
    table = re.search(r"^ +3 .* {2}(1 in [\d ]+)$", out, re.M)
    assert table, out
    assert out.count(table[1]) >= 2
    path = configs / "whinchat-3.yaml"
    checked, _, report = on_paper(check(cli_files.read_source(path)), Options())
    assert report is not None
    (limits,) = (one for one in accuracy_tables(checked.boat, report) if one.caption == "The rule's limit")
    assert table[1] in [row[3] for row in limits.rows]


STOPPED = """\
import atexit, os, signal, sys
def stop():
    try:
        os.kill(os.getpid(), signal.SIGINT)
    except KeyboardInterrupt:
        sys.stderr.write("hidden")  # as a library may
class Loading:
    def find_spec(self, name, *_):
        if name == "templater.cli.console":
            stop()
signal.signal(signal.SIGINT, signal.default_int_handler)  # the suite may run where it is passed over
if sys.argv.pop(1) == "loading":
    sys.meta_path.insert(0, Loading())
else:
    atexit.register(stop)
from templater.__main__ import run
sys.exit(run())
"""


@pytest.mark.parametrize(
    ("when", "status", "said"), [("loading", 130, "stopped; nothing was written\n"), ("leaving", 0, "")]
)
def test_a_stop_from_the_keyboard_is_told_in_a_line_or_comes_too_late(when: str, status: int, said: str) -> None:
    run = subprocess.run([sys.executable, "-c", STOPPED, when, "schema"], capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr) == (status, said)


def test_long_work_is_told_page_by_page(configs: Path) -> None:
    told: list[tuple[str, int, int]] = []
    make(cli_files.read_source(configs / "whinchat-3.yaml"), progress=lambda *step: told.append(step))
    for what in ("writing", "reading back"):
        assert [step for step in told if step[0] == what] == [(what, page, 8) for page in range(8)]
    told.clear()
    make(cli_files.read_source(configs / "whinchat-3.yaml"), Options(only=("plates",)), lambda *step: told.append(step))
    assert [step for step in told if step[1:] == (0, 1)][:2] == [("writing", 0, 1), ("reading back", 0, 1)]


@pytest.mark.parametrize(("most", "begun"), [(8, 1), (7, 0)])
def test_work_is_done_beside_other_work_up_to_so_many_pages(
    configs: Path, monkeypatch: pytest.MonkeyPatch, most: int, begun: int
) -> None:
    # Whinchat 3 has 8 pages: two processes would hold too much of a large floor.
    monkeypatch.setattr("templater.pipeline.make._FEW", most)
    works: list[Callable[[], object]] = []
    source = cli_files.read_source(configs / "whinchat-3.yaml")
    make(source, Options(beside=lambda work: works.append(work) or work))  # type: ignore[func-returns-value]
    assert len(works) == begun


def test_the_bar_shows_what_is_done_after_a_second_and_each_new_stage_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    now, terminal = [0.0], io.StringIO()
    monkeypatch.setattr("time.monotonic", lambda: now[0])
    monkeypatch.setattr(terminal, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress_bar() as step:
        for now[0], what, done in ((0.5, "a", 0), (1.5, "a", 1), (1.55, "a", 2), (1.57, "b", 0), (1.7, "b", 3)):
            step(what, done, 4)
    shown = re.findall(r"([ab]: \d of 4)", terminal.getvalue())
    assert list(dict.fromkeys(shown)) == ["a: 1 of 4", "b: 0 of 4", "b: 3 of 4"]
