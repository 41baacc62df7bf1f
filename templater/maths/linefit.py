"""Least-squares polynomials with their uncertainty: the straight line, and the parabola that tests it.

The fit is done on a centred and scaled abscissa by QR, so that large stations cost no digits; coefficients are turned
back into rising powers of x at the end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtr, stdtrit

Array = NDArray[np.float64]
#: Leverage from which a point decides the fit at its place alone.
ALONE = 1 - 1e-9


@dataclass(frozen=True, slots=True)
class PolynomialFit:
    """A fitted polynomial; x and y in the caller's units.

    Attributes:
        coefficients: of rising powers of x.
        sds: standard uncertainty of each coefficient, from the residuals.
        residuals: y minus fit, in the order given.
        leverages: share of each point in its own fitted value, 0 to 1.
        residual_sd: standard deviation of the residuals, ``dof`` taken off.
        dof: number of points less number of coefficients.
    """

    coefficients: tuple[float, ...]
    sds: tuple[float, ...]
    residuals: tuple[float, ...]
    leverages: tuple[float, ...]
    residual_sd: float
    dof: int
    _centre: float
    _scale: float
    _inner: tuple[float, ...]
    _covariance: tuple[tuple[float, ...], ...]

    def at(self, x: float) -> float:
        """Return the fitted y at x."""
        t = (x - self._centre) / self._scale
        return sum(c * t**power for power, c in enumerate(self._inner))

    def sd_at(self, x: float) -> float:
        """Return the standard uncertainty of the fitted y at x, y's own scatter left out."""
        t = (x - self._centre) / self._scale
        row = [t**power for power in range(len(self._inner))]
        variance = sum(a * b * self._covariance[i][j] for i, a in enumerate(row) for j, b in enumerate(row))
        return math.sqrt(max(variance, 0.0))

    def left_out_residual(self, index: int) -> float:
        """Return what the residual of one point would be if it had not taken part in the fit.

        Nought for a point that alone decides its own place: without it there would be nothing to say.
        """
        if self.leverages[index] > ALONE:
            return 0.0
        return self.residuals[index] / (1 - self.leverages[index])

    def left_out_t(self, index: int) -> float:
        """Return the residual of one point over its own standard deviation, the point left out of both.

        Also known as the externally studentised residual; ``dof - 1`` degrees of freedom. Source: Cook and Weisberg,
        Residuals and Influence in Regression (1982), 2.2.
        """
        if self.leverages[index] > ALONE:
            return 0.0
        rest = self.residual_sd**2 * self.dof - self.residuals[index] ** 2 / (1 - self.leverages[index])
        sd = math.sqrt(max(rest, 0.0) / (self.dof - 1) * (1 - self.leverages[index]))
        return self.residuals[index] / sd if sd > 0 else math.copysign(math.inf, self.residuals[index])


def fit_polynomial(x: Sequence[float], y: Sequence[float], degree: int = 1, *, least_sd: float = 0.0) -> PolynomialFit:
    """Fit a polynomial by unweighted least squares.

    Args:
        x: places.
        y: values, one for each place.
        degree: of the polynomial.
        least_sd: standard deviation of one y below which the uncertainties never go, however well the points lie.

    Raises:
        ValueError: if there are no more points than coefficients, or too few different x.
    """
    count = degree + 1
    if len(x) != len(y) or len(set(x)) < count or len(x) <= count:
        raise ValueError(f"a fit of degree {degree} needs at least {count + 1} points at {count} different places")
    xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    centre = float(xs.mean())
    scale = float(np.abs(xs - centre).max())
    design = np.vander((xs - centre) / scale, count, increasing=True)
    q, r = np.linalg.qr(design)
    inner = np.linalg.solve(r, q.T @ ys)
    # One step of refinement takes off what rounding left in the solution.
    inner = inner + np.linalg.solve(r, q.T @ (ys - design @ inner))
    residuals = ys - design @ inner
    dof = len(xs) - count
    variance = float(residuals @ residuals) / dof
    inverse = np.linalg.inv(r)
    covariance = max(variance, least_sd**2) * inverse @ inverse.T
    back = _to_powers_of_x(count, centre, scale)
    return PolynomialFit(
        coefficients=tuple(float(c) for c in back @ inner),
        sds=tuple(float(s) for s in np.sqrt(np.diag(back @ covariance @ back.T))),
        residuals=tuple(float(e) for e in residuals),
        leverages=tuple(float(h) for h in np.sum(q**2, axis=1)),
        residual_sd=math.sqrt(variance),
        dof=dof,
        _centre=centre,
        _scale=scale,
        _inner=tuple(float(c) for c in inner),
        _covariance=tuple(tuple(float(v) for v in row) for row in covariance),
    )


def _to_powers_of_x(count: int, centre: float, scale: float) -> Array:
    """Return the matrix that turns coefficients of ((x - centre) / scale)^n into those of x^n (binomial theorem)."""
    matrix = np.zeros((count, count))
    for n in range(count):
        for k in range(n + 1):
            matrix[k, n] = math.comb(n, k) * (-centre) ** (n - k) / scale**n
    return matrix


def coverage_factor(dof: float, probability: float = 0.95) -> float:
    """Return the factor that turns a standard uncertainty into a two-sided interval.

    Student's t for ``dof`` degrees of freedom, the normal distribution for ``math.inf``. Source: JCGM 100:2008, G.3.
    """
    tail = 0.5 + probability / 2
    return float(ndtri(tail) if math.isinf(dof) else stdtrit(dof, tail))


def two_sided_p(t: float, dof: float) -> float:
    """Return the chance that Student's t is as far from nought as ``t`` or further, either way."""
    return float(2 * stdtr(dof, -abs(t)))
