"""The order of work, from paper to the last bolt, as steps to tick off, and the job's cautions where they matter."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from templater.boat.solved import Boat, HoleKind
from templater.description.keys import FloorFace, Surface
from templater.job.bolt_stack import fit_bolt
from templater.job.drilling import DrillingRow, Use, bolt_way, drilling


class Caution(NamedTuple):
    """One caution: a short ``id`` for the steps to point at, its text, and where it comes from."""

    id: str
    text: str
    source: str


#: They defer to class rules, local codes and licensed practice.
CAUTIONS = (
    Caution(
        "edges",
        "Laser-cut and sawn metal is sharp: break every edge and corner of plates and sleeves with a file, and wear "
        "gloves until that is done.",
        "common practice, no source",
    ),
    Caution(
        "clamp",
        "Clamp plate, plank and scrap before drilling; at a pillar drill tie hair back and wear no gloves, jewellery "
        "or loose clothing. Metal that snatches spins with the bit.",
        "summary of US OSHA drill-press requirements; guarding: US 29 CFR 1910.212(a)(1)",
    ),
    Caution(
        "eyes",
        "Wear eye protection when drilling, filing, cutting and mixing epoxy.",
        "EN 166, EN ISO 16321-1; US 29 CFR 1910.133 (from memory)",
    ),
    Caution(
        "behind",
        "Before drilling through, look what lies behind: wires, lines, hands, the bench.",
        "common practice, no source",
    ),
    Caution(
        "dust",
        "Wood dust harms lungs and nose, and hardwood dust can cause cancer of the nose: draw it off at the tool, do "
        "not sweep it dry. Limits in Great Britain, over 8 h: 3 mg/m3 for hardwood and mixtures, 5 mg/m3 for softwood.",
        "UK Health and Safety Executive, wood dust page",
    ),
    Caution(
        "epoxy",
        "Uncured epoxy and its hardener make the skin allergic, often for life: no skin contact, nitrile or butyl "
        "gloves changed often (ordinary latex does not protect), fresh air, and no sanding before it has cured.",
        "UK Health and Safety Executive, dermatitis table and report RR79 (for life: from memory)",
    ),
    Caution(
        "measurer",
        "The class rules and the measurer decide what is allowed.",
        "the rules of your class",
    ),
    Caution(
        "loads",
        "This program checks geometry, not loads: it does not prove that floor, plank, bolts or screws are strong "
        "enough. Its holding and spacing figures are guides.",
        "the limits of this program",
    ),
    Caution(
        "practice",
        "Where local rules ask for a licensed or qualified person for design, welding or work on the hull, have one do "
        "it; local codes go before anything printed here.",
        "local codes",
    ),
    Caution(
        "ice",
        "An ice boat is fast and the ice is hard: try the new fixing at low speed, check every bolt and nut before "
        "each run, and wear helmet and ice claws.",
        "common practice, no source",
    ),
)


def find_caution(name: str) -> Caution:
    """Return a caution by its id.

    Raises:
        KeyError: if there is none.
    """
    return {caution.id: caution for caution in CAUTIONS}[name]


class Step(NamedTuple):
    """One step: its number from 1, what to do, the cautions that first matter there (ids of ``CAUTIONS``)."""

    number: int
    text: str
    cautions: tuple[str, ...] = ()


class Entry(NamedTuple):
    """A step before it is numbered; the cautions of its work by id, separated by blanks."""

    text: str
    cautions: str = ""


def order_of_work(boat: Boat, *, seams: bool = True) -> tuple[Step, ...]:
    """Return the steps for a solved boat; what it does not have is not spoken of.

    Args:
        boat: the solved boat.
        seams: whether a sheet has several pages.
    """
    steps: list[Step] = []
    told: set[str] = set()
    rows = {row.use: row for row in drilling(boat)}
    work = (*_floor(boat, rows), *_plank(boat, rows), *_fitting_up(boat, rows))
    for entry in (*_paper(boat, seams), *work, *_last(boat)):
        new = [name for name in entry.cautions.split() if name not in told]
        told.update(new)
        steps.append(Step(len(steps) + 1, entry.text, tuple(new)))
    return tuple(steps)


def _paper(boat: Boat, seams: bool) -> Iterator[Entry]:
    """Yield the steps before any bit turns."""
    ask = "Read the class rule and ask the measurer" if boat.description.rule else (
        "If the boat sails under class rules, read them and ask the measurer")
    yield Entry(f"{ask} about the new holes before drilling.", "measurer loads practice")
    yield Entry(
        "Print every sheet at actual size. Measure the bars of each page with a steel rule, across and along: "
        "each must be as long as it says. If one is off, store what they measure with templater printer set and "
        "print again."
    )
    if seams:
        yield Entry("Lay the pages out by the map on them, match the registration marks, tape the seams from above.")


def _floor(boat: Boat, rows: dict[Use, DrillingRow]) -> Iterator[Entry]:
    """Yield the steps on the cockpit floor."""
    holes = boat.on(Surface.FLOOR)
    if not holes:
        return
    say, length = boat.description.figures.size, boat.description.figures.length
    under = boat.description.print.floor_face is FloorFace.UNDER
    face = "under face (the sheet is a mirror image, for this face only)" if under else "upper face"
    yield Entry(
        "Find the hull's middle: measure to both sides at five stations or more. templater centreline works out the "
        "line and how far the steering post stands beside it."
    )
    yield Entry(
        f"Draw the centreline and the sheet's station line on the floor's {face} in sharp pencil, measured from the "
        "steering pivot axis."
    )
    yield Entry(
        "Tape the floor sheet down, forward as marked, so that both pencil lines show in the sight windows all along."
    )
    spans = [row for row in boat.distances if row.a in {hole.id for hole in holes}]
    checked = [row for row in spans if row.kind == "across"][:1] + [row for row in spans if row.kind == "diagonal"][-2:]
    figures = ", ".join(f"{row.a} to {row.b} {length(row.distance)}" for row in checked)
    ticks = " and the plates' corners" if boat.plates and not under else ""
    yield Entry(
        f"Prick every hole centre{ticks} through the paper with a fine awl. Measure from prick to prick: {figures}. "
        "Stop if one is off."
    )
    bolts = rows[Use.FLOOR]
    if bolts.pilot is not None:
        yield Entry(
            f"Drill {bolts.pilot.size} right through at {_ids(bolts)}, from the {'under' if under else 'upper'} face, "
            "square to the floor, scrap held behind.", "eyes behind dust",
        )  # fmt: skip
    if any(hole.kind is HoleKind.SLEEVE for hole in holes):
        yield Entry(
            f"Bore {bolts.final.size} at {_ids(bolts)} from below, stop at {say(bolts.depth_stop or 0.0)}, until the "
            "bit's point just shows above; finish from above.", "clamp",
        )  # fmt: skip
        yield Entry(
            f"Cut {len(bolts.ids)} sleeves {say(boat.description.floor.thickness)} long, ends square and deburred; "
            "try them dry, flush on both faces.", "edges clamp",
        )  # fmt: skip
        yield Entry(
            "Glue the sleeves in with epoxy, a waxed bolt through each to keep it square and its bore clean. Let it "
            "set.", "epoxy",
        )  # fmt: skip
    else:
        yield Entry(
            f"Open the holes to {bolts.final.size}; start the exit side first, just through the paint. Seal the bare "
            "wood.", "epoxy",
        )  # fmt: skip
    yield from _plates(boat, under=under)
    if Use.FLOOR_FITTING in rows:
        yield Entry("Drill the fittings' holes in the floor; seal the bare wood.", "eyes behind dust epoxy")


def _plates(boat: Boat, *, under: bool) -> Iterator[Entry]:
    """Yield the steps with the plates, which lie loose until the tapes agree at their setting."""
    if not boat.plates:
        return
    where = "its long way athwart, square to the centreline" if under else "on its corner pricks"
    yield Entry("Make the plates by their sheet; break all edges.", "edges clamp eyes")
    yield Entry(
        f"Lay each plate over its hole, {where}. Do not screw it down yet: a plate holds the bolt closer than the "
        f"{'sleeve' if boat.description.fixing.sleeve else 'floor'} does, so the tapes come first."
    )


def _screws(boat: Boat, rows: dict[Use, DrillingRow], number: int) -> Iterator[Entry]:
    """Yield the steps that screw the plates of the fitted setting down where its bolts stand."""
    first = rows.get(Use.FIRST_SCREW)
    if first is None:
        return
    say = boat.description.figures.size
    yield Entry(
        f"With the bolts tight, drill {first.final.size} through the holes of the plates at setting {number}, stop at "
        f"{say(first.depth_stop or 0.0)} from the plate's face. Run the screws in nine tenths by machine, the rest by "
        "hand.", "eyes behind",
    )  # fmt: skip
    if Use.SECOND_SCREW in rows:
        yield Entry("Leave the second screws undrilled: they are fresh wood for a replacement plate.")


def _plank(boat: Boat, rows: dict[Use, DrillingRow]) -> Iterator[Entry]:
    """Yield the steps on the runner plank on the bench."""
    row = rows.get(Use.PLANK)
    if row is None:
        return
    plank, length, say = boat.description.plank, boat.description.figures.length, boat.description.figures.size
    later = boat.expected
    bent = " It bends over the crown: press it to the face everywhere." if plank.crown else ""
    plug = " Tap the plank to be sure that the solid plug is there." if plank.solid_at_bolts else ""
    yield Entry(
        f"Draw the plank's middle, {length(plank.length / 2)} from each end along the face, and its bolt line, "
        f"{say(plank.fore_edge)} from the fore edge, on the upper face."
    )
    prick = f"prick {row.ids[0]} only; {later} is a place to expect, not a hole" if later else "prick both bolt holes"
    yield Entry(f"Tape the plank sheet down on those lines, fore edge forward, and {prick}.{bent}{plug}")
    holes = f"the one bolt hole, {row.ids[0]}" if later else "both bolt holes here on the bench"
    yield Entry(
        f"Clamp scrap below and drill {holes}: {_bits(row)}, square to the face; start the exit side first, "
        "just through the paint. Seal the bare wood and let it cure.", "eyes clamp behind dust epoxy",
    )  # fmt: skip
    if Use.PLANK_FITTING in rows:
        yield Entry("Drill the fittings' holes in the plank; seal the bare wood.", "eyes behind dust")


def _fitting_up(boat: Boat, rows: dict[Use, DrillingRow]) -> Iterator[Entry]:
    """Yield the steps under the hull: one bolt, tapes, clamp, mark, drill, bolt, tapes again, the other settings."""
    fixing, later = boat.description.fixing, boat.expected
    extra = " and ".join(name for name, thick in (("shims", fixing.shim), ("blocks", fixing.block)) if thick > 0)
    between = f", the {extra} between" if extra else ""
    setting = next((one for one in boat.settings if one.at_limit), boat.settings[-1])
    at = f" at setting {setting.number}" if len(boat.settings) > 1 else ""
    tape = {one.setting: boat.description.figures.length(one.slant_from_post) for one in boat.tape}
    read = f": {tape[setting.number]} from the post's surface" if tape else ""
    corners = "the chock corners" if tape else "the same corner of both chocks"
    if later:
        first = rows[Use.PLANK].ids[0]
        yield Entry(
            f"Bring the plank under the floor{between}{at} on one bolt, through {first[-1]}{setting.number} and "
            f"{first}; leave the nut loose so that the plank swings."
            + (" Wind tape round the bolt until it just fits the sleeve." if fixing.sleeve else "")
        )
    else:
        yield Entry(f"Bring the plank under the floor{between}{at}; put both bolts in, nuts loose.")
    if boat.description.plank.crown:
        yield Entry(
            "If the plank rocks or the runners lean, measure gaps and tilt; templater shim works out the shims. Fit "
            "them now."
        )
    swing = "Swing the plank until port and starboard read" if later else "Port and starboard should read"
    yield Entry(
        f"Loop two tapes round the steering post and read them at {corners}. {swing} the same{read}."
        + (" templater square works out how far and which way." if tape else "")
    )
    if later:
        other = f"{'sleeve' if fixing.sleeve else 'hole'} {later[-1]}{setting.number}"
        yield Entry("Clamp the plank to the floor and read both tapes once more.", "clamp")
        yield Entry(f"Mark the second hole on the plank, all round, from above through the floor's own {other}.")
        yield Entry(
            f"Take the plank off. Drill at the middle of what was marked: {_bits(rows[Use.SECOND_HOLE])}, square to "
            "the face, as before. Seal it and let it cure.", "eyes behind",
        )  # fmt: skip
        yield Entry(f"Bolt the plank{at}{between}: {bolt_way(boat)}.")
    bolt = fit_bolt(boat)[0]
    thread = f" About {boat.description.figures.size(bolt.showing)} of thread shows beyond each nut." if bolt else ""
    yield Entry(f"Tighten the nuts evenly until the washers just begin to bed into the wood, no further.{thread}")
    yield Entry("Read both tapes again; tightening moves the plank.")
    yield from _screws(boat, rows, setting.number)
    others = [one.number for one in boat.settings if one is not setting]
    if others:
        reads = "; ".join(f"setting {number} {tape[number]}" for number in others if number in tape)
        yield Entry(
            "Try each other setting: both bolts must drop in by hand. Shift the plank in their play until the tapes "
            "agree there too" + (f": {reads}." if reads else ".")
            + (" Then screw that setting's plates down." if Use.FIRST_SCREW in rows else "")
        )


def _bits(row: DrillingRow) -> str:
    """Return the bits in their order: ``3 mm, then 8 mm``."""
    return f"{row.pilot.size}, then {row.final.size}" if row.pilot else row.final.size


def _last(boat: Boat) -> Iterator[Entry]:
    """Yield what comes after the last bolt."""
    if boat.description.rule:
        yield Entry("Have the runner base measured.")
    yield Entry("Pack the spares bag. First run at low speed; then check every fastening again.", "ice")


def _ids(row: DrillingRow) -> str:
    """Return ids in short, first and last where there are many."""
    return ", ".join(row.ids) if len(row.ids) <= 8 else f"{row.ids[0]} to {row.ids[-1]}"
