"""From tape readings to both chock corners to the correction that squares the plank on its first bolt.

The second hole is no result: it is marked through sleeve and slot once the tapes agree, because it must suit the floor
as it is drilled. Only the place to expect it at is given. Also what is worth saying about one round of squaring, and
which readings cannot be right and are refused.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import SLIPS, Sifter
from templater.fitup.readings import Attempt, Readings
from templater.fitup.rig import TOLERANCE, BoltRoom, Rig, Verdict, bolt_room, corner, rig_of, ring_distance, slant
from templater.fitup.yaw import DISAGREE, YawFit, fit_yaw
from templater.maths.arcs import along_arc
from templater.maths.distributions import coverage_factor

#: Standard deviation of one tape reading where nothing better is known, mm: readings repeat to 1 mm; common practice.
DEFAULT_TAPE_SD = 0.5
#: Share of its expected length by which a single tape reading may be off before it is refused: no misread figure but
#: another unit, or half of a figure written with a comma, is that far off. A plank 15 degrees askew makes 0.14 of it.
ABSURD = 0.5
#: Furthest that a loop may take the tape's zero from the post's surface, mm, and furthest beyond the post, where no
#: loop can take it; more is refused. A loop takes up to 60 mm. Common practice, no source.
USUAL_RING, LONGEST_RING, BEYOND_POST = 60.0, 500.0, 100.0
#: How far the loop that the tapes give may lie from the one that was measured, mm.
NEAR_RING = 25.0
#: Standard deviation of one reading above which the repeats are called poor, mm. Readings repeat to 1 mm: common
#: practice, no source; the half-width 1 mm of a rectangular distribution is 0.58 mm.
POOR_SD = 1.0
#: How near the difference between the sides must come to a slip of a whole side, mm.
NEAR_SLIP = 0.7


class EndMove(NamedTuple):
    """Where one chock corner stands, mm aft of its square place; negative is forward of it."""

    side: Side
    aft: float

    @property
    def stays(self) -> bool:
        """True if it stands right to 0.05 mm, the last figure shown."""
        return abs(self.aft) < 0.05


class Repeatability(NamedTuple):
    """Repeats of one quantity and side without those left out, mm."""

    name: str
    side: Side
    number: int
    mean: float
    sd: float | None  # None for a single reading
    spread: float


class SecondHole(NamedTuple):
    """Where to expect the plank's second hole on its upper face; it is marked through sleeve and slot."""

    side: Side
    x: float  # mm aft of the bolt line
    y: float  # mm to starboard of the plank's middle
    from_first: float  # straight distance from the first hole


class OffCentre(NamedTuple):
    """What a plank off the centreline does to equal tapes: yaw in degrees, and mm between the ends fore and aft."""

    offset: float
    yaw: float
    ends: float


class Surroundings(NamedTuple):
    """What is known beside the tapes, mm."""

    post: float = 0.0  # steering post's axis to starboard of the centreline
    post_sd: float = 0.0
    centring: float = 0.0  # standard deviation of the plank's middle about the centreline, until that is read


#: Plank and post on the centreline.
CENTRED = Surroundings()


class SquareResult(NamedTuple):
    """One attempt worked out, mm and degrees; without its suspect readings, where enough remain."""

    attempt: Attempt  # as given
    tolerance: float
    yaw: float  # of the line through the chock corners, starboard end aft positive
    yaw_95: float  # half-width of its 95 % interval
    difference: float  # mean tape starboard less port
    difference_95: float  # half-width of the 95 % interval of difference less aim
    aim_difference: float  # what it should be, 0 for a centred plank and post
    aim_port: float  # what the tape should read once square
    aim_starboard: float
    ring: float  # from the post's axis to the tape's zero
    ends: tuple[EndMove, EndMove]  # port first
    free_side: Side
    free_bolt_aft: float  # how far the free bolt must go
    room: BoltRoom
    decided: bool  # False if readings are suspect and too few remain without them: nothing may then be gone by
    left_out: int  # how many suspect readings were left out
    passed: bool  # decided and within tolerance
    sure: bool  # the 95 % interval lies on one side of the tolerance
    reading_sd: float
    from_repeats: bool
    repeatability: tuple[Repeatability, ...]
    p: float | None  # chance of residuals this large
    off_centre: float | None  # plank's middle to starboard of the centreline, if measured
    off_centre_sd: float  # that of the centring until it is measured
    post_offset: float  # steering post to starboard of the centreline as allowed for
    off_centre_rows: tuple[OffCentre, ...]
    second_hole: SecondHole
    findings: tuple[Finding, ...]

    @property
    def excess(self) -> float:
        """Difference less what it should be, mm: what the tolerance is held against."""
        return self.difference - self.aim_difference


def square_all(readings: Readings, boat: Boat, beside: Surroundings = CENTRED) -> tuple[SquareResult, ...]:
    """Return every attempt worked out, oldest first; empty without a ``square`` section. Raises as ``square``."""
    if readings.square is None:
        return ()
    return tuple(square(attempt, boat, readings, beside) for attempt in readings.square.attempts)


def square(attempt: Attempt, boat: Boat, readings: Readings, beside: Surroundings = CENTRED) -> SquareResult:
    """Return one attempt worked out: yaw, what to move, what the free bolt does, pass or fail.

    Raises ReadingsError if the setting or the readings cannot belong to this boat.
    """
    tolerance = readings.square.tolerance if readings.square else TOLERANCE
    key = attempt.dotted
    rig = rig_of(boat, attempt.setting, f"{key}.setting")._replace(post=beside.post)
    _refuse_absurd_tapes(rig, attempt, boat)
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
        _refuse_absurd_fit(rig, attempt, boat, fit)
    first, goal = attempt.first_bolt, rig.square_yaw
    free = Side.STARBOARD if first is Side.PORT else Side.PORT
    aims = {side: ring_distance(rig, first, side, goal, fit.off) - fit.ring for side in Side}
    port_end, starboard_end = (
        EndMove(side, corner(rig, first, side, fit.yaw, fit.off)[0] - corner(rig, first, side, goal, fit.off)[0])
        for side in Side
    )
    spread = (free.sign - first.sign) * rig.half_spread
    bolt_aft = spread * (math.sin(goal) - math.sin(fit.yaw))
    difference = attempt.starboard.mean - attempt.port.mean
    aim = aims[Side.STARBOARD] - aims[Side.PORT]
    difference_95 = _difference_95(rig, fit, attempt, readings.read_to, beside.post_sd)
    excess = abs(difference - aim)
    room = bolt_room(boat, abs(bolt_aft), abs(spread * (math.cos(goal) - math.cos(fit.yaw))))
    findings = sifter.findings
    if sifter.decided:
        findings += _findings(rig, attempt, boat, fit, excess, tolerance, difference_95, room)
    measured = attempt.off_centre is not None or (bool(attempt.further) and beside.centring > 0)
    return SquareResult(
        attempt=given,
        tolerance=tolerance,
        yaw=math.degrees(fit.yaw - goal),
        yaw_95=math.degrees(fit.sd * coverage_factor(fit.dof)),
        difference=difference,
        difference_95=difference_95,
        aim_difference=aim,
        aim_port=aims[Side.PORT],
        aim_starboard=aims[Side.STARBOARD],
        ring=fit.ring,
        ends=(port_end, starboard_end),
        free_side=free,
        free_bolt_aft=bolt_aft,
        room=room,
        decided=sifter.decided,
        left_out=sifter.left_out,
        passed=excess <= tolerance and sifter.decided,
        sure=abs(excess - tolerance) > difference_95 and sifter.decided,
        reading_sd=max(fit.reading_sd, readings.read_to / math.sqrt(12)),
        from_repeats=fit.from_repeats,
        repeatability=_repeatability(attempt),
        p=fit.p,
        off_centre=fit.off if measured else None,
        off_centre_sd=fit.off_sd,
        post_offset=rig.post,
        off_centre_rows=off_centre_rows(rig),
        second_hole=_second_hole(boat, rig, first, free, fit.off),
        findings=tuple(findings),
    )


def off_centre_rows(rig: Rig, offsets: tuple[float, ...] = (1.0, 2.0, 5.0)) -> tuple[OffCentre, ...]:
    """Return what a plank off centre does to equal tapes: tan(yaw) = -offset / distance to the corners' line."""
    distance = rig.station + (rig.aft_port + rig.aft_starboard) / 2
    yaws = [-math.atan2(offset, distance) for offset in offsets]
    rows = zip(offsets, yaws, strict=True)
    return tuple(OffCentre(off, math.degrees(yaw), rig.apart * math.sin(yaw)) for off, yaw in rows)


def _second_hole(boat: Boat, rig: Rig, first: Side, free: Side, off: float) -> SecondHole:
    """Return where to expect the plank's second hole once the plank is square: along its face, by the face's arc."""
    spread = (free.sign - first.sign) * rig.half_spread
    along = along_arc(boat.plank.radius, first.sign * rig.half_spread - off + spread * math.cos(rig.square_yaw))
    return SecondHole(free, 0.0 - spread * math.sin(rig.square_yaw), along, abs(spread))


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


def _ring_fits(boat: Boat, ring: float) -> bool:
    """Return whether a loop of that length round the boat's steering post is nothing odd."""
    radius = boat.description.steering_post.diameter / 2
    return -radius <= ring <= radius + USUAL_RING


def _refuse_absurd_tapes(rig: Rig, attempt: Attempt, boat: Boat) -> None:
    """Refuse tape readings that no plank of this boat can give, saying what the tape should read."""
    expected, say = slant(rig, rig.station), rig.figures.length
    faults = [
        Finding("T214", one.key, f"{one.text}, taken as {say(one.value)}: {_should(rig, attempt, boat)}")
        for one in (*attempt.port.readings, *attempt.starboard.readings)
        if abs(one.value - expected) > ABSURD * expected
    ]
    if faults:
        raise ReadingsError(*faults)


def _refuse_absurd_fit(rig: Rig, attempt: Attempt, boat: Boat, fit: YawFit) -> None:
    """Refuse readings that put the tape's zero where no loop takes it or far from where it was measured.

    Likewise off-centre readings that would put a bolt beyond the plank's end.
    """
    key, length, radius = attempt.dotted, rig.figures.length, boat.description.steering_post.diameter / 2
    where = (
        f"these readings put the tape's zero {length(abs(fit.ring), 0)} "
        f"{'aft of' if fit.ring >= 0 else 'beyond'} the steering post's axis"
    )
    if attempt.ring is not None:
        if abs(fit.ring - attempt.ring) > NEAR_RING:
            text = f"{where}, but ring is {length(attempt.ring)}: {_should(rig, attempt, boat)}"
            raise ReadingsError(Finding("T214", key, text))
    elif not -radius - BEYOND_POST <= fit.ring <= radius + LONGEST_RING:
        raise ReadingsError(Finding("T214", key, f"{where}: {_should(rig, attempt, boat)}"))
    room = boat.plank.chord / 2 - boat.description.fixing.half_spread
    if abs(fit.off) >= room:
        text = f"the plank would lie {length(abs(fit.off), 0)} off centre - allowed: under {length(room, 0)}"
        raise ReadingsError(Finding("T213", f"{key}.off_centre", text))


def _should(rig: Rig, attempt: Attempt, boat: Boat) -> str:
    """Say what the tape should read, as the starter file does."""
    ring = boat.description.steering_post.diameter / 2 if attempt.ring is None else attempt.ring
    from_ = "from the steering post's surface" if attempt.ring is None else "with that ring"
    expected = rig.figures.length(slant(rig, rig.station) - ring)
    return f"at setting {rig.setting} a tape should read about {expected} {from_} - check unit, setting and figures"


def _findings(
    rig: Rig, attempt: Attempt, boat: Boat, fit: YawFit, excess: float, tolerance: float, within: float, room: BoltRoom
) -> list[Finding]:
    """Return the findings of one attempt, the most urgent first."""
    length, fine = rig.figures.length, rig.figures.fine
    found: list[tuple[str, str]] = []
    difference = abs(attempt.starboard.mean - attempt.port.mean)
    slip = next((what for slip, what in SLIPS if abs(difference - slip) <= NEAR_SLIP), "")
    if slip:
        text = f"all readings of one side lie apart from the other's by about {slip} - or the plank really is askew"
        found.append(("T228", text))
    if excess > tolerance:
        text = f"tapes differ by {length(excess)} from what they should; allowed {length(tolerance)} - move as advised"
        found.append(("T221", text))
    elif excess + within > tolerance:
        text = f"within tolerance, but this is only sure to {length(within)}: repeat the tape readings"
        if attempt.off_centre is None:
            text += ", and measure off_centre, how far the chock corners lie from the centreline"
        found.append(("T222", text))
    if fit.from_repeats and fit.reading_sd > POOR_SD:
        text = (
            f"repeats scatter by {length(fit.reading_sd)} (typical error of one reading); {length(1.0, 0)} is usual - "
            "same edge of the tape, even tension, read at eye level"
        )
        found.append(("T223", text))
    if fit.p is not None and fit.p < DISAGREE:
        worst = max(fit.residuals, key=lambda row: abs(row.residual) / row.sd)
        text = (
            f"readings of different kinds disagree (chance {fit.p:.1%}): the worst is {worst.name} "
            f"{worst.side.name.lower()}, {rig.figures.signed(worst.residual)} - is the plank off centre, or the hull "
            "uneven there?"
        )
        found.append(("T224", text))
    found += _setting_findings(rig, attempt, boat, fit)
    if excess > tolerance and room.verdict is not Verdict.FITS:
        move = f"a bolt already through the plank must go {fine(room.move_fore_aft, 1)} fore and aft"
        play = fine(room.play_fore_aft, 1)
        text = (
            f"{move}; its play of {play} allows that only if it now stands on the far side"
            if room.verdict is Verdict.DEPENDS
            else f"{move}, but its play is {play}: mark and drill the plank's second hole only once the tapes agree"
        )
        found.append(("T226", text))
    if min(len(attempt.port.readings), len(attempt.starboard.readings)) < 3:
        text = "three readings or more on each side show a misread figure and how sure the result is"
        found.append(("T227", text))
    return [Finding(code, attempt.dotted, text) for code, text in found]


def _setting_findings(rig: Rig, attempt: Attempt, boat: Boat, fit: YawFit) -> list[tuple[str, str]]:
    """Say so if the loop's length is odd and was not measured; and whether another setting would make it likely."""
    if attempt.ring is not None or _ring_fits(boat, fit.ring):
        return []
    mean = (attempt.port.mean + attempt.starboard.mean) / 2
    fitting = [
        str(setting.number)
        for setting in boat.settings
        if setting.number != attempt.setting and _ring_fits(boat, slant(rig, setting.station) - mean)
    ]
    where = f"these readings put the tape's zero {rig.figures.length(fit.ring, 0)} from the steering post's axis"
    if fitting:
        text = f"{where}; setting {' or '.join(fitting)} would fit better - a long ring is fine, a wrong setting is not"
        return [("T225", text)]
    text = f"{where}: measure that, and write it down as ring, or look whether both sides carry the same slip"
    return [("T229", text)]
