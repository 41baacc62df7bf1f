"""Shims between plank and hull: the crown's gap filled so that bolting bends neither, and tilt taken out by a wedge.

The plank lies under the hull, crown up. A shim's thickness is counted downwards from the hull's bottom to the plank's
upper face; x aft of the bolt, y to starboard. Both shims are equally thick at the bolts, for the plank would roll
otherwise: what the readings say of a difference is told instead.
"""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

from templater.boat.solved import Boat, Shim, Side, side_of
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import GAP_LIMIT, Sifter
from templater.fitup.readings import Seat, ShimReadings, Toe
from templater.maths import fit_polynomial
from templater.reader.faults import told

#: Athwart width of a seat where neither readings nor plate give one, mm.
DEFAULT_WIDTH = 76.0
#: Thinner than this a shim cannot be made or held, mm. Common practice, no source.
THINNEST = 0.5
#: Difference of the shims at the bolts, mm, from which the readings are doubted. Common practice, no source.
ROLL = 0.5
#: Length over which the runner's toe is also told in mm.
RUNNER_LENGTH = 1000.0

GapAt = Callable[[float], float]


class ProfileRow(NamedTuple):
    """Gap between plank and hull bottom at y, as it lies and as the arc has it, and the packing's thickness, mm."""

    y: float
    gap: float
    arc_gap: float
    thickness: float


class ToeResult(NamedTuple):
    """Toe between the runners, degrees."""

    total: float  # for both together, in positive
    difference: float  # aft less fore, mm
    tilt: float | None  # that explains it, if the plank can
    lead_port: float  # the runner's angle to the centreline, fore end inboard positive, the plank's yaw included
    lead_starboard: float


class Meaning(NamedTuple):
    """What a small change at the seat does at the runner."""

    change: str  # in words
    tilt: float  # fore and aft, degrees
    seat: float  # mm of wedge from edge to edge
    toe: float  # degrees for each runner
    runner: float  # mm over a runner of 1 m


class ShimResult(NamedTuple):
    """Shims of both sides, the gap's profile and what they rest on."""

    profile: tuple[ProfileRow, ...]
    seats: tuple[Shim, Shim]
    difference: float  # mm by which the readings alone would make the starboard shim thicker; those given are equal
    measured: bool  # the gap comes from readings, not from the plank's arc
    gap_sd: float | None  # scatter of the readings about their parabola
    chock_lean: float  # the plank's slope at the chocks, degrees
    toe: ToeResult | None
    meanings: tuple[Meaning, ...]
    decided: bool  # False if repeats disagree: then no shim is to be made of these figures
    findings: tuple[Finding, ...]


def sagitta(radius: float, y: float) -> float:
    """Return how far an arc falls below its middle at half chord y. Exact; 0 for a flat plank."""
    return 0.0 if math.isinf(radius) else y * y / (radius + math.sqrt(radius * radius - y * y))


def shims(section: ShimReadings, boat: Boat, yaw: float = 0.0) -> ShimResult:
    """Return the shims; ``yaw`` of the plank in degrees. Raises ReadingsError if a seat or a gap lies off the plank."""
    figures, half_spread = boat.description.figures, boat.description.fixing.half_spread
    sifter = Sifter("T246", figures)
    section = _sifted(section, sifter)
    seat, edges = _seat(section, boat)
    outer, inner = half_spread + seat.width / 2, half_spread - seat.width / 2
    _refuse_off_the_plank(section, seat, outer, boat)
    arc_gap = _arc_gap(boat.plank.radius, section.hull_bottom, outer)
    read = [(row.at, row.gap.mean) for row in section.crown_gap]
    furthest = max(((abs(gap - arc_gap(y)), y, gap) for y, gap in read), default=(0.0, 0.0, 0.0))
    if furthest[0] > 1.0:
        _, y, gap = furthest
        sifter.tell("T243", "shim.crown_gap", off=abs(y), side=side_of(y), gap=gap, arc=arc_gap(y))
    as_read, gap_sd = arc_gap, None
    if len({y for y, _ in read}) >= 4:
        fit = fit_polynomial(read, 2)
        as_read, gap_sd = (lambda y: max(0.0, fit.at(y))), fit.residual_sd
    elif read:
        sifter.tell("T244", "shim.crown_gap", count=str(len(read)))
    # A plank that rocked while the gaps were read, or a hull bottom lower on one side, shows as a slope athwart.
    rock = (as_read(half_spread) - as_read(-half_spread)) / (2 * half_spread)

    def gap_at(y: float) -> float:
        return as_read(y) - rock * y

    lean = 0.0 if math.isinf(boat.plank.radius) else math.degrees(math.asin(boat.span / 2 / boat.plank.radius))
    toe = None
    if section.toe is not None:
        toe = _toe(section.toe, lean, yaw)
        if toe.tilt is None and abs(toe.total) > 2e-9:
            sifter.tell("T245", "shim.toe", each=f"{toe.total / 2:.2f}", lean=f"{lean:.1f}")
    tilts = {side: section.tilt.side(side).mean if section.tilt else (toe.tilt or 0.0) if toe else 0.0 for side in Side}
    least = section.least if section.least is not None else boat.description.fixing.shim
    port, starboard = (_seat_shim(side, gap_at, least, seat, edges, tilts[side], boat) for side in Side)
    difference = starboard.at_bolt - port.at_bolt + 2 * half_spread * rock
    thickest = max(port.at_bolt, starboard.at_bolt)
    seats = (port._replace(at_bolt=thickest), starboard._replace(at_bolt=thickest))
    thinnest = min(min(item.corners) for item in seats)
    if thinnest < THINNEST:
        sifter.tell("T241", "shim.least", thinnest=thinnest, least=1.0)
    if sifter.decided and abs(difference) > ROLL:
        drop = abs(difference) * boat.span / (2 * half_spread)
        sifter.tell("T247", "shim", side=side_of(difference), by=abs(difference), drop=drop)
    if sifter.decided and section.tilt and abs(tilts[Side.PORT] - tilts[Side.STARBOARD]) > 1.0:
        sifter.tell("T242", "shim.tilt", **{side.word: f"{tilt:.1f}" for side, tilt in tilts.items()})
    places = (-outer, -half_spread, -inner, -inner / 2, 0.0, inner / 2, inner, half_spread, outer)
    return ShimResult(
        profile=tuple(ProfileRow(y, gap_at(y), arc_gap(y), least + gap_at(y)) for y in places),
        seats=seats,
        difference=difference,
        measured=gap_sd is not None,
        gap_sd=gap_sd,
        chock_lean=lean,
        toe=toe,
        meanings=_meanings(lean, seat.length),
        decided=sifter.decided,
        findings=tuple(sifter.findings),
    )


def _sifted(section: ShimReadings, sifter: Sifter) -> ShimReadings:
    """Return the section without repeats that stand apart."""
    toe, tilt = section.toe, section.tilt
    tilt = None if tilt is None else sifter.both("tilt", tilt, angle=True)
    gaps = tuple(
        row.changed(gap=sifter.sift(f"crown gap at {sifter.figures.length(row.at, 0)}", row.gap, GAP_LIMIT))
        for row in section.crown_gap
    )
    if toe is not None:
        toe = toe.changed(fore=sifter.sift("toe fore", toe.fore), aft=sifter.sift("toe aft", toe.aft))
    return section.changed(tilt=tilt, crown_gap=gaps, toe=toe)


def _meanings(lean: float, seat_length: float) -> tuple[Meaning, ...]:
    """Return what a degree of tilt and a mm at the seat's edge mean at the runner, whose chock leans with the plank."""
    one_mm = math.degrees(math.atan(1.0 / seat_length))
    rows = []
    for change, tilt in (("one degree of tilt", 1.0), ("one millimetre at the seat's edge", one_mm)):
        toe, seat = toe_of_tilt(tilt, lean), seat_length * math.tan(math.radians(tilt))
        rows.append(Meaning(change, tilt, seat, toe, RUNNER_LENGTH * math.tan(math.radians(toe))))
    return tuple(rows)


def toe_of_tilt(tilt: float, lean: float) -> float:
    """Return how far one runner toes in, degrees, when a plank whose chocks lean outboard is tilted fore edge up.

    The chock's axis, leaning by ``lean`` from athwart, is turned by ``tilt`` about the athwart axis; the runner stands
    square to it and runs on level ice: tan(toe) = tan(lean) sin(tilt).
    """
    return math.degrees(math.atan(math.tan(math.radians(lean)) * math.sin(math.radians(tilt))))


def _refuse_off_the_plank(section: ShimReadings, seat: Seat, outer: float, boat: Boat) -> None:
    """Refuse places that lie beyond the plank; ``outer`` is how far the seats reach from its middle."""
    half, width, figures = boat.plank.chord / 2, boat.description.plank.width, boat.description.figures
    faults = []
    if seat.length > 2 * width:
        faults.append(told("T240", "shim.seat.length", "length", figures, length=seat.length, width=width))
    if outer > half:
        faults.append(told("T240", "shim.seat.width", "width", figures, width=seat.width, reach=outer, half=half))
    faults += [
        told("T240", f"shim.crown_gap.{number}.at", "gap", figures, at=row.at, least=-half, most=half)
        for number, row in enumerate(section.crown_gap)
        if abs(row.at) > half
    ]
    if faults:
        raise ReadingsError(*faults)


def _seat(section: ShimReadings, boat: Boat) -> tuple[Seat, tuple[float, float]]:
    """Return the seat and its fore and aft edges from the bolt."""
    plank, plate = boat.description.plank, boat.description.fixing.plate
    if section.seat is not None:
        return section.seat, (-section.seat.length / 2, section.seat.length / 2)
    width = plate.width if plate is not None else DEFAULT_WIDTH
    return Seat(length=plank.width, width=width), (-plank.fore_edge, plank.width - plank.fore_edge)


def _arc_gap(radius: float, bottom: tuple[tuple[float, float], ...], reach: float) -> GapAt:
    """Return the gap as a function of y: the arc's fall and the bottom's rise, touching where they come nearest."""

    def raw(y: float) -> float:
        return sagitta(radius, y) + _rise(bottom, y)

    steps = [reach * n / 100 for n in range(-100, 101)] + [y for y, _ in bottom if abs(y) <= reach]
    nearest = min(raw(y) for y in steps)
    return lambda y: raw(y) - nearest


def _rise(bottom: tuple[tuple[float, float], ...], y: float) -> float:
    """Return the hull bottom's rise at y, straight between the points given, level beyond them."""
    if not bottom:
        return 0.0
    y = max(y, bottom[0][0])
    for (y0, z0), (y1, z1) in pairwise(bottom):
        if y <= y1:
            return z0 + (z1 - z0) * (y - y0) / (y1 - y0)
    return bottom[-1][1]


def _seat_shim(
    side: Side, gap: GapAt, least: float, seat: Seat, edges: tuple[float, float], tilt: float, boat: Boat
) -> Shim:
    """Return one seat's shim, which bears on its edges: the gap's chord athwart, the tilt's wedge fore and aft."""
    middle, half = side.sign * boat.description.fixing.half_spread, seat.width / 2
    port, starboard = gap(middle - half), gap(middle + half)
    slope_x = 0.0 - math.tan(math.radians(tilt))
    x0, x1 = edges
    at_bolt = least + (port + starboard) / 2 + max(-slope_x * x0, -slope_x * x1)
    return Shim(side, x0, x1, -half, half, at_bolt, slope_x, (starboard - port) / seat.width, boat.bolt_hole, tilt)


def _toe(toe: Toe, lean: float, yaw: float) -> ToeResult:
    """Return toe, the tilt that explains it if the plank can, and each runner's lead."""
    difference = toe.aft.mean - toe.fore.mean
    each = math.degrees(math.atan2(difference / 2, toe.apart))
    ratio = math.tan(math.radians(each)) / math.tan(math.radians(lean)) if lean > 0.2 else math.inf
    tilt = math.degrees(math.asin(ratio)) if abs(ratio) <= math.sin(math.radians(10.0)) else None
    return ToeResult(2 * each, difference, tilt, each + yaw, each - yaw)
