"""A floor tile and a part to cut, spoilt in every way of ``tests/tampering``: whatever matters must be seen."""

import re
from pathlib import Path

import pytest

from tests.tampering.__main__ import Row, rows, table

PAGE = Path(__file__).parents[2] / "docs/reliability.md"


@pytest.fixture(scope="module")
def found(configs: Path) -> list[Row]:
    return rows(configs / "whinchat-3.yaml")


def test_what_does_harm_is_seen_each_time_and_what_does_none_is_not_blamed(found: list[Row]) -> None:
    assert [row for row in found if (row.missed if row.harm else row.seen)] == []
    strokes, _, texts, _ = (row.seen for row in found[:4])
    assert strokes >= 60
    assert texts >= 30


def test_the_table_for_people_is_what_was_seen(found: list[Row], request: pytest.FixtureRequest) -> None:
    text = PAGE.read_text("utf-8")
    there = re.search(r"\| change \| seen .*?\n(?=\n)", text, re.DOTALL)
    assert there
    if request.config.getoption("--refresh-golden"):
        PAGE.write_text(text.replace(there[0], table(found)), "utf-8")
    else:
        assert there[0] == table(found)
