"""Pairs: a description, and the findings, whole sheets and outer pages it must give. Refresh with ``--refresh-golden``.

The drawings are read by people: one element a line, and nothing that changes when the drawing does not.
"""

import re
from pathlib import Path

import pytest

from templater.description.load import Source
from templater.drawing.marks import Drawing
from templater.findings import DescriptionError
from templater.paper.printer import printer_page
from templater.paper.tiles import Tile
from templater.pipeline.checked import Options, check, title_data
from templater.pipeline.sheets import on_paper
from templater.writers.svg import write_svg

HERE = Path(__file__).parent
CASES = sorted(HERE.glob("*.yaml"))
#: Those of which the first and the last page of the floor and the printer's test page are shown too.
PAGED = ("whinchat-3",)
#: What a drawing says of the description's bytes and the program.
STAMP = re.compile(rb" Description SHA-256 [0-9a-f]{64}\. templater \S+\.(?=</desc>)")


def outcome(path: Path) -> dict[str, bytes]:
    """Return the files that a description gives here: findings always, sheets when there are no errors."""
    source = Source(path.read_bytes(), path.name)
    try:
        checked, sheets, _ = on_paper(check(source), Options(), larger=False)
    except DescriptionError as fault:
        return {"findings.txt": "".join(f"{f.severity.value}: {f.line()}\n" for f in fault.findings).encode()}
    files = {"findings.txt": "".join(f"{f.severity.value}: {f.line()}\n" for f in checked.findings).encode()}
    drawings = [sheet.drawing for sheet in sheets]
    if path.stem in PAGED:
        pages = sheets[0].drawn().tiles
        drawings += [as_drawing(f"{drawings[0].name}-{page.name}", page) for page in (pages[0], pages[-1])]
        drawings.append(as_drawing("printer-page", printer_page(sheets[0].paper, 7.0)))
    for drawing in drawings:
        files[f"{drawing.name}.svg"] = STAMP.sub(b"", write_svg(drawing, title_data(checked)))
    return files


def as_drawing(name: str, page: Tile) -> Drawing:
    marks = tuple(mark for mark in page.marks if mark.id != "page-identity")  # it has the version in it
    return Drawing(name, name, "template", marks, (), (), (0.0, 0.0, *page.paper))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_description_gives_what_it_gave(path: Path, request: pytest.FixtureRequest) -> None:
    folder = HERE / path.stem
    files = outcome(path)
    if request.config.getoption("--refresh-golden"):
        folder.mkdir(exist_ok=True)
        for old in folder.iterdir():
            old.unlink()
        for name, data in files.items():
            (folder / name).write_bytes(data)
    assert sorted(files) == sorted(old.name for old in folder.iterdir())
    for name, data in files.items():
        text = data.decode()
        assert text == (folder / name).read_text("utf-8"), f"{name} differs; read the difference"
        if name.endswith(".svg"):
            assert all(re.fullmatch(r"<[^<>]*>([^<>]*</\w+>)?", line) for line in text.splitlines())
            assert not re.search(r"[0-9a-f]{64}", text)


def test_there_are_cases() -> None:
    assert len(CASES) >= 4
