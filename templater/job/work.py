"""How the job is done: bits, faces and depth stops for each kind of hole, and the steps from paper to the last bolt.

The words stand in ``drilling.txt``, ``steps.txt`` and ``standards/data/cautions.csv``; here is when they are said, and
their figures, in mm and degrees. Sizes come from ``standards.wood``.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import Literal, NamedTuple

from templater.boat.solved import Boat, Hole, HoleKind
from templater.description.keys import Surface
from templater.job.fasteners import FLUSH, fit_bolt, fit_screws, specific_gravity
from templater.standards.tables import holds, paragraphs, read_table, said
from templater.standards.wood import ROOT_SHARE, Bit, find_screw, nearest_bit

_DRILLING, _STEPS = (Path(__file__).with_name(name) for name in ("drilling.txt", "steps.txt"))
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

#: A length said to be about so much may be so far off, mm: half of 1/64 in.
ABOUT = 0.2
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
    notes: tuple[str, ...]  # how to go about it
    finish: str = ""  # the other face, where a hole is finished from there
    depth_stop: float | None = None  # how deep the bit's point goes below ``stop_from``; None: right through
    stop_from: str = ""
    countersink: float | None = None  # diameter of a cone at the starting face
    countersink_deep: float | None = None

    @property
    def difference(self) -> float:
        """The final bit's diameter less the wanted one; positive: the hole comes out larger."""
        return self.final.diameter - self.wanted

    @property
    def bits(self) -> str:
        """The bits in their order: ``3 mm, then 8 mm``."""
        return f"{self.pilot.size}, then {self.final.size}" if self.pilot else self.final.size


def drilling(boat: Boat) -> tuple[DrillingRow, ...]:
    """Return the drilling table of a solved boat: floor, plates, plank, then fittings."""
    plank = boat.on(Surface.PLANK, HoleKind.BOLT)
    now, later = ([hole for hole in plank if (hole.id == boat.expected) is expected] for expected in (False, True))
    return (
        _floor_row(boat, boat.on(Surface.FLOOR, HoleKind.BOLT, HoleKind.SLEEVE)),
        *_screw_rows(boat),
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


def _final(diameter: float, system: str, *, up: bool = False) -> Bit:
    """Return the bit that cuts a hole in wood: twist drill, flat-bottomed bit above 13 mm, else hole saw."""
    kinds = ["flat-bottomed bit", "hole saw"] if diameter > LARGEST_SMALL else ["twist drill"]
    found = [nearest_bit(kind, diameter, system, up=up) for kind in kinds]
    enough = [bit for bit in found if not up or bit.diameter >= diameter - 0.01]
    return min(enough or found, key=lambda bit: abs(bit.diameter - diameter))


def _row(use: Use, title: str, holes: Sequence[Hole], final: Bit, start: str, **given: object) -> DrillingRow:
    """Return the row of holes drilled right through from one face, finished from the other."""
    other = "under" if start == "upper" else "upper"
    # 3 mm, 1/8 in for inch bits; none for a final hole that is no larger.
    bit = nearest_bit("twist drill", PILOT, final.system, usual=True)
    pilot = bit if final.diameter > bit.diameter + 0.5 else None
    lines = next(lines for uses, *lines in paragraphs(_DRILLING) if use in uses.split(", "))
    ids, notes = tuple(hole.id for hole in holes), tuple(said(lines, {"other": other, **given}))
    return DrillingRow(use, title, holes[0].on.value, ids, pilot, final, holes[0].diameter, start, notes, other)


def _floor_row(boat: Boat, holes: Sequence[Hole]) -> DrillingRow:
    """Return the row of the floor's holes for sleeves, or for the bolts themselves."""
    description, fine = boat.description, boat.description.figures.fine
    sleeve, thickness = description.fixing.sleeve, description.floor.thickness
    final = _final(holes[0].diameter, description.units, up=True)
    if sleeve is None:
        return _row("floor", "bolts in the floor", holes, final, description.print.floor_face)
    gap, web = (final.diameter - sleeve.outer) / 2, min(POINT_LENGTH.get(final.kind, 0.0), thickness)
    room = f"what the bit cuts over size, {fine(0.1)} to {fine(0.3)} across (from memory)"
    if gap > 0.02:
        room = f"{fine(gap)} all round"
    left = description.figures.size(web, within=ABOUT) if web else ""
    row = _row("floor", "sleeves in the floor", holes, final, "under", sleeve=sleeve, web=left, room=room)
    return row._replace(depth_stop=thickness, stop_from="the floor's under face")


def _screw_rows(boat: Boat) -> Iterator[DrillingRow]:
    """Yield the rows of pilot holes for both sets of plate screws, and of the holes in the metal plates."""
    description, units = boat.description, boat.description.units
    plate, thickness = description.fixing.plate, description.floor.thickness
    if plate is None or plate.screws is None or boat.screw_head is None:
        return
    screws, head = plate.screws, boat.screw_head
    size, rule = screw_pilot(screws.diameter, specific_gravity(description.floor.wood))
    bit = nearest_bit("twist drill", size, units, usual=True)
    deep = max(min(screws.length - plate.thickness, thickness - LEFT_UNDER_PILOT), 0.0) + plate.thickness
    first, second = (boat.on(Surface.FLOOR, kind) for kind in (HoleKind.FIRST_SCREW, HoleKind.SECOND_SCREW))
    sets: tuple[tuple[Use, str, Sequence[Hole]], ...] = (
        ("first screws", "plate screws, first set", first),
        ("second screws", "plate screws, second set (fresh wood)", second),
    )
    for use, title, holes in sets:
        if holes:
            row = _row(use, title, holes, bit, "upper", first=holes is first, rule=rule)
            row = row._replace(pilot=None, wanted=size, finish="")
            yield row._replace(depth_stop=deep, stop_from="the plate's face")
    kind = find_screw(screws.diameter, units)  # a gauge number's screw may be thicker than described
    thick_screw = max(screws.diameter, kind.diameter) if kind else screws.diameter
    final = nearest_bit("twist drill", thick_screw, units, up=True)
    spare = description.spares.plates * len(screws.second)
    title, angle = "screw holes in the plates", f"{head.angle:g}"
    row = _row("plate", title, first, final, "upper", angle=angle, spare=spare)
    yield row._replace(part="plate", finish="", countersink=head.diameter, countersink_deep=head.deep)


def _plank_row(boat: Boat, use: Use, holes: Sequence[Hole]) -> DrillingRow:
    """Return the row of bolt holes in the plank that are drilled at one time."""
    description, wanted = boat.description, holes[0].diameter
    thread, units = boat.thread, description.units
    final = _final(wanted, units)
    if final.diameter < thread.nominal - 0.01:
        final = _final(wanted, units, up=True)
    plug, say, lean = description.plank.solid_at_bolts, description.figures.size, boat.plank.lean
    title = "bolts in the plank" if len(holes) > 1 else "first bolt in the plank"
    if use == "second hole":
        title = "second bolt in the plank, marked at fit-up"
    return _row(
        use, title, holes, final, "upper", lean=f"{lean:.2f}" if lean else "",
        standard=thread.holes_from, fine=say(thread.fine), medium=say(thread.medium),
        wanted=say(wanted), plug=plug and say(plug), left=plug and say((plug - wanted) / 2),
    )  # fmt: skip


def _fitting_rows(boat: Boat) -> Iterator[DrillingRow]:
    """Yield one row for each fitting, both sides together."""
    fitted = (hole for hole in boat.holes if hole.kind is HoleKind.FITTING)
    for _, group in groupby(fitted, lambda hole: hole.key):
        holes = tuple(group)
        on_floor = holes[0].on is Surface.FLOOR
        use: Use = "floor fitting" if on_floor else "plank fitting"
        face = boat.description.print.floor_face if on_floor else "upper"
        yield _row(use, holes[0].name, holes, _final(holes[0].diameter, boat.description.units), face)


class Caution(NamedTuple):
    """One caution: the name that steps call it by, where it comes from, its text."""

    id: str
    source: str
    text: str


class Step(NamedTuple):
    """One step: its number from 1, what to do, the cautions that first matter there."""

    number: int
    text: str
    cautions: tuple[Caution, ...] = ()


def cautions() -> dict[str, Caution]:
    """Return all cautions by name. They defer to class rules, local codes and licensed practice."""
    return {caution.id: caution for caution in read_table("cautions", Caution)}


def order_of_work(boat: Boat, *, seams: bool = True) -> tuple[Step, ...]:
    """Return the steps for a solved boat, ``seams``: a sheet has several pages. What it has not is not spoken of."""
    figures = {**_figures(boat), "seams": seams}
    steps: list[Step] = []
    told: set[str] = set()
    known = cautions()
    for head, *lines in paragraphs(_STEPS):
        when, _, names = head.partition("|")
        if holds(when, figures):
            new = [name for name in names.split() if name not in told]
            told.update(new)
            steps.append(Step(len(steps) + 1, " ".join(said(lines, figures)), tuple(known[name] for name in new)))
    return tuple(steps)


def _figures(boat: Boat) -> dict[str, object]:
    """Return what stands in the steps' braces, and what says whether a step or sentence is said."""
    description, number, last = boat.description, boat.fitted.number, len(boat.settings)
    say, length = description.figures.size, description.figures.length
    fixing, plank, face = description.fixing, description.plank, description.print.floor_face
    way = fixing.bolt.from_
    rows, (bolt, _), (screws, _) = {row.use: row for row in drilling(boat)}, fit_bolt(boat), fit_screws(boat)
    on_floor = {hole.id for hole in boat.on(Surface.FLOOR)}
    spans = [row for row in boat.distances if row.a in on_floor]
    checked = [row for row in spans if row.kind == "across"][:1] + [row for row in spans if row.kind == "diagonal"][-2:]
    extra = " and ".join(name for name, thick in (("shims", fixing.shim), ("blocks", fixing.block)) if thick > 0)
    tape = {one.setting: length(one.slant_from_post) for one in boat.tape}
    others = "; ".join(f"{reads} at setting {other}" for other, reads in tape.items() if other != number)
    return {
        **{use.replace(" ", "-"): row for use, row in rows.items()},
        **dict(fixing.items()),
        **dict(plank.items()),
        "rule": description.rule,
        "fit-up": boat.expected,
        "under": face == "under",
        "others": last > 1,
        "face": face,
        "checks": ", ".join(f"{row.a} to {row.b} {length(row.distance)}" for row in checked),
        "pilot": rows["floor"].pilot,
        "bolts": "P1 and S1" if last == 1 else f"P1 to P{last} and S1 to S{last}",
        "play": boat.play.floor + boat.play.plank,
        "loose": boat.play.floor,
        "bore": say(boat.bore),
        "opened": say(boat.thread.medium),
        "thick": say(description.floor.thickness),
        "number": 2 * last,
        "half": length(plank.length / 2),
        "edge": say(plank.fore_edge),
        "between": f", the {extra} between" if extra else "",
        "at": f" at setting {number}" if last > 1 else "",
        "station": length(boat.fitted.station),
        "first_floor": f"{rows['plank'].ids[0][-1]}{number}",
        "tape": boat.tape,
        "read": f": {tape[number]} from the post's surface" if tape else "",
        "second_floor": f"{'sleeve' if fixing.sleeve else 'hole'} {boat.expected[-1:]}{number}",
        "way": f"the bolts go in from {way}, washer and nut {'below' if way == 'above' else 'above'}",
        "showing": bolt and say(bolt.showing, within=ABOUT),
        "points": screws and screws.beyond >= FLUSH,
        "screw_stop": say(rows["first screws"].depth_stop or 0.0) if "first screws" in rows else "",
        "setting": number,
        "others_read": f": {others}" if others else "",
    }
