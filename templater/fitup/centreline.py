"""The hull's centreline by least squares from half breadths, and the steering post's offset from it.

Half breadths are taken from a trial line; at each station the hull's middle lies (starboard - port) / 2 to starboard of
that line. Every station weighs the same, since the hull's own unevenness outweighs the tape's.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.boat.solved import Side, side_word
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import Sifter, explain
from templater.fitup.readings import CentrelineReadings, Readings, Station, too_few_stations
from templater.maths.distributions import coverage_factor, two_sided_p
from templater.maths.fits import PolynomialFit, fit_polynomial
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
#: Standard deviation of one reading where nothing better is known, mm.
DEFAULT_SD = 0.5


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
    """Return the centreline that the half breadths give; None without a ``centreline`` section.

    Raises ReadingsError if there are fewer than three different stations.
    """
    section = readings.centreline
    if section is None:
        return None
    sifter = Sifter("T236", figures)
    section = _sifted(section, sifter)
    stations = section.stations
    xs = [row.at for row in stations]
    middles = [_middle(row) for row in stations]
    # Figures rounded to a step are never surer than their rounding: (starboard - port) / 2 has step / sqrt(24).
    least = readings.read_to / math.sqrt(24)
    try:
        whole = fit_polynomial(xs, middles, least_sd=least)
    except ValueError:
        text = too_few_stations(len(set(xs)))
        raise ReadingsError(Finding("D124", "centreline.stations", text)) from None
    odd = _suspects(whole)
    kept = [index for index in range(len(xs)) if index not in odd]
    clear = len({xs[index] for index in kept}) >= FEWEST
    used = kept if clear else list(range(len(xs)))
    kept_xs, kept_middles = [xs[index] for index in used], [middles[index] for index in used]
    fit = fit_polynomial(kept_xs, kept_middles, least_sd=least)
    factor = coverage_factor(fit.dof)
    marks = _marks([stations[index] for index in used], fit, factor)
    widest = max(mark.half_width for mark in marks)
    decided = clear and sifter.decided and widest <= WIDEST
    findings = sifter.findings
    findings += [_suspect_finding(stations[index], whole, index, figures, left_out=clear) for index in odd]
    if widest > WIDEST:
        few = f"; {len(used)} stations do not show which figure is wrong, take five or more" if len(used) < 5 else ""
        text = (
            f"the marks are only sure to {figures.length(widest)}, {figures.length(WIDEST, 0)} is needed: "
            f"read every half breadth again{few}"
        )
        findings.append(Finding("T235", "centreline", text))
    curve, curve_p = _curve(kept_xs, kept_middles)
    if curve is not None and curve_p is not None and curve_p < CURVED and abs(curve) > LEAST_CURVE:
        text = (
            f"the hull's middle is curved: it lies {figures.length(abs(curve))} to {_side(curve)} of a straight line "
            f"half way (chance {curve_p:.1%} in a straight hull) - let the line follow the stations near post and plank"
        )
        findings.append(Finding("T232", "centreline", text))
    post = _post_offset(section, fit, readings)
    if decided and post is not None and abs(post[0]) > 1.0:
        text = f"the steering post stands {figures.length(abs(post[0]))} to {_side(post[0])} of the centreline"
        findings.append(Finding("T233", "centreline.post_offset", text))
    if len(used) < 5:
        text = f"{len(used)} stations: five or more show a misread figure or a curved hull"
        findings.append(Finding("T234", "centreline.stations", text))
    angle_sd = math.degrees(fit.sds[1])
    return CentrelineResult(
        rows=tuple(_row(row, fit, index in odd) for index, row in enumerate(stations)),
        at_post=fit.at(0.0),
        at_post_sd=fit.sd_at(0.0),
        at_post_95=fit.sd_at(0.0) * factor,
        angle=_angle(fit),
        angle_sd=angle_sd,
        angle_95=angle_sd * factor,
        scatter=fit.residual_sd,
        post_offset=post[0] if post else None,
        post_offset_sd=post[1] if post else None,
        post_offset_95=post[1] * factor if post else None,
        marks=marks,
        curve=curve,
        curve_p=curve_p,
        left_out=tuple(xs[index] for index in odd) if clear else (),
        with_all=(whole.at(0.0), _angle(whole)) if odd and clear else None,
        decided=decided,
        findings=tuple(findings),
    )


def _angle(fit: PolynomialFit) -> float:
    return math.degrees(math.atan(fit.coefficients[1]))


def _middle(station: Station) -> float:
    return (station.starboard.mean - station.port.mean) / 2


def _sifted(section: CentrelineReadings, sifter: Sifter) -> CentrelineReadings:
    """Return the section without repeats that stand apart."""
    return section.changed(
        stations=tuple(sifter.both(f"station {sifter.figures.length(row.at, 0)}", row) for row in section.stations),
        post_offset=sifter.sift("post offset", section.post_offset),
    )


def _row(station: Station, fit: PolynomialFit, suspect: bool) -> StationRow:
    fitted, middle = fit.at(station.at), _middle(station)
    return StationRow(station.at, station.port.mean, station.starboard.mean, middle, fitted, middle - fitted, suspect)


def _suspects(fit: PolynomialFit) -> tuple[int, ...]:
    """Return the one station that stands furthest apart, if chance does not explain it.

    The worst is judged with itself left out, so that it cannot hide behind the line it has pulled over.
    """
    if fit.dof < 2 or max(abs(r) for r in fit.residuals) < 1e-9:
        return ()
    count = len(fit.residuals)
    worst = max(range(count), key=lambda index: abs(fit.left_out_t(index)))
    chance = two_sided_p(fit.left_out_t(worst), fit.dof - 1) * count
    return (worst,) if chance < SUSPECT and abs(fit.left_out_residual(worst)) > LEAST_MISFIT else ()


def _suspect_finding(station: Station, fit: PolynomialFit, index: int, figures: Figures, *, left_out: bool) -> Finding:
    """Point at a station, and at the figure that may have been misread."""
    off = fit.left_out_residual(index)
    guesses = []
    for side in Side:
        readings = station.side(side).readings
        for reading in readings:
            # Half the misread of one of n repeats reaches the middle divided by n.
            cause = explain(reading, reading.value - 2 * side.sign * off * len(readings))
            if cause:
                guesses.append(f"{side_word(side)} {reading.text}: {cause}")
    why = f" - likely {'; or '.join(dict.fromkeys(guesses))}" if guesses else " - measure it again"
    text = (
        f"station {figures.length(station.at, 0)}: the hull's middle lies {figures.length(abs(off))} to "
        f"{_side(off)} of the line through the others{why}; "
        f"{'left out of the line' if left_out else 'not decided: read it again'}"
    )
    return Finding("T230", station.dotted, text)


def _curve(xs: list[float], middles: list[float]) -> tuple[float | None, float | None]:
    """Return the rise of a parabola over its ends' chord, half way, and the chance of it in a straight hull."""
    if len(set(xs)) < 4:
        return None, None
    fit = fit_polynomial(xs, middles, 2)
    rise = -fit.coefficients[2] * ((max(xs) - min(xs)) / 2) ** 2
    if fit.sds[2] < 1e-15:
        return rise, 1.0 if abs(rise) < 1e-9 else 0.0
    return rise, two_sided_p(fit.coefficients[2] / fit.sds[2], fit.dof)


def _post_offset(section: CentrelineReadings, fit: PolynomialFit, readings: Readings) -> tuple[float, float] | None:
    count = len(section.post_offset.readings)
    if not count:
        return None
    own = (readings.tape or DEFAULT_SD) / math.sqrt(count)
    return section.post_offset.mean - fit.at(0.0), math.hypot(fit.sd_at(0.0), own)


def _marks(stations: list[Station], fit: PolynomialFit, factor: float) -> tuple[LineMark, LineMark]:
    """Return two marks at the foremost and the aftmost of some stations."""
    ends = sorted(stations, key=lambda row: row.at)
    return _mark(ends[0], fit, factor), _mark(ends[-1], fit, factor)


def _mark(row: Station, fit: PolynomialFit, factor: float) -> LineMark:
    offset = fit.at(row.at)
    return LineMark(row.at, offset, fit.sd_at(row.at) * factor, row.port.mean + offset)


def _side(offset: float) -> str:
    return "starboard" if offset > 0 else "port"
