"""The PDF reader against pages written operator by operator. Operators: ISO 32000-1:2008, annex A."""

import io
import math

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    RectangleObject,
)

from templater.findings import ProofError
from templater.proof import content_stream
from templater.proof.marks import AREA, CURVE, LINE, Mark, fit_circle
from templater.proof.read_pdf import PageMarks, read_pdf
from tests.campaigns.hostile import one_page

INCH = 25.4


def page(content: bytes, *, size: tuple[float, float] = (720, 720), form: bytes | None = None, **keys: object) -> bytes:
    writer = PdfWriter()
    made = writer.add_blank_page(*size)
    stream = DecodedStreamObject()
    stream.set_data(content)
    made[NameObject("/Contents")] = writer._add_object(stream)
    if form is not None:
        inner = DecodedStreamObject()
        inner.set_data(form)
        inner[NameObject("/Type")] = NameObject("/XObject")
        inner[NameObject("/Subtype")] = NameObject("/Form")
        inner[NameObject("/Matrix")] = ArrayObject([FloatObject(v) for v in (2, 0, 0, 2, 72, 0)])
        reference = writer._add_object(inner)
        made[NameObject("/Resources")] = DictionaryObject(
            {NameObject("/XObject"): DictionaryObject({NameObject("/Fm"): reference})}
        )
        inner[NameObject("/Resources")] = made["/Resources"]
    for key, value in keys.items():
        made[NameObject(f"/{key}")] = value
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def marks(content: bytes, **keys: object) -> PageMarks:
    (only,) = read_pdf(page(content, **keys), "floor.pdf")  # type: ignore[arg-type]
    return only


def lines(found: PageMarks, kind: str = LINE) -> list[Mark]:
    return [mark for mark in found.marks if mark.kind == kind]


def ends(found: PageMarks, number: int = 0) -> tuple[float, ...]:
    return tuple(round(value / INCH, 6) for point in lines(found)[number].points for value in point)


def test_72_units_are_an_inch() -> None:
    found = marks(b"72 144 m 216 144 l S")
    assert found.size == pytest.approx((254.0, 254.0))
    assert ends(found) == (1, 2, 3, 2)
    assert found.unread == ()


def test_matrices_are_stacked_saved_and_restored() -> None:
    found = marks(b"q 2 0 0 2 0 0 cm q 1 0 0 1 36 0 cm 0 0 m 36 0 l S Q 0 0 m 36 0 l S Q 0 0 m 36 0 l S")
    assert [ends(found, n) for n in range(3)] == [(1, 0, 2, 0), (0, 0, 1, 0), (0, 0, 0.5, 0)]


def test_a_turn_and_a_shift_are_done_in_the_order_of_the_file() -> None:
    assert ends(marks(b"0 1 -1 0 144 0 cm 1 0 0 1 72 0 cm 0 0 m 72 0 l S")) == (2, 1, 2, 2)


def test_forms_are_drawn_with_their_matrix_and_nesting_ends() -> None:
    found = marks(b"1 0 0 1 0 72 cm /Fm Do", form=b"0 0 m 36 0 l S")
    assert ends(found) == (1, 1, 2, 1)
    with pytest.raises(ProofError, match="nested more than 8 deep"):
        marks(b"/Fm Do", form=b"0 0 m 36 0 l S /Fm Do")


def test_rotate_crop_and_user_unit_are_honoured() -> None:
    box = RectangleObject((72, 72, 360, 648))
    line = b"72 72 m 144 72 l S"
    assert ends(marks(line, CropBox=box)) == (0, 0, 1, 0)
    # Turned clockwise by 90 degrees the lower left corner comes to the upper left: page 4 in by 8 in, then 8 by 4.
    turned = marks(line, CropBox=box, Rotate=NumberObject(90))
    assert turned.size == pytest.approx((8 * INCH, 4 * INCH))
    assert turned.turned == 1
    assert ends(turned) == (0, 4, 0, 3)
    assert ends(marks(line, CropBox=box, Rotate=NumberObject(180))) == (4, 8, 3, 8)
    assert ends(marks(line, CropBox=box, Rotate=NumberObject(270))) == (8, 0, 8, 1)
    assert ends(marks(line, UserUnit=FloatObject(2.0))) == (2, 2, 4, 2)


def test_a_path_of_several_parts_gives_each_of_them() -> None:
    found = marks(b"0 0 m 72 0 l 0 72 m 72 72 l S 0 0 36 36 re S 0 0 m 10 0 l 10 10 l s 0 0 m 10 0 l 10 10 l S")
    assert len(lines(found)) == 2 + 4 + 2 + 3


def test_what_is_filled_is_an_area_and_what_is_dropped_is_nothing() -> None:
    found = marks(b"0 0 m 72 0 l n 0 0 36 36 re W n 0 0 9 9 re f 0 0 m 5 0 l 5 5 l h f* 1 1 m 2 2 l n S")
    assert found.unread == ()
    assert [(mark.kind, len(mark.points), mark.ink) for mark in found.marks] == [(AREA, 4, ""), (AREA, 3, "")]


#: Each leaves what lies from 100 to 120 both ways, 60 up on the page.
CLIPS = [
    b"1 0 0 1 0 60 cm " + b"".join(b"%d %d %d %d re W n " % one for one in boxes)
    for boxes in (
        [(100, 100, 20, 20)], [(40, 100, 300, 20), (100, 50, 20, 350)], [(100, 50, 20, 350), (40, 100, 300, 20)],
    )
]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "ink"),
    [
        (b"1 G 0 0 m 72 0 l S", "white"), (b"1 1 1 RG 0 0 m 72 0 l S", "white"), (b"0 0 0 0 K 0 0 m 72 0 l S", "white"),
        (b"0 0 0 1 K 0 0 m 72 0 l S", ""), (b"0.5 G 0 0 m 72 0 l S", "grey"), (b"1 0 0 RG 0 0 m 72 0 l S", "coloured"),
        (b"/Cs CS /P1 SCN 0 0 m 72 0 l S", "in a pattern"), (b"0 0 20 20 re W n 0 0 m 72 0 l S", "clipped"),
        (b"W n 0 0 m 72 0 l S", ""), (b"0 0 m 9 0 l 9 9 l W n 1 1 m 4 1 l S", None),
        (b"300 300 9 9 re W n 0 0 m 72 0 l S", None),
        *((clips + line, ink) for clips in CLIPS for line, ink in (
            (b"90 110 m 98 110 l S", None), (b"122 110 m 130 110 l S", None), (b"110 90 m 110 98 l S", None),
            (b"110 122 m 110 130 l S", None), (b"101 110 m 119 110 l S", ""), (b"90 110 m 102 110 l S", "clipped"),
            (b"118 110 m 130 110 l S", "clipped"), (b"110 90 m 110 102 l S", "clipped"),
            (b"110 118 m 110 130 l S", "clipped"),
        )),
        (b"/OC /L1 BDC /P BMC EMC 0 0 m 72 0 l S EMC", "in a layer"),
        (b"/OC /L1 BDC 0 0 m 72 0 l S EMC", "in a layer"), (b"/OC /L1 BDC EMC 0 0 m 72 0 l S", ""),
        (b"/Gs gs 0 0 m 72 0 l S", "in a state that cannot be told"), (b"1 G q 0 G Q 0 0 m 72 0 l S", "white"),
    ],
)  # fmt: skip
def test_what_does_not_show_black_is_told(content: bytes, ink: str | None) -> None:
    # Colours, clipping and marked content: ISO 32000-1:2008, 8.6, 8.5.4 and 8.11.3.
    assert [mark.ink for mark in marks(content).marks] == ([] if ink is None else [ink])


@pytest.mark.parametrize(
    ("state", "ink"),
    [
        (b"", ""), (b"/CA 1 /ca 1 /SMask /None /BM /Normal", ""), (b"/BM /Compatible", ""), (b"/CA .5", "transparent"),
        (b"/CA 1 /ca 0", "transparent"), (b"/CA 1 /BM /Screen", "transparent"), (b"/SMask << >>", "transparent"),
        *((b"/CA 1 /%s 1" % key, "in a state that cannot be told") for key in (b"LW", b"LC", b"D", b"Font")),
    ],
)  # fmt: skip
def test_what_a_graphics_state_of_the_resources_does_not_show_black_is_told(state: bytes, ink: str) -> None:
    # ISO 32000-1:2008, table 58: line width, cap, dashes, font; opacity of strokes and fills, soft mask, blend mode.
    text = (b"<< /Length 0 >>\n", b"q /G gs 0 0 m 72 0 l S Q 0 9 m 72 9 l S")
    (found,) = read_pdf(one_page(text, page=b"/Resources << /ExtGState << /G << %s >> >> >>" % state), "plank.pdf")
    assert [mark.ink for mark in found.marks] == [ink, ""]


def test_pens_are_read_with_their_scale() -> None:
    # 7.2 units are a tenth of an inch, in a frame of twice the size two tenths.
    (mark,) = marks(b"q 2 0 0 2 0 0 cm 7.2 w 1 J [36 18] 9 d 0 0 m 72 0 l S Q").marks
    assert mark.look == pytest.approx((0.2 * INCH, 1.0, 0.25 * INCH, INCH, 0.5 * INCH))


def test_a_picture_and_a_shading_are_named() -> None:
    found = marks(b"q 72 0 0 36 0 0 cm BI /W 1 /H 1 ID x EI /Im Do Q /Sh sh").marks
    assert [mark.what for mark in found] == ["picture", "picture", "shading"]
    assert found[0].middle == pytest.approx((INCH / 2, INCH / 4))


@pytest.mark.parametrize("paint", [b"S", b"s", b"B", b"b", b"B*", b"b*"])
def test_every_way_of_stroking_counts(paint: bytes) -> None:
    assert ends(marks(b"0 0 m 72 0 l " + paint)) == (0, 0, 1, 0)


def test_curves_come_back_as_circles_whole_or_cut() -> None:
    # Quarter circles of radius 1 in about (2 in, 2 in): handle 4/3 (sqrt 2 - 1) of the radius, a textbook value.
    k = 72 * 4 / 3 * (math.sqrt(2) - 1)
    arc = f"216 144 m 216 {144 + k} {144 + k} 216 144 216 c "
    rest = f"{144 - k} 216 72 {144 + k} 72 144 c 72 {144 - k} {144 - k} 72 144 72 c "
    rest += f"{144 + k} 72 216 {144 - k} 216 144 c "
    whole = marks((arc + rest + "s").encode()).marks[0]
    assert whole.kind == CURVE
    assert whole.closed
    centre, diameter, uneven = fit_circle(whole.points)
    assert centre == pytest.approx((2 * INCH, 2 * INCH), abs=1e-5)
    assert diameter == pytest.approx(2 * INCH, abs=1e-5)
    assert uneven < 1e-5
    piece = marks((arc + "S").encode()).marks[0]
    assert not piece.closed
    assert fit_circle(piece.points)[0] == pytest.approx((2 * INCH, 2 * INCH), abs=1e-4)


def test_the_short_curves_v_and_y() -> None:
    # v: the first handle is the start; y: the second handle is the end. Middles by the Bernstein weights 1 3 3 1.
    middle = marks(b"0 0 m 72 72 144 0 v S").marks[0].points[1]
    assert middle == pytest.approx(((3 * 1 + 2) / 8 * INCH, 3 / 8 * INCH))
    middle = marks(b"0 0 m 72 72 144 0 y S").marks[0].points[1]
    assert middle == pytest.approx(((3 * 1 + 3 * 2 + 2) / 8 * INCH, 3 / 8 * INCH))


def test_strings_arrays_comments_and_pictures_do_not_disturb() -> None:
    found = marks(
        b"% 9 9 m 9 9 l S\n[3 1] 0 d BT /F1 8 Tf (a (nested) \\) m l S) Tj [(x) -20 <41 42>] TJ ET "
        b"/Span <</ActualText (1 2 m)>> BDC EMC BI /W 1 /H 1 ID \x00S 1 1 m\xff EI 72 0 m 144 0 l S"
    )
    assert len(lines(found)) == 1
    assert ends(found) == (1, 0, 2, 0)
    assert found.unread == ()


@pytest.mark.parametrize(
    ("content", "word"),
    [(b"0 0 m 72 l S", "number of operands"), (b"0 0 m 72 0 l 5 h S", "number of operands"),
     (b"0 0 m 72 0 l S Q", "never saved"), (b"1 2 nonsense", "unknown"),
     (b"0 0 m ) S", "stray")],
)  # fmt: skip
def test_what_cannot_be_read_is_told(content: bytes, word: str) -> None:
    assert any(word in warning for warning in marks(content).unread)


def test_encrypted_and_broken_files_are_refused_in_words() -> None:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(page(b"0 0 m 1 1 l S"))))
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    with pytest.raises(ProofError, match=r"plank.pdf: encrypted.*Q104"):
        list(read_pdf(out.getvalue(), "plank.pdf"))
    for data in (b"", b"%PDF-1.7\n", b"\x89PNG", page(b"S")[:200]):
        with pytest.raises(ProofError, match=r"plank.pdf: cannot be read as PDF: .+ \[Q103\]"):
            list(read_pdf(data, "plank.pdf"))


def test_more_bytes_than_asked_for_are_not_read_at_all_and_those_of_a_form_count_each_time() -> None:
    data = page(b"/Fm Do\n" * 3, form=b"0 0 m 9 9 l S\n" * 10)
    assert list(read_pdf(data, "plank.pdf", 450))
    for most in (20, 440):
        with pytest.raises(ProofError, match="more bytes than its drawing can need"):
            list(read_pdf(data, "plank.pdf", most))


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        (b"/Filter /JBIG2Decode ", "packed as /JBIG2Decode"),
        (b"/Filter /DCTDecode ", "packed as /DCTDecode"),
        (b"/Filter [/JPXDecode] ", "packed as /JPXDecode"),
        (b"/F (other.txt) ", "stands in another file"),
    ],
)
@pytest.mark.parametrize("form", [False, True])
def test_text_that_a_viewer_shows_nothing_of_is_not_read(entries: bytes, said: str, form: bool) -> None:
    text = (b"<< /Length 0 /Subtype /Form %s>>\n" % entries, b"0 0 m 9 9 l S")
    plain = (b"<< /Length 0 >>\n", b"/Fm Do")
    resources = b"/Resources << /XObject << /Fm 5 0 R >> >>"
    data = one_page(plain, text, page=resources) if form else one_page(text)
    with pytest.raises(ProofError, match=rf"plank.pdf: cannot be read as PDF: .*{said}.* \[Q103\]"):
        list(read_pdf(data, "plank.pdf"))


#: A font of which every letter is 0.6 em wide, its outlines in the file.
FONT = (
    b"<< /Type /Font /Subtype /TrueType /BaseFont /A /FontDescriptor 6 0 R /FirstChar 32 /Widths [%s] >>"
    % (b"600 " * 95), b"<< /Type /FontDescriptor /FontName /A /Flags 4 /FontFile2 7 0 R >>",
)  # fmt: skip


@pytest.mark.parametrize(
    ("content", "places"),
    [
        (b"20 30 Td (ab) Tj 5 1 Td (c) Tj", [("ab", 20, 30, 26, 30), ("c", 25, 31)]),
        (b"20 30 Td 1 Tc 3 Tw (a b) Tj (c) Tj", [("ab", 20, 30, 37, 30), ("c", 44, 30)]),
        (b"20 30 Td 50 Tz 1 Tc 2 Tw (a b) Tj", [("ab", 20, 30, 28, 30)]),
        (b"20 30 Td [(a) 500 (b) -100 <63>] TJ", [("abc", 20, 30, 21, 30, 28, 30)]),
        (b"20 -30 TD (a) Tj T* (b) Tj", [("a", 20, -30), ("b", 20, -60)]),
        (b"12 TL 20 30 Td (a) Tj T* (b) Tj (c) '", [("a", 20, 30), ("b", 20, 18), ("c", 20, 6)]),
        (b'12 TL 20 30 Td 3 1 (a b) " (c d) Tj', [("ab", 20, 18, 37, 18), ("cd", 44, 18, 61, 18)]),
        (b"2 0 0 2 20 30 Tm 4 Ts (a\\142) Tj 0 1 -1 0 9 9 Tm 0 Ts (ab) Tj",
         [("ab", 20, 38, 32, 38), ("ab", 9, 9, 9, 15)]),
    ],
)  # fmt: skip
def test_letters_stand_where_each_text_operator_puts_them(content: bytes, places: list[tuple[object, ...]]) -> None:
    # ISO 32000-1:2008, 9.4.2 and 9.4.4: (advance x size - thousandths x size + Tc, and Tw after a blank) x Tz.
    text = (b"<< /Length 0 >>\n", b"1 0 0 1 0 100 cm BT /F 10 Tf " + content + b" ET")
    resources = b"/Resources << /Font << /F 5 0 R >> >>"
    data = one_page(text, (FONT[0], None), (FONT[1], None), (b"<< /Length 0 >>\n", b"\0\1\0\0"), page=resources)
    (found,) = read_pdf(data, "plank.pdf")
    assert found.unread == ()
    units = [[value / INCH * 72 for point in mark.points for value in point] for mark in found.marks]
    assert [mark.words for mark in found.marks] == [letters for letters, *_ in places]
    wanted = [[value + 100 * (n % 2) for n, value in enumerate(at)] for _, *at in places]  # type: ignore[operator]
    assert units == [pytest.approx(one) for one in wanted]


def test_a_letter_is_as_wide_and_high_as_its_size_stretch_and_turn_make_it() -> None:
    # ISO 32000-1:2008, 9.4.4: [size x Tz 0 0 size] x Tm: upright 5 along and 10 up, turned 5 up and 10 to the left.
    text = (b"<< /Length 0 >>\n", b"BT /F 10 Tf 50 Tz (a) Tj 0 1 -1 0 9 9 Tm (a) Tj ET")
    resources = b"/Resources << /Font << /F 5 0 R >> >>"
    data = one_page(text, (FONT[0], None), (FONT[1], None), (b"<< /Length 0 >>\n", b"\0\1\0\0"), page=resources)
    (found,) = read_pdf(data, "plank.pdf")
    looks = [[value / INCH * 72 for value in mark.look[:4]] for mark in found.marks]
    assert looks == [pytest.approx([5, 0, 0, 10]), pytest.approx([0, 5, -10, 0])]


def test_of_texts_only_short_ones_are_kept_to_be_shown_again() -> None:
    # A file with many long ones would fill the memory.
    resources = b"/Resources << /Font << /F 5 0 R >> >>"
    for length, kept in ((1500, 0), (5, 1)):
        text = (b"<< /Length 0 >>\n", b"BT /F 0.1 Tf (%s) Tj ET" % (b"a" * length))
        content_stream._laid.cache_clear()
        data = one_page(text, (FONT[0], None), (FONT[1], None), (b"<< /Length 0 >>\n", b"\0\1\0\0"), page=resources)
        assert [len(mark.words) for page in read_pdf(data, "plank.pdf") for mark in page.marks] == [length]
        assert content_stream._laid.cache_info().currsize == kept


PIECES = (b"BI ", b"(", b"[", b"1 ", b"<", b"<<", b"[(a) ", b"(\\", b"1 2 3 x", b"1.", b"a", b"%")


#: A node that holds a node that holds two pages; the box is the first node's, the second's turn gives way to a page's
#: own. What is inherited, and how: ISO 32000-1:2008, 7.7.3.4.
TREE = {
    1: b"<< /Type /Catalog /Pages 2 0 R >>",
    2: b"<< /Type /Pages /Count 2 /Kids [3 0 R] /MediaBox [0 0 720 360] >>",
    3: b"<< /Type /Pages /Count 2 /Kids [4 0 R 5 0 R] /Parent 2 0 R /Rotate 90 >>",
    4: b"<< /Type /Page /Parent 3 0 R >>",
    5: b"<< /Type /Page /Parent 3 0 R /Rotate 0 >>",
}


def tree(**changed: bytes) -> bytes:
    objects = TREE | {int(key[1:]): value for key, value in changed.items()}
    body = b"".join(b"%d 0 obj\n%s\nendobj\n" % one for one in objects.items())
    return b"%%PDF-1.7\n%strailer\n<< /Root 1 0 R /Size 6 >>\nstartxref\n0\n%%%%EOF\n" % body


def test_a_page_has_what_the_nodes_above_it_say_unless_it_says_otherwise_itself() -> None:
    turned, upright = read_pdf(tree(), "f.pdf")
    assert (turned.size, turned.turned) == (pytest.approx((127.0, 254.0)), 1)
    assert (upright.size, upright.turned) == (pytest.approx((254.0, 127.0)), 0)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"_3": b"<< /Type /Pages /Kids [4 0 R 2 0 R] >>"}, "larger or deeper than a sheet's, or goes in circles"),
        ({"_3": b"<< /Type /Pages /Kids [3 0 R] >>"}, "larger or deeper than a sheet's, or goes in circles"),
        ({"_3": b"<< /Type /Pages /Kids [7 4 0 R] >>"}, "its tree of pages is damaged"),
        ({"_3": b"<< /Type /Pages /Kids << /A 4 0 R >> >>"}, "its tree of pages is damaged"),
        ({"_3": b"<< /Type /Pages /Kids 7 >>"}, "its tree of pages is damaged"),
        ({"_3": b"<< /Type /Pages /Kids [] >>"}, "it has no pages"),
        ({"_2": b"<< /Type /Pages /Kids [3 0 R] /MediaBox [0 0 720] >>"}, "a page's box is not of four numbers"),
        ({"_2": b"<< /Type /Pages /Kids [3 0 R] >>"}, "a page's box is not of four numbers"),
    ],
)
def test_a_damaged_or_endless_tree_of_pages_is_refused_in_words(changed: dict[str, bytes], said: str) -> None:
    with pytest.raises(ProofError, match=rf"f.pdf: cannot be read as PDF: .*{said}.* \[Q103\]"):
        list(read_pdf(tree(**changed), "f.pdf"))


def test_a_tree_of_pages_is_deep_and_wide_only_within_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    deep = {f"_{number}": b"<< /Type /Pages /Kids [%d 0 R] >>" % (number + 1) for number in range(10, 120)}
    with pytest.raises(ProofError, match="larger or deeper"):
        list(read_pdf(tree(_3=b"<< /Type /Pages /Kids [10 0 R] >>", **deep, _120=TREE[5]), "f.pdf"))
    monkeypatch.setattr("templater.proof.read_pdf._MOST_PAGES", 9)
    wide = b"<< /Type /Pages /Kids [" + b"5 0 R " * 8 + b"] >>"
    with pytest.raises(ProofError, match="larger or deeper"):
        list(read_pdf(tree(_3=wide), "f.pdf"))
