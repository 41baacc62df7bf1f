"""The section through a bolt: a screw that stands fore or aft of the bolt is not drawn inside it."""

from pathlib import Path

import pytest

from templater.boat.solve import solve
from templater.description import load_description
from templater.drawing.marks import Group, Polyline
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
