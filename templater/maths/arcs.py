"""Circular arcs by length and rise, and the slope of a taped distance.

Formulas: R = c^2/(8h) + h/2, half angle = 2 atan(2h/c); any table of circular segments has them.
"""

from __future__ import annotations

import math
from typing import NamedTuple


class CircularArc(NamedTuple):
    """An arc; a flat one has an infinite radius."""

    radius: float
    chord: float


def arc_from_length(length: float, rise: float) -> CircularArc:
    """Return the arc of a given length along the curve with a rise at its middle, up to a half circle; in one unit.

    With t = half angle: length = 2 R t and rise = R (1 - cos t), so rise / length = (1 - cos t) / (2 t), which grows
    with t; it is bisected to the last bit. Raises ValueError for a length not positive, a rise below 0, a larger arc.
    """
    if length <= 0 or rise < 0:
        raise ValueError("an arc needs a positive length and a rise of at least 0")
    if rise == 0:
        return CircularArc(math.inf, length)
    wanted = rise / length
    low, high = 0.0, math.pi / 2
    if wanted > _rise_by_length(high):
        raise ValueError("the rise is more than that of a half circle of this length")
    while (middle := (low + high) / 2) not in (low, high):
        if _rise_by_length(middle) < wanted:
            low = middle
        else:
            high = middle
    # Not 2 R sin t, so that an arc too flat for its radius to be a number keeps its chord.
    return CircularArc(length / (2 * high), length * (math.sin(high) / high))


def _rise_by_length(half_angle: float) -> float:
    # 1 - cos t = 2 sin^2(t/2), which keeps its digits for the flat arcs of planks.
    return math.sin(half_angle / 2) ** 2 / half_angle


def along_arc(radius: float, half_chord: float) -> float:
    """Return the distance along the curve from its middle to a point ``half_chord`` away from the middle's normal."""
    return half_chord if math.isinf(radius) else radius * math.asin(half_chord / radius)


def slope_correction(level: float, drop: float) -> float:
    """Return what is to be taken from the slant distance to get the level one: slant - level, without cancellation."""
    return drop * drop / (math.hypot(level, drop) + level) if level or drop else 0.0
