"""What may stand under a key: models that are declared once and are what a text is read into.

A model's fields are its keys, each with its kind of value, help and default; see ``values.py`` for the kinds. Models
are frozen; nothing but the reader makes one from a text, and what makes one in Python gives mm and degrees.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Self, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidationInfo, model_validator

from templater.findings import Finding, Location, ReadingsError
from templater.plane.shapes import Point
from templater.reader import faults
from templater.reader.compose import Composed, Leaf, Tree
from templater.reader.faults import Fault
from templater.reader.values import Known
from templater.units import Figures

_NEEDED = object()
#: Units that bare numbers may have.
UNITS = ("mm", "in")
Model = TypeVar("Model", bound="Keys")


def key(
    help_text: str,
    default: Any = _NEEDED,
    *,
    name: str | None = None,
    least: int | None = None,
    most: int | None = None,
) -> Any:
    """Return the declaration of a key: what it means to the builder, and its default.

    A section as default stands for one without keys; without a default the key is needed. ``name`` is that in the text
    where it cannot be an attribute; ``least`` and ``most`` are how many entries a list has.
    """
    settings: dict[str, Any] = {"description": help_text, "alias": name, "min_length": least, "max_length": most}
    if isinstance(default, type) and issubclass(default, Keys):
        # Nothing to validate: a validator of its own for each such section would cost as much as that of the whole.
        return Field(default_factory=default.model_construct, **settings)
    return Field(**settings) if default is _NEEDED else Field(default, **settings)


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
    model: type[Model], tree: Tree, places: Mapping[str, Location], known: Known, between: Between | None = None
) -> tuple[Model | None, list[Finding]]:
    """Return a tree of leaves as a model, or nothing, with every fault in our own words.

    ``known`` takes note of every value that is sound by itself; ``between`` holds values against one another.
    """
    result, items = None, []
    try:
        result = model.model_validate(tree, context=known)
    except ValidationError as error:
        items = error.errors(include_url=False, include_input=False)
    misspelt = {
        (*item["loc"][:-1], faults.nearest(str(item["loc"][-1]), _part_at(model, item["loc"][:-1]).names()))
        for item in items
        if item["type"] == "extra_forbidden"
    }  # the line about a misspelt key says what it should be: that one is not missing as well
    found = [
        _worded(model, item["type"], item["loc"], item.get("ctx", {}), places)
        for item in items
        if item["type"] != "missing" or item["loc"] not in misspelt
    ]
    near = {key.rpartition(".")[0] for code, key, _ in found if code == "D120"}
    if between is not None:
        found += [fault for fault in between(Given(tree, known)) if fault[0] != "T002" or fault[1] not in near]
    return result, [Finding(code, key, text, place(places, key)) for code, key, text in dict.fromkeys(found)]


def read(model: type[Model], composed: Composed, unit: str = "mm", between: Between | None = None) -> Model:
    """Return composed readings as a model; ``unit`` is that of bare numbers where they name none.

    Raises:
        ReadingsError: carries every fault, each with its place where there is one.
    """
    if not isinstance(composed.tree, dict):
        text = f"no keys - allowed here: {', '.join(model.names())}"
        raise ReadingsError(*composed.findings or [Finding("D111", "", text, composed.places[""])])
    known = Known({composed.file: unit_of(composed.tree, unit)})
    result, found = read_tree(model, composed.tree, composed.places, known, between)
    if composed.findings or found or result is None:
        raise ReadingsError(*by_line([*composed.findings, *found]))
    return result


def by_line(findings: Iterable[Finding], order: Mapping[str, int] = types.MappingProxyType({})) -> list[Finding]:
    """Return findings in the order of their places, file by file; those without a place first."""

    def place(finding: Finding) -> tuple[int, int, int]:
        where = finding.where
        return (order.get(where.file, len(order)), where.line, where.column) if where else (0, 0, 0)

    return sorted(findings, key=place)


def unit_of(tree: Tree, otherwise: str) -> str:
    """Return the unit of bare numbers that a text names, else another."""
    leaf = tree.get("units") if isinstance(tree, dict) else None
    return leaf.text if isinstance(leaf, Leaf) and leaf.text in UNITS else otherwise


class Given:
    """Looks up by dotted key what a text says, while some of it may be at fault."""

    def __init__(self, tree: Tree, known: Known) -> None:
        self.tree, self.known = tree, known
        self.figures = Figures(unit_of(tree, "mm"), "decimal")

    def number(self, key: str) -> float | None:
        """Return a sound number, or None."""
        return self.known.numbers.get(key)

    def at(self, key: str) -> Tree:
        """Return what stands under a key, sound or not, or None."""
        tree = self.tree
        for name in key.split("."):
            if isinstance(tree, list):
                tree = tree[int(name)] if name.isdecimal() else None
            else:
                tree = tree.get(name) if isinstance(tree, dict) else None
        return None if _nothing(tree) else tree

    def entries(self, key: str) -> list[str]:
        """Return the dotted keys of a list's entries; none if there is no list."""
        tree = self.at(key)
        return [f"{key}.{number}" for number in range(len(tree))] if isinstance(tree, list) else []

    def points(self, key: str) -> list[Point | None]:
        """Return a list of points, None for one at fault."""
        pairs = ((self.number(f"{entry}.0"), self.number(f"{entry}.1")) for entry in self.entries(key))
        return [None if x is None or y is None else (x, y) for x, y in pairs]


#: Yields what is wrong between the values of a text.
Between = Callable[[Given], Iterator[Fault]]


def place(places: Mapping[str, Location], dotted: str) -> Location | None:
    """Return the place of a dotted key, or of the nearest one above it that stands in the text."""
    while dotted and dotted not in places:
        dotted = dotted.rpartition(".")[0]
    return places.get(dotted)


#: The validator's errors that are the same wherever they stand.
_NO_LIST = "D122", "not a list - allowed: a list in square brackets, as in [40, 24]"
_ERRORS = {
    "tuple_type": _NO_LIST,
    "list_type": _NO_LIST,
    "too_short": ("D124", "{actual_length} entries - allowed: at least {min_length}"),
    "too_long": ("D124", "too many entries - allowed: at most {max_length}"),
}


def _worded(
    model: type[Keys], kind: str, loc: tuple[int | str, ...], context: dict[str, Any], places: Mapping[str, Location]
) -> Fault:
    """Return code, key and text of one of the validator's errors; a point with several faults gets one line."""
    dotted, parent = ".".join(map(str, loc)), ".".join(map(str, loc[:-1]))
    if kind == "fault":
        return context["code"], context["key"] or dotted, context["text"]
    if kind == "missing" and isinstance(loc[-1], str):
        if dotted in places:
            return "D121", dotted, "nothing stands here - this key is needed, give its value"
        needed = [name for name, field in _part_at(model, loc[:-1]).model_fields.items() if field.is_required()]
        return "D121", parent, f'"{loc[-1]}" is missing - needed here: {", ".join(needed)}'
    if kind == "missing" or (kind == "too_long" and not context.get("max_length", 0) > 2):
        text = "not two lengths - allowed: two, as in [40, 24]; a decimal has a point, as in 40.5"
        return "D122", parent if kind == "missing" else dotted, text
    if kind == "extra_forbidden":
        return "D120", dotted, _unknown(str(loc[-1]), _part_at(model, loc[:-1]))
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return "D122", dotted, f"no keys below it - allowed here: {', '.join(_part_at(model, loc).names())}"
    code, text = _ERRORS.get(kind, ("D123", "cannot be used here - see the schema for what is allowed"))
    return code, dotted, text.format(**context)


def _unknown(name: str, part: type[Keys]) -> str:
    """Return the sentence for an unknown key, with what its place or its looks say about what was meant."""
    if name.isdigit():
        return f"unknown key - a comma begins a new key; a decimal has a point, as in 21.{name}"
    for owner, field in zip(part.names(), part.model_fields.values(), strict=True):
        if any(name in below.names() for below in _parts_in(field.annotation)):
            return f"unknown key here - it belongs to {owner}: move it below that key, two blanks further in"
    near = faults.nearest(name, part.names())
    hint = f'did you mean "{near}"? ' if near else ""
    return f"unknown key - {hint}allowed here: {', '.join(part.names())}"


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
