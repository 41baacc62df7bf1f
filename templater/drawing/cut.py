"""Parts to cut: what a shop cuts from sheet metal, with the page that goes with it, and shims at full size.

Parts lie as on the floor, seen from above, u to starboard, v forward. Bridges, countersinks and words are left to the
bench: nothing stands among the cut lines of a shop's part that is not cut through.
"""

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind, Shim
from templater.description.keys import Plate
from templater.drawing import marks
from templater.drawing.compose import BODY, HEADING, LEADING, Sheet, Words, note_lines, told
from templater.drawing.labels import Symbol, diameter
from templater.drawing.marks import Anchor, Arc, Circle, Drawing, Group, Line, Mark, Pen, Polyline, Text, mark_box
from templater.drawing.plates import bore_contour, countersink, plate_box, plate_figures, strip_contour, variants
from templater.findings import DrawingError, Finding
from templater.plane.shapes import Affine, Box, Point, area, box_corners, clip_segment, grow, left_over, side_of, union
from templater.standards.typeface import wrap
from templater.units import MM, MM_PER_INCH, Figures, without_units

_Ring = list[tuple[Point, float]]
#: Ends nearer than this meet, mm.
_SAME = 1e-6
#: Steps of thickness between sanding lines, mm, the smallest first; for a boat in inches as many hundredths of an inch.
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: Most sanding lines on one shim.
MOST_LINES = 12
#: Type sizes of the thickness figures, mm, and how far they stand outside the outline.
FIGURE, SMALL, _OUTSIDE = 3.0, 2.4, 1.5


class CutPart(NamedTuple):
    """One distinct part."""

    name: str  # ``strip``, ``plate``, ``spare-plate``, with the side where the sides differ
    quantity: int
    thickness: float  # of the metal, mm
    drawing: Drawing  # cut lines only
    by_hand: tuple[Mark, ...]  # marked and done at the bench afterwards: bridges to saw through, rims of countersinks

    @property
    def stem(self) -> str:
        """Name of its files without the ending: part, quantity, thickness."""
        return f"{self.name}-{self.quantity}x-{self.thickness:g}mm"


def cut_parts(boat: Boat, plate: Plate) -> tuple[CutPart, ...]:
    """Return the parts: a strip (or single plates, where no bridge has room) for each side, and the spare plates.

    Raises DrawingError: S195, the kerf is wider than an opening.
    """
    stations = [setting.station for setting in boat.settings]
    spares, screws = boat.description.spares.plates, plate.screws
    second = HoleKind.SECOND_SCREW if screws and screws.second else HoleKind.FIRST_SCREW
    if len(stations) > 1 and all(b - a > plate.length for a, b in pairwise(stations)):
        kinds = [("strip", HoleKind.FIRST_SCREW, 1.0, [stations[0] - station for station in stations])]
    else:
        kinds = [("plate", HoleKind.FIRST_SCREW, float(len(stations)), [0.0])]
    kinds += [("spare-plate", second, spares / 2, [0.0])] if spares else []
    parts = []
    for name, kind, each, places in kinds:  # how many for one side; the plates' v in the part
        for variant in variants(boat, kind):
            outline = strip_contour(plate, 0.0, [plate_box(plate, (0.0, v)) for v in places])
            loops: list[Mark] = [mark for mark in outline if mark.group is Group.CUT]
            loops += (mark for v in places for mark in bore_contour(plate, (0.0, v), boat.bolt_hole))
            by_hand: list[Mark] = [mark for mark in outline if mark.group is not Group.CUT]
            for at in ((y, v - x) for v in places for x, y in variant.screws):
                loops.append(Circle(at, screws.diameter if screws else 0.0, Pen.NARROW, Group.CUT))
                by_hand.append(Circle(at, countersink(boat), Pen.DASHED, Group.COUNTERSINK))
            drawing = _cut_drawing(boat, variant.named(name, "-"), loops)
            quantity = math.ceil(each * len(variant.sides))
            parts.append(CutPart(drawing.name, quantity, plate.thickness, drawing, tuple(by_hand)))
    return tuple(parts)


def _cut_drawing(boat: Boat, name: str, loops: list[Mark]) -> Drawing:
    kerf, say = boat.description.cutting.kerf, boat.description.figures.size
    circles = [mark for mark in loops if isinstance(mark, Circle)]
    openings: tuple[Mark, ...] = (*outlines(loops)[1:], *circles)
    boxes = map(mark_box, openings)
    least = min((min(box[2] - box[0], box[3] - box[1]) for box in boxes), default=math.inf)
    if kerf >= least:
        text = f"{say(kerf, 2)} - nothing is left of an opening of {say(least, 2)}; allowed: below that"
        raise DrawingError(Finding("S195", "cutting.kerf", text, boat.description.place("cutting.kerf")))
    narrower = (Circle(mark.centre, mark.diameter - kerf, Pen.NARROW, Group.CUT) for mark in circles)
    lines: tuple[Mark, ...] = (*outlines(loops, kerf), *narrower)
    return Drawing(name, f"{name}, to cut", "template", lines, (), (), union(*map(mark_box, lines)))


def cut_note(boat: Boat, parts: tuple[CutPart, ...], paper: Point, margin: float, stamp: str) -> tuple[Mark, ...]:
    """Return the page that goes to the shop with the files, page mm: what to cut, with a picture of each part.

    ``margin`` is left all round; ``stamp`` identifies the description.
    """
    figures, kerf = boat.description.figures, boat.description.cutting.kerf
    left, right, foot = margin + 8.0, paper[0] - margin - 8.0, margin + 8.0
    written: list[Mark] = []
    top = paper[1] - foot

    def write(*lines: str, size: float = BODY, bold: bool = False) -> None:
        nonlocal top
        for line in lines:
            top -= LEADING * size
            written.append(Text((left, top), line, size, Group.NOTE, bold=bold))

    write(f"{boat.description.boat}: parts to cut", size=HEADING, bold=True)
    write(f"description {stamp}; every file holds one part at full size in millimetres, cut lines only")
    top -= 2.0
    for part in parts:
        u0, v0, u1, v1 = part.drawing.box
        count = "1 piece" if part.quantity == 1 else f"{part.quantity} pieces"
        write(f"{part.stem}.dxf, .svg", size=BODY + 0.6, bold=True)
        extent = f"{figures.size(u1 - u0 - kerf)} x {figures.size(v1 - v0 - kerf)}"
        write(f"{count}, sheet metal {figures.size(part.thickness)} thick, {extent} over all")
    top -= 2.0
    bridges = any(mark.group is Group.PLATE for part in parts for mark in part.by_hand)
    notes = told("parts to cut", kerf=kerf and figures.size(kerf), bridges=bridges, **plate_figures(boat))
    write(*note_lines(notes, BODY, right - left))
    return (*written, *_pictures(parts, (left, foot, right, top - 6.0)))


def _pictures(parts: tuple[CutPart, ...], room: Box) -> Iterator[Mark]:
    """Yield the parts side by side, made smaller to fit, each with its name below."""
    wide = [part.drawing.box[2] - part.drawing.box[0] for part in parts]
    deep = max(part.drawing.box[3] - part.drawing.box[1] for part in parts)
    gap, name = 12.0, 8.0
    scale = min(1.0, (room[2] - room[0] - gap * (len(parts) - 1)) / sum(wide), (room[3] - room[1] - name) / deep)
    u = room[0]
    for part, width in zip(parts, wide, strict=True):
        box = part.drawing.box
        there = Affine(scale, 0.0, 0.0, scale, u - scale * box[0], room[3] - scale * box[3]).apply
        yield from (marks.put(mark, there, scale) for mark in (*part.drawing.marks, *part.by_hand))
        low = room[3] - scale * (box[3] - box[1]) - 4.0
        for number, line in enumerate(wrap(f"{part.name}, {part.quantity} x", max(scale * width, 24.0), BODY)):
            at = (u + scale * width / 2, low - LEADING * BODY * number)
            yield Text(at, line, BODY, Group.NOTE, Anchor.MIDDLE)
        u += scale * width + gap


def outlines(lines: Iterable[Mark], kerf: float = 0.0) -> tuple[Polyline, ...]:
    """Return the closed outlines that lines and arcs make where they meet, the outermost first.

    Other marks are passed over. The cut takes ``kerf`` away: outlines lie half of it off the metal.
    Raises ValueError if they do not close.
    """
    loose = []  # from where, to where, and the bulge: the tangent of a quarter of the angle, positive anticlockwise
    for mark in lines:
        if isinstance(mark, Line):
            loose.append((mark.a, mark.b, 0.0))
        elif isinstance(mark, Arc):
            bulge = math.tan(math.radians(mark.end - mark.start) / 4)
            loose.append((mark.point(mark.start), mark.point(mark.end), bulge))
    loose = [side for side in loose if math.dist(side[0], side[1]) >= _SAME]
    rings: list[_Ring] = []
    while loose:
        start, end, bulge = loose.pop(0)
        ring = [(start, bulge)]
        while math.dist(end, start) >= _SAME:
            ways = ((side, way) for side in loose for way in (side, (side[1], side[0], -side[2])))
            side, way = next((one for one in ways if math.dist(one[1][0], end) < _SAME), (None, (end, end, 0.0)))
            if side is None:
                raise ValueError(f"an outline is open at {end[0]:.3f}, {end[1]:.3f}")
            loose.remove(side)
            a, end, bulge = way
            ring.append((a, bulge))
        corners = zip((ring[-1], *ring), ring, (*ring[1:], ring[0]), strict=False)
        rings.append([  # without corners in the middle of a straight edge
            (at, bulge) for (before, bend), (at, bulge), (after, _) in corners
            if bulge or bend or abs(side_of(before, at, after)) > _SAME
        ])  # fmt: skip
    finished: list[Polyline] = []
    for size, ring in sorted(((_area(ring), ring) for ring in rings), key=lambda one: -abs(one[0])):
        # The metal is on the left all the way: anticlockwise round the part, clockwise round its openings.
        if (size > 0) == bool(finished):
            ring = [(ring[n][0], -ring[n - 1][1]) for n in range(len(ring) - 1, -1, -1)]  # noqa: PLW2901
        points, bulges = zip(*_moved(ring, kerf / 2), strict=True)
        finished.append(Polyline(points, closed=True, pen=Pen.NARROW, group=Group.CUT, bulges=bulges))
    return tuple(finished)


def _area(ring: _Ring) -> float:
    """Return the signed area within the corners and the middles of arcs."""
    points: list[Point] = []
    for (a, bulge), (b, _) in pairwise((*ring, ring[0])):
        points += [a, ((a[0] + b[0] + bulge * (b[1] - a[1])) / 2, (a[1] + b[1] - bulge * (b[0] - a[0])) / 2)]
    return area(points)


def _moved(ring: _Ring, by: float) -> _Ring:
    """Return a ring moved to its right; arcs meet their neighbours in a tangent, so that they keep their bulge."""
    ways = []  # the direction in which each piece begins and ends
    for (start, bulge), (end, _) in pairwise((*ring, ring[0])):
        chord, turn = math.atan2(end[1] - start[1], end[0] - start[0]), 2 * math.atan(bulge)
        ways.append((chord - turn, chord + turn))
    moved: _Ring = []
    for number, ((u, v), bulge) in enumerate(ring):
        (a, b), (c, d) = ((math.sin(way), -math.cos(way)) for way in (ways[number - 1][1], ways[number][0]))
        share = by / (1 + a * c + b * d)
        moved.append(((u + share * (a + c), v + share * (b + d)), bulge))
    return moved


def shim_sheets(boat: str, shims: tuple[Shim, ...], figures: Figures, note: str) -> tuple[Drawing, ...]:
    """Return one sheet for each shim, ``shim-port`` and ``shim-starboard``; ``note`` says what they rest on."""
    return tuple(_shim_sheet(boat, shim, figures, note) for shim in shims)


def _shim_sheet(boat: str, plan: Shim, figures: Figures, note: str) -> Drawing:
    sheet, side, hole = Sheet(), plan.side.word, f"K{plan.side.value}"
    box: Box = (plan.y0, -plan.x1, plan.y1, -plan.x0)
    outline = box_corners(box)[::-1]  # from fore port by fore starboard
    sheet.add(marks.closed(outline, Pen.WIDE, Group.CUT))
    sheet.keep.append(("shim", grow(box, 1.0)))
    labels = (f"{hole} {diameter(plan.hole, figures)}", hole)
    sheet.add_symbols((Symbol(hole, (0.0, 0.0), plan.hole, "bolt", Group.HOLE, labels, (FIGURE, SMALL)),))
    arm = plan.hole / 2 + 4.0
    for across in (0, 1):
        for low, high in ((box[1 - across] - 3.0, -arm), (arm, box[3 - across] + 3.0)):
            ends = ((low, 0.0), (high, 0.0)) if across else ((0.0, low), (0.0, high))
            sheet.add(Line(*ends, Pen.CHAIN, Group.CENTRELINE))
    # On the sheet itself there is room for one figure: in mm, in inches only where they stand alone.
    inches = figures.system == "in"
    one = figures if inches else MM
    for u, v in outline:
        sheet.add(_outside((u, v), box, without_units(one.fine(plan.thickness(-v, u))), FIGURE, bold=True))
    for value, a, b in _equal_thickness(plan, box, MM_PER_INCH / 100 if inches else 1.0):
        sheet.add(*_clear_of_bolt(a, b, plan.hole / 2 + 1.0))
        text = without_units(one.fine(value, 2 if inches else 1))
        beside = (_outside(end, box, text, SMALL) for end in (b, a))
        sheet.add(*[mark for mark in beside if sheet.layout.free(mark_box(mark))][:1])
    sheet.add_labels()
    sheet.add_arrow((box[2] + 22.0, box[3] - 24.0))
    bolt, corners = figures.fine(plan.at_bolt), [without_units(figures.fine(corner)) for corner in plan.corners]
    lines = told("shim", boat=boat, side=side, bolt=bolt, corners=corners, unit=figures.unit, step=one.unit, note=note)
    sheet.add_below(Words(lines, head=True), box[0])
    return sheet.drawing(f"shim-{side}", f"Shim, {side}", "template")


def _clear_of_bolt(a: Point, b: Point, radius: float) -> Iterator[Line]:
    """Yield a sanding line with the part nearer than ``radius`` to the bolt's middle left out."""
    reach = math.dist(a, b)
    u, v = (b[0] - a[0]) / reach, (b[1] - a[1]) / reach
    foot = -(a[0] * u + a[1] * v)
    half = math.sqrt(max(radius**2 - (a[0] ** 2 + a[1] ** 2 - foot**2), 0.0))
    for ends in left_over(0.0, reach, [(foot - half, foot + half)] if half else (), 0.5):
        first, last = ((a[0] + u * by, a[1] + v * by) for by in ends)
        yield Line(first, last, Pen.NARROW, Group.OVERLAY)


def step_for(spread: float) -> float:
    """Return the smallest step that gives no more than the most sanding lines over a spread of thickness."""
    return next((step for step in STEPS if spread / step <= MOST_LINES), STEPS[-1])


def _equal_thickness(plan: Shim, box: Box, unit: float) -> Iterator[tuple[float, Point, Point]]:
    """Yield lines of equal thickness inside the outline, thinnest first; none for a shim of one thickness."""
    low, high = min(plan.corners), max(plan.corners)
    slope = (plan.slope_y, -plan.slope_x)
    steepness = math.hypot(*slope)
    if high - low < STEPS[0] or steepness == 0:
        return
    step = step_for((high - low) / unit) * unit
    u, v = slope[0] / steepness, slope[1] / steepness  # the way up
    reach = math.hypot(box[2] - box[0], box[3] - box[1]) * 2
    for number in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        away = (number * step - plan.at_bolt) / steepness
        a, b = ((u * away + v * by, v * away - u * by) for by in (reach, -reach))
        part = clip_segment(a, b, box)
        if part is not None and math.dist(*part) > 2.0:
            yield (number * step, *part)


def _outside(at: Point, box: Box, text: str, size: float, *, bold: bool = False) -> Text:
    """Return a figure beside a point of the outline, outside it."""
    left, foot, right, top = (abs(at[n % 2] - box[n]) < 0.01 for n in range(4))
    u = at[0] + _OUTSIDE * (right - left)
    v = at[1] + (_OUTSIDE if top else -_OUTSIDE - marks.ASCENT * size if foot else -0.35 * size)
    anchor = Anchor.START if right else Anchor.END if left else Anchor.MIDDLE
    return Text((u, v), text, size, Group.LABEL, anchor, bold=bold)
