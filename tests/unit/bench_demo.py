"""The demo boat built by hand, for the tests of the bench, with parts of it changed."""

from hand_boat import FIRST, SECOND, WHINCHAT

from templater.boat.solve import solve
from templater.boat.solved import Boat
from templater.description.keys import Screws

DEMO = WHINCHAT
assert DEMO.fixing.plate is not None
PLATE = DEMO.fixing.plate


def demo(**fixing: object) -> Boat:
    """The demo boat, parts of its fixing replaced."""
    return solve(DEMO.changed(fixing=DEMO.fixing.changed(**fixing)))


def with_floor(thickness: float) -> Boat:
    """The demo boat with another floor."""
    return solve(DEMO.changed(floor=DEMO.floor.changed(thickness=thickness)))


def with_screws(diameter: float, length: float) -> Boat:
    """The demo boat with other plate screws."""
    return demo(plate=PLATE.changed(screws=Screws(diameter=diameter, length=length, first=FIRST, second=SECOND)))
