"""What must hold for every arc, map, polygon and set of points."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from templater.maths import along_arc, arc_from_length
from templater.plane.shapes import IDENTITY, Affine, Cells, contains, room_inside

FEW = settings(max_examples=60, deadline=None)
number = st.floats(-3000, 3000)
point = st.tuples(number, number)
part = st.floats(-2, 2)
maps = st.builds(Affine, part, part, part, part, number, number).filter(lambda m: abs(m.a * m.d - m.b * m.c) > 0.1)


@FEW
@given(st.floats(10, 5000), st.just(0.0) | st.floats(1e-9, 0.45))
def test_an_arc_solved_from_its_length_has_the_chord_it_came_from(chord: float, share: float) -> None:
    # R = c^2 / (8h) + h / 2 and arc = 4 R atan(2h / c): any table of circular segments.
    rise = chord * share
    radius = chord**2 / (8 * rise) + rise / 2 if rise else 0.0
    length = 4 * radius * math.atan(2 * share) if rise else chord
    back = arc_from_length(length, rise)
    assert back.chord == pytest.approx(chord, rel=1e-9)
    assert along_arc(back.radius, back.chord / 2) == pytest.approx(length / 2, rel=1e-6)


@FEW
@given(st.floats(10, 5000), st.floats(1e-12, 1e-3))
def test_a_nearly_flat_arc_passes_into_the_flat_one(length: float, rise: float) -> None:
    arc = arc_from_length(length, rise)
    # To first order the chord is short by 8 h^2 / (3 c); any text on circular segments.
    assert length - arc.chord == pytest.approx(8 * rise**2 / (3 * length), rel=0.01, abs=1e-9)
    assert along_arc(arc.radius, length / 4) == pytest.approx(length / 4, rel=1e-6)


@FEW
@given(maps, maps, point)
def test_maps_one_after_the_other_and_back(first: Affine, second: Affine, p: tuple[float, float]) -> None:
    both = first.compose(second)
    assert both.apply(p) == pytest.approx(second.apply(first.apply(p)), abs=1e-6)
    assert both.compose(both.inverse()) == pytest.approx(IDENTITY, abs=1e-6)


@FEW
@given(st.lists(st.floats(0, 2 * math.pi), min_size=3, max_size=9, unique=True), point)
def test_room_inside_moves_no_faster_than_the_point(angles: list[float], p: tuple) -> None:
    corners = [(900 * math.cos(a), 700 * math.sin(a)) for a in sorted(angles)]
    assume(min(math.dist(a, b) for a, b in pairwise(corners)) > 1)
    assert abs(room_inside(corners, p) - room_inside(corners, (p[0] + 3, p[1] - 4))) <= 5 + 1e-6
    assert (room_inside(corners, p) > 0) == contains(corners, p)


@FEW
@given(st.lists(point, max_size=40), point, st.floats(0, 2000), st.floats(5, 900))
def test_cells_find_what_a_search_of_all_finds(points: list, place: tuple, reach: float, size: float) -> None:
    cells: Cells[int] = Cells(size)
    for n, p in enumerate(points):
        cells.add(p, n)
    distances = [math.hypot(p[0] - place[0], p[1] - place[1]) for p in points]
    found = {n for _, n in cells.near(place, reach)}
    # A point on the very edge of the reach may fall either way: places so small are lost in rounding.
    assert {n for n, d in enumerate(distances) if d <= reach - 1e-9} <= found
    assert found <= {n for n, d in enumerate(distances) if d <= reach}
