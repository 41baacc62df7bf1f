"""The job sheet as PDF: blocks become pieces that are not broken, pieces flow down the pages. All mm.

A piece's own frame has its origin at its upper left corner, v up, so everything in it has v below zero.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from reportlab.pdfgen.canvas import Canvas

from templater.drawing.marks import Anchor, Group, Line, Mark, Pen, Polyline, Text, texts_of
from templater.plane.shapes import Point
from templater.report.blocks import Block, Bullets, JobSheet, Picture, Section, Shown, Steps, Table, shown
from templater.report.typeset import CELL, HEADING, LEADING, PAD, SMALL, TEXT, TITLE, column_widths
from templater.standards.typeface import check_letters, wrap
from templater.units import POINTS_PER_MM as MM
from templater.units import Figures
from templater.writers.pdf import drawer, faces, finish

#: Margins of a page, and the room for its foot line, mm.
MARGIN, FOOT = 14.0, 8.0
#: Tables no taller than this are not broken, mm.
_WHOLE = 85.0
#: Most rows of a table that may stand beside another, and the gap between them, mm.
_SHORT, _GAP = 20, 8.0
#: Tallest that a fitted picture may become, mm.
_TALLEST = 165.0
#: Pages of the card over the bench, and by how much its text may be made smaller to keep to them.
CARD_PAGES, _CARD_SCALES = 2, (1.0, 0.96, 0.92, 0.88, 0.84, 0.8, 0.76)
#: Indents of lists and of steps, and the side of a box to tick, mm.
_BULLET, _INDENT, _BOX = 4.5, 9.0, 3.0


class Piece(NamedTuple):
    """Something that is not broken over pages."""

    height: float
    marks: tuple[Mark, ...] = ()
    above: float = 0.0  # room left above it, except at the top of a page
    keep: bool = False  # stays on one page with the piece after it
    header: Piece | None = None  # set again above this piece where it begins a page: a table's head
    picture: Picture | None = None  # drawn with its lower left corner at the piece's, ``factor`` times its size
    factor: float = 1.0
    parts: tuple[Placed, ...] = ()  # other pieces in it, placed in its own frame
    bookmark: str = ""  # heading that the document's outline leads to


class Placed(NamedTuple):
    """A piece on its page, or in another piece: where its upper left corner stands, in page mm from the lower left.

    ``scale`` makes running text smaller, so that the card keeps to its pages; nothing of true size is on it.
    """

    piece: Piece
    left: float
    top: float
    scale: float = 1.0


def job_sheet_pdf(sheet: JobSheet, paper: tuple[float, float]) -> bytes:
    """Return the job sheet on upright pages of ``paper`` (width, height in mm). Same sheet, same bytes.

    Raises DrawingError: S301, a text has a letter that the typeface lacks.
    """
    pages = lay_out(sheet, paper)
    drawn = [[part for placed in page for part in _drawn(placed, (0.0, 0.0), 1.0)] for page in pages]
    told = (text for page in drawn for marks, _, _ in page for text in texts_of(marks))
    check_letters([sheet.title, *told], "job sheet")
    out = io.BytesIO()
    face: Any = faces()[0]  # typed as a number in the library's stubs
    size = (paper[0] * MM, paper[1] * MM)
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1, initialFontName=face, lang="en")
    canvas.setTitle(sheet.title)
    canvas.setCreator(sheet.program)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    draw = drawer(canvas)
    for number, (page, parts) in enumerate(zip(pages, drawn, strict=True), 1):
        for heading, top in ((placed.piece.bookmark, placed.top) for placed in page if placed.piece.bookmark):
            canvas.bookmarkHorizontal(heading, 0, top * MM)
            canvas.addOutlineEntry(heading, heading, 0, closed=False)
        for marks, at, scale in parts:
            draw(marks, at, scale)
        foot = Text((MARGIN, MARGIN), f"{sheet.title} · {sheet.program}", SMALL, Group.FRAME)
        count = Text((paper[0] - MARGIN, MARGIN), f"page {number} of {len(pages)}", SMALL, Group.FRAME, Anchor.END)
        draw((foot, count), (0.0, 0.0), 1.0)
        canvas.showPage()
    finish(canvas)
    return out.getvalue()


def _drawn(placed: Placed, origin: Point, scale: float) -> Iterator[tuple[Sequence[Mark], Point, float]]:
    """Yield marks with their place and scale; nothing is scaled but the card's text and a picture made to fit."""
    piece, picture = placed.piece, placed.piece.picture
    u, v = origin[0] + placed.left * scale, origin[1] + placed.top * scale
    scale *= placed.scale
    if piece.marks:
        yield piece.marks, (u, v), scale
    for part in piece.parts:
        yield from _drawn(part, (u, v), scale)
    if picture is not None:
        size = scale * piece.factor
        yield picture.marks, (u - picture.box[0] * size, v - piece.height * scale - picture.box[1] * size), size


def lay_out(sheet: JobSheet, paper: tuple[float, float]) -> list[list[Placed]]:
    """Return the pages of a job sheet on upright paper (width, height in mm)."""
    room, high, top = paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN - FOOT, paper[1] - MARGIN
    card: list[list[Placed]] = []
    for scale in _CARD_SCALES if sheet.card else ():
        pages = _flow(_pieces(sheet, sheet.sections[: sheet.card], room / scale, head=True), high / scale, 0.0)
        card = [[Placed(one.piece, MARGIN, top + one.top * scale, scale) for one in page] for page in pages]
        if len(pages) <= CARD_PAGES:
            break
    rest = _pieces(sheet, sheet.sections[sheet.card :], room, head=not sheet.card)
    return [*card, *_flow(rest, high, top)]


def _pieces(sheet: JobSheet, sections: Sequence[Section], room: float, *, head: bool) -> list[Piece]:
    """Return sections as pieces, the sheet's title and facts above them if they are the first."""
    pieces: list[Piece] = []
    if head:
        terms, facts = zip(*sheet.facts, strict=True)
        pieces = [_text(sheet.title, TITLE, room, bold=True, keep=True), _text(sheet.subtitle, TEXT, room, keep=True)]
        pieces += _table(Shown("", terms, (facts,)), room)
    rule = Line((0.0, 0.6), (room, 0.6), Pen.NARROW, Group.FRAME)
    for section in sections:
        heading = _text(section.heading, HEADING, room, bold=True, keep=True, above=5.0)
        pieces.append(heading._replace(marks=(rule, *heading.marks), bookmark=section.heading))
        pieces += _blocks(section.blocks, sheet.figures, room)
    return pieces


def _flow(pieces: Sequence[Piece], room: float, top: float) -> list[list[Placed]]:
    """Return pieces on pages of ``room`` mm from ``top`` down, kept ones together."""
    pages: list[list[Placed]] = [[]]
    used = 0.0
    start = 0
    while start < len(pieces):
        end = start + 1
        while pieces[end - 1].keep and end < len(pieces):
            end += 1
        group = pieces[start:end]
        if pages[-1] and used + sum(piece.height + piece.above for piece in group) > room:
            pages.append([])
            used = 0.0
        for piece in group:
            if pages[-1] and used + piece.above + piece.height > room:  # a group taller than a page
                pages.append([])
                used = 0.0
            if not pages[-1] and piece.header is not None:
                pages[-1].append(Placed(piece.header, MARGIN, top))
                used = piece.header.height
            used += piece.above if pages[-1] else 0.0
            pages[-1].append(Placed(piece, MARGIN, top - used))
            used += piece.height
        start = end
    return pages


def _blocks(blocks: Iterable[Block], figures: Figures, room: float) -> Iterator[Piece]:
    """Yield a section's blocks as pieces: steps beside the picture they go by, narrow tables beside one another."""
    left: list[Any] = [shown(block, figures) if isinstance(block, Table) else block for block in blocks]
    while left:
        block = left.pop(0)
        if isinstance(block, str):
            yield _text(block, TEXT, room, above=1.0)
        elif isinstance(block, Bullets):
            yield from (_bullet(text, remark, room) for text, remark in block.items)
        elif isinstance(block, Steps):
            yield from _steps(block, room)
        elif isinstance(block, Shown):
            shelf = [block]
            while left and isinstance(left[0], Shown) and _side_by_side([*shelf, left[0]], room):
                shelf.append(left.pop(0))
            count, half = len(block.rows), (len(block.rows) + 1) // 2
            if len(shelf) == 1 and _SHORT / 2 < count <= 2 * _SHORT and _wide(block, room) <= (room - _GAP) / 2:
                rest = block._replace(caption=" ", rows=block.rows[half:], note="")
                shelf = [block._replace(rows=block.rows[:half]), rest]
            if len(shelf) == 1:
                yield from _table(block, room)
            else:
                widths = [_wide(one, room) + 0.01 for one in shelf]
                yield _columns([(_table(one, wide), wide) for one, wide in zip(shelf, widths, strict=True)])
        elif left and isinstance(left[0], Steps):
            steps = left.pop(0)
            narrow = bool(left) and isinstance(left[0], Shown) and _wide(left[0], room) <= room / 2
            yield from _map_and_steps(block, steps, left.pop(0) if narrow else None, room)
        else:
            yield from _picture(block, room)


def _map_and_steps(block: Picture, steps: Steps, table: Shown | None, room: float) -> list[Piece]:
    """Return a picture with the steps that go by it: beside it where there is room, else below.

    A narrow table that belongs to both stands below the picture.
    """
    picture = _picture(block, room)
    wide = (block.box[2] - block.box[0]) * picture[0].factor
    if wide > room / 2:
        below = _table(table, room) if table else []
        return [*picture[:-1], picture[-1]._replace(keep=True), *_steps(steps, room), *below]
    left = max(wide, 45.0, _wide(table, room) if table else 0.0) + 0.01
    caption = _text(f"{block.title}, not to scale", SMALL, left)
    below = _table(table, left) if table else []
    right = room - left - _GAP
    return [_columns([([picture[0], caption, *below], left), ([*_steps(steps, right)], right)])]


@lru_cache(maxsize=256)
def _widths(table: Shown, room: float) -> list[float]:
    return column_widths(*_cells(table), room)


def _wide(table: Shown, room: float) -> float:
    """Return how wide a table is set, no less than a short caption needs."""
    return min(room, max(sum(_widths(table, room)), 40.0))


def _side_by_side(tables: Sequence[Shown], room: float) -> bool:
    """True if tables are narrow and short enough to stand beside each other."""
    wide = sum(_wide(table, room) + _GAP for table in tables) - _GAP
    return wide <= room and all(len(table.rows) <= _SHORT for table in tables)


def _columns(columns: Sequence[tuple[Sequence[Piece], float]]) -> Piece:
    """Return pieces in columns beside each other as one piece; each column comes with its width."""
    parts: list[Placed] = []
    left = height = 0.0
    for pieces, wide in columns:
        used = 0.0
        for number, piece in enumerate(pieces):
            used += piece.above if number else 0.0
            parts.append(Placed(piece, left, -used))
            used += piece.height
        left += wide + _GAP
        height = max(height, used)
    return Piece(height, above=2.5, parts=tuple(parts))


def _lines(lines: Sequence[str], left: float, top: float, size: float, *, bold: bool = False) -> tuple[Mark, ...]:
    """Return lines of text below ``top``."""
    step = size * LEADING
    return tuple(
        Text((left, top - size - number * step), line, size, Group.LABEL, Anchor.START, bold=bold)
        for number, line in enumerate(lines)
        if line
    )


def _text(text: str, size: float, room: float, *, bold: bool = False, keep: bool = False, above: float = 0.0) -> Piece:
    """Return running text as a piece."""
    lines = wrap(text, room, size, bold=bold)
    return Piece(len(lines) * size * LEADING + 0.8, _lines(lines, 0.0, 0.0, size, bold=bold), above, keep)


def _bullet(text: str, remark: str, room: float) -> Piece:
    """Return one item of a list, its remark in small type below."""
    lines, small = wrap(text, room - _BULLET, TEXT), wrap(remark, room - _BULLET, SMALL) if remark else []
    height = len(lines) * TEXT * LEADING
    marks = (*_lines(["•"], 1.0, 0.0, TEXT), *_lines(lines, _BULLET, 0.0, TEXT))
    marks += _lines(small, _BULLET, -height, SMALL)
    return Piece(height + len(small) * SMALL * LEADING + 0.4, marks, above=0.8)


def _steps(block: Steps, room: float) -> Iterator[Piece]:
    """Yield numbered steps, each with a box to tick and its caution in a frame."""
    for number, (text, caution) in enumerate(block.items, 1):
        lines = wrap(text, room - _INDENT - 3.0, TEXT)
        marks: list[Mark] = [_rectangle(0.0, -0.4 - _BOX, _BOX, -0.4)]
        marks += _lines([f"{number}"], _BOX + 1.6, 0.0, TEXT, bold=True)
        marks += _lines(lines, _INDENT + 1.0, 0.0, TEXT)
        height = len(lines) * TEXT * LEADING
        if caution:
            words = wrap(f"Caution: {caution}", room - _INDENT - 5.0, SMALL)
            left, top = _INDENT + 1.0, -height - 0.6
            low = top - len(words) * SMALL * LEADING - 1.6
            marks += _lines(words, left + 2.0, top - 0.6, SMALL)
            marks.append(_rectangle(left, low, room, top))
            marks.append(_rectangle(left, low, left + 1.0, top, filled=True))
            height = 0.4 - low
        yield Piece(height + 0.6, tuple(marks), above=0.7)


def _rectangle(u0: float, v0: float, u1: float, v1: float, *, filled: bool = False) -> Polyline:
    corners = ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
    return Polyline(corners, closed=True, pen=Pen.NARROW, group=Group.FRAME, filled=filled)


def _cells(table: Shown) -> tuple[Sequence[str], Sequence[Sequence[str]]]:
    """Return a table's heads and rows, the column to tick among them."""
    tick = (table.tick,) if table.tick else ()
    return (*table.heads, *tick), [(*row, *("" for _ in tick)) for row in table.rows]


def _table(block: Shown, room: float) -> list[Piece]:
    """Return a table: caption, head, rows, note; a short one is not broken, a long one repeats its head."""
    headers, rows = _cells(block)
    widths = _widths(block, room)
    ticked = sum(widths[:-1]) + widths[-1] / 2 if block.tick else None
    head = _row(headers, widths, bold=len(headers), wide=True)
    body = [_row(row, widths, bold=1, ticked=ticked)._replace(header=head) for row in rows]
    whole = sum(piece.height for piece in body) <= _WHOLE
    last = len(body) - 1
    # The first row stays with the head, the last two with each other and with the note.
    kept = [whole or number in (0, last - 1) for number in range(last)] + [bool(block.note)]
    body = [piece._replace(keep=keep) for piece, keep in zip(body, kept, strict=True)]
    caption = [_text(block.caption, TEXT, room, bold=True, keep=True, above=2.5)] if block.caption else []
    note = [_text(block.note, SMALL, room, above=0.6)] if block.note else []
    return [*caption, head._replace(keep=True), *body, *note]


def _row(
    cells: Sequence[str], widths: Sequence[float], *, bold: int, wide: bool = False, ticked: float | None = None
) -> Piece:
    """Return a table's row in its rules, the first ``bold`` cells bold; ``ticked`` is where a box to tick stands."""
    columns = enumerate(zip(cells, widths, strict=True))
    texts = [wrap(cell, room - 2 * PAD, CELL, bold=number < bold) for number, (cell, room) in columns]
    height = max(map(len, texts)) * CELL * LEADING + 1.5
    marks: list[Mark] = []
    left = 0.0
    for number, (lines, room) in enumerate(zip(texts, widths, strict=True)):
        marks += _lines(lines, left + PAD, -0.5, CELL, bold=number < bold)
        marks.append(Line((left, 0.0), (left, -height), Pen.NARROW, Group.FRAME))
        left += room
    marks.append(Line((left, 0.0), (left, -height), Pen.NARROW, Group.FRAME))
    if wide:
        marks.append(Line((0.0, 0.0), (left, 0.0), Pen.NARROW, Group.FRAME))
    if ticked is not None:
        marks.append(_rectangle(ticked - _BOX / 2, -0.9 - _BOX, ticked + _BOX / 2, -0.9))
    foot = Pen.WIDE if wide else Pen.NARROW
    marks.append(Line((0.0, -height), (left, -height), foot, Group.FRAME))
    return Piece(height, tuple(marks))


def _picture(block: Picture, room: float) -> list[Piece]:
    """Return a picture with its caption: at true size, or no larger than drawn and made to fit."""
    u0, v0, u1, v1 = block.box
    fits = min(room / (u1 - u0), _TALLEST / (v1 - v0))
    factor = min(1.0, fits)
    size = "1:1" if block.true_size and fits >= 1.0 else "not to scale"
    picture = Piece((v1 - v0) * factor, above=2.0, keep=True, picture=block, factor=factor)
    return [picture, _text(f"{block.title}, {size}", SMALL, room)]
