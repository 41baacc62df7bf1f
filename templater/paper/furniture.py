"""What stands round the window on every page: bars, arrow, title data, map of the tiles. Page mm, uncorrected."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from templater.drawing.marks import Anchor, Drawing, Group, Line, Mark, Pen, Polyline, Text
from templater.paper.grid import Place, place_name
from templater.paper.page_layout import LEAST_WIDTH, Page
from templater.paper.tiles import Bar, Correction, TitleData
from templater.plane.shapes import Box, Point
from templater.standards.typeface import text_width
from templater.units import MM_PER_INCH

#: Lengths of the calibration bars, mm, and what is printed beside them.
BARS = ((100.0, "100 mm"), (4 * MM_PER_INCH, "4 in = 101.6 mm"))
#: Smallest type used, mm; 6 pt is 2.12 mm.
SMALL, PLAIN, LARGE = 2.2, 2.5, 5.5
#: Height of a row of the title block; there are four above the identity line.
_ROW = 4.0
#: Columns of the title block, and the map's left edge, mm from the foot's left edge.
_COLUMNS, _MAP = (0.0, 60.0, 110.0, 150.0), 151.0
#: Beyond this many tiles the map shows only where this one lies.
_MAP_TILES = 400
#: Half length of a bar's end ticks, mm.
_TICK = 1.2

_FACES = {
    "upper": "UPPER FACE",
    "under": "UNDER FACE - mirrored",
    "template": "CUT-OUT PARTS",
}


@dataclass(frozen=True, slots=True)
class PageWords:
    """What all pages of a sheet say alike."""

    drawing: Drawing
    title: TitleData
    correction: Correction
    shape: tuple[int, int]
    kept: tuple[Place, ...]


def furniture(page: Page, place: Place, number: int, words: PageWords) -> Iterator[Mark]:
    """Yield the marks round the window, those of the bars first.

    Args:
        page: the page.
        place: row and column of the tile.
        number: of the page, from 1.
        words: what all pages of the sheet say alike.
    """
    for bar in calibration_bars(page):
        yield from bar_marks(bar)
    yield from _bar_labels(page)
    yield from _forward(page)
    yield from _title_block(page, place, number, words)
    yield from _map(page, place, words)


@cache
def calibration_bars(page: Page) -> tuple[Bar, ...]:
    """Return the bars of a page, page mm: the same on every page of a size."""
    return tuple(_bars(page))


def _bars(page: Page) -> Iterator[Bar]:
    x0, y0 = page.foot[0] + 1.0, page.foot[1]
    sx, sy = page.side[0], page.side[1] + 1.0
    for n, (length, label) in enumerate(BARS):
        y = y0 + 26.2 - 4.0 * n
        yield Bar(f"across {label}", "across", (x0, y), (x0 + length, y), length)
    for n, (length, label) in enumerate(BARS):
        x = sx + 4.0 + 5.0 * n
        yield Bar(f"along {label}", "along", (x, sy), (x, sy + length), length)


def bar_marks(bar: Bar) -> Iterator[Line]:
    """Yield a bar's line and its end ticks; it is measured from tick to tick."""
    (ax, ay), (bx, by) = bar.a, bar.b
    tx, ty = -(by - ay) / bar.length * _TICK, (bx - ax) / bar.length * _TICK
    yield Line(bar.a, bar.b, Pen.NARROW, Group.BAR, bar.id)
    for x, y in (bar.a, bar.b):
        yield Line((x - tx, y - ty), (x + tx, y + ty), Pen.NARROW, Group.BAR)


def _bar_labels(page: Page) -> Iterator[Text]:
    for bar, (_, label) in zip(_bars(page), (*BARS, *BARS), strict=True):
        x, y = bar.b
        if bar.axis == "across":
            yield Text((x + 2.0, y - 0.9), label, PLAIN, Group.BAR)
        else:
            yield Text((x + 0.9, y + 2.0), label, PLAIN, Group.BAR, turn=1)


def _forward(page: Page) -> Iterator[Mark]:
    """Yield the arrow that points forward, with the word beside it."""
    x, y = page.side[0] + 7.5, page.side[1] + 126.0
    tip = y + 14.0
    yield Line((x, y), (x, tip - 3.0), Pen.WIDE, Group.FRAME, "forward")
    head = ((x, tip), (x - 1.5, tip - 4.0), (x + 1.5, tip - 4.0))
    yield Polyline(head, closed=True, pen=Pen.NARROW, group=Group.FRAME, filled=True)
    yield Text((x - 2.4, y), "forward", 3.0, Group.FRAME, turn=1, bold=True)


def _title_block(page: Page, place: Place, number: int, words: PageWords) -> Iterator[Mark]:
    """Yield the ruled block of title data after ISO 7200, the identity line below it and the face above it."""
    x0, y0 = page.foot[0], page.foot[1]
    title, drawing = words.title, words.drawing
    right = x0 + LEAST_WIDTH
    cells = _cells(place, number, words)
    for row, line in enumerate(cells):
        y = y0 + _ROW * (4 - row)
        for a, b, label, value in line:
            yield from _cell((x0 + a, y), b - a, label, value)
            if a:
                yield Line((x0 + a, y), (x0 + a, y + _ROW), Pen.NARROW, Group.FRAME)
    for row in range(1, 6):
        end = right if row in (1, 5) else x0 + _COLUMNS[-1]
        yield Line((x0, y0 + _ROW * row), (end, y0 + _ROW * row), Pen.NARROW, Group.FRAME)
    for x in (x0, x0 + _COLUMNS[-1], right):
        yield Line((x, y0 + _ROW), (x, y0 + 5 * _ROW), Pen.NARROW, Group.FRAME)
    identity = (
        f"templater {title.program_version} · {drawing.name} {place_name(place)} · page {number} of {len(words.kept)}"
        f" · {title.description_sha256[:8]}"
    )
    yield Text((x0 + 0.5, y0 + 1.0), identity, SMALL, Group.FRAME, id="page-identity")
    used = text_width(identity, SMALL) + 4.0
    say = "Print at actual size (100 %). Measure the bars before use."
    size, say = fitted(say, LEAST_WIDTH - used, PLAIN, bold=True)
    yield Text((right - 0.5, y0 + 1.0), say, size, Group.FRAME, Anchor.END, bold=True)
    size, face = fitted(_FACES[drawing.face], LEAST_WIDTH - 130.0, LARGE, bold=True)
    yield Text((right - 0.5, y0 + 22.2), face, size, Group.FRAME, Anchor.END, bold=True, id="face")


def _cells(place: Place, number: int, words: PageWords) -> list[list[tuple[float, float, str, str]]]:
    """Return the rows of the title block, top down: from, to, label, value."""
    title, drawing = words.title, words.drawing
    a, b, c, d = _COLUMNS
    sheet = f"tile {place_name(place)}, page {number} of {len(words.kept)}"
    count = len(title.warnings)
    warnings = "no warnings" if not count else f"{count} warning{'s' * (count > 1)}: see the job sheet"
    return [
        [(a, b, "title", drawing.title), (b, c, "boat", title.boat), (c, d, "type", "drilling template")],
        [
            (a, b, "sheet", sheet), (b, c - 18, "number", title.number),
            (c - 18, c + 12, "revision", title.revision), (c + 12, d, "date", title.date),
        ],
        [(a, b, "owner", title.owner), (b, c, "drawn by", title.drawn_by), (c, d, "approved by", title.approved_by)],
        [(a, a + 22, "", "SCALE 1:1"), (a + 22, c, "", correction_words(words.correction)), (c, d, "", warnings)],
    ]  # fmt: skip


def correction_words(correction: Correction) -> str:
    """Return a printer's correction in words; no word of skew where no diagonal was measured."""
    if correction.is_none:
        return "no printer correction"
    name = f"printer {correction.name}: " if correction.name else "printer: "
    percent = f"across {100 * (correction.across - 1):+.2f} %, along {100 * (correction.along - 1):+.2f} %"
    skew = f", skew {1000 * correction.skew:+.2f} mm per m" if correction.skew else ""
    return f"{name}{percent}{skew}"


def _cell(at: Point, width: float, label: str, value: str) -> Iterator[Text]:
    x, y = at
    if label:
        yield Text((x + 0.8, y + 1.1), label, SMALL, Group.FRAME)
    used = text_width(label, SMALL) + 1.5 if label else 0.0
    size, value = fitted(value, width - used - 1.6, PLAIN, bold=True)
    if value:
        yield Text((x + 0.8 + used, y + 1.1), value, size, Group.FRAME, bold=True)


def fitted(text: str, width: float, size: float, *, bold: bool = False) -> tuple[float, str]:
    """Return type size and text that fit a width: first smaller type, then fewer letters."""
    full = text_width(text, size, bold=bold)
    if full <= width:
        return size, text
    if full * SMALL / size <= width:
        return size * width / full * 0.999, text
    while text and text_width(f"{text}...", SMALL, bold=bold) > width:
        text = text[:-1]
    return SMALL, f"{text.rstrip()}..." if text else ""


def _map(page: Page, place: Place, words: PageWords) -> Iterator[Mark]:
    """Yield the map of the tiles: this one filled, those left out crossed."""
    x0, y0 = page.foot[0] + _MAP, page.foot[1] + _ROW + 1.0
    rows, columns = words.shape
    cell = min((LEAST_WIDTH - 1.0 - _MAP) / columns, (4 * _ROW - 2.0) / rows, 7.0)

    def box(row: int, column: int) -> Box:
        top = y0 + cell * (rows - row)
        return (x0 + cell * column, top - cell, x0 + cell * (column + 1), top)

    u0, v0, u1, v1 = box(*place)
    here = ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
    yield Polyline(here, closed=True, pen=Pen.NARROW, group=Group.FRAME, id="this tile", filled=True)
    detailed = rows * columns <= _MAP_TILES
    for row in range(rows + 1) if detailed else (0, rows):
        yield Line((x0, y0 + cell * row), (x0 + cell * columns, y0 + cell * row), Pen.NARROW, Group.FRAME)
    for column in range(columns + 1) if detailed else (0, columns):
        yield Line((x0 + cell * column, y0), (x0 + cell * column, y0 + cell * rows), Pen.NARROW, Group.FRAME)
    if detailed and len(words.kept) < rows * columns:
        kept = set(words.kept)
        for row in range(rows):
            for column in range(columns):
                if (row, column) not in kept:
                    u0, v0, u1, v1 = box(row, column)
                    yield Line((u0, v0), (u1, v1), Pen.NARROW, Group.FRAME)
                    yield Line((u0, v1), (u1, v0), Pen.NARROW, Group.FRAME)
