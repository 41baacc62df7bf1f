"""The bolt through plate, floor and plank: the stack of parts under its head, its length, and where its thread begins.

The bolt goes in from above, washer and nut below (common practice, no source), unless described otherwise. All in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import Enum
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.description.keys import BoltFrom, Description
from templater.findings import Finding, Severity
from templater.standards.fasteners import (
    Bolt,
    Nut,
    Washer,
    find_bolts,
    find_nut,
    find_washer,
    nominal_diameter,
    thread_length,
    thread_pitch,
)
from templater.standards.wood import plywood_thickness

#: Thread pitches that shall show beyond the nut. Common practice, no source.
PITCHES_SHOWING = 2


class Part(Enum):
    """What a layer of the stack is."""

    WASHER = "washer"
    PLATE = "plate"
    FLOOR = "floor"
    SHIM = "shim"
    BLOCK = "block"
    PLANK = "plank"


class Layer(NamedTuple):
    """One part of the stack: its nominal thickness, and its limits where they are known."""

    part: Part
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
    needed: float  # greatest grip + nut + two pitches: the shortest bolt that serves
    length: float  # of the bolt taken: the next stocked one, or as the description asks
    shank_ends_in: str  # layer in which the full thread begins
    shank_into: float  # how far from its face towards the head
    play_sleeve: float  # hole less bolt, on the diameter, in the sleeve or the floor's hole
    play_plank: float
    slot_travel: float | None  # how far the bolt can move athwart in slot and sleeve together; None without a slot

    @property
    def grip(self) -> float:
        """Thickness of the layers, nominal."""
        return sum(layer.thickness for layer in self.layers)

    @property
    def showing(self) -> float:
        """Thread beyond the nut's outer face, nominal grip."""
        return self.length - self.grip - self.nut.height

    @property
    def pitches_showing(self) -> float:
        """The same in pitches."""
        return self.showing / thread_pitch(self.bolt.thread)

    @property
    def thread_from(self) -> float:
        """From the bearing face to the last full turn of the thread (length - b)."""
        return self.length - thread_length(self.bolt, self.length)

    @property
    def runs_out(self) -> bool:
        """Whether the nut would meet the end of the thread before it clamps."""
        return self.thread_from > sum(layer.least for layer in self.layers) + 1e-9

    @property
    def memory(self) -> tuple[str, ...]:
        """Names of figures from memory among those used."""
        return tuple(f"{part.standard} {name}" for part in (self.bolt, self.nut, self.washer)
                     for name in sorted(part.memory))  # fmt: skip


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
    diameter, pitch = nominal_diameter(asked.thread), thread_pitch(asked.thread)
    needed = sum(layer.greatest for layer in layers) + nut.height + PITCHES_SHOWING * pitch
    bolt, length, findings = _choose(boat, bolts, layers, needed)
    where, into = _place(layers, length - thread_length(bolt, length))
    plank_hole = fixing.bolt.hole if fixing.bolt.hole is not None else diameter
    floor_hole = fixing.sleeve.inner if fixing.sleeve else fixing.floor_hole or plank_hole
    fit = BoltFit(
        number=sum(hole.id.startswith("K") for hole in boat.holes),
        bolt=bolt,
        nut=nut,
        washer=washer,
        layers=layers,
        needed=needed,
        length=length,
        shank_ends_in=where,
        shank_into=into,
        play_sleeve=floor_hole - diameter,
        play_plank=plank_hole - diameter,
        slot_travel=min(plate.slot.length, floor_hole) - diameter if plate and plate.slot else None,
    )
    findings += [*_thread_findings(boat, fit, pitch), *_seat_findings(boat, fit, diameter)]
    return fit, tuple(findings)


def _layers(description: Description, bolt: Bolt, washer: Washer) -> tuple[Layer, ...]:
    """Return the clamped parts from the head on; a head that would bear on bare wood gets a washer too."""
    fixing, thick = description.fixing, description.floor.thickness
    ring = Layer(Part.WASHER, "washer", washer.thickness, washer.thinnest, washer.thickest)
    sheet = plywood_thickness(thick) if description.floor.wood.species == "birch plywood" else None
    name = "floor and sleeve" if fixing.sleeve else "floor"
    parts = [Layer(Part.FLOOR, name, thick, sheet.least if sheet else thick, sheet.greatest if sheet else thick)]
    if fixing.plate:
        parts.insert(0, _layer(Part.PLATE, fixing.plate.thickness))
    more = ((Part.SHIM, fixing.shim), (Part.BLOCK, fixing.block))
    parts += [_layer(part, thickness) for part, thickness in more if thickness > 0]
    parts.append(_layer(Part.PLANK, description.plank.thickness))
    if fixing.bolt.from_ is BoltFrom.BELOW:
        parts.reverse()
    under_head = parts[0].part is not Part.PLATE and not bolt.countersunk
    return (*([ring._replace(name="washer under the head")] if under_head else ()), *parts, ring)


def _layer(part: Part, thickness: float) -> Layer:
    """Return a layer whose limits are not known."""
    return Layer(part, part.value, thickness, thickness, thickness)


def _choose(
    boat: Boat, bolts: Sequence[Bolt], layers: Sequence[Layer], needed: float
) -> tuple[Bolt, float, list[Finding]]:
    """Return the bolt type and length: partly threaded where the nut then holds, else fully threaded."""
    asked = boat.description.fixing.bolt.length
    choices = [(bolt, asked if asked is not None else bolt.next_length(needed)) for bolt in bolts]
    sold = [(bolt, length) for bolt, length in choices if length is not None]
    if not sold:
        longest, name = max(bolt.lengths[-1] for bolt in bolts), f"{bolts[0].standard} {bolts[0].thread}"
        found = boat.tell("H110", "fixing.bolt.thread", needed=needed, bolt=name, longest=longest)
        return bolts[0], needed, [found]
    least_grip = sum(layer.least for layer in layers)
    holding = [choice for choice in sold if choice[1] - thread_length(*choice) <= least_grip]
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


def _thread_findings(boat: Boat, fit: BoltFit, pitch: float) -> Iterator[Finding]:
    """Yield findings where the thread is too short or too long for the stack."""
    asked, wanted = boat.description.fixing.bolt.length, PITCHES_SHOWING * pitch
    if fit.runs_out:
        key, seat = "thread" if asked is None else "length", sum(layer.least for layer in fit.layers)
        yield boat.tell("H111", f"fixing.bolt.{key}", length=fit.length, thread=fit.thread_from, seat=seat)
    shows = fit.length - sum(layer.greatest for layer in fit.layers) - fit.nut.height
    if asked is not None and shows < 0:
        yield boat.tell("H112", "fixing.bolt.length", "empty", length=fit.length, needed=fit.needed)
    elif asked is not None and shows < wanted - 1e-6:
        told = {"length": fit.length, "shows": shows, "wanted": wanted, "needed": fit.needed}
        finding = boat.tell("H112", "fixing.bolt.length", "short", pitches=f"{PITCHES_SHOWING}", **told)
        yield finding._replace(graded=Severity.WARNING)


def _seat_findings(boat: Boat, fit: BoltFit, diameter: float) -> Iterator[Finding]:
    """Yield findings where bolt, head or washer do not go with the holes, the slot, the plate or the plank."""
    fixing, bolt, plank = boat.description.fixing, fit.bolt, boat.description.plank
    plate = fixing.plate
    slot = plate.slot if plate else None
    for part, key, hole, passes in (
        ("hole", "fixing.bolt.hole", diameter + fit.play_plank, fit.play_plank >= 0),
        ("sleeve", "fixing.sleeve.inner", diameter + fit.play_sleeve, not fixing.sleeve or fit.play_sleeve >= 0),
        ("slot", "fixing.plate.slot.width", slot.width if slot else 0.0, not slot or slot.width >= diameter),
    ):
        if not passes:
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
