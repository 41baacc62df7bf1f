"""The rows of the budget: holes, pairs, yaw, tape distances, the rule's limit, and what helps most."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from templater.accuracy.settings import SettingChance, play_findings, setting_chances
from templater.accuracy.sheet import SheetErrors, apart
from templater.accuracy.sources import CHOCKS, LINE, PIVOT, PLAY, TAPE, TAPE_SCALE, Budget, Sources, budget
from templater.boat.solved import Boat, CheckDistance, HoleKind, Setting, Side
from templater.description.keys import FloorFace
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
    leads = tuple(map(model.lead, boat.settings))
    chances = setting_chances(boat, model.errors, sources)
    worst = max(boat.settings, key=lambda setting: (leads[setting.number - 1].sigma, setting.at_limit))
    lead, paper = leads[worst.number - 1], sheets[0].paper.name
    helps = [
        *((f"{name} instead of {paper}", _Model(boat, there, sources).lead(worst).sigma) for name, there in others),
        *(
            (f"{name} halved: {sources.of(name).cure}", math.sqrt(lead.sigma**2 - 0.75 * part**2))
            for name, part in lead.parts
        ),
    ]
    if boat.tape:
        text = "plank squared by tape on one bolt, then its second hole marked: at that setting"
        helps.append((text, model.squared(worst)))
    found = sorted((one for one in helps if one[1] < lead.sigma - 0.005), key=lambda one: one[1])
    others_then = [chance.lead for chance in chances if not chance.marked]
    if boat.tape and others_then and helps[-1] in found:
        # Said wherever the one setting is: the hole marked at one setting does little for the others.
        text = "the same, at the other settings, until the plank is shifted and the tapes agree there too"
        found.insert(found.index(helps[-1]) + 1, (text, max(others_then)))
    return AccuracyReport(
        sources=sources,
        holes=tuple(model.hole(hole.id) for hole in boat.holes if hole.kind in _BOLTS and hole.id in model.errors),
        pairs=tuple(map(model.pair, boat.distances)),
        leads=leads,
        yaws=tuple(map(model.yaw, boat.settings)),
        tapes=tuple(map(model.tape, boat.settings)) if boat.tape else (),
        limits=tuple(model.limit(setting) for setting in boat.settings if setting.to_max is not None),
        settings=chances,
        improvements=tuple(Improvement(text, lead.sigma, after) for text, after in found),
        findings=play_findings(boat, chances, model.errors, sources),
    )


class _Model:
    """The errors of one boat on one set of sheets: ``errors`` by hole id, aft and to starboard, mm."""

    def __init__(self, boat: Boat, sheets: Sequence[TiledSheet], sources: Sources) -> None:
        self.boat = boat
        self.sources = sources
        self.errors: dict[str, tuple[Linear, Linear]] = {}
        # What counts is where floor and plank meet: a hole drilled through the floor from above has leant that far by
        # then; one drilled from the meeting face itself, as in the plank, has not.
        from_above = boat.description.print.floor_face is FloorFace.UPPER
        thickness = {"floor": boat.description.floor.thickness if from_above else 0.0, "plank": 0.0}
        wanted = {hole.id for hole in boat.holes if hole.kind in _BOLTS}
        printer: dict[str, Linear] = {}
        for sheet in sheets:
            if sheet.drawing.name not in thickness:
                continue
            sheet_errors = SheetErrors(sheet, sources, thickness[sheet.drawing.name], printer)
            starboard = -1 if sheet.drawing.mirrored else 1
            for hole in (*sheet.drawing.holes, *sheet.drawing.expected):
                if hole.id in wanted:
                    du, dv = sheet_errors.error(hole.at)
                    self.errors[hole.id] = (-dv, starboard * du)

    def hole(self, ident: str) -> HoleAccuracy:
        """Return one hole's row."""
        along, across = (budget(ident, "mm", error) for error in self.errors[ident])
        return HoleAccuracy(ident, across.sigma, along.sigma, max((across, along), key=lambda b: b.sigma).largest)

    def pair(self, one: CheckDistance) -> Budget:
        """Return the budget of the distance between two holes."""
        places = {hole.id: hole.at for hole in self.boat.holes}
        value = apart(places[one.a], places[one.b], self.errors[one.a], self.errors[one.b], one.distance)
        return budget(f"{one.a} to {one.b}, {one.kind}", "mm", value)

    def yaw(self, setting: Setting) -> Budget:
        """Return the budget of the plank's yaw at a setting, degrees, starboard end aft positive."""
        return budget(f"yaw, setting {setting.number}", "°", self._yaw(setting) * math.degrees(1))

    def lead(self, setting: Setting) -> Budget:
        """Return the budget of how far one runner ends ahead of the other."""
        return budget(f"lead of one runner, setting {setting.number}", "mm", self._yaw(setting) * self.boat.span)

    def tape(self, setting: Setting) -> Budget:
        """Return the budget of the port tape distance less the starboard one, as it will be read."""
        slant = self.boat.tape[setting.number - 1].slant
        (_, port), (_, starboard) = self._meeting(setting)
        # The corners, some way aft of the bolt line, swing athwart as well: what is left is the bolt line's station.
        true = -(self._yaw(setting) * setting.station + (port + starboard) / 2) * self.boat.span / slant
        return budget(f"difference of the two tape distances, setting {setting.number}", "mm", true + self._readings())

    def squared(self, setting: Setting) -> float:
        """Return the error of the lead once the plank has been turned on its first bolt until both tapes read alike.

        What is left is what the tapes cannot tell: their readings, and how far the first bolt has the plank off centre.
        """
        slant, span = self.boat.tape[setting.number - 1].slant, self.boat.span
        return max(
            ((self._readings() * slant - athwart * span) / setting.station).sigma
            for _, athwart in self._meeting(setting)
        )

    def limit(self, setting: Setting) -> LimitChance:
        """Return the chance of ending beyond the greatest distance."""
        # The bolt line is measured off the pivot axis with a tape, which no repeat can better, and drawn; what the rule
        # asks for is the runners' axis, which is wherever the chocks are, and the plank can shift by the bolt's play.
        line = sum((self.sources.variable(name) for name in _LIMIT), Linear())
        # At fit-up the plank turns on its first bolt until it is square, so that bolt alone says where it ends up.
        result = max((budget("", "mm", aft + line) for aft, _ in self._meeting(setting)), key=lambda bolt: bolt.sigma)
        margin = setting.to_max or 0.0
        return LimitChance(setting.number, margin, result.sigma, coverage_chance(margin, result.sigma), result.largest)

    def _meeting(self, setting: Setting) -> list[tuple[Linear, Linear]]:
        """Return by how much the floor's hole lies aft and to starboard of the plank's, port and starboard bolt."""
        pairs = ((self.errors[f"{side.value}{setting.number}"], self.errors[f"K{side.value}"]) for side in Side)
        return [(floor[0] - plank[0], floor[1] - plank[1]) for floor, plank in pairs]

    def _yaw(self, setting: Setting) -> Linear:
        """Return the plank's yaw at a setting, radians, starboard end aft positive."""
        port, starboard = (self.errors[f"{side.value}{setting.number}"][0] for side in Side)
        half, along = self.boat.description.fixing.half_spread, self.boat.plank.hole_along
        return (starboard - port) / (2 * half) - (self.errors["KS"][0] - self.errors["KP"][0]) / (2 * along)

    def _readings(self) -> Linear:
        """Return the error of a difference of two readings of the tape."""
        return self.sources.variable(TAPE) - self.sources.variable(TAPE)
