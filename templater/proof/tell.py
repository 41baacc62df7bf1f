"""What a comparison found, told in few sentences."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from templater.findings import Finding, Severity
from templater.proof.marks import LETTER, Mark
from templater.proof.match import LIMIT, Matched, Pair

#: Most findings of one kind that a page gets before the rest is counted.
_NAMED = 6


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
    x, y = mark.middle
    return f"({x:.1f}, {y:.1f}) mm"


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
        yield f"{name} is off by {pair.off:.3f} mm ({x:+.3f} across, {y:+.3f} along)"


def _unlike(pair: Pair) -> str:
    wanted, found = pair.wanted, pair.found
    if found.ink:
        return f"is there but does not show black: {found.ink}"
    if wanted.kind.startswith(LETTER):
        return "is set in another size, direction or weight"
    if abs(wanted.look[0] - found.look[0]) > LIMIT:
        return f"is drawn {found.look[0]:.2f} mm wide instead of {wanted.look[0]:.2f}"
    return "is drawn with another pattern or line end"


def _extra(marks: Sequence[Mark]) -> Iterable[str]:
    """Return what is on the page beyond the drawing, neighbouring letters as a word."""
    run: list[Mark] = []
    for mark in (*marks, None):
        letter = mark is not None and mark.kind.startswith(LETTER)
        if run and not (letter and mark is not None and mark.ink == run[0].ink):
            word = "".join(one.kind[len(LETTER) :] for one in run)
            yield f"{_inked(run[0])}words {word!r} at {_place(run[0])} are not in the drawing"
            run = []
        if mark is not None and letter:
            run.append(mark)
        elif mark is not None:
            yield f"{_inked(mark)}{mark.what or mark.name} at {_place(mark)} is not in the drawing"


def _inked(mark: Mark) -> str:
    return f"{mark.ink} " if mark.ink else ""


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
