"""The fit-up's page, ``fit-up.html``: verdict, plan view, attempts, centreline, shims, changes since last season."""

from __future__ import annotations

from templater import __version__
from templater.boat.solved import Boat
from templater.findings import Severity
from templater.fitup.record import Record
from templater.fitup.shim import ShimResult
from templater.fitup.square import EndMove, SquareResult
from templater.fitup.wording import (
    VERDICTS,
    advice,
    centreline_lines,
    length,
    move,
    off_centre_words,
    plus_minus,
    repeats_words,
    shim_lines,
    side_word,
    verdict,
)
from templater.report.blocks import Block, Bullets, JobSheet, Paragraph, Section, Steps, Table
from templater.report.html import job_sheet_html
from templater.report.plank_view import plan_view
from templater.units import Figures, mm_text

#: Steps of reading and moving. Source: common practice, no source.
STEPS = (
    ("Put the ring round the steering post, the same ring for both sides.", ""),
    ("Hold the same edge of the tape to each chock corner, pull evenly, read at eye level.", ""),
    ("Read port and starboard in turn, three times or more each; lift the tape in between.", ""),
    (
        "Move the free end as advised, clamp it, and read again.",
        "Sharpened runners cut: fit guards or take them off before you lie under the plank; chock the hull.",
    ),
    (
        "Once within tolerance, mark and drill the second hole, or tighten the bolts.",
        "Eye protection; clamp the work; no gloves or loose clothing at a drill; back the exit face with scrap.",
    ),
)


def fitup_page(record: Record, boat: Boat) -> bytes:
    """Return the page as UTF-8 bytes: self-contained, no network, light and dark, fit for printing."""
    return job_sheet_html(fitup_sheet(record, boat))


def fitup_sheet(record: Record, boat: Boat) -> JobSheet:
    """Return the page as plain data."""
    facts = [("Boat", record.boat), ("Date", record.date or "not given")]
    if record.attempts:
        facts.append(("Attempts", str(len(record.attempts))))
        facts.append(("Result", verdict(record.attempts[-1])))
    sections: list[Section] = []
    if record.attempts:
        sections += _square_sections(record, boat)
    if record.centreline is not None:
        sections.append(_centreline_section(record, boat.description.figures))
    if record.shim is not None:
        sections.append(_shim_section(record.shim))
    if record.changes:
        sections.append(_changes_section(record))
    if record.findings:
        names = {Severity.ERROR: "Error", Severity.WARNING: "Warning", Severity.ADVICE: "Advice"}
        items = tuple((f"{names[finding.severity]}: {finding.text}", finding.code) for finding in record.findings)
        sections.append(Section("worth-knowing", "Worth knowing", (Bullets(items),)))
    keep = "Keep the record's data file: next season's re-check is compared with it."
    sections.append(Section("how", "How to read and move", (Steps(STEPS), Paragraph(keep))))
    return JobSheet(
        title=f"Fit-up of {record.boat}",
        subtitle="Squareness of the runner plank, centreline and shims, from the readings taken",
        facts=tuple(facts),
        sections=tuple(sections),
        program=f"templater {__version__}",
    )


def _square_sections(record: Record, boat: Boat) -> list[Section]:
    last = record.attempts[-1]
    now: list[Block] = [_now(last, boat)]
    if last.decided:
        now.append(plan_view(boat, last))
    figures = boat.description.figures
    history = Table(
        "All attempts",
        ("Attempt", "Date", "Setting", "Starboard less port, mm", "Yaw, °", "Advised", "Result", "Note"),
        tuple(
            (
                str(r.attempt.number), r.attempt.date or "-", str(r.attempt.setting),
                plus_minus(r.difference, r.difference_95) if r.decided else "-",
                plus_minus(r.yaw, r.yaw_95, 3) if r.decided else "-", advice(r, figures), verdict(r),
                r.attempt.note or "-",
            )
            for r in record.attempts
        ),
    )  # fmt: skip
    readings = Table(
        "Readings of the last attempt",
        ("Quantity", "Side", "Repeats", "Mean, mm", "Standard deviation, mm", "Largest less smallest, mm"),
        tuple(
            (
                row.name, side_word(row.side), str(row.count), mm_text(row.mean, 2),
                "-" if row.sd is None else f"{row.sd:.2f}", mm_text(row.spread, 2),
            )
            for row in last.repeatability
        ),
        note="Readings repeat to about 1 mm: common practice, no source.",
    )  # fmt: skip
    return [
        Section("square", "Is the plank square?", tuple(now)),
        Section("attempts", "Attempts", (history, readings, _off_centre_table(last))),
    ]


def _now(last: SquareResult, boat: Boat) -> Table:
    """Return the last attempt's figures and what to do; the readings alone where they decide nothing."""
    figures = boat.description.figures
    rows: tuple[tuple[str, str], ...] = (("Result", verdict(last)), ("What to do", advice(last, figures)))
    if not last.decided:
        rows += tuple((words.partition(": ")[0], words.partition(": ")[2]) for words in repeats_words(last))
        return Table(f"Attempt {last.attempt.number}", ("What", "Figure"), rows)
    rows = (
        rows[0],
        ("Yaw, starboard end aft positive", f"{plus_minus(last.yaw, last.yaw_95, 3)}° (95 %)"),
        *((f"{side_word(end.side).title()} end, at the chock corner", _end(end, figures)) for end in last.ends),
        rows[1],
        ("Tape should then read, port", length(last.aim_port, figures)),
        ("Tape should then read, starboard", length(last.aim_starboard, figures)),
        (
            f"Free bolt, {side_word(last.free_side)}",
            f"{length(abs(last.free_bolt_aft), figures, 2)} {'aft' if last.free_bolt_aft > 0 else 'forward'}; play "
            f"{length(last.room.play_fore_aft, figures, 2)} fore and aft: {VERDICTS[last.room.verdict]}",
        ),
        ("Second hole of the plank", _hole(last, figures)),
    )
    note = off_centre_words(last).capitalize() + "."
    return Table(f"Attempt {last.attempt.number}", ("What", "Figure"), rows, note=note)


def _end(end: EndMove, figures: Figures) -> str:
    return "leave as it is" if end.stays else f"must go {move(end, figures)}"


def _hole(result: SquareResult, units: Figures) -> str:
    hole = result.second_hole
    way = "on" if abs(hole.x) < 0.05 else f"{length(abs(hole.x), units)} {'aft' if hole.x > 0 else 'forward'} of"
    return (
        f"{side_word(hole.side)}: {length(abs(hole.y), units)} along the face from the plank's middle, {way} the bolt "
        f"line; {length(hole.from_first, units)} straight from the first hole"
    )


def _off_centre_table(result: SquareResult) -> Table:
    return Table(
        "What a plank off centre does to equal tapes",
        ("Middle to starboard by, mm", "Yaw, °", "Between the ends, mm"),
        tuple((mm_text(r.offset), f"{r.yaw:.3f}", mm_text(r.ends)) for r in result.off_centre_rows),
        note="Find it by measuring from the hull's centreline to each chock corner along the plank (off_centre), or by "
        "a second pair of tapes to the stern corners (further).",
    )


def _centreline_section(record: Record, figures: Figures) -> Section:
    result = record.centreline
    assert result is not None
    lines = centreline_lines(result, figures)
    words = tuple((line.strip(), "") for line in lines if "misfit" not in line)
    table = Table(
        "Stations",
        ("Station, mm", "Port, mm", "Starboard, mm", "Hull's middle, mm to starboard", "Misfit, mm", "Remark"),
        tuple(
            (
                mm_text(row.station, 0), mm_text(row.port), mm_text(row.starboard), mm_text(row.middle, 2),
                mm_text(row.residual, 2), "suspect" if row.suspect else "-",
            )
            for row in result.rows
        ),
        note="Middle and misfit are counted from the trial line and from the fitted centreline.",
    )  # fmt: skip
    return Section("centreline", "Centreline", (Bullets(words), table))


def _shim_section(result: ShimResult) -> Section:
    if not result.decided:
        return Section("shims", "Shims", tuple(Paragraph(f"{line.capitalize()}.") for line in shim_lines(result)))
    profile = Table(
        "Thickness along the plank",
        ("y from the plank's middle, mm", "Gap, mm", "Gap by the plank's arc, mm", "Thickness, mm"),
        tuple(
            (mm_text(row.y), f"{row.gap:.2f}", f"{row.arc_gap:.2f}", f"{row.thickness:.2f}") for row in result.profile
        ),
        note=f"Gap {'as measured' if result.measured else 'by the arc of the plank'}, the hull resting on the crown.",
    )
    seats = Table(
        "Shims",
        ("Side", "At the bolt, mm", "Fore edge, port and starboard corner, mm", "Aft edge, mm", "Tilt taken out, °"),
        tuple(
            (
                side_word(seat.side), f"{seat.at_bolt:.2f}", f"{seat.corners[0]:.2f} and {seat.corners[1]:.2f}",
                f"{seat.corners[2]:.2f} and {seat.corners[3]:.2f}", f"{seat.tilt:.2f}",
            )
            for seat in result.seats
        ),
    )  # fmt: skip
    meanings = Table(
        "What a little means at the runner",
        ("Change", "Over the seat, mm", "Tilt, °", "Toe of each runner, °", "Over a 1 m runner, mm"),
        tuple(
            (row.change, f"{row.seat:.2f}", f"{row.tilt:.2f}", f"{row.toe:.3f}", f"{row.runner:.2f}")
            for row in result.meanings
        ),
        note=f"For chocks that lean with the plank's end, {result.chock_lean:.1f}°; upright chocks do not toe.",
    )
    blocks: list[Block] = [profile, seats, meanings]
    if result.toe is not None:
        toe = result.toe
        text = (
            f"Toe {'in' if toe.total >= 0 else 'out'} {abs(toe.total):.2f}° between the runners. "
            f"Each runner's fore end points inboard by: port {toe.lead_port:.2f}°, "
            f"starboard {toe.lead_starboard:.2f}° (negative: outboard)."
        )
        blocks.insert(2, Paragraph(text))
    return Section("shims", "Shims", tuple(blocks))


def _changes_section(record: Record) -> Section:
    verdicts = {True: "changed", False: "within chance", None: "-"}
    table = Table(
        f"Changes since {record.earlier}",
        ("Figure", "Then", "Now", "Change", "Explained by chance up to", "Verdict"),
        tuple(
            (
                f"{row.name}, {row.unit}", mm_text(row.then, 2), mm_text(row.now, 2), mm_text(row.change, 2),
                "-" if row.half_width is None else f"{row.half_width:.2f}", verdicts[row.beyond_chance],
            )
            for row in record.changes
        ),
    )  # fmt: skip
    return Section("changes", "Changes", (table,))


__all__ = ["fitup_page", "fitup_sheet"]
