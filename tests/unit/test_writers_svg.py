"""The SVG writer, read back by an XML parser and by svgelements, and held against SVG 1.1 by a validator."""

import io
import math
import xml.etree.ElementTree as ET

import pytest
import svgelements
from svg_rules import hold_against_svg_1_1

from templater.drawing.marks import (
    PATTERNS,
    Anchor,
    Arc,
    Circle,
    Cross,
    Curve,
    Drawing,
    Group,
    Line,
    Mark,
    Pen,
    Polyline,
    Text,
)
from templater.findings import DrawingError
from templater.paper.tiles import TitleData
from templater.writers.svg import BORDER, number, write_svg

TITLE = TitleData("Whinchat 3", "B", "", "", "", "", "", "ab" * 32, "0.1.0")
NS = {"svg": "http://www.w3.org/2000/svg"}
#: CSS reference pixels in a mm. Source: W3C CSS Values and Units Level 3, 6.2: 96 to the inch, 2.54 cm to the inch.
PIXEL = 96 / 25.4
#: In the frame of a sheet: u to starboard, v forward, so v is negative aft of the steering pivot axis.
MARKS: tuple[Mark, ...] = (
    Text((-215, -2280), 'P1 "8.5" <&> ⌀', 3.5, Group.LABEL, Anchor.END, turn=1, bold=True, id="P1"),
    Line((0, -1990), (0, -2440), Pen.CHAIN, Group.CENTRELINE, "centreline", phase=4.5),
    Cross((-215, -2285), 9, Group.HOLE, "P1"),
    Circle((-215, -2285), 18, Pen.WIDE, Group.HOLE, "P1"),
    Cross((215, -2285.123456), 9, Group.HOLE, "S1"),
    Circle((215, -2285.123456), 18, Pen.WIDE, Group.HOLE, "S1"),
    Arc((0, -2100), 40, 90, 180, Pen.NARROW, Group.OUTLINE),
    Arc((100, -2100), 12, 0, 360, Pen.NARROW, Group.OUTLINE, "round"),
    Polyline(((-325, -1980), (325, -1980), (300, -2450)), True, Pen.WIDE, Group.OUTLINE, "floor"),
    Polyline(((5, -2000), (10, -2000), (10, -2010)), True, Pen.WIDE, Group.NOTE, filled=True),
    Curve(
        (60, -2200),
        (((60, -2190), (40, -2190), (40, -2200)), ((40, -2210), (60, -2210), (60, -2200))),
        Pen.WIDE,
        Group.CUT,
    ),
)
DRAWING = Drawing("floor", "Cockpit floor", "upper", MARKS, (), (), (-325.0, -2450.0, 325.0, -1980.0))


def drawing(*marks: Mark) -> Drawing:
    return Drawing("floor", "Cockpit floor", "upper", marks, (), (), (0.0, 0.0, 100.0, 50.0))


def parsed(*marks: Mark) -> ET.Element:
    return ET.fromstring(write_svg(drawing(*marks), TITLE))


def in_pixels(svg: bytes) -> dict[str, svgelements.Shape]:
    """Return the shapes by id, in CSS pixels from the upper left corner."""
    sheet = svgelements.SVG.parse(io.BytesIO(svg), ppi=96, reify=True)
    return {shape.id: shape for shape in sheet.elements() if isinstance(shape, svgelements.Shape)}


def test_the_sheet_is_as_large_in_mm_as_its_view_box() -> None:
    root = ET.fromstring(write_svg(DRAWING, TITLE))
    assert (root.get("width"), root.get("height")) == ("654mm", "474mm")
    assert root.get("viewBox") == f"{-325 - BORDER:g} {1980 - BORDER:g} 654 474"


def test_holes_read_back_at_full_size() -> None:
    # A full-size sheet has 96 / 25.4 CSS pixels to the mm.
    shapes = in_pixels(write_svg(DRAWING, TITLE))
    for name, (u, v) in {"P1-circle": (-215, -2285), "S1-circle": (215, -2285.1235)}.items():
        circle = shapes[name]
        assert (circle.cx / PIXEL, circle.cy / PIXEL) == pytest.approx((u + 325 + BORDER, -v - 1980 + BORDER), abs=1e-3)
        assert (circle.implicit_rx * 2 / PIXEL, circle.implicit_ry * 2 / PIXEL) == pytest.approx((18, 18), abs=1e-3)
        left, top, right, foot = shapes[name.replace("circle", "cross")].bbox()
        assert ((left + right) / 2, (top + foot) / 2) == pytest.approx((circle.cx, circle.cy), abs=1e-3)
        assert ((right - left) / PIXEL, (foot - top) / PIXEL) == pytest.approx((18, 18), abs=1e-3)


def test_a_hundred_mm_are_377_95_css_pixels() -> None:
    # 100 mm = 377.95276 px at 96 px to the inch of 25.4 mm (W3C CSS Values and Units Level 3, 6.2).
    svg = write_svg(drawing(Line((0, 10), (100, 10), Pen.WIDE, Group.BAR, "bar")), TITLE)
    line = in_pixels(svg)["bar-line"]
    assert abs(line.x2 - line.x1) == pytest.approx(377.95276, abs=1e-3)


def test_every_element_is_valid_svg() -> None:
    hold_against_svg_1_1(write_svg(DRAWING, TITLE))


def test_groups_stand_in_a_fixed_order_and_hold_their_marks() -> None:
    root = ET.fromstring(write_svg(DRAWING, TITLE))
    groups = [group.get("id") for group in root.findall("svg:g", NS)]
    assert groups == ["holes", "outline", "centrelines", "labels", "notes", "cut"]
    holes = root.find("svg:g[@id='holes']", NS)
    assert holes is not None
    assert [mark.get("id") for mark in holes] == ["P1-cross", "P1-circle", "S1-cross", "S1-circle"]


def test_ids_are_unique_names() -> None:
    # XML 1.0, production 5: a name starts with a letter or an underscore and has no space or slash in it.
    at = (10.0, 10.0)
    names = ("A1", "A 1", "A/1", "7", "holes", "A1")
    root = parsed(*[Circle(at, 5, Pen.WIDE, Group.HOLE, name) for name in names])
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert ids == ["holes", "A1-circle", "A_1-circle", "A_1-circle-2", "_7-circle", "holes-circle", "A1-circle-2"]


def test_titles_and_letters_of_markup_survive() -> None:
    root = ET.fromstring(write_svg(DRAWING, TITLE))
    assert root.findtext("svg:title", namespaces=NS) == "Whinchat 3 - Cockpit floor"
    assert "ab" * 32 in (root.findtext("svg:desc", namespaces=NS) or "")
    assert root.findtext(".//svg:text", namespaces=NS) == 'P1 "8.5" <&> ⌀'


def test_pens_are_black_with_their_width_dashes_and_phase() -> None:
    root = parsed(*[Line((0, 0), (9, 0), pen, Group.OUTLINE, pen.name, phase=1.5) for pen in Pen])
    for line in root.findall(".//svg:line", NS):
        pen = Pen[str(line.get("id")).removesuffix("-line")]
        dashes = [float(length) for length in str(line.get("stroke-dasharray") or "").split(",") if length]
        assert tuple(dashes) == PATTERNS[pen]
        assert line.get("stroke-dashoffset") == ("1.5" if dashes else None)
        assert float(str(line.get("stroke-width"))) == (0.5 if pen.name.endswith("WIDE") else 0.25)
    colours = {element.get(key) for element in root.iter() for key in ("stroke", "fill") if element.get(key)}
    assert colours == {"black", "none"}
    assert root.find("svg:rect", NS) is None


@pytest.mark.parametrize("turn", [0, 1, 2, 3, 4, 5, -1])
def test_text_is_turned_anticlockwise_about_its_place(turn: int) -> None:
    text = parsed(Text((30, 20), "plank", 4, Group.NOTE, Anchor.MIDDLE, turn)).find(".//svg:text", NS)
    assert text is not None
    assert (text.get("x"), text.get("y"), text.get("text-anchor")) == ("30", "-20", "middle")
    # SVG 1.1, 7.6: rotate() is clockwise as seen, since y runs down.
    assert text.get("transform") == (f"rotate({-90 * (turn % 4)} 30 -20)" if turn % 4 else None)


def test_a_slot_is_two_straight_sides_and_two_half_circles_from_its_first_corner() -> None:
    slot = Polyline(((5, 2), (25, 2), (25, 12), (5, 12)), True, Pen.WIDE, Group.CUT, bulges=(0.0, 1.0, 0.0, 1.0))
    way = parsed(slot).find(".//svg:path", NS)
    assert way is not None
    path = svgelements.Path(way.get("d"))
    assert (path.first_point.x, path.first_point.y) == (5, -2)
    assert path.length() == pytest.approx(2 * 20 + 10 * math.pi, rel=1e-4)
    assert path.bbox() == pytest.approx((0, -12, 30, -2))


def test_arc_bulges_to_the_outer_side_and_a_whole_turn_is_a_circle() -> None:
    quarter, whole = (
        in_pixels(write_svg(drawing(Arc((50, 20), 10, 0, end, Pen.WIDE, Group.OUTLINE, "arc")), TITLE))["arc-arc"]
        for end in (90, 360)
    )
    edge = BORDER + 50  # y of v = 0: the border and the 50 mm of the box above it
    box = [side / PIXEL for side in quarter.bbox()]
    assert box == pytest.approx([50 + BORDER, edge - 30, 60 + BORDER, edge - 20], abs=1e-3)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        at = quarter.point(share)
        assert math.dist((at.x / PIXEL, at.y / PIXEL), (50 + BORDER, edge - 20)) == pytest.approx(10, abs=1e-3)
    box = [side / PIXEL for side in whole.bbox()]
    assert box == pytest.approx([40 + BORDER, edge - 30, 60 + BORDER, edge - 10], abs=1e-3)


def test_letters_that_the_typeface_lacks_are_refused() -> None:
    with pytest.raises(DrawingError) as caught:
        write_svg(drawing(Text((9, 9), "bad \u4e00", 3, Group.NOTE)), TITLE)
    assert [finding.code for finding in caught.value.findings] == ["S301"]
    assert "U+4E00" in str(caught.value)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (-0.00004, "0"), (100.0, "100"), (12.34567, "12.3457"), (-2285.1235, "-2285.1235"), (1e-3, "0.001")],
)
def test_numbers_have_four_decimals_at_most(value: float, text: str) -> None:
    assert number(value) == text


def test_same_drawing_same_bytes() -> None:
    assert write_svg(DRAWING, TITLE) == write_svg(DRAWING, TITLE)
