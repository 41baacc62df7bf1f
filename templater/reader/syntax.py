"""What the YAML reader says, in words and at the place that help somebody who writes a description.

The reader stops where it can go on no longer, which is often a line or more behind the slip: behind a key that lost
its colon, or at the next quotation mark behind one that was never closed. The slip itself is pointed at.
"""

from __future__ import annotations

import re

from ruamel.yaml.error import MarkedYAMLError

#: Line and column, counted from 0 as the reader does.
Place = tuple[int, int]

#: What the reader says, and what it means to somebody who writes a description.
_MEANINGS = (
    ("mapping values are not allowed", "a colon where none can stand, or a line further in than the one above"),
    ("could not find expected ':'", "a key without its colon"),
    ("\\t", "a tab where only blanks may stand"),
    ("expected ',' or", "a comma or the closing bracket is missing"),
    ("end of stream", "a quotation mark is never closed"),
    ("block end", "not in line with the keys above"),
    ("block mapping", "not in line with the keys above"),
    ("document start", "this stands outside the description"),
    ("cannot start any token", "a sign that can only stand inside quotation marks"),
    ("expected the node content", "a value is missing here"),
    ("are not allowed here", "a key or an entry where none can stand"),
    ("comment or a line break", "more text where the line should end"),
)
#: Slips of a key without its colon come to light with one of these.
_COLON = ("mapping values are not allowed", "could not find expected ':'", "block end")
#: Slips of an open quotation mark come to light with one of these, at the next mark of that kind.
_QUOTES = ("block end", "expected ',' or", "could not find expected ':'", "mapping values", "start any token")
#: A line that begins with a word as keys are written, behind which no colon and blank stands.
_WORD = re.compile(r"(\s*(?:- +)?)[A-Za-z_]\w*(?!\w)(?!\s*:(?:\s|$))")


def explain(error: MarkedYAMLError, text: str, quoted: tuple[Place, Place] | None) -> tuple[str, Place | None]:
    """Return what is wrong on one line, and where.

    Args:
        error: as the reader raised it.
        text: the whole text.
        quoted: start and end of the last text in quotation marks, if one was read.
    """
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
    if any(sign in said for sign in _COLON):
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        begun_in = context.line if context and "simple key" in str(error.context) else place[0]
        if (slip := _without_colon(lines, begun_in)) is not None:
            return _sentence("a key without its colon, or without a blank behind it"), slip
    if "mapping values" in said and (further := _further_in(text, place[0])) is not None:
        return _sentence("this line is further in than the one above, which has a value already"), further
    begun = f" (begun in line {context.line + 1})" if context else ""
    return _sentence(f"{_meaning(said)}{begun}"), place


def _meaning(said: str) -> str:
    return next((meaning for sign, meaning in _MEANINGS if sign in said), "cannot be read")


def _sentence(what: str) -> str:
    return f"not YAML: {what} - check colons, brackets, quotation marks and indentation"


def _further_in(text: str, line: int) -> Place | None:
    """Return the start of a line that is further in than the one before it."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    above = next((one for one in reversed(lines[:line]) if one.strip() and not one.lstrip().startswith("#")), "")
    own, before = (len(one) - len(one.lstrip(" ")) for one in (lines[line], above))
    return (line, own) if above and own > before else None


def _without_colon(lines: list[str], start: int) -> Place | None:
    """Return the place of a key without its colon: in the line where the reader began, else in the one before it."""
    if start < len(lines) and (found := _WORD.match(lines[start])):
        return start, len(found[1])
    for number in range(start - 1, -1, -1):
        line = lines[number]
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        found = _WORD.match(line)
        return (number, len(found[1])) if found else None
    return None
