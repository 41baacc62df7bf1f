"""The fields of the page, made from the description's own keys: label, help, kind and choices are theirs."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from templater.description import schema_json

#: Headings in the order in which a builder measures, with the keys under each; keys named nowhere come last.
SECTIONS = (
    ("The boat", ("boat", "units", "issue")),
    ("Steering post", ("steering_post",)),
    ("Class rule", ("rule",)),
    ("Cockpit floor", ("floor",)),
    ("Runner plank", ("plank",)),
    ("Bolts and sleeves", ("fixing.half_spread", "fixing.settings", "fixing.bolt", "fixing.sleeve")),
    ("Plates", ("fixing.plate",)),
    ("Between floor and plank", ("fixing",)),
    ("Other fittings", ("fittings",)),
    ("Paper and figures", ("print",)),
    ("How well you work", ("accuracy",)),
    ("Spares and all else", ()),
)
#: Keys that the page sees to in another way.
_ELSEWHERE = frozenset(["based_on"])


class Field(NamedTuple):
    """One field, or a group of them, or a list.

    Attributes:
        key: dotted key; of a list's entries the part behind their number.
        kind: ``length``, ``number``, ``count``, ``choice``, ``yes``, ``date``, ``text``, ``pair``, ``points``, ``list``
            or ``keys``.
        needed: True if a description must have it.
        choices: allowed words; of a text examples.
        fields: what stands below ``keys``, or in each entry of a ``list``.
    """

    key: str
    label: str
    help: str
    kind: str
    needed: bool
    choices: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()


class Section(NamedTuple):
    """A heading with its fields."""

    title: str
    fields: tuple[Field, ...]


def form() -> tuple[Section, ...]:
    """Return every field of the description under its heading, each key once."""
    schema = json.loads(schema_json())
    reader = _Reader(schema["$defs"])
    needed = _needed(schema)
    root = reader.keys("", schema, needed)
    taken = set(_ELSEWHERE)
    sections = []
    for title, keys in SECTIONS:
        chosen = keys or tuple(field.key for field in root)
        fields = tuple(_without(field, taken) for key in chosen if (field := _find(root, key)) and key not in taken)
        taken.update(chosen)
        fields = tuple(field for field in fields if field.kind != "keys" or field.fields)
        if fields:
            sections.append(Section(title, fields))
    return tuple(sections)


def label_of(key: str) -> str:
    """Return a key as words.

    >>> label_of("plank.pivot_aft_of_bolts")
    'Pivot aft of bolts'
    """
    words = key.rpartition(".")[2].replace("_", " ")
    return words[:1].upper() + words[1:]


def _find(fields: Iterable[Field], key: str) -> Field | None:
    for field in fields:
        if field.key == key:
            return field
        if key.startswith(f"{field.key}."):
            return _find(field.fields, key)
    return None


def _without(field: Field, taken: set[str]) -> Field:
    """Return a group of fields without those that stand under another heading."""
    if field.kind != "keys":
        return field
    return field._replace(fields=tuple(_without(one, taken) for one in field.fields if one.key not in taken))


def _needed(schema: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the part of a schema that says which keys must be there."""
    return dict(schema.get("then", schema))


class _Reader:
    """Reads fields out of a JSON Schema."""

    def __init__(self, definitions: Mapping[str, Any]) -> None:
        self._definitions = definitions

    def keys(self, above: str, schema: Mapping[str, Any], needed: Mapping[str, Any]) -> tuple[Field, ...]:
        """Return a field for each property of an object."""
        must = needed.get("required", schema.get("required", ()))
        below = needed.get("properties", {})
        return tuple(
            self._field(f"{above}.{name}" if above else name, part, name in must, below.get(name, {}))
            for name, part in schema["properties"].items()
        )

    def _field(self, key: str, schema: Mapping[str, Any], must: bool, needed: Mapping[str, Any]) -> Field:
        words = schema.get("description", "")
        part = self._resolved(schema)
        kind, choices, fields = "text", tuple[str, ...](), tuple[Field, ...]()
        options = [self._resolved(one) for one in part.get("anyOf", ())]
        if part.get("type") == "object" or "properties" in part:
            kind, fields = "keys", self.keys(key, part, needed)
        elif "enum" in part:
            kind, choices = "choice", tuple(map(str, part["enum"]))
        elif any(one.get("type") == "number" for one in options):
            kind = "length"
        elif options:
            choices = tuple(str(word) for one in options for word in one.get("examples", one.get("enum", ())))
        elif part.get("type") == "array":
            kind, fields = self._list(part)
        else:
            kinds = {"number": "number", "integer": "count", "boolean": "yes"}
            kind = "date" if part.get("format") == "date" else kinds.get(str(part.get("type")), "text")
            choices = tuple(map(str, part.get("examples", ())))
        words = words or part.get("description", "")
        return Field(key, label_of(key), words[:1].upper() + words[1:], kind, must, choices, fields)

    def _list(self, part: Mapping[str, Any]) -> tuple[str, tuple[Field, ...]]:
        if "prefixItems" in part:
            return "pair", ()
        entry = self._resolved(part.get("items", {}))
        if "prefixItems" in entry:
            return "points", ()
        if "properties" in entry:
            return "list", self.keys("", entry, entry)
        return "lengths", ()

    def _resolved(self, schema: Mapping[str, Any]) -> Mapping[str, Any]:
        name = str(schema.get("$ref", "")).rpartition("/")[2]
        return self._definitions[name] if name else schema
