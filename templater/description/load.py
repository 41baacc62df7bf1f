"""The door between text and description: read with every fault in one go; a text to start from."""

import csv
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from templater.description.checks import check
from templater.description.keys import Description
from templater.findings import DescriptionError, Finding, Location, TemplaterError
from templater.reader.compose import CONTROL, UNITS, Composed, Given, Leaf, Tree, compose, unit_of
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
    resolve: "Resolver | None" = None


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


_TEXT, _NUMBERS = Path(__file__).with_name("starter.txt"), Path(__file__).with_name("starter.csv")
#: Column at which comments behind a value begin.
_COLUMN = 35
#: Most descriptions in a chain, the first one included.
LONGEST_CHAIN = 8


def load(source: Source) -> tuple[Description, tuple[Base, ...]]:
    """Return a description, lengths in mm, and those that it is based on, as they were read, nearest first.

    Raises:
        DescriptionError: carries every fault, sorted by line, those of this text before those of its bases.
    """
    bases: list[Base] = []
    chain, findings = _read_chain(source, bases)
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
    return result.placed(places, frozenset(inherited)), tuple(bases)


def _nothing(read: Composed) -> Finding:
    allowed = ", ".join(Description.declared())
    text = f"no keys - a description begins with boat: and units:; allowed here: {allowed}"
    return Finding("D111", "", text, read.places[""])


def _read_chain(source: Source, bases: list[Base]) -> tuple[list[Composed], list[Finding]]:
    """Return a text and what it is based on, nearest first, with what is wrong in them as YAML; note the bases."""
    chain = [compose(source.data.decode("utf-8-sig"), source.file)]
    findings = list(chain[0].findings)
    while isinstance(chain[-1].tree, dict):
        leaf = chain[-1].tree.get("based_on")
        if not isinstance(leaf, Leaf) or leaf.value is None or CONTROL.search(leaf.text):
            break
        try:
            chain.append(_base(leaf.text, chain, source, bases))
        except TemplaterError as error:
            findings += error.findings
            break
        findings += chain[-1].findings
        if not chain[-1].findings and not isinstance(chain[-1].tree, dict):
            findings.append(_nothing(chain[-1]))
    return chain, findings


def _base(name: str, chain: list[Composed], source: Source, bases: list[Base]) -> Composed:
    """Return what the last of a chain is based on; raises DescriptionError."""
    where = chain[-1].places["based_on"]

    def fault(code: str, case: str = "", **values: str) -> DescriptionError:
        return DescriptionError(told(code, "based_on", case, MM, where, name=shown(name), **values))

    inner = next((base.resolve for base in reversed(bases) if base.resolve), None)
    if (find := inner or source.resolve) is None:
        raise fault("D160", "alone")
    if len(chain) >= LONGEST_CHAIN:
        raise fault("D162", most=str(LONGEST_CHAIN))
    base = find(name, where)
    if base.file in [read.file for read in chain]:
        raise fault("D161")
    bases.append(base._replace(whole=b"") if inner else base)
    return compose(base.data.decode("utf-8-sig"), base.file)


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
