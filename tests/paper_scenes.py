"""Drawings made by hand for the tests of paper/, so that they depend on no boat."""

from typing import Any

from templater.drawing.marks import (
    Anchor,
    Arc,
    Box,
    Circle,
    Cross,
    Drawing,
    Group,
    Line,
    Mark,
    Pen,
    Polyline,
    SheetHole,
    Text,
)  # fmt: skip
from templater.paper.printer import PrinterProfile
from templater.paper.tiles import TitleData

TITLE = TitleData(
    "Whinchat 3", "B", "2030-01-02", "First Owner", "WH-3-001", "First Builder", "Second Builder", "ab12cd34" * 8,
    "0.1.0", ("one", "two"),
)  # fmt: skip


def printer_profile(printer: str, across: float, along: float, skew: float, **more: Any) -> PrinterProfile:
    unsaid = {"paper": "A4", "u_across": 0.0, "u_along": 0.0, "u_skew": 0.0, "readings": 4}
    return PrinterProfile(printer=printer, across=across, along=along, skew=skew, **{**unsaid, **more})


def hole_marks(id_: str, at: tuple[float, float], diameter: float = 9.0, arm: float = 8.0) -> tuple[Mark, ...]:
    return (
        Circle(at, diameter, Pen.WIDE, Group.HOLE, id_),
        Cross(at, arm, Group.HOLE, id_),
        Text((at[0] + 2, at[1] + 6), id_, 2.6, Group.LABEL),
    )


def drawing(
    width: float, height: float, holes: dict[str, tuple[float, float]], *extra: Mark, keep: tuple[Box, ...] = (),
    face: str = "upper", title: str = "Cockpit floor",
) -> Drawing:  # fmt: skip
    """Return a sheet with an outline, a chained centreline and holes; its lower left corner at -width/2, -height."""
    u, v0, v1 = width / 2, -height - 1000.0, -1000.0
    marks: list[Mark] = [
        Polyline(((-u, v0), (u, v0), (u, v1), (-u, v1)), True, Pen.WIDE, Group.OUTLINE),
        Line((0, v1), (0, v0), Pen.CHAIN, Group.CENTRELINE, "centreline"),
    ]
    for id_, at in holes.items():
        marks.extend(hole_marks(id_, at))
    listed = tuple(SheetHole(id_, at, 9.0, "bolt") for id_, at in holes.items())
    return Drawing(
        "floor", title, face, (*marks, *extra), listed, tuple(("", box) for box in keep), (-u, v0, u, v1),
        mirrored=face == "under",
    )  # fmt: skip


def floor() -> Drawing:
    """Return a sheet of several A4 pages with holes, an arc across seams, and a block of text."""
    spots = {
        f"{side}{n}": (sign * 215.0, -1100.0 - 90.0 * n) for side, sign in (("P", -1), ("S", 1)) for n in range(1, 5)
    }
    return drawing(
        520.0, 480.0, spots,
        Arc((0.0, -1250.0), 180.0, 10.0, 350.0, Pen.DASHED, Group.PLATE, "big arc"),
        Circle((0.0, -1250.0), 300.0, Pen.WIDE, Group.PLATE, "ring"),
        Text((-100.0, -1210.0), "a longish note about laying this sheet on the wood", 3.0, Group.NOTE, Anchor.MIDDLE),
    )  # fmt: skip
