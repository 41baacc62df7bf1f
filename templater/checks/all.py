"""Everything that is checked about a solved boat: the rule, the floor, the plates, the plank, the wood, the letters.

Errors are what cannot be built or breaks the rule. A guide value that is clearly missed is a warning, one that is only
just missed is advice; class rules and the builder's own experience outrank every guide value. Every bound of a slip of
the pen is common practice, without a source, and wide: a boat that is meant so is built all the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from templater.boat.solved import Boat, HoleKind
from templater.checks.floor import hole_findings, plate_findings
from templater.checks.wood import ROUNDING, Worst, edge_key, guide_findings
from templater.description.keys import Description, Surface
from templater.findings import Finding, Severity
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

#: Code, key, text.
_Found = tuple[str, str, str]
_Say = Callable[[float], str]
_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 2}


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
    return (_ORDER[finding.severity], *place, finding.code, finding.key, finding.text)


def _rule_findings(boat: Boat) -> Iterator[Finding]:
    """Yield R110 (outside the greatest distance), R111 (short of the least), R112 (inside by too little)."""
    rule = boat.description.rule
    if rule is None:
        return
    say = boat.description.figures.size
    limit, keep = rule.runner_base, rule.keep_inside
    for setting in boat.settings:
        what = f"setting {setting.number}: the runner base is {say(setting.runner_base)}"
        to_max, to_min = setting.to_max, setting.to_min
        if to_max is not None and to_max < -ROUNDING:
            text = f"{what}, {say(-to_max)} beyond the rule's greatest, {say(limit.max)} - move it "
            inside = f" to stand {say(keep)} inside" if keep else ""
            yield boat.finding("R110", setting.key, f"{text}{say(keep - to_max)} forward{inside}")
        elif to_max is not None and to_max < keep - ROUNDING:
            text = f"{what}, only {say(to_max)} inside the rule's greatest, {say(limit.max)}; wanted: {say(keep)} "
            yield boat.finding("R112", setting.key, f"{text}inside - move it {say(keep - to_max)} forward")
        if to_min is not None and limit.min is not None and to_min < -ROUNDING:
            text = f"{what}, {say(-to_min)} short of the rule's least, {say(limit.min)} - move it {say(-to_min)} aft"
            yield boat.finding("R111", setting.key, f"{text} or leave it out")


def _plank_findings(boat: Boat) -> Iterator[Finding]:
    """Yield P110, P111 (plug), P112 (edges), P114 (ends), P116 (fittings), P117 (share of the width)."""
    for code, key, text in (*_bolts(boat, boat.description.figures.size), *_fittings(boat)):
        yield boat.finding(code, key, text)


def _slip_findings(boat: Boat) -> Iterator[Finding]:
    """Yield P120 (crown), P121 to P124 and P127 (chock corners, pivot), P125, P126, P128 (sizes), F150, F151."""
    description = boat.description
    say = description.figures.size
    for code, key, text in (*_sizes(description, say), *_corners(description, say), *_far_off(description, say)):
        yield boat.finding(code, key, f"{text} - is a digit too many, or one missing?")
    plank = description.plank
    for key, value, least in (
        ("floor.thickness", description.floor.thickness, FLOOR),
        ("plank.thickness", plank.thickness, plank.length * THICKNESS),
        ("plank.width", plank.width, plank.length * NARROW),
        ("steering_post.diameter", description.steering_post.diameter, LEAST_POST),
    ):
        if value < least - ROUNDING:
            meant = f" - if these are centimetres, write {value * 10:g}" if description.units == "mm" else ""
            yield boat.finding("P128", key, f"{say(value)} is unusually small; usual is {say(least)} or more{meant}")


def _bolts(boat: Boat, say: _Say) -> Iterator[_Found]:
    """Yield what is wrong about the bolt holes, which are alike."""
    plank, hole = boat.description.plank, boat.on(Surface.PLANK, HoleKind.BOLT)[0].diameter
    plug, radius = plank.solid_at_bolts, hole / 2
    if plug is not None:
        wall, key = (plug - hole) / 2, "plank.solid_at_bolts"
        if wall < -ROUNDING:
            text = f"the bolt's hole of {say(hole)} is larger than the solid plug of {say(plug)} - allowed: a plug of"
            yield "P110", key, f"{text} {say(hole + 2 * WALL)} or more"
        elif wall < WALL - ROUNDING:
            text = f"the solid plug of {say(plug)} leaves {say(wall)} of wood round a hole of {say(hole)}; guide:"
            yield "P111", key, f"{text} {say(WALL)} (common practice) - take a plug of {say(hole + 2 * WALL)} or more"
    for name, distance in (("fore", plank.fore_edge), ("aft", plank.width - plank.fore_edge)):
        if distance < radius - ROUNDING:
            text = (
                f"the bolts' holes reach {say(radius - distance)} past the plank's {name} edge - allowed: the bolt "
                f"line {say(radius)} or more inside; move it, or take a wider plank"
            )
            yield "P112", edge_key(boat), text
    if boat.plank.end_to_hole < radius - ROUNDING:
        text = f"the bolts' holes reach {say(radius - boat.plank.end_to_hole)} past the plank's ends"
        yield "P114", "fixing.half_spread", f"{text} - take a longer plank or a smaller half spread"
    share = hole / plank.width
    if share > SHARE:  # as much of the width as of a solid section's modulus, b h^2 / 6
        text = (
            f"a hole of {say(hole)} takes {100 * share:.1f} per cent of the plank's width of {say(plank.width)} at "
            "each bolt, and of a solid plank's strength in bending there"
        )
        yield "P117", "plank.width", text


def _fittings(boat: Boat) -> Iterator[_Found]:
    plank, say, worst = boat.description.plank, boat.description.figures.size, Worst()
    for hole in boat.on(Surface.PLANK, HoleKind.FITTING):
        x, y = hole.at
        room = min(plank.fore_edge + x, plank.width - plank.fore_edge - x, plank.length / 2 - abs(y))
        room -= hole.diameter / 2
        if room < -ROUNDING:
            worst.add((hole.key,), room, (hole.id, hole.name))
    for (key,), room, (name, what), more in worst.cases():
        text = f"hole {name} ({what}){more} reaches {say(-room)} past the plank's edge or end - move it that far inward"
        yield "P116", str(key), text


def _sizes(description: Description, say: _Say) -> Iterator[_Found]:
    plank, post = description.plank, description.steering_post.diameter
    length, width = plank.length, plank.width
    if plank.crown > length * CROWN + ROUNDING:
        text = f"a crown of {say(plank.crown)} is 1/{length / plank.crown:.0f} of the plank's length of {say(length)};"
        yield "P120", "plank.crown", f"{text} a plank's is below 1/20, {say(length * CROWN)} (common practice)"
    pivot, edge = plank.pivot_aft_of_bolts, plank.fore_edge
    if pivot > 0:
        edge = width - edge
    if abs(pivot) > edge + ROUNDING:
        text = f"the runners' pivot axis {say(abs(pivot))} from the bolt line would lie clear of the plank, whose edge"
        yield "P124", "plank.pivot_aft_of_bolts", f"{text} is {say(edge)} from it"
    across = [y for _, y in description.floor.outline]
    if across and length < max(across) - min(across) - ROUNDING:
        text = f"the plank of {say(length)} is shorter than the floor is wide, {say(max(across) - min(across))}"
        yield "P125", "plank.length", text
    if width > length * WIDTH + ROUNDING:
        text = f"the plank is {say(width)} wide and {say(length)} long; a plank's width is below 1/5 of its length"
        yield "P126", "plank.width", f"{text} (common practice)"
    elif plank.thickness > width + ROUNDING:
        text = f"the plank is thicker, {say(plank.thickness)}, than it is wide, {say(width)}"
        yield "P126", "plank.thickness", text
    if post > POST + ROUNDING:
        text = f"a steering post of {say(post)}; posts are below {say(POST)} (common practice)"
        yield "F150", "steering_post.diameter", text


def _corners(description: Description, say: _Say) -> Iterator[_Found]:
    plank, corners = description.plank, description.plank.chock_corners
    if corners is None:
        return
    apart, bolts, key = corners.apart, 2 * description.fixing.half_spread, "plank.chock_corners.apart"
    if apart > plank.length + ROUNDING:
        code = "P121" if apart > plank.length * (1 + BEYOND) else "P127"
        yield code, key, f"the chock corners are {say(apart)} apart on a plank of {say(plank.length)}"
    elif apart < bolts - ROUNDING:
        text = f"the chock corners, {say(apart)} apart, lie between the bolts, which are {say(bolts)} apart; chocks"
        yield "P122", key, f"{text} stand at the plank's ends"
    elif apart < plank.length / 2 - ROUNDING:
        text = f"the chock corners are {say(apart)} apart, less than half of the plank's {say(plank.length)}; chocks"
        yield "P122", key, f"{text} stand at its ends"
    deepest = description.floor.thickness + plank.thickness + plank.crown + CHOCK
    if corners.below_floor > deepest + ROUNDING:
        text = (
            f"the chock corners {say(corners.below_floor)} below the floor's upper face; floor, plank, crown and a "
            f"chock of {say(CHOCK)} come to {say(deepest)} (common practice)"
        )
        yield "P123", "plank.chock_corners.below_floor", text
    if abs(corners.aft_of_bolts) > plank.width + ROUNDING:
        text = (
            f"the chock corners {say(abs(corners.aft_of_bolts))} from the bolt line would lie clear of the plank, "
            f"which is {say(plank.width)} wide"
        )
        yield "P124", "plank.chock_corners.aft_of_bolts", text


def _far_off(description: Description, say: _Say) -> Iterator[_Found]:
    """Yield a corner of the outline that lies far from the others; a floor's corners frame one another."""
    corners = description.floor.outline
    for number, (x, y) in enumerate(corners if len(corners) > 3 else ()):
        others = [*corners[:number], *corners[number + 1 :]]
        xs, ys = [one[0] for one in others], [one[1] for one in others]
        reach = max(max(xs) - min(xs), max(ys) - min(ys))
        off = max(min(xs) - x, x - max(xs), min(ys) - y, y - max(ys))
        if off > reach + ROUNDING:
            text = f"corner {number + 1} of the floor lies {say(off)} outside the others, which lie within {say(reach)}"
            yield "F151", f"floor.outline.{number}", text


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
