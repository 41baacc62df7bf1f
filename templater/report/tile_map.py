"""The maps of the tiles."""

from __future__ import annotations

from templater.drawing.marks import Anchor, Group, Line, Mark, Pen, Polyline, Text
from templater.paper.tiles import TiledSheet
from templater.plane.shapes import Box
from templater.report.blocks import Picture


def _rectangle(box: Box) -> Polyline:
    u0, v0, u1, v1 = box
    return Polyline(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), closed=True, pen=Pen.WIDE, group=Group.OUTLINE)


def tile_map(sheet: TiledSheet) -> Picture:
    """Return the map of a sheet's tiles, forward up; pages left out as blank are crossed."""
    rows, columns = sheet.grid
    width, height = 20.0, 15.0
    marks: list[Mark] = []
    pages = {(tile.row, tile.column): tile for tile in sheet.tiles}
    for row in range(rows):
        for column in range(columns):
            u, v = column * width, -row * height
            marks.append(_rectangle((u, v - height, u + width, v)))
            tile = pages.get((row, column))
            if tile is None:
                marks.append(Line((u, v), (u + width, v - height), Pen.NARROW, Group.NOTE))
                marks.append(Line((u, v - height), (u + width, v), Pen.NARROW, Group.NOTE))
                continue
            marks.append(Text((u + width / 2, v - 7), tile.name, 4.5, Group.LABEL, Anchor.MIDDLE, bold=True))
            marks.append(Text((u + width / 2, v - 12), f"page {tile.page}", 2.8, Group.LABEL, Anchor.MIDDLE))
    words = ", ".join(f"{tile.name} on page {tile.page}" for tile in sheet.tiles[:60])
    box = (-2.0, -rows * height - 2, columns * width + 2, 2.0)
    title = f"Tiles of {sheet.drawing.name}, forward up"
    return Picture(title, f"{rows} rows, {columns} columns: {words}.", tuple(marks), box)
