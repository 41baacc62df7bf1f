"""The plank: bolts inside the solid plug, the width and the length, fittings on the face, what a hole takes from it."""

from __future__ import annotations

from collections.abc import Iterator

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.guides import Worst, guide_severity
from templater.checks.rule import ROUNDING
from templater.description.model import Surface
from templater.findings import Finding
from templater.job.lengths import finding_at, sayer
from templater.standards.spacing import bolt_spacing

#: Least wall of solid wood round the bolt in a plug, mm. Common practice, no source.
WALL = 2.0


def plank_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings P110, P111 (plug), P112, P113 (edges), P114, P115 (ends), P116 (fittings), P117 (share)."""
    bolts = [hole for hole in boat.on(Surface.PLANK) if hole.kind is HoleKind.BOLT]
    if bolts:
        yield from _plug_findings(boat, bolts[0])
        yield from _edge_findings(boat, bolts[0])
        yield from _end_findings(boat, bolts[0])
        yield _share_finding(boat, bolts[0])
    yield from _fitting_findings(boat)


def _plug_findings(boat: Boat, bolt: Hole) -> Iterator[Finding]:
    description = boat.description
    plug, key = description.plank.solid_at_bolts, "plank.solid_at_bolts"
    if plug is None:
        return
    say = sayer(description)
    wall = (plug - bolt.diameter) / 2
    if wall < -ROUNDING:
        text = f"the bolt's hole of {say(bolt.diameter)} is larger than the solid plug of {say(plug)} - allowed: a " \
            f"plug of {say(bolt.diameter + 2 * WALL)} or more"
        yield finding_at(description, "P110", key, text)
    elif wall < WALL - ROUNDING:
        text = f"the solid plug of {say(plug)} leaves {say(wall)} of wood round a hole of {say(bolt.diameter)}; " \
            f"guide: {say(WALL)} (common practice) - take a plug of {say(bolt.diameter + 2 * WALL)} or more"
        yield finding_at(description, "P111", key, text)


def _edge_findings(boat: Boat, bolt: Hole) -> Iterator[Finding]:
    """The plank is pulled fore and aft, across its grain, so either edge may be the loaded one."""
    description = boat.description
    plank, say = description.plank, sayer(description)
    given = plank.bolts_from_fore_edge is not None
    key = "plank.bolts_from_fore_edge" if given else "plank.width"
    guide = bolt_spacing(bolt.diameter, 90).edge_loaded
    for name, distance in (("fore", plank.fore_edge), ("aft", plank.width - plank.fore_edge)):
        room = distance - bolt.diameter / 2
        if room < -ROUNDING:
            text = f"the bolts' holes reach {say(-room)} past the plank's {name} edge - allowed: the bolt line " \
                f"{say(bolt.diameter / 2)} or more inside; move it, or take a wider plank"
            yield finding_at(description, "P112", key, text)
        elif distance < guide - ROUNDING:
            text = f"the bolt line is {say(distance)}, {distance / bolt.diameter:.1f} diameters, from the " \
                f"plank's {name} " \
                f"edge; guide: {say(guide)}, 4 diameters (EN 1995-1-1:2004 table 8.4) - move it " \
                f"{say(guide - distance)} inward"
            yield finding_at(description, "P113", key, text, graded=guide_severity(distance, guide))


def _end_findings(boat: Boat, bolt: Hole) -> Iterator[Finding]:
    """No pull on the bolts along the plank is reckoned with, so the free end's distance is the guide."""
    description = boat.description
    say, key, distance = sayer(description), "fixing.half_spread", boat.plank.end_to_hole
    guide = bolt_spacing(bolt.diameter).end_free
    room = distance - bolt.diameter / 2
    if room < -ROUNDING:
        text = f"the bolts' holes reach {say(-room)} past the plank's ends - take a longer plank or a smaller " \
            "half spread"
        yield finding_at(description, "P114", key, text)
    elif distance < guide - ROUNDING:
        text = f"the bolts' holes are {say(distance)} from the plank's ends; guide: {say(guide)}, 4 diameters " \
            "(EN 1995-1-1:2004 table 8.4) - take a longer plank or a smaller half spread"
        yield finding_at(description, "P115", key, text, graded=guide_severity(distance, guide))


def _fitting_findings(boat: Boat) -> Iterator[Finding]:
    description = boat.description
    plank, worst = description.plank, Worst()
    for hole in boat.on(Surface.PLANK):
        if hole.kind is not HoleKind.FITTING:
            continue
        x, y = hole.at
        room = min(plank.fore_edge + x, plank.width - plank.fore_edge - x, plank.length / 2 - abs(y))
        room -= hole.diameter / 2
        if room < -ROUNDING:
            worst.add((hole.key,), room, (hole.id, hole.name))
    say = sayer(description)
    for (key,), room, (name, what), more in worst.cases():
        text = f"hole {name} ({what}){more} reaches {say(-room)} past the plank's edge or end - move it that far inward"
        yield finding_at(description, "P116", key, text)


def _share_finding(boat: Boat, bolt: Hole) -> Finding:
    """Return the share that a hole takes of the plank.

    A hole through the depth takes as much of the width as of a solid section's modulus, b h^2 / 6.
    """
    description = boat.description
    say, width = sayer(description), description.plank.width
    share = 100 * bolt.diameter / width
    text = f"a hole of {say(bolt.diameter)} takes {share:.1f} per cent of the plank's width of {say(width)} at " \
        "each bolt, " \
        "and of a solid plank's strength in bending there"
    return finding_at(description, "P117", "plank.width", text)
