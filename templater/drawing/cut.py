"""What a shop cuts from sheet metal: closed outlines, holes as circles, and marks that are not cut through.

Parts are drawn as they lie on the floor, seen from above, u to starboard, v forward; then they are nested (a quarter
turn and a shift, never mirrored) on metal sheets side by side in one frame, mm, v up. See ``cut_parts`` for the parts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum

from templater.plane.shapes import Box, Point

#: Bulge of a quarter circle: the tangent of a quarter of its angle. Source: DXF reference, VERTEX group code 42.
QUARTER = math.tan(math.pi / 8)
#: Points nearer than this are one, mm.
_SAME = 1e-6


class Layer(Enum):
    """What is to be done along a line. The value names layer and group in the files."""

    CUT = "cut"                  # cut through
    COUNTERSINK = "countersink"  # rim of the cone, not cut through
    MARK = "mark"                # scribed or engraved at most
    SHEET = "sheet"              # edge of the metal: not to be cut
    NOTE = "notes"               # words for the shop


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed outline. Each corner is (u, v, bulge): the bulge of the piece that starts there, anticlockwise positive.

    Metal lies to the left of the way round: anticlockwise round a part, clockwise round an opening in it.
    """

    id: str
    corners: tuple[tuple[float, float, float], ...]
    layer: Layer = Layer.CUT


@dataclass(frozen=True, slots=True)
class Bore:
    """A circle."""

    id: str
    at: Point
    diameter: float
    layer: Layer = Layer.CUT


@dataclass(frozen=True, slots=True)
class Scribe:
    """A straight line that is not cut."""

    a: Point
    b: Point
    layer: Layer = Layer.MARK


@dataclass(frozen=True, slots=True)
class Caption:
    """Words, centred on ``at`` or begun there; ``turn`` is quarter turns anticlockwise."""

    at: Point
    text: str
    size: float
    layer: Layer = Layer.MARK
    turn: int = 0
    centred: bool = True


@dataclass(frozen=True, slots=True)
class CutPart:
    """One piece of metal, its marks, and its box."""

    name: str
    outlines: tuple[Outline, ...]
    bores: tuple[Bore, ...]
    scribes: tuple[Scribe, ...]
    captions: tuple[Caption, ...]
    box: Box

    def moved(self, du: float, dv: float, turn: int = 0) -> CutPart:
        """Return the part turned by quarter turns anticlockwise about the origin, then moved."""

        def go(point: Point) -> Point:
            u, v = point
            for _ in range(turn % 4):
                u, v = -v, u
            return u + du, v + dv

        ends = [go((self.box[0], self.box[1])), go((self.box[2], self.box[3]))]
        return CutPart(
            self.name,
            tuple(replace(o, corners=tuple((*go((u, v)), b) for u, v, b in o.corners)) for o in self.outlines),
            tuple(replace(bore, at=go(bore.at)) for bore in self.bores),
            tuple(replace(line, a=go(line.a), b=go(line.b)) for line in self.scribes),
            tuple(replace(words, at=go(words.at), turn=(words.turn + turn) % 4) for words in self.captions),
            (min(e[0] for e in ends), min(e[1] for e in ends), max(e[0] for e in ends), max(e[1] for e in ends)),
        )


@dataclass(frozen=True, slots=True)
class CutJob:
    """All that one file for the shop holds: nested parts, the metal sheets' edges, and words."""

    title: str
    parts: tuple[CutPart, ...]
    sheets: tuple[Box, ...]
    notes: tuple[Caption, ...]

    @property
    def outlines(self) -> tuple[Outline, ...]:
        """All outlines of all parts."""
        return tuple(outline for part in self.parts for outline in part.outlines)

    @property
    def bores(self) -> tuple[Bore, ...]:
        """All circles of all parts."""
        return tuple(bore for part in self.parts for bore in part.bores)

    @property
    def scribes(self) -> tuple[Scribe, ...]:
        """All lines of all parts that are not cut, and the sheets' edges."""
        edges = []
        for u0, v0, u1, v1 in self.sheets:
            ring = ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
            edges += [Scribe(a, b, Layer.SHEET) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)]
        return (*(line for part in self.parts for line in part.scribes), *edges)

    @property
    def captions(self) -> tuple[Caption, ...]:
        """All words."""
        return (*(words for part in self.parts for words in part.captions), *self.notes)

    @property
    def box(self) -> Box:
        """Box of metal sheets and words; words are taken as wide as the widest typeface would set them."""
        us = [self.sheets[0][0], *(sheet[2] for sheet in self.sheets)]
        us += [words.at[0] + 0.7 * words.size * len(words.text) for words in self.notes]
        vs = [v for sheet in self.sheets for v in (sheet[1], sheet[3])]
        vs += [words.at[1] - words.size for words in self.notes]
        return min(us), min(vs), max(us), max(vs)


#: A corner before it is rounded: u, v, radius.
Corner = tuple[float, float, float]


def outline(id_: str, corners: tuple[Corner, ...], kerf: float = 0.0) -> Outline:
    """Return an outline through corners, right-angled ones rounded by their radius, moved off the metal by half a kerf.

    Args:
        id_: of the outline.
        corners: u, v, radius; anticlockwise round a part, clockwise round an opening.
        kerf: width that the cut takes away; 0 leaves the finished edge.
    """
    ring = _cleaned(corners)
    count = len(ring)
    moved: list[tuple[float, float, float, float]] = []
    for number, (u, v, radius) in enumerate(ring):
        before, after = ring[number - 1], ring[(number + 1) % count]
        d1, d2 = _way(before, (u, v)), _way((u, v), after)
        cross = d1[0] * d2[1] - d1[1] * d2[0]
        n1, n2 = (d1[1], -d1[0]), (d2[1], -d2[0])
        share = kerf / 2 / (1 + n1[0] * n2[0] + n1[1] * n2[1])
        turned = radius and max(radius + math.copysign(kerf / 2, cross), 0.0)
        moved.append((u + share * (n1[0] + n2[0]), v + share * (n1[1] + n2[1]), turned, cross))
    points: list[tuple[float, float, float]] = []
    for number, (u, v, radius, cross) in enumerate(moved):
        if radius <= _SAME:
            points.append((u, v, 0.0))
            continue
        d1, d2 = _way(moved[number - 1], (u, v)), _way((u, v), moved[(number + 1) % count])
        points.append((u - radius * d1[0], v - radius * d1[1], math.copysign(QUARTER, cross)))
        points.append((u + radius * d2[0], v + radius * d2[1], 0.0))
    return Outline(id_, _joined(points))


def _way(a: tuple[float, ...], b: tuple[float, ...]) -> Point:
    """Return the unit vector from a to b."""
    length = math.dist(a[:2], b[:2])
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def _cleaned(corners: tuple[Corner, ...]) -> list[Corner]:
    """Return corners without doubled ones and without those in a straight line."""
    ring = [c for n, c in enumerate(corners) if math.dist(c[:2], corners[n - 1][:2]) > _SAME]
    kept = []
    for number, corner in enumerate(ring):
        d1, d2 = _way(ring[number - 1], corner), _way(corner, ring[(number + 1) % len(ring)])
        if abs(d1[0] * d2[1] - d1[1] * d2[0]) > _SAME:
            kept.append(corner)
    return kept


def _joined(points: list[tuple[float, float, float]]) -> tuple[tuple[float, float, float], ...]:
    """Return corners without straight pieces of no length, as between the two quarters of a round end."""
    kept = []
    for number, point in enumerate(points):
        following = points[(number + 1) % len(points)]
        if point[2] == 0.0 and math.dist(point[:2], following[:2]) <= _SAME:
            continue
        kept.append(point)
    return tuple(kept)
