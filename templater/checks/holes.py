"""Holes: inside the floor's outline, off the areas to be kept clear, and with wood left between them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templater.boat.solved import Boat, Hole
from templater.checks.guides import BOLTS, ROUNDING, SCREWS, Worst, guide_severity
from templater.description.keys import Surface
from templater.findings import Finding
from templater.plane.cells import Cells
from templater.plane.polygons import room_inside

#: Least side of a cell when holes are looked up, mm, so that a large hole does not search among countless small cells.
_CELL = 8.0


def hole_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F110 (outside), F112 (kept clear), W101 (holes cut into one another), W102 (thin wood between)."""
    if boat.description.floor.outline:
        yield from _outline_findings(boat)
    yield from _clear_findings(boat)
    for surface in Surface:
        yield from _wood_between(boat, boat.on(surface))


def _outline_findings(boat: Boat) -> Iterator[Finding]:
    outside = Worst()
    for hole in boat.on(Surface.FLOOR):
        room = room_inside(boat.description.floor.outline, hole.at) - hole.diameter / 2
        if room < -ROUNDING:
            outside.add((hole.key,), room, (hole.id, hole.name))
    say = boat.description.figures.size
    for (key,), room, (name, what), more in outside.cases():
        text = f"hole {name} ({what}){more} reaches {say(-room)} past the floor's outline - move it that far inward " \
            "or correct the outline"
        yield boat.finding("F110", str(key), text)


def _clear_findings(boat: Boat) -> Iterator[Finding]:
    description = boat.description
    say = description.figures.size
    holes = boat.on(Surface.FLOOR)
    for number, area in enumerate(description.floor.keep_clear):
        worst = Worst()
        xs, ys = sorted(x for x, _ in area.corners), sorted(y for _, y in area.corners)
        for hole in holes:
            wanted = area.margin + hole.diameter / 2
            x, y = hole.at
            if not (xs[0] - wanted < x < xs[-1] + wanted and ys[0] - wanted < y < ys[-1] + wanted):
                continue
            distance = -room_inside(area.corners, hole.at)
            if distance < wanted - ROUNDING:
                worst.add((hole.key,), distance - wanted, (hole.id, hole.name))
        for (key,), short, (name, what), more in worst.cases():
            text = f"hole {name} ({what}){more} comes {say(-short)} too near {area.name} " \
                f"(floor.keep_clear.{number}), margin {say(area.margin)} - move it that far away"
            yield boat.finding("F112", str(key), text)


def _wood_between(boat: Boat, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    """Every pair of holes whose wood between is thinner than the smaller of the two is wide."""
    # Holes go into one layer of cells for each doubling of diameter, the small ones first: a large hole looks among
    # the small ones and its like, and small ones never search as far as a large one reaches.
    layers: dict[int, Cells[Hole]] = {}
    cut, thin = Worst(), Worst()
    for hole in sorted(holes, key=lambda hole: hole.diameter):
        own = math.ceil(math.log2(hole.diameter))
        for layer, cells in layers.items():
            reach = hole.diameter / 2 + 1.5 * min(2.0**layer, hole.diameter)
            for distance, other in cells.near(hole.at, reach):
                room = distance - (hole.diameter + other.diameter) / 2
                if room < -ROUNDING:
                    cut.add((other.key, hole.key), room, (other.id, hole.id))
                    break  # one of its neighbours is enough, and keeps a heap of holes from costing its square
                if room < other.diameter - ROUNDING and not _guided(hole, other):
                    thin.add((other.key, hole.key), room / other.diameter, (other.id, hole.id, f"{room:.6f}"))
        layers.setdefault(own, Cells(max(2 * 2.0**own, _CELL))).add(hole.at, hole)
    description = boat.description
    say = description.figures.size
    for (_, key), room, (a, b), more in cut.cases():
        text = f"holes {a} and {b}{more} cut {say(-room)} into one another - move them apart by that and " \
            "the wood wanted between"
        yield boat.finding("W101", str(key), text)
    for (_, key), share, (a, b, left), more in thin.cases():
        text = f"between holes {a} and {b}{more} only {say(float(left))} of wood is left; guide: the smaller " \
            "hole's diameter (common practice) - move them apart"
        yield boat.finding("W102", str(key), text, guide_severity(share, 1.0))


def _guided(one: Hole, other: Hole) -> bool:
    """Whether a pair is of one kind with a published guide distance."""
    return any(one.kind in kinds and other.kind in kinds for kinds in (SCREWS, BOLTS))
