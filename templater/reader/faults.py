"""The stable codes of this room's findings, in one place, and how a fault is worded."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from templater.findings import Finding, Location, visible

# The text as YAML.
SYNTAX = "D101"       # not YAML
CHARACTER = "D102"    # a character that no text may hold
SIZE = "D103"         # too long
DEPTH = "D104"        # nested too deep
TAG = "D105"          # a tag, or a directive
ANCHOR = "D106"       # an anchor, an alias or a merge key
DUPLICATE = "D107"    # a key written twice
DOCUMENTS = "D108"    # more than one document
KEY = "D109"          # a key that is no plain word
FINITE = "D110"       # not a number, infinite
EMPTY = "D111"        # no keys at all
# Keys and values one by one.
UNKNOWN = "D120"      # unknown key
MISSING = "D121"      # a needed key is missing
SHAPE = "D122"        # keys or a list where a value belongs, or the other way round
KIND = "D123"         # not a length, number, word ...
RANGE = "D124"        # outside what is allowed
CHOICE = "D125"       # not one of the allowed words
EITHER = "D126"       # keys that exclude one another, or none of them
# Values against one another.
RUNNER_BASE = "D130"  # min not below max, margin larger than what lies between them
POLYGON = "D131"      # corners that cross or enclose nothing
SLEEVE = "D132"       # inner not below outer
SLOT = "D133"         # slot does not fit the plate
SCREWS = "D134"       # screws outside the plate or in its slot
SPREAD = "D135"       # bolt holes beyond the plank's ends
CROWN = "D136"        # more crown than a plank can have
PLANK = "D137"        # other sizes of the plank against one another
SETTINGS = "D138"     # settings that fall on one another
PLATE = "D139"        # other sizes of the plate against one another
# Descriptions based on another.
BASE = "D160"         # cannot be read
CYCLE = "D161"        # based on itself
CHAIN = "D162"        # too many, each based on the next

#: Code, dotted key, text.
Fault = tuple[str, str, str]

#: Longest value that is shown in a message.
_SHOWN = 40


def fault(code: str, key: str, text: str, where: Location | None) -> Finding:
    """Return a finding of severity error."""
    return Finding(code, key, text, where)


def shown(text: object) -> str:
    """Return a value for a message: on one line, cut if long, control characters written out.

    >>> shown("2390 furlongs")
    '2390 furlongs'
    """
    line = visible(str(text))
    if not line.strip():
        return "nothing"
    return line if len(line) <= _SHOWN else f"{line[: _SHOWN - 3]}..."


def nearest(name: str, allowed: Iterable[str]) -> str:
    """Return the allowed key that is most like an unknown one, or nothing.

    >>> nearest("colur", ["size", "colour"])
    'colour'
    """
    near = difflib.get_close_matches(name[:100], list(allowed), 1)
    return near[0] if near else ""


def unknown_key(name: str, allowed: Iterable[str]) -> str:
    """Return the sentence for an unknown key: the nearest allowed one and all of them.

    >>> unknown_key("colur", ["size", "colour"])
    'unknown key - did you mean "colour"? allowed here: size, colour'
    """
    names = list(allowed)
    near = nearest(name, names)
    hint = f'did you mean "{near}"? ' if near else ""
    return f"unknown key - {hint}allowed here: {', '.join(names)}"
