"""Shims as a shop cuts them: flat blanks to the outline, with the bolt's hole; they are sanded to thickness after."""

from __future__ import annotations

from templater.description.model import Cutting
from templater.drawing.cut import Bore, Caption, CutJob, CutPart, Outline, outline
from templater.drawing.nest import count_text, nest, notes_below, shop_lines
from templater.drawing.shims import ShimPlan
from templater.findings import Location


def draw_shim_cutting(
    boat: str, plans: tuple[ShimPlan, ...], choice: Cutting, stamp: str, place: Location | None = None
) -> CutJob:
    """Return the blanks of the shims, nested.

    Args:
        boat: its name.
        plans: the shims.
        choice: sheet, spacing, sets and kerf, as for the plates.
        stamp: what identifies the description.
        place: of the sheet's size in the description.

    Raises:
        DrawingError: S194, a blank is larger than the sheet that the description names.
    """
    parts = [_blank(plan, choice.kerf, number) for number in range(1, choice.sets + 1) for plan in plans]
    nested, sheets = nest(parts, choice, place)
    thickest = [f"{plan.side} {max(plan.thickness(corner) for corner in _corners(plan)):.2f} mm" for plan in plans]
    lines = (
        f"{boat}: shims, description {stamp}. Unit mm, scale 1:1.",
        f"{count_text(len(parts), len(sheets))}, {choice.spacing:g} mm apart. Sets: {choice.sets}.",
        f"Take stock at least as thick as the thickest corner: {', '.join(thickest)}; sand to the lines of the sheets.",
        *shop_lines(choice),
        "Letters stand upright with forward up, seen from above. Dust mask when sanding.",
    )
    return CutJob(f"{boat}: shims to cut", nested, sheets, notes_below(lines))


def _corners(plan: ShimPlan) -> tuple[tuple[float, float], ...]:
    """Return the blank's corners in the sheet frame, anticlockwise, u to starboard, v forward of the bolt."""
    return (plan.y0, -plan.x1), (plan.y1, -plan.x1), (plan.y1, -plan.x0), (plan.y0, -plan.x0)


def _blank(plan: ShimPlan, kerf: float, number: int) -> CutPart:
    corners = _corners(plan)
    ident = f"shim-{plan.side}-{number}"
    outlines: list[Outline] = [outline(f"{ident}-edge", tuple((u, v, 0.0) for u, v in corners), kerf)]
    bores: tuple[Bore, ...] = ()
    if plan.slot is None:
        bores = (Bore(ident, (0.0, 0.0), plan.hole - kerf),)
    else:
        a, r = plan.slot[0] / 2, plan.slot[1] / 2
        outlines.append(outline(f"{ident}-slot", ((-a, -r, r), (-a, r, r), (a, r, r), (a, -r, r)), kerf))
    box = (corners[0][0], corners[0][1], corners[2][0], corners[2][1])
    foot = (0.0, (corners[0][1] - plan.hole / 2) / 2)
    return CutPart(ident, tuple(outlines), bores, (), (Caption(foot, plan.side[0].upper(), 5.0),), box)
