"""Everything that is checked about a solved boat: the rule, the floor, the plates, the plank, the wood, the letters.

Errors are what cannot be built or breaks the rule. A guide value that is clearly missed is a warning, one that is only
just missed is advice; class rules and the builder's own experience outrank every guide value. Every bound of a slip of
the pen is common practice, without a source, and wide: a boat that is meant so is built all the same.
"""

import math
from collections.abc import Iterator
from itertools import pairwise, product

from templater.boat.solved import Boat, Hole, HoleKind
from templater.checks.wood import BOLTS, ROUNDING, SCREWS, Worst, edge_key, guide_findings, guide_severity
from templater.description.keys import Plate, Surface
from templater.findings import Finding
from templater.plane import shapes
from templater.standards.typeface import lacking

#: Least wall of solid wood round the bolt in a plug, mm. Common practice, no source.
WALL = 2.0
#: Share of the plank's width above which a bolt hole is told. Our own choice.
SHARE = 0.08
#: Greatest crown, and greatest width, as a part of the plank's length.
CROWN, WIDTH = 1 / 20, 1 / 5
#: By how much of the plank's length the chock corners may stand out beyond its ends.
BEYOND = 1 / 20
#: Greatest height of a chock below the plank, mm, and greatest diameter of a steering post, mm.
CHOCK, POST = 250.0, 150.0
#: Least thickness of a floor and diameter of a post, mm; of a plank's thickness and width, as parts of its length.
FLOOR, LEAST_POST, THICKNESS, NARROW = 3.0, 8.0, 1 / 200, 1 / 60
#: Kinds of which a pair has a published guide distance.
_GUIDED = (set(SCREWS), set(BOLTS))
#: Least side of a cell when holes are looked up, mm, so that a large hole does not search among countless small cells.
_CELL = 8.0
#: Travel along the slot that takes up both sides' taping, which agrees to +-1 mm. Common practice, no source.
TRAVEL = 2.0
#: Play that is not much yet, mm: what the widest hole of ISO 273 leaves M8.
_MUCH_PLAY = 2.0

#: By how much a bound is passed, the finding's code, key and sentence, and its figures.
Case = tuple[float, str, str, str, dict[str, float | str]]


def check(boat: Boat) -> tuple[Finding, ...]:
    """Return all findings about a boat, errors first, then by their place; takes time in proportion to its holes."""
    found = [*_hole_findings(boat), *_plate_findings(boat), *guide_findings(boat), *_letter_findings(boat)]
    found += _far_off(boat)
    for cases in (*_rule(boat), *_plank(boat), *_sizes(boat), *_chock_corners(boat)):
        told = [
            boat.tell(code, key, sentence, **figures) for by, code, key, sentence, figures in cases if by > ROUNDING
        ]
        found += told[:1]
    return tuple(sorted(found, key=_rank))


def _rank(finding: Finding) -> tuple[int, str, int, int, str, str, str]:
    """Return what findings are sorted by; those without a place in the text come last."""
    place = finding.where or ("\U0010ffff", 0, 0)
    return (finding.severity.rank, *place, finding.code, finding.key, finding.text)


def _case(by: float, code: str, key: str, sentence: str = "", /, **figures: float | str) -> Case:
    return by, code, key, sentence, figures


def _rule(boat: Boat) -> Iterator[tuple[Case, ...]]:
    """Yield cases of settings outside the greatest distance or inside by too little, and short of the least."""
    rule, say = boat.description.rule, boat.description.figures.size
    if rule is None:
        return
    limit, keep = rule.runner_base, rule.keep_inside
    for setting in boat.settings:
        number, base, key = f"{setting.number}", setting.runner_base, setting.key
        to_max, inside = limit.max - base, f" to stand {say(keep)} inside" if keep else ""
        said: dict[str, float | str] = {"setting": number, "base": base, "limit": limit.max, "forward": keep - to_max}
        yield (
            _case(-to_max, "R110", key, by=-to_max, inside=inside, **said),
            _case(keep - to_max, "R112", key, by=to_max, keep=keep, **said),
        )
        if limit.min is not None:
            by = limit.min - base
            yield (_case(by, "R111", key, setting=number, base=base, by=by, limit=limit.min),)


def _plank(boat: Boat) -> Iterator[tuple[Case, ...]]:
    """Yield cases of the plug, the bolts' place between edges and ends, and the share of the width that they take."""
    plank, hole = boat.description.plank, boat.bolt_hole
    plug, radius, key = plank.solid_at_bolts, hole / 2, "plank.solid_at_bolts"
    if plug is not None:
        wall, said = (plug - hole) / 2, {"hole": hole, "plug": plug, "least": hole + 2 * WALL}
        yield _case(-wall, "P110", key, **said), _case(WALL - wall, "P111", key, wall=wall, guide=WALL, **said)
    for edge, distance in (("fore", plank.fore_edge), ("aft", plank.width - plank.fore_edge)):
        by = radius - distance
        yield (_case(by, "P112", edge_key(boat), by=by, edge=edge, radius=radius),)
    by = radius - boat.plank.end_to_hole
    yield (_case(by, "P114", "fixing.half_spread", by=by),)
    share = hole / plank.width  # as much of the width as of a solid section's modulus, b h^2 / 6
    yield (_case(share - SHARE, "P117", "plank.width", hole=hole, share=f"{100 * share:.1f}", width=plank.width),)


def _sizes(boat: Boat) -> Iterator[tuple[Case, ...]]:
    """Yield cases of sizes of which a digit may be too many, or one missing, or that may be centimetres."""
    description, plank = boat.description, boat.description.plank
    length, width, post = plank.length, plank.width, description.steering_post.diameter
    crown, most, part = plank.crown, length * CROWN, f"{length / plank.crown:.0f}" if plank.crown else ""
    yield (_case(crown - most, "P120", "plank.crown", crown=crown, part=part, length=length, most=most),)
    pivot, ys = plank.pivot_aft_of_bolts, [y for _, y in description.floor.outline] or [0.0]
    edge, across = width - plank.fore_edge if pivot > 0 else plank.fore_edge, max(ys) - min(ys)
    yield (_case(abs(pivot) - edge, "P124", "plank.pivot_aft_of_bolts", "pivot", off=abs(pivot), edge=edge),)
    yield (_case(across - length, "P125", "plank.length", length=length, across=across),)
    yield (
        _case(width - length * WIDTH, "P126", "plank.width", "width", width=width, length=length),
        _case(plank.thickness - width, "P126", "plank.thickness", "thickness", thickness=plank.thickness, width=width),
    )
    yield (_case(post - POST, "F150", "steering_post.diameter", post=post, most=POST),)
    for key, size, least in (
        ("floor.thickness", description.floor.thickness, FLOOR),
        ("plank.thickness", plank.thickness, length * THICKNESS),
        ("plank.width", width, length * NARROW),
        ("steering_post.diameter", post, LEAST_POST),
    ):
        meant = f" - if these are centimetres, write {size * 10:g}" if description.units == "mm" else ""
        yield (_case(least - size, "P128", key, size=size, least=least, meant=meant),)


def _chock_corners(boat: Boat) -> Iterator[tuple[Case, ...]]:
    """Yield cases of the corners that the tape is read to."""
    plank, corners = boat.description.plank, boat.description.plank.chock_corners
    if corners is None:
        return
    apart, bolts, key = corners.apart, 2 * boat.description.fixing.half_spread, "plank.chock_corners"
    length, off, below = plank.length, abs(corners.aft_of_bolts), corners.below_floor
    yield (
        _case(apart - length * (1 + BEYOND), "P121", f"{key}.apart", apart=apart, length=length),
        _case(apart - length, "P127", f"{key}.apart", apart=apart, length=length),
        _case(bolts - apart, "P122", f"{key}.apart", "between", apart=apart, bolts=bolts),
        _case(length / 2 - apart, "P122", f"{key}.apart", "near", apart=apart, length=length),
    )
    deepest = boat.description.floor.thickness + plank.thickness + plank.crown + CHOCK
    yield (_case(below - deepest, "P123", f"{key}.below_floor", below=below, chock=CHOCK, deepest=deepest),)
    yield (_case(off - plank.width, "P124", f"{key}.aft_of_bolts", "corners", off=off, width=plank.width),)


def _far_off(boat: Boat) -> Iterator[Finding]:
    """Yield a corner of the outline that lies far from the others; a floor's corners frame one another."""
    corners = boat.description.floor.outline
    for number, (x, y) in enumerate(corners if len(corners) > 3 else ()):
        u0, v0, u1, v1 = shapes.around((*corners[:number], *corners[number + 1 :]))
        reach, off = max(u1 - u0, v1 - v0), max(u0 - x, x - u1, v0 - y, y - v1)
        if off > reach + ROUNDING:
            yield boat.tell("F151", f"floor.outline.{number}", number=f"{number + 1}", off=off, reach=reach)


def _letter_findings(boat: Boat) -> Iterator[Finding]:
    """Yield S301: texts that a sheet may show with letters that cannot be printed, each at its key."""
    description = boat.description
    texts = [("boat", description.boat), ("print.printer", description.print.printer or "")]
    texts += [(f"issue.{name}", text) for name, text in description.issue.items()]
    texts += [(f"floor.keep_clear.{number}.name", one.name) for number, one in enumerate(description.floor.keep_clear)]
    texts += [(f"fittings.{number}.name", fitting.name) for number, fitting in enumerate(description.fittings)]
    for key, text in texts:
        if fault := lacking(text):
            yield boat.finding("S301", key, f"{text}: {fault}")


def _hole_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F110, P116 (outside), F112 (kept clear), W101 (holes cut into one another), W102 (thin wood between)."""
    plank = boat.description.plank
    ends = (-plank.fore_edge, -plank.length / 2, plank.width - plank.fore_edge, plank.length / 2)
    for code, outline, holes in (
        ("F110", boat.description.floor.outline, boat.on(Surface.FLOOR)),
        ("P116", shapes.box_corners(ends), boat.on(Surface.PLANK, HoleKind.FITTING)),
    ):
        outside = Worst()
        for hole in holes if outline else ():
            outside.add_hole(hole, shapes.room_inside(outline, hole.at))
        yield from outside.told(boat, code)
    yield from _not_clear(boat)
    for surface in Surface:
        yield from _wood_between(boat, boat.on(surface))


def _plate_findings(boat: Boat) -> Iterator[Finding]:
    """Yield F120 to F124 (places of the plates), F134 (slot), F135 (second screws), F140 (the sleeve's bore)."""
    fixing = boat.description.fixing
    plate, sleeve, thread = fixing.plate, fixing.sleeve, boat.thread
    bolt, widest = thread.nominal, thread.coarse
    if plate is not None:
        yield from _places(boat)
        yield from _neighbours(boat, plate)
        yield from _covered(boat, plate)
        if plate.slot and (travel := max(0.0, plate.slot.length - bolt)) < TRAVEL - ROUNDING:
            yield boat.tell("F134", "fixing.plate.slot.length", travel=travel, guide=TRAVEL, tape=TRAVEL / 2)
        if plate.screws and plate.screws.first and not plate.screws.second:
            yield boat.tell("F135", "fixing.plate.screws")
    if sleeve and sleeve.inner > max(widest, bolt + _MUCH_PLAY) + ROUNDING:
        bore, told = sleeve.inner, {"thread": fixing.bolt.thread, "standard": thread.holes_from}
        yield boat.tell("F140", "fixing.sleeve.inner", bore=bore, play=bore - bolt, widest=widest, **told)


def _not_clear(boat: Boat) -> Iterator[Finding]:
    holes = boat.on(Surface.FLOOR)
    for number, area in enumerate(boat.description.floor.keep_clear):
        worst, box = Worst(), shapes.around(area.corners)
        for hole in holes:
            (x, y), (x0, y0, x1, y1) = hole.at, shapes.grow(box, area.margin + hole.diameter / 2)
            if x0 < x < x1 and y0 < y < y1:
                worst.add_hole(hole, -shapes.room_inside(area.corners, hole.at) - area.margin)
        yield from worst.told(boat, "F112", area=area.name, number=f"{number + 1}", margin=area.margin)


def _wood_between(boat: Boat, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    """Every pair of holes whose wood between is thinner than the smaller of the two is wide."""
    # Holes go into one layer of cells for each doubling of diameter, the small ones first: a large hole looks among
    # the small ones and its like, and small ones never search as far as a large one reaches.
    layers: dict[int, shapes.Cells[Hole]] = {}
    cut, thin = Worst(), Worst()
    for hole in sorted(holes, key=lambda hole: hole.diameter):
        own = math.ceil(math.log2(hole.diameter))
        for layer, cells in layers.items():
            reach = hole.diameter / 2 + 1.5 * min(2.0**layer, hole.diameter)
            for distance, other in cells.near(hole.at, reach):
                room = distance - (hole.diameter + other.diameter) / 2
                if room < -ROUNDING:
                    cut.add((other.key, hole.key), room, (other.id, hole.id))
                    break  # one of its neighbours is enough, and keeps a heap of holes from costing its square
                if room < other.diameter - ROUNDING and not any({hole.kind, other.kind} <= pair for pair in _GUIDED):
                    thin.add((other.key, hole.key), room / other.diameter, (other.id, hole.id, f"{room:.6f}"))
        layers.setdefault(own, shapes.Cells(max(2 * 2.0**own, _CELL))).add(hole.at, hole)
    for (_, key), room, (a, b), more in cut.cases():
        yield boat.tell("W101", key, a=a, b=b, more=more, by=-room)
    for (_, key), share, (a, b, left), more in thin.cases():
        finding = boat.tell("W102", key, a=a, b=b, more=more, left=float(left))
        yield finding._replace(graded=guide_severity(share, 1.0))


def _places(boat: Boat) -> Iterator[Finding]:
    """Plates inside the outline and off the areas to be kept clear."""
    floor, key = boat.description.floor, "fixing.half_spread"
    sides = list(shapes.edges(floor.outline))
    for plate in boat.plates:
        if sides:
            short = min(shapes.room_inside(floor.outline, corner) for corner in plate.corners)
            # A hair smaller, so that a plate may lie flush with the outline.
            cx, cy = plate.centre
            inner = [(x + (cx - x) * ROUNDING, y + (cy - y) * ROUNDING) for x, y in plate.corners]
            if short < -ROUNDING:
                yield boat.tell("F120", key, "past", plate=plate.id, by=-short)
            elif any(shapes.segments_cross(*one, *other) for one, other in product(shapes.edges(inner), sides)):
                yield boat.tell("F120", key, "across", plate=plate.id)
        for number, area in enumerate(floor.keep_clear, 1):
            room = shapes.gap(plate.corners, area.corners)
            if room == 0 or room < area.margin - ROUNDING:
                told = {"plate": plate.id, "area": area.name, "number": f"{number}"}
                yield boat.tell("F121", key, "near" if room else "on", by=room, margin=area.margin, **told)


def _neighbours(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Plates of neighbouring settings, and the two sides' plates."""
    for fore, aft in pairwise(boat.settings):
        room = aft.station - fore.station - plate.length
        if room < -ROUNDING:
            numbers = {"fore": f"{fore.number}", "aft": f"{aft.number}"}
            yield boat.tell("F122", aft.key, length=plate.length, by=-room, **numbers)
    room = 2 * boat.description.fixing.half_spread - plate.width
    if room < -ROUNDING:
        yield boat.tell("F123", "fixing.half_spread", width=plate.width, by=-room, half=plate.width / 2)


def _covered(boat: Boat, plate: Plate) -> Iterator[Finding]:
    """Fittings' holes that a plate covers."""
    worst = Worst()
    for hole in boat.on(Surface.FLOOR, HoleKind.FITTING):
        (x, y), radius = hole.at, hole.diameter / 2
        for solved in boat.plates:
            u, v = solved.centre
            if abs(x - u) < plate.length / 2 + radius and abs(y - v) < plate.width / 2 + radius:
                worst.add_hole(hole, -shapes.room_inside(solved.corners, hole.at), solved.id)
    for (key,), _, (name, what, place), more in worst.cases():
        yield boat.tell("F124", key, hole=name, what=what, more=more, plate=place)
