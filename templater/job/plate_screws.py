"""The plates' wood screws: length through plate into floor, point, countersink, and what one holds against another.

Holding figures are the handbook's, for side grain, and stated as a guide only. All in mm, degrees and N.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import Plate, Screws, Wood
from templater.findings import Finding
from templater.standards.wood import (
    countersink_depth,
    find_screw,
    find_species,
    screw_lengths,
    thread_share,
    withdrawal_allowable,
    withdrawal_ultimate,
    wood_screws,
)

#: Wood left below a screw's point at which the point counts as near the under face, mm. Common practice, no source.
NEAR = 1.0
#: Share of the diameter by which the point alone may show before it counts as breaking through: a gimlet point is
#: about one diameter long (from memory), half of it is still slender.
POINT_SHARE = 0.5
#: A point nearer to the under face than this reaches it, mm.
_FLUSH = 0.05
#: The screw that served where a 4 x 16 was found too light. Common practice, no source.
SERVED = (4.5, 18.0)
#: Share of the holding of ``SERVED``, in the same plate and floor, below which a thinner screw counts as light: 4 x 16
#: has 0.87 of it through 3 mm into 14 mm.
_TOO_LIGHT = 0.9


class Head(NamedTuple):
    """A screw's head: diameter, angle of its cone, depth of the countersink that sinks it flush."""

    diameter: float
    angle: float
    deep: float
    from_memory: bool


class ScrewFit(NamedTuple):
    """A screw through the plate into the floor."""

    name: str
    diameter: float
    length: float
    first: int  # screws of the first set in the boat
    second: int  # places for the set of a replacement plate
    head: Head
    point_depth: float  # of the point below the floor's upper face
    beyond: float  # how far the point stands out of the under face; negative: wood left below it
    thread_in_wood: float  # length of thread in the floor, from the point up
    longest_inside: float | None  # longest length usually sold that leaves the under face whole
    ultimate: float | None  # load that draws it out, N; None when the floor's wood is not known
    allowable: float | None  # the working load, N


class Holding(NamedTuple):
    """One screw against the one described."""

    name: str
    length: float
    thread_in_wood: float
    beyond: float
    withdrawal: float  # holding against being drawn out, as a share of the described screw's (G^2 D L)
    sideways: float  # the same against being pushed sideways (D^2)
    chosen: bool


def fit_screws(boat: Boat) -> tuple[ScrewFit | None, tuple[Holding, ...], tuple[Finding, ...]]:
    """Return the plates' screw, its rivals best first, and what does not fit; nothing without plate or screws."""
    description = boat.description
    plate = description.fixing.plate
    if plate is None or plate.screws is None:
        return None, (), ()
    screws, floor, system = plate.screws, description.floor.thickness, description.units
    depth = screws.length - plate.thickness
    held = thread_in_wood(screws.length, plate.thickness, floor, thread_share(system))
    gravity = specific_gravity(description.floor.wood)
    whole = [length for length in screw_lengths(system) if NEAR <= floor - (length - plate.thickness) < floor]
    fit = ScrewFit(
        name=_name(boat, screws.diameter, screws.length),
        diameter=screws.diameter,
        length=screws.length,
        first=sum(hole.kind is HoleKind.FIRST_SCREW for hole in boat.holes),
        second=sum(hole.kind is HoleKind.SECOND_SCREW for hole in boat.holes),
        head=screw_head(screws, system),
        point_depth=depth,
        beyond=depth - floor,
        thread_in_wood=held,
        longest_inside=max(whole, default=None),
        ultimate=withdrawal_ultimate(gravity, screws.diameter, held) if gravity else None,
        allowable=withdrawal_allowable(gravity, screws.diameter, held) if gravity else None,
    )
    return fit, _rivals(boat, screws, plate.thickness), tuple(_findings(boat, plate, fit))


def screw_head(screws: Screws, system: str) -> Head:
    """Return the head of the plates' screws: as described, else the table's, else two diameters wide."""
    kind = find_screw(screws.diameter, system)
    diameter = screws.head_diameter or (kind.head if kind else 2 * screws.diameter)
    angle = kind.angle if kind else 90.0 if system == "mm" else 82.0
    deep = countersink_depth(diameter, screws.diameter, angle)
    return Head(diameter, angle, deep, kind is None or "head" in kind.memory)


def thread_in_wood(length: float, plate: float, floor: float, share: float) -> float:
    """Return the length of a screw's thread inside the floor under a plate, ``share`` of it being threaded.

    >>> round(thread_in_wood(18, 3, 14, 0.6), 3)
    9.8
    """
    point = length - plate
    return max(0.0, min(point, floor) - max(0.0, point - share * length))


def _rivals(boat: Boat, screws: Screws, plate: float) -> tuple[Holding, ...]:
    """Return the described screw and others of about its size that this floor takes, best holding first.

    Others are the two longest of each diameter, sold, whose point shows by less than half a diameter. There is no
    ranking where the described one has no thread in the floor.
    """
    system, floor, own = boat.description.units, boat.description.floor.thickness, screws.diameter
    others = {kind.diameter for kind in wood_screws(system) if 0.75 <= kind.diameter / own <= 1.3}
    offered = {(own, screws.length)}
    for diameter in {own} | {other for other in others if abs(other - own) >= 0.05}:
        deepest = plate + floor + POINT_SHARE * diameter
        offered |= {(diameter, length) for length in [n for n in screw_lengths(system) if plate < n <= deepest][-2:]}

    def held(length: float) -> float:
        return thread_in_wood(length, plate, floor, thread_share(system))

    base = own * held(screws.length)
    rows = [
        Holding(
            name=_name(boat, diameter, length),
            length=length,
            thread_in_wood=held(length),
            beyond=length - plate - floor,
            withdrawal=diameter * held(length) / base,
            sideways=(diameter / own) ** 2,
            chosen=(diameter, length) == (own, screws.length),
        )
        for diameter, length in (sorted(offered) if base > 0 else ())
    ]
    return tuple(sorted(rows, key=lambda row: (-row.withdrawal, -row.sideways, row.length)))


def specific_gravity(wood: Wood) -> float | None:
    """Return a wood's specific gravity: as given, else by species; None where neither is known."""
    if wood.specific_gravity is not None or wood.species is None:
        return wood.specific_gravity
    return find_species(wood.species).gravity


def _name(boat: Boat, diameter: float, length: float) -> str:
    """Return a screw's name: ``4.5 x 18``, ``No. 8 x 5/8 in``."""
    if boat.description.units == "mm":
        return f"{diameter:g} x {length:g}"
    say, kind = boat.description.figures.size, find_screw(diameter, "in")
    return f"{kind.name if kind else say(diameter)} x {say(length)}"


def _findings(boat: Boat, plate: Plate, fit: ScrewFit) -> Iterator[Finding]:
    """Yield what does not fit about the plates' screws."""
    floor, key, inside = boat.description.floor.thickness, "fixing.plate.screws.length", "no length sold stays inside"
    if fit.longest_inside:
        inside = f"the longest sold that stays inside is {boat.description.figures.size(fit.longest_inside)}"
    if fit.point_depth <= 0:
        yield boat.tell("H104", key, length=fit.length, plate=plate.thickness)
    elif fit.beyond > POINT_SHARE * fit.diameter:
        by, thick = fit.beyond, plate.thickness
        yield boat.tell("H101", key, screw=fit.name, plate=thick, by=by, floor=floor, inside=inside)
    elif fit.beyond > -NEAR:
        case = "flush" if abs(fit.beyond) < _FLUSH else "out" if fit.beyond > 0 else "near"
        yield boat.tell("H102", key, case, screw=fit.name, by=abs(fit.beyond), inside=inside)
    if fit.head.deep > plate.thickness + 0.005:  # a hundredth less cannot be seen
        deep = boat.description.figures.fine(fit.head.deep)
        yield boat.tell("H103", "fixing.plate.thickness", head=fit.head.diameter, deep=deep, plate=plate.thickness)
    diameter, length = SERVED
    base = diameter * thread_in_wood(length, plate.thickness, floor, 0.6)
    light = fit.diameter < diameter and fit.diameter * fit.thread_in_wood < _TOO_LIGHT * base
    if fit.point_depth > 0 and light:
        yield boat.tell("H105", "fixing.plate.screws.diameter", screw=fit.name)
