"""The rows of the budget: holes, pairs, yaw, tape distances, the rule's limit, and what helps most."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from templater.accuracy.settings import SettingChance, play_findings, setting_chances
from templater.accuracy.sheet import SheetErrors
from templater.accuracy.sources import CHOCKS, LINE, PIVOT, PLAY, TAPE, TAPE_SCALE, Budget, Sources, budget
from templater.boat.solved import Boat, Hole, HoleKind, Setting, Side
from templater.description.keys import FloorFace, Surface
from templater.findings import Finding
from templater.maths.linear import Linear
from templater.paper.tiles import TiledSheet

_BOLTS = (HoleKind.BOLT, HoleKind.SLEEVE)
#: What moves the runners fore and aft beside the holes.
_LIMIT = (TAPE, TAPE_SCALE, LINE, PIVOT, CHOCKS, PLAY)


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
    improvements: tuple[Improvement, ...] = ()  # what helps, most first
    findings: tuple[Finding, ...] = ()  # where play is too small


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
    boat: Boat,
    sheets: Sequence[TiledSheet],
    sources: Sources,
    *,
    others: Iterable[tuple[str, Sequence[TiledSheet]]] = (),
) -> AccuracyReport:
    """Return the whole budget of a boat drilled through these sheets, the ones named ``floor`` and ``plank``.

    ``others`` are the same sheets on other paper, with a name for each, to say what larger paper would give.
    """
    model = _Model(boat, sheets, sources)
    leads = tuple(model.lead(setting) for setting in boat.settings)
    chances = setting_chances(boat, model.errors, sources)
    worst = max(boat.settings, key=lambda setting: (leads[setting.number - 1].sigma, setting.at_limit))
    return AccuracyReport(
        sources=sources,
        holes=tuple(model.hole(hole) for hole in boat.holes if hole.kind in _BOLTS and hole.id in model.errors),
        pairs=tuple(model.pair(d.a, d.b, d.kind, d.distance) for d in boat.distances),
        leads=leads,
        yaws=tuple(model.yaw_budget(setting) for setting in boat.settings),
        tapes=tuple(model.tape(setting) for setting in boat.settings) if boat.tape else (),
        limits=tuple(model.limit(setting) for setting in boat.settings if setting.to_max is not None),
        settings=chances,
        findings=play_findings(boat, chances, model.errors, sources),
        improvements=_improvements(model, sheets, worst, leads[worst.number - 1], others, chances),
    )


def _improvements(
    model: _Model,
    sheets: Sequence[TiledSheet],
    worst: Setting,
    lead: Budget,
    others: Iterable[tuple[str, Sequence[TiledSheet]]],
    chances: tuple[SettingChance, ...],
) -> tuple[Improvement, ...]:
    """Return what squaring by tape, other paper, or half of each source would give at the worst setting, best first."""
    boat, sources = model.boat, model.sources
    found = [
        Improvement(
            f"{name} instead of {sheets[0].paper.name}", lead.sigma, _Model(boat, there, sources).lead(worst).sigma
        )
        for name, there in others
    ]
    for name, part in lead.parts:
        after = math.sqrt(lead.sigma**2 - 0.75 * part**2)
        found.append(Improvement(f"{name} halved: {sources.of(name).cure}", lead.sigma, after))
    if boat.tape:
        text = "plank squared by tape on one bolt, then its second hole marked: at that setting"
        found.append(Improvement(text, lead.sigma, model.squared(worst).sigma))
    helpful = sorted((item for item in found if item.after < item.before - 0.005), key=lambda item: item.after)
    others_then = max((chance.lead for chance in chances if not chance.marked), default=None)
    if boat.tape and others_then is not None:
        # Said wherever the one setting is: the hole marked at one setting does little for the others.
        at = next((number for number, item in enumerate(helpful) if "squared by tape" in item.text), None)
        if at is not None:
            text = "the same, at the other settings, until the plank is shifted and the tapes agree there too"
            helpful.insert(at + 1, Improvement(text, lead.sigma, others_then))
    return tuple(helpful)


class _Model:
    """The errors of one boat on one set of sheets: ``errors`` by hole id, aft and to starboard, mm."""

    def __init__(self, boat: Boat, sheets: Sequence[TiledSheet], sources: Sources) -> None:
        self.boat = boat
        self.sources = sources
        self.errors: dict[str, tuple[Linear, Linear]] = {}
        surfaces = {"floor": Surface.FLOOR, "plank": Surface.PLANK}
        # What counts is where floor and plank meet: a hole drilled through the floor from above has leant that far by
        # then; one drilled from the meeting face itself, as in the plank, has not.
        from_above = boat.description.print.floor_face is FloorFace.UPPER
        thickness = {Surface.FLOOR: boat.description.floor.thickness if from_above else 0.0, Surface.PLANK: 0.0}
        wanted = {hole.id for hole in boat.holes if hole.kind in _BOLTS}
        printer: dict[str, Linear] = {}
        for sheet in sheets:
            surface = surfaces.get(sheet.drawing.name)
            if surface is None:
                continue
            sheet_errors = SheetErrors(sheet, sources, thickness[surface], printer)
            starboard = -1 if sheet.drawing.mirrored else 1
            for hole in (*sheet.drawing.holes, *sheet.drawing.expected):
                if hole.id in wanted:
                    du, dv = sheet_errors.error(hole.at)
                    self.errors[hole.id] = (-dv, starboard * du)

    def hole(self, hole: Hole) -> HoleAccuracy:
        """Return one hole's row."""
        along, across = (budget(hole.id, "mm", error) for error in self.errors[hole.id])
        return HoleAccuracy(hole.id, across.sigma, along.sigma, max((across, along), key=lambda b: b.sigma).largest)

    def pair(self, a: str, b: str, kind: str, distance: float) -> Budget:
        """Return the budget of the distance between two holes."""
        places = {hole.id: hole.at for hole in self.boat.holes}
        x, y = places[b][0] - places[a][0], places[b][1] - places[a][1]
        (ax, ay), (bx, by) = self.errors[a], self.errors[b]
        return budget(f"{a} to {b}, {kind}", "mm", distance + ((bx - ax) * x + (by - ay) * y) / distance)

    def _yaw(self, setting: Setting) -> Linear:
        """Return the plank's yaw at a setting, radians, starboard end aft positive."""
        floor, plank = self._fore_and_aft(setting)
        half = self.boat.description.fixing.half_spread
        along = self.boat.plank.hole_along
        return (floor[1] - floor[0]) / (2 * half) - (plank[1] - plank[0]) / (2 * along)

    def _fore_and_aft(self, setting: Setting) -> tuple[tuple[Linear, Linear], tuple[Linear, Linear]]:
        """Return the errors aft of the port and starboard holes in the floor and in the plank."""
        number = setting.number
        floor = (self.errors[f"P{number}"][0], self.errors[f"S{number}"][0])
        return floor, (self.errors["KP"][0], self.errors["KS"][0])

    def yaw_budget(self, setting: Setting) -> Budget:
        """Return the yaw's budget in degrees."""
        return budget(f"yaw, setting {setting.number}", "°", self._yaw(setting) * math.degrees(1))

    def lead(self, setting: Setting) -> Budget:
        """Return the budget of how far one runner ends ahead of the other."""
        return budget(f"lead of one runner, setting {setting.number}", "mm", self._yaw(setting) * self.boat.span)

    def tape(self, setting: Setting) -> Budget:
        """Return the budget of the port tape distance less the starboard one, as it will be read."""
        figure = self.boat.tape[setting.number - 1]
        span = self.boat.span
        athwart = (self._athwart(setting, Side.PORT) + self._athwart(setting, Side.STARBOARD)) / 2
        # The corners, some way aft of the bolt line, swing athwart as well: what is left is the bolt line's station.
        true = -(self._yaw(setting) * setting.station + athwart) * span / figure.slant
        readings = self.sources.variable(TAPE) - self.sources.variable(TAPE)
        return budget(f"difference of the two tape distances, setting {setting.number}", "mm", true + readings)

    def squared(self, setting: Setting) -> Budget:
        """Return the budget of the lead once the plank has been turned on its first bolt until both tapes read alike.

        What is left is what the tapes cannot tell: their readings, and how far the first bolt has the plank off centre.
        """
        figure, span = self.boat.tape[setting.number - 1], self.boat.span
        budgets = []
        for side in (Side.PORT, Side.STARBOARD):
            readings = self.sources.variable(TAPE) - self.sources.variable(TAPE)
            lead = (readings * figure.slant - self._athwart(setting, side) * span) / setting.station
            budgets.append(budget(f"lead of one runner once squared, setting {setting.number}", "mm", lead))
        return max(budgets, key=lambda one: one.sigma)

    def _athwart(self, setting: Setting, side: Side) -> Linear:
        """Return the error athwart of the plank at one bolt: the floor's hole less the plank's."""
        return self.errors[f"{side.value}{setting.number}"][1] - self.errors[f"K{side.value}"][1]

    def limit(self, setting: Setting) -> LimitChance:
        """Return the chance of ending beyond the greatest distance."""
        floor, plank = self._fore_and_aft(setting)
        # The bolt line is measured off the pivot axis with a tape, which no repeat can better, and drawn; what the rule
        # asks for is the runners' axis, which is wherever the chocks are, and the plank can shift by the bolt's play.
        line = sum((self.sources.variable(name) for name in _LIMIT), Linear())
        # At fit-up the plank turns on its first bolt until it is square, so that bolt alone says where it ends up.
        bolts = [budget("", "mm", hole - own + line) for hole, own in zip(floor, plank, strict=True)]
        result = max(bolts, key=lambda bolt: bolt.sigma)
        margin = setting.to_max or 0.0
        return LimitChance(setting.number, margin, result.sigma, coverage_chance(margin, result.sigma), result.largest)
