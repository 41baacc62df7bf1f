"""Seams: fewest tiles, nothing cut where that can be had; held against trying everything."""

from itertools import product

import pytest

from templater.paper.seams import RUNG, Axis, Extents, place_seams

AXIS = Axis(0.0, 400.0, 185.0, 5.0, 10.0)


def harm(seam: float, axis: Axis, marks: list[tuple[float, float]]) -> tuple[int, int]:
    """Count marks cut and touched by looking at every one."""
    cut = sum(1 for a, b in marks if a < seam < b)
    touched = sum(1 for a, b in marks if a < seam + axis.tab and b > seam - axis.bleed)
    return cut, touched


def by_trying_all(axis: Axis, marks: list[tuple[float, float]], pitch: float) -> tuple[int, int]:
    """Return the least harm of any two seams on a ladder."""
    steps = [n * pitch for n in range(int(axis.high / pitch) + 1)]
    best = (10**6, 10**6)
    for a, b in product(steps, steps):
        covers = a + axis.tab <= axis.low + axis.window + 1e-9 and b - axis.bleed >= axis.high - axis.window - 1e-9
        if covers and 0.3 * axis.window <= b - a <= axis.step + 1e-9:
            first, second = harm(a, axis, marks), harm(b, axis, marks)
            best = min(best, (first[0] + second[0], first[1] + second[1]))
    return best


def test_as_many_tiles_as_the_length_asks_for() -> None:
    # n windows of 185 with 15 shared by neighbours reach 185 + 170 (n - 1).
    for tiles, length in ((1, 185.0), (2, 185.5), (2, 355.0), (3, 355.5), (3, 525.0), (4, 525.5)):
        axis = Axis(0.0, length, 185.0, 5.0, 10.0)
        assert axis.tiles == tiles
        seams, _ = place_seams(axis)
        edges = (0.0, *seams, length)
        for n in range(tiles):
            start = edges[n] - (5.0 if n else 0.0)
            end = edges[n + 1] + (10.0 if n < tiles - 1 else 0.0)
            assert end - start <= 185.0 + 1e-6


@pytest.mark.parametrize("low", [0.0, -900.0])
def test_where_nothing_is_in_the_way_seams_part_a_sheet_evenly(low: float) -> None:
    # Three windows of 185 on 480: their parts may be up to 180, 170 and 180 long; even ones are 160 each.
    seams, _ = place_seams(Axis(low, low + 480.0, 185.0, 5.0, 10.0))
    assert seams == pytest.approx((low + 160.0, low + 320.0), abs=RUNG)


def test_a_seam_with_its_band_goes_between_the_marks() -> None:
    axis = Axis(0.0, 300.0, 185.0, 5.0, 10.0)
    marks = [(100.0, 140.0), (160.0, 200.0)]
    (seam,), cost = place_seams(axis, whole=Extents.of(marks))
    assert harm(seam, axis, marks) == (0, 0)
    assert cost[:4] == (0, 0, 0, 0)
    # Only 20 mm are free for a band of 15: it stands in the middle, 2.5 mm clear on both sides.
    assert seam == pytest.approx(147.5, abs=RUNG)


@pytest.mark.parametrize(
    "marks",
    [
        [(n * 23.0, n * 23.0 + 14.0) for n in range(17)],
        [(n * 31.0 + 3, n * 31.0 + 20.0) for n in range(12)] + [(150.0, 260.0)],
        [(0.0, 399.0), (120.0, 180.0), (200.0, 290.0)],
        [(110.0, 165.0), (166.0, 230.0), (231.0, 275.0), (276.0, 300.0)],
        [],
    ],
)
def test_no_better_seams_exist(marks: list[tuple[float, float]]) -> None:
    seams, cost = place_seams(AXIS, whole=Extents.of(marks))
    found = [harm(seam, AXIS, marks) for seam in seams]
    assert (sum(f[0] for f in found), sum(f[1] for f in found)) == cost[1:3]
    assert cost[1:3] <= by_trying_all(AXIS, marks, 1.0)
    assert seams[1] - seams[0] <= AXIS.step + 1e-6


def test_a_long_text_is_not_laid_across_a_band() -> None:
    axis = Axis(0.0, 300.0, 185.0, 5.0, 10.0)
    (seam,), cost = place_seams(axis, texts=[(120.0, 180.0)])
    assert cost[3] == 0
    assert seam + 10.0 >= 180.0 or seam - 5.0 <= 120.0


def test_thousands_of_marks_and_tiles_take_no_time() -> None:
    axis = Axis(0.0, 50_000.0, 185.0, 5.0, 10.0)
    marks = [(n * 2.0, n * 2.0 + 1.5) for n in range(24_000)]
    seams, cost = place_seams(axis, whole=Extents.of(marks))
    assert len(seams) == axis.tiles - 1 == 294
    assert cost[1] <= 294


def test_a_circle_stays_whole_before_all_else() -> None:
    # The only place clear of the circles lies under a plate; the band of 15 finds no clear place at all.
    axis = Axis(0.0, 300.0, 185.0, 5.0, 10.0)
    circles = [(90.0, 125.0), (124.0, 148.0), (150.0, 175.0), (174.0, 210.0)]
    (seam,), cost = place_seams(axis, Extents.of(circles), Extents.of([(140.0, 160.0), *circles]))
    assert 148.0 <= seam <= 150.0
    assert cost[:2] == (0, 1)
