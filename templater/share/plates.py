"""Whether plates made from one boat's sheets serve another: the plate itself counts, not where it stands."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind


class SheetRow(NamedTuple):
    """Whether A's template of a sheet serves B; the worst is a hole's id or a part's measure, ``distance`` off, mm."""

    sheet: str
    serves: bool
    worst: str
    distance: float


_SHEETS = (("plates", HoleKind.FIRST_SCREW), ("spare-plates", HoleKind.SECOND_SCREW))


def plate_sheets(a: Boat, b: Boat, tolerance: float) -> tuple[SheetRow, ...]:
    """Return a row for each of A's sheets of plates; none for a boat without plates."""
    if a.description.fixing.plate is None:
        return ()
    rows = []
    for name, kind in _SHEETS:
        if not any(hole.kind is kind for hole in a.holes) and kind is HoleKind.SECOND_SCREW:
            continue
        worst, off = max(_offs(a, b, kind), key=lambda one: one[1], default=("", 0.0))
        rows.append(SheetRow(name, off <= tolerance, worst, off))
    return tuple(rows)


def _offs(a: Boat, b: Boat, kind: HoleKind) -> Iterator[tuple[str, float]]:
    """Yield every measure of the plates and how much it differs, mm; infinite where only one boat has it."""
    one, other = a.description.fixing.plate, b.description.fixing.plate
    if one is None or other is None:
        yield "plate", math.inf
        return
    yield "length", abs(one.length - other.length)
    yield "width", abs(one.width - other.width)
    yield "thickness", abs(one.thickness - other.thickness)
    yield "corner radius", abs(one.corner_radius - other.corner_radius)
    if (one.slot is None) != (other.slot is None):
        yield "slot", math.inf
    elif one.slot is not None and other.slot is not None:
        yield "slot's length", abs(one.slot.length - other.slot.length)
        yield "slot's width", abs(one.slot.width - other.slot.width)
    if kind is HoleKind.FIRST_SCREW:  # a strip holds all settings; a loose plate serves any
        first, second = ([s.station - boat.settings[0].station for s in boat.settings] for boat in (a, b))
        if len(first) != len(second):
            yield "number of settings", math.inf
        else:
            for number, (x, y) in enumerate(zip(first, second, strict=True), 1):
                yield f"setting {number} from the first", abs(x - y)
    holes = [dict(_screws(boat, kind)) for boat in (a, b)]
    for ident in dict.fromkeys([*holes[0], *holes[1]]):
        if ident not in holes[0] or ident not in holes[1]:
            yield ident, math.inf
        else:
            (x, y, d), (x2, y2, d2) = holes[0][ident], holes[1][ident]
            yield ident, max(math.hypot(x2 - x, y2 - y), abs(d2 - d))


def _screws(boat: Boat, kind: HoleKind) -> Iterator[tuple[str, tuple[float, float, float]]]:
    """Yield the screws of the foremost setting's plates: x, y from the plate's centre, and diameter."""
    centres = {plate.side: plate.centre for plate in boat.plates if plate.setting == 1}
    for hole in boat.holes:
        if hole.kind is kind and hole.setting == 1 and hole.side in centres:
            x, y = centres[hole.side]
            yield hole.id, (hole.at[0] - x, hole.at[1] - y, hole.diameter)
