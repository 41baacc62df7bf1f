"""What plates, sleeves and slots let happen at each setting, from the budget.

The plank's second hole suits the one setting at which it was marked. At the others the distance between the floor's
holes differs by their own errors, and the plank comes out turned a little. For each setting: how likely both bolts drop
in, and how likely they do so and the plank can then be shifted in its play until the tapes agree. The order is that of
the job sheet: one bolt, equal tapes, the second hole marked through the floor's own, plates screwed down only once the
tapes agree at their setting, so that sleeve (or floor hole) and plank give the play. Where both holes of the plank are
drilled by the sheet, the plank fits all settings as well as its sheet.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.accuracy.sources import DRILL, PLAY, PUNCH, TAPE, Sources
from templater.boat.solved import Boat
from templater.description.keys import SecondHoleBy
from templater.findings import Finding, Severity
from templater.fitup.rig import TOLERANCE, play_of
from templater.maths.linear import Linear, Variable
from templater.standards.fasteners import clearance_hole, nominal_diameter

#: Readings of the tape on each side that the job sheet asks for.
READINGS = 3
#: How far the first bolt stands off the middle of its sleeve, mm, while the plank is squared: it is wound with tape
#: until it fits. From memory.
CENTRED = 0.1
#: Play that a hole of the bolt's own size leaves, for bits cut over size, mm. From memory.
OVER_SIZE = 0.2
#: Shares of boats below which a setting's play is called small, and too small.
ENOUGH, HALF = 0.8, 0.5
#: Steps of the integration over the distance between the bolts.
_STEPS = 400

Errors = dict[str, tuple[Linear, Linear]]


class SettingChance(NamedTuple):
    """One setting, mm."""

    setting: int
    marked: bool  # the plank is first squared, and its second hole marked, at this one
    play: float  # what a bolt can travel in sleeve or floor hole and plank
    spread: float  # standard deviation of the distance of its holes against those of the plank
    drop_in: float  # share of boats in which both bolts drop in
    tapes: float  # standard deviation of the tapes' difference with bolts in the middle of their play
    reach: float  # by how much shifting the plank in its play can change that difference, either way
    agree: float | None  # share in which both bolts drop in and the tapes come within tolerance; None without chocks
    lead: float  # standard deviation of one runner's lead, bolts in the middle, before the plank is shifted

    @property
    def share(self) -> float:
        """Share of boats in which all goes well as far as can be told."""
        return self.drop_in if self.agree is None else self.agree


def setting_chances(
    boat: Boat, errors: Errors, sources: Sources, *, play: float | None = None
) -> tuple[SettingChance, ...]:
    """Return the chances of every setting; ``errors`` are of every bolt hole, aft and to starboard, mm.

    ``play``, mm, is another play than the boat's, to see what it would give.
    """
    if play is None:
        own = play_of(boat)
        play = max(own.floor + own.plank, OVER_SIZE)
    fitted = boat.fitted
    half = boat.description.fixing.half_spread
    # Where the first bolt stands in its sleeve while the plank is squared, and how the second hole meets its mark.
    loose = [Linear(0.0, {Variable(PLAY, min(CENTRED, play / 2)): 1.0}) for _ in range(2)]
    mark = [sources.variable(PUNCH) + sources.variable(DRILL) for _ in range(2)]
    port, starboard = errors[f"P{fitted.number}"], errors[f"S{fitted.number}"]
    plank = [starboard[axis] - port[axis] - loose[axis] + mark[axis] for axis in range(2)]
    if boat.description.plank.second_hole is SecondHoleBy.TEMPLATE:
        plank = [errors["KS"][axis] - errors["KP"][axis] for axis in range(2)]
    middle = port[1] + loose[1] - errors["KP"][1]
    read = _reading(sources)
    chances = []
    for setting in boat.settings:
        p, s = errors[f"P{setting.number}"], errors[f"S{setting.number}"]
        aft, spread = (s[axis] - p[axis] - plank[axis] for axis in range(2))
        tape, reach = None, 0.0
        turn = aft / (2 * half)
        if boat.tape:
            here, there = (boat.tape[one.number - 1].slant for one in (setting, fitted))
            span = boat.span
            # The plank's middle, and the turn that equal tapes gave it at the fitted setting.
            off = (p[1] + s[1]) / 2 - errors["KP"][1] - plank[1] / 2
            if boat.description.plank.second_hole is SecondHoleBy.FIT_UP:
                turn = turn - (middle + read * (there / span)) / fitted.station
            tape = -(turn * setting.station + off) * (span / here) + _reading(sources)
            reach = span / here * setting.station * play / (2 * half)
        drop_in, agree = _shares(spread, tape, play, reach)
        chances.append(
            SettingChance(
                setting.number, setting is fitted, play, spread.sigma, drop_in, tape.sigma if tape else 0.0, reach,
                agree if tape else None, turn.sigma * boat.span,
            )
        )  # fmt: skip
    return tuple(chances)


def _reading(sources: Sources) -> Linear:
    """Return the error of a difference of two tapes, each the mean of some readings."""
    return (sources.variable(TAPE) - sources.variable(TAPE)) / math.sqrt(READINGS)


def _shares(spread: Linear, tape: Linear | None, play: float, reach: float) -> tuple[float, float]:
    """Return the share of boats in which the bolts drop in, and in which the tapes then agree.

    The distance between the bolts is integrated over; what it takes of the play athwart is missing fore and aft, for
    the bore is round. Given the distance, the tapes are normal about what it leads one to expect.
    """
    sd = spread.sigma
    if sd == 0:
        return 1.0, 1.0 if tape is None else _within(0.0, tape.sigma, TOLERANCE + reach)
    follows = 0.0 if tape is None else tape.covariance(spread) / sd**2
    rest = 0.0 if tape is None else math.sqrt(max(tape.sigma**2 - (follows * sd) ** 2, 0.0))
    drop_in = agree = 0.0
    for step in range(_STEPS):  # the middle of each strip
        y = play * (2 * (step + 0.5) / _STEPS - 1)
        weight = math.exp(-((y / sd) ** 2) / 2) / (sd * math.sqrt(2 * math.pi)) * 2 * play / _STEPS
        drop_in += weight
        left = reach * math.sqrt(1 - (y / play) ** 2)
        agree += weight * _within(follows * y, rest, TOLERANCE + left)
    return min(drop_in, 1.0), min(agree, 1.0)


def _within(middle: float, sd: float, limit: float) -> float:
    """Return the share of a normal distribution that lies within a limit either way."""
    if sd == 0:
        return float(abs(middle) <= limit)
    root = sd * math.sqrt(2)
    return (math.erf((limit - middle) / root) + math.erf((limit + middle) / root)) / 2


def play_findings(
    boat: Boat, chances: tuple[SettingChance, ...], errors: Errors, sources: Sources
) -> tuple[Finding, ...]:
    """Return a finding where play is too small for the errors of several settings, and what a wider bore would give."""
    worst = min(chances, key=lambda one: one.share)
    if worst.share >= ENOUGH or len(chances) == 1:
        return ()
    fixing = boat.description.fixing
    said: dict[str, float | str] = {
        "play": worst.play,
        "where": "sleeve" if fixing.sleeve else "floor's hole",
        "setting": str(worst.setting),
        "enter": f"{worst.drop_in:.0%}",
        "agree": "" if worst.agree is None else f", and the tapes can be made to agree at {worst.agree:.0%}",
    }
    case, bore = "guide", clearance_hole(fixing.bolt.thread, "coarse")
    wide = bore - nominal_diameter(fixing.bolt.thread) + play_of(boat).plank
    if wide > worst.play + 0.05:
        better = setting_chances(boat, errors, sources, play=wide)[worst.setting - 1]
        case, said["bore"], said["share"] = "bore", bore, f"{better.share:.0%}"
    finding = boat.tell("F142", "fixing.sleeve.inner" if fixing.sleeve else "fixing.bolt", case, **said)
    return (finding._replace(graded=Severity.ADVICE if worst.share >= HALF else None),)
