"""Student's t, chi-square and F by the incomplete beta and gamma functions; the normal distribution.

Formulas: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.4 to 26.7 (from memory). mpmath, which is slow
to load, is loaded only where a chance is asked for.
"""

from __future__ import annotations

import math
from statistics import NormalDist

#: Degrees of freedom from which Student's t follows from the normal distribution to a part in 10^12.
_MANY = 1e6
#: Figures that mpmath carries.
_DIGITS = 20


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
