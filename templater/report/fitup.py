"""The fit-up for people: its page, ``fit-up.html`` and the same tables for the terminal."""

from collections.abc import Iterator
from pathlib import Path

from templater import __version__
from templater.boat.solved import Boat, Side, side_of
from templater.fitup.centreline import CentrelineResult
from templater.fitup.record import Record
from templater.fitup.rig import Verdict
from templater.fitup.shim import ShimResult
from templater.fitup.square import SquareResult
from templater.report.blocks import Block, Bullets, JobSheet, Quantity, Section, Steps, Table, Value, items, table
from templater.report.plan import move, plan_view
from templater.standards.tables import paragraphs
from templater.units import Figures, plus_minus

#: What each verdict on the free bolt says.
VERDICTS = {
    Verdict.FITS: "fits",
    Verdict.DEPENDS: "fits only if the bolt now stands at the far side of its play",
    Verdict.TOO_FAR: "does not fit",
}
#: Findings that say no more than what is shown of a command's readings.
SAID = {"square": ("T221", "T226"), "centreline": ("T233",), "shim": ()}


def fitup_page(record: Record, boat: Boat) -> bytes:
    """Return the page as UTF-8 bytes: self-contained, no network, light and dark, fit for printing."""
    from templater.report.html import job_sheet_html  # the terminal needs none of it

    figures = boat.description.figures
    square: tuple[Block, ...] = ()
    attempts: tuple[Block, ...] = ()
    if record.attempts:
        last = record.attempts[-1]
        square = (attempt_table(last, figures), *([plan_view(boat, last)] if last.decided else []))
        history = table("attempts", (_attempt(one, figures) for one in record.attempts))
        several = [history] if len(record.attempts) > 1 or last.attempt.note else []
        attempts = (*several, repeats_table(last))
    told = (one for one in record.findings if not any(one.code in codes for codes in SAID.values()))
    found = tuple((f"{one.severity.value.capitalize()}: {one.text}", one.code) for one in told)
    lines = paragraphs(Path(__file__).with_name("fit_up_steps.txt"))
    steps = (" ".join(step).partition(" Caution: ") for step in lines)
    how = Steps(tuple((step, caution) for step, _, caution in steps))
    keep = "Keep the record's data file: next season's check is compared with it."
    sections = (
        Section("square", "Is the plank square?", square),
        Section("attempts", "Attempts", attempts),
        Section("centreline", "Centreline", centreline_blocks(record.centreline, figures) if record.centreline else ()),
        Section("shims", "Shims", shim_blocks(record.shim) if record.shim else ()),
        Section("changes", "Changes", (changes_table(record),) if record.changes else ()),
        Section("worth-knowing", "Worth knowing", (Bullets(found),) if found else ()),
        Section("how", "How to read and move", (how, keep)),
    )
    subtitle = "Squareness of the runner plank, centreline and shims, from the readings taken"
    filled = tuple(section for section in sections if section.blocks)
    title, program = f"Fit-up of {record.boat}", f"templater {__version__}"
    return job_sheet_html(JobSheet(title, subtitle, (("date", record.date or "not given"),), filled, program, figures))


def blocks_of(command: str, record: Record, figures: Figures) -> Iterator[Block]:
    """Yield what the terminal shows of the readings of a command, of several attempts the last."""
    if command == "square":
        yield attempt_table(record.attempts[-1], figures)
        if not record.attempts[-1].decided:
            yield repeats_table(record.attempts[-1])
    elif command == "centreline" and record.centreline is not None:
        yield from centreline_blocks(record.centreline, figures)
    elif record.shim is not None:
        yield from shim_blocks(record.shim)
    if record.changes:
        yield changes_table(record)


def verdict(result: SquareResult) -> str:
    """Return what an attempt came to: within or out of tolerance and how surely, or not decided."""
    if not result.decided:
        return "not decided: a reading is suspect, read it again"
    text = "within tolerance" if result.passed else "out of tolerance"
    if result.left_out:
        text += f", {result.left_out} suspect reading{'s' if result.left_out > 1 else ''} left out"
    return text if result.sure else f"{text} (not sure: {_why_unsure(result)})"


def _why_unsure(result: SquareResult) -> str:
    if all(row.number == 1 for row in result.repeatability):
        return "one reading a side says nothing of the scatter"
    if not result.from_repeats:
        return "too few repeats to know the scatter"
    if result.off_centre is None and result.off_centre_sd:
        return "how far the plank's middle lies off the centreline was not read"
    return "the readings scatter too much"


def attempt_table(result: SquareResult, figures: Figures) -> Table:
    """Return one attempt, the verdict first and what to do second; no advice where nothing is decided."""
    attempt, say = result.attempt, figures.length
    number = f"{attempt.number}{f', {attempt.date}' if attempt.date else ''}"
    told = {"attempt": number, "setting": f"{attempt.setting}", "first_bolt": attempt.first_bolt.word}
    told["free"] = result.free_side.word
    what = (verdict(result), advice(result, figures))
    if not result.decided:
        return table("square", (*what, *[None] * 8), off_centre="", **told)
    room, hole, bolt = result.room, result.second_hole, result.free_bolt_aft
    play = f"play {figures.fine(room.play_fore_aft)}" if room.play_fore_aft else "no play"
    repeats = " (from the repeats)" if result.from_repeats else " (as stated)"
    on = f"{say(abs(hole.x))} {_way(hole.x)} of" if abs(hole.x) >= 0.05 else "on"
    return table("square", (
        *what,
        f"{figures.plus_minus(result.difference, result.difference_95)}, should be {say(result.aim_difference)}; "
        f"tolerance {say(result.tolerance)}",
        f"{plus_minus(result.yaw, result.yaw_95, 3)}° (95 %)",
        result.aim_port,
        result.aim_starboard,
        f"{figures.fine(abs(bolt))} {_way(bolt)}; {play} fore and aft: {VERDICTS[room.verdict]}",
        "clamp the plank once the tapes agree and mark it through the floor's sleeve or hole; expect it about "
        f"{say(abs(hole.y))} along the face from the plank's middle, {on} the bolt line; {say(hole.from_first)} "
        "straight from the first hole",
        result.ring,
        Quantity(result.reading_sd, "fine", after=repeats),
    ), off_centre=f"{_off_centre(result, figures)}.", **told)  # fmt: skip


def repeats_table(result: SquareResult) -> Table:
    """Return how far the readings of one attempt repeat."""
    rows = ((row.name, row.side.word, row.number, row.mean, row.sd, row.spread) for row in result.repeatability)
    return table("repeats", rows)


def _off_centre(result: SquareResult, figures: Figures) -> str:
    """Return whether the plank's place athwart was measured, and what it would do if not."""
    say, post, unsure = figures.length, "", ""
    if result.post_offset:
        post = f"The steering post stands {_aside(result.post_offset, figures)}, allowed for. "
    if result.off_centre is not None:
        return f"{post}The plank's middle lies {_aside(result.off_centre, figures)} of the centreline, allowed for"
    if result.off_centre_sd:
        unsure = f", give or take {say(2 * result.off_centre_sd)}, which the interval of the turn carries"
    turn = result.off_centre_turn
    return (
        f"{post}Taken as centred{unsure}: each {say(turn.offset, 0)} the plank lies off centre turns it by "
        f"{abs(turn.yaw):.3f}° ({say(abs(turn.ends))} between the ends) with equal tapes; to allow for it, measure "
        "from the centreline to each chock corner along the plank (off_centre)"
    )


def _way(aft: float) -> str:
    return "aft" if aft > 0 else "forward"


def advice(result: SquareResult, figures: Figures) -> str:
    """Return what to do with the free end."""
    if not result.decided:
        return "nothing before the suspect reading is read again"
    free, other = result.ends if result.free_side is Side.PORT else result.ends[::-1]
    if abs(result.excess) < 0.05 or free.stays:
        return "nothing"
    follows = "stays where it is" if other.stays else f"then goes {move(other, figures)} about the first bolt"
    return (
        f"move the {free.side.word} end {move(free, figures)} at the chock corner; the {other.side.word} end {follows}"
    )


def _attempt(result: SquareResult, figures: Figures) -> tuple[Value, ...]:
    """Return one attempt as a row among all."""
    attempt = result.attempt
    difference = turn = None
    if result.decided:
        difference = figures.plus_minus(result.difference, result.difference_95)
        turn = f"{plus_minus(result.yaw, result.yaw_95, 3)}°"
    return (
        attempt.number, attempt.date or None, attempt.setting, difference, turn, advice(result, figures),
        verdict(result), attempt.note or None,
    )  # fmt: skip


def centreline_blocks(result: CentrelineResult, figures: Figures) -> tuple[Block, ...]:
    """Return the centreline; where it is not decided, nothing to draw by."""
    say, scatter = figures.length, figures.fine(result.scatter)
    through = f"Through {len(result.rows) - len(result.left_out)} stations, scatter {scatter}"
    told = [through if result.decided else f"Not decided: read it again (scatter {scatter})"]
    if result.left_out:
        told[0] += f", the suspect station {' and '.join(say(station, 0) for station in result.left_out)} left out"
    if result.decided:
        angle = plus_minus(abs(result.angle), result.angle_95, 3)
        told.append(f"Runs {angle}° to {side_of(result.angle)} of the trial line, going aft")
        told.append(f"At the steering pivot axis: {_aside(result.at_post, figures, result.at_post_95)} of it")
        if result.post_offset is not None and result.post_offset_95 is not None:
            post = _aside(result.post_offset, figures, result.post_offset_95)
            told.append(f"Steering post: {post} of the centreline")
        told += [
            f"Mark at station {say(mark.station, 0)}: {_aside(mark.offset, figures)} of the trial line, "
            f"{say(mark.from_port_edge)} from the port edge"
            for mark in result.marks
        ]
        told.append("Draw the centreline through the two marks")
    if result.with_all is not None:
        off, turn = result.with_all
        where = f"{_aside(off, figures)} at the steering pivot axis, {abs(turn):.3f}° to {side_of(turn)}"
        told.append(f"With the suspect it would be {where}")
    if result.curve is not None and result.curve_p is not None:
        chance = f"(chance {result.curve_p:.1%} if straight)"
        told.append(f"Curve of the hull's middle: {_aside(result.curve, figures)} {chance}")
    rows = (
        (row.station, row.port, row.starboard, row.middle, row.residual, "suspect" if row.suspect else None)
        for row in result.rows
    )
    return Bullets(items(told)), table("stations", rows)


def _aside(value: float, figures: Figures, half: float | None = None) -> str:
    """Return how far, give or take ``half``, and to which side a distance to starboard lies."""
    far = figures.length(abs(value)) if half is None else figures.plus_minus(abs(value), half)
    return f"{far} to {side_of(value)}"


def shim_blocks(result: ShimResult) -> tuple[Block, ...]:
    """Return the shims; none where repeats disagree."""
    if not result.decided:
        return ("Shims not decided: readings of the same thing disagree, read them again.",)
    gap = "as measured" if result.measured else "by the arc of the plank"
    profile = ((row.y, row.gap if result.measured else None, row.arc_gap, row.thickness) for row in result.profile)
    seats = ((seat.side.word, seat.at_bolt, *seat.corners, seat.tilt) for seat in result.seats)
    meanings = ((row.change, row.seat, row.tilt, row.toe, row.runner) for row in result.meanings)
    toe = []
    if result.toe is not None:
        toe.append(
            f"Toe {'in' if result.toe.total >= 0 else 'out'} {abs(result.toe.total):.2f}° between the runners. Each "
            f"runner's fore end points inboard by: port {result.toe.lead_port:.2f}°, starboard "
            f"{result.toe.lead_starboard:.2f}° (negative: outboard)."
        )
    return (
        table("profile", profile, gap=gap),
        table("seats", seats),
        *toe,
        table("meanings", meanings, lean=f"{result.chock_lean:.1f}°"),
    )


def changes_table(record: Record) -> Table:
    """Return what changed since an earlier fit-up."""
    verdicts = {True: "changed", False: "within chance", None: None}

    def of(value: float | None, unit: str) -> Value:
        return None if value is None else Quantity(value, "fine" if unit == "mm" else "angle")

    figures = ((row, (row.then, row.now, row.change, row.half_width)) for row in record.changes)
    rows = ((row.name, *(of(one, row.unit) for one in four), verdicts[row.beyond_chance]) for row, four in figures)
    return table("changes", rows, earlier=record.earlier)
