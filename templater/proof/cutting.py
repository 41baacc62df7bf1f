"""Cut files read back and compared: every circle, every corner and bulge of every outline, and nothing doubled."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

from templater.drawing.cut import CutJob, Layer
from templater.findings import Finding, ProofError
from templater.plane.shapes import Point
from templater.proof.match import Middles
from templater.proof.read_dxf import CircleFound, CutMarks, OutlineFound, read_dxf
from templater.proof.report import LIMIT, Deviation, SheetProof

#: Decimals of the manifest.
_DECIMALS = 6
#: A mark this far off is another one, mm.
_REACH = 3.0
_PIECE = re.compile(r"([MLAZ])([^MLAZ]*)")
_NUMBER = re.compile(r"[-+]?\d*\.?\d+(?:[eE][-+]?\d+)?")
_LAYERS = frozenset(layer.value for layer in Layer)

Corners = Sequence[Sequence[float]]


def cutting_dict(cutting: CutJob, dxf: str, svg: str) -> dict[str, Any]:
    """Return what the manifest says of the cut files."""

    def rounded(values: Sequence[float]) -> list[float]:
        return [round(value, _DECIMALS) + 0.0 for value in values]

    return {
        "dxf": dxf,
        "svg": svg,
        "circles": [
            {"id": b.id, "layer": b.layer.value, **dict(zip("xy", rounded(b.at), strict=True)),
             "diameter": round(b.diameter, _DECIMALS)}
            for b in cutting.bores
        ],
        "outlines": [
            {"id": o.id, "layer": o.layer.value, "corners": [[*rounded(c[:2]), round(c[2], 9)] for c in o.corners]}
            for o in cutting.outlines
        ],
    }  # fmt: skip


def prove_cutting(files: Mapping[str, bytes], wanted: Mapping[str, Any]) -> tuple[SheetProof, tuple[Finding, ...]]:
    """Compare the cut files with the manifest's ``cutting``.

    Raises:
        ProofError: Q101, that part of the manifest is malformed.
    """
    try:
        circles = [
            (str(c["id"]), CircleFound(str(c["layer"]), (float(c["x"]), float(c["y"])), float(c["diameter"])))
            for c in wanted["circles"]
        ]
        outlines = [
            (str(o["id"]), OutlineFound(str(o["layer"]), _corners(o["corners"]), closed=True))
            for o in wanted["outlines"]
        ]
        dxf, svg = str(wanted["dxf"]), str(wanted["svg"])
    except (KeyError, TypeError, ValueError) as fault:
        raise ProofError(Finding("Q101", "cutting", f"is malformed: {str(fault)[:80]}")) from None
    work = _Work(circles, outlines)
    work.file(files, dxf, read_dxf)
    work.file(files, svg, read_cut_svg)
    drilled = sum(one.layer == Layer.CUT.value for _, one in circles)
    return SheetProof("cut files", work.worst, 2, drilled, 0, 0, 0, len(circles) + len(outlines)), tuple(work.findings)


def _corners(values: Corners) -> tuple[tuple[float, float, float], ...]:
    return tuple((float(x), float(y), float(bulge)) for x, y, bulge in values)


class _Work:
    """What has been compared so far."""

    def __init__(self, circles: list[tuple[str, CircleFound]], outlines: list[tuple[str, OutlineFound]]) -> None:
        self.circles, self.outlines = circles, outlines
        self.worst = Deviation()
        self.findings: list[Finding] = []

    def _say(self, code: str, where: str, text: str) -> None:
        self.findings.append(Finding(code, where, text))

    def _measure(self, value: float, what: str, where: str) -> None:
        if value > self.worst.value:
            self.worst = Deviation(value, what, where)
        if value > LIMIT:
            self._say("Q141", where, f"{what} is off by {value:.3f} mm")

    def file(self, files: Mapping[str, bytes], name: str, read: Any) -> None:
        """Compare one file."""
        if name not in files:
            self._say("Q102", name, "is missing")
            return
        try:
            marks: CutMarks = read(files[name], name)
        except ProofError as fault:
            self.findings += fault.findings
            return
        circles, outlines = set(range(len(marks.circles))), set(range(len(marks.outlines)))
        grid = Middles([one.at for one in marks.circles])
        for ident, due in self.circles:
            near = [(off, n) for n in grid.near(due.at, _REACH) if n in circles
                    and (off := _circle_off(marks.circles[n], due)) <= _REACH]  # fmt: skip
            if not near:
                self._say("Q140", name, f"circle {ident} is not within {_REACH:g} mm of its place on layer {due.layer}")
                continue
            off, number = min(near)
            circles.remove(number)
            self._measure(off, f"circle {ident}", name)
        grid = Middles([_middle(one) for one in marks.outlines])
        for ident, edge in self.outlines:
            near = [(off, n) for n in grid.near(_middle(edge), _REACH) if n in outlines
                    and (off := _outline_off(marks.outlines[n], edge)) <= _REACH]  # fmt: skip
            if not near:
                self._say("Q140", name, f"outline {ident} is not as it should be on layer {edge.layer}")
                continue
            off, number = min(near)
            outlines.remove(number)
            if not marks.outlines[number].closed:
                self._say("Q142", name, f"outline {ident} is open")
            self._measure(off, f"outline {ident}", name)
        cut = Layer.CUT.value
        left = [marks.circles[n] for n in sorted(circles)], [marks.outlines[n] for n in sorted(outlines)]
        extra = [f"a circle at {c.at[0]:.1f}, {c.at[1]:.1f}" for c in left[0] if c.layer == cut]
        extra += [f"an outline about {x:.1f}, {y:.1f}" for x, y in (_middle(o) for o in left[1] if o.layer == cut)]
        extra += [f"a {kind.lower()}" for kind, layer in marks.others if layer == cut]
        for what in extra:
            self._say("Q143", name, f"{what} is one too many among the cuts: it would be cut as well")


def _middle(one: OutlineFound) -> Point:
    """Return the mean of an outline's corners."""
    count = len(one.corners) or 1
    return sum(c[0] for c in one.corners) / count, sum(c[1] for c in one.corners) / count


def _circle_off(found: CircleFound, due: CircleFound) -> float:
    """Return how far a circle is from the one that is meant: the worse of place and diameter."""
    if found.layer != due.layer:
        return math.inf
    return max(math.dist(found.at, due.at), abs(found.diameter - due.diameter))


def _outline_off(found: OutlineFound, due: OutlineFound) -> float:
    """Return the greatest distance of corners and of the middles of arcs, from whichever corner it starts."""
    if found.layer != due.layer or len(found.corners) != len(due.corners):
        return math.inf
    count = len(due.corners)
    start = min(range(count), key=lambda n: math.dist(found.corners[n][:2], due.corners[0][:2]))
    ring = [found.corners[(start + n) % count] for n in range(count)]
    off = 0.0
    for number, (one, other) in enumerate(zip(ring, due.corners, strict=True)):
        chord = math.dist(other[:2], due.corners[(number + 1) % count][:2])
        off = max(off, math.dist(one[:2], other[:2]), abs(one[2] - other[2]) * chord / 2)
    return off


def read_cut_svg(data: bytes, name: str) -> CutMarks:
    """Return what a cut file in SVG shows, y up; layers are the groups.

    Raises:
        ProofError: Q106, it cannot be read.
    """
    marks = CutMarks()
    try:
        if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
            raise ValueError("document type declarations are refused")
        root = ElementTree.fromstring(data)
        size = [float(root.get(key, "").removesuffix("mm")) for key in ("width", "height")]
        view = [float(part) for part in root.get("viewBox", "").split()]
        if max(abs(size[0] - view[2]), abs(size[1] - view[3])) > 1e-9:
            raise ValueError("its size in mm is not that of its viewBox")
        for group in root.iter("{http://www.w3.org/2000/svg}g"):
            for element in group:
                _take(marks, group.get("id", ""), element)
    except (ElementTree.ParseError, ValueError, IndexError) as fault:
        raise ProofError(Finding("Q106", name, f"cannot be read as SVG: {str(fault)[:100]}")) from None
    return marks


def _take(marks: CutMarks, layer: str, element: ElementTree.Element) -> None:
    tag = element.tag.rpartition("}")[2]
    if tag == "circle":
        x, y, r = (float(element.get(key, "")) for key in ("cx", "cy", "r"))
        marks.circles.append(CircleFound(layer, (x, -y), 2 * r))
    elif tag == "path":
        marks.outlines.append(_path(layer, element.get("d", "")))
    elif tag != "text":
        marks.others.append((tag, layer))


def _path(layer: str, way: str) -> OutlineFound:
    """Return a path of straight pieces and circular arcs."""
    corners: list[list[float]] = []
    closed = False
    at: Point = (0.0, 0.0)
    for kind, rest in _PIECE.findall(way):
        values = [float(part) for part in _NUMBER.findall(rest)]
        if kind == "Z":
            closed = True
            continue
        end = (values[-2], -values[-1])
        if kind == "A":
            # From radius and chord: sagitta over half the chord is the bulge.
            half = math.dist(at, end) / 2
            low = values[0] - math.sqrt(max(values[0] ** 2 - half**2, 0.0))
            sagitta = 2 * values[0] - low if values[3] else low
            corners[-1][2] = sagitta / half * (-1 if values[4] else 1)
        corners.append([*end, 0.0])
        at = end
    if closed and len(corners) > 1 and math.dist(corners[0][:2], corners[-1][:2]) < 1e-3:
        corners.pop()
    return OutlineFound(layer, tuple((x, y, bulge) for x, y, bulge in corners), closed)
