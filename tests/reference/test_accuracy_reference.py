"""The error budget against published uncertainty figures."""

import math

import pytest
from uncertainties import ufloat

from templater.accuracy.errors import ACROSS_GRAIN, ALONG_GRAIN, budget, rectangular, tape_limit
from templater.accuracy.report import coverage_chance
from templater.maths import Linear, Variable


def uncertain(value: float, sigma: float, name: str) -> Linear:
    return Linear(value, {Variable(name, sigma): 1.0})


def test_end_gauge_example_of_the_guide() -> None:
    # Source: JCGM 100:2008 (GUM), annex H.1, end-gauge calibration. Inputs and result as printed there:
    # l = 50 000 838 nm, u = 32 nm; contributions 25, 16.6 (delta theta term), 9.7 (d: 5.8, 3.9, 6.7), 2.9.
    standard = uncertain(50_000_623, 25, "standard")
    repeat = uncertain(215, 5.8, "repeat readings")
    random = uncertain(0, 3.9, "random comparator")
    systematic = uncertain(0, 6.7, "systematic comparator")
    alpha = uncertain(11.5e-6, 2e-6 / math.sqrt(3), "alpha")
    d_alpha = uncertain(0, 1e-6 / math.sqrt(3), "delta alpha")
    d_theta = uncertain(0, 0.05 / math.sqrt(3), "delta theta")
    theta = uncertain(-0.1, 0.2, "theta") + uncertain(0, 0.5 / math.sqrt(2), "theta cyclic")
    length = standard + (repeat + random + systematic) - standard * (d_alpha * theta + alpha * d_theta)

    result = budget("end gauge", "nm", length)

    assert result.value == pytest.approx(50_000_838, abs=0.5)
    assert result.sigma == pytest.approx(32, abs=0.5)
    parts = dict(result.parts)
    assert parts["standard"] == pytest.approx(25, abs=0.1)
    assert parts["delta theta"] == pytest.approx(16.6, abs=0.1)
    assert parts["systematic comparator"] == pytest.approx(6.7, abs=0.05)
    assert parts["repeat readings"] == pytest.approx(5.8, abs=0.05)
    assert parts["random comparator"] == pytest.approx(3.9, abs=0.05)
    assert parts["delta alpha"] == pytest.approx(2.9, abs=0.05)
    assert "alpha" not in parts  # exactly nothing to first order, as the guide says
    assert "theta" not in parts
    assert result.largest == "standard"


@pytest.mark.parametrize(("length", "expected"), [(1000, 0.5), (2500, 0.9), (3000, 0.9), (5000, 1.3), (10_000, 2.3)])
def test_class_two_tape(length: float, expected: float) -> None:
    # Source: Directive 2014/32/EU, Annex X (MI-008), chapter I: 0.3 + 0.2 L, L in metres rounded up; hook + 0.2.
    assert tape_limit(length) == pytest.approx(expected + 0.2)


def test_rectangular_distribution() -> None:
    # Source: JCGM 100:2008, 4.3.7: a / sqrt 3.
    assert rectangular(1.1) == pytest.approx(0.635, abs=5e-4)


def test_paper_movement_lies_within_the_trade_s_typical_values() -> None:
    # Source: a paper-trade page's typical values for bond paper: 0.10-0.20 % along, 0.20-0.40 % across the grain.
    # The change of 30 per cent of relative humidity that goes with them is from memory.
    assert 0.0010 <= ALONG_GRAIN * 30 <= 0.0020
    assert 0.0020 <= ACROSS_GRAIN * 30 <= 0.0040


@pytest.mark.parametrize(("z", "chance"), [(0.0, 0.5), (1.645, 0.05), (1.960, 0.025), (2.326, 0.01)])
def test_chance_of_exceeding_a_limit(z: float, chance: float) -> None:
    # Source: one-sided normal quantiles, the last row of Student's t table (infinite degrees of freedom), as in
    # JCGM 100:2008 table G.2.
    assert coverage_chance(z * 0.8, 0.8) == pytest.approx(chance, abs=2e-4)


def test_what_is_shared_cancels_in_a_difference() -> None:
    shared = uncertain(0, 3.0, "shared")
    own = uncertain(0, 1.0, "own")
    assert budget("difference", "mm", (shared + own) - shared).sigma == pytest.approx(1.0)


def test_the_same_chains_give_what_a_library_for_uncertainties_gives() -> None:
    # Reference: the package uncertainties, on sums, differences, products and quotients that share their variables.
    def chain(make):
        a, b, c = make(3.0, 0.2, "a"), make(-7.0, 0.5, "b"), make(0.25, 0.01, "c")
        shared = 2.0 * a - b * c / 4.0
        return shared * (a + 1.5) - (-b) * shared + sum([a, b, c])

    ours, theirs = budget("", "mm", chain(uncertain)), chain(lambda value, sd, name: ufloat(value, sd, tag=name))
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert ours.sigma == pytest.approx(theirs.std_dev, rel=1e-12)
    parts = {one.tag: part for one, part in theirs.error_components().items()}
    assert dict(ours.parts) == pytest.approx(parts, rel=1e-12)
