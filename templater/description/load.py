"""The door: text to a description, with every fault in one go."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from templater.description.checks import check
from templater.description.keys import Description
from templater.findings import DescriptionError, Finding, Location, TemplaterError
from templater.reader.compose import CONTROL, Composed, Given, Leaf, Tree, compose, unit_of
from templater.reader.faults import shown, told
from templater.reader.keys import by_line, read_tree
from templater.units import MM


class Base(NamedTuple):
    """A description that another is based on: the name it was asked for by, its file name and its bytes.

    ``whole`` is what must be handed on for it to be found by that name again, if that is not its bytes: the handover
    PDF that was named; nothing if it lies in one that was named already. ``resolve`` finds what it, and all below it,
    is based on, if not that of the description above it.
    """

    name: str
    file: str
    data: bytes
    whole: bytes | None = None
    resolve: Resolver | None = None


#: Finds the description that ``based_on`` names, from the place where it is named; raises DescriptionError.
Resolver = Callable[[str, Location], Base]


class Source(NamedTuple):
    """A description as it was given: its bytes (UTF-8), the name findings call it by, and how others are found.

    ``handed_over`` is True if it came in a handover PDF: the printer it names is the giver's.
    """

    data: bytes
    file: str
    resolve: Resolver | None = None
    handed_over: bool = False


#: Returns file name and text of the description that ``based_on`` names at a place; raises DescriptionError.
Finder = Callable[[str, Location], tuple[str, str]]
#: Most descriptions in a chain, the first one included.
LONGEST_CHAIN = 8


def load_description(text: str, file: str, *, resolve: Finder | None = None) -> Description:
    """Return the description in a YAML text, lengths in mm; without ``resolve``, ``based_on`` is a fault.

    Raises:
        DescriptionError: carries every fault, sorted by line, those of this text before those of its bases.
    """
    chain, findings = _read_chain(text, file, resolve)
    if not isinstance(chain[0].tree, dict):
        raise DescriptionError(*(findings or [_nothing(chain[0])]))
    tree, places = _merged(chain)
    last = chain[-1].tree
    named = last.get("based_on") if isinstance(last, dict) else None
    whole = named is None or (isinstance(named, Leaf) and named.value is None)
    result, found = read_tree(Description, Given(tree, places, _units(chain)), check if whole else None)
    findings += found
    if not whole:  # what is missing, or does not go together, may stand in the base that could not be read
        findings = [finding for finding in findings if finding.code != "D121"] or findings
    if findings or result is None:
        raise DescriptionError(*by_line(findings, {read.file: number for number, read in enumerate(chain)}))
    inherited = {leaf.key for leaf in _leaves(tree)} - {leaf.key for leaf in _leaves(chain[0].tree)}
    return result.placed(places, frozenset(inherited))


def _nothing(read: Composed) -> Finding:
    allowed = ", ".join(Description.model_fields)
    text = f"no keys - a description begins with boat: and units:; allowed here: {allowed}"
    return Finding("D111", "", text, read.places[""])


def _read_chain(text: str, file: str, resolve: Finder | None) -> tuple[list[Composed], list[Finding]]:
    """Return a text and what it is based on, nearest first, with what is wrong in them as YAML."""
    chain = [compose(text, file)]
    findings = list(chain[0].findings)
    while isinstance(chain[-1].tree, dict):
        leaf = chain[-1].tree.get("based_on")
        if not isinstance(leaf, Leaf) or leaf.value is None or CONTROL.search(leaf.text):
            break
        try:
            chain.append(_base(leaf.text, chain, resolve))
        except TemplaterError as error:
            findings += error.findings
            break
        findings += chain[-1].findings
        if not chain[-1].findings and not isinstance(chain[-1].tree, dict):
            findings.append(_nothing(chain[-1]))
    return chain, findings


def _base(name: str, chain: list[Composed], resolve: Finder | None) -> Composed:
    """Return what the last of a chain is based on; raises DescriptionError."""
    where = chain[-1].places["based_on"]

    def fault(code: str, case: str = "", **values: str) -> DescriptionError:
        return DescriptionError(told(code, "based_on", case, MM, where, name=shown(name), **values))

    if resolve is None:
        raise fault("D160", "alone")
    if len(chain) >= LONGEST_CHAIN:
        raise fault("D162", most=str(LONGEST_CHAIN))
    file, text = resolve(name, where)
    if file in [read.file for read in chain]:
        raise fault("D161")
    return compose(text, file)


def _units(chain: list[Composed]) -> dict[str, str]:
    """Return the unit of bare numbers in each file: its own, else that of its base, else mm."""
    units: dict[str, str] = {}
    unit = "mm"
    for read in reversed(chain):
        units[read.file] = unit = unit_of(read.tree, unit)
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
        if replaced:
            places = {key: where for key, where in places.items() if not _below(key, replaced)}
        places = {**places, **read.places}
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
        merged[name] = value
        if name in base and isinstance(value, Leaf) and value.value is None:
            del merged[name]
    return merged


def _below(key: str, replaced: set[str]) -> bool:
    """Return whether a key, or one above it, is among those replaced."""
    while key and key not in replaced:
        key = key.rpartition(".")[0]
    return bool(key)


def _leaves(tree: Tree) -> Iterator[Leaf]:
    if isinstance(tree, Leaf):
        yield tree
    else:
        for value in tree.values() if isinstance(tree, dict) else tree:
            yield from _leaves(value)
