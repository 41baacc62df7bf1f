"""How lengths are written, in each system: mm, inches, or both."""

import pytest

from templater.units import Figures, mm_text, plus_minus, without_units

MM, INCHES, BOTH = Figures(), Figures("in"), Figures("both")
DECIMAL, BOUGHT_IN_INCHES = Figures("in", "decimal"), Figures("both", parts="in")


@pytest.mark.parametrize(
    ("written", "wanted"),
    [  # mm to inches by hand: 53.975 = 2.125 x 25.4, 2285 = 89.961 x 25.4, 8 = 20.16 / 64 x 25.4 = 0.315 x 25.4;
       # No. 8 is 0.164 in: 5/32 would be 3.97 mm; a kerf of 0.2 mm is 0.008 in, no 1/64; 0.4 mm 0.016 in, no 1/32
        (mm_text(2285.04), "2285.0"), (mm_text(-0.04), "0.0"),
        (Figures("in", "1/64").inches(53.975), "2 1/8 in"), (DECIMAL.inches(231), "9.094 in"),
        (BOTH.length(2285.0), "2285.0 mm (89 31/32 in)"), (Figures("in", "1/16").length(2285.0), "89 15/16 in"),
        (BOTH.length(0.0), "0.0 mm"), (INCHES.length(4.0), "0.157 in"), (INCHES.length(6.35), "1/4 in"),
        (BOTH.length(4.0), "4.0 mm (5/32 in)"), (BOTH.length(0.4), "0.4 mm (0.016 in)"),
        # 1/32 in is 0.794 mm, a third more than 0.6 mm and a seventh more than 0.7.
        (BOTH.length(0.6), "0.6 mm (0.024 in)"), (BOTH.length(0.7), "0.7 mm (1/32 in)"),
        (MM.signed(55.0), "+55.0 mm"), (INCHES.signed(-55.0), "-2 5/32 in"),
        (BOTH.signed(55.0), "+55.0 mm (+2 5/32 in)"),
        (BOTH.number(2285.0), "2285.0 (89 31/32)"), (INCHES.number(2285.0), "89 31/32"),
        (MM.size(4.5), "4.5 mm"), (INCHES.size(15.875), "5/8 in"), (INCHES.size(8.0), "0.315 in (8 mm)"),
        (BOUGHT_IN_INCHES.size(0.164 * 25.4), "0.164 in (4.17 mm)"), (BOUGHT_IN_INCHES.size(0.2), "0.008 in (0.2 mm)"),
        (Figures("in", parts="in").size(0.164 * 25.4), "0.164 in"), (BOTH.size(5.0), "5 mm (0.197 in)"),
        (BOUGHT_IN_INCHES.size(8.0, within=0.2), "5/16 in"),
        (DECIMAL.size(18), "0.709 in"), (BOTH.size(8.0), "8 mm (0.315 in)"),
        (BOUGHT_IN_INCHES.size(8.0), "0.315 in (8 mm)"), (BOUGHT_IN_INCHES.size(15.875), "5/8 in"),
        (MM.diameter(18.0), "⌀18 mm"), (INCHES.diameter(15.875), "⌀5/8 in"),
        (MM.fine(0.3), "0.30 mm"), (INCHES.fine(0.3), "0.012 in"), (BOTH.fine(0.3), "0.30 mm (0.012 in)"),
        (MM.plus_minus(3.24, 0.51), "3.2 ± 0.6 mm"), (INCHES.plus_minus(3.24, 0.51), "0.13 ± 0.03 in"),
        (plus_minus(0.1234, 0.0511, 3), "0.123 ± 0.052"),
        (MM.radius(18772.0), "18.77 m"), (BOTH.radius(18772.0), "18.77 m (61.6 ft)"),
        (INCHES.radius(18772.0), "61.6 ft"),
        (without_units(BOTH.fine(0.3)), "0.30 (0.012)"), (BOTH.unit, "mm (in)"),
    ],
)  # fmt: skip
def test_a_length_is_written_for_its_builder(written: str, wanted: str) -> None:
    assert written == wanted


def test_equal_lengths_read_alike_whatever_their_last_digit() -> None:
    # A pitch of 2 1/4 in is 57.15 mm; as differences of settings it comes out a hair above or below.
    pitches = (57.15, 2223.85 - 2166.70, 2281.0 - 2223.85, 2338.15 - 2281.0)
    assert {MM.length(pitch) for pitch in pitches} == {"57.2 mm"}
    assert [mm_text(value) for value in (-57.15, 0.05, 0.04, -0.04)] == ["-57.2", "0.1", "0.0", "0.0"]
