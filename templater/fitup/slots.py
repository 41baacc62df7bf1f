"""How far the free bolt can go in the plate's slot and the sleeve."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from templater.boat.solved import Boat
from templater.standards.fasteners import nominal_diameter


class Verdict(Enum):
    """Whether a bolt already through the plank may follow the correction."""

    FITS = "fits"              # from the middle of its play
    DEPENDS = "depends"        # only if it now stands on the right side of its play
    TOO_FAR = "too far"


@dataclass(frozen=True, slots=True)
class BoltRoom:
    """Move wanted and play there is from end to end, fore and aft and athwart, mm.

    ``left_fore_aft`` and ``left_athwart`` are what is left of half the play after the move.
    """

    move_fore_aft: float
    move_athwart: float
    play_fore_aft: float
    play_athwart: float
    verdict: Verdict

    @property
    def left_fore_aft(self) -> float:
        """Half the play less the move, fore and aft."""
        return self.play_fore_aft / 2 - self.move_fore_aft

    @property
    def left_athwart(self) -> float:
        """Half the play less the move, athwart."""
        return self.play_athwart / 2 - self.move_athwart


def bolt_room(boat: Boat, fore_aft: float, athwart: float) -> BoltRoom:
    """Return the room for a bolt that must move so far, both counted without sign.

    The bolt's play is the least of slot and sleeve in each direction, plus what its hole in the plank leaves.
    """
    fixing = boat.description.fixing
    bolt = nominal_diameter(fixing.bolt.thread)
    plays_fore_aft, plays_athwart = [], []
    if fixing.plate is not None and fixing.plate.slot is not None:
        plays_fore_aft.append(fixing.plate.slot.width - bolt)
        plays_athwart.append(fixing.plate.slot.length - bolt)
    if fixing.sleeve is not None:
        plays_fore_aft.append(fixing.sleeve.inner - bolt)
        plays_athwart.append(fixing.sleeve.inner - bolt)
    in_plank = max(0.0, (fixing.bolt.hole or bolt) - bolt)
    play_fore_aft = max(0.0, min(plays_fore_aft, default=0.0)) + in_plank
    play_athwart = max(0.0, min(plays_athwart, default=0.0)) + in_plank
    if fore_aft <= play_fore_aft / 2 and athwart <= play_athwart / 2:
        verdict = Verdict.FITS
    elif fore_aft <= play_fore_aft and athwart <= play_athwart:
        verdict = Verdict.DEPENDS
    else:
        verdict = Verdict.TOO_FAR
    return BoltRoom(fore_aft, athwart, play_fore_aft, play_athwart, verdict)
