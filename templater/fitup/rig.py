"""The plank on its first bolt, in three dimensions: where its chock corners stand for a yaw, and what a tape reads.

Yaw is counted in the plan view from athwart, positive when the starboard end lies aft. The plank's middle may lie
``off`` mm to starboard of the centreline when the plank is square. And how far a bolt can go in slot, sleeve and plank.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import NamedTuple

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.standards.fasteners import nominal_diameter
from templater.units import MM, Figures

Point3 = tuple[float, float, float]
#: What starboard less port of the tapes may differ by, mm, unless the readings say otherwise.
TOLERANCE = 1.0


class Rig(NamedTuple):
    """What the tape's geometry needs of the boat at one setting, mm."""

    setting: int
    station: float  # of the bolt line
    half_spread: float
    apart: float  # straight distance between the chock corners
    aft_port: float  # how far the corner lies aft of the plank's bolt line
    aft_starboard: float
    below_floor: float  # how far the corners lie below the floor's upper face
    ring_height: float  # of the tape's ring above the floor's upper face
    fore_edge: float  # the plank's, forward of the bolt line
    width: float
    post: float = 0.0  # the steering post's axis to starboard of the centreline, as measured
    figures: Figures = MM

    def aft(self, side: Side) -> float:
        """Return how far one side's corner lies aft of the bolt line."""
        return self.aft_port if side is Side.PORT else self.aft_starboard

    @property
    def square_yaw(self) -> float:
        """Yaw of the plank's bolt line, radians, at which the line through the chock corners is square."""
        return math.atan2(self.aft_port - self.aft_starboard, self.apart)


def rig_of(boat: Boat, setting: int, key: str = "square.setting") -> Rig:
    """Return the rig at one setting. Raises ReadingsError: T210, no chock corners; T211, no such setting."""
    corners = boat.description.plank.chock_corners
    if corners is None:
        text = "the description has no plank.chock_corners: without them tape readings say nothing - add them"
        raise ReadingsError(Finding("T210", "plank.chock_corners", text))
    stations = {item.number: item.station for item in boat.settings}
    if setting not in stations:
        text = f"{setting}: no such setting of this boat - allowed: {', '.join(str(n) for n in sorted(stations))}"
        raise ReadingsError(Finding("T211", key, text))
    plank = boat.description.plank
    return Rig(
        setting=setting,
        station=stations[setting],
        half_spread=boat.description.fixing.half_spread,
        apart=corners.apart,
        aft_port=corners.aft_of_bolts,
        aft_starboard=corners.aft_of_bolts,
        below_floor=corners.below_floor,
        ring_height=boat.description.steering_post.tape_height,
        fore_edge=plank.fore_edge,
        width=plank.width,
        figures=boat.description.figures,
    )


def slant(rig: Rig, station: float) -> float:
    """Return the distance from the post's axis at the ring's height to a chock corner of a square plank, mm."""
    aft = (rig.aft_port + rig.aft_starboard) / 2
    return math.hypot(station + aft, rig.apart / 2, rig.ring_height + rig.below_floor)


def along_from_pivot(rig: Rig, first: Side, side: Side, off: float) -> float:
    """Return how far a chock corner lies to starboard of the first bolt, measured along the plank."""
    return side.sign * rig.apart / 2 + off - first.sign * rig.half_spread


def corner(rig: Rig, first: Side, side: Side, yaw: float, off: float = 0.0) -> Point3:
    """Return a chock corner in the boat frame, the plank swung by ``yaw`` radians about the first bolt."""
    along, aft = along_from_pivot(rig, first, side, off), rig.aft(side)
    x = rig.station + aft * math.cos(yaw) + along * math.sin(yaw)
    y = first.sign * rig.half_spread + along * math.cos(yaw) - aft * math.sin(yaw)
    return (x, y, -rig.below_floor)


def ring_distance(rig: Rig, first: Side, side: Side, yaw: float, off: float = 0.0) -> float:
    """Return the straight distance from the steering post's axis at the ring's height to a chock corner."""
    return math.dist((0.0, rig.post, rig.ring_height), corner(rig, first, side, yaw, off))


def centre_distance(rig: Rig, first: Side, side: Side, yaw: float, off: float) -> float:
    """Return the distance along the plank from the hull's centreline to a chock corner."""
    aft, pivot = rig.aft(side), first.sign * rig.half_spread
    centre = (aft * math.sin(yaw) - pivot) / math.cos(yaw)
    return side.sign * (along_from_pivot(rig, first, side, off) - centre)


class Verdict(Enum):
    """Whether a bolt already through the plank may follow the correction."""

    FITS = "fits"  # from the middle of its play
    DEPENDS = "depends"  # only if it now stands on the right side of its play
    TOO_FAR = "too far"


class BoltRoom(NamedTuple):
    """Move wanted and play there is from end to end, fore and aft and athwart, mm."""

    move_fore_aft: float
    move_athwart: float
    play_fore_aft: float
    play_athwart: float
    verdict: Verdict


class Play(NamedTuple):
    """Clearance of one bolt from end to end, mm."""

    slot_fore_aft: float | None  # in the plate's slot; None without one
    slot_athwart: float | None
    floor: float  # in the sleeve or the floor's hole
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
