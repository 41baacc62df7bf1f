"""The centreline held against other least-squares routines and against simulated hulls.

References: numpy.polyfit and scipy.stats.linregress; Student's t, JCGM 100:2008, G.3. The line fit itself is held
against certified values in test_fitup_linefit.py.
"""

import numpy as np
import pytest
from fitup_boats import both, repeats, station
from scipy import stats

from templater.fitup.centreline import CentrelineResult, centreline
from templater.fitup.readings import CentrelineReadings, Readings

STATIONS = (200.0, 600.0, 1000.0, 1400.0, 1800.0, 2200.0, 2600.0)


def fitted(
    middles: np.ndarray,
    *,
    noise: np.ndarray | None = None,
    post: tuple[float, ...] = (),
    step: float = 0.0,
    odd: float = 0.0,
) -> CentrelineResult:
    """Half breadths of a hull with its middle as told at the first stations; ``odd`` is added to the fourth to port."""
    rows = []
    for number, (x, middle) in enumerate(zip(STATIONS, middles, strict=False)):
        half = 150 + 0.09 * x - 2e-5 * x * x
        port, starboard = half - middle, half + middle
        if noise is not None:
            port, starboard = port + noise[number, 0], starboard + noise[number, 1]
        port += odd if number == 3 else 0.0
        rows.append(station(x, both([port], [starboard], f"centreline.stations.{number}")))
    section = CentrelineReadings(stations=tuple(rows), post_offset=repeats(post))
    result = centreline(Readings(read_to=step, tape=0.4, centreline=section))
    assert result is not None
    return result


def line(offset: float, slope: float) -> np.ndarray:
    return offset + slope * np.array(STATIONS)


def test_a_straight_hull_is_found_exactly() -> None:
    result = fitted(line(1.5, 0.002), post=(2.0,))
    assert result.at_post == pytest.approx(1.5, abs=1e-9)
    assert result.post_offset == pytest.approx(0.5, abs=1e-9)
    assert np.tan(np.radians(result.angle)) == pytest.approx(0.002, rel=1e-9)
    for mark in result.marks:
        assert mark.offset == pytest.approx(1.5 + 0.002 * mark.station, abs=1e-9)
    assert (result.curve, result.curve_p) == (pytest.approx(0.0, abs=1e-9), 1.0)
    assert result.marks[0].from_port_edge == pytest.approx(150 + 0.09 * 200 - 2e-5 * 200**2, abs=1e-9)
    assert result.findings == ()


def test_scipy_and_numpy_draw_the_same_line() -> None:
    noise = np.random.default_rng(8).normal(0, 0.7, (7, 2))
    result = fitted(line(0.8, 0.001), noise=noise, post=(2.0, 2.1, 2.2, 2.1))
    middles = line(0.8, 0.001) + (noise[:, 1] - noise[:, 0]) / 2
    other = stats.linregress(STATIONS, middles)
    assert result.at_post == pytest.approx(other.intercept, abs=1e-9)
    assert result.at_post_sd == pytest.approx(other.intercept_stderr, rel=1e-9)
    assert result.at_post_95 == pytest.approx(other.intercept_stderr * stats.t.ppf(0.975, 5), rel=1e-9)
    # The post itself is read to 0.4 mm four times: its mean is sure to half of that.
    assert result.post_offset == pytest.approx(2.1 - other.intercept, abs=1e-9)
    assert result.post_offset_sd == pytest.approx(np.hypot(other.intercept_stderr, 0.2), rel=1e-9)
    assert np.radians(result.angle_sd) == pytest.approx(other.stderr, rel=1e-9)
    slope, intercept = np.polyfit(STATIONS, middles, 1)
    expected = list(np.polyval([slope, intercept], STATIONS))
    assert [row.fitted for row in result.rows] == pytest.approx(expected, abs=1e-9)
    assert [row.residual for row in result.rows] == pytest.approx(list(middles - expected), abs=1e-9)


@pytest.mark.parametrize(("count", "few"), [(4, True), (5, False)])
def test_four_stations_are_called_few_and_five_are_not(count: int, few: bool) -> None:
    assert ("T234" in [finding.code for finding in fitted(line(0.0, 0.001)[:count]).findings]) is few


def test_a_curved_hull_is_called_curved_and_a_straight_one_is_not() -> None:
    noise = np.random.default_rng(4).normal(0, 0.2, (7, 2))
    x = np.array(STATIONS)
    # A parabola that rises 3 mm to starboard half way: sagitta c (L/2)^2 over a length of 2400 mm.
    bow = 3.0 * (1 - ((x - 1400) / 1200) ** 2)
    curved = fitted(line(0.0, 0.001) + bow, noise=noise)
    assert curved.curve == pytest.approx(3.0, abs=0.4)
    coefficients, covariance = np.polyfit(x, [row.middle for row in curved.rows], 2, cov=True)
    t = coefficients[0] / np.sqrt(covariance[0, 0])
    assert curved.curve_p == pytest.approx(2 * stats.t.sf(abs(t), 4), rel=1e-4)
    assert [finding.code for finding in curved.findings] == ["T232"]
    assert "to starboard" in curved.findings[0].text
    assert fitted(line(0.0, 0.001), noise=noise).findings == ()


@pytest.mark.parametrize(("count", "curve", "chance"), [(3, None, None), (4, pytest.approx(3.0), 0.0)])
def test_three_stations_tell_of_no_curve_and_four_do(count: int, curve: float | None, chance: float | None) -> None:
    x = np.array(STATIONS[:count])
    middle, half = x.mean(), np.ptp(x) / 2
    found = fitted(3.0 * (1 - ((x - middle) / half) ** 2))
    assert (found.curve, found.curve_p) == (curve, chance)


def test_a_figure_misread_by_a_centimetre_is_pointed_at_with_its_likely_cause() -> None:
    noise = np.random.default_rng(4).normal(0, 0.2, (7, 2))
    result = fitted(line(0.0, 0.001), noise=noise, odd=10.0)
    assert [row.station for row in result.rows if row.suspect] == [1400.0]
    assert [finding.code for finding in result.findings] == ["T230"]
    port, _, starboard = result.findings[0].text.partition("; or ")
    assert "port 245" in port  # 150 + 126 - 39.2 - 1.4 + 10
    assert "slip of 10 mm" in port
    assert "slip of 10 mm" in starboard
    # The line is that of the six others alone, as numpy draws it; the figures with the slip in stand beside it.
    middles = line(0.0, 0.001) + (noise[:, 1] - noise[:, 0]) / 2
    others = [index for index in range(7) if index != 3]
    slope, intercept = np.polyfit(np.array(STATIONS)[others], middles[others], 1)
    assert result.left_out == (1400.0,)
    assert result.at_post == pytest.approx(intercept, abs=1e-9)
    assert np.tan(np.radians(result.angle)) == pytest.approx(slope, abs=1e-12)
    middles[3] -= 5.0
    assert result.with_all is not None
    assert result.with_all[0] == pytest.approx(np.polyfit(STATIONS, middles, 1)[1], abs=1e-9)
    assert result.decided


def test_a_line_that_the_stations_do_not_bear_out_is_not_decided() -> None:
    # numpy's covariance at the end marks and Student's t: half-widths under 5 mm are drawn, wider ones are not.
    for size, decided in ((1.0, True), (10.0, False)):
        noise = np.random.default_rng(8).normal(0, size, (7, 2))
        result = fitted(line(0.0, 0.001), noise=noise)
        middles = line(0.0, 0.001) + (noise[:, 1] - noise[:, 0]) / 2
        _, covariance = np.polyfit(STATIONS, middles, 1, cov=True)
        ends = [np.sqrt(np.array([x, 1]) @ covariance @ np.array([x, 1])) for x in (STATIONS[0], STATIONS[-1])]
        half_widths = [end * stats.t.ppf(0.975, 5) for end in ends]
        assert [mark.half_width for mark in result.marks] == pytest.approx(half_widths, rel=1e-6)
        assert bool(max(half_widths) <= 5.0) is decided
        assert result.decided is decided
        assert ("T235" in [finding.code for finding in result.findings]) is not decided


def test_the_stated_interval_holds_the_true_post_in_95_of_100_hulls() -> None:
    rng = np.random.default_rng(6)
    hits = sum(
        abs((result := fitted(line(0.5, 0.001), noise=rng.normal(0, 0.6, (7, 2)))).at_post - 0.5) <= result.at_post_95
        for _ in range(800)
    )
    assert 0.93 <= hits / 800 <= 0.97


def test_straight_hulls_are_seldom_blamed() -> None:
    rng = np.random.default_rng(7)
    codes = [
        finding.code
        for _ in range(150)
        for finding in fitted(line(0.5, 0.001), noise=rng.normal(0, 0.6, (7, 2))).findings
    ]
    assert codes.count("T230") <= 3  # one in a hundred by the test's own level, of those over 1 mm
    assert codes.count("T232") <= 3


def test_rounded_figures_that_lie_on_a_line_are_not_called_certain() -> None:
    result = fitted(line(0.0, 0.0), step=1.0)
    assert result.at_post_sd == pytest.approx(
        1 / np.sqrt(24) * np.sqrt(1 / 7 + 1400**2 / np.sum((np.array(STATIONS) - 1400) ** 2)), rel=1e-9
    )
