"""The pieces that sheets are made of, against hand-worked figures and a geometry library."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest
from shapely.geometry import LineString, MultiLineString, Point, Polygon, box
from shapely.ops import unary_union

from templater.drawing.compose import Sheet
from templater.drawing.labels import PAST_CIRCLE, Layout, Symbol, arms_past, diameter
from templater.drawing.marks import Anchor, Arc, Circle, Cross, Group, Line, Pen, Polyline, Text, mark_box
from templater.drawing.plates import plate_contour, slot_contour
from templater.plane.shapes import box_inside, clip_segment, grown, hatch
from templater.standards.typeface import text_width, wrap

#: A corner let in on the left, so a 45 degree line crosses the edge four times.
BAY = ((0.0, 0.0), (60.0, 0.0), (60.0, 50.0), (0.0, 50.0), (0.0, 35.0), (40.0, 30.0), (0.0, 15.0))


def hole(ident: str, u: float, v: float, size: float = 5.0) -> Symbol:
    return Symbol(ident, (u, v), size, "fitting", Group.HOLE, (f"{ident} ⌀{size}", ident), (3.0, 2.6, 2.2))


def test_hatching_of_a_bay_is_inside_and_complete() -> None:
    area = Polygon(BAY)
    lines = [LineString(ends) for ends in hatch(BAY, 4.0)]
    assert all(area.buffer(1e-9).covers(line) for line in lines)
    for line in lines:
        (u0, v0), (u1, v1) = line.coords
        assert (v1 - v0) / (u1 - u0) == pytest.approx(1.0)
    # Perpendicular spacing 4 mm: total length is area / spacing, up to what the ends of lines leave.
    assert sum(line.length for line in lines) == pytest.approx(area.area / 4.0, rel=0.05)
    # Lines lie on one grid: distance of each from the line v = u is a multiple of 4 mm.
    for line in lines:
        u, v = line.coords[0]
        assert ((v - u) / math.sqrt(2) / 4.0) == pytest.approx(round((v - u) / math.sqrt(2) / 4.0), abs=1e-9)


def test_hatching_leaves_the_name_free() -> None:
    blanks = ((10.0, 2.0, 40.0, 12.0), (30.0, 6.0, 50.0, 20.0), (20.0, 40.0, 30.0, 48.0))
    lines = MultiLineString(hatch(BAY, 4.0, blanks))
    free = Polygon(BAY).difference(unary_union([box(*blank) for blank in blanks]))
    assert free.buffer(1e-9).covers(lines)
    whole = MultiLineString(hatch(BAY, 4.0)).intersection(free)
    assert lines.length == pytest.approx(whole.length, abs=len(lines.geoms) * 0.5)


@pytest.mark.parametrize("corners", [BAY, tuple(reversed(BAY)), ((0.0, 0.0), (30.0, 5.0), (12.0, 40.0))])
def test_margin_is_that_of_a_geometry_library(corners: tuple[tuple[float, float], ...]) -> None:
    expected = Polygon(corners).buffer(3.0, join_style="mitre", mitre_limit=4.0)
    got = Polygon(grown(corners, 3.0))
    assert got.symmetric_difference(expected).area < 1e-6


@pytest.mark.parametrize("way", [1, -1])
def test_a_margin_reaches_no_further_than_four_times_itself_at_a_sharp_corner(way: int) -> None:
    needle = ((0.0, 0.0), (100.0, 3.0), (0.0, 6.0))[::way]
    reach = [math.dist(a, b) for a, b in zip(needle, grown(needle, 3.0), strict=True)]
    assert max(reach) <= 12.0 + 1e-9
    # At a corner of 88 degrees the point is 3 / sin 44 away.
    angle = math.pi / 2 - math.atan(3 / 100)
    assert sorted(reach)[1:] == pytest.approx([3 / math.sin(angle / 2)] * 2)


def test_no_margin_changes_nothing() -> None:
    assert grown(BAY, 0.0) == BAY


@pytest.mark.parametrize(
    ("inner", "expected"),
    [
        ((2.0, 2.0, 55.0, 12.0), True),
        ((2.0, 20.0, 20.0, 30.0), False),
        ((42.0, 2.0, 58.0, 48.0), True),
        ((2.0, 2.0, 99.0, 12.0), False),
        ((-9.0, 2.0, -3.0, 12.0), False),
        ((-9.0, -9.0, 99.0, 99.0), False),
    ],
)
def test_box_inside_a_bay(inner: tuple[float, float, float, float], expected: bool) -> None:
    assert Polygon(BAY).covers(box(*inner)) is expected
    assert box_inside(inner, BAY) is expected


@pytest.mark.parametrize(
    ("a", "b"), [((-5.0, 5.0), (15.0, 5.0)), ((-5.0, -5.0), (25.0, 15.0)), ((3.0, -9.0), (3.0, 30.0))]
)
def test_clipping_is_that_of_a_geometry_library(a: tuple[float, float], b: tuple[float, float]) -> None:
    area = (0.0, 0.0, 10.0, 8.0)
    part = clip_segment(a, b, area)
    assert part is not None
    assert LineString(part).hausdorff_distance(LineString([a, b]).intersection(box(*area))) < 1e-9
    assert clip_segment((-5.0, 9.0), (15.0, 9.0), area) is None


def test_arms_keep_clear_of_neighbours() -> None:
    # By hand: circles of 5 mm, 12 mm apart, leave 7 mm; 3 mm each way and 0.5 clear take 6.5, 3.5 each way takes 7.5.
    assert arms_past((hole("A1", 0, 0), hole("A2", 12, 0))) == (3.0, 3.0)
    # Alone: the full length. Too near for anything: the shortest.
    assert arms_past((hole("A1", 0, 0), hole("A2", 100, 0))) == (PAST_CIRCLE[0], PAST_CIRCLE[0])
    assert arms_past((hole("A1", 0, 0), hole("A2", 6, 0))) == (2.0, 2.0)
    # Slantwise: the level arm of one would meet the upright arm of the other.
    assert arms_past((hole("A1", 0, 0), hole("A2", 6, 6))) == (2.5 + 0.5, 2.5 + 0.5)
    assert arms_past(()) == ()


@pytest.mark.parametrize("apart", [7.0, 8.0, 9.0, 10.0, 11.0, 13.0, 15.0])
@pytest.mark.parametrize("degrees", [0.0, 20.0, 45.0, 70.0, 90.0])
def test_no_arm_meets_an_arm_or_circle_that_it_could_spare(apart: float, degrees: float) -> None:
    at = (apart * math.cos(math.radians(degrees)), apart * math.sin(math.radians(degrees)))
    pair = (hole("A1", 0, 0, 4.0), hole("A2", *at, 4.0))
    past = arms_past(pair)[0]

    def touch(excess: float, clear: float) -> bool:
        arm = 2.0 + excess
        crosses = [
            [LineString([(u - arm, v), (u + arm, v)]), LineString([(u, v - arm), (u, v + arm)])]
            for u, v in ((0.0, 0.0), at)
        ]
        circles = [Point(*centre).buffer(2.0, 64) for centre in ((0.0, 0.0), at)]
        return any(a.distance(b) < clear for a in crosses[0] for b in (*crosses[1], circles[1])) or any(
            circles[0].distance(b) < clear for b in crosses[1]
        )

    if past > PAST_CIRCLE[-1]:
        assert not touch(past, 0.49)
    if past < PAST_CIRCLE[0]:
        assert all(touch(longer, 0.75) for longer in PAST_CIRCLE if longer > past)


def test_a_hemmed_in_hole_gets_its_label_on_a_leader() -> None:
    sheet = Sheet()
    ring = [(12 * math.cos(t * math.pi / 6), 12 * math.sin(t * math.pi / 6)) for t in range(12)]
    sheet.add_symbols([hole("Q1", 0, 0)])
    for u, v in ring:
        sheet.add(Circle((u, v), 5.5, Pen.NARROW, Group.OUTLINE))
    sheet.add(Circle((0.0, 0.0), 16.0, Pen.NARROW, Group.OUTLINE))
    sheet.add_labels()
    label = next(mark for mark in sheet.marks if isinstance(mark, Text))
    assert label.id == "Q1"
    area = box(*mark_box(label))
    assert "Q1" in label.text.split()
    leaders = [mark for mark in sheet.marks if isinstance(mark, Line) and mark.group is Group.LABEL]
    # With the whole neighbourhood filled no leader can run, so the id stands by the hole rather than nowhere.
    assert not leaders
    assert area.distance(Point(0, 0)) < 10


def test_a_leader_runs_from_the_hole_to_its_label() -> None:
    sheet = Sheet()
    sheet.add_symbols([hole("Q1", 0, 0)])
    blocks = [(8.0, -0.2, 8.5, 0.2), (-8.5, -0.2, -8.0, 0.2), (-0.2, 8.0, 0.2, 8.5), (-0.2, -8.5, 0.2, -8.0)]
    for i in (-1, 1):
        for j in (-1, 1):  # in every corner of the cross, on either side of the slanting way out
            blocks.append((i * 2 - 1.0, j * 4 - 0.5, i * 2 + 1.0, j * 4 + 0.5))
            blocks.append((i * 4 - 0.5, j * 1.5 - 0.5, i * 4 + 0.5, j * 1.5 + 0.5))
    for block in blocks:
        sheet.layout.add_box(block)
    sheet.add_labels()
    label = next(mark for mark in sheet.marks if isinstance(mark, Text))
    area = box(*mark_box(label))
    (leader,) = [mark for mark in sheet.marks if isinstance(mark, Line) and mark.group is Group.LABEL]
    assert math.dist(leader.a, (0.0, 0.0)) == pytest.approx(3.0)  # half a mm off a circle of 5
    assert 0.4 < area.distance(Point(leader.b)) < 2.0
    assert not any(area.intersects(box(*block)) for block in blocks)
    assert label.text == "Q1"


@pytest.mark.parametrize("anchor", list(Anchor))
def test_text_turned_a_quarter_reads_up_the_sheet(anchor: Anchor) -> None:
    level = Text((10.0, 20.0), "forward", 3.0, Group.NOTE, anchor)
    upright = Text((10.0, 20.0), "forward", 3.0, Group.NOTE, anchor, turn=1)
    u0, v0, u1, v1 = mark_box(level)
    assert u1 - u0 == pytest.approx(text_width("forward", 3.0))
    # A quarter turn anticlockwise about the anchor takes (du, dv) to (-dv, du).
    assert mark_box(upright) == pytest.approx((10 - (v1 - 20), 20 + (u0 - 10), 10 - (v0 - 20), 20 + (u1 - 10)))
    half = Text((10.0, 20.0), "forward", 3.0, Group.NOTE, anchor, turn=2)
    assert mark_box(half) == pytest.approx((20 - u1, 40 - v1, 20 - u0, 40 - v0))


def test_arc_box_within_the_quarters_it_passes() -> None:
    arc = Arc((0.0, 0.0), 10.0, 45.0, 200.0, Pen.WIDE, Group.PLATE)
    half = 10 * math.sqrt(0.5)
    assert mark_box(arc) == pytest.approx((-10.0, 10 * math.sin(math.radians(200)), half, 10.0))
    cross = Cross((1.0, 2.0), 5.0, Group.HOLE, diagonal=True)
    assert mark_box(cross) == pytest.approx((1 - 5 * math.sqrt(0.5), 2 - 5 * math.sqrt(0.5), 1 + 3.5355339, 5.5355339))


def test_layout_finds_exactly_what_is_near() -> None:
    layout = Layout()
    layout.add(Circle((0.0, 0.0), 10.0, Pen.WIDE, Group.HOLE))
    layout.add_segment((20.0, -30.0), (50.0, 30.0))
    # The corner of this box is 5.66 from the centre, its bounding box overlaps the circle's.
    assert layout.free((4.0, 4.0, 9.0, 9.0), 0.0)
    assert not layout.free((3.5, 3.5, 9.0, 9.0), 0.0)
    assert layout.free((40.0, -30.0, 50.0, -5.0), 0.0)
    assert not layout.free((30.0, -20.0, 50.0, -5.0), 0.0)
    assert not layout.free_line((0.0, 10.0), (50.0, 0.0))
    assert layout.free_line((0.0, 10.0), (20.0, 0.0))


def test_an_axis_leaves_room_for_crosses_and_windows() -> None:
    sheet = Sheet()
    sheet.add_symbols([hole("A1", 30.0, 0.0)])
    window = sheet.free_window([(70.0, 0.0)], along_u=True)
    assert window is not None
    sheet.add_axis(0.0, 100.0, 0.0, along_u=True, windows=[window])
    lines = sorted((m.a[0], m.b[0], m.pen) for m in sheet.marks if isinstance(m, Line))
    # The cross draws 23.5 to 36.5 itself; the window opens 58 to 82 with an index of 3 mm either side.
    assert [(a, b) for a, b, pen in lines if pen is Pen.CHAIN] == [(0.0, 23.5), (36.5, 55.0), (85.0, 100.0)]
    assert [(a, b) for a, b, pen in lines if pen is Pen.NARROW] == [(55.0, 58.0), (82.0, 85.0)]
    tips = {mark.points[0] for mark in sheet.marks if isinstance(mark, Polyline) and mark.filled}
    assert tips == {(58.0, 0.0), (82.0, 0.0)}


def length_of(marks: Iterable[object]) -> float:
    total = 0.0
    for mark in marks:
        if isinstance(mark, Arc):
            total += math.radians(mark.end - mark.start) * mark.radius
        elif isinstance(mark, Line):
            total += math.dist(mark.a, mark.b)
    return total


def test_contours_have_the_length_of_their_shapes() -> None:
    # Rounded rectangle: 2 (w + h) - 8 r + 2 pi r. Slot: 2 (length - width) + pi width.
    plate = plate_contour((0.0, 0.0, 76.0, 46.0), 5.0)
    assert length_of(plate) == pytest.approx(2 * (76 + 46) - 40 + 10 * math.pi)
    assert mark_box(plate[0])[3] == 46.0
    from templater.description.keys import Slot

    assert length_of(slot_contour((3.0, 4.0), Slot(length=16.0, width=8.5))) == pytest.approx(2 * 7.5 + math.pi * 8.5)
    opened = plate_contour((0.0, 0.0, 76.0, 46.0), 5.0, opens=(((15.0, 23.0), (53.0, 61.0)), ()))
    assert length_of(opened) == pytest.approx(length_of(plate) - 16.0)


def test_words() -> None:
    assert diameter(4.5) == "⌀4.5"
    assert diameter(10.0) == "⌀10"
    lines = wrap("Cut out the sight windows; lay the lines on the pencil lines.", 30.0, 2.6)
    assert " ".join(lines) == "Cut out the sight windows; lay the lines on the pencil lines."
    assert all(text_width(line, 2.6) <= 30.0 for line in lines)
    assert len(lines) > 1


def test_a_sight_window_keeps_its_index_free() -> None:
    # The window reaches 12 mm from its middle, its index 3 mm more; a mark from 15 mm on is in the index's way.
    sheet = Sheet()
    sheet.add(Circle((0.0, 16.2), 2.0, Pen.WIDE, Group.HOLE))
    assert sheet.free_window([(0.0, 0.0)], along_u=False) is None
    assert sheet.free_window([(0.0, 0.0), (0.0, -1.0)], along_u=False) == (-6.0, -13.0, 6.0, 11.0)
