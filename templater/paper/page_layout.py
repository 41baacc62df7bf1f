"""How a page is divided: margin all round, a strip along the foot, a strip at the right, and the window."""

from __future__ import annotations

from dataclasses import dataclass

from templater.findings import DrawingError, Finding
from templater.paper.tiles import Correction, Paper
from templater.plane.shapes import Box
from templater.standards.papers import LONGEST_PAGE
from templater.units import mm_text

#: Height of the strip along the foot and width of the strip at the right, mm.
FOOT, SIDE = 28.0, 12.0
#: Smallest printable area: the title block is 180 mm wide (ISO 7200, from memory); beside the foot stand the bars
#: along the paper and the arrow.
LEAST_WIDTH, LEAST_HEIGHT = 180.0, FOOT + 142.0


@dataclass(frozen=True, slots=True)
class Page:
    """A page's sides and what may be printed on, mm; before correction."""

    width: float
    height: float
    printable: Box

    @property
    def area(self) -> Box:
        """Where the window may stand."""
        x0, y0, x1, y1 = self.printable
        return (x0, y0 + FOOT, x1 - SIDE, y1)

    @property
    def foot(self) -> Box:
        """The strip along the foot, over the full width."""
        x0, y0, x1, _ = self.printable
        return (x0, y0, x1, y0 + FOOT)

    @property
    def side(self) -> Box:
        """The strip at the right, above the foot."""
        _, y0, x1, y1 = self.printable
        return (x1 - SIDE, y0 + FOOT, x1, y1)


def make_page(width: float, height: float, margin: float, correction: Correction) -> Page:
    """Return a page; where a correction makes things larger, the printable area is smaller by as much."""
    half_x, half_y = width / 2 - margin, height / 2 - margin
    grown_y = half_y / max(1.0, correction.along)
    grown_x = (half_x - abs(correction.skew) * half_y) / max(1.0, correction.across)
    middle_x, middle_y = width / 2, height / 2
    return Page(width, height, (middle_x - grown_x, middle_y - grown_y, middle_x + grown_x, middle_y + grown_y))


def page_sides(paper: Paper, *, sideways: bool) -> tuple[float, float]:
    """Return width and height of the page; a roll's free side is as long as a page can be."""
    height = LONGEST_PAGE if paper.height is None else paper.height
    return (height, paper.width) if sideways else (paper.width, height)


def check_page(page: Page, paper: Paper, margin: float) -> DrawingError | None:
    """Return what is wrong if the page is too small to carry bars, title data and a window."""
    x0, y0, x1, y1 = page.printable
    if x1 - x0 >= LEAST_WIDTH - 1e-9 and y1 - y0 >= LEAST_HEIGHT - 1e-9:
        return None
    least = f"{mm_text(LEAST_WIDTH + 2 * margin)} x {mm_text(LEAST_HEIGHT + 2 * margin)} mm"
    text = (
        f"{paper.name}: too small for a template with a margin of {mm_text(margin)} mm - the smallest paper that works "
        f"is {least}, either way up"
    )
    return DrawingError(Finding("S103", "print.paper", text))
