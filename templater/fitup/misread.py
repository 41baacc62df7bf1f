"""How a figure that does not fit may have been misread: two figures swapped, or a slip of a round length."""

import statistics
from itertools import pairwise
from typing import TypeVar

from templater.boat.solved import Side
from templater.findings import Finding
from templater.fitup.readings import Sides
from templater.reader.faults import told
from templater.reader.values import Reading, Repeats
from templater.units import MM, MM_PER_INCH, Figures

#: Slips, mm, with what makes them. Source: common practice, no source.
SLIPS = tuple(
    (slip, f"{mark}: the tape held at its {mark} mark, or the {figure} misread")
    for slip, mark, figure in (
        (10.0, MM.size(10.0), "centimetre"),
        (MM_PER_INCH, Figures("in").size(MM_PER_INCH), "inch"),
        (100.0, MM.size(100.0), "decimetre"),
    )
)
Slips = tuple[tuple[float, str], ...]
#: Repeats further than this from the others are pointed at, mm. Readings repeat to 1 mm: common practice, no source.
LIMIT = 3.0
#: Likewise for an angle gauge, degrees, and for a gap felt with wedge or feeler, mm. Common practice, no source.
ANGLE_LIMIT, GAP_LIMIT = 0.5, 1.0
#: Fewest repeats that a mean rests on once suspect ones are left out.
FEWEST = 2
#: How near a guess must come to the figure expected to be offered, mm.
NEAR = 1.5

Pair = TypeVar("Pair", bound=Sides)


def swapped(text: str) -> tuple[str, ...]:
    """Return a number's text with each two neighbouring figures swapped, those that change it.

    >>> swapped("2319")
    ('3219', '2139', '2391')
    """
    places = [n for n, letter in enumerate(text) if letter.isdigit()]
    return tuple(
        text[:a] + text[b] + text[a + 1 : b] + text[a] + text[b + 1 :]
        for a, b in pairwise(places)
        if text[a] != text[b]
    )


def explain(reading: Reading, expected: float, near: float = NEAR, slips: Slips = SLIPS) -> str:
    """Return what a reading that does not fit may have been, or nothing; a guess must come so near, mm."""
    guesses = []
    number = reading.text.split()[0] if reading.text.split() else ""
    if number.replace(".", "", 1).isdecimal():
        for other in swapped(number):
            if abs(float(other) * reading.factor - expected) <= near:
                guesses.append(f"two figures swapped: {other} written as {number}")
    off = reading.value - expected
    guesses += [f"a slip of {what}" for slip, what in slips if abs(abs(off) - slip) <= near]
    return ", or ".join(guesses)


def suspects(repeats: Repeats, limit: float = LIMIT, slips: Slips = SLIPS) -> tuple[tuple[int, float, str], ...]:
    """Return repeats that stand apart: index, deviation from the others' median, likely cause or nothing.

    A guess must come within half the limit. Of two readings that differ neither can be told the culprit unless a cause
    fits one alone; both are then returned.
    """
    found = []
    values = repeats.values
    for number, reading in enumerate(repeats.readings if len(values) > 1 else ()):
        expected = statistics.median(values[:number] + values[number + 1 :])
        if abs(reading.value - expected) > limit:
            found.append((number, reading.value - expected, explain(reading, expected, limit / 2, slips)))
    if len(found) > 1 and len(values) > 2:
        # One wild figure pulls the median of a few: keep those furthest from the median of all.
        middle = statistics.median(values)
        found = [item for item in found if abs(values[item[0]] - middle) > limit]
    return tuple(found)


class Sifter:
    """The findings of one section of the readings; it leaves out readings that stand apart from their repeats.

    Where fewer than two would remain, all are kept and nothing is ``decided``. ``left_out`` counts the suspect ones.
    """

    def __init__(self, code: str, figures: Figures) -> None:
        self.code, self.figures = code, figures
        self.findings: list[Finding] = []
        self.left_out = 0
        self.decided = True

    def tell(self, code: str, key: str, case: str = "", /, **values: float | str) -> None:
        """Add a finding said by the catalogue's sentence for its case."""
        self.findings.append(told(code, key, case, self.figures, **values))

    def sift(self, name: str, repeats: Repeats, limit: float = LIMIT, *, angle: bool = False) -> Repeats:
        """Return the repeats less those that stand apart; all of them if too few would remain."""
        odd = suspects(repeats, ANGLE_LIMIT, ()) if angle else suspects(repeats, limit)
        away = {number for number, _, _ in odd}
        kept = tuple(reading for number, reading in enumerate(repeats.readings) if number not in away)
        enough = len(kept) >= FEWEST or not odd
        for number, off, cause in odd:
            why = f" - likely {cause}" if cause else ""
            text = (
                f"{name}, reading {number + 1}: {repeats.readings[number].text} is "
                f"{f'{off:+.1f}°' if angle else self.figures.signed(off)} off the others{why}; "
                f"{'left out' if enough else 'not decided: read it again'}"
            )
            self.findings.append(Finding(self.code, repeats.key, text))
        self.left_out += len(odd)
        self.decided = self.decided and enough
        return Repeats(kept) if odd and enough else repeats

    def both(self, name: str, pair: Pair, *, angle: bool = False) -> Pair:
        """Return both sides' repeats less those that stand apart."""
        port, starboard = (self.sift(f"{name} {side.word}", pair.side(side), angle=angle) for side in Side)
        return pair.changed(port=port, starboard=starboard)
