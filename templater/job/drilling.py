"""The drilling table: for each kind of hole the bits, the face to start from, the depth stop and what to look out for.

Practice without a source is marked so; sizes come from ``standards.wood``. All in mm and degrees.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.keys import BoltFrom, Surface
from templater.job.fasteners import screw_head, specific_gravity
from templater.standards.fasteners import clearance_hole, hole_standard, nominal_diameter
from templater.standards.wood import ROOT_SHARE, Bit, nearest_bit

#: Pilot for holes that are opened out later, mm. Common practice, no source.
PILOT = 3.0
#: How far the point of a bit stands before its cutting edge, mm; measure your own (from memory).
POINT_LENGTH = {"centre-point bit": 2.0, "flat-bottomed bit": 3.0, "hole saw": 5.0}
#: Wood left whole under a screw's pilot hole, mm. Common practice, no source.
LEFT_UNDER_PILOT = 2.0
#: A hole larger than this is bored with a flat-bottomed bit, mm. Common practice, no source.
LARGEST_SMALL = 13.0
#: Specific gravity above which wood is drilled as hardwood: 90 % of the root instead of 70 % (from memory).
HARDWOOD = 0.5

EITHER_SIDE = "start the exit side first, just through the paint"
FROM_BELOW = "bore from below until the bit's point just shows above, then finish from above in the mark of the point"
SCREW_HOME = "run the screws in nine tenths by machine, the rest by hand"
SEALED = "coat the bare wood of the hole with epoxy or varnish"


#: What the holes of a row are for.
Use = Literal[
    "floor", "first screws", "second screws", "plate", "plank", "second hole", "floor fitting", "plank fitting"
]


class DrillingRow(NamedTuple):
    """One kind of hole; what does not apply is empty or None."""

    use: Use
    title: str  # what the holes are for
    part: str  # ``floor``, ``plank`` or ``plate``
    ids: tuple[str, ...]  # of the holes, in the boat's order
    pilot: Bit | None  # through the punch mark
    final: Bit
    wanted: float  # diameter asked for
    start: str  # face to start from
    notes: tuple[str, ...]  # how to go about it: common practice without a source, unless one is named
    finish: str = ""  # the other face, where a hole is finished from there
    depth_stop: float | None = None  # how deep the bit's point goes below ``stop_from``; None: right through
    stop_from: str = ""
    countersink: float | None = None  # diameter of a cone at the starting face
    countersink_deep: float | None = None

    @property
    def difference(self) -> float:
        """The final bit's diameter less the wanted one; positive: the hole comes out larger."""
        return self.final.diameter - self.wanted


def bolt_way(boat: Boat) -> str:
    """Return which way the bolts go in."""
    way = boat.description.fixing.bolt.from_
    return f"the bolts go in from {way.value}, washer and nut {'below' if way is BoltFrom.ABOVE else 'above'}"


def drilling(boat: Boat) -> tuple[DrillingRow, ...]:
    """Return the drilling table of a solved boat: floor, plates, plank, then fittings."""
    screws = [boat.on(Surface.FLOOR, kind) for kind in (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW)]
    plank = boat.on(Surface.PLANK, HoleKind.BOLT)
    now, later = ([hole for hole in plank if (hole.id == boat.expected) is expected] for expected in (False, True))
    return (
        _floor_row(boat, boat.on(Surface.FLOOR, HoleKind.BOLT, HoleKind.SLEEVE)),
        *(_screw_row(boat, holes) for holes in screws if holes),
        *_plate_row(boat),
        _plank_row(boat, "plank", now),
        *([_plank_row(boat, "second hole", later)] if later else ()),
        *_fitting_rows(boat),
    )


def screw_pilot(diameter: float, gravity: float | None) -> tuple[float, str]:
    """Return a wood screw's pilot diameter, and the rule that it follows.

    70 % of the thread's root in softwood, 90 % in hardwood (FPL Wood Handbook GTR-190, chapter 8; percentages from
    memory), the root being 2/3 of the diameter. Not to be confused with 70 % of the shank, which is half as much again.

    >>> screw_pilot(4.5, None)[0]
    2.1
    """
    share = 0.9 if gravity is not None and gravity > HARDWOOD else 0.7
    wood = "softwood assumed" if gravity is None else "hardwood" if share > 0.8 else "softwood"
    rule = f"the pilot is {100 * share:.0f} % of the thread's root ({wood}), the root taken as 2/3 of the screw"
    return round(share * ROOT_SHARE * diameter, 6), rule


def _ids(holes: Sequence[Hole]) -> tuple[str, ...]:
    return tuple(hole.id for hole in holes)


def _final(diameter: float, system: str, *, up: bool = False) -> Bit:
    """Return the bit that cuts a hole in wood: twist drill, flat-bottomed bit above 13 mm, else hole saw."""
    kinds = ["flat-bottomed bit", "hole saw"] if diameter > LARGEST_SMALL else ["twist drill"]
    found = [nearest_bit(kind, diameter, system, up=up) for kind in kinds]
    enough = [bit for bit in found if not up or bit.diameter >= diameter - 0.01]
    return min(enough or found, key=lambda bit: abs(bit.diameter - diameter))


def _pilot(final: Bit) -> tuple[Bit | None, tuple[str, ...]]:
    """Return the 3 mm pilot, 1/8 in for inch bits, and its rule; none for a final hole that is no larger."""
    pilot = nearest_bit("twist drill", PILOT, final.system, usual=True)
    if final.diameter <= pilot.diameter + 0.5:
        return None, ()
    return pilot, (f"{pilot.size} pilot: common practice, no source",)


def _through(
    use: Use, title: str, holes: Sequence[Hole], face: str, final: Bit, *notes: str, after: Sequence[str] = (SEALED,)
) -> DrillingRow:
    """Return the row of holes drilled right through wood."""
    other, (pilot, rule) = "under" if face == "upper" else "upper", _pilot(final)
    told = (*(notes or (EITHER_SIDE,)), f"scrap wood clamped to the {other} face", *after, *rule)
    return DrillingRow(use, title, holes[0].on.value, _ids(holes), pilot, final, holes[0].diameter, face, told, other)


def _floor_row(boat: Boat, holes: Sequence[Hole]) -> DrillingRow:
    """Return the row of the floor's holes for sleeves, or for the bolts themselves."""
    description = boat.description
    sleeve, thickness, fine = description.fixing.sleeve, description.floor.thickness, description.figures.fine
    final, face = _final(holes[0].diameter, description.units, up=True), boat.description.print.floor_face.value
    if sleeve is None:
        return _through("floor", "bolts in the floor", holes, face, final, EITHER_SIDE, bolt_way(boat))
    gap, (pilot, rule) = (final.diameter - sleeve.outer) / 2, _pilot(final)
    room = f"what the bit cuts over size, {fine(0.1)} to {fine(0.3)} across (from memory)"
    if gap > 0.02:
        room = f"{fine(gap)} all round"
    notes = [f"pilot right through from the {face} face, square to the floor", FROM_BELOW]
    if web := min(POINT_LENGTH.get(final.kind, 0.0), thickness):
        left = description.figures.size(web)
        notes.append(f"about {left} is left whole at the depth stop, to be taken out from the other face")
    notes.append(
        f"glue with epoxy; its room is {room}; roughen and degrease the sleeve, wax the bolt, keep glue out of the "
        "bore, let it set before the plates go on"
    )
    return DrillingRow(
        "floor", "sleeves in the floor", "floor", _ids(holes), pilot, final, holes[0].diameter, "under",
        (*notes, *rule), "upper", depth_stop=thickness, stop_from="the floor's under face",
    )  # fmt: skip


def _screw_row(boat: Boat, holes: Sequence[Hole]) -> DrillingRow:
    """Return the row of pilot holes for one set of plate screws."""
    description = boat.description
    plate, thickness = description.fixing.plate, description.floor.thickness
    assert plate and plate.screws  # noqa: PT018
    size, rule = screw_pilot(plate.screws.diameter, specific_gravity(description.floor.wood))
    deep = min(plate.screws.length - plate.thickness, thickness - LEFT_UNDER_PILOT)
    held = "its bolt in the sleeve" if description.fixing.sleeve else "its bolt in the floor"
    use: Use = "first screws"
    title = "first set"
    which = f"with the plate in its place and {held}; drill through the plate's holes"
    if holes[0].kind is HoleKind.SECOND_SCREW:
        use, title = "second screws", "second set (fresh wood)"
        which = "only prick these now; drill them through the replacement plate on the day it goes on, into fresh wood"
    final = nearest_bit("twist drill", size, description.units, usual=True)
    return DrillingRow(
        use, f"plate screws, {title}", "floor", _ids(holes), None, final, size, "upper",
        (which, SCREW_HOME, "EN 1995-1-1 has 70 % of the shank, half as much again", rule),
        depth_stop=max(deep, 0.0) + plate.thickness, stop_from="the plate's face",
    )  # fmt: skip


def _plate_row(boat: Boat) -> Iterator[DrillingRow]:
    """Yield the row of the screw holes in the metal plates."""
    description = boat.description
    plate = description.fixing.plate
    if plate is None or plate.screws is None:
        return
    screws, units = plate.screws, description.units
    head, final = screw_head(screws, units), nearest_bit("twist drill", screws.diameter, units, up=True)
    spare = description.spares.plates * len(screws.second)
    ids, (pilot, rule) = _ids(boat.on(Surface.FLOOR, HoleKind.FIRST_SCREW)), _pilot(final)
    notes = (
        f"countersink {head.angle:g} degrees until a screw's head sits flush",
        "clamp the plate: never hold it by hand; slow speed, cutting oil for stainless steel",
        "take the burr off every edge",
        *((f"the spare plates take the second set instead: {spare} more holes",) if spare else ()),
        "scrap wood, plate clamped to it",
        *rule,
    )
    yield DrillingRow(
        "plate", "screw holes in the plates", "plate", ids, pilot, final, screws.diameter, "upper", notes,
        countersink=head.diameter, countersink_deep=head.deep,
    )  # fmt: skip


def _plank_row(boat: Boat, use: Use, holes: Sequence[Hole]) -> DrillingRow:
    """Return the row of bolt holes in the plank that are drilled at one time."""
    description, wanted = boat.description, holes[0].diameter
    thread, units = description.fixing.bolt.thread, description.units
    final = _final(wanted, units)
    if final.diameter < nominal_diameter(thread) - 0.01:
        final = _final(wanted, units, up=True)
    plug, say, lean = description.plank.solid_at_bolts, description.figures.size, boat.plank.lean
    title = "bolts in the plank" if len(holes) > 1 else "first bolt in the plank"
    where: tuple[str, ...] = ()
    if use == "second hole":
        title, marked = "second bolt in the plank, marked at fit-up", "sleeve" if description.fixing.sleeve else "hole"
        where = (f"only once the tapes agree: at the middle of what was marked through the floor's own {marked}",)
    after = [f"{SEALED}; when it has set, clear it with the bit"]
    if plug is not None:
        after.insert(0, f"the hole goes through the middle of the solid plug, {say(plug)} across: "
                     f"{say((plug - wanted) / 2)} of it stays all round; plug a pilot that wanders out of it with "
                     "glued wood and drill again")  # fmt: skip
    square = "square to the plank's face"
    return _through(
        use, title, holes, "upper", final, *where, EITHER_SIDE,
        f"{square}: {lean:.2f}° from plumb, its foot towards the plank's middle" if lean else square,
        f"for a free fit {hole_standard(thread)} has {say(clearance_hole(thread, 'fine'))} (fine) or "
        f"{say(clearance_hole(thread))} (medium); this hole is {say(wanted)}",
        bolt_way(boat), after=after,
    )  # fmt: skip


def _fitting_rows(boat: Boat) -> Iterator[DrillingRow]:
    """Yield one row for each fitting, both sides together."""
    groups: dict[str, list[Hole]] = {}
    for hole in boat.holes:
        if hole.kind is HoleKind.FITTING:
            groups.setdefault(hole.key, []).append(hole)
    for holes in groups.values():
        on_floor = holes[0].on is Surface.FLOOR
        use: Use = "floor fitting" if on_floor else "plank fitting"
        face = boat.description.print.floor_face.value if on_floor else "upper"
        yield _through(use, holes[0].name, holes, face, _final(holes[0].diameter, boat.description.units))
