"""Arcs, polygons and tape triangles against published numbers and an independent geometry library."""

import math
import random
from collections import Counter
from itertools import pairwise, product

import pytest
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from templater.maths import along_arc, arc_from_length, slope_correction
from templater.plane.shapes import (
    area,
    around,
    box_within,
    boxes_overlap,
    cell_row,
    cells_along,
    cells_over,
    contains,
    crossing_edges,
    distance_to_edge,
    distance_to_segment,
    gap,
    overlap,
    room_inside,
    segments_cross,
    union,
)

# Worked cases of a mathematics page (R = c^2/(8h) + h/2) and of a calculator page (c 10, h 3: R 5.67; c 8, h 2: R 5).
# The arc of chord 6 and rise 1 is exact: R = 5, arc = 10 asin(3/5).
PUBLISHED = [(8, 2, 5.0, None), (10, 3, 5.67, None), (12, 2, 10.0, None), (20, 3.82, 15.0, None), (6, 1, 5.0, 6.435011)]


@pytest.mark.parametrize(("chord", "rise", "radius", "length"), PUBLISHED)
def test_published_arcs_from_the_chord(chord: float, rise: float, radius: float, length: float | None) -> None:
    # Arc = 4 R atan(2h/c), from which the program finds the circle again.
    arc = arc_from_length(4 * (chord**2 / (8 * rise) + rise / 2) * math.atan(2 * rise / chord), rise)
    assert arc.radius == pytest.approx(radius, abs=0.005)
    assert arc.chord == pytest.approx(chord, rel=1e-9)
    if length is not None:
        assert 2 * along_arc(arc.radius, chord / 2) == pytest.approx(length, abs=5e-7)


# The same formulas worked to six decimals: arc = 4 R atan(2h/c).
@pytest.mark.parametrize(
    ("chord", "rise", "radius", "length"),
    [
        (8, 2, 5, 9.272952),
        (10, 3, 5.666667, 12.249509),
        (6, 1, 5, 6.435011),
        (2400, 60, 12030, 2403.998002),
        (2500, 40, 19551.25, 2501.706317),
        (3000, 50, 22525, 3002.221729),
        (1000, 10, 12505, 1000.266645),
    ],
)
def test_arcs_solved_from_their_length_meet_the_worked_chord(
    chord: float, rise: float, radius: float, length: float
) -> None:
    arc = arc_from_length(length, rise)
    assert arc.chord == pytest.approx(chord, abs=2e-6)
    # Of a flat arc the radius answers to the length's last decimal strongly: 1 um of 2.4 m moves it by some mm.
    assert arc.radius == pytest.approx(radius, rel=2e-6)


def test_distance_along_the_arc_against_a_chain_of_short_chords() -> None:
    # The circle through (-1200, 0), (0, 60), (1200, 0) laid out in 20 000 chords, each as Pythagoras has it.
    radius, steps = 12030.0, 20000

    def height(x: float) -> float:
        return math.sqrt(radius * radius - x * x)

    points = [(215.0 * n / steps, height(215.0 * n / steps)) for n in range(steps + 1)]
    chain = sum(math.dist(a, b) for a, b in pairwise(points))
    assert along_arc(radius, 215.0) == pytest.approx(chain, abs=1e-7)


RIGHT_TRIANGLES = [(3, 4, 5), (12, 5, 13), (21, 20, 29), (2400, 70, 2401.020616), (100, 10, 100.498756)]


@pytest.mark.parametrize(("level", "drop", "slope_distance"), RIGHT_TRIANGLES)
def test_slope_distances_worked_by_hand(level: float, drop: float, slope_distance: float) -> None:
    # Whole-number right triangles, and two worked by hand with square roots.
    assert slope_correction(level, drop) == pytest.approx(slope_distance - level, abs=5e-7)


def test_slope_correction_by_the_surveyors_rule() -> None:
    # Survey of slopes by steel tape: correction = S (1 - cos a); at 5 degrees 100.000 reads 99.619 level (rule and
    # figures from memory, the cosine 0.996195 from any table).
    level, drop = 99.6195, 100 * 0.0871557
    assert slope_correction(level, drop) == pytest.approx(0.3805, abs=1e-4)


L_SHAPE = ((0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (25.0, 20.0), (25.0, 50.0), (0.0, 50.0))
SHAPES = {
    "bench": L_SHAPE,
    "other way round": L_SHAPE[::-1],
    "cockpit": ((1980.0, -325.0), (1980.0, 325.0), (2450.0, 300.0), (2450.0, -300.0)),
    "dart": ((0.0, 0.0), (50.0, 25.0), (0.0, 50.0), (15.0, 25.0)),
}


@pytest.mark.parametrize("name", SHAPES)
def test_points_and_polygons_as_the_geometry_library_has_them(name: str) -> None:
    corners = SHAPES[name]
    shape = Polygon(corners)
    assert abs(area(corners)) == pytest.approx(shape.area)
    low_x, low_y, high_x, high_y = shape.bounds
    for i, j in product(range(23), range(23)):
        # Steps that miss corners and edges, where inside and outside are a matter of definition.
        point = (low_x - 7.3 + (high_x - low_x + 15.1) * i / 22, low_y - 5.7 + (high_y - low_y + 12.3) * j / 22)
        where = Point(point)
        distance = shape.exterior.distance(where)
        assert contains(corners, point) is shape.contains(where)
        assert distance_to_edge(corners, point) == pytest.approx(distance, abs=1e-9)
        assert room_inside(corners, point) == pytest.approx(distance if shape.contains(where) else -distance, abs=1e-9)


def test_overlap_and_gap_as_the_geometry_library_has_them() -> None:
    one = Polygon(L_SHAPE)
    seen = set()
    for i, j in product(range(-12, 13), range(-12, 13)):
        other = tuple((x * 0.3 + 26.1 + 4.3 * i, y * 0.4 + 21.7 + 3.9 * j) for x, y in SHAPES["dart"])
        shape = Polygon(other)
        assert overlap(L_SHAPE, other) is one.intersects(shape)
        assert gap(L_SHAPE, other) == pytest.approx(one.distance(shape), abs=1e-9)
        seen.add(one.intersects(shape))
    assert seen == {True, False}


@pytest.mark.parametrize(
    "corners",
    [
        *SHAPES.values(),
        ((0, 0), (10, 10), (10, 0), (0, 10)),
        ((0, 0), (10, 0), (10, 10), (5, -1)),
        ((0, 0), (10, 0), (5, 0), (5, 8)),
        ((0, 0), (10, 0), (10, 10), (5, 0), (0, 10)),
    ],
)
def test_self_crossing_as_the_geometry_library_has_it(corners: tuple[tuple[float, float], ...]) -> None:
    assert (crossing_edges(corners) is None) is Polygon(corners).is_valid


def test_self_crossing_of_any_corners_on_a_lattice_as_the_geometry_library_has_it() -> None:
    chance, seen = random.Random(1), Counter[bool]()
    lattice = [(x / 8, y / 8) for x in (-7, -6, -4, -1) for y in (3, 5, 8, 9)]
    for _ in range(800):
        corners = chance.sample(lattice, chance.choice((3, 4, 5, 6)))
        found, valid = crossing_edges(corners), Polygon(corners).is_valid
        assert (found is None) is valid, corners
        seen[valid] += 1
        if found is not None:
            one, other = (LineString((corners[n], corners[(n + 1) % len(corners)])) for n in found)
            met = one.intersection(other)
            assert met.length > 0 or found[1] - found[0] not in (1, len(corners) - 1), corners
            assert not met.is_empty
    assert min(seen[True], seen[False]) > 100


def test_cells_are_those_that_the_geometry_library_finds_met() -> None:
    chance = random.Random(2)
    ways = range(-20, 20, 4)
    squares = {cell: box(x, y, x + 4, y + 4) for x in ways for y in ways for cell in cells_over((x, y, x, y), 4.0)}
    assert len(squares) == 100
    assert [cell_row(cell) for cell in cells_over((-13.0, -9.0, -13.0, 5.0), 4.0)] == [-3, -2, -1, 0, 1]
    for _ in range(60):
        a, b = ((chance.uniform(-15, 15), chance.uniform(-15, 15)) for _ in range(2))
        b = chance.choice((b, b, (a[0], b[1]), (b[0], a[1])))
        for shape, found in (
            (LineString((a, b)), [*cells_along(a, b, 4.0)]),
            (LineString((a, b)).envelope, [*cells_over(around((a, b)), 4.0)]),
        ):
            touched = {cell for cell, square in squares.items() if square.intersects(shape)}
            crossed = {cell for cell in touched if squares[cell].intersection(shape).length > 1e-9}
            assert crossed <= set(found) <= touched
            assert len(found) == len(set(found))


def test_boxes_as_the_geometry_library_has_them() -> None:
    sides = [(low, high) for low in range(4) for high in range(low + 1, 5)]
    every = [(u0, v0, u1, v1) for u0, u1 in sides for v0, v1 in sides]
    for one in every[::9]:
        for other in every[::2]:
            assert boxes_overlap(one, other) is (box(*one).intersection(box(*other)).area > 0)
            assert box_within(one, other) is box(*other).covers(box(*one))
            assert union(one, other) == unary_union([box(*one), box(*other)]).bounds


def test_straight_pieces_as_the_geometry_library_has_them() -> None:
    spots = [(float(x), float(y)) for x in range(4) for y in range(3)]
    for a, b in product(spots, spots):
        line = LineString((a, b))
        for c in spots:
            assert distance_to_segment(c, a, b) == pytest.approx(line.distance(Point(c)), abs=1e-12)
        for c, d in product(spots[::3], spots[1::3]):
            if a != b and c != d:
                assert segments_cross(a, b, c, d) is line.intersects(LineString((c, d))), (a, b, c, d)
