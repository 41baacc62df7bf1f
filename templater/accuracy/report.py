"""The rows of the budget: holes, pairs, yaw, tape distances, the rule's limit, and what helps most."""

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from templater.accuracy import errors as named
from templater.accuracy.errors import Budget, Error, SheetErrors, Sources, apart, budget
from templater.boat.solved import TOLERANCE, Boat, HoleKind, Setting, Side
from templater.findings import Finding, Severity
from templater.maths import Linear, Variable
from templater.paper.tiles import TiledSheet

_BOLTS = (HoleKind.BOLT, HoleKind.SLEEVE)
#: What moves the runners fore and aft beside the holes.
_LIMIT = (named.TAPE, named.TAPE_SCALE, named.LINE, named.PIVOT, named.CHOCKS, named.PLAY)

#: Readings of the tape on each side that the job sheet asks for.
READINGS = 3
#: How far the first bolt stands off the middle of its sleeve, mm, while the plank is squared: it is wound with tape
#: until it fits. From memory.
CENTRED = 0.1
#: Shares of boats below which a setting's play is called small, and too small.
ENOUGH, HALF = 0.8, 0.5
#: Steps of the integration over the distance between the bolts.
_STEPS = 400

Sheets = Sequence[TiledSheet]
Errors = dict[str, Error]


class HoleAccuracy(NamedTuple):
    """One hole in its place: standard deviations athwart (along the plank) and fore and aft, and the largest source."""

    id: str
    athwart: float
    fore_and_aft: float
    largest: str


class LimitChance(NamedTuple):
    """How likely a runner ends beyond the rule's greatest distance, with the plank squared on its first bolt."""

    setting: int
    margin: float
    sigma: float
    chance: float
    largest: str


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


class Improvement(NamedTuple):
    """What a change does to the lead of one runner at the setting where it is least sure, one sigma, mm."""

    text: str
    before: float
    after: float


class AccuracyReport(NamedTuple):
    """The whole budget."""

    sources: Sources
    holes: tuple[HoleAccuracy, ...]  # every bolt and sleeve hole
    pairs: tuple[Budget, ...]  # distances between holes that matter, mm
    leads: tuple[Budget, ...]  # for each setting how far one runner ends ahead of the other, mm over the plank's span
    yaws: tuple[Budget, ...]  # the same as yaw of the plank, degrees
    tapes: tuple[Budget, ...]  # for each setting the difference of the two tape distances, mm
    limits: tuple[LimitChance, ...]  # for each setting that of exceeding the rule's greatest distance
    settings: tuple[SettingChance, ...]  # for each setting that both bolts drop in and the tapes agree
    improvements: tuple[Improvement, ...]  # what helps, most first
    findings: tuple[Finding, ...]  # where play is too small


def coverage_chance(margin: float, sigma: float) -> float:
    """Return the chance that a normal error of ``sigma`` exceeds ``margin`` on one side."""
    if sigma == 0:
        return 0.0 if margin >= 0 else 1.0
    return 0.5 * math.erfc(margin / sigma / math.sqrt(2))


def chance_text(chance: float) -> str:
    """Return a chance in words: in a hundred, or one in a round number of boats where it is small.

    >>> chance_text(6e-5), chance_text(0.0), chance_text(0.12)
    ('1 in 20 000', 'under 1 in 100 000', '12%')
    """
    if chance < 1e-5:
        return "under 1 in 100 000"
    if chance < 0.01:
        return f"1 in {float(f'{1 / chance:.1g}'):,.0f}".replace(",", " ")
    return f"{chance:.0%}"


def accuracy(
    boat: Boat, sheets: Sheets, sources: Sources, *, others: Iterable[tuple[str, Sheets]] = ()
) -> AccuracyReport:
    """Return the budget of a boat drilled by its ``floor`` and ``plank``; ``others``: both on other papers, by name."""
    errors, places = errors_of(boat, sheets, sources), {hole.id: hole.at for hole in boat.holes}
    turns = [_yaw(boat, errors, setting) for setting in boat.settings]
    chances = setting_chances(boat, errors, sources)
    report = AccuracyReport(
        sources=sources,
        holes=tuple(_holes(boat, errors)),
        pairs=tuple(
            budget(f"{a} to {b}, {kind}", "mm", apart(places[a], places[b], errors[a], errors[b], distance))
            for a, b, kind, distance in boat.distances
        ),
        leads=_at_settings("lead of one runner", "mm", [turn * boat.span for turn in turns]),
        yaws=_at_settings("yaw", "°", [turn * math.degrees(1) for turn in turns]),
        tapes=_at_settings("difference of the two tape distances", "mm", _tapes(boat, errors, sources)),
        limits=tuple(_limits(boat, errors, sources)),
        settings=chances,
        improvements=(),
        findings=_play_findings(boat, chances, errors, sources),
    )
    return report._replace(improvements=_improvements(boat, errors, report, sheets[0].paper.name, others))


def _at_settings(what: str, unit: str, forms: Iterable[Linear]) -> tuple[Budget, ...]:
    """Return the budgets of what there is at each setting, foremost first."""
    return tuple(budget(f"{what}, setting {number}", unit, form) for number, form in enumerate(forms, 1))


def _holes(boat: Boat, errors: Errors) -> Iterator[HoleAccuracy]:
    for ident in (hole.id for hole in boat.holes if hole.id in errors):
        along, across = (budget(ident, "mm", error) for error in errors[ident])
        largest = max((across, along), key=lambda one: one.sigma).largest
        yield HoleAccuracy(ident, across.sigma, along.sigma, largest)


def _tapes(boat: Boat, errors: Errors, sources: Sources) -> Iterator[Linear]:
    """Yield the difference of the two tape distances at each setting; nothing without chock corners."""
    for setting, tape in zip(boat.settings, boat.tape, strict=False):
        meeting = _meeting(errors, setting)
        athwart = (meeting[0][1] + meeting[1][1]) / 2
        # The corners, aft of the bolt line, swing athwart as well: what is left is the bolt line's station.
        yield sources.tapes() - (_yaw(boat, errors, setting) * setting.station + athwart) * boat.span / tape.slant


def _limits(boat: Boat, errors: Errors, sources: Sources) -> Iterator[LimitChance]:
    """Yield the chances of exceeding the rule's greatest distance.

    The bolt line is measured off the pivot axis with a tape, which no repeat can better, and drawn; what the rule asks
    for is the runners' axis, which is wherever the chocks are, and the plank can shift by the bolt's play.
    """
    line = sum((sources.variable(name) for name in _LIMIT), Linear())
    for setting in boat.settings:
        if setting.to_max is not None:
            # At fit-up the plank turns on its first bolt until it is square, so that bolt alone says where it ends up.
            ends = (budget("", "mm", aft + line) for aft, _ in _meeting(errors, setting))
            bolt = max(ends, key=lambda one: one.sigma)
            chance = coverage_chance(setting.to_max, bolt.sigma)
            yield LimitChance(setting.number, setting.to_max, bolt.sigma, chance, bolt.largest)


def _improvements(
    boat: Boat, errors: Errors, report: AccuracyReport, paper: str, others: Iterable[tuple[str, Sheets]]
) -> tuple[Improvement, ...]:
    """Return what helps at the setting where a runner's lead is least sure."""
    sources, leads = report.sources, report.leads
    worst = max(boat.settings, key=lambda setting: (leads[setting.number - 1].sigma, setting.at_limit))
    lead = leads[worst.number - 1]
    helps = [
        (f"{name} instead of {paper}", (_yaw(boat, errors_of(boat, there, sources), worst) * boat.span).sigma)
        for name, there in others
    ]
    for name, part in lead.parts:
        helps.append((f"{name} halved: {sources.of(name).cure}", math.sqrt(lead.sigma**2 - 0.75 * part**2)))
    if boat.tape:
        # What is left is what the tapes cannot tell: their readings, and how far the first bolt has it off centre.
        slant = boat.tape[worst.number - 1].slant
        left = [(sources.tapes() * slant - off * boat.span) / worst.station for _, off in _meeting(errors, worst)]
        text = "plank squared by tape on one bolt, then its second hole marked: at that setting"
        helps.append((text, max(one.sigma for one in left)))
    found = sorted((one for one in helps if one[1] < lead.sigma - 0.005), key=lambda one: one[1])
    others_then = [chance.lead for chance in report.settings if not chance.marked]
    if boat.tape and others_then and helps[-1] in found:
        # Said wherever the one setting is: the hole marked at one setting does little for the others, or nothing.
        here, there = found.index(helps[-1]), max(others_then)
        text = "the same, at the other settings, until the plank is shifted and the tapes agree there too"
        if there < lead.sigma - 0.005:
            found.insert(here + 1, (text, there))
        else:
            found[here] = (f"{helps[-1][0]} alone", helps[-1][1])
    return tuple(Improvement(text, lead.sigma, after) for text, after in found)


def errors_of(boat: Boat, sheets: Sheets, sources: Sources) -> Errors:
    """Return the errors of bolt and sleeve holes by id, aft and to starboard, mm, where floor and plank meet."""
    errors: Errors = {}
    # A hole drilled through the floor from above has leant by its thickness there; one drilled from the meeting face
    # itself, as in the plank, has not.
    from_above = boat.description.print.floor_face == "upper"
    thickness = {"floor": boat.description.floor.thickness if from_above else 0.0, "plank": 0.0}
    wanted = {hole.id for hole in boat.holes if hole.kind in _BOLTS}
    printer = {way: sources.variable(named.SCALE) for way in ("across", "along")}
    for sheet in (one for one in sheets if one.drawing.name in thickness):
        sheet_errors = SheetErrors(sheet, sources, thickness[sheet.drawing.name], printer)
        starboard = -1 if sheet.drawing.mirrored else 1
        for hole in (*sheet.drawing.holes, *sheet.drawing.expected):
            if hole.id in wanted:
                du, dv = sheet_errors.error(hole.at)
                errors[hole.id] = (-dv, starboard * du)
    return errors


def _meeting(errors: Errors, setting: Setting) -> list[Error]:
    """Return by how much the floor's hole lies aft and to starboard of the plank's, port and starboard bolt."""
    pairs = ((errors[f"{side.value}{setting.number}"], errors[f"K{side.value}"]) for side in Side)
    return [(floor[0] - plank[0], floor[1] - plank[1]) for floor, plank in pairs]


def _yaw(boat: Boat, errors: Errors, setting: Setting) -> Linear:
    """Return the plank's yaw at a setting, radians, starboard end aft positive."""
    port, starboard = (errors[f"{side.value}{setting.number}"][0] for side in Side)
    half, along = boat.description.fixing.half_spread, boat.plank.hole_along
    return (starboard - port) / (2 * half) - (errors["KS"][0] - errors["KP"][0]) / (2 * along)


def setting_chances(
    boat: Boat, errors: Errors, sources: Sources, *, play: float | None = None
) -> tuple[SettingChance, ...]:
    """Return the chances of every setting; ``errors`` are of every bolt hole, aft and to starboard, mm.

    The plank's second hole suits the one setting at which it was marked. At the others the distance between the floor's
    holes differs by their own errors, and the plank comes out turned a little; then it is shifted in its play until the
    tapes agree. The order is that of the job sheet: one bolt, equal tapes, the second hole marked through the floor's
    own, plates screwed down only once the tapes agree at their setting, so that sleeve (or floor hole) and plank give
    the play. Where both holes of the plank are drilled by the sheet, it fits all settings as well as its sheet.

    ``play``, mm, is another play than the boat's, to see what it would give.
    """
    if play is None:
        play = boat.play.floor + boat.play.plank
    fitted, half, fit_up = boat.fitted, boat.description.fixing.half_spread, boat.expected != ""
    # Where the first bolt stands in its sleeve while the plank is squared, and how the second hole meets its mark.
    loose = [Linear(0.0, {Variable(named.PLAY, min(CENTRED, play / 2)): 1.0}) for _ in range(2)]
    mark = [sources.variable(named.PUNCH) + sources.variable(named.DRILL) for _ in range(2)]
    port, starboard = errors[f"P{fitted.number}"], errors[f"S{fitted.number}"]
    plank = [errors["KS"][axis] - errors["KP"][axis] for axis in range(2)]
    if fit_up:
        plank = [starboard[axis] - port[axis] - loose[axis] + mark[axis] for axis in range(2)]
    middle = port[1] + loose[1] - errors["KP"][1]
    read = sources.tapes() / math.sqrt(READINGS)
    chances = []
    for setting in boat.settings:
        p, s = errors[f"P{setting.number}"], errors[f"S{setting.number}"]
        aft, spread = (s[axis] - p[axis] - plank[axis] for axis in range(2))
        tape, reach, turn = None, 0.0, aft / (2 * half)
        if boat.tape:
            here, there = (boat.span / boat.tape[one.number - 1].slant for one in (setting, fitted))
            # The plank's middle, and the turn that equal tapes gave it at the fitted setting.
            off = (p[1] + s[1]) / 2 - errors["KP"][1] - plank[1] / 2
            if fit_up:
                turn = turn - (middle + read / there) / fitted.station
            tape = -(turn * setting.station + off) * here + sources.tapes() / math.sqrt(READINGS)
            reach = here * setting.station * play / (2 * half)
        drop_in, agree = _shares(spread, tape, play, reach)
        chances.append(
            SettingChance(
                setting.number, setting is fitted, play, spread.sigma, drop_in, tape.sigma if tape else 0.0, reach,
                agree if tape else None, turn.sigma * boat.span,
            )
        )  # fmt: skip
    return tuple(chances)


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
    for step in range(_STEPS if play else 0):  # the middle of each strip
        y = play * (2 * (step + 0.5) / _STEPS - 1)
        weight = math.exp(-((y / sd) ** 2) / 2) / (sd * math.sqrt(2 * math.pi)) * 2 * play / _STEPS
        drop_in += weight
        left = reach * math.sqrt(1 - (y / play) ** 2)
        agree += weight * _within(follows * y, rest, TOLERANCE + left)
    return min(drop_in, 1.0), min(agree, 1.0)


def _within(middle: float, sd: float, limit: float) -> float:
    """Return the share of a normal distribution that lies within a limit either way."""
    return 1 - coverage_chance(limit - middle, sd) - coverage_chance(limit + middle, sd)


def _play_findings(
    boat: Boat, chances: tuple[SettingChance, ...], errors: Errors, sources: Sources
) -> tuple[Finding, ...]:
    """Return a finding where play is too small for the errors of several settings, and what a wider bore would give."""
    worst = min(chances, key=lambda one: one.share)
    if worst.share >= ENOUGH or len(chances) == 1:
        return ()
    sleeve = boat.description.fixing.sleeve
    said: dict[str, float | str] = {
        "play": worst.play,
        "thread": boat.description.fixing.bolt.thread,
        "now": boat.bore,
        "where": "sleeve" if sleeve else "floor's hole",
        "setting": str(worst.setting),
        "enter": f"{worst.drop_in:.0%}",
        "agree": "" if worst.agree is None else f", and the tapes can be made to agree at {worst.agree:.0%}",
    }
    case, bore = "guide", boat.thread.coarse
    wide = bore - boat.thread.nominal + boat.play.plank
    if wide > worst.play + 0.05:
        better = setting_chances(boat, errors, sources, play=wide)[worst.setting - 1]
        case, said["bore"], said["share"] = "bore" if worst.play else "none", bore, f"{better.share:.0%}"
    finding = boat.tell("F142", "fixing.sleeve.inner" if sleeve else "fixing.bolt", case, **said)
    return (finding._replace(graded=Severity.ADVICE if worst.share >= HALF else None),)
