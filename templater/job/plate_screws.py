"""The plates' wood screws: length through plate into floor, point, countersink, and what one holds against another.

Holding figures are the handbook's, for side grain, and stated as a guide only. All in mm, degrees and N.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import Plate, Screws, Wood
from templater.findings import Finding
from templater.standards.screws import (
    WoodScrew,
    countersink_depth,
    find_screw,
    screw_lengths,
    withdrawal_allowable,
    withdrawal_ultimate,
    wood_screws,
)
from templater.standards.wood import find_species

#: Wood left below a screw's point at which the point counts as near the under face, mm. Common practice, no source.
NEAR = 1.0
#: Share of the diameter by which the point alone may show before it counts as breaking through: a gimlet point is
#: about one diameter long (from memory), half of it is still slender.
POINT_SHARE = 0.5
#: The screw that served where a 4 x 16 was found too light. Common practice, no source.
SERVED = (4.5, 18.0)
#: Share of the holding of ``SERVED``, in the same plate and floor, below which a thinner screw counts as light: 4 x 16
#: has 0.87 of it through 3 mm into 14 mm.
_TOO_LIGHT = 0.9


class ScrewFit(NamedTuple):
    """A screw through the plate into the floor.

    Attributes:
        first: screws of the first set in the boat; ``second``: places for the set of a replacement plate.
        plate_hole: hole in the plate.
        countersink: diameter of the cone at the plate's upper face, so that the head sits flush.
        countersink_deep: depth of that cone.
        angle: of the cone.
        point_depth: of the point below the floor's upper face.
        beyond: how far the point stands out of the under face; negative: wood left below it.
        thread_in_wood: length of thread in the floor, from the point up, 3/5 of the screw (2/3 of a US one).
        thread_diameters: the same as multiples of the diameter.
        longest_inside: longest length usually sold that leaves the under face whole; None if there is none.
        ultimate: load that draws it out, N; None when the floor's wood is not known. ``allowable``: the working load.
        gravity: specific gravity that these were reckoned with.
    """

    name: str
    diameter: float
    length: float
    first: int
    second: int
    plate_hole: float
    head: float
    countersink: float
    countersink_deep: float
    angle: float
    point_depth: float
    beyond: float
    thread_in_wood: float
    thread_diameters: float
    longest_inside: float | None
    ultimate: float | None
    allowable: float | None
    gravity: float | None
    memory: tuple[str, ...]


class Holding(NamedTuple):
    """One screw against the one described, best first.

    Attributes:
        name: ``4.5 x 18``.
        thread_in_wood: mm.
        beyond: as in ``ScrewFit``.
        withdrawal: its holding against being drawn out, as a share of the described screw's (G^2 D L).
        sideways: its holding against being pushed sideways, as a share (D^2).
        chosen: the described one.
    """

    name: str
    diameter: float
    length: float
    thread_in_wood: float
    beyond: float
    withdrawal: float
    sideways: float
    chosen: bool


def fit_screws(boat: Boat) -> tuple[ScrewFit | None, tuple[Holding, ...], tuple[Finding, ...]]:
    """Return the plates' screw, its rivals best first, and what does not fit; nothing without plate or screws."""
    description = boat.description
    plate = description.fixing.plate
    if plate is None or plate.screws is None:
        return None, (), ()
    screws, floor = plate.screws, description.floor.thickness
    system = description.units
    kind = _kind(screws, system)
    head = screws.head_diameter or kind.head
    depth = screws.length - plate.thickness
    held = thread_in_wood(screws.length, plate.thickness, floor, kind.thread_share)
    gravity = specific_gravity(description.floor.wood)
    whole = [length for length in screw_lengths(system) if NEAR <= floor - (length - plate.thickness) < floor]
    fit = ScrewFit(
        name=_name(boat, screws.diameter, screws.length),
        diameter=screws.diameter,
        length=screws.length,
        first=sum(hole.kind is HoleKind.FIRST_SCREW for hole in boat.holes),
        second=sum(hole.kind is HoleKind.SECOND_SCREW for hole in boat.holes),
        plate_hole=screws.diameter,
        head=head,
        countersink=head,
        countersink_deep=countersink_depth(head, screws.diameter, kind.angle),
        angle=kind.angle,
        point_depth=depth,
        beyond=depth - floor,
        thread_in_wood=held,
        thread_diameters=held / screws.diameter,
        longest_inside=max(whole) if whole else None,
        ultimate=withdrawal_ultimate(gravity, screws.diameter, held) if gravity else None,
        allowable=withdrawal_allowable(gravity, screws.diameter, held) if gravity else None,
        gravity=gravity,
        memory=tuple(f"screw {kind.name} {name}" for name in sorted(kind.memory) if name == "head"),
    )
    rivals = rank_screws(boat, screws, plate.thickness)
    return fit, rivals, tuple(_findings(boat, plate, fit))


def thread_in_wood(length: float, plate: float, floor: float, share: float) -> float:
    """Return the length of a screw's thread inside the floor, mm.

    Args:
        length: of the screw, head included.
        plate: thickness of the plate above the floor.
        floor: thickness of the floor.
        share: threaded part of the length, from the point up.

    >>> round(thread_in_wood(18, 3, 14, 0.6), 3)
    9.8
    """
    point = length - plate
    return max(0.0, min(point, floor) - max(0.0, point - share * length))


def rank_screws(boat: Boat, screws: Screws, plate: float) -> tuple[Holding, ...]:
    """Return the described screw and others of about its size that this floor takes, best holding first.

    Others are the two longest of each diameter, sold, whose point shows by less than half a diameter. There is no
    ranking where the described one has no thread in the floor.
    """
    system, floor = boat.description.units, boat.description.floor.thickness
    share = _kind(screws, system).thread_share
    own = screws.diameter
    diameters = {own} | {
        kind.diameter
        for kind in wood_screws(system)
        if 0.75 <= kind.diameter / own <= 1.3 and abs(kind.diameter - own) >= 0.05
    }
    offered = {(own, screws.length)}
    for diameter in diameters:
        deepest = plate + floor + POINT_SHARE * diameter
        offered |= {(diameter, length) for length in [n for n in screw_lengths(system) if plate < n <= deepest][-2:]}
    base = screws.diameter * thread_in_wood(screws.length, plate, floor, share)
    if base <= 0:
        return ()
    rows = []
    for diameter, length in sorted(offered):
        held = thread_in_wood(length, plate, floor, share)
        rows.append(
            Holding(
                name=_name(boat, diameter, length),
                diameter=diameter,
                length=length,
                thread_in_wood=held,
                beyond=length - plate - floor,
                withdrawal=diameter * held / base,
                sideways=(diameter / screws.diameter) ** 2,
                chosen=(diameter, length) == (screws.diameter, screws.length),
            )
        )
    return tuple(sorted(rows, key=lambda row: (-row.withdrawal, -row.sideways, row.length)))


def specific_gravity(wood: Wood) -> float | None:
    """Return a wood's specific gravity: as given, else by species; None where neither is known."""
    if wood.specific_gravity is not None:
        return wood.specific_gravity
    if wood.species is None:
        return None
    try:
        return find_species(wood.species).gravity
    except KeyError:
        return None


def _kind(screws: Screws, system: str) -> WoodScrew:
    """Return the table's screw, or one of this diameter whose head is two diameters wide."""
    try:
        return find_screw(screws.diameter, system)
    except KeyError:
        d = screws.diameter
        angle, share = (90.0, 0.6) if system == "mm" else (82.0, 2 / 3)
        return WoodScrew(f"{d:g} mm", system, d, 2 * d, d / 2, angle, share, frozenset({"head", "height"}))


def _name(boat: Boat, diameter: float, length: float) -> str:
    """Return a screw's name: ``4.5 x 18``, ``No. 8 x 5/8 in``."""
    say = boat.description.figures.size
    if boat.description.units == "mm":
        return f"{diameter:g} x {length:g}"
    try:
        name = find_screw(diameter, "in").name
    except KeyError:
        name = say(diameter)
    return f"{name} x {say(length)}"


def _findings(boat: Boat, plate: Plate, fit: ScrewFit) -> list[Finding]:
    """Return what does not fit about the plates' screws."""
    description = boat.description
    say = description.figures.size
    floor, key = description.floor.thickness, "fixing.plate.screws.length"
    inside = f"the longest sold that stays inside is {say(fit.longest_inside)}" if fit.longest_inside else (
        "no length sold stays inside")
    found = []

    def add(code: str, at: str, text: str) -> None:
        found.append(boat.finding(code, at, text))

    if fit.point_depth <= 0:
        add("H104", key, f"a screw of {say(fit.length)} does not reach through a plate of "
            f"{say(plate.thickness)}: take a longer one")
    elif fit.beyond > POINT_SHARE * fit.diameter:
        add("H101", key, f"screws {fit.name} break through the floor: through a plate of "
            f"{say(plate.thickness)} the point stands {say(fit.beyond)} out of the floor of {say(floor)} - {inside}")
    elif abs(fit.beyond) < 0.05:
        add("H102", key, f"the point of a screw {fit.name} just reaches the under face - {inside}")
    elif fit.beyond > 0:
        add("H102", key, f"the point of a screw {fit.name} shows by {say(fit.beyond)} at the floor's "
            f"under face: file it flush - {inside}")
    elif fit.beyond > -NEAR:
        add("H102", key, f"the point of a screw {fit.name} comes within {say(-fit.beyond)} of the "
            f"floor's under face - {inside}")
    if fit.countersink_deep > plate.thickness + 0.005:  # a hundredth less cannot be seen
        add("H103", "fixing.plate.thickness", f"a countersink of {say(fit.countersink)} is "
            f"{description.figures.fine(fit.countersink_deep)} deep, more than the plate's {say(plate.thickness)}: it "
            "would open the hole below; take a smaller screw or a thicker plate")
    served_diameter, served_length = SERVED
    base = served_diameter * thread_in_wood(served_length, plate.thickness, floor, 0.6)
    if fit.point_depth > 0 and fit.diameter < served_diameter and (
        fit.diameter * fit.thread_in_wood < _TOO_LIGHT * base
    ):
        add("H105", "fixing.plate.screws.diameter", f"screws {fit.name} are light: 4 x 16 has been "
            "found too light where 4.5 x 18 served (common practice)")
    return found
