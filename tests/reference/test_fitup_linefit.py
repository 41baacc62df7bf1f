"""The line fit held against certified values.

Source: NIST Statistical Reference Datasets, Linear Regression: Norris (lower difficulty, straight line, 36 points) and
Pontius (lower difficulty, parabola, 40 points). Data and certified values are from memory; that the data give the
certified values to many digits proves the copy, for one wrong figure changes them in the third or fourth.
"""

import math

import numpy as np
import pytest
from scipy import stats

from templater.maths import chi_square_p, coverage_factor, f_p, fit_polynomial, least_squares, two_sided_p

NORRIS = """
0.1 0.2 338.8 337.4 118.1 118.2 888.0 884.6 9.2 10.1 228.1 226.5 668.5 666.3 998.5 996.3 449.1 448.6 778.9 777.0
559.2 558.2 0.3 0.4 0.1 0.6 778.1 775.5 668.8 666.9 339.3 338.0 448.9 447.5 10.8 11.6 557.7 556.0 228.3 228.1
998.0 995.8 888.8 887.6 119.6 120.2 0.3 0.3 0.6 0.3 557.6 556.8 339.3 339.1 888.0 887.2 998.5 999.0 778.9 779.0
10.2 11.1 117.6 118.3 228.9 229.2 668.4 669.1 449.2 448.9 0.2 0.5
"""
PONTIUS = """
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399 1.63194
1.73947 1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150
1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829
"""


def norris() -> tuple[list[float], list[float]]:
    figures = [float(f) for f in NORRIS.split()]
    return figures[1::2], figures[0::2]


def test_norris_gives_the_certified_line() -> None:
    x, y = norris()
    fit = fit_polynomial(list(zip(x, y, strict=True)))
    assert fit.coefficients == pytest.approx((-0.262323073774029, 1.00211681802045), rel=1e-12)
    assert fit.sds == pytest.approx((0.232818234301152, 0.429796848199937e-03), rel=1e-12)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)
    assert fit.dof == 34


def test_pontius_gives_the_certified_parabola() -> None:
    y = [float(f) for f in PONTIUS.split()]
    x = [150_000.0 * (1 + n % 20) for n in range(40)]
    fit = fit_polynomial(list(zip(x, y, strict=True)), 2)
    certified = (0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14)
    sds = (0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16)
    assert fit.coefficients == pytest.approx(certified, rel=1e-9)
    assert fit.sds == pytest.approx(sds, rel=1e-9)
    assert fit.residual_sd == pytest.approx(0.205177424076185e-03, rel=1e-10)


def test_numpy_and_scipy_agree() -> None:
    x, y = norris()
    fit = fit_polynomial(list(zip(x, y, strict=True)))
    slope, intercept = np.polyfit(x, y, 1)
    line = stats.linregress(x, y)
    assert fit.coefficients == pytest.approx((intercept, slope), rel=1e-9)
    assert fit.sds == pytest.approx((line.intercept_stderr, line.stderr), rel=1e-9)
    assert fit.sd_at(0.0) == pytest.approx(line.intercept_stderr, rel=1e-9)
    assert fit.at(0.0) == pytest.approx(line.intercept, rel=1e-9)


def test_a_point_left_out_has_the_residual_that_the_others_give_it() -> None:
    x, y = norris()
    fit = fit_polynomial(list(zip(x, y, strict=True)))
    rest = stats.linregress(x[:3] + x[4:], y[:3] + y[4:])
    off, ratio = fit.left_out(3)
    assert off == pytest.approx(y[3] - rest.intercept - rest.slope * x[3], rel=1e-9)
    # Over its standard deviation: the others' scatter and that of their line at the place, by any text on regression.
    others = np.array(x[:3] + x[4:])
    scatter = np.std(np.array(y[:3] + y[4:]) - rest.intercept - rest.slope * others) * np.sqrt(35 / 33)
    spread = 1 + 1 / 35 + (x[3] - others.mean()) ** 2 / np.sum((others - others.mean()) ** 2)
    assert ratio == pytest.approx(off / (scatter * np.sqrt(spread)), rel=1e-8)
    # Beside others that lie on one line, it stands apart without end.
    off, ratio = fit_polynomial([(0.0, 3.0), (1.0, 5.0), (2.0, 8.0), (3.0, 9.0), (4.0, 11.0)]).left_out(2)
    assert off == pytest.approx(1.0)
    assert ratio > 1e6


@pytest.mark.parametrize(
    ("dof", "factor"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (16, 2.120), (30, 2.042), (math.inf, 1.960)]
)
def test_coverage_factors_are_those_of_students_table(dof: float, factor: float) -> None:
    # Source: JCGM 100:2008, table G.2, 95 per cent; third decimal from scipy, second from the table (from memory).
    assert coverage_factor(dof) == pytest.approx(factor, abs=6e-4)


@pytest.mark.parametrize("dof", [0.7, 1, 2, 3.4, 7, 16, 29.5, 400, 0.9e6, 1.1e6, 1e9, math.inf])
def test_students_t_is_scipys(dof: float) -> None:
    wanted = stats.norm if math.isinf(dof) else stats.t(dof)
    assert coverage_factor(dof) == pytest.approx(wanted.ppf(0.975), rel=1e-10)
    for t in (0.0, 0.3, 2.5, 11.0):
        assert two_sided_p(t, dof) == pytest.approx(2 * wanted.sf(t), rel=1e-9 if dof < 1e6 else 1e-4)
        assert two_sided_p(-t, dof) == two_sided_p(t, dof)
    assert two_sided_p(-math.inf, dof) == 0.0


@pytest.mark.parametrize("dof", [1, 2, 5, 40])
@pytest.mark.parametrize("value", [0.0, 0.4, 3.0, 60.0])
def test_chi_square_and_f_are_scipys(dof: int, value: float) -> None:
    assert chi_square_p(value, dof) == pytest.approx(stats.chi2.sf(value, dof), rel=1e-10)
    for lower in (2, 3, 17):
        assert f_p(value, dof, lower) == pytest.approx(stats.f.sf(value, dof, lower), rel=1e-10)


def test_least_squares_is_numpys_and_says_where_unknowns_are_not_fixed() -> None:
    rows = [(1.0, 0.0, -212.5), (0.0, 1.0, 340.0), (1.0, 0.0, 198.0), (0.0, 1.0, -355.5), (0.0, 1.0, 1.25)]
    solver = least_squares(rows)
    assert solver is not None
    gains = [[float(value) for value in row] for row in solver.gains]
    assert np.allclose(gains, np.linalg.pinv(np.array(rows)), rtol=1e-12, atol=1e-15)
    assert np.allclose([[float(v) for v in r] for r in solver.covariance], np.array(gains) @ np.array(gains).T)
    assert least_squares([(1.0, 0.0, 5.0), (1.0, 0.0, 5.0), (0.0, 1.0, 7.0)]) is None
    assert least_squares([(0.0, 1.0, 100.0), (0.0, 1.0, 100.0 + 1e-10), (1.0, 0.0, 0.0)]) is None


def test_a_point_that_stands_alone_is_not_judged() -> None:
    fit = fit_polynomial([(0.0, 1.0), (0.0, 2.0), (0.0, 3.0), (0.0, 2.0), (100.0, 50.0)])
    assert fit.left_out(4) == (0.0, 0.0)
