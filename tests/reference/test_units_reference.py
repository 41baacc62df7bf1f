"""Lengths against a library of units and against the agreement that fixes the inch."""

from fractions import Fraction

import pint
import pytest

from templater import units
from templater.units import UNIT_FACTORS, inch_text, parse_length

REGISTRY = pint.UnitRegistry()
#: Our name of a unit: pint's. The library's own definitions file is the reference.
NAMES = {"mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot"}


@pytest.mark.parametrize("unit", NAMES)
def test_factors_are_those_of_pint(unit: str) -> None:
    assert float(UNIT_FACTORS[unit]) == pytest.approx(REGISTRY.Quantity(1, NAMES[unit]).to("mm").magnitude, rel=1e-15)


def test_every_unit_is_held_against_pint() -> None:
    assert set(NAMES) == set(UNIT_FACTORS)


def test_the_inch_is_exact() -> None:
    # International yard and pound agreement, 1959: 1 yd = 0.9144 m, so 1 in = 914.4 mm / 36.
    assert UNIT_FACTORS["in"] == Fraction("914.4") / 36
    assert UNIT_FACTORS["ft"] == Fraction("914.4") / 3


def test_the_point_of_a_page_is_that_of_pint() -> None:
    assert pytest.approx(REGISTRY.Quantity(1, "point").to("mm").magnitude, rel=1e-12) == 1 / units.POINTS_PER_MM


@pytest.mark.parametrize(
    ("text", "mm"),
    [  # inch fractions and mm as the usual conversion tables of a workshop print them, to 0.001 mm
        ("1/8 in", 3.175), ("3/16 in", 4.763), ("5/16 in", 7.938), ("11/32 in", 8.731), ("3/8 in", 9.525),
        ("5/8 in", 15.875), ("13/16 in", 20.638), ("7/8 in", 22.225), ("1-1/8 in", 28.575), ("1 3/8 in", 34.925),
    ],
)  # fmt: skip
def test_inch_fractions_of_the_workshop_table(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, abs=5.01e-4)
    assert inch_text(parse_length(text)) == text.replace("-", " ")
