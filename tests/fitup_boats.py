"""A boat for the fit-up's tests, and a simulated builder whose geometry is worked out apart from the program's."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from templater.boat.solve import solve
from templater.boat.solved import Boat, Side
from templater.description.keys import (
    Bolt,
    ChockCorners,
    Description,
    Fixing,
    Floor,
    Plank,
    Plate,
    Rule,
    RunnerBase,
    Settings,
    Sleeve,
    Slot,
    SteeringPost,
)
from templater.fitup.readings import Attempt, Chocks, Further, Readings, Sides, SquareReadings, Station
from templater.reader.values import Reading, Repeats

HALF_SPREAD, APART, AFT, BELOW, RING_HEIGHT = 215.0, 2290.0, 6.0, 60.0, 25.0


@cache
def whinchat(units: str = "mm") -> Boat:
    """The invented boat of the demo, its tape ring lying 25 mm above the floor."""
    return solve(
        Description(
            boat="Whinchat 3",
            units=units,
            steering_post=SteeringPost(diameter=32.0, tape_height=RING_HEIGHT),
            floor=Floor(thickness=14.0),
            plank=Plank(
                length=2390.0, width=175.0, thickness=34.0, crown=38.0, pivot_aft_of_bolts=6.0,
                chock_corners=ChockCorners(apart=APART, aft_of_bolts=AFT, below_floor=BELOW),
            ),
            fixing=Fixing(
                half_spread=HALF_SPREAD, settings=Settings(count=3, pitch=55.0, at_limit="aft"),
                bolt=Bolt(thread="M8"),
                sleeve=Sleeve(outer=18.0, inner=10.0),
                plate=Plate(length=46.0, width=76.0, thickness=3.0, slot=Slot(length=16.0, width=8.5)),
            ),
            rule=Rule(runner_base=RunnerBase(max=2350.0, min=2180.0), keep_inside=4.0),
        )
    )  # fmt: skip


@dataclass
class Builder:
    """A boat as it truly stands: the plank on its first bolt, yawed by some degrees, off centre by some mm."""

    yaw: float
    first: Side = Side.PORT
    station: float = 2340.0
    ring: float = 21.7
    off: float = 0.0

    def corner(self, side: Side) -> complex:
        """A chock corner as aft + j starboard, turned about the first bolt by complex multiplication."""
        pivot = complex(self.station, self.first.sign * HALF_SPREAD)
        arm = complex(AFT, side.sign * APART / 2 + self.off - self.first.sign * HALF_SPREAD)
        turn = complex(math.cos(math.radians(self.yaw)), -math.sin(math.radians(self.yaw)))
        return pivot + arm * turn

    def tape(self, side: Side) -> float:
        """What a faultless tape reads from the ring to the corner, by the cosine rule in the level plane."""
        corner = self.corner(side)
        pivot = complex(self.station, self.first.sign * HALF_SPREAD)
        a, b = abs(pivot), abs(corner - pivot)
        cosine = -((corner - pivot).real * pivot.real + (corner - pivot).imag * pivot.imag) / (a * b)
        level2 = a * a + b * b - 2 * a * b * cosine
        return math.sqrt(level2 + (BELOW + RING_HEIGHT) ** 2) - self.ring

    def move(self, side: Side, aft: float) -> None:
        """Shift one end by mm aft (negative: forward) at its chock corner, the plank turning on its first bolt."""
        wanted = self.corner(side).real + aft
        for _ in range(50):
            slope = (Builder(self.yaw + 1e-4, self.first, self.station, 0, self.off).corner(side).real
                     - self.corner(side).real) / 1e-4  # fmt: skip
            self.yaw += (wanted - self.corner(side).real) / slope


def repeats(values: Sequence[float], key: str = "") -> Repeats:
    return Repeats(tuple(Reading(float(v), f"{v:.10g}", key=f"{key}.{n}") for n, v in enumerate(values)))


def both(port: Sequence[float], starboard: Sequence[float], under: str = "square") -> Sides:
    return Sides(port=repeats(port, f"{under}.port"), starboard=repeats(starboard, f"{under}.starboard"))


def attempt(tape: Sides, first: Side = Side.PORT, setting: int = 3, **more: object) -> Attempt:
    given = {"number": 1, "setting": setting, "first_bolt": first, **more}
    if isinstance(chocks := more.get("chock_aft"), Sides):
        given["chock_aft"] = Chocks(port=chocks.port, starboard=chocks.starboard)
    return Attempt(port=tape.port, starboard=tape.starboard, **given)  # type: ignore[arg-type]


def point_pair(sides: Sides, **more: object) -> Further:
    given = {"name": "stern", "to": (3500.0, 280.0), **more}
    return Further(port=sides.port, starboard=sides.starboard, **given)  # type: ignore[arg-type]


def station(at: float, sides: Sides) -> Station:
    return Station(at=at, port=sides.port, starboard=sides.starboard)


def readings(*attempts: Attempt, step: float = 0.0, tolerance: float = 1.0, **more: object) -> Readings:
    square = SquareReadings(attempts=attempts, tolerance=tolerance)
    return Readings(boat="Whinchat 3", read_to=step, square=square, **more)  # type: ignore[arg-type]
