"""The PDF writer, read back by pikepdf, pypdf and qpdf."""

import hashlib
import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pikepdf
import pypdf
import pytest
from reportlab import rl_config
from reportlab.pdfbase.ttfonts import TTFontFace

from templater.drawing.marks import Anchor, Arc, Circle, Cross, Curve, Group, Line, Mark, Pen, Polyline, Text
from templater.findings import DrawingError
from templater.paper.tiles import Tile, TitleData
from templater.plane.shapes import Affine
from templater.standards.typeface import font_bytes, text_width
from templater.writers.pdf import register_faces, write_pdf


def titled(date: str) -> TitleData:
    return TitleData("Whinchat 3", "B", date, "", "", "First Builder", "", "ab" * 32, "0.1.0")


TITLE = titled("2030-01-02")
#: One mm in points, by the definitions: 72 units to the inch (ISO 32000-1:2008, 8.3.2.3), 25.4 mm to the inch (1959).
POINT = 72 / 25.4
ALL_KINDS: tuple[Mark, ...] = (
    Line((10, 10), (110, 10), Pen.WIDE, Group.BAR, "across"),
    Line((10, 20), (110, 20), Pen.CHAIN, Group.CENTRELINE, phase=4.5),
    Circle((50, 60), 9, Pen.WIDE, Group.HOLE, "P1"),
    Cross((50, 60), 8, Group.HOLE, "P1"),
    Arc((100, 100), 40, 10, 200, Pen.NARROW, Group.OUTLINE),
    Polyline(((20, 140), (60, 140), (60, 160)), True, Pen.WIDE, Group.PLATE),
    Polyline(((80, 140), (90, 140), (90, 160)), True, Pen.WIDE, Group.FRAME, filled=True),
    Curve((60, 200), (((60, 210), (40, 210), (40, 200)), ((40, 190), (60, 190), (60, 200))), Pen.WIDE, Group.HOLE),
    Text((50, 250), "P1 (8.5) \\ ⌀ 18 ½°", 3.5, Group.LABEL, bold=True),
    Text((50, 260), "forward ↑", 5, Group.NOTE, Anchor.MIDDLE, turn=1),
)


def page(*marks: Mark, paper: tuple[float, float] = (210.0, 297.0), name: str = "A1") -> Tile:
    return Tile(name, 1, 1, 1, paper, (0, 0, *paper), Affine(), marks)


def written(*marks: Mark) -> bytes:
    return write_pdf([page(*marks)], name="floor", title=TITLE)


def steps(pdf: bytes) -> list[tuple[str, list[Any]]]:
    """Return operators and operands of the first page's content as another parser sees them."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return [(str(step.operator), list(step.operands)) for step in pikepdf.parse_content_stream(document.pages[0])]


def named(pdf: bytes, operator: str) -> list[list[float]]:
    """Return the operands of one operator, which must be numbers."""
    return [[float(value) for value in operands] for name, operands in steps(pdf) if name == operator]


@pytest.mark.parametrize(
    "paper",
    [(210.0, 297.0), (841.0, 1189.0), (215.9, 279.4), (297.0, 210.0), (609.6, 2400.0)],
    ids=["A4", "A0", "letter", "A4 sideways", "roll"],
)
def test_page_size_is_the_papers_in_points(paper: tuple[float, float]) -> None:
    pdf = write_pdf([page(paper=paper)], name="floor", title=TITLE)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        box = [float(side) for side in document.pages[0].MediaBox]
        assert "/UserUnit" not in document.pages[0]
    assert box == pytest.approx([0, 0, paper[0] * POINT, paper[1] * POINT], abs=0.001)


def test_a4_in_points_as_published() -> None:
    # ISO 216 A4, 210 mm by 297 mm, is 595.276 by 841.890 points.
    box = pypdf.PdfReader(io.BytesIO(written())).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((595.276, 841.890), abs=0.001)


def test_print_dialogue_is_told_not_to_scale() -> None:
    # Names of the keys: ISO 32000-1:2008, table 150.
    pdf = written()
    assert pdf.startswith(b"%PDF-1.6")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        wishes = document.Root.ViewerPreferences
        assert (str(wishes.PrintScaling), str(wishes.Duplex)) == ("/None", "/Simplex")
    preferences = pypdf.PdfReader(io.BytesIO(pdf)).viewer_preferences
    assert preferences is not None
    assert preferences.print_scaling == "/None"


def test_only_embedded_fonts_are_in_the_file() -> None:
    pdf = written(*ALL_KINDS)
    assert b"Helvetica" not in pdf
    with pikepdf.open(io.BytesIO(pdf)) as document:
        fonts = document.pages[0].Resources.Font
        names = sorted(re.sub("^/[A-Z]{6}[+]", "", str(font.BaseFont)) for font in fonts.values())
        assert all("/FontFile2" in font.FontDescriptor for font in fonts.values())
    assert names == ["DejaVuSansCondensed", "DejaVuSansCondensed-Bold"]


def test_texts_read_back_letter_for_letter() -> None:
    text = pypdf.PdfReader(io.BytesIO(written(*ALL_KINDS))).pages[0].extract_text()
    assert "P1 (8.5) \\ ⌀ 18 ½°" in text
    assert "forward ↑" in text


def test_more_letters_than_one_subset_holds_read_back() -> None:
    letters = "".join(chr(code) for code in (*range(0xC0, 0x17F), *range(0x391, 0x3A1), *range(0x410, 0x450)))
    text = pypdf.PdfReader(io.BytesIO(written(Text((5, 100), letters, 2.2, Group.NOTE)))).pages[0].extract_text()
    assert letters in text.replace("\n", "")


def test_document_information() -> None:
    information = pypdf.PdfReader(io.BytesIO(written())).metadata
    assert information is not None
    assert information.title == "Whinchat 3 - floor"
    assert information.creator == "templater 0.1.0"
    assert information.author == "First Builder"
    assert "ab" * 32 in (information.subject or "")


@pytest.mark.parametrize("date", ["2030-01-02", "", "spring"])
def test_the_files_date_is_the_date_of_issue_never_the_clock(date: str) -> None:
    pdf = write_pdf([page()], name="floor", title=titled(date))
    information = pypdf.PdfReader(io.BytesIO(pdf)).metadata
    assert information is not None
    assert information.creation_date is not None
    assert information.creation_date.strftime("%Y-%m-%d") == (date if date == "2030-01-02" else "2000-01-01")


def test_strict_readers_find_nothing_wrong(caplog: pytest.LogCaptureFixture) -> None:
    pdf = written(*ALL_KINDS)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert document.check_pdf_syntax() == []  # the check of ``qpdf --check``
        assert document.get_warnings() == []
    assert len(pypdf.PdfReader(io.BytesIO(pdf), strict=True).pages) == 1
    assert caplog.records == []


def test_coordinates_are_mm_times_72_over_25_4() -> None:
    pdf = written(Line((10, 20), (110, 20), Pen.WIDE, Group.BAR))
    assert named(pdf, "m") == [pytest.approx([10 * POINT, 20 * POINT], abs=1e-4)]
    assert named(pdf, "l") == [pytest.approx([110 * POINT, 20 * POINT], abs=1e-4)]


def test_no_matrix_scales() -> None:
    pdf = written(*ALL_KINDS)
    assert named(pdf, "cm") == []
    matrices = named(pdf, "Tm")
    assert [matrix[:4] for matrix in matrices] == [[1, 0, 0, 1], [0, 1, -1, 0]]


def test_pens_have_their_width_dashes_and_phase() -> None:
    # ISO 128: wide 0.5 mm, narrow 0.25 mm; long dash 24, gap 3, dot 0.5 line widths (pattern from memory).
    pdf = written(
        Line((0, 0), (9, 0), Pen.WIDE, Group.OUTLINE),
        Line((0, 1), (9, 1), Pen.CHAIN, Group.CENTRELINE, phase=4.5),
    )
    dashes = [
        ([float(x) for x in array], float(phase)) for array, phase in (o for name, o in steps(pdf) if name == "d")
    ]
    assert named(pdf, "w") == [pytest.approx([0.5 * POINT], abs=1e-4), pytest.approx([0.25 * POINT], abs=1e-4)]
    assert dashes[0] == ([], 0)
    assert dashes[1][0] == pytest.approx([6 * POINT, 0.75 * POINT, 0.125 * POINT, 0.75 * POINT], abs=1e-4)
    assert dashes[1][1] == pytest.approx(4.5 * POINT, abs=1e-4)


def test_what_is_no_line_begins_with_a_whole_dash() -> None:
    marks = (
        Arc((50, 50), 20, 0, 90, Pen.CHAIN, Group.OUTLINE),
        Polyline(((0, 0), (9, 0)), False, Pen.DASHED, Group.PLATE),
    )
    assert [float(operands[1]) for name, operands in steps(written(*marks)) if name == "d"] == [0, 0]


def test_state_changes_only_with_the_pen() -> None:
    crosses = [Cross((20 + 20 * number, 50), 8, Group.HOLE) for number in range(5)]
    assert len(named(written(*crosses), "w")) == 1
    assert named(written(*crosses), "J") == [[0]]


def test_circle_is_round_to_a_micrometre() -> None:
    pdf = written(Circle((100, 150), 40, Pen.WIDE, Group.HOLE))
    here = named(pdf, "m")[0]
    for bend in named(pdf, "c"):
        for share in (0.25, 0.5, 0.75):
            weights = ((1 - share) ** 3, 3 * share * (1 - share) ** 2, 3 * share**2 * (1 - share), share**3)
            x, y = (sum(w * value for w, value in zip(weights, [here[i], *bend[i::2]], strict=True)) for i in (0, 1))
            radius = ((x / POINT - 100) ** 2 + (y / POINT - 150) ** 2) ** 0.5
            assert radius == pytest.approx(20, abs=0.001)
        here = bend[4:]


def test_arc_starts_and_ends_at_its_angles() -> None:
    pdf = written(Arc((100, 150), 20, 90, 180, Pen.WIDE, Group.OUTLINE))
    assert named(pdf, "m")[0] == pytest.approx([100 * POINT, 170 * POINT], abs=1e-3)
    assert named(pdf, "c")[-1][4:] == pytest.approx([80 * POINT, 150 * POINT], abs=1e-3)


@pytest.mark.parametrize(("anchor", "share"), [(Anchor.START, 0.0), (Anchor.MIDDLE, 0.5), (Anchor.END, 1.0)])
@pytest.mark.parametrize(("turn", "ahead"), [(0, (1, 0)), (1, (0, 1)), (2, (-1, 0)), (3, (0, -1))])
def test_text_hangs_by_its_anchor(anchor: Anchor, share: float, turn: int, ahead: tuple[int, int]) -> None:
    matrix = named(written(Text((100, 150), "starboard", 4, Group.LABEL, anchor, turn)), "Tm")[0]
    back = share * text_width("starboard", 4)
    assert matrix[:2] == list(ahead)
    assert matrix[4:] == pytest.approx([(100 - back * ahead[0]) * POINT, (150 - back * ahead[1]) * POINT], abs=1e-3)


def test_letters_that_the_typeface_lacks_are_named_before_anything_is_written() -> None:
    tiles = [page(), page(Text((9, 9), "hole \u4e00 and \a", 3, Group.NOTE), Text((9, 19), "\u4e8c", 3, Group.NOTE))]
    with pytest.raises(DrawingError) as caught:
        write_pdf(tiles, name="plank", title=TITLE)
    assert [finding.code for finding in caught.value.findings] == ["S301", "S301"]
    first = caught.value.findings[0].line()
    assert "U+4E00" in first
    assert "U+0007" in first
    assert "plank" in first
    assert "\n" not in first
    assert first.isprintable()


@pytest.mark.parametrize("bold", [False, True])
def test_a_face_read_at_once_is_the_librarys_own(bold: bool) -> None:
    ours, library = vars(register_faces()[bold].face), vars(TTFontFace(io.BytesIO(font_bytes(bold=bold))))
    assert ours.keys() == library.keys() - {"glyphToChar"}
    for name in ours.keys() - {"_pdfScale", "_pos"}:  # a function; where the reader stands
        assert ours[name] == library[name], name


def test_pages_may_come_one_at_a_time() -> None:
    def tiles() -> Iterator[Tile]:
        for number in range(1, 4):
            yield page(Text((50, 50), f"tile {number}", 4, Group.LABEL), name=f"A{number}")

    data = write_pdf(tiles(), name="floor", title=TITLE)
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    assert [sheet.extract_text().strip() for sheet in pages] == ["tile 1", "tile 2", "tile 3"]
    assert data == write_pdf(list(tiles()), name="floor", title=TITLE)


def test_same_tiles_same_bytes_here_and_in_another_process() -> None:
    here = written(*ALL_KINDS)
    assert written(*ALL_KINDS) == here
    script = "from test_writers_pdf import *; print(hashlib.sha256(written(*ALL_KINDS)).hexdigest())"
    paths = os.pathsep.join(path for path in sys.path if path)
    there = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONHASHSEED": "12345", "PYTHONPATH": paths},
    )
    assert there.stdout.strip() == hashlib.sha256(here).hexdigest()


def test_the_librarys_settings_are_left_as_they_were(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rl_config, "useA85", 1)
    pdf = written(*ALL_KINDS)
    assert rl_config.useA85 == 1
    assert b"ASCII85Decode" not in pdf
