"""Named sources of error, each with one standard deviation and its origin, and what they make together.

Combined standard uncertainties are to first order. Source: JCGM 100:2008 (GUM), clause 5.
"""

import math
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.maths import Linear, Variable
from templater.units import MM

#: Class II tape, maximum permissible error a + b L (L in whole metres, rounded up) plus c at the hook, mm.
#: Source: Directive 2014/32/EU, Annex X (MI-008), chapter I.
TAPE_A, TAPE_B, TAPE_C = 0.3, 0.2, 0.2


class Source(NamedTuple):
    """A named source of error: one standard deviation, its unit, and where the figure comes from."""

    name: str
    sigma: float
    unit: str
    origin: str
    cure: str = ""


class Sources(NamedTuple):
    """Every source of the budget. Lengths mm, angles degrees, scales mm per mm, humidity per cent."""

    items: tuple[Source, ...]

    def of(self, name: str) -> Source:
        """Return one source."""
        return next(item for item in self.items if item.name == name)

    def variable(self, name: str) -> Linear:
        """Return zero with a new variable of a source; without one if the source has no error."""
        sigma = self.of(name).sigma
        return Linear(0.0, {Variable(name, sigma): 1.0} if sigma else {})

    def tapes(self) -> Linear:
        """Return the error of a difference of two readings of the tape."""
        return self.variable(TAPE) - self.variable(TAPE)


class Budget(NamedTuple):
    """A combined standard uncertainty."""

    what: str  # what it is the uncertainty of
    unit: str  # mm or degrees
    value: float  # nominal
    sigma: float  # one combined standard deviation
    parts: tuple[tuple[str, float], ...]  # source name and its share as a standard deviation, largest first

    @property
    def largest(self) -> str:
        """Name of the largest contributor."""
        return self.parts[0][0] if self.parts else ""


def budget(what: str, unit: str, result: Linear) -> Budget:
    """Return the budget of a value whose variables bear their sources' names."""
    squares: dict[str, float] = {}
    for one, part in result.parts.items():
        squares[one.name] = squares.get(one.name, 0.0) + (part * one.sigma) ** 2
    parts = [(name, math.sqrt(square)) for name, square in squares.items() if square > 0]
    parts.sort(key=lambda part: (-part[1], part[0]))
    return Budget(what, unit, result.value, math.sqrt(sum(squares.values())), tuple(parts))


SCALE = "printer scale"
HUMIDITY = "paper movement with humidity"
SEAM = "seam shift"
SEAM_ANGLE = "seam rotation"
LAYING = "laying the sheet on the lines"
PUNCH = "punching"
DRILL = "drill wander"
LEAN = "drill lean"
TAPE = "tape reading"
TAPE_SCALE = "tape's own error"
LINE = "pencil line"
PIVOT = "finding the steering pivot axis"
CHOCKS = "placing the chocks"
PLAY = "play of the bolt"

#: Error of taping a seam where the builder gives none, mm, from memory; and a usual distance of the two registration
#: marks of a seam on A4 and Letter, mm: 130 to 210 on the demo boats' sheets.
_SEAM, _MARKS_APART = 0.2, 150.0

#: Paper movement, mm per mm for one per cent of relative humidity, along and across the grain: 0.15 % and 0.30 %
#: (middle of the typical values of a paper-trade page) for a change from 35 to 65 per cent; the change is from memory.
ALONG_GRAIN, ACROSS_GRAIN = 0.0015 / 30, 0.0030 / 30


def tape_limit(length: float) -> float:
    """Return the largest permissible error of a class II tape over ``length`` mm from its hook, in mm.

    Source: Directive 2014/32/EU, Annex X (MI-008): a + b L, L in metres rounded up to the next whole metre, plus c.
    """
    return TAPE_A + TAPE_B * math.ceil(length / 1000 - 1e-12) + TAPE_C


def rectangular(half_width: float) -> float:
    """Return the standard deviation of a rectangular distribution. Source: JCGM 100:2008, 4.3.7."""
    return half_width / math.sqrt(3)


def default_sources(boat: Boat, *, printer: float | None = None) -> Sources:
    """Return the sources: the builder's own figures where given, stated defaults elsewhere.

    ``printer`` is the standard uncertainty of the printer profile's scale, mm per mm, if there is one.
    """
    own = boat.description.accuracy
    longest = max((figure.slant for figure in boat.tape), default=boat.settings[-1].station)
    seam = own.seam if own.seam is not None else _SEAM
    angle = math.degrees(math.sqrt(2) * seam / _MARKS_APART)
    at_marks = f"{MM.size(seam, 3)} at each of two marks {MM.size(_MARKS_APART)} apart"
    items = []
    for name, key, usual, unit, origin, cure in (
        (SCALE, "printer_scale", 0.001, "mm/mm", "uncorrected printer, from memory", "measure the bars"),
        (HUMIDITY, "humidity", 10.0, "% RH", "a week indoors, from memory", "print and drill on one day"),
        (SEAM, "seam", _SEAM, "mm", "taped by eye over a cross, from memory", "larger paper"),
        (SEAM_ANGLE, "seam_angle", angle, "°", at_marks, "larger paper"),
        (LAYING, "lay", 0.3, "mm", "pencil line in a window, from memory", "a sharper line"),
        (PUNCH, "punch", 0.3, "mm", "pricked through paper, from memory", "a finer awl, good light"),
        (DRILL, "drill", 0.3, "mm", "guided bit, from memory", "a drill guide or pillar drill"),
        (LEAN, "drill_lean", 1.0, "°", "held by eye against a square, from memory", "a drill guide"),
        (TAPE, "tape", 0.5, "mm", f"readings repeat to {MM.size(1.0)}: common practice", "repeat the readings"),
        (LINE, "line", 0.3, "mm", "drawn with rule and pencil, from memory", "a knife line"),
        (PIVOT, "pivot", 0.7, "mm", "found round the post, from memory", "measure from both sides of the post"),
        (CHOCKS, "chocks", 0.7, "mm", "set by rule, from memory", "set both chocks to one line"),
    ):
        given = getattr(own, key)
        by = "the description"
        if given is None and key == "printer_scale":
            given, by = printer, "the printer's profile"
        items.append(
            Source(name, usual if given is None else given, unit, f"default: {origin}" if given is None else by, cure)
        )
    tape = f"class II tape over {longest / 1000:.1f} m, rectangular: Directive 2014/32/EU, Annex X"
    items.append(Source(TAPE_SCALE, rectangular(tape_limit(longest)), "mm", tape, "one tape for everything"))
    play = boat.play.fore_aft / 2
    items.append(Source(PLAY, rectangular(play), "mm", "least of slot and sleeve, rectangular", "a closer slot"))
    return Sources(tuple(items))


def centring(boat: Boat, sources: Sources) -> float:
    """Return how far the plank's middle may lie off the centreline on its first bolt, one standard deviation, mm.

    As the builder says, else worked out: the middle is that between the chock corners; holes of floor and plank count
    with laying, pricking and drilling, the floor's with its lean too, the printer's scale over the half spread, the
    bolt's play athwart, and the chocks.
    """
    said = boat.description.accuracy.centring
    if said is not None:
        return said
    hole = sum(sources.of(name).sigma ** 2 for name in (LAYING, PUNCH, DRILL))
    lean = math.radians(sources.of(LEAN).sigma) * boat.description.floor.thickness
    scale = sources.of(SCALE).sigma * boat.description.fixing.half_spread
    play = rectangular(boat.play.athwart / 2)
    return math.sqrt(2 * hole + lean**2 + 2 * scale**2 + play**2 + sources.of(CHOCKS).sigma ** 2 / 2)
