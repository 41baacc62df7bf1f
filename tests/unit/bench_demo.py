"""The demo boat of configs/whinchat-3.yaml built by hand, so that the bench is tested without the text's door."""

from dataclasses import replace

from templater.boat import solve
from templater.boat.model import Boat
from templater.description.model import (
    Bolt,
    ChockCorners,
    Description,
    Fitting,
    Fixing,
    Floor,
    KeepClear,
    Plank,
    Plate,
    Rectangle,
    Rule,
    RunnerBase,
    Screws,
    Settings,
    Sleeve,
    Slot,
    SteeringPost,
    Surface,
)

FIRST = ((-16.0, -30.0), (-16.0, 30.0), (16.0, -30.0), (16.0, 30.0))
SECOND = ((-16.0, -16.0), (-16.0, 16.0), (16.0, -16.0), (16.0, 16.0))
PLATE = Plate(46, 76, 3, slot=Slot(16, 8.5), screws=Screws(4.5, 18, FIRST, SECOND))
DEMO = Description(
    boat="Whinchat 3",
    units="mm",
    rule=Rule(RunnerBase(2350, 2180), keep_inside=4),
    steering_post=SteeringPost(32),
    floor=Floor(
        14,
        outline=((1980, -325), (1980, 325), (2450, 300), (2450, -300)),
        keep_clear=(KeepClear("sheet lead", ((2120, -30), (2120, 30), (2200, 30), (2200, -30)), 10),),
    ),
    plank=Plank(2390, 175, 34, 38, 6, chock_corners=ChockCorners(2290, 6, 60), solid_at_bolts=24),
    fixing=Fixing(215, Settings(3, 55), Bolt("M8"), sleeve=Sleeve(18, 10), plate=PLATE),
    fittings=(Fitting("block base", Surface.FLOOR, (2060, 0), Rectangle(40, 24), 5),),
)


def demo(**fixing: object) -> Boat:
    """The demo boat, parts of its fixing replaced."""
    return solve(replace(DEMO, fixing=replace(DEMO.fixing, **fixing)))


def with_floor(thickness: float) -> Boat:
    """The demo boat with another floor."""
    return solve(replace(DEMO, floor=replace(DEMO.floor, thickness=thickness)))


def with_screws(diameter: float, length: float) -> Boat:
    """The demo boat with other plate screws."""
    return demo(plate=replace(PLATE, screws=Screws(diameter, length, FIRST, SECOND)))
