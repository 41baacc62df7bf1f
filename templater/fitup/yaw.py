"""From repeated readings to the plank's yaw with its uncertainty: weighted least squares on the exact geometry.

Each pair of readings, port and starboard, carries a common unknown of its own: the length of the tape's ring, the
station of the hull's stern corners, the hook. Only what differs between the sides bears on the yaw, so the fit is made
on the differences; each common follows from what is left, weighed by both sides. How far the plank's middle lies off
the centreline is a second unknown: read, or known beforehand to be zero, give or take the error of centring.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from templater.boat.solved import Side, side_word
from templater.findings import ReadingsError
from templater.fitup.readings import Attempt, Chocks, Further, Sides
from templater.fitup.rig import Rig
from templater.maths import chi_square_p, f_p
from templater.reader.faults import told

#: Furthest yaw that is believed, degrees: more and the wrong setting or side was read.
FURTHEST = 15.0
#: Degrees of freedom of the repeats from which their own scatter is trusted rather than the stated figure.
TRUSTED_DOF = 2
#: Chance below which readings of different kinds count as disagreeing.
DISAGREE = 0.05

#: What a quantity should read on a side at a yaw, radians, and an off-centre, mm.
Model = Callable[[Side, float, float], float]


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
    worst: tuple[str, float]  # the mean that fits worst, and by how much, mm
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


def fit_yaw(rig: Rig, attempt: Attempt, *, tape_sd: float, step: float) -> YawFit:
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
    pooled = math.sqrt(sum(repeats.sum_of_squares for repeats in sides) / max(scatter_dof, 1))
    reading_sd = pooled if trusted else tape_sd
    pairs = [_Pair(name, both, model, reading_sd, step) for name, both, model in read]
    pairs[0].variance += (rig.corners.apart / rig.slant * rig.beside.post_sd) ** 2
    # What is known of the off-centre beforehand counts as one more reading, whitened; 0 holds it where it is.
    prior = [] if attempt.off_centre is not None else [1 / max(rig.beside.centring, 1e-9)]
    yaw, off, fit = _solve(rig, pairs, attempt, prior)
    spare = len(fit.misfits) - 2
    p, stretch = None, 1.0
    if spare > 0:
        chi2 = sum(misfit**2 for misfit in fit.misfits)
        p = f_p(chi2 / spare, spare, scatter_dof) if trusted else chi_square_p(chi2, spare)
        stretch = max(1.0, chi2 / spare) if p < DISAGREE else 1.0
    shares = [gain**2 for gain in fit.gains]
    own = sum(s * pair.from_scatter / pair.variance for s, pair in zip(shares, pairs, strict=False)) if trusted else 0.0
    residuals = [
        (f"{pair.name} {side_word(side)}", left + pair.common(yaw, off), math.sqrt(variance))
        for pair in pairs
        for side, left, variance in zip(Side, pair.left(yaw, off), pair.variances, strict=True)
    ]
    return YawFit(
        yaw=yaw,
        sd=math.sqrt(fit.variances[0] * stretch),
        # Welch and Satterthwaite (JCGM 100:2008, G.4.1), the pooled scatter counting as one component.
        dof=scatter_dof * (sum(shares) / own) ** 2 if own > 0 else math.inf,
        off=off,
        off_sd=math.sqrt(fit.variances[1] * stretch) if rig.beside.centring or not prior else 0.0,
        ring=pairs[0].common(yaw, off),
        reading_sd=reading_sd,
        from_repeats=trusted,
        # Rounded, so that rounding does not choose between the two sides of a pair.
        worst=max(residuals, key=lambda row: round(abs(row[1]) / row[2], 6))[:2],
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


class _Step(NamedTuple):
    """The linear solution at a yaw and an off-centre."""

    turn: float  # what is to be added to both
    shift: float
    misfits: list[float]  # whitened
    gains: list[float]  # what turns these into the turn
    variances: tuple[float, float]  # of yaw and off-centre


def _least_squares(pairs: Sequence[_Pair], prior: list[float], yaw: float, off: float) -> _Step:
    """Return the linear solution by Gram and Schmidt's method: the rows differ by many powers of ten."""
    misfits = [*(pair.misfit(yaw, off) for pair in pairs), *(-off * one for one in prior)]
    design = [*(pair.slopes(yaw, off) for pair in pairs), *((0.0, one) for one in prior)]
    aa = max(sum(a * a for a, _ in design), 1e-300)
    lean = sum(a * b for a, b in design) / aa
    rest = [b - lean * a for a, b in design]
    bb = max(sum(b * b for b in rest), 1e-300)
    gains = [a / aa - lean * b / bb for (a, _), b in zip(design, rest, strict=True)]
    turn = sum(gain * misfit for gain, misfit in zip(gains, misfits, strict=True))
    shift = sum(b * misfit for b, misfit in zip(rest, misfits, strict=True)) / bb
    return _Step(turn, shift, misfits, gains, (1 / aa + lean**2 / bb, 1 / bb))


def _solve(rig: Rig, pairs: Sequence[_Pair], attempt: Attempt, prior: list[float]) -> tuple[float, float, _Step]:
    """Return yaw and off-centre by Gauss and Newton's method, and the linear solution there."""
    yaw = off = 0.0
    for _ in range(30):
        if abs(yaw) > math.radians(FURTHEST):
            break
        step = _least_squares(pairs, prior, yaw, off)
        yaw, off = yaw + step.turn, off + step.shift
        if abs(step.turn) < 1e-10 and abs(step.shift) < 1e-7:  # rounding alone may move both by a tenth of that
            return yaw, off, _least_squares(pairs, prior, yaw, off)
    difference = attempt.starboard.mean - attempt.port.mean
    raise ReadingsError(told("T212", attempt.dotted, "", rig.figures, by=difference, furthest=f"{FURTHEST:.0f}"))
