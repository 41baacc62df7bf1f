"""Pages that went through another program: what became of them is said in words, and told right."""

import io
import math
from collections.abc import Callable
from itertools import chain

import pikepdf
import pytest
from proof_pages import PAPER, POINT, SHA, TILES, TRUE, Made, manifest, marks, pdf
from pypdf import PageObject, PdfReader, PdfWriter, Transformation
from pypdf.generic import DecodedStreamObject, NameObject, RectangleObject
from reportlab.pdfgen.canvas import Canvas

from templater.findings import Severity
from templater.plane.shapes import Affine
from templater.proof.marks import LINE, Mark
from templater.proof.match import PageMap, find_map, least_squares
from templater.proof.prove import prove
from templater.proof.report import ProofReport


def diagnosis(data: bytes, made: Made = TRUE, name: str = "floor.pdf") -> ProofReport:
    return prove({name: data}, manifest(made), whole=False, as_written=False)


def lines(found: ProofReport) -> str:
    return "\n".join(finding.line() for finding in found.findings)


def edited(change: Callable[[PageObject], object], made: Made = TRUE) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf(made))))
    for page in writer.pages:
        change(page)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_pages_untouched_pass_without_a_word() -> None:
    found = diagnosis(pdf())
    assert found.findings == ()
    assert found.passed
    assert [(sheet.name, sheet.pages) for sheet in found.sheets] == [("floor", 2)]


@pytest.mark.parametrize("saved", ["pypdf", "object streams", "plain", "linearised"])
def test_files_saved_again_by_other_programs_pass(saved: str) -> None:
    out = io.BytesIO()
    if saved == "pypdf":
        out = io.BytesIO(edited(lambda page: page.compress_content_streams()))
    else:
        with pikepdf.open(io.BytesIO(pdf())) as document:
            mode = pikepdf.ObjectStreamMode
            streams = mode.generate if saved == "object streams" else mode.disable
            document.save(out, object_stream_mode=streams, compress_streams=saved != "plain",
                          linearize=saved == "linearised")  # fmt: skip
    assert diagnosis(out.getvalue()).findings == ()
    assert prove({"floor.pdf": out.getvalue()}, manifest()).passed


@pytest.mark.parametrize(("across", "along"), [(0.97, 0.97), (1.03, 1.03), (0.98, 1.01), (0.94, 0.94), (1.0, 0.995)])
def test_a_scale_is_told_to_a_tenth_of_a_per_cent(across: float, along: float) -> None:
    change = Transformation().scale(across, along).translate(5, 9)
    found = diagnosis(edited(lambda page: page.add_transformation(change)))
    assert not found.passed
    wanted = [f"{100 * value:.1f} %" if value != 1 else "100.0" for value in (across, along)]
    assert f"floor.pdf pages 1, 2: scaled to {wanted[0]}" in lines(found).replace("100.000 %", "100.0")
    assert f"{wanted[1]} along" in lines(found) or along == 1.0


def test_a_scale_that_puts_the_paper_off_by_a_hair_is_told_with_more_decimals() -> None:
    found = diagnosis(edited(lambda page: page.add_transformation(Transformation().scale(1.0002, 1.0002))))
    assert "scaled to 100.020 % across, 100.020 % along" in lines(found)


def test_one_tile_of_another_revision_is_named() -> None:
    found = diagnosis(pdf(Made(stamp={2: "3f2a91c0"})))
    assert not found.passed
    named = "floor.pdf page 2: belongs to another revision (3f2a91c0, expected 77ab0c12): floor 1-2"
    assert [finding.line() for finding in found.findings] == [f"{named} [Q112]"]


def test_a_hole_nudged_is_named_whatever_was_done_to_the_page() -> None:
    made = Made(nudge={"P1": (0.1, 0.0)})
    for data in (pdf(made), edited(lambda page: page.rotate(90), made), pdf(Made(nudge=made.nudge, scale=0.97))):
        found = diagnosis(data)
        assert not found.passed
        assert "hole P1 is off by 0.100 mm" in lines(found)
        assert "hole P2" not in lines(found)


def test_a_missing_page_is_named_and_pages_out_of_order_are_found() -> None:
    assert lines(diagnosis(pdf(Made(pages=("1-2",))))) == "floor.pdf: page 1 missing (floor 1-1) [Q110]"
    assert diagnosis(pdf(Made(pages=("1-2", "1-1"))), name="of a friend.pdf").findings == ()
    assert "page 2: is floor 1-1 once more" in lines(diagnosis(pdf(Made(pages=("1-1", "1-1")))))


def test_the_second_copy_of_a_page_is_compared_like_the_first() -> None:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf())))
    writer.append(io.BytesIO(pdf(Made(scale=0.97))))
    writer.append(io.BytesIO(pdf(Made(nudge={"S1": (0.1, 0.0)}))))
    out = io.BytesIO()
    writer.write(out)
    found = diagnosis(out.getvalue())
    assert not found.passed
    assert "floor.pdf pages 3, 4: scaled to 97.0 %" in lines(found)
    assert "floor.pdf page 6: hole S1 is off by 0.100 mm" in lines(found)


@pytest.mark.parametrize(
    ("degrees", "words"),
    [(90, "90 degrees clockwise"), (180, "180 degrees:"), (270, "90 degrees anticlockwise")],
)
def test_a_rotate_flag_is_told_and_no_fault(degrees: int, words: str) -> None:
    found = diagnosis(edited(lambda page: page.rotate(degrees)))
    assert found.passed
    assert f"pages 1, 2: pages rotated by {words}" in lines(found)
    assert {finding.severity for finding in found.findings} == {Severity.ADVICE}
    assert not prove({"floor.pdf": edited(lambda page: page.rotate(degrees))}, manifest()).passed


def test_pages_mirrored_or_sheared_are_faults() -> None:
    change = Transformation().scale(-1, 1).translate(PAPER[0] * POINT, 0)
    mirrored = diagnosis(edited(lambda page: page.add_transformation(change)))
    assert not mirrored.passed
    assert "mirrored: left and right are exchanged" in lines(mirrored)
    shear = math.tan(math.radians(0.1))
    sheared = diagnosis(edited(lambda page: page.add_transformation((1, 0, shear, 1, 0, 0))))
    assert not sheared.passed
    assert "sheared: corners are 0.10 degrees off a right angle" in lines(sheared)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (b".708661 w", b"1.417323 w", "is drawn 0.50 mm wide instead of 0.25"),
        (b".708661 w", b".708661 w [3] 0 d", "is drawn with another pattern or line end"),
    ],
)
def test_strokes_in_another_pen_are_told_by_what_is_wrong_with_it(before: bytes, after: bytes, said: str) -> None:
    def change(page: PageObject) -> None:
        data, stream = page.get_contents().get_data(), DecodedStreamObject()
        assert before in data
        stream.set_data(data.replace(before, after))
        page[NameObject("/Contents")] = stream

    found = diagnosis(edited(change))
    assert not found.passed
    assert said in lines(found)


def test_a_page_moved_on_its_paper_is_told_and_no_fault() -> None:
    found = diagnosis(pdf(Made(shift={"1-2": (-3.0, 1.0)})))
    assert found.passed
    assert "floor.pdf page 2: moved on the paper by -3.00 mm across, +1.00 mm along" in lines(found)


def test_a_page_is_moved_as_far_as_its_middle_is() -> None:
    # 0.0065 % larger about its middle, no more than 0.02 mm over the page, and moved by 5 and 3 mm. Points twice as far
    # from the corner as the page reaches would have gone 0.02 and 0.03 mm further.
    scale = 1.000065
    shift = [(by + side / 2 * (1 - scale)) * POINT for by, side in zip((5.0, 3.0), PAPER, strict=True)]
    change = Transformation().scale(scale).translate(*shift)
    found = diagnosis(edited(lambda page: page.add_transformation(change)))
    assert "moved on the paper by +5.00 mm across, +3.00 mm along" in lines(found)


def crop(left: float, foot: float = 0.0, right: float = 0.0, top: float = 0.0) -> Callable[[PageObject], object]:
    def change(page: PageObject) -> None:
        box = (left, foot, PAPER[0] - right, PAPER[1] - top)
        page.cropbox = RectangleObject([value * POINT for value in box])

    return change


def test_a_crop_is_measured_and_only_lost_marks_make_it_a_fault() -> None:
    found = diagnosis(edited(crop(6.0)))
    assert found.passed
    assert "cropped: 6.0 mm missing at the left; no mark is lost" in lines(found)
    worse = diagnosis(edited(crop(12.0)))
    assert not worse.passed
    # The registration marks of tile 1-2 stand at 178 - 165 = 13 mm, their circles reach 2 mm to the left, their arms 6;
    # the block base's arm reaches 6.5 mm to the left of 15 mm.
    named = "page 2: cropped: 12.0 mm missing at the left; 5 marks lost: hole block base 1: 1 x line missing"
    assert named in lines(worse)


@pytest.mark.parametrize(
    ("turn", "edges"),
    [
        (0, "left foot right top"),
        (90, "top left foot right"),
        (180, "right top left foot"),
        (270, "foot right top left"),
    ],
)
def test_each_edge_of_a_crop_is_named_as_the_page_is_seen(turn: int, edges: str) -> None:
    # Turned clockwise, what was at the left is at the top, what was at the foot at the left: ISO 32000-1:2008, 7.7.3.3.
    for n, edge in enumerate(edges.split()):
        change = crop(*(1.0 + n if n == one else 0.0 for one in range(4)))
        found = diagnosis(edited(lambda page, change=change: (change(page), page.rotate(turn))))
        assert f"cropped: {1.0 + n:.1f} mm missing at the {edge}; no mark is lost" in lines(found), lines(found)


def test_pages_put_on_another_paper_are_told() -> None:
    def letter(page: PageObject) -> None:
        page.mediabox = page.cropbox = RectangleObject((0, 0, 612, 792))

    # Letter is 8 1/2 by 11 in, 215.9 by 279.4 mm: ANSI/ASME Y14.1.
    found = diagnosis(edited(letter))
    assert "paper is 215.90 x 279.40 mm instead of 210.00 x 297.00" in lines(found)
    assert "cropped: 17.6 mm missing at the top" in lines(found)


def test_pages_whose_text_is_lost_are_taken_by_their_order_and_not_called_true() -> None:
    found = diagnosis(pdf(Made(identity=False)))
    assert not found.passed  # words that nobody read may say anything
    assert "page 1: text turned into outlines or lost, so that it was not read: taken by its order" in lines(found)
    assert {finding.code for finding in found.findings} == {"Q136"}
    assert "hole S1 is off" in lines(diagnosis(pdf(Made(identity=False, nudge={"S1": (0.0, 0.1)}))))


def test_what_is_no_template_is_said_to_be_none() -> None:
    out = io.BytesIO()
    canvas = Canvas(out)
    canvas.drawString(50, 50, "Notice to members")
    canvas.line(0, 0, 90, 90)
    canvas.showPage()
    canvas.save()
    for name in ("floor.pdf", "letter.pdf"):
        found = diagnosis(out.getvalue(), name=name)
        assert not found.passed
        assert f"{name}: not one of the sheets" in lines(found)
        assert found.findings[0].code == "Q135"
    # The job sheet of a run is named so beside its sheets; by itself nothing would be proved.
    sheet = pdf(Made())
    for files, passed in (({"floor.pdf": sheet, "job-sheet.pdf": out.getvalue()}, True),
                          ({"job-sheet.pdf": out.getvalue()}, False), ({"job-sheet.pdf": sheet}, True)):  # fmt: skip
        found = prove(files, manifest(TRUE), whole=False, as_written=False)
        assert found.passed is passed
        assert ("not proved: it holds no sheet" in lines(found)) is (len(files) > 1)


def test_marks_and_pages_that_are_nowhere_are_told_in_words() -> None:
    def flung(page: PageObject) -> None:
        stream = DecodedStreamObject()
        stream.set_data(b"%s 0 0 -%s 0 0 cm " % (b"9" * 400, b"9" * 400) + page.get_contents().get_data())
        page[NameObject("/Contents")] = stream

    def wide(page: PageObject) -> None:
        page.mediabox = page.cropbox = RectangleObject((0, 0, 10**60, 9))

    for change in (flung, wide):
        (only,) = {finding.code for finding in diagnosis(edited(change)).findings}
        assert only in ("Q103", "Q135")


def test_what_cannot_be_opened_is_said_once() -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf())) as document:
        # The newest encryption, AES-256, which the reader may not even be able to try.
        document.save(out, encryption=pikepdf.Encryption(owner="o", user="u"))
    (only,) = diagnosis(out.getvalue()).findings
    assert only.line() == "floor.pdf: encrypted: save it without a password and prove it again [Q104]"
    (only,) = diagnosis(b"%PDF-1.4 and no more").findings
    assert only.code == "Q103"


def test_the_map_is_found_with_marks_lost_moved_and_strange_ones_added() -> None:
    at = [(17.0 * n % 190, 41.0 * n % 280) for n in range(1, 31)]
    wanted = [Mark(f"letter {chr(65 + n)}", (point,), (1.0, 0.0, 0.0, 1.0)) for n, point in enumerate(at)]
    put = Affine(0, 0.96, -0.96, 0, 300, 4)
    found = [mark.moved(put) for mark in wanted[4:]]
    found[3] = found[3]._replace(points=((1.0, 2.0),))
    strangers = [Mark(LINE, ((7.0 * n % 200, 13.0 * n % 290), (0.0, 0.0))) for n in range(1, 12)]
    fit = find_map(wanted, [*strangers, *found])
    assert fit is not None
    assert fit.affine == pytest.approx((0, 0.96, -0.96, 0, 300, 4), abs=1e-6)
    assert round(fit.turn) == 90
    assert find_map(wanted, strangers) is None
    lines = [Mark(LINE, (point, (0.0, 0.0))) for point in at]
    assert find_map(lines, lines[:1] * len(lines)) is None  # all in one place


def test_strokes_decide_how_a_page_was_moved_and_letters_only_where_there_are_too_few() -> None:
    at = [(17.0 * n % 190, 41.0 * n % 280) for n in range(1, 21)]
    letters = [Mark("letter a", (point,), (1.0, 0.0, 0.0, 1.0)) for point in at]
    for count, moved in ((8, (5.0, 3.0)), (7, (9.0, 3.0))):
        strokes = [Mark(LINE, ((x, y), (x + 10, y))) for x, y in at[:count]]
        found = [mark.moved(Affine(e=5.0, f=3.0)) for mark in strokes]
        fit = find_map([*strokes, *letters], [*found, *(mark.moved(Affine(e=9.0, f=3.0)) for mark in letters)])
        assert fit is not None
        assert fit.affine == pytest.approx((1, 0, 0, 1, *moved), abs=1e-6)


def test_a_shear_is_measured_whatever_else_was_done() -> None:
    # Axes at 90 + 0.1 degrees after a turn of 30 and a scale of 0.9: by hand from the directions of both axes.
    def axis(degrees: float) -> tuple[float, float]:
        return 0.9 * math.cos(math.radians(degrees)), 0.9 * math.sin(math.radians(degrees))

    fit = PageMap(Affine(*axis(30.0), *axis(120.1), 5.0, 6.0))
    assert (fit.shear, fit.turn, fit.across, fit.along) == pytest.approx((0.1, 30.0, 0.9, 0.9))
    assert PageMap(Affine(*axis(30.0), *axis(120.0))).shear == pytest.approx(0.0, abs=1e-9)


def test_least_squares_against_a_worked_line() -> None:
    # x = 0, 1, 2, 3 with X = 6, 5, 7, 10: the line 4.9 + 1.4 x, a textbook example of least squares (from memory with
    # x = 1 to 4: 3.5 + 1.4 x). Y is free of error, and doubling every point along y leaves the line as it is.
    pairs = [(float(x), y, value, y) for x, value in enumerate((6.0, 5.0, 7.0, 10.0)) for y in (0.0, 9.0)]
    assert least_squares(chain.from_iterable(pairs)) == pytest.approx((1.4, 0, 0, 1, 4.9, 0))
    assert least_squares([value for n in range(5) for value in (float(n), 2.0 * n, 0.0, 0.0)]) is None


def test_the_stamp_of_these_tests_is_the_one_on_the_pages() -> None:
    assert SHA[:8] in PdfReader(io.BytesIO(pdf())).pages[0].extract_text()


def test_files_missing_of_a_whole_run_are_named_and_pictures_are_compared() -> None:
    run = manifest()
    run["sheets"][0] |= {"svg": "floor.svg", "marks": [line for tile in ("1-1", "1-2") for line in sheet_record(tile)]}

    def proved(files: dict[str, bytes], *, whole: bool = False) -> ProofReport:
        return prove({"floor.pdf": pdf()} | files, run, whole=whole, as_written=False)

    assert proved({}).passed
    assert lines(proved({}, whole=True)) == "floor.svg: is missing [Q102]"
    empty = b'<svg xmlns="http://www.w3.org/2000/svg" width="1mm" height="1mm" viewBox="0 0 1 1"/>'
    assert "floor.svg: hole P1 is missing" in lines(proved({"floor.svg": empty}))
    assert "other.svg: not one of the sheets" in lines(proved({"other.svg": empty}))


def sheet_record(tile: str) -> list[list[object]]:
    """Return a tile's holes as they stand on the sheet."""
    x, y = TILES[tile][1]
    found: list[list[object]] = []
    for kind, numbers, name in marks(tile, TRUE):
        if not name.startswith(("bars", "registration")):
            placed = [value - (y if n % 2 else x) for n, value in enumerate(numbers)]
            found.append([kind, "01.1", placed if kind == "curve" else [0, *placed], *name.split(" ", 1)])
    return found
