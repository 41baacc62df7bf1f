"""The cut files: read by an outside DXF library and by hand, areas against shapely, and spoilt on purpose."""

import io
import json
import math
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import ezdxf
import pytest
import svgelements
from ezdxf import path as ezdxf_path
from shapely.geometry import LinearRing, Point, Polygon, box

from templater.cli import files as cli_files
from templater.cli.main import main
from templater.description.model import Cutting
from templater.drawing.cut import CutJob, CutPart, Layer, outline
from templater.drawing.cut_parts import draw_cutting
from templater.drawing.cut_shims import draw_shim_cutting
from templater.drawing.shims import ShimPlan
from templater.findings import DrawingError
from templater.pipeline.checked import check
from templater.pipeline.cutting import DXF, SVG
from templater.proof import prove
from templater.proof.cutting import cutting_dict, prove_cutting
from templater.writers.cut_dxf import write_cut_dxf
from templater.writers.cut_svg import write_cut_svg

NAMES = ("whinchat-3", "whinchat-4", "whinchat-5")


def job(path: Path, **changes: object) -> CutJob:
    boat = check(cli_files.read_source(path)).boat
    description = replace(boat.description, cutting=replace(boat.description.cutting, **changes))
    plate = description.fixing.plate
    assert plate is not None
    return draw_cutting(replace(boat, description=description), plate, "0123abcd")


@pytest.fixture(scope="module")
def demo(configs: Path) -> CutJob:
    return job(configs / "whinchat-3.yaml")


def drawn(data: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(io.TextIOWrapper(io.BytesIO(data), "ascii"))


def rings(data: bytes) -> list[Polygon]:
    """Outlines on the layer that is cut, flattened by the outside library to 0.1 micrometre."""
    found = []
    for entity in drawn(data).modelspace().query('POLYLINE[layer=="cut"]'):
        assert entity.is_closed
        found.append(Polygon([(p.x, p.y) for p in ezdxf_path.make_path(entity).flattening(1e-4)]))
    return found


def area_of(part: CutPart, pieces: int = 400) -> float:
    """Metal of a part, by shapely from the corners, arcs in ``pieces``."""
    shapes = []
    for edge in part.outlines:
        points: list[tuple[float, float]] = []
        for (u, v, bulge), (u2, v2, _) in zip(edge.corners, (*edge.corners[1:], edge.corners[0]), strict=True):
            points.append((u, v))
            if bulge:
                # Centre of the arc: from the middle of the chord, to the left by chord (1 - b²) / (4 b).
                shift = (1 - bulge**2) / (4 * bulge)
                c = ((u + u2) / 2 - (v2 - v) * shift, (v + v2) / 2 + (u2 - u) * shift)
                start, angle, r = math.atan2(v - c[1], u - c[0]), 4 * math.atan(bulge), math.dist(c, (u, v))
                points += [
                    (c[0] + r * math.cos(start + angle * n / pieces), c[1] + r * math.sin(start + angle * n / pieces))
                    for n in range(1, pieces)
                ]
        shapes.append(Polygon(points))
    metal = shapes[0]
    for opening in shapes[1:]:
        assert metal.contains(opening)
        metal = metal - opening
    for bore in part.bores:
        if bore.layer is Layer.CUT:
            metal = metal - Point(bore.at).buffer(bore.diameter / 2, quad_segs=pieces)
    return float(metal.area)


def test_a_strip_s_area_by_hand(demo: CutJob) -> None:
    # By hand: three plates 46 x 76, four bridges 8 wide over gaps of 55 - 46 = 9, less three slots 16 x 8.5 with round
    # ends (7.5 x 8.5 + pi 4.25²) and twelve screw holes of 4.5.
    wanted = 3 * 46 * 76 + 4 * 8 * 9 - 3 * (7.5 * 8.5 + math.pi * 4.25**2) - 12 * math.pi * 2.25**2
    strip = next(part for part in demo.parts if part.name == "strip P")
    assert area_of(strip) == pytest.approx(wanted, rel=1e-5)


def test_a_kerf_of_0_4_is_taken_off_openings_and_put_round_the_part(configs: Path) -> None:
    # By hand: the loose plate grows to 46.4 x 76.4; its slot shrinks to 15.6 x 8.1, its screw holes to 4.1.
    one = next(p for p in job(configs / "whinchat-3.yaml", kerf=0.4).parts if p.name.startswith("plate set2"))
    slot = 7.5 * 8.1 + math.pi * 4.05**2
    assert area_of(one) == pytest.approx(46.4 * 76.4 - slot - 4 * math.pi * 2.05**2, rel=1e-5)
    note = " ".join(words.text for words in job(configs / "whinchat-3.yaml", kerf=0.4).notes)
    assert "Kerf compensation 0.4 mm IS in the outlines" in note


def test_no_kerf_compensation_unless_asked_and_the_file_says_so(demo: CutJob) -> None:
    assert b"NO kerf compensation" in write_cut_dxf(demo)
    assert b"NO kerf compensation" in write_cut_svg(demo)


@pytest.mark.parametrize("name", NAMES)
def test_the_outside_auditor_finds_nothing(name: str, configs: Path) -> None:
    # Outside check: ezdxf's auditor, no errors and nothing mended; unit mm.
    document = drawn(write_cut_dxf(job(configs / f"{name}.yaml")))
    auditor = document.audit()
    assert (auditor.errors, auditor.fixes) == ([], [])
    assert document.units == ezdxf.units.MM
    assert {entity.dxf.layer for entity in document.modelspace()} <= {layer.value for layer in Layer}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("kerf", [0.0, 0.3])
def test_no_line_is_cut_twice_and_parts_keep_their_spacing(name: str, kerf: float, configs: Path) -> None:
    # Outside check: shapely on outlines read by ezdxf.
    cutting = job(configs / f"{name}.yaml", kerf=kerf)
    found = rings(write_cut_dxf(cutting))
    assert len(found) == len(cutting.outlines)
    for a, b in combinations(found, 2):
        assert LinearRing(a.exterior).distance(LinearRing(b.exterior)) > 1.0
    edges = [shape for shape in found if not any(other.contains(shape) for other in found if other is not shape)]
    assert len(edges) == len(cutting.parts)
    sheets = [box(*sheet) for sheet in cutting.sheets]
    for shape in edges:
        home = [sheet for sheet in sheets if sheet.contains(shape)]
        assert len(home) == 1
        assert home[0].exterior.distance(shape) > 5 - 1e-6
    for a, b in combinations(edges, 2):
        assert a.distance(b) > 5 - 1e-6


def test_circles_are_those_of_the_solved_boat_by_a_hand_parser(configs: Path) -> None:
    # A parser of its own: pairs of lines, nothing else. Whinchat 3, port strip: screws of the first set, by the
    # description, from each plate's centre; neighbours 55 apart.
    lines = write_cut_dxf(job(configs / "whinchat-3.yaml")).decode().split("\r\n")
    pairs = [(int(code), value) for code, value in zip(lines[:-1:2], lines[1::2], strict=True)]
    starts = [n for n, pair in enumerate(pairs) if pair == (0, "CIRCLE")]
    circles = []
    for n in starts:
        tags = dict(pairs[n + 1 : n + 6])
        circles.append((tags[8], float(tags[10]), float(tags[20]), 2 * float(tags[40])))
    assert sum(layer == "cut" and d == 4.5 for layer, _, _, d in circles) == 48  # 6 plates x 4, two sets
    assert sum(layer == "countersink" and d == 9.0 for layer, _, _, d in circles) == 48
    guide = sorted((x, y) for layer, x, y, d in circles if layer == "cut" and d == 8.0)
    assert [math.dist(a, b) for a, b in pairwise(guide)] == pytest.approx([55.0, 55.0])
    assert sum(layer == "cut" and d == 3.0 for layer, _, _, d in circles) == 2  # the guide's pins


def test_the_svg_shows_the_same_areas_to_another_reader(demo: CutJob) -> None:
    # Outside checks: svgelements reads the paths, shapely takes their areas; ezdxf reads the DXF of the same job.
    picture = svgelements.SVG.parse(io.BytesIO(write_cut_svg(demo)), ppi=25.4)
    shapes = [element for element in picture.elements() if isinstance(element, svgelements.Path)]
    areas = sorted(_svg_area(path) for path in shapes)
    # ezdxf makes Bezier pieces of arcs before it flattens them: up to 0.012 % of a slot's area.
    assert areas == pytest.approx(sorted(shape.area for shape in rings(write_cut_dxf(demo))), rel=2e-4)
    assert areas[0] == pytest.approx(7.5 * 8.5 + math.pi * 4.25**2, rel=1e-5)  # a slot 16 x 8.5, by hand
    assert picture.width == pytest.approx(demo.box[2] - demo.box[0] + 10)


def _svg_area(path: svgelements.Path) -> float:
    points: list[tuple[float, float]] = []
    for segment in path.segments():
        if isinstance(segment, svgelements.Move):
            continue
        count = 400 if isinstance(segment, svgelements.Arc) else 1
        for n in range(count):
            at = segment.point(n / count)
            points.append((at.x, at.y))
    return float(Polygon(points).area)


def test_a_rounded_corner_against_shapely() -> None:
    # A square of 20 with corners of radius 5, made by shapely from a square of 10 grown by 5.
    corners = tuple((u, v, 5.0) for u, v in ((0, 0), (20, 0), (20, 20), (0, 20)))
    edge = outline("square", corners)
    whole = CutPart("square", (edge,), (), (), (), (0, 0, 20, 20))
    assert area_of(whole) == pytest.approx(box(5, 5, 15, 15).buffer(5, quad_segs=400).area, rel=1e-5)
    grown = CutPart("grown", (outline("square", corners, kerf=1.0),), (), (), (), (0, 0, 20, 20))
    assert area_of(grown) == pytest.approx(box(5, 5, 15, 15).buffer(5.5, quad_segs=400).area, rel=1e-5)


@pytest.mark.parametrize(
    "changes",
    [{"bridge": 100.0}, {"bridge": 20.0}, {"corner_radius": 23.0}, {"corner_radius": 5.0, "bridge": 70.0},
     {"slot": None}, {"screws": None}, {"length": 55.0}, {"length": 60.0}, {"corner_radius": 3.0, "bridge": 30.0}],
)  # fmt: skip
@pytest.mark.parametrize("kerf", [0.0, 0.3])
def test_odd_plates_give_sound_outlines(changes: dict[str, object], kerf: float, configs: Path) -> None:
    # Outside check: shapely finds that no outline crosses itself, and every opening inside its part.
    boat = check(cli_files.read_source(configs / "whinchat-3.yaml")).boat
    plate = boat.description.fixing.plate
    assert plate is not None
    plate = replace(plate, **changes)  # type: ignore[arg-type]
    fixing = replace(boat.description.fixing, plate=plate)
    description = replace(boat.description, fixing=fixing, cutting=Cutting(kerf=kerf))
    cutting = draw_cutting(replace(boat, description=description), plate, "x")
    for part in cutting.parts:
        assert area_of(part, pieces=16) > 1000
    for shape in rings(write_cut_dxf(cutting)):
        # Twice round, or crossed, the area would not be that of what is enclosed; a touch of 1e-12 may be.
        assert shape.buffer(0).area == pytest.approx(shape.area, rel=1e-9)
        assert shape.buffer(0).geom_type == "Polygon"
    files, wanted = files_and_part(cutting)
    assert prove_cutting(files, wanted)[1] == ()


def test_corners_beside_a_wide_bridge_are_rounded_as_far_as_there_is_room(configs: Path) -> None:
    # By hand: a bridge of 70 in a plate of 76 leaves 3 a side. Three plates 46 x 76 and two bridges 70 x 9, less
    # r² (1 - pi/4) at four corners of 5 and eight of 3, less slots and screw holes as above.
    boat = check(cli_files.read_source(configs / "whinchat-3.yaml")).boat
    assert boat.description.fixing.plate is not None
    plate = replace(boat.description.fixing.plate, corner_radius=5.0, bridge=70.0)
    strip = draw_cutting(boat, plate, "x").parts[0]
    corners = (4 * 5**2 + 8 * 3**2) * (1 - math.pi / 4)
    holes = 3 * (7.5 * 8.5 + math.pi * 4.25**2) + 12 * math.pi * 2.25**2
    assert area_of(strip) == pytest.approx(3 * 46 * 76 + 2 * 70 * 9 - corners - holes, rel=1e-5)


def test_a_kerf_wider_than_an_opening_is_refused(configs: Path) -> None:
    with pytest.raises(DrawingError, match=r"3 mm - nothing is left of a pin's hole of the guide plate, 3 mm.*S195"):
        job(configs / "whinchat-3.yaml", kerf=3.0)
    assert len(job(configs / "whinchat-3.yaml", kerf=2.9).parts) == 9


def test_sets_and_guide_are_the_builder_s_choice(configs: Path) -> None:
    path = configs / "whinchat-3.yaml"
    names = [part.name for part in job(path).parts]
    assert names[:2] == ["strip P", "strip S"]
    assert len(names) == 2 + 6 + 1
    assert [part.name for part in job(path, sets=1, guide=False).parts] == ["strip P", "strip S"]
    assert len(job(path, sets=3).parts) == 2 + 12 + 1


def test_small_metal_takes_several_sheets_and_too_small_metal_is_refused(configs: Path) -> None:
    path = configs / "whinchat-3.yaml"
    small = job(path, sheet=(210.0, 100.0))
    assert len(small.sheets) > 2
    assert len(job(path, sheet=(100.0, 210.0)).sheets) == len(small.sheets)
    with pytest.raises(DrawingError, match=r"90 x 90 mm - too small for a part of .*\[S194\]"):
        job(path, sheet=(90.0, 90.0))


def test_default_metal_grows_for_a_long_strip(configs: Path) -> None:
    boat = check(cli_files.read_source(configs / "whinchat-3.yaml")).boat
    settings = tuple(replace(boat.settings[0], number=n, station=1000.0 + 60 * n) for n in range(1, 13))
    plate = boat.description.fixing.plate
    assert plate is not None
    assert draw_cutting(replace(boat, settings=settings), plate, "x").sheets[0][2] == pytest.approx(11 * 60 + 60 + 10)


def files_and_part(cutting: CutJob) -> tuple[dict[str, bytes], dict[str, object]]:
    return {DXF: write_cut_dxf(cutting), SVG: write_cut_svg(cutting)}, cutting_dict(cutting, DXF, SVG)


@pytest.mark.parametrize("name", NAMES)
def test_proof_reads_both_files_back(name: str, configs: Path) -> None:
    files, part = files_and_part(job(configs / f"{name}.yaml", kerf=0.17))
    proof, findings = prove_cutting(files, part)
    assert findings == ()
    assert proof.worst.value < 2e-3


def test_another_program_may_write_the_file_anew(demo: CutJob) -> None:
    # ezdxf writes a later release, with light polylines.
    files, part = files_and_part(demo)
    later = ezdxf.new("R2000", units=ezdxf.units.MM)
    for entity in drawn(files[DXF]).modelspace().query("POLYLINE CIRCLE"):
        look = {"layer": entity.dxf.layer}
        if entity.dxftype() == "CIRCLE":
            later.modelspace().add_circle(entity.dxf.center, entity.dxf.radius, dxfattribs=look)
        else:
            corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in entity.vertices]
            corners = corners[2:] + corners[:2]  # it may begin elsewhere
            later.modelspace().add_lwpolyline(corners, format="xyb", close=True, dxfattribs=look)
    out = io.StringIO()
    later.write(out)
    assert prove_cutting({**files, DXF: out.getvalue().encode()}, part)[1] == ()


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (b" 40\r\n2.25\r\n", b" 40\r\n2.3\r\n", "Q141"),
        (b" 70\r\n4\r\n", b" 70\r\n1\r\n", "Q140"),  # the unit says inches
        (b" 66\r\n1\r\n 10\r\n0.0\r\n 20\r\n0.0\r\n 30\r\n0.0\r\n 70\r\n1\r\n",
         b" 66\r\n1\r\n 10\r\n0.0\r\n 20\r\n0.0\r\n 30\r\n0.0\r\n 70\r\n0\r\n", "Q142"),
        (b"  0\r\nLINE\r\n  8\r\nmark\r\n", b"  0\r\nLINE\r\n  8\r\ncut\r\n", "Q143"),
        (b"  0\r\nENDSEC\r\n  0\r\nEOF\r\n", b"  0\r\nEOF\r\n", "Q107"),
    ],
)  # fmt: skip
def test_proof_finds_what_was_spoilt_in_the_dxf(old: bytes, new: bytes, code: str, demo: CutJob) -> None:
    files, part = files_and_part(demo)
    assert old in files[DXF]
    findings = prove_cutting({**files, DXF: files[DXF].replace(old, new, 1)}, part)[1]
    assert code in {finding.code for finding in findings}


def test_proof_finds_a_doubled_outline_and_a_changed_svg(demo: CutJob) -> None:
    files, part = files_and_part(demo)
    twice = replace(demo, parts=(*demo.parts, demo.parts[0]))
    findings = prove_cutting({**files, DXF: write_cut_dxf(twice)}, part)[1]
    assert {finding.code for finding in findings} == {"Q143"}
    assert {f.code for f in prove_cutting({**files, SVG: files[SVG].replace(b'r="2.25"', b'r="2.2"')}, part)[1]} == {
        "Q141"
    }
    stretched = files[SVG].replace(b'mm" height', b'9mm" height', 1)
    assert {f.code for f in prove_cutting({**files, SVG: stretched}, part)[1]} == {"Q106"}
    assert {f.code for f in prove_cutting({DXF: files[DXF]}, part)[1]} == {"Q102"}


def test_make_writes_and_proves_them(tmp_path: Path, configs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", str(configs / "whinchat-3.yaml"), "--out", str(tmp_path)]) == 0
    folder = tmp_path / "whinchat-3"
    files = {path.name: path.read_bytes() for path in folder.iterdir()}
    manifest = json.loads(files["manifest.json"])
    assert prove(files, manifest).passed
    capsys.readouterr()
    assert main(["proof", str(folder)]) == 0
    assert "cut files" in capsys.readouterr().out
    (folder / DXF).write_bytes(files[DXF].replace(b" 40\r\n2.25\r\n", b" 40\r\n2.5\r\n", 1))
    assert main(["proof", str(folder)]) == 3
    assert "plates.dxf" in capsys.readouterr().out


def test_shims_are_cut_as_flat_blanks() -> None:
    # By hand: 120 x 60 with a hole of 8; the other with a slot 20 x 8 with round ends.
    flat = {"x0": -60.0, "x1": 60.0, "y0": -30.0, "y1": 30.0, "at_bolt": 1.75, "slope_x": 0.0075, "slope_y": 0.005}
    plans = (ShimPlan("port", "KP", hole=8.0, **flat), ShimPlan("starboard", "KS", hole=8.0, slot=(20.0, 8.0), **flat))
    cutting = draw_shim_cutting("Whinchat 3", plans, Cutting(sets=1), "0123abcd")
    port, starboard = (area_of(part) for part in cutting.parts)
    assert port == pytest.approx(120 * 60 - math.pi * 4**2, rel=1e-5)
    assert starboard == pytest.approx(120 * 60 - (12 * 8 + math.pi * 4**2), rel=1e-5)
    assert "port 2.35 mm" in " ".join(words.text for words in cutting.notes)  # 1.75 + 60 x 0.0075 + 30 x 0.005
    document = drawn(write_cut_dxf(cutting))
    assert (document.audit().errors, document.audit().fixes) == ([], [])
    files, part = files_and_part(cutting)
    assert prove_cutting(files, part)[1] == ()


def test_the_description_s_keys_and_their_faults(tmp_path: Path, configs: Path,
                                                 capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    path = tmp_path / "boat.yaml"
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    path.write_text(text + "cutting: {sheet: [20 in, 12 in], spacing: 4, sets: 1, kerf: 0.2, guide: false}\n")
    cutting = check(cli_files.read_source(path)).boat.description.cutting
    assert cutting == Cutting((508.0, 304.8), 4.0, 1, 0.2, guide=False)
    path.write_text(text + "cutting: {sheat: [500, 300], kerf: 4}\n")
    assert main(["make", str(path), "--out", str(tmp_path / "out")]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert '"sheet"' in lines[0] or "sheet" in lines[0]
    assert "boat.yaml:42:" in lines[1]
