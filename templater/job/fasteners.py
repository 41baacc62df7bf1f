"""Bolt and screws fitted to the boat: bolts through plate, floor and plank, and the plates' wood screws.

The bolt goes in from above, washer and nut below (common practice, no source), unless described otherwise. What screws
hold is the handbook's, for side grain, and stated as a guide only. All in mm, degrees and N.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import BoltFrom, Description, Plate, Screws, Wood
from templater.findings import Finding, Severity
from templater.standards.fasteners import (
    Bolt,
    Nut,
    Washer,
    find_bolts,
    find_nut,
    find_thread,
    find_washer,
    thread_length,
)
from templater.standards.wood import (
    countersink_depth,
    find_screw,
    find_species,
    plywood_thickness,
    screw_lengths,
    thread_share,
    withdrawal_allowable,
    withdrawal_ultimate,
    wood_screws,
)

#: Thread pitches that shall show beyond the nut. Common practice, no source.
PITCHES_SHOWING = 2
#: Wood left below a screw's point at which the point counts as near the under face, mm. Common practice, no source.
NEAR = 1.0
#: Share of the diameter by which the point alone may show before it counts as breaking through: a gimlet point is
#: about one diameter long (from memory), half of it is still slender.
POINT_SHARE = 0.5
#: A point nearer to the under face than this reaches it, mm.
FLUSH = 0.05
#: The screw that served where a 4 x 16 was found too light. Common practice, no source.
SERVED = (4.5, 18.0)
#: Share of the holding of ``SERVED``, in the same plate and floor, below which a thinner screw counts as light: 4 x 16
#: has 0.87 of it through 3 mm into 14 mm.
_TOO_LIGHT = 0.9


class Layer(NamedTuple):
    """One part of the stack under a bolt's head: its nominal thickness, and its limits where they are known."""

    part: Literal["washer", "plate", "floor", "shim", "block", "plank"]
    name: str
    thickness: float
    least: float
    greatest: float


class BoltFit(NamedTuple):
    """A bolt fitted to the stack."""

    number: int  # bolts in the boat
    bolt: Bolt
    nut: Nut
    washer: Washer
    layers: tuple[Layer, ...]  # from the head's bearing face to the washer; the nut comes next
    grip: float  # thickness of the layers, nominal
    needed: float  # greatest grip + nut + two pitches: the shortest bolt that serves
    length: float  # of the bolt taken: the next stocked one, or as the description asks
    showing: float  # thread beyond the nut's outer face, nominal grip
    pitches_showing: float
    thread_from: float  # from the bearing face to the last full turn of the thread (length - b)
    runs_out: bool  # the nut would meet the end of the thread before it clamps
    shank_ends_in: str  # layer in which the full thread begins
    shank_into: float  # how far from its face towards the head
    play_sleeve: float  # hole less bolt, on the diameter, in the sleeve or the floor's hole
    play_plank: float
    slot_travel: float | None  # how far the bolt can move athwart in slot and sleeve together; None without a slot


def fit_bolt(boat: Boat) -> tuple[BoltFit | None, tuple[Finding, ...]]:
    """Return the bolt fitted to the boat, and what does not fit; no bolt where a table lacks it."""
    fixing = boat.description.fixing
    asked, plate = fixing.bolt, fixing.plate
    try:
        bolts = find_bolts(asked.head, asked.thread)
        nut = find_nut(asked.nut, asked.thread)
        washer = find_washer(asked.washer, asked.thread)
    except KeyError as error:
        return None, (boat.finding("H120", "fixing.bolt", str(error.args[0])),)
    layers = _layers(boat.description, bolts[0], washer)
    grip, least, greatest = (sum(sizes) for sizes in zip(*(layer[2:] for layer in layers), strict=True))
    thread = find_thread(asked.thread)
    diameter, pitch = thread.nominal, thread.pitch
    needed = greatest + nut.height + PITCHES_SHOWING * pitch
    bolt, length, findings = _choose(boat, bolts, least, needed)
    showing, thread_from = length - grip - nut.height, length - thread_length(bolt, length)
    where, into = _place(layers, thread_from)
    plank_hole = asked.hole or diameter
    floor_hole = fixing.sleeve.inner if fixing.sleeve else fixing.floor_hole or plank_hole
    fit = BoltFit(
        number=sum(hole.id.startswith("K") for hole in boat.holes),
        bolt=bolt,
        nut=nut,
        washer=washer,
        layers=layers,
        grip=grip,
        needed=needed,
        length=length,
        showing=showing,
        pitches_showing=showing / pitch,
        thread_from=thread_from,
        runs_out=thread_from > least + 1e-9,
        shank_ends_in=where,
        shank_into=into,
        play_sleeve=floor_hole - diameter,
        play_plank=plank_hole - diameter,
        slot_travel=min(plate.slot.length, floor_hole) - diameter if plate and plate.slot else None,
    )
    shows = length - greatest - nut.height
    return fit, (*findings, *_thread_findings(boat, fit, least, shows), *_seat_findings(boat, fit, diameter))


def _layers(description: Description, bolt: Bolt, washer: Washer) -> tuple[Layer, ...]:
    """Return the clamped parts from the head on; a head that would bear on bare wood gets a washer too."""
    fixing, thick = description.fixing, description.floor.thickness
    ring = Layer("washer", "washer", washer.thickness, washer.thinnest, washer.thickest)
    sheet = plywood_thickness(thick) if description.floor.wood.species == "birch plywood" else None
    least, greatest = (sheet.least, sheet.greatest) if sheet else (thick, thick)
    parts = [Layer("floor", "floor and sleeve" if fixing.sleeve else "floor", thick, least, greatest)]
    if fixing.plate:
        parts.insert(0, Layer("plate", "plate", *[fixing.plate.thickness] * 3))
    if fixing.shim > 0:
        parts.append(Layer("shim", "shim", *[fixing.shim] * 3))
    if fixing.block > 0:
        parts.append(Layer("block", "block", *[fixing.block] * 3))
    parts.append(Layer("plank", "plank", *[description.plank.thickness] * 3))
    if fixing.bolt.from_ is BoltFrom.BELOW:
        parts.reverse()
    under_head = parts[0].part != "plate" and not bolt.countersunk
    return (*([ring._replace(name="washer under the head")] if under_head else ()), *parts, ring)


def _choose(boat: Boat, bolts: Sequence[Bolt], least: float, needed: float) -> tuple[Bolt, float, list[Finding]]:
    """Return the bolt type and length: partly threaded where the nut then holds, else fully threaded."""
    asked = boat.description.fixing.bolt.length
    sold = [(bolt, length) for bolt in bolts if (length := asked or bolt.next_length(needed)) is not None]
    if not sold:
        longest, name = max(bolt.lengths[-1] for bolt in bolts), f"{bolts[0].standard} {bolts[0].thread}"
        found = boat.tell("H110", "fixing.bolt.thread", needed=needed, bolt=name, longest=longest)
        return bolts[0], needed, [found]
    holding = [choice for choice in sold if choice[1] - thread_length(*choice) <= least]
    bolt, length = (holding or sold)[0]
    if asked is None or any(abs(asked - stocked) <= 0.05 for stocked in bolt.lengths):
        return bolt, length, []
    stocked = [[one for one in bolt.lengths if one < asked][-1:], [one for one in bolt.lengths if one > asked][:1]]
    near = ", ".join(boat.description.figures.size(one) for side in stocked for one in side)
    name = f"{bolt.standard} {bolt.thread}"
    return bolt, length, [boat.tell("H113", "fixing.bolt.length", length=asked, bolt=name, near=near)]


def _place(layers: Sequence[Layer], depth: float) -> tuple[str, float]:
    """Return the layer in which a depth below the head lies, and how far into it."""
    top = 0.0
    for layer in layers:
        if depth <= top + layer.thickness + 1e-9:
            return layer.name, depth - top
        top += layer.thickness
    return "nut", depth - top


def _thread_findings(boat: Boat, fit: BoltFit, seat: float, shows: float) -> Iterator[Finding]:
    """Yield findings where the thread is too short or too long for a stack at its limits."""
    asked, wanted = boat.description.fixing.bolt.length, PITCHES_SHOWING * find_thread(fit.bolt.thread).pitch
    if fit.runs_out:
        key = "thread" if asked is None else "length"
        yield boat.tell("H111", f"fixing.bolt.{key}", length=fit.length, thread=fit.thread_from, seat=seat)
    if asked is not None and shows < 0:
        yield boat.tell("H112", "fixing.bolt.length", "empty", length=fit.length, needed=fit.needed)
    elif asked is not None and shows < wanted - 1e-6:
        told = {"length": fit.length, "shows": shows, "wanted": wanted, "needed": fit.needed}
        finding = boat.tell("H112", "fixing.bolt.length", "short", pitches=f"{PITCHES_SHOWING}", **told)
        yield finding._replace(graded=Severity.WARNING)


def _seat_findings(boat: Boat, fit: BoltFit, diameter: float) -> Iterator[Finding]:
    """Yield findings where bolt, head or washer do not go with the holes, the slot, the plate or the plank."""
    fixing, bolt, plank = boat.description.fixing, fit.bolt, boat.description.plank
    plate, sleeve = fixing.plate, fixing.sleeve
    slot = plate.slot if plate else None
    for part, key, hole in (
        ("hole", "fixing.bolt.hole", fixing.bolt.hole),
        ("sleeve", "fixing.sleeve.inner", sleeve.inner if sleeve else None),
        ("slot", "fixing.plate.slot.width", slot.width if slot else None),
    ):
        if hole is not None and hole < diameter:
            yield boat.tell("H114", key, thread=bolt.thread, part=part, hole=hole, least=diameter)
    if plate and fixing.bolt.from_ is BoltFrom.ABOVE:  # the head bears on the plate
        if slot and not bolt.countersunk and bolt.across <= slot.width:
            yield boat.tell("H115", "fixing.plate.slot.width", head=bolt.across, slot=slot.width)
        if bolt.widest > min(plate.length, plate.width):
            yield boat.tell("H116", "fixing.plate", head=bolt.widest)
        if bolt.countersunk and bolt.height > plate.thickness:
            yield boat.tell("H118", "fixing.plate.thickness", head=bolt.height, plate=plate.thickness)
    edge = min(plank.fore_edge, plank.width - plank.fore_edge)
    if fit.washer.outer / 2 > edge:
        yield boat.tell("H119", "fixing.bolt.washer", washer=fit.washer.outer, edge=edge)


class Head(NamedTuple):
    """A screw's head: diameter, angle of its cone, depth of the countersink that sinks it flush."""

    diameter: float
    angle: float
    deep: float
    from_memory: bool


class Holding(NamedTuple):
    """One screw against the one described."""

    name: str
    length: float
    thread_in_wood: float
    beyond: float
    withdrawal: float  # holding against being drawn out, as a share of the described screw's (G^2 D L)
    sideways: float  # the same against being pushed sideways (D^2)
    chosen: bool


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
    holding: tuple[Holding, ...]  # this screw among its rivals, best first; a guide only


def fit_screws(boat: Boat) -> tuple[ScrewFit | None, tuple[Finding, ...]]:
    """Return the plates' screw and what does not fit; nothing without plate or screws."""
    description = boat.description
    plate = description.fixing.plate
    if plate is None or plate.screws is None:
        return None, ()
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
        holding=_rivals(boat, screws, plate.thickness),
    )
    return fit, tuple(_screw_findings(boat, plate, fit))


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


def _screw_findings(boat: Boat, plate: Plate, fit: ScrewFit) -> Iterator[Finding]:
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
        case = "flush" if abs(fit.beyond) < FLUSH else "out" if fit.beyond > 0 else "near"
        yield boat.tell("H102", key, case, screw=fit.name, by=abs(fit.beyond), inside=inside)
    if fit.head.deep > plate.thickness + 0.005:  # a hundredth less cannot be seen
        deep = boat.description.figures.fine(fit.head.deep)
        yield boat.tell("H103", "fixing.plate.thickness", head=fit.head.diameter, deep=deep, plate=plate.thickness)
    diameter, length = SERVED
    base = diameter * thread_in_wood(length, plate.thickness, floor, 0.6)
    light = fit.diameter < diameter and fit.diameter * fit.thread_in_wood < _TOO_LIGHT * base
    if fit.point_depth > 0 and light:
        yield boat.tell("H105", "fixing.plate.screws.diameter", screw=fit.name)
