"""The fit-up's record: every attempt, and the figures that next season's re-check is held against."""

import json
import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from templater.boat.solved import Boat, plain
from templater.findings import Finding, Location, ReadingsError
from templater.fitup.centreline import CentrelineResult, centreline
from templater.fitup.readings import Readings
from templater.fitup.rig import Surroundings
from templater.fitup.shim import ShimResult, shims
from templater.fitup.square import SquareResult, square
from templater.reader.faults import told
from templater.units import MM

#: What a record's file says it is, and the version of its form.
KIND, VERSION = "fit-up record", 1


class Figure(NamedTuple):
    """A figure worth keeping: its name, unit, value, and the half-width of its 95 % interval if known."""

    name: str
    unit: str
    value: float
    half_width: float | None = None


class Change(NamedTuple):
    """A figure now and at the earlier fit-up."""

    name: str
    unit: str
    then: float
    now: float
    change: float
    half_width: float | None
    beyond_chance: bool | None  # the change is larger than both intervals explain; None if they are not known


class Record(NamedTuple):
    """Everything of one fit-up."""

    boat: str
    units: str
    date: str
    attempts: tuple[SquareResult, ...]  # oldest first
    centreline: CentrelineResult | None
    shim: ShimResult | None
    figures: tuple[Figure, ...]  # for later comparison
    changes: tuple[Change, ...]  # since the earlier record
    earlier: str  # its date; empty without one
    findings: tuple[Finding, ...]


def record(
    readings: Readings, boat: Boat, earlier: Mapping[str, Any] | None = None, *, centring: float = 0.0
) -> Record:
    """Return the record of a fit-up; the steering post's offset from ``centreline`` counts in the squaring.

    ``earlier`` is a record as ``read_record`` returns it; ``centring`` the standard deviation of the plank's middle,
    mm, until it is read. Raises ReadingsError if the readings cannot belong to this boat.
    """
    own = boat.description.boat
    if readings.boat and readings.boat != own:
        raise ReadingsError(told("T251", "boat", theirs=readings.boat, own=own))
    line = centreline(readings, boat.description.figures)
    beside = Surroundings(centring=centring)
    if line is not None and line.decided and line.post_offset is not None:
        beside = beside._replace(post=line.post_offset, post_sd=line.post_offset_sd or 0.0)
    turns = readings.square.attempts if readings.square else ()
    attempts = tuple(square(attempt, boat, readings, beside) for attempt in turns)
    last = attempts[-1] if attempts else None
    yaw = last.yaw if last is not None and last.decided else 0.0
    shim = shims(readings.shim, boat, yaw) if readings.shim is not None else None
    figures = _figures(last, line, shim)
    return Record(
        boat=own,
        units=readings.units,
        date=readings.date or (last.attempt.date if last else ""),
        attempts=attempts,
        centreline=line,
        shim=shim,
        figures=figures,
        changes=_changes(earlier, figures) if earlier else (),
        earlier=str(earlier.get("date") or "an earlier fit-up") if earlier else "",
        findings=tuple(found for part in (last, line, shim) if part for found in part.findings),
    )


def record_data(record: Record) -> dict[str, Any]:
    """Return the record as plain data for JSON; ``read_record`` takes it back."""
    return {"kind": KIND, "version": VERSION, **plain(record)}


def read_record(text: str, file: str) -> dict[str, Any]:
    """Return an earlier record from its JSON text. Raises ReadingsError: T250, it is no record of a fit-up."""
    try:
        data: dict[str, Any] = json.loads(text)
        sound = data["kind"] == KIND and data["version"] == VERSION and all(map(_is_figure, data["figures"]))
    except (ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError):
        sound = False
    if not sound:
        raise ReadingsError(told("T250", "", "", MM, Location(file, 1, 1), kind=KIND, version=str(VERSION)))
    return data


def _is_figure(item: dict[str, Any]) -> bool:
    numbers = [item[name] for name in ("value", "half_width") if name == "value" or item.get(name) is not None]
    sound = (isinstance(one, int | float) and not isinstance(one, bool) and math.isfinite(one) for one in numbers)
    return isinstance(item["name"], str) and all(sound)


def _figures(last: SquareResult | None, line: CentrelineResult | None, shim: ShimResult | None) -> tuple[Figure, ...]:
    """Return what is worth comparing later, of the last attempt."""
    found: list[Figure] = []
    if last is not None and last.decided:
        at = f"setting {last.attempt.setting}"
        found += [
            Figure(f"turn of the plank at {at}", "°", last.yaw, last.yaw_95),
            Figure(f"tape difference, starboard less port, at {at}", "mm", last.difference, last.difference_95),
            *(
                Figure(f"tape to {row.side.word} at {at}", "mm", row.mean)
                for row in last.repeatability
                if row.name == "tape"
            ),
            Figure("steering post's axis to the tape's zero", "mm", last.ring),
        ]
    if line is not None and line.decided:
        found.append(Figure("centreline's angle to the trial line", "°", line.angle, line.angle_95))
        if line.post_offset is not None:
            found.append(Figure("steering post's offset", "mm", line.post_offset, line.post_offset_95))
    if shim is not None and shim.decided:
        found += [Figure(f"{seat.side.word} tilt taken out", "°", seat.tilt) for seat in shim.seats]
        found += [Figure(f"{seat.side.word} shim at the bolt", "mm", seat.at_bolt) for seat in shim.seats]
        if shim.toe is not None:
            found.append(Figure("toe between the runners", "mm", shim.toe.difference))
    return tuple(found)


def _changes(earlier: Mapping[str, Any], figures: tuple[Figure, ...]) -> tuple[Change, ...]:
    """Return what both records hold, in the order of this one."""
    then = {item["name"]: item for item in earlier["figures"]}
    rows = []
    for figure in figures:
        if old := then.get(figure.name):
            change, own, its = figure.value - old["value"], figure.half_width, old.get("half_width")
            half = None if own is None or its is None else math.hypot(own, its)
            beyond = None if half is None else abs(change) > half
            rows.append(Change(figure.name, figure.unit, old["value"], figure.value, change, half, beyond))
    return tuple(rows)
