"""The plank's figures on the job sheet, against formulas for flat arcs worked by hand."""

from pathlib import Path

import made_boats
import pytest

from templater.cli import files as cli_files
from templater.pipeline.checked import check
from templater.report.blocks import shown
from templater.report.job_sheet import plank_table
from templater.units import Figures


def figures(path: Path) -> dict[str, str]:
    rows = shown(plank_table(check(cli_files.read_source(path)).boat), Figures()).rows
    return {row[0]: row[1] for row in rows}


def test_the_plank_as_an_arc(configs: Path) -> None:
    # By hand, from the series of a flat arc (any table of circular segments): an arc of length s with rise h has
    # R = s^2/(8h) about, here 2390^2 / (8 x 38) = 18 790 mm, and is longer than its chord by 8 h^2 / (3 s) =
    # 8 x 1444 / 7170 = 1.61 mm. Lean: asin(215 / 18 790) = 0.656 degrees; over 34 mm 34 x 0.01144 = 0.39 mm.
    found = figures(configs / "whinchat-3.yaml")
    assert found["end to end, straight"] == "2388.4 mm"
    assert found["radius of the upper face"].endswith(" m")
    assert float(found["radius of the upper face"].removesuffix(" m")) == pytest.approx(18.79, abs=0.03)
    assert found["lean of a hole square to the face"] == "0.66°"
    assert found["its foot nearer the middle by"] == "0.4 mm"
    assert found["bolt from the nearer end, along the face"] == "980.0 mm"


def test_a_flat_plank_has_no_radius_and_no_lean(configs: Path, tmp_path: Path) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8").replace("crown: 38", "crown: 0")
    (tmp_path / "flat.yaml").write_text(text, "utf-8")
    found = figures(tmp_path / "flat.yaml")
    assert found["radius of the upper face"] == "flat"
    assert found["lean of a hole square to the face"] == "0.00°"


def test_the_table_and_the_uncut_rim_stand_on_the_job_sheet() -> None:
    page = made_boats.files("whinchat-3")["job-sheet.html"].decode()
    assert "radius of the upper face" in page
    assert "left whole at the depth stop" in page
