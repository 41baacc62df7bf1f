"""Sheets and fit-up as the page shows them: SVG text and plain data."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

from templater.boat.solved import Boat
from templater.fitup.square import SquareResult
from templater.paper.tiles import Tile, TiledSheet
from templater.report.plan import plan_view
from templater.writers.svg import write_inline_svg

#: Room round a sheet on the screen, mm.
_RIM = 6.0


def sheet_data(sheet: TiledSheet) -> dict[str, Any]:
    """Return a sheet with its tiles and seams drawn over it."""
    drawing = sheet.drawing
    u0, v0, u1, v1 = drawing.box
    for tile in sheet.tiles:
        a, b, c, d = tile.window
        u0, v0, u1, v1 = min(u0, a), min(v0, b), max(u1, c), max(v1, d)
    box = (u0 - _RIM, v0 - _RIM, u1 + _RIM, v1 + _RIM)
    words = f"{drawing.title}: {len(sheet.tiles)} tiles on {sheet.paper.name}"
    svg = write_inline_svg(drawing.marks, box, key=f"sheet-{drawing.name}", title=drawing.title, description=words,
                           true_size=False)  # fmt: skip
    over = ElementTree.Element("g", {"class": "tiles", "stroke-width": "0.8"})
    for tile in sheet.tiles:
        a, b, c, d = tile.window
        size = {"x": f"{a:.2f}", "y": f"{-d:.2f}", "width": f"{c - a:.2f}", "height": f"{d - b:.2f}"}
        ElementTree.SubElement(over, "rect", size)
        place = {"x": f"{a + 6:.2f}", "y": f"{-d + 22:.2f}", "font-size": "20"}
        ElementTree.SubElement(over, "text", place).text = tile.name
    seams = ElementTree.SubElement(over, "g", {"class": "seams"})
    for u in sheet.column_seams:
        ElementTree.SubElement(seams, "path", {"d": f"M{u:.2f} {-v1:.2f}V{-v0:.2f}"})
    for v in sheet.row_seams:
        ElementTree.SubElement(seams, "path", {"d": f"M{u0:.2f} {-v:.2f}H{u1:.2f}"})
    return {
        "name": drawing.name,
        "title": drawing.title,
        "paper": f"{sheet.paper.name}, {'sideways' if sheet.sideways else 'upright'}",
        "tiles": [tile.name for tile in sheet.tiles],
        "cut": [f"{one.id} by {one.seam}" for one in sheet.cut],
        "svg": svg.replace("</svg>", ElementTree.tostring(over, encoding="unicode") + "</svg>"),
    }


def tile_svg(sheet: TiledSheet, tile: Tile) -> str:
    """Return a tile as it will be printed."""
    title = f"{sheet.drawing.title}, tile {tile.name}"
    box = (0.0, 0.0, *tile.paper)
    return write_inline_svg(tuple(tile.marks), box, key="tile", title=title, description=title, true_size=False)


def attempt_data(boat: Boat, result: SquareResult) -> dict[str, Any]:
    """Return one attempt at squaring: picture, verdict, and which end goes which way."""
    figures = boat.description.figures
    picture = plan_view(boat, result)
    moves = []
    for end in result.ends:
        way = "stays" if end.stays else f"{figures.fine(abs(end.aft))} {'forward' if end.aft > 0 else 'aft'}"
        moves.append([end.side.name.lower(), way])
    verdict = "square within tolerance" if result.passed else "not square yet" if result.decided else "not decided"
    return {
        "number": result.attempt.number,
        "svg": write_inline_svg(picture.marks, picture.box, key=f"attempt-{result.attempt.number}", title=picture.title,
                                description=picture.description, true_size=False),
        "verdict": verdict,
        "passed": result.passed,
        "decided": result.decided,
        "moves": moves,
        "aim": [figures.length(result.aim_port), figures.length(result.aim_starboard)],
        "findings": [{"code": one.code, "severity": one.severity.value, "key": one.key, "text": one.text}
                     for one in result.findings],
    }  # fmt: skip
