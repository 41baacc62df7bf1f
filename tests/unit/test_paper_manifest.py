"""Manifest, order of taping and check distances."""

import json
import math

import pytest
from paper_scenes import TITLE, drawing, floor

from templater.description.keys import Orientation
from templater.paper.assembly import assembly
from templater.paper.choice import find_paper
from templater.paper.manifest import manifest
from templater.paper.tiles import Correction, TiledSheet
from templater.paper.tiling import tile


@pytest.fixture(scope="module")
def sheet() -> TiledSheet:
    correction = Correction("shed", 1.002, 0.999, 0.001)
    return tile(floor(), find_paper("A4"), margin=7, overlap=15, orientation=Orientation.UPRIGHT, correction=correction,
                title=TITLE)  # fmt: skip


def test_the_manifest_is_plain_data(sheet: TiledSheet) -> None:
    data = manifest([sheet], TITLE)
    read = json.loads(json.dumps(data, default=list))  # a record of marks is made into a list as it is written
    assert json.loads(json.dumps(read)) == read
    (entry,) = data["sheets"]  # type: ignore[misc]
    assert read["sheets"][0]["marks"][0] == "outline 01.2 0 -260 -1480 260 -1480 260 -1000 -260 -1000 outline "
    assert len(read["sheets"][0]["pages"][0]["marks"]) >= len(sheet.tiles[0].marks) > 20
    assert (data["description_sha256"], data["revision"], data["version"]) == ("ab12cd34" * 8, "B", "0.1.0")
    assert (entry["name"], entry["face"], entry["mirrored"], entry["svg"]) == ("floor", "upper", False, "floor.svg")
    assert entry["holes"][0] == {"id": "P1", "kind": "bolt", "x": -215.0, "y": -1190.0, "diameter": 9.0}
    assert [page["page"] for page in entry["pages"]] == list(range(1, len(sheet.tiles) + 1))
    assert {page["file"] for page in entry["pages"]} == {"floor.pdf"}
    assert entry["pages"][0]["correction"] == {"name": "shed", "across": 1.002, "along": 0.999, "skew": 0.001}
    assert sorted(hole for page in entry["pages"] for hole in page["holes"]) == sorted(
        h.id for h in sheet.drawing.holes
    )


def test_to_page_of_the_manifest_puts_every_hole_where_it_was_drawn(sheet: TiledSheet) -> None:
    (entry,) = manifest([sheet], TITLE)["sheets"]  # type: ignore[misc]
    holes = {hole["id"]: hole for hole in entry["holes"]}
    for page, printed in zip(entry["pages"], sheet.tiles, strict=True):
        a, b, c, d, e, f = page["to_page"]
        for id_ in page["holes"]:
            x, y = holes[id_]["x"], holes[id_]["y"]
            (ring,) = [m for m in printed.marks if getattr(m, "id", "") == id_ and hasattr(m, "pieces")]
            us, vs = zip(ring.start, *(piece[2] for piece in ring.pieces), strict=True)
            middle = ((min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2)
            assert (a * x + c * y + e, b * x + d * y + f) == pytest.approx(middle, abs=0.002)


def test_every_tile_is_laid_once_against_one_that_lies_already(sheet: TiledSheet) -> None:
    plan = assembly(sheet)
    laid = [step for step in plan.steps if step.startswith(("Lay ", "Slide "))]
    assert len(laid) == len(sheet.tiles)
    assert all("until the halves of R" in step for step in laid[1:])


def test_check_distances_cross_seams_and_are_true(sheet: TiledSheet) -> None:
    plan = assembly(sheet)
    at = {h.id: h.at for h in sheet.drawing.holes} | {r.id: r.at for r in sheet.registrations}
    assert 4 <= len(plan.checks) <= 6
    for check in plan.checks:
        assert check.distance == pytest.approx(math.dist(at[check.a], at[check.b]))
        assert check.seams >= 1
    assert max(check.distance for check in plan.checks) > 400


def test_a_single_page_needs_no_taping() -> None:
    small = drawing(80.0, 60.0, {"P1": (0.0, -1030.0)})
    one = tile(small, find_paper("A4"), margin=7, overlap=15, orientation=Orientation.EITHER, title=TITLE)
    assert assembly(one).steps == ()
    assert assembly(one).checks == ()
