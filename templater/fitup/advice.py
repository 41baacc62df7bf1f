"""What is worth saying about one round of squaring: suspect figures, scatter, disagreement, wrong setting, slots."""

from __future__ import annotations

from templater.boat.solved import Boat, Side
from templater.findings import Finding
from templater.fitup.doubt import named_pairs, ring_fits, slant
from templater.fitup.misread import SLIPS, suspects, without_suspects
from templater.fitup.rig import Rig
from templater.fitup.slots import BoltRoom, Verdict
from templater.fitup.taken import Attempt, Both
from templater.fitup.yaw import DISAGREE, YawFit

#: Standard deviation of one reading above which the repeats are called poor, mm. Readings repeat to 1 mm: common
#: practice, no source; the half-width 1 mm of a rectangular distribution is 0.58 mm.
POOR_SD = 1.0


def square_findings(
    rig: Rig,
    attempt: Attempt,
    boat: Boat,
    fit: YawFit,
    excess: float,
    tolerance: float,
    difference_95: float,
    room: BoltRoom,
) -> tuple[Finding, ...]:
    """Return the findings of one attempt, the most urgent first."""
    key = attempt.key or "square"
    found: list[Finding] = []
    slip = _side_slip(attempt.tape)
    if slip:
        text = f"all readings of one side lie apart from the other's by about {slip} - or the plank is truly askew"
        found.append(Finding("T228", key, text))
    if excess > tolerance:
        text = f"tapes differ by {excess:.1f} mm from what they should; allowed {tolerance:.1f} mm - move as advised"
        found.append(Finding("T221", key, text))
    elif excess + difference_95 > tolerance:
        text = (
            f"within tolerance, but the readings are only sure to {difference_95:.1f} mm: "
            f"repeat the tape readings to be sure of {tolerance:.1f} mm"
        )
        found.append(Finding("T222", key, text))
    if fit.from_repeats and fit.reading_sd > POOR_SD:
        text = (
            f"repeats scatter by {fit.reading_sd:.1f} mm (one standard deviation); 1 mm is usual - "
            "same edge of the tape, even tension, read at eye level"
        )
        found.append(Finding("T223", key, text))
    if fit.p is not None and fit.p < DISAGREE:
        worst = max(fit.residuals, key=lambda row: abs(row.residual) / row.sd)
        text = (
            f"readings of different kinds disagree (chance {fit.p:.1%}): the worst is {worst.name} "
            f"{worst.side.name.lower()}, {worst.residual:+.1f} mm - is the plank off centre, or the hull uneven there?"
        )
        found.append(Finding("T224", key, text))
    found += _setting_findings(rig, attempt, boat, fit, key)
    if excess > tolerance and room.verdict is not Verdict.FITS:
        found.append(Finding("T226", key, _room_text(room)))
    if len(attempt.tape.port) < 3 or len(attempt.tape.starboard) < 3:
        text = "three readings or more on each side show a misread figure and how sure the result is"
        found.append(Finding("T227", key, text))
    return tuple(found)


def suspect_findings(attempt: Attempt) -> tuple[Finding, ...]:
    """Return a finding for each reading that stands apart from its repeats, saying whether it was left out."""
    found = []
    for name, both in named_pairs(attempt):
        for side in Side:
            repeats = both.side(side)
            done = "left out" if without_suspects(repeats) else "not decided: read it again"
            for index, off, cause in suspects(repeats):
                reading = repeats.readings[index]
                why = f" - likely {cause}" if cause else ""
                which = f"{name} {side.name.lower()}, reading {index + 1}"
                text = f"{which}: {reading.text} is {off:+.1f} mm off the others{why}; {done}"
                found.append(Finding("T220", repeats.key or attempt.key or "square", text))
    return tuple(found)


def _side_slip(both: Both) -> str:
    """Return the slip that a whole side may have made, if the difference between the sides is just that."""
    difference = abs(both.starboard.mean - both.port.mean)
    return next((what for slip, what in SLIPS if abs(difference - slip) <= 0.7), "")


def _setting_findings(rig: Rig, attempt: Attempt, boat: Boat, fit: YawFit, key: str) -> list[Finding]:
    """Say so if the ring's length is odd and was not measured; and whether another setting would make it likely."""
    ring = fit.ring
    if attempt.ring is not None or ring_fits(boat, ring):
        return []
    mean = (attempt.tape.port.mean + attempt.tape.starboard.mean) / 2
    fitting = [
        str(setting.number)
        for setting in boat.settings
        if setting.number != attempt.setting and ring_fits(boat, slant(rig, setting.station) - mean)
    ]
    where = f"these readings put the tape's nought {ring:.0f} mm from the steering post's axis"
    if fitting:
        text = f"{where}; setting {' or '.join(fitting)} would fit better - a long ring is fine, a wrong setting is not"
        return [Finding("T225", key, text)]
    text = f"{where}: measure that, and write it down as ring, or look whether both sides carry the same slip"
    return [Finding("T229", key, text)]


def _room_text(room: BoltRoom) -> str:
    if room.verdict is Verdict.DEPENDS:
        return (
            f"a bolt already through the plank must go {room.move_fore_aft:.1f} mm fore and aft; its play of "
            f"{room.play_fore_aft:.1f} mm allows that only if it now stands on the far side"
        )
    return (
        f"a bolt already through the plank must go {room.move_fore_aft:.1f} mm fore and aft, but its play is "
        f"{room.play_fore_aft:.1f} mm: drill the plank's second hole only once square, at the place given"
    )
