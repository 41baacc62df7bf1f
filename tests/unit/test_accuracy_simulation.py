"""The error budget against a straightforward simulation of printing, taping, laying, pricking, drilling and fitting.

The simulation shares nothing with the budget but the sheets and the sources' standard deviations: pages are moved and
turned by exact motions, sheets are laid by trial, the plank is fitted to the drilled floor and taped in space.
Method: propagation of distributions by random sampling, JCGM 101:2008.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import made_boats
import numpy as np
import pytest

from templater.accuracy.errors import Sources, default_sources
from templater.accuracy.report import AccuracyReport, accuracy
from templater.boat.solved import Boat
from templater.drawing.marks import Group, Polyline
from templater.paper.tiles import TiledSheet

BOATS = 30_000
#: The standard deviation of a sample of 30 000 is sure to 0.4 per cent; second order effects are smaller.
CLOSE = 0.03

Places = dict[str, np.ndarray]


def job(path: Path, **errors: float) -> tuple[Boat, tuple[TiledSheet, ...], Sources]:
    checked, sheets = made_boats.tiled(path.stem)
    description = checked.boat.description.changed(accuracy=checked.boat.description.accuracy.changed(**errors))
    boat = checked.boat._replace(description=description)
    return boat, sheets[:2], default_sources(boat)


@dataclass
class Workshop:
    """Draws every error once a boat."""

    sources: Sources
    random: np.random.Generator

    def draw(self, name: str) -> np.ndarray:
        return self.random.normal(0.0, self.sources.of(name).sigma, BOATS)


def turn(points: np.ndarray, angle: np.ndarray, about: np.ndarray) -> np.ndarray:
    """Turn points (boats, 2) anticlockwise by an angle for each boat."""
    cos, sin, off = np.cos(angle), np.sin(angle), points - about
    return about + np.stack((cos * off[:, 0] - sin * off[:, 1], sin * off[:, 0] + cos * off[:, 1]), axis=1)


def assembled(sheet: TiledSheet, shop: Workshop, scale: tuple[np.ndarray, np.ndarray]) -> object:
    """Return a function from a point of the sheet to where it stands on the taped paper of each boat.

    The first page lies still; every other one is taped to one that lies already, and carries on moving with it.
    """
    humidity = shop.draw("paper movement with humidity")
    # 0.15 % along the grain and 0.30 % across it for 30 % of relative humidity; the grain along a page's longer side.
    grain = {True: 0.0015 / 30, False: 0.0030 / 30}
    wide = sheet.tiles[0].paper[0] > sheet.tiles[0].paper[1]
    across, along = scale[::-1] if sheet.sideways else scale
    stretch = np.stack((1 + across + grain[wide] * humidity, 1 + along + grain[not wide] * humidity), axis=1)
    moves: dict[tuple[int, int], list[tuple[np.ndarray, np.ndarray, np.ndarray]]] = {}
    waiting = [(tile.row, tile.column) for tile in sheet.tiles]
    moves[waiting.pop(0)] = []
    while waiting:
        new = next(cell for cell in waiting if any(beside(cell, old) for old in moves))
        waiting.remove(new)
        old = next(cell for cell in moves if beside(cell, new))
        shift = np.stack((shop.draw("seam shift"), shop.draw("seam shift")), axis=1)
        angle = np.radians(shop.draw("seam rotation"))
        moves[new] = [(shift, angle, stretch * seam_middle(sheet, old, new)), *moves[old]]

    def place(at: tuple[float, float]) -> np.ndarray:
        cell = (sum(at[1] < v for v in sheet.row_seams), sum(at[0] > u for u in sheet.column_seams))
        point = stretch * np.array(at)
        for shift, angle, about in moves[cell]:
            point = turn(point, angle, about) + shift
        return point

    return place


def beside(a: tuple[int, int], b: tuple[int, int]) -> bool:
    return abs(a[0] - b[0]) + abs(a[1] - b[1]) == 1


def seam_middle(sheet: TiledSheet, a: tuple[int, int], b: tuple[int, int]) -> np.ndarray:
    """Return the middle between the registration marks of the seam between two pages."""
    names = {next(t.name for t in sheet.tiles if (t.row, t.column) == cell) for cell in (a, b)}
    return np.mean([mark.at for mark in sheet.registrations if names <= set(mark.tiles)], axis=0)


def drilled(sheet: TiledSheet, shop: Workshop, scale: tuple[np.ndarray, np.ndarray], thickness: float) -> Places:
    """Return where the sheet's bolt holes end up on the wood, sheet frame."""
    place = assembled(sheet, shop, scale)
    lines, aims, found = [], [], []
    for mark in sheet.drawing.marks:
        if isinstance(mark, Polyline) and mark.group is Group.SIGHT and not mark.filled:
            low, high = np.min(mark.points, axis=0), np.max(mark.points, axis=0)
            axis = 1 if high[0] - low[0] > high[1] - low[1] else 0
            lines.append(axis)
            aims.append((low + high) / 2)
            found.append((place(tuple((low + high) / 2)), shop.draw("laying the sheet on the lines")))
    middle = np.mean(aims, axis=0)
    move, angle = np.zeros((BOATS, 2)), np.zeros(BOATS)
    for _ in range(3):  # by trial: look through all windows, mend, look again
        rows, offs = [], []
        for axis, aim, (at, pencil) in zip(lines, aims, found, strict=True):
            seen = turn(at, angle, middle) + move
            offs.append(aim[axis] + pencil - seen[:, axis])
            rows.append((1.0, 0.0, middle[1] - aim[1]) if axis == 0 else (0.0, 1.0, aim[0] - middle[0]))
        step = np.linalg.lstsq(np.array(rows), np.array(offs), rcond=None)[0]
        move, angle = move + step[:2].T, angle + step[2]
    places = {}
    for hole in (*sheet.drawing.holes, *sheet.drawing.expected):
        if hole.kind in ("sleeve", "bolt", "place to expect"):
            at = turn(place(hole.at), angle, middle) + move
            for axis in (0, 1):
                lean = thickness * np.tan(np.radians(shop.draw("drill lean")))
                at[:, axis] += shop.draw("punching") + shop.draw("drill wander") + lean
            places[hole.id] = at
    return places


@dataclass
class Simulated:
    """Standard deviations by name."""

    athwart: dict[str, float]
    fore_and_aft: dict[str, float]
    pairs: dict[tuple[str, str], float]
    leads: list[float]
    tapes: list[float]
    limits: list[float]
    squared: list[float]


def drilled_places(boat: Boat, sheets: tuple[TiledSheet, ...], shop: Workshop) -> Places:
    """Return where all bolt holes of floor and plank end up: aft, and to starboard."""
    scale = shop.draw("printer scale"), shop.draw("printer scale")
    description = boat.description
    by_name = {sheet.drawing.name: sheet for sheet in sheets}
    from_above = not by_name["floor"].drawing.mirrored
    holes = {**drilled(by_name["floor"], shop, scale, description.floor.thickness if from_above else 0.0),
             **drilled(by_name["plank"], shop, scale, 0.0)}  # fmt: skip
    sides = {"floor": -1 if by_name["floor"].drawing.mirrored else 1, "plank": 1}
    places = {}
    for ident, at in holes.items():
        side = sides["plank" if ident in ("KP", "KS") else "floor"]
        places[ident] = np.stack((-at[:, 1], side * at[:, 0]), axis=1)
    return places


def simulate(boat: Boat, sheets: tuple[TiledSheet, ...], sources: Sources, seed: int = 20261125) -> Simulated:
    shop = Workshop(sources, np.random.default_rng(seed))
    places = drilled_places(boat, sheets, shop)
    pairs = {(d.a, d.b): float(np.std(np.hypot(*(places[d.b] - places[d.a]).T))) for d in boat.distances}
    corners = boat.description.plank.chock_corners
    assert corners is not None
    leads, tapes, limits, squared = [], [], [], []
    for setting in boat.settings:
        port, starboard = places[f"P{setting.number}"], places[f"S{setting.number}"]
        floor_line, plank_line = starboard - port, places["KS"] - places["KP"]
        yaw = np.arctan2(*floor_line.T) - np.arctan2(*plank_line.T)
        # The plank's middle goes where both its holes come as close to the floor's as they can.
        off = (port + starboard) / 2 - (places["KP"] + places["KS"]) / 2
        ends = {}
        for side, sign in (("P", -1), ("S", 1)):
            aft, out = corners.aft_of_bolts, sign * corners.apart / 2
            ends[side] = off + np.stack((np.cos(yaw) * aft + np.sin(yaw) * out, np.cos(yaw) * out - np.sin(yaw) * aft),
                                        axis=1)  # fmt: skip
        drop = boat.tape[setting.number - 1].drop
        read = {side: np.sqrt((end**2).sum(axis=1) + drop**2) + shop.draw("tape reading") for side, end in ends.items()}
        leads.append(float(np.std(ends["S"][:, 0] - ends["P"][:, 0])))
        tapes.append(float(np.std(read["P"] - read["S"])))
        squared.append(max(float(np.std(squared_lead(boat, places, side, setting.number, shop))) for side in "PS"))
        placing = ("tape reading", "tape's own error", "pencil line", "finding the steering pivot axis",
                   "placing the chocks")  # fmt: skip
        # The bolt rests anywhere in the lesser of slot and sleeve: M8 in 8.5 mm, 5/16 in in 11/32 in.
        half = boat_play(boat) / 2
        line = sum(shop.draw(name) for name in placing) + shop.random.uniform(-half, half, BOATS)
        limits.append(max(float(np.std(line + places[f"{side}{setting.number}"][:, 0] - places[f"K{side}"][:, 0]))
                          for side in "PS"))  # fmt: skip
    return Simulated(
        {ident: float(np.std(at[:, 1])) for ident, at in places.items()},
        {ident: float(np.std(at[:, 0])) for ident, at in places.items()},
        pairs, leads, tapes, limits, squared,
    )  # fmt: skip


def boat_play(boat: Boat) -> float:
    """What the bolt can travel fore and aft: by hand from the descriptions of the two demo boats, mm."""
    return {"Whinchat 3": 8.5 - 8.0, "Whinchat 5": 25.4 * 1 / 32}[boat.description.boat]


def squared_lead(boat: Boat, places: Places, first: str, number: int, shop: Workshop) -> np.ndarray:
    """Return the lead left once the plank is turned on its first bolt until the tapes, as read, are alike."""
    corners = boat.description.plank.chock_corners
    assert corners is not None
    bolt, own, drop = places[f"{first}{number}"], places[f"K{first}"], boat.tape[number - 1].drop
    error = shop.draw("tape reading") - shop.draw("tape reading")

    def look(yaw: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The tapes' difference as read, and the lead."""
        ends = []
        for sign in (-1, 1):
            aft, out = corners.aft_of_bolts - own[:, 0], sign * corners.apart / 2 - own[:, 1]
            ends.append(bolt + np.stack((np.cos(yaw) * aft + np.sin(yaw) * out, np.cos(yaw) * out - np.sin(yaw) * aft),
                                        axis=1))  # fmt: skip
        port, starboard = (np.sqrt((end**2).sum(axis=1) + drop**2) for end in ends)
        return starboard - port + error, ends[1][:, 0] - ends[0][:, 0]

    now = np.zeros(BOATS)
    slope = (look(now + 1e-3)[0] - look(now)[0]) / 1e-3
    for _ in range(5):
        now = now - look(now)[0] / slope
    assert np.abs(look(now)[0]).max() < 1e-6
    return look(now)[1]


def compare(report: AccuracyReport, simulated: Simulated) -> None:
    close = {"rel": CLOSE}
    for hole in report.holes:
        assert hole.athwart == pytest.approx(simulated.athwart[hole.id], **close), hole.id
        assert hole.fore_and_aft == pytest.approx(simulated.fore_and_aft[hole.id], **close), hole.id
    for pair, simulated_pair in zip(report.pairs, simulated.pairs.items(), strict=True):
        assert pair.what.startswith(" to ".join(simulated_pair[0]))
        assert pair.sigma == pytest.approx(simulated_pair[1], **close), pair.what
    assert [lead.sigma for lead in report.leads] == pytest.approx(simulated.leads, **close)
    assert [tape.sigma for tape in report.tapes] == pytest.approx(simulated.tapes, **close)
    assert [row.sigma for row in report.limits] == pytest.approx(simulated.limits, **close)
    once_squared = next(item.after for item in report.improvements if "squared by tape" in item.text)
    assert min(abs(once_squared / value - 1) for value in simulated.squared) < CLOSE
    assert once_squared < max(simulated.leads) / 2


def test_the_demo_boat(configs: Path) -> None:
    boat, sheets, sources = job(configs / "whinchat-3.yaml")
    assert len(sheets[0].tiles) == 4  # taped in one way only, so that the simulation need not choose
    compare(accuracy(boat, sheets, sources), simulate(boat, sheets, sources))


def test_the_demo_boat_with_poor_paper_and_seams(configs: Path) -> None:
    boat, sheets, sources = job(configs / "whinchat-3.yaml", seam=1.0, humidity=30.0, printer_scale=0.004, drill=0.1)
    compare(accuracy(boat, sheets, sources), simulate(boat, sheets, sources))


def test_the_boat_drilled_from_below_in_inches(configs: Path) -> None:
    # Its floor's six pages can be taped in several orders; without seam errors the order does not matter.
    boat, sheets, sources = job(configs / "whinchat-5.yaml", seam=0.0, seam_angle=0.0, lay=0.8)
    assert sheets[0].drawing.mirrored
    compare(accuracy(boat, sheets, sources), simulate(boat, sheets, sources))
