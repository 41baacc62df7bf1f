"""Combined standard uncertainties with their parts, to first order. Source: JCGM 100:2008 (GUM), clause 5."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from uncertainties import UFloat, nominal_value, ufloat

from templater.accuracy.sources import Sources


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


def variable(source: str, sources: Sources) -> Any:
    """Return a new variable of a source, an ``uncertainties`` number of its name; plain 0 if it has no error."""
    sigma = sources.sigma(source)
    return ufloat(0.0, sigma, tag=source) if sigma else 0.0


def budget(what: str, unit: str, result: Any) -> Budget:
    """Return the budget of an ``uncertainties`` number whose variables are tagged with their sources' names."""
    squares: dict[str, float] = {}
    components = result.error_components() if isinstance(result, UFloat) else {}
    for one, part in components.items():
        name = one.tag or ""
        squares[name] = squares.get(name, 0.0) + part * part
    parts = sorted(((name, math.sqrt(square)) for name, square in squares.items() if square > 0), key=_largest_first)
    return Budget(what, unit, float(nominal_value(result)), math.sqrt(sum(squares.values())), tuple(parts))


def _largest_first(part: tuple[str, float]) -> tuple[float, str]:
    return -part[1], part[0]


def coverage_chance(margin: float, sigma: float) -> float:
    """Return the chance that a normal error of ``sigma`` exceeds ``margin`` on one side."""
    if sigma == 0:
        return 0.0 if margin >= 0 else 1.0
    return 0.5 * math.erfc(margin / sigma / math.sqrt(2))
