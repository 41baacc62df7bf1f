"""Spacings and loaded edge and end distances of fasteners in wood, as advice, mm.

Source: EN 1995-1-1:2004 + A1:2008, tables 8.2 and 8.4, as printed in a laminated-veneer-lumber handbook of 2025 (nails
and small screws), and in an open structural library and a timber wiki (bolts). That the columns are the standard's is
from memory. The edition of 2025 renumbers the tables and may change them.
"""

from __future__ import annotations

import math
from typing import NamedTuple


class Spacing(NamedTuple):
    """Least distances, mm.

    Attributes:
        across: between rows, across the grain (a2).
        end: to the end of the grain that the force points to (a3,t).
        edge: to the edge that the force points to (a4,t).
    """

    across: float
    end: float
    edge: float


def bolt_spacing(diameter: float, angle: float = 0.0) -> Spacing:
    """Return the least distances of bolts, mm. Source: EN 1995-1-1:2004, table 8.4.

    Args:
        diameter: of the bolt, mm.
        angle: of the force to the grain, degrees.
    """
    d, sin = diameter, abs(math.sin(math.radians(angle)))
    return Spacing(across=4 * d, end=max(7 * d, 80.0), edge=max((2 + 2 * sin) * d, 3 * d))


def screw_spacing(diameter: float, angle: float = 0.0) -> Spacing:
    """Return the least distances of screws up to 6 mm in predrilled wood, loaded across their axis, mm.

    Source: EN 1995-1-1:2004, table 8.2. Arguments as for ``bolt_spacing``.
    """
    d, sin, cos = diameter, abs(math.sin(math.radians(angle))), math.cos(math.radians(angle))
    return Spacing(across=(3 + sin) * d, end=(7 + 5 * cos) * d, edge=(3 + (2 if d < 5 else 4) * sin) * d)
