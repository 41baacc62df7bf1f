"""What helps to write a description: its JSON Schema for editors, and a commented one to start from."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from templater.description.keys import Description
from templater.reader.compose import UNITS

_TEXT, _NUMBERS = Path(__file__).with_name("starter.txt"), Path(__file__).with_name("starter.csv")
#: Column at which comments behind a value begin.
_COLUMN = 35


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
    whole = Description.model_json_schema(schema_generator=_Schema)
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


def starter_text(boat: str = "My boat", units: str = "mm") -> str:
    """Return a commented description that loads and passes the checks, in numbers of an invented boat.

    A name of more than 40 characters is cut. Raises ValueError if ``units`` is neither ``mm`` nor ``in``.
    """
    if units not in UNITS:
        raise ValueError(f"{units}: allowed: {', '.join(UNITS)}")
    name = "".join(letter if letter.isprintable() else " " for letter in boat).strip()[:40].strip() or "My boat"
    numbers = {row["name"]: row[units] for row in csv.DictReader(_NUMBERS.read_text("utf-8").splitlines())}
    # A JSON string is a YAML string too (YAML 1.2.2, section 1.3), whatever signs the name holds.
    return filled(_TEXT, title=name, boat=json.dumps(name, ensure_ascii=False), units=units, **numbers)


def filled(path: Path, **values: str) -> str:
    """Return a text with values in its braces, the comments behind them in line."""
    text = path.read_text("utf-8").format(**values)
    return re.sub(r"^(.*\S)  (# )", lambda line: (line[1] + "  ").ljust(_COLUMN) + line[2], text, flags=re.MULTILINE)
