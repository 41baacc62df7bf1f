"""The job's hardware: the bolt and its stack, sleeves, plate screws, what to buy, what goes into the spares bag."""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.findings import Finding
from templater.job.fasteners import BoltFit, ScrewFit, fit_bolt, fit_screws
from templater.job.work import drilling
from templater.units import MM, Figures


class ShoppingRow(NamedTuple):
    """One thing to buy or cut: ``needed`` for the boat and ``spare`` more."""

    item: str
    size: str
    standard: str
    needed: int
    spare: int = 0
    note: str = ""

    @property
    def total(self) -> int:
        """How many to get."""
        return self.needed + self.spare


class Hardware(NamedTuple):
    """Everything that is bought or cut for the job."""

    bolt: BoltFit | None  # None where a table lacks the thread
    screws: ScrewFit | None
    shopping: tuple[ShoppingRow, ...]  # what to buy or cut, spares included
    spares: tuple[ShoppingRow, ...]  # what goes into the spares bag
    findings: tuple[Finding, ...]
    memory: tuple[str, ...]  # names of the figures from memory among those used


def hardware(boat: Boat) -> Hardware:
    """Return the hardware of a solved boat; what does not fit is among its findings (codes H1xx), never raised."""
    bolt, bolt_findings = fit_bolt(boat)
    screws, screw_findings = fit_screws(boat)
    bought = (bolt.bolt, bolt.nut, bolt.washer) if bolt else ()
    memory = [f"{part.standard} {name}" for part in bought for name in sorted(part.memory)]
    if screws and screws.head.from_memory:
        memory.append(f"screw {screws.name.partition(' x ')[0]} head")
    shopping = tuple(_shopping(boat, bolt, screws))
    findings = (*bolt_findings, *screw_findings, *_meetings(boat, bolt, screws))
    return Hardware(bolt, screws, shopping, tuple(_spares(boat, bolt, shopping)), findings, tuple(memory))


def _meetings(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> Iterator[Finding]:
    """Yield findings where heads of bolt and screws meet, along the slot or in a row, or the sleeve meets no plate."""
    fixing = boat.description.fixing
    plate, sleeve = fixing.plate, fixing.sleeve
    if plate and screws and plate.screws:
        places, head = (*plate.screws.first, *plate.screws.second), screws.head.diameter
        if bolt and places and fixing.bolt.from_ == "above":
            travel = (boat.play.athwart - boat.play.plank) / 2 if plate.slot else 0.0
            near = min(math.hypot(x, max(0.0, abs(y) - travel)) for x, y in places)
            need = (bolt.bolt.widest + head) / 2
            if near < need:
                yield boat.tell("H117", "fixing.plate.screws", head=bolt.bolt.widest, near=near, need=need)
        for name, group in (("first", plate.screws.first), ("second", plate.screws.second)):
            apart = next((gap for pair in combinations(group, 2) if (gap := math.dist(*pair)) < head), None)
            if apart is not None:
                yield boat.tell("H106", f"fixing.plate.screws.{name}", head=head, apart=apart)
    if plate and sleeve and sleeve.outer > min(plate.length, plate.width):
        yield boat.tell("H121", "fixing.sleeve.outer", sleeve=sleeve.outer)


def _shopping(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> Iterator[ShoppingRow]:
    """Yield the list for one boat, bolts first."""
    fixing, spares, say = boat.description.fixing, boat.description.spares, boat.description.figures.size
    plate, sleeve = fixing.plate, fixing.sleeve
    if bolt:
        yield from _bolt_rows(boat, bolt, 2, spares.bolts)
    if sleeve:
        size = f"{say(sleeve.outer)} outer, {say(sleeve.inner)} inner, {say(boat.description.floor.thickness)} long"
        note = "ends square and deburred"
        yield ShoppingRow("sleeve", size, "metal tube, cut to length", 2 * len(boat.settings), 0, note)
    if plate:
        size = " x ".join(map(say, (plate.length, plate.width, plate.thickness)))
        note = "edges and corners deburred" + ("; screw holes countersunk" if screws else "")
        yield ShoppingRow("plate", size, "see the plate sheets", len(boat.plates), spares.plates, note)
    if plate and plate.screws and screws:
        # Those of every spare plate, and as many more as described.
        count, spare = len(plate.screws.first), len(plate.screws.second or plate.screws.first)
        spare = spares.plates * spare + spares.screws
        note = "countersunk, of a metal that goes with the plate's"
        yield ShoppingRow("wood screw", screws.name, "countersunk", len(boat.plates) * count, spare, note)
    for name, thickness in (("shim", fixing.shim), ("block", fixing.block)):
        if thickness > 0:
            yield ShoppingRow(name, f"{say(thickness)} thick", "as the plank is wide", 2)


def _spares(boat: Boat, bolt: BoltFit | None, shopping: Sequence[ShoppingRow]) -> Iterator[ShoppingRow]:
    """Yield what to carry on the ice: the spares of what is bought, and the tools that they need."""
    spare = {row.item: row._replace(needed=row.spare, spare=0, note="") for row in shopping if row.spare}
    if "plate" in spare:
        yield spare["plate"]
        yield ShoppingRow("spare-plates sheet", "folded dry", "", 1, 0, "to mark the second holes")
    if "wood screw" in spare:
        bit = next(row.final.size for row in drilling(boat) if row.use == "first screws")
        yield spare["wood screw"]
        yield ShoppingRow("screwdriver", "to suit the screws", "", 1)
        yield ShoppingRow("hand drill and bits", f"{bit}, two of them", "", 1, 0, "for the second holes")
    if bolt:
        if boat.description.spares.bolts:
            yield from _bolt_rows(boat, bolt, boat.description.spares.bolts, 0)
        say, kind = _sold(bolt.bolt.thread).size, bolt.bolt
        head = ("screwdriver", "cross recess")
        if kind.key is not None:
            head = ("spanner" if kind.head == "hexagon" else "hexagon key", f"{say(kind.key)} across flats")
        yield ShoppingRow(*head, "", 1, 0, "for the head")
        yield ShoppingRow("spanner", f"{say(bolt.nut.across)} across flats", "", 1, 0, "for the nut")


def _bolt_rows(boat: Boat, bolt: BoltFit, count: int, spare: int) -> Iterator[ShoppingRow]:
    """Yield bolts, nuts and washers."""
    kind, nut, washer = bolt.bolt, bolt.nut, bolt.washer
    way = boat.description.fixing.bolt.from_
    note = f"{'threaded to the head' if kind.full else 'partly threaded'}; goes in from {way}"
    size = f"{kind.thread} x {_sold(kind.thread).size(bolt.length)}"
    yield ShoppingRow(f"{kind.head} bolt", size, kind.standard, count, spare, note)
    other = "below" if way == "above" else "above"
    yield ShoppingRow(f"{nut.kind} nut", kind.thread, nut.standard, count, spare, other)
    each = sum(layer.part == "washer" for layer in bolt.layers)
    where = "under the nut" if each == 1 else "under the head and under the nut"
    size = f"{kind.thread}, {boat.description.figures.size(washer.outer)} across"
    yield ShoppingRow(f"{washer.kind} washer", size, washer.standard, count * each, spare * each, where)


def _sold(thread: str) -> Figures:
    """Return how a bolt of this thread is named where it is sold."""
    return Figures("in") if thread.endswith("in") else MM
