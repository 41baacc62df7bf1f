"""Slipped digits: one figure of a sound boat spoilt must be told, at its key; sound boats are passed over.

The bounds are common practice, no source; what is tested is slips of a digit, not the bounds.
"""

from pathlib import Path

import pytest

from templater.description.load import Source, starter_text
from templater.findings import DescriptionError, Severity
from templater.pipeline.checked import check

CODES = {"P120", "P121", "P122", "P123", "P124", "P125", "P126", "P127", "P128", "F150", "F151"}


def told(text: str) -> list[tuple[str, str, Severity]]:
    found = check(Source(text.encode(), "boat.yaml")).findings
    return [(one.code, one.key, one.severity) for one in found if one.code in CODES]


@pytest.mark.parametrize(
    ("before", "after", "code", "key", "severity"),
    [
        ("crown: 42 ", "crown: 420 ", "P120", "plank.crown", Severity.WARNING),
        ("apart: 2360", "apart: 236", "P122", "plank.chock_corners.apart", Severity.WARNING),
        ("apart: 2360", "apart: 860", "P122", "plank.chock_corners.apart", Severity.WARNING),
        ("apart: 2360", "apart: 3260", "P121", "plank.chock_corners.apart", Severity.ERROR),
        ("apart: 2360", "apart: 2470", "P127", "plank.chock_corners.apart", Severity.WARNING),
        ("below_floor: 58", "below_floor: 580", "P123", "plank.chock_corners.below_floor", Severity.WARNING),
        ("pivot_aft_of_bolts: 8 ", "pivot_aft_of_bolts: 800 ", "P124", "plank.pivot_aft_of_bolts", Severity.WARNING),
        (" aft_of_bolts: 8 ", " aft_of_bolts: 8 in ", "P124", "plank.chock_corners.aft_of_bolts", Severity.WARNING),
        (" aft_of_bolts: 8 ", " aft_of_bolts: -181 ", "P124", "plank.chock_corners.aft_of_bolts", Severity.WARNING),
        ("width: 180 ", "width: 1800 ", "P126", "plank.width", Severity.WARNING),
        ("thickness: 36 ", "thickness: 360 ", "P126", "plank.thickness", Severity.WARNING),
        ("diameter: 30 ", "diameter: 300 ", "F150", "steering_post.diameter", Severity.WARNING),
        ("diameter: 30 ", "diameter: 3.0 ", "P128", "steering_post.diameter", Severity.WARNING),
        ("thickness: 36 ", "thickness: 3.6 ", "P128", "plank.thickness", Severity.WARNING),
        ("width: 180 ", "width: 18.0 ", "P128", "plank.width", Severity.WARNING),
        ("pivot_aft_of_bolts: 8 ", "pivot_aft_of_bolts: 95 ", "P124", "plank.pivot_aft_of_bolts", Severity.WARNING),
        ("[2600, 300]", "[2600, 3000]", "F151", "floor.outline.2", Severity.WARNING),
    ],
)
def test_a_slipped_digit_is_told_at_its_key(before: str, after: str, code: str, key: str, severity: Severity) -> None:
    sound = starter_text("Boat", "mm")
    assert sound.count(before) == 1
    assert (code, key, severity) in told(sound.replace(before, after))


@pytest.mark.parametrize("number", range(4))
def test_a_corner_with_x_and_y_exchanged_is_told_as_that_and_alone(number: int) -> None:
    sound = starter_text("Boat", "mm")
    corner = ("[2120, -320]", "[2120, 320]", "[2600, 300]", "[2600, -300]")[number]
    x, y = corner.strip("[]").split(", ")
    assert sound.count(corner) == 1
    with pytest.raises(DescriptionError) as caught:
        check(Source(sound.replace(corner, f"[{y}, {x}]").encode(), "boat.yaml"))
    [finding] = caught.value.findings
    assert (finding.code, finding.key) == ("D131", f"floor.outline.{number}")
    assert "x and y exchanged?" in finding.text


def test_a_plank_shorter_than_the_floor_is_wide_is_told() -> None:
    text = starter_text("Boat", "mm").replace("length: 2460", "length: 600").replace("apart: 2360", "apart: 560")
    assert ("P125", "plank.length", Severity.WARNING) in told(text)


@pytest.mark.parametrize("name", ["whinchat-3", "whinchat-5"])
def test_the_demo_boats_are_passed_over(configs: Path, name: str) -> None:
    assert told((configs / f"{name}.yaml").read_text("utf-8")) == []


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_starter_gives_no_finding(units: str) -> None:
    findings = check(Source(starter_text("Boat", units).encode(), "boat.yaml")).findings
    assert findings == ()
