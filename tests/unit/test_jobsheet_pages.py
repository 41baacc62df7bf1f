"""The job sheet's PDF: true size where it is claimed, nothing lost or off the page; the short ways of its tables."""

import itertools

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from job_sheets import BOATS, POINT, boxes_on, job, pdf_pages, stacked

from templater.pipeline.make import page_size
from templater.report.blocks import (
    Bullets,
    Column,
    JobSheet,
    Picture,
    Quantity,
    Section,
    Table,
    data,
    ids_text,
    merged,
    shown,
)
from templater.report.pdf import CELL, FOOT, MARGIN, column_widths, lay_out
from templater.standards.typeface import text_width, wrap
from templater.units import Figures


def section_page(pdf: bytes) -> pypdfium2.PdfPage:
    number = next(number for number, text in enumerate(pdf_pages(pdf)) if "Section through a bolt, 1:1" in text)
    return pypdfium2.PdfDocument(pdf)[number]


@pytest.mark.parametrize("floor", [14.0, 9.0])
def test_the_section_through_a_bolt_is_at_true_size(floor: float) -> None:
    change = () if floor == 14.0 else (("thickness: 14", f"thickness: {floor:g}"),)
    boxes = boxes_on(section_page(job("whinchat-3", *change).pdf))
    # Plate, floor, plank and washer as the description and ISO 7093-1 (M8: 2 mm) have them.
    assert stacked(boxes, [3.0, floor, 34.0, 2.0], slack=0.05)
    assert not stacked(boxes, [3.0, 23.0 - floor, 34.0, 2.0], slack=0.05)
    sides = [x1 - x0 for x0, y0, x1, y1 in boxes if abs(y1 - y0 - floor) < 0.05]
    assert any(abs(side - 4.0) < 0.05 for side in sides)  # the sleeve's wall: (18 - 10) / 2
    plugs = [x1 - x0 for x0, y0, x1, y1 in boxes if abs(y1 - y0 - 34.0) < 0.05]
    assert any(abs(side - 8.0) < 0.05 for side in plugs)  # wood of the plug beside the bolt: (24 - 8) / 2
    # The screw: 16 long, its head two diameters wide.
    assert any(abs(y1 - y0 - 16.0) < 0.05 and abs(x1 - x0 - 10.0) < 0.05 for x0, y0, x1, y1 in boxes)


def test_the_inch_boat_too() -> None:
    boxes = boxes_on(section_page(job("whinchat-5").pdf))
    assert stacked(boxes, [25.4 / 8, 25.4 / 2, 25.4 * 11 / 8], slack=0.05)


@pytest.mark.parametrize("name", BOATS)
def test_plates_are_at_true_size(name: str) -> None:
    one = job(name)
    number = next(number for number, text in enumerate(pdf_pages(one.pdf)) if "Plates from above" in text)
    plate = one.boat.description.fixing.plate
    boxes = boxes_on(pypdfium2.PdfDocument(one.pdf)[number])
    whole = [b for b in boxes if abs(b[2] - b[0] - plate.width) < 0.05 and abs(b[3] - b[1] - plate.length) < 0.05]
    assert len(whole) == 2


@pytest.mark.parametrize("name", BOATS)
def test_what_claims_true_size_fits_the_page(name: str) -> None:
    one = job(name)
    pictures = [block for section in one.sheet.sections for block in section.blocks if isinstance(block, Picture)]
    true = [picture for picture in pictures if picture.true_size]
    assert [picture.title.partition(" from ")[0] for picture in true] == ["Plates", "Section through a bolt"]
    for picture in true:
        assert picture.box[2] - picture.box[0] <= page_size(one.checked)[0] - 2 * MARGIN


@pytest.mark.parametrize("name", BOATS)
def test_pages_are_of_their_paper_and_number_themselves(name: str) -> None:
    one = job(name)
    document = pypdfium2.PdfDocument(one.pdf)
    wide, high = (215.9, 279.4) if name == "whinchat-5" else (210.0, 297.0)
    assert 5 <= len(document) <= 13
    for number, text in enumerate(pdf_pages(one.pdf), 1):
        assert f"page {number} of {len(document)}" in text
        size = document[number - 1].get_size()
        assert size == pytest.approx((wide / POINT, high / POINT), abs=0.01)
    assert [entry.get_title() for entry in document.get_toc()] == [section.heading for section in one.sheet.sections]


#: Other boats: what is replaced in the first demo boat's description.
OTHERS = {
    "countersunk bolts": ("head: hexagon", "head: countersunk"),
    "many settings": ("settings: {count: 3, pitch: 55", "settings: {count: 9, pitch: 19"),
    "block, shim and glue gap": ("sleeve: {outer: 18, inner: 10}", "sleeve: {outer: 18, inner: 10, glue_gap: 0.8}\n"
                                 "  shim: 3\n  block: 20"),
    "a long name": ("boat: Whinchat 3", f"boat: {'W' * 40}"),
    "a solid plank": ("  solid_at_bolts: 24", "  #"),
    "no sleeves": ("  sleeve: {outer: 18, inner: 10}", "  #"),
    "one page": ("print: {paper: A4", "print: {paper: A0"),
    "a thick floor": ("thickness: 14", "thickness: 60"),
    "wide plates": ("    width: 76 ", "    width: 190 "),
}  # fmt: skip


def jobs() -> list[object]:
    return [pytest.param((name,), id=name) for name in BOATS] + [
        pytest.param(("whinchat-3", change), id=name) for name, change in OTHERS.items()
    ]


@pytest.mark.parametrize("which", jobs())
def test_nothing_stands_off_the_page_or_on_its_neighbour(which: tuple) -> None:
    one = job(*which)
    paper = page_size(one.checked)
    for page in lay_out(one.sheet, paper):
        for placed in page:
            assert placed.top <= paper[1] - MARGIN + 1e-9
            assert placed.top - placed.piece.height * placed.scale >= MARGIN + FOOT - 1e-9
            for part in placed.piece.parts:
                assert part.top - part.piece.height >= -placed.piece.height - 1e-9
        for upper, lower in itertools.pairwise(page):
            assert lower.top <= upper.top - upper.piece.height * upper.scale + 1e-9


@pytest.mark.parametrize("name", BOATS)
@pytest.mark.parametrize("paper", [(210.0, 297.0), (215.9, 279.4)])
def test_the_card_over_the_bench_is_two_pages(name: str, paper: tuple[float, float]) -> None:
    one = job(name)
    pages = lay_out(one.sheet, paper)
    headings = [{placed.piece.bookmark for placed in page} - {""} for page in pages]
    card = {section.heading for section in one.sheet.sections[: one.sheet.card]}
    assert headings[0] | headings[1] == card
    assert headings[1]
    assert not card & set().union(*headings[2:])
    assert min(placed.scale for page in pages for placed in page) >= 0.8  # 7.6 point: read at arm's length


@pytest.mark.parametrize("which", jobs())
def test_no_text_or_line_runs_over_the_margin(which: tuple) -> None:
    for page in pypdfium2.PdfDocument(job(*which).pdf):
        wide = page.get_size()[0] * POINT
        texts = [item.get_bounds() for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT])]
        sides = [(left * POINT, right * POINT) for left, _, right, _ in texts]
        sides += [(left, right) for left, _, right, _ in boxes_on(page)]
        assert len(sides) > 2
        assert min(left for left, _ in sides) >= MARGIN - 0.3
        assert max(right for _, right in sides) <= wide - MARGIN + 0.3


@pytest.mark.parametrize("which", jobs())
def test_the_picture_of_the_bolt_is_never_scaled(which: tuple) -> None:
    one = job(*which)
    description = one.boat.description
    thick = [description.floor.thickness, description.plank.thickness]
    between = [size for size in (description.fixing.shim, description.fixing.block) if size]
    assert stacked(boxes_on(section_page(one.pdf)), [thick[0], *between, thick[1]], slack=0.05)


def test_a_word_too_long_for_its_column_does_not_break_the_others() -> None:
    widths = column_widths(("boat", "revision"), [["W" * 40, "A"]], 80.0)
    assert widths[1] >= text_width("revision", CELL, bold=True)


def test_a_long_table_repeats_its_head_and_loses_no_row() -> None:
    rows = tuple((f"row {number}", "x" * 20) for number in range(150))
    columns = (Column("number head"), Column("letters head"))
    section = Section("long", "Long", (Table("many", "Many", columns, rows, "the note"),))
    sheet = JobSheet("Title", "Sub", (("boat", "b"),), (section,), "program")
    pages = [
        [getattr(mark, "text", "") for placed in page for mark in placed.piece.marks]
        for page in lay_out(sheet, (210.0, 297.0))
    ]
    assert len(pages) > 2
    assert all("number head" in texts for texts in pages)
    everything = list(itertools.chain.from_iterable(pages))
    assert [text for text in everything if text.startswith("row ")] == [row[0] for row in rows]
    assert {"row 148", "row 149", "the note"} <= set(pages[-1])


def test_a_heading_is_never_left_alone_at_a_foot() -> None:
    pages = set()
    table_ = Table("t", "caption", (Column("a"), Column("b")), (("1", "2"), ("3", "4")))
    listed = Bullets((("caption", ""), ("3", ""), ("4", "")))  # one line alone below it would be overlooked too
    for count, block in itertools.product(range(28, 46), (table_, listed)):
        words = tuple(f"line {number}" for number in range(count))
        sections = (Section("one", "One", words), Section("two", "Two", (block,)))
        laid = lay_out(JobSheet("T", "S", (("boat", "b"),), sections, "p"), (210.0, 297.0))
        pages.add(len(laid))
        for page in laid:
            texts = [getattr(mark, "text", "") for placed in page for mark in placed.piece.marks]
            assert ("Two" in texts) == ("caption" in texts) == ("3" in texts)
    assert pages == {1, 2}  # the section came to stand at every place about the first page's foot


@settings(max_examples=60, deadline=None)
@given(st.text("abc WiM-.,", max_size=120), st.floats(8.0, 80.0))
def test_wrapped_lines_fit_and_keep_every_letter(text: str, room: float) -> None:
    lines = wrap(text, room, CELL)
    assert all(text_width(line, CELL) <= room + 1e-9 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_line_is_full_only_with_its_spaces() -> None:
    room = 2 * text_width("word", CELL) + text_width(" ", CELL)
    assert wrap("word word", room + 0.01, CELL) == ["word word"]
    assert wrap("word word", room - 0.01, CELL) == ["word", "word"]


def test_columns_of_words_too_wide_for_the_page_are_narrowed_to_it() -> None:
    widths = column_widths(("a", "b"), [["W" * 80, "W" * 80]], 180.0)
    assert sum(widths) <= 180.0 + 1e-9


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.text("ab M", max_size=60), min_size=3, max_size=3), max_size=5))
def test_columns_share_the_page(rows: list[list[str]]) -> None:
    widths = column_widths(("first", "second", "third"), rows, 180.0)
    assert sum(widths) <= 180.0 + 1e-9
    assert min(widths) > 5.0


def test_a_common_unit_goes_to_the_heading_and_mixed_ones_stay() -> None:
    columns = (Column("what"), Column("a", "length"), Column("b", "angle"), Column("c"), Column("d", "size"))
    made = Table("t", "c", columns, (("x", 25.4, 1.3, Quantity(8.0, "size"), 8.0), ("y", None, 2.0, "flat", 12.7)))
    assert shown(made, Figures()).heads == ("what", "a, mm", "b, °", "c", "d, mm")
    assert shown(made, Figures()).rows == (("x", "25.4", "1.30", "8 mm", "8"), ("y", "–", "2.00", "flat", "12.7"))
    inches = shown(made, Figures("in"))
    assert inches.heads == ("what", "a, in", "b, °", "c", "d")  # a size may need mm beside it, so it keeps its unit
    assert inches.rows[0] == ("x", "1", "1.30", "0.315 in (8 mm)", "0.315 in (8 mm)")
    assert shown(made, Figures("both", parts="in")).rows[0][1:4] == ("25.4 (1)", "1.30", "0.315 in (8 mm)")
    assert data(made)["rows"] == [["x", 25.4, 1.3, {"value": 8.0, "unit": "mm"}, 8.0], ["y", None, 2.0, "flat", 12.7]]


def test_ids_that_count_on_are_a_run() -> None:
    assert ids_text([f"P1a{n}" for n in (1, 2, 3, 4)] + [f"S1a{n}" for n in (1, 2, 4)]) == "P1a1..4, S1a1..2, S1a4"
    assert ids_text(["KP", "KS"]) == "KP, KS"
    assert ids_text(["A1"]) == "A1"


def test_equal_rows_are_said_once_and_empty_columns_left_out() -> None:
    assert merged([("a", "1"), ("b", "2"), ("c", "1")]) == (("a, c", "1"), ("b", "2"))
    trimmed = Table("t", "c", tuple(map(Column, "abc")), (("1", None, "3"), ("2", "", None))).without_empty()
    assert [column.head for column in trimmed.columns] == ["a", "c"]
    assert trimmed.rows == (("1", "3"), ("2", None))
