"""Where each value of a YAML text stands, to the letter: for programs that change one value and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)


@dataclass(slots=True)
class Span:
    """A value's place in its text, counted in letters from 0.

    Attributes:
        kind: ``value``, ``keys`` or ``list``.
        start: first letter of the value.
        end: behind its last letter.
        head: first letter of its key, or of a list's entry; the value's own start for the whole text.
        flow: True if it is written in brackets.
        text: a value as read.
        parts: what stands below, by key or by number from 0, in the order of the text.
    """

    kind: str
    start: int
    end: int
    head: int
    flow: bool = False
    text: str = ""
    parts: dict[str, Span] = field(default_factory=dict)

    def at(self, key: str) -> Span | None:
        """Return the part under a dotted key, None if there is none."""
        span: Span | None = self
        for name in key.split(".") if key else ():
            span = span.parts.get(name) if span is not None else None
        return span


def spans(text: str) -> Span | None:
    """Return the place of every value; None if the text is no YAML, or empty."""
    try:
        events = iter(YAML(typ="safe", pure=True).parse(text))
        for event in events:
            if isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent):
                return _span(event, events, event.start_mark.index, text)
    except (YAMLError, ValueError, LookupError, AttributeError, AssertionError, StopIteration, RecursionError):
        pass
    return None


def _span(event: Event, events: Iterator[Event], head: int, text: str) -> Span:
    start, end = event.start_mark.index, event.end_mark.index
    if isinstance(event, MappingStartEvent | SequenceStartEvent):
        mapping = isinstance(event, MappingStartEvent)
        span = Span("keys" if mapping else "list", start, start, head, bool(event.flow_style))
        for inner in events:
            if isinstance(inner, MappingEndEvent | SequenceEndEvent):
                span.end = inner.end_mark.index if span.flow else max([start, *(p.end for p in span.parts.values())])
                return span
            name = inner.value if mapping and isinstance(inner, ScalarEvent) else str(len(span.parts))
            below = _span(next(events) if mapping else inner, events, inner.start_mark.index, text)
            if mapping and below.kind == "value" and below.start == below.end:  # nothing there: right behind the colon
                behind = text[inner.end_mark.index :]
                colon = len(behind) - len(behind.lstrip(" ")) + 1 if behind.lstrip(" ").startswith(":") else 0
                below.start = below.end = inner.end_mark.index + colon
            span.parts[name] = below
        return span
    value = event.value if isinstance(event, ScalarEvent) else ""
    if isinstance(event, ScalarEvent) and event.style in ("|", ">"):
        end = start + len(text[start:end].rstrip())
    return Span("value", start, end, head, text=value)
