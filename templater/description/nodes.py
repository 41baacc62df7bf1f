"""YAML text to plain data that remembers where everything stood.

``read_yaml`` serves every file that a builder writes: descriptions, readings, printer profiles. Its data are dicts,
lists and scalars; numbers and texts carry the unit of bare numbers of their own file (``unit``), which ``length_mm``
uses. Places are kept by dotted key, ``fittings.0.at.1``. Then ``schema.validate`` holds data against a model and turns
every fault into a located finding.

YAML 1.2 (core schema) without tags, anchors, aliases and merge keys, which a description does not need and a
hostile file can abuse.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
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

from templater.errors import DescriptionError, Finding, Location, Severity
from templater.units import UNIT_FACTORS, parse_length

LARGEST_TEXT = 8_000_000
DEEPEST = 12
_INTEGER = re.compile(r"[-+]?[0-9]{1,300}")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]{1,4})?")
_NULL = frozenset({"", "~", "null", "Null", "NULL"})
_BOOL = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


class WholeNumber(int):
    """A whole number as written, with the unit that it has as a length."""

    unit = "mm"


class Number(float):
    """A number as written, with the unit that it has as a length."""

    unit = "mm"


class Words(str):
    """A text as written, with the unit that a bare number in it has."""

    unit = "mm"


def length_mm(value: object) -> float:
    """Return a length in mm.

    Raises:
        ValueError: if it is none; the message says what is allowed.
    """
    unit = getattr(value, "unit", "mm")
    if isinstance(value, str):
        return parse_length(value, unit)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError("a length such as 231 mm, 0.5 m, 9 in, 2 1/8 in or 1 ft 3 in")
    if abs(value) > 1e9:
        raise ValueError("a length of at most 1e9")
    return float(value) * 25.4 if unit == "in" else float(value) * float(UNIT_FACTORS[unit])


@dataclass
class Document:
    """One file's data. ``places`` hold values (keys for mappings and lists), ``keys`` the keys themselves."""

    data: Any
    places: dict[str, Location] = field(default_factory=dict)
    keys: dict[str, Location] = field(default_factory=dict)


def read_yaml(text: str, file: str) -> Document:
    """Return a file's data with places.

    Raises:
        DescriptionError: one finding for what is no sound YAML.
    """
    if len(text) > LARGEST_TEXT:
        raise _fault("D101", f"{len(text)} letters - at most {LARGEST_TEXT} are read", Location(file, 1, 1))
    control = _CONTROL.search(text)
    if control:
        line = text.count("\n", 0, control.start()) + 1
        column = control.start() - text.rfind("\n", 0, control.start())
        raise _fault("D102", f"control character {control[0]!r} - remove it", Location(file, line, column))
    loader = YAML(typ="safe", pure=True)
    try:
        return _Reader(file, iter(loader.parse(text))).document()
    except MarkedYAMLError as fault:
        mark = fault.problem_mark or fault.context_mark
        where = Location(file, mark.line + 1, mark.column + 1) if mark else Location(file, 1, 1)
        problem = " ".join(str(fault.problem or fault.context or "not readable").split())
        raise _fault("D103", f"not YAML: {problem} - check indents, colons, quotes and brackets", where) from None
    except (YAMLError, ValueError, RecursionError, AttributeError, IndexError) as fault:
        problem = " ".join(str(fault).split())[:120]
        raise _fault("D103", f"not YAML: {problem} - check this file", Location(file, 1, 1)) from None


def _fault(code: str, text: str, where: Location) -> DescriptionError:
    return DescriptionError(Finding(code, Severity.ERROR, "", text, where))


class _Reader:
    """Builds the data from YAML events, refusing what a description does not need."""

    def __init__(self, file: str, events: Iterator[Event]) -> None:
        self._file = file
        self._events = events
        self._document = Document(None)

    def document(self) -> Document:
        documents = 0
        for event in self._events:
            if isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise _fault("D104", "a second document - one file holds one description", self._at(event))
            elif isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent | AliasEvent):
                self._document.data = self._value(event, "", 0)
        return self._document

    def _at(self, event: Event) -> Location:
        return Location(self._file, event.start_mark.line + 1, event.start_mark.column + 1)

    def _value(self, event: Event, key: str, depth: int) -> Any:
        where = self._at(event)
        if isinstance(event, AliasEvent) or getattr(event, "anchor", None):
            raise _fault("D105", "anchors (&) and aliases (*) are not taken - write the value out", where)
        tag = getattr(event, "tag", None) or getattr(event, "ctag", None)
        if tag is not None and str(tag) not in ("", "!", "None"):
            raise _fault("D106", f"tag {tag} - tags are not taken, write the plain value", where)
        if depth > DEEPEST:
            raise _fault("D107", f"nested more than {DEEPEST} deep - no key goes so deep", where)
        self._document.places.setdefault(key, where)
        if isinstance(event, MappingStartEvent):
            return self._mapping(key, depth)
        if isinstance(event, SequenceStartEvent):
            return self._sequence(key, depth)
        return _scalar(event)

    def _mapping(self, key: str, depth: int) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for event in self._events:
            if isinstance(event, MappingEndEvent):
                break
            where = self._at(event)
            if not isinstance(event, ScalarEvent):
                raise _fault("D108", "a key that is no word - write key: value", where)
            name = event.value
            inner = f"{key}.{name}" if key else name
            if name in found:
                first = self._document.keys[inner]
                text = f"stands here again - it stands at line {first.line} already, keep one"
                raise DescriptionError(Finding("D109", Severity.ERROR, inner, text, where))
            self._document.keys[inner] = where
            value = next(self._events)
            if not isinstance(value, ScalarEvent):
                self._document.places[inner] = where
            found[name] = self._value(value, inner, depth + 1)
        return found

    def _sequence(self, key: str, depth: int) -> list[Any]:
        found: list[Any] = []
        for event in self._events:
            if isinstance(event, SequenceEndEvent):
                break
            found.append(self._value(event, f"{key}.{len(found)}", depth + 1))
        return found


def _scalar(event: Any) -> Any:
    """Return a scalar by the core schema of YAML 1.2.2, 10.3.2; quoted ones are texts."""
    text: str = event.value
    if event.style not in (None, ""):
        return Words(text)
    if text in _NULL:
        return None
    if text in _BOOL:
        return _BOOL[text]
    if _INTEGER.fullmatch(text):
        return WholeNumber(text)
    if _FLOAT.fullmatch(text):
        return Number(text)
    if text.lower().lstrip("+-") in (".inf", ".nan"):
        return Number(text.lower().replace(".", ""))
    return Words(text)


def with_unit(data: Any, unit: str) -> None:
    """Give every number and text of ``data`` the unit of its file's bare numbers."""
    if isinstance(data, Mapping):
        for value in data.values():
            with_unit(value, unit)
    elif isinstance(data, list):
        for value in data:
            with_unit(value, unit)
    elif isinstance(data, WholeNumber | Number | Words):
        data.unit = unit
