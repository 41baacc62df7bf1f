"""The validated description: frozen dataclasses, every length in mm, every angle in degrees.

Points on the floor are ``(x, y)`` in the boat frame: origin on the steering pivot axis, x aft, y to starboard.
Points on the plank are ``(x, y)``: x aft of the bolt line across the plank's face, y along the face from the plank's
middle to starboard. Points of a plate are ``(x, y)`` from the plate's centre: x aft, y to starboard.
Nothing here reads text; see ``load.py`` for the door.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from templater.findings import Location
from templater.plane.shapes import Point
from templater.units import Figures


class Limit(Enum):
    """Which of the settings stands at the rule's greatest distance."""

    FORE = "fore"
    MIDDLE = "middle"
    AFT = "aft"


class Surface(Enum):
    """The part of the boat that a fitting is drilled into."""

    FLOOR = "floor"
    PLANK = "plank"


class FloorFace(Enum):
    """The face of the cockpit floor on which the floor sheet is taped."""

    UPPER = "upper"
    UNDER = "under"


class Orientation(Enum):
    """Which way up the paper stands; EITHER lets the program take the one with fewer or better tiles."""

    UPRIGHT = "upright"
    SIDEWAYS = "sideways"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class RunnerBase:
    """Allowed distance along the hull from the steering pivot axis to the side runners' pivot axis."""

    max: float
    min: float | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """What the class rule asks; ``keep_inside`` is the builder's own margin from ``runner_base.max``."""

    runner_base: RunnerBase
    keep_inside: float = 0.0


@dataclass(frozen=True, slots=True)
class SteeringPost:
    """The post round which the tape's ring lies, ``tape_height`` above the floor's upper face."""

    diameter: float
    tape_height: float = 0.0


@dataclass(frozen=True, slots=True)
class Wood:
    """A wood: species as in the species table, or a density; either may be missing.

    Attributes:
        species: key of ``standards.wood``'s table.
        specific_gravity: oven-dry weight over volume at 12 % moisture, no unit.
    """

    species: str | None = None
    specific_gravity: float | None = None


@dataclass(frozen=True, slots=True)
class KeepClear:
    """An area of the floor on which nothing is drilled; ``margin`` is added all round."""

    name: str
    corners: tuple[Point, ...]
    margin: float = 0.0


@dataclass(frozen=True, slots=True)
class Floor:
    """The cockpit floor; an empty outline means not given."""

    thickness: float
    outline: tuple[Point, ...] = ()
    keep_clear: tuple[KeepClear, ...] = ()
    wood: Wood = Wood()


@dataclass(frozen=True, slots=True)
class ChockCorners:
    """The corners on the chocks to which the tape is read, port and starboard alike.

    ``apart`` is the straight distance between the two corners on the fitted plank.
    """

    apart: float
    aft_of_bolts: float
    below_floor: float


@dataclass(frozen=True, slots=True)
class Plank:
    """The runner plank. ``length`` is end to end along the upper face, ``crown`` the rise of its middle.

    ``bolts_from_fore_edge`` is the distance from the fore edge to the bolt line; half the width if not given.
    ``solid_at_bolts`` is the diameter of the solid plug in the core; None for a solid plank.
    """

    length: float
    width: float
    thickness: float
    crown: float
    pivot_aft_of_bolts: float
    chock_corners: ChockCorners | None = None
    solid_at_bolts: float | None = None
    bolts_from_fore_edge: float | None = None
    wood: Wood = Wood()

    @property
    def fore_edge(self) -> float:
        """Distance from the bolt line forward to the plank's fore edge, mm."""
        return self.width / 2 if self.bolts_from_fore_edge is None else self.bolts_from_fore_edge


@dataclass(frozen=True, slots=True)
class Settings:
    """The fore-and-aft settings: either ``count`` and ``pitch`` with one at the limit, or bolt-line ``stations``."""

    count: int = 1
    pitch: float = 0.0
    at_limit: Limit = Limit.AFT
    stations: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Bolt:
    """The bolt: ``thread`` as in ``standards.fasteners`` (M8, 5/16 in), ``head`` hexagon, socket or countersunk.

    ``hole`` is the hole in the plank; the bolt's nominal diameter if not given. ``length`` overrides the computed one.
    """

    thread: str
    head: str = "hexagon"
    nut: str = "locking"
    washer: str = "large"
    hole: float | None = None
    length: float | None = None


@dataclass(frozen=True, slots=True)
class Sleeve:
    """The metal tube glued in the floor; ``glue_gap`` is on the diameter, added to ``outer`` for the hole."""

    outer: float
    inner: float
    glue_gap: float = 0.0


@dataclass(frozen=True, slots=True)
class Slot:
    """The slot in a plate: ``length`` overall, athwart, with round ends; ``width`` fore and aft."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Screws:
    """The plate's wood screws; ``first`` used when new, ``second`` in fresh wood for a replacement plate."""

    diameter: float
    length: float
    first: tuple[Point, ...]
    second: tuple[Point, ...] = ()
    head_diameter: float | None = None


@dataclass(frozen=True, slots=True)
class Plate:
    """The metal plate on the floor: ``length`` fore and aft, ``width`` athwart.

    ``bridge`` is the width of the bridges that join the plates of one side into a strip until they are fixed.
    """

    length: float
    width: float
    thickness: float
    slot: Slot | None = None
    screws: Screws | None = None
    bridge: float = 8.0
    corner_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Fixing:
    """How the plank is bolted to the hull."""

    half_spread: float
    settings: Settings
    bolt: Bolt
    sleeve: Sleeve | None = None
    plate: Plate | None = None
    shim: float = 0.0
    block: float = 0.0


@dataclass(frozen=True, slots=True)
class Points:
    """A pattern of single points."""

    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """``count`` holes ``pitch`` apart along x, centred on the fitting's place."""

    count: int
    pitch: float


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Four holes at the corners of a rectangle, ``length`` along x and ``width`` along y."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class CirclePattern:
    """``count`` holes on a circle of ``diameter``, the first at ``start`` degrees from x towards y."""

    diameter: float
    count: int
    start: float = 0.0


Pattern = Points | Row | Rectangle | CirclePattern


@dataclass(frozen=True, slots=True)
class Fitting:
    """Any other drilling. ``rotate`` turns the pattern by degrees from x (aft) towards y (starboard).

    ``mirror`` repeats the fitting on the other side of the centreline.
    """

    name: str
    on: Surface
    at: Point
    pattern: Pattern
    drill: float
    rotate: float = 0.0
    mirror: bool = False


@dataclass(frozen=True, slots=True)
class CustomPaper:
    """A paper of the user's own; ``height`` None means a roll of that ``width``."""

    width: float
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Print:
    """How the sheets are put on paper. ``printer`` names a stored profile.

    ``figures`` is how lengths are written: mm, in or both; None goes by the description's units. ``fraction`` is a
    key of ``units.FRACTIONS``.
    """

    paper: str | CustomPaper = "A4"
    margin: float = 7.0
    overlap: float = 15.0
    orientation: Orientation = Orientation.EITHER
    floor_face: FloorFace = FloorFace.UPPER
    printer: str | None = None
    figures: str | None = None
    fraction: str = "1/32"


@dataclass(frozen=True, slots=True)
class Cutting:
    """How plates are cut from sheet metal by a shop.

    Attributes:
        sheet: length and width of the metal; None takes a usual size.
        spacing: clear metal between parts and round them.
        sets: how many sets of plates; the first goes on the boat, the others into the spares bag.
        kerf: width of the cut that the outlines make up for; 0 leaves them at the finished edge.
        guide: whether a guide plate for the drill is cut as well.
    """

    sheet: Point | None = None
    spacing: float = 5.0
    sets: int = 2
    kerf: float = 0.0
    guide: bool = True


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Standard deviations of the builder's own work, mm unless said otherwise; None takes the stated default."""

    tape: float | None = None
    seam: float | None = None
    seam_angle: float | None = None      # degrees
    punch: float | None = None
    drill: float | None = None
    drill_lean: float | None = None      # degrees
    printer_scale: float | None = None   # mm per mm
    lay: float | None = None             # laying the sheet on the pencilled lines
    humidity: float | None = None        # per cent of relative humidity between printing and drilling


@dataclass(frozen=True, slots=True)
class Issue:
    """Title data after ISO 7200; all optional. ``date`` is text as given, YYYY-MM-DD."""

    date: str = ""
    revision: str = ""
    owner: str = ""
    number: str = ""
    drawn_by: str = ""
    approved_by: str = ""


@dataclass(frozen=True, slots=True)
class Spares:
    """What goes into the spares bag."""

    plates: int = 2
    bolts: int = 2
    screws: int = 8


@dataclass(frozen=True, slots=True)
class Description:
    """The whole description.

    Attributes:
        places: dotted key, ``fixing.settings.pitch`` or ``fittings.0.at.1``, to its place in the text, for findings.
        inherited: dotted keys whose values come from the description this one is based on.
    """

    boat: str
    units: str
    steering_post: SteeringPost
    floor: Floor
    plank: Plank
    fixing: Fixing
    rule: Rule | None = None
    fittings: tuple[Fitting, ...] = ()
    print: Print = Print()
    accuracy: Accuracy = Accuracy()
    issue: Issue = Issue()
    spares: Spares = Spares()
    cutting: Cutting = Cutting()
    places: Mapping[str, Location] = field(default_factory=dict, compare=False, repr=False)
    inherited: frozenset[str] = field(default=frozenset(), compare=False)

    @property
    def figures(self) -> Figures:
        """How lengths are written on sheets and lists."""
        return Figures.of_boat(self.units, self.print.figures, self.print.fraction)

    def place(self, key: str) -> Location | None:
        """Return the place of a dotted key, or of its nearest parent that stands in the text."""
        while key and key not in self.places:
            key = key.rpartition(".")[0]
        return self.places.get(key)
