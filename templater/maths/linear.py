"""Least squares in exact fractions, polynomials fitted by them, and linear forms that carry their errors.

What floats are given is solved without rounding, so nothing needs scaling. A linear form has a coefficient for each
independent variable that it hangs on, so that what two share cancels in their difference; to first order, as in JCGM
100:2008 (GUM), clause 5.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

#: Leverage from which a point decides the fit at its place alone.
ALONE = 1 - 1e-9
#: Columns whose squared sine of the angle between them is below this count as one.
_DEPENDENT = 1e-18


class Solver(NamedTuple):
    """``gains`` turns observations into unknowns, a row for each; ``covariance`` is theirs for observations of sd 1."""

    gains: tuple[tuple[Fraction, ...], ...]
    covariance: tuple[tuple[Fraction, ...], ...]


def dot(a: Sequence[Fraction], b: Sequence[Fraction]) -> Fraction:
    """Return the sum of products."""
    return sum((x * y for x, y in zip(a, b, strict=True)), Fraction(0))


def least_squares(design: Sequence[Sequence[float | Fraction]]) -> Solver | None:
    """Return the solver of observations = design x unknowns, all of one weight; None if the unknowns are not fixed."""
    rows = [[Fraction(value) for value in row] for row in design]
    columns = list(zip(*rows, strict=True))
    count = len(columns)
    # Gauss and Jordan's elimination of the normal equations beside the unit matrix; exact, so no pivot need be sought.
    work = [
        [dot(columns[i], columns[j]) for j in range(count)] + [Fraction(int(i == j)) for j in range(count)]
        for i in range(count)
    ]
    for k in range(count):
        pivot = work[k][k]
        if pivot <= _DEPENDENT * dot(columns[k], columns[k]):
            return None
        work[k] = [value / pivot for value in work[k]]
        for i in range(count):
            if i != k:
                factor = work[i][k]
                work[i] = [value - factor * top for value, top in zip(work[i], work[k], strict=True)]
    covariance = tuple(tuple(row[count:]) for row in work)
    return Solver(tuple(tuple(dot(line, row) for row in rows) for line in covariance), covariance)


class PolynomialFit(NamedTuple):
    """A fitted polynomial; x and y in the caller's units."""

    exact: tuple[Fraction, ...]  # coefficients of rising powers of x
    covariance: tuple[tuple[Fraction, ...], ...]  # theirs for a y of standard deviation 1
    residuals: tuple[float, ...]  # y minus fit, in the order given
    leverages: tuple[float, ...]  # share of each point in its own fitted value, 0 to 1
    residual_sd: float  # standard deviation of the residuals, ``dof`` taken off
    dof: int  # number of points less number of coefficients
    sd: float  # standard deviation of one y that the uncertainties rest on

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

    def left_out(self, index: int) -> tuple[float, float]:
        """Return the residual of one point had it not taken part in the fit, and this over its standard deviation.

        The second is the externally studentised residual; ``dof - 1`` degrees of freedom. Both are 0 for a point that
        alone decides its own place. Source: Cook and Weisberg, Residuals and Influence in Regression (1982), 2.2.
        """
        residual, free = self.residuals[index], 1 - self.leverages[index]
        if self.leverages[index] > ALONE:
            return 0.0, 0.0
        rest = self.residual_sd**2 * self.dof - residual**2 / free
        sd = math.sqrt(max(rest, 0.0) / (self.dof - 1) * free)
        return residual / free, residual / sd if sd > 0 else math.copysign(math.inf, residual)


def fit_polynomial(points: Sequence[tuple[float, float]], degree: int = 1, *, least_sd: float = 0.0) -> PolynomialFit:
    """Fit a polynomial to (x, y) by unweighted least squares; uncertainties never rest on less than ``least_sd``.

    Raises ValueError if there are no more points than coefficients, or too few different x.
    """
    count = degree + 1
    rows = [_powers(x, count) for x, _ in points]
    solver = least_squares(rows) if len(rows) > count else None
    if solver is None:
        raise ValueError(f"a fit of degree {degree} needs at least {count + 1} points at {count} different places")
    observed = [Fraction(y) for _, y in points]
    exact = tuple(dot(gain, observed) for gain in solver.gains)
    residuals = [y - dot(row, exact) for row, y in zip(rows, observed, strict=True)]
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


class Variable:
    """One independent source of error: a name, which several may share, and a standard deviation; known by identity."""

    __slots__ = ("name", "sigma")

    def __init__(self, name: str, sigma: float) -> None:
        self.name = name
        self.sigma = sigma


class Linear:
    """A value and its derivative by each variable; sums and products keep both."""

    __slots__ = ("parts", "value")

    def __init__(self, value: float = 0.0, parts: Mapping[Variable, float] | None = None) -> None:
        self.value = value
        self.parts = parts or {}

    def _with(self, factor: float, other: Linear | float, other_factor: float, value: float) -> Linear:
        """Return ``value`` with the derivatives of both, each times its factor."""
        parts = {variable: part * factor for variable, part in self.parts.items()}
        if isinstance(other, Linear):
            for variable, part in other.parts.items():
                parts[variable] = parts.get(variable, 0.0) + part * other_factor
        return Linear(value, parts)

    def __add__(self, other: Linear | float) -> Linear:
        return self._with(1.0, other, 1.0, self.value + _value(other))

    def __sub__(self, other: Linear | float) -> Linear:
        return self._with(1.0, other, -1.0, self.value - _value(other))

    def __neg__(self) -> Linear:
        return self * -1.0

    def __mul__(self, other: Linear | float) -> Linear:
        return self._with(_value(other), other, self.value, self.value * _value(other))

    def __truediv__(self, other: float) -> Linear:
        return self * (1 / other)

    __radd__ = __add__
    __rmul__ = __mul__

    def covariance(self, other: Linear) -> float:
        """Return the covariance with another value."""
        return sum(part * other.parts.get(one, 0.0) * one.sigma**2 for one, part in self.parts.items())

    @property
    def sigma(self) -> float:
        """The combined standard deviation."""
        return math.sqrt(self.covariance(self))


def _value(other: Linear | float) -> float:
    return other.value if isinstance(other, Linear) else other
