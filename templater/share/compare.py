"""What differs between two boats, in the description, in the holes and against the rule."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Any

from templater.boat.solved import Boat, Hole
from templater.description.keys import Surface
from templater.reader.keys import Keys
from templater.share.plates import SheetRow, plate_sheets


@dataclass(frozen=True, slots=True)
class Difference:
    """One key of the description whose values differ; "not given" where one lacks it. Lengths are in mm."""

    key: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class HoleMove:
    """Where a hole of A stands in B, by id: ``move`` is B less A, mm, in the part's frame; None if only one has it.

    ``widening`` is B's diameter less A's.
    """

    id: str
    on: str
    name: str
    move: tuple[float, float] | None
    distance: float
    widening: float
    only_in: str = ""


@dataclass(frozen=True, slots=True)
class MarginRow:
    """One setting's distance to the rule's greatest, in A and in B; None without a rule or without the setting."""

    setting: int
    base_a: float | None
    base_b: float | None
    to_max_a: float | None
    to_max_b: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """The whole comparison. ``sheets`` says for each sheet whether A's template serves B within ``tolerance`` mm."""

    a: str
    b: str
    tolerance: float
    differences: tuple[Difference, ...]
    moves: tuple[HoleMove, ...]
    margins: tuple[MarginRow, ...]
    sheets: tuple[SheetRow, ...]

    @property
    def serves(self) -> bool:
        """True if every template of A may be used on B."""
        return all(sheet.serves for sheet in self.sheets)


def compare(a: Boat, b: Boat, tolerance: float = 0.5) -> Comparison:
    """Compare two solved boats; holes are matched by id.

    Args:
        a: the boat whose templates there are.
        b: the boat they would be used on.
        tolerance: how far a hole's middle may lie off, mm; its diameter may differ by 0.01 mm.
    """
    moves = tuple(_moves(a, b))
    sheets = (*(_sheet(surface, moves, tolerance) for surface in Surface), *plate_sheets(a, b, tolerance))
    return Comparison(
        a.description.boat, b.description.boat, tolerance, tuple(_differences(a, b)), moves, _margins(a, b), sheets
    )


def _differences(a: Boat, b: Boat) -> Iterator[Difference]:
    left, right = dict(leaves(a.description)), dict(leaves(b.description))
    for key in dict.fromkeys([*left, *right]):
        if left.get(key) != right.get(key):
            yield Difference(key, left.get(key, "not given"), right.get(key, "not given"))


def leaves(value: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Yield dotted keys and values as text of a description, in the order of its models."""
    if isinstance(value, Keys):
        for name, part in value.items():
            if name != "based_on":
                yield from leaves(part, f"{key}.{name}" if key else name)
    elif isinstance(value, tuple):
        for number, item in enumerate(value):
            yield from leaves(item, f"{key}.{number}")
    elif isinstance(value, Enum):
        yield key, str(value.value)
    elif isinstance(value, float):
        yield key, f"{value:.4f}".rstrip("0").rstrip(".")
    elif value is not None:
        yield key, str(value)


def _moves(a: Boat, b: Boat) -> Iterator[HoleMove]:
    left, right = {hole.id: hole for hole in a.holes}, {hole.id: hole for hole in b.holes}
    for id_ in dict.fromkeys([*left, *right]):
        yield _move(left.get(id_), right.get(id_), a, b)


def _move(a: Hole | None, b: Hole | None, boat_a: Boat, boat_b: Boat) -> HoleMove:
    known = a or b
    assert known is not None
    if a is None or b is None or a.on is not b.on:
        only = boat_b.description.boat if a is None else boat_a.description.boat
        return HoleMove(known.id, known.on.value, known.name, None, math.inf, 0.0, only)
    move = (b.at[0] - a.at[0], b.at[1] - a.at[1])
    return HoleMove(a.id, a.on.value, a.name, move, math.hypot(*move), b.diameter - a.diameter)


def _margins(a: Boat, b: Boat) -> tuple[MarginRow, ...]:
    left, right = {s.number: s for s in a.settings}, {s.number: s for s in b.settings}
    rows = []
    for number in sorted({*left, *right}):
        one, other = left.get(number), right.get(number)
        rows.append(
            MarginRow(
                number,
                one.runner_base if one else None,
                other.runner_base if other else None,
                one.to_max if one else None,
                other.to_max if other else None,
            )
        )
    return tuple(rows)


def _sheet(surface: Surface, moves: tuple[HoleMove, ...], tolerance: float) -> SheetRow:
    """Return whether A's template of one part serves B."""
    here = [move for move in moves if move.on == surface.value]
    if not here:
        return SheetRow(surface.value, serves=True, worst="", distance=0.0)
    worst = max(here, key=lambda move: (move.distance, abs(move.widening)))
    serves = all(move.distance <= tolerance and abs(move.widening) <= 0.01 for move in here)
    return SheetRow(surface.value, serves, worst.id, worst.distance)
