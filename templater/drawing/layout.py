"""Where text may stand: a grid index of everything drawn, and the boxes that text fills.

The index makes each question cost no more than the few marks near it, so a sheet with many holes stays linear.
"""

from __future__ import annotations

import math

from templater.drawing.marks import Anchor, Text
from templater.plane.cells import cells_along, cells_over
from templater.plane.shapes import Box, Point, boxes_overlap, clip_segment, distance_to_segment, grow, segments_cross
from templater.standards.typeface import text_width

#: Ink above and below the base line as parts of the type size. Source: the glyph bounds of the shipped font files:
#: letters l, b, d reach 0.76; g, p, y hang 0.21 to 0.24; brackets and the diameter sign lie between.
ASCENT = 0.77
DESCENT = 0.24
#: Side of a cell of the index, mm: about the length of a label, so that few cells hold the usual mark.
CELL = 12.0


def text_box(text: Text) -> Box:
    """Return the box that a line of text fills, sheet mm."""
    width = text_width(text.text, text.size, bold=text.bold)
    before = {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[text.anchor]
    # Along the reading direction from -before to width - before, across it from -descent to +ascent.
    low, high = -DESCENT * text.size, ASCENT * text.size
    along = (-before, width - before)
    u, v = text.at
    return {
        0: (u + along[0], v + low, u + along[1], v + high),
        1: (u - high, v + along[0], u - low, v + along[1]),
        2: (u - along[1], v - high, u - along[0], v - low),
        3: (u + low, v - along[1], u + high, v - along[0]),
    }[text.turn % 4]


def _beside(a: Point, b: Point, box: Box) -> bool:
    """True if both ends lie beyond the same side of the box: the quick answer for most segments."""
    return (
        (a[0] < box[0] and b[0] < box[0])
        or (a[0] > box[2] and b[0] > box[2])
        or (a[1] < box[1] and b[1] < box[1])
        or (a[1] > box[3] and b[1] > box[3])
    )


def _circle_meets(centre: Point, radius: float, box: Box) -> bool:
    du = max(box[0] - centre[0], 0.0, centre[0] - box[2])
    dv = max(box[1] - centre[1], 0.0, centre[1] - box[3])
    return math.hypot(du, dv) < radius


class Layout:
    """What is drawn already, by cell of a grid: boxes, segments and circles."""

    def __init__(self) -> None:
        self._boxes: dict[int, list[Box]] = {}
        self._segments: dict[int, list[tuple[Point, Point]]] = {}
        self._circles: dict[int, list[tuple[Point, float]]] = {}

    def add_box(self, box: Box) -> None:
        """Take a box as filled: text, a sight window."""
        for cell in cells_over(box, CELL):
            self._boxes.setdefault(cell, []).append(box)

    def add_segment(self, a: Point, b: Point) -> None:
        """Take a straight line as drawn."""
        segment = (a, b)
        for cell in cells_along(a, b, CELL):
            self._segments.setdefault(cell, []).append(segment)

    def add_circle(self, centre: Point, radius: float) -> None:
        """Take a circle as drawn; its inside counts as filled."""
        u, v = centre
        circle = (centre, radius)
        for cell in cells_over((u - radius, v - radius, u + radius, v + radius), CELL):
            self._circles.setdefault(cell, []).append(circle)

    def free(self, box: Box, clearance: float = 0.4) -> bool:
        """True if nothing lies in the box or nearer than ``clearance`` to it (measured square to its edges)."""
        wide = grow(box, clearance)
        for cell in cells_over(wide, CELL):
            for other in self._boxes.get(cell, ()):
                if boxes_overlap(wide, other):
                    return False
            for centre, radius in self._circles.get(cell, ()):
                if _circle_meets(centre, radius, wide):
                    return False
            for a, b in self._segments.get(cell, ()):
                if not _beside(a, b, wide) and clip_segment(a, b, wide):
                    return False
        return True

    def free_line(self, a: Point, b: Point) -> bool:
        """True if a straight line from a to b meets no box, circle or other line."""
        for cell in cells_along(a, b, CELL):
            if any(clip_segment(a, b, box) for box in self._boxes.get(cell, ())):
                return False
            if any(distance_to_segment(centre, a, b) < radius for centre, radius in self._circles.get(cell, ())):
                return False
            if any(segments_cross(a, b, c, d, touching=False) for c, d in self._segments.get(cell, ())):
                return False
        return True


