"""Tables of the job sheet about places and holes: findings, settings, tape, check distances, drilling."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.boat.solved import Boat
from templater.findings import Finding
from templater.job.drilling import DrillingRow, drilling
from templater.report.blocks import Bullets, Table
from templater.report.columns import NOTHING, change, figure, ids_text, table, without_empty


def findings_table(findings: Sequence[Finding]) -> Table | None:
    """Return the findings, or nothing if there are none."""
    if not findings:
        return None
    rows = tuple((one.severity.value, one.text, one.key or "the boat", one.code) for one in findings)
    note = "Error: nothing is made until it is mended. Warning: printed on the sheets too. Advice: for you to weigh."
    return Table("Findings", ("weight", "what and what to do", "key of the description", "code"), rows, note)


def settings_table(boat: Boat) -> Table:
    """Return the settings: where they stand, what the rule leaves, what changes from one to the next."""
    units = boat.description.figures
    tape = {one.setting: one.slant_from_post for one in boat.tape}
    rows = [
        (
            f"{row.number}{' (limit)' if row.at_limit else ''}",
            figure(row.station, units),
            figure(row.runner_base, units),
            figure(row.to_max, units),
            figure(row.to_min, units),
            figure(tape.get(row.number), units),
            change(row.station - before.station if before else None, units),
        )
        for before, row in zip((None, *boat.settings), boat.settings, strict=False)
    ]
    headers = (
        "setting", "bolt line aft of pivot axis", "runner base", "inside greatest", "above least", "tape from post",
        "step",
    )  # fmt: skip
    return without_empty(table("Settings, 1 foremost", headers, rows))


def plank_table(boat: Boat) -> Table:
    """Return the plank as an arc: where the bolts lie along its face, how they lean, what pressing it flat does."""
    units, plank = boat.description.figures, boat.plank
    flat = math.isinf(plank.radius)
    rows = [
        ("bolt from the middle, along the face", figure(plank.hole_along, units)),
        ("bolt from the nearer end, along the face", figure(plank.end_to_hole, units)),
        ("end to end, straight", figure(plank.chord, units)),
        ("radius of the upper face", "flat" if flat else f"{plank.radius / 1000:.2f} m"),
        ("lean of a hole square to the face", f"{plank.lean:.2f}°"),
        ("so far nearer the middle at the under face", figure(plank.lean_shift, units)),
        ("end to end grows when the plank is pressed flat by", figure(plank.span_growth, units)),
    ]
    return Table("The plank, bent to its crown", ("what", "figure"), tuple(rows))


def tape_table(boat: Boat) -> Table | None:
    """Return what the tape reads from the steering post, or nothing without chock corners."""
    units = boat.description.figures
    rows = [
        (
            str(row.setting),
            figure(row.slant_from_post, units),
            figure(row.slant, units),
            figure(row.level, units),
            units.length(row.slope_correction, 2) if units.system == "in" else f"{row.slope_correction:.2f} mm",
            f"{row.slope:.2f}°",
        )
        for row in boat.tape
    ]
    if not rows:
        return None
    note = (
        "Read to both chock corners, port and starboard alike, from a ring or hook round the post, always at the same "
        "edge of the tape and under even tension. Readings repeat to about 1 mm (common practice, no source)."
    )
    headers = ("setting", "from the post's surface", "from its axis", "level distance", "slope adds", "slope")
    return table("Tape figures, steering post to chock corner", headers, rows, note)


def distances_table(boat: Boat) -> Table:
    """Return the check distances between holes."""
    units = boat.description.figures
    rows = [(f"{row.a} to {row.b}", row.kind, figure(row.distance, units), "", "") for row in boat.distances]
    note = "Straight distances, middle to middle. Write down what you measure on the pricks, then on the drilled holes."
    return table("Check distances between holes", ("holes", "kind", "distance", "pricked", "drilled"), rows, note)


def drilling_blocks(boat: Boat) -> tuple[Table, Bullets]:
    """Return the drilling table, bits and depths, and how to go about each kind of hole."""
    say = boat.description.figures.size
    rows = drilling(boat)
    bits = [
        (
            row.title,
            ids_text(row.ids),
            str(len(row.ids)),
            f"{row.pilot.size} {row.pilot.kind}" if row.pilot else NOTHING,
            _final(row),
            f"{say(row.depth_stop)} from {row.stop_from}" if row.depth_stop is not None else "right through",
            f"⌀{say(row.countersink)}, {say(row.countersink_deep or 0.0)} deep" if row.countersink else NOTHING,
        )
        for row in rows
    ]
    headers = ("holes", "ids", "count", "pilot", "final", "depth stop, to the bit's point", "countersink")
    note = "P1a1..4 stands for P1a1 to P1a4. The depth stop is set to the bit's point."
    ways = tuple((f"{row.title.capitalize()}: {_faces(row)}. {_way(row)}", "") for row in rows)
    return without_empty(Table("Bits and depths", headers, tuple(bits), note)), Bullets(ways)


def _faces(row: DrillingRow) -> str:
    start = f"{row.part}, from the {row.start} face"
    return f"{start}, finished from the {row.finish} face" if row.finish else start


def _final(row: DrillingRow) -> str:
    text = f"{row.final.size} {row.final.kind}"
    if abs(row.difference) <= 0.005:
        return text
    return f"{text} ({row.difference:+.2f} mm against the {row.wanted:.2f} asked)"


def _way(row: DrillingRow) -> str:
    lean = f"lean {row.lean:.2f}° from vertical, its foot towards the plank's middle" if row.lean else ""
    web = f"about {row.web:g} mm is left whole at the depth stop and taken out from the other face" if row.web else ""
    parts = (*row.notes, web, row.backing, lean, row.plug, row.glue, row.rule)
    sentences = [part[0].upper() + part[1:] for part in parts if part]
    return ". ".join(sentences) + "." if sentences else ""
