"""The demo boats' files read back, true and tampered with."""

import copy
import io
import json
import re
from pathlib import Path
from typing import Any

import made_boats
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, NameObject

from templater.paper.tiles import Correction
from templater.pipeline.sheets import sheet_files
from templater.proof.prove import prove

Run = tuple[dict[str, bytes], dict[str, Any]]
EXACT = Correction()
WORN = Correction("worn rollers", 1.0042, 0.9971, 0.0008)


def run(path: Path, correction: Correction = EXACT) -> Run:
    checked, sheets = made_boats.tiled(path.stem, None, correction)
    made = sheet_files(checked, [*sheets])
    made.add_manifest("manifest.json", checked)
    return dict(made.files), json.loads(made.files["manifest.json"])


@pytest.fixture(scope="module")
def boat(configs: Path) -> Run:
    return run(configs / "whinchat-3.yaml")


@pytest.mark.parametrize("name", ["whinchat-3", "whinchat-5"])
@pytest.mark.parametrize("correction", [EXACT, WORN])
def test_the_demo_boats_are_true(configs: Path, name: str, correction: Correction) -> None:
    files, contents = run(configs / f"{name}.yaml", correction)
    report = prove(files, contents)
    assert report.findings == ()
    assert report.worst.deviation < 0.001
    recorded = sum(len(page["marks"]) for sheet in contents["sheets"] for page in sheet["pages"])
    assert sum(sheet.marks + sheet.letters for sheet in report.sheets) > recorded > 0
    for sheet, listed in zip(report.sheets, contents["sheets"], strict=True):
        assert sheet.svg_marks >= len(listed["marks"]) > 0


def tampered(data: bytes, page: int, change: Any) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    stream = DecodedStreamObject()
    stream.set_data(change(writer.pages[page].get_contents().get_data()))
    writer.pages[page][NameObject("/Contents")] = writer._add_object(stream)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_an_arm_moved_in_the_content_stream_names_its_hole(boat: Run) -> None:
    files, contents = boat
    sheet = contents["sheets"][0]
    page = next(p for p in sheet["pages"] if p["holes"])
    hole = next(h for h in sheet["holes"] if h["id"] == page["holes"][0])
    a, b, c, d, e, f = page["to_page"]
    x, y = ((a * hole["x"] + c * hole["y"] + e) * 72 / 25.4, (b * hole["x"] + d * hole["y"] + f) * 72 / 25.4)
    moved = 0

    def change(stream: bytes) -> bytes:
        def one(match: re.Match[bytes]) -> bytes:
            nonlocal moved
            ax, ay, bx, by = (float(match[n]) for n in (1, 2, 3, 4))
            if abs((ax + bx) / 2 - x) > 1e-3 or abs((ay + by) / 2 - y) > 1e-3 or ax == bx:
                return match[0]
            moved += 1
            by, ay = by + 0.1 * 72 / 25.4, ay + 0.1 * 72 / 25.4
            return f"{ax:.4f} {ay:.4f} m {bx:.4f} {by:.4f} l S".encode()

        return re.sub(rb"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", one, stream)

    data = tampered(files["floor.pdf"], page["page"] - 1, change)
    assert moved >= 1
    report = prove({**files, "floor.pdf": data}, contents)
    assert not report.passed
    assert report.worst.deviation == pytest.approx(0.1, abs=0.001)
    assert f"{hole['id']} is off by 0.100 mm" in report.findings[0].text
    assert not prove({"floor.pdf": data}, contents, whole=False, as_written=False).passed


def test_pages_printed_at_97_per_cent_and_one_of_another_revision(boat: Run) -> None:
    files, contents = boat
    scaled = tampered(files["floor.pdf"], 0, lambda stream: b"q 0.97 0 0 0.97 8.9 12.6 cm\n" + stream + b"\nQ")
    found = prove({"floor.pdf": scaled}, contents, whole=False, as_written=False)
    text = "\n".join(finding.line() for finding in found.findings)
    assert "floor.pdf page 1: scaled to 97.0 % across, 97.0 % along" in text
    other = copy.deepcopy(contents)
    other["description_sha256"] = "3f2a91c0" + "0" * 56
    found = prove({"plates.pdf": files["plates.pdf"]}, other, whole=False, as_written=False)
    stamp = contents["description_sha256"][:8]
    assert f"belongs to another revision ({stamp}, expected 3f2a91c0): plates 1-1" in found.findings[0].text
