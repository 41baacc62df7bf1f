"""The job's hardware: the bolt and its stack, sleeves, plate screws, what to buy, what goes into the spares bag."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from templater.boat.solved import Boat, HoleKind
from templater.findings import Finding
from templater.job.bolt_stack import BoltFit, Layer, fit_bolt
from templater.job.lengths import finding_at, sayer
from templater.job.plate_screws import Holding, ScrewFit, fit_screws
from templater.job.shopping import ShoppingRow, shopping_list, spares_bag


@dataclass(frozen=True, slots=True)
class SleeveFit:
    """The sleeve in the floor, mm.

    Attributes:
        count: sleeves in the boat, one for each floor hole.
        length: the floor's thickness: flush on both faces.
        hole: in the floor, as drawn.
        glue_gap: room for glue all round: half the hole less half the sleeve.
        wall: of the sleeve.
    """

    count: int
    length: float
    outer: float
    inner: float
    hole: float
    glue_gap: float
    wall: float


@dataclass(frozen=True, slots=True)
class Hardware:
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
        count=len(holes),
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
    say = sayer(description)
    if sleeve.outer > min(plate.length, plate.width):
        text = f"a sleeve of {say(sleeve.outer)} is wider than the plate above it"
        return [finding_at(description, "H121", "fixing.sleeve.outer", text)]
    return []


def _meetings(boat: Boat, bolt: BoltFit | None, screws: ScrewFit | None) -> list[Finding]:
    """Return findings where the bolt's head, anywhere along the slot, meets a screw's head, or two screw heads meet."""
    description = boat.description
    plate = description.fixing.plate
    if screws is None or plate is None or plate.screws is None:
        return []
    say = sayer(description)
    found = []
    places = (*plate.screws.first, *plate.screws.second)
    if bolt is not None and places:
        travel = max(0.0, bolt.slot_travel or 0.0) / 2
        near = min((x**2 + max(0.0, abs(y) - travel) ** 2) ** 0.5 for x, y in places)
        need = (bolt.bolt.widest + screws.head) / 2
        if near < need:
            text = (
                f"the bolt's head, {say(bolt.bolt.widest)} at its widest, meets a screw's head at the end of the slot: "
                f"they come within {say(near)} between centres - allowed: {say(need)} or more"
            )
            found.append(finding_at(description, "H117", "fixing.plate.screws", text))
    for name, group in (("first", plate.screws.first), ("second", plate.screws.second)):
        for one, other in combinations(group, 2):
            gap = ((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5
            if gap < screws.head:
                key = f"fixing.plate.screws.{name}"
                text = f"two screw heads of {say(screws.head)} overlap: they stand {say(gap)} apart"
                found.append(finding_at(description, "H106", key, text))
                break
    return found


__all__ = ["BoltFit", "Hardware", "Holding", "Layer", "ScrewFit", "ShoppingRow", "SleeveFit", "hardware"]
