"""What proof found: every fault in few sentences, the worst deviation of each sheet, and how much was compared."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any, NamedTuple

from templater.findings import Finding, Severity
from templater.proof.marks import Mark
from templater.proof.match import LIMIT, Matched, Pair
from templater.units import MM

#: Most findings of one kind that a page gets before the rest is counted.
_NAMED = 6
_PAGE = re.compile(r"(.*) page (\d+)$")


class Deviation(NamedTuple):
    """How far a mark is off, mm, which and where (file and page)."""

    deviation: float = 0.0
    mark: str = ""
    place: str = ""


class SheetProof(NamedTuple):
    """One sheet: its worst deviation and how much was compared."""

    name: str
    worst: Deviation = Deviation()
    pages: int = 0
    marks: int = 0  # strokes and areas
    letters: int = 0
    svg_marks: int = 0  # marks of the whole picture
    sized: bool = True  # False if a page was scaled, sheared or mirrored, which was undone to measure ``worst``


class ProofReport(NamedTuple):
    """All sheets of a run."""

    sheets: tuple[SheetProof, ...]
    findings: tuple[Finding, ...]

    @classmethod
    def of(cls, reports: "Sequence[ProofReport]") -> "ProofReport":
        """Return several as one."""
        findings = (finding for one in reports for finding in one.findings)
        return cls(tuple(sheet for one in reports for sheet in one.sheets), tuple(findings))

    @property
    def passed(self) -> bool:
        """True if no finding is an error."""
        return all(finding.severity is not Severity.ERROR for finding in self.findings)

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
        if self.passed or self.worst.deviation > LIMIT:
            figure = f"worst deviation {self.worst_text}, {MM.size(LIMIT, 2)} allowed"
            return f"{'true' if self.passed else 'NOT TRUE'}: {figure}"
        first, *others = (finding for finding in self.findings if finding.severity is Severity.ERROR)
        more = f", and {len(others)} more error{'s' if len(others) > 1 else ''}" if others else ""
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


def told(found: Matched, wanted: Iterable[Mark], where: str) -> Iterator[Finding]:
    """Yield everything that is wrong on a page or picture: missing, off, otherwise drawn, or too much."""
    if found.clean:
        return
    unlike = (f"{_name(pair.wanted)} {_unlike(pair)}" for pair in found.wrong if not pair.alike)
    said = {
        "Q120": _missing(found.missing, wanted),
        "Q121": _off(pair for pair in found.wrong if pair.off > LIMIT),
        "Q122": dict.fromkeys(unlike),
        "Q127": _extra(found.extra),
    }
    for code, texts in [(code, [*some]) for code, some in said.items()]:
        if len(texts) > _NAMED:
            texts[_NAMED - 1 :] = [f"{texts[_NAMED - 1]}, and {len(texts) - _NAMED} more like it"]
        yield from (Finding(code, where, text) for text in texts)


def _name(mark: Mark) -> str:
    return mark.what or f"{mark.name} at {_place(mark)}"


def _place(mark: Mark) -> str:
    return "({}, {})".format(*map(MM.number, mark.middle)) + f" {MM.unit}"


def _missing(marks: Sequence[Mark], wanted: Iterable[Mark]) -> Iterator[str]:
    """Yield what is missing: a thing of which all is gone by its name, else how much of it."""
    count = Counter(mark.what for whole in wanted for mark in whole.letters()) if marks else Counter[str]()
    gone: dict[str, list[Mark]] = {}
    for mark in marks:
        gone.setdefault(_name(mark), []).append(mark)
    for name, lost in gone.items():
        parts = ", ".join(f"{n} x {kind}" for kind, n in Counter(mark.name for mark in lost).items())
        yield f"{name} is missing" if len(lost) >= count[lost[0].what] else f"{name}: {parts} missing"


def _off(pairs: Iterable[Pair]) -> Iterator[str]:
    """Yield how far things are off, each by its worst mark, and which way."""
    worst: dict[str, Pair] = {}
    for pair in pairs:
        name = _name(pair.wanted)
        worst[name] = max(worst.get(name, pair), pair, key=lambda one: one.off)
    for name, (wanted, found, off, _) in worst.items():
        ends = [(wanted.circle[0] if wanted.circle else wanted.middle, found.middle)]
        if len(wanted.points) == len(found.points) == 2:
            ends = [*zip(wanted.points, found.points, strict=True)]
        x, y = max(((u - x, v - y) for (x, y), (u, v) in ends), key=lambda way: abs(way[0]) + abs(way[1]))
        yield f"{name} is off by {MM.fine(off, 3)} ({x:+.3f} across, {y:+.3f} along)"


def _unlike(pair: Pair) -> str:
    wanted, found = pair.wanted, pair.found
    if found.ink:
        return f"is there but does not show black: {found.ink}"
    if wanted.words:
        return "is set in another size, direction or weight"
    if abs(wanted.look[0] - found.look[0]) > LIMIT:
        return f"is drawn {MM.fine(found.look[0])} wide instead of {wanted.look[0]:.2f}"
    return "is drawn with another pattern or line end"


def _extra(marks: Sequence[Mark]) -> Iterator[str]:
    """Yield what is on the page beyond the drawing, neighbouring letters as a word."""
    for (letters, ink), run in groupby(marks, key=lambda mark: (bool(mark.words), mark.ink)):
        found, shade = tuple(run), f"{ink} " if ink else ""
        if letters:
            word = "".join(mark.words for mark in found)
            yield f"{shade}words {word!r} at {_place(found[0])} are not in the drawing"
        else:
            yield from (f"{shade}{mark.what or mark.name} at {_place(mark)} is not in the drawing" for mark in found)


def together(findings: Iterable[Finding], *, as_written: bool) -> Iterator[Finding]:
    """Yield the findings, those that say the same of several pages as one; all errors if nothing is forgiven."""
    groups: dict[Finding, list[int]] = {}
    for finding in findings:
        place = _PAGE.match(finding.key)
        severity = Severity.ERROR if as_written else finding.severity
        one = finding._replace(key=place[1] if place else finding.key, graded=severity)
        groups.setdefault(one, []).extend([int(place[2])] if place else [])
    for one, pages in groups.items():
        yield one._replace(key=f"{one.key} page{'s' if len(pages) > 1 else ''} {_runs(pages)}") if pages else one


def _runs(numbers: list[int]) -> str:
    """Return page numbers in short.

    >>> _runs([1, 2, 3, 5])
    '1 to 3, 5'
    """
    runs = groupby(enumerate(sorted(numbers)), key=lambda one: one[1] - one[0])
    each = [[str(page) for _, page in run] for _, run in runs]
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in each)
