"""Slips of the pen: figures that can hardly be meant, and letters that cannot be printed.

Every bound here is common practice, without a source, and wide: a boat that is meant so is built all the same, for all
but one of these findings are warnings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from templater.boat.solved import Boat
from templater.checks.guides import ROUNDING
from templater.description.keys import Description
from templater.findings import Finding
from templater.standards.typeface import FAMILY, missing_letters

#: Greatest crown as a part of the plank's length; greatest width as a part of it.
CROWN = 1 / 20
WIDTH = 1 / 5
#: By how much of the plank's length the chock corners may stand out beyond its ends.
BEYOND = 1 / 20
#: Greatest height of a chock below the plank, mm, and greatest diameter of a steering post, mm.
CHOCK = 250.0
POST = 150.0

#: Least thickness of a floor and diameter of a post, mm; of a plank's thickness and width, as parts of its length.
FLOOR, LEAST_POST, THICKNESS, NARROW = 3.0, 8.0, 1 / 200, 1 / 60

#: Code, key, text.
_Slip = tuple[str, str, str]
_Say = Callable[[float], str]


def slip_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings P120 (crown), P121 to P124 (chock corners, pivot), P125 (length), P126 (section), F150 (post)."""
    description = boat.description
    say = description.figures.size
    for code, key, text in (*_plank(description, say), *_corners(description, say), *_far_off(description, say)):
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
            yield boat.finding("P128", key, f"{say(value)} is unlikely small; usual is {say(least)} or more{meant}")


def _far_off(description: Description, say: _Say) -> Iterator[_Slip]:
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


def _plank(description: Description, say: _Say) -> Iterator[_Slip]:
    plank, post = description.plank, description.steering_post.diameter
    if plank.crown > plank.length * CROWN + ROUNDING:
        text = f"a crown of {say(plank.crown)} is 1/{plank.length / plank.crown:.0f} of the plank's length of " \
            f"{say(plank.length)}; a plank's is below 1/20, {say(plank.length * CROWN)} (common practice)"
        yield "P120", "plank.crown", text
    edge = plank.width - plank.fore_edge if plank.pivot_aft_of_bolts > 0 else plank.fore_edge
    if abs(plank.pivot_aft_of_bolts) > edge + ROUNDING:
        text = f"the runners' pivot axis {say(abs(plank.pivot_aft_of_bolts))} from the bolt line would lie clear of " \
            f"the plank, whose edge is {say(edge)} from it"
        yield "P124", "plank.pivot_aft_of_bolts", text
    across = [y for _, y in description.floor.outline]
    if across and plank.length < max(across) - min(across) - ROUNDING:
        text = f"the plank of {say(plank.length)} is shorter than the floor is wide, {say(max(across) - min(across))}"
        yield "P125", "plank.length", text
    if plank.width > plank.length * WIDTH + ROUNDING:
        text = f"the plank is {say(plank.width)} wide and {say(plank.length)} long; a plank's width is below 1/5 of " \
            "its length (common practice)"
        yield "P126", "plank.width", text
    elif plank.thickness > plank.width + ROUNDING:
        text = f"the plank is thicker, {say(plank.thickness)}, than it is wide, {say(plank.width)}"
        yield "P126", "plank.thickness", text
    if post > POST + ROUNDING:
        text = f"a steering post of {say(post)}; posts are below {say(POST)} (common practice)"
        yield "F150", "steering_post.diameter", text


def _corners(description: Description, say: _Say) -> Iterator[_Slip]:
    plank, corners = description.plank, description.plank.chock_corners
    if corners is None:
        return
    apart, bolts, key = corners.apart, 2 * description.fixing.half_spread, "plank.chock_corners.apart"
    if apart > plank.length + ROUNDING:
        code = "P121" if apart > plank.length * (1 + BEYOND) else "P127"
        yield code, key, f"the chock corners are {say(apart)} apart on a plank of {say(plank.length)}"
    elif apart < bolts - ROUNDING:
        text = f"the chock corners, {say(apart)} apart, lie between the bolts, which are {say(bolts)} apart; chocks " \
            "stand at the plank's ends"
        yield "P122", key, text
    elif apart < plank.length / 2 - ROUNDING:
        text = f"the chock corners are {say(apart)} apart, less than half of the plank's {say(plank.length)}; " \
            "chocks stand at its ends"
        yield "P122", key, text
    deepest = description.floor.thickness + plank.thickness + plank.crown + CHOCK
    if corners.below_floor > deepest + ROUNDING:
        text = f"the chock corners {say(corners.below_floor)} below the floor's upper face; floor, plank, crown and " \
            f"a chock of {say(CHOCK)} come to {say(deepest)} (common practice)"
        yield "P123", "plank.chock_corners.below_floor", text
    if abs(corners.aft_of_bolts) > plank.width + ROUNDING:
        text = f"the chock corners {say(abs(corners.aft_of_bolts))} from the bolt line would lie clear of the plank, " \
            f"which is {say(plank.width)} wide"
        yield "P124", "plank.chock_corners.aft_of_bolts", text


def letter_findings(boat: Boat) -> Iterator[Finding]:
    """Yield findings S301: texts with letters that cannot be printed, each at its key."""
    description = boat.description
    for key, text in _texts(description):
        if missing := missing_letters(text):
            named = ", ".join(_named(letter) for letter in missing)
            sentence = f"{text}: cannot be printed, for {FAMILY} lacks {named} - use other letters"
            yield boat.finding("S301", key, sentence)


def _named(letter: str) -> str:
    """Return a letter with its code point, that alone if the letter cannot be shown."""
    point = f"U+{ord(letter):04X}"
    return f"{letter} ({point})" if letter.isprintable() else point


def _texts(description: Description) -> Iterator[tuple[str, str]]:
    """Yield every text of the description that a sheet may show, with its key."""
    yield "boat", description.boat
    for name, text in description.issue:
        yield f"issue.{name}", text
    for number, area in enumerate(description.floor.keep_clear):
        yield f"floor.keep_clear.{number}.name", area.name
    for number, fitting in enumerate(description.fittings):
        yield f"fittings.{number}.name", fitting.name
    yield "print.printer", description.print.printer or ""
