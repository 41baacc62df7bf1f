"""What is worth saying about one round of squaring, and which readings cannot be right and are refused."""

from __future__ import annotations

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import SLIPS
from templater.fitup.readings import Attempt
from templater.fitup.rig import BoltRoom, Rig, Verdict, slant
from templater.fitup.yaw import DISAGREE, YawFit

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


def ring_fits(boat: Boat, ring: float) -> bool:
    """Return whether a loop of that length round the boat's steering post is nothing odd."""
    radius = boat.description.steering_post.diameter / 2
    return -radius <= ring <= radius + USUAL_RING


def refuse_absurd_tapes(rig: Rig, attempt: Attempt, boat: Boat) -> None:
    """Refuse tape readings that no plank of this boat can give.

    Raises:
        ReadingsError: one finding for each, saying what the tape should read.
    """
    expected = slant(rig, rig.station)
    faults = [
        Finding(
            "T214",
            reading.key,
            f"{reading.text}, taken as {rig.figures.length(reading.value)}: {_should(rig, attempt, boat)}",
        )
        for side in Side
        for reading in attempt.side(side).readings
        if abs(reading.value - expected) > ABSURD * expected
    ]
    if faults:
        raise ReadingsError(*faults)


def refuse_absurd_fit(rig: Rig, attempt: Attempt, boat: Boat, fit: YawFit) -> None:
    """Refuse readings that put the tape's zero where no loop takes it or far from where it was measured.

    Likewise off-centre readings that would put a bolt beyond the plank's end.

    Raises:
        ReadingsError: saying what the tape should read.
    """
    key = attempt.dotted
    radius = boat.description.steering_post.diameter / 2
    length = rig.figures.length
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


def square_findings(
    rig: Rig,
    attempt: Attempt,
    boat: Boat,
    fit: YawFit,
    excess: float,
    tolerance: float,
    difference_95: float,
    room: BoltRoom,
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
    elif excess + difference_95 > tolerance:
        cure = "repeat the tape readings" if attempt.off_centre is not None else (
            "repeat the tape readings, and measure off_centre, how far the chock corners lie from the centreline"
        )
        text = f"within tolerance, but this is only sure to {length(difference_95)}: {cure}"
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
    if attempt.ring is not None or ring_fits(boat, fit.ring):
        return []
    mean = (attempt.port.mean + attempt.starboard.mean) / 2
    fitting = [
        str(setting.number)
        for setting in boat.settings
        if setting.number != attempt.setting and ring_fits(boat, slant(rig, setting.station) - mean)
    ]
    where = f"these readings put the tape's zero {rig.figures.length(fit.ring, 0)} from the steering post's axis"
    if fitting:
        text = f"{where}; setting {' or '.join(fitting)} would fit better - a long ring is fine, a wrong setting is not"
        return [("T225", text)]
    text = f"{where}: measure that, and write it down as ring, or look whether both sides carry the same slip"
    return [("T229", text)]
