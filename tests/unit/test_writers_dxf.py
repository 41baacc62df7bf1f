"""The DXF writer, read back by the library's own auditor and by reading the file's tags without it."""

import hashlib
import io
import os
import subprocess
import sys

import ezdxf
import pytest
from ezdxf import recover
from raster.measure import render

from templater.drawing.marks import Anchor, Arc, Circle, Cross, Curve, Drawing, Group, Line, Mark, Pen, Polyline, Text
from templater.errors import DrawingError
from templater.paper.model import Tile, TitleData
from templater.writers.dxf import CAPITALS, write_dxf
from templater.writers.pdf import write_pdf

TITLE = TitleData("Whinchat 3", "B", "", "", "", "", "", "ab" * 32, "0.1.0")
MARKS: tuple[Mark, ...] = (
    Line((0, -10), (0, -40), Pen.CHAIN, Group.CENTRELINE, phase=2.0),
    Circle((12.345678, -20), 8.5, Pen.WIDE, Group.CUT, "P1"),
    Cross((12.345678, -20), 6, Group.CUT, "P1"),
    Arc((30, -20), 4.25, 90, 270, Pen.WIDE, Group.CUT),
    Arc((60, -20), 4.25, 0, 360, Pen.WIDE, Group.CUT),
    Polyline(((0, 0), (76, 0), (76, -46), (0, -46)), True, Pen.WIDE, Group.CUT),
    Polyline(((80, 0), (85, 0), (85, -5)), True, Pen.WIDE, Group.NOTE, filled=True),
    Curve((60, -30), (((60, -25), (50, -25), (50, -30)), ((50, -35), (60, -35), (60, -30))), Pen.WIDE, Group.CUT),
    Text((10, -10), "plate ⌀ 8.5 é", 3.5, Group.LABEL, Anchor.MIDDLE, turn=1, bold=True),
)
DRAWING = Drawing("plates", "Plates", "template", MARKS, (), (), (0.0, -46.0, 85.0, 0.0))


def tags(dxf: bytes) -> list[tuple[int, str]]:
    """Return the file's group codes and values, two lines each, without any library."""
    lines = dxf.decode("cp1252").splitlines()
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]


def entities(dxf: bytes, kind: str) -> list[dict[int, str]]:
    """Return the tags of each entity of one kind in the ENTITIES section; of repeated codes the last."""
    found: list[dict[int, str]] = []
    inside, current = False, False
    for code, value in tags(dxf):
        if (code, value) == (2, "ENTITIES"):
            inside = True
        elif (code, value) == (0, "ENDSEC"):
            inside = False
        elif inside and code == 0:
            current = value == kind
            if current:
                found.append({})
        elif inside and current:
            found[-1][code] = value
    return found


def test_the_auditor_finds_nothing_to_mend() -> None:
    document, auditor = recover.read(io.BytesIO(write_dxf(DRAWING, TITLE)))
    assert [str(error) for error in (*auditor.errors, *auditor.fixes)] == []
    assert document.dxfversion == "AC1015"
    assert document.header["$INSUNITS"] == 4


def test_the_file_states_mm_and_holds_the_circle_in_them() -> None:
    # DXF reference: $INSUNITS 4 is mm; CIRCLE has its centre in codes 10 and 20, its radius in 40 (from memory).
    dxf = write_dxf(DRAWING, TITLE)
    values = tags(dxf)
    assert values[values.index((9, "$INSUNITS")) + 1] == (70, "4")
    first, whole_turn = entities(dxf, "CIRCLE")
    assert [float(first[code]) for code in (10, 20, 40)] == pytest.approx([12.345678, -20, 4.25], abs=1e-9)
    assert [float(whole_turn[code]) for code in (10, 20, 40)] == pytest.approx([60, -20, 4.25], abs=1e-9)
    assert first[8] == "cut"
    assert first[370].strip() == "50"


def test_every_kind_of_mark_is_there() -> None:
    space = ezdxf.read(io.StringIO(write_dxf(DRAWING, TITLE).decode("cp1252"))).modelspace()
    kinds = sorted(entity.dxftype() for entity in space)
    assert kinds == sorted(
        ["LINE", "CIRCLE", "LINE", "LINE", "ARC", "CIRCLE", "LWPOLYLINE", "HATCH", "SPLINE", "TEXT"]
    )  # fmt: skip
    arc = space.query("ARC").first
    assert arc is not None
    assert (arc.dxf.start_angle, arc.dxf.end_angle) == (90, 270)
    outline = space.query("LWPOLYLINE").first
    assert outline is not None
    assert outline.closed
    assert [tuple(point) for point in outline.get_points("xy")] == [(0, 0), (76, 0), (76, -46), (0, -46)]
    spline = space.query("SPLINE").first
    assert spline is not None
    # The middle of a Bezier piece: (p0 + 3 p1 + 3 p2 + p3) / 8.
    middle = spline.construction_tool().point(0.5)
    assert (middle.x, middle.y) == pytest.approx((55, -26.25))


def test_text_stands_by_its_anchor_and_keeps_its_letters() -> None:
    document, _ = recover.read(io.BytesIO(write_dxf(DRAWING, TITLE)))
    text = document.modelspace().query("TEXT").first
    assert text is not None
    alignment, at, _ = text.get_placement()
    assert (alignment.name, at.x, at.y) == ("CENTER", 10, -10)
    assert (text.dxf.text, text.dxf.rotation, text.dxf.style) == ("plate ⌀ 8.5 é", 90, "bold")
    assert text.dxf.height == pytest.approx(3.5 * CAPITALS)


def test_height_of_capitals_is_the_fonts_own() -> None:
    # Measured on a rendered page: an H of 40 mm type.
    upright = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    letter = Text((10, 10), "H", 40, Group.NOTE)
    tile = Tile("A1", 1, 1, 1, (60.0, 60.0), (0, 0, 60, 60), upright, upright, (letter,), (), (), (), (), ())
    picture = render(write_pdf([tile], name="plates", title=TITLE))
    inked = picture.grey.min(axis=1) < 128
    assert inked.sum() * picture.pitch[1] == pytest.approx(40 * CAPITALS, abs=0.06)


def test_line_types_have_the_pens_patterns() -> None:
    document = ezdxf.read(io.StringIO(write_dxf(DRAWING, TITLE).decode("cp1252")))
    pattern = document.linetypes.get("CHAIN").pattern_tags.tags
    lengths = [tag.value for tag in pattern if tag.code in (40, 49)]
    # ISO 128-2: long dash 24 d, gap 3 d, dot 0.5 d, for d = 0.25 mm (from memory).
    assert lengths == pytest.approx([7.625, 6, -0.75, 0.125, -0.75])


def test_letters_that_the_typeface_lacks_are_refused() -> None:
    bad = Drawing("plates", "", "template", (Text((0, 0), "\u4e00", 3, Group.NOTE),), (), (), (0.0, 0.0, 1.0, 1.0))
    with pytest.raises(DrawingError, match="S301"):
        write_dxf(bad, TITLE)


def test_same_drawing_same_bytes_here_and_in_another_process() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    here = write_dxf(DRAWING, TITLE)
    assert write_dxf(DRAWING, TITLE) == here
    assert ezdxf.options.write_fixed_meta_data_for_testing == before
    script = "from test_writers_dxf import *; print(hashlib.sha256(write_dxf(DRAWING, TITLE)).hexdigest())"
    there = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONHASHSEED": "12345", "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
    )
    assert there.stdout.strip() == hashlib.sha256(here).hexdigest()
