"""Least squares in exact fractions: what floats are given is solved without rounding, so nothing needs scaling."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

#: Columns whose squared sine of the angle between them is below this count as one.
_DEPENDENT = 1e-18


class Solver(NamedTuple):
    """``gains`` turns observations into unknowns, a row for each; ``covariance`` is theirs for observations of sd 1."""

    gains: tuple[tuple[Fraction, ...], ...]
    covariance: tuple[tuple[Fraction, ...], ...]

    def solve(self, observed: Sequence[float | Fraction]) -> tuple[Fraction, ...]:
        """Return the unknowns."""
        exact = [Fraction(value) for value in observed]
        return tuple(dot(row, exact) for row in self.gains)


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
