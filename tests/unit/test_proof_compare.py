"""Proof of pages made by hand: what is true passes, and every way of being false is found and named."""

import math

import pytest
from proof_pages import POINT, TRUE, Made, manifest, pdf

from templater.proof import ProofReport, prove, report_dict, report_rows


def proof(made: Made = TRUE) -> ProofReport:
    return prove({"floor.pdf": pdf(made)}, manifest(made))


def lines(report: ProofReport) -> str:
    return "\n".join(finding.line() for finding in report.findings)


def test_true_pages_pass_and_every_mark_is_counted() -> None:
    report = proof()
    assert report.findings == ()
    assert report.passed
    (sheet,) = report.sheets
    # By hand: five holes, each whole on one tile alone, one screw of each set; on each page two bars, two marks.
    assert (sheet.pages, sheet.holes, sheet.screws, sheet.bars, sheet.registrations) == (2, 5, 2, 4, 4)
    assert report.worst < 1e-4


@pytest.mark.parametrize("correction", [(1.004, 0.997, 0.0), (0.99, 1.01, 0.003), (1.0, 1.0, -0.002)])
def test_a_printer_correction_is_undone(correction: tuple[float, float, float]) -> None:
    report = proof(Made(correction=correction))
    assert report.findings == ()
    assert report.worst < 1e-3


def test_pages_of_another_correction_than_the_manifest_fail() -> None:
    assert not prove({"floor.pdf": pdf(Made(correction=(1.001, 1.0, 0.0)))}, manifest()).passed


@pytest.mark.parametrize("hole", ["P1", "P1-a", "P1-b", "block base 1"])
@pytest.mark.parametrize("by", [0.1, 0.025])
def test_a_hole_nudged_is_named_with_how_far_it_is_off(hole: str, by: float) -> None:
    report = proof(Made(nudge={hole: (0.0, by)}))
    assert not report.passed
    assert report.worst == pytest.approx(by, abs=0.002)
    assert f"{hole} is off by {by:.3f} mm" in lines(report)
    assert all(hole in finding.text for finding in report.findings)


def test_a_nudge_under_the_limit_passes_and_is_measured() -> None:
    report = proof(Made(nudge={"P1": (0.015, 0.0)}))
    assert report.passed
    assert report.worst == pytest.approx(0.015, abs=1e-4)
    assert "P1" in report.worst_of_all.what


@pytest.mark.parametrize("hole", ["P1", "P1-b", "R1"])
def test_a_mark_left_out_is_named(hole: str) -> None:
    report = proof(Made(leave_out=(hole,)))
    assert hole in lines(report)
    assert {finding.code for finding in report.findings} <= {"Q120", "Q124"}


def test_a_bar_left_out_is_named() -> None:
    report = proof(Made(leave_out=("along",)))
    assert [finding.code for finding in report.findings] == ["Q123", "Q123"]
    assert "bar along" in lines(report)


@pytest.mark.parametrize("points", [72.27 / 25.4, 72 / 25.39, 96 / 25.4])
def test_wrong_points_in_an_inch_fail(points: float) -> None:
    report = proof(Made(points_per_mm=points))
    assert not report.passed
    assert "Q113" in lines(report)
    assert "bar" in lines(report)


def test_a_seam_shifted_fails_on_every_mark_of_the_page_and_where_tiles_meet() -> None:
    report = proof(Made(shift={"A2": (0.05, 0.0)}))
    assert not report.passed
    text = lines(report)
    assert "S1 is off by 0.050 mm (+0.050 across" in text
    assert "tiles A1 and A2 miss one another by 0.050 mm" in text
    assert "hole P1 " not in text


@pytest.mark.parametrize("index", [0, 3, 4, 5])
def test_a_wrong_sign_in_the_map_to_the_page_fails(index: int) -> None:
    wrong = manifest()
    wrong["sheets"][0]["pages"][1]["to_page"][index] *= -1
    if index in (0, 3):
        with pytest.raises(Exception, match="to_page: is no quarter turn"):
            prove({"floor.pdf": pdf()}, wrong)
    else:
        assert not prove({"floor.pdf": pdf()}, wrong).passed


def test_a_manifest_with_a_hole_elsewhere_fails() -> None:
    wrong = manifest()
    wrong["sheets"][0]["holes"][0]["x"] += 0.03
    report = prove({"floor.pdf": pdf()}, wrong)
    assert "hole P1 is off by 0.030 mm" in lines(report)


def test_a_hole_that_no_page_shows_is_named() -> None:
    wrong = manifest()
    wrong["sheets"][0]["holes"].append({"id": "P9", "x": 400.0, "y": 60.0, "diameter": 5.0, "kind": "bolt"})
    assert lines(prove({"floor.pdf": pdf()}, wrong)) == "floor: hole P9 is on none of the pages [Q120]"


@pytest.mark.parametrize(("hole", "edge"), [("P1", 35.0), ("P1-b", 54.0)])
def test_a_hole_that_the_edge_of_its_window_cuts_is_compared_too(hole: str, edge: float) -> None:
    cut = manifest()
    cut["sheets"][0]["pages"][0]["window"][0] = edge
    for page in cut["sheets"][0]["pages"]:
        page["holes"] = [hole] if page["tile"] == "A1" else ["S1", "S2"]
    assert not any(hole + " " in f.text for f in prove({"floor.pdf": pdf()}, cut).findings)
    nudged = prove({"floor.pdf": pdf(Made(nudge={hole: (0.0, 0.1)}))}, cut)
    assert f"{hole} is off by 0.100 mm" in lines(nudged)


def test_a_circle_of_another_size_is_named() -> None:
    wrong = manifest()
    wrong["sheets"][0]["holes"][6]["diameter"] = 5.5
    report = prove({"floor.pdf": pdf()}, wrong)
    assert "the circle of hole block base 1 measures 5.000 mm, expected 5.5" in lines(report)


def test_a_page_of_another_description_is_named() -> None:
    report = proof(Made(stamp={2: "3f2a91c0"}))
    named = "floor.pdf page 2 (A2): the page belongs to another description (3f2a91c0, expected 77ab0c12)"
    assert named in lines(report)


def test_pages_missing_swapped_or_without_identity_fail() -> None:
    assert "page 2 (floor A2) is missing" in lines(proof(Made(pages=("A1",))))
    assert "page 3 is one too many" in lines(proof(Made(pages=("A1", "A2", "A2"))))
    swapped = lines(proof(Made(pages=("A2", "A1"))))
    assert "floor.pdf page 1 (A1): the page says it is floor A2" in swapped
    assert "does not say which tile it is" in lines(proof(Made(identity=False)))


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


def test_the_report_is_ready_for_tables_and_json() -> None:
    report = proof(Made(nudge={"P1": (0.1, 0.0)}))
    heading, row = report_rows(report)
    assert len(heading) == len(row)
    assert row[0] == "floor"
    assert row[6] == "0.10000"
    plain = report_dict(report)
    assert plain["passed"] is False
    assert plain["sheets"][0]["worst"] == {  # type: ignore[index]
        "deviation": pytest.approx(0.1, abs=1e-5),
        "mark": "cross of hole P1",
        "place": "floor.pdf page 1 (A1)",
    }


def test_the_pages_of_these_tests_are_drawn_at_full_size() -> None:
    # An A4 page is 595.2756 points wide: ISO 216 and ISO 32000-1:2008, 8.3.2.3.
    assert math.isclose(210 * POINT, 595.2756, abs_tol=5e-5)
