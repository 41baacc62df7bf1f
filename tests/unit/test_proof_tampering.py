"""One floor tile of the demo boat, spoilt in every way of ``tests/tampering``: whatever matters must be seen."""

from pathlib import Path

import pytest

from tests.tampering.changes import Tile, moved, page_changes, picture_changes, strokes, texts


@pytest.fixture(scope="module")
def tile(configs: Path) -> Tile:
    return Tile.of(configs / "whinchat-3.yaml")


@pytest.mark.parametrize("kind", [strokes, texts])
def test_every_stroke_and_every_text_moved_by_1_mm_or_left_out_is_seen(tile: Tile, kind: object) -> None:
    numbers = kind(tile)  # type: ignore[operator]
    assert len(numbers) >= 30
    for number in numbers:
        assert not tile.proved(tile.without(number)).passed, tile.stream[number]
        assert not tile.proved(tile.with_line(number, moved(tile.stream[number], 1.0, 0.0))).passed, tile.stream[number]


def test_changes_of_the_page_are_seen_and_what_does_no_harm_is_not_blamed(tile: Tile) -> None:
    wrong = [what for what, data, true in page_changes(tile) if tile.proved(data).passed != true]
    assert wrong == []


def test_changes_of_the_picture_are_seen(tile: Tile) -> None:
    wrong = [what for what, data, true in picture_changes(tile) if tile.proved(svg=data).passed != true]
    assert wrong == []
