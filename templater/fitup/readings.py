"""The door for readings taken at fit-up: YAML text to frozen readings, every fault located."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from templater.boat.solved import Side
from templater.findings import ReadingsError, TemplaterError
from templater.fitup.centreline import too_few_stations
from templater.fitup.door import Door
from templater.fitup.taken import (
    Attempt,
    Both,
    CentrelineReadings,
    CrownGap,
    EdgePair,
    HalfBreadth,
    PointPair,
    Reading,
    Readings,
    Repeats,
    Seat,
    ShimReadings,
    SquareReadings,
    Toe,
)  # fmt: skip
from templater.reader.compose import read_yaml

_TOP = ("boat", "units", "date", "read_to", "tape", "centreline", "square", "shim")
_ATTEMPT = (
    "number", "setting", "first_bolt", "ring", "port", "starboard", "off_centre", "chock_aft", "further", "date", "note"
)  # fmt: skip


def load_readings(text: str, file: str, description_units: str = "mm") -> Readings:
    """Return the readings in a YAML text.

    Args:
        text: the whole file.
        file: its name for findings.
        description_units: unit of bare numbers where the readings name none, ``mm`` or ``in``.

    Raises:
        ReadingsError: carries every fault found, each with file, line and column.
    """
    try:
        data, places = read_yaml(text, file)
    except TemplaterError as fault:
        # The door for descriptions names what is no sound YAML; here it is the readings that are at fault.
        raise ReadingsError(*(finding._replace(code="T000") for finding in fault.findings)) from None
    door = Door(places, description_units)
    top = door.mapping(data, "", _TOP)
    if "units" in top:
        door.units = door.choice(top["units"], "units", ("mm", "in"))
    readings = Readings(
        boat=door.text(top.get("boat", ""), "boat"),
        units=door.units,
        date=door.text(top.get("date", ""), "date"),
        step=door.length(top["read_to"], "read_to", least=0.0) if "read_to" in top else 0.5,
        tape_sd=door.length(top["tape"], "tape", least=0.01) if "tape" in top else None,
        centreline=_centreline(door, top["centreline"]) if "centreline" in top else None,
        square=_square(door, top["square"]) if "square" in top else None,
        shim=_shim(door, top["shim"]) if "shim" in top else None,
        places=places,
    )
    if readings.centreline is None and readings.square is None and readings.shim is None and not door.findings:
        door.fault("T002", "", "no readings yet - fill in centreline, square or shim")
    if door.findings:
        raise ReadingsError(*door.findings)
    return readings


def _centreline(door: Door, data: Any) -> CentrelineReadings | None:
    section = door.mapping(data, "centreline", ("stations", "post_offset"), ("stations",))
    stations = []
    for key, item in door.items(section.get("stations"), "centreline.stations") if "stations" in section else ():
        row = door.mapping(item, key, ("at", "port", "starboard", "port_edge", "starboard_edge"), ("at",))
        if door.unfilled(row, "port", "starboard", "port_edge", "starboard_edge"):
            continue
        station = door.length(row["at"], f"{key}.at") if "at" in row else 0.0
        edges = "port_edge" in row or "starboard_edge" in row
        both = _edges(door, row, key) if edges else door.both(row, key)
        stations.append(HalfBreadth(station, both, key))
    different = len({round(row.station) for row in stations})
    if stations and different < 3:
        door.fault("T005", "centreline.stations", too_few_stations(different))
    post: Repeats | None = None
    if "post_offset" in section and not door.unfilled(section, "post_offset"):
        post = door.repeats(section["post_offset"], "centreline.post_offset")
    return CentrelineReadings(tuple(stations), post) if stations else None


def _edges(door: Door, row: Mapping[str, Any], key: str) -> Both:
    """Return edge positions beside a stretched line, starboard positive, as half breadths from that line."""
    if "port" in row or "starboard" in row:
        door.fault("T001", key, "give port and starboard, or port_edge and starboard_edge, not both")
    named = {side: row.get(f"{side}_edge") for side in ("port", "starboard")}
    both = door.both(named, key, positive=False)
    port = tuple(Reading(-r.value, r.text.removeprefix("-"), r.factor) for r in both.port.readings)
    return Both(
        Repeats(port, f"{key}.port_edge"),
        Repeats(both.starboard.readings, f"{key}.starboard_edge"),
    )


def _square(door: Door, data: Any) -> SquareReadings | None:
    section = door.mapping(data, "square", (*_ATTEMPT, "tolerance", "attempts"))
    tolerance = door.length(section["tolerance"], "square.tolerance", least=0.1) if "tolerance" in section else 1.0
    if "attempts" not in section:
        if door.unfilled(section, "port", "starboard"):
            return None
        return SquareReadings((_attempt(door, section, "square", {}, 1),), tolerance)
    for name in ("port", "starboard", "further", "off_centre"):
        if name in section:
            door.fault("T001", f"square.{name}", f"{name} belongs into one of the attempts")
    names = ("setting", "first_bolt", "chock_aft", "ring")
    shared: dict[str, Any] = {name: section[name] for name in names if name in section}
    attempts = []
    for number, (key, item) in enumerate(door.items(section["attempts"], "square.attempts"), start=1):
        row = door.mapping(item, key, _ATTEMPT)
        if not door.unfilled(row, "port", "starboard"):
            attempts.append(_attempt(door, row, key, shared, number))
    return SquareReadings(tuple(attempts), tolerance) if attempts else None


def _attempt(door: Door, data: Mapping[str, Any], key: str, shared: Mapping[str, Any], number: int) -> Attempt:
    def from_(name: str) -> tuple[Any, str]:
        return (data[name], f"{key}.{name}") if name in data else (shared.get(name), f"square.{name}")

    setting, setting_key = from_("setting")
    first, first_key = from_("first_bolt")
    chock, chock_key = from_("chock_aft")
    if setting is None:
        door.fault("T002", key, "setting is missing - add the number of the setting, 1 foremost")
    if first is None:
        door.fault("T002", key, "first_bolt is missing - add the side whose bolt is in, port or starboard")
    ring, ring_key = from_("ring")
    off = data.get("off_centre")
    off_key = f"{key}.off_centre"
    further = door.items(data["further"], f"{key}.further") if "further" in data else ()
    return Attempt(
        number=door.whole(data["number"], f"{key}.number") if "number" in data else number,
        setting=door.whole(setting, setting_key) if setting is not None else 1,
        first_bolt=_side(door, first, first_key) if first is not None else Side.PORT,
        tape=door.both(data, key),
        further=tuple(_further(door, item, name) for name, item in further),
        off_centre=door.both(door.mapping(off, off_key, ("port", "starboard")), off_key) if off is not None else None,
        chock_aft=(
            door.both(door.mapping(chock, chock_key, ("port", "starboard")), chock_key, positive=False)
            if chock is not None
            else None
        ),
        date=door.text(data.get("date", ""), f"{key}.date"),
        note=door.text(data.get("note", ""), f"{key}.note"),
        key=key,
        ring=None if ring in (None, "unknown") else door.length(ring, ring_key),
    )


def _side(door: Door, data: Any, key: str) -> Side:
    return Side.PORT if door.choice(data, key, ("port", "starboard")) == "port" else Side.STARBOARD


def _further(door: Door, data: Any, key: str) -> PointPair | EdgePair:
    allowed = ("name", "to", "below_floor", "edge", "out", "line", "port", "starboard")
    row = door.mapping(data, key, allowed, ("name",))
    name = door.text(row.get("name", ""), f"{key}.name")
    both = door.both(row, key)
    if "to" in row:
        for extra in ("edge", "out", "line"):
            if extra in row:
                door.fault("T001", f"{key}.{extra}", f"{extra} goes with readings to the plank's edge, not with to")
        below = door.length(row["below_floor"], f"{key}.below_floor") if "below_floor" in row else None
        return PointPair(name, door.point(row["to"], f"{key}.to"), below, both)
    for needed in ("edge", "out", "line"):
        if needed not in row:
            text = f"{needed} is missing - give to: [station, half breadth], or edge, out and line"
            door.fault("T002", key, text)
    return EdgePair(
        name=name,
        half_breadth=door.length(row.get("out", 0), f"{key}.out", least=0.0),
        edge=door.choice(row.get("edge", "fore"), f"{key}.edge", ("fore", "aft")),
        from_fore=door.choice(row.get("line", "fore"), f"{key}.line", ("fore", "aft")) == "fore",
        both=both,
    )


def _shim(door: Door, data: Any) -> ShimReadings | None:
    section = door.mapping(data, "shim", ("crown_gap", "hull_bottom", "tilt", "toe", "seat", "least"))
    gaps = []
    for key, item in door.items(section["crown_gap"], "shim.crown_gap") if "crown_gap" in section else ():
        row = door.mapping(item, key, ("at", "gap"), ("at", "gap"))
        gap = door.repeats(row.get("gap", 0), f"{key}.gap", positive=True)
        gaps.append(CrownGap(door.length(row.get("at", 0), f"{key}.at"), gap))
    bottom = door.items(section["hull_bottom"], "shim.hull_bottom") if "hull_bottom" in section else ()
    points = tuple(door.point(item, key) for key, item in bottom)
    if any(b[0] <= a[0] for a, b in pairwise(points)):
        door.fault("T005", "shim.hull_bottom", "points must run from port to starboard, each y larger than the last")
    tilt = door.mapping(section["tilt"], "shim.tilt", ("port", "starboard")) if "tilt" in section else None
    if tilt is not None and door.unfilled(tilt, "port", "starboard"):
        tilt = None
        if not section.keys() - {"tilt", "least", "seat"}:
            return None
    seat = door.mapping(section["seat"], "shim.seat", ("length", "width"), ("length", "width")) \
        if "seat" in section else None  # fmt: skip
    return ShimReadings(
        crown_gap=tuple(gaps),
        hull_bottom=points,
        tilt=door.both(tilt, "shim.tilt", angle=True) if tilt is not None else None,
        toe=_toe(door, section["toe"]) if "toe" in section else None,
        seat=Seat(
            door.length(seat.get("length", 1), "shim.seat.length", least=1.0),
            door.length(seat.get("width", 1), "shim.seat.width", least=1.0),
        ) if seat is not None else None,
        least=door.length(section["least"], "shim.least", least=0.0) if "least" in section else None,
    )  # fmt: skip


def _toe(door: Door, data: Any) -> Toe:
    row = door.mapping(data, "shim.toe", ("fore", "aft", "apart"), ("fore", "aft", "apart"))
    return Toe(
        door.repeats(row.get("fore", 0), "shim.toe.fore", positive=True),
        door.repeats(row.get("aft", 0), "shim.toe.aft", positive=True),
        door.length(row.get("apart", 1), "shim.toe.apart", least=1.0),
    )
