"""All sheets of a boat, in the order in which they are used."""

from __future__ import annotations

from templater.boat.model import Boat
from templater.drawing.floor import draw_floor
from templater.drawing.marks import Drawing
from templater.drawing.plank import draw_plank


def draw(boat: Boat, *, warnings: tuple[str, ...] = ()) -> tuple[Drawing, ...]:
    """Return the boat's sheets: floor, plank, and with plates also plates and spare plates.

    Args:
        boat: the solved boat.
        warnings: their texts; the sheets say how many there are.
    """
    return (draw_floor(boat, warnings), draw_plank(boat, warnings))
