"""Shims and the second hole's sheet, as drawn."""

import math

import pytest

from templater.boat.solved import Shim, Side
from templater.drawing.cut import MOST_LINES, shim_sheets, step_for
from templater.drawing.marks import Group, Line, Polyline, Text
from templater.standards.typeface import missing_letters
from templater.units import Figures

PORT = Shim(Side.PORT, -87.5, 87.5, -38.0, 38.0, 4.57, -0.0148, -0.0114, 8.0)
FLAT = Shim(Side.STARBOARD, -60.0, 80.0, -30.0, 30.0, 5.0, 0.0, 0.0, 9.0)
MM = Figures()


def test_the_outline_is_full_size_forward_up() -> None:
    (sheet,) = shim_sheets("Whinchat 3", (PORT,), MM, "")
    outline = next(mark for mark in sheet.marks if isinstance(mark, Polyline) and mark.group is Group.CUT)
    assert set(outline.points) == {(-38.0, 87.5), (38.0, 87.5), (38.0, -87.5), (-38.0, -87.5)}
    assert (sheet.name, sheet.holes[0].at, sheet.holes[0].diameter) == ("shim-port", (0.0, 0.0), 8.0)


def test_corner_figures_are_the_planes_own() -> None:
    (sheet,) = shim_sheets("Whinchat 3", (PORT,), MM, "")
    texts = {
        mark.text: (mark.at[0] > 0, mark.at[1] > 0) for mark in sheet.marks if isinstance(mark, Text) and mark.bold
    }
    # Fore is x = -87.5, port is y = -38: 4.57 + 0.0148 * 87.5 + 0.0114 * 38 = 6.2982.
    assert texts["6.30"] == (False, True)
    assert texts["5.43"] == (True, True)
    assert texts["3.71"] == (False, False)
    assert texts["2.84"] == (True, False)


def test_sanding_lines_lie_where_the_plane_has_their_thickness() -> None:
    (sheet,) = shim_sheets("Whinchat 3", (PORT,), MM, "")
    lines = [mark for mark in sheet.marks if isinstance(mark, Line) and mark.group is Group.OVERLAY]
    assert 2 < len(lines) <= MOST_LINES + 2
    for line in lines:
        values = [4.57 + 0.0148 * v - 0.0114 * u for u, v in (line.a, line.b)]
        assert values[0] == pytest.approx(values[1], abs=1e-9)
        assert values[0] / 0.5 == pytest.approx(round(values[0] / 0.5), abs=1e-9)
        assert all(-38.0 - 1e-9 <= u <= 38.0 + 1e-9 and abs(v) <= 87.5 + 1e-9 for u, v in (line.a, line.b))
        for part in range(101):
            at = [a + (b - a) * part / 100 for a, b in zip(line.a, line.b, strict=True)]
            assert math.hypot(*at) > 4.9  # nothing is drawn through the bolt hole


def test_a_shim_of_one_thickness_has_no_sanding_lines() -> None:
    (sheet,) = shim_sheets("Whinchat 3", (FLAT,), MM, "by the plank's arc")
    assert not [mark for mark in sheet.marks if getattr(mark, "group", None) is Group.OVERLAY]


def test_a_boat_in_inches_has_its_shims_in_inches() -> None:
    # By hand: 6.2982 mm / 25.4 = 0.248 in at the fore port corner.
    (sheet,) = shim_sheets("Whinchat 3", (PORT,), Figures("in"), "")
    texts = [mark.text for mark in sheet.marks if isinstance(mark, Text)]
    assert "0.248" in texts
    assert [text for text in texts if "mm" in text] == ["KP ⌀0.315 in (8 mm)"]  # the bit, as it is bought; 5/16 is 7.94


def test_steps_keep_the_lines_few() -> None:
    assert step_for(0.9) == 0.1
    assert step_for(3.5) == 0.5
    assert step_for(1000.0) == 5.0


def test_every_letter_is_in_the_typeface() -> None:
    for sheet in shim_sheets("Whinchat 3", (PORT, FLAT), Figures("both"), ""):
        assert missing_letters("".join(mark.text for mark in sheet.marks if isinstance(mark, Text))) == ""


def test_a_record_gives_its_sheets_and_their_numbers_are_the_records() -> None:
    from fitup_boats import Builder, attempt, both, readings, whinchat

    from templater.fitup.readings import ShimReadings
    from templater.fitup.record import record
    from templater.pipeline.fitup import fitup_drawings

    boat, builder = whinchat(), Builder(0.2)
    turn = attempt(both([builder.tape(Side.PORT)], [builder.tape(Side.STARBOARD)]), chock_aft=both([6.0], [9.0]))
    whole = record(readings(turn, shim=ShimReadings(least=2.0)), boat)
    sheets = fitup_drawings(boat, whole)
    assert [sheet.name for sheet in sheets] == ["shim-port", "shim-starboard"]
    assert sheets[0].holes[0].diameter == 8.0
