"""A little of every attack, and every spoilt thing that once went wrong, tried again."""

from pathlib import Path
from random import Random

import pytest

from templater.cli.main import main
from tests.campaigns import judge
from tests.campaigns.attack import FOUND, part
from tests.campaigns.hostile import FILES
from tests.campaigns.kinds import KINDS, PDFS, TEXTS
from tests.campaigns.places import places
from tests.campaigns.runs import fleet, kills, pairs

#: Kinds, and how many of them together, so that all take a few seconds.
SLICES = {
    "texts": (TEXTS, 500),
    "pdfs": (PDFS, 80),
    "jobs": (("jobs",), 3),
    "pictures": (("pictures", "outlines", "dxf"), 45),
}


@pytest.mark.parametrize("name", SLICES)
def test_a_seeded_slice_is_answered_in_words(name: str, tmp_path: Path) -> None:
    names, count = SLICES[name]
    assert part({one: KINDS[one] for one in names}, 0, 1, count, tmp_path)["faults"] == {}


@pytest.mark.parametrize("path", sorted(FOUND.iterdir()), ids=lambda path: path.name)
def test_what_once_went_wrong_is_answered_in_words(path: Path) -> None:
    (kind,) = (kind for name, kind in KINDS.items() if path.name.startswith(name))
    kind.judged(kind.read(path.read_bytes()), Random(1))


#: Of the worst files those that are answered at once, and what is said of them.
REFUSED = {
    "forms that call": "nested more than 8 deep",
    "500,000 pictures": "more bytes than its drawing can need",
    "60 million times z": "takes more than 8 s or 500 MB to read",
    "a font that names": "maps more letters than there are",
    "70 MB of lines": "more bytes than its drawing can need",
    "aliases of aliases": "unknown key",
    "100,000 brackets": "nested deeper",
    "a list of 2.6 million": "a text of at most",
    "1e308 inches": "not a length",
    "drill: 0.001": "outside what is allowed",
    "a picture of 800,000": "more bytes than its drawing can need",
}


@pytest.mark.parametrize("what", REFUSED)
def test_the_worst_files_are_refused_in_a_line(what: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (one,) = (file for file in FILES if file.what.startswith(what))
    path, manifest = tmp_path / f"plates{one.ending}", tmp_path / "manifest.json"
    path.write_bytes(one.data())
    manifest.write_bytes(judge.plates()["manifest.json"])
    words = [str(manifest) if word == "MANIFEST" else word for word in one.words]
    assert main([words[0], str(path), *words[1:]]) in (1, 3)
    said = capfd.readouterr()
    assert REFUSED[what] in said.out + said.err
    with path.open("r+b") as file:
        file.truncate(3_000_000_000)  # takes no place on the disk, and none in memory
    assert main(["check", str(path)]) == 1
    assert "3000000000 bytes - a file of at most 50000000 bytes is read" in capfd.readouterr().err


def test_commands_in_odd_places_answer_in_words() -> None:
    assert places(40, 1) == (40, 0)


def test_a_killed_run_leaves_one_whole_set() -> None:
    assert kills(1, 1) == (1, 0)


def test_a_killed_fleet_leaves_whole_sets_and_no_worker() -> None:
    assert fleet(1, 1) == (1, 0)


def test_two_runs_at_once_leave_one_whole_set() -> None:
    assert pairs(2, 1) == (2, 0)
