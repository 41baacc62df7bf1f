"""From tape readings to both chock corners to the correction that squares the plank on its first bolt.

The second hole is no result: it is marked through sleeve and slot once the tapes agree, because it must suit the floor
as it is drilled. Only the place to expect it at is given.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import Sifter
from templater.fitup.readings import Attempt, Readings
from templater.fitup.rig import TOLERANCE, BoltRoom, Rig, bolt_room, corner, rig_of, ring_distance, slant
from templater.fitup.square_findings import refuse_absurd_fit, refuse_absurd_tapes, square_findings
from templater.fitup.yaw import Residual, YawFit, fit_yaw
from templater.maths.arcs import along_arc
from templater.maths.distributions import coverage_factor

#: Standard deviation of one tape reading where nothing better is known, mm: readings repeat to 1 mm; common practice.
DEFAULT_TAPE_SD = 0.5


class EndMove(NamedTuple):
    """Where one chock corner stands, mm aft of its square place; negative is forward of it."""

    side: Side
    aft: float

    @property
    def stays(self) -> bool:
        """True if it stands right to 0.05 mm, the last figure shown."""
        return abs(self.aft) < 0.05


class Repeatability(NamedTuple):
    """Repeats of one quantity and side without those left out, mm; ``sd`` None for a single reading."""

    name: str
    side: Side
    number: int
    mean: float
    sd: float | None
    spread: float


class SecondHole(NamedTuple):
    """Where to expect the plank's second hole on its upper face: x aft of the bolt line, y to starboard of its middle.

    ``from_first`` is the straight distance from the first hole. The hole itself is marked through sleeve and slot.
    """

    side: Side
    x: float
    y: float
    from_first: float


class OffCentre(NamedTuple):
    """What a plank off the centreline does to equal tapes: yaw in degrees, and mm between the ends fore and aft."""

    offset: float
    yaw: float
    ends: float


class Surroundings(NamedTuple):
    """What is known beside the tapes, mm.

    Attributes:
        post: steering post's axis to starboard of the centreline, with ``post_sd``.
        centring: standard deviation of the plank's middle about the centreline, which counts until it is read.
    """

    post: float = 0.0
    post_sd: float = 0.0
    centring: float = 0.0


#: Plank and post on the centreline.
CENTRED = Surroundings()


class SquareResult(NamedTuple):
    """One attempt worked out.

    Attributes:
        yaw: of the line through the chock corners, degrees, starboard end aft positive; ``yaw_sd``, ``yaw_95``: its
            standard uncertainty and the half-width of its 95 % interval, ``dof`` the degrees of freedom behind it.
        difference: mean tape starboard less port, mm; ``aim_difference`` what it should be (0 for a centred plank
            and post); ``difference_95`` the half-width of the 95 % interval of difference less aim.
        aim_port, aim_starboard: what the tape should read once square.
        ring: length from the post's axis to the tape's zero, mm, with ``ring_sd``.
        ends: both ends, port first. ``free_bolt_aft``, ``free_bolt_athwart``: how far the free bolt must go, mm,
            aft and to starboard positive.
        decided: False if readings are suspect and too few would remain without them: nothing may then be gone by.
            Where enough remain, everything here is worked out without the suspect ones, ``left_out`` in number.
        passed: decided and within tolerance; ``sure`` if the 95 % interval lies on one side of the tolerance.
        small_angle_yaw: the same yaw by the small-angle rule, for comparison only.
        off_centre: plank's middle to starboard of the centreline if measured; ``off_centre_sd`` its standard
            uncertainty, that of the centring until it is measured.
        post_offset: steering post to starboard of the centreline as allowed for.
    """

    attempt: Attempt
    station: float
    tolerance: float
    yaw: float
    yaw_sd: float
    yaw_95: float
    dof: float
    difference: float
    difference_95: float
    aim_difference: float
    aim_port: float
    aim_starboard: float
    ring: float
    ring_sd: float
    ends: tuple[EndMove, EndMove]
    free_side: Side
    free_bolt_aft: float
    free_bolt_athwart: float
    room: BoltRoom
    decided: bool
    left_out: int
    passed: bool
    sure: bool
    small_angle_yaw: float
    reading_sd: float
    from_repeats: bool
    repeatability: tuple[Repeatability, ...]
    residuals: tuple[Residual, ...]
    p: float | None
    off_centre: float | None
    off_centre_sd: float
    post_offset: float
    off_centre_rows: tuple[OffCentre, ...]
    second_hole: SecondHole
    findings: tuple[Finding, ...]

    @property
    def excess(self) -> float:
        """Difference less what it should be, mm: what the tolerance is held against."""
        return self.difference - self.aim_difference


def square_all(readings: Readings, boat: Boat, beside: Surroundings = CENTRED) -> tuple[SquareResult, ...]:
    """Return every attempt of the readings worked out, oldest first; empty without a ``square`` section.

    Raises:
        ReadingsError: if the setting or the readings cannot belong to this boat.
    """
    if readings.square is None:
        return ()
    return tuple(square(attempt, boat, readings, beside) for attempt in readings.square.attempts)


def square(attempt: Attempt, boat: Boat, readings: Readings, beside: Surroundings = CENTRED) -> SquareResult:
    """Return one attempt worked out: yaw, what to move, what the free bolt does, pass or fail.

    Raises:
        ReadingsError: if the setting or the readings cannot belong to this boat.
    """
    tolerance = readings.square.tolerance if readings.square else TOLERANCE
    key = attempt.dotted
    rig = rig_of(boat, attempt.setting, f"{key}.setting")._replace(post=beside.post)
    refuse_absurd_tapes(rig, attempt, boat)
    sifter = Sifter("T220", rig.figures)
    given, attempt = attempt, _sifted(attempt, sifter)
    if attempt.chock_aft is not None:
        rig = rig._replace(aft_port=attempt.chock_aft.port.mean, aft_starboard=attempt.chock_aft.starboard.mean)
    tape_sd = readings.tape or boat.description.accuracy.tape or DEFAULT_TAPE_SD
    try:
        fit = fit_yaw(
            rig, attempt, tape_sd=tape_sd, step=readings.read_to, centring=beside.centring, post_sd=beside.post_sd
        )
    except ReadingsError as fault:
        raise ReadingsError(*fault.findings, *sifter.findings) from None
    if sifter.decided:  # else the suspect reading itself is to be read again, and that is said
        refuse_absurd_fit(rig, attempt, boat, fit)
    first, goal = attempt.first_bolt, rig.square_yaw
    free = Side.STARBOARD if first is Side.PORT else Side.PORT
    aims = {side: ring_distance(rig, first, side, goal, fit.off) - fit.ring for side in Side}
    port_end, starboard_end = (
        EndMove(side, corner(rig, first, side, fit.yaw, fit.off)[0] - corner(rig, first, side, goal, fit.off)[0])
        for side in Side
    )
    spread = (free.sign - first.sign) * rig.half_spread
    bolt_aft = spread * (math.sin(goal) - math.sin(fit.yaw))
    bolt_athwart = spread * (math.cos(goal) - math.cos(fit.yaw))
    difference = attempt.starboard.mean - attempt.port.mean
    aim = aims[Side.STARBOARD] - aims[Side.PORT]
    difference_95 = _difference_95(rig, fit, attempt, readings.read_to, beside.post_sd)
    excess = abs(difference - aim)
    room = bolt_room(boat, abs(bolt_aft), abs(bolt_athwart))
    findings = sifter.findings
    if sifter.decided:
        findings += square_findings(rig, attempt, boat, fit, excess, tolerance, difference_95, room)
    measured = attempt.off_centre is not None or (bool(attempt.further) and beside.centring > 0)
    return SquareResult(
        attempt=given,
        station=rig.station,
        tolerance=tolerance,
        yaw=math.degrees(fit.yaw - goal),
        yaw_sd=math.degrees(fit.sd),
        yaw_95=math.degrees(fit.sd * coverage_factor(fit.dof)),
        dof=fit.dof,
        difference=difference,
        difference_95=difference_95,
        aim_difference=aim,
        aim_port=aims[Side.PORT],
        aim_starboard=aims[Side.STARBOARD],
        ring=fit.ring,
        ring_sd=fit.ring_sd,
        ends=(port_end, starboard_end),
        free_side=free,
        free_bolt_aft=bolt_aft,
        free_bolt_athwart=bolt_athwart,
        room=room,
        decided=sifter.decided,
        left_out=sifter.left_out,
        passed=excess <= tolerance and sifter.decided,
        sure=abs(excess - tolerance) > difference_95 and sifter.decided,
        small_angle_yaw=small_angle_yaw(rig, difference - aim),
        reading_sd=max(fit.reading_sd, readings.read_to / math.sqrt(12)),
        from_repeats=fit.from_repeats,
        repeatability=_repeatability(attempt),
        residuals=fit.residuals,
        p=fit.p,
        off_centre=fit.off if measured else None,
        off_centre_sd=fit.off_sd,
        post_offset=rig.post,
        off_centre_rows=off_centre_rows(rig),
        second_hole=_second_hole(boat, rig, first, free, fit.off),
        findings=tuple(findings),
    )


def small_angle_yaw(rig: Rig, difference: float) -> float:
    """Return the yaw in degrees by the small-angle rule: difference x slant / (apart x station of the bolt line)."""
    return math.degrees(difference * slant(rig, rig.station) / (rig.apart * rig.station))


def off_centre_rows(rig: Rig, offsets: tuple[float, ...] = (1.0, 2.0, 5.0)) -> tuple[OffCentre, ...]:
    """Return what a plank off centre does to equal tapes: tan(yaw) = -offset / distance to the corners' line."""
    rows = []
    for offset in offsets:
        yaw = -math.atan2(offset, rig.station + (rig.aft_port + rig.aft_starboard) / 2)
        rows.append(OffCentre(offset, math.degrees(yaw), rig.apart * math.sin(yaw)))
    return tuple(rows)


def _second_hole(boat: Boat, rig: Rig, first: Side, free: Side, off: float) -> SecondHole:
    """Return where to expect the plank's second hole once the plank is square, on the plank's upper face.

    Straight distances along the plank become distances along its face by the arc of the upper face.
    """
    spread = (free.sign - first.sign) * rig.half_spread
    along = first.sign * rig.half_spread - off + spread * math.cos(rig.square_yaw)
    return SecondHole(
        free, 0.0 - spread * math.sin(rig.square_yaw), along_arc(boat.plank.radius, along), abs(spread)
    )


def _sifted(attempt: Attempt, sifter: Sifter) -> Attempt:
    """Return the attempt without its suspect readings."""
    off, chock = attempt.off_centre, attempt.chock_aft
    return sifter.both("tape", attempt).changed(
        further=tuple(sifter.both(pair.name, pair) for pair in attempt.further),
        off_centre=None if off is None else sifter.both("off centre", off),
        chock_aft=None if chock is None else sifter.both("chock aft of the bolts", chock),
    )


def _difference_95(rig: Rig, fit: YawFit, attempt: Attempt, step: float, post_sd: float) -> float:
    """Return the half-width of the 95 % interval of the tapes' difference less what it should be.

    What it should be is no surer than the places of plank and post athwart, by which it changes at the corners' slant.
    """
    tapes = sum(max(fit.reading_sd**2 / len(attempt.side(side).readings), step**2 / 12) for side in Side)
    aim = (rig.apart / slant(rig, rig.station)) ** 2 * (fit.off_sd**2 + post_sd**2)
    # Welch and Satterthwaite (JCGM 100:2008, G.4.1): the aim's part counts as known.
    return coverage_factor(fit.dof * ((tapes + aim) / tapes) ** 2 if tapes else math.inf) * math.sqrt(tapes + aim)


def _repeatability(attempt: Attempt) -> tuple[Repeatability, ...]:
    rows = []
    for name, both in attempt.pairs():
        for side in Side:
            repeats, values = both.side(side), both.side(side).values
            sd = math.sqrt(repeats.sum_of_squares / (len(values) - 1)) if len(values) > 1 else None
            rows.append(Repeatability(name, side, len(values), repeats.mean, sd, max(values) - min(values)))
    return tuple(rows)
