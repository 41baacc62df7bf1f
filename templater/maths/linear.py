"""Values that carry a coefficient for each independent variable they hang on: correlated by construction.

To first order, as in JCGM 100:2008 (GUM), clause 5: what two values share cancels in their difference.
"""

from __future__ import annotations

import math
from collections.abc import Mapping


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
