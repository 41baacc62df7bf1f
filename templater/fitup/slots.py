"""How far the free bolt can go in the plate's slot and the floor's sleeve or hole."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.standards.fasteners import nominal_diameter


class Verdict(Enum):
    """Whether a bolt already through the plank may follow the correction."""

    FITS = "fits"              # from the middle of its play
    DEPENDS = "depends"        # only if it now stands on the right side of its play
    TOO_FAR = "too far"


class BoltRoom(NamedTuple):
    """Move wanted and play there is from end to end, fore and aft and athwart, mm."""

    move_fore_aft: float
    move_athwart: float
    play_fore_aft: float
    play_athwart: float
    verdict: Verdict


class Play(NamedTuple):
    """Clearance of one bolt from end to end, mm: in the plate's slot, in the sleeve or the floor's hole, in the plank.

    ``slot_fore_aft`` and ``slot_athwart`` are None without a slotted plate.
    """

    slot_fore_aft: float | None
    slot_athwart: float | None
    floor: float
    plank: float

    @property
    def fore_aft(self) -> float:
        """What the bolt can travel fore and aft against the floor, and the plank against the bolt."""
        return min(self.floor, self.floor if self.slot_fore_aft is None else self.slot_fore_aft) + self.plank

    @property
    def athwart(self) -> float:
        """The same athwart: a long slot gives nothing that the sleeve does not."""
        return min(self.floor, self.floor if self.slot_athwart is None else self.slot_athwart) + self.plank


def play_of(boat: Boat) -> Play:
    """Return the clearances of one bolt in sleeve or floor hole, slot and plank."""
    fixing = boat.description.fixing
    bolt = nominal_diameter(fixing.bolt.thread)
    slot = fixing.plate.slot if fixing.plate is not None else None
    hole = fixing.bolt.hole or bolt
    floor = fixing.sleeve.inner if fixing.sleeve is not None else fixing.floor_hole or hole
    return Play(
        None if slot is None else max(0.0, slot.width - bolt),
        None if slot is None else max(0.0, slot.length - bolt),
        max(0.0, floor - bolt),
        max(0.0, hole - bolt),
    )


def bolt_room(boat: Boat, fore_aft: float, athwart: float) -> BoltRoom:
    """Return the room for a bolt that must move so far, both counted without sign."""
    play = play_of(boat)
    if fore_aft <= play.fore_aft / 2 and athwart <= play.athwart / 2:
        verdict = Verdict.FITS
    elif fore_aft <= play.fore_aft and athwart <= play.athwart:
        verdict = Verdict.DEPENDS
    else:
        verdict = Verdict.TOO_FAR
    return BoltRoom(fore_aft, athwart, play.fore_aft, play.athwart, verdict)
