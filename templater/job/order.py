"""The order of work, from paper to the last bolt, as steps to tick off, and the job's cautions where they matter.

The words stand in ``steps.txt`` and ``standards/data/cautions.csv``; here is when they are said, and their figures.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

from templater.boat.solved import Boat
from templater.description.keys import FloorFace, Surface
from templater.job.drilling import DrillingRow, Use, bolt_way, drilling
from templater.job.fasteners import BoltFit, fit_bolt
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


@cache
def _paragraphs() -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Return the steps as they are written: when, cautions, lines."""
    found = []
    for paragraph in Path(__file__).with_name("steps.txt").read_text("utf-8").split("\n\n")[1:]:
        head, *lines = paragraph.strip().split("\n")
        when, _, names = head.partition("|")
        found.append((when, names, tuple(lines)))
    return tuple(found)


def order_of_work(boat: Boat, *, seams: bool = True) -> tuple[Step, ...]:
    """Return the steps for a solved boat, ``seams``: a sheet has several pages. What it has not is not spoken of."""
    rows = {row.use: row for row in drilling(boat)}
    bolt = fit_bolt(boat)[0]
    holding, figures = _holding(boat, rows, bolt, seams=seams), _figures(boat, rows, bolt)
    steps: list[Step] = []
    told: set[str] = set()
    known = cautions()

    def holds(words: str) -> bool:
        return all((word.removeprefix("!") in holding) != word.startswith("!") for word in words.split())

    for when, names, lines in _paragraphs():
        if not holds(when):
            continue
        said = []
        for line in lines:
            words, _, rest = line.removeprefix("(").partition(") ") if line.startswith("(") else ("", "", line)
            if holds(words):
                said.append(rest)
        new = [name for name in names.split() if name not in told]
        told.update(new)
        text = " ".join(said).format_map(figures)
        steps.append(Step(len(steps) + 1, text, tuple(known[name] for name in new)))
    return tuple(steps)


def _holding(boat: Boat, rows: dict[Use, DrillingRow], bolt: BoltFit | None, *, seams: bool) -> set[str]:
    """Return the words that hold for a boat."""
    description = boat.description
    words = {
        "rule": description.rule,
        "seams": seams,
        "pilot": rows["floor"].pilot,
        "sleeve": description.fixing.sleeve,
        "plate": description.fixing.plate,
        "fit-up": boat.expected,
        "crown": description.plank.crown,
        "plug": description.plank.solid_at_bolts,
        "tape": boat.tape,
        "bolt": bolt,
        "under": description.print.floor_face is FloorFace.UNDER,
        "others": len(boat.settings) > 1,
    }
    return {word for word, held in words.items() if held} | {use.replace(" ", "-") for use in rows}


def _figures(boat: Boat, rows: dict[Use, DrillingRow], bolt: BoltFit | None) -> dict[str, str | int]:
    """Return what stands in the steps' braces."""
    description, number, last = boat.description, boat.fitted.number, len(boat.settings)
    say, length = description.figures.size, description.figures.length
    fixing, plank = description.fixing, description.plank
    floor, first, second = rows["floor"], rows["plank"], boat.expected
    on_floor = {hole.id for hole in boat.on(Surface.FLOOR)}
    spans = [row for row in boat.distances if row.a in on_floor]
    checked = [row for row in spans if row.kind == "across"][:1] + [row for row in spans if row.kind == "diagonal"][-2:]
    extra = " and ".join(name for name, thick in (("shims", fixing.shim), ("blocks", fixing.block)) if thick > 0)
    tape = {one.setting: length(one.slant_from_post) for one in boat.tape}
    others = "; ".join(f"{reads} at setting {other}" for other, reads in tape.items() if other != number)
    screw, later = rows.get("first screws"), rows.get("second hole")
    return {
        "face": description.print.floor_face.value,
        "checks": ", ".join(f"{row.a} to {row.b} {length(row.distance)}" for row in checked),
        "pilot": floor.pilot.size if floor.pilot else "",
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
        "taped": "the chock corners" if tape else "the same corner of both chocks",
        "read": f": {tape[number]} from the post's surface" if tape else "",
        "second_floor": f"{'sleeve' if fixing.sleeve else 'hole'} {second[-1:]}{number}",
        "second_bits": _bits(later) if later else "",
        "way": bolt_way(boat),
        "showing": say(bolt.showing) if bolt else "",
        "screw_bit": screw.final.size if screw else "",
        "screw_stop": say(screw.depth_stop or 0.0) if screw else "",
        "setting": number,
        "others_read": f": {others}" if others else "",
    }


def _bits(row: DrillingRow) -> str:
    """Return the bits in their order: ``3 mm, then 8 mm``."""
    return f"{row.pilot.size}, then {row.final.size}" if row.pilot else row.final.size
