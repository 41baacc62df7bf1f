"""What may stand under a key: models that are declared once and are what a text is read into.

A model's fields are its keys, each with its kind of value, help and default; see ``values.py`` for the kinds. Models
are frozen; nothing but the reader makes one from a text, and what makes one in Python gives mm and degrees.
"""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from typing import Any, Self, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidationInfo, model_validator

from templater.findings import Finding, Location, ReadingsError
from templater.reader import faults
from templater.reader.compose import Leaf, Tree, compose
from templater.reader.faults import fault
from templater.reader.values import Known

_NEEDED = object()
Model = TypeVar("Model", bound="Keys")


def key(help_text: str, default: Any = _NEEDED, *, name: str | None = None) -> Any:
    """Return the declaration of a key: what it means to the builder, and its default.

    Args:
        help_text: what editors show.
        default: what it is if left out; a class makes a new one of itself; without it the key is needed.
        name: as it stands in the text, if that cannot be an attribute.
    """
    if default is _NEEDED:
        return Field(description=help_text, alias=name)
    if isinstance(default, type):
        return Field(description=help_text, default_factory=default, alias=name)
    return Field(default, description=help_text, alias=name)


class Keys(BaseModel):
    """A mapping: unknown keys are refused, and it never changes."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _without_nothing(cls, data: Any, _info: ValidationInfo[Known]) -> Any:
        """Take a known key with nothing behind it as not given."""
        if not isinstance(data, dict):
            return data
        names = cls.names()
        return {name: value for name, value in data.items() if name not in names or not _nothing(value)}

    @classmethod
    def names(cls) -> list[str]:
        """Return the keys as they stand in a text, in order."""
        return [field.alias or name for name, field in cls.model_fields.items()]

    def items(self) -> list[tuple[str, Any]]:
        """Return the keys as they stand in a text, with their values."""
        return list(zip(self.names(), self.__dict__.values(), strict=True))

    def changed(self, **changes: Any) -> Self:
        """Return the model with some keys changed; their values are taken as they are.

        Raises:
            TypeError: if there is no such key.
        """
        if unknown := changes.keys() - type(self).model_fields.keys():
            raise TypeError(f"{type(self).__name__} has no {', '.join(sorted(unknown))}")
        return self.model_copy(update=changes)


def _nothing(value: object) -> bool:
    return isinstance(value, Leaf) and value.value is None


def read_tree(
    model: type[Model], tree: Tree, places: Mapping[str, Location], known: Known
) -> tuple[Model | None, list[Finding]]:
    """Return a tree of leaves as a model, or nothing, with every fault in our own words.

    ``known`` takes note of every value that is sound by itself.
    """
    try:
        return model.model_validate(tree, context=known), []
    except ValidationError as error:
        items = error.errors(include_url=False, include_input=False)
    found: dict[tuple[str, str], Finding] = {}
    misspelt = {
        (*item["loc"][:-1], faults.nearest(str(item["loc"][-1]), _part_at(model, item["loc"][:-1]).names()))
        for item in items
        if item["type"] == "extra_forbidden"
    }
    for item in items:
        if item["type"] == "missing" and item["loc"] in misspelt:
            continue  # the line about the misspelt key says what it should be
        code, dotted, text = _worded(model, item["type"], item["loc"], item.get("ctx", {}), places)
        found.setdefault((code, f"{dotted}: {text}"), fault(code, dotted, text, place(places, dotted)))
    return None, list(found.values())


def read_text(
    model: type[Model], text: str, file: str, unit: str = "mm"
) -> tuple[Model, dict[str, Location]]:
    """Return a text of readings as a model, with the places of its keys.

    Raises:
        ReadingsError: carries every fault, each with file, line and column.
    """
    composed = compose(text, file)
    found, result = list(composed.findings), None
    if isinstance(composed.tree, dict):
        result, more = read_tree(model, composed.tree, composed.places, Known({file: unit}))
        found += more
    elif not found:
        allowed = f"no keys - allowed here: {', '.join(model.names())}"
        found.append(fault(faults.EMPTY, "", allowed, composed.places[""]))
    if found or result is None:
        raise ReadingsError(*found)
    return result, composed.places


def place(places: Mapping[str, Location], dotted: str) -> Location:
    """Return the place of a dotted key, or of the nearest one above it."""
    while dotted and dotted not in places:
        dotted = dotted.rpartition(".")[0]
    return places[dotted]


def _worded(
    model: type[Keys], kind: str, loc: tuple[int | str, ...], context: dict[str, Any], places: Mapping[str, Location]
) -> faults.Fault:
    """Return code, key and text of one of the validator's errors; a point with several faults gets one line."""
    dotted = ".".join(str(name) for name in loc)
    parent = ".".join(str(name) for name in loc[:-1])
    if kind == "fault":
        return str(context["code"]), str(context["key"] or dotted), str(context["text"])
    if kind == "missing" and isinstance(loc[-1], str):
        if dotted in places:
            return faults.MISSING, dotted, "nothing stands here - this key is needed, give its value"
        needed = [name for name, field in _part_at(model, loc[:-1]).model_fields.items() if field.is_required()]
        return faults.MISSING, parent, f'"{loc[-1]}" is missing - needed here: {", ".join(needed)}'
    if kind == "missing" or (kind == "too_long" and not context.get("max_length", 0) > 2):
        text = "not two lengths - allowed: two, as in [40, 24]; a decimal has a point, as in 40.5"
        return faults.SHAPE, parent if kind == "missing" else dotted, text
    if kind == "extra_forbidden":
        return faults.UNKNOWN, dotted, _unknown(str(loc[-1]), _part_at(model, loc[:-1]))
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        allowed = ", ".join(_part_at(model, loc).names())
        return faults.SHAPE, dotted, f"no keys below it - allowed here: {allowed}"
    if kind in ("tuple_type", "list_type"):
        return faults.SHAPE, dotted, "not a list - allowed: a list in square brackets, as in [40, 24]"
    if kind == "too_short":
        return faults.RANGE, dotted, f"{context['actual_length']} entries - allowed: at least {context['min_length']}"
    if kind == "too_long":
        return faults.RANGE, dotted, f"too many entries - allowed: at most {context['max_length']}"
    return faults.KIND, dotted, "cannot be used here - see the schema for what is allowed"


def _unknown(name: str, part: type[Keys]) -> str:
    """Return the sentence for an unknown key, with what its place or its looks say about what was meant."""
    if name.isdigit():
        return f"unknown key - a comma begins a new key; a decimal has a point, as in 21.{name}"
    for owner, field in zip(part.names(), part.model_fields.values(), strict=True):
        if any(name in below.names() for below in _parts_in(field.annotation)):
            return f"unknown key here - it belongs to {owner}: move it below that key, two blanks further in"
    return faults.unknown_key(name, part.names())


def _part_at(model: type[Keys], loc: tuple[int | str, ...]) -> type[Keys]:
    """Return the model that stands at a place below another."""
    for name in loc:
        if isinstance(name, str) and name in model.model_fields:
            model = next(_parts_in(model.model_fields[name].annotation), model)
    return model


def _parts_in(annotation: Any) -> Iterator[type[Keys]]:
    """Yield the models that an annotation names."""
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias) and issubclass(annotation, Keys):
        yield annotation
    for argument in get_args(annotation):
        yield from _parts_in(argument)
