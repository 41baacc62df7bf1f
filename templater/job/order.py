"""The order of work, from paper to the last bolt, as steps to tick off, and the job's cautions where they matter.

The words stand in ``steps.txt`` and ``standards/data/cautions.csv``; here is when they are said, and their figures.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.boat.solved import Boat
from templater.description.keys import FloorFace, Surface
from templater.job.drilling import DrillingRow, bolt_way, drilling, holds, paragraphs, said
from templater.job.fasteners import fit_bolt
from templater.standards.tables import read_table


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
    for head, *lines in paragraphs("steps"):
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
    rows, bolt = {row.use: row for row in drilling(boat)}, fit_bolt(boat)[0]
    floor, first, second = rows["floor"], rows["plank"], boat.expected
    screw, later = rows.get("first screws"), rows.get("second hole")
    on_floor = {hole.id for hole in boat.on(Surface.FLOOR)}
    spans = [row for row in boat.distances if row.a in on_floor]
    checked = [row for row in spans if row.kind == "across"][:1] + [row for row in spans if row.kind == "diagonal"][-2:]
    extra = " and ".join(name for name, thick in (("shims", fixing.shim), ("blocks", fixing.block)) if thick > 0)
    tape = {one.setting: length(one.slant_from_post) for one in boat.tape}
    others = "; ".join(f"{reads} at setting {other}" for other, reads in tape.items() if other != number)
    return {
        **{use.replace(" ", "-"): row for use, row in rows.items()},
        "rule": description.rule,
        "sleeve": fixing.sleeve,
        "plate": fixing.plate,
        "fit-up": second,
        "crown": plank.crown,
        "plug": plank.solid_at_bolts,
        "under": face is FloorFace.UNDER,
        "others": last > 1,
        "face": face.value,
        "checks": ", ".join(f"{row.a} to {row.b} {length(row.distance)}" for row in checked),
        "pilot": floor.pilot and floor.pilot.size,
        "bolts": "P1 and S1" if last == 1 else f"P1 to P{last} and S1 to S{last}",
        "bit": floor.final.size,
        "floor": say(description.floor.thickness),
        "count": len(floor.ids),
        "looser": "sleeve" if fixing.sleeve else "floor",
        "half": length(plank.length / 2),
        "edge": say(plank.fore_edge),
        "first": first.ids[0],
        "second": second,
        "bits": _bits(first),
        "between": f", the {extra} between" if extra else "",
        "at": f" at setting {number}" if last > 1 else "",
        "first_floor": f"{first.ids[0][-1]}{number}",
        "tape": boat.tape,
        "taped": "the chock corners" if tape else "the same corner of both chocks",
        "read": f": {tape[number]} from the post's surface" if tape else "",
        "second_floor": f"{'sleeve' if fixing.sleeve else 'hole'} {second[-1:]}{number}",
        "second_bits": later and _bits(later),
        "way": bolt_way(boat),
        "showing": bolt and say(bolt.showing),
        "screw_bit": screw and screw.final.size,
        "screw_stop": screw and say(screw.depth_stop or 0.0),
        "setting": number,
        "others_read": f": {others}" if others else "",
    }


def _bits(row: DrillingRow) -> str:
    """Return the bits in their order: ``3 mm, then 8 mm``."""
    return f"{row.pilot.size}, then {row.final.size}" if row.pilot else row.final.size
