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


#: By how much a bound is passed, the finding's code, key and sentence, and its figures.
Case = tuple[float, str, str, str, dict[str, float | str]]


def check(boat: Boat) -> tuple[Finding, ...]:
    """Return all findings about a boat, errors first, then by their place in the text.

    The time grows in proportion to the number of holes.
    """
    found = [*hole_findings(boat), *plate_findings(boat), *guide_findings(boat), *_letter_findings(boat)]
    found += [*_fittings(boat), *_far_off(boat)]
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
    plank, hole = boat.description.plank, boat.on(Surface.PLANK, HoleKind.BOLT)[0].diameter
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


def _fittings(boat: Boat) -> Iterator[Finding]:
    """Yield P116: fittings' holes past the plank's edge or end."""
    plank, worst = boat.description.plank, Worst()
    for hole in boat.on(Surface.PLANK, HoleKind.FITTING):
        x, y = hole.at
        worst.add_hole(hole, min(plank.fore_edge + x, plank.width - plank.fore_edge - x, plank.length / 2 - abs(y)))
    yield from worst.told(boat, "P116")


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
