"""Proof through the shell: files as written, files that went through other programs, files that were tampered with."""

import io
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import made_boats
import pytest
from pypdf import PageObject, PdfReader, PdfWriter, Transformation
from pypdf.generic import DecodedStreamObject, NameObject

from templater.cli.main import main


@pytest.fixture(scope="module")
def older(configs: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same boat of an earlier revision, its settings 1 mm closer together."""
    text = (configs / "whinchat-3.yaml").read_text("utf-8").replace("pitch: 55", "pitch: 54")
    folder = tmp_path_factory.mktemp("older")
    path = folder / "boat.yaml"
    path.write_text(text, "utf-8")
    assert main(["make", str(path), "--out", str(folder)]) == 0
    return folder / "whinchat-3"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return made_boats.written("whinchat-3", tmp_path)


@pytest.fixture
def proof(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str]]:
    def run(*arguments: object) -> tuple[int, str]:
        capsys.readouterr()
        status = main(["proof", *(str(one) for one in arguments)])
        taken = capsys.readouterr()
        return status, taken.out + taken.err

    return run


Proof = Callable[..., tuple[int, str]]


def worst(out: str) -> float:
    return float(out.rpartition("worst deviation ")[2].partition(" mm")[0])


def edit(path: Path, change: Callable[[PageObject], object], pages: set[int] | None = None) -> None:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(path.read_bytes())))
    for number, page in enumerate(writer.pages, 1):
        if pages is None or number in pages:
            change(page)
    writer.write(path)


def test_a_folder_as_written_is_true(folder: Path, proof: Proof) -> None:
    status, out = proof(folder)
    assert status == 0
    assert worst(out) < 0.005
    assert "error" not in out
    assert out.splitlines()[-1].startswith("true: worst deviation 0.00")
    for sheet in ("floor", "plank", "plates", "spare-plates"):
        assert re.search(rf"^ +{sheet} ", out, re.M), out


def test_the_report_as_data(folder: Path, proof: Proof) -> None:
    status, out = proof(folder, "--json")
    data = json.loads(out)
    assert (status, data["passed"], data["findings"]) == (0, True, [])
    assert data["worst_deviation"] < 0.005
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    pages = {sheet["name"]: len(sheet["pages"]) for sheet in manifest["sheets"]}
    assert {sheet["name"]: sheet["pages"] for sheet in data["sheets"] if sheet["name"] in pages} == pages
    (folder / "plank.pdf").unlink()
    status, out = proof(folder, "--json")
    assert (status, json.loads(out)["passed"]) == (3, False)


@pytest.mark.parametrize("name", ["floor.pdf", "plank.svg"])
def test_a_single_file_is_proved_against_the_manifest_beside_it(folder: Path, proof: Proof, name: str) -> None:
    status, out = proof(folder / name)
    assert status == 0, out
    assert worst(out) < 0.005


def by_pypdf(path: Path) -> None:
    edit(path, lambda page: page.compress_content_streams())


def by_qpdf(path: Path) -> None:
    other = path.with_suffix(".new")
    subprocess.run(["qpdf", "--linearize", "--object-streams=generate", path, other], check=True)
    other.replace(path)


def by_ghostscript(path: Path) -> None:
    other = path.with_suffix(".new")
    command = ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-sDEVICE=pdfwrite", f"-sOutputFile={other}", path]
    subprocess.run(command, check=True)
    other.replace(path)


@pytest.mark.parametrize("save", [by_pypdf, by_qpdf, by_ghostscript])
def test_files_saved_again_by_other_programs_pass(folder: Path, proof: Proof, save: Callable[[Path], None]) -> None:
    before = (folder / "floor.pdf").read_bytes()
    save(folder / "floor.pdf")
    assert (folder / "floor.pdf").read_bytes() != before
    status, out = proof(folder)
    assert status == 0, out
    assert worst(out) < 0.005
    assert proof(folder / "floor.pdf")[0] == 0


@pytest.mark.parametrize(("across", "along"), [(0.97, 0.97), (0.96, 1.012)])
def test_a_scale_is_told_to_a_tenth_of_a_per_cent(folder: Path, proof: Proof, across: float, along: float) -> None:
    edit(folder / "floor.pdf", lambda page: page.add_transformation(Transformation().scale(across, along)))
    status, out = proof(folder)
    assert status == 3
    found = re.search(r"scaled to ([\d.]+) % across, ([\d.]+) % along: print at actual size", out)
    assert found, out
    assert (float(found[1]), float(found[2])) == pytest.approx((100 * across, 100 * along), abs=0.1)
    assert "floor.pdf pages 1 to 4" in out
    assert "plank.pdf" not in out.partition("error")[2]
    assert out.splitlines()[-1].startswith("NOT TRUE")


def test_one_tile_of_another_revision_is_named(folder: Path, older: Path, proof: Proof) -> None:
    ours, theirs = PdfReader(folder / "floor.pdf"), PdfReader(older / "floor.pdf")
    assert len(ours.pages) == len(theirs.pages)
    writer = PdfWriter()
    for number, page in enumerate(ours.pages):
        writer.add_page(theirs.pages[1] if number == 1 else page)
    writer.write(folder / "floor.pdf")
    stamps = [json.loads((one / "manifest.json").read_text("utf-8"))["description_sha256"][:8]
              for one in (older, folder)]  # fmt: skip
    tile = json.loads((folder / "manifest.json").read_text("utf-8"))["sheets"][0]["pages"][1]["tile"]
    status, out = proof(folder)
    assert status == 3
    lines = [line for line in out.splitlines() if line.startswith("error")]
    assert lines == [f"error: floor.pdf page 2: belongs to another revision ({stamps[0]}, expected {stamps[1]}): "
                     f"floor {tile} [Q112]"]  # fmt: skip


def test_a_hole_nudged_in_the_content_stream_is_named(folder: Path, proof: Proof) -> None:
    sheet = json.loads((folder / "manifest.json").read_text("utf-8"))["sheets"][0]
    page = next(one for one in sheet["pages"] if "P2" in one["holes"])
    hole = next(one for one in sheet["holes"] if one["id"] == "P2")
    a, b, c, d, e, f = page["to_page"]
    at = (a * hole["x"] + c * hole["y"] + e) * 72 / 25.4, (b * hole["x"] + d * hole["y"] + f) * 72 / 25.4
    moved = 0

    def change(made_page: PageObject) -> None:
        def one(match: re.Match[bytes]) -> bytes:
            nonlocal moved
            x0, y0, x1, y1 = (float(match[n]) for n in (1, 2, 3, 4))
            if abs((x0 + x1) / 2 - at[0]) > 1e-3 or abs((y0 + y1) / 2 - at[1]) > 1e-3:
                return match[0]
            moved += 1
            by = 0.1 * 72 / 25.4
            return f"{x0 + by:.4f} {y0:.4f} m {x1 + by:.4f} {y1:.4f} l S".encode()

        contents = made_page.get_contents()
        assert contents is not None
        stream = DecodedStreamObject()
        stream.set_data(re.sub(rb"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", one, contents.get_data()))
        made_page[NameObject("/Contents")] = stream

    edit(folder / "floor.pdf", change, {page["page"]})
    assert moved == 2  # both arms of its crosshair
    status, out = proof(folder)
    assert status == 3
    (line,) = (line for line in out.splitlines() if line.startswith("error"))
    assert f"floor.pdf page {page['page']}: hole P2 is off by 0.100 mm" in line
    assert worst(out) == pytest.approx(0.1, abs=0.001)


def test_a_page_turned_or_moved_does_no_harm(folder: Path, proof: Proof) -> None:
    edit(folder / "floor.pdf", lambda page: page.rotate(90))
    edit(folder / "plank.pdf", lambda page: page.add_transformation(Transformation().translate(4, -3)))
    status, out = proof(folder)
    assert status == 0, out
    assert "advice: floor.pdf pages 1 to 4: pages rotated by 90 degrees clockwise: no harm" in out
    # 4 and -3 points of 1/72 inch are 1.41 and -1.06 mm.
    assert re.search(r"advice: plank.pdf pages? 1.*: moved on the paper by \+1.41 mm across, -1.06 mm along", out)
    assert worst(out) < 0.005


def test_what_is_said_is_said_once(folder: Path, proof: Proof) -> None:
    edit(folder / "floor.pdf", lambda page: page.rotate(180))
    _, out = proof(folder)
    assert out.count("rotated") == 1


def test_a_page_or_a_file_missing_is_named(folder: Path, proof: Proof) -> None:
    writer = PdfWriter()
    reader = PdfReader(folder / "floor.pdf")
    for number in (0, 2, 3):
        writer.add_page(reader.pages[number])
    writer.write(folder / "floor.pdf")
    (folder / "plates.svg").unlink()
    tile = json.loads((folder / "manifest.json").read_text("utf-8"))["sheets"][0]["pages"][1]["tile"]
    status, out = proof(folder)
    assert status == 3
    errors = sorted(line for line in out.splitlines() if line.startswith("error"))
    assert errors == [
        f"error: floor.pdf: page 2 missing (floor {tile}) [Q110]",
        "error: plates.svg: is missing [Q102]",
    ]


def test_what_is_no_template_is_told(folder: Path, tmp_path: Path, proof: Proof) -> None:
    writer = PdfWriter()
    writer.add_blank_page(595, 842)
    letter = tmp_path / "letter.pdf"
    writer.write(letter)
    status, out = proof(letter, "--manifest", folder / "manifest.json")
    assert status == 3
    assert "letter.pdf: not one of the sheets" in out
    shutil.copy(letter, folder / "floor.pdf")
    status, out = proof(folder)
    assert status == 3
    assert "floor.pdf: not one of the sheets" in out
    (folder / "floor.pdf").write_bytes(b"no PDF at all")
    status, out = proof(folder)
    assert status == 3
    (line,) = (line for line in out.splitlines() if line.startswith("error"))
    assert line.startswith("error: floor.pdf: ")


def test_no_manifest_is_told_in_one_line(folder: Path, tmp_path: Path, proof: Proof) -> None:
    (folder / "manifest.json").unlink()
    for given in (folder, folder / "floor.pdf"):
        status, out = proof(given)
        assert status == 1
        (line,) = out.splitlines()
        assert "manifest.json: no manifest there - name it with --manifest" in line
    status, out = proof(tmp_path / "nowhere")
    assert status == 1
    assert out.startswith(f"{tmp_path / 'nowhere'}: no such file or folder - give a boat's folder, or files that make")


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"sheets": [{"pages": 7}]}', '{"sheets": [{"pages": [1]}]}'])
def test_a_manifest_that_is_none_is_told_in_one_line(folder: Path, proof: Proof, text: str) -> None:
    (folder / "manifest.json").write_text(text, "utf-8")
    for given in (folder, folder / "floor.pdf"):
        status, out = proof(given)
        assert status == 1
        (line,) = out.splitlines()
        assert line.endswith("[Q101]"), line


def test_a_file_far_larger_than_its_record_is_refused_unread(folder: Path, proof: Proof) -> None:
    def flood(page: PageObject) -> None:
        stream = DecodedStreamObject()
        stream.set_data(b"0 0 m 1 1 l S\n" * 250_000)
        page[NameObject("/Contents")] = stream.flate_encode()

    edit(folder / "plates.pdf", flood)
    (folder / "plates.svg").write_bytes((folder / "plates.svg").read_bytes() + b" " * 3_000_000)
    for name, code in (("plates.pdf", "Q103"), ("plates.svg", "Q106")):
        status, out = proof(folder / name)
        assert status == 3
        assert f"it has more bytes than its drawing can need [{code}]" in out
    manifest = folder / "manifest.json"
    manifest.write_bytes(manifest.read_bytes() + b" " * 20_000_000)  # as large as that of a floor of 12,000 holes
    assert proof(folder / "floor.pdf")[0] == 0


@pytest.mark.parametrize("value", ["NaN", "-Infinity", "1e999", "1" + "0" * 400, "true", '"wide"', "[1]", "null", "-3"])
def test_a_value_that_no_manifest_has_is_told_with_its_place(folder: Path, proof: Proof, value: str) -> None:
    path = folder / "manifest.json"
    text = path.read_text("utf-8")
    for before, place in (('"paper": [210.0', "paper"), ('"page": 1', "page"), ('"diameter": 18.0', "diameter")):
        path.write_text(text.replace(before, before[: before.rindex(" ") + 1 + ("[" in before)] + value, 1), "utf-8")
        status, out = proof(folder)
        assert status == 1
        (line,) = out.splitlines()
        assert re.match(rf"{re.escape(str(path))}: sheets\[0\]\.\w+\[0\]\.{place}(\[0\])?: is .*\[Q101\]$", line), line


def listed(manifest: dict[str, Any]) -> set[str]:
    return {page["file"] for sheet in manifest["sheets"] for page in sheet["pages"]}


def test_another_manifest_may_be_named(folder: Path, older: Path, proof: Proof) -> None:
    status, out = proof(folder, "--manifest", older / "manifest.json")
    assert status == 3
    manifest = json.loads((older / "manifest.json").read_text("utf-8"))
    for file in listed(manifest):
        assert re.search(rf"{file} pages? .*belongs to another revision", out), file


def test_a_scaled_folder_is_told_in_few_lines_and_the_cause_decides(folder: Path, proof: Proof) -> None:
    for name in ("floor.pdf", "plates.pdf"):
        edit(folder / name, lambda page: page.add_transformation(Transformation().scale(0.97)))
    status, out = proof(folder)
    assert status == 3
    cause = "scaled to 97.0 % across, 97.0 % along: print at actual size"
    assert [line for line in out.splitlines()[5:] if line.startswith(("error", "warning", "advice"))] == [
        f"error: floor.pdf pages 1 to 4: {cause} [Q130]",
        f"error: plates.pdf page 1: {cause} [Q130]",
    ]
    assert out.splitlines()[-1] == f"NOT TRUE: floor.pdf pages 1 to 4: {cause}, and 1 more error"
    assert re.search(r"^ +floor .* not measured +–$", out, re.M), out
    data = json.loads(proof(folder / "floor.pdf", "--json")[1])
    assert (data["worst_deviation"], data["sheets"][0]["worst"]) == (None, None)


def test_a_mirrored_page_has_no_figure_that_was_not_measured(folder: Path, proof: Proof) -> None:
    mirror = Transformation((-1, 0, 0, 1, 0, 0)).translate(500, 0)
    edit(folder / "plank.pdf", lambda page: page.add_transformation(mirror))
    status, out = proof(folder / "plank.pdf")
    assert status == 3
    last = out.splitlines()[-1]
    assert last.startswith("NOT TRUE: plank.pdf pages 1, 2: mirrored: left and right are exchanged")
    assert "0.0" not in last


def test_what_cannot_be_proved_is_a_fault_of_the_input(folder: Path, tmp_path: Path, proof: Proof) -> None:
    boat, empty = folder / "my-boat.yaml", tmp_path / "empty"
    boat.write_text("boat: Whinchat 3\n", "utf-8")
    empty.mkdir()
    for given, said in (
        (boat, "my-boat.yaml: not a file that can be proved - give a boat's folder"),
        (empty, "manifest.json: no manifest there"),
        (tmp_path / "nosuch.pdf", "nosuch.pdf: no such file or folder - give a boat's folder, or files that make"),
    ):
        status, out = proof(given)
        assert status == 1
        (line,) = out.splitlines()
        assert said in line
    status, out = proof(folder / "job-sheet.pdf")
    assert status == 3
    assert "job-sheet.pdf: not one of the sheets" in out
