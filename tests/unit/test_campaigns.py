"""A little of every attack, and every spoilt thing that once went wrong, tried again."""

from pathlib import Path

import pytest

from tests.campaigns.kinds import KINDS, attack
from tests.campaigns.runs import kills

FOUND = Path(__file__).parents[1] / "campaigns" / "found"
#: How many of each, so that all take a few seconds.
SLICE = {"descriptions": 25, "jobs": 3, "readings": 40, "profiles": 40, "manifests": 15, "pages": 25, "pictures": 25,
         "handovers": 25}  # fmt: skip


@pytest.mark.parametrize("name", KINDS)
def test_a_seeded_slice_is_answered_in_words(name: str) -> None:
    _, failure = attack(KINDS[name], SLICE[name], 1)
    assert failure is None, failure


@pytest.mark.parametrize("path", sorted(FOUND.iterdir()), ids=lambda path: path.name)
def test_what_once_went_wrong_is_answered_in_words(path: Path) -> None:
    (name,) = (name for name, kind in KINDS.items() if path.name.startswith(name))
    data = path.read_bytes()
    KINDS[name].judged(data if KINDS[name].binary else data.decode("utf-8", "surrogatepass"))


def test_a_killed_run_leaves_one_whole_set() -> None:
    assert kills(1, 1) == (1, 0)
