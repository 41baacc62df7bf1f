"""What proof is for: break what a sheet's places come from, and a proof fails.

Each test changes one thing that places hang on, as a slip in the code would, and makes the sheets anew. The manifest is
what the drawing says, the files are what the broken writer made of it, or the other way about.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import made_boats
import pytest

from templater.cli.main import main
from templater.findings import ProofError, TemplaterError
from templater.paper import tiling
from templater.paper.manifest import manifest
from templater.paper.tiles import Tile, TiledSheet
from templater.pipeline.checked import Checked, Options, title_data
from templater.pipeline.make import make
from templater.pipeline.sheets import drawings_of, tile_sheets
from templater.proof.prove import prove
from templater.proof.report import ProofReport
from templater.writers import pdf, svg

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def checked(configs: Path) -> Checked:
    return made_boats.tiled("whinchat-3")[0]


@pytest.fixture(scope="module")
def sheets(checked: Checked) -> tuple[TiledSheet, ...]:
    return made_boats.tiled("whinchat-3")[1][:2]


def written(checked: Checked, sheets: tuple[TiledSheet, ...]) -> dict[str, bytes]:
    title = title_data(checked)
    files = {f"{one.drawing.name}.pdf": pdf.write_pdf(one.tiles, name=one.drawing.name, title=title) for one in sheets}
    return files | {f"{one.drawing.name}.svg": svg.write_svg(one.drawing, title) for one in sheets}


def contents(checked: Checked, sheets: tuple[TiledSheet, ...]) -> dict[str, Any]:
    """The manifest as it is read from its file."""
    return dict(json.loads(json.dumps(manifest(sheets, title_data(checked)), default=list)))


def failed(files: dict[str, bytes], manifest: dict[str, Any]) -> bool:
    """True if both proofs, the strict one and the one that forgives what does no harm, say no."""
    reports: list[ProofReport] = []
    for look in (lambda: prove(files, manifest), lambda: prove(files, manifest, as_written=False)):
        try:
            reports.append(look())
        except ProofError:
            continue  # refused before anything is compared
    return not any(report.passed for report in reports)


def test_nothing_changed_nothing_found(checked: Checked, sheets: tuple[TiledSheet, ...]) -> None:
    report = prove(written(checked, sheets), contents(checked, sheets))
    assert report.findings == ()
    assert report.worst.deviation < 0.001


@pytest.mark.parametrize("factor", ["72 / 25.4 * 1.0005", "72.27 / 25.4"])
def test_another_point_in_the_units_stops_make(configs: Path, tmp_path: Path, factor: str) -> None:
    # The whole program with another factor from its first import on: what reads back must not hang on the same number.
    script = f"""
import sys
from templater import units
units.POINTS_PER_MM = {factor}
from templater.cli.main import main
sys.exit(main(["make", {str(configs / "whinchat-3.yaml")!r}, "--out", {str(tmp_path / "out")!r},
               "--only", "plates"]))
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("wrong", [(pdf,), (svg,), (pdf, svg)], ids=["pages", "pictures", "both"])
def test_pages_or_pictures_alone_stop_make(
    configs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    wrong: tuple[Any, ...],
) -> None:  # fmt: skip
    # Each kind is read back in a process of its own: one that is true must not stand for the other, both are told.
    for module in wrong:
        monkeypatch.setattr(
            module, "_at", lambda point, *unit, before=module._at: before((point[0] + 0.05, point[1]), *unit)
        )
    assert main(["make", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path / "out"), "--only", "plates"]) == 3
    named = {f"plates.{'pdf' if module is pdf else 'svg'}" for module in wrong}
    assert {line[: len("plates.pdf")] for line in capsys.readouterr().err.splitlines()} == named
    assert not (tmp_path / "out").exists()


SLIPS: list[Callable[[tuple[float, ...]], tuple[float, ...]]] = [
    lambda m: (-m[0], *m[1:]),
    lambda m: (*m[:3], -m[3], *m[4:]),
    lambda m: (*m[:4], -m[4], m[5]),
    lambda m: (*m[:5], m[5] + 0.05),
    lambda m: (m[0], 0.001, *m[2:]),
    lambda m: (m[0] * 1.0005, *m[1:]),
    lambda m: (m[1], m[0], m[3], m[2], m[4], m[5]),
]


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_where_the_manifest_puts_the_sheet_on_the_page(
    checked: Checked, sheets: tuple[TiledSheet, ...], slip: Callable[[tuple[float, ...]], tuple[float, ...]]
) -> None:
    data = contents(checked, sheets)
    page = data["sheets"][0]["pages"][1]
    page["to_page"] = list(slip(tuple(page["to_page"])))
    assert failed(written(checked, sheets), data)


def test_a_sign_turned_where_marks_are_put_on_the_page(
    checked: Checked, sheets: tuple[TiledSheet, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    right = tiling.shift
    monkeypatch.setattr(tiling, "shift", lambda mark, du, dv: right(mark, du, -dv))
    wrong = tile_sheets(checked, drawings_of(checked, ("floor", "plank")))
    files = written(checked, wrong)
    monkeypatch.undo()
    assert failed(files, contents(checked, wrong))
    monkeypatch.setattr(tiling, "shift", lambda mark, du, dv: right(mark, du, -dv))
    with pytest.raises(TemplaterError):  # and make itself refuses to hand them out
        make(checked.source, Options(only=("floor",)))


@pytest.mark.parametrize("by", [0.05, 3.0])
def test_marks_of_one_tile_moved(checked: Checked, sheets: tuple[TiledSheet, ...], by: float) -> None:
    floor = sheets[0]
    wrong = floor._replace(tiles=(_moved(floor.tiles[0], by), *floor.tiles[1:]))
    assert failed(written(checked, (wrong, sheets[1])), contents(checked, sheets))


def _moved(tile: Tile, by: float) -> Tile:
    """Return a tile whose sheet's marks stand elsewhere, as if its seam did, while its frame stays."""
    name = ("holes", "registration", "first-screws", "second-screws", "plates")
    marks = tuple(tiling.shift(mark, by, 0.0) if mark.group.value in name else mark for mark in tile.marks)
    return tile._replace(marks=marks)


def test_a_seam_elsewhere_on_the_paper_than_in_the_manifest(
    checked: Checked, sheets: tuple[TiledSheet, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    # The files are made with seams a tenth of a mm to the right of where the manifest has them.
    right = tiling.place_seams

    def elsewhere(axis: Any, *bands: Any) -> Any:
        seams, cost = right(axis, *bands)
        return tuple(seam + 0.1 for seam in seams), cost

    monkeypatch.setattr(tiling, "place_seams", elsewhere)
    wrong = tile_sheets(checked, drawings_of(checked, ("floor", "plank")))
    monkeypatch.undo()
    assert wrong[0].column_seams != sheets[0].column_seams
    assert failed(written(checked, wrong), contents(checked, sheets))


def test_a_hole_left_out_of_the_files(checked: Checked, sheets: tuple[TiledSheet, ...]) -> None:
    floor = sheets[0]
    tiles = tuple(one._replace(marks=tuple(mark for mark in one.marks if mark.id != "S2")) for one in floor.tiles)
    assert failed(written(checked, (floor._replace(tiles=tiles), sheets[1])), contents(checked, sheets))


def test_a_bar_of_another_length(checked: Checked, sheets: tuple[TiledSheet, ...]) -> None:
    data = contents(checked, sheets)
    bar = data["sheets"][0]["pages"][0]["bars"][0]
    bar["b"][0] += 0.1
    bar["length"] += 0.1
    assert failed(written(checked, sheets), data)


def test_mirrored_sheets_taken_for_unmirrored(checked: Checked, sheets: tuple[TiledSheet, ...]) -> None:
    data = contents(checked, sheets)
    for hole in data["sheets"][0]["holes"]:
        hole["x"] = -hole["x"]
    # The floor's holes stand the same mirrored; which is port and which is starboard does not.
    assert failed(written(checked, sheets), data)
