"""Which readings of a round of squaring cannot be right: refused, or left out where enough remain without them."""

from __future__ import annotations

import math
from dataclasses import replace

from templater.boat.solved import Boat, Side
from templater.findings import Finding, ReadingsError
from templater.fitup.misread import suspects, without_suspects
from templater.fitup.rig import Rig
from templater.fitup.taken import Attempt, Both, Readings, Repeats
from templater.units import length_text

#: Share of its expected length by which a single tape reading may be off before it is refused: no misread figure but
#: another unit, or half of a figure written with a comma, is that far off. A plank 15 degrees askew makes 0.14 of it.
ABSURD = 0.5
#: Furthest that a ring may take the tape's nought from the post's surface, mm, and furthest beyond the post, where no
#: ring can take it; more is refused. A ring or loop takes up to 60 mm. Common practice, no source.
USUAL_RING, LONGEST_RING, BEYOND_POST = 60.0, 500.0, 100.0
#: How far the ring that the tapes give may lie from the one that was measured, mm.
NEAR_RING = 25.0


def slant(rig: Rig, station: float) -> float:
    """Return the distance from the post's axis at the ring's height to a chock corner of a square plank, mm."""
    aft = (rig.aft_port + rig.aft_starboard) / 2
    return math.hypot(station + aft, rig.apart / 2, rig.ring_height + rig.below_floor)


def ring_fits(boat: Boat, ring: float) -> bool:
    """Return whether a ring of that length round the boat's steering post is nothing odd."""
    radius = boat.description.steering_post.diameter / 2
    return -radius <= ring <= radius + USUAL_RING


def named_pairs(attempt: Attempt) -> tuple[tuple[str, Both], ...]:
    """Return every quantity that was read on both sides, with its name, the tape first."""
    named = [("tape", attempt.tape), *((pair.name, pair.both) for pair in attempt.further)]
    if attempt.off_centre is not None:
        named.append(("off centre", attempt.off_centre))
    if attempt.chock_aft is not None:
        named.append(("chock aft of the bolts", attempt.chock_aft))
    return tuple(named)


def clear_attempt(attempt: Attempt) -> tuple[Attempt, int, bool]:
    """Return the attempt without its suspect readings, how many those are, and whether the rest decides anything.

    Where fewer than two repeats would remain they are all kept, and nothing is decided.
    """
    decided, left_out = True, 0

    def clear(both: Both) -> Both:
        nonlocal decided, left_out
        sides: list[Repeats] = []
        for side in Side:
            repeats = both.side(side)
            kept = without_suspects(repeats)
            decided = decided and kept is not None
            left_out += len(repeats) - len(kept) if kept is not None else len(suspects(repeats))
            sides.append(kept or repeats)
        return Both(*sides)

    cleared = replace(
        attempt,
        tape=clear(attempt.tape),
        further=tuple(replace(pair, both=clear(pair.both)) for pair in attempt.further),
        off_centre=clear(attempt.off_centre) if attempt.off_centre is not None else None,
        chock_aft=clear(attempt.chock_aft) if attempt.chock_aft is not None else None,
    )
    return cleared, left_out, decided


def refuse_absurd_tapes(rig: Rig, attempt: Attempt, readings: Readings, boat: Boat) -> None:
    """Refuse tape readings that no plank of this boat can give.

    Raises:
        ReadingsError: one finding for each, saying what the tape should read.
    """
    faults = []
    expected = slant(rig, rig.station)
    for side in Side:
        repeats = attempt.tape.side(side)
        for number, reading in enumerate(repeats.readings):
            if abs(reading.value - expected) > ABSURD * expected:
                key = f"{repeats.key or attempt.key or 'square'}.{number}"
                taken = length_text(reading.value, readings.units)
                text = f"{reading.text}, taken as {taken}: {_should(rig, attempt, boat)}"
                faults.append(Finding("T214", key, text, readings.place(key)))
    if faults:
        raise ReadingsError(*faults)


def refuse_absurd_ring(rig: Rig, attempt: Attempt, readings: Readings, boat: Boat, ring: float) -> None:
    """Refuse tape readings that put the tape's nought where no ring takes it, or far from where it was measured.

    ``ring`` is from the post's axis to the tape's nought as the readings have it, mm.

    Raises:
        ReadingsError: saying what the tape should read.
    """
    key = attempt.key or "square"
    radius = boat.description.steering_post.diameter / 2
    where = f"these readings put the tape's nought {_beside(ring)}"
    if attempt.ring is not None:
        if abs(ring - attempt.ring) <= NEAR_RING:
            return
        text = f"{where}, but ring is {attempt.ring:.1f} mm: {_should(rig, attempt, boat)}"
    elif -radius - BEYOND_POST <= ring <= radius + LONGEST_RING:
        return
    else:
        text = f"{where}: {_should(rig, attempt, boat)}"
    raise ReadingsError(Finding("T214", key, text, readings.place(key)))


def _beside(ring: float) -> str:
    return f"{abs(ring):.0f} mm {'aft of' if ring >= 0 else 'beyond'} the steering post's axis"


def _should(rig: Rig, attempt: Attempt, boat: Boat) -> str:
    """Say what the tape should read, as the starter file does."""
    radius = boat.description.steering_post.diameter / 2
    ring = radius if attempt.ring is None else attempt.ring
    from_ = "from the steering post's surface" if attempt.ring is None else "with that ring"
    expected = length_text(slant(rig, rig.station) - ring, boat.description.figures)
    return f"at setting {rig.setting} a tape should read about {expected} {from_} - check unit, setting and figures"
