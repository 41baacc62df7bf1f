"""What stands round the window on every page: bars, arrow, title data, map of the tiles. Page mm, uncorrected."""

from collections.abc import Iterable, Iterator, Set
from functools import cache
from itertools import product
from typing import NamedTuple

from templater.drawing.marks import Anchor, Drawing, Group, Line, Mark, Pen, Text, closed, rectangle
from templater.findings import DrawingError
from templater.paper.placing import turned
from templater.paper.seams import Place, place_name
from templater.paper.tiles import LONGEST_PAGE, NO_CORRECTION, Bar, Correction, Paper, TitleData
from templater.plane.shapes import Box, Point, box_about
from templater.reader.faults import told
from templater.standards.typeface import text_width
from templater.units import MM, MM_PER_INCH

#: Height of the strip along the foot and width of the strip at the right, mm.
FOOT, SIDE = 28.0, 12.0
#: Smallest printable area: the title block is 180 mm wide (ISO 7200, from memory); beside the foot stand the bars
#: along the paper and the arrow.
LEAST_WIDTH, LEAST_HEIGHT = 180.0, FOOT + 142.0
#: Steps in which the two bars grow with the page, mm; longer than the rulers of a workshop they need not be.
STEPS, _LONGEST = (100.0, 4 * MM_PER_INCH), 1000.0
#: What else stands beside the bars across and along: labels, the face; labels and the arrow. mm.
_BESIDE_ACROSS, _BESIDE_ALONG = 80.0, 40.0
#: Smallest type used, mm; 6 pt is 2.12 mm.
SMALL, PLAIN, LARGE = 2.2, 2.5, 5.5
#: The title block over the identity line: its foot above the page's, its height, and its column for the map, mm.
_FOOT, _HIGH, _MAP = 4.0, 16.0, 150.0
#: Beyond this many tiles the map shows only where this one lies; cells from this size bear their names, mm.
_MAP_TILES, _NAMED = 400, 4.6
#: Half length of a bar's end ticks, mm.
_TICK = 1.2

_WAYS = {"upright": (False,), "sideways": (True,), "either": (False, True)}
#: What the faces of templates are called; a sheet for none of them is a comparison.
_FACES = {"upper": "UPPER FACE", "under": "UNDER FACE - mirrored", "template": "CUT-OUT PARTS"}


class Page(NamedTuple):
    """One way in which the paper may lie: sides and margin, mm, and the printer's correction in the page's axes."""

    width: float
    height: float
    margin: float
    correction: Correction
    sideways: bool
    roll: bool = False

    @property
    def printable(self) -> Box:
        """What may be printed on, before correction: smaller by as much as that makes things larger."""
        x, y, correction = self.width / 2, self.height / 2, self.correction
        half_x, half_y = x - self.margin, y - self.margin
        grown_y = half_y / max(1.0, correction.along)
        grown_x = (half_x - abs(correction.skew) * half_y) / max(1.0, correction.across)
        return box_about((x, y), grown_x, grown_y)

    @property
    def area(self) -> Box:
        """Where the window may stand: above the foot, left of the strip with the bars along."""
        x0, y0, x1, y1 = self.printable
        return (x0, y0 + FOOT, x1 - SIDE, y1)

    def cut_off(self, windows: Iterable[Box]) -> "Page":
        """Return the page, that of a roll as long as its longest window needs."""
        if not self.roll:
            return self
        correction = self.correction
        if self.sideways:
            long = max(LEAST_WIDTH, *(w[2] - w[0] + SIDE for w in windows))
            side = long * max(1.0, correction.across) + 2 * self.margin + 2 * abs(correction.skew) * self.height
            return self._replace(width=side)
        long = max(LEAST_HEIGHT, *(w[3] - w[1] + FOOT for w in windows))
        return self._replace(height=long * max(1.0, correction.along) + 2 * self.margin)


def pages(paper: Paper, margin: float, orientation: str, correction: Correction) -> list[Page]:
    """Return the ways in which the paper may lie; a roll's free side is as long as a page can be."""
    found = []
    for sideways in _WAYS[orientation]:
        sides = (paper.width, paper.height or LONGEST_PAGE)
        lying = turned(correction) if sideways else correction
        page = Page(*(sides[::-1] if sideways else sides), margin, lying, sideways, paper.height is None)
        x0, y0, x1, y1 = page.printable
        if x1 - x0 >= LEAST_WIDTH - 1e-9 and y1 - y0 >= LEAST_HEIGHT - 1e-9:
            found.append(page)
    if not found:
        least = {"width": LEAST_WIDTH + 2 * margin, "height": LEAST_HEIGHT + 2 * margin}
        raise DrawingError(told("S103", "print.paper", "template", paper=paper.name, margin=margin, **least))
    return found


class PageWords(NamedTuple):
    """What all pages of a sheet say alike."""

    drawing: Drawing
    title: TitleData
    shape: tuple[int, int]
    kept: Set[Place]  # of the printed tiles


def page_frame(page: Page, place: Place, number: int, words: PageWords) -> Iterator[Mark]:
    """Yield the marks round the window of the tile at ``place``, page ``number`` from 1, those of the bars first."""
    bars = calibration_bars(page)
    for bar in bars:
        yield from bar_marks(bar)
    for bar in bars:
        (x, y), across = bar.b, bar.axis == "across"
        at = (x + 2.0, y - 0.9) if across else (x + 0.9, y + 2.0)
        yield Text(at, bar.id.removeprefix(f"{bar.axis} "), PLAIN, Group.BAR, turn=0 if across else 1)
    x, y = page.printable[2] - SIDE + 7.5, max(bar.b[1] for bar in bars) + 23.4
    yield Line((x, y), (x, y + 11.0), Pen.WIDE, Group.FRAME, "forward")
    head = ((x, y + 14.0), (x - 1.5, y + 10.0), (x + 1.5, y + 10.0))
    yield closed(head, Pen.NARROW, Group.FRAME, filled=True)
    yield Text((x - 2.4, y), "forward", 3.0, Group.FRAME, turn=1, bold=True)
    yield from _title_block(page, place, number, words)
    yield from _map(page, place, words)


@cache
def calibration_bars(page: Page) -> tuple[Bar, ...]:
    """Return the bars of a page, page mm: as many steps of 100 mm and of 4 in as it has room for."""
    x0, y0, x1, y1 = page.printable
    bars = []
    for axis, room in (("across", x1 - x0 - _BESIDE_ACROSS), ("along", y1 - (y0 + FOOT) - _BESIDE_ALONG)):
        for n, step in enumerate(STEPS):
            length = step * max(1, int(min(room, _LONGEST) // step))
            across = axis == "across"
            a = (x0 + 1.0, y0 + 26.2 - 4.0 * n) if across else (x1 - SIDE + 4.0 + 5.0 * n, y0 + FOOT + 1.0)
            b = (a[0] + length, a[1]) if across else (a[0], a[1] + length)
            label = MM.size(length) if n == 0 else f"{length / MM_PER_INCH:.0f} in = {MM.size(length)}"
            bars.append(Bar(f"{axis} {label}", axis, a, b, length))
    return tuple(bars)


def bar_marks(bar: Bar) -> Iterator[Line]:
    """Yield a bar's line and its end ticks; it is measured from tick to tick."""
    (ax, ay), (bx, by) = bar.a, bar.b
    tx, ty = -(by - ay) / bar.length * _TICK, (bx - ax) / bar.length * _TICK
    yield Line(bar.a, bar.b, Pen.NARROW, Group.BAR, bar.id)
    for x, y in (bar.a, bar.b):
        yield Line((x - tx, y - ty), (x + tx, y + ty), Pen.NARROW, Group.BAR)


def _rule(a: Point, b: Point) -> Line:
    return Line(a, b, Pen.NARROW, Group.FRAME)


def _title_block(page: Page, place: Place, number: int, words: PageWords) -> Iterator[Mark]:
    """Yield the ruled block of title data after ISO 7200, the identity line below it and the face above it."""
    (x0, y0), right = page.printable[:2], page.printable[0] + LEAST_WIDTH
    title, drawing = words.title, words.drawing
    rows = _fields(page, place, number, words)
    high, foot, top = _HIGH / len(rows), y0 + _FOOT, y0 + _FOOT + _HIGH
    for n, row in enumerate(rows):
        y, x, share = top - high * (n + 1), x0, sum(weight for weight, _, _ in row)
        yield _rule((x0, y + high), (right if n == 0 else x0 + _MAP, y + high))
        for weight, label, value in row:
            width = _MAP * weight / share
            if x > x0:
                yield _rule((x, y), (x, y + high))
            yield from _field((x, y + (high - 1.8) / 2), width, label, value)
            x += width
    yield _rule((x0, foot), (right, foot))
    for x in (x0, x0 + _MAP, right):
        yield _rule((x, foot), (x, top))
    identity = (
        f"templater {title.program_version} · {drawing.name} {place_name(place)} · page {number} of {len(words.kept)}"
        f" · {title.description_sha256[:8]}"
    )
    yield Text((x0 + 0.5, y0 + 1.0), identity, SMALL, Group.FRAME, id="page-identity")
    say = "Print at actual size (100 %). Measure the bars before use."
    size, say = fitted(say, LEAST_WIDTH - text_width(identity, SMALL) - 4.0, PLAIN, bold=True)
    yield Text((right - 0.5, y0 + 1.0), say, size, Group.FRAME, Anchor.END, bold=True)
    size, face = fitted(_FACES.get(drawing.face, "NOT FOR DRILLING"), LEAST_WIDTH - 130.0, LARGE, bold=True)
    yield Text((page.printable[2] - 0.5, top + 2.2), face, size, Group.FRAME, Anchor.END, bold=True, id="face")


def _fields(page: Page, place: Place, number: int, words: PageWords) -> list[list[tuple[int, str, str]]]:
    """Return the rows of the title block, top down: share of the width, label, value; empty fields are left out."""
    title = words.title
    tile = f"tile {place_name(place)}, page {number} of {len(words.kept)}"
    count = len(title.warnings)
    warnings = "no warnings" if not count else f"{count} warning{'s' * (count > 1)}: see the job sheet"
    kind = "drilling template" if words.drawing.face in _FACES else "comparison"
    rows = (
        ((60, "title", words.drawing.title), (50, "boat", title.boat), (40, "type", kind)),
        ((60, "sheet", tile), (32, "number", title.number), (30, "revision", title.revision), (28, "date", title.date)),
        ((60, "owner", title.owner), (50, "drawn by", title.drawn_by), (40, "approved by", title.approved_by)),
        ((22, "", "SCALE 1:1"), (88, "", correction_words(page.correction)), (40, "", warnings)),
    )
    present = ([field for field in row if field[2]] for row in rows)
    return [row for row in present if row]


def correction_words(correction: Correction) -> str:
    """Return a printer's correction in words; no word of skew where no diagonal was measured."""
    if correction[1:] == NO_CORRECTION[1:]:
        return "no printer correction"
    name = f"printer {correction.name}: " if correction.name else "printer: "
    percent = f"across {100 * (correction.across - 1):+.2f} %, along {100 * (correction.along - 1):+.2f} %"
    skew = f", skew {MM.fine(1000 * correction.skew)} per m" if correction.skew else ""
    return f"{name}{percent}{skew}"


def _field(at: Point, width: float, label: str, value: str) -> Iterator[Text]:
    x, y = at
    if label:
        yield Text((x + 0.8, y), label, SMALL, Group.FRAME)
    used = text_width(label, SMALL) + 1.5 if label else 0.0
    size, value = fitted(value, width - used - 1.6, PLAIN, bold=True)
    if value:
        yield Text((x + 0.8 + used, y), value, size, Group.FRAME, bold=True)


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
    """Yield the map of the tiles: this one filled, those left out crossed and said to be blank."""
    (rows, columns), kept = words.shape, words.kept
    x0, y0 = page.printable[0] + _MAP + 1.0, page.printable[1] + _FOOT + 1.0
    detailed = rows * columns <= _MAP_TILES
    if len(kept) < rows * columns and detailed:
        yield Text((x0, y0), "crossed: blank, not printed", SMALL, Group.FRAME)
        y0 += 3.0
    width, height = LEAST_WIDTH - 1.0 - _MAP - 1.0, page.printable[1] + _FOOT + _HIGH - 1.0 - y0
    cell = min(width / columns, height / rows, 7.0)

    def box(row: int, column: int) -> Box:
        top = y0 + cell * (rows - row)
        return (x0 + cell * column, top - cell, x0 + cell * (column + 1), top)

    yield rectangle(box(*place), Pen.NARROW, Group.FRAME, filled=True)._replace(id="this tile")
    for row in range(rows + 1) if detailed else (0, rows):
        yield _rule((x0, y0 + cell * row), (x0 + cell * columns, y0 + cell * row))
    for column in range(columns + 1) if detailed else (0, columns):
        yield _rule((x0 + cell * column, y0), (x0 + cell * column, y0 + cell * rows))
    for one in product(range(rows), range(columns)) if detailed else ():
        u0, v0, u1, v1 = box(*one)
        if one not in kept:
            yield _rule((u0, v0), (u1, v1))
            yield _rule((u0, v1), (u1, v0))
        elif one != place and cell >= _NAMED:
            yield Text(((u0 + u1) / 2, (v0 + v1) / 2 - 0.8), place_name(one), SMALL, Group.FRAME, Anchor.MIDDLE)
