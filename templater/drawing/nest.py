"""How parts lie on the sheet that they are cut from, and the words that go with them to the shop."""

from __future__ import annotations

from templater.description.model import Cutting
from templater.drawing.cut import Caption, CutPart, Layer
from templater.findings import DrawingError, Finding, Location
from templater.plane.shapes import Box

#: Sheet that parts are nested on where the description names none, mm; made longer for a longer part.
SHEET = (500.0, 300.0)
#: Clear space between sheets in the file, and height of its words, mm.
_APART, _WORDS = 20.0, 5.0


def notes_below(lines: tuple[str, ...]) -> tuple[Caption, ...]:
    """Return the words for the shop, below the sheets."""
    return tuple(
        Caption((0.0, -1.8 * _WORDS * (number + 1)), line, _WORDS, Layer.NOTE, centred=False)
        for number, line in enumerate(lines)
    )


def count_text(parts: int, sheets: int) -> str:
    """Return how many parts lie on how many sheets."""
    many = "1 part" if parts == 1 else f"{parts} parts"
    return f"{many} on {'one sheet' if sheets == 1 else f'{sheets} sheets'}"


def shop_lines(choice: Cutting) -> tuple[str, ...]:
    """Return what every shop must know: whether the kerf is made up for, and what the layers mean."""
    kerf = (
        f"Kerf compensation {choice.kerf:g} mm IS in the outlines: they lie {choice.kerf / 2:g} mm off the finished "
        "edge. Add none."
        if choice.kerf
        else "NO kerf compensation: every outline is the finished edge."
    )
    return (
        kerf,
        "Layers: cut = cut through; countersink = rim of the cone, do not cut; mark = scribe or leave out;",
        "sheet = edge of the sheet, do not cut; notes = these words.",
    )


def nest(
    parts: list[CutPart], choice: Cutting, place: Location | None = None
) -> tuple[tuple[CutPart, ...], tuple[Box, ...]]:
    """Return the parts in rows on as few sheets as that takes, the deepest first, and the sheets' boxes.

    Args:
        parts: what is to be cut; each is laid with its longer side along the sheet's.
        choice: the sheet, the spacing and the kerf.
        place: of the sheet's size in the description.

    Raises:
        DrawingError: S194, a part is larger than the sheet that the description names.
    """
    gap = choice.spacing + choice.kerf
    lying = [_lying(part) for part in parts]
    longest = max(part.box[2] - part.box[0] for part in lying) + 2 * gap
    deepest = max(part.box[3] - part.box[1] for part in lying) + 2 * gap
    width, height = choice.sheet or (max(SHEET[0], longest), max(SHEET[1], deepest))
    if choice.sheet and not (longest <= width and deepest <= height):
        turned = longest <= height and deepest <= width
        if not turned:
            text = (
                f"{width:g} x {height:g} mm - too small for a part of {longest - 2 * gap:g} x {deepest - 2 * gap:g} mm "
                f"with {gap:g} mm round it; allowed: at least {longest:g} x {deepest:g} mm"
            )
            raise DrawingError(Finding("S194", "cutting.sheet", text, place))
        width, height = height, width
    order = sorted(range(len(lying)), key=lambda n: (lying[n].box[1] - lying[n].box[3], n))
    placed: dict[int, CutPart] = {}
    rows: list[list[float]] = []  # sheet, foot, depth, where the next part goes
    tops: list[float] = []  # of each sheet, how far it is filled
    for number in order:
        part = lying[number]
        wide, deep = part.box[2] - part.box[0], part.box[3] - part.box[1]
        row = next((r for r in rows if r[3] + wide + gap <= width + 1e-9 and deep <= r[2] + 1e-9), None)
        if row is None:
            sheet = next((n for n, top in enumerate(tops) if top + deep + gap <= height + 1e-9), None)
            if sheet is None:
                sheet = len(tops)
                tops.append(gap)
            row = [float(sheet), tops[sheet], deep, gap]
            rows.append(row)
            tops[sheet] += deep + gap
        u = row[0] * (width + _APART) + row[3]
        placed[number] = part.moved(u - part.box[0], row[1] - part.box[1])
        row[3] += wide + gap
    sheets = tuple((n * (width + _APART), 0.0, n * (width + _APART) + width, height) for n in range(len(tops)))
    return tuple(placed[number] for number in range(len(parts))), sheets


def _lying(part: CutPart) -> CutPart:
    """Return a part with its longer side along u."""
    u0, v0, u1, v1 = part.box
    return part if u1 - u0 >= v1 - v0 else part.moved(0.0, 0.0, turn=1)
