"""YAML 1.2 text to a tree of leaves that remember their places, and nothing that a description does not need.

A tree is made of dict, list and ``Leaf``. A place is that of the dotted key, ``fittings.0.at.1``, or of the entry of a
list; that of ``""`` is the whole text. Dates stay text. Tags, anchors, aliases, merge keys, duplicate keys and further
documents are refused, and so is any text over ``LARGEST`` characters or nested deeper than ``DEEPEST``.
"""

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml import events as parsed
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from templater.findings import Finding, Location
from templater.plane.shapes import Point
from templater.reader import faults
from templater.reader.faults import Fault
from templater.units import MM, Figures

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
_WORDS: dict[str, float | bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), math.nan),
    **{f"{sign}.{word}": float(f"{sign}inf") for sign in ("", "+", "-") for word in ("inf", "Inf", "INF")},
}
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
#: What stands behind a key.
_COLON = re.compile(" *:")
#: More digits than this are read as a float: no count or length needs them, and reading them exactly takes long.
_DIGITS = 18

#: What the parser raises at odd texts.
_UNREADABLE = (YAMLError, ValueError, OverflowError, LookupError, AttributeError, AssertionError)


#: Units that bare numbers may have.
UNITS = ("mm", "in")


class Leaf:
    """A scalar as read: its value, the text as written, its dotted key and its file."""

    __slots__ = ("file", "key", "text", "value")

    def __init__(self, value: str | int | float | bool | None, text: str, key: str, file: str) -> None:
        self.value, self.text, self.key, self.file = value, text, key, file


#: dict, list and ``Leaf``.
Tree = Any


def nothing(tree: Tree) -> bool:
    """Return whether nothing stands behind a key."""
    return isinstance(tree, Leaf) and tree.value is None


def unit_of(tree: Tree, otherwise: str) -> str:
    """Return the unit of bare numbers that a text names, else another."""
    leaf = tree.get("units") if isinstance(tree, dict) else None
    return leaf.text if isinstance(leaf, Leaf) and leaf.text in UNITS else otherwise


class Given:
    """What a text gives, looked up by dotted key while some of it may be at fault.

    ``units`` has the unit of bare numbers in each file. ``numbers`` has what is sound, lengths in mm, angles in
    degrees and counts; ``texts`` the texts; ``faults`` what is not.
    """

    def __init__(self, tree: Tree, places: Mapping[str, Location], units: Mapping[str, str]) -> None:
        self.tree, self.places, self.units = tree, places, units
        self.figures = Figures(unit_of(tree, "mm"), "decimal")
        self.numbers: dict[str, float] = {}
        self.texts: dict[str, str] = {}
        self.faults: list[Fault] = []

    def fault(self, code: str, key: str, text: str) -> None:
        """Note a fault."""
        self.faults.append((code, key, text))

    def told(self, code: str, key: str, case: str = "", /, **values: float | str) -> Fault:
        """Return a fault said by the catalogue's sentence for its case; see ``said``."""
        return code, key, faults.said(code, case, self.figures, **values)

    def at(self, key: str) -> Tree:
        """Return what stands under a key, sound or not, or None."""
        tree = self.tree
        for name in key.split("."):
            if isinstance(tree, list):
                tree = tree[int(name)] if name.isdecimal() else None
            else:
                tree = tree.get(name) if isinstance(tree, dict) else None
        return None if nothing(tree) else tree

    def entries(self, key: str) -> list[str]:
        """Return the dotted keys of a list's entries; none if there is no list."""
        tree = self.at(key)
        return [f"{key}.{number}" for number in range(len(tree))] if isinstance(tree, list) else []

    def points(self, key: str) -> list[Point | None]:
        """Return a list of points, None for one at fault."""
        pairs = ((self.numbers.get(f"{entry}.0"), self.numbers.get(f"{entry}.1")) for entry in self.entries(key))
        return [None if x is None or y is None else (x, y) for x, y in pairs]


def leaves(data: Any, file: str, key: str = "") -> Tree:
    """Return plain data, as a program is given it, as the tree that a text would give."""
    if isinstance(data, dict):
        return {name: leaves(value, file, join(key, name)) for name, value in data.items()}
    if isinstance(data, list):
        return [leaves(value, file, join(key, str(number))) for number, value in enumerate(data)]
    return Leaf(data, str(data), key, file)


class Span:
    """A value's place in its text, counted in letters from 0: for programs that change one value and nothing else.

    ``kind`` is ``value``, ``keys`` or ``list``. It runs from ``start`` to just before ``end``; ``head`` is the first
    letter of its key, or of a list's entry. ``flow`` is True if it is written in brackets.
    """

    def __init__(self, head: int) -> None:
        self.kind, self.start, self.end, self.head, self.flow, self.text = "value", head, head, head, False, ""
        self.parts: dict[str, Span] = {}  # what stands below, by key or by number from 0, in the order of the text

    def at(self, key: str) -> "Span | None":
        """Return the part under a dotted key, None if there is none."""
        span: Span | None = self
        for name in key.split(".") if key else ():
            span = span.parts.get(name) if span is not None else None
        return span


def spans(text: str) -> Span | None:
    """Return the place of every value; None if the text is no YAML, or empty."""
    builder = Composed("", text)
    with suppress(_StopError, *_UNREADABLE):
        builder.run(_events(text))
    return None if builder.tree is None else builder.span


def compose(text: str, file: str) -> "Composed":
    """Return a text as a tree of leaves with what is wrong in it as YAML; its findings never raise."""
    text = text.removeprefix("\ufeff")
    builder, wrong = Composed(file, text), ("", "")
    if len(text) > LARGEST:
        wrong = "D103", faults.said("D103", "letters", MM, count=str(len(text)), most=str(LARGEST))
    elif unfit := CONTROL.search(text):
        lines = text[: unfit.start()].replace("\r\n", "\n").replace("\r", "\n").split("\n")
        builder.last = Location(file, len(lines), len(lines[-1]) + 1)
        wrong = "D102", faults.said("D102", "letter", MM, number=f"{ord(unfit[0]):04X}")
    else:
        try:
            builder.run(_events(text))
        except _StopError:
            pass
        except MarkedYAMLError as error:
            message, place = faults.explain(error, text, builder.quoted)
            if place:
                builder.last = Location(file, place[0] + 1, place[1] + 1)
            wrong = "D101", message
        except _UNREADABLE:
            # The parser gives up on a few odd texts without saying where: take the place of the last thing it read.
            wrong = "D101", "cannot be read as YAML from here on"
    if wrong[0]:
        builder.findings.append(Finding(wrong[0], "", wrong[1], builder.last))
    return builder


def _events(text: str) -> Iterator[Any]:
    return iter(YAML(typ="safe", pure=True).parse(text))


class _StopError(Exception):
    """Nothing after this place can be read; the reason has been noted."""


class Composed:
    """A text as read: the tree of leaves, the places of its keys, and what is wrong with it as YAML."""

    def __init__(self, file: str, text: str = "", tree: Tree = None) -> None:
        self.file, self.text, self.tree, self.last = file, text, tree, Location(file, 1, 1)
        self.places = {"": self.last}
        self.findings: list[Finding] = []
        self.span: Span | None = None
        self.values = 0
        #: Start and end of the last text in quotation marks: it may not have been closed where it should be.
        self.quoted: tuple[faults.Place, faults.Place] | None = None

    def run(self, events: Iterator[Any]) -> None:
        """Build the tree of the only document."""
        documents = 0
        for event in events:
            if isinstance(event, parsed.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self.fault("D108", "", "a second document begins here - only one is allowed", event, last=True)
                if event.tags or event.version not in (None, (1, 2)):
                    text = "a directive (%) - none is needed, and only YAML 1.2 is read"
                    self.fault("D105", "", text, event, last=True)
            elif isinstance(event, parsed.NodeEvent):
                self.span = Span(event.start_mark.index)
                self.tree = self.node(event, events, "", 0, self.span)

    def where(self, event: parsed.Event) -> Location:
        """Return the place at which an event starts."""
        mark = event.start_mark
        self.last = Location(self.file, mark.line + 1, mark.column + 1)
        return self.last

    def fault(self, code: str, key: str, text: str, event: parsed.Event, *, last: bool = False) -> None:
        """Note a fault at an event; behind the last nothing is read."""
        self.findings.append(Finding(code, key, text, self.where(event)))
        if last or len(self.findings) >= MOST_FAULTS:
            raise _StopError

    def node(self, event: Any, events: Iterator[Any], key: str, depth: int, span: Span) -> Tree:
        """Return the tree that starts with an event, and note where it stands."""
        self.values += 1
        span.start, span.end = event.start_mark.index, event.end_mark.index
        if self.values > MOST_VALUES:
            self.fault("D103", key, f"more than {MOST_VALUES} values - write many holes as a pattern", event, last=True)
        if isinstance(event, parsed.AliasEvent):
            self.fault("D106", key, f"*{faults.shown(event.anchor)}: an alias - write the value out", event)
            return Leaf(None, "", key, self.file)
        if event.anchor:
            self.fault("D106", key, f"&{faults.shown(event.anchor)}: an anchor - write the value alone", event)
        if event.tag:
            self.fault("D105", key, f"{faults.shown(event.tag)}: a tag - write the value alone", event)
        if isinstance(event, parsed.ScalarEvent):
            if event.style in ("'", '"'):
                start, end = event.start_mark, event.end_mark
                self.quoted = (start.line, start.column), (end.line, end.column)
            elif event.style:  # a block, of which the blank lines behind it are no part
                span.end = span.start + len(self.text[span.start : span.end].rstrip())
            span.text, plain = event.value, not event.style
            text = event.value if plain else self.unescaped(event, key)
            return Leaf(_resolve(text) if plain else text, text, key, self.file)
        if depth >= DEEPEST:
            text = f"nested deeper than {DEEPEST} - the description needs six levels"
            self.fault("D104", key, text, event, last=True)
        span.kind, span.flow = "keys" if isinstance(event, parsed.MappingStartEvent) else "list", bool(event.flow_style)
        tree, last = (self.mapping if span.kind == "keys" else self.items)(events, key, depth, span)
        ends = [span.start, *(part.end for part in span.parts.values())]
        span.end = last.end_mark.index if span.flow else max(ends)
        return tree

    def unescaped(self, event: parsed.ScalarEvent, key: str) -> str:
        """Return a quoted text, pairs of escapes as JSON writes them put together; half a pair is a fault."""
        text: str = event.value.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
        if text.count("\ufffd") > event.value.count("\ufffd"):
            self.fault("D102", key, f"{faults.shown(event.value)}: half of a pair of escapes", event)
        return text

    def items(self, events: Iterator[Any], key: str, depth: int, span: Span) -> tuple[list[Tree], parsed.Event]:
        """Return the entries of a list, and the event that ends it."""
        entries: list[Tree] = []
        while not isinstance(event := next(events), parsed.SequenceEndEvent):
            number = str(len(entries))
            name, part = join(key, number), span.parts.setdefault(number, Span(event.start_mark.index))
            self.places[name] = self.where(event)
            entries.append(self.node(event, events, name, depth + 1, part))
        return entries, event

    def mapping(self, events: Iterator[Any], key: str, depth: int, span: Span) -> tuple[dict[str, Tree], parsed.Event]:
        """Return a mapping, and the event that ends it; a key written twice keeps its first value."""
        entries: dict[str, Tree] = {}
        while not isinstance(event := next(events), parsed.MappingEndEvent):
            if not isinstance(event, parsed.ScalarEvent):
                self.fault("D109", key, "a list or a mapping as a key - a key is one word", event, last=True)
            if event.anchor or event.tag:
                self.fault("D105", key, "a key with an anchor or a tag - write the key alone", event)
            self.unescaped(event, key)
            name, kept = join(key, event.value), self.places
            merge, double = event.value == "<<" and not event.style, event.value in entries
            if merge:
                self.fault("D106", name, "a merge key - write the keys out, or use based_on at the top", event)
            if double:
                first = kept[name].line
                self.fault("D107", name, f"written a second time (first in line {first}) - keep one", event)
                self.places = {}  # what stands below a second key is read past, with its places
            self.places[name] = self.where(event)
            span.parts[event.value] = part = Span(event.start_mark.index)
            value = self.node(next(events), events, name, depth + 1, part)
            if part.kind == "value" and part.start == part.end:  # nothing there: right behind the colon
                colon = _COLON.match(self.text, event.end_mark.index)
                part.start = part.end = colon.end() if colon else event.end_mark.index
            self.places = kept
            if not double and event.value != "<<":
                entries[event.value] = value
        return entries, event


def _resolve(text: str) -> str | int | float | bool | None:
    """Return the value of a plain scalar."""
    if text in _WORDS:
        return _WORDS[text]
    if _FLOAT.fullmatch(text):
        whole = len(text) <= _DIGITS and text.lstrip("+-").isdecimal()
        return int(text) if whole else float(text)
    if len(text) <= _DIGITS and re.fullmatch("0o[0-7]+|0x[0-9a-fA-F]+", text):
        return int(text, 0)
    return text


def join(key: str, name: str) -> str:
    """Return the dotted key of a name below another."""
    return f"{key}.{name}" if key else name
