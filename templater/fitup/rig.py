"""The plank on its first bolt, in three dimensions: where its chock corners stand for a yaw, and what a tape reads.

Yaw is counted in the plan view from athwart, positive when the starboard end lies aft. The plank's middle may lie
``off`` mm to starboard of the centreline when the plank is square.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.taken import EdgePair, PointPair
from templater.units import MM, Figures

Point3 = tuple[float, float, float]


class Rig(NamedTuple):
    """What the tape's geometry needs of the boat at one setting.

    Attributes:
        station: of the bolt line.
        apart: straight distance between the chock corners.
        aft_port, aft_starboard: how far each corner lies aft of the plank's bolt line.
        below_floor: how far the corners lie below the floor's upper face.
        ring_height: of the tape's ring above the floor's upper face.
        fore_edge, width: the plank's fore edge forward of the bolt line, and its width.
        post: the steering post's axis to starboard of the centreline, as measured.
        figures: how the boat's lengths are written.
    """

    setting: int
    station: float
    half_spread: float
    apart: float
    aft_port: float
    aft_starboard: float
    below_floor: float
    ring_height: float
    fore_edge: float
    width: float
    post: float = 0.0
    figures: Figures = MM

    def aft(self, side: Side) -> float:
        """Return how far one side's corner lies aft of the bolt line."""
        return self.aft_port if side is Side.PORT else self.aft_starboard

    @property
    def square_yaw(self) -> float:
        """Yaw of the plank's bolt line, radians, at which the line through the chock corners is square."""
        return math.atan2(self.aft_port - self.aft_starboard, self.apart)


def rig_of(boat: Boat, setting: int, key: str = "square.setting") -> Rig:
    """Return the rig at one setting.

    Raises:
        ReadingsError: if the boat has no such setting or its description names no chock corners.
    """
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


def point_distance(rig: Rig, pair: PointPair, first: Side, side: Side, yaw: float, off: float = 0.0) -> float:
    """Return the straight distance from a chock corner to the hull's point on the same side."""
    below = rig.below_floor if pair.below_floor is None else pair.below_floor
    return math.dist((pair.to[0], side.sign * pair.to[1], -below), corner(rig, first, side, yaw, off))


def edge_distance(rig: Rig, pair: EdgePair, first: Side, side: Side, yaw: float) -> float:
    """Return the station of the plank's edge at the pair's half breadth; counted backwards from a line aft of it."""
    aft = -rig.fore_edge if pair.edge == "fore" else rig.width - rig.fore_edge
    pivot = first.sign * rig.half_spread
    along = (side.sign * pair.half_breadth - pivot + aft * math.sin(yaw)) / math.cos(yaw)
    station = rig.station + aft * math.cos(yaw) + along * math.sin(yaw)
    return station if pair.from_fore else -station


def centre_distance(rig: Rig, first: Side, side: Side, yaw: float, off: float) -> float:
    """Return the distance along the plank from the hull's centreline to a chock corner."""
    aft, pivot = rig.aft(side), first.sign * rig.half_spread
    centre = (aft * math.sin(yaw) - pivot) / math.cos(yaw)
    return side.sign * (along_from_pivot(rig, first, side, off) - centre)
