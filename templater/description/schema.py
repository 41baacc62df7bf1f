"""The JSON Schema of the description, which pydantic makes of the keys; loaded only where it is asked for."""

import json
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from templater.description.keys import Description


def schema_json() -> str:
    """Return the JSON Schema (2020-12) of the description, from which editors complete and explain keys.

    Keys that a description must have are asked for only where it is not based on another.
    """
    root, definitions = schemas()
    lists = ("Fitting", "KeepClear", "HoleRow", "HoleCircle")  # lists are replaced whole, never completed from a base
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Description of a small wooden ice boat",
        **_without(root, "required"),
        "required": ["boat"],
        "if": {"not": {"required": ["based_on"]}},
        "then": _needed(root, definitions),
        "$defs": {name: part if name in lists else _without(part, "required") for name, part in definitions.items()},
    }
    return json.dumps(schema, indent=2, ensure_ascii=False)


def schemas() -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the schema of the description, and by name those of its parts, with what each must have."""
    whole = TypeAdapter(Description).json_schema(schema_generator=_Schema)
    definitions = {name: _without(part, "title") for name, part in whole.pop("$defs").items()}
    return _without(whole, "title"), definitions


class _Schema(GenerateJsonSchema):
    """Leaves out the fields' titles, and the null and the default that only mark a key as optional."""

    def field_title_should_be_set(self, _schema: Any) -> bool:
        return False

    def nullable_schema(self, schema: Any) -> dict[str, Any]:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: Any) -> dict[str, Any]:
        none = schema.get("default", "") is None
        return self.generate_inner(schema["schema"]) if none else super().default_schema(schema)


def _needed(schema: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    """Return only what must be there: needed keys, and below every mapping its own needed keys."""
    needed: dict[str, Any] = {"required": schema["required"]} if schema.get("required") else {}
    below = {}
    for key, value in schema.get("properties", {}).items():
        part = definitions.get(value.get("$ref", "").rpartition("/")[2], {})
        if inner := _needed(part, definitions):
            below[key] = inner
    return {**needed, "properties": below} if below else needed


def _without(schema: dict[str, Any], key: str) -> dict[str, Any]:
    return {name: value for name, value in schema.items() if name != key}
