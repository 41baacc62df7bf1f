"""From tape readings to both chock corners to the correction that squares the plank on its first bolt.

The second hole is no result: it is marked through sleeve and slot once the tapes agree, because it must suit the floor
as it is drilled. Only the place to expect it at is given. Also what is worth saying about one round of squaring, and
which readings cannot be right and are refused.
"""

import math
from typing import NamedTuple

from templater.boat.solved import TOLERANCE, Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import SLIPS, Sifter
from templater.fitup.readings import DEFAULT_TAPE_SD, Attempt, Readings
from templater.fitup.rig import CENTRED, DISAGREE, BoltRoom, Rig, Surroundings, Verdict, Yaw, fit_yaw, rig_of
from templater.maths import along_arc, coverage_factor
from templater.reader.faults import told

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
    ends: tuple[EndMove, ...]  # port first
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
    off_centre_turn: OffCentre
    second_hole: SecondHole
    findings: tuple[Finding, ...]

    @property
    def excess(self) -> float:
        """Difference less what it should be, mm: what the tolerance is held against."""
        return self.difference - self.aim_difference


def square(attempt: Attempt, boat: Boat, readings: Readings, beside: Surroundings = CENTRED) -> SquareResult:
    """Return one attempt worked out; raises ReadingsError if its setting or readings cannot belong to this boat."""
    tolerance, step = readings.square.tolerance if readings.square else TOLERANCE, readings.read_to
    first = attempt.first_bolt
    rig = rig_of(boat, attempt.setting, first, beside, f"{attempt.dotted}.setting")
    _refuse_absurd_tapes(rig, attempt)
    sifter = Sifter("T220", rig.figures)
    given, attempt = attempt, _sifted(attempt, sifter)
    if attempt.chock_aft is not None:
        rig = rig._replace(aft={side: attempt.chock_aft.side(side).mean for side in Side})
    tape_sd = readings.tape or boat.description.accuracy.tape or DEFAULT_TAPE_SD
    try:
        fit = fit_yaw(rig, attempt, tape_sd=tape_sd, step=step)
    except ReadingsError as fault:
        raise ReadingsError(*fault.findings, *sifter.findings) from None
    if sifter.decided:  # else the suspect reading itself is to be read again, and that is said
        _refuse_absurd_fit(rig, attempt, fit)
    goal, spread = rig.square_yaw, -2 * rig.pivot
    free = Side.STARBOARD if first is Side.PORT else Side.PORT
    aim_port, aim_starboard = (rig.ring_distance(side, goal, fit.off) - fit.ring for side in Side)
    ends = [rig.corner(side, fit.yaw, fit.off)[0] - rig.corner(side, goal, fit.off)[0] for side in Side]
    bolt_aft = spread * (math.sin(goal) - math.sin(fit.yaw))
    difference, aim = attempt.starboard.mean - attempt.port.mean, aim_starboard - aim_port
    difference_95 = _difference_95(rig, fit, attempt, step)
    excess = abs(difference - aim)
    room = rig.room(abs(bolt_aft), abs(spread * (math.cos(goal) - math.cos(fit.yaw))))
    measured = attempt.off_centre is not None or (bool(attempt.further) and beside.centring > 0)
    along = along_arc(boat.plank.radius, rig.pivot - fit.off + spread * math.cos(goal))
    result = SquareResult(
        attempt=given,
        tolerance=tolerance,
        yaw=math.degrees(fit.yaw - goal),
        yaw_95=math.degrees(fit.sd * coverage_factor(fit.dof)),
        difference=difference,
        difference_95=difference_95,
        aim_difference=aim,
        aim_port=aim_port,
        aim_starboard=aim_starboard,
        ring=fit.ring,
        ends=tuple(map(EndMove, Side, ends)),
        free_side=free,
        free_bolt_aft=bolt_aft,
        room=room,
        decided=sifter.decided,
        left_out=sifter.left_out,
        passed=excess <= tolerance and sifter.decided,
        sure=abs(excess - tolerance) > difference_95 and sifter.decided,
        reading_sd=max(fit.reading_sd, step / math.sqrt(12)),
        from_repeats=fit.from_repeats,
        repeatability=_repeatability(attempt),
        p=fit.p,
        off_centre=fit.off if measured else None,
        off_centre_sd=fit.off_sd,
        post_offset=beside.post,
        off_centre_turn=off_centre_turn(rig),
        second_hole=SecondHole(free, 0.0 - spread * math.sin(goal), along, abs(spread)),
        findings=tuple(sifter.findings),
    )
    return _told(result, sifter, rig, attempt, fit) if sifter.decided else result


def off_centre_turn(rig: Rig, offset: float = 1.0) -> OffCentre:
    """Return what a plank off centre does to equal tapes: tan(yaw) = -offset / distance to the corners' line."""
    yaw = -math.atan2(offset, rig.corners_station)
    return OffCentre(offset, math.degrees(yaw), rig.corners.apart * math.sin(yaw))


def _sifted(attempt: Attempt, sifter: Sifter) -> Attempt:
    """Return the attempt without its suspect readings."""
    off, chock = attempt.off_centre, attempt.chock_aft
    return sifter.both("tape", attempt).changed(
        further=tuple(sifter.both(pair.name, pair) for pair in attempt.further),
        off_centre=None if off is None else sifter.both("off centre", off),
        chock_aft=None if chock is None else sifter.both("chock aft of the bolts", chock),
    )


def _difference_95(rig: Rig, fit: Yaw, attempt: Attempt, step: float) -> float:
    """Return the half-width of the 95 % interval of the tapes' difference less what it should be.

    What it should be is no surer than the places of plank and post athwart, by which it changes at the corners' slant.
    """
    random, rounding = [fit.reading_sd**2 / len(attempt.side(side).readings) for side in Side], step**2 / 12
    aim = (rig.corners.apart / rig.slant) ** 2 * (fit.off_sd**2 + rig.beside.post_sd**2)
    whole, scatter = sum(max(one, rounding) for one in random) + aim, sum(one for one in random if one >= rounding)
    # Welch and Satterthwaite (JCGM 100:2008, G.4.1): the aim's part and that of rounding count as known.
    return coverage_factor(fit.scatter_dof * (whole / scatter) ** 2 if scatter else math.inf) * math.sqrt(whole)


def _repeatability(attempt: Attempt) -> tuple[Repeatability, ...]:
    rows = []
    for name, both in attempt.pairs():
        for side in Side:
            repeats, values = both.side(side), both.side(side).values
            sd = math.sqrt(repeats.sum_of_squares / (len(values) - 1)) if len(values) > 1 else None
            rows.append(Repeatability(name, side, len(values), repeats.mean, sd, max(values) - min(values)))
    return tuple(rows)


def _absurd(rig: Rig, attempt: Attempt, key: str, case: str, **values: float | str) -> Finding:
    """Return the finding on readings that no plank of this boat can give, with what the tape should read."""
    expected, start = rig.slant - rig.boat.description.steering_post.diameter / 2, "from the steering post's surface"
    if attempt.ring is not None:
        expected, start = rig.slant - attempt.ring, "with that ring"
    setting = str(rig.setting.number)
    return told("T214", key, case, rig.figures, **values, setting=setting, expected=expected, start=start)


def _refuse_absurd_tapes(rig: Rig, attempt: Attempt) -> None:
    """Refuse tape readings that no plank of this boat can give."""
    faults = [
        _absurd(rig, attempt, one.key, "tape", text=one.text, value=one.value)
        for one in (*attempt.port.readings, *attempt.starboard.readings)
        if abs(one.value - rig.slant) > ABSURD * rig.slant
    ]
    if faults:
        raise ReadingsError(*faults)


def _refuse_absurd_fit(rig: Rig, attempt: Attempt, fit: Yaw) -> None:
    """Refuse readings that put the tape's zero where no loop takes it, or a bolt beyond the plank's end."""
    boat, key = rig.boat, attempt.dotted
    radius = boat.description.steering_post.diameter / 2
    zero: dict[str, float | str] = {"by": abs(fit.ring), "way": "aft of" if fit.ring >= 0 else "beyond"}
    if attempt.ring is not None:
        if abs(fit.ring - attempt.ring) > NEAR_RING:
            raise ReadingsError(_absurd(rig, attempt, key, "measured", **zero, ring=attempt.ring))
    elif not -radius - BEYOND_POST <= fit.ring <= radius + LONGEST_RING:
        raise ReadingsError(_absurd(rig, attempt, key, "zero", **zero))
    room = boat.plank.chord / 2 - boat.description.fixing.half_spread
    if abs(fit.off) >= room:
        raise ReadingsError(told("T213", f"{key}.off_centre", "", rig.figures, off=abs(fit.off), room=room))


def _told(result: SquareResult, sifter: Sifter, rig: Rig, attempt: Attempt, fit: Yaw) -> SquareResult:
    """Return the result with the findings on what was read, the most urgent first."""
    key, excess, tolerance, within = attempt.dotted, abs(result.excess), result.tolerance, result.difference_95
    for slip in [what for slip, what in SLIPS if abs(abs(result.difference) - slip) <= NEAR_SLIP][:1]:
        sifter.tell("T228", key, slip=slip)
    if excess > tolerance:
        sifter.tell("T221", key, excess=excess, tolerance=tolerance)
    elif excess + within > tolerance:
        sifter.tell("T222", key, "centred" if attempt.off_centre is None else "measured", within=within)
    if fit.from_repeats and fit.reading_sd > POOR_SD:
        sifter.tell("T223", key, sd=fit.reading_sd, usual=1.0)
    if fit.p is not None and fit.p < DISAGREE:
        sifter.tell("T224", key, chance=f"{fit.p:.1%}", worst=fit.worst[0], off=fit.worst[1])
    if attempt.ring is None and not _ring_fits(rig, fit.ring):
        # Whether another setting would make the loop's length likely.
        mean = (attempt.port.mean + attempt.starboard.mean) / 2
        others = [rig._replace(setting=one) for one in rig.boat.settings if one != rig.setting]
        fitting = " or ".join(str(one.setting.number) for one in others if _ring_fits(one, one.slant - mean))
        sifter.tell("T225" if fitting else "T229", key, ring=fit.ring, fitting=fitting)
    if excess > tolerance and result.room.verdict is not Verdict.FITS:
        move, play = result.room.move_fore_aft, result.room.play_fore_aft
        sifter.tell("T226", key, result.room.verdict.value if play else "none", move=move, play=play)
    if min(len(attempt.port.readings), len(attempt.starboard.readings)) < 3:
        sifter.tell("T227", key)
    return result._replace(findings=tuple(sifter.findings))


def _ring_fits(rig: Rig, ring: float) -> bool:
    """Return whether a loop of that length round the boat's steering post is nothing odd."""
    radius = rig.boat.description.steering_post.diameter / 2
    return -radius <= ring <= radius + USUAL_RING
