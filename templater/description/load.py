"""The door: text to a description, with every fault in one go."""

from __future__ import annotations

import types
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, get_args

from pydantic import ValidationError

from templater.description.checks import check
from templater.description.model import Description
from templater.description.parts import Part
from templater.description.schema import UNITS
from templater.description.schema import Description as Schema
from templater.findings import DescriptionError, Finding, Location, TemplaterError
from templater.reader import faults
from templater.reader.compose import Composed, Leaf, Tree, compose
from templater.reader.faults import fault
from templater.reader.values import Known

#: Returns file name and text of the description that ``based_on`` names at a place; raises DescriptionError.
Resolver = Callable[[str, Location], tuple[str, str]]

#: Most descriptions in a chain, the first one included.
LONGEST_CHAIN = 8


def load_description(text: str, file: str, *, resolve: Resolver | None = None) -> Description:
    """Return the description in a YAML text, lengths in mm.

    Args:
        text: the whole text.
        file: its name as findings call it.
        resolve: finds the descriptions that this one is based on; without it, ``based_on`` is a fault.

    Raises:
        DescriptionError: carries every fault, sorted by line, those of this text before those of its bases.
    """
    chain, findings = _read_chain(text, file, resolve)
    if not isinstance(chain[0].tree, dict):
        raise DescriptionError(*(findings or [_nothing(chain[0])]))
    tree, places = _merged(chain)
    known = Known(_units(chain))
    result: Schema | None = None
    try:
        result = Schema.model_validate(tree, context=known)
    except ValidationError as error:
        findings += _translated(error, places)
    if _whole(chain):
        findings += [fault(code, key, message, _place(places, key)) for code, key, message in check(tree, known)]
    else:  # what is missing, or does not go together, may stand in the base that could not be read
        findings = [finding for finding in findings if finding.code != faults.MISSING]
    if findings or result is None:
        order = {read.file: number for number, read in enumerate(chain)}
        raise DescriptionError(*sorted(findings, key=lambda finding: _by_line(finding, order)))
    own = frozenset(leaf.key for leaf in _leaves(chain[0].tree))
    inherited = frozenset(leaf.key for leaf in _leaves(tree)) - own
    return replace(_built(result), places=places, inherited=inherited)


def _built(result: Schema) -> Description:
    """Return the dataclass; ``based_on`` has done its work and goes."""
    parts = {name: part for name, part in result.parts().items() if name != "based_on"}
    return Description(**parts)


def _nothing(read: Composed) -> Finding:
    allowed = ", ".join(Schema.model_fields)
    return fault(faults.EMPTY, "", f"no keys - a description begins with boat: and units:; allowed here: {allowed}",
                 read.places[""])  # fmt: skip


def _read_chain(text: str, file: str, resolve: Resolver | None) -> tuple[list[Composed], list[Finding]]:
    """Return a text and what it is based on, nearest first, with what is wrong in them as YAML."""
    chain = [compose(text, file)]
    findings = list(chain[0].findings)
    while isinstance(chain[-1].tree, dict):
        leaf = chain[-1].tree.get("based_on")
        if not isinstance(leaf, Leaf) or not isinstance(leaf.value, str):
            break
        where = chain[-1].places["based_on"]
        name = faults.shown(leaf.value)
        if resolve is None:
            text = f"{name}: no other description can be read from here - put its keys into this one"
            findings.append(fault(faults.BASE, "based_on", text, where))
            break
        if len(chain) >= LONGEST_CHAIN:
            text = f"{name}: too many descriptions based on one another - allowed: {LONGEST_CHAIN}"
            findings.append(fault(faults.CHAIN, "based_on", text, where))
            break
        try:
            base_file, base_text = resolve(leaf.value, where)
        except TemplaterError as error:
            findings += error.findings
            break
        if base_file in [read.file for read in chain]:
            text = f"{name}: is itself based on this description - name one that is not"
            findings.append(fault(faults.CYCLE, "based_on", text, where))
            break
        base = compose(base_text, base_file)
        findings += base.findings
        if not base.findings and not isinstance(base.tree, dict):
            findings.append(_nothing(base))
        chain.append(base)
    return chain, findings


def _whole(chain: list[Composed]) -> bool:
    """Return whether the last description of a chain is based on no other."""
    tree = chain[-1].tree
    return not isinstance(tree, dict) or "based_on" not in tree


def _units(chain: list[Composed]) -> dict[str, str]:
    """Return the unit of bare numbers in each file: its own, else that of its base, else mm."""
    units: dict[str, str] = {}
    unit = "mm"
    for read in reversed(chain):
        leaf = read.tree.get("units") if isinstance(read.tree, dict) else None
        if isinstance(leaf, Leaf) and leaf.text in UNITS:
            unit = leaf.text
        units[read.file] = unit
    return units


def _merged(chain: list[Composed]) -> tuple[dict[str, Tree], dict[str, Location]]:
    """Return the leaves of a chain put together, the nearest on top, and their places."""
    tree: dict[str, Tree] = {}
    places: dict[str, Location] = {}
    for read in reversed(chain):
        if not isinstance(read.tree, dict):
            continue
        replaced: set[str] = set()
        own = {name: value for name, value in read.tree.items() if name != "based_on" or read is chain[0]}
        tree = _over(tree, own, "", replaced)
        kept = {key: where for key, where in places.items() if not _below(key, replaced)} if replaced else places
        places = {**kept, **read.places}
    return tree, places


def _over(base: dict[str, Tree], own: dict[str, Tree], key: str, replaced: set[str]) -> dict[str, Tree]:
    """Return two mappings put together; notes the keys whose value in the base goes."""
    merged = dict(base)
    for name, value in own.items():
        path = f"{key}.{name}" if key else name
        below = merged.get(name)
        if isinstance(value, dict) and isinstance(below, dict):
            merged[name] = _over(below, value, path, replaced)
            continue
        if name in merged:
            replaced.add(path)
        if name in merged and isinstance(value, Leaf) and value.value is None:
            del merged[name]
        else:
            merged[name] = value
    return merged


def _below(key: str, replaced: set[str]) -> bool:
    while key:
        if key in replaced:
            return True
        key = key.rpartition(".")[0]
    return False


def _leaves(tree: Tree) -> Iterator[Leaf]:
    if isinstance(tree, Leaf):
        yield tree
    else:
        for value in tree.values() if isinstance(tree, dict) else tree:
            yield from _leaves(value)


def _translated(error: ValidationError, places: dict[str, Location]) -> list[Finding]:
    """Return what is wrong in our own words; a point with several faults of number gets one line."""
    found: dict[tuple[str, str], Finding] = {}
    items = error.errors(include_url=False, include_input=False)
    misspelt = {(*item["loc"][:-1], _meant(item["loc"])) for item in items if item["type"] == "extra_forbidden"}
    for item in items:
        if item["type"] == "missing" and item["loc"] in misspelt:
            continue  # the line about the misspelt key says what it should be
        code, key, text = _worded(item["type"], item["loc"], item.get("ctx", {}), places)
        found.setdefault((code, f"{key}: {text}"), fault(code, key, text, _place(places, key)))
    return list(found.values())


def _worded(
    kind: str, loc: tuple[int | str, ...], context: dict[str, Any], places: dict[str, Location]
) -> faults.Fault:
    """Return code, key and text of one of the validator's errors."""
    key = ".".join(str(name) for name in loc)
    parent = ".".join(str(name) for name in loc[:-1])
    if kind == "fault":
        return str(context["code"]), str(context["key"] or key), str(context["text"])
    if kind == "missing" and isinstance(loc[-1], str):
        if key in places:
            return faults.MISSING, key, "nothing stands here - this key is needed, give its value"
        needed = [name for name, field in _part_at(loc[:-1]).model_fields.items() if field.is_required()]
        return faults.MISSING, parent, f'"{loc[-1]}" is missing - needed here: {", ".join(needed)}'
    if kind == "missing" or (kind == "too_long" and not context.get("max_length", 0) > 2):
        return faults.SHAPE, parent if kind == "missing" else key, "not two lengths - allowed: two, as in [40, 24]"
    if kind == "extra_forbidden":
        return faults.UNKNOWN, key, faults.unknown_key(str(loc[-1]), _keys(_part_at(loc[:-1])))
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        allowed = ", ".join(_keys(_part_at(loc)))
        return faults.SHAPE, key, f"no keys below it - allowed here: {allowed}"
    if kind in ("tuple_type", "list_type"):
        return faults.SHAPE, key, "not a list - allowed: a list in square brackets, as in [40, 24]"
    if kind == "too_short":
        return faults.RANGE, key, f"{context['actual_length']} entries - allowed: at least {context['min_length']}"
    if kind == "too_long":
        return faults.RANGE, key, f"too many entries - allowed: at most {context['max_length']}"
    return faults.KIND, key, "cannot be used here - see the schema for what is allowed"


def _meant(loc: tuple[int | str, ...]) -> str:
    """Return the key that an unknown one was meant to be, or nothing."""
    return faults.nearest(str(loc[-1]), _keys(_part_at(loc[:-1])))


def _keys(part: type[Part]) -> list[str]:
    return [name for name, field in part.model_fields.items() if not field.exclude]


def _part_at(loc: tuple[int | str, ...]) -> type[Part]:
    """Return the part of the schema that stands at a place."""
    part: type[Part] = Schema
    for name in loc:
        if isinstance(name, str) and name in part.model_fields:
            part = next(_parts_in(part.model_fields[name].annotation), part)
    return part


def _parts_in(annotation: Any) -> Iterator[type[Part]]:
    """Yield the parts that an annotation names."""
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias) and issubclass(annotation, Part):
        yield annotation
    for argument in get_args(annotation):
        yield from _parts_in(argument)


def _place(places: dict[str, Location], key: str) -> Location:
    """Return the place of a key, or of the nearest one above it."""
    while key and key not in places:
        key = key.rpartition(".")[0]
    return places[key]


def _by_line(finding: Finding, order: dict[str, int]) -> tuple[int, int, int]:
    where = finding.where
    return (order.get(where.file, len(order)), where.line, where.column) if where else (0, 0, 0)
