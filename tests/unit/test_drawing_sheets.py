"""The sheets of both demo boats against figures worked by hand, and their text against an outside font renderer."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from loading import load_description
from PIL import ImageFont
from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import polygonize, unary_union

from templater.boat.solve import solve
from templater.boat.solved import Boat
from templater.description.keys import Fitting, HoleCircle, KeepClear, Pattern, Surface
from templater.drawing.marks import Anchor, Arc, Circle, Cross, Drawing, Group, Line, Mark, Pen, Polyline, Text
from templater.drawing.sheets import draw
from templater.standards.typeface import FILES, missing_letters
from templater.units import MM_PER_INCH

ROOT = Path(__file__).parents[2]
FONTS = ROOT / "templater/standards/typeface"
DEMOS = ("whinchat-3", "whinchat-5")
SHEETS = ("floor", "plank", "plates", "spare-plates")


@cache
def boat(name: str) -> Boat:
    file = ROOT / "configs" / f"{name}.yaml"
    return solve(load_description(file.read_text("utf-8"), file.name))


@cache
def sheets(name: str) -> dict[str, Drawing]:
    return {drawing.name: drawing for drawing in draw(boat(name), warnings=("one", "two"))}


def places(drawing: Drawing, prefix: str, digits: int = 2) -> set[tuple[float, float]]:
    return {(round(h.at[0], digits), round(h.at[1], digits)) for h in drawing.holes if h.id.startswith(prefix)}


def place(drawing: Drawing, ident: str) -> tuple[float, float]:
    return next(hole.at for hole in (*drawing.holes, *drawing.expected) if hole.id == ident)


every_sheet = pytest.mark.parametrize(("name", "sheet"), [(name, sheet) for name in DEMOS for sheet in SHEETS])


def test_sheets_come_in_the_order_of_use() -> None:
    assert tuple(sheets("whinchat-3")) == SHEETS
    assert tuple(sheets("whinchat-5")) == SHEETS


def test_floor_of_whinchat_3_stands_where_the_figures_say() -> None:
    # By hand: aftmost bolt line 2350 - 4 - 6 = 2340, the others 55 apart; half spread 215; u = y, v = -x.
    floor = sheets("whinchat-3")["floor"]
    for number, station in ((1, 2230.0), (2, 2285.0), (3, 2340.0)):
        assert place(floor, f"P{number}") == pytest.approx((-215.0, -station), abs=1e-9)
        assert place(floor, f"S{number}") == pytest.approx((215.0, -station), abs=1e-9)
    # First screws of the middle port plate: 215 + 30, 215 - 30 athwart, 2285 - 16 and 2285 + 16 aft.
    assert places(floor, "P2a") == {(-245.0, -2269.0), (-185.0, -2269.0), (-245.0, -2301.0), (-185.0, -2301.0)}
    assert places(floor, "S2b") == {(200.0, -2269.0), (230.0, -2269.0), (200.0, -2301.0), (230.0, -2301.0)}
    # Block base: 2060 aft, 40 fore and aft, 24 athwart.
    assert places(floor, "A") == {(-12.0, -2040.0), (12.0, -2040.0), (-12.0, -2080.0), (12.0, -2080.0)}
    assert not floor.mirrored
    assert floor.face == "upper"


def test_floor_of_whinchat_5_is_the_mirror_image_and_says_so() -> None:
    # By hand: 92.5 in = 2349.5; 2349.5 - 5 - 6.35 = 2338.15, then 2.25 in = 57.15 apart; 8 in = 203.2; u = -y.
    floor = sheets("whinchat-5")["floor"]
    for number, station in enumerate((2109.55, 2166.70, 2223.85, 2281.00, 2338.15), 1):
        assert place(floor, f"P{number}") == pytest.approx((203.2, -station), abs=1e-9)
        assert place(floor, f"S{number}") == pytest.approx((-203.2, -station), abs=1e-9)
    # Cleat: 78 in = 1981.2 aft, 7 in = 177.8; one inch either way, turned 30 degrees: 21.997 aft, 12.7 athwart.
    assert places(floor, "B", 3) == {
        (-165.1, -1959.203), (-190.5, -2003.197), (165.1, -1959.203), (190.5, -2003.197),
    }  # fmt: skip
    assert floor.mirrored
    assert floor.face == "under"
    large = [mark for mark in floor.marks if isinstance(mark, Text) and mark.text == "UNDER FACE - mirrored"]
    assert large
    assert min(mark.size for mark in large) >= 5.0
    sides = {mark.text: mark.at[0] for mark in floor.marks if isinstance(mark, Text) and mark.size == 4.0}
    assert sides["port"] > 0 > sides["starboard"]


def test_plank_holes_stand_along_the_face() -> None:
    # By hand, series of the arc: half length 1195, rise 38 gives R = 18783.2; 215 across is 215.0047 along the face.
    plank = sheets("whinchat-3")["plank"]
    assert place(plank, "KP") == pytest.approx((-215.0047, 0.0), abs=5e-4)
    assert place(plank, "KS") == pytest.approx((215.0047, 0.0), abs=5e-4)
    edges = [m.a[1] for m in plank.marks if isinstance(m, Line) and m.pen is Pen.WIDE and m.group is Group.OUTLINE]
    assert sorted(edges) == [-87.5, 87.5]
    plugs = [mark for mark in plank.marks if isinstance(mark, Circle) and mark.pen is Pen.DASHED]
    assert [mark.diameter for mark in plugs] == [24, 24]
    # Whinchat 5, tell-tale eye: 18 in along, 0.75 in fore and aft of the bolt line, both sides.
    far, half = 18 * MM_PER_INCH, 0.75 * MM_PER_INCH
    expected = {(round(s * far, 2), round(t * half, 2)) for s in (-1, 1) for t in (-1, 1)}
    assert places(sheets("whinchat-5")["plank"], "A") == expected


def words(drawing: Drawing) -> str:
    return " ".join(mark.text for mark in drawing.marks if isinstance(mark, Text))


def test_bolt_lines_say_where_they_stand() -> None:
    text = words(sheets("whinchat-3")["floor"])
    assert "setting 2: bolt line 2285.0 mm aft of the steering pivot axis, runner pivot axis 2291.0 mm setting" in text
    assert "runner pivot axis 2346.0 mm, at the rule's limit less 4.0 mm" in text
    assert text.count("at the rule's limit") == 2  # one each side, of one setting
    assert "2 warnings" in text
    # 2338.15 mm is 92.053 in, nearest 1/32: 92 1/16.
    assert "setting 5: bolt line 2338.2 mm (92 1/16 in) aft" in words(sheets("whinchat-5")["floor"])
    assert "1195.0 mm along the face from either end" in words(sheets("whinchat-3")["plank"])


def ink(text: Text) -> Polygon:
    """Where a line of text has ink, by FreeType, so not by our own widths."""
    font = ImageFont.truetype(str(FONTS / FILES[text.bold]), 1000)
    x0, y0, x1, y1 = (value * text.size / 1000 for value in font.getbbox(text.text, anchor="ls"))
    width = font.getlength(text.text) * text.size / 1000
    shift = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2, Anchor.END: -width}[text.anchor]
    (u, v), x0, x1 = text.at, x0 + shift, x1 + shift
    assert text.turn in (0, 1)
    return box(u + x0, v - y1, u + x1, v - y0) if text.turn == 0 else box(u + y0, v + x0, u + y1, v + x1)


def shape(mark: Mark) -> LineString | Polygon:
    if isinstance(mark, Circle):
        return LineString([mark.centre, mark.centre]).buffer(mark.diameter / 2, 64)
    if isinstance(mark, Line):
        return LineString([mark.a, mark.b])
    if isinstance(mark, Polyline):
        return Polygon(mark.points)
    if isinstance(mark, Cross):
        (u, v), a = mark.centre, mark.arm
        return unary_union([LineString([(u - a, v), (u + a, v)]), LineString([(u, v - a), (u, v + a)])])
    assert isinstance(mark, Arc)
    u, v = mark.centre
    return LineString([(u, v), (u, v)]).buffer(mark.radius, 64).exterior


@every_sheet
def test_no_text_touches_text_or_anything_drawn(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    texts = [mark for mark in drawing.marks if isinstance(mark, Text)]
    boxes = [ink(text) for text in texts]
    pairs = STRtree(boxes).query(boxes, "intersects").T
    assert [(texts[a].text, texts[b].text) for a, b in pairs if a < b] == []
    drawn = [mark for mark in drawing.marks if not isinstance(mark, Text | Arc)]
    shapes = [shape(mark) for mark in drawn]
    for text, area in zip(texts, boxes, strict=True):
        if text.group is Group.SIGHT:  # stands inside its window on purpose
            continue
        near = np.flatnonzero(shapely.distance(shapes, area) <= 0.1)
        assert [(text.text, drawn[n]) for n in near] == []


@every_sheet
def test_every_hole_has_its_symbol_and_its_id(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    assert len({hole.id for hole in drawing.holes}) == len(drawing.holes) > 0
    marks: dict[str, list[Mark]] = {}
    for mark in drawing.marks:
        if getattr(mark, "id", ""):
            marks.setdefault(mark.id, []).append(mark)
    assert set(marks) == {hole.id for hole in (*drawing.holes, *drawing.expected)}
    for hole in drawing.holes:
        outline, cross, label = marks[hole.id]
        assert isinstance(cross, Cross)
        assert cross.centre == hole.at
        assert cross.pen is Pen.NARROW
        assert cross.arm >= hole.diameter / 2 + 4.0  # both demos have room for full arms
        assert isinstance(label, Text)
        assert hole.id in label.text.split()
        if hole.kind == "second screw":
            assert isinstance(outline, Polyline)
            (u, v), r = hole.at, hole.diameter / 2
            assert Polygon(outline.points).equals(box(u - r, v - r, u + r, v + r))
        else:
            assert isinstance(outline, Circle)
            assert (outline.centre, outline.diameter) == (hole.at, hole.diameter)
        assert outline.pen is Pen.WIDE


@pytest.mark.parametrize("by", ["fit_up", "template"])
def test_the_second_hole_is_a_place_to_expect_unless_it_is_to_be_printed(by: str) -> None:
    text = (ROOT / "configs/whinchat-3.yaml").read_text("utf-8").replace("plank:\n", f"plank:\n  second_hole: {by}\n")
    plank = draw(solve(load_description(text, "boat.yaml")))[1]
    pricked = {mark.id for mark in plank.marks if isinstance(mark, Cross)}
    assert pricked == {hole.id for hole in plank.holes} == ({"KP"} if by == "fit_up" else {"KP", "KS"})
    assert [place.id for place in plank.expected] == (["KS"] if by == "fit_up" else [])
    if by == "fit_up":
        (circle,) = (mark for mark in plank.marks if isinstance(mark, Circle) and mark.id == "KS")
        assert circle.pen is Pen.PHANTOM
        # Nothing marks the middle: no line comes nearer to it than the circle.
        middle = Point(circle.centre)
        assert min(shape(m).distance(middle) for m in plank.marks if isinstance(m, Line)) > 4.0
    assert ("Mark through the sleeve once square." in words(plank)) == (by == "fit_up")


def test_the_corners_of_plates_can_be_pricked() -> None:
    floor = sheets("whinchat-3")["floor"]
    ticks = {mark.centre for mark in floor.marks if isinstance(mark, Cross) and mark.group is Group.PLATE}
    # By hand: plate P3, 46 x 76 about 215 to port at 2340 aft.
    assert {(-253.0, -2317.0), (-177.0, -2317.0), (-177.0, -2363.0), (-253.0, -2363.0)} <= ticks
    assert len(ticks) == 6 * 4


@every_sheet
def test_letters_exist_and_can_be_read(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    assert missing_letters(words(drawing)) == ""
    assert min(mark.size for mark in drawing.marks if isinstance(mark, Text)) >= 2.2


@every_sheet
def test_box_is_that_of_all_marks(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    drawn = unary_union([shape(mark) for mark in drawing.marks if not isinstance(mark, Text)])
    text = unary_union([ink(mark) for mark in drawing.marks if isinstance(mark, Text)])
    whole = drawn.union(text).bounds
    # Boxes of text hold ascent and descent, so they may be up to a line's slack larger than the ink.
    assert all(a <= b + 0.05 for a, b in zip(drawing.box[:2], whole[:2], strict=True))
    assert all(a >= b - 0.05 for a, b in zip(drawing.box[2:], whole[2:], strict=True))
    assert all(abs(a - b) < 1.2 for a, b in zip(drawing.box, whole, strict=True))


@every_sheet
def test_whole_kept_boxes_hold_plates_windows_and_symbols(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    kept = [box(*area) for _, area in drawing.keep]
    windows = [mark for mark in drawing.marks if isinstance(mark, Polyline) and mark.group is Group.SIGHT]
    for mark in [mark for mark in windows if not mark.filled]:
        assert any(area.covers(Polygon(mark.points)) for area in kept)
    for mark in drawing.marks:
        if isinstance(mark, Cross) and mark.id:
            assert any(area.buffer(1e-9).covers(shape(mark)) for area in kept)


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("sheet", ["floor", "plank"])
def test_lines_stop_at_sight_windows_and_go_on_behind(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    windows = [
        Polygon(mark.points)
        for mark in drawing.marks
        if isinstance(mark, Polyline) and mark.group is Group.SIGHT and not mark.filled
    ]
    lines = [mark for mark in drawing.marks if isinstance(mark, Line) and mark.group is Group.CENTRELINE]
    for window in windows:
        assert not any(window.buffer(-0.1).intersects(shape(line)) for line in lines)
        u0, v0, u1, v1 = window.bounds
        touching = [m for m in lines if window.distance(shape(m)) < 1e-9 and m.pen is Pen.NARROW]
        assert len(touching) == 2  # an index at each end
        for line in touching:
            middle = ((u0 + u1) / 2, (v0 + v1) / 2)
            assert line.a[0] == pytest.approx(middle[0]) or line.a[1] == pytest.approx(middle[1])
    assert len(windows) == {"floor": 2 + 2 * len(boat(name).settings), "plank": 4}[sheet]


def test_sight_windows_keep_off_the_border_of_an_area() -> None:
    # The border crosses every bolt line where the port window would stand, 149 to 173 inboard of the plates.
    description = boat("whinchat-3").description
    area = KeepClear(name="cable", corners=((2000.0, -160.0), (2400.0, -160.0), (2400.0, -100.0), (2000.0, -100.0)))
    floor = draw(solve(description.changed(floor=description.floor.changed(keep_clear=(area,)))))[0]
    border = [shape(m) for m in floor.marks if m.group is Group.KEEP_CLEAR and isinstance(m, Line)]
    windows = [m for m in floor.marks if isinstance(m, Polyline) and m.group is Group.SIGHT and not m.filled]
    assert len(windows) == 8
    assert border
    for window in windows:
        assert not any(Polygon(window.points).distance(line) < 0.9 for line in border)


def test_bolt_lines_and_centreline_run_past_everything() -> None:
    for name in DEMOS:
        floor = sheets(name)["floor"]
        chain = [m for m in floor.marks if isinstance(m, Line) and m.group is Group.CENTRELINE]
        plates = unary_union([shape(m) for m in floor.marks if isinstance(m, Line) and m.group is Group.PLATE]).bounds
        for setting in boat(name).settings:
            row = [p for m in chain for p in (m.a, m.b) if m.a[1] == m.b[1] == -setting.station]
            assert min(u for u, _ in row) <= plates[0] - 4.0
            assert max(u for u, _ in row) >= plates[2] + 4.0
        column = [p for m in chain for p in (m.a, m.b) if m.a[0] == m.b[0] == 0.0]
        assert min(v for _, v in column) < plates[1]
        assert max(v for _, v in column) > max(hole.at[1] for hole in floor.holes)


def test_hatching_is_inside_the_area_grown_by_its_margin() -> None:
    floor = sheets("whinchat-3")["floor"]
    area = box(-40.0, -2210.0, 40.0, -2110.0)  # 30 + 10 either side, 2120 - 10 to 2200 + 10 aft
    lines = [m for m in floor.marks if isinstance(m, Line) and m.group is Group.KEEP_CLEAR]
    hatching = [shape(m) for m in lines if m.pen is Pen.NARROW]
    border = unary_union([shape(m) for m in lines if m.pen is Pen.CHAIN_WIDE])
    assert len(hatching) > 10
    assert all(area.buffer(1e-6).covers(line) for line in hatching)
    assert border.symmetric_difference(area.exterior).length < 1e-6
    for m in lines:
        if m.pen is Pen.NARROW:
            assert m.b[0] - m.a[0] == pytest.approx(m.b[1] - m.a[1])  # 45 degrees
    assert "sheet lead" in words(floor)


def metal(drawing: Drawing) -> list[Polygon]:
    """The pieces that the cut lines enclose, slots and open gaps left aside, by another program's polygon builder."""
    cuts = [shape(m) for m in drawing.marks if isinstance(m, Line) and m.group is Group.CUT]
    return [piece for piece in polygonize(unary_union(cuts)) if piece.area > 500]


def test_strip_is_one_piece_with_bridges_of_the_stated_width() -> None:
    # By hand: three plates of 46 x 76 in one outline 156 x 76, gaps 9; bridges 8 wide, so of each gap
    # 76 - 2 x 8 = 60 is open: between the bridges 30 (quarters are 38 apart, less 8), outside them 15 either side.
    pieces = metal(sheets("whinchat-3")["plates"])
    single = [p for p in pieces if p.bounds[0] < -10]
    assert [p.area for p in single] == [pytest.approx(46 * 76)]
    strip = max((p for p in pieces if p.bounds[0] > 0), key=lambda p: p.area)
    assert strip.bounds == pytest.approx((7.0, -133.0, 83.0, 23.0))
    gaps = [Polygon(ring) for ring in strip.interiors]
    assert [gap.area for gap in gaps] == [pytest.approx(30 * 9), pytest.approx(30 * 9)]
    assert strip.area == pytest.approx(3 * 46 * 76 + 4 * 8 * 9)


def test_plates_carry_the_boats_ids_in_their_true_places() -> None:
    plates = sheets("whinchat-3")["plates"]
    # The strip's first plate has its centre at u = 14 / 2 + 76 / 2 = 45, v = 0; the third stands 110 aft of it.
    assert places(plates, "P3a") == {(15.0, -94.0), (75.0, -94.0), (15.0, -126.0), (75.0, -126.0)}
    assert {h.id for h in plates.holes} == {f"{p}a{n}" for p in ("", "P1", "P2", "P3") for n in (1, 2, 3, 4)}
    sinks = [m for m in plates.marks if isinstance(m, Circle) and m.group is Group.COUNTERSINK]
    assert {m.diameter for m in sinks} == {10.0}
    assert {m.centre for m in sinks} == {h.at for h in plates.holes}
    # A No. 8 screw's head, ASME B18.6.1 (from memory): 0.332 in, as on the job sheet.
    inch = [m for m in sheets("whinchat-5")["plates"].marks if m.group is Group.COUNTERSINK]
    assert [m.diameter for m in inch if isinstance(m, Circle)] == pytest.approx([0.332 * 25.4] * len(inch))
    spare = sheets("whinchat-3")["spare-plates"]
    assert places(spare, "b") == {(-60.0, 16.0), (-30.0, 16.0), (-60.0, -16.0), (-30.0, -16.0)}
    assert places(spare, "F") == {(30.0, 16.0), (60.0, 16.0), (30.0, -16.0), (60.0, -16.0)}


def changed(name: str, **fixing: object) -> Boat:
    description = boat(name).description
    return solve(description.changed(fixing=description.fixing.changed(**fixing)))


def test_sides_that_differ_get_a_strip_each() -> None:
    plate = boat("whinchat-3").description.fixing.plate
    assert plate is not None
    assert plate.screws is not None
    uneven = plate.screws.changed(first=((-16.0, -30.0), (-16.0, 30.0), (16.0, 0.0)))
    lopsided = plate.screws.changed(first=((-16.0, -30.0), (-16.0, 20.0), (16.0, 30.0)))
    for screws, sides in ((uneven, {"P"}), (lopsided, {"P", "S"})):
        solved = changed("whinchat-3", plate=plate.changed(screws=screws.changed(second=screws.first)))
        by_id = {hole.id: hole for hole in solved.holes}
        plates, spare = draw(solved)[2:]
        assert {hole.id[0] for hole in plates.holes if hole.id[1].isdigit() and hole.id[0] != "a"} == sides
        # Strip: centres 45 right of the middle and as far apart as on the floor; u = y, v = -x from a plate's centre.
        for solved_plate in solved.plates:
            x, y = solved_plate.centre
            across = [h.at[0] - (by_id[h.id].at[1] - y) for h in plates.holes if h.id.startswith(f"{solved_plate.id}a")]
            along = [h.at[1] + (by_id[h.id].at[0] - x) for h in plates.holes if h.id.startswith(f"{solved_plate.id}a")]
            if solved_plate.side.value == "P":
                assert across == pytest.approx([45.0] * 3)
            assert along == pytest.approx([2230.0 - x] * len(along))
        # Loose plate and paper of port: centres at -45 and 45.
        port = next(drawn for drawn in solved.plates if drawn.id == "P1")
        for n in (1, 2, 3):
            x, y = (c - d for c, d in zip(by_id[f"P1b{n}"].at, port.centre, strict=True))
            names = [f"b{n}", f"Fb{n}"] if place_or_none(spare, f"b{n}") else [f"Pb{n}", f"FPb{n}"]
            assert place(spare, names[0]) == pytest.approx((-45.0 + y, -x))
            assert place(spare, names[1]) == pytest.approx((45.0 + y, -x))


def place_or_none(drawing: Drawing, ident: str) -> tuple[float, float] | None:
    return next((hole.at for hole in drawing.holes if hole.id == ident), None)


def test_aft_on_the_plank_is_down_the_sheet() -> None:
    description = boat("whinchat-3").description
    eye = Fitting(name="eye", on=Surface.PLANK, at=(20.0, 300.0), pattern=Pattern(points=((0.0, 0.0),)), drill=6.0)
    plank = draw(solve(description.changed(fittings=(eye,))))[1]
    assert place(plank, "A1") == (300.0, -20.0)


@every_sheet
def test_sight_windows_open_on_bare_wood(name: str, sheet: str) -> None:
    drawing = sheets(name)[sheet]
    windows = [m for m in drawing.marks if isinstance(m, Polyline) and m.group is Group.SIGHT and not m.filled]
    others = [m for m in drawing.marks if m.group not in (Group.SIGHT, Group.CENTRELINE) and not isinstance(m, Text)]
    assert bool(windows) == (sheet in ("floor", "plank"))
    for window in windows:
        assert not any(Polygon(window.points).distance(shape(mark)) < 1.0 for mark in others)


def test_a_boat_without_plates_has_two_sheets_and_the_same_holes() -> None:
    bare = draw(changed("whinchat-3", plate=None))
    assert [drawing.name for drawing in bare] == ["floor", "plank"]
    assert place(bare[0], "P3") == pytest.approx((-215.0, -2340.0))
    assert not any(mark.group is Group.PLATE for mark in bare[0].marks)


def test_many_holes_all_keep_a_readable_id() -> None:
    description = boat("whinchat-3").description
    grid = tuple((i * 12.0, j * 12.0) for i in range(16) for j in range(16))
    many = Fitting(name="net", on=Surface.FLOOR, at=(1800.0, 40.0), pattern=Pattern(points=grid), drill=5.0)
    circle = Pattern(circle=HoleCircle(diameter=60.0, count=24))
    ring = Fitting(name="ring", on=Surface.FLOOR, at=(1700.0, 0.0), pattern=circle, drill=4.0)
    drawing = draw(solve(description.changed(fittings=(many, ring))))[0]
    labels = {mark.id: mark for mark in drawing.marks if isinstance(mark, Text) and mark.id}
    assert set(labels) == {hole.id for hole in drawing.holes}
    assert len(labels) == 6 + 24 + 24 + 256 + 24
    areas = [ink(mark) for mark in labels.values()]
    assert all(mark.size >= 2.2 for mark in labels.values())
    circles = [shape(mark) for mark in drawing.marks if isinstance(mark, Circle)]
    for mark in drawing.marks:
        if isinstance(mark, Polyline) and mark.group is Group.SIGHT:  # windows and their arrowheads
            assert not any(shape(mark).intersects(circle) for circle in circles)
    for number, area in enumerate(areas):
        assert not any(area.intersects(other) for other in areas[number + 1 :])
        assert not any(area.intersects(circle) for circle in circles)


def test_the_same_boat_gives_the_same_drawings() -> None:
    assert draw(boat("whinchat-3"), warnings=("one", "two")) == tuple(sheets("whinchat-3").values())


def test_labels_of_screws_stand_on_one_side() -> None:
    floor = sheets("whinchat-3")["floor"]
    sides = {
        (round(mark.at[0] - place(floor, mark.id)[0], 2), round(mark.at[1] - place(floor, mark.id)[1], 2))
        for mark in floor.marks
        if isinstance(mark, Text) and mark.id.startswith(("P1a", "S2a"))
    }
    assert len(sides) == 1
