"""Plain mathematics without boat words: arcs, least squares, errors carried along, distributions.

Arcs: R = c^2/(8h) + h/2, half angle = 2 atan(2h/c); any table of circular segments has them. Least squares are solved
in exact fractions: what floats are given is solved without rounding, so nothing needs scaling. A linear form has a
coefficient for each independent variable that it hangs on, so that what two share cancels in their difference; to first
order, as in JCGM 100:2008 (GUM), clause 5. Student's t, chi-square and F by the incomplete beta and gamma functions:
Abramowitz and Stegun, Handbook of Mathematical Functions, 26.4 to 26.7 (from memory). mpmath and statistics, which are
slow to load, are loaded only where a chance is asked for.
"""

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

#: Leverage from which a point decides the fit at its place alone.
ALONE = 1 - 1e-9
#: Columns whose squared sine of the angle between them is below this count as one.
_DEPENDENT = 1e-18
#: Degrees of freedom from which Student's t follows from the normal distribution to a part in 10^12.
_MANY = 1e6
#: Figures that mpmath carries.
_DIGITS = 20


class CircularArc(NamedTuple):
    """An arc; a flat one has an infinite radius."""

    radius: float
    chord: float


def arc_from_length(length: float, rise: float) -> CircularArc:
    """Return the arc of a given length along the curve with a rise at its middle, up to a half circle; in one unit.

    With t = half angle: length = 2 R t and rise = R (1 - cos t), so rise / length = (1 - cos t) / (2 t), which grows
    with t; it is bisected to the last bit. Raises ValueError for a length not positive, a rise below 0, a larger arc.
    """
    if length <= 0 or rise < 0:
        raise ValueError("an arc needs a positive length and a rise of at least 0")
    if rise == 0:
        return CircularArc(math.inf, length)
    wanted = rise / length
    low, high = 0.0, math.pi / 2
    if wanted > _rise_by_length(high):
        raise ValueError("the rise is more than that of a half circle of this length")
    while (middle := (low + high) / 2) not in (low, high):
        if _rise_by_length(middle) < wanted:
            low = middle
        else:
            high = middle
    # Not 2 R sin t, so that an arc too flat for its radius to be a number keeps its chord.
    return CircularArc(length / (2 * high), length * (math.sin(high) / high))


def _rise_by_length(half_angle: float) -> float:
    # 1 - cos t = 2 sin^2(t/2), which keeps its digits for the flat arcs of planks.
    return math.sin(half_angle / 2) ** 2 / half_angle


def along_arc(radius: float, half_chord: float) -> float:
    """Return the distance along the curve from its middle to a point ``half_chord`` away from the middle's normal."""
    return half_chord if math.isinf(radius) else radius * math.asin(half_chord / radius)


def slope_correction(level: float, drop: float) -> float:
    """Return what is to be taken from the slant distance to get the level one: slant - level, without cancellation."""
    return drop * drop / (math.hypot(level, drop) + level) if level or drop else 0.0


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

    def _with(self, factor: float, other: "Linear | float", other_factor: float, value: float) -> "Linear":
        """Return ``value`` with the derivatives of both, each times its factor."""
        parts = {variable: part * factor for variable, part in self.parts.items()}
        if isinstance(other, Linear):
            for variable, part in other.parts.items():
                parts[variable] = parts.get(variable, 0.0) + part * other_factor
        return Linear(value, parts)

    def __add__(self, other: "Linear | float") -> "Linear":
        return self._with(1.0, other, 1.0, self.value + _value(other))

    def __sub__(self, other: "Linear | float") -> "Linear":
        return self._with(1.0, other, -1.0, self.value - _value(other))

    def __neg__(self) -> "Linear":
        return self * -1.0

    def __mul__(self, other: "Linear | float") -> "Linear":
        return self._with(_value(other), other, self.value, self.value * _value(other))

    def __truediv__(self, other: float) -> "Linear":
        return self * (1 / other)

    __radd__ = __add__
    __rmul__ = __mul__

    def covariance(self, other: "Linear") -> float:
        """Return the covariance with another value."""
        return sum(part * other.parts.get(one, 0.0) * one.sigma**2 for one, part in self.parts.items())

    @property
    def sigma(self) -> float:
        """The combined standard deviation."""
        return math.sqrt(self.covariance(self))


def _value(other: Linear | float) -> float:
    return other.value if isinstance(other, Linear) else other


def _beta(x: float, a: float, b: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b)."""
    from mpmath import betainc, workdps

    with workdps(_DIGITS):
        return float(betainc(a, b, 0, x, regularized=True))


def two_sided_p(t: float, dof: float) -> float:
    """Return the chance that Student's t is as far from zero as ``t`` or further, either way."""
    if math.isinf(t):
        return 0.0
    if dof > _MANY:
        from statistics import NormalDist

        return 2 * NormalDist().cdf(-abs(t))
    return _beta(dof / (dof + t * t), dof / 2, 0.5)


def chi_square_p(chi2: float, dof: int) -> float:
    """Return the chance that chi-square is that large or larger."""
    from mpmath import gammainc, workdps

    with workdps(_DIGITS):
        return float(gammainc(dof / 2, chi2 / 2, regularized=True))


def f_p(ratio: float, upper: int, lower: float) -> float:
    """Return the chance that Fisher's F, of ``upper`` and ``lower`` degrees of freedom, is that large or larger."""
    return _beta(lower / (lower + upper * ratio), lower / 2, upper / 2)


def coverage_factor(dof: float) -> float:
    """Return the factor that turns a standard uncertainty into half a 95 % interval.

    Student's t for ``dof`` degrees of freedom, the normal distribution for ``math.inf``. Source: JCGM 100:2008, G.3.
    """
    from statistics import NormalDist

    z = NormalDist().inv_cdf(0.975)
    if dof > _MANY:
        # The first term of Fisher's expansion; the next is below 1e-11. Abramowitz and Stegun, 26.7.5 (from memory).
        return z + (z**3 + z) / (4 * dof)
    # Newton's method; the chance falls ever less steeply, so from the normal value below it never oversteps.
    scale = 2 * math.exp(math.lgamma((dof + 1) / 2) - math.lgamma(dof / 2)) / math.sqrt(dof * math.pi)
    t, step = z, z
    while step > 1e-14 * t:
        step = (two_sided_p(t, dof) - 0.05) / (scale * (1 + t * t / dof) ** (-(dof + 1) / 2))
        t += step
    return t
