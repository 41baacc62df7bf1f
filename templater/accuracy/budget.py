"""Combined standard uncertainties with their parts, to first order. Source: JCGM 100:2008 (GUM), clause 5."""

from __future__ import annotations

import math
from dataclasses import dataclass

from templater.accuracy.sources import Sources
from templater.maths.linear import Linear, Variable


@dataclass(frozen=True, slots=True)
class Budget:
    """A combined standard uncertainty.

    Attributes:
        what: what it is the uncertainty of.
        unit: mm or degrees.
        value: the nominal value.
        sigma: one combined standard deviation.
        parts: source name and its share as a standard deviation, largest first.
    """

    what: str
    unit: str
    value: float
    sigma: float
    parts: tuple[tuple[str, float], ...]

    @property
    def largest(self) -> str:
        """Name of the largest contributor."""
        return self.parts[0][0] if self.parts else ""


def variable(source: str, sources: Sources) -> Linear:
    """Return nought with a new variable of a source; without one if the source has no error."""
    sigma = sources.sigma(source)
    return Linear(0.0, {Variable(source, sigma): 1.0} if sigma else {})


def budget(what: str, unit: str, result: Linear) -> Budget:
    """Return the budget of a value whose variables bear their sources' names."""
    squares: dict[str, float] = {}
    for one, part in result.parts.items():
        squares[one.name] = squares.get(one.name, 0.0) + (part * one.sigma) ** 2
    parts = sorted(
        ((name, math.sqrt(square)) for name, square in squares.items() if square > 0),
        key=lambda part: (-part[1], part[0]),
    )
    return Budget(what, unit, result.value, math.sqrt(sum(squares.values())), tuple(parts))


def coverage_chance(margin: float, sigma: float) -> float:
    """Return the chance that a normal error of ``sigma`` exceeds ``margin`` on one side."""
    if sigma == 0:
        return 0.0 if margin >= 0 else 1.0
    return 0.5 * math.erfc(margin / sigma / math.sqrt(2))
