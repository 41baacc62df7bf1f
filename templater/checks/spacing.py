"""Wood between holes: none may cut into another, and fasteners keep the guide distances of their kind."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.guides import Worst, guide_severity
from templater.checks.rule import ROUNDING
from templater.description.model import Surface
from templater.findings import Finding
from templater.job.lengths import finding_at, sayer
from templater.plane.cells import Cells
from templater.standards.spacing import bolt_spacing, screw_spacing

_SCREWS = (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)
_BOLTS = (HoleKind.BOLT, HoleKind.SLEEVE)


def spacing_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings W101 (holes cut into one another), W102 (thin wood between), W103 (screws), W104 (bolts)."""
    for surface in Surface:
        holes = boat.on(surface)
        yield from _wood_between(boat, holes)
        for code, kinds in (("W103", _SCREWS), ("W104", _BOLTS)):
            yield from _fastener_spacing(boat, [hole for hole in holes if hole.kind in kinds], code)


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
        layers.setdefault(own, Cells(2 * 2.0**own)).add(hole.at, hole)
    description = boat.description
    say = sayer(description)
    for (_, key), room, (a, b), more in cut.cases():
        text = f"holes {a} and {b}{more} cut {say(-room)} into one another - move them apart by that and " \
            "the wood wanted between"
        yield finding_at(description, "W101", key, text)
    for (_, key), share, (a, b, left), more in thin.cases():
        text = f"between holes {a} and {b}{more} only {say(float(left))} of wood is left; guide: the smaller " \
            "hole's diameter (common practice) - move them apart"
        yield finding_at(description, "W102", key, text, graded=guide_severity(share, 1.0))


def _guided(one: Hole, other: Hole) -> bool:
    """Whether a pair is of one kind with a published guide distance."""
    return any(one.kind in kinds and other.kind in kinds for kinds in (_SCREWS, _BOLTS))


def _fastener_spacing(boat: Boat, holes: list[Hole], code: str) -> Iterator[Finding]:
    """Fasteners of one kind against the table's least distance, whichever way the grain of the floor runs."""
    if not holes:
        return
    description = boat.description
    diameter = max(hole.diameter for hole in holes)
    if code == "W103":
        guide, multiple, table = screw_spacing(diameter).across, 3, "table 8.2, predrilled"
    else:
        guide, multiple, table = bolt_spacing(diameter).across, 4, "table 8.4"
    cells: Cells[Hole] = Cells(guide)
    worst = Worst()
    for hole in holes:
        for distance, other in cells.near(hole.at, guide - ROUNDING):
            if distance >= (hole.diameter + other.diameter) / 2 - ROUNDING:
                worst.add((other.key, hole.key), distance, (other.id, hole.id))
        cells.add(hole.at, hole)
    say = sayer(description)
    for (_, key), distance, (a, b), more in worst.cases():
        text = f"holes {a} and {b}{more} stand {say(distance)}, {distance / diameter:.1f} diameters, apart; guide: " \
            f"{say(guide)}, {multiple} diameters (EN 1995-1-1:2004 {table}) - set them {say(guide - distance)} " \
            "further apart"
        yield finding_at(description, code, key, text, graded=guide_severity(distance, guide))
