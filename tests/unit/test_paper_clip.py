"""Marks cut off at a window: what is left is exactly what lies inside, and patterns run on."""

import math

import pytest
from shapely.geometry import LineString, Point, Polygon, box

from templater.drawing.marks import Arc, Circle, Cross, Group, Line, Pen, Polyline, Text
from templater.paper.placing import clip, touches

WINDOW = (0.0, 0.0, 100.0, 80.0)
FRAME = box(*WINDOW)


def test_a_chained_line_keeps_its_phase() -> None:
    (part,) = clip(Line((-30.0, 40.0), (130.0, 40.0), Pen.CHAIN, Group.CENTRELINE, phase=2.0), WINDOW)
    assert isinstance(part, Line)
    assert (part.a, part.b) == ((0.0, 40.0), (100.0, 40.0))
    # 2 and 30 mm are used up; a chained pattern is 6 + 3/4 + 1/8 + 3/4 mm long: 32 - 4 x 7.625. A line of 10 km would
    # otherwise shift its pattern by what a file rounds of each length.
    assert part.phase == pytest.approx(1.5)


def test_two_neighbours_draw_one_line_through() -> None:
    line = Line((10.0, 10.0), (190.0, 70.0), Pen.DASHED, Group.PLATE)
    (left,) = clip(line, WINDOW)
    (right,) = clip(line, (90.0, 0.0, 200.0, 80.0))
    assert isinstance(left, Line)
    assert isinstance(right, Line)
    # The same point of the line has the same phase on both.
    assert right.phase == pytest.approx((left.phase + math.dist(left.a, right.a)) % 3.75)  # 3 mm and a gap of 3/4


@pytest.mark.parametrize(
    ("centre", "radius"),
    [((0.0, 40.0), 20.0), ((100.0, 80.0), 30.0), ((50.0, 40.0), 45.0), ((50.0, 40.0), 60.0), ((50.0, -30.0), 35.0),
     ((50.0, 40.0), 400.0), ((300.0, 40.0), 20.0)],
)  # fmt: skip
def test_a_circle_is_cut_into_arcs_of_the_right_length(centre: tuple[float, float], radius: float) -> None:
    parts = list(clip(Circle(centre, 2 * radius, Pen.WIDE, Group.HOLE, "P1"), WINDOW))
    drawn = sum(math.radians(p.end - p.start) * radius for p in parts if isinstance(p, Arc))
    # shapely's ring of 4 x 2000 sides is the reference.
    expected = Point(centre).buffer(radius, 2000).exterior.intersection(FRAME).length
    assert drawn == pytest.approx(expected, abs=0.01)
    for part in parts:
        assert isinstance(part, Arc)
        assert (part.centre, part.radius, part.id) == (centre, radius, "P1")
        for n in range(11):
            t = math.radians(part.start + (part.end - part.start) * n / 10)
            x, y = centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)
            assert -1e-6 <= x <= 100 + 1e-6
            assert -1e-6 <= y <= 80 + 1e-6


def test_a_whole_circle_stays_a_circle() -> None:
    circle = Circle((50.0, 40.0), 18.0, Pen.WIDE, Group.HOLE, "P1")
    assert list(clip(circle, WINDOW)) == [circle]


def test_a_filled_area_is_cut_at_the_window() -> None:
    points = ((-20.0, 10.0), (60.0, -30.0), (140.0, 50.0), (40.0, 120.0))
    (part,) = clip(Polyline(points, True, Pen.WIDE, Group.SIGHT, filled=True), WINDOW)
    assert isinstance(part, Polyline)
    assert Polygon(part.points).area == pytest.approx(Polygon(points).intersection(FRAME).area)


def test_a_filled_area_with_its_tip_on_the_window_s_edge_has_each_corner_once() -> None:
    head = Polyline(((0, 2), (-1, 0), (1, 0)), True, Pen.NARROW, Group.NOTE, filled=True)
    (cut,) = clip(head, (-50, -50, 0, 50))
    assert sorted(cut.points) == [(-1, 0), (0, 0), (0, 2)]


def test_an_outline_keeps_its_length_inside() -> None:
    points = ((-20.0, 10.0), (60.0, -30.0), (140.0, 50.0), (40.0, 120.0))
    parts = list(clip(Polyline(points, True, Pen.DASHED, Group.PLATE), WINDOW))
    drawn = sum(math.dist(p.a, p.b) for p in parts if isinstance(p, Line))
    assert drawn == pytest.approx(LineString((*points, points[0])).intersection(FRAME).length)


def test_a_crosshair_leaves_the_arms_that_lie_inside() -> None:
    parts = list(clip(Cross((100.0, 40.0), 8.0, Group.HOLE, "P1"), WINDOW))
    lengths = sorted(math.dist(p.a, p.b) for p in parts if isinstance(p, Line))
    assert lengths == pytest.approx([8.0, 16.0])


def test_a_text_is_shown_whole_or_not_at_all() -> None:
    assert not list(clip(Text((95.0, 40.0), "setting 3", 3.0, Group.LABEL), WINDOW))
    assert touches(Text((95.0, 40.0), "setting 3", 3.0, Group.LABEL), WINDOW)
    assert list(clip(Text((20.0, 40.0), "setting 3", 3.0, Group.LABEL), WINDOW))


@pytest.mark.parametrize("dx", [-4.0, 0.0, 46.0, 96.0, 104.0])
@pytest.mark.parametrize("dy", [-3.0, 40.0, 77.0])
def test_what_is_left_of_an_arrow_s_head_is_what_shapely_leaves(dx: float, dy: float) -> None:
    head = tuple((u + dx, v + dy) for u, v in ((0.0, 9.0), (-6.0, -5.0), (7.0, -4.0), (1.0, 2.0)))
    parts = list(clip(Polyline(head, True, Pen.WIDE, Group.NOTE, filled=True), WINDOW))
    left = sum(Polygon(part.points).area for part in parts if isinstance(part, Polyline))
    assert left == pytest.approx(Polygon(head).intersection(FRAME).area, abs=1e-9)
