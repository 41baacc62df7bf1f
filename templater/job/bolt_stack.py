"""The bolt through plate, floor and plank: the stack of parts under its head, its length, and where its thread begins.

The bolt goes in from above, washer and nut below (common practice, no source), unless described otherwise. All in mm.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.boat.solved import Boat
from templater.description.keys import BoltFrom, Description
from templater.findings import Finding, Severity
from templater.standards.bolts import (
    BoltType,
    Nut,
    Washer,
    find_bolt,
    find_nut,
    find_washer,
    thread_length,
)
from templater.standards.fasteners import nominal_diameter, thread_pitch
from templater.standards.wood import plywood_thickness

#: Thread pitches that shall show beyond the nut. Common practice, no source.
PITCHES_SHOWING = 2


class Layer(NamedTuple):
    """One part of the stack from the head's bearing face down.

    ``thickness`` is nominal; ``least`` and ``greatest`` are its limits where a standard or a data sheet gives them.
    """

    name: str
    thickness: float
    least: float
    greatest: float


class BoltFit(NamedTuple):
    """A bolt fitted to the stack.

    Attributes:
        number: bolts in the boat.
        layers: from the head to the washer; the nut comes next.
        grip: thickness of the layers, nominal.
        needed: greatest grip + nut + two pitches: the shortest bolt that serves.
        length: of the bolt taken: the next stocked one, or as the description asks.
        showing: thread beyond the nut's outer face, nominal grip.
        thread_from: from the bearing face to the last full turn of the thread (length - b).
        shank_ends_in: layer in which the full thread begins, ``shank_into`` mm from its face towards the head.
        runs_out: the nut would meet the end of the thread before it clamps.
        play_sleeve: hole less bolt, on the diameter, in the sleeve (or the floor's hole); ``play_plank`` in the plank.
        slot_travel: how far the bolt can move athwart in slot and sleeve together; None without a slot.
        memory: names of figures from memory among those used.
    """

    number: int
    bolt: BoltType
    nut: Nut
    washer: Washer
    layers: tuple[Layer, ...]
    grip: float
    needed: float
    length: float
    showing: float
    pitches_showing: float
    thread_from: float
    shank_ends_in: str
    shank_into: float
    runs_out: bool
    play_sleeve: float
    play_plank: float
    slot_travel: float | None
    memory: tuple[str, ...]


def fit_bolt(boat: Boat) -> tuple[BoltFit | None, tuple[Finding, ...]]:
    """Return the bolt fitted to the boat, and what does not fit; no bolt where a table lacks it."""
    description = boat.description
    asked = description.fixing.bolt
    try:
        bolts = [find_bolt(asked.head, asked.thread)]
        nut = find_nut(asked.nut, asked.thread)
        washer = find_washer(asked.washer, asked.thread)
    except KeyError as error:
        return None, (boat.finding("H120", "fixing.bolt", str(error.args[0])),)
    if asked.head == "hexagon" and bolts[0].standard == "ISO 4014":
        bolts.append(find_bolt(asked.head, asked.thread, full=True))
    layers = _layers(description, bolts[0], washer)
    pitch = thread_pitch(asked.thread)
    needed = sum(layer.greatest for layer in layers) + nut.height + PITCHES_SHOWING * pitch
    bolt, length, findings = _choose(boat, bolts, layers, needed)
    fit = _fitted(boat, bolt, nut, washer, layers, needed, length)
    findings += _thread_findings(boat, fit, pitch) + _seat_findings(boat, fit)
    return fit, tuple(findings)


def _layers(description: Description, bolt: BoltType, washer: Washer) -> tuple[Layer, ...]:
    """Return the clamped parts from the head on; a head that would bear on bare wood gets a washer too."""
    fixing, floor = description.fixing, description.floor
    ring = Layer("washer", washer.thickness, washer.thinnest, washer.thickest)
    sheet = plywood_thickness(floor.thickness) if floor.wood.species == "birch plywood" else None
    name = "floor and sleeve" if fixing.sleeve else "floor"
    parts = [_layer("plate", fixing.plate.thickness)] if fixing.plate else []
    parts.append(Layer(name, floor.thickness, sheet.least, sheet.greatest) if sheet else _layer(name, floor.thickness))
    parts += [_layer(name, thick) for name, thick in (("shim", fixing.shim), ("block", fixing.block)) if thick > 0]
    parts.append(_layer("plank", description.plank.thickness))
    if fixing.bolt.from_ is BoltFrom.BELOW:
        parts.reverse()
    under_head = parts[0].name != "plate" and not bolt.countersunk
    return (*([ring._replace(name="washer under the head")] if under_head else ()), *parts, ring)


def _layer(name: str, thickness: float) -> Layer:
    """Return a layer whose limits are not known."""
    return Layer(name, thickness, thickness, thickness)


def _choose(
    boat: Boat, bolts: list[BoltType], layers: tuple[Layer, ...], needed: float
) -> tuple[BoltType, float, list[Finding]]:
    """Return the bolt type and length: partly threaded where the nut then holds, else fully threaded."""
    asked = boat.description.fixing.bolt
    say = boat.description.figures.size
    least_grip = sum(layer.least for layer in layers)
    findings: list[Finding] = []
    choices: list[tuple[BoltType, float]] = []
    for bolt in bolts:
        if asked.length is not None:
            choices.append((bolt, asked.length))
            continue
        try:
            choices.append((bolt, bolt.next_length(needed)))
        except KeyError:
            continue
    if not choices:
        longest = max(bolt.lengths[-1] for bolt in bolts)
        text = (
            f"the stack needs a bolt of {say(needed)}, but {bolts[0].standard} {bolts[0].thread} is listed up to "
            f"{say(longest)}: order a longer one, or take a thinner stack or a larger thread"
        )
        findings.append(boat.finding("H110", "fixing.bolt.thread", text))
        return bolts[0], needed, findings
    holding = [choice for choice in choices if choice[1] - thread_length(*choice) <= least_grip]
    bolt, length = (holding or choices)[0]
    if asked.length is not None and all(abs(asked.length - length) > 0.05 for length in bolt.lengths):
        near = ", ".join(say(other) for other in _neighbours(bolt.lengths, asked.length))
        text = f"{say(asked.length)} is no length that {bolt.standard} {bolt.thread} is stocked in - nearest: {near}"
        findings.append(boat.finding("H113", "fixing.bolt.length", text))
    return bolt, length, findings


def _neighbours(lengths: tuple[float, ...], length: float) -> list[float]:
    """Return the stocked lengths on either side of a length."""
    below = [other for other in lengths if other < length][-1:]
    return below + [other for other in lengths if other > length][:1]


def _fitted(
    boat: Boat, bolt: BoltType, nut: Nut, washer: Washer, layers: tuple[Layer, ...], needed: float, length: float
) -> BoltFit:
    """Return the figures of a bolt of this length in this stack."""
    fixing = boat.description.fixing
    diameter, pitch = nominal_diameter(bolt.thread), thread_pitch(bolt.thread)
    grip = sum(layer.thickness for layer in layers)
    showing = length - grip - nut.height
    thread_from = length - thread_length(bolt, length)
    where, into = _place(layers, thread_from)
    plank_hole = fixing.bolt.hole if fixing.bolt.hole is not None else diameter
    floor_hole = fixing.sleeve.inner if fixing.sleeve else fixing.floor_hole or plank_hole
    slot = fixing.plate.slot if fixing.plate else None
    memory = [f"{bolt.standard} {name}" for name in sorted(bolt.memory)]
    memory += [f"{nut.standard} {name}" for name in sorted(nut.memory)]
    memory += [f"{washer.standard} {name}" for name in sorted(washer.memory)]
    return BoltFit(
        number=max(1, sum(hole.id.startswith("K") for hole in boat.holes)),
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
        shank_ends_in=where,
        shank_into=into,
        runs_out=thread_from > sum(layer.least for layer in layers) + 1e-9,
        play_sleeve=floor_hole - diameter,
        play_plank=plank_hole - diameter,
        slot_travel=min(slot.length, floor_hole) - diameter if slot else None,
        memory=tuple(memory),
    )


def _place(layers: tuple[Layer, ...], depth: float) -> tuple[str, float]:
    """Return the layer in which a depth below the head lies, and how far into it."""
    top = 0.0
    for layer in layers:
        if depth <= top + layer.thickness + 1e-9:
            return layer.name, depth - top
        top += layer.thickness
    return "nut", depth - top


def _thread_findings(boat: Boat, fit: BoltFit, pitch: float) -> list[Finding]:
    """Return findings where the thread is too short or too long for the stack."""
    say, asked = boat.description.figures.size, boat.description.fixing.bolt.length
    found = []
    key = "fixing.bolt.length" if asked is not None else "fixing.bolt.thread"
    if fit.runs_out:
        text = (
            f"the nut runs out of thread: on {say(fit.length)} the thread begins {say(fit.thread_from)} below the "
            f"head, the nut seats at {say(sum(layer.least for layer in fit.layers))}: take a fully threaded bolt, "
            "a shorter one or more washers"
        )
        found.append(boat.finding("H111", key, text))
    worst = fit.length - sum(layer.greatest for layer in fit.layers) - fit.nut.height
    if asked is not None and worst < PITCHES_SHOWING * pitch - 1e-6:
        text = (
            f"a bolt of {say(fit.length)} shows {say(worst)} of thread beyond the nut, less than {PITCHES_SHOWING} "
            f"pitches ({say(PITCHES_SHOWING * pitch)}): {say(fit.needed)} or more is needed"
        )
        found.append(boat.finding("H112", key, text, None if worst < 0 else Severity.WARNING))
    return found


def _seat_findings(boat: Boat, fit: BoltFit) -> list[Finding]:
    """Return findings where bolt, head or washer do not go with the holes, the slot, the plate or the plank."""
    fixing, bolt = boat.description.fixing, fit.bolt
    diameter = nominal_diameter(bolt.thread)
    say = boat.description.figures.size
    least = f"allowed: {say(diameter)} or more"
    found: list[Finding] = []

    def add(code: str, key: str, text: str) -> None:
        found.append(boat.finding(code, key, text))

    if fit.play_plank < 0:
        add("H114", "fixing.bolt.hole",
            f"a {bolt.thread} bolt does not pass a hole of {say(diameter + fit.play_plank)} - {least}")
    if fixing.sleeve and fit.play_sleeve < 0:
        add("H114", "fixing.sleeve.inner",
            f"a {bolt.thread} bolt does not pass a sleeve of {say(fixing.sleeve.inner)} - {least}")
    plate = fixing.plate
    head_on = plate if fixing.bolt.from_ is BoltFrom.ABOVE else None
    if plate and plate.slot and plate.slot.width < diameter:
        add("H114", "fixing.plate.slot.width",
            f"a {bolt.thread} bolt does not pass a slot of {say(plate.slot.width)} - {least}")
    if head_on and head_on.slot and not bolt.countersunk and bolt.across <= head_on.slot.width:
        add("H115", "fixing.plate.slot.width",
            f"the bolt's head, {say(bolt.across)} across, drops into a slot of {say(head_on.slot.width)}")
    if head_on and bolt.widest > min(head_on.length, head_on.width):
        add("H116", "fixing.plate",
            f"the bolt's head, {say(bolt.widest)} at its widest, is larger than the plate")
    if head_on and bolt.countersunk and bolt.height > head_on.thickness:
        add("H118", "fixing.plate.thickness",
            f"the countersunk head is {say(bolt.height)} high, the plate {say(head_on.thickness)}: the head goes into "
            "the floor or the sleeve; take a thicker plate or a hexagon head")
    plank = boat.description.plank
    edge = min(plank.fore_edge, plank.width - plank.fore_edge)
    if fit.washer.outer / 2 > edge:
        add("H119", "fixing.bolt.washer",
            f"the washer, {say(fit.washer.outer)} across, reaches past the plank's edge, {say(edge)} from the bolt")
    return found
