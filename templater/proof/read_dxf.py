"""DXF files of parts to cut, read back to marks in mm."""

from __future__ import annotations

import io
from typing import Any

from ezdxf import units
from ezdxf.entities.circle import Circle as CircleEntity
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.viewport import Viewport
from ezdxf.filemanagement import read as read_document
from ezdxf.lldxf.const import DXFError

from templater.drawing.marks import Arc, Circle, Group, Line, Pen, Polyline, pieces
from templater.findings import Finding, ProofError
from templater.paper.manifest import rows
from templater.proof.marks import BLOT, Mark, wanted_marks
from templater.units import MM

#: The layer for cuts, its colour number, and what an entity on it may say of itself.
_LAYER, _COLOUR = "cut", 1
_PLAIN = frozenset(["handle", "owner", "layer", "center", "radius", "flags", "count"])


def read_dxf(data: bytes, name: str) -> tuple[Mark, ...]:
    """Return the marks of a DXF file in mm; what is no plain circle or closed outline on a layer for cuts as a blot.

    Raises:
        ProofError: Q107, it cannot be read as DXF in mm.
    """
    look = (Pen.NARROW, Group.CUT)
    marks, others = list[Circle | Line | Arc](), list[Mark]()
    try:
        document = read_document(io.StringIO(data.decode("utf-8")))
        if document.units != units.MM:
            raise ValueError(f"its unit is not {MM.unit}")
        beside = [one for space in document.layouts if not space.is_modelspace for one in space]
        for entity in (*document.modelspace(), *(one for one in beside if not isinstance(one, Viewport))):
            if entity in beside or not _plain(entity, document.layers):
                what = f"open, hidden, lifted, wide, mirrored or unknown {entity.dxftype()}"
                others.append(Mark(BLOT, ((0.0, 0.0),), what=what))
            elif isinstance(entity, CircleEntity):
                x, y, _ = entity.dxf.center
                marks.append(Circle((x, y), 2 * entity.dxf.radius, *look))
            else:
                points, bulges = zip(*(((x, y), b) for x, y, b in entity.get_points("xyb")), strict=True)
                marks += pieces(Polyline(points, True, *look, bulges=bulges))  # noqa: FBT003
        return (*wanted_marks(rows(marks)), *others)
    except (DXFError, ValueError, IndexError, KeyError, OverflowError) as fault:
        text = f"cannot be read as DXF: {str(fault)[:100]}"
        raise ProofError(Finding("Q107", name, text)) from None


def _plain(entity: Any, layers: Any) -> bool:
    """Return whether an entity is a circle or closed outline that nothing hides, lifts, widens or dashes."""
    layer = layers.get(entity.dxf.layer) if entity.dxf.layer == _LAYER else None
    if layer is None or layer.is_off() or layer.is_frozen() or layer.color != _COLOUR:
        return False
    if entity.dxfattribs().keys() - _PLAIN:
        return False
    if isinstance(entity, CircleEntity):
        return bool(entity.dxf.center.z == 0)
    return isinstance(entity, LWPolyline) and bool(entity.closed) and not any(map(any, entity.get_points("se")))
