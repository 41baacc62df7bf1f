"""Sheets and fit-up as the page shows them: SVG text and plain data."""

from collections.abc import Mapping
from typing import Any

from templater.boat.solved import Boat
from templater.fitup.record import Record
from templater.fitup.square import SquareResult
from templater.paper.tiles import Tile, TiledSheet
from templater.plane.shapes import grow, union
from templater.report.blocks import lines
from templater.report.fitup import centreline_blocks, fitup_page, verdict
from templater.report.plan import move, plan_view
from templater.writers.svg import write_inline_svg

#: Room round a sheet on the screen, mm.
_RIM = 6.0


def sheet_data(sheet: TiledSheet) -> dict[str, Any]:
    """Return a sheet with its tiles and seams drawn over it."""
    drawing = sheet.drawing
    u0, v0, u1, v1 = box = union(drawing.box, *(tile.window for tile in sheet.tiles))
    words = f"{drawing.title}: {len(sheet.tiles)} tiles on {sheet.paper.name}"
    svg = write_inline_svg(drawing.marks, grow(box, _RIM), key=f"sheet-{drawing.name}", title=drawing.title,
                           description=words, true_size=False)  # fmt: skip
    over = "".join(
        f'<rect x="{a:.2f}" y="{-d:.2f}" width="{c - a:.2f}" height="{d - b:.2f}" />'
        f'<text x="{a + 6:.2f}" y="{-d + 22:.2f}" font-size="20">{tile.name}</text>'
        for tile in sheet.tiles
        for a, b, c, d in [tile.window]
    )
    seams = [f"M{u:.2f} {-v1:.2f}V{-v0:.2f}" for u in sheet.column_seams]
    seams += [f"M{u0:.2f} {-v:.2f}H{u1:.2f}" for v in sheet.row_seams]
    lines = "".join(f'<path d="{way}" />' for way in seams)
    return {
        "name": drawing.name,
        "title": drawing.title,
        "paper": sheet.lying,
        "tiles": [tile.name for tile in sheet.tiles],
        "cut": [f"{one.id} by {one.seam}" for one in sheet.cut],
        "svg": svg.replace(
            "</svg>", f'<g class="tiles" stroke-width="0.8">{over}<g class="seams">{lines}</g></g></svg>'
        ),
    }


def tile_svg(sheet: TiledSheet, tile: Tile) -> str:
    """Return a tile as it will be printed."""
    title = f"{sheet.drawing.title}, tile {tile.name}"
    box = (0.0, 0.0, *tile.paper)
    return write_inline_svg(tuple(tile.marks), box, key="tile", title=title, description=title, true_size=False)


def places(read: Mapping[str, Any], boat: Boat) -> dict[str, Any]:
    """Return by job where readings go: a key, a label, what was read there, and whether it takes a single figure."""
    square, line, shim = (read.get(section, {}) for section in ("square", "centreline", "shim"))
    attempts = square.get("attempts", ())
    at = f"square.attempts.{len(attempts) - 1}" if attempts else "square"
    last = attempts[-1] if attempts else square
    now = {"setting": boat.fitted.number, "first_bolt": "port", **square, **last}
    gaps, toe = shim.get("crown_gap", ()), shim.get("toe", {})

    def place(key: str, label: str, found: Any, *, single: bool = False) -> dict[str, Any]:
        rows = found if isinstance(found, list) else [found] if found not in (None, "") else []
        return {"key": key, "label": label, "read": rows, "single": single}

    def sides(key: str, label: str, below: Any) -> list[dict[str, Any]]:
        below = below if isinstance(below, Mapping) else {}
        edge = "_edge" if "port_edge" in below else ""
        return [place(f"{key}.{side}{edge}", f"{label} {side}{edge[1:] and ' edge'}", below.get(f"{side}{edge}"))
                for side in ("port", "starboard")]  # fmt: skip

    stations = (sides(f"centreline.stations.{number}", f"station {row.get('at', '')},", row)
                for number, row in enumerate(line.get("stations", ())))  # fmt: skip
    return {
        "square": {
            "at": at, "number": max(1, len(attempts)), "next": f"square.attempts.{len(attempts)}",
            "setting": now["setting"], "first_bolt": now["first_bolt"],
            "settings": [one.number for one in boat.settings],
        },
        "gap": f"shim.crown_gap.{len(gaps)}",
        "places": {
            "square": sides(at, "tape,", last)
            + sides(f"{at}.off_centre", "centreline to chock,", last.get("off_centre")),
            "centreline": [
                *(one for pair in stations for one in pair),
                place("centreline.post_offset", "steering post to starboard", line.get("post_offset")),
            ],
            "shim": [
                *(place(f"shim.crown_gap.{number}.gap", f"gap at {row.get('at', '')}", row.get("gap"))
                  for number, row in enumerate(gaps)),
                *sides("shim.tilt", "tilt in degrees,", shim.get("tilt")),
                *(place(f"shim.toe.{end}", f"toe, between the runners {end}", toe.get(end)) for end in ("fore", "aft")),
                place("shim.toe.apart", "toe, fore to aft", toe.get("apart"), single=True),
                place("shim.least", "packing where plank and hull touch", shim.get("least"), single=True),
            ],
        },
    }  # fmt: skip


def fit_up_data(boat: Boat, record: Record) -> dict[str, Any]:
    """Return what a fit-up came to: its page, its attempts, and centreline and shims in lines."""
    figures = boat.description.figures
    line, shim = record.centreline, record.shim
    told = {
        "centreline": lines(centreline_blocks(line, figures)[0], figures) if line else [],
        "shim": [
            "{} shim, at the bolt {}; fore {} and {}, aft {} and {}".format(
                seat.side.word, *map(figures.fine, (seat.at_bolt, *seat.corners))
            )
            for seat in shim.seats
        ] if shim and shim.decided else [],
    }  # fmt: skip
    attempts = [_attempt(boat, one) for one in record.attempts]
    return {"attempts": attempts, "told": told, "page": fitup_page(record, boat).decode()}


def _attempt(boat: Boat, result: SquareResult) -> dict[str, Any]:
    """Return one attempt at squaring: picture, verdict, and which end goes which way."""
    figures = boat.description.figures
    picture = plan_view(boat, result)
    return {
        "verdict": verdict(result),
        "decided": result.decided,
        "moves": [[end.side.word, move(end, figures) or "stays"] for end in result.ends],
        "aim": [figures.length(result.aim_port), figures.length(result.aim_starboard)],
        "svg": write_inline_svg(picture.marks, picture.box, key="attempt", title=picture.title,
                                description=picture.description, true_size=False),
    }  # fmt: skip
