"""All sheets of a boat, in the order in which they are used."""

from __future__ import annotations

from templater.boat.solved import Boat
from templater.drawing.floor import draw_floor
from templater.drawing.marks import Drawing
from templater.drawing.plank import draw_plank
from templater.drawing.plates import draw_plates, draw_spare_plates


def draw(boat: Boat, *, warnings: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Return the boat's sheets: floor, plank, and with plates also plates and, with second screws, spare plates.

    Args:
        boat: the solved boat.
        warnings: their texts; the sheets say how many there are.
    """
    sheets = [draw_floor(boat, warnings), draw_plank(boat, warnings)]
    plate = boat.description.fixing.plate
    if plate:
        sheets.append(draw_plates(boat, plate, warnings))
        if plate.screws and plate.screws.second:
            sheets.append(draw_spare_plates(boat, plate, warnings))
    return tuple(sheets)
