"""What proof found: every fault in few sentences, the worst deviation of each sheet, and how much was compared."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any, NamedTuple

from templater.findings import Finding, Severity
from templater.proof.marks import LETTER, Mark
from templater.proof.match import LIMIT, Matched, Pair
from templater.units import MM

#: Most findings of one kind that a page gets before the rest is counted.
_NAMED = 6


class Deviation(NamedTuple):
    """How far a mark is off, mm, which and where (file and page)."""

    deviation: float = 0.0
    mark: str = ""
    place: str = ""


class SheetProof(NamedTuple):
    """One sheet: its worst deviation and how much was compared: strokes and areas, letters, marks of the whole picture.

    ``sized`` is False if a page was scaled, sheared or mirrored: that was undone to compare the marks, so that the
    deviation says nothing about the page as it is.
    """

    name: str
    worst: Deviation = Deviation()
    pages: int = 0
    marks: int = 0
    letters: int = 0
    svg_marks: int = 0
    sized: bool = True


class ProofReport(NamedTuple):
    """All sheets of a run."""

    sheets: tuple[SheetProof, ...]
    findings: tuple[Finding, ...]

    @property
    def errors(self) -> tuple[Finding, ...]:
        """The findings that make it not true."""
        return tuple(finding for finding in self.findings if finding.severity is Severity.ERROR)

    @property
    def passed(self) -> bool:
        """True if no finding is an error."""
        return not self.errors

    @property
    def worst(self) -> Deviation:
        """The greatest deviation of all sheets that are of the right size, with its mark."""
        return max((sheet.worst for sheet in self.sheets if sheet.sized), default=Deviation())

    @property
    def worst_text(self) -> str:
        """The greatest deviation for people."""
        return MM.fine(self.worst.deviation, 5)

    @property
    def verdict(self) -> str:
        """The proof in one line: the worst deviation where that decides, else what is wrong."""
        figure = f"worst deviation {self.worst_text}, {MM.size(LIMIT, 2)} allowed"
        if self.passed or self.worst.deviation > LIMIT:
            return f"{'true' if self.passed else 'NOT TRUE'}: {figure}"
        first, count = self.errors[0], len(self.errors) - 1
        more = f", and {count} more error{'s' if count > 1 else ''}" if count else ""
        return f"NOT TRUE: {first.key}: {first.text}{more}"

    def data(self) -> dict[str, Any]:
        """Return the report in plain values, ready for JSON; lengths in mm."""
        return {
            "passed": self.passed,
            "limit": LIMIT,
            "worst_deviation": round(self.worst.deviation, 6) if any(sheet.sized for sheet in self.sheets) else None,
            "sheets": [{**s._asdict(), "worst": s.worst._asdict() if s.sized else None} for s in self.sheets],
            "findings": [
                {"code": f.code, "severity": f.severity.value, "place": f.key, "text": f.text} for f in self.findings
            ],
        }


def told(found: Matched, wanted: Sequence[Mark], where: str) -> list[Finding]:
    """Return everything that is wrong on a page or picture: missing, off, otherwise drawn, or too much."""
    if found.clean:
        return []
    count = Counter(mark.what for whole in wanted for mark in whole.letters())
    off = [pair for pair in found.wrong if pair.off > LIMIT]
    unlike = [pair for pair in found.wrong if not pair.alike]
    return [
        *_few("Q120", where, _missing(found.missing, count)),
        *_few("Q121", where, _off(off)),
        *_few("Q122", where, dict.fromkeys(f"{_name(pair.wanted)} {_unlike(pair)}" for pair in unlike)),
        *_few("Q127", where, _extra(found.extra)),
    ]


def _few(code: str, where: str, texts: Iterable[str]) -> list[Finding]:
    texts = list(texts)
    if len(texts) > _NAMED:
        texts[_NAMED - 1] += f", and {len(texts) - _NAMED} more like it"
    return [Finding(code, where, text) for text in texts[:_NAMED]]


def _name(mark: Mark) -> str:
    return mark.what or f"{mark.name} at {_place(mark)}"


def _place(mark: Mark) -> str:
    return "({}, {})".format(*map(MM.number, mark.middle)) + f" {MM.unit}"


def _missing(marks: Sequence[Mark], count: Counter[str]) -> Iterable[str]:
    """Return what is missing: a thing of which all is gone by its name, else how much of it."""
    gone: dict[str, list[Mark]] = {}
    for mark in marks:
        gone.setdefault(_name(mark), []).append(mark)
    for name, lost in gone.items():
        if len(lost) >= count[lost[0].what]:
            yield f"{name} is missing"
        else:
            yield f"{name}: {', '.join(f'{n} x {kind}' for kind, n in Counter(m.name for m in lost).items())} missing"


def _off(pairs: Sequence[Pair]) -> Iterable[str]:
    """Return how far things are off, each by its worst mark, and which way."""
    worst: dict[str, Pair] = {}
    for pair in pairs:
        name = _name(pair.wanted)
        if name not in worst or pair.off > worst[name].off:
            worst[name] = pair
    for name, pair in worst.items():
        if len(pair.wanted.points) == len(pair.found.points) == 2:
            ways = [(q[0] - p[0], q[1] - p[1]) for p, q in zip(pair.wanted.points, pair.found.points, strict=True)]
            x, y = max(ways, key=lambda way: abs(way[0]) + abs(way[1]))
        else:
            (a, b), (c, d) = (pair.wanted.circle or (pair.wanted.middle,))[0], pair.found.middle
            x, y = c - a, d - b
        yield f"{name} is off by {MM.fine(pair.off, 3)} ({x:+.3f} across, {y:+.3f} along)"


def _unlike(pair: Pair) -> str:
    wanted, found = pair.wanted, pair.found
    if found.ink:
        return f"is there but does not show black: {found.ink}"
    if wanted.kind.startswith(LETTER):
        return "is set in another size, direction or weight"
    if abs(wanted.look[0] - found.look[0]) > LIMIT:
        return f"is drawn {MM.fine(found.look[0])} wide instead of {wanted.look[0]:.2f}"
    return "is drawn with another pattern or line end"


def _extra(marks: Sequence[Mark]) -> Iterable[str]:
    """Return what is on the page beyond the drawing, neighbouring letters as a word."""
    for (letters, ink), run in groupby(marks, key=lambda mark: (mark.kind.startswith(LETTER), mark.ink)):
        found, shade = tuple(run), f"{ink} " if ink else ""
        if letters:
            word = "".join(one.kind[len(LETTER) :] for one in found)
            yield f"{shade}words {word!r} at {_place(found[0])} are not in the drawing"
        else:
            yield from (f"{shade}{mark.what or mark.name} at {_place(mark)} is not in the drawing" for mark in found)


_PAGE = re.compile(r"(.*) page (\d+)$")


def together(findings: Iterable[Finding], *, as_written: bool) -> tuple[Finding, ...]:
    """Return the findings, those that say the same of several pages as one; all errors if nothing is forgiven."""
    groups: dict[tuple[str, Severity, str, str], list[int]] = {}
    for finding in findings:
        place = _PAGE.match(finding.key)
        severity = Severity.ERROR if as_written else finding.severity
        key = (finding.code, severity, place[1] if place else finding.key, finding.text)
        groups.setdefault(key, []).extend([int(place[2])] if place else [])
    result = []
    for (code, severity, file, text), pages in groups.items():
        where = f"{file} page{'s' if len(pages) > 1 else ''} {_runs(pages)}" if pages else file
        result.append(Finding(code, where, text, graded=severity))
    return tuple(result)


def _runs(numbers: list[int]) -> str:
    """Return page numbers in short.

    >>> _runs([1, 2, 3, 5])
    '1 to 3, 5'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a} to {b}" if b > a + 1 else f"{a}, {b}" for a, b in runs)
