"""How far a distance on the assembled paper may be off before the paper is at fault."""

from __future__ import annotations

import math

from templater.accuracy.budget import budget, variable
from templater.accuracy.sheet import SheetErrors
from templater.accuracy.sources import TAPE, Sources
from templater.paper.tiles import TiledSheet

#: Coverage of an allowed error: two standard deviations hold 95 of 100 good sheets. Source: JCGM 100:2008, 6.3.3.
COVERAGE = 2.0


def allowed_error(sheet: TiledSheet, sources: Sources, a: str, b: str) -> float:
    """Return the error allowed between two marks of the assembled sheet, mm, reading the tape included.

    Printing, humidity and every seam between the two count; laying, pricking and drilling come later.

    Args:
        sheet: the sheet on paper.
        sources: from ``default_sources``.
        a: id of a hole or registration mark.
        b: id of another.

    Raises:
        KeyError: if the sheet has no such mark.
    """
    places = {hole.id: hole.at for hole in (*sheet.drawing.holes, *sheet.drawing.expected)}
    places.update({mark.id: mark.at for mark in sheet.registrations})
    first, second = places[a], places[b]
    errors = SheetErrors(sheet, sources, 0.0)
    (au, av), (bu, bv) = errors.paper_error(first), errors.paper_error(second)
    distance = math.dist(first, second)
    along = ((bu - au) * (second[0] - first[0]) + (bv - av) * (second[1] - first[1])) / distance
    return COVERAGE * budget(f"{a} to {b}", "mm", along + variable(TAPE, sources)).sigma
