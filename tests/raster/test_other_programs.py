"""The demo boats' files before other programs: a second renderer, a browser, and checkers of PDF and XML."""

from __future__ import annotations

import json
import math
import subprocess
from pathlib import Path

import made_boats
import numpy as np
import pytest
from PIL import Image
from raster.measure import Picture, find_cross, render

BROWSER = (
    "chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--disable-dev-shm-usage",
    "--no-first-run", "--disable-sync", "--disable-background-networking", "--disable-component-update",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)  # fmt: skip


@pytest.fixture(scope="module", params=["whinchat-3", "whinchat-5"])
def folder(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made_boats.written(request.param, tmp_path_factory.mktemp("made"))


def run(*command: object, time: float = 60) -> str:
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True, timeout=time, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr


def test_every_pdf_is_sound_to_another_program(folder: Path) -> None:
    files = sorted(folder.glob("*.pdf"))
    assert len(files) == 5
    for file in files:
        said = run("qpdf", "--check", file)
        assert "No syntax or stream encoding errors found" in said, said


def test_every_picture_is_sound_xml_to_another_program(folder: Path) -> None:
    files = sorted(folder.glob("*.svg"))
    assert len(files) == 4
    assert run("xmllint", "--noout", *files) == ""


def test_a_second_renderer_sees_every_crosshair_in_the_same_place(folder: Path, tmp_path: Path) -> None:
    sheet = json.loads((folder / "manifest.json").read_text("utf-8"))["sheets"][0]
    page = max(sheet["pages"], key=lambda page: len(page["holes"]))
    run("pdftoppm", "-r", 600, "-gray", "-singlefile", "-f", page["page"], "-l", page["page"],
        folder / page["file"], tmp_path / "page")  # fmt: skip
    width, height = page["paper"]
    other = Picture(np.asarray(Image.open(tmp_path / "page.pgm")), width, height)
    ours = render((folder / page["file"]).read_bytes(), page["page"])
    a, b, c, d, e, f = page["to_page"]
    holes = [hole for hole in sheet["holes"] if hole["id"] in page["holes"]]
    assert len(holes) >= 10
    for hole in holes:
        near = a * hole["x"] + c * hole["y"] + e, b * hole["x"] + d * hole["y"] + f
        first, second = (find_cross(picture, near, 4.0, reach=0.6) for picture in (ours, other))
        assert math.dist(first, second) < 0.05, hole["id"]
        assert math.dist(second, near) < 0.1, hole["id"]


@pytest.mark.parametrize("name", ["whinchat-3"])
def test_a_browser_shows_the_whole_sheet_at_its_size(tmp_path: Path, name: str) -> None:
    # 96 CSS pixels to the inch: W3C CSS Values and Units Level 3, section 6.2. Shown at four pixels to each of them.
    files = made_boats.files(name)
    (tmp_path / "floor.svg").write_bytes(files["floor.svg"])
    sheet = json.loads(files["manifest.json"])["sheets"][0]
    run(*BROWSER, "--force-device-scale-factor=4", "--window-size=2000,1400", f"--user-data-dir={tmp_path / 'user'}",
        f"--screenshot={tmp_path / 'floor.png'}", (tmp_path / "floor.svg").as_uri(), time=120)  # fmt: skip
    shown = np.asarray(Image.open(tmp_path / "floor.png").convert("L"))
    pixel = 25.4 / 96 / 4
    picture = Picture(shown, shown.shape[1] * pixel, shown.shape[0] * pixel)
    bolts = [hole for hole in sheet["holes"] if hole["kind"] == "sleeve"]
    # The sheet stands at the upper left of the window, a margin round its drawing.
    box = sheet["box"]
    margin = 2.0
    for hole in bolts:
        near = hole["x"] - box[0] + margin, picture.height - (box[3] + margin - hole["y"])
        assert math.dist(find_cross(picture, near, 4.0, reach=0.6), near) < 0.1, hole["id"]
    assert len(bolts) == 6
