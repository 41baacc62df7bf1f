"""The solved boat: settings, holes with ids, plates and plank, all mm and degrees, frozen.

Frames as in ``description.keys``: floor points ``(x, y)``, x aft of the steering pivot axis, y to starboard; plank
points ``(x, y)``, x aft of the bolt line, y along the upper face from the plank's middle to starboard.
Hole ids are born here, so lists, labels and rows name the same hole.
"""

import math
from enum import Enum
from typing import Any, NamedTuple

from templater.description.keys import Description, Surface
from templater.findings import Finding, Location
from templater.plane.shapes import Point
from templater.reader.faults import told
from templater.reader.keys import Keys
from templater.standards.fasteners import Thread, find_thread
from templater.standards.wood import countersink_depth, find_screw

#: What starboard less port of the tapes may differ by, mm, unless the readings say otherwise.
TOLERANCE = 1.0


class Side(Enum):
    """Port (y negative) or starboard (y positive); the value is the letter in hole ids."""

    PORT = "P"
    STARBOARD = "S"

    @property
    def sign(self) -> int:
        """-1 for port, +1 for starboard."""
        return -1 if self is Side.PORT else 1

    @property
    def word(self) -> str:
        """``port`` or ``starboard``."""
        return self.name.lower()


class HoleKind(Enum):
    """What a hole is for."""

    BOLT = "bolt"  # floor without sleeve, or plank
    SLEEVE = "sleeve"  # floor, to take the sleeve
    FIRST_SCREW = "first screw"  # floor, under a new plate
    SECOND_SCREW = "second screw"  # floor, fresh wood under a replacement plate
    FITTING = "fitting"


class Hole(NamedTuple):
    """One hole to be drilled.

    Its ``id`` is unique in the boat. Floor: ``P1``, ``S1`` (1 foremost); screws ``P1a1..`` (first set), ``P1b1..``
    (second); plank: ``KP``, ``KS``; fittings ``<letter><number>`` as ``A1``, ``A2``, second fitting ``B1`` and so on,
    never P, S or K; the mirrored half carries on counting.
    """

    id: str
    kind: HoleKind
    on: Surface
    at: Point
    diameter: float  # as drawn and drilled; of a screw's hole the screw's nominal diameter
    key: str  # dotted key of the description that it comes from, for findings
    name: str  # what it is, for lists: ``bolt, setting 1, port`` or the fitting's name
    side: Side | None = None
    setting: int | None = None


class Setting(NamedTuple):
    """One fore-and-aft position of the plank, numbered from 1 at the foremost."""

    number: int
    station: float
    runner_base: float
    to_max: float | None  # what is left to the rule's limits, negative outside; None without a rule
    to_min: float | None
    at_limit: bool
    key: str


class SolvedPlate(NamedTuple):
    """A plate in its place on the floor. ``id`` is that of its bolt hole. Corners run round the plate."""

    id: str
    side: Side
    setting: int
    centre: Point
    corners: tuple[Point, Point, Point, Point]


class SolvedPlank(NamedTuple):
    """The plank as an arc of its upper face.

    A hole square to the face leans inward below, for the face falls away towards the ends.
    """

    radius: float  # of the upper face's arc; ``inf`` for a flat plank
    chord: float  # straight distance between the ends of the upper face
    hole_along: float  # along the upper face from the plank's middle to each bolt hole
    lean: float  # degrees from vertical of a hole drilled square to the face at the bolt
    lean_shift: float  # how far such a hole has wandered at the under face, towards the plank's middle
    end_to_hole: float  # along the face from either end to the nearer hole


class TapeFigure(NamedTuple):
    """What the tape reads from the steering post to a chock corner at one setting (both sides alike)."""

    setting: int
    level: float  # level distance from the steering pivot axis to the corner
    drop: float  # how far the corner lies below the tape's ring
    slant: float  # straight distance from the axis at the ring's height to the corner
    slant_from_post: float  # the same from the post's surface, where a tape hooked round the post starts
    slope: float  # degrees below level
    slope_correction: float  # slant less level


class Distance(NamedTuple):
    """A straight distance between two holes of one part, ``across``, ``along`` or ``diagonal``, to be measured."""

    a: str
    b: str
    kind: str
    distance: float


class Shim(NamedTuple):
    """A shim between plank and hull as a plane wedge, mm: x aft and y to starboard of the bolt."""

    side: Side
    x0: float  # fore and aft edge
    x1: float
    y0: float  # port and starboard edge
    y1: float
    at_bolt: float  # thickness there
    slope_x: float  # mm of thickness for each mm aft, and to starboard
    slope_y: float
    hole: float  # diameter of the bolt hole
    tilt: float = 0.0  # degrees taken out, fore edge high positive

    def thickness(self, x: float, y: float) -> float:
        """Return the thickness at a place from the bolt."""
        return self.at_bolt + self.slope_x * x + self.slope_y * y

    @property
    def corners(self) -> tuple[float, ...]:
        """Thickness fore port, fore starboard, aft port, aft starboard."""
        return tuple(self.thickness(x, y) for x in (self.x0, self.x1) for y in (self.y0, self.y1))


class Play(NamedTuple):
    """Clearance of one bolt from end to end, mm."""

    floor: float  # in the sleeve or the floor's hole
    plank: float
    fore_aft: float  # against the floor, and the plank against the bolt: a wide slot gives no more than the sleeve
    athwart: float


class Head(NamedTuple):
    """A screw's head, mm: diameter, angle of its cone in degrees, depth of the countersink that sinks it flush."""

    diameter: float
    angle: float
    deep: float
    from_memory: bool


class Boat(NamedTuple):
    """Everything solved. ``holes`` is in a fixed order: floor bolts, floor screws, plank bolts, fittings."""

    description: Description
    settings: tuple[Setting, ...]
    holes: tuple[Hole, ...]
    plates: tuple[SolvedPlate, ...]
    plank: SolvedPlank
    tape: tuple[TapeFigure, ...]
    distances: tuple[Distance, ...]

    def on(self, surface: Surface, *kinds: HoleKind) -> tuple[Hole, ...]:
        """Return the holes of one part, of certain kinds alone if any are named."""
        return tuple(hole for hole in self.holes if hole.on is surface and (not kinds or hole.kind in kinds))

    @property
    def fitted(self) -> Setting:
        """The setting at which the plank is squared: the one at the rule's limit, else the aftmost."""
        return next((setting for setting in self.settings if setting.at_limit), self.settings[-1])

    @property
    def span(self) -> float:
        """Distance between the chock corners, else the plank's chord, mm."""
        corners = self.description.plank.chock_corners
        return corners.apart if corners else self.plank.chord

    @property
    def thread(self) -> Thread:
        """The bolts' thread."""
        return find_thread(self.description.fixing.bolt.thread)

    @property
    def bolt_hole(self) -> float:
        """Diameter of the bolt's own hole: that of the plank."""
        return self.description.fixing.bolt.hole or self.thread.nominal

    @property
    def bore(self) -> float:
        """Diameter of what a bolt goes through in the floor: the sleeve's bore, or the floor's own hole."""
        fixing = self.description.fixing
        return fixing.sleeve.inner if fixing.sleeve else fixing.floor_hole or self.bolt_hole

    @property
    def play(self) -> Play:
        """The clearances of one bolt in sleeve or floor hole, slot and plank; up to 0.02 mm, from memory, is none."""
        fixing, bolt = self.description.fixing, self.thread.nominal
        slot = fixing.plate.slot if fixing.plate is not None else None
        floor, plank = (gap if (gap := hole - bolt) > 0.02 else 0.0 for hole in (self.bore, self.bolt_hole))
        ways = (slot.width - bolt, slot.length - bolt) if slot is not None else (floor, floor)
        return Play(floor, plank, *(min(floor, max(0.0, way)) + plank for way in ways))

    @property
    def screw_head(self) -> Head | None:
        """The head of the plates' screws: as described, else the table's, else two diameters wide; None without."""
        plate, system = self.description.fixing.plate, self.description.units
        if plate is None or plate.screws is None:
            return None
        size = plate.screws.diameter
        kind = find_screw(size, system)
        head = plate.screws.head_diameter or (kind.head if kind else 2 * size)
        angle = kind.angle if kind else 90.0 if system == "mm" else 82.0
        return Head(head, angle, countersink_depth(head, size, angle), kind is None or "head" in kind.memory)

    @property
    def expected(self) -> str:
        """Id of the plank's hole that is only marked once the tapes agree; empty where both are drilled before."""
        return "KS" if self.description.plank.second_hole == "fit_up" else ""

    def finding(self, code: str, key: str, text: str) -> Finding:
        """Return a finding at the key's place in the description's text."""
        return Finding(code, key, text, self.description.place(key))

    def tell(self, code: str, key: str, case: str = "", /, **figures: float | str) -> Finding:
        """Return a finding said by the catalogue's sentence for its case, at the key's place; see ``told``."""
        return told(code, key, case, self.description.figures, self.description.place(key), **figures)


def side_of(y: float) -> str:
    """Return the side that a distance to starboard lies on, in a word, as it is written to 0.001."""
    return "port" if y < -0.0005 else "starboard"


def plain(value: Any) -> Any:
    """Return a record as plain data for JSON: dicts, lists, text, numbers; sides by name, endless as null."""
    if isinstance(value, Side):
        return value.word
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Finding):
        said = {"code": value.code, "severity": value.severity, "key": value.key, "text": value.text}
        return plain(said | dict(zip(Location._fields, value.where or (None, None, None), strict=True)))
    if isinstance(value, Keys):
        return plain(dict(value.items()))
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return plain(value._asdict())
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return round(value, 6) + 0.0 if math.isfinite(value) else None
    return value
