"""The fields of the page, made from the description's own keys: label, help, kind and choices are theirs.

A field is plain data: ``key`` (dotted; of a list's entries the part behind their number), ``label``, ``help``,
``needed`` (True if a description must have it), ``choices`` (allowed words; of a text examples), ``fields`` (what
stands below ``keys``, or in each entry of a ``list``) and ``kind``: ``length``, ``number``, ``count``, ``choice``,
``yes``, ``date``, ``text``, ``pair``, ``points``, ``lengths``, ``list`` or ``keys``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from templater.description.editing import schemas

Field = dict[str, Any]
Schema = Mapping[str, Any]
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
_ELSEWHERE = ("based_on",)


def form() -> list[dict[str, Any]]:
    """Return every field of the description under its heading, each key once: sections of ``title`` and ``fields``."""
    schema, known = schemas()
    root = _keys("", schema, known)
    taken = set(_ELSEWHERE)
    sections = []
    for title, keys in SECTIONS:
        chosen = keys or tuple(field["key"] for field in root)
        fields = [_without(found, taken) for key in chosen if key not in taken and (found := _find(root, key))]
        taken.update(chosen)
        if fields := [field for field in fields if field["kind"] != "keys" or field["fields"]]:
            sections.append({"title": title, "fields": fields})
    return sections


def _find(fields: list[Field], key: str) -> Field | None:
    for field in fields:
        if field["key"] == key:
            return field
        if key.startswith(f"{field['key']}."):
            return _find(field["fields"], key)
    return None


def _without(field: Field, taken: set[str]) -> Field:
    """Return a group of fields without those that stand under another heading."""
    if field["kind"] != "keys":
        return field
    return {**field, "fields": [_without(one, taken) for one in field["fields"] if one["key"] not in taken]}


def _keys(above: str, schema: Schema, known: Schema) -> list[Field]:
    return [
        {**_field(above + name, part, known), "needed": name in schema.get("required", ())}
        for name, part in schema["properties"].items()
    ]


def _field(key: str, schema: Schema, known: Schema) -> Field:
    part = _resolved(schema, known)
    options = [_resolved(one, known) for one in part.get("anyOf", ())]
    kind, choices, fields = "text", list[Any](), list[Field]()
    if "properties" in part:
        kind, fields = "keys", _keys(f"{key}.", part, known)
    elif "enum" in part:
        kind, choices = "choice", part["enum"]
    elif any(one.get("type") == "number" for one in options):
        kind = "length"
    elif options:
        choices = [word for one in options for word in one.get("examples", one.get("enum", ()))]
    elif part.get("type") == "array":
        entry = _resolved(part.get("items", {}), known)
        kind = "pair" if "prefixItems" in part else "points" if "prefixItems" in entry else "lengths"
        if "properties" in entry:
            kind, fields = "list", _keys("", entry, known)
    else:
        kinds = {"number": "number", "integer": "count", "boolean": "yes"}
        kind = "date" if part.get("format") == "date" else kinds.get(str(part.get("type")), "text")
        choices = part.get("examples", ())
    words = schema.get("description") or part.get("description", "")
    label = key.rpartition(".")[2].replace("_", " ")
    return {
        "key": key, "label": label[:1].upper() + label[1:], "help": words[:1].upper() + words[1:], "kind": kind,
        "choices": [str(word) for word in choices], "fields": fields,
    }  # fmt: skip


def _resolved(schema: Schema, known: Schema) -> Schema:
    name = str(schema.get("$ref", "")).rpartition("/")[2]
    return known[name] if name else schema
