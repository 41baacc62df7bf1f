"""What may stand under a key: models that are declared once and are what a text is read into.

A model's fields are its keys, each with its kind of value, help and default; see ``values.py`` for the kinds. Models
are frozen; nothing but the reader makes one from a text, and what makes one in Python gives mm and degrees.
"""

import math
import types
from collections.abc import Callable, Iterable, Iterator, Mapping
from copy import copy
from dataclasses import MISSING, dataclass, field, fields
from functools import cache, partial
from typing import Annotated, Any, ClassVar, NamedTuple, Self, TypeVar, dataclass_transform, get_args, get_origin

from templater.findings import Finding, Location, ReadingsError
from templater.reader import faults
from templater.reader.compose import Composed, Given, Tree, join, nothing, unit_of
from templater.reader.faults import Fault
from templater.reader.values import Kind, NameOr, Reader, entries_of

_NEEDED = object()
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
    # In the words of pydantic, which makes the JSON Schema of it.
    said = {"description": help_text, "alias": name, "min_length": least, "max_length": most}
    notes = {word: value for word, value in said.items() if value is not None}
    if isinstance(default, type) and issubclass(default, Keys):
        return field(default_factory=default, metadata=notes)
    return field(metadata=notes) if default is _NEEDED else field(default=default, metadata=notes)


@dataclass_transform(frozen_default=True, kw_only_default=True)
class Keys:
    """A mapping: unknown keys are refused, and it never changes."""

    __pydantic_config__: ClassVar = {"extra": "forbid"}
    #: The attributes that the text gave.
    given: ClassVar[frozenset[str]] = frozenset()

    def __init_subclass__(cls) -> None:
        # Methods made for each class would be compiled at every start, and take thirty times as long as all else here.
        dataclass(init=False, repr=False, eq=False)(cls)

    def __init__(self, **values: Any) -> None:
        self._refuse_unknown(values)
        for one in self.declared().values():
            vars(self)[one.name] = values.get(one.name, one.default)
            if vars(self)[one.name] is MISSING:
                raise TypeError(f"{type(self).__name__} needs {one.name}")

    def __setattr__(self, name: str, _value: object = None) -> None:
        raise AttributeError(f"{type(self).__name__}.{name} never changes")

    __delattr__ = __setattr__

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Keys) and type(self) is type(other) and self.items() == other.items()

    def __hash__(self) -> int:
        return hash((type(self), *self.items()))

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={value!r}' for name, value in self.items())})"

    @classmethod
    @cache
    def declared(cls) -> "dict[str, Declared]":
        """Return the keys as they stand in a text, in order."""
        return {
            one.metadata.get("alias", one.name): Declared(
                one.name,
                one.type,
                one.default if one.default_factory is MISSING else one.default_factory(),
                _reader(one.type, one.metadata.get("min_length", 0), one.metadata.get("max_length", math.inf)),
            )
            for one in fields(cls)  # type: ignore[arg-type]  # which every one of them is
        }

    def items(self) -> list[tuple[str, Any]]:
        """Return the keys as they stand in a text, with their values."""
        return [(name, getattr(self, one.name)) for name, one in self.declared().items()]

    def changed(self, **changes: Any) -> Self:
        """Return the model with some keys changed; their values are taken as they are.

        Raises:
            TypeError: if there is no such key.
        """
        self._refuse_unknown(changes)
        return self._with(**changes)

    def _refuse_unknown(self, values: Iterable[str]) -> None:
        if unknown := set(values) - {one.name for one in self.declared().values()}:
            raise TypeError(f"{type(self).__name__} has no {', '.join(sorted(unknown))}")

    def _with(self, **attributes: Any) -> Self:
        other = copy(self)
        vars(other).update(attributes)
        return other


class Declared(NamedTuple):
    """A key: its attribute, what may stand there, its default, ``MISSING`` if it is needed, and what reads it."""

    name: str
    shape: Any
    default: Any
    read: Reader

    @property
    def needed(self) -> bool:
        """Whether a text must give it."""
        return self.default is MISSING


def _parts_in(annotation: Any) -> Iterator[type[Keys]]:
    """Yield the models that an annotation names."""
    if get_args(annotation):
        for argument in get_args(annotation):
            yield from _parts_in(argument)
    elif isinstance(annotation, type) and issubclass(annotation, Keys):
        yield annotation


def _reader(shape: Any, least: int = 0, most: float = math.inf) -> Reader:
    """Return what reads an annotation: a kind, a name or keys, a list, a model, or one of these that may be missing."""
    shape, *notes = get_args(shape) if get_origin(shape) is Annotated else (shape,)
    parts = [part for part in get_args(shape) if part not in (types.NoneType, str)]
    for note in notes:
        if isinstance(note, Kind):
            return note.read
        if isinstance(note, NameOr):
            return note.reader(_reader(parts[0] if parts else shape))
    if get_origin(shape) is not tuple:
        return _reader(parts[0], least, most) if parts else partial(_part, shape)
    if parts[-1] is not Ellipsis:
        return entries_of(*map(_reader, parts))
    return entries_of(_reader(parts[0]), least=least, most=most)


def _part(model: type[Keys], tree: Tree, key: str, given: Given) -> Any:
    """Return the model that a mapping stands for; a known key with nothing behind it is not given."""
    known = model.declared()
    if not isinstance(tree, dict):
        return given.fault("D122", key, f"no keys below it - allowed here: {', '.join(known)}")
    unknown = [name for name in tree if name not in known]
    # The line about a misspelt key says what it should be: that one is not missing as well.
    meant = {faults.nearest(name, known) for name in unknown}
    values: dict[str, Any] = {}
    for name, one in known.items():
        below = join(key, name)
        if name in tree and not nothing(tree[name]):
            values[one.name] = one.read(tree[name], below, given)
        elif one.needed and below in given.places:
            given.fault("D121", below, "nothing stands here - this key is needed, give its value")
        elif one.needed and name not in meant:
            needed = ", ".join(other for other, it in known.items() if it.needed)
            given.fault("D121", key, f'"{name}" is missing - needed here: {needed}')
    for name in unknown:
        given.fault("D120", join(key, name), _unknown(name, known))
    return None if given.faults else model(**values)._with(given=frozenset(values))


def _unknown(name: str, known: Mapping[str, Declared]) -> str:
    """Return the sentence for an unknown key, with what its place or its looks say about what was meant."""
    if name.isdigit():
        return f"unknown key - a comma begins a new key; a decimal has a point, as in 21.{name}"
    for owner, one in known.items():
        if any(name in below.declared() for below in _parts_in(one.shape)):
            return f"unknown key here - it belongs to {owner}: move it below that key, two blanks further in"
    near = faults.nearest(name, known)
    hint = f'did you mean "{near}"? ' if near else ""
    return f"unknown key - {hint}allowed here: {', '.join(known)}"


def read_tree(model: type[Model], given: Given, between: "Between | None" = None) -> tuple[Model | None, list[Finding]]:
    """Return what a text gives as a model, or nothing, with every fault; ``between`` compares values."""
    result = _part(model, given.tree, "", given)
    found = list(given.faults)
    if between is not None:
        near = {key.rpartition(".")[0] for code, key, _ in found if code == "D120"}
        found += [
            fault
            for fault in between(given)
            if fault[0] != "T002" or near.isdisjoint((fault[1], fault[1].rpartition(".")[0]))
        ]
    told = [Finding(code, key, text, place(given.places, key)) for code, key, text in dict.fromkeys(found)]
    return (None if told else result), told


def read(model: type[Model], composed: Composed, unit: str = "mm", between: "Between | None" = None) -> Model:
    """Return composed readings as a model; ``unit`` is that of bare numbers where they name none.

    Raises:
        ReadingsError: carries every fault, each with its place where there is one.
    """
    tree, places = composed.tree, composed.places
    if not isinstance(tree, dict):
        text = f"no keys - allowed here: {', '.join(model.declared())}"
        raise ReadingsError(*composed.findings or [Finding("D111", "", text, places[""])])
    result, found = read_tree(model, Given(tree, places, {composed.file: unit_of(tree, unit)}), between)
    if composed.findings or result is None:
        raise ReadingsError(*by_line([*composed.findings, *found]))
    return result


def by_line(findings: Iterable[Finding], order: Mapping[str, int] = types.MappingProxyType({})) -> list[Finding]:
    """Return findings in the order of their places, file by file; those without a place first."""

    def place(finding: Finding) -> tuple[int, int, int]:
        where = finding.where
        return (order.get(where.file, len(order)), where.line, where.column) if where else (0, 0, 0)

    return sorted(findings, key=place)


#: Yields what is wrong between the values of a text.
Between = Callable[[Given], Iterator[Fault]]


def place(places: Mapping[str, Location], dotted: str) -> Location | None:
    """Return the place of a dotted key, or of the nearest one above it that stands in the text."""
    while dotted and dotted not in places:
        dotted = dotted.rpartition(".")[0]
    return places.get(dotted)
