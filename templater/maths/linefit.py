"""Least-squares polynomials with their uncertainty: the straight line, and the parabola that tests it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from templater.maths.leastsquares import dot, least_squares

#: Leverage from which a point decides the fit at its place alone.
ALONE = 1 - 1e-9


class PolynomialFit(NamedTuple):
    """A fitted polynomial; x and y in the caller's units.

    Attributes:
        exact: coefficients of rising powers of x, and ``covariance``, theirs for a y of standard deviation 1.
        residuals: y minus fit, in the order given.
        leverages: share of each point in its own fitted value, 0 to 1.
        residual_sd: standard deviation of the residuals, ``dof`` taken off.
        dof: number of points less number of coefficients.
        sd: standard deviation of one y that the uncertainties rest on.
    """

    exact: tuple[Fraction, ...]
    covariance: tuple[tuple[Fraction, ...], ...]
    residuals: tuple[float, ...]
    leverages: tuple[float, ...]
    residual_sd: float
    dof: int
    sd: float

    @property
    def coefficients(self) -> tuple[float, ...]:
        """Coefficients of rising powers of x."""
        return tuple(float(c) for c in self.exact)

    @property
    def sds(self) -> tuple[float, ...]:
        """Standard uncertainty of each coefficient."""
        return tuple(self.sd * math.sqrt(row[i]) for i, row in enumerate(self.covariance))

    def at(self, x: float) -> float:
        """Return the fitted y at x."""
        return float(dot(_powers(x, len(self.exact)), self.exact))

    def sd_at(self, x: float) -> float:
        """Return the standard uncertainty of the fitted y at x, y's own scatter left out."""
        row = _powers(x, len(self.exact))
        return self.sd * math.sqrt(dot(row, [dot(row, line) for line in self.covariance]))

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
    rows = [_powers(value, count) for value in x]
    solver = least_squares(rows) if len(rows) > count else None
    if solver is None:
        raise ValueError(f"a fit of degree {degree} needs at least {count + 1} points at {count} different places")
    exact = solver.solve(y)
    residuals = [Fraction(value) - dot(row, exact) for row, value in zip(rows, y, strict=True)]
    dof = len(rows) - count
    residual_sd = math.sqrt(dot(residuals, residuals) / dof)
    return PolynomialFit(
        exact=exact,
        covariance=solver.covariance,
        residuals=tuple(float(e) for e in residuals),
        leverages=tuple(float(dot(row, gain)) for row, gain in zip(rows, zip(*solver.gains, strict=True), strict=True)),
        residual_sd=residual_sd,
        dof=dof,
        sd=max(residual_sd, least_sd),
    )


def _powers(x: float, count: int) -> tuple[Fraction, ...]:
    """Return 1, x, x^2 ..."""
    exact = Fraction(x)
    return tuple(exact**power for power in range(count))
