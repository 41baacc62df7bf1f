"""A little of every attack, and every spoilt thing that once went wrong, tried again."""

from pathlib import Path
from random import Random

import pytest

from tests.campaigns.attack import FOUND, part
from tests.campaigns.kinds import KINDS, PDFS, TEXTS
from tests.campaigns.places import places
from tests.campaigns.runs import kills, pairs

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


def test_commands_in_odd_places_answer_in_words() -> None:
    assert places(40, 1) == (40, 0)


def test_a_killed_run_leaves_one_whole_set() -> None:
    assert kills(1, 1) == (1, 0)


def test_two_runs_at_once_leave_one_whole_set() -> None:
    assert pairs(2, 1) == (2, 0)
