"""Cut files read back and compared with their drawing: each piece, arc and circle once, nothing besides."""

from __future__ import annotations

import io

from ezdxf import units
from ezdxf.entities.circle import Circle as CircleEntity
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read as read_document
from ezdxf.lldxf.const import DXFError

from templater.drawing.marks import Arc, Circle, Drawing, Group, Line, Mark, Pen, Polyline, pieces
from templater.findings import Finding, ProofError
from templater.paper.manifest import rows
from templater.proof.marks import BLOT, wanted_marks
from templater.proof.marks import Mark as Found
from templater.proof.match import match
from templater.proof.read_svg import read_svg
from templater.proof.report import told
from templater.units import MM


def prove_cut(drawing: Drawing, dxf: bytes, svg: bytes) -> float:
    """Return the worst deviation of a part's files from its drawing, mm.

    Raises:
        ProofError: Q106 or Q107, one cannot be read; Q108, Q120 to Q127, it shows something else than the drawing.
    """
    marks = [piece for mark in drawing.marks for piece in (pieces(mark) if isinstance(mark, Polyline) else (mark,))]
    due = tuple(wanted_marks(rows(marks)))
    unread: dict[str, None] = {}
    names = (f"{drawing.name}.svg", f"{drawing.name}.dxf")
    faults, worst = list[Finding](), 0.0
    for name, shown in zip(names, (read_svg(svg, names[0], unread), _read_dxf(dxf, names[1])), strict=True):
        found = match(due, shown)
        faults += told(found, due, name)
        worst = max(worst, found.worst.off if found.worst else 0.0)
    faults += [Finding("Q108", names[0], text) for text in unread]
    if faults:
        raise ProofError(*faults)
    return worst


def _read_dxf(data: bytes, name: str) -> tuple[Found, ...]:
    """Return the marks of a DXF file in mm; what is neither circle nor closed outline as a blot of its kind."""
    look = (Pen.NARROW, Group.CUT)
    marks, others = list[Mark | Line | Arc](), list[Found]()
    try:
        document = read_document(io.StringIO(data.decode("utf-8")))
        if document.units != units.MM:
            raise ValueError(f"its unit is not {MM.unit}")
        for entity in document.modelspace():
            upright = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))[2] > 0
            if isinstance(entity, CircleEntity) and upright:
                x, y, _ = entity.dxf.center
                marks.append(Circle((x, y), 2 * entity.dxf.radius, *look))
            elif isinstance(entity, LWPolyline) and entity.closed and upright:
                points, bulges = zip(*(((x, y), b) for x, y, b in entity.get_points("xyb")), strict=True)
                marks += pieces(Polyline(points, True, *look, bulges=bulges))  # noqa: FBT003
            else:
                others.append(Found(BLOT, ((0.0, 0.0),), what=f"open, mirrored or unknown {entity.dxftype()}"))
        return (*wanted_marks(rows(marks)), *others)
    except (DXFError, ValueError, IndexError, KeyError, OverflowError) as fault:
        text = f"cannot be read as DXF: {str(fault)[:100]}"
        raise ProofError(Finding("Q107", name, text)) from None
