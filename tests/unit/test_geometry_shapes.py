import math

import pytest

from templater.maths import along_arc, arc_from_length, slope_correction
from templater.plane.shapes import Affine, distance_to_segment, segments_cross


def test_a_flat_arc_is_a_straight_line() -> None:
    arc = arc_from_length(2390.0, 0.0)
    assert arc == (math.inf, 2390.0)
    assert along_arc(math.inf, 215.0) == 215.0
    arc = arc_from_length(10.0, 2e-310)
    assert arc.chord == 10.0


def test_a_half_circle_is_the_last_arc_that_is_solved() -> None:
    arc = arc_from_length(math.pi * 100, 100 * (1 - 1e-12))
    assert arc.radius == pytest.approx(100, rel=1e-9)
    assert arc.chord == pytest.approx(200)
    with pytest.raises(ValueError, match="half circle"):
        arc_from_length(math.pi * 100, 100.1)


def test_small_arcs_are_those_of_large_ones_made_small() -> None:
    large, small = arc_from_length(2000.0, 240.0), arc_from_length(0.5, 0.06)
    assert small.chord * 4000 == pytest.approx(large.chord, rel=1e-12)
    assert small.radius * 4000 == pytest.approx(large.radius, rel=1e-12)
    # A flat arc by hand, R = s^2 / 8 h: a rise of half a millimetre in two metres.
    assert arc_from_length(2000.0, 0.5).radius == pytest.approx(1e6, rel=1e-6)


@pytest.mark.parametrize(("length", "rise"), [(0.0, 1.0), (-5.0, 1.0), (10.0, -1.0)])
def test_arcs_refuse_sizes_that_no_arc_has(length: float, rise: float) -> None:
    with pytest.raises(ValueError, match="an arc needs"):
        arc_from_length(length, rise)


TURN, SHIFT = Affine(0.0, 1.0, -1.0, 0.0), Affine(e=10.0)


def test_composed_maps_run_in_the_order_they_are_named() -> None:
    assert SHIFT.compose(TURN).apply((0.0, 0.0)) == (0.0, 10.0)
    assert TURN.compose(SHIFT).apply((0.0, 0.0)) == (10.0, 0.0)
    assert Affine(2.0, 0.0, 0.5, 3.0, 1.0, 4.0).apply((10.0, 20.0)) == (31.0, 64.0)  # worked by hand


def test_a_map_that_flattens_the_plane_has_no_way_back() -> None:
    with pytest.raises(ZeroDivisionError):
        Affine(1.0, 2.0, 2.0, 4.0).inverse()


def test_pieces_that_touch_cross_and_parallel_ones_do_not() -> None:
    assert segments_cross((0, 0), (10, 0), (5, 0), (5, 5))
    assert segments_cross((0, 0), (10, 0), (10, 0), (20, 0))
    assert not segments_cross((0, 0), (10, 0), (5, 0), (5, 5), touching=False)
    assert segments_cross((0, 0), (10, 0), (5, -1), (5, 5), touching=False)
    assert not segments_cross((0, 0), (10, 0), (0, 1), (10, 1))
    assert not segments_cross((0, 0), (10, 0), (11, 0), (20, 0))


def test_distance_to_a_piece_of_no_length_is_that_to_its_point() -> None:
    assert distance_to_segment((3.0, 4.0), (0.0, 0.0), (0.0, 0.0)) == 5.0


def test_no_distance_has_no_slope() -> None:
    assert slope_correction(0.0, 0.0) == 0.0
