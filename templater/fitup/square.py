"""From tape readings to both chock corners to the correction that squares the plank, and to its second hole."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.advice import square_findings, suspect_findings
from templater.fitup.doubt import clear_attempt, named_pairs, refuse_absurd_ring, refuse_absurd_tapes
from templater.fitup.rig import Rig, corner, rig_of, ring_distance
from templater.fitup.slots import BoltRoom, bolt_room
from templater.fitup.taken import Attempt, Both, Reading, Readings, Repeats, SquareReadings
from templater.fitup.yaw import Residual, YawFit, fit_yaw
from templater.maths.distributions import coverage_factor

#: Standard deviation of one tape reading where nothing better is known, mm: readings repeat to 1 mm; common practice.
DEFAULT_TAPE_SD = 0.5


@dataclass(frozen=True, slots=True)
class EndMove:
    """Where one chock corner stands, mm aft of its square place; negative is forward of it."""

    side: Side
    aft: float

    @property
    def stays(self) -> bool:
        """True if it stands right to 0.05 mm, the last figure shown."""
        return abs(self.aft) < 0.05


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Repeats of one quantity and side, mm; ``sd`` None for a single reading."""

    name: str
    side: Side
    count: int
    mean: float
    sd: float | None
    spread: float


@dataclass(frozen=True, slots=True)
class SecondHole:
    """The plank's second hole on its upper face: x aft of the bolt line, y to starboard of the plank's middle, mm.

    ``from_first`` is the straight distance from the first hole. ``shift`` is how far aft on the plank's face the hole's
    place lies from where the plank, as it lies now, would get it.
    """

    side: Side
    x: float
    y: float
    from_first: float
    shift: float


@dataclass(frozen=True, slots=True)
class OffCentre:
    """What a plank off the centreline does to equal tapes: yaw in degrees, and mm between the ends fore and aft."""

    offset: float
    yaw: float
    ends: float


@dataclass(frozen=True, slots=True)
class SquareResult:
    """One attempt worked out.

    Attributes:
        yaw: of the line through the chock corners, degrees, starboard end aft positive; ``yaw_sd``, ``yaw_95``: its
            standard uncertainty and the half-width of its 95 % interval, ``dof`` the degrees of freedom behind it.
        difference: mean tape starboard less port, mm; ``aim_difference`` what it should be (0 for a centred plank);
            ``difference_95`` the half-width of its 95 % interval.
        aim_port, aim_starboard: what the tape should read once square.
        ring: length from the post's axis to the tape's nought, mm, with ``ring_sd``.
        ends: both ends, port first. ``free_bolt_aft``, ``free_bolt_athwart``: how far the free bolt must go, mm,
            aft and to starboard positive.
        decided: False if readings are suspect and too few would remain without them: nothing may then be gone by.
            Where enough remain, everything here is worked out without the suspect ones, ``left_out`` in number.
        passed: decided and within tolerance; ``sure`` if the 95 % interval lies on one side of the tolerance.
        small_angle_yaw: the same yaw by the small-angle rule, for comparison only.
        off_centre: plank's middle to starboard of the centreline if measured, with its standard uncertainty.
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
    off_centre_sd: float | None
    off_centre_rows: tuple[OffCentre, ...]
    second_hole: SecondHole
    findings: tuple[Finding, ...]

    @property
    def excess(self) -> float:
        """Difference less what it should be, mm: what the tolerance is held against."""
        return self.difference - self.aim_difference


def square_all(readings: Readings, boat: Boat) -> tuple[SquareResult, ...]:
    """Return every attempt of the readings worked out, oldest first; empty without a ``square`` section.

    Raises:
        ReadingsError: if the setting or the readings cannot belong to this boat.
    """
    if readings.square is None:
        return ()
    return tuple(square(attempt, boat, readings) for attempt in readings.square.attempts)


def square(attempt: Attempt, boat: Boat, readings: Readings) -> SquareResult:
    """Return one attempt worked out: yaw, what to move, what the free bolt does, pass or fail.

    Raises:
        ReadingsError: if the setting or the readings cannot belong to this boat.
    """
    tolerance = readings.square.tolerance if readings.square else SquareReadings(()).tolerance
    rig = rig_of(boat, attempt.setting, f"{attempt.key}.setting" if attempt.key else "square.setting")
    refuse_absurd_tapes(rig, attempt, readings, boat)
    given, (attempt, left_out, decided) = attempt, clear_attempt(attempt)
    tape_sd = readings.tape_sd or boat.description.accuracy.tape or DEFAULT_TAPE_SD
    if attempt.chock_aft is not None:
        rig = replace(
            rig, aft_port=attempt.chock_aft.port.mean, aft_starboard=attempt.chock_aft.starboard.mean
        )
    try:
        fit = fit_yaw(rig, attempt, tape_sd=tape_sd, step=readings.step)
    except ReadingsError as fault:
        raise ReadingsError(*fault.findings, *suspect_findings(given)) from None
    if decided:  # else the suspect reading itself is to be read again, and that is said
        refuse_absurd_ring(rig, attempt, readings, boat, fit.ring)
        _refuse_far_off_centre(fit, boat, attempt, readings)
    factor = coverage_factor(fit.dof)
    first, goal, ring = attempt.first_bolt, rig.square_yaw, fit.ring
    free = Side.STARBOARD if first is Side.PORT else Side.PORT
    aims = {side: ring_distance(rig, first, side, goal, fit.off) - ring for side in Side}
    port_end, starboard_end = (
        EndMove(side, corner(rig, first, side, fit.yaw, fit.off)[0] - corner(rig, first, side, goal, fit.off)[0])
        for side in Side
    )
    spread = (free.sign - first.sign) * rig.half_spread
    bolt_aft = spread * (math.sin(goal) - math.sin(fit.yaw))
    bolt_athwart = spread * (math.cos(goal) - math.cos(fit.yaw))
    tape = attempt.tape
    difference = tape.starboard.mean - tape.port.mean
    aim = aims[Side.STARBOARD] - aims[Side.PORT]
    difference_95 = _difference_95(fit, tape, readings.step)
    excess = abs(difference - aim)
    room = bolt_room(boat, abs(bolt_aft), abs(bolt_athwart))
    findings = tuple(
        finding._replace(where=readings.place(finding.key))
        for finding in (
            *suspect_findings(given),
            *(square_findings(rig, attempt, boat, fit, excess, tolerance, difference_95, room) if decided else ()),
        )
    )
    return SquareResult(
        attempt=given,
        station=rig.station,
        tolerance=tolerance,
        yaw=math.degrees(fit.yaw - goal),
        yaw_sd=math.degrees(fit.sd),
        yaw_95=math.degrees(fit.sd * factor),
        dof=fit.dof,
        difference=difference,
        difference_95=difference_95,
        aim_difference=aim,
        aim_port=aims[Side.PORT],
        aim_starboard=aims[Side.STARBOARD],
        ring=ring,
        ring_sd=fit.ring_sd,
        ends=(port_end, starboard_end),
        free_side=free,
        free_bolt_aft=bolt_aft,
        free_bolt_athwart=bolt_athwart,
        room=room,
        decided=decided,
        left_out=left_out,
        passed=excess <= tolerance and decided,
        sure=abs(excess - tolerance) > difference_95 and decided,
        small_angle_yaw=small_angle_yaw(rig, difference - aim),
        reading_sd=max(fit.reading_sd, readings.step / math.sqrt(12)),
        from_repeats=fit.from_repeats,
        repeatability=_repeatability(given),
        residuals=fit.residuals,
        p=fit.p,
        off_centre=fit.off if fit.off_sd is not None else None,
        off_centre_sd=fit.off_sd,
        off_centre_rows=off_centre_rows(rig),
        second_hole=second_hole(boat, rig, attempt, fit),
        findings=findings,
    )


def small_angle_yaw(rig: Rig, difference: float) -> float:
    """Return the yaw in degrees by the small-angle rule: difference x slant / (apart x station of the bolt line)."""
    slant = ring_distance(rig, Side.PORT, Side.STARBOARD, 0.0)
    return math.degrees(difference * slant / (rig.apart * rig.station))


def off_centre_rows(rig: Rig, offsets: tuple[float, ...] = (1.0, 2.0, 5.0)) -> tuple[OffCentre, ...]:
    """Return what a plank off centre does to equal tapes: tan(yaw) = -offset / distance to the corners' line."""
    rows = []
    for offset in offsets:
        yaw = -math.atan2(offset, rig.station + (rig.aft_port + rig.aft_starboard) / 2)
        rows.append(OffCentre(offset, math.degrees(yaw), rig.apart * math.sin(yaw)))
    return tuple(rows)


def second_hole(boat: Boat, rig: Rig, attempt: Attempt, fit: YawFit) -> SecondHole:
    """Return where the plank's second hole belongs once the plank is square, on the plank's upper face.

    Straight distances along the plank become distances along its face by the arc of the upper face.
    """
    first = attempt.first_bolt
    free = Side.STARBOARD if first is Side.PORT else Side.PORT
    spread = (free.sign - first.sign) * rig.half_spread
    along = first.sign * rig.half_spread - fit.off + spread * math.cos(rig.square_yaw)
    radius = boat.plank.radius
    face = along if math.isinf(radius) else radius * math.asin(along / radius)
    shift = spread * (math.sin(fit.yaw) - math.sin(rig.square_yaw))
    return SecondHole(free, 0.0 - spread * math.sin(rig.square_yaw), face, abs(spread), shift)


def readings_both(port: tuple[float, ...], starboard: tuple[float, ...]) -> Both:
    """Return plain mm figures as readings of both sides."""
    sides = (Repeats(tuple(Reading(value, f"{value:g}") for value in values)) for values in (port, starboard))
    return Both(*sides)


def _refuse_far_off_centre(fit: YawFit, boat: Boat, attempt: Attempt, readings: Readings) -> None:
    """Refuse off-centre readings that would put a bolt beyond the plank's end."""
    room = boat.plank.chord / 2 - boat.description.fixing.half_spread
    if abs(fit.off) >= room:
        key = f"{attempt.key or 'square'}.off_centre"
        text = f"the plank would lie {abs(fit.off):.0f} mm off centre - allowed: under {room:.0f} mm"
        raise ReadingsError(Finding("T213", key, text, readings.place(key)))


def _difference_95(fit: YawFit, tape: Both, step: float) -> float:
    """Return the half-width of the 95 % interval of the tape's difference."""
    random = fit.reading_sd**2
    variances = [max(random / len(tape.side(side)), step**2 / 12) for side in Side]
    return coverage_factor(fit.dof) * math.sqrt(sum(variances))


def _repeatability(attempt: Attempt) -> tuple[Repeatability, ...]:
    rows = []
    for name, both in named_pairs(attempt):
        for side in Side:
            repeats = both.side(side)
            sd = math.sqrt(repeats.sum_of_squares / (len(repeats) - 1)) if len(repeats) > 1 else None
            spread = max(repeats.values) - min(repeats.values)
            rows.append(Repeatability(name, side, len(repeats), repeats.mean, sd, spread))
    return tuple(rows)


__all__ = [
    "DEFAULT_TAPE_SD", "EndMove", "OffCentre", "Repeatability", "SecondHole", "SquareResult",
    "off_centre_rows", "readings_both", "second_hole", "small_angle_yaw", "square", "square_all",
]  # fmt: skip
