"""Areas, clipping and labels of any shape, against a geometry library."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiLineString, Point, Polygon, box

from templater.drawing.compose import Sheet
from templater.drawing.labels import Symbol
from templater.drawing.marks import Circle, Cross, Group, Text, mark_box
from templater.plane.shapes import clip_segment, hatch

RADII = st.lists(st.floats(5.0, 80.0), min_size=3, max_size=9)
COORDINATE = st.floats(-50.0, 50.0)
CELL = st.tuples(st.integers(0, 7), st.integers(0, 7))
PLACE = st.tuples(COORDINATE, COORDINATE)


def star(radii: list[float]) -> tuple[tuple[float, float], ...]:
    """A polygon that does not cross itself: corners at growing angles round its middle."""
    step = 2 * math.pi / len(radii)
    return tuple((r * math.cos(0.3 + n * step), r * math.sin(0.3 + n * step)) for n, r in enumerate(radii))


@settings(max_examples=60, deadline=None)
@given(radii=RADII, spacing=st.floats(2.0, 9.0))
def test_hatching_fills_any_area_and_stays_inside(radii: list[float], spacing: float) -> None:
    corners = star(radii)
    area = Polygon(corners)
    lines = hatch(corners, spacing)
    assert area.buffer(1e-6).covers(MultiLineString(lines)) or not lines
    # Every place inside is within one spacing of a line, save in corners too sharp for a line to enter.
    core = area.buffer(-spacing)
    if not core.is_empty:
        assert core.difference(MultiLineString(lines).buffer(spacing * 0.51)).area < 1e-6


@settings(max_examples=100, deadline=None)
@given(a=PLACE, b=PLACE, corner=PLACE, width=st.floats(1.0, 60.0), height=st.floats(1.0, 60.0))
def test_clipping_any_segment(
    a: tuple[float, float], b: tuple[float, float], corner: tuple[float, float], width: float, height: float
) -> None:
    area = (corner[0], corner[1], corner[0] + width, corner[1] + height)
    inside = LineString([a, b]).intersection(box(*area))
    part = clip_segment(a, b, area)
    length = 0.0 if part is None else math.dist(*part)
    assert math.isclose(length, inside.length, abs_tol=1e-6)


@settings(max_examples=30, deadline=None)
@given(cells=st.sets(CELL, min_size=15, max_size=40), pitch=st.floats(9.5, 14))
def test_labels_of_scattered_holes_touch_nothing(cells: set[tuple[int, int]], pitch: float) -> None:
    sheet = Sheet()
    holes = [
        Symbol(f"A{n}", (i * pitch, j * pitch), 5.0, "fitting", Group.HOLE, (f"A{n} ⌀5", f"A{n}"), (3.0, 2.6, 2.2))
        for n, (i, j) in enumerate(sorted(cells), 1)
    ]
    sheet.add_symbols(holes)
    sheet.add_labels()
    texts = [mark for mark in sheet.marks if isinstance(mark, Text)]
    assert [mark.id for mark in texts] == [hole.id for hole in holes]
    areas = [box(*mark_box(mark)) for mark in texts]
    discs = [Point(m.centre).buffer(m.diameter / 2, 64) for m in sheet.marks if isinstance(m, Circle)]
    arms = [
        line
        for m in sheet.marks
        if isinstance(m, Cross)
        for line in (
            LineString([(m.centre[0] - m.arm, m.centre[1]), (m.centre[0] + m.arm, m.centre[1])]),
            LineString([(m.centre[0], m.centre[1] - m.arm), (m.centre[0], m.centre[1] + m.arm)]),
        )
    ]
    for number, area in enumerate(areas):
        assert not any(area.intersects(other) for other in areas[number + 1 :])
        assert not any(area.intersects(arm) for arm in arms)
        assert not any(area.intersects(disc) for disc in discs)
