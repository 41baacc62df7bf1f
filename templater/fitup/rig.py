"""The plank on its first bolt, in three dimensions: where its chock corners stand for a yaw, and what a tape reads.

Yaw is counted in the plan view from athwart, positive when the starboard end lies aft. The plank's middle may lie
``off`` mm to starboard of the centreline when the plank is square. And how far a bolt can go in slot, sleeve and plank.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import NamedTuple

from templater.boat.solved import Boat, Setting, Side
from templater.description.keys import ChockCorners
from templater.findings import ReadingsError
from templater.plane.shapes import Point
from templater.reader.faults import told
from templater.units import Figures

#: What starboard less port of the tapes may differ by, mm, unless the readings say otherwise.
TOLERANCE = 1.0


class Surroundings(NamedTuple):
    """What is known beside the tapes, mm."""

    post: float = 0.0  # steering post's axis to starboard of the centreline
    post_sd: float = 0.0
    centring: float = 0.0  # standard deviation of the plank's middle about the centreline, until that is read


#: Plank and post on the centreline.
CENTRED = Surroundings()


class Rig(NamedTuple):
    """A boat with the plank on its first bolt at one setting; lengths in mm, yaw in radians."""

    boat: Boat
    setting: Setting
    first: Side  # whose bolt is in
    corners: ChockCorners
    aft: dict[Side, float]  # how far each chock corner lies aft of the plank's bolt line
    beside: Surroundings

    @property
    def figures(self) -> Figures:
        """How lengths are written for the builder."""
        return self.boat.description.figures

    @property
    def pivot(self) -> float:
        """The first bolt's place to starboard of the centreline."""
        return self.first.sign * self.boat.description.fixing.half_spread

    @property
    def square_yaw(self) -> float:
        """Yaw of the plank's bolt line at which the line through the chock corners is square."""
        return math.atan2(self.aft[Side.PORT] - self.aft[Side.STARBOARD], self.corners.apart)

    @property
    def corners_station(self) -> float:
        """Station of the middle between the chock corners of a square plank."""
        return self.setting.station + (self.aft[Side.PORT] + self.aft[Side.STARBOARD]) / 2

    @property
    def drop(self) -> float:
        """How far the chock corners lie below the tape's ring."""
        return self.boat.description.steering_post.tape_height + self.corners.below_floor

    @property
    def slant(self) -> float:
        """Distance from the post's axis at the ring's height to a chock corner of a square plank."""
        return math.hypot(self.corners_station, self.corners.apart / 2, self.drop)

    def place(self, aft: float, along: float, yaw: float, off: float = 0.0) -> Point:
        """Return where a point of the plank lies, aft of its bolt line and to starboard of its middle, once swung."""
        out = along + off - self.pivot
        return (
            self.setting.station + aft * math.cos(yaw) + out * math.sin(yaw),
            self.pivot + out * math.cos(yaw) - aft * math.sin(yaw),
        )

    def out_to(self, y: float, aft: float, yaw: float) -> float:
        """Return how far from the first bolt a line along the plank, so far aft of its bolt line, comes to ``y``."""
        return (y - self.pivot + aft * math.sin(yaw)) / math.cos(yaw)

    def corner(self, side: Side, yaw: float, off: float = 0.0) -> Point:
        """Return where a chock corner lies."""
        return self.place(self.aft[side], side.sign * self.corners.apart / 2, yaw, off)

    def ring_distance(self, side: Side, yaw: float, off: float = 0.0) -> float:
        """Return the straight distance from the steering post's axis at the ring's height to a chock corner."""
        return math.dist((0.0, self.beside.post, self.drop), (*self.corner(side, yaw, off), 0.0))

    def centre_distance(self, side: Side, yaw: float, off: float) -> float:
        """Return the distance along the plank from the hull's centreline to a chock corner."""
        out = side.sign * self.corners.apart / 2 + off - self.pivot
        return side.sign * (out - self.out_to(0.0, self.aft[side], yaw))


def rig_of(boat: Boat, setting: int, first: Side = Side.PORT, beside: Surroundings = CENTRED, key: str = "") -> Rig:
    """Return the rig at one setting, which is that of ``key`` in the readings.

    Raises ReadingsError: T210, no chock corners; T211, no such setting.
    """
    corners = boat.description.plank.chock_corners
    if corners is None:
        raise ReadingsError(told("T210", "plank.chock_corners"))
    here = next((one for one in boat.settings if one.number == setting), None)
    if here is None:
        known = ", ".join(str(one.number) for one in boat.settings)
        raise ReadingsError(told("T211", key, number=str(setting), known=known))
    return Rig(boat, here, first, corners, dict.fromkeys(Side, corners.aft_of_bolts), beside)


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


def bolt_room(boat: Boat, fore_aft: float, athwart: float) -> BoltRoom:
    """Return the room for a bolt that must move so far, both counted without sign."""
    play = boat.play
    if fore_aft <= play.fore_aft / 2 and athwart <= play.athwart / 2:
        verdict = Verdict.FITS
    elif fore_aft <= play.fore_aft and athwart <= play.athwart:
        verdict = Verdict.DEPENDS
    else:
        verdict = Verdict.TOO_FAR
    return BoltRoom(fore_aft, athwart, play.fore_aft, play.athwart, verdict)
