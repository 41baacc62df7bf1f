"""What was put where, for tools and for checking: plain data, numbers rounded to a millionth of a mm.

``marks`` of a sheet and of a page are what it shows, so that it can be proved without its description. Each is a row:
its kind, its pen (``drawing.marks.Pen``), numbers in mm, what it is for, and its id or a text's words::

    ["line", "01.1", [0, x, y, x, y ..], group, id]     open straight pieces; first the length of pattern used up
    ["outline", "01.2", [0, x, y ..], group, id]        closed ones
    ["area", "", [x, y ..], group, id]                  filled black
    ["circle", "01.2", [x, y, diameter], group, id]
    ["arc", "01.2", [x, y, radius, start, end], group, id]     degrees, anticlockwise from X
    ["curve", "01.1", [x, y, x, y ..], group, id]       closed, of cubic Bezier pieces
    ["text", "", [size, turn, bold, x, y], group, words]       the start of the base line, quarter turns anticlockwise

``frame`` of a sheet is what its pages have in common, said once; a page that lacks some of it names their numbers::

    ["without", "", [0, 7], "", ""]
"""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import islice
from typing import Any
from zlib import compressobj, decompressobj

from templater.drawing.marks import Arc, Circle, Cross, Curve, Line, Mark, Polyline, SheetHole, Text, in_groups
from templater.paper.tiles import Tile, TiledSheet, TitleData

#: Names of the manifest of a run, of that of a fit-up, and of the paper of a run that holds no sheet.
MANIFEST_FILE, FIT_UP_FILE, JOB_SHEET = "manifest.json", "fit-up-manifest.json", "job-sheet.pdf"
DECIMALS = 6
#: Rows written at a time, and bytes of them.
_AT_A_TIME, _PART = 1000, 1 << 18
Row = tuple[str, str, tuple[float, ...], str, str]


def manifest(sheets: Sequence[TiledSheet], title: TitleData) -> dict[str, Any]:
    """Return the manifest of a run."""
    return {
        "program": "templater",
        "version": title.program_version,
        "description_sha256": title.description_sha256,
        "revision": title.revision,
        "boat": title.boat,
        "units": "mm",
        "sheets": [_sheet(sheet) for sheet in sheets],
    }


class Rows:
    """The rows of a page's or a sheet's marks, less those of the ``frame``: kept as their JSON, compressed.

    Marks and rows of thousands of pages fill the memory; only a sheet's own, ``whole``, are held.
    """

    def __init__(self, marks: Iterable[Mark], frame: Mapping[Row, int], whole: Sequence[Mark] = ()) -> None:
        """Take marks, and the frame's rows with their numbers."""
        self._whole, self._text = whole, b""

        def own() -> Iterator[Row]:
            lacking = dict(frame)
            yield from (row for row in rows(marks) if lacking.pop(row, None) is None)
            if lacking:
                yield "without", "", tuple(map(float, lacking.values())), "", ""

        coming, pack, before = own(), compressobj(1), "\n"
        while some := list(islice(coming, _AT_A_TIME)):
            # Between rows alone: within a text each quotation mark has a stroke before it.
            text = _written(some)[1:-1].replace('"], ["', '"],\n["')
            self._text += pack.compress(f"{before}{text}".encode())
            before = ",\n"
        self._text += pack.flush()

    def __iter__(self) -> Iterator[Row]:
        return iter(json.loads(b"[%b]" % b"".join(self.parts())))

    def in_groups(self) -> Iterator[Row]:
        """Yield the rows of a whole sheet in the order in which its picture shows them."""
        return rows(in_groups(self._whole))

    def parts(self) -> Iterator[bytes]:
        """Yield the rows as JSON, each on a line of its own, the first too, without brackets."""
        unpack, packed = decompressobj(), self._text
        while part := unpack.decompress(packed, _PART):
            yield part
            packed = unpack.unconsumed_tail


def _written(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def manifest_json(value: object, indent: bytes = b"") -> Iterator[bytes]:
    """Yield a manifest, or a part of it, as JSON: each hole, bar, mark and other record on a line of its own.

    An iterator yields what is written already, at its indent.
    """
    inner = b"\n" + indent + b" "
    if isinstance(value, Iterator):
        yield from value
    elif isinstance(value, Rows):
        yield b"["
        part = b""
        for part in value.parts():
            yield part.replace(b"\n", inner)
        yield b"\n" + indent + b"]" if part else b"]"
    elif isinstance(value, dict) and value.keys() & {"sheets", "marks"}:
        for number, (key, part) in enumerate(value.items()):
            yield (b"," if number else b"{") + inner + _written(key).encode() + b": "
            yield from manifest_json(part, indent + b" ")
        yield b"\n" + indent + b"}"
    elif isinstance(value, list) and value and isinstance(value[0], dict | list | tuple | Iterator):
        for number, part in enumerate(value):
            yield (b"," if number else b"[") + inner
            yield from manifest_json(part, indent + b" ")
        yield b"\n" + indent + b"]"
    else:
        yield _written(value).encode()


def _sheet(sheet: TiledSheet) -> dict[str, Any]:
    drawing = sheet.drawing
    frame = _frame(sheet.tiles)
    numbers = {row: number for number, row in enumerate(frame)}
    correction = {k: v if k == "name" else round(v, 9) for k, v in sheet.correction._asdict().items()}
    pages = (_page(tile, f"{drawing.name}.pdf", correction, numbers) for tile in sheet.tiles)
    return {
        "name": drawing.name,
        "title": drawing.title,
        "face": drawing.face,
        "mirrored": drawing.mirrored,
        "svg": f"{drawing.name}.svg",
        "box": _plain(drawing.box),
        "grid": list(sheet.grid),
        "column_seams": _plain(sheet.column_seams),
        "row_seams": _plain(sheet.row_seams),
        "blank": list(sheet.blank),
        "holes": [_hole(hole) for hole in drawing.holes],
        **({"expected": [_hole(place) for place in drawing.expected]} if drawing.expected else {}),
        "registration": [
            {"id": id_, **dict(zip("xy", _plain(at), strict=True)), "tiles": list(tiles)}
            for id_, at, tiles in sheet.registrations
        ],
        "cut": [cut._asdict() for cut in sheet.cut],
        "crossed": [cut._asdict() for cut in sheet.crossed],
        "marks": Rows(drawing.marks, {}, drawing.marks),
        "frame": frame,
        "pages": list(pages),
    }


def _frame(tiles: Sequence[Tile]) -> list[Row]:
    """Return what pages have in common, as three of them show it."""
    if len(tiles) < 2:
        return []
    first, *others = (rows(tiles[number].marks) for number in {0, len(tiles) // 2, len(tiles) - 1})
    shared = set.intersection(*map(set, others))
    return [row for row in first if row in shared]


def _page(tile: Tile, file: str, correction: dict[str, Any], frame: Mapping[Row, int]) -> dict[str, Any]:
    return {
        "file": file,
        "page": tile.page,
        "tile": tile.name,
        "paper": _shared(tile.paper),
        "window": _plain(tile.window),
        "to_page": [*(round(value, 9) for value in tile.to_page[:4]), *_plain(tile.to_page[4:])],
        "correction": correction,
        "bars": _shared(tile.bars),
        "registration": list(tile.registrations),
        "holes": list(tile.holes),
        "marks": Rows(tile.marks, frame),
    }


def rows(marks: Iterable[Mark]) -> Iterator[Row]:
    """Yield the rows of a page's or a sheet's marks; numbers are rounded to a hundred-thousandth."""
    for mark in marks:
        if isinstance(mark, Text):
            yield "text", "", _row(mark.size, mark.turn % 4, mark.bold, *mark.start), mark.group.value, mark.text
            continue
        of = mark.group.value, mark.id
        pen = mark.pen.value
        if isinstance(mark, Line):
            yield "line", pen, _row(mark.phase, *mark.a, *mark.b), *of
        elif isinstance(mark, Cross):
            for a, b in mark.arms:
                yield "line", pen, _row(0.0, *a, *b), *of
        elif isinstance(mark, Polyline):
            points = _row(*(value for point in mark.points for value in point))
            if mark.filled:
                yield "area", "", points, *of
            else:
                yield "outline" if mark.closed else "line", pen, (0.0, *points), *of
        elif isinstance(mark, Circle):
            yield "circle", pen, _row(*mark.centre, mark.diameter), *of
        elif isinstance(mark, Arc):
            yield "arc", pen, _row(*mark.centre, mark.radius, mark.start, mark.end), *of
        elif isinstance(mark, Curve):
            handles = (value for piece in mark.pieces for point in piece for value in point)
            yield "curve", pen, _row(*mark.start, *handles), *of


def _row(*values: float) -> tuple[float, ...]:
    return tuple([round(value, 5) + 0.0 for value in values])


def _hole(hole: SheetHole) -> dict[str, Any]:
    x, y, diameter = _plain((*hole.at, hole.diameter))
    return {"id": hole.id, "kind": hole.kind, "x": x, "y": y, "diameter": diameter}


def _plain(value: Any) -> Any:
    """Return numbers rounded, no negative zero among them: those of a record by name, else in a list."""
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0
    if isinstance(value, tuple):
        parts = [_plain(part) for part in value]
        return dict(zip(value._fields, parts, strict=True)) if hasattr(value, "_fields") else parts
    return value


_shared = lru_cache(8)(_plain)  # what pages have in common: thousands of copies would fill the memory
