"""Figures for the friend: mm, inches or both, to a fraction or in decimals, against outside arithmetic."""

import math
import re
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from templater.cli import files as cli_files
from templater.cli.main import main
from templater.drawing.marks import Text
from templater.drawing.sheets import draw
from templater.pipeline.checked import check
from templater.units import FRACTIONS, Figures, parse_length

_STEPS = {"1/16": Fraction(1, 16), "1/32": Fraction(1, 32), "1/64": Fraction(1, 64), "decimal": Fraction(1, 1000)}
#: Outside reference: pint's definition of the inch.
_UNITS = pint.UnitRegistry()


def inches_in(text: str) -> Fraction:
    """What a text in inches says, by Python's fractions alone."""
    assert text.endswith(" in")
    return sum((Fraction(part) for part in text.removesuffix(" in").lstrip("-").split()), Fraction(0))


@given(st.integers(min_value=13_000, max_value=3_000_000), st.sampled_from(sorted(_STEPS)))
@settings(max_examples=150)
def test_inches_are_the_nearest_step(micrometres: int, step: str) -> None:
    # Outside check: the nearest multiple by Python's fractions; the inch from pint.
    said = inches_in(Figures("in", step).length(micrometres / 1000))
    inch = Fraction(str(_UNITS.Quantity(1, "inch").to("mm").magnitude))
    true = Fraction(micrometres, 1000) / inch
    assert said % _STEPS[step] == 0
    assert abs(said - true) <= _STEPS[step] / 2 + Fraction(1, 10**9)
    assert float(abs(said - true) * inch) <= Figures("in", step).rounding + 1e-6


def test_the_steps_of_the_test_are_those_of_the_program() -> None:
    assert {name: Fraction(1, parts) for name, parts in FRACTIONS.items()} == _STEPS


@pytest.mark.parametrize(
    ("step", "off"),
    # By hand: half of 25.4/16 = 0.79375, 25.4/32 = 0.396875, 25.4/64 = 0.1984375, half of 0.0254 = 0.0127; rounded up.
    [("1/16", "0.80"), ("1/32", "0.40"), ("1/64", "0.20"), ("decimal", "0.02")],
)
def test_rounding_is_stated_where_inches_stand_alone(step: str, off: str) -> None:
    assert f"up to {off} mm off" in Figures("in", step).rounding_text
    assert Figures("both", step).rounding_text == ""
    assert Figures("mm").rounding_text == ""


@given(st.floats(min_value=-3000, max_value=3000, allow_nan=False))
@settings(max_examples=100)
def test_what_is_written_is_read_back_within_the_rounding(value: float) -> None:
    for step in _STEPS:
        figures = Figures("in", step)
        assert parse_length(figures.length(value)) == pytest.approx(value, abs=figures.rounding + 1e-6)


def written(configs: Path, tmp_path: Path, extra: str) -> Path:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    path = tmp_path / "boat.yaml"
    path.write_text(text.replace("print: {paper: A4,", f"print: {{{extra}, paper: Letter,"), "utf-8")
    return path


def test_every_sheet_in_inches_alone_says_what_rounding_does(configs: Path, tmp_path: Path) -> None:
    boat = check(cli_files.read_source(written(configs, tmp_path, "figures: in, fraction: 1/64"))).boat
    for drawing in draw(boat):
        words = " ".join(mark.text for mark in drawing.marks if isinstance(mark, Text))
        assert "rounded to 1/64 in, up to 0.20 mm off" in words, drawing.name
    floor = " ".join(mark.text for mark in draw(boat)[0].marks if isinstance(mark, Text))
    # 2230 mm is 87.7953 in: 87 51/64 = 87.796875 is the nearest 64th.
    assert "87 51/64 in" in floor
    assert "2230" not in floor


@pytest.mark.parametrize("extra", ["figures: in", "figures: both", "figures: in, fraction: decimal", "figures: mm"])
def test_holes_do_not_move_whatever_the_figures(extra: str, configs: Path, tmp_path: Path) -> None:
    plain = check(cli_files.read_source(configs / "whinchat-3.yaml")).boat
    boat = check(cli_files.read_source(written(configs, tmp_path, extra))).boat
    assert boat.holes == plain.holes
    for one, other in zip(draw(boat), draw(plain), strict=True):
        assert one.holes == other.holes


def test_the_job_in_inches_alone_for_the_friend(configs: Path, tmp_path: Path) -> None:
    path = written(configs, tmp_path, "figures: in")
    assert main(["make", str(path), "--out", str(tmp_path)]) == 0
    text = "\n".join(page.extract_text() for page in PdfReader(tmp_path / "whinchat-3" / "job-sheet.pdf").pages)
    assert "rounded to 1/32 in, up to 0.40 mm off" in text
    # Settings by hand: 2230, 2285, 2340 mm are 87.795, 89.961, 92.126 in: to 1/32 87 25/32, 89 31/32, 92 1/8.
    flat = " ".join(text.split())
    for station in ("87 25/32", "89 31/32", "92 1/8"):
        assert station in flat
    assert not re.search(r"\b2285\.0 mm", flat)
    # The bars of 4 in are on every page.
    floor = PdfReader(tmp_path / "whinchat-3" / "floor.pdf").pages
    assert all("4 in" in page.extract_text() for page in floor)
    assert math.isclose(float(floor[0].mediabox[2]), 612)


def test_both_gives_each_length_twice(configs: Path, tmp_path: Path) -> None:
    boat = check(cli_files.read_source(written(configs, tmp_path, "figures: both, fraction: 1/16"))).boat
    floor = " ".join(mark.text for mark in draw(boat)[0].marks if isinstance(mark, Text))
    assert "2285.0 mm (89 15/16 in)" in floor  # 89.961 in: 89 15/16 = 89.9375 is nearer than 90
    assert "rounded to" not in floor


def test_unknown_figures_and_fractions_name_what_is_allowed(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(configs, tmp_path, "figures: inch, fraction: 1/12, figure: in")
    assert main(["check", str(path)]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 3
    assert "print.figures" in lines[0]
    assert "allowed: mm, in, both" in lines[0]
    assert "allowed: 1/16, 1/32, 1/64, decimal" in lines[1]
    assert '"figures"' in lines[2] or "figures" in lines[2]
