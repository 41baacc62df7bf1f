"""The order of work, from tape-on to the final bolt, as steps to be ticked off."""

from __future__ import annotations

from dataclasses import dataclass

from templater.boat.solved import Boat, HoleKind
from templater.description.model import FloorFace, Surface


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its number from 1, what to do, the cautions that go with it (ids of ``cautions.CAUTIONS``)."""

    number: int
    text: str
    cautions: tuple[str, ...] = ()


def order_of_work(boat: Boat) -> tuple[Step, ...]:
    """Return the steps for a solved boat; those for parts it does not have are left out."""
    steps = [*_before(boat), *_floor(boat), *_plank(boat), *_fitting_up(boat)]
    return tuple(Step(number, text, cautions) for number, (text, cautions) in enumerate(steps, 1))


Entry = tuple[str, tuple[str, ...]]


def _before(boat: Boat) -> list[Entry]:
    """Return the steps before any bit turns."""
    rule = "Read the class rules and ask the measurer about the new holes" if boat.description.rule else (
        "If the boat sails under class rules, ask the measurer about the new holes")
    return [
        (f"{rule}; read the findings printed with this sheet.", ("measurer", "loads", "practice")),
        ("Print every sheet at actual size. Measure both calibration bars of each page with a steel rule; if one is "
         "off, measure them for the printer's profile and print again.", ()),
        ("Lay the pages out by the tile map, match the registration marks, tape the seams from above.", ()),
    ]  # fmt: skip


def _floor(boat: Boat) -> list[Entry]:
    """Return the steps on the cockpit floor."""
    holes = boat.on(Surface.FLOOR)
    if not holes:
        return []
    description = boat.description
    under = description.print.floor_face is FloorFace.UNDER
    face = "under face (the sheet is a mirror image, for this face only)" if under else "upper face"
    steps: list[Entry] = [
        (f"Draw the centreline and one station line on the floor's {face}, measured from the steering pivot axis, in "
         "sharp pencil.", ()),
        ("Lay the floor sheet so that both pencil lines show in the sight windows; check which way is forward; tape it "
         "down all round.", ()),
        ("Prick every hole centre through the paper with a fine awl, then check the distances of the table between "
         "the pricks. Stop if one is out.", ()),
        ("Drill the pilots of the floor's bolt holes right through, square to the floor, scrap held behind.",
         ("eyes", "behind", "dust")),
    ]  # fmt: skip
    sleeves = any(hole.kind is HoleKind.SLEEVE for hole in holes)
    if sleeves:
        steps += [
            ("Bore the sleeve holes from below, depth stop as in the drilling table, until the point just shows above; "
             "finish them from above.", ("eyes", "clamp", "dust")),
            ("Cut the sleeves to the floor's thickness, ends square and deburred; try them dry, flush on both faces.",
             ("edges", "eyes", "clamp")),
            ("Glue the sleeves in with epoxy, a waxed bolt through each to keep it square and its bore clean. Let it "
             "set.", ("epoxy", "eyes")),
        ]  # fmt: skip
    else:
        steps.append(
            ("Open the floor's bolt holes to size; touch the other face lightly first. Seal the bare wood.",
             ("eyes", "behind", "dust", "epoxy"))
        )  # fmt: skip
    if boat.plates:
        steps += [
            ("Cut, drill and countersink the plates by their sheet; break all edges.", ("edges", "clamp", "eyes")),
            ("Set each plate on its mark with a bolt through slot and floor; check that its corners meet the pricks.",
             ("edges",)),
        ]  # fmt: skip
    if any(hole.kind is HoleKind.FIRST_SCREW for hole in holes):
        steps.append(
            ("Drill the pilots of the first screws through the plate, depth stop set. Run the screws in to about nine "
             "tenths by machine, the rest by hand.", ("eyes", "behind"))
        )  # fmt: skip
    if any(hole.kind is HoleKind.SECOND_SCREW for hole in holes):
        steps.append(
            ("Do not drill the second screws: they are fresh wood for a replacement plate. Keep the spare plates and "
             "this sheet.", ())
        )  # fmt: skip
    if any(hole.kind is HoleKind.FITTING for hole in holes):
        steps.append(("Drill the fittings' holes in the floor; seal the bare wood.", ("eyes", "behind", "dust")))
    return steps


def _plank(boat: Boat) -> list[Entry]:
    """Return the steps on the runner plank."""
    if not boat.on(Surface.PLANK):
        return []
    plank = boat.description.plank
    bent = " It bends over the crown: press it to the face everywhere." if plank.crown else ""
    plug = " Tap the plank to be sure that the solid plug is under each mark." if plank.solid_at_bolts else ""
    steps: list[Entry] = [
        ("Draw the plank's middle and its bolt line on the upper face. Measure from both ends to the middle: the two "
         "must agree.", ()),
        (f"Lay the plank sheet on those lines, fore edge forward, tape it down and prick the holes.{bent}{plug}", ()),
        ("Check the distance between the pricks along the face. Clamp scrap below. Drill the pilots, then the bolt "
         "holes, square to the face, touching the under face lightly first.", ("eyes", "clamp", "behind", "dust")),
        ("Seal the bare wood of the holes and let it cure.", ("epoxy",)),
    ]  # fmt: skip
    if any(hole.kind is HoleKind.FITTING for hole in boat.on(Surface.PLANK)):
        steps.append(("Drill the fittings' holes in the plank; seal the bare wood.", ("eyes", "behind", "dust")))
    return steps


def _fitting_up(boat: Boat) -> list[Entry]:
    """Return the steps of the first fitting and the last bolt."""
    count = len(boat.settings)
    fixing = boat.description.fixing
    extra = [name for name, thick in (("shims", fixing.shim), ("blocks", fixing.block)) if thick > 0]
    between = f" with the {' and '.join(extra)} between" if extra else ""
    where = "the setting at the limit" if count > 1 else "its holes"
    steps: list[Entry] = [
        (f"Bring the plank under the floor{between} at {where}. Bolts go in from above, washer and nut below; leave "
         "the nuts loose.", ()),
    ]  # fmt: skip
    if boat.tape:
        steps.append(
            ("Tape from the steering post to the chock corners, port and starboard, several times, and note the "
             "readings. Move the plank until both agree with the tape table.", ())
        )  # fmt: skip
    else:
        steps.append(("Measure from the steering post to the same corner of both chocks until port and starboard "
                      "agree.", ()))  # fmt: skip
    steps.append(("Tighten the nuts evenly until the washers just begin to bed into the wood, no further. Two or more "
                  "turns of thread must show beyond each nut.", ()))  # fmt: skip
    steps.append(("Measure again; tightening moves the plank.", ()))
    if count > 1:
        steps.append((f"Try all {count} settings: the bolts must drop in by hand at each.", ()))
    steps += [
        ("Have the runner base measured.", ("measurer",)),
        ("Pack the spares bag. First run at low speed; then check every fastening again.", ("ice", "loads")),
    ]
    return steps
