"""The SVG reader, and the proof of whole sheets. Path data, transforms and arcs: W3C SVG 1.1, chapters 7 and 8."""

import io
import math

import pytest
from proof_pages import HOLES, manifest, pdf

from templater.findings import ProofError
from templater.proof.marks import CURVE, LINE, Mark, fit_circle
from templater.proof.prove import prove
from templater.proof.read_pdf import PageMarks
from templater.proof.read_pictures import read_svg
from templater.proof.report import ProofReport

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 -50 100 50">'


def read(data: bytes) -> PageMarks:
    unread: dict[str, None] = {}
    return PageMarks((0.0, 0.0), tuple(read_svg(io.BytesIO(data), "floor.svg", unread)), unread=tuple(unread))


def marks(body: str, head: str = HEAD) -> PageMarks:
    return read(f'{head}<g stroke="black" fill="none">{body}</g></svg>'.encode())


def lines(found: PageMarks, kind: str = LINE) -> list[Mark]:
    return [mark for mark in found.marks if mark.kind == kind]


def ends(found: PageMarks, number: int = 0) -> tuple[float, ...]:
    return tuple(round(value, 6) + 0.0 for point in lines(found)[number].points for value in point)


def test_lines_are_in_mm_with_y_up() -> None:
    assert ends(marks('<line x1="1" y1="-2" x2="11" y2="-3"/>')) == (1, 2, 11, 3)


@pytest.mark.parametrize(
    ("size", "factor"), [("100mm", 1.0), ("10cm", 1.0), ("4in", 1.016), ("384px", 1.016), ("288pt", 1.016)]
)
def test_sizes_in_any_unit_against_the_view_box(size: str, factor: float) -> None:
    # 4 in = 384 px of 96 in an inch = 288 pt = 101.6 mm: CSS Values and Units Level 3, section 6.2.
    found = marks('<line x1="0" y1="0" x2="100" y2="0"/>', HEAD.replace("100mm", size))
    assert ends(found) == pytest.approx((0, 0, 100 * factor, 0))


@pytest.mark.parametrize(
    ("transform", "expected"),
    [
        ("translate(10 -5)", (10, 5, 20, 5)),
        ("translate(10)", (10, 0, 20, 0)),
        ("scale(2)", (0, 0, 20, 0)),
        ("rotate(90)", (0, 0, 0, -10)),
        ("rotate(90 10 0)", (10, 10, 10, 0)),
        ("translate(10,0) rotate(-90)", (10, 0, 10, 10)),
        ("matrix(0 1 -1 0 5 0)", (5, 0, 5, -10)),
        ("skewY(45)", (0, 0, 10, -10)),
    ],
)
def test_transforms(transform: str, expected: tuple[float, ...]) -> None:
    assert ends(marks(f'<g transform="{transform}"><line x1="0" y1="0" x2="10" y2="0"/></g>')) == expected
    assert ends(marks(f'<g style="transform: {transform}"><line x1="0" y1="0" x2="10" y2="0"/></g>')) == expected


def test_paths_absolute_relative_and_repeated() -> None:
    found = marks('<path d="M0,0 L10,0 M0-5h10 m0-5 h-10M0 0v-4"/>')
    assert [ends(found, n) for n in range(4)] == [(0, 0, 10, 0), (0, 5, 10, 5), (10, 10, 0, 10), (0, 0, 0, 4)]
    square = marks('<path d="M0 0 10 0 10-10 0-10Z"/>')
    assert [ends(square, n) for n in range(4)] == [(0, 0, 10, 0), (10, 0, 10, 10), (10, 10, 0, 10), (0, 10, 0, 0)]


@pytest.mark.parametrize("shape", [
    '<circle cx="20" cy="-30" r="9"/>',
    '<path d="M29-30 A9 9 0 0 0 11-30 A9 9 0 0 0 29-30 Z"/>',
    '<path d="M29-30 a9,9 0 0 1 -18 0 9 9 0 0 1 18 0z"/>',
])  # fmt: skip
def test_circles_and_arcs(shape: str) -> None:
    (bend,) = lines(marks(shape), CURVE)
    centre, diameter, uneven = fit_circle(bend.points)
    assert (*centre, diameter, uneven) == pytest.approx((20, 30, 18, 0), abs=1e-9)
    assert bend.closed


@pytest.mark.parametrize(("large", "sweep"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_the_four_arcs_between_two_points(large: int, sweep: int) -> None:
    # Quarter and three-quarter circles of radius 10 from (10, 0) to (0, 10), centre (0, 0) or (10, 10), y down.
    bend = marks(f'<path d="M10 0 A10 10 0 {large} {sweep} 0 10"/>').marks[0]
    centre = (0.0, 0.0) if large != sweep else (10.0, -10.0)
    assert fit_circle(bend.points)[0] == pytest.approx(centre, abs=1e-9)
    length = sum(math.dist(a, b) for a, b in zip(bend.points, bend.points[1:], strict=False))
    assert (length > 20) == bool(large)


@pytest.mark.parametrize("way", ["M10,-20 C10,-30 40,-50 50,-20", "M10,-20 c0,-10 30,-30 40,0"])
def test_a_bezier_piece_is_known_by_its_middle_and_end(way: str) -> None:
    # By the Bernstein weights 1 3 3 1 over 8: (10 + 30 + 120 + 50) / 8 across, (20 + 90 + 150 + 20) / 8 up.
    (bend,) = lines(marks(f'<path d="{way}"/>'), CURVE)
    assert [*map(pytest.approx, bend.points)] == [(10, 20), (26.25, 35), (50, 20)]


def test_a_picture_is_read_alike_in_pieces_of_any_length(monkeypatch: pytest.MonkeyPatch) -> None:
    body = '<text font-size="4" x="3">forward</text><circle cx="20" cy="-30" r="9"/><path d="M0 0 H9 V4"/>'
    whole = marks(body)
    monkeypatch.setattr("templater.proof.read_pictures._AT_A_TIME", 3)
    assert marks(body) == whole
    assert len(whole.marks) == 4


def test_what_is_hidden_or_without_stroke_is_no_mark() -> None:
    found = marks('<defs><circle r="3"/></defs><rect width="9" height="9" stroke="none"/><g display="none"><line/></g>')
    assert (found.marks, found.unread) == ((), ())


@pytest.mark.parametrize(
    ("body", "ink"),
    [
        ('<line x2="9" style="display:none"/>', None), ('<line x2="9" style="stroke:white"/>', "white"),
        ('<line x2="9" stroke="#ffffff"/>', "white"), ('<line x2="9" visibility="hidden"/>', None),
        ('<line x2="101"/>', "clipped"),
        ('<line x2="9" style="stroke: none"/>', None), ('<line x2="9" stroke="#000"/>', ""),
    ],
)  # fmt: skip
def test_what_is_hidden_by_style_or_colour_is_told(body: str, ink: str | None) -> None:
    assert [mark.ink for mark in marks(body).marks] == ([] if ink is None else [ink])


@pytest.mark.parametrize(
    "body",
    ['<line x2="9" class="a"/>', "<style>line {display: none}</style>", '<svg viewBox="0 0 9 9"><line x2="9"/></svg>',
     '<line x2="9" clip-path="url(#a)"/>', '<line x2="9" opacity="0"/>', "<use/>", "<image/>",
     '<line x2="9" mask="m"/>',
     '<text font-size="4">a<tspan>b</tspan></text>', '<text font-size="4" textLength="90">ab</text>',
     '<text font-size="4" letter-spacing="1">ab</text>', '<line x2="9" style="transform-origin: 5px 5px"/>'],
)  # fmt: skip
def test_what_may_change_a_mark_and_is_not_understood_is_named(body: str) -> None:
    assert any("is not understood" in text or "cannot be told" in text for text in marks(body).unread)


def test_texts_are_read_letter_by_letter_with_their_turn() -> None:
    # Turned by -90 degrees about its place the text runs up the sheet; y is turned over.
    look = 'x="10" y="-20" font-size="4" fill="black" stroke="none"'
    found = marks(f'<text {look} transform="rotate(-90 10 -20)">A A</text>')
    (words,) = found.marks
    assert words.kind == "letter AA"
    first, second = words.letters()
    assert (first.kind, first.ink, second.kind) == ("letter A", "", "letter A")
    assert first.points[0] == pytest.approx((10, 20))
    assert second.points[0][0] == pytest.approx(10)
    assert second.points[0][1] > 22
    assert first.look == pytest.approx((0, 4, -4, 0, 0))


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b'<!DOCTYPE svg [<!ENTITY a "b">]><svg/>', "refused"),
        (b"<svg", "cannot be read as SVG"),
        (b"<html/>", "no svg element"),
        (HEAD.replace("2000/", "").encode() + b"</svg>", "no svg element"),  # no viewer knows it
        (f'{HEAD}<path stroke="black" d="M0 0 A5 5 0 0 1.5 5 5"/></svg>'.encode(), "not read here"),
        (b'<svg width="100%" height="5mm" viewBox="0 0 1 1"/>', "no width and height"),
        (b'<svg width="1mm" height="5mm" viewBox="0 0 0 1"/>', "cannot be read as SVG"),
        (f'{HEAD}<path stroke="black" d="M0 0 L5"/></svg>'.encode(), "middle of a command"),
        (f'{HEAD}<path stroke="black" d="M0 0 Q5 5 5 5"/></svg>'.encode(), "not read here"),
        (f'{HEAD}<g style="transform: translateX(5px)"/></svg>'.encode(), "not read here"),
        (f'{HEAD}<g transform="translate(1cm)"/></svg>'.encode(), "not read here"),
        (f'<?xml version="1.0" encoding="utf-16"?><!DOCTYPE svg>{HEAD}</svg>'.encode("utf-16"), "refused"),
    ],
)
def test_what_cannot_be_read_is_told(data: bytes, word: str) -> None:
    with pytest.raises(ProofError, match=rf"floor.svg: .*{word}.*Q106"):
        read(data)


def test_marks_that_stand_nowhere_are_told_in_words() -> None:
    for how in ("height='1e999mm'", "height='9mm' transform='scale(999999)" + " scale(999999)" * 60 + "'"):
        head = f"<svg xmlns='http://www.w3.org/2000/svg' width='9mm' viewBox='0 0 9 9' {how}>"
        files = {"floor.pdf": pdf(), "floor.svg": f"{head}<circle r='2' stroke='black'/></svg>".encode()}
        whole = manifest()
        whole["sheets"][0] |= {"svg": "floor.svg", "marks": [line for hole in HOLES for line in recorded(*hole)]}
        assert "Q106" in [finding.code for finding in prove(files, whole).findings]


def sheet_proof(move: dict[str, float], scale: float = 1.0) -> ProofReport:
    body = ""
    for ident, x, y, d, kind in HOLES:
        u = x + move.get(ident, 0.0)
        r, arm = d / 2, d / 2 + 4
        body += f'<path d="M{u - arm} {-y} H{u + arm} M{u} {-y - arm} V{-y + arm}"/>'
        square = f'<rect x="{u - r}" y="{-y - r}" width="{d}" height="{d}"/>'
        body += square if kind == "second screw" else f'<circle cx="{u}" cy="{-y}" r="{r}"/>'
    whole = manifest()
    whole["sheets"][0] |= {"svg": "floor.svg", "marks": [line for hole in HOLES for line in recorded(*hole)]}
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{400 * scale}mm" height="{300 * scale}mm" '
    svg = f'{head} viewBox="0 -300 400 300" stroke="black" fill="none" stroke-width="0.25">{body}</svg>'
    return prove({"floor.pdf": pdf(), "floor.svg": svg.encode()}, whole)


def recorded(ident: str, x: float, y: float, d: float, kind: str) -> list[list[object]]:
    """Return what the manifest says of a hole, by hand from its place and diameter."""
    r, arm = d / 2, d / 2 + 4
    rows: list[tuple[str, list[float]]] = [("line", [0, x - arm, y, x + arm, y]), ("line", [0, x, y - arm, x, y + arm])]
    square = [0, x - r, y - r, x + r, y - r, x + r, y + r, x - r, y + r]
    rows.append(("outline", square) if kind == "second screw" else ("circle", [x, y, d]))
    return [[shape, "01.1", numbers, "holes", ident] for shape, numbers in rows]


def test_a_whole_sheet_passes_and_is_counted() -> None:
    report = sheet_proof({})
    assert report.findings == ()
    assert report.sheets[0].svg_marks == 6 * 3 + 6


@pytest.mark.parametrize("hole", [hole[0] for hole in HOLES])
def test_a_hole_moved_on_the_whole_sheet_is_named(hole: str) -> None:
    report = sheet_proof({hole: 0.05})
    assert {finding.key for finding in report.findings} == {"floor.svg"}
    assert all(f"{hole} is off by 0.050 mm" in finding.text for finding in report.findings)


def test_a_sheet_of_another_size_fails() -> None:
    assert not sheet_proof({}, scale=1.001).passed
