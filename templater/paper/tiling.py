"""A drawing put on paper: which way up, where the seams are, and what each page shows."""

from collections import defaultdict, deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import chain
from typing import NamedTuple

from templater.drawing.marks import CONTEXT, WORDS, Circle, Cross, Drawing, Group, Mark, Text, mark_box, shift
from templater.findings import DrawingError, Finding
from templater.paper.joints import Joints, joints
from templater.paper.page_frame import Page, PageWords, calibration_bars, page_frame, pages
from templater.paper.placing import check_correction, clip, correct, matrix, touches, whole_texts
from templater.paper.seams import Axis, Extents, Grid, Interval, Place, add_costs, place_name, place_seams
from templater.paper.tiles import NO_CORRECTION, Correction, CutMark, Paper, Tile, TiledSheet, TitleData
from templater.plane.shapes import IDENTITY, Affine, Box, Point, box_about, box_within, boxes_overlap, grow, union
from templater.units import MM

#: Left free round the content, mm, so that no line lies on the edge of a window.
_ROUND = 1.0
#: Words keep so far from a seam, mm.
_FROM_SEAM = 1.0
#: Least overlap, mm: a registration mark must fit into the third of it that is cut off.
LEAST_OVERLAP = 9.0
#: Overlaps tried where the builder gives none, mm: the next only where a seam cuts something.
OVERLAPS = (15.0, 12.0, 10.0, LEAST_OVERLAP)
#: What must stay whole round the circle of a hole, mm.
ROUND_CIRCLE = 3.0


class _Things(NamedTuple):
    """What seams should not cut, and what is to be covered."""

    box: Box
    circles: dict[str, Box]  # of holes
    others: list[tuple[str, Box]]  # all else by name
    words: list[Box]  # blocks of them
    texts: list[Box]  # single ones
    worth: list[tuple[Mark, Box]]  # the marks that make a tile worth printing


class _Along(NamedTuple):
    """The extents of things along one axis, the way the tiles are laid."""

    texts: list[Interval]
    circles: Extents
    others: Extents
    words: Extents
    both: Extents  # others and blocks of words


class _Plan(NamedTuple):
    """One way of putting the sheet on paper; the least ``rank`` is the best."""

    page: Page
    grid: Grid
    kept: tuple[Place, ...]
    #: Tiles, hole circles cut, other things cut, things in a seam's band, blocks of words in one, texts split, paper
    #: used, want of clearance, sideways.
    rank: tuple[int, int, int, int, int, int, float, float, bool]
    cut: tuple[CutMark, ...] = ()
    crossed: tuple[CutMark, ...] = ()


def tile(
    drawing: Drawing,
    paper: Paper,
    *,
    margin: float,
    overlap: float | None,
    orientation: str,
    correction: Correction = NO_CORRECTION,
    title: TitleData,
    drawn: bool = True,
) -> TiledSheet:
    """Return a sheet as pages; the sheet itself is never turned.

    ``margin`` is what the printer leaves blank all round, ``overlap`` that of neighbouring tiles, mm: a third of it is
    cut off, the rest is the tab; None takes the widest of ``OVERLAPS`` with which seams cut least. ``drawn`` False
    leaves out the sheet's marks and what joins the tiles, where only seams and what they cut matter.

    Raises DrawingError: S103, the paper is too small; S104, so is the overlap; S110, the correction is too large.
    """
    check_correction(correction)
    if overlap is not None and overlap < LEAST_OVERLAP:
        text = f"{MM.size(overlap)}: too little for registration marks - allowed is {MM.size(LEAST_OVERLAP)} or more"
        raise DrawingError(Finding("S104", "print.overlap", text))
    things = _things(drawing)
    plan = _best_plan(things, pages(paper, margin, orientation, correction), overlap)
    cut = _cut(things.circles.items(), plan.grid)
    crossed = tuple(one for one in _cut(things.others, plan.grid) if one not in cut)
    del things  # what follows needs the memory
    return _lay(plan._replace(cut=cut, crossed=crossed), drawing, paper, title, drawn=drawn)


def _lay(plan: _Plan, drawing: Drawing, paper: Paper, title: TitleData, *, drawn: bool) -> TiledSheet:
    """Return a sheet as planned, with or without marks on its pages."""
    page, grid = plan.page, plan.grid
    windows = {place: grid.window(place) for place in plan.kept}
    joining, marks = Joints((), (), {}, ()), drawing.marks if drawn else ()
    if drawn and len(windows) > 1:
        # Words can be read once the tiles are taped in a tile's own part, clear of its seams' lines.
        marks = whole_texts(drawing, grid, {place: grid.own(place, *(-_FROM_SEAM,) * 4) for place in windows})
        joining = joints(grid, windows, [box for _, box in drawing.keep], marks)
    shown = _shown(marks, joining, grid, windows)
    registered = defaultdict[str, list[str]](list)
    for registration in joining.registrations:
        for name in registration.tiles:
            registered[name].append(registration.id)
    holes = defaultdict[Place, list[str]](list)
    for hole in drawing.holes:
        holes[grid.holder(*hole.at)].append(hole.id)
    words = PageWords(drawing, title, grid.shape, windows.keys())
    correcting = matrix(page.correction, page[:2])
    tiles = []
    for number, (place, window) in enumerate(windows.items(), 1):
        name, near = place_name(place), (place_name(one) for one in grid.beside(place) if one in windows)
        e, f = ((page.area[n] + page.area[n + 2] - window[n] - window[n + 2]) / 2 for n in (0, 1))
        frame = partial(page_frame, page, place, number, words)
        tiles.append(Tile(
            name, *place, number, page[:2], window, Affine(e=e, f=f).compose(correcting),
            _PageMarks(shown[place], (e, f), frame, correcting), calibration_bars(page),
            tuple(registered[name]), tuple(near), tuple(holes[place]),
        ))  # fmt: skip
    return TiledSheet(
        drawing, paper, page.sideways, page.correction, grid.shape, grid.columns, grid.rows, tuple(tiles),
        tuple(place_name(place) for place in grid.places() if place not in windows), joining.registrations,
        plan.cut, plan.crossed, joining.straight_edges, partial(_lay, plan, drawing, paper, title, drawn=True),
    )  # fmt: skip


def _things(drawing: Drawing) -> _Things:
    circles = {hole.id: box_about(hole.at, hole.diameter / 2 + ROUND_CIRCLE) for hole in drawing.holes}
    boxes = {hole.id: box_about(hole.at, hole.diameter / 2) for hole in drawing.holes}
    boxed = [(mark, mark_box(mark)) for mark in drawing.marks if isinstance(mark, Text) or mark.group not in CONTEXT]
    for mark, box in boxed:
        if isinstance(mark, Circle | Cross) and mark.id in boxes:
            boxes[mark.id] = union(boxes[mark.id], box)
    others = [*boxes.items(), *((name, box) for name, box in drawing.keep if name != WORDS)]
    words = [box for name, box in drawing.keep if name == WORDS]
    texts = [box for mark, box in boxed if isinstance(mark, Text)]
    worth = [one for one in boxed if one[0].group not in CONTEXT]
    return _Things(grow(drawing.box, _ROUND), circles, others, words, texts, worth)


def _best_plan(things: _Things, ways: Sequence[Page], overlap: float | None) -> _Plan:
    """Return the best way of putting the sheet on paper."""
    plans: list[_Plan] = []
    axes = _along(things, lambda box: (box[0], box[2])), _along(things, lambda box: (-box[3], -box[1]))
    for wide in OVERLAPS if overlap is None else (overlap,):
        for page in ways:
            if plans and _fewest(things, page) > min(plan.rank[0] for plan in plans):
                continue
            # Where words may be split, others are cut less; where they may not, more tiles may be left out as blank.
            for whole in (False, True):
                plans.append(_plan(things, axes, page, wide, whole=whole))
                if not plans[-1].rank[4]:
                    break  # no words are split
        best = min(plans, key=lambda plan: plan.rank)
        if best.rank[1:3] == (0, 0):
            break
    return best


def _fewest(things: _Things, page: Page) -> int:
    """Return how many tiles there are at least: no two of as many marks can share one. Of thousands some are tried."""
    x0, y0, x1, y1 = page.area
    apart: list[Box] = []
    for a, b, c, d in sorted(box for _, box in things.worth[:: len(things.worth) // 200 + 1]):
        reach = (a - (x1 - x0), b - (y1 - y0), c + (x1 - x0), d + (y1 - y0))
        if not any(boxes_overlap(reach, other) for other in apart):
            apart.append((a, b, c, d))
    return len(apart)


def _along(things: _Things, along: Callable[[Box], Interval]) -> _Along:
    circles, others = [*map(along, things.circles.values())], [along(box) for _, box in things.others]
    words = [*map(along, things.words)]
    kinds = circles, others, words, [*others, *words]
    return _Along([*map(along, things.texts)], *map(Extents.of, kinds))


def _plan(things: _Things, axes: tuple[_Along, _Along], page: Page, overlap: float, *, whole: bool) -> _Plan:
    """Return the best seams for one page; blocks of words are kept ``whole`` as other things are."""
    bleed, tab = overlap / 3, overlap * 2 / 3
    box, area = things.box, page.area
    lines = Axis(box[0], box[2], area[2] - area[0], bleed, tab), Axis(-box[3], -box[1], area[3] - area[1], bleed, tab)
    (columns, cost), (rows, more) = (
        place_seams(axis, one.circles, one.both if whole else one.others, one.texts)
        for axis, one in zip(lines, axes, strict=True)
    )
    grid, cost = Grid(box, columns, tuple(-v for v in rows), bleed, tab), add_costs(cost, more)
    kept = _needed(grid, things.worth)
    page = page.cut_off(map(grid.window, kept))
    cut = touched = split = 0
    for seams, one in zip((columns, rows), axes, strict=True):
        band = [seam - bleed for seam in seams], [seam + tab for seam in seams]
        cut += sum(one.others.met(seams, seams))
        touched += sum(one.others.met(*band))
        split += sum(one.words.met(*band))
    rank = (
        len(kept), cost[0], cut, touched, split, cost[2] + cost[3], round(len(kept) * page.width * page.height, 3),
        cost[4], page.sideways,
    )  # fmt: skip
    return _Plan(page, grid, kept, rank)


def _needed(grid: Grid, marks: Iterable[tuple[Mark, Box]]) -> tuple[Place, ...]:
    """Return the places worth printing for marks with their boxes, row by row, and what joins them."""
    wanted: set[Place] = set()
    rows, columns = grid.shape
    for mark, box in marks:
        if len(wanted) == rows * columns:
            break
        places = [*grid.showing(box)]
        alone = len(places) == 1
        wanted.update(place for place in places if place not in wanted and (alone or touches(mark, grid.own(place))))
    return tuple(sorted(joined(grid, wanted) or set(grid.places())))


def joined(grid: Grid, wanted: set[Place]) -> set[Place]:
    """Return the wanted places and the fewest others that make all hang together, found by shortest paths."""
    kept = set(wanted)
    while kept:
        island = _reached(grid, [min(kept)], kept)
        if len(island) == len(kept):
            break
        came = _reached(grid, sorted(island))
        here: Place | None = next(place for place in came if place in kept and place not in island)
        while here is not None and here not in island:
            kept.add(here)
            here = came[here]
    return kept


def _reached(grid: Grid, start: Iterable[Place], among: set[Place] | None = None) -> dict[Place, Place | None]:
    """Return the places that hang together with the first ones, the nearest first, each with the one before it."""
    came: dict[Place, Place | None] = dict.fromkeys(start)
    queue = deque(came)
    while queue:
        here = queue.popleft()
        for step in grid.beside(here):
            if step not in came and (among is None or step in among):
                came[step] = here
                queue.append(step)
    return came


def _cut(named: Iterable[tuple[str, Box]], grid: Grid) -> tuple[CutMark, ...]:
    """Return what seams cut and which seam does, each name once a seam; labels of holes have none of their own."""
    found = sorted(
        (kind, seam + 1, number, name)
        for number, (name, box) in enumerate(named)
        for kind, seams in zip(("column", "row"), grid.met(box), strict=True)
        for seam in seams
        if name
    )
    return tuple(CutMark(*one) for one in dict.fromkeys((name, f"{kind} seam {seam}") for kind, seam, _, name in found))


def _shown(
    marks: Iterable[Mark], joining: Joints, grid: Grid, windows: dict[Place, Box]
) -> defaultdict[Place, list[Mark]]:
    """Return what each window shows, in the sheet frame. Cost is linear in marks and in what they touch."""
    shown = defaultdict[Place, list[Mark]](list)
    registered = {registration.id: registration.tiles for registration in joining.registrations}
    for mark in (*marks, *joining.common):
        box = mark_box(mark)
        only = registered.get(mark.id) if mark.group is Group.REGISTRATION else None
        for place in grid.showing(box):
            if place in windows and (only is None or place_name(place) in only):
                shown[place].extend((mark,) if box_within(box, windows[place]) else clip(mark, windows[place]))
    for place, own in joining.own.items():
        shown[place].extend(own)
    return shown


class _PageMarks:
    """A page's marks, made anew each time they are gone through: thousands of pages would fill the memory.

    The window's marks are shifted to the middle of the page's area, the frame stands round them, all is corrected.
    """

    def __init__(self, shown: list[Mark], by: Point, frame: Callable[[], Iterator[Mark]], correcting: Affine) -> None:
        self._shown, self._by, self._frame, self._correcting = shown, by, frame, correcting

    def __iter__(self) -> Iterator[Mark]:
        marks = chain((shift(mark, *self._by) for mark in self._shown), self._frame())
        return marks if self._correcting == IDENTITY else correct(marks, self._correcting)
