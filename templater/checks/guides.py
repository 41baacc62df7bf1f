"""Guide values: how far one may be missed, and one finding for many holes with the same fault."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from templater.findings import Severity

#: Share of a guide value below which it counts as clearly missed. Our own choice.
CLEARLY = 0.75


def guide_severity(value: float, guide: float) -> Severity:
    """Return how much a missed guide value weighs: a warning if clearly missed, advice if only just."""
    return Severity.WARNING if value < CLEARLY * guide else Severity.ADVICE


@dataclass(slots=True)
class Worst:
    """The worst of many cases of the same fault, and how many there are, by group."""

    _cases: dict[tuple[str, ...], tuple[float, tuple[str, ...], int]] = field(default_factory=dict)

    def add(self, group: tuple[str, ...], value: float, names: tuple[str, ...]) -> None:
        """Count a case; the smallest value is the worst, the first of equals stands."""
        worst, kept, count = self._cases.get(group, (value, names, 0))
        if value < worst - 1e-9:  # equals differ by rounding only
            worst, kept = value, names
        self._cases[group] = (worst, kept, count + 1)

    def cases(self) -> Iterator[tuple[tuple[str, ...], float, tuple[str, ...], str]]:
        """Yield group, worst value, its names, and ``" (and 3 more)"`` or nothing, in the order they were met."""
        for group, (value, names, count) in self._cases.items():
            yield group, value, names, f" (and {count - 1} more)" if count > 1 else ""
