"""From repeated readings to the plank's yaw with its uncertainty: weighted least squares on the exact geometry.

Each pair of readings, port and starboard, carries a common unknown of its own: the length of the tape's ring, the
station of the hull's stern corners, the hook. Only what differs between the sides bears on the yaw, so the fit is made
on the differences; each common follows from what is left, weighed by both sides. How far the plank's middle lies off
the centreline is a second unknown: read, or known beforehand to be zero, give or take the error of centring.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

from templater.boat.solved import Side
from templater.findings import Finding, ReadingsError
from templater.fitup.readings import Attempt, Further, Sides
from templater.fitup.rig import Rig, centre_distance, corner, ring_distance, slant
from templater.maths.distributions import chi_square_p, f_p

#: Furthest yaw that is believed, degrees: more and the wrong setting or side was read.
FURTHEST = 15.0
#: Degrees of freedom of the repeats from which their own scatter is trusted rather than the stated figure.
TRUSTED_DOF = 2
#: Chance below which readings of different kinds count as disagreeing.
DISAGREE = 0.05

#: What a quantity should read on a side at a yaw, radians, and an off-centre, mm.
Model = Callable[[Side, float, float], float]


class Residual(NamedTuple):
    """Mean of one quantity's repeats, what the fit makes of it, and the standard deviation of their difference, mm."""

    name: str
    side: Side
    mean: float
    fitted: float
    sd: float

    @property
    def residual(self) -> float:
        """Mean less fitted."""
        return self.mean - self.fitted


class YawFit(NamedTuple):
    """The plank's attitude."""

    yaw: float  # of the bolt line, radians, starboard end aft positive
    sd: float  # standard uncertainty of the yaw, radians
    dof: float  # effective degrees of freedom behind it
    off: float  # plank's middle to starboard of the centreline, mm; 0 if taken as centred
    off_sd: float
    ring: float  # from the steering post's axis to the tape's zero, mm
    reading_sd: float  # standard deviation of one reading, mm
    from_repeats: bool  # whether the repeats gave it
    residuals: tuple[Residual, ...]
    p: float | None  # chance of residuals this large; None if there are no more readings than unknowns


class _Pair:
    """One quantity read on both sides, with what it should read at a yaw and an off-centre."""

    def __init__(self, name: str, both: Sides, model: Model, reading_sd: float, step: float, extra: float) -> None:
        self.name = name
        self.model = model
        self.means = [both.side(side).mean for side in Side]
        random = [reading_sd**2 / len(both.side(side).readings) for side in Side]
        # JCGM 100:2008, F.2.2.1: a figure rounded to a step carries step / sqrt(12), which repeats do not lessen.
        self.variances = [max(one, step**2 / 12, 1e-12) for one in random]
        self.from_scatter = sum(v for v, one in zip(self.variances, random, strict=True) if one >= v)
        self.variance = sum(self.variances) + extra

    def common(self, port: float, starboard: float) -> float:
        """Return what both sides agree on: their mean, each weighed by its own variance."""
        return (port * self.variances[1] + starboard * self.variances[0]) / sum(self.variances)

    def modelled(self, yaw: float, off: float) -> list[float]:
        """Return what the model makes of both sides."""
        return [self.model(side, yaw, off) for side in Side]

    def slopes(self, yaw: float, off: float) -> list[list[float]]:
        """Return the derivatives of port and starboard by yaw, and by the off-centre."""
        turn, shift = 1e-6, 1e-3
        steps = (((yaw + turn, off), (yaw - turn, off), turn), ((yaw, off + shift), (yaw, off - shift), shift))
        return [
            [(a - b) / (2 * step) for a, b in zip(self.modelled(*more), self.modelled(*less), strict=True)]
            for more, less, step in steps
        ]

    def difference_slopes(self, yaw: float, off: float) -> list[float]:
        """Return the derivatives of starboard less port over its standard deviation."""
        return [(starboard - port) / math.sqrt(self.variance) for port, starboard in self.slopes(yaw, off)]

    def misfit(self, yaw: float, off: float) -> float:
        """Return how far starboard less port lies from the model's, over its standard deviation."""
        port, starboard = self.modelled(yaw, off)
        return (self.means[1] - self.means[0] - (starboard - port)) / math.sqrt(self.variance)


def fit_yaw(
    rig: Rig, attempt: Attempt, *, tape_sd: float, step: float, centring: float = 0.0, post_sd: float = 0.0
) -> YawFit:
    """Return the yaw that the readings of one attempt give.

    ``tape_sd`` is used where the repeats are too few to tell; no mean is taken as better than the tape's ``step``.
    ``centring`` is the standard deviation of the plank's middle, which counts until it is read; 0 takes it as centred.
    All in mm. Raises ReadingsError if no yaw within 15 degrees fits.
    """
    read = _read(rig, attempt)
    sides = [both.side(side) for _, both, _ in read for side in Side]
    scatter_dof = sum(len(repeats.readings) - 1 for repeats in sides)
    trusted = scatter_dof >= TRUSTED_DOF
    pooled = math.sqrt(sum(repeats.sum_of_squares for repeats in sides) / max(scatter_dof, 1))
    reading_sd = pooled if trusted else tape_sd
    turned_by_post = rig.apart / slant(rig, rig.station) * post_sd
    pairs = [
        _Pair(name, both, model, reading_sd, step, 0.0 if number else turned_by_post**2)
        for number, (name, both, model) in enumerate(read)
    ]
    # Whitened: what is known of the off-centre beforehand counts as one more reading; 0 holds it where it is.
    prior = None if attempt.off_centre is not None else 1 / max(centring, 1e-9)
    yaw, off = _solve(rig, pairs, attempt, prior)
    gains, covariance = _least_squares(pairs, yaw, off, prior)
    spare = len(pairs) - (2 if prior is None else 1)
    p, stretch = None, 1.0
    if spare > 0:
        chi2 = sum(misfit**2 for misfit in _misfits(pairs, yaw, off, prior))
        p = f_p(chi2 / spare, spare, scatter_dof) if trusted else chi_square_p(chi2, spare)
        stretch = max(1.0, chi2 / spare) if p < DISAGREE else 1.0
    shares = [gain**2 for gain in gains[0]]
    own = sum(s * pair.from_scatter / pair.variance for s, pair in zip(shares, pairs, strict=False)) if trusted else 0.0
    # Welch and Satterthwaite (JCGM 100:2008, G.4.1), the pooled scatter counting as one component.
    dof = scatter_dof * (sum(shares) / own) ** 2 if own > 0 else math.inf
    covariance = [[value * stretch for value in row] for row in covariance]
    tape = pairs[0]
    residuals = []
    for pair in pairs:
        modelled = pair.modelled(yaw, off)
        common = pair.common(*modelled) - pair.common(*pair.means)
        for side, mean, value, variance in zip(Side, pair.means, modelled, pair.variances, strict=True):
            residuals.append(Residual(pair.name, side, mean, value - common, math.sqrt(variance)))
    return YawFit(
        yaw=yaw,
        sd=math.sqrt(covariance[0][0]),
        dof=dof,
        off=off,
        off_sd=math.sqrt(covariance[1][1]) if centring or prior is None else 0.0,
        ring=tape.common(*tape.modelled(yaw, off)) - tape.common(*tape.means),
        reading_sd=reading_sd,
        from_repeats=trusted,
        residuals=tuple(residuals),
        p=p,
    )


def _read(rig: Rig, attempt: Attempt) -> list[tuple[str, Sides, Model]]:
    """Return every quantity that bears on the yaw with both sides' readings and its model, the ring's first."""
    first = attempt.first_bolt
    read: list[tuple[str, Sides, Model]] = [("tape", attempt, partial(ring_distance, rig, first))]
    read += [(pair.name, pair, partial(_further_distance, rig, pair, first)) for pair in attempt.further]
    if attempt.off_centre is not None:
        read.append(("off centre", attempt.off_centre, partial(centre_distance, rig, first)))
    return read


def _further_distance(rig: Rig, pair: Further, first: Side, side: Side, yaw: float, off: float) -> float:
    """Return what a further reading shows: the distance from a chock corner to the hull's point on the same side.

    Without such a point, the station of the plank's edge at the pair's half breadth, counted backwards from a line aft
    of it.
    """
    pivot = first.sign * rig.half_spread
    if pair.to is not None:
        below = rig.below_floor if pair.below_floor is None else pair.below_floor
        return math.dist((pair.to[0], side.sign * pair.to[1], -below), corner(rig, first, side, yaw, off))
    aft = -rig.fore_edge if pair.edge == "fore" else rig.width - rig.fore_edge
    along = (side.sign * pair.out - pivot + aft * math.sin(yaw)) / math.cos(yaw)
    station = rig.station + aft * math.cos(yaw) + along * math.sin(yaw)
    return station if pair.line == "fore" else -station


def _misfits(pairs: list[_Pair], yaw: float, off: float, prior: float | None) -> list[float]:
    """Return how far every whitened difference, and the off-centre, lie from what the fit makes of them."""
    return [pair.misfit(yaw, off) for pair in pairs] + ([] if prior is None else [-off * prior])


def _least_squares(
    pairs: list[_Pair], yaw: float, off: float, prior: float | None
) -> tuple[list[list[float]], list[list[float]]]:
    """Return what turns whitened readings into yaw and off-centre, and the covariance of these; by Cramer's rule."""
    design = [pair.difference_slopes(yaw, off) for pair in pairs] + ([] if prior is None else [[0.0, prior]])
    aa, ab, bb = (sum(row[i] * row[j] for row in design) for i, j in ((0, 0), (0, 1), (1, 1)))
    determinant = max(aa * bb - ab * ab, 1e-300)
    covariance = [[bb / determinant, -ab / determinant], [-ab / determinant, aa / determinant]]
    return [[line[0] * row[0] + line[1] * row[1] for row in design] for line in covariance], covariance


def _solve(rig: Rig, pairs: list[_Pair], attempt: Attempt, prior: float | None) -> tuple[float, float]:
    """Return yaw and off-centre by Gauss and Newton's method."""
    yaw = off = 0.0
    for _ in range(30):
        if abs(yaw) > math.radians(FURTHEST):
            break
        misfits = _misfits(pairs, yaw, off, prior)
        turn, shift = (
            sum(gain * misfit for gain, misfit in zip(row, misfits, strict=True))
            for row in _least_squares(pairs, yaw, off, prior)[0]
        )
        yaw, off = yaw + turn, off + shift
        if abs(turn) < 1e-12 and abs(shift) < 1e-9:
            return yaw, off
    difference = attempt.starboard.mean - attempt.port.mean
    text = (
        f"starboard less port is {rig.figures.signed(difference)}: no turn of the plank within {FURTHEST:.0f} degrees "
        "gives that - check the readings, their sides and the setting"
    )
    raise ReadingsError(Finding("T212", attempt.dotted, text))
