"""The description: every key once, with its type, unit, limits, default and what it means to the builder.

These frozen models are what a text is read into and what all rooms work with. Inside, every length is in mm and every
angle in degrees. Points on the floor are ``(x, y)`` in the boat frame: origin on the steering pivot axis, x aft, y to
starboard. Points on the plank are ``(x, y)``: x aft of the bolt line across the plank's face, y along the face from
the plank's middle to starboard. Points of a plate are ``(x, y)`` from the plate's centre: x aft, y to starboard.
"""

from collections.abc import Mapping
from enum import Enum
from typing import Annotated, ClassVar

from templater.findings import Location
from templater.reader.compose import UNITS
from templater.reader.keys import Keys, key, place
from templater.reader.values import Choice, Count, Date, Degrees, Length, NameOr, Number, Text, YesNo
from templater.standards.fasteners import BOLT_HEADS, NUT_KINDS, WASHER_KINDS
from templater.units import FRACTIONS, MM, Figures

AnyLength = Annotated[float, Length()]
Positive = Annotated[float, Length(above=0)]
Bore = Annotated[float, Length(least=0.5)]
NotNegative = Annotated[float, Length(least=0)]
Lean = Annotated[float, Degrees(least=0, most=45)]
Turn = Annotated[float, Degrees(least=-360, most=360)]
Name = Annotated[str, Text(40)]
TitleText = Annotated[str, Text(80, 0)]
XY = tuple[AnyLength, AnyLength]
Corners = tuple[XY, ...]
#: Most holes of one pattern.
MOST_HOLES = 100_000


class Surface(Enum):
    """The part of the boat that a fitting is drilled into."""

    FLOOR = "floor"
    PLANK = "plank"


class RunnerBase(Keys):
    """Distance along the hull from the steering pivot axis to the side runners' pivot axis."""

    max: Positive = key("greatest distance that the class rule allows")
    min: Positive | None = key("least distance that the class rule allows", None)


class Rule(Keys):
    """What the class rule asks; leave the whole section out where no rule applies."""

    runner_base: RunnerBase = key("distance along the hull, steering pivot axis to runner pivot axis")
    keep_inside: NotNegative = key("your own margin from the limit at which a setting stands", 0.0)


class SteeringPost(Keys):
    """The post round which the tape's ring lies."""

    diameter: Positive = key("diameter of the post where the tape's ring lies")
    tape_height: AnyLength = key("height of the tape's ring above the floor's upper face", 0.0)


class Wood(Keys):
    """A wood, by species or by weight; either may be missing."""

    species: Name | None = key("species, as in white ash or sitka spruce", None)
    specific_gravity: Annotated[float, Number(above=0.05, most=1.5)] | None = key(
        "weight against that of water, at 12 % moisture; no unit", None
    )


class KeepClear(Keys):
    """An area of the floor on which nothing is drilled."""

    name: Name = key("what lies there, as in sheet lead")
    corners: Corners = key("corners [x aft, y to starboard] from the steering pivot axis, in order", least=3, most=400)
    margin: NotNegative = key("further distance to keep all round", 0.0)


class Floor(Keys):
    """The cockpit floor that the plank is bolted under."""

    thickness: Positive = key("thickness of the floor where the bolts go through")
    outline: Corners = key(
        "corners [x aft, y to starboard] from the steering pivot axis, in order round the floor", (), least=3, most=400
    )
    keep_clear: tuple[KeepClear, ...] = key("areas on which nothing is drilled", (), most=100)
    wood: Annotated[Wood, NameOr(40, "species")] = key("wood of the floor: its name, or species or weight", Wood)


class ChockCorners(Keys):
    """The corners on the chocks to which the tape is read, port and starboard alike."""

    apart: Positive = key("straight distance between the two corners on the fitted plank")
    aft_of_bolts: AnyLength = key("how far aft of the bolt line the corners lie")
    below_floor: AnyLength = key("how far below the floor's upper face the corners lie")


class Plank(Keys):
    """The runner plank, lying free with its crown."""

    length: Positive = key("end to end along the upper face")
    width: Positive = key("fore edge to aft edge")
    thickness: Positive = key("thickness where the bolts go through")
    crown: NotNegative = key("rise of the plank's middle above its ends")
    pivot_aft_of_bolts: AnyLength = key("runner pivot axis behind the bolt line; minus means ahead of it")
    chock_corners: ChockCorners | None = key("corners that the tape is read to", None)
    solid_at_bolts: Positive | None = key("diameter of the solid plug in the core; leave out for a solid plank", None)
    bolts_from_fore_edge: Positive | None = key("fore edge to the bolt line; half the width if left out", None)
    wood: Annotated[Wood, NameOr(40, "species")] = key("wood of the plank: its name, or species or weight", Wood)
    second_hole: Annotated[str, Choice(("fit_up", "template"))] = key(
        "fit_up: marked through sleeve and slot once the tapes agree; template: printed as a hole", "fit_up"
    )

    @property
    def fore_edge(self) -> float:
        """Distance from the bolt line forward to the plank's fore edge, mm."""
        return self.width / 2 if self.bolts_from_fore_edge is None else self.bolts_from_fore_edge


class Settings(Keys):
    """Fore-and-aft positions of the plank: count and pitch, or stations."""

    count: Annotated[int, Count(1, 50)] = key("how many settings", 1)
    pitch: Positive = key("distance between neighbouring settings; needed where there are several", 0.0)
    at_limit: Annotated[str, Choice(("fore", "aft"))] = key(
        "aft: the aftmost stands at the rule's greatest distance; fore: the foremost at its least", "aft"
    )
    stations: tuple[Positive, ...] = key(
        "bolt lines aft of the steering pivot axis, instead of count and pitch", (), least=1, most=50
    )


class Bolt(Keys):
    """The bolt through floor, sleeve and plank."""

    thread: Annotated[str, Text(20)] = key("thread, as in M8 or 5/16 in")
    head: Annotated[str, Choice(BOLT_HEADS)] = key("head of the bolt", "hexagon")
    nut: Annotated[str, Choice(NUT_KINDS)] = key("nut", "locking")
    washer: Annotated[str, Choice(WASHER_KINDS)] = key("washer", "large")
    hole: Positive | None = key("hole in the plank; the bolt's own diameter if left out", None)
    length: Positive | None = key("length of the bolt, instead of the computed one", None)
    from_: Annotated[str, Choice(("above", "below"))] = key(
        "side that the bolt's head is on: above the floor, or below the plank", "above", name="from"
    )


class Sleeve(Keys):
    """The metal tube glued into the floor."""

    outer: Positive = key("outer diameter")
    inner: Positive = key("inner diameter; the bolt passes through it")
    glue_gap: Annotated[float, Length(least=0, most=5)] = key("gap for glue on the diameter, added to the hole", 0.0)


class Slot(Keys):
    """The slot in a plate, athwart, with round ends."""

    length: Positive = key("length overall, athwart")
    width: Positive = key("width, fore and aft")


class Screws(Keys):
    """The wood screws of a plate."""

    diameter: Bore = key("nominal diameter of the screw")
    length: Positive = key("length of the screw")
    first: tuple[XY, ...] = key(
        "screws used when new, [x aft, y to starboard] from the plate's centre", least=1, most=50
    )
    second: tuple[XY, ...] = key("screws in fresh wood for a replacement plate", (), most=50)
    head_diameter: Positive | None = key("diameter of the screw's head", None)


class Plate(Keys):
    """The metal plate on the floor that takes the bolt."""

    length: Positive = key("fore and aft")
    width: Positive = key("athwart")
    thickness: Positive = key("thickness of the metal")
    slot: Slot | None = key("slot athwart, in which the bolt can be moved", None)
    screws: Screws | None = key("wood screws that hold the plate", None)
    bridge: Positive = key("width of the bridges that join plates into a strip while they are made", 8.0)
    corner_radius: NotNegative = key("radius of the plate's corners", 0.0)


class Fixing(Keys):
    """How the plank is bolted to the hull."""

    half_spread: Positive = key("centreline to bolt line, athwart")
    settings: Settings = key("fore-and-aft positions of the plank")
    bolt: Bolt = key("bolt through floor and plank")
    sleeve: Sleeve | None = key("metal tube glued into the floor", None)
    floor_hole: Positive | None = key("hole in a floor without sleeve; as large as the plank's if left out", None)
    plate: Plate | None = key("metal plate on the floor that takes the bolt", None)
    shim: NotNegative = key("thickness of shims between floor and plank", 0.0)
    block: NotNegative = key("thickness of a block between floor and plank", 0.0)


class HoleRow(Keys):
    """Holes in a row along x, centred on the fitting's place."""

    count: Annotated[int, Count(1, MOST_HOLES)] = key("how many holes")
    pitch: Positive = key("distance between neighbouring holes")


class HoleCircle(Keys):
    """Holes on a circle."""

    diameter: Positive = key("diameter of the circle through the holes' centres")
    count: Annotated[int, Count(1, MOST_HOLES)] = key("how many holes")
    start: Turn = key("degrees from aft towards starboard at which the first hole lies", 0.0)


class Pattern(Keys):
    """How the holes of a fitting lie; exactly one of the four."""

    points: tuple[XY, ...] | None = key("single holes [x, y] from the fitting's place", None, least=1, most=MOST_HOLES)
    row: HoleRow | None = key("holes in a row", None)
    rectangle: tuple[Positive, Positive] | None = key("four holes: [length along x, width along y]", None)
    circle: HoleCircle | None = key("holes on a circle", None)


class Fitting(Keys):
    """Any other drilling on the floor or the plank."""

    name: Name = key("what is fitted there")
    on: Annotated[Surface, Choice(Surface)] = key("part that is drilled")
    at: XY = key(
        "place [x, y]. Floor: aft of the steering pivot axis, to starboard. "
        "Plank: aft of the bolt line, along the face from the middle to starboard"
    )
    pattern: Pattern = key("how the holes lie round that place")
    drill: Bore = key("diameter of the holes")
    rotate: Turn = key("degrees by which the pattern is turned, from aft towards starboard", 0.0)
    mirror: Annotated[bool, YesNo()] = key("true repeats it on the other side", default=False)


class CustomPaper(Keys):
    """A paper of your own: width and height, or the width of a roll."""

    width: Positive | None = key("width of a sheet", None)
    height: Positive | None = key("height of a sheet", None)
    roll: Positive | None = key("width of a roll", None)


class Print(Keys):
    """How the sheets are put on paper."""

    paper: Annotated[str | CustomPaper, NameOr(40)] = key(
        "name of a paper, as in A4, A3, Letter or roll 24 in, or {width, height}, or {roll: width}", "A4"
    )
    margin: NotNegative = key("rim that the printer leaves blank", 7.0)
    overlap: NotNegative | None = key(
        f"of neighbouring tiles; left out: {MM.size(15)}, or less where that saves a cut", None
    )
    orientation: Annotated[str, Choice(("upright", "sideways", "either"))] = key(
        "either takes the way up with fewer or better tiles", "either"
    )
    floor_face: Annotated[str, Choice(("upper", "under"))] = key("face that its sheet is taped to", "upper")
    printer: Name | None = key("name of a stored printer profile", None)
    figures: Annotated[str, Choice(("mm", "in", "both"))] | None = key("mm, in or both; by units if left out", None)
    fraction: Annotated[str, Choice(tuple(FRACTIONS))] = key("what inches are rounded to", "1/32")


class Accuracy(Keys):
    """How well you work: one standard deviation each; what is left out has a usual value."""

    tape: NotNegative | None = key("reading the tape", None)
    seam: NotNegative | None = key("joining two tiles, shift", None)
    seam_angle: Lean | None = key("joining two tiles, turn in degrees", None)
    punch: NotNegative | None = key("punching a mark", None)
    drill: NotNegative | None = key("drilling on the mark", None)
    drill_lean: Lean | None = key("drill out of square, in degrees", None)
    printer_scale: Annotated[float, Number(least=0, most=0.1)] | None = key("the printer's scale, as a share", None)
    lay: NotNegative | None = key("laying the sheet on the pencilled lines", None)
    humidity: Annotated[float, Number(least=0, most=100)] | None = key(
        "change of relative humidity between printing and drilling, per cent", None
    )
    line: NotNegative | None = key("drawing the pencil lines that a sheet is laid on", None)
    pivot: NotNegative | None = key("finding the steering pivot axis that is measured from", None)
    chocks: NotNegative | None = key("placing the chocks on the plank, fore and aft and athwart", None)
    centring: NotNegative | None = key("plank's middle off the centreline; worked out if left out", None)


class Issue(Keys):
    """Title data for the sheets, after ISO 7200."""

    date: Annotated[str, Date()] = key("date of issue, as in 2026-11-25", "")
    revision: TitleText = key("revision, as in A or 2", "")
    owner: TitleText = key("legal owner of the drawing", "")
    number: TitleText = key("identification number", "")
    drawn_by: TitleText = key("who drew it", "")
    approved_by: TitleText = key("who approved it", "")


class Spares(Keys):
    """What goes into the spares bag."""

    plates: Annotated[int, Count(0, 1000)] = key("spare plates: a middle and an end one for each side", 4)
    bolts: Annotated[int, Count(0, 1000)] = key("spare bolts with nut and washers", 2)
    screws: Annotated[int, Count(0, 1000)] = key("spare wood screws besides those that each spare plate brings", 0)


class Cutting(Keys):
    """How a shop cuts the plates from sheet metal."""

    kerf: Annotated[float, Length(least=0, most=3)] = key(
        "width of the cut that outlines make up for; leave out if the shop sees to that", 0.0
    )


class Description(Keys):
    """The whole description of a boat."""

    boat: Name = key("the boat's name, 1 to 40 characters")
    units: Annotated[str, Choice(UNITS)] = key("unit of bare numbers")
    based_on: Annotated[str, Text(200)] | None = key(
        "description beside this one, of which only the differences stand here; null drops a key", None
    )
    issue: Issue = key("title data for the sheets", Issue)
    rule: Rule | None = key("class rule; leave out where none applies", None)
    steering_post: SteeringPost = key("post round which the tape's ring lies")
    floor: Floor = key("cockpit floor")
    plank: Plank = key("runner plank")
    fixing: Fixing = key("how the plank is bolted to the hull")
    fittings: tuple[Fitting, ...] = key("any other drilling on the floor or the plank", (), most=1000)
    print: Print = key("paper", Print)
    accuracy: Accuracy = key("how well you work, one standard deviation each", Accuracy)
    spares: Spares = key("what goes into the spares bag", Spares)
    cutting: Cutting = key("how a shop cuts the plates from sheet metal", Cutting)

    #: Dotted key, ``fixing.settings.pitch`` or ``fittings.0.at.1``, to its place in the text, for findings.
    places: ClassVar[Mapping[str, Location]] = {}
    #: Dotted keys whose values come from the description that this one is based on.
    inherited: ClassVar[frozenset[str]] = frozenset()

    def placed(self, places: Mapping[str, Location], inherited: frozenset[str] = frozenset()) -> "Description":
        """Return the description with the places of its keys in the text, and the keys inherited from a base."""
        return self._with(places=places, inherited=inherited)

    @property
    def figures(self) -> Figures:
        """How lengths are written on sheets and lists."""
        system = self.print.figures or ("both" if self.units == "in" else "mm")
        return Figures(system, self.print.fraction, self.units)

    def place(self, dotted: str) -> Location | None:
        """Return the place of a dotted key, or of its nearest parent that stands in the text."""
        return place(self.places, dotted)
