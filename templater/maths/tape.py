"""Triangles of a tape: slant distances, slope, the cosine rule."""

from __future__ import annotations

import math


def slant(level: float, drop: float) -> float:
    """Return the straight distance over a level distance with a drop."""
    return math.hypot(level, drop)


def slope_correction(level: float, drop: float) -> float:
    """Return what is to be taken from the slant distance to get the level one: slant - level, without cancellation."""
    return drop * drop / (math.hypot(level, drop) + level) if level or drop else 0.0


def slope_degrees(level: float, drop: float) -> float:
    """Return the slope below level in degrees."""
    return math.degrees(math.atan2(drop, level))


def third_side(a: float, b: float, angle: float) -> float:
    """Return the side opposite ``angle`` (radians) between sides a and b, by the cosine rule."""
    # (a - b)^2 + 4 a b sin^2(angle/2) keeps its digits for thin triangles.
    return math.sqrt((a - b) ** 2 + 4 * a * b * math.sin(angle / 2) ** 2)


def angle_between(a: float, b: float, opposite: float) -> float:
    """Return the angle (radians) between sides a and b of a triangle, by the cosine rule.

    Raises:
        ValueError: if the three sides make no triangle.
    """
    if a <= 0 or b <= 0 or opposite > a + b or opposite < abs(a - b):
        raise ValueError("the three sides make no triangle")
    half_sine = math.sqrt((opposite * opposite - (a - b) ** 2) / (4 * a * b))
    return 2 * math.asin(min(1.0, half_sine))
