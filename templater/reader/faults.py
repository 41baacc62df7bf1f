"""How a fault of a text is told: what the parser says in words that help, at the slip itself; values and unknown keys.

The parser stops where it can go on no longer, which is often a line or more behind the slip.
"""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from ruamel.yaml.error import MarkedYAMLError

from templater.findings import CATALOGUE, Finding, Location, visible
from templater.units import MM, Figures

#: Line and column, counted from 0 as the parser does.
Place = tuple[int, int]
#: Code, dotted key, text.
Fault = tuple[str, str, str]
#: Longest value that is shown in a message.
_SHOWN = 40


class _Length(NamedTuple):
    """A length in mm that a sentence writes as its field says: ``{gap:length 0}``, else as a size."""

    figures: Figures
    value: float

    def __format__(self, way: str) -> str:
        name, *decimals = (way or "size").split()
        return str(getattr(self.figures, name)(self.value, *map(int, decimals)))


def said(code: str, case: str, figures: Figures, /, **values: float | str) -> str:
    """Return the catalogue's sentence for a case of a finding; numbers among its values are lengths in mm."""
    words = {name: value if isinstance(value, str) else _Length(figures, value) for name, value in values.items()}
    return CATALOGUE[code].sentences[case].format_map(words)


def told(
    code: str, key: str, case: str = "", figures: Figures = MM, where: Location | None = None, /, **values: float | str
) -> Finding:
    """Return a finding on a key, said by the catalogue's sentence for its case; see ``said``."""
    return Finding(code, key, said(code, case, figures, **values), where)


def shown(text: object) -> str:
    """Return a value for a message: on one line, cut if long, control characters written out.

    >>> shown("2390 furlongs")
    '2390 furlongs'
    """
    line = visible(str(text))
    if not line.strip():
        return "nothing"
    return line if len(line) <= _SHOWN else f"{line[: _SHOWN - 3]}..."


def nearest(name: str, allowed: Iterable[str]) -> str:
    """Return the allowed key that is most like an unknown one, or nothing.

    >>> nearest("colur", ["size", "colour"])
    'colour'
    """
    import difflib  # slow to load, and only faults need it

    return next(iter(difflib.get_close_matches(name[:100], list(allowed), 1)), "")


#: Slips of a key without its colon come to light with one of these.
_COLON = ("mapping values are not allowed", "could not find expected ':'", "block end")
#: Slips of an open quotation mark come to light with one of these, at the next mark of that kind.
_QUOTES = ("block end", "expected ',' or", "could not find expected ':'", "mapping values", "start any token")


def explain(error: MarkedYAMLError, text: str, quoted: tuple[Place, Place] | None) -> tuple[str, Place | None]:
    """Return what is wrong on one line, and where; ``quoted`` is where the last text in quotation marks lies."""
    said = " ".join(str(error.problem or error.context or "cannot be read").split())
    mark, context = error.problem_mark or error.context_mark, error.context_mark
    place = (mark.line, mark.column) if mark else None
    if place is None:
        return _sentence(_meaning(said)), None
    if context and "quoted scalar" in str(error.context):
        return _sentence("the quotation mark that opens here is never closed"), (context.line, context.column)
    if quoted is not None and any(sign in said for sign in _QUOTES):
        start, end = quoted
        if end == place or start[0] < end[0] == place[0]:
            return _sentence("the quotation mark that opens here is not closed where it should be"), start
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if any(sign in said for sign in _COLON):
        begun_in = context.line if context and "simple key" in str(error.context) else place[0]
        if (slip := _without_colon(lines, begun_in)) is not None:
            return _sentence("a key without its colon, or without a blank behind it"), slip
    own, above = _indent(lines[place[0]]) if place[0] < len(lines) else 0, _above(lines, place[0])
    if "mapping values" in said and above and own > _indent(lines[above[0]]):
        before = next((_indent(lines[one]) for one in above[1:] if _indent(lines[one]) <= own), -1)
        if before == own:  # the section goes on as it was
            return _sentence("further out than the keys round it"), (above[0], _indent(lines[above[0]]))
        return _sentence("this line is further in than the one above, which has a value already"), (place[0], own)
    if any(sign in said for sign in ("block end", "block mapping", "document start")) and above:
        # One line alone that is further in than the rest of its section, which goes on below it.
        first, inner = above[0], _indent(lines[above[0]])
        if inner > own and (len(above) == 1 or _indent(lines[above[1]]) < own):
            return _sentence("further in than the keys below it"), (first, inner)
    begun = f" (begun in line {context.line + 1})" if context else ""
    return _sentence(f"{_meaning(said)}{begun}"), place


def _meaning(said: str) -> str:
    """Return what the parser's words mean to somebody who writes a description."""
    lines = Path(__file__).with_name("slips.txt").read_text("utf-8").splitlines()[1:]
    rows = (line.split("| ") for line in lines)
    return next((meaning for sign, meaning in rows if sign in said), "cannot be read")


def _sentence(what: str) -> str:
    return f"not YAML: {what} - check colons, brackets, quotation marks and indentation"


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _above(lines: list[str], line: int) -> list[int]:
    """Return the lines above one that say something, the nearest first."""
    return [number for number in range(line - 1, -1, -1) if lines[number].split("#")[0].strip()]


def _without_colon(lines: list[str], start: int) -> Place | None:
    """Return the place of a key without its colon: in the line where the reader began, else in the one before it."""
    for number in ([start] if start < len(lines) else []) + _above(lines, start)[:1]:
        # A word as keys are written, behind which no colon and blank stands.
        if found := re.match(r"(\s*(?:- +)?)[A-Za-z_]\w*(?!\w)(?!\s*:(?:\s|$))", lines[number]):
            return number, len(found[1])
    return None
