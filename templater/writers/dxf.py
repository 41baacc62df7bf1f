"""A part to DXF at 1:1 for laser and water jet: closed polylines with true arcs and circles on one layer, unit mm."""

import io
from collections.abc import Iterable
from typing import Any

import ezdxf
from ezdxf import units
from ezdxf.filemanagement import new

from templater.drawing.marks import Circle, Mark, Polyline

#: The one layer, and its colour number: 1 is red, which laser shops take for cuts (common practice, no source).
LAYER, _RED = "cut", 1


def write_dxf(marks: Iterable[Mark]) -> bytes:
    """Return closed outlines and circles as DXF of release 2000. Same marks, same bytes."""
    options: Any = vars(ezdxf)["options"]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # else the time of day and a random number go in
    try:
        document = new("R2000", units=units.MM)
        document.layers.add(LAYER, color=_RED)
        space = document.modelspace()
        look = {"layer": LAYER}
        for mark in marks:
            if isinstance(mark, Circle):
                space.add_circle(mark.centre, mark.diameter / 2, dxfattribs=look)
            elif isinstance(mark, Polyline):
                corners = [(u, v, bulge) for (u, v), bulge in zip(mark.points, mark.bulges, strict=True)]
                space.add_lwpolyline(corners, format="xyb", close=mark.closed, dxfattribs=look)
            else:
                raise TypeError(f"{type(mark).__name__}: nothing that is cut")
        stream = io.StringIO()
        document.write(stream)
        return stream.getvalue().encode("utf-8")
    finally:
        options.write_fixed_meta_data_for_testing = before
