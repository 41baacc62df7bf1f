"""What was put where, for tools and for checking: plain data, numbers rounded to a millionth of a mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from templater.drawing.marks import SheetHole
from templater.paper.record import Record
from templater.paper.tiles import Correction, Tile, TiledSheet, TitleData

DECIMALS = 6


def manifest(
    sheets: Sequence[TiledSheet], title: TitleData, svg_files: dict[str, str] | None = None
) -> dict[str, object]:
    """Return the manifest of a run; its records of marks are made anew each time they are gone through.

    Args:
        sheets: all sheets of the run.
        title: title data.
        svg_files: sheet name to the file that shows the whole sheet; ``<sheet name>.svg`` where it is not named.
    """
    names = svg_files or {}
    return {
        "program": "templater",
        "version": title.program_version,
        "description_sha256": title.description_sha256,
        "revision": title.revision,
        "boat": title.boat,
        "units": "mm",
        "sheets": [_sheet(sheet, names.get(sheet.drawing.name, f"{sheet.drawing.name}.svg")) for sheet in sheets],
    }


def _sheet(sheet: TiledSheet, svg: str) -> dict[str, Any]:
    drawing = sheet.drawing
    return {
        "name": drawing.name,
        "title": drawing.title,
        "face": drawing.face,
        "mirrored": drawing.mirrored,
        "svg": svg,
        "box": _rounded(drawing.box),
        "grid": list(sheet.grid),
        "column_seams": _rounded(sheet.column_seams),
        "row_seams": _rounded(sheet.row_seams),
        "blank": list(sheet.blank),
        "holes": [_hole(hole) for hole in drawing.holes],
        **({"expected": [_hole(place) for place in drawing.expected]} if drawing.expected else {}),
        "registration": [{"id": r.id, **_at(r.at), "tiles": list(r.tiles)} for r in sheet.registrations],
        "cut": [cut._asdict() for cut in sheet.cut],
        "crossed": [cut._asdict() for cut in sheet.crossed],
        "marks": Record(drawing.marks),
        "pages": [_page(tile, f"{drawing.name}.pdf", sheet.correction) for tile in sheet.tiles],
    }


def _page(tile: Tile, file: str, correction: Correction) -> dict[str, Any]:
    return {
        "file": file,
        "page": tile.page,
        "tile": tile.name,
        "paper": _rounded(tile.paper),
        "window": _rounded(tile.window),
        "to_page": [*(round(value, 9) for value in tile.to_page[:4]), *_rounded(tile.to_page[4:])],
        "correction": {
            "name": correction.name,
            "across": round(correction.across, 9),
            "along": round(correction.along, 9),
            "skew": round(correction.skew, 9),
        },
        "bars": [
            {
                "id": bar.id,
                "axis": bar.axis,
                "a": _rounded(bar.a),
                "b": _rounded(bar.b),
                "length": round(bar.length, DECIMALS),
            }
            for bar in tile.bars
        ],
        "registration": list(tile.registrations),
        "holes": list(tile.holes),
        "marks": Record(tile.marks),
    }


def _hole(hole: SheetHole) -> dict[str, Any]:
    return {"id": hole.id, "kind": hole.kind, **_at(hole.at), "diameter": round(hole.diameter, DECIMALS)}


def _at(point: tuple[float, float]) -> dict[str, float]:
    x, y = _rounded(point)
    return {"x": x, "y": y}


def _rounded(values: Iterable[float]) -> list[float]:
    """Return numbers rounded, no negative zero among them."""
    return [round(value, DECIMALS) + 0.0 for value in values]
