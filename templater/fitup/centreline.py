"""The hull's centreline by least squares from half breadths, and the steering post's offset from it.

Half breadths are taken from a trial line; at each station the hull's middle lies (starboard - port) / 2 to starboard of
that line. Every station weighs the same, since the hull's own unevenness outweighs the tape's.
"""

import math
from typing import NamedTuple

from templater.boat.solved import Side, side_of
from templater.findings import Finding
from templater.fitup.misread import Sifter, explain
from templater.fitup.readings import DEFAULT_TAPE_SD, Readings, Station
from templater.maths import PolynomialFit, coverage_factor, fit_polynomial, two_sided_p
from templater.units import MM, Figures

#: Chance, shared among all stations, below which a station is pointed at (Bonferroni's rule).
SUSPECT = 0.01
#: Least misfit that is pointed at, mm.
LEAST_MISFIT = 1.0
#: Chance below which the hull is called curved, and the least rise of the curve worth saying, mm.
CURVED, LEAST_CURVE = 0.01, 0.5
#: Half-width of a mark's 95 % interval above which the line is not known well enough to be drawn, mm. Over 2 m it is
#: as much as 6 mm between the ends of a plank 2.3 m long. Common practice, no source.
WIDEST = 5.0
#: Fewest stations that a line rests on once a suspect one is left out.
FEWEST = 3


class StationRow(NamedTuple):
    """One station: the hull's middle to starboard of the trial line, the fitted line there, and the misfit, mm."""

    station: float
    port: float
    starboard: float
    middle: float
    fitted: float
    residual: float
    suspect: bool


class LineMark(NamedTuple):
    """Where to put a mark for drawing the centreline, mm."""

    station: float
    offset: float  # to starboard of the trial line
    half_width: float  # of the offset's 95 % interval
    from_port_edge: float


class CentrelineResult(NamedTuple):
    """The fitted centreline, against the trial line, mm and degrees; ``_95`` is half a 95 % interval."""

    rows: tuple[StationRow, ...]
    at_post: float  # its offset at the steering pivot axis (x = 0) to starboard
    at_post_sd: float
    at_post_95: float
    angle: float  # from the trial line, running to starboard going aft positive
    angle_sd: float
    angle_95: float
    scatter: float  # standard deviation of the misfits
    post_offset: float | None  # steering post to starboard of the fitted centreline, if its place was read
    post_offset_sd: float | None
    post_offset_95: float | None
    marks: tuple[LineMark, LineMark]
    curve: float | None  # rise of the hull's middle over its ends to starboard, by a parabola; None with three stations
    curve_p: float | None  # chance that a straight hull shows that much
    left_out: tuple[float, ...]  # stations taken out because they are suspect; none if too few would remain
    with_all: tuple[float, float] | None  # offset at the post and angle if they were kept
    decided: bool  # whether the line is known well enough to be drawn
    findings: tuple[Finding, ...]


def centreline(readings: Readings, figures: Figures = MM) -> CentrelineResult | None:
    """Return the centreline of half breadths, None without any; raises ValueError for fewer than three stations."""
    section = readings.centreline
    if section is None:
        return None
    sifter = Sifter("T236", figures)
    stations = [sifter.both(f"station {figures.length(row.at, 0)}", row) for row in section.stations]
    post_read = sifter.sift("post offset", section.post_offset)
    points = [(row.at, (row.starboard.mean - row.port.mean) / 2) for row in stations]
    # Figures rounded to a step are never surer than their rounding: (starboard - port) / 2 has step / sqrt(24).
    least = readings.read_to / math.sqrt(24)
    whole = fit_polynomial(points, least_sd=least)
    odd = _suspect(whole)
    others = [index for index in range(len(points)) if index != odd]
    clear = len({points[index][0] for index in others}) >= FEWEST
    used = others if clear else range(len(points))
    fit = fit_polynomial([points[index] for index in used], least_sd=least)
    factor = coverage_factor(fit.dof)
    ends = sorted((stations[index] for index in used), key=lambda row: row.at)
    fore, aft = (
        LineMark(row.at, fit.at(row.at), fit.sd_at(row.at) * factor, row.port.mean + fit.at(row.at))
        for row in (ends[0], ends[-1])
    )
    widest = max(fore.half_width, aft.half_width)
    decided = clear and sifter.decided and widest <= WIDEST
    if odd is not None:
        off, _ = whole.left_out(odd)
        verdict = "left out of the line" if clear else "not decided: read it again"
        at, why = stations[odd].at, _cause(stations[odd], off)
        sifter.tell("T230", stations[odd].dotted, at=at, off=abs(off), side=side_of(off), why=why, verdict=verdict)
    few = {"count": str(len(used))} if len(used) < 5 else {}
    if widest > WIDEST:
        sifter.tell("T235", "centreline", "few" if few else "", widest=widest, most=WIDEST, **few)
    curve, curve_p = _curve([points[index] for index in used])
    if curve is not None and curve_p is not None and curve_p < CURVED and abs(curve) > LEAST_CURVE:
        sifter.tell("T232", "centreline", curve=abs(curve), side=side_of(curve), chance=f"{curve_p:.1%}")
    post = post_sd = None
    if post_read.readings:
        post = post_read.mean - fit.at(0.0)
        post_sd = math.hypot(fit.sd_at(0.0), (readings.tape or DEFAULT_TAPE_SD) / math.sqrt(len(post_read.readings)))
        if decided and abs(post) > 1.0:
            sifter.tell("T233", "centreline.post_offset", off=abs(post), side=side_of(post))
    if few:
        sifter.tell("T234", "centreline.stations", **few)
    angle_sd = math.degrees(fit.sds[1])
    return CentrelineResult(
        rows=tuple(
            StationRow(x, row.port.mean, row.starboard.mean, middle, fit.at(x), middle - fit.at(x), index == odd)
            for index, (row, (x, middle)) in enumerate(zip(stations, points, strict=True))
        ),
        at_post=fit.at(0.0),
        at_post_sd=fit.sd_at(0.0),
        at_post_95=fit.sd_at(0.0) * factor,
        angle=_angle(fit),
        angle_sd=angle_sd,
        angle_95=angle_sd * factor,
        scatter=fit.residual_sd,
        post_offset=post,
        post_offset_sd=post_sd,
        post_offset_95=None if post_sd is None else post_sd * factor,
        marks=(fore, aft),
        curve=curve,
        curve_p=curve_p,
        left_out=() if odd is None or not clear else (points[odd][0],),
        with_all=None if odd is None or not clear else (whole.at(0.0), _angle(whole)),
        decided=decided,
        findings=tuple(sifter.findings),
    )


def _angle(fit: PolynomialFit) -> float:
    return math.degrees(math.atan(fit.coefficients[1]))


def _suspect(fit: PolynomialFit) -> int | None:
    """Return the station furthest apart if chance does not explain it, judged without itself, so it cannot hide."""
    if fit.dof < 2 or max(abs(r) for r in fit.residuals) < 1e-9:
        return None
    left_out = [fit.left_out(index) for index in range(len(fit.residuals))]
    misfit, t = max(left_out, key=lambda one: abs(one[1]))
    chance = two_sided_p(t, fit.dof - 1) * len(left_out)
    return left_out.index((misfit, t)) if chance < SUSPECT and abs(misfit) > LEAST_MISFIT else None


def _cause(station: Station, off: float) -> str:
    """Return which figure of a station may have been misread, its middle lying off the line."""
    guesses = []
    for side in Side:
        readings = station.side(side).readings
        for reading in readings:
            # Half the misread of one of n repeats reaches the middle divided by n.
            if cause := explain(reading, reading.value - 2 * side.sign * off * len(readings)):
                guesses.append(f"{side.word} {reading.text}: {cause}")
    return f" - likely {'; or '.join(dict.fromkeys(guesses))}" if guesses else " - measure it again"


def _curve(points: list[tuple[float, float]]) -> tuple[float | None, float | None]:
    """Return the rise of a parabola over its ends' chord, half way, and the chance of it in a straight hull."""
    places = {x for x, _ in points}
    if len(places) < 4:
        return None, None
    fit = fit_polynomial(points, 2)
    rise = -fit.coefficients[2] * ((max(places) - min(places)) / 2) ** 2
    if fit.sds[2] < 1e-15:
        return rise, 1.0 if abs(rise) < 1e-9 else 0.0
    return rise, two_sided_p(fit.coefficients[2] / fit.sds[2], fit.dof)
