"""The manifest at the door of proof: every fault is named with its key."""

import copy
import math
from typing import Any

import pytest
from proof_pages import Made, manifest

from templater.findings import ProofError
from templater.proof.expect import Identity, read_manifest


def test_a_manifest_is_read_whole() -> None:
    expected = read_manifest(manifest())
    (picture,) = expected.pictures
    assert expected.stamp == "77ab0c12"
    assert len({due.name for due in picture.due().values()}) == 7
    page = expected.pages[1]
    identity = page.identity
    assert (identity.sheet, identity.tile, identity.page, identity.of) == ("floor", "1-2", 2, 2)
    due = ["hole S1", "hole S2", "registration mark R1", "registration mark R2", "bar across", "bar along"]
    assert list(dict.fromkeys(one.name for one in page.due().values())) == due
    # By hand, from the lists of tile 1-2: three holes of a circle and two arms, two registration marks, two bars.
    assert len([mark for mark in page.marks() if not mark.kind.startswith("letter")]) == 3 * 3 + 2 * 3 + 2 * 3


def test_of_two_lines_that_say_what_a_page_is_the_one_with_the_stamp_counts() -> None:
    like, own = "templater0.1·floor1-1·page1of2·00000000", "templater0.1·plank2-3·page4of5·77ab0c12"
    for text in (f"{like}W{own}", f"{own}W{like}", f"boat{own}"):
        assert Identity.of_page(text, "77ab0c12") == ("0.1", "plank", "2-3", 4, 5, "77ab0c12")
    assert Identity.of_page("Print at actual size", "77ab0c12") is None


def test_a_correction_moves_the_ends_of_bars_about_the_middle_of_the_page() -> None:
    page = read_manifest(manifest(Made(correction=(1.01, 0.99, 0.0)))).pages[0]
    # By hand, A4's middle at 105, 148.5: 105 + 1.01 (20 - 105) = 19.15; 148.5 + 0.99 (250 - 148.5) = 248.985.
    assert page.due()["bar across"].at == pytest.approx((19.15, 248.985))


@pytest.mark.parametrize(
    ("name", "other", "named"),
    [
        ("P1", ["line", "01.1", [0, 30.2, 73, 69.8, 73.1], "holes", "P1"], "hole P1"),
        ("P1", ["circle", "01.1", [50, 73, 18.1], "holes", "P1"], "hole P1"),
        ("P1", ["circle", "01.1", [50, 73, 17.9], "holes", "P1"], "hole P1"),
        ("P1", ["circle", "01.1", [50, 73.1, 18], "holes", "P1"], "hole P1"),
        ("P1-b", ["outline", "01.1", [0, 62, 100, 67, 100, 67, 105.4, 62.5, 105.4], "second-screws", "P1-b"],
         "hole P1-b"),
        ("R1", ["line", "01.1", [0, 182, 53.03, 194, 53.03], "registration", "R1"], "registration mark R1"),
        ("across", ["line", "01.1", [0, 20.03, 250, 120, 250], "bars", "across"], "bar across"),
        ("forward", ["text", "", [4, 0, 0, "x", 150], "frame", "forward"], r"no mark in \['text', '', \[4"),
        ("forward", ["text", "", [4, 0, 0, 1e300, 150], "frame", "forward"], r"no mark in \['text', '', \[4"),
        ("forward", ["text", "", [4, 0, 0, math.nan, 150], "frame", "forward"], r"no mark in \['text', '', \[4"),
        ("forward", ["text", "", [4, 0, 0, 10**400, 150], "frame", "forward"], r"no mark in \['text', '', \[4"),
        ("forward", ["text", "", [4, 0, 0, 1, 150], "frame", None], r"no mark in \['text', '', \[4"),
        ("forward", ["text", "", {}, "frame", "forward"], r"no mark in \['text', '', {}"),
        ("forward", ["scribble", "01.1", [1, 2, 3], "frame", "forward"], r"no mark in \['scribble'"),
        ("forward", ["circle", "01.1", [1, 2, 0], "frame", ""], r"no mark in \['circle'"),
        ("forward", ["circle", "09.9", [1, 2, 3], "frame", ""], r"no mark in \['circle', '09.9'"),
        ("forward", ["circle", ["01.1"], [1, 2, 3], "frame", ""], r"no mark in \['circle'"),
        ("forward", [], r"no mark in \[\]"), ("forward", 7, r"marks\[\d+\]: is not a list"),
        ("forward", None, r"marks\[\d+\]: is not a list"),
    ],
)  # fmt: skip
def test_a_record_that_contradicts_the_manifest_or_is_none_is_refused(name: str, other: object, named: str) -> None:
    wrong = manifest()
    page = wrong["sheets"][0]["pages"][0]
    at = next(n for n, one in enumerate(page["marks"]) if one[4] == name)
    page["marks"][at] = other
    with pytest.raises(ProofError, match=named) as caught:
        tuple(read_manifest(wrong).pages[0].marks())
    assert caught.value.findings[0].code == "Q101"


@pytest.mark.parametrize("turn", [(1, 0, 0, 1), (0, 1, -1, 0), (-1, 0, 0, -1), (0, -1, 1, 0)])
def test_every_quarter_turn_is_a_placement(turn: tuple[int, ...]) -> None:
    plain = manifest()
    plain["sheets"][0]["pages"][0]["to_page"][:4] = turn
    bar = read_manifest(plain).pages[0].due()["bar across"]
    assert (bar.at, bar.end) == ((20, 250), (120, 250))


@pytest.mark.parametrize("number", [0, 1, 2, 3])
def test_a_placement_that_is_not_the_correction_beside_it_is_refused(number: int) -> None:
    made = manifest(Made(correction=(1.01, 0.99, 0.002)))
    (before,) = (bar.at for name, bar in read_manifest(made).pages[0].due().items() if name == "bar along")
    # By hand: 105 + 1.01 (30 - 105) + 0.002 (120 - 148.5) = 29.193; 148.5 + 0.99 (120 - 148.5) = 120.285.
    assert before == pytest.approx((29.193, 120.285))
    for off in (-1e-5, 1e-5):
        wrong = manifest(Made(correction=(1.01, 0.99, 0.002)))
        wrong["sheets"][0]["pages"][0]["to_page"][number] += off
        with pytest.raises(ProofError, match="is no quarter turn, shift and the correction"):
            read_manifest(wrong).pages[0].due()


PAGE = ("sheets", 0, "pages", 0)


@pytest.mark.parametrize(
    ("way", "value", "named"),
    [
        (("sheets",), [], "manifest: sheets: is empty"),
        (("sheets",), {}, "manifest: sheets: is not a list"),
        (("sheets", 0), 3, r"manifest: sheets\[0\]: is not a mapping"),
        (("version",), None, "manifest: version: is not a text: None"),
        (("description_sha256",), "77ab", "manifest: description_sha256: is not a SHA-256"),
        (("sheets", 0, "holes", 2, "x"), "5", r"manifest: sheets\[0\].holes\[2\].x: is not a number that .*: '5'"),
        (("sheets", 0, "holes", 2, "x"), float("nan"), r"holes\[2\].x: is not a number"),
        (("sheets", 0, "holes", 2, "x"), 10**400, r"holes\[2\].x: is not a number"),
        (("sheets", 0, "holes", 2, "x"), -math.inf, r"holes\[2\].x: is not a number"),
        ((*PAGE, "page"), math.nan, r"pages\[0\].page: is not a number"),
        ((*PAGE, "marks"), 3, r"pages\[0\].marks: is not a list"),
        (("sheets", 0, "holes", 2, "x"), True, r"holes\[2\].x: is not a number"),
        (("sheets", 0, "holes", 2, "diameter"), 0, r"holes\[2\].diameter: is 0, allowed: above 0"),
        (("sheets", 0, "holes", 2, "id"), "P1", "two holes of one id"),
        (("sheets", 0, "registration", 0, "tiles"), ["1-1", "3-9"], "names a tile that is not on the sheet: 3-9"),
        ((*PAGE, "holes"), ["P9"], "tile 1-1 lists a hole that is not on the sheet: P9"),
        ((*PAGE, "tile"), "1-2", "two pages of one tile"),
        ((*PAGE, "paper"), [210], "paper: is not a list of 2 numbers"),
        ((*PAGE, "paper"), [210, -1], r"paper\[1\]: is -1, allowed: above 0"),
        ((*PAGE, "to_page"), [1.001, 0, 0, 1, 0, 0], "to_page: is no quarter turn, shift and the correction"),
        ((*PAGE, "to_page"), [-1, 0, 0, 1, 0, 0], "to_page: is no quarter turn"),
        ((*PAGE, "correction", "along"), 1.002, "to_page: is no quarter turn, shift and the correction"),
        ((*PAGE, "bars", 0, "length"), 99, r"bars\[0\].length: is 99 and not the distance between its ends, 100"),
        ((*PAGE, "bars", 0, "a"), [1, "b"], r"bars\[0\].a\[1\]: is not a number that a sheet can have: 'b'"),
    ],
)
def test_a_fault_is_named(way: tuple[Any, ...], value: object, named: str) -> None:
    wrong = copy.deepcopy(manifest())
    place: Any = wrong
    for key in way[:-1]:
        place = place[key]
    place[way[-1]] = value
    with pytest.raises(ProofError, match=named) as caught:
        read_manifest(wrong)
    assert caught.value.findings[0].code == "Q101"


@pytest.mark.parametrize("way", [(), ("sheets", 0), ("sheets", 0, "holes", 0), PAGE, (*PAGE, "bars", 0)])
def test_every_key_that_is_needed_is_named_when_it_is_missing(way: tuple[Any, ...]) -> None:
    spare = {"program", "face", "mirrored", "grid", "blank", "boat", "revision", "title", "kind", "axis", "window"}
    place: Any = manifest()
    for key in way:
        place = place[key]
    for key in place:
        if key in spare:
            continue
        wrong = copy.deepcopy(manifest())
        inner: Any = wrong
        for step in way:
            inner = inner[step]
        del inner[key]
        with pytest.raises(ProofError, match=f"{key}: is missing"):
            read_manifest(wrong)
