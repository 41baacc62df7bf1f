"""Plane motions as six numbers (a, b, c, d, e, f): X = a x + c y + e, Y = b x + d y + f."""

from __future__ import annotations

import math

Affine = tuple[float, float, float, float, float, float]
Point = tuple[float, float]

IDENTITY: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def apply(motion: Affine, point: Point) -> Point:
    """Return where a motion takes a point."""
    a, b, c, d, e, f = motion
    x, y = point
    return a * x + c * y + e, b * x + d * y + f


def compose(first: Affine, second: Affine) -> Affine:
    """Return the motion that does ``first``, then ``second``."""
    a, b, c, d, e, f = first
    g, h, i, j, _, _ = second
    x, y = apply(second, (e, f))
    return g * a + i * b, h * a + j * b, g * c + i * d, h * c + j * d, x, y


def invert(motion: Affine) -> Affine:
    """Return the motion that undoes another.

    Raises:
        ValueError: if it squeezes the plane onto a line or point.
    """
    a, b, c, d, e, f = motion
    determinant = a * d - b * c
    if determinant == 0:
        raise ValueError("a motion that flattens the plane cannot be undone")
    p, q, r, s = d / determinant, -b / determinant, -c / determinant, a / determinant
    return p, q, r, s, -(p * e + r * f), -(q * e + s * f)


def shift(x: float, y: float) -> Affine:
    """Return a shift."""
    return 1.0, 0.0, 0.0, 1.0, x, y


def turn(degrees: float) -> Affine:
    """Return a turn about the origin from x towards y; quarter turns are exact."""
    quarter, rest = divmod(degrees % 360, 90)
    if rest == 0:
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return cos, sin, -sin, cos, 0.0, 0.0


def is_rigid(motion: Affine, tolerance: float = 1e-12) -> bool:
    """True if a motion keeps all lengths and does not mirror."""
    a, b, c, d, _, _ = motion
    return abs(a - d) <= tolerance and abs(b + c) <= tolerance and abs(a * a + b * b - 1) <= tolerance
