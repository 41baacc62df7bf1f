"""What a builder reads at fit-up: every key once, with its kind and what it means, mm and degrees; a file to fill in.

Frame as in the boat: x aft of the steering pivot axis, y to starboard. A half breadth is positive on both sides.
"""

import json
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, TypeVar

from templater.boat.solved import TOLERANCE, Boat, Side
from templater.description.keys import XY, AnyLength, NotNegative
from templater.description.load import filled
from templater.findings import Location, ReadingsError
from templater.reader.compose import UNITS, Composed, Given, Leaf, compose, join, leaves
from templater.reader.faults import Fault, told
from templater.reader.keys import Keys, key, read
from templater.reader.values import Choice, Count, Degrees, Length, Repeated, Repeats, Text
from templater.units import MM, MM_PER_INCH, mm_text

Apart = Annotated[float, Length(least=1)]
Distances = Annotated[Repeats, Repeated(Length(least=0))]
Offsets = Annotated[Repeats, Repeated(Length())]
# Beyond these no boat that a plank fits under can be: tilt, shim and the hull's bottom. From memory.
Angles = Annotated[Repeats, Repeated(Degrees(least=-15, most=15))]
Thickness = Annotated[float, Length(least=0, most=200)]
Rise = Annotated[float, Length(least=-500, most=500)]
Name = Annotated[str, Text(80, 0)]
Words = Annotated[str, Text(400, 0)]
Edge = Annotated[str, Choice(("fore", "aft"))]
#: Standard deviation of one tape reading where nothing better is known, mm: readings repeat to 1 mm; common practice.
DEFAULT_TAPE_SD = 0.5
#: Nothing read.
NONE = Repeats()
#: Keys of the attempts that may stand once above them all.
_SHARED = ("setting", "first_bolt", "chock_aft", "ring")
_SIDES = ("port", "starboard", "port_edge", "starboard_edge")
_PAIRS = (_SIDES[:2], _SIDES[2:], ("fore", "aft"))
Part = TypeVar("Part", bound=Keys)


class _Ring(Length):
    """A length, or ``unknown``."""

    def _check(self, leaf: Any, given: Given) -> Any:
        return None if isinstance(leaf, Leaf) and leaf.text == "unknown" else super()._check(leaf, given)


class Sides(Keys):
    """The same distance read to port and to starboard."""

    port: Distances = key("readings to port", NONE)
    starboard: Distances = key("readings to starboard", NONE)

    def side(self, side: Side) -> Repeats:
        """Return one side's readings."""
        return self.port if side is Side.PORT else self.starboard

    @property
    def dotted(self) -> str:
        """The dotted key that both stand under."""
        return self.port.key.rpartition(".")[0]


class Chocks(Sides):
    """The same place, aft positive."""

    port: Offsets = key("readings to port", NONE)
    starboard: Offsets = key("readings to starboard", NONE)


class Tilts(Sides):
    """Angle gauge on the plank's face at each seat, degrees, fore edge high positive."""

    port: Angles = key("readings to port", NONE)
    starboard: Angles = key("readings to starboard", NONE)


class Station(Sides):
    """Half breadths at one station, each measured from the trial line outwards."""

    at: AnyLength = key("station aft of the steering pivot axis")
    port_edge: Offsets = key("port edge, measured from a line stretched beside the hull, starboard positive", NONE)
    starboard_edge: Offsets = key("starboard edge, measured from that line", NONE)

    def outwards(self) -> "Station":
        """Return the station with edges beside a stretched line as half breadths from that line."""
        if not self.port_edge.readings:
            return self
        port = (one._replace(value=-one.value, text=one.text.removeprefix("-")) for one in self.port_edge.readings)
        return self.changed(port=Repeats(tuple(port)), starboard=self.starboard_edge)


class CentrelineReadings(Keys):
    """Half breadths along the hull from a trial line."""

    stations: tuple[Station, ...] = key("half breadths, three stations or more", least=1, most=100)
    post_offset: Offsets = key("middle of the steering post to starboard of the trial line", NONE)


class Further(Sides):
    """A pair of readings beyond what is needed: from the chock corners to like points of the hull, or to the edge.

    With ``to`` it is a tape from each chock corner to the hull's point on its own side. Else it is a rule along the
    hull, equally far out on both sides, from a line square to the centreline to the plank's edge.
    """

    name: Name = key("what it is called")
    to: XY | None = key("[station, half breadth] of the hull's points", None)
    below_floor: AnyLength | None = key("how far they lie below the floor's upper face; else as the corners", None)
    edge: Edge = key("the plank's edge that is read to", "fore")
    out: NotNegative = key("half breadth at which it is read", 0.0)
    line: Edge = key("fore if the line lies forward of the plank, so that a larger reading means further aft", "fore")


class Attempt(Sides):
    """One round of squaring: the plank hangs on its first bolt; ``port``, ``starboard``: tape to the chock corners."""

    number: Annotated[int, Count(1, 1000)] = key("of the attempt, if it is not its place in the list", 0)
    setting: Annotated[int, Count(1, 50)] = key("number of the setting, 1 foremost", 0)
    first_bolt: Annotated[Side, Choice({side.word: side for side in Side})] = key(
        "the side whose bolt is in; the plank swings about it", Side.PORT
    )
    ring: Annotated[float | None, _Ring()] = key("steering post's axis to the tape's zero, or unknown", None)
    off_centre: Sides | None = key("hull centreline to each chock corner along the plank", None)
    chock_aft: Chocks | None = key("plank's bolt line to each chock corner, aft positive; else as described", None)
    further: tuple[Further, ...] = key("readings beyond what is needed", (), most=20)
    date: Name = key("as YYYY-MM-DD", "")
    note: Words = key("for the record", "")

    def pairs(self) -> tuple[tuple[str, Sides], ...]:
        """Return every quantity that was read on both sides, with its name, the tape first."""
        named: list[tuple[str, Sides]] = [("tape", self), *((pair.name, pair) for pair in self.further)]
        if self.off_centre is not None:
            named.append(("off centre", self.off_centre))
        if self.chock_aft is not None:
            named.append(("chock aft of the bolts", self.chock_aft))
        return tuple(named)


class SquareReadings(Attempt):
    """All attempts, oldest first; a single one may stand in the section itself."""

    tolerance: Annotated[float, Length(least=0.1)] = key("allowed on starboard less port", TOLERANCE)
    attempts: tuple[Attempt, ...] = key("one for each move; the last counts", (), least=1, most=1000)


class CrownGap(Keys):
    """Gap between the plank's upper face and the hull's bottom."""

    at: AnyLength = key("place along the plank from its middle, starboard positive")
    gap: Distances = key("readings of the gap")


class Seat(Keys):
    """Where a shim lies."""

    length: Apart = key("fore and aft")
    width: Apart = key("along the plank")


class Toe(Keys):
    """Distances between the runners, fore and aft of the pivot axis."""

    fore: Distances = key("readings at the fore ends", NONE)
    aft: Distances = key("readings at the aft ends", NONE)
    apart: Apart = key("how far apart the two were read, along the hull")


class ShimReadings(Keys):
    """What shims are worked out from; every part may be missing."""

    crown_gap: tuple[CrownGap, ...] = key("gap at four places or more along the plank", (), most=100)
    hull_bottom: tuple[tuple[AnyLength, Rise], ...] = key("[y, rise] of its bottom over the middle", (), most=1000)
    tilt: Tilts | None = key("angle gauge on the plank at each seat, degrees, fore edge high positive", None)
    toe: Toe | None = key("between the runners", None)
    seat: Seat | None = key("where a shim lies; else the plate's width and the plank's", None)
    least: Thickness | None = key("packing where plank and hull touch, the gap added; else the description's", None)


class Readings(Keys):
    """Everything read at fit-up."""

    boat: Name = key("the boat's name", "")
    units: Annotated[str, Choice(UNITS)] = key("unit of bare numbers; else the description's", "mm")
    date: Name = key("as YYYY-MM-DD", "")
    read_to: NotNegative = key("smallest step read off the tape", 0.5)
    tape: Annotated[float, Length(least=0.01)] | None = key("typical error of one reading, for few repeats", None)
    centreline: CentrelineReadings | None = key("the hull's centreline", None)
    square: SquareReadings | None = key("is the plank square?", None)
    shim: ShimReadings | None = key("shims between plank and hull", None)


def load_readings(text: str, file: str, units: str = "mm") -> tuple[Readings, Mapping[str, Location]]:
    """Return the readings in a YAML text, and where its keys stand; raises ReadingsError with every fault and place."""
    composed = compose(text, file)
    return _filled(read(Readings, composed, units, _between), composed.places), composed.places


def readings_of(data: dict[str, Any], units: str) -> Readings:
    """Return readings given as plain data, as they would stand in a file; raises ReadingsError with every fault."""
    return _filled(read(Readings, Composed("", tree=leaves(data, "")), units, _between), {})


def _filled(readings: Readings, places: Mapping[str, Location]) -> Readings:
    """Return the readings without what empty lists say was not read yet. Raises ReadingsError if nothing is left."""
    line, square, shim = readings.centreline, readings.square, readings.shim
    if line is not None:
        line = _without_empty(line.changed(stations=tuple(one.outwards() for one in line.stations)))
    if square is not None:
        # The attempt that stands in the section itself.
        own = square.attempts or (Attempt(**{name: getattr(square, name) for name in Attempt.declared()}),)
        shared = {name: getattr(square, name) for name in _SHARED if name in square.given}
        attempts = tuple(
            one.changed(
                **{name: value for name, value in shared.items() if name not in one.given},
                number=one.number or number,
            )
            for number, one in enumerate(own, 1)
        )
        square = _without_empty(square.changed(attempts=attempts))
    if shim is not None:
        given = shim.given - {"seat", "least"}
        shim = _without_empty(shim)
        if given and not (shim.crown_gap or shim.toe or shim.tilt or shim.hull_bottom):
            shim = None
    found = readings.changed(
        centreline=line if line and line.stations else None,
        square=square if square and square.attempts else None,
        shim=shim,
    )
    if found.centreline is None and found.square is None and shim is None:
        raise ReadingsError(told("T002", "", "nothing", MM, places.get("")))
    return found


def _without_empty(part: Part) -> Part:
    """Return a section without what stands below it and was not read yet."""
    changes: dict[str, Any] = {}
    for name, value in vars(part).items():
        if isinstance(value, Keys):
            changes[name] = _without_empty(value) if _was_read(value) else None
        elif isinstance(value, tuple) and any(isinstance(one, Keys) for one in value):
            changes[name] = tuple(_without_empty(one) for one in value if _was_read(one))
    return part.changed(**changes)


def _was_read(part: Keys) -> bool:
    """Return whether anything was read of what a section has repeats of; True if it has none."""
    repeats = [value for value in vars(part).values() if isinstance(value, Repeats)]
    return not repeats or any(one.readings for one in repeats)


def _between(given: Given) -> Iterator[Fault]:
    """Yield what is wrong between the readings of a text."""
    yield from _halves(given, given.tree, "")
    stations = given.entries("centreline.stations")
    for row in stations:
        if any(given.at(f"{row}.{name}") is not None for name in _PAIRS[0]) and given.at(f"{row}.port_edge"):
            yield given.told("D126", row, "edges")
    read = [given.numbers.get(f"{row}.at") for row in stations if any(given.at(f"{row}.{side}") for side in _SIDES)]
    count = len({round(place) for place in read if place is not None})
    if read and None not in read and count < 3:
        number = f"{count} station{'s' if count != 1 else ''}"
        yield given.told("D124", "centreline.stations", "stations", number=number)
    attempts = given.entries("square.attempts")
    for name in ("port", "starboard", "further", "off_centre") if attempts else ():
        if given.at(f"square.{name}") is not None:
            yield given.told("D126", f"square.{name}", "attempt", name=name)
    for one in attempts or ["square"]:
        for name in ("setting", "first_bolt") if given.at(f"{one}.port") else ():
            if given.at(f"{one}.{name}") is None and given.at(f"square.{name}") is None:
                yield given.told("T002", f"{one}.{name}", name)
        for pair in given.entries(f"{one}.further"):
            names = [name for name in ("edge", "out", "line") if given.at(f"{pair}.{name}") is not None]
            if given.at(f"{pair}.to") is not None:
                yield from (given.told("D126", f"{pair}.{name}", "edge", name=name) for name in names)
            elif len(names) < 3:
                yield given.told("T002", pair, "further")
    points = [point for point in given.points("shim.hull_bottom") if point is not None]
    if any(b[0] <= a[0] for a, b in pairwise(points)):
        yield given.told("D124", "shim.hull_bottom", "bottom")


def _halves(given: Given, tree: Any, key: str) -> Iterator[Fault]:
    """Yield where one of two readings that go together was taken and the other was not."""
    if isinstance(tree, dict):
        for one, other in (*_PAIRS, *(pair[::-1] for pair in _PAIRS)):
            if _read(tree.get(one)) and not _read(tree.get(other)):
                yield given.told("T002", join(key, other), "half")
    below = enumerate(tree) if isinstance(tree, list) else tree.items() if isinstance(tree, dict) else ()
    for name, part in below:
        yield from _halves(given, part, join(key, str(name)))


def _read(tree: Any) -> bool:
    return tree.value is not None if isinstance(tree, Leaf) else bool(tree)


def starter_readings(boat: Boat) -> str:
    """Return a readings file for this boat: all sections with comments, the figures still to be filled in."""
    description = boat.description
    inch = description.units == "in"

    def figure(value: float) -> str:
        """A bare number in the description's units."""
        return (f"{value / MM_PER_INCH:.3f}".rstrip("0").rstrip(".") or "0") if inch else mm_text(value)

    def told(value: float) -> str:
        """A figure of a comment, in inches as the tape shows it too."""
        return f"{figure(value)} ({description.figures.inches(value)})" if inch else figure(value)

    setting = boat.fitted
    tapes = "\n".join(
        f"  #   setting {item.setting}: {told(item.slant)} from the steering post's axis, "
        f"{told(item.slant_from_post)} from its surface"
        for item in boat.tape
    )
    tape_sd = description.accuracy.tape or DEFAULT_TAPE_SD
    # Whole inches are quicker found along the hull than thousandths.
    whole = MM_PER_INCH if inch else 0.1
    rows = "\n".join(
        f"    - {{at: {figure(round(setting.station * part / whole) * whole)}, port: [], starboard: []}}"
        for part in (0.2, 0.4, 0.6, 0.8, 1.0)
    )
    lengths = ("1/32 in", "1/32 in", "1/16 in") if inch else tuple(map(MM.size, (0.5, 1.0, 2.0)))
    return filled(
        Path(__file__).with_name("starter.txt"),
        **dict(zip(("read_to", "tolerance", "least"), lengths, strict=True)),
        boat=json.dumps(description.boat, ensure_ascii=False),
        units=description.units,
        tape=f"{tape_sd:g}",
        rows=rows,
        tapes=tapes,
        tolerance_mm=f", {MM.size(0.8)}" if inch else "",
        setting=str(setting.number),
        at=figure(-description.fixing.half_spread),
    )
