"""Files for a shop: read by an outside DXF library and by hand, areas against shapely, and spoilt on purpose."""

import io
import json
import math
from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import ezdxf
import pytest
import svgelements
from ezdxf import path as ezdxf_path
from pypdf import PdfReader
from shapely.geometry import LinearRing, Polygon, box

from templater.boat.solve import solve
from templater.boat.solved import Boat
from templater.cli import files as cli_files
from templater.cli.main import main
from templater.drawing.cut import CutPart, cut_parts, outlines
from templater.drawing.marks import Circle, Group, Mark, Pen, Polyline
from templater.drawing.plates import plate_contour
from templater.findings import DrawingError, ProofError
from templater.pipeline.checked import Options, check, title_data
from templater.pipeline.make import CUT_NOTE, cut
from templater.proof.prove import prove_cut
from templater.writers.dxf import write_dxf

NAMES = ("whinchat-3", "whinchat-4", "whinchat-5")
SLOT = 7.5 * 8.5 + math.pi * 4.25**2  # 16 x 8.5 with round ends, by hand


def boat_with(path: Path, kerf: float = 0.0, spares: int = 2, **changes: object) -> Boat:
    boat = check(cli_files.read_source(path)).boat
    d = boat.description
    assert d.fixing.plate is not None
    plate = d.fixing.plate.changed(**changes)
    return solve(d.changed(
        fixing=d.fixing.changed(plate=plate), cutting=d.cutting.changed(kerf=kerf),
        spares=d.spares.changed(plates=spares),
    ))  # fmt: skip


def parts_of(path: Path, **changes: object) -> dict[str, CutPart]:
    boat = boat_with(path, **changes)  # type: ignore[arg-type]
    assert boat.description.fixing.plate is not None
    return {part.name: part for part in cut_parts(boat, boat.description.fixing.plate)}


@pytest.fixture(scope="module")
def made(configs: Path) -> dict[str, dict[str, bytes]]:
    return {name: cut(cli_files.read_source(configs / f"{name}.yaml"), Options())[2] for name in NAMES}


def drawn(data: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(data.decode()))


def rings(data: bytes) -> list[Polygon]:
    """Outlines and circles, flattened by the outside library to 0.1 micrometre."""
    found = []
    for entity in drawn(data).modelspace():
        assert entity.dxftype() == "CIRCLE" or entity.closed
        found.append(Polygon([(p.x, p.y) for p in ezdxf_path.make_path(entity).flattening(1e-4)]))
    return found


def metal(data: bytes) -> float:
    """Area of a part: the outline that holds all others less those, by shapely."""
    outer, *openings = sorted(rings(data), key=lambda ring: -ring.area)
    assert all(outer.contains(one) for one in openings)
    return float(outer.area - sum(one.area for one in openings))


def test_a_strip_s_area_by_hand(made: dict[str, dict[str, bytes]]) -> None:
    # By hand: three plates 46 x 76, four bridges 8 wide over gaps of 55 - 46 = 9, less three slots and twelve screws.
    wanted = 3 * 46 * 76 + 4 * 8 * 9 - 3 * SLOT - 12 * math.pi * 2.5**2
    assert metal(made["whinchat-3"]["strip-2x-3mm.dxf"]) == pytest.approx(wanted, rel=2e-5)


def test_names_and_numbers_are_those_of_the_boat(made: dict[str, dict[str, bytes]], configs: Path) -> None:
    assert set(made["whinchat-3"]) == {
        CUT_NOTE, *(f"{part}-3mm.{kind}" for part in ("strip-2x", "spare-plate-4x") for kind in ("dxf", "svg"))
    }  # fmt: skip
    path = configs / "whinchat-3.yaml"
    assert [part.quantity for part in parts_of(path, spares=5).values()] == [2, 5]
    assert list(parts_of(path, spares=0)) == ["strip"]
    # 55 long at a pitch of 55 there is no room for bridges: six single plates.
    assert {name: part.quantity for name, part in parts_of(path, length=55.0).items()} == {"plate": 6, "spare-plate": 2}


def test_sides_that_differ_are_cut_apart(configs: Path) -> None:
    path = configs / "whinchat-3.yaml"
    plate = check(cli_files.read_source(path)).boat.description.fixing.plate
    assert plate is not None
    assert plate.screws is not None
    odd = plate.screws.changed(first=((-16.0, -30.0), (-16.0, 30.0), (16.0, 0.0)), second=())
    parts = parts_of(path, screws=odd, spares=3)
    assert {part.stem for part in parts.values()} == {"strip-2x-3mm", "spare-plate-3x-3mm"}
    odd = odd.changed(first=((-16.0, -30.0), (16.0, 20.0)))
    assert {part.stem for part in parts_of(path, screws=odd, spares=3).values()} == {
        "strip-port-1x-3mm", "strip-starboard-1x-3mm", "spare-plate-port-2x-3mm", "spare-plate-starboard-2x-3mm"
    }  # fmt: skip


def test_a_kerf_of_0_4_is_taken_off_openings_and_put_round_the_part(configs: Path) -> None:
    # By hand: the loose plate grows to 46.4 x 76.4; its slot shrinks to 15.6 x 8.1, its screw holes to 4.1.
    one = parts_of(configs / "whinchat-3.yaml", kerf=0.4)["spare-plate"]
    slot = 7.5 * 8.1 + math.pi * 4.05**2
    assert metal(write_dxf(one.drawing.marks)) == pytest.approx(46.4 * 76.4 - slot - 4 * math.pi * 2.3**2, rel=1e-5)
    with pytest.raises(DrawingError, match=r"5\.1 mm - nothing is left of an opening of 5 mm.*S195"):
        parts_of(configs / "whinchat-3.yaml", kerf=5.1)


@pytest.mark.parametrize("name", NAMES)
def test_the_outside_auditor_finds_nothing_and_nothing_but_cuts_is_there(
    name: str, made: dict[str, dict[str, bytes]]
) -> None:
    # Outside check: ezdxf's auditor, no errors and nothing mended; unit mm.
    for file in (file for file in made[name] if file.endswith(".dxf")):
        document = drawn(made[name][file])
        auditor = document.audit()
        assert (auditor.errors, auditor.fixes) == ([], [])
        assert document.units == ezdxf.units.MM
        assert {(e.dxf.layer, e.dxftype()) for e in document.modelspace()} == {("cut", "LWPOLYLINE"), ("cut", "CIRCLE")}
        for a, b in combinations(rings(made[name][file]), 2):  # no line is cut twice
            assert LinearRing(a.exterior).distance(LinearRing(b.exterior)) > 1.0


def test_the_svg_shows_the_same_areas_to_another_reader(made: dict[str, dict[str, bytes]]) -> None:
    # Outside checks: svgelements reads the picture, shapely takes the areas; ezdxf reads the DXF of the same part.
    files = made["whinchat-3"]
    picture = svgelements.SVG.parse(io.BytesIO(files["spare-plate-4x-3mm.svg"]), ppi=25.4)
    shapes = [element for element in picture.elements() if isinstance(element, svgelements.Path | svgelements.Circle)]
    areas = sorted(svg_area(svgelements.Path(shape)) for shape in shapes)
    # ezdxf makes Bezier pieces of arcs before it flattens them: up to 0.02 % of a slot's area.
    assert areas == pytest.approx(sorted(shape.area for shape in rings(files["spare-plate-4x-3mm.dxf"])), rel=3e-4)
    assert areas[-2] == pytest.approx(SLOT, rel=1e-5)
    assert not [element for element in picture.elements() if isinstance(element, svgelements.Text)]


def svg_area(path: svgelements.Path) -> float:
    points: list[tuple[float, float]] = []
    for segment in path.segments():
        if isinstance(segment, svgelements.Move):
            continue
        count = 400 if isinstance(segment, svgelements.Arc) else 1
        for n in range(count):
            at = segment.point(n / count)
            points.append((at.x, at.y))
    return float(Polygon(points).area)


@pytest.mark.parametrize(("kerf", "wanted"), [(0.0, 5.0), (1.0, 5.5)])
def test_a_rounded_corner_against_shapely(kerf: float, wanted: float) -> None:
    # A square of 20 with corners of radius 5, made by shapely from a square of 10 grown by 5; half a kerf more round.
    (edge,) = outlines(plate_contour((0.0, 0.0, 20.0, 20.0), 5.0), kerf)
    area = metal(write_dxf([edge]))
    assert area == pytest.approx(box(5, 5, 15, 15).buffer(wanted, quad_segs=400).area, rel=1e-4)


@pytest.mark.parametrize(
    "changes",
    [{"bridge": 100.0}, {"bridge": 20.0}, {"corner_radius": 23.0, "screws": None},
     {"slot": None}, {"screws": None}, {"length": 55.0}, {"length": 60.0}, {"corner_radius": 5.0, "bridge": 70.0},
     {"corner_radius": 3.0, "bridge": 30.0}],
)  # fmt: skip
@pytest.mark.parametrize("kerf", [0.0, 0.3])
def test_odd_plates_give_sound_outlines(changes: dict[str, object], kerf: float, configs: Path) -> None:
    # Outside check: shapely finds that no outline crosses itself, and every opening inside its part.
    for part in parts_of(configs / "whinchat-3.yaml", kerf=kerf, **changes).values():
        data = write_dxf(part.drawing.marks)
        assert metal(data) > 1000
        for shape in rings(data):
            # Twice round, or crossed, the area would not be that of what is enclosed; a touch of 1e-12 may be.
            assert shape.buffer(0).area == pytest.approx(shape.area, rel=1e-9)
            assert shape.buffer(0).geom_type == "Polygon"


def test_corners_beside_a_wide_bridge_are_rounded_as_far_as_there_is_room(configs: Path) -> None:
    # By hand: a bridge of 70 in a plate of 76 leaves 3 a side, 1.5 of them straight. Three plates and two bridges
    # 70 x 9, less r² (1 - pi/4) at four corners of 5 and eight of 1.5, less slots and screw holes as above.
    strip = parts_of(configs / "whinchat-3.yaml", corner_radius=5.0, bridge=70.0)["strip"]
    corners = (4 * 5**2 + 8 * 1.5**2) * (1 - math.pi / 4)
    holes = 3 * SLOT + 12 * math.pi * 2.5**2
    wanted = 3 * 46 * 76 + 2 * 70 * 9 - corners - holes
    assert metal(write_dxf(strip.drawing.marks)) == pytest.approx(wanted, rel=1e-5)


def spare(configs: Path) -> CutPart:
    return parts_of(configs / "whinchat-3.yaml")["spare-plate"]


def moved(mark: Mark, by: float) -> Mark:
    assert isinstance(mark, Circle)
    return mark._replace(centre=(mark.centre[0] + by, mark.centre[1]))


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda marks: (*marks[:-1], moved(marks[-1], 0.021)), "Q121"),
        (lambda marks: (*marks[:-1], moved(marks[-1], 0.019)), ""),
        (lambda marks: (*marks[:-1], marks[-1]._replace(diameter=5.05)), "Q121"),
        (lambda marks: (marks[0]._replace(closed=False), *marks[1:]), "Q120"),
        (lambda marks: (marks[0], marks[1]._replace(bulges=(0.0, 0.9, 0.0, 1.0)), *marks[2:]), "Q12[01]"),
        (lambda marks: marks[1:], "Q120"),
        (lambda marks: (*marks, marks[0]), "Q127"),
        (lambda marks: (*marks, Circle((0.0, 15.0), 3.0, Pen.NARROW, Group.CUT)), "Q127"),
    ],
)
def test_proof_finds_what_was_spoilt(
    spoil: Callable[[tuple[Mark, ...]], tuple[Mark, ...]], code: str, configs: Path
) -> None:
    from templater.writers.svg import write_svg

    part, title = spare(configs).drawing, title_data(check(cli_files.read_source(configs / "whinchat-3.yaml")))
    slot = part.marks[1]
    assert isinstance(slot, Polyline)
    assert slot.bulges == pytest.approx((0.0, 1.0, 0.0, 1.0)) or slot.bulges == pytest.approx((0.0, -1.0, 0.0, -1.0))
    wrong = part._replace(marks=spoil(part.marks))
    sound = write_dxf(part.marks), write_svg(part, title)
    for dxf, svg in ((write_dxf(wrong.marks), sound[1]), (sound[0], write_svg(wrong, title))):
        if code:
            with pytest.raises(ProofError, match=code):
                prove_cut(part, dxf, svg)
        else:
            assert prove_cut(part, dxf, svg) == pytest.approx(0.019, abs=1e-3)


def test_proof_refuses_an_outline_of_which_one_piece_widens(configs: Path) -> None:
    from templater.writers.svg import write_svg

    part, title = spare(configs).drawing, title_data(check(cli_files.read_source(configs / "whinchat-3.yaml")))
    document = ezdxf.read(io.StringIO(write_dxf(part.marks).decode()))
    outline = next(one for one in document.modelspace() if one.dxftype() == "LWPOLYLINE")
    points = [list(point) for point in outline.get_points("xyseb")]
    for index in (None, 2, 3):  # its width where it starts, or where it ends
        outline.set_points([*points[:-1], [1.0 if n == index else v for n, v in enumerate(points[-1])]], format="xyseb")
        out = io.StringIO()
        document.write(out)
        files = out.getvalue().encode(), write_svg(part, title)
        if index is None:
            assert prove_cut(part, *files) < 1e-3
        else:
            with pytest.raises(ProofError, match="Q12"):
                prove_cut(part, *files)


def test_proof_refuses_another_unit_and_what_is_no_dxf(configs: Path) -> None:
    part = spare(configs).drawing
    data = write_dxf(part.marks)
    inches = data.replace(b"$INSUNITS\n 70\n4\n", b"$INSUNITS\n 70\n1\n")
    assert inches != data
    for wrong in (inches, data[:2000], b"no DXF"):
        with pytest.raises(ProofError, match="Q107"):
            prove_cut(part, wrong, b"<svg width='1mm' height='1mm' viewBox='0 0 1 1'/>")


def test_the_command_writes_them_and_takes_old_ones_away(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "whinchat-3" / "cut"
    folder.mkdir(parents=True)
    (folder / "strip-2x-4mm.dxf").write_text("of an earlier run")
    (folder / "mine.txt").write_text("the builder's own")
    assert main(["cut", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path)]) == 0
    assert "strip-2x-3mm.dxf, .svg: cut 2" in capsys.readouterr().out
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    parts = ("strip-2x-3mm", "spare-plate-4x-3mm")
    assert set(first) == {CUT_NOTE, "mine.txt", *(f"{part}.{kind}" for part in parts for kind in ("dxf", "svg"))}
    assert main(["cut", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["parts"][0]["quantity"] == 2
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == first  # same bytes
    assert main(["make", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path), "--only", "plates"]) == 0
    assert (folder / CUT_NOTE).is_file()
    assert not list(folder.parent.glob("*.dxf"))


def test_the_page_says_what_the_files_do_not(made: dict[str, dict[str, bytes]]) -> None:
    (page,) = PdfReader(io.BytesIO(made["whinchat-3"][CUT_NOTE])).pages
    text = " ".join(page.extract_text().split())
    for words in ("strip-2x-3mm.dxf", "2 pieces, sheet metal 3 mm thick, 76 mm x 156 mm over all",
                  "every hole ⌀5 to ⌀10", "Break every edge", "every outline is the finished edge"):  # fmt: skip
        assert words in text


def test_the_page_gives_the_finished_part_and_says_how_its_cut_line_differs(configs: Path, tmp_path: Path) -> None:
    # Whinchat 5's loose plate is 1 7/8 x 3 in. A kerf of 0.2 mm, 0.008 in, makes its cut line 1.883 x 3.008 in.
    text = (configs / "whinchat-5.yaml").read_text("utf-8")
    (tmp_path / "boat.yaml").write_text(f"{text}cutting: {{kerf: 0.2 mm}}\n", "utf-8")
    data = cut(cli_files.read_source(tmp_path / "boat.yaml"), Options())[2][CUT_NOTE]
    told = " ".join(PdfReader(io.BytesIO(data)).pages[0].extract_text().split())
    assert "1/8 in thick, 3 in x 1 7/8 in over all" in told
    assert "Kerf: 0.008 in (0.2 mm) is made up for" in told
    assert "the outline in its file is 0.008 in (0.2 mm) more each way, every opening 0.008 in (0.2 mm) less" in told


def test_a_boat_without_plates_has_nothing_to_cut(
    tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    head, _, rest = text.partition("  plate:\n")
    (tmp_path / "boat.yaml").write_text(head + rest[rest.index("fittings:") :])
    assert main(["cut", str(tmp_path / "boat.yaml"), "--out", str(tmp_path)]) == 1
    assert "S196" in capsys.readouterr().err
    assert not (tmp_path / "whinchat-3").exists()


def test_an_unknown_paper_of_the_note_is_refused_with_its_place(
    configs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat, text = tmp_path / "boat.yaml", (configs / "whinchat-3.yaml").read_text("utf-8")
    boat.write_text(text.replace("paper: A4", "paper: A9"), "utf-8")
    line = next(number for number, line in enumerate(text.splitlines(), 1) if "paper: A4" in line)
    for more, said in (([], f"{boat}:{line}:9: print.paper: A9: no such"), (["--paper", "A8"], "--paper: A8: no such")):
        assert main(["cut", str(boat), "--out", str(tmp_path / "out"), *more]) == 1
        assert capsys.readouterr().err.startswith(said)
    assert [path.name for path in tmp_path.iterdir()] == ["boat.yaml"]
