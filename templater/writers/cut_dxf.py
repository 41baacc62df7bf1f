"""A cutting job to DXF at 1:1, for laser and water jet: closed polylines, circles, lines and words.

DXF release 12 (AC1009), which every shop's program reads, written directly: its few entities need no library, and
loading one takes longer than all else. Tags after the DXF reference (release 12), from memory; the tests have the
files audited by another reader.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from templater.drawing.cut import Caption, CutJob, Layer, Outline
from templater.standards.typeface import text_width
from templater.writers.numbers import dxf_number as number

#: Colour numbers: 1 red, 5 blue, 3 green, 8 grey, 7 black on white. Red for cuts and blue for marks: common practice
#: of laser shops, no source.
_COLOURS = {Layer.CUT: 1, Layer.COUNTERSINK: 3, Layer.MARK: 5, Layer.SHEET: 8, Layer.NOTE: 7}
#: Value of $INSUNITS for mm. Source: DXF reference, header variables, from memory.
_MILLIMETRES = 4
#: Height of capitals over type size of the typeface the drawing reckons with, as DXF measures text by its capitals.
CAPITALS = 1493 / 2048

Tag = tuple[int, str]


def write_cut_dxf(cutting: CutJob) -> bytes:
    """Return the cutting job as DXF, a layer for each ``Layer``. Same job, same bytes."""
    tags = [(999, _plain(f"{cutting.title}. Unit mm, scale 1:1."))]
    tags += [*_header(cutting), *_tables(), (0, "SECTION"), (2, "ENTITIES")]
    for outline in cutting.outlines:
        tags += _outline(outline)
    for bore in cutting.bores:
        tags += [(0, "CIRCLE"), (8, bore.layer.value), *_point(10, bore.at), (40, number(bore.diameter / 2))]
    for line in cutting.scribes:
        tags += [(0, "LINE"), (8, line.layer.value), *_point(10, line.a), *_point(11, line.b)]
    for words in cutting.captions:
        tags += _words(words)
    tags += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(f"{code:>3}\r\n{value}\r\n" for code, value in tags).encode("ascii")


def _header(cutting: CutJob) -> Iterator[Tag]:
    u0, v0, u1, v1 = cutting.box
    yield from [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]
    yield from [(9, "$INSUNITS"), (70, str(_MILLIMETRES)), (9, "$MEASUREMENT"), (70, "1")]
    yield from [(9, "$EXTMIN"), *_point(10, (u0, v0)), (9, "$EXTMAX"), *_point(10, (u1, v1)), (0, "ENDSEC")]


def _tables() -> Iterator[Tag]:
    yield from [(0, "SECTION"), (2, "TABLES")]
    yield from [(0, "TABLE"), (2, "LTYPE"), (70, "1")]
    yield from [(0, "LTYPE"), (2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65"), (73, "0"), (40, "0.0")]
    yield from [(0, "ENDTAB"), (0, "TABLE"), (2, "LAYER"), (70, str(len(Layer)))]
    for layer in Layer:
        yield from [(0, "LAYER"), (2, layer.value), (70, "0"), (62, str(_COLOURS[layer])), (6, "CONTINUOUS")]
    yield from [(0, "ENDTAB"), (0, "TABLE"), (2, "STYLE"), (70, "1")]
    yield from [(0, "STYLE"), (2, "STANDARD"), (70, "0"), (40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0")]
    yield from [(42, "2.5"), (3, "txt"), (4, ""), (0, "ENDTAB"), (0, "ENDSEC")]


def _outline(outline: Outline) -> Iterator[Tag]:
    layer = outline.layer.value
    yield from [(0, "POLYLINE"), (8, layer), (66, "1"), *_point(10, (0.0, 0.0)), (70, "1")]
    for u, v, bulge in outline.corners:
        yield from [(0, "VERTEX"), (8, layer), *_point(10, (u, v))]
        if bulge:
            yield 42, f"{bulge:.12f}"
    yield from [(0, "SEQEND"), (8, layer)]


def _words(words: Caption) -> Iterator[Tag]:
    """Begin the text where its middle would need it to; readers differ in how they centre."""
    u, v = words.at
    if words.centred:
        half = text_width(words.text, words.size) / 2
        turn = words.turn % 4
        u, v = u - half * (1, 0, -1, 0)[turn], v - half * (0, 1, 0, -1)[turn]
    yield from [(0, "TEXT"), (8, words.layer.value), *_point(10, (u, v)), (40, number(words.size * CAPITALS))]
    yield from [(1, _plain(words.text)), (50, str(90 * (words.turn % 4)))]


def _point(code: int, point: tuple[float, float]) -> Iterable[Tag]:
    return (code, number(point[0])), (code + 10, number(point[1])), (code + 20, "0.0")


def _plain(text: str) -> str:
    r"""Return text as release 12 takes it: other letters as \U+XXXX, which later readers turn back."""
    return "".join(letter if " " <= letter <= "~" else f"\\U+{ord(letter):04X}" for letter in text)
