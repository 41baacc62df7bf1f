"""What seams cut is said, and what is said to avoid it does."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from templater.cli.main import main
from templater.description.keys import Orientation, Print
from templater.description.source import Source
from templater.paper.tiles import Correction
from templater.pipeline import paper as paper_advice
from templater.pipeline.checked import Checked, Options, check
from templater.pipeline.paper import look_at_paper
from templater.pipeline.sheets import drawings_of, tile_sheets

DEMO = ("whinchat-3", "whinchat-5")


def looked(path: Path, **choice: object) -> Checked:
    """The boat with other choices of paper."""
    checked = check(Source(path.read_bytes(), path.name))
    return with_print(checked, checked.boat.description.print.changed(**choice))  # type: ignore[arg-type]


def with_print(checked: Checked, choice: Print) -> Checked:
    boat = checked.boat
    return replace(checked, boat=replace(boat, description=boat.description.changed(print=choice)))


def cuts(checked: Checked) -> dict[str, int]:
    """How many marks the pages, as they would be printed, cut on each sheet."""
    sheets = tile_sheets(checked, drawings_of(checked))
    return {sheet.drawing.name: len(sheet.cut) for sheet in sheets}


def advice(checked: Checked) -> dict[str, str]:
    """What is advised for each sheet that is cut."""
    found, _ = look_at_paper(checked, Options())
    texts = (finding.text for finding in found.findings if finding.code == "S120")
    return {text.split()[1].rstrip(":"): text.rpartition(" - ")[2] for text in texts}


def follow(choice: Print, words: str) -> Print:
    """Do as the advice says."""
    cure = words.removesuffix(" would avoid it")
    if match := re.fullmatch(r"an overlap of (\d+) mm", cure):
        return choice.changed(overlap=float(match[1]))
    if cure == "orientation either":
        return choice.changed(orientation=Orientation.EITHER)
    return choice.changed(paper=cure.removeprefix("a "))


@pytest.mark.parametrize(
    ("name", "choice", "cure"),
    [
        ("whinchat-3", {"paper": "Letter"}, "an overlap of"),
        ("whinchat-3", {"orientation": Orientation.UPRIGHT}, "orientation either"),
        ("whinchat-3", {"overlap": 40.0, "margin": 12.0}, "an overlap of"),
        ("whinchat-5", {"paper": "Letter", "overlap": 25.0}, "an overlap of"),
        ("whinchat-5", {"overlap": 9.0, "margin": 16.0}, "C would"),
    ],
)
def test_following_the_advice_avoids_what_is_cut(
    configs: Path, name: str, choice: dict[str, object], cure: str
) -> None:
    checked = looked(configs / f"{name}.yaml", **choice)
    before, said = cuts(checked), advice(checked)
    assert set(said) == {sheet for sheet, count in before.items() if count}
    assert cure in " ".join(said.values())
    assert said
    for sheet, words in said.items():
        if words.startswith("no other paper"):
            continue
        assert words.endswith(" would avoid it"), words
        after = cuts(with_print(checked, follow(checked.boat.description.print, words)))
        assert after[sheet] == 0, words
        assert all(after[other] <= before[other] for other in before), words


@pytest.mark.parametrize("name", DEMO)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_demo_boats_are_cut_nowhere_or_it_is_said_what_to_do(
    configs: Path, capsys: pytest.CaptureFixture[str], name: str, paper: str
) -> None:
    checked = looked(configs / f"{name}.yaml", paper=paper)
    cut = {sheet for sheet, count in cuts(checked).items() if count}
    assert main(["check", str(configs / f"{name}.yaml"), "--paper", paper]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if line.endswith("[S120]")]
    assert len(lines) == len(cut)
    for sheet, line in zip(sorted(cut), sorted(lines), strict=True):
        assert f"sheet {sheet}: seams cut " in line
        assert "would avoid it" in line
        # No bolt hole, screw or plate is cut on these papers: sight windows at most.
        assert line.count(" by column seam") == line.count("sight window at")


def test_on_their_own_paper_the_demo_boats_are_cut_nowhere(configs: Path) -> None:
    for name in DEMO:
        path = configs / f"{name}.yaml"
        assert not any(cuts(check(Source(path.read_bytes(), path.name))).values())


def test_advice_counts_the_printer_s_correction_in(configs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    right = paper_advice.tile_sheets

    def spy(checked: object, drawings: object, correction: Correction, **more: object) -> object:
        seen.append(correction)
        return right(checked, drawings, correction, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(paper_advice, "tile_sheets", spy)
    worn = Correction("worn", 1.003, 0.998, 0.0)
    monkeypatch.setattr(Options, "correction_for", lambda self, description: worn)
    look_at_paper(looked(configs / "whinchat-3.yaml", paper="Letter"), Options())
    assert len(seen) > 1  # the sheets as they are, and at least one other choice
    assert set(seen) == {worn}
