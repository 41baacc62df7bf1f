"""Pages made by hand for the tests of proof: a sheet of two tiles, drawn with a plain PDF library, in our typeface.

Lengths go to points by 72 / 25.4: ISO 32000-1:2008, 8.3.2.3 and the international inch.
"""

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from templater.standards.typeface import font_bytes

SHA = "77ab0c12" + "0" * 56
POINT = 72 / 25.4
PAPER = (210.0, 297.0)
#: id, x, y, diameter, kind; on the sheet, which is 350 mm wide.
HOLES = (
    ("P1", 40.0, 60.0, 18.0, "sleeve"),
    ("P2", 60.0, 200.0, 18.0, "sleeve"),
    ("S1", 260.0, 60.0, 18.0, "sleeve"),
    ("S2", 310.0, 200.0, 18.0, "sleeve"),
    ("P1-a", 40.0, 90.0, 4.5, "first screw"),
    ("P1-b", 55.0, 90.0, 4.5, "second screw"),
    ("block base 1", 180.0, 120.0, 5.0, "fitting"),
)
REGISTRATION = (("R1", 178.0, 40.0), ("R2", 178.0, 230.0))
#: window of each tile on the sheet and the shift onto its page.
TILES = {"1-1": ((0.0, 0.0, 190.0, 270.0), (10.0, 13.0)), "1-2": ((175.0, 0.0, 365.0, 270.0), (-165.0, 13.0))}
BARS = (("across", (20.0, 250.0), (120.0, 250.0)), ("along", (30.0, 120.0), (30.0, 220.0)))


@dataclass(frozen=True)
class Made:
    """What a test may change before the pages are drawn."""

    scale: float = 1.0
    points_per_mm: float = POINT
    shift: dict[str, tuple[float, float]] = field(default_factory=dict)
    stamp: dict[int, str] = field(default_factory=dict)
    nudge: dict[str, tuple[float, float]] = field(default_factory=dict)
    leave_out: tuple[str, ...] = ()
    correction: tuple[float, float, float] = (1.0, 1.0, 0.0)
    identity: bool = True
    words: str = "forward"
    pages: tuple[str, ...] = ("1-1", "1-2")


TRUE = Made()


def to_page(tile: str, made: Made = TRUE) -> tuple[float, ...]:
    """Return the map of a tile, correction about the page's middle included."""
    across, along, skew = made.correction
    x, y = TILES[tile][1]
    mx, my = PAPER[0] / 2, PAPER[1] / 2
    return (across, 0.0, skew, along, mx + across * (x - mx) + skew * (y - my), my + along * (y - my))


def marks(tile: str, made: Made, nudge: bool = False) -> Iterator[tuple[str, list[float], str]]:
    """Yield the strokes of a tile, in page mm: kind, numbers, group and id; ``nudge`` as the test asks."""
    a, b, c, d, e, f = to_page(tile, made)
    (u0, v0, u1, v1), _ = TILES[tile]
    groups = {"registration": "registration", "first screw": "first-screws", "second screw": "second-screws"}
    holes = [(ident, x, y, r / 2, kind) for ident, x, y, r, kind in HOLES]
    holes += [(ident, x, y, 2.0, "registration") for ident, x, y in REGISTRATION]
    for ident, x0, y0, radius, kind in holes:
        if (nudge and ident in made.leave_out) or not (u0 <= x0 <= u1 and v0 <= y0 <= v1):
            continue
        dx, dy = made.nudge.get(f"{ident}@{tile}", made.nudge.get(ident, (0.0, 0.0))) if nudge else (0.0, 0.0)
        x, y = x0 + dx, y0 + dy

        def place(*points: tuple[float, float]) -> list[float]:
            return [value for u, v in points for value in (a * u + c * v + e, b * u + d * v + f)]

        name = f"{groups.get(kind, 'holes')} {ident}"
        arm = radius + 4
        yield "line", place((x - arm, y), (x + arm, y)), name
        yield "line", place((x, y - arm), (x, y + arm)), name
        if kind == "second screw":
            corners = [(x + p * radius, y + q * radius) for p, q in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
            yield "outline", place(*corners), name
            continue
        # Quarter circles: handle 4/3 (sqrt 2 - 1), textbook value.
        h = 4 / 3 * (math.sqrt(2) - 1)
        points = [(x + radius, y)]
        for (c0, s0), (c1, s1) in pairwise(((1, 0), (0, 1), (-1, 0), (0, -1), (1, 0))):
            points.append((x + radius * (c0 - h * s0), y + radius * (s0 + h * c0)))
            points.append((x + radius * (c1 + h * s1), y + radius * (s1 - h * c1)))
            points.append((x + radius * c1, y + radius * s1))
        yield "curve", place(*points), name
    across, along, skew = made.correction
    mx, my = PAPER[0] / 2, PAPER[1] / 2
    for axis, *ends in BARS:
        if nudge and axis in made.leave_out:
            continue
        placed = [(mx + across * (x - mx) + skew * (y - my), my + along * (y - my)) for x, y in ends]
        yield "line", [value for point in placed for value in point], f"bars {axis}"
        tick = (0, 2) if axis == "across" else (2, 0)
        for x, y in placed:
            yield "line", [x - tick[0], y - tick[1], x + tick[0], y + tick[1]], "bars "


def texts(tile: str, made: Made) -> Iterator[tuple[float, float, float, str]]:
    """Yield size, place and words of a tile's texts, mm."""
    number = list(TILES).index(tile) + 1
    if made.identity:
        stamp = made.stamp.get(number, SHA[:8])
        yield 2.5, 20.0, 5.0, f"templater 0.1.0 \xb7 floor {tile} \xb7 page {number} of 2 \xb7 {stamp}"
        yield 4.0, 60.0, 150.0, made.words


def record(tile: str, made: Made = TRUE) -> list[list[Any]]:
    """Return what the manifest says of a tile's marks; its form: ``templater/paper/manifest.py``."""
    rows: list[list[Any]] = []
    for kind, numbers, name in marks(tile, made):
        group, _, ident = name.partition(" ")
        rows.append([kind, "01.1", [0, *numbers] if kind in ("line", "outline") else numbers, group, ident])
    rows += [["text", "", [size, 0, 0, x, y], "frame", words] for size, x, y, words in texts(tile, TRUE)]
    return rows


def manifest(made: Made = TRUE) -> dict[str, Any]:
    pages = []
    for number, tile in enumerate(TILES, 1):
        window = TILES[tile][0]
        pages.append(
            {
                "file": "floor.pdf",
                "page": number,
                "tile": tile,
                "paper": list(PAPER),
                "window": list(window),
                "to_page": list(to_page(tile, made)),
                "bars": [
                    {"id": axis, "axis": axis, "a": list(a), "b": list(b), "length": math.dist(a, b)}
                    for axis, a, b in BARS
                ],
                "correction": dict(zip(("across", "along", "skew"), made.correction, strict=True)) | {"name": ""},
                "holes": [h[0] for h in HOLES if (h[1] < 182.5) == (tile == "1-1")],
                "marks": record(tile, made),
            }
        )
    sheet = {
        "name": "floor",
        "title": "Cockpit floor",
        "face": "upper",
        "mirrored": False,
        "svg": "",
        "holes": [dict(zip(("id", "x", "y", "diameter", "kind"), hole, strict=True)) for hole in HOLES],
        "registration": [{"id": i, "x": x, "y": y, "tiles": ["1-1", "1-2"]} for i, x, y in REGISTRATION],
        "grid": [1, 2],
        "blank": [],
        "marks": [],
        "frame": [],
        "pages": pages,
    }
    return {
        "program": "templater",
        "version": "0.1.0",
        "boat": "Whinchat 3",
        "revision": "A",
        "description_sha256": SHA,
        "sheets": [sheet],
    }


def pdf(made: Made = TRUE) -> bytes:
    """Return the two pages, drawn in points."""
    registerFont(TTFont("Shipped", io.BytesIO(font_bytes()), asciiReadable=False))
    stream = io.BytesIO()
    k = made.points_per_mm
    canvas = Canvas(stream, pagesize=(PAPER[0] * k, PAPER[1] * k), invariant=1, initialFontName="Shipped")
    for tile in made.pages:
        dx, dy = made.shift.get(tile, (0.0, 0.0))
        canvas.translate(dx * k, dy * k)
        canvas.scale(made.scale, made.scale)
        canvas.setLineWidth(0.25 * k)
        for kind, numbers, _ in marks(tile, made, nudge=True):
            points = [value * k for value in numbers]
            path = canvas.beginPath()
            path.moveTo(*points[:2])
            step = 6 if kind == "curve" else 2
            for n in range(2, len(points), step):
                (path.curveTo if kind == "curve" else path.lineTo)(*points[n : n + step])
            if kind != "line":
                path.close()
            canvas.drawPath(path)
        for size, x, y, words in texts(tile, made):
            canvas.setFont("Shipped", size * k)
            canvas.drawString(x * k, y * k, words)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()
