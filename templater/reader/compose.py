"""YAML 1.2 text to plain data that remembers its lines, and nothing that a description does not need.

For other texts that want the same located faults (readings, printer profiles)::

    data, places = read_yaml(text, file)          # DescriptionError carries every fault of the YAML itself
    where = places.get("square.port.0")           # a dotted key's place; "" is the whole text

``data`` is made of dict, list, str, int, float, bool and None. A place is that of the key, or of the entry of a list.
Dates stay text. Tags, anchors, aliases, merge keys, duplicate keys, further documents, NaN and infinity are refused,
and so is any text over ``LARGEST`` characters or nested deeper than ``DEEPEST``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from templater.findings import DescriptionError, Finding, Location
from templater.reader import faults
from templater.reader.faults import fault

#: Line and column, counted from 0 as the parser does.
Place = tuple[int, int]
#: Longest text that is read, characters, and most values in it: a few seconds of reading.
LARGEST = 1_000_000
MOST_VALUES = 100_000
#: Deepest nesting; the description itself needs six.
DEEPEST = 20
#: Reading stops after so many faults: the text is then something else than a description.
MOST_FAULTS = 500

#: Controls other than tab and line ends, half pairs, and the two separators that editors do not count as line ends.
CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")

# Plain scalars. Source: YAML 1.2.2, section 10.3.2, core schema.
_NULL = frozenset(["", "~", "null", "Null", "NULL"])
_TRUE = frozenset(["true", "True", "TRUE"])
_FALSE = frozenset(["false", "False", "FALSE"])
_INTEGER = re.compile(r"[-+]?[0-9]+")
_OCTAL = re.compile(r"0o[0-7]+")
_HEXADECIMAL = re.compile(r"0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_INFINITE = re.compile(r"[-+]?\.(inf|Inf|INF)")
_NAN = frozenset([".nan", ".NaN", ".NAN"])
#: More digits than this are read as a float: no count or length needs them, and reading them exactly takes long.
_DIGITS = 18


@dataclass(frozen=True, slots=True)
class Leaf:
    """A scalar as read: its value, the text as written, its dotted key and its file."""

    value: str | int | float | bool | None
    text: str
    key: str
    file: str


#: dict, list and ``Leaf``.
Tree = Any


@dataclass(slots=True)
class Composed:
    """A text as read: the tree of leaves, the places of its keys, and what is wrong with it as YAML."""

    file: str
    tree: Tree = None
    places: dict[str, Location] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)


def read_yaml(text: str, file: str) -> tuple[Any, dict[str, Location]]:
    """Return plain data and the place of every dotted key, ``fittings.0.at.1``; ``""`` is the whole text.

    Raises:
        DescriptionError: carries every fault of the YAML, each with its place.
    """
    composed = compose(text, file)
    data = _plain(composed.tree, composed)
    if composed.findings:
        raise DescriptionError(*composed.findings)
    return data, composed.places


def compose(text: str, file: str) -> Composed:
    """Return a text as a tree of leaves with what is wrong in it as YAML; its findings never raise."""
    text = text.removeprefix("\ufeff")
    composed = Composed(file, places={"": Location(file, 1, 1)})
    if len(text) > LARGEST:
        message = f"{len(text)} characters - a text of at most {LARGEST} is read; many holes are shorter as a pattern"
        composed.findings.append(fault(faults.SIZE, "", message, composed.places[""]))
        return composed
    if unfit := CONTROL.search(text):
        before = text[: unfit.start()].replace("\r\n", "\n").replace("\r", "\n")
        where = Location(file, before.count("\n") + 1, len(before) - before.rfind("\n"))
        message = f"character U+{ord(unfit[0]):04X} - only letters, figures, signs, tabs and line ends are allowed"
        composed.findings.append(fault(faults.CHARACTER, "", message, where))
        return composed
    builder = _Builder(composed)
    try:
        builder.run(YAML(typ="safe", pure=True).parse(text))
    except _StopError:
        pass
    except MarkedYAMLError as error:
        message, place = explain(error, text, builder.quoted)
        where = Location(file, place[0] + 1, place[1] + 1) if place else builder.last
        composed.findings.append(fault(faults.SYNTAX, "", message, where))
    except (YAMLError, ValueError, OverflowError, LookupError, AttributeError, AssertionError):
        # The reader gives up on a few odd texts without saying where: take the place of the last thing it read.
        composed.findings.append(fault(faults.SYNTAX, "", "cannot be read as YAML from here on", builder.last))
    return composed


class _StopError(Exception):
    """Nothing after this place can be read; the reason has been noted."""


class _Builder:
    """Builds the tree from the parser's events, noting faults on the way."""

    def __init__(self, composed: Composed) -> None:
        self.composed = composed
        self.last = composed.places[""]
        self.values = 0
        #: Start and end of the last text in quotation marks.
        self.quoted: tuple[Place, Place] | None = None

    def run(self, events: Iterator[Event]) -> None:
        """Build the tree of the only document."""
        documents = 0
        for event in events:
            if isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self.note(faults.DOCUMENTS, "", "a second document begins here - only one is allowed", event)
                    raise _StopError
                if event.tags or event.version not in (None, (1, 2)):
                    self.note(faults.TAG, "", "a directive (%) - none is needed, and only YAML 1.2 is read", event)
                    raise _StopError
            elif isinstance(event, ScalarEvent | SequenceStartEvent | MappingStartEvent | AliasEvent):
                self.composed.tree = self.node(event, events, "", 0)

    def where(self, event: Event) -> Location:
        """Return the place at which an event starts."""
        mark = event.start_mark
        self.last = Location(self.composed.file, mark.line + 1, mark.column + 1)
        return self.last

    def note(self, code: str, key: str, text: str, event: Event) -> None:
        """Note a fault at an event."""
        self.composed.findings.append(fault(code, key, text, self.where(event)))
        if len(self.composed.findings) >= MOST_FAULTS:
            raise _StopError

    def node(self, event: Event, events: Iterator[Event], key: str, depth: int) -> Tree:
        """Return the tree that starts with an event."""
        self.values += 1
        if self.values > MOST_VALUES:
            self.note(faults.SIZE, key, f"more than {MOST_VALUES} values - write many holes as a pattern", event)
            raise _StopError
        if isinstance(event, AliasEvent):
            self.note(faults.ANCHOR, key, f"*{faults.shown(event.anchor)}: an alias - write the value out", event)
            return Leaf(None, "", key, self.composed.file)
        anchor, tag = getattr(event, "anchor", None), getattr(event, "tag", None)
        if anchor:
            self.note(faults.ANCHOR, key, f"&{faults.shown(anchor)}: an anchor - write the value alone", event)
        if tag:
            self.note(faults.TAG, key, f"{faults.shown(tag)}: a tag - write the value alone", event)
        if isinstance(event, ScalarEvent):
            plain = event.style in (None, "")
            self.note_quoted(event)
            text = event.value if plain else self.unescaped(event, key)
            return Leaf(_resolve(text) if plain else text, text, key, self.composed.file)
        if depth >= DEEPEST:
            self.note(faults.DEPTH, key, f"nested deeper than {DEEPEST} - the description needs six levels", event)
            raise _StopError
        if isinstance(event, SequenceStartEvent):
            return self.items(events, key, depth)
        return self.mapping(events, key, depth)

    def unescaped(self, event: ScalarEvent, key: str) -> str:
        """Return a quoted text, pairs of escapes as JSON writes them put together; half a pair is a fault."""
        text: str = event.value.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
        if text.count("\ufffd") > event.value.count("\ufffd"):
            self.note(faults.CHARACTER, key, f"{faults.shown(event.value)}: half of a pair of escapes", event)
        return text

    def note_quoted(self, event: ScalarEvent) -> None:
        """Remember a text in quotation marks: it may not have been closed where it should be."""
        start, end = event.start_mark, event.end_mark
        if event.style in ("'", '"'):
            self.quoted = (start.line, start.column), (end.line, end.column)

    def items(self, events: Iterator[Event], key: str, depth: int) -> list[Tree]:
        """Return the entries of a list."""
        entries: list[Tree] = []
        for event in events:
            if isinstance(event, SequenceEndEvent):
                break
            name = _join(key, str(len(entries)))
            self.composed.places[name] = self.where(event)
            entries.append(self.node(event, events, name, depth + 1))
        return entries

    def mapping(self, events: Iterator[Event], key: str, depth: int) -> dict[str, Tree]:
        """Return a mapping; a key written twice keeps its first value."""
        entries: dict[str, Tree] = {}
        for event in events:
            if isinstance(event, MappingEndEvent):
                break
            if not isinstance(event, ScalarEvent):
                self.note(faults.KEY, key, "a list or a mapping as a key - a key is one word", event)
                raise _StopError
            if event.anchor or event.tag:
                self.note(faults.TAG, key, "a key with an anchor or a tag - write the key alone", event)
            self.unescaped(event, key)
            name = _join(key, event.value)
            if event.value == "<<" and event.style in (None, ""):
                self.note(faults.ANCHOR, name, "a merge key - write the keys out, or use based_on at the top", event)
            where = self.where(event)
            double = event.value in entries
            if double:
                first = self.composed.places[name].line
                self.note(faults.DUPLICATE, name, f"written a second time (first in line {first}) - keep one", event)
            else:
                self.composed.places[name] = where
            # What stands below a second key is read past; its places go to a map that is thrown away.
            kept = self.composed.places
            if double:
                self.composed.places = {}
            value = self.node(next(events), events, name, depth + 1)
            self.composed.places = kept
            if not double and event.value != "<<":
                entries[event.value] = value
        return entries


def _resolve(text: str) -> str | int | float | bool | None:
    """Return the value of a plain scalar."""
    if text in _NULL:
        return None
    if text in _TRUE or text in _FALSE:
        return text in _TRUE
    if _INTEGER.fullmatch(text):
        return int(text) if len(text) <= _DIGITS else float(text)
    if len(text) <= _DIGITS and _OCTAL.fullmatch(text):
        return int(text[2:], 8)
    if len(text) <= _DIGITS and _HEXADECIMAL.fullmatch(text):
        return int(text[2:], 16)
    if _FLOAT.fullmatch(text):
        return float(text)
    if _INFINITE.fullmatch(text):
        return -math.inf if text[0] == "-" else math.inf
    return math.nan if text in _NAN else text


def _plain(tree: Tree, composed: Composed) -> Any:
    """Return a tree as plain data, noting numbers that are none."""
    if isinstance(tree, dict):
        return {name: _plain(value, composed) for name, value in tree.items()}
    if isinstance(tree, list):
        return [_plain(value, composed) for value in tree]
    if not isinstance(tree, Leaf):
        return tree
    if isinstance(tree.value, float) and not math.isfinite(tree.value):
        text = f"{faults.shown(tree.text)}: not a number that can be used - write a finite one"
        composed.findings.append(fault(faults.FINITE, tree.key, text, composed.places.get(tree.key)))
    return tree.value


def _join(key: str, name: str) -> str:
    return f"{key}.{name}" if key else name


# What the parser says, in words and at the place that help somebody who writes a description: it stops where it can go
# on no longer, which is often a line or more behind the slip. The slip itself is pointed at.
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
