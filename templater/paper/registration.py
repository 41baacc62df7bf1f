"""What joins the tiles: registration marks on the seams, straight-edge lines, and words at trim and tab edges."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from templater.drawing.labels import Layout
from templater.drawing.marks import (
    Anchor,
    Circle,
    Cross,
    Drawing,
    Group,
    Line,
    Mark,
    Pen,
    Polyline,
    Text,
    mark_box,
    text_box,
)
from templater.paper.clip import touches
from templater.paper.grid import Grid, Place, place_name
from templater.paper.tiles import Registration
from templater.plane.shapes import Box, box_within, grow, moved, union

#: Diameter of a registration mark's circle and half length of its arms, mm, where the bleed allows.
CIRCLE, ARM = 5.0, 4.5
#: Type size of labels and words at the edges, mm.
SIZE = 2.2
#: Seams longer than this get a third mark, mm.
_LONG = 500.0
#: Steps of a search along a seam, mm.
_STEP = 3.0


class Clear:
    """Knows what is drawn on the sheet, so that what joins the tiles finds clear places."""

    def __init__(self, marks: Iterable[Mark]) -> None:
        """Take the drawing's marks."""
        # One layer each for lines, words, and what nothing may stand over: holes and places taken.
        self._lines, self._words, self._taken = Layout(), Layout(), Layout()
        for mark in marks:
            if isinstance(mark, Circle | Cross) or mark.group is Group.SIGHT:
                self.take(mark_box(mark))  # a sight window is cut out, with whatever stands in it
            elif isinstance(mark, Line):
                self._lines.add_segment(mark.a, mark.b)
            elif isinstance(mark, Polyline) and not mark.filled:
                corners = (*mark.points, mark.points[0]) if mark.closed else mark.points
                for a, b in pairwise(corners):
                    self._lines.add_segment(a, b)
            elif isinstance(mark, Text):
                self._words.add_box(mark_box(mark))
            else:
                self._lines.add_box(mark_box(mark))

    def take(self, box: Box) -> None:
        """Take a place."""
        self._taken.add_box(box)

    def first(self, boxes: list[Box], *, over_lines: bool = True, over_words: bool = False) -> int | None:
        """Return the first box where nothing is drawn, else the first clear of words and holes, else None.

        ``over_lines`` False takes none that stands on a line; ``over_words`` accepts one clear of holes rather than
        none.
        """
        layers = (self._taken, self._words, self._lines)
        choices = ((3, 0.4), *(((2, 0.3),) if over_lines else ()), *(((1, 0.1),) if over_words else ()))
        for count, clearance in choices:
            for number, box in enumerate(boxes):
                if all(layer.free(box, clearance) for layer in layers[:count]):
                    return number
        return None


@dataclass(frozen=True, slots=True)
class Seam:
    """A seam between two printed tiles, in the sheet frame: at ``at``, from ``low`` to ``high`` along it."""

    at: float
    low: float
    high: float
    first: Place
    second: Place
    upright: bool


@dataclass(frozen=True, slots=True)
class Joints:
    """Marks in the sheet frame: ``common`` for every tile whose window holds them, ``own`` for one tile each.

    ``shown_on`` lists the registration marks by tile name.
    """

    registrations: tuple[Registration, ...]
    common: tuple[Mark, ...]
    own: dict[Place, tuple[Mark, ...]]
    shown_on: dict[str, tuple[str, ...]]

    def straight_edges(self, windows: Collection[Box]) -> tuple[str, ...]:
        """Return the ids of the straight-edge lines that some window shows."""
        lines = [mark for mark in self.common if isinstance(mark, Line)]
        return tuple(line.id for line in lines if any(touches(line, window) for window in windows))


def seams_of(grid: Grid, kept: tuple[Place, ...]) -> Iterator[Seam]:
    """Yield the seams between printed tiles, row by row."""
    printed = set(kept)
    for place in kept:
        row, column = place
        u0, v0, u1, v1 = grid.own(place)
        if (row, column + 1) in printed:
            yield Seam(u1, v0, v1, place, (row, column + 1), upright=True)
        if (row + 1, column) in printed:
            yield Seam(v0, u0, u1, place, (row + 1, column), upright=False)


def joints(grid: Grid, kept: tuple[Place, ...], drawing: Drawing, marks: Iterable[Mark]) -> Joints:
    """Return everything that joins the printed tiles."""
    clear = Clear(marks)
    seams = tuple(seams_of(grid, kept))
    registrations: list[Registration] = []
    common: list[Mark] = []
    windows = {place: grid.window(place) for place in kept}
    for seam in seams:
        for at in _along(grid, seam, clear):
            id_ = f"R{len(registrations) + 1}"
            shown = registration_marks(id_, at, grid, upright=seam.upright)
            # The label may stand out of a narrow tab; the circle and the cross may not.
            extent = mark_box(shown[1])
            tiles = tuple(place_name(place) for place in grid.showing(extent)
                          if place in windows and box_within(extent, windows[place]))  # fmt: skip
            registrations.append(Registration(id_, at, tiles))
            common.extend(shown)
            for mark in shown:
                clear.take(mark_box(mark))
    own: dict[Place, list[Mark]] = {place: [] for place in kept}
    edges = tuple(_straight_edges(grid, drawing)) if len(kept) > 1 else ()
    for line in edges:
        clear.take(grow(mark_box(line), 0.2))
    common.extend(edges)
    for seam in seams:
        _name_edges(grid, seam, clear, own)
    for line in edges:
        _label_edge(line, windows, clear, own)
    shown_on: dict[str, tuple[str, ...]] = {}
    for registration in registrations:
        for name in registration.tiles:
            shown_on[name] = (*shown_on.get(name, ()), registration.id)
    return Joints(tuple(registrations), tuple(common), {place: tuple(found) for place, found in own.items()}, shown_on)


def arm_of(grid: Grid) -> float:
    """Return half the length of a registration mark's arms: it must lie within the bleed."""
    return min(ARM, grid.bleed - 0.2)


def registration_marks(id_: str, at: tuple[float, float], grid: Grid, *, upright: bool) -> tuple[Circle, Cross, Text]:
    """Return circle, cross and label. The label stands on the side that is not cut off."""
    arm = arm_of(grid)
    diameter = min(CIRCLE, 2 * arm - 1)
    u, v = at
    place = (u + 0.8, v + diameter / 2 + 0.6) if upright else (u + diameter / 2 + 0.6, v - 0.8 - 0.8 * SIZE)
    return (
        Circle(at, diameter, Pen.NARROW, Group.REGISTRATION, id_),
        Cross(at, arm, Group.REGISTRATION, id_),
        Text(place, id_, SIZE, Group.REGISTRATION),
    )


def _along(grid: Grid, seam: Seam, clear: Clear) -> list[tuple[float, float]]:
    """Return the places of a seam's marks: as far apart as clear places allow."""
    # Clear of the bands that cross the seam at its ends, so that a mark is on these two tiles alone.
    inset = grid.tab + arm_of(grid) + 1.0
    low, high = seam.low + inset, seam.high - inset
    if high - low < 2 * _STEP:
        low, high = seam.low + arm_of(grid) + 0.5, seam.high - arm_of(grid) - 0.5
    reach = (high - low) * 0.45
    middle = (seam.low + seam.high) / 2
    count = int(reach / _STEP) + 1
    searches = [[low + _STEP * n for n in range(count)], [high - _STEP * n for n in range(count)]]
    if high <= low:
        searches = [[middle]]
    elif high - low > _LONG:
        searches.append([middle + _STEP * n * sign for n in range(count // 2) for sign in (1, -1)])
    found = []
    extent = _extent(grid, (0.0, 0.0), upright=seam.upright)
    for search in searches:
        places = [(seam.at, t) if seam.upright else (t, seam.at) for t in search]
        boxes = [moved(extent, place) for place in places]
        found.append(places[clear.first(boxes, over_words=True) or 0])
    return found


def _extent(grid: Grid, at: tuple[float, float], *, upright: bool) -> Box:
    circle, cross, label = registration_marks("R99", at, grid, upright=upright)
    return union(mark_box(circle), mark_box(cross), text_box(label))


def _straight_edges(grid: Grid, drawing: Drawing) -> Iterator[Line]:
    """Yield one line along u and one along v through the whole sheet, where they meet the fewest words and holes."""
    u0, v0, u1, v1 = grid.box
    boxes = [grow(mark_box(mark), 0.8) for mark in drawing.marks if isinstance(mark, Text | Circle | Cross)]
    boxes.extend(grow(box, 3.0) for box in drawing.keep_whole)
    # Beside a line that runs the same way, a straight-edge line would be taken for it.
    lines = [mark for mark in drawing.marks if isinstance(mark, Line)]
    level = [(line.a[1] - 4.0, line.a[1] + 4.0) for line in lines if abs(line.a[1] - line.b[1]) < 0.01]
    upright = [(line.a[0] - 4.0, line.a[0] + 4.0) for line in lines if abs(line.a[0] - line.b[0]) < 0.01]
    if grid.shape[1] > 1:
        v = _clear_line([*((b[1], b[3]) for b in boxes), *level], v0, v1, grid.rows, grid)
        yield Line((u0, v), (u1, v), Pen.NARROW, Group.FRAME, "E1")
    if grid.shape[0] > 1:
        u = _clear_line([*((b[0], b[2]) for b in boxes), *upright], u0, u1, grid.columns, grid)
        yield Line((u, v0), (u, v1), Pen.NARROW, Group.FRAME, "E2")


def _clear_line(
    extents: list[tuple[float, float]], low: float, high: float, seams: tuple[float, ...], grid: Grid
) -> float:
    """Return where a line across the sheet meets the fewest extents, as near to the middle as that allows."""
    band = grid.bleed + grid.tab
    changes = sorted([(a, 1) for a, _ in extents] + [(b, -1) for _, b in extents])
    best, met, index = (1 << 40, 0.0, (low + high) / 2), 0, 0
    steps = max(1, int((high - low) / 1.0))
    for number in range(1, steps):
        at = low + (high - low) * number / steps
        while index < len(changes) and changes[index][0] <= at:
            met += changes[index][1]
            index += 1
        if all(abs(at - seam) > band for seam in seams):
            best = min(best, (met, abs(at - (low + high) / 2), at))
    return best[2]


def _name_edges(grid: Grid, seam: Seam, clear: Clear, own: dict[Place, list[Mark]]) -> None:
    """Draw a seam on both its tiles, with ``cut here`` on the one and ``tab`` on the other."""
    for place, word, line_id in ((seam.second, "cut here", "trim"), (seam.first, "tab", "tab")):
        window = grid.window(place)
        trim = line_id == "trim"
        if seam.upright:
            a, b = (seam.at, window[1]), (seam.at, window[3])
            side, off = ("left", -0.8) if trim else ("right", grid.tab / 2 + 0.8)
        else:
            a, b = (window[0], seam.at), (window[2], seam.at)
            side, off = ("top", 0.8) if trim else ("foot", -grid.tab / 2 - 0.8)
        own[place].append(Line(a, b, Pen.NARROW, Group.FRAME, f"{line_id} {side}"))
        middle = (seam.low + seam.high) / 2
        reach = int((seam.high - seam.low) / 2 / _STEP)
        steps = [middle + _STEP * n * sign for n in range(reach) for sign in (1, -1)]
        text = Text((0.0, 0.0), word, SIZE, Group.FRAME, Anchor.MIDDLE, turn=1 if seam.upright else 0)
        places = [(seam.at + off, t) if seam.upright else (t, seam.at + off) for t in steps]
        _write(text, places, window, clear, own[place])


def _write(text: Text, places: list[tuple[float, float]], window: Box, clear: Clear, own: list[Mark]) -> None:
    """Write a text at the first clear place that lies in the window; leave it out if there is none."""
    extent = text_box(text)
    places = [place for place in places if box_within(moved(extent, place), window)]
    found = clear.first([moved(extent, place) for place in places])
    if found is not None:
        own.append(replace(text, at=places[found]))
        clear.take(moved(extent, places[found]))


def _label_edge(line: Line, windows: dict[Place, Box], clear: Clear, own: dict[Place, list[Mark]]) -> None:
    """Write a straight-edge line's name beside it on every tile that it crosses."""
    level = line.a[1] == line.b[1]
    for place, window in windows.items():
        at = line.a[1] if level else line.a[0]
        low, high = (window[1], window[3]) if level else (window[0], window[2])
        if not low <= at <= high:
            continue
        start, end = (window[0], window[2]) if level else (window[1], window[3])
        steps = [start + 20.0 + _STEP * n for n in range(max(1, int((end - start - 45) / _STEP)))]
        word = f"{line.id} straight edge"
        text = Text((0.0, 0.0), word, SIZE, Group.FRAME, turn=0 if level else 1)
        _write(text, [(t, at + 1.5) if level else (at - 1.5, t) for t in steps], window, clear, own[place])
