"""Everything that is checked about a solved boat: the rule, the floor, the plates, the plank, the wood, the letters.

Errors are what cannot be built or breaks the rule. A guide value that is clearly missed is a warning, one that is only
just missed is advice; class rules and the builder's own experience outrank every guide value. Every bound of a slip of
the pen is common practice, without a source, and wide: a boat that is meant so is built all the same.
"""

from __future__ import annotations

from collections.abc import Iterator

from templater.boat.solved import Boat, HoleKind
from templater.checks.floor import hole_findings, plate_findings
from templater.checks.wood import ROUNDING, Worst, edge_key, guide_findings
from templater.description.keys import Surface
from templater.findings import Finding
from templater.plane.shapes import around
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


def check(boat: Boat) -> tuple[Finding, ...]:
    """Return all findings about a boat, errors first, then by their place in the text.

    The time grows in proportion to the number of holes.
    """
    found = (
        *_rule_findings(boat),
        *hole_findings(boat),
        *plate_findings(boat),
        *_plank_findings(boat),
        *_slip_findings(boat),
        *guide_findings(boat),
        *_letter_findings(boat),
    )
    return tuple(sorted(found, key=_rank))


def _rank(finding: Finding) -> tuple[int, str, int, int, str, str, str]:
    """Return what findings are sorted by; those without a place in the text come last."""
    where = finding.where
    place = (where.file, where.line, where.column) if where else ("\U0010ffff", 0, 0)
    return (finding.severity.rank, *place, finding.code, finding.key, finding.text)


def _rule_findings(boat: Boat) -> Iterator[Finding]:
    """Yield R110 (outside the greatest distance), R111 (short of the least), R112 (inside by too little)."""
    rule = boat.description.rule
    if rule is None:
        return
    limit, keep = rule.runner_base, rule.keep_inside
    for setting in boat.settings:
        to_max, to_min, key = setting.to_max, setting.to_min, setting.key
        number, base = f"{setting.number}", setting.runner_base
        if to_max is not None and to_max < -ROUNDING:
            forward, inside = keep - to_max, f" to stand {boat.description.figures.size(keep)} inside" if keep else ""
            yield boat.tell(
                "R110", key, setting=number, base=base, by=-to_max, limit=limit.max, forward=forward, inside=inside
            )
        elif to_max is not None and to_max < keep - ROUNDING:
            forward = keep - to_max
            yield boat.tell(
                "R112", key, setting=number, base=base, by=to_max, limit=limit.max, forward=forward, keep=keep
            )
        if to_min is not None and limit.min is not None and to_min < -ROUNDING:
            yield boat.tell("R111", key, setting=number, base=base, by=-to_min, limit=limit.min)


def _plank_findings(boat: Boat) -> Iterator[Finding]:
    """Yield P110, P111 (plug), P112 (edges), P114 (ends), P116 (fittings), P117 (share of the width)."""
    plank, hole = boat.description.plank, boat.on(Surface.PLANK, HoleKind.BOLT)[0].diameter
    plug, radius, key = plank.solid_at_bolts, hole / 2, "plank.solid_at_bolts"
    if plug is not None:
        wall, least = (plug - hole) / 2, hole + 2 * WALL
        if wall < -ROUNDING:
            yield boat.tell("P110", key, hole=hole, plug=plug, least=least)
        elif wall < WALL - ROUNDING:
            yield boat.tell("P111", key, hole=hole, plug=plug, wall=wall, guide=WALL, least=least)
    for edge, distance in (("fore", plank.fore_edge), ("aft", plank.width - plank.fore_edge)):
        if distance < radius - ROUNDING:
            yield boat.tell("P112", edge_key(boat), by=radius - distance, edge=edge, radius=radius)
    if boat.plank.end_to_hole < radius - ROUNDING:
        yield boat.tell("P114", "fixing.half_spread", by=radius - boat.plank.end_to_hole)
    share = hole / plank.width
    if share > SHARE:  # as much of the width as of a solid section's modulus, b h^2 / 6
        yield boat.tell("P117", "plank.width", hole=hole, share=f"{100 * share:.1f}", width=plank.width)
    worst = Worst()
    for fitting in boat.on(Surface.PLANK, HoleKind.FITTING):
        x, y = fitting.at
        room = min(plank.fore_edge + x, plank.width - plank.fore_edge - x, plank.length / 2 - abs(y))
        worst.add_short((fitting.key,), room - fitting.diameter / 2, (fitting.id, fitting.name))
    for (of, *_), room, (name, what), more in worst.cases():
        yield boat.tell("P116", str(of), hole=name, what=what, more=more, by=-room)


def _slip_findings(boat: Boat) -> Iterator[Finding]:
    """Yield P120 (crown), P121 to P124 and P127 (chock corners, pivot), P125, P126, P128 (sizes), F150, F151."""
    description, plank = boat.description, boat.description.plank
    length, width, post = plank.length, plank.width, description.steering_post.diameter
    if plank.crown > length * CROWN + ROUNDING:
        part = f"{length / plank.crown:.0f}"
        yield boat.tell("P120", "plank.crown", crown=plank.crown, part=part, length=length, most=length * CROWN)
    pivot, edge = plank.pivot_aft_of_bolts, plank.fore_edge
    if pivot > 0:
        edge = width - edge
    if abs(pivot) > edge + ROUNDING:
        yield boat.tell("P124", "plank.pivot_aft_of_bolts", "pivot", off=abs(pivot), edge=edge)
    ys = [y for _, y in description.floor.outline]
    if ys and length < max(ys) - min(ys) - ROUNDING:
        yield boat.tell("P125", "plank.length", length=length, across=max(ys) - min(ys))
    if width > length * WIDTH + ROUNDING:
        yield boat.tell("P126", "plank.width", "width", width=width, length=length)
    elif plank.thickness > width + ROUNDING:
        yield boat.tell("P126", "plank.thickness", "thickness", thickness=plank.thickness, width=width)
    if post > POST + ROUNDING:
        yield boat.tell("F150", "steering_post.diameter", post=post, most=POST)
    yield from _corner_slips(boat)
    yield from _far_off(boat)
    for key, value, least in (
        ("floor.thickness", description.floor.thickness, FLOOR),
        ("plank.thickness", plank.thickness, length * THICKNESS),
        ("plank.width", width, length * NARROW),
        ("steering_post.diameter", post, LEAST_POST),
    ):
        if value < least - ROUNDING:
            meant = f" - if these are centimetres, write {value * 10:g}" if description.units == "mm" else ""
            yield boat.tell("P128", key, size=value, least=least, meant=meant)


def _corner_slips(boat: Boat) -> Iterator[Finding]:
    plank, corners = boat.description.plank, boat.description.plank.chock_corners
    if corners is None:
        return
    apart, bolts, key = corners.apart, 2 * boat.description.fixing.half_spread, "plank.chock_corners"
    if apart > plank.length + ROUNDING:
        code = "P121" if apart > plank.length * (1 + BEYOND) else "P127"
        yield boat.tell(code, f"{key}.apart", apart=apart, length=plank.length)
    elif apart < bolts - ROUNDING:
        yield boat.tell("P122", f"{key}.apart", "between", apart=apart, bolts=bolts)
    elif apart < plank.length / 2 - ROUNDING:
        yield boat.tell("P122", f"{key}.apart", "near", apart=apart, length=plank.length)
    deepest = boat.description.floor.thickness + plank.thickness + plank.crown + CHOCK
    if corners.below_floor > deepest + ROUNDING:
        yield boat.tell("P123", f"{key}.below_floor", below=corners.below_floor, chock=CHOCK, deepest=deepest)
    if abs(corners.aft_of_bolts) > plank.width + ROUNDING:
        yield boat.tell("P124", f"{key}.aft_of_bolts", "corners", off=abs(corners.aft_of_bolts), width=plank.width)


def _far_off(boat: Boat) -> Iterator[Finding]:
    """Yield a corner of the outline that lies far from the others; a floor's corners frame one another."""
    corners = boat.description.floor.outline
    for number, (x, y) in enumerate(corners if len(corners) > 3 else ()):
        u0, v0, u1, v1 = around((*corners[:number], *corners[number + 1 :]))
        reach, off = max(u1 - u0, v1 - v0), max(u0 - x, x - u1, v0 - y, y - v1)
        if off > reach + ROUNDING:
            yield boat.tell("F151", f"floor.outline.{number}", number=f"{number + 1}", off=off, reach=reach)


def _letter_findings(boat: Boat) -> Iterator[Finding]:
    """Yield S301: texts that a sheet may show with letters that cannot be printed, each at its key."""
    description = boat.description
    texts = [("boat", description.boat), ("print.printer", description.print.printer or "")]
    texts += [(f"issue.{name}", text) for name, text in description.issue]
    texts += [(f"floor.keep_clear.{number}.name", one.name) for number, one in enumerate(description.floor.keep_clear)]
    texts += [(f"fittings.{number}.name", fitting.name) for number, fitting in enumerate(description.fittings)]
    for key, text in texts:
        if fault := lacking(text):
            yield boat.finding("S301", key, f"{text}: {fault}")
