"""How a figure that does not fit may have been misread: two figures swapped, or a slip of a round length."""

from __future__ import annotations

import statistics
from itertools import pairwise

from templater.boat.solved import Side
from templater.findings import Finding
from templater.fitup.taken import Both, Reading, Repeats
from templater.units import Figures

#: Slips, mm, with what makes them. Source: common practice, no source.
SLIPS = (
    (10.0, "10 mm: the tape held at its 10 mm mark, or the centimetre misread"),
    (25.4, "1 in: the tape held at its 1 in mark, or the inch misread"),
    (100.0, "100 mm: the tape held at its 100 mm mark, or the decimetre misread"),
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


def swapped(text: str) -> tuple[str, ...]:
    """Return the text with each two neighbouring figures swapped, those that change it.

    >>> swapped("2319")
    ('3219', '2139', '2391')
    """
    results = []
    places = [n for n, letter in enumerate(text) if letter.isdigit()]
    for a, b in pairwise(places):
        if text[a] != text[b] and (b - a == 1 or text[a + 1 : b] == "."):
            results.append(text[:a] + text[b] + text[a + 1 : b] + text[a] + text[b + 1 :])
    return tuple(results)


def explain(reading: Reading, expected: float, near: float = NEAR, slips: Slips = SLIPS) -> str:
    """Return what the reading may have been, or nothing.

    Args:
        reading: the figure that does not fit.
        expected: what the others lead one to expect, mm.
        near: how close a guess must come, mm.
        slips: slips to think of.
    """
    guesses = []
    number = reading.text.split()[0] if reading.text.split() else ""
    if number.replace(".", "", 1).isdigit():
        for other in swapped(number):
            if abs(float(other) * reading.factor - expected) <= near:
                guesses.append(f"two figures swapped: {other} written as {number}")
    off = reading.value - expected
    guesses += [f"a slip of {what}" for slip, what in slips if abs(abs(off) - slip) <= near]
    return ", or ".join(guesses)


def suspects(repeats: Repeats, limit: float = LIMIT, slips: Slips = SLIPS) -> tuple[tuple[int, float, str], ...]:
    """Return repeats that stand apart: index, deviation from the others' median, likely cause or nothing.

    A guess must come within half the limit.

    Of two readings that differ neither can be told the culprit unless a cause fits one alone; both are then returned.
    """
    found = []
    for number, reading in enumerate(repeats.readings):
        others = [value for index, value in enumerate(repeats.values) if index != number]
        if not others:
            return ()
        expected = statistics.median(others)
        if abs(reading.value - expected) > limit:
            found.append((number, reading.value - expected, explain(reading, expected, limit / 2, slips)))
    if len(found) > 1 and len(repeats) > 2:
        # One wild figure pulls the median of a few: keep those furthest from the median of all.
        middle = statistics.median(repeats.values)
        found = [item for item in found if abs(repeats.values[item[0]] - middle) > limit]
    return tuple(found)


class Sifter:
    """Leaves out readings that stand apart from their repeats, and remembers what it found.

    Where fewer than two would remain, all are kept and nothing is decided.

    Attributes:
        findings: one for each suspect reading. ``left_out``: how many those are. ``decided``: whether the rest decides.
    """

    def __init__(self, code: str, key: str, figures: Figures) -> None:
        self.code = code
        self.key = key
        self.figures = figures
        self.findings: list[Finding] = []
        self.left_out = 0
        self.decided = True

    def sift(self, name: str, repeats: Repeats, limit: float = LIMIT, *, angle: bool = False) -> Repeats:
        """Return the repeats less those that stand apart; all of them if too few would remain."""
        odd = suspects(repeats, limit, () if angle else SLIPS)
        kept = tuple(
            reading for index, reading in enumerate(repeats.readings) if index not in {number for number, _, _ in odd}
        )
        enough = len(kept) >= FEWEST or not odd
        for index, off, cause in odd:
            why = f" - likely {cause}" if cause else ""
            text = (
                f"{name}, reading {index + 1}: {repeats.readings[index].text} is "
                f"{f'{off:+.1f}°' if angle else self.figures.signed(off)} off the others{why}; "
                f"{'left out' if enough else 'not decided: read it again'}"
            )
            self.findings.append(Finding(self.code, repeats.key or self.key, text))
        self.left_out += len(odd)
        self.decided = self.decided and enough
        return Repeats(kept, repeats.key) if odd and enough else repeats

    def sift_both(self, name: str, both: Both, limit: float = LIMIT, *, angle: bool = False) -> Both:
        """Return both sides' repeats less those that stand apart."""
        port, starboard = (
            self.sift(f"{name} {side.name.lower()}", both.side(side), limit, angle=angle) for side in Side
        )
        return Both(port, starboard)
