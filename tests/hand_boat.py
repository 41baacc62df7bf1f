"""A boat described by hand for the tests of solving and checking, so that they do not hang on the reader of texts."""

from typing import Any

from templater.description.keys import (
    Bolt,
    ChockCorners,
    Description,
    Fitting,
    Fixing,
    Floor,
    KeepClear,
    Pattern,
    Plank,
    Plate,
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
LEAD = ((2120.0, -30.0), (2120.0, 30.0), (2200.0, 30.0), (2200.0, -30.0))

WHINCHAT = Description(
    boat="Whinchat 3",
    units="mm",
    rule=Rule(runner_base=RunnerBase(max=2350.0, min=2180.0), keep_inside=4.0),
    steering_post=SteeringPost(diameter=32.0),
    floor=Floor(
        thickness=14.0,
        outline=((1980.0, -325.0), (1980.0, 325.0), (2450.0, 300.0), (2450.0, -300.0)),
        keep_clear=(KeepClear(name="sheet lead", corners=LEAD, margin=10.0),),
    ),
    plank=Plank(
        length=2390.0,
        width=175.0,
        thickness=34.0,
        crown=38.0,
        pivot_aft_of_bolts=6.0,
        chock_corners=ChockCorners(apart=2290.0, aft_of_bolts=6.0, below_floor=60.0),
        solid_at_bolts=24.0,
    ),
    fixing=Fixing(
        half_spread=215.0,
        settings=Settings(count=3, pitch=55.0),
        bolt=Bolt(thread="M8"),
        sleeve=Sleeve(outer=18.0, inner=10.0),
        plate=Plate(
            length=46.0,
            width=76.0,
            thickness=3.0,
            slot=Slot(length=16.0, width=8.5),
            screws=Screws(diameter=4.5, length=18.0, first=FIRST, second=SECOND),
        ),
    ),
    fittings=(
        Fitting(
            name="block base", on=Surface.FLOOR, at=(2060.0, 0.0), pattern=Pattern(rectangle=(40.0, 24.0)), drill=5.0
        ),
    ),
).placed({"fixing": Location("boat.yaml", 20, 1), "floor": Location("boat.yaml", 9, 1)})


def fixing(**changes: Any) -> Description:
    """Return the boat with a part of its fixing changed."""
    return WHINCHAT.changed(fixing=WHINCHAT.fixing.changed(**changes))


def plank(**changes: Any) -> Description:
    """Return the boat with a part of its plank changed."""
    return WHINCHAT.changed(plank=WHINCHAT.plank.changed(**changes))


def floor(**changes: Any) -> Description:
    """Return the boat with a part of its floor changed."""
    return WHINCHAT.changed(floor=WHINCHAT.floor.changed(**changes))


def plate(**changes: Any) -> Description:
    """Return the boat with a part of its plates changed."""
    assert WHINCHAT.fixing.plate is not None
    return fixing(plate=WHINCHAT.fixing.plate.changed(**changes))
