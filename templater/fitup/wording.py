"""Results of the fit-up as plain lines for the terminal, and as plain data for other programs."""

from __future__ import annotations

import dataclasses
import math
from enum import Enum
from typing import Any

from templater.boat.solved import Side
from templater.findings import Finding
from templater.fitup.centreline import CentrelineResult
from templater.fitup.shim import ShimResult
from templater.fitup.slots import Verdict
from templater.fitup.square import EndMove, SquareResult
from templater.units import Figures, figures_of, length_text, mm_text

#: What each verdict on the free bolt says.
VERDICTS = {
    Verdict.FITS: "fits",
    Verdict.DEPENDS: "fits only if the bolt now stands on the far side of its play",
    Verdict.TOO_FAR: "does not fit: drill the plank's second hole only once square",
}


def length(value: float, units: str | Figures, decimals: int = 1) -> str:
    """Return a length for people: mm, for boats in inches also the nearest 1/32 in unless that is nought."""
    return length_text(value, units, decimals).removesuffix(" (0 in)")


def side_word(side: Side) -> str:
    """Return ``port`` or ``starboard``."""
    return side.name.lower()


def plus_minus(value: float, half_width: float, decimals: int = 1) -> str:
    """Return a value with the half-width of its 95 % interval; rounded up, so that it never claims too much."""
    step = 10.0**-decimals
    return f"{mm_text(value, decimals)} ± {math.ceil(half_width / step - 1e-9) * step:.{decimals}f}"


def verdict(result: SquareResult) -> str:
    """Return what an attempt came to: within or out of tolerance and how surely, or not decided."""
    if not result.decided:
        return "not decided: a reading is suspect, read it again"
    text = "within tolerance" if result.passed else "out of tolerance"
    if result.left_out:
        text += f", {result.left_out} suspect reading{'s' if result.left_out > 1 else ''} left out"
    return text if result.sure else f"{text} (not sure: {_why_unsure(result)})"


def _why_unsure(result: SquareResult) -> str:
    if all(row.count == 1 for row in result.repeatability):
        return "one reading a side tells nothing of the scatter"
    if not result.from_repeats:
        return "too few repeats to tell the scatter"
    return "the readings scatter too much to tell"


def square_lines(result: SquareResult, units: str | Figures = "mm") -> tuple[str, ...]:
    """Return one attempt in lines, the verdict first and what to do second; no advice where nothing is decided."""
    attempt = result.attempt
    head = f"attempt {attempt.number}{f', {attempt.date}' if attempt.date else ''}: setting {attempt.setting}"
    first = f"{head}, first bolt {side_word(attempt.first_bolt)}: {verdict(result)}"
    if not result.decided:
        return (first, *(f"  {row}" for row in repeats_words(result)))
    aft, athwart = abs(result.free_bolt_aft), abs(result.free_bolt_athwart)
    lines = [
        first,
        f"  tape, starboard less port: {plus_minus(result.difference, result.difference_95)} mm"
        f"{inches(result.difference, units)}, should be {mm_text(result.aim_difference)}, "
        f"tolerance {length(result.tolerance, units)}",
        f"  yaw {plus_minus(result.yaw, result.yaw_95, 3)}°, {yaw_words(result, units)}",
        f"  move: {advice(result, units)}",
        f"  then the tape should read port {length(result.aim_port, units)}, "
        f"starboard {length(result.aim_starboard, units)}",
        f"  free bolt, {side_word(result.free_side)}: {length(aft, units, 2)} "
        f"{'aft' if result.free_bolt_aft > 0 else 'forward'}, {length(athwart, units, 2)} athwart; "
        f"play {length(result.room.play_fore_aft, units, 2)} fore and aft, "
        f"{length(result.room.play_athwart, units, 2)} athwart: {VERDICTS[result.room.verdict]}",
        f"  ring: {length(result.ring, units)} from the steering post's axis to the tape's nought",
        f"  one reading is good to {result.reading_sd:.2f} mm "
        f"({'from the repeats' if result.from_repeats else 'as stated'}, one standard deviation)",
    ]
    lines.append(f"  {off_centre_words(result)}")
    hole = result.second_hole
    lines.append(
        f"  second hole, {side_word(hole.side)}: {length(abs(hole.y), units)} along the face from the plank's middle, "
        f"{length(abs(hole.x), units)} {'forward' if hole.x < 0 else 'aft'} of the bolt line; "
        f"{length(hole.from_first, units)} straight from the first"
    )
    return tuple(lines)


def inches(value: float, units: str | Figures) -> str:
    """Return a length in inches in brackets after its text in mm, nothing for boats in mm."""
    figures = figures_of(units)
    text = "" if figures.system == "mm" else f" ({figures.inches(value)})"
    return "" if text == " (0 in)" else text


def repeats_words(result: SquareResult) -> tuple[str, ...]:
    """Return each quantity's mean and spread, for an attempt that decides nothing."""
    return tuple(
        f"{row.name} {side_word(row.side)}: {row.count} reading{'s' if row.count > 1 else ''}, mean "
        f"{mm_text(row.mean)} mm, largest less smallest {mm_text(row.spread)} mm"
        for row in result.repeatability
    )


def off_centre_words(result: SquareResult) -> str:
    """Say whether the plank's place athwart was measured, and what it would do if not."""
    if result.off_centre is not None:
        where = "starboard" if result.off_centre > 0 else "port"
        return f"plank's middle {abs(result.off_centre):.1f} mm to {where} of the centreline, allowed for"
    row = result.off_centre_rows[0]
    return (
        f"taken as centred: each mm the plank lies off centre turns it by {abs(row.yaw):.3f}° "
        f"({abs(row.ends):.1f} mm between the ends) with equal tapes; off_centre readings find and allow for it"
    )


def yaw_words(result: SquareResult, units: str | Figures = "mm") -> str:
    """Say which end lies where."""
    ends = []
    for end in result.ends:
        way = f"{length(abs(end.aft), units)} {'aft' if end.aft > 0 else 'forward'} of square"
        ends.append(f"{side_word(end.side)} corner {'square' if end.stays else way}")
    return ", ".join(ends)


def move(end: EndMove, units: str | Figures = "mm") -> str:
    """Return how far and which way an end must go; nothing if it stands right."""
    return "" if end.stays else f"{length(abs(end.aft), units)} {'forward' if end.aft > 0 else 'aft'}"


def advice(result: SquareResult, units: str | Figures = "mm") -> str:
    """Return what to do with the free end."""
    if not result.decided:
        return "nothing before the suspect reading is read again"
    free, other = (result.ends if result.free_side is Side.PORT else result.ends[::-1])
    if abs(result.excess) < 0.05 or free.stays:
        return "nothing"
    follows = "stays where it is" if other.stays else f"then goes {move(other, units)} about the first bolt"
    return (
        f"{side_word(free.side)} end {move(free, units)} at the chock corner; the {side_word(other.side)} end {follows}"
    )


def centreline_lines(result: CentrelineResult, units: str | Figures = "mm") -> tuple[str, ...]:
    """Return the centreline in lines; where it is not decided, nothing to draw by."""
    count = len(result.rows) - len(result.left_out)
    head = f"centreline through {count} stations: scatter {result.scatter:.2f} mm"
    if result.left_out:
        places = " and ".join(_station(station, units) for station in result.left_out)
        head += f", the suspect station {places} left out"
    lines = [head] if result.decided else [f"centreline not decided: read it again (scatter {result.scatter:.2f} mm)"]
    if result.decided:
        lines.append(
            f"  runs {plus_minus(abs(result.angle), result.angle_95, 3)}° to {_side(result.angle)} of the trial line, "
            "going aft"
        )
        at_post = plus_minus(abs(result.at_post), result.at_post_95)
        lines.append(f"  at the steering pivot axis: {at_post} mm to {_side(result.at_post)} of it")
        if result.post_offset is not None and result.post_offset_95 is not None:
            offset = plus_minus(abs(result.post_offset), result.post_offset_95)
            lines.append(f"  steering post: {offset} mm to {_side(result.post_offset)} of the centreline")
        for mark in result.marks:
            lines.append(
                f"  mark at station {_station(mark.station, units)}: {length(abs(mark.offset), units)} to "
                f"{_side(mark.offset)} of the trial line, {length(mark.from_port_edge, units)} from the port edge"
            )
        lines.append("  draw the centreline through the two marks")
    for row in result.rows:
        flag = "  <- suspect" if row.suspect else ""
        lines.append(f"  station {_station(row.station, units)}: misfit {mm_text(row.residual)} mm{flag}")
    if result.with_all is not None:
        offset_all, angle_all = result.with_all
        lines.append(
            f"  with the suspect it would be {mm_text(abs(offset_all))} mm to {_side(offset_all)} "
            f"at the steering pivot axis, {abs(angle_all):.3f}° to {_side(angle_all)}"
        )
    if result.curve is not None and result.curve_p is not None:
        chance = f"chance {result.curve_p:.1%} if straight"
        rise = f"{mm_text(abs(result.curve))} mm to {_side(result.curve)}"
        lines.append(f"  curve of the hull's middle: {rise} ({chance})")
    return tuple(lines)


def _station(value: float, units: str | Figures) -> str:
    """Return a station: bare mm, for boats in inches with its unit and in inches too."""
    return mm_text(value, 0) if figures_of(units).system == "mm" else length(value, units, 0)


def _side(value: float) -> str:
    """Return the side that a distance to starboard lies on, as it is written to 0.001."""
    return "port" if value < -0.0005 else "starboard"


def shim_lines(result: ShimResult) -> tuple[str, ...]:
    """Return the shims in lines; none where repeats disagree."""
    if not result.decided:
        return ("shims not decided: readings of the same thing disagree, read them again",)
    source = "the gaps measured" if result.measured else "the plank's arc"
    lines = [f"shims from {source}; thickness between plank and hull at y from the plank's middle:"]
    lines += [
        f"  y {mm_text(row.y)}: gap {row.gap:.2f} mm, thickness {row.thickness:.2f} mm" for row in result.profile
    ]
    for seat in result.seats:
        fore_port, fore_starboard, aft_port, aft_starboard = seat.corners
        lines.append(
            f"  {side_word(seat.side)} shim: at the bolt {seat.at_bolt:.2f} mm; fore edge {fore_port:.2f} port "
            f"{fore_starboard:.2f} starboard; aft edge {aft_port:.2f} port {aft_starboard:.2f} starboard"
        )
    if result.toe is not None:
        toe = result.toe
        way = "in" if toe.total >= 0 else "out"
        lines.append(f"  toe {way} {abs(toe.total):.2f}° both together ({abs(toe.difference):.1f} mm)")
        lines.append(f"  lead (fore end inboard): port {toe.lead_port:.2f}°, starboard {toe.lead_starboard:.2f}°")
    lines += [
        f"  {row.change}: {row.seat:.2f} mm over the seat, {row.tilt:.2f}° of tilt, "
        f"{row.toe:.3f}° of toe each, {row.runner:.2f} mm over a 1 m runner"
        for row in result.meanings
    ]
    return tuple(lines)


def plain(value: Any) -> Any:
    """Return a result as plain data for JSON: dicts, lists, text, numbers; sides by name, endless as null."""
    if isinstance(value, Side):
        return side_word(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Finding):
        where = value.where
        return {
            "code": value.code, "severity": value.severity.value, "key": value.key, "text": value.text,
            "file": where.file if where else None, "line": where.line if where else None,
            "column": where.column if where else None,
        }  # fmt: skip
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return plain(value._asdict())
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return round(value, 6) + 0.0 if math.isfinite(value) else None
    return value
