"""Figures of a solved boat: the plank's arc, tape distances, check distances between holes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from templater.boat.solved import CheckDistance, Hole, Setting, SolvedPlank, TapeFigure
from templater.description.keys import Description
from templater.findings import DescriptionError, Finding
from templater.maths.arcs import along_arc, arc_from_length, slant, slope_correction, slope_degrees
from templater.units import mm_text


def solve_plank(description: Description) -> SolvedPlank:
    """Return the plank as an arc of its upper face, solved from its length along the face and its crown.

    Raises:
        DescriptionError: if the crown is more than a half circle's, or the bolts lie beyond the plank's ends.
    """
    plank = description.plank
    half_spread = description.fixing.half_spread
    try:
        arc = arc_from_length(plank.length, plank.crown)
    except ValueError as fault:
        text = f"{mm_text(plank.crown)} mm: {fault} - allowed: 0 to {mm_text(plank.length / math.pi)} mm"
        raise _fault(description, "P101", "plank.crown", text) from None
    if half_spread > arc.chord / 2:
        text = f"{mm_text(half_spread)} mm lies beyond the plank's ends, {mm_text(arc.chord / 2)} mm from its " \
            "middle - " \
            "take a longer plank or a smaller half spread"
        raise _fault(description, "P102", "fixing.half_spread", text)
    along = along_arc(arc.radius, half_spread)
    lean = 0.0 if math.isinf(arc.radius) else math.asin(half_spread / arc.radius)
    return SolvedPlank(
        radius=arc.radius,
        chord=arc.chord,
        hole_along=along,
        lean=math.degrees(lean),
        lean_shift=plank.thickness * math.tan(lean),
        end_to_hole=plank.length / 2 - along,
    )


def _fault(description: Description, code: str, key: str, text: str) -> DescriptionError:
    return DescriptionError(Finding(code, key, text, description.place(key)))


def tape_figures(description: Description, settings: Sequence[Setting]) -> Iterator[TapeFigure]:
    """Yield what the tape reads at each setting; nothing without chock corners."""
    corners = description.plank.chock_corners
    if corners is None:
        return
    post = description.steering_post
    drop = corners.below_floor + post.tape_height
    for setting in settings:
        level = math.hypot(setting.station + corners.aft_of_bolts, corners.apart / 2)
        yield TapeFigure(
            setting=setting.number,
            level=level,
            drop=drop,
            slant=slant(level, drop),
            slant_from_post=slant(level - post.diameter / 2, drop),
            slope=slope_degrees(level, drop),
            slope_correction=slope_correction(level, drop),
        )


def check_distances(
    description: Description, holes: Sequence[Hole], settings: Sequence[Setting]
) -> Iterator[CheckDistance]:
    """Yield distances to measure: across each setting, along each side, diagonals, and the plank's pair.

    All are straight: over the plank's crown the tape is held taut from hole to hole, not laid along the face.
    """
    places = {hole.id: hole.at for hole in holes}

    def row(a: str, b: str, kind: str) -> CheckDistance:
        return CheckDistance(a, b, kind, math.dist(places[a], places[b]))

    numbers = [setting.number for setting in settings]
    for number in numbers:
        yield row(f"P{number}", f"S{number}", "across")
    for side in "PS":
        for number in numbers[1:]:
            yield row(f"{side}{number - 1}", f"{side}{number}", "along")
    spans = [(number - 1, number) for number in numbers[1:]]
    if len(numbers) > 2:
        spans.append((numbers[0], numbers[-1]))
    for fore, aft in spans:
        yield row(f"P{fore}", f"S{aft}", "diagonal")
        yield row(f"S{fore}", f"P{aft}", "diagonal")
    yield CheckDistance("KP", "KS", "across", 2 * description.fixing.half_spread)
