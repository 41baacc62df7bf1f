"""Bolt and screws fitted to the boat: bolts through plate, floor and plank, and the plates' wood screws.

The bolt goes in from above, washer and nut below (common practice, no source), unless described otherwise. What screws
hold is the handbook's, for side grain, and stated as a guide only. All in mm, degrees and N.
"""

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from templater.boat.solved import Boat, Head
from templater.description.keys import Description, Plate, Screws, Wood
from templater.findings import Finding, Severity
from templater.standards import wood
from templater.standards.fasteners import Bolt, Nut, Washer, find_parts, thread_length

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


#: What may be clamped.
Part = Literal["washer", "plate", "floor", "shim", "block", "plank"]


class Layer(NamedTuple):
    """One part of the stack under a bolt's head: its nominal thickness, and its limits where they are known."""

    part: Part
    name: str
    thickness: float
    least: float
    greatest: float


class BoltFit(NamedTuple):
    """A bolt fitted to the stack."""

    bolt: Bolt
    nut: Nut
    washer: Washer
    layers: tuple[Layer, ...]  # from the head's bearing face to the washer; the nut comes next
    grip: float  # thickness of the layers, nominal
    needed: float  # greatest grip + nut + two pitches: the shortest bolt that serves
    length: float  # of the bolt taken: the next stocked one, or as the description asks
    thread_from: float  # from the bearing face to the last full turn of the thread (length - b)
    runs_out: bool  # the nut would meet the end of the thread before it clamps

    @property
    def showing(self) -> float:
        """Thread beyond the nut's outer face, nominal grip."""
        return self.length - self.grip - self.nut.height

    @property
    def shank_ends(self) -> tuple[str, float]:
        """The layer in which the full thread begins, and how far from its face towards the head."""
        depth = self.thread_from
        for layer in self.layers:
            if depth <= layer.thickness + 1e-9:
                return layer.name, depth
            depth -= layer.thickness
        return "nut", depth


def fit_bolt(boat: Boat) -> tuple[BoltFit | None, tuple[Finding, ...]]:
    """Return the bolt fitted to the boat, and what does not fit; no bolt where a table lacks it."""
    asked = boat.description.fixing.bolt
    try:
        bolts = find_parts(Bolt, asked.head, asked.thread)
        nut, washer = find_parts(Nut, asked.nut, asked.thread)[0], find_parts(Washer, asked.washer, asked.thread)[0]
    except KeyError as error:
        return None, (boat.finding("H120", "fixing.bolt", str(error.args[0])),)
    layers = _layers(boat.description, bolts[0], washer)
    grip, least, greatest = (sum(sizes) for sizes in zip(*(layer[2:] for layer in layers), strict=True))
    needed = greatest + nut.height + PITCHES_SHOWING * boat.thread.pitch
    bolt, length, findings = _choose(boat, bolts, least, needed)
    thread_from = length - thread_length(bolt, length)
    fit = BoltFit(bolt, nut, washer, layers, grip, needed, length, thread_from, thread_from > least + 1e-9)
    return fit, (*findings, *_bolt_findings(boat, fit, least, length - greatest - nut.height))


def _layers(description: Description, bolt: Bolt, washer: Washer) -> tuple[Layer, ...]:
    """Return the clamped parts from the head on; a head that would bear on bare wood gets a washer too."""
    fixing, thick = description.fixing, description.floor.thickness
    ring = Layer("washer", "washer", washer.thickness, washer.thinnest, washer.thickest)
    sheet = wood.plywood_thickness(thick) if description.floor.wood.species == "birch plywood" else None
    least, greatest = (sheet.least, sheet.greatest) if sheet else (thick, thick)
    parts = [Layer("floor", "floor and sleeve" if fixing.sleeve else "floor", thick, least, greatest)]
    if fixing.plate:
        parts.insert(0, _exact("plate", fixing.plate.thickness))
    parts += [_exact("shim", fixing.shim)] if fixing.shim > 0 else []
    parts += [_exact("block", fixing.block)] if fixing.block > 0 else []
    parts.append(_exact("plank", description.plank.thickness))
    if fixing.bolt.from_ == "below":
        parts.reverse()
    under_head = parts[0].part != "plate" and not bolt.countersunk
    return (*([ring._replace(name="washer under the head")] if under_head else ()), *parts, ring)


def _exact(part: Part, thickness: float) -> Layer:
    return Layer(part, part, thickness, thickness, thickness)


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


def _bolt_findings(boat: Boat, fit: BoltFit, seat: float, shows: float) -> Iterator[Finding]:
    """Yield where the thread does not suit a stack at its limits, or bolt, head or washer do not go with a part."""
    fixing, bolt, plank, thread = boat.description.fixing, fit.bolt, boat.description.plank, boat.thread
    plate, sleeve, asked, wanted = fixing.plate, fixing.sleeve, fixing.bolt.length, PITCHES_SHOWING * thread.pitch
    slot = plate.slot if plate else None
    if fit.runs_out:
        key = "thread" if asked is None else "length"
        yield boat.tell("H111", f"fixing.bolt.{key}", length=fit.length, thread=fit.thread_from, seat=seat)
    if asked is not None and shows < 0:
        yield boat.tell("H112", "fixing.bolt.length", "empty", length=fit.length, needed=fit.needed)
    elif asked is not None and shows < wanted - 1e-6:
        told = {"length": fit.length, "shows": shows, "wanted": wanted, "needed": fit.needed}
        finding = boat.tell("H112", "fixing.bolt.length", "short", pitches=f"{PITCHES_SHOWING}", **told)
        yield finding._replace(graded=Severity.WARNING)
    for part, key, hole in (
        ("hole", "fixing.bolt.hole", fixing.bolt.hole),
        ("sleeve", "fixing.sleeve.inner", sleeve.inner if sleeve else None),
        ("slot", "fixing.plate.slot.width", slot.width if slot else None),
    ):
        if hole is not None and hole < thread.nominal:
            yield boat.tell("H114", key, thread=bolt.thread, part=part, hole=hole, least=thread.nominal)
    if plate and fixing.bolt.from_ == "above":  # the head bears on the plate
        if slot and not bolt.countersunk and bolt.across <= slot.width:
            yield boat.tell("H115", "fixing.plate.slot.width", head=bolt.across, slot=slot.width)
        if bolt.widest > min(plate.length, plate.width):
            yield boat.tell("H116", "fixing.plate", head=bolt.widest)
        if bolt.countersunk and bolt.height > plate.thickness:
            yield boat.tell("H118", "fixing.plate.thickness", head=bolt.height, plate=plate.thickness)
    edge = min(plank.fore_edge, plank.width - plank.fore_edge)
    if fit.washer.outer / 2 > edge:
        yield boat.tell("H119", "fixing.bolt.washer", washer=fit.washer.outer, edge=edge)


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
    head: Head
    point_depth: float  # of the point below the floor's upper face
    beyond: float  # how far the point stands out of the under face; negative: wood left below it
    thread_in_wood: float  # length of thread in the floor, from the point up
    ultimate: float | None  # load that draws it out, N; None when the floor's wood is not known
    allowable: float | None  # the working load, N
    holding: tuple[Holding, ...]  # this screw among its rivals, best first; a guide only


def fit_screws(boat: Boat) -> tuple[ScrewFit | None, tuple[Finding, ...]]:
    """Return the plates' screw and what does not fit; nothing without plate or screws."""
    description = boat.description
    plate = description.fixing.plate
    if plate is None or plate.screws is None or boat.screw_head is None:
        return None, ()
    screws, floor, system = plate.screws, description.floor.thickness, description.units
    depth = screws.length - plate.thickness
    held = thread_in_wood(screws.length, plate.thickness, floor, wood.thread_share(system))
    gravity = specific_gravity(description.floor.wood)
    fit = ScrewFit(
        name=_name(boat, screws.diameter, screws.length),
        diameter=screws.diameter,
        length=screws.length,
        head=boat.screw_head,
        point_depth=depth,
        beyond=depth - floor,
        thread_in_wood=held,
        ultimate=wood.withdrawal_ultimate(gravity, screws.diameter, held) if gravity else None,
        allowable=wood.withdrawal_allowable(gravity, screws.diameter, held) if gravity else None,
        holding=_rivals(boat, screws, plate.thickness),
    )
    return fit, tuple(_screw_findings(boat, plate, fit))


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
    known, share = wood.find_screw(own, system), wood.thread_share(system)
    others = (kind.diameter for kind in wood.wood_screws(system) if kind != known)
    offered = {(own, screws.length)}
    for diameter in (own, *(other for other in others if 0.75 <= other / own <= 1.3)):
        deepest = plate + floor + POINT_SHARE * diameter
        taken = [length for length in wood.screw_lengths(system) if plate < length <= deepest][-2:]
        offered |= {(diameter, length) for length in taken}
    base, rows = own * thread_in_wood(screws.length, plate, floor, share), []
    for diameter, length in sorted(offered) if base > 0 else ():
        held, chosen = thread_in_wood(length, plate, floor, share), (diameter, length) == (own, screws.length)
        holds = diameter * held / base, (diameter / own) ** 2, chosen
        rows.append(Holding(_name(boat, diameter, length), length, held, length - plate - floor, *holds))
    return tuple(sorted(rows, key=lambda row: (-row.withdrawal, -row.sideways, row.length)))


def specific_gravity(given: Wood) -> float | None:
    """Return a wood's specific gravity: as given, else by species; None where neither is known."""
    if given.specific_gravity is not None or given.species is None:
        return given.specific_gravity
    return wood.find_species(given.species).gravity


def _name(boat: Boat, diameter: float, length: float) -> str:
    """Return a screw's name: ``4.5 x 18``, ``No. 8 x 5/8 in``."""
    if boat.description.units == "mm":
        return f"{diameter:g} x {length:g}"
    say, kind = boat.description.figures.size, wood.find_screw(diameter, "in")
    return f"{kind.name if kind else say(diameter)} x {say(length)}"


def _screw_findings(boat: Boat, plate: Plate, fit: ScrewFit) -> Iterator[Finding]:
    """Yield what does not fit about the plates' screws."""
    floor, key, inside = boat.description.floor.thickness, "fixing.plate.screws.length", "no length sold stays inside"
    lengths = wood.screw_lengths(boat.description.units)
    if whole := [length for length in lengths if NEAR <= floor - (length - plate.thickness) < floor]:
        inside = f"the longest sold that stays inside is {boat.description.figures.size(whole[-1])}"
    if fit.point_depth <= 0:
        yield boat.tell("H104", key, length=fit.length, plate=plate.thickness)
    elif fit.beyond > POINT_SHARE * fit.diameter:
        yield boat.tell("H101", key, screw=fit.name, plate=plate.thickness, by=fit.beyond, floor=floor, inside=inside)
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
