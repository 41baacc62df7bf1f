"""What to buy or cut for the job, spares included, and what goes into the spares bag."""

from __future__ import annotations

import math
from dataclasses import dataclass

from templater.boat.solved import Boat, HoleKind
from templater.job.bolt_stack import BoltFit
from templater.job.lengths import size_text
from templater.job.plate_screws import ScrewFit


@dataclass(frozen=True, slots=True)
class ShoppingRow:
    """One thing to buy or cut: ``count`` for the boat and ``spare`` more."""

    item: str
    size: str
    standard: str
    count: int
    spare: int = 0
    note: str = ""

    @property
    def total(self) -> int:
        """How many to get."""
        return self.count + self.spare


def shopping_list(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> tuple[ShoppingRow, ...]:
    """Return the list for one boat, bolts first."""
    description = boat.description
    fixing, spares, units = description.fixing, description.spares, description.units
    rows: list[ShoppingRow] = []
    if bolt is not None:
        rows += _bolt_rows(bolt, units, bolt.count, spares.bolts)
    sleeves = sum(hole.kind is HoleKind.SLEEVE for hole in boat.holes)
    if fixing.sleeve is not None:
        size = (
            f"{size_text(fixing.sleeve.outer, units)} outer, {size_text(fixing.sleeve.inner, units)} inner, "
            f"{size_text(description.floor.thickness, units)} long"
        )
        rows.append(ShoppingRow("sleeve", size, "metal tube, cut to length", sleeves, 0, "ends square and deburred"))
    plate = fixing.plate
    if plate is not None:
        size = " x ".join(size_text(side, units) for side in (plate.length, plate.width, plate.thickness))
        note = "edges and corners deburred" + ("; screw holes countersunk" if screws else "")
        rows.append(ShoppingRow("plate", size, "see the plate sheets", len(boat.plates), spares.plates, note))
    if screws is not None:
        note = "countersunk, of a metal that goes with the plate's"
        rows.append(ShoppingRow("wood screw", screws.name, "countersunk", screws.first, spares.screws, note))
    for name, thickness in (("shim", fixing.shim), ("block", fixing.block)):
        if thickness > 0:
            rows.append(ShoppingRow(name, f"{size_text(thickness, units)} thick", "as the plank is wide", 2))
    return tuple(rows)


def spares_bag(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> tuple[ShoppingRow, ...]:
    """Return what to carry on the ice: spares, and the tools that they need."""
    description = boat.description
    spares, units = description.spares, description.units
    rows: list[ShoppingRow] = []
    plate = description.fixing.plate
    if plate is not None and spares.plates:
        size = " x ".join(size_text(side, units) for side in (plate.length, plate.width, plate.thickness))
        rows.append(ShoppingRow("plate", size, "see the spare-plates sheet", spares.plates))
    if screws is not None and spares.screws:
        rows.append(ShoppingRow("wood screw", screws.name, "countersunk", spares.screws))
        rows.append(ShoppingRow("screwdriver", "to suit the screws", "", 1))
        rows.append(ShoppingRow("hand drill and pilot bit", "see the drilling table", "", 1, 0, "for the second holes"))
    if bolt is not None:
        if spares.bolts:
            rows += _bolt_rows(bolt, units, spares.bolts, 0)
        rows += _spanners(bolt, units)
    return tuple(rows)


def _bolt_rows(bolt: BoltFit, units: str, count: int, spare: int) -> list[ShoppingRow]:
    """Return bolts, nuts and washers."""
    kind = bolt.bolt
    turned = "threaded to the head" if kind.full else "partly threaded"
    rows = [
        ShoppingRow(
            f"{kind.head} bolt", f"{kind.thread} x {size_text(bolt.length, _own(kind.thread, units))}",
            kind.standard, count, spare, f"{turned}; goes in from above",
        ),
        ShoppingRow(f"{bolt.nut.kind} nut", kind.thread, bolt.nut.standard, count, spare, "below"),
    ]  # fmt: skip
    washers = sum(layer.name.startswith("washer") for layer in bolt.layers)
    where = "below, under the nut" if washers == 1 else "under the head and under the nut"
    rows.append(
        ShoppingRow(
            f"{bolt.washer.kind} washer", f"{kind.thread}, {size_text(bolt.washer.outer, units)} across",
            bolt.washer.standard, count * washers, spare * washers, where,
        )
    )  # fmt: skip
    return rows


def _own(thread: str, units: str) -> str:
    """Return the units in which a bolt of this thread is sold."""
    return "in" if thread.endswith("in") else "mm" if thread.startswith("M") else units


def _spanners(bolt: BoltFit, units: str) -> list[ShoppingRow]:
    """Return the spanners or keys for head and nut."""
    own = _own(bolt.bolt.thread, units)
    nut = ShoppingRow("spanner", f"{size_text(bolt.nut.across, own)} across flats", "", 1, 0, "for the nut")
    if bolt.bolt.head == "hexagon":
        head = ShoppingRow("spanner", f"{size_text(bolt.bolt.across, own)} across flats", "", 1, 0, "for the head")
    elif math.isnan(bolt.bolt.key):
        head = ShoppingRow("screwdriver", "cross recess", "", 1, 0, "for the head")
    else:
        head = ShoppingRow("hexagon key", f"{size_text(bolt.bolt.key, own)} across flats", "", 1, 0, "for the head")
    return [head, nut]
