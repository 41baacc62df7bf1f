"""The whole job as one file, through the shell: what goes in comes out, and it can be made, checked and proved."""

import io
import json
import math
import subprocess
from pathlib import Path

import made_boats
import pikepdf
import pytest
from pypdf import PdfReader

from templater.cli.main import main
from templater.share.handover import unpack


def given(configs: Path, folder: Path, *names: str) -> Path:
    """Copies of demo descriptions in a folder of their own; returns the first."""
    for name in names:
        (folder / name).write_bytes((configs / name).read_bytes())
    return folder / names[0]


@pytest.fixture(scope="module")
def bound(configs: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("giver") / "friend.pdf"
    assert main(["handover", str(configs / "whinchat-4.yaml"), "--to", str(path)]) == 0
    assert path.read_bytes() == made_boats.handed_over("whinchat-4")  # the same job, the same bytes
    return path


def coordinates(folder: Path) -> dict[tuple[str, str], tuple[float, float, float]]:
    """Every hole's place in its sheet, as read back page by page, through the page's own map."""
    from templater.plane.shapes import Affine
    from templater.proof.marks import CURVE, fit_circle
    from templater.proof.read_pdf import read_pdf

    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    found = {}
    for sheet in manifest["sheets"]:
        pages = {
            page["file"]: list(read_pdf((folder / page["file"]).read_bytes(), page["file"])) for page in sheet["pages"]
        }
        for page in sheet["pages"]:
            back = Affine(*page["to_page"]).inverse()
            marks = pages[page["file"]][page["page"] - 1].marks
            circles = [fit_circle(mark.points) for mark in marks if mark.kind == CURVE and mark.closed]
            for hole in (hole for hole in sheet["holes"] if hole["id"] in page["holes"]):
                for centre, diameter, _ in circles:
                    u, v = back.apply(centre)
                    if math.dist((u, v), (hole["x"], hole["y"])) < 3 and abs(diameter - hole["diameter"]) < 0.01:
                        found[sheet["name"], hole["id"]] = (u, v, diameter)
                        break
    return found


def test_yaml_to_pdf_and_back_is_the_same_bytes(bound: Path, configs: Path, tmp_path: Path) -> None:
    assert main(["unpack", str(bound), "--out", str(tmp_path)]) == 0
    for name in ("whinchat-4.yaml", "whinchat-3.yaml"):
        assert (tmp_path / name).read_bytes() == (configs / name).read_bytes()
    assert {path.name for path in tmp_path.iterdir()} == {"whinchat-4.yaml", "whinchat-3.yaml", "manifest.json"}


def test_unpack_never_replaces_a_file(bound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "whinchat-3.yaml").write_text("mine")
    assert main(["unpack", str(bound), "--out", str(tmp_path)]) == 1
    assert (tmp_path / "whinchat-3.yaml").read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["whinchat-3.yaml"]
    assert "nothing was written" in capsys.readouterr().err


def test_pdf_to_other_paper_has_the_same_holes(configs: Path, tmp_path: Path) -> None:
    # The A4 original, its handover file made on Letter: every hole of every sheet, read back from the pages' strokes,
    # stands at the same place of its sheet.
    made_boats.written("whinchat-3", tmp_path / "a4")
    friend = tmp_path / "friend.pdf"
    friend.write_bytes(made_boats.handed_over("whinchat-3"))
    assert main(["make", str(friend), "--paper", "Letter", "--out", str(tmp_path / "letter")]) == 0
    assert main(["proof", str(tmp_path / "letter" / "whinchat-3")]) == 0
    a4, letter = (coordinates(tmp_path / paper / "whinchat-3") for paper in ("a4", "letter"))
    sizes = {
        paper: PdfReader(tmp_path / paper / "whinchat-3" / "floor.pdf").pages[0].mediabox for paper in ("a4", "letter")
    }
    assert [float(side) for side in sizes["letter"][2:]] == pytest.approx([612, 792])
    assert [float(side) for side in sizes["a4"][2:]] == pytest.approx([595.2756, 841.8898], abs=1e-3)
    assert set(a4) == set(letter)
    assert len([key for key in a4 if key[0] == "floor"]) == 10 + 24  # bolts, block base, first screws: all circles
    for key, place in a4.items():
        assert letter[key] == pytest.approx(place, abs=2e-3), key


def test_the_file_is_proved_page_by_page(bound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["proof", str(bound), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert [sheet["name"] for sheet in report["sheets"]] == ["floor", "plank", "plates", "spare-plates"]
    assert report["worst_deviation"] < 0.005
    # Spoilt: the first page of the floor scaled by 0.97, as a viewer that fits to the page would.
    with pikepdf.open(bound) as pdf:
        number = next(n for n, page in enumerate(PdfReader(bound).pages) if "page 1 of" in page.extract_text()
                      and "floor 1-" in page.extract_text())  # fmt: skip
        pdf.pages[number].contents_add(b"0.97 0 0 0.97 0 0 cm", prepend=True)
        pdf.save(tmp_path / "fitted.pdf")
    assert main(["proof", str(tmp_path / "fitted.pdf")]) == 3
    assert "97" in capsys.readouterr().out


def test_the_cover_leads_to_every_part(bound: Path) -> None:
    reader = PdfReader(bound)
    marks = [(entry.title, reader.get_destination_page_number(entry)) for entry in reader.outline]
    assert [title for title, _ in marks] == [
        "Cover", "Cockpit floor", "Runner plank", "Plates", "Spare plates", "Job sheet",
    ]  # fmt: skip
    cover = "\n".join(page.extract_text() for page in reader.pages[: marks[1][1]])
    for title, first in marks:
        row = next(line for line in _rows(cover, title) if line)
        assert str(first + 1) in row.split(), (title, row)
    for words in ("What this is", "there is nothing to install", "templater unpack", "Lines to change",
                  "as long as it says"):  # fmt: skip
        assert words in cover


def _rows(text: str, title: str) -> list[str]:
    """The words that follow a part's title in the table of contents."""
    flat = " ".join(text.split())
    return [flat.partition(f" {title} ")[2][:60]]


def test_keys_of_the_standard_by_an_outside_program(bound: Path) -> None:
    # Outside check: qpdf. Keys after ISO 32000-2:2020, 7.11.3 (Filespec), 7.11.4 (EmbeddedFile), 14.13 (AF).
    data = json.loads(subprocess.run(["qpdf", "--json", bound], check=True, capture_output=True).stdout)
    objects = data["qpdf"][1]
    trailer = objects["trailer"]["value"]
    root = objects[f"obj:{trailer['/Root']}"]["value"]
    specifications = [objects[f"obj:{ref}"]["value"] for ref in root["/AF"]]
    by_name = {one["/UF"].removeprefix("u:"): one for one in specifications}
    assert set(by_name) == {"whinchat-4.yaml", "whinchat-3.yaml", "manifest.json"}
    for name, one in by_name.items():
        assert one["/Type"] == "/Filespec"
        assert one["/AFRelationship"] == ("/Data" if name == "manifest.json" else "/Source")
        stream = objects[f"obj:{one['/EF']['/F']}"]["stream"]["dict"]
        assert stream["/Type"] == "/EmbeddedFile"
        assert stream["/Params"]["/Size"] > 0
    assert objects[f"obj:{root['/ViewerPreferences']}"]["value"]["/PrintScaling"] == "/None"
    assert subprocess.run(["qpdf", "--check", bound], check=False, capture_output=True).returncode == 0


def test_pdfdetach_lists_and_saves_them(bound: Path, configs: Path, tmp_path: Path) -> None:
    # Outside check: pdfdetach (poppler).
    subprocess.run(["pdfdetach", "-saveall", "-o", str(tmp_path), bound], check=True, capture_output=True)
    assert (tmp_path / "whinchat-4.yaml").read_bytes() == (configs / "whinchat-4.yaml").read_bytes()


def test_the_giver_s_printer_stays_at_home(configs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TEMPLATER_HOME", str(tmp_path / "home"))
    path = given(configs, tmp_path, "whinchat-3.yaml")
    text = path.read_text("utf-8").replace("print: {paper: A4,", "print: {paper: A4, printer: shed,")
    path.write_text(text, "utf-8")
    # No such profile is stored here, and none is needed: neither to hand over nor for the friend to make the sheets.
    friend = tmp_path / "friend.pdf"
    assert main(["handover", str(path), "--to", str(friend)]) == 0
    assert main(["make", str(path), "--out", str(tmp_path / "mine")]) == 1
    assert main(["make", str(friend), "--out", str(tmp_path / "his"), "--only", "plates"]) == 0
    manifest = json.loads(next(i for i in unpack(friend.read_bytes(), "f").others if i.name == "manifest.json").data)
    pages = [page["correction"] for sheet in manifest["sheets"] for page in sheet["pages"]]
    assert all((one["across"], one["along"], one["skew"]) == (1, 1, 0) for one in pages)
    assert b"printer: shed" in unpack(friend.read_bytes(), "f").description.data  # the text itself is left alone


def test_a_handover_file_can_be_a_base_and_be_handed_on(configs: Path, tmp_path: Path, bound: Path) -> None:
    # The friend's friend bases his boat on the file that he was given, whose own base lies inside it.
    (tmp_path / "friend.pdf").write_bytes(bound.read_bytes())
    mine = tmp_path / "mine.yaml"
    mine.write_text("boat: Whinchat 6\nbased_on: friend.pdf\nfixing: {settings: {pitch: 52}}\n")
    assert main(["check", str(mine)]) == 0
    assert main(["handover", str(mine), "--to", str(tmp_path / "mine.pdf")]) == 0
    inside = unpack((tmp_path / "mine.pdf").read_bytes(), "mine.pdf")
    assert {item.name for item in inside.others} == {"friend.pdf", "manifest.json"}
    assert next(item.data for item in inside.others if item.name == "friend.pdf") == bound.read_bytes()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "mine.pdf").write_bytes((tmp_path / "mine.pdf").read_bytes())
    assert main(["check", str(tmp_path / "elsewhere" / "mine.pdf")]) == 0
    assert main(["handover", str(tmp_path / "elsewhere" / "mine.pdf"), "--to", str(tmp_path / "again.pdf")]) == 0
    assert unpack((tmp_path / "again.pdf").read_bytes(), "again.pdf").description.data == mine.read_bytes()


def test_names_that_clash_are_one_clear_line(configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "base").mkdir()
    given(configs, tmp_path / "base", "whinchat-3.yaml")
    path = tmp_path / "whinchat-3.yaml"
    path.write_text("boat: Whinchat 6\nbased_on: base/whinchat-3.yaml\n")
    assert main(["handover", str(path), "--to", str(tmp_path / "f.pdf")]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert "whinchat-3.yaml: name of the description and of the description it is based on" in lines[0]
    assert not (tmp_path / "f.pdf").exists()


def test_readings_go_in(configs: Path, tmp_path: Path) -> None:
    readings = tmp_path / "fit-up.yaml"
    assert main(["new", str(readings), "--readings", str(configs / "whinchat-3.yaml")]) == 0
    path = tmp_path / "f.pdf"
    arguments = ["handover", str(configs / "whinchat-3.yaml"), "--readings", str(readings), "--to", str(path)]
    assert main(arguments) == 0
    inside = unpack(path.read_bytes(), "f.pdf")
    assert next(item.data for item in inside.others if item.name == "fit-up.yaml") == readings.read_bytes()
    assert main(arguments) == 1  # the file stands there already


def test_a_base_that_is_missing_from_the_file(bound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pikepdf.open(bound) as pdf:
        kept = [spec for spec in pdf.Root.AF if str(spec.UF) != "whinchat-3.yaml"]
        pdf.Root.AF = pikepdf.Array(kept)
        pdf.save(tmp_path / "friend.pdf")
    assert main(["check", str(tmp_path / "friend.pdf")]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert "whinchat-4.yaml:3:1: based_on: whinchat-3.yaml: is not attached" in lines[0]


def test_a_hostile_name_writes_nothing_outside(bound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = io.BytesIO()
    with pikepdf.open(bound) as pdf:
        for spec in pdf.Root.AF:
            if str(spec.UF) == "whinchat-3.yaml":
                spec.UF = pikepdf.String("../../x")
        pdf.save(out)
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "friend.pdf").write_bytes(out.getvalue())
    assert main(["unpack", str(tmp_path / "in" / "friend.pdf"), "--out", str(tmp_path / "in" / "out")]) == 1
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert [path.name for path in tmp_path.rglob("*")] == ["in", "friend.pdf"]
