"""What a builder read at fit-up, as frozen values: lengths in mm, angles in degrees.

Frame as in the boat: x aft of the steering pivot axis, y to starboard. A half breadth is positive on both sides.
"""

from __future__ import annotations

import statistics
from collections.abc import Mapping
from dataclasses import dataclass, field

from templater.boat.solved import Side
from templater.findings import Location
from templater.plane.shapes import Point


@dataclass(frozen=True, slots=True)
class Reading:
    """One figure read off a tape or gauge: its value, what the builder wrote, and mm in one of its units."""

    value: float
    text: str
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class Repeats:
    """Repeated readings of one quantity, in the order taken; at least one. ``key`` is their dotted key."""

    readings: tuple[Reading, ...]
    key: str = ""

    @property
    def values(self) -> tuple[float, ...]:
        """The readings, mm or degrees."""
        return tuple(reading.value for reading in self.readings)

    @property
    def mean(self) -> float:
        """Their mean."""
        return statistics.fmean(self.values)

    @property
    def sum_of_squares(self) -> float:
        """Sum of squared deviations from the mean."""
        mean = self.mean
        return sum((value - mean) ** 2 for value in self.values)

    def __len__(self) -> int:
        return len(self.readings)


@dataclass(frozen=True, slots=True)
class Both:
    """The same quantity read to port and to starboard."""

    port: Repeats
    starboard: Repeats

    def side(self, side: Side) -> Repeats:
        """Return one side's readings."""
        return self.port if side is Side.PORT else self.starboard


@dataclass(frozen=True, slots=True)
class HalfBreadth:
    """Half breadths at one station, each measured from the trial line outwards."""

    station: float
    breadths: Both
    key: str


@dataclass(frozen=True, slots=True)
class CentrelineReadings:
    """Half breadths along the hull from a trial line. ``post_offset``: post's middle to starboard of that line."""

    stations: tuple[HalfBreadth, ...]
    post_offset: Repeats | None = None


@dataclass(frozen=True, slots=True)
class PointPair:
    """A tape from each chock corner to a like point of the hull on its own side.

    Attributes:
        to: station and half breadth of the point.
        below_floor: how far it lies below the floor's upper face; None for the corner's own height.
    """

    name: str
    to: Point
    below_floor: float | None
    both: Both


@dataclass(frozen=True, slots=True)
class EdgePair:
    """A rule along the hull from a line square to the centreline to the plank's edge, equally far out on both sides.

    Attributes:
        half_breadth: how far out, both sides alike.
        edge: the plank's edge it is read to, ``fore`` or ``aft``.
        from_fore: True if the line lies forward of the plank, so that a larger reading means further aft.
    """

    name: str
    half_breadth: float
    edge: str
    from_fore: bool
    both: Both


@dataclass(frozen=True, slots=True)
class Attempt:
    """One round of squaring: the plank hangs on its first bolt, the tape is read to both chock corners.

    Attributes:
        first_bolt: the side whose bolt is in; the plank swings about it.
        tape: ring to chock corner.
        further: readings beyond what is needed.
        off_centre: hull centreline to each chock corner along the plank, if measured.
        chock_aft: plank's bolt line to each chock corner, aft positive, if measured; else as described.
        date: text as given, YYYY-MM-DD.
        ring: steering post's axis to the tape's nought as the builder measured it, mm; None if unknown.
    """

    number: int
    setting: int
    first_bolt: Side
    tape: Both
    further: tuple[PointPair | EdgePair, ...] = ()
    off_centre: Both | None = None
    chock_aft: Both | None = None
    date: str = ""
    note: str = ""
    key: str = ""
    ring: float | None = None


@dataclass(frozen=True, slots=True)
class SquareReadings:
    """All attempts, oldest first, with the tolerance on starboard less port, mm."""

    attempts: tuple[Attempt, ...]
    tolerance: float = 1.0

    @property
    def last(self) -> Attempt:
        """The attempt that counts now."""
        return self.attempts[-1]


@dataclass(frozen=True, slots=True)
class CrownGap:
    """Gap between the plank's upper face and the hull's bottom at ``y`` along the plank, starboard positive."""

    y: float
    gap: Repeats


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a shim lies: ``length`` fore and aft, ``width`` along the plank."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Toe:
    """Distances between the runners, fore and aft of the pivot axis, ``apart`` mm along the hull."""

    fore: Repeats
    aft: Repeats
    apart: float


@dataclass(frozen=True, slots=True)
class ShimReadings:
    """What shims are worked out from; every part may be missing.

    Attributes:
        tilt: angle gauge on the plank's face at each seat, degrees, fore edge high positive.
        hull_bottom: (y, rise) of the hull's bottom above its middle; empty for a flat bottom.
        least: thickness of the shim at its thinnest place, mm; None takes the description's.
    """

    crown_gap: tuple[CrownGap, ...] = ()
    hull_bottom: tuple[Point, ...] = ()
    tilt: Both | None = None
    toe: Toe | None = None
    seat: Seat | None = None
    least: float | None = None


@dataclass(frozen=True, slots=True)
class Readings:
    """Everything read at fit-up.

    Attributes:
        step: smallest step read off the tape, mm.
        tape_sd: standard deviation of one reading for when repeats are too few; None takes the description's.
    """

    boat: str
    units: str
    date: str = ""
    step: float = 0.5
    tape_sd: float | None = None
    centreline: CentrelineReadings | None = None
    square: SquareReadings | None = None
    shim: ShimReadings | None = None
    places: Mapping[str, Location] = field(default_factory=dict, compare=False, repr=False)

    def place(self, key: str) -> Location | None:
        """Return the place of a dotted key, or of its nearest parent that stands in the text."""
        while key and key not in self.places:
            key = key.rpartition(".")[0]
        return self.places.get(key)
