"""Cut files read back and compared with their drawing: every outline and circle once, and nothing besides."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

from ezdxf import units
from ezdxf.entities.circle import Circle as CircleEntity
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read as read_document
from ezdxf.lldxf.const import DXFError

from templater.drawing.marks import Arc, Circle, Drawing, Group, Pen, Polyline, pieces
from templater.findings import Finding, ProofError
from templater.plane.shapes import Point
from templater.proof.read_svg import read_svg
from templater.proof.report import LIMIT, deviation_text

#: Points on a closed outline in its order: corners, and three more on each arc; eight on a circle.
Loop = tuple[Point, ...]


def prove_cut(drawing: Drawing, dxf: bytes, svg: bytes) -> float:
    """Return the worst deviation of a part's files from its drawing, mm.

    Raises:
        ProofError: Q106 or Q107, one cannot be read; Q140, an outline is not in its place; Q143, one is too many.
    """
    due = [_loop(mark) for mark in drawing.marks if isinstance(mark, Circle | Polyline)]
    names = (f"{drawing.name}.svg", f"{drawing.name}.dxf")
    read = _read_cut_svg(svg, names[0]), _read_dxf(dxf, names[1])
    results = [_compare(due, *found, name) for found, name in zip(read, names, strict=True)]
    if faults := [fault for _, found in results for fault in found]:
        raise ProofError(*faults)
    return max(worst for worst, _ in results)


def _loop(mark: Circle | Polyline) -> Loop:
    if isinstance(mark, Circle):
        ring = Arc(mark.centre, mark.diameter / 2, 0.0, 360.0, mark.pen, mark.group)
        return tuple(ring.point(45.0 * n) for n in range(8))
    found: list[Point] = []
    for point, piece in zip(mark.points, pieces(mark), strict=True):
        found.append(point)
        if isinstance(piece, Arc):
            on = [piece.point(piece.start + (piece.end - piece.start) * n / 4) for n in (1, 2, 3)]
            forward = math.dist(on[0], point) < math.dist(on[2], point)
            found += on if forward else reversed(on)
    return tuple(found)


def _read_cut_svg(data: bytes, name: str) -> tuple[list[Loop], list[str]]:
    """Return the closed outlines of an SVG file in mm, and what else is stroked in it."""
    picture = read_svg(data, name)
    loops = [bend.points for bend in picture.bends if bend.closed]
    loops += [polygon.points for polygon in picture.polygons]
    return loops, ["open line"] * (len(picture.segments) + sum(not bend.closed for bend in picture.bends))


def _read_dxf(data: bytes, name: str) -> tuple[list[Loop], list[str]]:
    """Return the closed outlines of a DXF file in mm, and the kinds of whatever else is in it."""
    look = (Pen.NARROW, Group.CUT)
    loops, others = list[Loop](), list[str]()
    try:
        document = read_document(io.StringIO(data.decode("utf-8")))
        if document.units != units.MM:
            raise ValueError("its unit is not mm")
        for entity in document.modelspace():
            if isinstance(entity, CircleEntity):
                loops.append(_loop(Circle(tuple(entity.dxf.center)[:2], 2 * entity.dxf.radius, *look)))
            elif isinstance(entity, LWPolyline) and entity.closed:
                points, bulges = zip(*(((x, y), b) for x, y, b in entity.get_points("xyb")), strict=True)
                loops.append(_loop(Polyline(points, True, *look, bulges=bulges)))  # noqa: FBT003
            else:
                others.append(f"open or unknown {entity.dxftype()}")
    except (DXFError, ValueError, IndexError, KeyError, OverflowError) as fault:
        text = f"cannot be read as DXF: {str(fault)[:100]}"
        raise ProofError(Finding("Q107", name, text)) from None
    return loops, others


def _compare(due: Sequence[Loop], found: list[Loop], others: list[str], name: str) -> tuple[float, list[Finding]]:
    """Return the worst deviation and the faults of one file."""
    worst, faults = 0.0, list[Finding]()
    left = list(found)
    for loop in due:
        off, number = min(((_off(one, loop), n) for n, one in enumerate(left)), default=(math.inf, 0))
        if off > LIMIT:
            how = f"nearest is off by {deviation_text(off)} mm" if off < 1e3 else "none is like it"
            text = f"the outline at {loop[0][0]:.2f}, {loop[0][1]:.2f} is not in its place: {how}"
            faults.append(Finding("Q140", name, text))
        else:
            worst = max(worst, off)
            del left[number]
    extra = [f"an outline at {loop[0][0]:.2f}, {loop[0][1]:.2f}" for loop in left] if not faults else []
    return worst, faults + [
        Finding("Q143", name, f"{what} is one too many: it would be cut as well")
        for what in (*extra, *others)
    ]


def _off(found: Loop, due: Loop) -> float:
    """Return the greatest distance of points of two outlines, from whichever corner and whichever way they go."""
    count = len(due)
    if len(found) != count:
        return math.inf
    start = min(range(count), key=lambda n: math.dist(found[n], due[0]))
    ways = ([found[(start + sign * n) % count] for n in range(count)] for sign in (1, -1))
    return min(max(map(math.dist, way, due)) for way in ways)
