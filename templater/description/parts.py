"""The smaller parts of the description as pydantic models: what may stand under each key, and what it means.

The field descriptions are what editors show; they are written for the builder. Defaults stand in ``model.py`` alone:
only the keys that were given are passed on to its dataclasses.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, model_validator

from templater.description import model
from templater.reader.compose import Leaf
from templater.reader.values import Choice, Count, Known, Length, Number, Text, YesNo, members
from templater.standards.bolts import BOLT_HEADS, NUT_KINDS, WASHER_KINDS

AnyLength = Annotated[float, Length()]
Positive = Annotated[float, Length(above=0)]
NotNegative = Annotated[float, Length(least=0)]
Degrees = Annotated[float, Number(least=0, most=45, unit=" degrees")]
Turn = Annotated[float, Number(least=-360, most=360, unit=" degrees")]
Name = Annotated[str, Text(40)]
TitleText = Annotated[str, Text(80, 0)]
XY = tuple[AnyLength, AnyLength]
Corners = Annotated[tuple[XY, ...], Field(min_length=3, max_length=400)]
#: Most holes of one pattern.
MOST_HOLES = 100_000


class Part(BaseModel):
    """A mapping of the description: unknown keys are refused, ``makes`` is the dataclass that it becomes."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    makes: ClassVar[type[Any]]

    @model_validator(mode="before")
    @classmethod
    def _without_nothing(cls, data: Any, _info: ValidationInfo[Known]) -> Any:
        """Take a known key with nothing behind it as not given."""
        if not isinstance(data, dict):
            return data
        return {name: value for name, value in data.items() if name not in cls.model_fields or not _nothing(value)}

    def built(self) -> Any:
        """Return the dataclass, in mm."""
        return self.makes(**self.parts())

    def parts(self) -> dict[str, Any]:
        """Return what was given, key by key, every part turned into its dataclass."""
        return {name: built(getattr(self, name)) for name in sorted(self.model_fields_set)}


def built(value: Any) -> Any:
    """Return a value with every part in it turned into its dataclass."""
    if isinstance(value, Part):
        return value.built()
    return tuple(built(item) for item in value) if isinstance(value, tuple) else value


def _nothing(value: object) -> bool:
    return isinstance(value, Leaf) and value.value is None


class RunnerBase(Part):
    """Distance along the hull from the steering pivot axis to the side runners' pivot axis."""

    makes = model.RunnerBase
    max: Positive = Field(description="greatest distance that the class rule allows")
    min: Positive | None = Field(None, description="least distance that the class rule allows")


class Rule(Part):
    """What the class rule asks; leave the whole section out where no rule applies."""

    makes = model.Rule
    runner_base: RunnerBase = Field(description="distance along the hull, steering pivot axis to runner pivot axis")
    keep_inside: NotNegative | None = Field(None, description="your own margin from the greatest distance")


class SteeringPost(Part):
    """The post round which the tape's ring lies."""

    makes = model.SteeringPost
    diameter: Positive = Field(description="diameter of the post where the tape's ring lies")
    tape_height: AnyLength | None = Field(None, description="height of the tape's ring above the floor's upper face")


class Wood(Part):
    """A wood, by species or by weight."""

    makes = model.Wood
    species: Name | None = Field(None, description="species, as in white ash or sitka spruce")
    specific_gravity: Annotated[float, Number(above=0.05, most=1.5)] | None = Field(
        None, description="weight against that of water, at 12 % moisture; no unit"
    )


class KeepClear(Part):
    """An area of the floor on which nothing is drilled."""

    makes = model.KeepClear
    name: Name = Field(description="what lies there, as in sheet lead")
    corners: Corners = Field(description="corners [x aft, y to starboard] from the steering pivot axis, in order")
    margin: NotNegative | None = Field(None, description="further distance to keep all round")


class Floor(Part):
    """The cockpit floor that the plank is bolted under."""

    makes = model.Floor
    thickness: Positive = Field(description="thickness of the floor where the bolts go through")
    outline: Corners | None = Field(
        None, description="corners [x aft, y to starboard] from the steering pivot axis, in order round the floor"
    )
    keep_clear: tuple[KeepClear, ...] | None = Field(None, description="areas on which nothing is drilled")
    wood: Wood | None = Field(None, description="wood of the floor")


class ChockCorners(Part):
    """The corners on the chocks to which the tape is read, port and starboard alike."""

    makes = model.ChockCorners
    apart: Positive = Field(description="straight distance between the two corners on the fitted plank")
    aft_of_bolts: AnyLength = Field(description="how far aft of the bolt line the corners lie")
    below_floor: AnyLength = Field(description="how far below the floor's upper face the corners lie")


class Plank(Part):
    """The runner plank, lying free with its crown."""

    makes = model.Plank
    length: Positive = Field(description="end to end along the upper face")
    width: Positive = Field(description="fore edge to aft edge")
    thickness: Positive = Field(description="thickness where the bolts go through")
    crown: NotNegative = Field(description="rise of the plank's middle above its ends")
    pivot_aft_of_bolts: AnyLength = Field(description="runner pivot axis behind the bolt line; minus means ahead of it")
    chock_corners: ChockCorners | None = Field(None, description="corners that the tape is read to")
    solid_at_bolts: Positive | None = Field(
        None, description="diameter of the solid plug in the core; leave out for a solid plank"
    )
    bolts_from_fore_edge: Positive | None = Field(
        None, description="fore edge to the bolt line; half the width if left out"
    )
    wood: Wood | None = Field(None, description="wood of the plank")


class Settings(Part):
    """Fore-and-aft positions of the plank: count and pitch, or stations."""

    makes = model.Settings
    count: Annotated[int, Count(1, 50)] | None = Field(None, description="how many settings")
    pitch: Positive | None = Field(None, description="distance between neighbouring settings")
    at_limit: Annotated[model.Limit, members(model.Limit)] | None = Field(
        None, description="the setting that stands at the rule's greatest distance"
    )
    stations: Annotated[tuple[Positive, ...], Field(min_length=1, max_length=50)] | None = Field(
        None, description="bolt lines aft of the steering pivot axis, instead of count and pitch"
    )


class Bolt(Part):
    """The bolt through floor, sleeve and plank."""

    makes = model.Bolt
    thread: Annotated[str, Text(20)] = Field(description="thread, as in M8 or 5/16 in")
    head: Annotated[str, Choice(BOLT_HEADS)] | None = Field(None, description="head of the bolt")
    nut: Annotated[str, Choice(NUT_KINDS)] | None = Field(None, description="nut")
    washer: Annotated[str, Choice(WASHER_KINDS)] | None = Field(None, description="washer")
    hole: Positive | None = Field(None, description="hole in the plank; the bolt's own diameter if left out")
    length: Positive | None = Field(None, description="length of the bolt, instead of the computed one")


class Sleeve(Part):
    """The metal tube glued into the floor."""

    makes = model.Sleeve
    outer: Positive = Field(description="outer diameter")
    inner: Positive = Field(description="inner diameter; the bolt passes through it")
    glue_gap: Annotated[float, Length(least=0, most=5)] | None = Field(
        None, description="gap for glue on the diameter, added to the hole"
    )


class Slot(Part):
    """The slot in a plate, athwart, with round ends."""

    makes = model.Slot
    length: Positive = Field(description="length overall, athwart")
    width: Positive = Field(description="width, fore and aft")


class Screws(Part):
    """The wood screws of a plate."""

    makes = model.Screws
    diameter: Positive = Field(description="nominal diameter of the screw")
    length: Positive = Field(description="length of the screw")
    first: Annotated[tuple[XY, ...], Field(min_length=1, max_length=50)] = Field(
        description="screws used when new, [x aft, y to starboard] from the plate's centre"
    )
    second: Annotated[tuple[XY, ...], Field(max_length=50)] | None = Field(
        None, description="screws in fresh wood for a replacement plate"
    )
    head_diameter: Positive | None = Field(None, description="diameter of the screw's head")


class Plate(Part):
    """The metal plate on the floor that takes the bolt."""

    makes = model.Plate
    length: Positive = Field(description="fore and aft")
    width: Positive = Field(description="athwart")
    thickness: Positive = Field(description="thickness of the metal")
    slot: Slot | None = Field(None, description="slot athwart, in which the bolt can be moved")
    screws: Screws | None = Field(None, description="wood screws that hold the plate")
    bridge: Positive | None = Field(None, description="width of the bridges that join plates into a strip")
    corner_radius: NotNegative | None = Field(None, description="radius of the plate's corners")


class Fixing(Part):
    """How the plank is bolted to the hull."""

    makes = model.Fixing
    half_spread: Positive = Field(description="centreline to bolt line, athwart")
    settings: Settings = Field(description="fore-and-aft positions of the plank")
    bolt: Bolt = Field(description="bolt through floor and plank")
    sleeve: Sleeve | None = Field(None, description="metal tube glued into the floor")
    plate: Plate | None = Field(None, description="metal plate on the floor that takes the bolt")
    shim: NotNegative | None = Field(None, description="thickness of shims between floor and plank")
    block: NotNegative | None = Field(None, description="thickness of a block between floor and plank")


class Row(Part):
    """Holes in a row along x, centred on the fitting's place."""

    makes = model.Row
    count: Annotated[int, Count(1, MOST_HOLES)] = Field(description="how many holes")
    pitch: Positive = Field(description="distance between neighbouring holes")


class CirclePattern(Part):
    """Holes on a circle."""

    makes = model.CirclePattern
    diameter: Positive = Field(description="diameter of the circle through the holes' centres")
    count: Annotated[int, Count(1, MOST_HOLES)] = Field(description="how many holes")
    start: Turn | None = Field(None, description="degrees from aft towards starboard at which the first hole lies")


class Pattern(Part):
    """How the holes of a fitting lie; exactly one of the four."""

    points: Annotated[tuple[XY, ...], Field(min_length=1, max_length=MOST_HOLES)] | None = Field(
        None, description="single holes [x, y] from the fitting's place"
    )
    row: Row | None = Field(None, description="holes in a row")
    rectangle: tuple[Positive, Positive] | None = Field(None, description="four holes: [length along x, width along y]")
    circle: CirclePattern | None = Field(None, description="holes on a circle")

    def built(self) -> model.Pattern:
        """Return the pattern that was given."""
        if self.rectangle is not None:
            return model.Rectangle(*self.rectangle)
        if self.points is not None:
            return model.Points(self.points)
        pattern: model.Row | model.CirclePattern = built(self.row or self.circle)
        return pattern


class Fitting(Part):
    """Any other drilling on the floor or the plank."""

    makes = model.Fitting
    name: Name = Field(description="what is fitted there")
    on: Annotated[model.Surface, members(model.Surface)] = Field(description="part that is drilled")
    at: XY = Field(
        description="place [x, y]. Floor: aft of the steering pivot axis, to starboard. "
        "Plank: aft of the bolt line, along the face from the middle to starboard"
    )
    pattern: Pattern = Field(description="how the holes lie round that place")
    drill: Positive = Field(description="diameter of the holes")
    rotate: Turn | None = Field(None, description="degrees by which the pattern is turned, from aft towards starboard")
    mirror: Annotated[bool, YesNo()] | None = Field(None, description="true repeats it on the other side")
