"""Marks read back against the manifest: every hole, bar and registration mark of every page."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from templater.findings import Finding
from templater.plane.cells import Cells
from templater.plane.shapes import IDENTITY, Affine, Point
from templater.proof.expect import ExpectedHole, ExpectedPage, ExpectedRegistration, ExpectedSheet
from templater.proof.marks import PageMarks, fit_circle
from templater.proof.match import REACH, Finder
from templater.proof.report import LIMIT, Deviation, SheetProof

#: A circle of a diameter so far from the hole's is another circle, mm.
_OTHER_SIZE = 1.5
#: Side of a cell of the index of holes, mm: a page is a few cells wide.
_CELL = 50.0


@dataclass(slots=True)
class Tally:
    """What has been compared of one sheet so far; becomes a ``SheetProof``.

    ``seen`` holds each registration mark as found: tile, and the place in the sheet frame that its page gives it.
    """

    sheet: ExpectedSheet
    findings: list[Finding] = field(default_factory=list)
    worst: Deviation = field(default_factory=Deviation)
    pages: int = 0
    holes: int = 0
    screws: int = 0
    bars: int = 0
    registrations: int = 0
    svg_marks: int = 0
    sized: bool = True
    seen: dict[str, list[tuple[str, Point]]] = field(default_factory=dict)
    found: set[str] = field(default_factory=set)
    _holes: Cells[int] = field(default_factory=lambda: Cells(_CELL))
    _numbers: dict[str, int] = field(default_factory=dict)
    _registrations: dict[str, list[ExpectedRegistration]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Index holes by place and registration marks by tile, so that a page costs only what it shows."""
        for number, hole in enumerate(self.sheet.holes):
            self._holes.add(hole.at, number)
            self._numbers[hole.id] = number
        for mark in self.sheet.registrations:
            for tile in dict.fromkeys(mark.tiles):
                self._registrations.setdefault(tile, []).append(mark)

    def holes_of(self, page: ExpectedPage) -> list[ExpectedHole]:
        """Return the holes in a page's window and those that the manifest lists for it, in the sheet's order."""
        numbers = {*self._holes.within(page.window), *(self._numbers[ident] for ident in page.holes)}
        return [self.sheet.holes[number] for number in sorted(numbers)]

    def registrations_of(self, page: ExpectedPage) -> list[ExpectedRegistration]:
        """Return the registration marks that a page's tile shows, in the sheet's order."""
        return self._registrations.get(page.tile, [])

    def fault(self, code: str, where: str, text: str) -> None:
        """Note an error."""
        self.findings.append(Finding(code, where, text))

    def measure(self, value: float, what: str, where: str) -> bool:
        """Note a deviation; return True if it is within the limit."""
        if value > self.worst.value:
            self.worst = Deviation(value, what, where)
        return value <= LIMIT

    def result(self) -> SheetProof:
        """Return the sheet's proof."""
        return SheetProof(
            self.sheet.name,
            self.worst,
            self.pages,
            self.holes,
            self.screws,
            self.bars,
            self.registrations,
            self.svg_marks,
            self.sized,
        )


def compare_page(tally: Tally, page: ExpectedPage, marks: PageMarks, *, sized: bool = True) -> None:
    """Compare one page.

    Args:
        tally: of the page's sheet; gets deviations and findings.
        page: what must be shown.
        marks: what is shown, on the page as it was laid out.
        sized: also compare the page's size.
    """
    where = place_of(page)
    finder = Finder(marks)
    tally.pages += 1
    if sized:
        off = max(abs(marks.size[0] - page.paper[0]), abs(marks.size[1] - page.paper[1]))
        if not tally.measure(off, "page size", where):
            shown, wanted = (f"{w:.2f} x {h:.2f} mm" for w, h in (marks.size, page.paper))
            tally.fault("Q113", where, f"the page is {shown}, expected {wanted}")
    listed = set(page.holes)
    for hole in tally.holes_of(page):
        if page.shows_whole(hole):
            _hole(tally, hole, finder, page.to_page, where)
            tally.found.add(hole.id)
        elif hole.id in listed:
            _cut_hole(tally, hole, finder, page.to_page, where)
            tally.found.add(hole.id)
    _registrations(tally, page, finder, where)
    _bars(tally, page, finder, where)


def compare_whole(tally: Tally, marks: PageMarks, where: str) -> None:
    """Compare a whole sheet, drawn in the sheet frame."""
    finder = Finder(marks)
    before = tally.holes, tally.screws
    for hole in tally.sheet.holes:
        _hole(tally, hole, finder, IDENTITY, where)
        tally.svg_marks += 1
    tally.holes, tally.screws = before


def finish(tally: Tally) -> None:
    """Compare what needs all pages: holes on none of them, and registration marks where tiles meet."""
    complete = tally.pages == len(tally.sheet.pages)  # else the missing page has been named already
    for hole in tally.sheet.holes:
        if complete and hole.id not in tally.found:
            tally.fault("Q120", tally.sheet.name, f"hole {hole.id} is on none of the pages")
    for ident, seen in tally.seen.items():
        for index, (tile, place) in enumerate(seen):
            for other, elsewhere in seen[index + 1 :]:
                off = math.dist(place, elsewhere)
                what = f"registration mark {ident} between tiles {tile} and {other}"
                if not tally.measure(off, what, tally.sheet.name):
                    text = f"put together at {ident}, tiles {tile} and {other} miss one another by {off:.3f} mm"
                    tally.fault("Q126", tally.sheet.name, text)


def place_of(page: ExpectedPage) -> str:
    """Return the page for people: file, page and tile."""
    return f"{page.file} page {page.page} ({page.tile})"


def _hole(tally: Tally, hole: ExpectedHole, finder: Finder, to_page: Affine, where: str) -> None:
    """Compare a hole's cross and its circle or square, which lie wholly on the page."""
    name = ("screw " if hole.screw else "hole ") + hole.id
    tally.screws += hole.screw
    tally.holes += not hole.screw
    at = to_page.apply(hole.at)
    cross = finder.cross(at)
    if cross is None:
        tally.fault("Q120", where, f"{name} has no cross within {REACH:g} mm of its place")
    elif not tally.measure(cross[1], f"cross of {name}", where):
        tally.fault("Q121", where, f"the cross of {name} is off by {cross[1]:.3f} mm{_way(at, cross[0])}")
    shape = "square" if hole.square else "circle"
    outline = _square(finder, hole, to_page) if hole.square else _circle(finder, hole, to_page)
    if outline is None:
        tally.fault("Q120", where, f"{name} has no {shape} of {hole.diameter:g} mm within {REACH:g} mm of its place")
        return
    centre, size, uneven = outline
    off = math.dist(centre, hole.at)
    if not tally.measure(off, f"{shape} of {name}", where):
        tally.fault("Q121", where, f"the {shape} of {name} is off by {off:.3f} mm{_way(at, to_page.apply(centre))}")
    if not tally.measure(max(abs(size - hole.diameter), uneven), f"size of {name}", where):
        text = f"the {shape} of {name} measures {size:.3f} mm, expected {hole.diameter:g}"
        tally.fault("Q122", where, text + (f", and is out of true by {uneven:.3f} mm" if uneven > LIMIT else ""))


def _way(at: Point, found: Point) -> str:
    """Return which way a mark is off on the page."""
    return f" ({found[0] - at[0]:+.3f} across, {found[1] - at[1]:+.3f} along)"


_Outline = tuple[Point, float, float]


def _nearest(outlines: Iterable[_Outline], hole: ExpectedHole) -> _Outline | None:
    """Return the outline nearest in place and size, one of quite another size excepted."""
    fitting = [one for one in outlines if abs(one[1] - hole.diameter) < _OTHER_SIZE]
    return min(fitting, key=lambda one: math.dist(one[0], hole.at) + abs(one[1] - hole.diameter), default=None)


def _circle(finder: Finder, hole: ExpectedHole, to_page: Affine) -> _Outline | None:
    """Return the hole's circle in the sheet frame, where a printer's correction is undone: centre, diameter, shape."""
    back = to_page.inverse()
    bends = finder.closed_bends(to_page.apply(hole.at))
    return _nearest((fit_circle(tuple(back.apply(p) for p in bend.points)) for bend in bends), hole)


def _square(finder: Finder, hole: ExpectedHole, to_page: Affine) -> _Outline | None:
    """Return the hole's square in the sheet frame: centre, side, departure of its corners."""
    back = to_page.inverse()
    outlines = []
    for square in finder.squares(to_page.apply(hole.at)):
        corners = tuple(back.apply(p) for p in square.points)
        centre, diagonal, uneven = fit_circle(corners)
        sides = [math.dist(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)]
        outlines.append((centre, diagonal / math.sqrt(2), max(uneven, max(sides) - min(sides))))
    return _nearest(outlines, hole)


def _cut_hole(tally: Tally, hole: ExpectedHole, finder: Finder, to_page: Affine, where: str) -> None:
    """Compare a hole whose mark the window's edge may cut: where the arms cross, and every piece of the circle."""
    name = ("screw " if hole.screw else "hole ") + hole.id
    tally.screws += hole.screw
    tally.holes += not hole.screw
    at = to_page.apply(hole.at)
    cross = finder.cross(at) or finder.cut_cross(at)
    if cross is not None and cross[1] > LIMIT:
        cut = finder.cut_cross(at)
        cross = cut if cut is not None and cut[1] < cross[1] else cross
    if cross is None:
        tally.fault("Q120", where, f"{name} has no cross within {REACH:g} mm of its place")
    elif not tally.measure(cross[1], f"cross of {name}", where):
        tally.fault("Q121", where, f"the cross of {name} is off by {cross[1]:.3f} mm{_way(at, cross[0])}")
    if hole.square:
        return
    back = to_page.inverse()
    radius = hole.diameter / 2
    near = [
        off
        for bend in finder.marks.bends
        if math.dist(bend.points[0], at) <= radius + REACH
        and (off := max(abs(math.dist(back.apply(p), hole.at) - radius) for p in bend.points)) < REACH / 2
    ]
    if not near:
        tally.fault("Q120", where, f"{name} has no circle of {hole.diameter:g} mm within {REACH:g} mm of its place")
    elif not tally.measure(min(near), f"circle of {name}", where):
        tally.fault("Q121", where, f"the circle of {name} is off by {min(near):.3f} mm")


def _registrations(tally: Tally, page: ExpectedPage, finder: Finder, where: str) -> None:
    """Compare the registration marks of a page, cross and circle, and remember where it puts them on the sheet."""
    back = page.to_page.inverse()
    for mark in tally.registrations_of(page):
        tally.registrations += 1
        what = f"registration mark {mark.id}"
        at = page.to_page.apply(mark.at)
        cross = finder.cross(at)
        circle = next((bend.middle for bend in finder.closed_bends(at)), None)
        if cross is None or circle is None:
            lacks = "cross" if cross is None else "circle"
            tally.fault("Q124", where, f"{what} has no {lacks} within {REACH:g} mm of its place")
            continue
        off = max(cross[1], math.dist(circle, at))
        if not tally.measure(off, what, where):
            tally.fault("Q125", where, f"{what} is off by {off:.3f} mm{_way(at, cross[0])}")
        tally.seen.setdefault(mark.id, []).append((page.tile, back.apply(cross[0])))


def _bars(tally: Tally, page: ExpectedPage, finder: Finder, where: str) -> None:
    """Compare the ends of the calibration bars, and their length with the printer's correction undone."""
    back = page.correction.inverse()
    for bar in page.bars:
        tally.bars += 1
        what = f"bar {bar.id}"
        stroke = finder.stroke(*page.bar_ends(bar))
        if stroke is None:
            tally.fault("Q123", where, f"{what} of {bar.length:g} mm is missing")
            continue
        found, off = stroke
        length = math.dist(back.apply(found.a), back.apply(found.b))
        if not tally.measure(max(off, abs(length - bar.length)), what, where):
            text = f"{what} measures {length:.3f} mm, expected {bar.length:g}; its worse end is off by {off:.3f} mm"
            tally.fault("Q123", where, text)
