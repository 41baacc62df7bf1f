"""The plank: bolts inside the solid plug, the width and the length, fittings on the face, what a hole takes from it."""

from __future__ import annotations

from collections.abc import Iterator

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.guides import ROUNDING, Worst
from templater.description.keys import Surface
from templater.findings import Finding

#: Least wall of solid wood round the bolt in a plug, mm. Common practice, no source.
WALL = 2.0
#: Share of the plank's width above which a bolt hole is told. Our own choice.
SHARE = 0.08


def plank_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings P110, P111 (plug), P112 (edges), P114 (ends), P116 (fittings), P117 (share)."""
    bolts = [hole for hole in boat.on(Surface.PLANK) if hole.kind is HoleKind.BOLT]
    if bolts:
        yield from _plug_findings(boat, bolts[0])
        yield from _past_findings(boat, bolts[0])
        yield from _share_findings(boat, bolts[0])
    yield from _fitting_findings(boat)


def _plug_findings(boat: Boat, bolt: Hole) -> Iterator[Finding]:
    description = boat.description
    plug, key = description.plank.solid_at_bolts, "plank.solid_at_bolts"
    if plug is None:
        return
    say = description.figures.size
    wall = (plug - bolt.diameter) / 2
    if wall < -ROUNDING:
        text = f"the bolt's hole of {say(bolt.diameter)} is larger than the solid plug of {say(plug)} - allowed: a " \
            f"plug of {say(bolt.diameter + 2 * WALL)} or more"
        yield boat.finding("P110", key, text)
    elif wall < WALL - ROUNDING:
        text = f"the solid plug of {say(plug)} leaves {say(wall)} of wood round a hole of {say(bolt.diameter)}; " \
            f"guide: {say(WALL)} (common practice) - take a plug of {say(bolt.diameter + 2 * WALL)} or more"
        yield boat.finding("P111", key, text)


def _past_findings(boat: Boat, bolt: Hole) -> Iterator[Finding]:
    """Bolt holes that reach past the plank's edges or ends."""
    plank, say, radius = boat.description.plank, boat.description.figures.size, bolt.diameter / 2
    edge = "plank.bolts_from_fore_edge" if plank.bolts_from_fore_edge is not None else "plank.width"
    for name, distance in (("fore", plank.fore_edge), ("aft", plank.width - plank.fore_edge)):
        if distance < radius - ROUNDING:
            text = f"the bolts' holes reach {say(radius - distance)} past the plank's {name} edge - allowed: the " \
                f"bolt line {say(radius)} or more inside; move it, or take a wider plank"
            yield boat.finding("P112", edge, text)
    if boat.plank.end_to_hole < radius - ROUNDING:
        text = f"the bolts' holes reach {say(radius - boat.plank.end_to_hole)} past the plank's ends - take a longer " \
            "plank or a smaller half spread"
        yield boat.finding("P114", "fixing.half_spread", text)


def _share_findings(boat: Boat, bolt: Hole) -> Iterator[Finding]:
    """A hole through the depth takes as much of the width as of a solid section's modulus, b h^2 / 6."""
    say, width = boat.description.figures.size, boat.description.plank.width
    share = bolt.diameter / width
    if share > SHARE:
        text = f"a hole of {say(bolt.diameter)} takes {100 * share:.1f} per cent of the plank's width of " \
            f"{say(width)} at each bolt, and of a solid plank's strength in bending there"
        yield boat.finding("P117", "plank.width", text)


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
    say = description.figures.size
    for (key,), room, (name, what), more in worst.cases():
        text = f"hole {name} ({what}){more} reaches {say(-room)} past the plank's edge or end - move it that far inward"
        yield boat.finding("P116", str(key), text)
