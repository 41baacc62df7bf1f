"""From repeated readings to the plank's yaw with its uncertainty: weighted least squares on the exact geometry.

Each pair of readings, port and starboard, carries a common unknown of its own: the length of the tape's ring, the
station of the hull's stern corners, the hook. Only what differs between the sides bears on the yaw.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, fdtrc

from templater.boat.solved import Side
from templater.findings import Finding, ReadingsError, Severity
from templater.fitup import rig as geometry
from templater.fitup.rig import Rig
from templater.fitup.taken import Attempt, EdgePair, PointPair, Repeats

#: Furthest yaw that is believed, degrees: more and the wrong setting or side was read.
FURTHEST = 15.0
#: Degrees of freedom of the repeats from which their own scatter is trusted rather than the stated figure.
TRUSTED_DOF = 2
#: Chance below which readings of different kinds count as disagreeing.
DISAGREE = 0.05

Model = Callable[[float, float], float]


@dataclass(frozen=True, slots=True)
class Residual:
    """Mean of one quantity's repeats, what the fit makes of it, and how far they differ, mm."""

    name: str
    side: Side
    mean: float
    fitted: float
    sd: float

    @property
    def residual(self) -> float:
        """Mean less fitted."""
        return self.mean - self.fitted


@dataclass(frozen=True, slots=True)
class YawFit:
    """The plank's attitude.

    Attributes:
        yaw: of the bolt line, radians, starboard end aft positive.
        sd: standard uncertainty of the yaw, radians, with ``dof`` effective degrees of freedom.
        off: plank's middle to starboard of the centreline, mm; 0 and ``off_sd`` None if not measured.
        commons: the common unknown of each pair: model less reading; the first is the ring's length.
        common_sds: their standard uncertainties.
        reading_sd: standard deviation of one reading, mm; ``from_repeats`` tells whether the repeats gave it.
        p: chance of residuals this large; None if there are no more readings than unknowns.
    """

    yaw: float
    sd: float
    dof: float
    off: float
    off_sd: float | None
    commons: tuple[float, ...]
    common_sds: tuple[float, ...]
    reading_sd: float
    from_repeats: bool
    residuals: tuple[Residual, ...]
    p: float | None


@dataclass(frozen=True, slots=True)
class _Row:
    pair: int
    name: str
    side: Side
    repeats: Repeats
    model: Model


def fit_yaw(rig: Rig, attempt: Attempt, *, tape_sd: float, step: float) -> YawFit:
    """Return the yaw that the readings of one attempt give.

    Args:
        rig: the boat's geometry at the attempt's setting.
        attempt: the readings.
        tape_sd: standard deviation of one reading, mm, used where the repeats are too few to tell.
        step: smallest step read off the tape, mm; no mean is taken as better than its rounding.

    Raises:
        ReadingsError: if no yaw within 15 degrees fits.
    """
    rows = _rows(rig, attempt)
    pairs = 1 + max(row.pair for row in rows)
    free_off = attempt.off_centre is not None
    means = np.array([row.repeats.mean for row in rows])
    scatter_dof = sum(len(row.repeats) - 1 for row in rows)
    trusted = scatter_dof >= TRUSTED_DOF
    pooled = math.sqrt(sum(row.repeats.sum_of_squares for row in rows) / max(scatter_dof, 1))
    reading_sd = pooled if trusted else tape_sd
    # JCGM 100:2008, F.2.2.1: a figure rounded to a step carries step / sqrt(12), which repeats do not lessen.
    rounding = step**2 / 12
    random = np.array([reading_sd**2 / len(row.repeats) for row in rows])
    variances = np.maximum(random, max(rounding, 1e-12))
    parameters = _solve(rows, means, variances, pairs, free_off, attempt)
    yaw, off = float(parameters[0]), float(parameters[1]) if free_off else 0.0
    jacobian = _jacobian(rows, yaw, off, pairs, free_off)
    whitened = jacobian / np.sqrt(variances)[:, None]
    covariance = np.linalg.inv(whitened.T @ whitened)
    fitted = np.array([row.model(yaw, off) for row in rows]) - parameters[-pairs:][[row.pair for row in rows]]
    spare = len(rows) - len(parameters)
    p, stretch = None, 1.0
    if spare > 0:
        chi2 = float(np.sum((means - fitted) ** 2 / variances))
        p = float(fdtrc(spare, scatter_dof, chi2 / spare) if trusted else chdtrc(spare, chi2))
        stretch = max(1.0, chi2 / spare) if p < DISAGREE else 1.0
    gains = (covariance @ (jacobian / variances[:, None]).T)[0]
    shares = gains**2 * variances
    own = float(np.sum(shares[random >= variances])) if trusted else 0.0
    total = float(np.sum(shares))
    # Welch and Satterthwaite (JCGM 100:2008, G.4.1), the pooled scatter counting as one component.
    dof = scatter_dof * (total / own) ** 2 if own > 0 else math.inf
    sds = np.sqrt(np.diag(covariance) * stretch)
    return YawFit(
        yaw=yaw,
        sd=float(sds[0]),
        dof=dof,
        off=off,
        off_sd=float(sds[1]) if free_off else None,
        commons=tuple(float(c) for c in parameters[-pairs:]),
        common_sds=tuple(float(s) for s in sds[-pairs:]),
        reading_sd=reading_sd,
        from_repeats=trusted,
        residuals=tuple(
            Residual(row.name, row.side, float(mean), float(fit), math.sqrt(float(variance)))
            for row, mean, fit, variance in zip(rows, means, fitted, variances, strict=True)
        ),
        p=p,
    )


def _rows(rig: Rig, attempt: Attempt) -> list[_Row]:
    """Return one row for each quantity and side, the ring's pair first."""
    first = attempt.first_bolt
    rows: list[_Row] = []
    for side in Side:
        rows.append(_Row(0, "tape", side, attempt.tape.side(side), _ring_model(rig, first, side)))
    for number, pair in enumerate(attempt.further, start=1):
        for side in Side:
            rows.append(_Row(number, pair.name, side, pair.both.side(side), _further_model(rig, pair, first, side)))
    if attempt.off_centre is not None:
        number = len(attempt.further) + 1
        for side in Side:
            model = _centre_model(rig, first, side)
            rows.append(_Row(number, "off centre", side, attempt.off_centre.side(side), model))
    return rows


def _ring_model(rig: Rig, first: Side, side: Side) -> Model:
    return lambda yaw, off: geometry.ring_distance(rig, first, side, yaw, off)


def _further_model(rig: Rig, pair: PointPair | EdgePair, first: Side, side: Side) -> Model:
    if isinstance(pair, EdgePair):
        return lambda yaw, _off: geometry.edge_distance(rig, pair, first, side, yaw)
    return lambda yaw, off: geometry.point_distance(rig, pair, first, side, yaw, off)


def _centre_model(rig: Rig, first: Side, side: Side) -> Model:
    return lambda yaw, off: geometry.centre_distance(rig, first, side, yaw, off)


def _jacobian(rows: list[_Row], yaw: float, off: float, pairs: int, free_off: bool) -> NDArray[np.float64]:
    """Return derivatives of each row's fitted reading by yaw, by off-centre if free, and by each pair's common."""
    turn, shift = 1e-6, 1e-3
    first_common = 2 if free_off else 1
    jacobian = np.zeros((len(rows), first_common + pairs))
    for number, row in enumerate(rows):
        jacobian[number, 0] = (row.model(yaw + turn, off) - row.model(yaw - turn, off)) / (2 * turn)
        if free_off:
            jacobian[number, 1] = (row.model(yaw, off + shift) - row.model(yaw, off - shift)) / (2 * shift)
        jacobian[number, first_common + row.pair] = -1.0
    return jacobian


def _solve(
    rows: list[_Row],
    means: NDArray[np.float64],
    variances: NDArray[np.float64],
    pairs: int,
    free_off: bool,
    attempt: Attempt,
) -> NDArray[np.float64]:
    """Return yaw, off-centre if free, and commons, by Gauss and Newton's method."""
    weights = 1 / np.sqrt(variances)
    parameters = np.zeros((2 if free_off else 1) + pairs)
    index = [row.pair for row in rows]
    for _ in range(30):
        yaw, off = float(parameters[0]), float(parameters[1]) if free_off else 0.0
        if abs(yaw) > math.radians(FURTHEST):
            break
        fitted = np.array([row.model(yaw, off) for row in rows]) - parameters[-pairs:][index]
        jacobian = _jacobian(rows, yaw, off, pairs, free_off)
        step = np.linalg.lstsq(jacobian * weights[:, None], (means - fitted) * weights, rcond=None)[0]
        parameters = parameters + step
        if abs(step[0]) < 1e-12 and np.max(np.abs(step[1:])) < 1e-9:
            return parameters
    difference = attempt.tape.starboard.mean - attempt.tape.port.mean
    text = (
        f"starboard less port is {difference:.1f} mm: no yaw within {FURTHEST:.0f} degrees gives that - "
        "check the readings, their sides and the setting"
    )
    raise ReadingsError(Finding("T212", Severity.ERROR, attempt.key or "square", text))
