"""The job's hardware: the bolt and its stack, sleeves, plate screws, what to buy, what goes into the spares bag."""

from __future__ import annotations

import math
from itertools import combinations
from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import BoltFrom
from templater.findings import Finding
from templater.job.bolt_stack import BoltFit, fit_bolt
from templater.job.drilling import Use, drilling
from templater.job.plate_screws import Holding, ScrewFit, fit_screws
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


class SleeveFit(NamedTuple):
    """The sleeve in the floor, mm.

    Attributes:
        number: sleeves in the boat, one for each floor hole.
        length: the floor's thickness: flush on both faces.
        hole: in the floor, as drawn.
        glue_gap: room for glue all round: half the hole less half the sleeve.
        wall: of the sleeve.
    """

    number: int
    length: float
    outer: float
    inner: float
    hole: float
    glue_gap: float
    wall: float


class Hardware(NamedTuple):
    """Everything that is bought or cut for the job.

    Attributes:
        bolt: None where a table lacks the thread.
        holding: the plates' screw among its rivals, best first; a guide only.
        shopping: what to buy or cut, spares included.
        spares: what goes into the spares bag.
        memory: names of the figures from memory among those used.
    """

    bolt: BoltFit | None
    sleeve: SleeveFit | None
    screws: ScrewFit | None
    holding: tuple[Holding, ...]
    shopping: tuple[ShoppingRow, ...]
    spares: tuple[ShoppingRow, ...]
    findings: tuple[Finding, ...]
    memory: tuple[str, ...]


def hardware(boat: Boat) -> Hardware:
    """Return the hardware of a solved boat; what does not fit is among its findings (codes H1xx), never raised."""
    bolt, bolt_findings = fit_bolt(boat)
    screws, holding, screw_findings = fit_screws(boat)
    sleeve = _sleeve(boat)
    findings = (*bolt_findings, *screw_findings, *_meetings(boat, bolt, screws), *_sleeve_findings(boat, sleeve))
    return Hardware(
        bolt=bolt,
        sleeve=sleeve,
        screws=screws,
        holding=holding,
        shopping=shopping_list(boat, bolt, screws),
        spares=spares_bag(boat, bolt, screws),
        findings=findings,
        memory=(bolt.memory if bolt else ()) + (screws.memory if screws else ()),
    )


def _sleeve(boat: Boat) -> SleeveFit | None:
    """Return the sleeve, or None where bolts go through bare wood."""
    sleeve = boat.description.fixing.sleeve
    if sleeve is None:
        return None
    holes = [hole for hole in boat.holes if hole.kind is HoleKind.SLEEVE]
    hole = holes[0].diameter if holes else sleeve.outer + sleeve.glue_gap
    return SleeveFit(
        number=len(holes),
        length=boat.description.floor.thickness,
        outer=sleeve.outer,
        inner=sleeve.inner,
        hole=hole,
        glue_gap=(hole - sleeve.outer) / 2,
        wall=(sleeve.outer - sleeve.inner) / 2,
    )


def _sleeve_findings(boat: Boat, sleeve: SleeveFit | None) -> list[Finding]:
    """Return findings where the plate does not hold the sleeve down."""
    description = boat.description
    plate = description.fixing.plate
    if sleeve is None or plate is None:
        return []
    say = description.figures.size
    if sleeve.outer > min(plate.length, plate.width):
        text = f"a sleeve of {say(sleeve.outer)} is wider than the plate above it"
        return [boat.finding("H121", "fixing.sleeve.outer", text)]
    return []


def _meetings(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> list[Finding]:
    """Return findings where the bolt's head, anywhere along the slot, meets a screw's head, or two screw heads meet."""
    description = boat.description
    plate = description.fixing.plate
    if screws is None or plate is None or plate.screws is None:
        return []
    say = description.figures.size
    found = []
    places = (*plate.screws.first, *plate.screws.second)
    if bolt is not None and places and description.fixing.bolt.from_ is BoltFrom.ABOVE:
        travel = max(0.0, bolt.slot_travel or 0.0) / 2
        near = min((x**2 + max(0.0, abs(y) - travel) ** 2) ** 0.5 for x, y in places)
        need = (bolt.bolt.widest + screws.head) / 2
        if near < need:
            text = (
                f"the bolt's head, {say(bolt.bolt.widest)} at its widest, meets a screw's head at the end of the slot: "
                f"they come within {say(near)} between centres - allowed: {say(need)} or more"
            )
            found.append(boat.finding("H117", "fixing.plate.screws", text))
    for name, group in (("first", plate.screws.first), ("second", plate.screws.second)):
        for one, other in combinations(group, 2):
            gap = ((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5
            if gap < screws.head:
                key = f"fixing.plate.screws.{name}"
                text = f"two screw heads of {say(screws.head)} overlap: they stand {say(gap)} apart"
                found.append(boat.finding("H106", key, text))
                break
    return found


def shopping_list(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> tuple[ShoppingRow, ...]:
    """Return the list for one boat, bolts first."""
    description = boat.description
    fixing, spares, say = description.fixing, description.spares, description.figures.size
    rows: list[ShoppingRow] = []
    if bolt is not None:
        rows += _bolt_rows(boat, bolt, bolt.number, spares.bolts)
    sleeves = sum(hole.kind is HoleKind.SLEEVE for hole in boat.holes)
    if fixing.sleeve is not None:
        size = (
            f"{say(fixing.sleeve.outer)} outer, {say(fixing.sleeve.inner)} inner, "
            f"{say(description.floor.thickness)} long"
        )
        rows.append(ShoppingRow("sleeve", size, "metal tube, cut to length", sleeves, 0, "ends square and deburred"))
    plate = fixing.plate
    if plate is not None:
        size = " x ".join(say(side) for side in (plate.length, plate.width, plate.thickness))
        note = "edges and corners deburred" + ("; screw holes countersunk" if screws else "")
        rows.append(ShoppingRow("plate", size, "see the plate sheets", len(boat.plates), spares.plates, note))
    if screws is not None:
        note = "countersunk, of a metal that goes with the plate's"
        rows.append(ShoppingRow("wood screw", screws.name, "countersunk", screws.first, spare_screws(boat), note))
    for name, thickness in (("shim", fixing.shim), ("block", fixing.block)):
        if thickness > 0:
            rows.append(ShoppingRow(name, f"{say(thickness)} thick", "as the plank is wide", 2))
    return tuple(rows)


def spare_screws(boat: Boat) -> int:
    """Return how many spare wood screws there are: those of every spare plate, and as many more as described."""
    plate, spares = boat.description.fixing.plate, boat.description.spares
    if plate is None or plate.screws is None:
        return 0
    return spares.plates * len(plate.screws.second or plate.screws.first) + spares.screws


def spares_bag(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> tuple[ShoppingRow, ...]:
    """Return what to carry on the ice: spares, and the tools that they need."""
    description = boat.description
    spares, say = description.spares, description.figures.size
    rows: list[ShoppingRow] = []
    plate = description.fixing.plate
    if plate is not None and spares.plates:
        size = " x ".join(say(side) for side in (plate.length, plate.width, plate.thickness))
        rows.append(ShoppingRow("plate", size, "see the spare-plates sheet", spares.plates))
        rows.append(ShoppingRow("spare-plates sheet", "folded dry", "", 1, 0, "to mark the second holes"))
    if screws is not None and spare_screws(boat):
        bit = next(row.final.size for row in drilling(boat) if row.use is Use.FIRST_SCREW)
        rows.append(ShoppingRow("wood screw", screws.name, "countersunk", spare_screws(boat)))
        rows.append(ShoppingRow("screwdriver", "to suit the screws", "", 1))
        rows.append(ShoppingRow("hand drill and bits", f"{bit}, two of them", "", 1, 0, "for the second holes"))
    if bolt is not None:
        if spares.bolts:
            rows += _bolt_rows(boat, bolt, spares.bolts, 0)
        rows += _spanners(bolt)
    return tuple(rows)


def _bolt_rows(boat: Boat, bolt: BoltFit, count: int, spare: int) -> list[ShoppingRow]:
    """Return bolts, nuts and washers."""
    kind, say = bolt.bolt, boat.description.figures.size
    way = boat.description.fixing.bolt.from_
    other = "below" if way is BoltFrom.ABOVE else "above"
    turned = "threaded to the head" if kind.full else "partly threaded"
    rows = [
        ShoppingRow(
            f"{kind.head} bolt", f"{kind.thread} x {_sold(kind.thread).size(bolt.length)}",
            kind.standard, count, spare, f"{turned}; goes in from {way.value}",
        ),
        ShoppingRow(f"{bolt.nut.kind} nut", kind.thread, bolt.nut.standard, count, spare, other),
    ]  # fmt: skip
    washers = sum(layer.name.startswith("washer") for layer in bolt.layers)
    where = "under the nut" if washers == 1 else "under the head and under the nut"
    rows.append(
        ShoppingRow(
            f"{bolt.washer.kind} washer", f"{kind.thread}, {say(bolt.washer.outer)} across",
            bolt.washer.standard, count * washers, spare * washers, where,
        )
    )  # fmt: skip
    return rows


def _sold(thread: str) -> Figures:
    """Return how a bolt of this thread is named where it is sold."""
    return Figures("in") if thread.endswith("in") else MM


def _spanners(bolt: BoltFit) -> list[ShoppingRow]:
    """Return the spanners or keys for head and nut."""
    say = _sold(bolt.bolt.thread).size
    nut = ShoppingRow("spanner", f"{say(bolt.nut.across)} across flats", "", 1, 0, "for the nut")
    if bolt.bolt.head == "hexagon":
        head = ShoppingRow("spanner", f"{say(bolt.bolt.across)} across flats", "", 1, 0, "for the head")
    elif math.isnan(bolt.bolt.key):
        head = ShoppingRow("screwdriver", "cross recess", "", 1, 0, "for the head")
    else:
        head = ShoppingRow("hexagon key", f"{say(bolt.bolt.key)} across flats", "", 1, 0, "for the head")
    return [head, nut]
