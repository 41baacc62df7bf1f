"""Changes to the files of a part that a shop cuts, and what the proof says to each.

Every corner, arc and circle is moved, every outline left out and drawn twice; then outlines are hidden, lifted,
mirrored, put on other layers, or joined by what is no cut.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from ezdxf.document import Drawing as Document
from ezdxf.entities.circle import Circle
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read
from ezdxf.math import Matrix44

from templater.description.load import Source
from templater.drawing.marks import Drawing
from templater.findings import Finding, ProofError
from templater.pipeline.checked import Options
from templater.pipeline.make import cut
from templater.proof.prove import prove_cut

#: A change in words; the files DXF and SVG that it leaves; whether they may still be called true.
Change = tuple[str, list[tuple[bytes, bytes]], bool]


class CutFiles(NamedTuple):
    """A part's drawing and its two files."""

    drawing: Drawing
    dxf: bytes
    svg: bytes

    @classmethod
    def of(cls, description: Path) -> CutFiles:
        """Return the first part of a boat."""
        _, parts, files = cut(Source(description.read_bytes(), description.name), Options())
        return cls(parts[0].drawing, files[f"{parts[0].stem}.dxf"], files[f"{parts[0].stem}.svg"])

    def proved(self, dxf: bytes, svg: bytes) -> tuple[Finding, ...]:
        """Return what is found, nothing if both files are true."""
        try:
            prove_cut(self.drawing, dxf, svg)
        except ProofError as fault:
            return fault.findings
        return ()

    def edited(self, change: Callable[[Document, list[Any]], object]) -> tuple[bytes, bytes]:
        """Return the files, the DXF changed: the document, and its entities in order."""
        document = read(io.StringIO(self.dxf.decode()))
        change(document, list(document.modelspace()))
        out = io.StringIO()
        document.write(out)
        return out.getvalue().encode(), self.svg

    def put(self, old: str, new: str) -> tuple[bytes, bytes]:
        """Return the files, a text of the SVG replaced once."""
        text = self.svg.decode()
        assert old in text, old
        return self.dxf, text.replace(old, new, 1).encode()


def changes(files: CutFiles) -> Iterator[Change]:
    """Yield every change."""
    yield from _dxf_changes(files)
    yield from _svg_changes(files)


def _corner(number: int, index: int, *, bulge: bool) -> Callable[[Document, list[Any]], None]:
    def change(_: Document, there: list[Any]) -> None:
        outline: LWPolyline = there[number]
        points = outline.get_points("xyb")
        x, y, b = points[index]
        points[index] = (x, y, b + 0.05) if bulge else (x + 0.1, y, b)
        outline.set_points(points, format="xyb")

    return change


def _dxf_changes(files: CutFiles) -> Iterator[Change]:
    edited = files.edited
    there = list(read(io.StringIO(files.dxf.decode())).modelspace())
    outlines = [(n, len(one)) for n, one in enumerate(there) if isinstance(one, LWPolyline)]
    circles = [n for n, one in enumerate(there) if isinstance(one, Circle)]
    corners = [(n, index) for n, count in outlines for index in range(count)]

    def circle(by: float, n: int) -> tuple[bytes, bytes]:
        return edited(lambda _, now: now[n].translate(by, 0, 0))

    def copied(n: int, document: Document, now: list[Any]) -> None:
        document.modelspace().add_entity(now[n].copy())

    def larger(entity: Any) -> None:
        entity.dxf.radius += 0.05

    def look(name: str, value: Any, n: int = 0) -> tuple[bytes, bytes]:
        return edited(lambda _, now: now[n].dxf.set(name, value))

    def layer(change: Callable[[Any], object]) -> tuple[bytes, bytes]:
        return edited(lambda document, _: change(document.layers.get("cut")))

    def other(document: Document, now: list[Any]) -> None:
        document.layers.add("other").freeze()
        now[0].dxf.layer = "other"

    def block(document: Document, _: list[Any]) -> None:
        document.blocks.new("B").add_circle((0, 0), 3)
        document.modelspace().add_blockref("B", (5, 5), dxfattribs={"layer": "cut"})

    def mapped(matrix: Matrix44) -> tuple[bytes, bytes]:
        return edited(lambda _, now: [one.transform(matrix) for one in now])

    def extra(draw: Callable[[Any], object]) -> tuple[bytes, bytes]:
        return edited(lambda document, _: draw(document.modelspace()))

    cuts = {"layer": "cut"}
    one = [
        ("saved again, nothing changed", edited(lambda *_: None), True),
        ("a circle moved by 0.019 mm", circle(0.019, circles[0]), True),
        ("a circle moved by 0.021 mm", circle(0.021, circles[0]), False),
        ("scaled to 100.1 %", mapped(Matrix44.scale(1.001)), False),
        ("scaled by 25.4", mapped(Matrix44.scale(25.4)), False),
        ("mirrored", mapped(Matrix44.scale(1, -1, 1)), False),
        ("turned by a quarter", mapped(Matrix44.z_rotate(1.5707963267948966)), False),
        ("an outline mirrored by its extrusion", look("extrusion", (0, 0, -1)), False),
        ("an outline leaning by its extrusion", look("extrusion", (0.1, 0, 0.995)), False),
        ("a circle lifted by 10 mm", edited(lambda _, now: now[circles[0]].translate(0, 0, 10)), False),
        ("an outline lifted by 10 mm", look("elevation", 10), False),
        ("an outline left open", edited(lambda _, now: now[0].close(False)), False),
        ("an outline 1 mm wide", look("const_width", 1), False),
        ("an outline dashed", look("linetype", "DASHED"), False),
        ("an outline in another colour", look("color", 5), False),
        ("an outline that is not shown", look("invisible", 1), False),
        ("an outline on another layer", look("layer", "0"), False),
        ("an outline on a frozen layer", edited(other), False),
        ("the layer frozen", layer(lambda one: one.freeze()), False),
        ("the layer off", layer(lambda one: one.off()), False),
        ("the layer in another colour", layer(lambda one: setattr(one, "color", 5)), False),
        ("an extra circle", extra(lambda space: space.add_circle((0, 15), 3, dxfattribs=cuts)), False),
        ("an extra circle on another layer", extra(lambda space: space.add_circle((0, 15), 3)), False),
        ("an extra line", extra(lambda space: space.add_line((0, 0), (9, 9), dxfattribs=cuts)), False),
        ("an extra point", extra(lambda space: space.add_point((0, 15), dxfattribs=cuts)), False),
        ("a word", extra(lambda space: space.add_text("cut here", dxfattribs=cuts)), False),
        ("an area", extra(lambda space: space.add_solid([(0, 0), (9, 0), (9, 9)], dxfattribs=cuts)), False),
        ("a block put in", edited(block), False),
        ("a circle beside the model", edited(lambda doc, _: doc.layout("Layout1").add_circle((0, 15), 3)), False),
        ("in inches", edited(lambda document, _: setattr(document, "units", 1)), False),
        ("without a unit", edited(lambda document, _: setattr(document, "units", 0)), False),
    ]  # fmt: skip
    every = range(len(there))
    many = [
        (f"{len(corners)} corners moved by 0.1 mm", [edited(_corner(*at, bulge=False)) for at in corners]),
        (f"{len(corners)} sides bent", [edited(_corner(*at, bulge=True)) for at in corners]),
        (f"{len(circles)} circles moved by 0.1 mm", [circle(0.1, n) for n in circles]),
        (f"{len(circles)} circles larger by 0.1 mm", [edited(lambda _, now, n=n: larger(now[n])) for n in circles]),
        (f"{len(there)} outlines and circles left out", [edited(lambda _, now, n=n: now[n].destroy()) for n in every]),
        (f"{len(there)} outlines and circles cut twice", [edited(partial(copied, n)) for n in every]),
    ]  # fmt: skip
    for words, changed in many:
        yield f"DXF: each of {words}", changed, False
    for words, changed, true in one:
        yield f"DXF: {words}", [changed], true


def _svg_changes(files: CutFiles) -> Iterator[Change]:
    text = files.svg.decode()
    lines = [line for line in text.split("\n") if re.match("<(path|circle) ", line)]
    there = re.finditer(r"(?<=[ ,ML])-?\d+(?:\.\d+)?(?=[ ,][^\"=]* Z\")", text)
    places = [found for found in there if not re.search(r"A[^A-Z]*$", text[: found.start()])]

    def moved(found: re.Match[str]) -> tuple[bytes, bytes]:
        return files.dxf, (text[: found.start()] + f"{float(found[0]) + 0.1:g}" + text[found.end() :]).encode()

    put = files.put
    circle, outline, group = next(one for one in lines if "circle" in one), lines[0], '<g fill="none"'
    every = f"cut SVG: each of {len(lines)} outlines and circles"
    figures = f"cut SVG: each of {len(places)} figures of the outlines changed by 0.1 mm"
    yield figures, [moved(found) for found in places], False
    yield f"{every} left out", [put(f"{line}\n", "") for line in lines], False
    yield f"{every} cut twice", [put(line, f"{line}\n{line}") for line in lines], False
    wide = re.search(r'width="[\d.]+mm"', text)
    assert wide is not None
    one = [
        ("as written", put(circle, circle), True),
        ("a group scaled by 0.999", put(group, '<g transform="scale(.999)" fill="none"'), False),
        ("a group mirrored", put(group, '<g transform="scale(1 -1)" fill="none"'), False),
        ("a group shifted by a style", put(group, '<g style="transform: translate(1px, 0px)" fill="none"'), False),
        ("its size in inches", put(wide[0], wide[0].replace("mm", "in")), False),
        ("an outline hidden", put(outline, outline.replace("<path", '<path display="none"')), False),
        ("an outline in white", put(outline, outline.replace("<path", '<path stroke="white"')), False),
        ("an outline in another colour", put(outline, outline.replace("<path", '<path stroke="blue"')), False),
        ("an outline dashed", put(outline, outline.replace("<path", '<path stroke-dasharray="4"')), False),
        ("an outline filled", put(outline, outline.replace("<path", '<path fill="black"')), False),
        ("an outline left open", put(outline, re.sub(r" L[-\d., ]* Z", "", outline)), False),
        ("an extra circle", put("</g>", '<circle cx="0" cy="15" r="3" stroke-width="0.25" /></g>'), False),
        ("a word", put("</g>", '<text x="0" y="0" fill="black" font-size="5">cut here</text></g>'), False),
        ("an outline used again", put("</g>", '<use href="#cut" x="9" /></g>'), False),
        ("a picture", put("</svg>", '<image width="9" height="9"/></svg>'), False),
    ]  # fmt: skip
    for words, changed, true in one:
        yield f"cut SVG: {words}", [changed], true
