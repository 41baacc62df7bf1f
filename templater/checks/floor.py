"""Holes of the floor: inside its outline, off the areas to be kept clear."""

from __future__ import annotations

from collections.abc import Iterator

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.guides import Worst, guide_severity
from templater.checks.rule import ROUNDING
from templater.description.model import Surface
from templater.findings import Finding
from templater.job.lengths import finding_at, sayer
from templater.plane.polygons import crossing_edges, room_inside
from templater.standards.spacing import bolt_spacing, screw_spacing

_SCREWS = (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)


def floor_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings F101 (outline), F110 (outside), F111 (near the edge), F112 (kept clear)."""
    description = boat.description
    floor = description.floor
    holes = boat.on(Surface.FLOOR)
    shapes = [("floor.outline", "the floor's outline", floor.outline)]
    shapes += [(f"floor.keep_clear.{n}.corners", area.name, area.corners) for n, area in enumerate(floor.keep_clear)]
    crossed = [(key, name) for key, name, corners in shapes if corners and crossing_edges(corners)]
    for key, name in crossed:
        text = f"{name}: its edges cross one another - give the corners in order round it"
        yield finding_at(description, "F101", key, text)
    if floor.outline and not any(key == "floor.outline" for key, _ in crossed):
        yield from _outline_findings(boat, holes)
    yield from _clear_findings(boat, holes)


def edge_guide(hole: Hole) -> tuple[float, str]:
    """Return the least distance of a hole's centre to an unloaded edge as a guide, mm, and where it comes from."""
    if hole.kind in _SCREWS:
        return screw_spacing(hole.diameter).edge_free, "EN 1995-1-1:2004 table 8.2"
    return bolt_spacing(hole.diameter).edge_free, "EN 1995-1-1:2004 table 8.4"


def _outline_findings(boat: Boat, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    description = boat.description
    outside, near = Worst(), Worst()
    guides: dict[str, tuple[float, str]] = {}
    for hole in holes:
        room = room_inside(description.floor.outline, hole.at)
        guide, source = edge_guide(hole)
        if room < hole.diameter / 2 - ROUNDING:
            outside.add((hole.key,), room - hole.diameter / 2, (hole.id, hole.name))
        elif room < guide - ROUNDING:
            guides[hole.key] = (guide, source)
            near.add((hole.key,), room, (hole.id, hole.name))
    say = sayer(description)
    for (key,), room, (name, what), more in outside.cases():
        text = f"hole {name} ({what}){more} reaches {say(-room)} past the floor's outline - move it that far inward " \
            "or correct the outline"
        yield finding_at(description, "F110", key, text)
    for (key,), room, (name, what), more in near.cases():
        guide, source = guides[key]
        text = f"hole {name} ({what}){more} stands {say(room)} from the floor's edge; guide: {say(guide)}, three " \
            f"diameters ({source}) - move it {say(guide - room)} inward"
        yield finding_at(description, "F111", key, text, graded=guide_severity(room, guide))


def _clear_findings(boat: Boat, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    description = boat.description
    say = sayer(description)
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
            yield finding_at(description, "F112", key, text)


