"""DXF to circles, outlines and loose lines, read tag by tag.

Pairs of a group code and a value after the DXF reference; release 12's POLYLINE with VERTEX and later releases'
LWPOLYLINE are both understood, for a shop's program may write the file anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from templater.findings import Finding, ProofError
from templater.plane.shapes import Point

#: mm in one drawing unit by the value of $INSUNITS: 0 none stated, 1 inches, 4 mm, 5 cm, 6 m.
#: Source: DXF reference, header variables, from memory.
_UNITS = {0: 1.0, 1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0}
#: Entities without a line of their own.
_SILENT = frozenset({"TEXT", "MTEXT", "POINT", "VIEWPORT", "SEQEND", "HATCH"})


@dataclass(frozen=True, slots=True)
class CircleFound:
    """A full circle."""

    layer: str
    at: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class OutlineFound:
    """A polyline; corners as (x, y, bulge)."""

    layer: str
    corners: tuple[tuple[float, float, float], ...]
    closed: bool


@dataclass(slots=True)
class CutMarks:
    """What a cut file shows. ``others`` are the kinds of further entities with their layer, such as lines."""

    circles: list[CircleFound] = field(default_factory=list)
    outlines: list[OutlineFound] = field(default_factory=list)
    others: list[tuple[str, str]] = field(default_factory=list)


def read_dxf(data: bytes, name: str) -> CutMarks:
    """Return what the file's model space shows, in mm.

    Raises:
        ProofError: Q107, it cannot be read as DXF.
    """
    try:
        tags = _tags(data)
        factor = _factor(tags)
        marks = CutMarks()
        for kind, layer, values in _entities(tags):
            _take(marks, kind, layer, values, factor)
    except (ValueError, IndexError, KeyError, OverflowError) as fault:
        text = f"cannot be read as DXF: {str(fault)[:100]}"
        raise ProofError(Finding("Q107", name, text)) from None
    return marks


def _tags(data: bytes) -> list[tuple[int, str]]:
    """Return all pairs of group code and value."""
    lines = data.decode("utf-8", errors="replace").removesuffix("\n").removesuffix("\r").split("\n")
    if len(lines) % 2 or len(lines) < 4:
        raise ValueError("its lines are not pairs of a group code and a value")
    return [(int(code), value.rstrip("\r")) for code, value in zip(lines[::2], lines[1::2], strict=True)]


def _factor(tags: list[tuple[int, str]]) -> float:
    """Return mm in a drawing unit."""
    for number, tag in enumerate(tags[:-1]):
        if tag == (9, "$INSUNITS"):
            unit = int(tags[number + 1][1])
            if unit not in _UNITS:
                raise ValueError(f"its unit {unit} is not known")
            return _UNITS[unit]
    return 1.0


Values = list[tuple[int, str]]


def _entities(tags: list[tuple[int, str]]) -> Iterator[tuple[str, str, Values]]:
    """Yield kind, layer and values of each entity; the vertices of a polyline are put among its own values."""
    heads = (n for n in range(len(tags) - 1) if tags[n] == (0, "SECTION") and tags[n + 1] == (2, "ENTITIES"))
    start = next(heads, None)
    if start is None:
        raise ValueError("it has no section of entities")
    kind, layer, values = "", "0", Values()
    for code, value in tags[start + 2 :]:
        if code != 0:
            values.append((code, value))
            if code == 8 and kind != "VERTEX":
                layer = value
            continue
        if value == "VERTEX" and kind in ("POLYLINE", "VERTEX"):
            values.append((0, "VERTEX"))
            continue
        if kind:
            yield kind, layer, values
        if value == "ENDSEC":
            return
        kind, layer, values = value, "0", []
    raise ValueError("its section of entities does not end")


def _take(marks: CutMarks, kind: str, layer: str, values: Values, factor: float) -> None:
    if kind == "CIRCLE":
        one = dict(values)
        marks.circles.append(
            CircleFound(layer, (float(one[10]) * factor, float(one[20]) * factor), 2 * float(one[40]) * factor)
        )
    elif kind == "POLYLINE":
        cuts = [n for n, tag in enumerate(values) if tag == (0, "VERTEX")]
        head = dict(values[: cuts[0]] if cuts else values)
        corners = []
        for a, b in zip(cuts, [*cuts[1:], len(values)], strict=True):
            one = dict(values[a + 1 : b])
            corners.append((float(one[10]) * factor, float(one[20]) * factor, float(one.get(42, "0"))))
        marks.outlines.append(OutlineFound(layer, tuple(corners), bool(int(head.get(70, "0")) & 1)))
    elif kind == "LWPOLYLINE":
        marks.outlines.append(_light(layer, values, factor))
    elif kind not in _SILENT:
        marks.others.append((kind, layer))


def _light(layer: str, values: Values, factor: float) -> OutlineFound:
    """Return a polyline of later releases: 10, 20 and perhaps 42 in turn."""
    corners: list[list[float]] = []
    closed = False
    for code, value in values:
        if code == 10:
            corners.append([float(value) * factor, 0.0, 0.0])
        elif code == 20:
            corners[-1][1] = float(value) * factor
        elif code == 42:
            corners[-1][2] = float(value)
        elif code == 70:
            closed = bool(int(value) & 1)
    return OutlineFound(layer, tuple((x, y, bulge) for x, y, bulge in corners), closed)
