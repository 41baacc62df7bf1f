"""The section through a bolt: a screw that stands fore or aft of the bolt is not drawn inside it."""

from pathlib import Path

import pytest
from loading import load_description

from templater.boat.solve import solve
from templater.drawing.marks import Circle, Group, Polyline
from templater.drawing.sheets import draw
from templater.job.hardware import hardware
from templater.report.bolt_section import bolt_section


@pytest.mark.parametrize(("athwart", "beside"), [(30.0, False), (5.0, True), (0.0, True)])
def test_a_screw_near_the_middle_is_drawn_beside_the_section(athwart: float, beside: bool, configs: Path) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    head, _, rest = text.partition("      first:")
    places = f"[[-16, {-athwart - 1}], [16, {athwart}]]"
    boat = solve(load_description(f"{head}      first: {places}\n{rest.partition(chr(10))[2]}", "boat.yaml"))
    picture = bolt_section(boat, hardware(boat))
    assert picture is not None
    screws = [m for m in picture.marks if isinstance(m, Polyline) and m.group is Group.FIRST_SCREW]
    assert len(screws) == (1 if beside else 2)
    # The widest part about the bolt is a slot 16 long, a washer or a sleeve 18 outside: all within 12 of the middle.
    assert all(abs(u) > 9.0 for screw in screws for u, _ in screw.points)
    assert ("drawn out of place" in picture.description) == beside


def test_a_bolt_from_below_has_its_head_below(configs: Path) -> None:
    # By hand: washer 2, plate 3, floor 14, plank 34, washer 2, so the head's bearing face is 55 below the top.
    text = (configs / "whinchat-3.yaml").read_text("utf-8").replace("head: hexagon}", "head: hexagon, from: below}")
    boat = solve(load_description(text, "boat.yaml"))
    picture = bolt_section(boat, hardware(boat))
    assert picture is not None
    words = picture.description
    order = ["nut", "washer, 2 mm", "plate 3", "floor 14", "plank 34", "washer under the head", "bolt, from below"]
    assert [words.index(part) for part in order] == sorted(words.index(part) for part in order)
    (head,) = [m for m in picture.marks if isinstance(m, Polyline) and min(v for _, v in m.points) < -55.01]
    assert max(v for _, v in head.points) == pytest.approx(-55.0)
    assert max(u for u, _ in head.points) > 6.0  # wider than the shank
    # The screws still start at the plate's upper face, under the washer.
    screws = [m for m in picture.marks if isinstance(m, Polyline) and m.group is Group.FIRST_SCREW]
    assert {round(max(v for _, v in m.points), 6) for m in screws} == {-2.0}


def test_a_floor_without_sleeves_shows_its_own_hole(configs: Path) -> None:
    # A bolt of 8 through a floor hole of 11: the floor, 3 to 17 below the plate's face, begins 5.5 from the middle.
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    boat = solve(load_description(text.replace("sleeve: {outer: 18, inner: 10}", "floor_hole: 11"), "boat.yaml"))
    picture = bolt_section(boat, hardware(boat))
    assert picture is not None
    floor = [m for m in picture.marks if isinstance(m, Polyline) and {v for _, v in m.points} == {-3.0, -17.0}]
    assert [min(abs(u) for u, _ in part.points) for part in floor] == [5.5, 5.5]
    bores = {m.diameter for m in draw(boat)[-1].marks if isinstance(m, Circle) and m.group is Group.OUTLINE}
    assert bores == {11.0}  # the spare plates' sheet shows what lies below
