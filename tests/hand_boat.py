"""A boat described by hand for the tests of solving and checking, so that they do not hang on the reader of texts."""

from dataclasses import replace
from typing import Any

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
from templater.findings import Location

FIRST = ((-16.0, -30.0), (-16.0, 30.0), (16.0, -30.0), (16.0, 30.0))
SECOND = ((-16.0, -16.0), (-16.0, 16.0), (16.0, -16.0), (16.0, 16.0))

WHINCHAT = Description(
    boat="Whinchat 3",
    units="mm",
    rule=Rule(RunnerBase(max=2350.0, min=2180.0), keep_inside=4.0),
    steering_post=SteeringPost(32.0),
    floor=Floor(
        14.0,
        outline=((1980.0, -325.0), (1980.0, 325.0), (2450.0, 300.0), (2450.0, -300.0)),
        keep_clear=(KeepClear("sheet lead", ((2120.0, -30.0), (2120.0, 30.0), (2200.0, 30.0), (2200.0, -30.0)), 10.0),),
    ),
    plank=Plank(2390.0, 175.0, 34.0, 38.0, 6.0, ChockCorners(2290.0, 6.0, 60.0), solid_at_bolts=24.0),
    fixing=Fixing(
        half_spread=215.0,
        settings=Settings(count=3, pitch=55.0),
        bolt=Bolt("M8"),
        sleeve=Sleeve(18.0, 10.0),
        plate=Plate(46.0, 76.0, 3.0, Slot(16.0, 8.5), Screws(4.5, 18.0, FIRST, SECOND)),
    ),
    fittings=(Fitting("block base", Surface.FLOOR, (2060.0, 0.0), Rectangle(40.0, 24.0), 5.0),),
    places={"fixing": Location("boat.yaml", 20, 1), "floor": Location("boat.yaml", 9, 1)},
)


def fixing(**changes: Any) -> Description:
    """Return the boat with a part of its fixing changed."""
    return replace(WHINCHAT, fixing=replace(WHINCHAT.fixing, **changes))


def plank(**changes: Any) -> Description:
    """Return the boat with a part of its plank changed."""
    return replace(WHINCHAT, plank=replace(WHINCHAT.plank, **changes))


def floor(**changes: Any) -> Description:
    """Return the boat with a part of its floor changed."""
    return replace(WHINCHAT, floor=replace(WHINCHAT.floor, **changes))


def plate(**changes: Any) -> Description:
    """Return the boat with a part of its plates changed."""
    assert WHINCHAT.fixing.plate is not None
    return fixing(plate=replace(WHINCHAT.fixing.plate, **changes))
