"""The job sheet as PDF: blocks become pieces that are not broken, pieces flow down the pages. All mm.

A piece's own frame has its origin at its upper left corner, v up, so everything in it has v below zero.
"""

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache, partial
from itertools import accumulate
from typing import Any, NamedTuple

from templater.drawing.marks import Anchor, Group, Line, Mark, Pen, Text, rectangle, texts_of
from templater.plane.shapes import Point
from templater.report.blocks import Block, Bullets, JobSheet, Picture, Section, Shown, Steps, Table, shown
from templater.standards.typeface import check_letters, text_width, wrap
from templater.units import POINTS_PER_MM as MM
from templater.units import Figures, words_of
from templater.writers.pdf import drawer, finish, open_canvas, show_page

#: Type sizes, mm.
TEXT, CELL, SMALL, HEADING, TITLE = (points * 25.4 / 72 for points in (9.5, 8.5, 8.0, 13.0, 18.0))
#: Distance between lines as a multiple of the type size, and room between a cell's text and its rules, mm.
_LEADING, _PAD = 1.28, 1.2
#: A longer word may be broken so that the other columns keep theirs whole; a column to write in is no narrower, mm.
_LONG_WORD, _WRITE_IN = 50.0, 18.0
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
#: A box to tick, or round a caution.
_box = partial(rectangle, pen=Pen.NARROW, group=Group.FRAME)
#: Indents of lists and of steps, and the side of a box to tick, mm.
_BULLET, _INDENT, _BOX = 4.5, 9.0, 3.0


class Piece(NamedTuple):
    """Something that is not broken over pages."""

    height: float
    marks: tuple[Mark, ...] = ()
    above: float = 0.0  # room left above it, except at the top of a page
    keep: bool = False  # stays on one page with the piece after it
    header: "Piece | None" = None  # set again above this piece where it begins a page: a table's head
    parts: "tuple[Placed, ...]" = ()  # other pieces in it, placed in its own frame
    bookmark: str = ""  # heading that the document's outline leads to


class Placed(NamedTuple):
    """A piece on its page, or in another piece."""

    piece: Piece
    left: float  # where its upper left corner stands, in page mm from the lower left
    top: float
    scale: float = 1.0  # makes pictures fit, and running text smaller, so that the card keeps to its pages


def job_sheet_pdf(sheet: JobSheet, paper: tuple[float, float]) -> bytes:
    """Return the job sheet on upright ``paper``, mm; same sheet, same bytes. Raises DrawingError S301: a letter."""
    pages = lay_out(sheet, paper)
    drawn = [[part for placed in page for part in _drawn(placed)] for page in pages]
    told = (text for page in drawn for marks, _, _ in page for text in texts_of(marks))
    check_letters([sheet.title, *told], "job sheet")
    out = io.BytesIO()
    canvas = open_canvas(out, sheet.title, sheet.program, pagesize=(paper[0] * MM, paper[1] * MM), lang="en")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    draw = drawer(canvas)
    for number, (page, parts) in enumerate(zip(pages, drawn, strict=True), 1):
        for placed in page:
            if heading := placed.piece.bookmark:
                canvas.bookmarkHorizontal(heading, 0, placed.top * MM)
                canvas.addOutlineEntry(heading, heading, 0, closed=False)
        for marks, at, scale in parts:
            draw(marks, at, scale)
        foot = Text((MARGIN, MARGIN), f"{sheet.title} · {sheet.program}", SMALL, Group.FRAME)
        count = Text((paper[0] - MARGIN, MARGIN), f"page {number} of {len(pages)}", SMALL, Group.FRAME, Anchor.END)
        draw((foot, count), (0.0, 0.0), 1.0)
        show_page(canvas)
    finish(canvas)
    return out.getvalue()


def _drawn(
    placed: Placed, origin: Point = (0.0, 0.0), scale: float = 1.0
) -> Iterator[tuple[Sequence[Mark], Point, float]]:
    at, size = (origin[0] + placed.left * scale, origin[1] + placed.top * scale), scale * placed.scale
    if placed.piece.marks:
        yield placed.piece.marks, at, size
    for part in placed.piece.parts:
        yield from _drawn(part, at, size)


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
    rule = _rule((0.0, 0.6), (room, 0.6))
    for section in sections:
        heading = _text(section.heading, HEADING, room, bold=True, keep=True, above=5.0)
        first, *others = _blocks(section.blocks, sheet.figures, room)
        # One line alone below a heading at the foot of a page would be overlooked.
        first = first._replace(keep=first.keep or (bool(others) and first.height < 2 * TEXT * _LEADING))
        pieces += [heading._replace(marks=(rule, *heading.marks), bookmark=section.heading), first, *others]
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
        whole = sum(piece.height + piece.above for piece in pieces[start:end])
        for number, piece in enumerate(pieces[start:end]):
            # A group begins a page where it does not fit; one taller than a page is broken all the same.
            if pages[-1] and used + (piece.above + piece.height if number else whole) > room:
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
    """Return a picture with its steps beside it where there is room, else below; below both a narrow table of both."""
    picture = _picture(block, room)
    wide = (block.box[2] - block.box[0]) * picture[0].parts[0].scale
    beside = wide <= room / 2
    left = max(wide, 45.0, _wide(table, room) if table else 0.0) + 0.01 if beside else room
    below = _table(table, left) if table else []
    if not beside:
        return [*picture[:-1], picture[-1]._replace(keep=True), *_steps(steps, room), *below]
    caption = _text(f"{block.title}, not to scale", SMALL, left)
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


def _set(
    text: str, left: float, top: float, room: float, size: float, *, bold: bool = False
) -> tuple[tuple[Mark, ...], float]:
    """Return a text's lines below ``top``, and where they end."""
    lines, step = wrap(text, room, size, bold=bold), size * _LEADING
    marks = tuple(
        Text((left, top - size - number * step), line, size, Group.LABEL, bold=bold)
        for number, line in enumerate(lines)
        if line
    )
    return marks, top - len(lines) * step


def _text(text: str, size: float, room: float, *, bold: bool = False, keep: bool = False, above: float = 0.0) -> Piece:
    marks, foot = _set(text, 0.0, 0.0, room, size, bold=bold)
    return Piece(0.8 - foot, marks, above, keep)


def _bullet(text: str, remark: str, room: float) -> Piece:
    """Return one item of a list, its remark in small type below."""
    dot, _ = _set("•", 1.0, 0.0, _BULLET, TEXT)
    marks, foot = _set(text, _BULLET, 0.0, room - _BULLET, TEXT)
    small, foot = _set(remark, _BULLET, foot, room - _BULLET, SMALL) if remark else ((), foot)
    return Piece(0.4 - foot, (*dot, *marks, *small), above=0.8)


def _steps(block: Steps, room: float) -> Iterator[Piece]:
    """Yield numbered steps, each with a box to tick and its caution in a frame."""
    left = _INDENT + 1.0
    for number, (text, caution) in enumerate(block.items, 1):
        count, _ = _set(f"{number}", _BOX + 1.6, 0.0, _INDENT, TEXT, bold=True)
        words, foot = _set(text, left, 0.0, room - _INDENT - 3.0, TEXT)
        marks = [_box((0.0, -0.4 - _BOX, _BOX, -0.4)), *count, *words]
        if caution:
            top = foot - 0.6
            words, low = _set(f"Caution: {caution}", left + 2.0, top - 0.6, room - _INDENT - 5.0, SMALL)
            low -= 1.0
            marks += (*words, _box((left, low, room, top)), _box((left, low, left + 1.0, top), filled=True))
            foot = low - 0.4
        yield Piece(0.6 - foot, tuple(marks), above=0.7)


def _rule(a: Point, b: Point, pen: Pen = Pen.NARROW) -> Line:
    return Line(a, b, pen, Group.FRAME)


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
    lefts = [0.0, *accumulate(widths)]
    texts = [
        _set(cell, left + _PAD, -0.5, room - 2 * _PAD, CELL, bold=number < bold)
        for number, (cell, left, room) in enumerate(zip(cells, lefts, widths, strict=False))
    ]
    low, end = min(foot for _, foot in texts) - 1.0, lefts[-1]
    marks: list[Mark] = []
    for left, words in zip(lefts, [*(words for words, _ in texts), ()], strict=True):
        marks += (*words, _rule((left, 0.0), (left, low)))
    if wide:
        marks.append(_rule((0.0, 0.0), (end, 0.0)))
    if ticked is not None:
        marks.append(_box((ticked - _BOX / 2, -0.9 - _BOX, ticked + _BOX / 2, -0.9)))
    marks.append(_rule((0.0, low), (end, low), Pen.WIDE if wide else Pen.NARROW))
    return Piece(-low, tuple(marks))


def _picture(block: Picture, room: float) -> list[Piece]:
    """Return a picture with its caption: at true size, or no larger than drawn and made to fit."""
    u0, v0, u1, v1 = block.box
    fits = min(room / (u1 - u0), _TALLEST / (v1 - v0))
    factor = min(1.0, fits)
    size = "1:1" if block.true_size and fits >= 1.0 else "not to scale"
    drawn = Placed(Piece(0.0, block.marks), -u0 * factor, -v1 * factor, factor)
    picture = Piece((v1 - v0) * factor, above=2.0, keep=True, parts=(drawn,))
    return [picture, _text(f"{block.title}, {size}", SMALL, room)]


def column_widths(headers: Sequence[str], rows: Sequence[Sequence[str]], room: float) -> list[float]:
    """Return column widths, mm, together no wider than ``room``.

    Columns whose longest text takes less than an even share get what they need; the others share what is left by the
    square root of their longest text, none narrower than its longest word where that can be had.
    """
    needs, words = [], []
    for number, header in enumerate(headers):
        cells = [row[number] for row in rows]
        blank = bool(rows) and not any(cells)
        body = max((text_width(cell, CELL, bold=number == 0) for cell in cells), default=0.0)
        longest = max(text_width(header, CELL, bold=True), body)
        word = max(
            text_width(word, CELL, bold=bold)
            for text, bold in [(header, True), *((cell, number == 0) for cell in cells)]
            for word in words_of(text)
        )
        # A long heading over short cells is broken rather than left to set the width.
        if not blank and body < longest:
            longest = max(body, word, min(longest, 22.0))
        needs.append(max(longest, _WRITE_IN if blank else 0.0) + 2 * _PAD + 0.1)
        words.append(min(word, _LONG_WORD) + 2 * _PAD + 0.1)
    return _share(needs, words, room)


def _share(needs: list[float], words: list[float], room: float) -> list[float]:
    """Return how ``room`` is shared among columns that would like ``needs`` and must have ``words``."""
    given, left = [0.0] * len(needs), room
    rest = sorted(range(len(needs)), key=lambda number: needs[number])
    while rest and needs[rest[0]] <= left / len(rest):
        number = rest.pop(0)
        given[number] = needs[number]
        left -= needs[number]
    total = sum(math.sqrt(needs[number]) for number in rest)
    for number in rest:
        given[number] = max(left * math.sqrt(needs[number]) / total, words[number])
    over = sum(given) - room
    slack = sum(given[number] - words[number] for number in rest)
    if over > 0 and slack > 0:
        for number in rest:
            given[number] -= min(over, slack) * (given[number] - words[number]) / slack
    scale = min(1.0, room / sum(given))
    return [one * scale for one in given]
