"""Proof of pages made by hand: what is true passes, and every way of being false is found and named."""

import math

import pytest
from proof_pages import POINT, TRUE, Made, manifest, pdf

from templater.findings import Finding, ProofError
from templater.proof.marks import CURVE, LINE, Mark, Path, wanted_marks
from templater.proof.match import LIMIT, Matched, deviation
from templater.proof.prove import prove
from templater.proof.report import Deviation, ProofReport, SheetProof, told


def proof(made: Made = TRUE) -> ProofReport:
    return prove({"floor.pdf": pdf(made)}, manifest(made))


def lines(report: ProofReport) -> str:
    return "\n".join(finding.line() for finding in report.findings)


def test_true_pages_pass_and_every_mark_is_counted() -> None:
    report = proof()
    assert report.findings == ()
    assert report.passed
    (sheet,) = report.sheets
    # By hand: six holes of a circle and two arms, one of them on both pages, one of four sides and two arms; a page has
    # two bars of a line and two ticks, and two registration marks of a circle and two arms.
    assert (sheet.pages, sheet.marks) == (2, 7 * 3 + 6 + 2 * (2 * 3 + 2 * 3))
    assert sheet.letters == 2 * len("templater0.1.0\xb7floor1-1\xb7page1of2\xb777ab0c12forward")
    assert report.worst.deviation < 1e-4


@pytest.mark.parametrize("correction", [(1.004, 0.997, 0.0), (0.99, 1.01, 0.003), (1.0, 1.0, -0.002)])
def test_a_printer_correction_is_undone(correction: tuple[float, float, float]) -> None:
    report = proof(Made(correction=correction))
    assert report.findings == ()
    assert report.worst.deviation < 1e-3


@pytest.mark.parametrize(
    ("across", "along", "true"),
    [(1.00008, 1.0, True), (1.0, 0.99994, True), (0.9999, 1.0, False), (1.0, 1.00008, False)],
)
def test_a_page_is_scaled_when_its_own_width_or_height_is_off_by_the_limit(
    across: float, along: float, true: bool
) -> None:
    # By hand, A4: 0.00008 x 210 = 0.017 mm and 0.00006 x 297 = 0.018 mm pass; 0.021 mm and 0.024 mm do not. No mark is
    # off by more than half of that.
    report = prove({"floor.pdf": pdf(Made(correction=(across, along, 0.0)))}, manifest())
    assert [finding.code for finding in report.findings] == ([] if true else ["Q130"])


def test_pages_of_another_correction_than_the_manifest_fail() -> None:
    assert not prove({"floor.pdf": pdf(Made(correction=(1.001, 1.0, 0.0)))}, manifest()).passed


@pytest.mark.parametrize("hole", ["P1", "P1-a", "P1-b", "block base 1"])
@pytest.mark.parametrize("by", [0.1, 0.025])
def test_a_hole_nudged_is_named_with_how_far_it_is_off(hole: str, by: float) -> None:
    report = proof(Made(nudge={hole: (0.0, by)}))
    assert not report.passed
    assert report.worst.deviation == pytest.approx(by, abs=0.002)
    assert f"{hole} is off by {by:.3f} mm" in lines(report)
    assert all(hole in finding.text for finding in report.findings)


def test_a_nudge_under_the_limit_passes_and_is_measured() -> None:
    report = proof(Made(nudge={"P1": (0.015, 0.0)}))
    assert report.passed
    assert report.worst.deviation == pytest.approx(0.015, abs=1e-4)
    assert "P1" in report.worst.mark


@pytest.mark.parametrize("hole", ["P1", "P1-b", "R1"])
def test_a_mark_left_out_is_named(hole: str) -> None:
    report = proof(Made(leave_out=(hole,)))
    assert hole in lines(report)
    assert {finding.code for finding in report.findings} == {"Q120"}


def test_a_bar_left_out_is_named() -> None:
    report = proof(Made(leave_out=("along",)))
    assert "bar along is missing" in lines(report)
    assert {finding.code for finding in report.findings} == {"Q120"}


@pytest.mark.parametrize("points", [72.27 / 25.4, 72 / 25.39, 96 / 25.4])
def test_wrong_points_in_an_inch_fail(points: float) -> None:
    report = proof(Made(points_per_mm=points))
    assert not report.passed
    assert "Q113" in lines(report)
    assert "Q12" in lines(report)


def test_a_seam_shifted_fails_on_every_mark_of_the_page() -> None:
    report = proof(Made(shift={"1-2": (0.05, 0.0)}))
    assert not report.passed
    text = lines(report)
    assert "S1 is off by 0.050 mm (+0.050 across" in text
    assert "more like it" in text
    assert "hole P1 " not in text


@pytest.mark.parametrize("count", [1, 6, 7, 9])
def test_of_many_faults_of_a_kind_six_are_named_and_the_rest_are_counted(count: int) -> None:
    found = Matched()
    found.missing = [Mark(LINE, ((n, 0.0), (n, 1.0)), what=f"plate P{n}") for n in range(count)]
    texts = [finding.text for finding in told(found, found.missing, "floor.pdf page 1")]
    assert [text.partition(",")[0] for text in texts] == [f"plate P{n} is missing" for n in range(min(count, 6))]
    assert texts[-1].partition(", ")[2] == (f"and {count - 6} more like it" if count > 6 else "")


@pytest.mark.parametrize("index", [0, 3, 4, 5])
def test_a_wrong_sign_in_the_map_to_the_page_fails(index: int) -> None:
    wrong = manifest()
    wrong["sheets"][0]["pages"][1]["to_page"][index] *= -1
    with pytest.raises(ProofError, match=r"to_page: is no quarter turn|contradicts itself: hole S1"):
        prove({"floor.pdf": pdf()}, wrong)


def test_a_manifest_with_a_hole_elsewhere_fails() -> None:
    wrong = manifest()
    wrong["sheets"][0]["holes"][0]["x"] += 0.03
    with pytest.raises(ProofError, match="contradicts itself: hole P1"):
        prove({"floor.pdf": pdf()}, wrong)


def test_a_hole_that_no_page_shows_is_named() -> None:
    wrong = manifest()
    wrong["sheets"][0]["holes"].append({"id": "P9", "x": 400.0, "y": 60.0, "diameter": 5.0, "kind": "bolt"})
    with pytest.raises(ProofError, match="has P9, which is on none of the pages"):
        prove({"floor.pdf": pdf()}, wrong)


def test_a_circle_of_another_size_is_named() -> None:
    wrong = manifest()
    wrong["sheets"][0]["holes"][6]["diameter"] = 5.5
    with pytest.raises(ProofError, match="contradicts itself: hole block base 1"):
        prove({"floor.pdf": pdf()}, wrong)


@pytest.mark.parametrize(
    ("numbers", "wrong"),
    [
        # A circle of 5 mm at its place on the page is wanted; an oval, a larger one, one to the side are drawn instead.
        ((190, 133, 5), "out of round"),
        ((190, 133, 5.03), "size"),
        ((190.021, 133, 5), "place"),
    ],
)
def test_size_place_and_roundness_of_a_circle_decide(numbers: tuple[float, ...], wrong: str) -> None:
    # Quarter circles of radius r by Bezier pieces stand off the circle by 2.7e-4 r at most: a textbook value.
    (circle,) = wanted_marks([["circle", "01.1", numbers, "holes", "block base 1"]])
    h = 4 / 3 * (math.sqrt(2) - 1)
    at = [(1, 0), (1, h), (h, 1), (0, 1), (-h, 1), (-1, h), (-1, 0)]
    at += [(-1, -h), (-h, -1), (0, -1), (h, -1), (1, -h), (1, 0)]

    def oval(rx: float) -> Path:
        path, points = Path(), [(190 + rx * u, 133 + 2.5 * v) for u, v in at]
        path.add(b"m", points[:1])
        for n in range(1, 13, 3):
            path.add(b"c", points[n : n + 3])
        return path

    (found,) = oval(2.5 + (0.03 if wrong == "out of round" else 0.0)).strokes(circle.look)
    assert deviation(circle, found) > LIMIT
    (true,) = oval(2.5).strokes(circle.look)
    (wanted,) = wanted_marks([["circle", "01.1", [190, 133, 5], "holes", "block base 1"]])
    assert deviation(wanted, true) < 0.001


def test_the_other_part_of_a_circle_between_the_same_ends_is_another_arc() -> None:
    short, long = wanted_marks(["arc", "01.1", [0, 0, 10, *angles], "plates", ""] for angles in ((0, 90), (90, 360)))
    assert deviation(short, short._replace(points=short.points[::-1])) < 1e-9
    assert deviation(short, long) == math.inf


def test_an_outline_is_the_same_from_any_corner_and_either_way_round() -> None:
    corners = ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (5.0, 30.0), (0.0, 20.0))
    outline = Mark(CURVE, corners, closed=True)
    for start in range(5):
        turned = (*corners[start:], *corners[:start])
        for points in (turned, turned[::-1]):
            assert deviation(outline, outline._replace(points=points)) == 0
            off = tuple((x, y + 0.3 * (x > 30 and y > 20)) for x, y in points)
            assert deviation(outline, outline._replace(points=off)) == pytest.approx(0.3)
    crossed = (corners[0], corners[2], corners[1], *corners[3:])
    assert deviation(outline, outline._replace(points=crossed)) > 10


@pytest.mark.parametrize("words", ["forward.", "forwrad", "aft", ""])
def test_other_words_than_the_drawing_s_are_named(words: str) -> None:
    report = proof(Made(words=words))
    assert not report.passed
    assert "text 'forward'" in lines(report) or "words '.'" in lines(report)


def test_a_page_of_another_description_is_named() -> None:
    report = proof(Made(stamp={2: "3f2a91c0"}))
    assert "floor.pdf page 2: belongs to another revision (3f2a91c0, expected 77ab0c12)" in lines(report)


def test_pages_missing_swapped_or_without_identity_fail() -> None:
    assert "page 2 missing (floor 1-2)" in lines(proof(Made(pages=("1-1",))))
    assert "page 3: is floor 1-2 once more" in lines(proof(Made(pages=("1-1", "1-2", "1-2"))))
    assert "floor.pdf page 1: says it is floor 1-2" in lines(proof(Made(pages=("1-2", "1-1"))))
    assert "not one of the sheets: no page says which tile it is" not in lines(proof(Made(identity=False)))
    assert "so that it was not read" in lines(proof(Made(identity=False)))


def test_a_missing_file_is_named() -> None:
    report = prove({}, manifest())
    assert [finding.line() for finding in report.findings] == ["floor.pdf: is missing [Q102]"]


def test_a_damaged_file_is_named_and_reader_warnings_are_faults() -> None:
    data = pdf()
    report = prove({"floor.pdf": b"no PDF at all"}, manifest())
    assert "Q103" in lines(report)
    place = data.rindex(b"startxref") + 10
    end = data.index(b"\n", place)
    shifted = data[:place] + str(int(data[place:end]) + 2).encode() + data[end:]
    assert "Q105" in lines(prove({"floor.pdf": shifted}, manifest()))


def test_the_report_is_ready_for_json() -> None:
    report = proof(Made(nudge={"P1": (0.1, 0.0)}))
    assert report.worst_text.startswith("0.1000")
    plain = report.data()
    assert plain["passed"] is False
    assert plain["sheets"][0]["worst"] == {
        "deviation": pytest.approx(0.1, abs=1e-4),
        "mark": "hole P1",
        "place": "floor.pdf page 1",
    }


def test_a_report_says_in_one_line_what_decides() -> None:
    near, far = (SheetProof("floor", Deviation(off, "hole P1", "floor.pdf page 1")) for off in (0.0123456789, 0.03))
    scaled = far._replace(name="plank", sized=False)
    faults = [Finding("Q120", "floor.pdf page 2", f"hole P{n} is missing") for n in (1, 2, 3)]
    verdicts = [ProofReport(sheets, tuple(found)).verdict for sheets, found in (
        ((near,), []), ((far, near), faults), ((near, scaled), faults[:1]), ((near,), faults[:2]), ((near,), faults),
    )]  # fmt: skip
    assert verdicts == [
        "true: worst deviation 0.01235 mm, 0.02 mm allowed",
        "NOT TRUE: worst deviation 0.03000 mm, 0.02 mm allowed",
        "NOT TRUE: floor.pdf page 2: hole P1 is missing",
        "NOT TRUE: floor.pdf page 2: hole P1 is missing, and 1 more error",
        "NOT TRUE: floor.pdf page 2: hole P1 is missing, and 2 more errors",
    ]
    both = ProofReport.of([ProofReport((scaled,), ()), ProofReport((near,), ())])
    assert both.data()["worst_deviation"] == 0.012346
    assert ProofReport((scaled,), ()).data()["worst_deviation"] is None


def test_the_pages_of_these_tests_are_drawn_at_full_size() -> None:
    # An A4 page is 595.2756 points wide: ISO 216 and ISO 32000-1:2008, 8.3.2.3.
    assert math.isclose(210 * POINT, 595.2756, abs_tol=5e-5)
