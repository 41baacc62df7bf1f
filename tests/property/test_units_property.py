"""Lengths as people write them, against exact fractions."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.units import inch_text, mm_text, parse_length

MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(127, 5), "ft": Fraction(1524, 5)}
QUICK = settings(max_examples=150, deadline=None, derandomize=True)
WHOLE = st.integers(0, 999)


@QUICK
@given(st.decimals(-9999, 9999, places=3), st.sampled_from(sorted(MM)), st.sampled_from(["", " ", "  "]))
def test_decimals(number: object, unit: str, gap: str) -> None:
    assert parse_length(f"{number}{gap}{unit}") == float(Fraction(str(number)) * MM[unit])


@QUICK
@given(WHOLE, st.sampled_from([2, 4, 8, 16, 32, 64]), st.data(), st.booleans(), st.sampled_from([" ", "-"]))
def test_mixed_numbers(whole: int, parts: int, data: st.DataObject, minus: bool, joint: str) -> None:
    count = data.draw(st.integers(1, parts - 1))
    sign = "-" if minus else ""
    expected = (whole + Fraction(count, parts)) * MM["in"] * (-1 if minus else 1)
    assert parse_length(f"{sign}{whole}{joint}{count}/{parts} in") == float(expected)
    assert parse_length(f"{sign}{whole}{joint}{count}/{parts}", "in") == float(expected)


@QUICK
@given(WHOLE, st.integers(0, 11), st.sampled_from([("ft", "in"), (" feet", " inches"), ("'", '"'), ("′", "″")]))
def test_feet_and_inches(feet: int, inches: int, words: tuple[str, str]) -> None:
    text = f"{feet}{words[0]} {inches}{words[1]}"
    assert parse_length(text) == float(feet * MM["ft"] + inches * MM["in"])
    assert parse_length(text.replace(" ", "")) == parse_length(text)


@QUICK
@given(st.integers(-4096, 4096))
def test_inch_texts_come_back(thirty_seconds: int) -> None:
    mm = float(Fraction(thirty_seconds, 32) * MM["in"])
    assert parse_length(inch_text(mm)) == pytest.approx(mm, abs=1e-12)


@QUICK
@given(st.floats(-1e5, 1e5))
def test_mm_texts_come_back_within_half_a_step(mm: float) -> None:
    assert abs(parse_length(mm_text(mm, 3)) - mm) <= 0.0005001


@QUICK
@given(st.text(max_size=70))
def test_any_text_is_a_length_or_a_value_error(text: str) -> None:
    try:
        assert isinstance(parse_length(text), float)
    except ValueError as fault:
        assert str(fault).startswith("a length such as")  # noqa: PT017 - both outcomes are right


@pytest.mark.parametrize(
    "text",
    ["", "-", "in", "1 ft 3", "3 in 1 ft", "1 in 2 in", "1 mm 2", "1,5 mm", "1.2.3", "1/0 in", "1 9/8 in", "2 1/8/2 in",
     "9 inn", "--5", "1 ft -3 in", "1e3", "٣ mm", "0x10", "nan", "inf mm", "9" * 400, "5 m 2 in"],
)  # fmt: skip
def test_slips_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="a length such as"):
        parse_length(text)
