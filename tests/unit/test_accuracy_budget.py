"""The error budget of whole boats: what is shared, what the builder says, what contributes most, what helps."""

import json
import math
import re
from pathlib import Path

import made_boats
import pytest

from templater.accuracy.errors import Sources, default_sources
from templater.accuracy.report import AccuracyReport, accuracy
from templater.boat.solved import Boat
from templater.cli.main import main
from templater.drawing.marks import Group
from templater.paper.tiles import TiledSheet


def job(path: Path, paper: str | None = None) -> tuple[Boat, tuple[TiledSheet, ...]]:
    checked, sheets = made_boats.tiled(path.stem, paper)
    return checked.boat, sheets[:2]


@pytest.fixture(scope="module")
def boat(configs: Path) -> tuple[Boat, tuple[TiledSheet, ...]]:
    return job(configs / "whinchat-3.yaml")


def only(sources: Sources, *names: str, times: float = 1.0) -> Sources:
    """Return the sources with all others than these at nothing."""
    items = (one._replace(sigma=one.sigma * times if one.name in names else 0.0) for one in sources.items)
    return Sources(tuple(items))


def changed(sources: Sources, name: str, times: float) -> Sources:
    items = (one._replace(sigma=one.sigma * times) if one.name == name else one for one in sources.items)
    return Sources(tuple(items))


def test_a_printer_s_scale_is_shared_by_all_holes(boat: tuple[Boat, tuple[TiledSheet, ...]]) -> None:
    # By hand: with nothing but a scale of standard deviation 0.1 %, a distance d is sure to 0.1 % of d, not to the two
    # holes' own errors put together; and holes on one bolt line move alike, so nothing turns.
    sources = changed(only(default_sources(boat[0]), "printer scale"), "printer scale", 1.0)
    assert sources.of("printer scale").sigma == 0.001
    report = accuracy(*boat, sources)
    pairs = {pair.what: pair for pair in report.pairs}
    assert pairs["P3 to S3, across"].sigma == pytest.approx(0.430, abs=1e-6)
    assert pairs["P1 to P2, along"].sigma == pytest.approx(0.055, abs=1e-6)
    # Two ways of the paper, each with its own scale: 0.001 sqrt(430^4 + 110^4) / sqrt(430^2 + 110^2).
    diagonal = 0.001 * math.sqrt(430.0**4 + 110.0**4) / math.hypot(430.0, 110.0)
    assert pairs["P1 to S3, diagonal"].sigma == pytest.approx(diagonal, abs=1e-6)
    assert all(lead.sigma == pytest.approx(0.0, abs=1e-9) for lead in report.leads)


def test_single_sources_by_hand(boat: tuple[Boat, tuple[TiledSheet, ...]]) -> None:
    # Pricking alone: two holes each sure to s along their distance give s sqrt 2. Lead of one runner: both holes of
    # floor (430 mm apart) and plank (twice the distance along the face) at the chock corners' 2290 mm.
    report = accuracy(*boat, only(default_sources(boat[0]), "punching"))
    s = 0.25
    assert [pair.sigma for pair in report.pairs] == pytest.approx([s * math.sqrt(2)] * len(report.pairs), rel=1e-4)
    lever = 2290.0 * s * math.sqrt(2) * math.hypot(1 / 430.0, 1 / (2 * boat[0].plank.hole_along))
    assert [lead.sigma for lead in report.leads] == pytest.approx([lever] * 3)
    assert report.holes[0].athwart == pytest.approx(s)
    # Tape readings alone: the difference of two, s sqrt 2; and nothing else moves.
    report = accuracy(*boat, only(default_sources(boat[0]), "tape reading"))
    assert [tape.sigma for tape in report.tapes] == pytest.approx([0.5 * math.sqrt(2)] * 3)
    assert [row.sigma for row in report.limits] == pytest.approx([0.5] * 3)
    assert {pair.sigma for pair in report.pairs} == {0.0}
    # The tape's own error is the same on both sides and leaves their difference alone.
    report = accuracy(*boat, only(default_sources(boat[0]), "tape's own error"))
    assert [tape.sigma for tape in report.tapes] == [0.0] * 3
    assert [row.largest for row in report.limits] == ["tape's own error"] * 3


def test_nothing_wrong_gives_nothing(boat: tuple[Boat, tuple[TiledSheet, ...]]) -> None:
    report = accuracy(*boat, only(default_sources(boat[0])))
    assert [lead.sigma for lead in report.leads] == [0.0] * 3
    assert [row.chance for row in report.limits] == [0.0] * 3
    assert report.improvements == ()


ALL = ("seam rotation", "laying the sheet on the lines", "punching", "drill wander", "drill lean")


@pytest.mark.parametrize("name", ALL)
def test_a_source_made_huge_is_the_largest_part(boat: tuple[Boat, tuple[TiledSheet, ...]], name: str) -> None:
    report = accuracy(*boat, changed(default_sources(boat[0]), name, 100.0))
    assert {lead.largest for lead in report.leads} == {name}
    assert next(item.text for item in report.improvements if "halved" in item.text).startswith(name)


def test_the_largest_part_of_a_distance_and_of_a_tape(boat: tuple[Boat, tuple[TiledSheet, ...]]) -> None:
    sources = default_sources(boat[0])
    across = {pair.what: pair for pair in accuracy(*boat, changed(sources, "printer scale", 20.0)).pairs}
    assert across["P1 to S1, across"].largest == "printer scale"
    damp = {pair.what: pair for pair in accuracy(*boat, changed(sources, "paper movement with humidity", 20.0)).pairs}
    assert damp["P1 to S1, across"].largest == "paper movement with humidity"
    report = accuracy(*boat, changed(sources, "tape reading", 50.0))
    assert {tape.largest for tape in report.tapes} == {"tape reading"}
    assert {lead.largest for lead in report.leads} != {"tape reading"}


@pytest.mark.parametrize("name", ["whinchat-3", "whinchat-5"])
def test_larger_paper_has_fewer_seams_and_is_never_worse(configs: Path, name: str) -> None:
    papers = ("A4", "A3", "A2", "A1", "A0") if name == "whinchat-3" else ("Letter", "Tabloid", "C", "D", "E")
    crossed, leads = [], []
    for paper in papers:
        boat, sheets = job(configs / f"{name}.yaml", paper)
        report = accuracy(boat, sheets, default_sources(boat))
        crossed.append(sum(len(sheet.tiles) - 1 for sheet in sheets))
        leads.append(max(lead.sigma for lead in report.leads))
    assert crossed == sorted(crossed, reverse=True)
    assert crossed[-1] == 0
    assert leads == sorted(leads, reverse=True)
    assert leads[-1] < leads[0]


def test_without_seams_paper_makes_no_difference(configs: Path) -> None:
    leads = []
    for paper in ("A4", "A1"):
        boat, sheets = job(configs / "whinchat-3.yaml", paper)
        sources = only(default_sources(boat), "laying the sheet on the lines", "punching")
        leads.append(accuracy(boat, sheets, sources).leads[0].sigma)
    assert leads[0] == pytest.approx(leads[1])


def test_improvements_are_what_working_it_out_again_gives(configs: Path) -> None:
    path = configs / "whinchat-3.yaml"
    boat, sheets = job(path)
    larger = job(path, "A3")[1]
    sources = default_sources(boat)
    report = accuracy(boat, sheets, sources, others=[("A3", larger)])
    assert len(report.improvements) >= 4
    assert any(item.text == "A3 instead of A4" for item in report.improvements)
    for item in report.improvements:
        if item.text == "A3 instead of A4":
            again = accuracy(boat, larger, sources)
        elif "squared" in item.text or item.text.startswith("the same"):
            continue  # held against the simulations
        else:
            name = item.text.partition(" halved")[0]
            again = accuracy(boat, sheets, changed(sources, name, 0.5))
        assert item.before == max(lead.sigma for lead in report.leads)
        assert item.after == pytest.approx(max(lead.sigma for lead in again.leads), rel=2e-3), item.text
    texts = [item.text for item in report.improvements]
    # What squaring gives at one setting is never said without what it gives at the others.
    assert texts[next(n for n, text in enumerate(texts) if "squared" in text) + 1].startswith("the same, at the other")
    # On larger paper, by far fewer seams, the others gain nothing: what makes it worse is no help, and that is said.
    alone = accuracy(boat, larger, sources).improvements
    assert any("squared" in item.text and item.text.endswith("at that setting alone") for item in alone)
    assert all(item.after < item.before - 0.005 for item in (*report.improvements, *alone))
    after = [item.after for item in report.improvements if not item.text.startswith("the same")]
    assert after == sorted(after)


def shell(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["check", *arguments, "--accuracy"]) == 0
    return capsys.readouterr().out


def test_the_builder_s_figures_count_and_it_says_whose_they_are(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    start = text.index("accuracy: {")
    own = tmp_path / "own.yaml"
    figures = "accuracy: {drill: 0.05, drill_lean: 0.1, printer_scale: 0.0002, humidity: 3}\n"
    own.write_text(text[:start] + figures, "utf-8")
    out = shell(capsys, str(own))
    assert re.search(r"drill wander +0\.05 mm +the description", out)
    assert re.search(r"drill lean +0\.1 ° +the description", out)
    assert re.search(r"printer scale +0\.0002 mm/mm +the description", out)
    assert re.search(r"punching +0\.30 mm +default: pricked through paper, from memory", out)
    before = shell(capsys, str(configs / "whinchat-3.yaml"))
    assert re.search(r"drill wander +0\.30 mm +the description", before)
    assert lead_in(out) < lead_in(before)


def lead_in(out: str) -> float:
    found = re.search(r"^  one runner ahead of the other .* (\d+\.\d+) mm", out, re.MULTILINE)
    assert found
    return float(found[1])


def test_a_finer_seam_figure_makes_the_turn_at_a_seam_finer_too(configs: Path) -> None:
    # By hand: 0.2 mm at each of two marks 150 mm apart turns one page against the other by sqrt 2 x 0.2 / 150 rad.
    boat, _ = job(configs / "whinchat-3.yaml")
    assert default_sources(boat).of("seam rotation").sigma == pytest.approx(math.degrees(math.sqrt(2) * 0.2 / 150))
    finer = boat.description.changed(accuracy=boat.description.accuracy.changed(seam=0.1))
    sources = default_sources(boat._replace(description=finer))
    assert sources.of("seam rotation").sigma == pytest.approx(math.degrees(math.sqrt(2) * 0.1 / 150))


def test_a_figure_of_nothing_is_taken_as_it_is_said(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    own = tmp_path / "own.yaml"
    own.write_text(text[: text.index("accuracy: {")] + "accuracy: {seam: 0, seam_angle: 0, lay: 0}\n", "utf-8")
    out = shell(capsys, str(own))
    assert re.search(r"seam shift +0\.00 mm +the description", out)
    assert "seam shift halved" not in out


def test_the_budget_as_data(configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(shell(capsys, str(configs / "whinchat-3.yaml"), "--json"))["accuracy"]
    boat, sheets = job(configs / "whinchat-3.yaml")
    report: AccuracyReport = accuracy(boat, sheets, default_sources(boat))
    assert [row["sigma"] for row in data["leads"]] == pytest.approx([lead.sigma for lead in report.leads], abs=1e-6)
    assert [row["id"] for row in data["holes"]] == ["P1", "S1", "P2", "S2", "P3", "S3", "KP", "KS"]
    assert {row["name"] for row in data["sources"]["items"]} == {one.name for one in report.sources.items}
    assert data["limits"][2]["margin"] == pytest.approx(4.0)
    # The parts of a budget make up the whole: JCGM 100:2008, 5.1.2, the sum of squares.
    for row in (*data["leads"], *data["tapes"], *data["pairs"]):
        assert math.sqrt(sum(part**2 for _, part in row["parts"])) == pytest.approx(row["sigma"])


def test_a_sheet_whose_middle_tile_is_blank_hangs_on_a_neighbour(boat: tuple[Boat, tuple[TiledSheet, ...]]) -> None:
    # A ring of holes round the middle leaves the middle page out; the budget must find its way round all the same.
    floor, plank = boat[1]
    hub = next(tile for tile in floor.tiles if tile.name == "2-2")
    assert "P1" not in hub.holes
    ring = floor._replace(tiles=tuple(tile for tile in floor.tiles if tile is not hub))
    report = accuracy(boat[0], (ring, plank), default_sources(boat[0]))
    assert all(lead.sigma > 0 for lead in report.leads)


def test_a_sheet_without_windows_is_taken_as_laid_near_its_ends(boat: tuple[Boat, tuple[TiledSheet, ...]]) -> None:
    # By hand: both lines seen at two places, 0.8 of the longer side apart, each to s: the turn is sure to
    # s sqrt 2 / (0.8 x length), and a runner's lead to 2290 times that, floor and plank together.
    bare = tuple(
        s._replace(drawing=s.drawing._replace(marks=tuple(m for m in s.drawing.marks if m.group is not Group.SIGHT)))
        for s in boat[1]
    )
    report = accuracy(boat[0], bare, only(default_sources(boat[0]), "laying the sheet on the lines"))
    turns = [0.3 * math.sqrt(2) / (0.8 * max(b[2] - b[0], b[3] - b[1])) for b in (s.drawing.box for s in bare)]
    assert [lead.sigma for lead in report.leads] == pytest.approx([2290.0 * math.hypot(*turns)] * 3, rel=1e-4)
