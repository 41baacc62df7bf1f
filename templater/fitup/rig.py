"""The plank on its first bolt: where its chock corners stand for a yaw, what a tape reads, what yaw the readings give.

Yaw is counted in the plan view from athwart, positive when the starboard end lies aft; the plank's middle may lie
``off`` mm to starboard of the centreline when the plank is square. The fit is weighted least squares on the exact
geometry. What port and starboard have in common (the tape's ring, the hook, the stern corners) drops out of their
differences, on which alone the fit is made; it follows from what is left, weighed by both sides. The off-centre is a
second unknown: read, or known beforehand to be zero, give or take the error of centring.
"""

import math
from collections.abc import Callable, Sequence
from enum import Enum
from functools import partial
from typing import NamedTuple

from templater.boat.solved import Boat, Setting, Side
from templater.description.keys import ChockCorners
from templater.findings import ReadingsError
from templater.fitup.readings import Attempt, Chocks, Further, Sides
from templater.maths import Solver, chi_square_p, f_p, least_squares
from templater.plane.shapes import Point
from templater.reader.faults import told
from templater.units import Figures

#: Furthest yaw that is believed, degrees: more and the wrong setting or side was read.
FURTHEST = 15.0
#: Degrees of freedom of the repeats from which their own scatter is trusted rather than the stated figure.
TRUSTED_DOF = 2
#: Chance below which readings of different kinds count as disagreeing.
DISAGREE = 0.05

#: What a quantity should read on a side at a yaw, radians, and an off-centre, mm.
Model = Callable[[Side, float, float], float]


class Surroundings(NamedTuple):
    """What is known beside the tapes, mm."""

    post: float = 0.0  # steering post's axis to starboard of the centreline
    post_sd: float = 0.0
    centring: float = 0.0  # standard deviation of the plank's middle about the centreline, until that is read


#: Plank and post on the centreline.
CENTRED = Surroundings()


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

    def room(self, fore_aft: float, athwart: float) -> BoltRoom:
        """Return the room for a bolt that must move so far, both counted without sign."""
        play, verdict = self.boat.play, Verdict.TOO_FAR
        if fore_aft <= play.fore_aft and athwart <= play.athwart:
            half = fore_aft <= play.fore_aft / 2 and athwart <= play.athwart / 2
            verdict = Verdict.FITS if half else Verdict.DEPENDS
        return BoltRoom(fore_aft, athwart, play.fore_aft, play.athwart, verdict)


def rig_of(boat: Boat, setting: int, first: Side = Side.PORT, beside: Surroundings = CENTRED, key: str = "") -> Rig:
    """Return the rig at the setting of a ``key``; raises ReadingsError: T210, no chock corners; T211, no such one."""
    corners = boat.description.plank.chock_corners
    if corners is None:
        raise ReadingsError(told("T210", "plank.chock_corners"))
    here = next((one for one in boat.settings if one.number == setting), None)
    if here is None:
        known = ", ".join(str(one.number) for one in boat.settings)
        raise ReadingsError(told("T211", key, number=str(setting), known=known))
    return Rig(boat, here, first, corners, dict.fromkeys(Side, corners.aft_of_bolts), beside)


class Yaw(NamedTuple):
    """The plank's attitude."""

    yaw: float  # of the bolt line, radians, starboard end aft positive
    sd: float  # standard uncertainty of the yaw, radians
    dof: float  # effective degrees of freedom behind it
    off: float  # plank's middle to starboard of the centreline, mm; 0 if taken as centred
    off_sd: float
    ring: float  # from the steering post's axis to the tape's zero, mm
    reading_sd: float  # standard deviation of one reading, mm
    from_repeats: bool  # whether the repeats gave it
    scatter_dof: float  # degrees of freedom behind it; endless if it was stated
    worst: tuple[str, float, float]  # the mean that fits worst, by how much, and its standard deviation, mm
    p: float | None  # chance of residuals this large; None if there are no more readings than unknowns


class _Pair:
    """One quantity read on both sides, with what it should read at a yaw and an off-centre."""

    def __init__(self, name: str, both: Sides, model: Model, reading_sd: float, step: float) -> None:
        self.name, self.model = name, model
        self.means = [both.side(side).mean for side in Side]
        random = [reading_sd**2 / len(both.side(side).readings) for side in Side]
        # JCGM 100:2008, F.2.2.1: a figure rounded to a step carries step / sqrt(12), which repeats do not lessen.
        self.variances = [max(one, step**2 / 12, 1e-12) for one in random]
        self.from_scatter = sum(v for v, one in zip(self.variances, random, strict=True) if one >= v)
        self.variance = sum(self.variances)

    def left(self, yaw: float, off: float) -> list[float]:
        """Return port and starboard less what the model makes of them."""
        return [mean - self.model(side, yaw, off) for side, mean in zip(Side, self.means, strict=True)]

    def common(self, yaw: float, off: float) -> float:
        """Return by how much both sides read less than the model, each weighed by its own variance."""
        port, starboard = self.left(yaw, off)
        return -(port * self.variances[1] + starboard * self.variances[0]) / sum(self.variances)

    def misfit(self, yaw: float, off: float) -> float:
        """Return how far starboard less port lies from the model's, over its standard deviation."""
        port, starboard = self.left(yaw, off)
        return (starboard - port) / math.sqrt(self.variance)

    def slopes(self, yaw: float, off: float) -> tuple[float, float]:
        """Return the derivatives of the model's starboard less port, over the same, by yaw and by off-centre."""
        turn, shift = 1e-6, 1e-3
        return (
            (self.misfit(yaw - turn, off) - self.misfit(yaw + turn, off)) / (2 * turn),
            (self.misfit(yaw, off - shift) - self.misfit(yaw, off + shift)) / (2 * shift),
        )


def fit_yaw(rig: Rig, attempt: Attempt, *, tape_sd: float, step: float) -> Yaw:
    """Return the yaw that the readings of one attempt give.

    ``tape_sd`` is used where the repeats are too few to tell; no mean is taken as better than the tape's ``step``; mm.
    The plank counts as centred as well as the rig's surroundings say, until that is read; for good if they say 0.
    Raises ReadingsError if no yaw within 15 degrees fits.
    """
    models: dict[str, Model] = {"tape": rig.ring_distance, "off centre": rig.centre_distance}
    read = [
        (name, both, partial(_further_distance, rig, both) if isinstance(both, Further) else models[name])
        for name, both in attempt.pairs()
        if not isinstance(both, Chocks)
    ]
    sides = [both.side(side) for _, both, _ in read for side in Side]
    scatter_dof = sum(len(repeats.readings) - 1 for repeats in sides)
    trusted = scatter_dof >= TRUSTED_DOF
    squares = sum(repeats.sum_of_squares for repeats in sides)
    reading_sd = math.sqrt(squares / scatter_dof) if trusted else tape_sd
    pairs = [_Pair(name, both, model, reading_sd, step) for name, both, model in read]
    pairs[0].variance += (rig.corners.apart / rig.slant * rig.beside.post_sd) ** 2
    # What is known of the off-centre beforehand counts as one more reading, whitened; 0 holds it where it is.
    prior = [] if attempt.off_centre is not None else [1 / max(rig.beside.centring, 1e-9)]
    yaw, off, misfits, solver = _solve(rig, pairs, attempt, prior)
    spare = len(misfits) - 2
    p, stretch = None, 1.0
    if spare > 0:
        chi2 = sum(misfit**2 for misfit in misfits)
        p = f_p(chi2 / spare, spare, scatter_dof) if trusted else chi_square_p(chi2, spare)
        stretch = max(1.0, chi2 / spare) if p < DISAGREE else 1.0
    shares = [float(gain) ** 2 for gain in solver.gains[0]]
    own = sum(s * pair.from_scatter / pair.variance for s, pair in zip(shares, pairs, strict=False)) if trusted else 0.0
    residuals = [
        (f"{pair.name} {side.word}", left + pair.common(yaw, off), math.sqrt(variance))
        for pair in pairs
        for side, left, variance in zip(Side, pair.left(yaw, off), pair.variances, strict=True)
    ]
    return Yaw(
        yaw=yaw,
        sd=math.sqrt(solver.covariance[0][0] * stretch),
        # Welch and Satterthwaite (JCGM 100:2008, G.4.1), the pooled scatter counting as one component.
        dof=scatter_dof * (sum(shares) / own) ** 2 if own > 0 else math.inf,
        off=off,
        off_sd=math.sqrt(solver.covariance[1][1] * stretch) if rig.beside.centring or not prior else 0.0,
        ring=pairs[0].common(yaw, off),
        reading_sd=reading_sd,
        from_repeats=trusted,
        scatter_dof=scatter_dof if trusted else math.inf,
        # Rounded, so that rounding does not choose between the two sides of a pair.
        worst=max(residuals, key=lambda row: round(abs(row[1]) / row[2], 6)),
        p=p,
    )


def _further_distance(rig: Rig, pair: Further, side: Side, yaw: float, off: float) -> float:
    """Return what a further reading shows: the distance from a chock corner to the hull's point on the same side.

    Without such a point, the station of the plank's edge at the pair's half breadth, counted backwards from a line aft
    of it.
    """
    if pair.to is not None:
        down = 0.0 if pair.below_floor is None else pair.below_floor - rig.corners.below_floor
        return math.dist((pair.to[0], side.sign * pair.to[1], down), (*rig.corner(side, yaw, off), 0.0))
    plank = rig.boat.description.plank
    aft = -plank.fore_edge if pair.edge == "fore" else plank.width - plank.fore_edge
    out = rig.out_to(side.sign * pair.out, aft, yaw)
    station = rig.setting.station + aft * math.cos(yaw) + out * math.sin(yaw)
    return station if pair.line == "fore" else -station


def _solve(
    rig: Rig, pairs: Sequence[_Pair], attempt: Attempt, prior: list[float]
) -> tuple[float, float, list[float], Solver]:
    """Return yaw and off-centre by Gauss and Newton's method, and the whitened misfits and linear solution there."""
    yaw = off = 0.0
    settled = False
    for _ in range(30):
        misfits = [*(pair.misfit(yaw, off) for pair in pairs), *(-off * one for one in prior)]
        solver = least_squares([*(pair.slopes(yaw, off) for pair in pairs), *((0.0, one) for one in prior)])
        if solver is None or abs(yaw) > math.radians(FURTHEST):
            break
        if settled:
            return yaw, off, misfits, solver
        turn, shift = (sum(float(gain) * one for gain, one in zip(row, misfits, strict=True)) for row in solver.gains)
        yaw, off = yaw + turn, off + shift
        settled = abs(turn) < 1e-10 and abs(shift) < 1e-7  # rounding alone may move both by a tenth of that
    difference = attempt.starboard.mean - attempt.port.mean
    raise ReadingsError(told("T212", attempt.dotted, "", rig.figures, by=difference, furthest=f"{FURTHEST:.0f}"))
