"""The plates as a shop cuts them, and a guide plate for the drill."""

from __future__ import annotations

import math
from itertools import pairwise

from templater.boat.solved import Boat, HoleKind
from templater.description.model import Plate
from templater.drawing.cut import Bore, Caption, Corner, CutJob, CutPart, Layer, Outline, Scribe, outline
from templater.drawing.nest import count_text, nest, notes_below, shop_lines
from templater.drawing.plates import Variant, bolt_hole, bridge_spans, countersink, plate_box, variants
from templater.findings import DrawingError, Finding
from templater.plane.shapes import Box, Point
from templater.standards.typeface import text_width

#: Sizes of the ids on plates, mm.
_IDS = (5.0, 4.0, 3.0)
#: Guide plate: metal round the bolt holes fore and aft and athwart, at least, and the pins' holes, mm.
_GUIDE_END, _GUIDE_SIDE, _PIN = 30.0, 20.0, 3.0
_GUIDE_WORDS = (
    "Guide plate: scribed lines on the pencilled ones, the cut corner forward; nails in the small holes hold it.",
    "It guides the point of the bit, not its angle: drill square by other means.",
)


def draw_cutting(boat: Boat, plate: Plate, stamp: str) -> CutJob:
    """Return everything that is cut from the plates' sheet metal, nested.

    The first set is strips with the first screws, as they are fixed to a new floor. Every further set is loose plates
    with the second screws, for the spares bag; with the first where there are no second ones.

    Args:
        boat: the solved boat.
        plate: its plate.
        stamp: what identifies the description.

    Raises:
        DrawingError: S194, a part is larger than the metal sheet that the description names; S195, the kerf is wider
            than an opening.
    """
    choice = boat.description.cutting
    _check_kerf(boat, plate)
    parts = _first_set(boat, plate)
    for number in range(2, choice.sets + 1):
        parts += _loose_set(boat, plate, number)
    if choice.guide:
        parts.append(_guide(boat))
    nested, sheets = nest(parts, choice, boat.description.place("cutting.sheet"))
    lines = (
        f"{boat.description.boat}: plates, description {stamp}. Unit mm, scale 1:1.",
        f"{count_text(len(parts), len(sheets))}, {plate.thickness:g} mm thick, {choice.spacing:g} mm apart. "
        f"Sets: {choice.sets}.",
        *shop_lines(choice),
        "Part-cut the bridges along the marks only after the shop: two thirds of the thickness at most.",
        "Ids stand upright with forward up, seen from above. Break every edge; gloves until that is done.",
        *(_GUIDE_WORDS if choice.guide else ()),
    )
    return CutJob(f"{boat.description.boat}: plates to cut", nested, sheets, notes_below(lines))


def _check_kerf(boat: Boat, plate: Plate) -> None:
    """Refuse a kerf that leaves nothing of an opening."""
    kerf = boat.description.cutting.kerf
    openings = [("the bolt's hole", bolt_hole(boat) if plate.slot is None else plate.slot.width)]
    if plate.screws:
        openings.append(("a screw's hole", plate.screws.diameter))
    if boat.description.cutting.guide:
        openings.append(("a pin's hole of the guide plate", _PIN))
    if _joined(boat, plate):
        gaps = [b.station - a.station - plate.length for a, b in pairwise(boat.settings)]
        openings += [("the gap between plates", gap) for gap in gaps]
        openings += [("the room between bridges", b - a) for (_, a), (b, _) in pairwise(bridge_spans(plate, 0.0))]
    what, least = min(openings, key=lambda one: one[1])
    if kerf >= least:
        text = f"{kerf:g} mm - nothing is left of {what}, {least:g} mm; allowed: below that"
        raise DrawingError(
            Finding("S195", "cutting.kerf", text, boat.description.place("cutting.kerf"))
        )


def _first_set(boat: Boat, plate: Plate) -> list[CutPart]:
    """Return the strips of the first set, or single plates where they stand too close for bridges."""
    kinds = variants(boat, HoleKind.FIRST_SCREW)
    parts = []
    for variant in kinds:
        for side in variant.sides if len(kinds) > 1 else ("P", "S"):
            letter = side if isinstance(side, str) else side.value
            if _joined(boat, plate):
                parts.append(_strip(boat, plate, variant, letter))
            else:
                parts += [
                    _single(boat, plate, variant.screws, f"{letter}{setting.number}", f"{letter}{setting.number}")
                    for setting in boat.settings
                ]
    return parts


def _loose_set(boat: Boat, plate: Plate, number: int) -> list[CutPart]:
    """Return the loose plates of a further set."""
    second = bool(plate.screws and plate.screws.second)
    kinds = variants(boat, HoleKind.SECOND_SCREW if second else HoleKind.FIRST_SCREW)
    parts = []
    for variant in kinds:
        side = "" if len(kinds) == 1 else variant.sides[0].value
        for setting in range(1, len(boat.settings) * len(variant.sides) + 1):
            ident = f"set{number}-{side}{setting}"
            parts.append(_single(boat, plate, variant.screws, ident, f"spare {side}".strip()))
    return parts


def _joined(boat: Boat, plate: Plate) -> bool:
    """True if there is room for bridges between all neighbouring plates."""
    stations = [setting.station for setting in boat.settings]
    return len(stations) > 1 and all(b - a > plate.length for a, b in pairwise(stations))


def _strip(boat: Boat, plate: Plate, variant: Variant, letter: str) -> CutPart:
    """Return one side's plates in their true places fore and aft, joined by bridges."""
    first = boat.settings[0].station
    boxes = [plate_box(plate, (0.0, first - setting.station)) for setting in boat.settings]
    spans = bridge_spans(plate, 0.0)
    kerf = boat.description.cutting.kerf
    outlines = [outline(f"{letter}-edge", _edge(boxes, spans, plate.corner_radius), kerf)]
    scribes = []
    for number, (upper, lower) in enumerate(pairwise(boxes), 1):
        for (_, a), (b, _) in pairwise(spans):
            window = ((a, lower[3], 0.0), (a, upper[1], 0.0), (b, upper[1], 0.0), (b, lower[3], 0.0))
            outlines.append(outline(f"{letter}-window-{number}", window, kerf))
        scribes += [Scribe((a, v), (b, v)) for a, b in spans for v in (upper[1], lower[3])]
    bores: list[Bore] = []
    captions: list[Caption] = []
    for setting in boat.settings:
        name = f"{letter}{setting.number}"
        at = (0.0, first - setting.station)
        _fill(boat, plate, at, variant.screws, name, outlines, bores)
        captions += _caption(plate, at, variant.screws, name)
    box = (boxes[0][0], boxes[-1][1], boxes[0][2], boxes[0][3])
    return CutPart(f"strip {letter}", tuple(outlines), tuple(bores), tuple(scribes), tuple(captions), box)


def _edge(boxes: list[Box], spans: tuple[tuple[float, float], ...], r: float) -> tuple[Corner, ...]:
    """Return the corners of a strip's edge, anticlockwise from the lowest plate's left corner; boxes from the top."""
    u0, _, u1, _ = boxes[0]
    left, right = max(spans[0][0], u0), min(spans[-1][1], u1)
    # Beside a bridge a corner is rounded only as far as there is room.
    inner = min(r, u1 - right)
    up: list[Corner] = []
    down: list[Corner] = []
    for number, (_, v0, _, v1) in enumerate(reversed(boxes)):
        lowest, highest = number == 0, number == len(boxes) - 1
        up += [] if lowest else [(right, v0, 0.0)]
        foot, top = (r if lowest else inner), (r if highest else inner)
        up += [(u1, v0, foot), (u1, v1, top)]
        up += [] if highest else [(right, v1, 0.0)]
        down += [] if lowest else [(left, v0, 0.0)]
        down += [(u0, v0, foot), (u0, v1, top)]
        down += [] if highest else [(left, v1, 0.0)]
    return (*up, *reversed(down))


def _single(boat: Boat, plate: Plate, screws: tuple[Point, ...], ident: str, words: str) -> CutPart:
    """Return one loose plate."""
    u0, v0, u1, v1 = plate_box(plate, (0.0, 0.0))
    r, kerf = plate.corner_radius, boat.description.cutting.kerf
    outlines = [outline(f"{ident}-edge", ((u0, v0, r), (u1, v0, r), (u1, v1, r), (u0, v1, r)), kerf)]
    bores: list[Bore] = []
    _fill(boat, plate, (0.0, 0.0), screws, ident, outlines, bores)
    captions = tuple(_caption(plate, (0.0, 0.0), screws, words))
    return CutPart(f"plate {ident}", tuple(outlines), tuple(bores), (), captions, (u0, v0, u1, v1))


def _fill(
    boat: Boat, plate: Plate, at: Point, screws: tuple[Point, ...], name: str, outlines: list[Outline],
    bores: list[Bore],
) -> None:  # fmt: skip
    """Add a plate's slot or bolt hole, its screws and their countersinks."""
    u, v = at
    kerf = boat.description.cutting.kerf
    slot = plate.slot
    if slot is None or slot.length - slot.width < 1e-6:
        bores.append(Bore(name, at, (bolt_hole(boat) if slot is None else slot.width) - kerf))
    else:
        a, b, r = slot.length / 2, slot.width / 2, slot.width / 2
        ring = ((u - a, v - b, r), (u - a, v + b, r), (u + a, v + b, r), (u + a, v - b, r))
        outlines.append(outline(f"{name}-slot", ring, kerf))
    if plate.screws is None:
        return
    for number, (x, y) in enumerate(screws, 1):
        place = (u + y, v - x)
        bores.append(Bore(f"{name}-screw-{number}", place, plate.screws.diameter - kerf))
        bores.append(Bore(f"{name}-cone-{number}", place, countersink(plate), Layer.COUNTERSINK))


def _caption(plate: Plate, at: Point, screws: tuple[Point, ...], words: str) -> list[Caption]:
    """Return a plate's id below its slot, or above it, where it keeps clear of the screws; else nothing."""
    half = plate.slot.width / 2 if plate.slot else plate.length / 8
    middle = (half + plate.length / 2) / 2
    rim = countersink(plate) / 2
    for size in _IDS:
        width = text_width(words, size)
        for v in (-middle, middle):
            fits = middle - half > 0.6 * size and width < plate.width - 4.0
            near = (
                math.hypot(max(abs(y) - width / 2, 0.0), max(abs(-x - v) - size / 2, 0.0)) for x, y in screws
            )
            if fits and all(distance > rim + 0.5 for distance in near):
                return [Caption((at[0], at[1] + v - 0.35 * size), words, size)]
    return []


def _guide(boat: Boat) -> CutPart:
    """Return the guide plate: the bolt holes of one side, to be laid on the floor and pinned, for the drill's point.

    Its fore starboard corner is cut off, so that it cannot be laid the wrong way round unnoticed.
    """
    hole, kerf = bolt_hole(boat), boat.description.cutting.kerf
    first = boat.settings[0].station
    places = [first - setting.station for setting in boat.settings]
    side = max(_GUIDE_SIDE, 2 * hole)
    end = max(_GUIDE_END, 3 * hole)
    top, foot = end, places[-1] - end
    cut = side / 2
    ring = ((-side, foot, 0.0), (side, foot, 0.0), (side, top - cut, 0.0), (side - cut, top, 0.0), (-side, top, 0.0))
    bores = [Bore(f"guide-{s.number}", (0.0, v), hole - kerf) for s, v in zip(boat.settings, places, strict=True)]
    pins = ((-side / 2, top - 8.0), (side / 2, foot + 8.0))
    bores += [Bore(f"guide-pin-{n}", at, _PIN - kerf) for n, at in enumerate(pins, 1)]
    reach = hole / 2 + 1.0
    scribes = [Scribe((s * reach, v), (s * side, v)) for v in places for s in (-1, 1)]
    stops = [top, *(v + s * reach for v in places for s in (1, -1)), foot]
    scribes += [Scribe((0.0, a), (0.0, b)) for a, b in zip(stops[::2], stops[1::2], strict=True) if a - b > 1.0]
    captions = [
        Caption((-side / 2 - 2.0, v - 4.5), f"{setting.number}", 4.0)
        for setting, v in zip(boat.settings, places, strict=True)
    ]
    edge = outline("guide-edge", ring, kerf)
    return CutPart("guide plate", (edge,), tuple(bores), tuple(scribes), tuple(captions), (-side, foot, side, top))
