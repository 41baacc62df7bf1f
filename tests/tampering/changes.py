"""Changes to one floor tile of the demo boat, and what the proof says to each.

Every stroke and every text of the page is moved by 1 mm and taken out, one at a time; then marks are hidden, painted
over, drawn otherwise or added; then the picture of the whole sheet is spoilt.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from pypdf import PageObject, PdfReader, PdfWriter, Transformation
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    RectangleObject,
)

from templater.description.load import Source
from templater.findings import Finding
from templater.pipeline.make import make
from templater.proof.prove import prove

POINT = 72 / 25.4
#: A drawing operation of the page's stream, a line each: a path that is painted, or a text.
_STROKE = re.compile(rb"^.* (?:S|s|f)$")
_TEXT = re.compile(rb"^BT .* ET$")
_PLACES = re.compile(rb"([-\d.]+) ([-\d.]+)(?= (?:[-\d.]+ [-\d.]+ )*[mlc]\b)")


@dataclass
class Tile:
    """One page of a made boat, with its part of the manifest."""

    pdf: bytes
    svg: bytes
    manifest: dict[str, Any]

    @classmethod
    def of(cls, description: Path, number: int = 0) -> Tile:
        """Make a boat and take a page of its floor out."""
        made = make(Source(description.read_bytes(), description.name)).files
        manifest = json.loads(made["manifest.json"])
        sheet = manifest["sheets"][0]
        page = sheet["pages"][number]
        sheet["pages"] = [page]
        sheet["holes"] = [hole for hole in sheet["holes"] if hole["id"] in page["holes"]]
        for mark in sheet["registration"]:
            mark["tiles"] = [tile for tile in mark["tiles"] if tile == page["tile"]]
        manifest["sheets"] = [sheet]
        writer = PdfWriter()
        writer.add_page(PdfReader(io.BytesIO(made["floor.pdf"])).pages[number])
        out = io.BytesIO()
        writer.write(out)
        return cls(out.getvalue(), made["floor.svg"], manifest)

    @cached_property
    def stream(self) -> list[bytes]:
        """The page's content stream, an operation a line."""
        contents = PdfReader(io.BytesIO(self.pdf)).pages[0].get_contents()
        assert contents is not None
        return contents.get_data().split(b"\n")

    def edited(self, change: Callable[[PageObject, PdfWriter], None]) -> bytes:
        """Return the file with its page changed."""
        writer = PdfWriter(clone_from=PdfReader(io.BytesIO(self.pdf)))
        change(writer.pages[0], writer)
        out = io.BytesIO()
        writer.write(out)
        return out.getvalue()

    def drawn(self, lines: list[bytes]) -> bytes:
        """Return the file with another content stream."""

        def change(page: PageObject, writer: PdfWriter) -> None:
            stream = DecodedStreamObject()
            stream.set_data(b"\n".join(lines))
            page[NameObject("/Contents")] = writer._add_object(stream)

        return self.edited(change)

    def proved(self, pdf: bytes | None = None, svg: bytes | None = None) -> tuple[Finding, ...]:
        """Return what ``templater proof`` finds in the page, or in the picture."""
        files = {"floor.svg": svg} if svg is not None else {"floor.pdf": pdf or self.pdf}
        return prove(files, self.manifest, whole=False, as_written=False).findings

    def numbers(self, kind: re.Pattern[bytes]) -> list[int]:
        """Return the lines of the stream that draw something of a kind."""
        return [number for number, line in enumerate(self.stream) if kind.match(line)]

    def without(self, number: int) -> bytes:
        """Return the file with one operation left out."""
        return self.drawn([*self.stream[:number], *self.stream[number + 1 :]])

    def with_line(self, number: int, line: bytes) -> bytes:
        """Return the file with one operation replaced."""
        return self.drawn([*self.stream[:number], line, *self.stream[number + 1 :]])


def strokes(tile: Tile) -> list[int]:
    """Return the lines that paint a path."""
    return tile.numbers(_STROKE)


def texts(tile: Tile) -> list[int]:
    """Return the lines that show a text."""
    return tile.numbers(_TEXT)


def moved(line: bytes, x: float, y: float) -> bytes:
    """Return an operation moved by mm."""
    if _TEXT.match(line):
        head, (a, b, c, d, e, f), rest = line[:3], line.split()[1:7], b" ".join(line.split()[7:])
        e, f = (f"{float(value) + by * POINT:.4f}".encode() for value, by in ((e, x), (f, y)))
        return b" ".join([head.strip(), a, b, c, d, e, f, rest])
    parts = line.split()
    numbers = [number for number, part in enumerate(parts) if re.fullmatch(rb"[-\d.]+", part)]
    for index, number in enumerate(numbers):
        parts[number] = f"{float(parts[number]) + (y if index % 2 else x) * POINT:.4f}".encode()
    return b" ".join(parts)


def page_changes(tile: Tile) -> Iterator[tuple[str, bytes, bool]]:
    """Yield what is done to the page in words, the file, and whether it may still be called true."""
    stream = tile.stream
    circle = next(n for n, line in enumerate(stream) if line.count(b" c ") >= 8)
    line = strokes(tile)[0]
    text = texts(tile)[0]
    wrap = [b"q", *stream, b"Q"]

    def page(change: Callable[[PageObject], object]) -> bytes:
        return tile.edited(lambda page, _: change(page) and None)

    def with_state(**keys: Any) -> bytes:
        def change(page: PageObject, writer: PdfWriter) -> None:
            state = DictionaryObject({NameObject(f"/{key}"): value for key, value in keys.items()})
            resources: Any = page["/Resources"]
            resources[NameObject("/ExtGState")] = DictionaryObject({NameObject("/Gx"): state})
            made = DecodedStreamObject()
            made.set_data(b"\n".join([b"/Gx gs", *stream]))
            page[NameObject("/Contents")] = writer._add_object(made)

        return tile.edited(change)

    def note(page: PageObject, writer: PdfWriter) -> None:
        square = DictionaryObject({
            NameObject("/Type"): NameObject("/Annot"), NameObject("/Subtype"): NameObject("/Square"),
            NameObject("/Rect"): RectangleObject((50, 50, 300, 300)),
            NameObject("/IC"): ArrayObject([FloatObject(1)] * 3),
        })  # fmt: skip
        page[NameObject("/Annots")] = ArrayObject([writer._add_object(square)])

    yield "saved again, nothing changed", tile.drawn(stream), True
    yield "turned by the page's Rotate", page(lambda one: one.rotate(90)), True
    shift = Transformation().translate(3 * POINT, 0)
    yield "moved on the paper by 3 mm", page(lambda one: one.add_transformation(shift)), True
    for scale in (0.97, 1.0001, 0.9999):
        change = Transformation().scale(scale)
        yield f"scaled to {100 * scale:g} %", page(lambda one, by=change: one.add_transformation(by)), False
    middle = (1.0001, 0, 0, 1.0001, -0.0001 * 105 * POINT, -0.0001 * 148.5 * POINT)
    yield "scaled to 100.01 % about its middle", page(lambda one: one.add_transformation(middle)), False
    yield "mirrored", page(lambda one: one.add_transformation((-1, 0, 0, 1, 210 * POINT, 0))), False
    yield "a circle moved by 0.019 mm", tile.with_line(circle, moved(stream[circle], 0.019, 0)), True
    yield "a circle moved by 0.021 mm", tile.with_line(circle, moved(stream[circle], 0.021, 0)), False
    yield "a circle drawn twice", tile.with_line(circle, stream[circle] + b"\n" + stream[circle]), False
    yield "half a circle drawn forth and back", tile.with_line(circle, _half(stream[circle])), False
    yield "an extra hole", tile.drawn([*stream, moved(stream[circle], 30, 0)]), False
    yield "a line beyond the drawing", tile.drawn([*stream, b"300 300 m 400 300 l S"]), False
    yield "a word beyond the drawing", tile.drawn([*stream, moved(stream[text], 5, 40)]), False
    yield "a line in white", tile.with_line(line, b"q 1 G " + stream[line] + b" Q"), False
    yield "all in white", tile.drawn([b"1 G 1 g", *stream]), False
    yield "all in light grey", tile.drawn([b"0.9 G 0.9 g", *stream]), False
    yield "a white area over part of it", tile.drawn([*stream, b"1 g 100 100 200 300 re f"]), False
    yield "a black area over part of it", tile.drawn([*stream, b"0 g 100 100 200 300 re f"]), False
    inline = b"q 200 0 0 300 100 100 cm BI /W 1 /H 1 /CS /G /BPC 8 ID \xff EI Q"
    yield "a picture over part of it", tile.drawn([*stream, inline]), False
    yield "a shading over all", tile.drawn([*stream, b"/Sh0 sh"]), False
    yield "all clipped away", tile.drawn([b"q 0 0 0 0 re W n", *stream, b"Q"]), False
    yield "half clipped away", tile.drawn([b"q 0 0 300 842 re W n", *stream, b"Q"]), False
    yield "clipped by a round outline", tile.drawn([b"q 0 0 m 600 0 600 800 0 800 c h W n", *stream, b"Q"]), False
    yield "a line in a layer", tile.with_line(line, b"/OC /L1 BDC " + stream[line] + b" EMC"), False
    yield "transparent strokes", with_state(CA=FloatObject(0)), False
    yield "a soft mask", with_state(SMask=DictionaryObject({NameObject("/S"): NameObject("/Alpha")})), False
    yield "invisible letters", tile.drawn([b"3 Tr", *stream]), False
    yield "letters only outlined", tile.drawn([b"1 Tr", *stream]), False
    yield "letters stretched to 101 %", tile.drawn([b"101 Tz", *stream]), False
    yield "letters 1 point apart", tile.drawn([b"1 Tc", *stream]), False
    yield "letters raised by 1 point", tile.drawn([b"1 Ts", *stream]), False
    yield "a note over part of it", tile.edited(note), False
    wide = [re.sub(rb"^([\d.]+) w", lambda m: b"%f w" % (2 * float(m[1])), one) for one in stream]
    yield "strokes twice as wide", tile.drawn(wide), False
    yield "patterns left out", tile.drawn([re.sub(rb"\[[\d. ]+\]", b"[]", one) for one in stream]), False
    late = [re.sub(rb"\] ([\d.]+) d", lambda m: b"] %f d" % (float(m[1]) + 8), one) for one in stream]
    yield "patterns shifted by half", tile.drawn(late), False
    yield "round line ends", tile.drawn([b"1 J", *stream[1:]]), False
    crop = RectangleObject((90, 0, 595, 842))
    yield "cropped through the marks", page(lambda one: one.__setitem__(NameObject("/CropBox"), crop)), False
    yield "an unknown operator", tile.drawn([*stream, b"1 2 conceal"]), False
    yield "all within two saved states", tile.drawn([b"q", *wrap, b"Q"]), True
    labels = [n for n in texts(tile) if len(stream[n].partition(b"<")[2].partition(b">")[0]) == 4]
    first = labels[0]
    second = next(n for n in labels if stream[n].partition(b"Tm")[2] != stream[first].partition(b"Tm")[2])
    one, other = (stream[n].partition(b"Tm")[0::2] for n in (first, second))
    swapped = list(stream)
    swapped[first], swapped[second] = one[0] + b"Tm" + other[1], other[0] + b"Tm" + one[1]
    yield "two labels exchanged", tile.drawn(swapped), False
    yield "turned and one stroke left out", _turned(tile.without(line)), False


def _half(line: bytes) -> bytes:
    """Return a circle that goes half its way and back."""
    numbers = re.findall(rb"[-\d.]+", line)
    points = [b" ".join(pair) for pair in zip(numbers[::2], numbers[1::2], strict=False)]
    way = points[: len(points) // 6 * 3 + 1]
    way += way[-2::-1]
    curves = [b" ".join(way[n : n + 3]) + b" c" for n in range(1, len(way), 3)]
    return b" ".join([way[0] + b" m", *curves, b"h S"])


def _turned(data: bytes) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    writer.pages[0].rotate(90)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def picture_changes(tile: Tile) -> Iterator[tuple[str, bytes, bool]]:
    """Yield the same of the picture of the whole sheet."""
    svg = tile.svg.decode()
    circle = re.search(r"<circle [^>]*/>", svg)
    assert circle is not None
    group = '<g fill="none"'

    def put(old: str, new: str) -> bytes:
        assert old in svg, old
        return svg.replace(old, new, 1).encode()

    yield "as written", svg.encode(), True
    yield "a circle left out", put(circle[0], ""), False
    for what, how in (("hidden by display", 'display="none"'), ("hidden by a style", 'style="display:none"'),
                      ("in white", 'style="stroke:#fff"')):  # fmt: skip
        yield f"a circle {what}", put(circle[0], circle[0].replace("<circle", f"<circle {how}")), False
    yield "a style sheet", put(group, f"<style>circle {{display: none}}</style>{group}"), False
    yield "a group shifted by a style", put(group, '<g style="transform: translate(1px, 0px)" fill="none"'), False
    yield "a group scaled by 0.9999", put(group, '<g transform="scale(.9999)" fill="none"'), False
    yield (
        "all in an inner picture of another scale",
        put(group, f'<svg viewBox="0 0 9 9">{group}').replace(b"</svg>", b"</svg></svg>"),
        False,
    )
    yield "a group with a clip", put(group, '<g clip-path="url(#a)" fill="none"'), False
    view = re.search(r'viewBox="(\S+)', svg)
    assert view is not None
    yield "its view moved by 100 mm", put(view[0], f'viewBox="{float(view[1]) + 100}'), False
    yield "elements of no viewer", put("http://www.w3.org/2000/svg", "http://www.w3.org/svg"), False
    white = '<rect x="-999" y="-3999" width="9999" height="9999" fill="white"/>'
    yield "a white area over all", put("</svg>", f"{white}</svg>"), False
    yield "a picture over all", put("</svg>", '<image width="9999" height="9999"/></svg>'), False
    extra = circle[0].replace("<circle", '<circle stroke="black" fill="none"')
    yield "an extra circle", put("</svg>", f"{extra}</svg>"), False
