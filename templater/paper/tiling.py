"""A drawing put on paper: which way up, where the seams are, and what each page shows."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import overload

from templater.description.keys import Orientation
from templater.drawing.marks import WORDS, Circle, Cross, Drawing, Mark, Text, mark_box, text_box
from templater.findings import DrawingError, Finding
from templater.paper.clip import clip
from templater.paper.correction import check_correction, correct, matrix, shift, turned
from templater.paper.furniture import PageWords, calibration_bars, furniture
from templater.paper.grid import Grid, Place, needed, place_name
from templater.paper.moved_texts import whole_texts
from templater.paper.page_layout import FOOT, LEAST_HEIGHT, LEAST_WIDTH, SIDE, Page, check_page, make_page, page_sides
from templater.paper.registration import Joints, joints
from templater.paper.seams import Axis, Bands, Cost, place_seams
from templater.paper.tiles import Bar, Correction, CutMark, Paper, Tile, TiledSheet, TitleData
from templater.plane.shapes import Affine, Box
from templater.units import mm_text

#: Left free round the content, mm, so that no line lies on the edge of a window.
_ROUND = 1.0
#: Words keep so far from a seam, mm.
_FROM_SEAM = 1.0
#: Least overlap, mm: a registration mark must fit into the third of it that is cut off.
LEAST_OVERLAP = 9.0
_NO_CORRECTION = Correction()
_UNJOINED = Joints((), (), {}, {})


@dataclass(frozen=True, slots=True)
class _Plan:
    """One way of putting the sheet on paper."""

    sideways: bool
    correction: Correction
    page: Page
    grid: Grid
    kept: tuple[Place, ...]
    cost: Cost
    cut: int
    split: int

    @property
    def rank(self) -> tuple[int, int, int, int, float, float, bool]:
        """Fewest tiles, things cut, blocks of words split, texts split, paper used, clearance; upright if all the same.

        A thing counts as cut wherever it lies in a seam's band.
        """
        paper = len(self.kept) * self.page.width * self.page.height
        texts = self.cost[1] + self.cost[2]
        return (len(self.kept), self.cut, self.split, texts, round(paper, 3), self.cost[3], self.sideways)


def tile(
    drawing: Drawing,
    paper: Paper,
    *,
    margin: float,
    overlap: float,
    orientation: Orientation,
    correction: Correction = _NO_CORRECTION,
    title: TitleData,
    drawn: bool = True,
) -> TiledSheet:
    """Return a sheet as pages.

    Args:
        drawing: the sheet; its box decides what the tiles cover.
        paper: what lies in the printer.
        margin: that the printer leaves blank all round, mm.
        overlap: of neighbouring tiles, mm; a third of it is cut off, the rest is the tab.
        orientation: of the paper; the sheet itself is never turned.
        correction: of the printer.
        title: title data for every page.
        drawn: False where only seams, tiles and what is cut matter: the pages then bear neither the sheet's marks nor
            registration marks.

    Raises:
        DrawingError: S103, the paper is too small; S104, the overlap is too small; S110, the correction is too large.
    """
    check_correction(correction)
    if overlap < LEAST_OVERLAP:
        least = mm_text(LEAST_OVERLAP)
        text = f"{mm_text(overlap)} mm: too little for registration marks - allowed is {least} mm or more"
        raise DrawingError(Finding("S104", "print.overlap", text))
    plan = _plan(drawing, paper, margin, overlap, orientation, correction)
    grid, kept, correction = plan.grid, plan.kept, plan.correction
    windows = {place: grid.window(place) for place in kept}
    joining, shown = _UNJOINED, dict[Place, list[Mark]]()
    if drawn:
        marks = whole_texts(drawing, grid, {place: _readable(grid, place) for place in kept})
        joining = joints(grid, kept, drawing, marks)
        shown = _shown(marks, joining, grid, windows)
    holes: dict[Place, list[str]] = {place: [] for place in kept}
    for hole in drawing.holes:
        holes.setdefault(grid.holder(*hole.at), []).append(hole.id)
    blank = tuple(place_name(place) for place in grid.places() if place not in windows)
    words = PageWords(drawing, title, correction, grid.shape, kept)
    tiles = tuple(
        _tile(_PageMarks(number, place, plan, shown.get(place, []), words), joining, windows, tuple(holes[place]))
        for number, place in enumerate(kept, 1)
    )
    return TiledSheet(
        drawing, paper, plan.sideways, margin, overlap, correction, grid.shape, grid.columns, grid.rows,
        tiles, blank, joining.registrations, tuple(_cut(drawing, grid)), joining.straight_edges(windows.values()),
    )  # fmt: skip


def _plan(
    drawing: Drawing, paper: Paper, margin: float, overlap: float, orientation: Orientation, correction: Correction
) -> _Plan:
    """Return the best way of putting the sheet on paper, of those that the orientation allows."""
    ways = {Orientation.UPRIGHT: (False,), Orientation.SIDEWAYS: (True,), Orientation.EITHER: (False, True)}
    plans: list[_Plan] = []
    refused: DrawingError | None = None
    holes = list(hole_boxes(drawing).values())
    texts = [text_box(mark) for mark in drawing.marks if isinstance(mark, Text)]
    for sideways in ways[orientation]:
        lying = turned(correction) if sideways else correction
        page = make_page(*page_sides(paper, sideways=sideways), margin, lying)
        refusal = check_page(page, paper, margin)
        if refusal:
            refused = refusal
            continue
        # Where words may be split, other marks are cut less; where they may not, more tiles may be left out as blank.
        for split in (True, False):
            whole = [*holes, *_areas(drawing, words=not split)]
            plans.append(_one_way(drawing, paper, page, margin, overlap, lying, whole, texts, sideways=sideways))
            if plans[-1].grid.shape == (1, 1):
                break  # no seam, nothing is split
    if not plans:
        assert refused is not None
        raise refused
    return min(plans, key=lambda plan: plan.rank)


def _one_way(
    drawing: Drawing,
    paper: Paper,
    page: Page,
    margin: float,
    overlap: float,
    correction: Correction,
    whole: list[Box],
    texts: list[Box],
    *,
    sideways: bool,
) -> _Plan:
    """Return the best seams for one page: ``whole`` is not to be cut, ``texts`` are to be whole on some page."""
    bleed, tab = overlap / 3, overlap * 2 / 3
    u0, v0, u1, v1 = drawing.box
    box = (u0 - _ROUND, v0 - _ROUND, u1 + _ROUND, v1 + _ROUND)
    area = page.area
    across = Axis(box[0], box[2], area[2] - area[0], bleed, tab)
    down = Axis(-box[3], -box[1], area[3] - area[1], bleed, tab)
    columns, cost_u = place_seams(across, Bands(across, ((b[0], b[2]) for b in whole), ((b[0], b[2]) for b in texts)))
    rows, cost_v = place_seams(down, Bands(down, ((-b[3], -b[1]) for b in whole), ((-b[3], -b[1]) for b in texts)))
    grid = Grid(box, columns, tuple(-v for v in rows), bleed, tab)
    cost = (cost_u[0] + cost_v[0], cost_u[1] + cost_v[1], cost_u[2] + cost_v[2], cost_u[3] + cost_v[3])
    kept = needed(grid, drawing.marks)
    if paper.height is None:
        page = _cut_from_roll(grid, kept, paper.width, margin, correction, sideways=sideways)
    things = [*_areas(drawing, words=False), *hole_boxes(drawing).values()]
    words = [box for name, box in zip(drawing.keep_names, drawing.keep_whole, strict=False) if name == WORDS]
    return _Plan(sideways, correction, page, grid, kept, cost, _banded(things, grid), _banded(words, grid))


def _banded(boxes: Sequence[Box], grid: Grid) -> int:
    """Return how often a box lies in a seam's band."""
    across = _in_bands(grid.columns, [(box[0], box[2]) for box in boxes], grid)
    return len(across) + len(_in_bands([-v for v in grid.rows], [(-box[3], -box[1]) for box in boxes], grid))


def _areas(drawing: Drawing, *, words: bool) -> list[Box]:
    """Return the areas to be kept whole, with or without those of words."""
    names = drawing.keep_names or ("",) * len(drawing.keep_whole)
    return [box for name, box in zip(names, drawing.keep_whole, strict=True) if words or name != WORDS]


def _cut_from_roll(
    grid: Grid, kept: tuple[Place, ...], width: float, margin: float, correction: Correction, *, sideways: bool
) -> Page:
    """Return the page as long as its longest window needs."""
    windows = [grid.window(place) for place in kept]
    long = max(w[2] - w[0] + SIDE if sideways else w[3] - w[1] + FOOT for w in windows)
    long = max(long, LEAST_WIDTH if sideways else LEAST_HEIGHT)
    scale = correction.across if sideways else correction.along
    side = long * max(1.0, scale) + 2 * margin + (2 * abs(correction.skew) * width if sideways else 0.0)
    return make_page(*((side, width) if sideways else (width, side)), margin, correction)


def hole_boxes(drawing: Drawing) -> dict[str, Box]:
    """Return for each hole the box of its circle, crosshair and whatever else bears its id."""
    boxes: dict[str, Box] = {}
    for hole in drawing.holes:
        (u, v), r = hole.at, hole.diameter / 2
        boxes[hole.id] = (u - r, v - r, u + r, v + r)
    for mark in drawing.marks:
        if isinstance(mark, Circle | Cross) and mark.id in boxes:
            a, b = boxes[mark.id], mark_box(mark)
            boxes[mark.id] = (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))
    return boxes


def _cut(drawing: Drawing, grid: Grid) -> Iterator[CutMark]:
    """Yield what lies in a seam's band all the same: holes by id, plates, windows and the like by their names."""
    holes = hole_boxes(drawing)
    areas = [*holes.items()]
    named = zip(drawing.keep_names, drawing.keep_whole, strict=False)
    areas += [(name, box) for name, box in named if name and name != WORDS]
    across = [(box[0], box[2]) for _, box in areas]
    down = [(-box[3], -box[1]) for _, box in areas]
    for name, seams, extents in (("column", grid.columns, across), ("row", [-v for v in grid.rows], down)):
        for seam, area in _in_bands(seams, extents, grid):
            yield CutMark(areas[area][0], f"{name} seam {seam + 1}")


def _in_bands(seams: Sequence[float], extents: Sequence[tuple[float, float]], grid: Grid) -> list[tuple[int, int]]:
    """Return the numbers of each seam and of each extent that lies in its band, both from 0, seam by seam."""
    return sorted(
        (seam, number)
        for number, (low, high) in enumerate(extents)
        for seam in range(bisect_right(seams, low - grid.tab), bisect_left(seams, high + grid.bleed))
    )


def _readable(grid: Grid, place: Place) -> Box:
    """Return where words can be read once the tiles are taped: a tile's own part, clear of its seams' lines."""
    (u0, v0, u1, v1), (rows, columns) = grid.own(place), grid.shape
    row, column = place
    return (
        u0 + _FROM_SEAM if column else u0,
        v0 + _FROM_SEAM if row < rows - 1 else v0,
        u1 - _FROM_SEAM if column < columns - 1 else u1,
        v1 - _FROM_SEAM if row else v1,
    )


def _shown(marks: tuple[Mark, ...], joining: Joints, grid: Grid, windows: dict[Place, Box]) -> dict[Place, list[Mark]]:
    """Return what each window shows, in the sheet frame. Cost is linear in marks and in what they touch."""
    shown: dict[Place, list[Mark]] = {place: [] for place in windows}
    for mark in marks:
        for place in grid.showing(mark_box(mark)):
            if place in windows:
                shown[place].extend(clip(mark, windows[place]))
    registered = {registration.id: set(registration.tiles) for registration in joining.registrations}
    for mark in joining.common:
        tiles = registered.get(mark.id) if isinstance(mark, Circle | Cross) else None
        for place in grid.showing(mark_box(mark)):
            if place in windows and (tiles is None or place_name(place) in tiles):
                shown[place].extend(clip(mark, windows[place]))
    for place, own in joining.own.items():
        shown[place].extend(own)
    return shown


class _PageMarks(Sequence[Mark]):
    """A page's marks, made anew each time they are gone through: thousands of pages would fill the memory.

    The window's marks are shifted to the middle of the page's area, title data stand round them, all is corrected.
    """

    def __init__(self, number: int, place: Place, plan: _Plan, shown: list[Mark], words: PageWords) -> None:
        """Take what the window shows, in the sheet frame."""
        self.number, self.place, self.plan, self.words = number, place, plan, words
        self._shown = shown

    @property
    def placement(self) -> Affine:
        """Sheet frame to page mm, correction left out."""
        window, area = self.plan.grid.window(self.place), self.plan.page.area
        e = (area[0] + area[2] - window[0] - window[2]) / 2
        f = (area[1] + area[3] - window[1] - window[3]) / 2
        return Affine(1.0, 0.0, 0.0, 1.0, e, f)

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The calibration bars, correction left out."""
        return calibration_bars(self.plan.page)

    @property
    def correcting(self) -> Affine | None:
        """The printer's correction of this page, if there is one."""
        page, correction = self.plan.page, self.words.correction
        return None if correction.is_none else matrix(correction, (page.width, page.height))

    def __iter__(self) -> Iterator[Mark]:
        e, f = self.placement[4:]
        around = furniture(self.plan.page, self.place, self.number, self.words)
        marks = chain((shift(mark, e, f) for mark in self._shown), around)
        correcting = self.correcting
        return iter(marks) if correcting is None else correct(marks, correcting)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    @overload
    def __getitem__(self, index: int) -> Mark: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Mark, ...]: ...
    def __getitem__(self, index: int | slice) -> Mark | tuple[Mark, ...]:
        return tuple(self)[index]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _PageMarks) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash((self.number, self.place))


def _tile(marks: _PageMarks, joining: Joints, windows: dict[Place, Box], holes: tuple[str, ...]) -> Tile:
    """Return one page."""
    page, place = marks.plan.page, marks.place
    placement, correcting = marks.placement, marks.correcting
    name = place_name(place)
    beside = [near for near in marks.plan.grid.beside(place) if near in windows]
    row, column = place
    edges = {(row, column - 1): "trim left", (row - 1, column): "trim top", (row, column + 1): "tab right"}
    return Tile(
        name=name, row=row, column=column, page=marks.number, paper=(page.width, page.height), window=windows[place],
        to_page=placement if correcting is None else placement.compose(correcting), placement=placement,
        marks=marks, bars=marks.bars, registrations=joining.shown_on.get(name, ()),
        neighbours=tuple(place_name(near) for near in beside),
        seams=tuple(edges.get(near, "tab foot") for near in beside), holes=holes,
    )  # fmt: skip
