"""The outline of a plate and its slot, of lines and arcs that meet exactly."""

from __future__ import annotations

from templater.description.model import Slot
from templater.drawing.marks import Arc, Group, Line, Mark, Pen
from templater.plane.shapes import Box, Point

Span = tuple[float, float]


def plate_contour(
    box: Box,
    radius: float,
    *,
    pen: Pen = Pen.WIDE,
    group: Group = Group.PLATE,
    open_top: tuple[Span, ...] = (),
    open_foot: tuple[Span, ...] = (),
) -> tuple[Mark, ...]:
    """Return a plate's outline with rounded corners.

    Args:
        box: of the plate, mm.
        radius: of the corners; 0 for sharp ones.
        pen: of the marks.
        group: of the marks.
        open_top: stretches along u of the upper edge that are left out, where bridges join it.
        open_foot: the same of the lower edge.
    """
    u0, v0, u1, v1 = box
    r = radius
    marks: list[Mark] = [Line((a, v1), (b, v1), pen, group) for a, b in _left(u0 + r, u1 - r, open_top)]
    marks += [Line((a, v0), (b, v0), pen, group) for a, b in _left(u0 + r, u1 - r, open_foot)]
    marks += [Line((u, v0 + r), (u, v1 - r), pen, group) for u in (u0, u1)]
    if r > 0:
        centres = ((u1 - r, v1 - r), (u0 + r, v1 - r), (u0 + r, v0 + r), (u1 - r, v0 + r))
        marks += [Arc(at, r, 90.0 * n, 90.0 * (n + 1), pen, group) for n, at in enumerate(centres)]
    return tuple(marks)


def slot_contour(centre: Point, slot: Slot, *, pen: Pen = Pen.NARROW, group: Group = Group.PLATE) -> tuple[Mark, ...]:
    """Return the outline of a slot along u with round ends."""
    u, v = centre
    r = slot.width / 2
    half = slot.length / 2 - r
    return (
        Line((u - half, v + r), (u + half, v + r), pen, group),
        Line((u - half, v - r), (u + half, v - r), pen, group),
        Arc((u + half, v), r, -90.0, 90.0, pen, group),
        Arc((u - half, v), r, 90.0, 270.0, pen, group),
    )


def _left(start: float, end: float, openings: tuple[Span, ...]) -> list[Span]:
    """Return what is left of a stretch when openings are taken out."""
    result = []
    for a, b in sorted(openings):
        result.append((start, a))
        start = b
    return [(a, b) for a, b in (*result, (start, end)) if b > a]
