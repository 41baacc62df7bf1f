"""A cutting job to SVG at 1:1: size in mm and a viewBox of the same numbers, so that one user unit is 1 mm.

SVG's y runs down, the drawing's v up: x = u, y = -v, and nothing else is done to a coordinate.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape  # that of xml.sax loads the network library too

from templater.drawing.cut import Caption, CutJob, Layer, Outline
from templater.writers.numbers import svg_number as number

#: Red for cuts and blue for marks: common practice of laser shops, no source.
_COLOURS = {
    Layer.CUT: "#ff0000", Layer.COUNTERSINK: "#008000", Layer.MARK: "#0000ff", Layer.SHEET: "#808080",
    Layer.NOTE: "#000000",
}  # fmt: skip
#: Thin line that cutting programs take for a vector, mm: common practice, no source.
_HAIRLINE = "0.1"
_BORDER = 5.0


def write_cut_svg(cutting: CutJob) -> bytes:
    """Return the cutting job as SVG, a group for each ``Layer``. Same job, same bytes."""
    u0, v0, u1, v1 = cutting.box
    width, height = number(u1 - u0 + 2 * _BORDER), number(v1 - v0 + 2 * _BORDER)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm" '
        f'viewBox="{number(u0 - _BORDER)} {number(-v1 - _BORDER)} {width} {height}" '
        'font-family="DejaVu Sans Condensed, DejaVu Sans, sans-serif">',
        f"<title>{escape(cutting.title)}</title>",
        f"<desc>{escape(' '.join(words.text for words in cutting.notes))}</desc>",
    ]
    for layer in Layer:
        lines.append(f'<g id="{layer.value}" fill="none" stroke="{_COLOURS[layer]}" stroke-width="{_HAIRLINE}">')
        lines += _marks(cutting, layer)
        lines.append("</g>")
    lines.append("</svg>")
    return "\n".join([*lines, ""]).encode()


def _marks(cutting: CutJob, layer: Layer) -> Iterator[str]:
    for outline in cutting.outlines:
        if outline.layer is layer:
            yield f'<path id="{escape(outline.id)}" d="{_way(outline)}"/>'
    for bore in cutting.bores:
        if bore.layer is layer:
            u, v, radius = number(bore.at[0]), number(-bore.at[1]), number(bore.diameter / 2)
            yield f'<circle id="{escape(bore.id)}" cx="{u}" cy="{v}" r="{radius}"/>'
    for line in cutting.scribes:
        if line.layer is layer:
            a, b = (f'x{n}="{number(p[0])}" y{n}="{number(-p[1])}"' for n, p in ((1, line.a), (2, line.b)))
            yield f"<line {a} {b}/>"
    for words in cutting.captions:
        if words.layer is layer:
            yield _words(words, _COLOURS[layer])


def _way(outline: Outline) -> str:
    """Return a closed path; a bulge b is an arc over four times the arc tangent of b."""
    corners = outline.corners
    parts = [f"M{number(corners[0][0])} {number(-corners[0][1])}"]
    for place, (u, v, bulge) in enumerate(corners):
        end = corners[(place + 1) % len(corners)]
        to = f"{number(end[0])} {number(-end[1])}"
        if bulge:
            radius = math.dist((u, v), end[:2]) / 2 / math.sin(2 * math.atan(abs(bulge)))
            large, sweep = int(abs(bulge) > 1), int(bulge < 0)
            parts.append(f"A{number(radius)} {number(radius)} 0 {large} {sweep} {to}")
        elif place < len(corners) - 1:
            parts.append(f"L{to}")
    return " ".join([*parts, "Z"])


def _words(words: Caption, colour: str) -> str:
    u, v = number(words.at[0]), number(-words.at[1])
    anchor = ' text-anchor="middle"' if words.centred else ""
    turn = f' transform="rotate({-90 * (words.turn % 4)} {u} {v})"' if words.turn % 4 else ""
    return (
        f'<text x="{u}" y="{v}" font-size="{number(words.size)}" fill="{colour}" stroke="none"{anchor}{turn}>'
        f"{escape(words.text)}</text>"
    )
