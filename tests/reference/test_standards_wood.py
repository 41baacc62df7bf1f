"""Screws, holding, spacings, moisture movement and bits against published figures."""

import math

import pytest

from templater.standards.wood import (
    ROOT_SHARE,
    bit_sizes,
    bolt_spacing,
    countersink_depth,
    find_screw,
    find_species,
    movement,
    nearest_bit,
    plywood_thickness,
    screw_spacing,
    withdrawal_allowable,
    withdrawal_ultimate,
    wood_screws,
)


@pytest.mark.parametrize(
    ("number", "inch", "millimetre"),
    # Two published charts of wood-screw sizes.
    [(2, 0.086, 2.184), (4, 0.112, 2.845), (5, 0.125, 3.175), (6, 0.138, 3.505), (7, 0.151, 3.835), (8, 0.164, 4.166),
     (9, 0.177, 4.496), (10, 0.190, 4.826), (12, 0.216, 5.486), (14, 0.242, 6.147)],
)  # fmt: skip
def test_gauge_numbers(number: int, inch: float, millimetre: float) -> None:
    # 0.060 + 0.013 n inch: size charts, ASME B18.6.1.
    assert 0.060 + 0.013 * number == pytest.approx(inch, abs=5e-4)
    if number > 2:
        screw = find_screw(millimetre, "in")
        assert screw is not None
        assert screw.name == f"No. {number}"
        assert screw.diameter == pytest.approx((0.060 + 0.013 * number) * 25.4, abs=1e-9)


def test_screw_heads_are_about_two_diameters_across() -> None:
    # Furniture-making handbook: head = 2 x shank; 1.83 to 2.0 seen (US heads from memory to 2.1).
    for screw in (*wood_screws("mm"), *wood_screws("in")):
        assert 1.8 <= screw.head / screw.diameter <= 2.11


def test_metric_slotted_heads_equal_the_confirmed_machine_screws() -> None:
    # DIN 965 table: M3 5.6, M3.5 6.5, M4 7.5, M5 9.2, M6 11; that wood screws share them is from memory.
    slotted = {screw.name: screw.slotted_head for screw in wood_screws("mm")}
    assert [slotted[name] for name in ("3", "3.5", "4", "5", "6")] == [5.6, 6.5, 7.5, 9.2, 11.0]


def test_countersink_depth_is_half_the_difference_at_90_degrees() -> None:
    assert countersink_depth(9, 4.5) == pytest.approx((9 - 4.5) / 2)
    # 82 degrees (ASME B18.3 flat heads) goes deeper: half the difference over tan 41 degrees.
    assert countersink_depth(9, 4.5, 82) == pytest.approx(2.25 / math.tan(math.radians(41)))


def test_withdrawal_of_the_published_example() -> None:
    # Engineering page, handbook form W = 2850 G^2 D: G 0.45, 0.190 in: 109 lbf per inch of thread (109.65, truncated).
    newton = withdrawal_allowable(0.45, 0.190 * 25.4, 25.4)
    assert newton / 4.4482216152605 == pytest.approx(109, abs=1)


def test_withdrawal_in_si_units() -> None:
    # 15 700 psi = 108.25 N/mm2; reckoned by hand: 108.25 x 0.40^2 x 4 x 20 = 1385.6 N, 108.25 x 0.36 x 5 x 25 = 4871 N.
    assert withdrawal_ultimate(1, 1, 1) == pytest.approx(108.25, abs=0.005)
    assert withdrawal_ultimate(0.40, 4, 20) == pytest.approx(1385.6, abs=0.2)
    assert withdrawal_ultimate(0.60, 5, 25) == pytest.approx(4871, abs=1)
    assert withdrawal_allowable(0.40, 4, 20) == pytest.approx(251.5, abs=0.2)
    assert withdrawal_allowable(0.60, 5, 25) == pytest.approx(884, abs=1)


def test_root_is_two_thirds_of_the_screw() -> None:
    # GTR-190, printed section on wood screws. A size chart has No. 8 0.131 and No. 10 0.158 in: 0.77 to 0.86, rough.
    assert pytest.approx(2 / 3) == ROOT_SHARE


@pytest.mark.parametrize(
    ("diameter", "row"),
    # A timber wiki's table of EN 1995-1-1 table 8.4, force along the grain: a2, a3,t, a4,t (across), a4,t.
    [(8, (32, 80, 32, 24)), (12, (48, 84, 48, 36)), (16, (64, 112, 64, 48)), (20, (80, 140, 80, 60))],
)  # fmt: skip
def test_bolt_spacings(diameter: float, row: tuple[float, ...]) -> None:
    along, across = bolt_spacing(diameter), bolt_spacing(diameter, 90)
    assert (along.across, along.end, across.edge, along.edge) == pytest.approx(row)


def test_screw_spacings() -> None:
    # Laminated-veneer-lumber handbook 2025, table 5.1, 4 mm, force along the grain.
    assert screw_spacing(4) == pytest.approx((12, 48, 12))


def test_moisture_movement() -> None:
    # GTR-190, chapter 13: flat-sawn white fir 232 mm, 8 to 11 %: 1.7 mm (start moisture and species from memory).
    fir = find_species("white fir")
    assert fir.tangential is not None
    assert movement(232, fir.tangential, 3) == pytest.approx(1.7, abs=0.05)
    # Extension page: red alder 8 in, 6 % change, 0.0026: 0.1248 in.
    assert movement(8, 0.0026, 6) == pytest.approx(0.1248)


@pytest.mark.parametrize(
    ("name", "gravity", "tangential"),
    # Species tables; Sitka spruce's movement, and the others marked in the table, are from memory.
    [("sitka spruce", 0.40, 0.00263), ("white ash", 0.60, 0.00274), ("Douglas-fir", 0.48, 0.00267),
     ("yellow birch", 0.62, 0.00338)],
)  # fmt: skip
def test_species(name: str, gravity: float, tangential: float) -> None:
    species = find_species(name)
    assert (species.gravity, species.tangential) == (gravity, tangential)


def test_plywood_is_not_its_nominal_thickness() -> None:
    # Birch plywood data sheet: 12 mm 11.5 to 12.5, 9 mm 8.8 to 9.5, 6.5 mm 6.1 to 6.9.
    for nominal, least, greatest in ((12, 11.5, 12.5), (9, 8.8, 9.5), (6.5, 6.1, 6.9)):
        sheet = plywood_thickness(nominal)
        assert sheet is not None
        assert (sheet.least, sheet.greatest) == (least, greatest)
    assert plywood_thickness(14) is None


def test_the_twist_drill_ladder() -> None:
    # BS 328 ladder, an encyclopaedia page: 1 to 2.95 by 0.05, 3 to 13.9 by 0.1, 14 to 25 by 0.25.
    sizes = bit_sizes("twist drill", "mm")
    assert len(sizes) == 40 + 110 + 45
    for there in (2.95, 6.6, 13.9, 14.25):
        assert min(abs(size - there) for size in sizes) < 1e-9
    assert nearest_bit("twist drill", 14.1, up=True).diameter == pytest.approx(14.25)


def test_inch_bits() -> None:
    # Reckoned: 5/16 in 7.9375, 1-3/8 in 34.925 mm, which is not 35 mm.
    assert nearest_bit("twist drill", 8, "in").diameter == pytest.approx(7.9375)
    assert nearest_bit("flat-bottomed bit", 35, "in").diameter == pytest.approx(34.925)
    assert nearest_bit("flat-bottomed bit", 35, "mm").diameter == 35
