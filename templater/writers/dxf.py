"""Drawings to DXF at 1:1, for whoever cuts plates by machine.

DXF release 2000 (AC1015), the oldest that states its unit, here mm. A layer for each ``Group``, a line type and width
for each ``Pen``. x = u, y = v: nothing is done to a coordinate. DXF has no phase of a dash pattern: every line starts
afresh.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import StringIO
from typing import Any

from ezdxf import options  # type: ignore[attr-defined]  # documented, though not re-exported
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.lldxf.const import DXF2000

from templater.drawing.marks import (
    PATTERNS,
    WIDTHS,
    Anchor,
    Arc,
    Circle,
    Cross,
    Curve,
    Drawing,
    Group,
    Line,
    Pen,
    Polyline,
    Text,
)
from templater.paper.model import TitleData
from templater.standards.typeface import FILES
from templater.writers.content import cross_arms
from templater.writers.lettering import check_letters, texts_of

#: Height of capitals over type size: DXF measures text by its capitals. Source: the outline of H in the shipped font
#: files, 1493 of 2048 units high.
CAPITALS = 1493 / 2048
#: Value of $INSUNITS for mm. Source: DXF reference, header variables, from memory.
_MILLIMETRES = 4
_BLACK = 7
_ALIGNMENT = {
    Anchor.START: TextEntityAlignment.LEFT,
    Anchor.MIDDLE: TextEntityAlignment.CENTER,
    Anchor.END: TextEntityAlignment.RIGHT,
}


def write_dxf(drawing: Drawing, title: TitleData) -> bytes:
    """Return the whole sheet as DXF.

    Raises:
        DrawingError: S301, a text has a letter that the typeface lacks.
    """
    check_letters(texts_of(drawing.marks), drawing.name)
    with _fixed_dates():
        document = new(DXF2000, units=_MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        document.header.custom_vars.append("Title", f"{title.boat} - {drawing.title}")
        document.header.custom_vars.append("Description SHA-256", title.description_sha256)
        _tables(document, drawing)
        space = document.modelspace()
        for mark in drawing.marks:
            _DRAW[type(mark)](space, mark)
        stream = StringIO()
        document.write(stream)
    # The library puts letters outside the code page as \\U+XXXX, which readers of this release know.
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _tables(document: Any, drawing: Drawing) -> None:
    """Add line types, layers and text styles, in a fixed order."""
    for pen in Pen:
        if PATTERNS[pen]:
            signed = [length if place % 2 == 0 else -length for place, length in enumerate(PATTERNS[pen])]
            document.linetypes.add(pen.name, [sum(PATTERNS[pen]), *signed])
    used = {mark.group for mark in drawing.marks}
    for group in Group:
        if group in used:
            document.layers.add(group.value, color=_BLACK)
    for bold, file in enumerate(FILES):
        document.styles.add(_style(bool(bold)), font=file)


def _style(bold: bool) -> str:
    return "bold" if bold else "regular"


def _look(mark: Line | Circle | Arc | Polyline | Cross | Curve) -> dict[str, object]:
    """Return layer, line type and line width (hundredths of a mm) of a mark."""
    dashed = {"linetype": mark.pen.name} if PATTERNS[mark.pen] else {}
    return {"layer": mark.group.value, "lineweight": round(WIDTHS[mark.pen] * 100), **dashed}


def _line(space: Any, mark: Line) -> None:
    space.add_line(mark.a, mark.b, dxfattribs=_look(mark))


def _cross(space: Any, mark: Cross) -> None:
    for a, b in cross_arms(mark):
        space.add_line(a, b, dxfattribs=_look(mark))


def _circle(space: Any, mark: Circle) -> None:
    space.add_circle(mark.centre, mark.diameter / 2, dxfattribs=_look(mark))


def _arc(space: Any, mark: Arc) -> None:
    if mark.end - mark.start >= 360:
        space.add_circle(mark.centre, mark.radius, dxfattribs=_look(mark))
    else:
        space.add_arc(mark.centre, mark.radius, mark.start, mark.end, dxfattribs=_look(mark))


def _curve(space: Any, mark: Curve) -> None:
    """Draw Bezier pieces as one B-spline of degree three: every joint is a knot of multiplicity three."""
    count = len(mark.pieces)
    spline = space.add_spline(degree=3, dxfattribs=_look(mark))
    spline.control_points = [mark.start, *(point for piece in mark.pieces for point in piece)]
    spline.knots = [0.0, *(float(knot) for knot in range(count + 1) for _ in range(3)), float(count)]


def _polyline(space: Any, mark: Polyline) -> None:
    if mark.filled:
        hatch = space.add_hatch(color=_BLACK, dxfattribs={"layer": mark.group.value})
        hatch.paths.add_polyline_path(mark.points, is_closed=True)
        return
    space.add_lwpolyline(mark.points, close=mark.closed, dxfattribs=_look(mark))


def _text(space: Any, mark: Text) -> None:
    look = {"layer": mark.group.value, "style": _style(mark.bold), "rotation": 90.0 * (mark.turn % 4)}
    text = space.add_text(mark.text, height=mark.size * CAPITALS, dxfattribs=look)
    text.set_placement(mark.at, align=_ALIGNMENT[mark.anchor])


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """Keep clock and chance out of the file, and leave the library's setting as it was."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


_DRAW: dict[type, Callable[[Any, Any], None]] = {
    Line: _line,
    Cross: _cross,
    Circle: _circle,
    Arc: _arc,
    Curve: _curve,
    Polyline: _polyline,
    Text: _text,
}
