"""Manifest, order of taping and check distances."""

import json
import math
import re
from itertools import combinations, pairwise

import pytest
from paper_scenes import TITLE, drawing, floor

from templater.drawing.marks import Group
from templater.paper.joints import assembly
from templater.paper.manifest import manifest, manifest_json, rows
from templater.paper.tiles import Correction, TiledSheet, find_paper
from templater.paper.tiling import tile
from templater.plane.shapes import Point


@pytest.fixture(scope="module")
def sheet() -> TiledSheet:
    correction = Correction("shed", 1.002, 0.999, 0.001)
    return tile(floor(), find_paper("A4"), margin=7, overlap=15, orientation="upright", correction=correction,
                title=TITLE)  # fmt: skip


def test_the_manifest_is_plain_data(sheet: TiledSheet) -> None:
    data = manifest([sheet], TITLE)
    written = b"".join(manifest_json(data))
    read = json.loads(written)
    assert json.loads(json.dumps(data, default=list)) == read
    assert b"".join(manifest_json(read)) == written  # read and written again, as sheets of an earlier run are
    (entry,) = data["sheets"]  # type: ignore[misc]
    corners = [0, -260, -1480, 260, -1480, 260, -1000, -260, -1000]
    assert read["sheets"][0]["marks"][0] == ["outline", "01.2", corners, "outline", ""]
    (shown,) = read["sheets"]
    for page, tile_ in zip(shown["pages"], sheet.tiles, strict=True):  # each row once: the page's own, or of the frame
        own, frame = page["marks"], list(shown["frame"])
        lacking = own.pop()[2] if own[-1][0] == "without" else []
        frame = [row for number, row in enumerate(frame) if number not in lacking]
        assert sorted(map(json.dumps, own + frame)) == sorted(map(json.dumps, rows(tile_.marks)))
    assert len(shown["frame"]) > 20
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
    steps, _ = assembly(sheet)
    laid = [step for step in steps if step.startswith(("Lay ", "Slide "))]
    assert len(laid) == len(sheet.tiles)
    assert all("until the halves of R" in step for step in laid[1:])


def test_the_later_tile_lies_over_the_tab_of_the_earlier_one(sheet: TiledSheet) -> None:
    # By hand: tabs are right and at the foot, so whatever lies left or above is lain over, the rest goes on top.
    laid = {" ".join(re.findall(r"\d-\d", step)): step for step in assembly(sheet)[0][1:-2]}
    assert laid["1-1"] == "Lay down 1-1, face up, forward away from you."
    assert laid["1-2 1-1"].startswith("Lay 1-2 over the tab of 1-1 until the halves of R")
    assert laid["2-1 1-1"].startswith("Lay 2-1 over the tab of 1-1 until")
    assert laid["2-2 2-1 1-2"].startswith("Lay 2-2 over the tab of 2-1 and 1-2 until")


def test_a_tile_laid_late_goes_under_what_its_tab_belongs_under() -> None:
    # Printed: the left column's foot and the right column; 2-1 is reached from 2-2, which lies right of it.
    far = {"P1": (230.0, -1030.0), "P2": (-230.0, -1430.0), "P3": (230.0, -1430.0)}
    one = drawing(520.0, 480.0, far)
    one = one._replace(marks=tuple(mark for mark in one.marks if mark.group is not Group.OUTLINE))
    sheet = tile(one, find_paper("A3"), margin=7, overlap=15, orientation="sideways", title=TITLE)
    assert [t.name for t in sheet.tiles] == ["1-2", "2-1", "2-2"]
    steps = assembly(sheet)[0][1:4]
    assert steps[0].startswith("Lay down 1-2")
    assert steps[1].startswith("Lay 2-2 over the tab of 1-2 until")
    assert steps[2].startswith("Slide the tab of 2-1 under 2-2 until")


def test_check_distances_cross_seams_and_are_true(sheet: TiledSheet) -> None:
    _, checks = assembly(sheet)
    at = {h.id: h.at for h in sheet.drawing.holes} | {r.id: r.at for r in sheet.registrations}
    assert 4 <= len(checks) <= 6
    for check in checks:
        assert check.distance == pytest.approx(math.dist(at[check.a], at[check.b]))
        assert check.seams >= 1
    assert max(check.distance for check in checks) > 400
    # Of those across as many seams the longest comes first, and none that is to be had is more than a tenth longer.
    for before, after in pairwise(checks):
        if before.seams == after.seams and {before.a, before.b}.isdisjoint({after.a, after.b}):
            assert before.distance >= after.distance - 1e-6
    columns, rows = sheet.column_seams, sheet.row_seams

    def crossed(a: Point, b: Point) -> int:
        return sum((a[0] < u) != (b[0] < u) for u in columns) + sum((a[1] < v) != (b[1] < v) for v in rows)

    best = max((crossed(a, b), math.dist(a, b)) for a, b in combinations(at.values(), 2))
    assert checks[0].seams >= best[0] - 1
    assert checks[0].distance > best[1] / 1.1


def test_a_single_page_needs_no_taping() -> None:
    small = drawing(80.0, 60.0, {"P1": (0.0, -1030.0)})
    one = tile(small, find_paper("A4"), margin=7, overlap=15, orientation="either", title=TITLE)
    assert assembly(one) == ((), ())
