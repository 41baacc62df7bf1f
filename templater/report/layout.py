"""The job sheet laid out on pages: blocks become pieces that are not broken, pieces flow down the pages. All mm.

A piece's own frame has its origin at its upper left corner, v up, so everything in it has v below zero.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from templater.drawing.marks import Anchor, Group, Line, Mark, Pen, Polyline, Text
from templater.report.blocks import Bullets, JobSheet, Paragraph, Picture, Section, Steps
from templater.report.table import Shown, Table, shown
from templater.report.typeset import CELL, HEADING, LEADING, PAD, SMALL, TEXT, TITLE, column_widths, wrap
from templater.units import Figures

#: Margins of a page, and the room for its foot line, mm.
MARGIN, FOOT = 14.0, 8.0
#: Tables no taller than this are not broken, mm.
_WHOLE = 60.0
#: Most rows of a table that may stand beside another, and the gap between them, mm.
_SHORT, _GAP = 20, 8.0
#: Tallest that a fitted picture may become, mm.
_TALLEST = 165.0
#: Pages of the card over the bench, and by how much its text may be made smaller to keep to them.
CARD_PAGES, _CARD_SCALES = 2, (1.0, 0.96, 0.92, 0.88, 0.84, 0.8, 0.76)
#: Indent of lists and steps, and the side of a box to tick, mm.
_INDENT, _BOX = 9.0, 3.0


@dataclass(frozen=True, slots=True)
class Piece:
    """Something that is not broken over pages.

    Attributes:
        height: room it takes, mm.
        above: room left above it, except at the top of a page.
        keep: stays on one page with the piece after it.
        header: set again above this piece where it begins a page: a table's head.
        picture: drawn with its lower left corner at the piece's; ``factor`` times its size.
        parts: other pieces in it, placed in its own frame.
        bookmark: heading that the document's outline leads to.
    """

    height: float
    marks: tuple[Mark, ...] = ()
    above: float = 0.0
    keep: bool = False
    header: Piece | None = None
    picture: Picture | None = None
    factor: float = 1.0
    parts: tuple[Placed, ...] = ()
    bookmark: str = ""


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece on its page, or in another piece: where its upper left corner stands, in page mm from the lower left.

    ``scale`` makes running text smaller, so that the card keeps to its pages; nothing of true size is on it.
    """

    piece: Piece
    left: float
    top: float
    scale: float = 1.0


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
    pieces = (
        []
        if not head
        else [
            _text(sheet.title, TITLE, room, bold=True, keep=True),
            _text(sheet.subtitle, TEXT, room, keep=True),
            *_table(Shown("", tuple(term for term, _ in sheet.facts), (tuple(text for _, text in sheet.facts),)), room),
        ]
    )
    for section in sections:
        pieces += _section(section, sheet.figures, room)
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
        height = sum(piece.height + piece.above for piece in group)
        if pages[-1] and used + height > room:
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


def _section(section: Section, figures: Figures, room: float) -> list[Piece]:
    heading = _text(section.heading, HEADING, room, bold=True, keep=True, above=5.0)
    rule = Line((0.0, 0.6), (room, 0.6), Pen.NARROW, Group.FRAME)
    pieces = [replace(heading, marks=(rule, *heading.marks), bookmark=section.heading)]
    blocks: list[Any] = [shown(block, figures) if isinstance(block, Table) else block for block in section.blocks]
    while blocks:
        block = blocks.pop(0)
        if isinstance(block, Picture) and blocks and isinstance(blocks[0], Steps):
            steps = blocks.pop(0)
            narrow = bool(blocks) and isinstance(blocks[0], Shown) and _wide(blocks[0], room) <= room / 2
            pieces += _map_and_steps(block, steps, blocks.pop(0) if narrow else None, room)
        elif isinstance(block, Shown):
            shelf = [block]
            while blocks and isinstance(blocks[0], Shown) and _side_by_side([*shelf, blocks[0]], room):
                shelf.append(blocks.pop(0))
            if (
                len(shelf) == 1
                and _SHORT / 2 < len(block.rows) <= 2 * _SHORT
                and _wide(block, room) <= (room - _GAP) / 2
            ):
                half = (len(block.rows) + 1) // 2
                shelf = [
                    block._replace(rows=block.rows[:half]),
                    block._replace(caption=" ", rows=block.rows[half:], note=""),
                ]
            pieces += _table(block, room) if len(shelf) == 1 else [_shelf(shelf, room)]
        else:
            pieces += _block(block, room)
    return pieces


def _map_and_steps(block: Picture, steps: Steps, table: Shown | None, room: float) -> list[Piece]:
    """Return a picture with the steps that go by it: beside it where there is room, else below.

    A narrow table that belongs to both stands below the picture.
    """
    picture = _picture(block, room)
    wide = (block.box[2] - block.box[0]) * picture[0].factor
    if wide > room / 2:
        below = _table(table, room) if table else []
        return [*picture[:-1], replace(picture[-1], keep=True), *_steps(steps, room), *below]
    left = max([wide, 45.0, *([_wide(table, room)] if table else [])]) + 0.01
    caption = _text(f"{block.title}, not to scale", SMALL, left)
    beside = list(_steps(steps, room - left - _GAP))
    below = _table(table, left) if table else []
    return [_columns([([picture[0], caption, *below], left), (beside, room - left - _GAP)])]


def _wide(table: Shown, room: float) -> float:
    """Return how wide a table is set, no less than a short caption needs."""
    headers = (*table.heads, table.tick) if table.tick else table.heads
    rows = [(*row, "") if table.tick else row for row in table.rows]
    return min(room, max(sum(column_widths(headers, rows, room)), 40.0))


def _side_by_side(tables: Sequence[Shown], room: float) -> bool:
    """True if tables are narrow and short enough to stand beside each other."""
    wide = sum(_wide(table, room) + _GAP for table in tables) - _GAP
    return wide <= room and all(len(table.rows) <= _SHORT for table in tables)


def _shelf(tables: Sequence[Shown], room: float) -> Piece:
    columns = []
    for table in tables:
        wide = _wide(table, room) + 0.01
        columns.append((_table(table, wide), wide))
    return _columns(columns)


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


def _block(block: Paragraph | Bullets | Steps | Picture, room: float) -> list[Piece]:
    if isinstance(block, Paragraph):
        return [_text(block.text, TEXT, room, above=1.0)]
    if isinstance(block, Bullets):
        return [_bullet(text, remark, room) for text, remark in block.items]
    if isinstance(block, Steps):
        return list(_steps(block, room))
    return _picture(block, room)


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
    indent = 4.5
    lines = wrap(text, room - indent, TEXT)
    height = len(lines) * TEXT * LEADING
    marks = (*_lines(["•"], 1.0, 0.0, TEXT), *_lines(lines, indent, 0.0, TEXT))
    if remark:
        small = wrap(remark, room - indent, SMALL)
        marks += _lines(small, indent, -height, SMALL)
        height += len(small) * SMALL * LEADING
    return Piece(height + 0.4, marks, above=0.8)


def _steps(block: Steps, room: float) -> Iterator[Piece]:
    """Yield numbered steps, each with a box to tick and its caution in a frame."""
    for number, (text, caution) in enumerate(block.items, block.start):
        lines = wrap(text, room - _INDENT - 3.0, TEXT)
        marks: list[Mark] = [_rectangle(0.0, -0.4 - _BOX, _BOX, -0.4)]
        marks += _lines([f"{number}"], _BOX + 1.6, 0.0, TEXT, bold=True)
        marks += _lines(lines, _INDENT + 1.0, 0.0, TEXT)
        height = len(lines) * TEXT * LEADING
        if caution:
            left, inner = _INDENT + 3.0, room - _INDENT - 5.0
            words = wrap(f"Caution: {caution}", inner, SMALL)
            top, high = -height - 0.6, len(words) * SMALL * LEADING + 1.6
            marks += _lines(words, left, top - 0.6, SMALL)
            marks.append(_rectangle(_INDENT + 1.0, top - high, room, top))
            bar = ((_INDENT + 1.0, top), (_INDENT + 2.0, top), (_INDENT + 2.0, top - high), (_INDENT + 1.0, top - high))
            marks.append(Polyline(bar, closed=True, pen=Pen.NARROW, group=Group.FRAME, filled=True))
            height += high + 1.0
        yield Piece(height + 0.6, tuple(marks), above=0.7)


def _rectangle(u0: float, v0: float, u1: float, v1: float) -> Polyline:
    return Polyline(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), closed=True, pen=Pen.NARROW, group=Group.FRAME)


def _table(block: Shown, room: float) -> list[Piece]:
    """Return a table: caption, head, rows, note; a short one is not broken, a long one repeats its head."""
    tick = (block.tick,) if block.tick else ()
    headers = (*block.heads, *tick)
    rows = [(*row, *("" for _ in tick)) for row in block.rows]
    widths = column_widths(headers, rows, room)
    ticked = sum(widths[:-1]) + widths[-1] / 2 if tick else None
    head = _row(headers, widths, bold=len(headers), wide=True)
    body = [replace(_row(row, widths, bold=1, ticked=ticked), header=head) for row in rows]
    whole = sum(piece.height for piece in body) <= _WHOLE
    last = len(body) - 1
    # The first row stays with the head, the last two with each other and with the note.
    kept = [whole or number in (0, last - 1) for number in range(last)] + [bool(block.note)]
    body = [replace(piece, keep=keep) for piece, keep in zip(body, kept, strict=True)]
    caption = [_text(block.caption, TEXT, room, bold=True, keep=True, above=2.5)] if block.caption else []
    note = [_text(block.note, SMALL, room, above=0.6)] if block.note else []
    return [*caption, replace(head, keep=True), *body, *note]


def _row(
    cells: Sequence[str], widths: Sequence[float], *, bold: int, wide: bool = False, ticked: float | None = None
) -> Piece:
    """Return a table's row in its rules, the first ``bold`` cells bold; ``ticked`` is where a box to tick stands."""
    texts = [
        wrap(cell, wide_ - 2 * PAD, CELL, bold=number < bold)
        for number, (cell, wide_) in enumerate(zip(cells, widths, strict=True))
    ]
    height = max(len(lines) for lines in texts) * CELL * LEADING + 1.5
    marks: list[Mark] = []
    left = 0.0
    for number, (lines, wide_) in enumerate(zip(texts, widths, strict=True)):
        marks += _lines(lines, left + PAD, -0.5, CELL, bold=number < bold)
        marks.append(Line((left, 0.0), (left, -height), Pen.NARROW, Group.FRAME))
        left += wide_
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
    true = block.true_size and fits >= 1.0
    factor = min(1.0, fits)
    size = "1:1" if true else "not to scale"
    picture = Piece((v1 - v0) * factor, above=2.0, keep=True, picture=block, factor=factor)
    return [picture, _text(f"{block.title}, {size}", SMALL, room)]
