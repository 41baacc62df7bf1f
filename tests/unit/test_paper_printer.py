"""Printer test page, profile and correction."""

import math
from itertools import pairwise

import pytest
from paper_scenes import printer_profile

from templater.drawing.marks import Anchor, Arc, Circle, Curve, Group, Line, Pen, Polyline, Text, mark_box
from templater.findings import ReadingsError
from templater.paper.placing import correct, matrix
from templater.paper.printer import printer_bars, printer_page, profile_from_readings
from templater.paper.tiles import Correction, find_paper
from templater.plane.shapes import Affine, box_within, boxes_overlap, clip_segment

A4 = find_paper("A4")


def printed(across: float, along: float, skew: float) -> dict[str, list[float]]:
    """Return what a printer with these faults makes of the bars: (x, y) becomes (across x + skew y, along y)."""
    found = {}
    for bar in printer_bars(A4, 7.0):
        dx, dy = bar.b[0] - bar.a[0], bar.b[1] - bar.a[1]
        found[bar.id] = [math.hypot(across * dx + skew * dy, along * dy)]
    # A bar along the paper is read to its ends whichever way it leans: hypot is what the rule shows.
    return found


@pytest.mark.parametrize(
    ("across", "along", "skew"), [(1.0, 1.0, 0.0), (1.004, 0.996, 0.0), (0.998, 1.003, 0.002), (1.0, 1.0, -0.003)]
)
@pytest.mark.parametrize("bars", ["both", "rising", "falling"])
def test_a_faulty_printer_is_found_out(across: float, along: float, skew: float, bars: str) -> None:
    readings = {
        k: v for k, v in printed(across, along, skew).items() if bars == "both" or k in ("across", "along", bars)
    }
    profile = profile_from_readings("shed", A4, 7.0, readings)
    assert profile.across == pytest.approx(across, abs=1e-9)
    assert profile.along == pytest.approx(along, abs=1e-5)
    assert profile.skew == pytest.approx(skew, abs=2e-5)


def test_printed_with_its_correction_a_page_is_true() -> None:
    drawn = matrix(printer_profile("shed", 1.004, 0.997, 0.002).correction(), (210.0, 297.0))
    printer = Affine(1.004, 0.0, 0.002, 0.997)
    a, b = (drawn.compose(printer).apply(point) for point in ((20.0, 30.0), (180.0, 250.0)))
    assert (b[0] - a[0], b[1] - a[1]) == pytest.approx((160.0, 220.0), abs=1e-9)


def test_repeats_give_the_uncertainty() -> None:
    """Mean and standard deviation of the mean, JCGM 100:2008, 4.2.3, worked by hand: s = 0.3, u = 0.3 / sqrt 3."""
    readings = {"across": [179.9, 180.2, 180.5], "along": [267.0]}
    profile = profile_from_readings("shed", A4, 7.0, readings)
    assert profile.across == pytest.approx(180.2 / 180)
    assert profile.u_across == pytest.approx(0.3 / math.sqrt(3) / 180)
    assert profile.u_along == pytest.approx(0.2 / 267)
    assert (profile.skew, profile.u_skew, profile.readings) == (0.0, 0.0, 4)


def test_readings_all_alike_are_known_no_better_than_the_rule_is_read() -> None:
    profile = profile_from_readings("shed", A4, 7.0, {"across": [180.2] * 5, "along": [267.0] * 3})
    assert profile.u_across == pytest.approx(0.1 / 180)  # a steel rule is read to 0.1 mm: common practice, no source
    assert profile.u_along == pytest.approx(0.1 / 267)


def test_the_bars_of_a_sheet_serve_as_well_as_those_of_the_test_page() -> None:
    profile = profile_from_readings(
        "shed", A4, 7.0, {"across": [98.5], "along": [201.0]}, {"across": 100.0, "along": 200.0}
    )
    assert (profile.across, profile.along) == pytest.approx((0.985, 1.005))
    assert profile.correction()[1:3] == pytest.approx((1 / 0.985, 1 / 1.005))
    with pytest.raises(ReadingsError):
        profile_from_readings("shed", A4, 7.0, {"across": [98.5], "along": [201.0]})


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        ({"across": [180.0]}, "T101"),
        ({"across": [180.0], "along": [267.0], "up": [10.0]}, "T101"),
        ({"across": [174.0], "along": [267.0]}, "T102"),
        ({"across": [180.0], "along": [float("nan")]}, "T102"),
        ({"across": [], "along": [267.0]}, "T101"),
    ],
)
def test_bad_readings_are_refused(readings: dict[str, list[float]], code: str) -> None:
    with pytest.raises(ReadingsError) as caught:
        profile_from_readings("shed", A4, 7.0, readings)
    assert [finding.code for finding in caught.value.findings] == [code]


@pytest.mark.parametrize("paper", ["A4", "Letter", "A0", "297 roll", "36 in roll", "140 x 297", "170 x 240"])
def test_the_test_page_carries_true_bars_and_clear_words(paper: str) -> None:
    page = printer_page(find_paper(paper), 7.0)
    printable = (7.0, 7.0, page.paper[0] - 7.0, page.paper[1] - 7.0)
    for bar in page.bars:
        assert math.dist(bar.a, bar.b) == pytest.approx(bar.length, abs=1e-9)
        assert bar.length == int(bar.length)
        assert any(isinstance(m, Text) and f"{bar.id} {bar.length:.0f} mm" in m.text for m in page.marks)
    across, along, rising, _ = page.bars
    assert across.length > page.paper[0] - 35
    assert along.length > page.paper[1] - 35
    assert rising.length > math.hypot(*page.paper) - 75
    boxes = [mark_box(m) for m in page.marks if isinstance(m, Polyline)]
    assert len(boxes) >= 4
    for bar in page.bars:
        assert not any(clip_segment(bar.a, bar.b, box) for box in boxes), bar.id
    texts = [m for m in page.marks if isinstance(m, Text)]
    assert all(box_within(mark_box(m), printable) for m in page.marks)
    notes = [text for text in texts if text.anchor is Anchor.MIDDLE and text.group is Group.NOTE]
    sizes = [text.size for text in notes if text.at[1] > page.paper[1] / 2]
    # Letters of 2.2 mm are still read at arm's length, larger ones are better: common practice, no source.
    assert (sizes[0], {*sizes[1:]}) == (4.0, {2.6}) or (page.paper[0] < 200 and min(sizes) >= 2.2)
    for n, text in enumerate(texts):
        assert not any(boxes_overlap(mark_box(text), mark_box(other)) for other in texts[n + 1 :])
        for line in (m for m in page.marks if isinstance(m, Line)):
            assert not crosses(line, mark_box(text)), text.text


def crosses(line: Line, box: tuple[float, float, float, float]) -> bool:
    steps = 2000
    for n in range(steps + 1):
        x = line.a[0] + (line.b[0] - line.a[0]) * n / steps
        y = line.a[1] + (line.b[1] - line.a[1]) * n / steps
        if box[0] < x < box[2] and box[1] < y < box[3]:
            return True
    return False


def test_a_corrected_circle_is_the_ellipse_it_should_be() -> None:
    affine = matrix(Correction("shed", 1.02, 0.98, 0.01), (210.0, 297.0))
    (curve,) = correct([Circle((60.0, 80.0), 40.0, Pen.WIDE, Group.HOLE, "P1")], affine)
    assert isinstance(curve, Curve)
    assert curve.id == "P1"
    start = curve.start
    for b, c, d in curve.pieces:
        for n in range(21):
            t = n / 20
            w = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            x, y = (sum(w[k] * p[axis] for k, p in enumerate((start, b, c, d))) for axis in (0, 1))
            # Back through the inverse, every point lies on the circle.
            v = (y - affine[5]) / 0.98
            u = (x - affine[4] - 0.01 * v) / 1.02
            assert math.hypot(u - 60.0, v - 80.0) == pytest.approx(20.0, abs=1e-4)
        start = d
    assert start == pytest.approx(curve.start)


@pytest.mark.parametrize(("start", "end"), [(-100.0, -10.0), (20.0, 380.0), (179.0, 181.0)])
def test_a_corrected_arc_keeps_to_the_ellipse_from_end_to_end(start: float, end: float) -> None:
    affine = matrix(Correction("shed", 1.02, 0.98, 0.01), (210.0, 297.0))
    (line,) = correct([Arc((60.0, 80.0), 40.0, start, end, Pen.WIDE, Group.OUTLINE, "ring")], affine)
    assert isinstance(line, Polyline)
    assert (line.closed, line.pen, line.id) == (False, Pen.WIDE, "ring")
    back = [((x - affine[4] - 0.01 * (y - affine[5]) / 0.98) / 1.02, (y - affine[5]) / 0.98) for x, y in line.points]
    for (u, v), angle in zip((back[0], back[-1]), (start, end), strict=True):
        there = (60.0 + 40.0 * math.cos(math.radians(angle)), 80.0 + 40.0 * math.sin(math.radians(angle)))
        assert (u, v) == pytest.approx(there, abs=1e-9)
    for (u0, v0), (u1, v1) in pairwise(back):
        assert math.hypot((u0 + u1) / 2 - 60.0, (v0 + v1) / 2 - 80.0) == pytest.approx(40.0, abs=0.01)


def test_text_is_only_moved() -> None:
    affine = matrix(Correction("shed", 1.02, 0.98, 0.0), (200.0, 300.0))
    (text,) = correct([Text((0.0, 0.0), "P1", 3.0, Group.LABEL)], affine)
    assert isinstance(text, Text)
    assert text.at == pytest.approx((-2.0, 3.0))
    assert text.size == 3.0


def test_pairs_of_nominal_lengths_are_kept() -> None:
    profile = profile_from_readings("shed", A4, 7.0, printed(1, 1, 0))
    lengths = dict(profile.nominal.items())
    assert list(lengths) == ["across", "along", "rising", "falling"]
    assert all(a != b for a, b in pairwise(lengths.values())) or lengths["rising"] == lengths["falling"]
