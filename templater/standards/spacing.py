"""Spacings and edge and end distances of fasteners in wood, as advice, mm.

Source: EN 1995-1-1:2004 + A1:2008, tables 8.2 and 8.4, as printed in a laminated-veneer-lumber handbook of 2025 (nails
and small screws), and in an open structural library and a timber wiki (bolts). That the columns are the standard's and
the floor of 4 d on the unloaded end, are from memory. The edition of 2025 renumbers the tables and may change them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spacing:
    """Least distances, mm.

    Attributes:
        along: between fasteners in a row along the grain (a1).
        across: between rows, across the grain (a2).
        end_loaded: to the end of the grain that the force points to (a3,t).
        end_free: to the other end (a3,c).
        edge_loaded: to the edge that the force points to (a4,t).
        edge_free: to the other edge (a4,c).
    """

    along: float
    across: float
    end_loaded: float
    end_free: float
    edge_loaded: float
    edge_free: float


def bolt_spacing(diameter: float, angle: float = 0.0) -> Spacing:
    """Return the least distances of bolts, mm. Source: EN 1995-1-1:2004, table 8.4.

    Args:
        diameter: of the bolt, mm.
        angle: of the force to the grain, degrees.
    """
    d, sin, cos = diameter, abs(math.sin(math.radians(angle))), abs(math.cos(math.radians(angle)))
    return Spacing(
        along=(4 + cos) * d,
        across=4 * d,
        end_loaded=max(7 * d, 80.0),
        end_free=max((1 + 6 * sin) * d, 4 * d),
        edge_loaded=max((2 + 2 * sin) * d, 3 * d),
        edge_free=3 * d,
    )


def screw_spacing(diameter: float, angle: float = 0.0, *, predrilled: bool = True) -> Spacing:
    """Return the least distances of screws up to 6 mm, loaded across their axis, mm.

    Source: EN 1995-1-1:2004, table 8.2, wood up to 420 kg/m3 where not predrilled.

    Args:
        diameter: of the screw, mm.
        angle: of the force to the grain, degrees.
        predrilled: with a pilot hole.
    """
    d, sin, cos = diameter, abs(math.sin(math.radians(angle))), math.cos(math.radians(angle))
    small = d < 5
    if predrilled:
        return Spacing(
            along=(4 + abs(cos)) * d,
            across=(3 + sin) * d,
            end_loaded=(7 + 5 * cos) * d,
            end_free=7 * d,
            edge_loaded=(3 + (2 if small else 4) * sin) * d,
            edge_free=3 * d,
        )
    return Spacing(
        along=(5 + (5 if small else 7) * abs(cos)) * d,
        across=5 * d,
        end_loaded=(10 + 5 * cos) * d,
        end_free=10 * d,
        edge_loaded=(5 + (2 if small else 5) * sin) * d,
        edge_free=5 * d,
    )
