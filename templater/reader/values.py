"""The kinds of value that a text may hold: each reads one leaf, words its fault, and describes itself.

A kind stands in an annotation, ``Annotated[float, Length(above=0)]``. What it reads is in mm, degrees or text, and is
noted, so that values can be held against one another even while others are still at fault.
"""

import datetime
import math
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from enum import Enum
from fractions import Fraction
from itertools import cycle, pairwise
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, get_args

from templater.reader import faults
from templater.reader.compose import CONTROL, Given, Leaf, Tree
from templater.units import ALLOWED, EXAMPLES, MM, UNIT_FACTORS, parse_length

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic_core import CoreSchema

#: mm beyond which no length of a small boat lies; it catches a wrong unit.
FURTHEST = 20_000.0
#: mm below which nothing that must have a length is made.
SMALLEST = 0.1
#: Most repeats of one reading.
MOST_REPEATS = 100
_WORDS = ("above", "from", "up to")


#: Returns what stands in a tree at a dotted key; where it notes a fault, what it returns means nothing.
Reader = Callable[[Tree, str, Given], Any]


def entries_of(*ones: Reader, least: int = 0, most: float = math.inf) -> Reader:
    """Return what reads a list of so many entries; with two readers, a list of two."""

    def read(tree: Tree, key: str, given: Given) -> Any:
        if not isinstance(tree, list):
            return given.fault("D122", key, "not a list - allowed: a list in square brackets, as in [40, 24]")
        if len(ones) == 2 != len(tree):
            text = "not two lengths - allowed: two, as in [40, 24]; a decimal has a point, as in 40.5"
            given.fault("D122", key, text)
        elif len(tree) > most:
            return given.fault("D124", key, f"too many entries - allowed: at most {most}")
        elif len(tree) < least:
            given.fault("D124", key, f"{len(tree)} entries - allowed: at least {least}")
        reads = zip(cycle(ones), enumerate(tree))
        return tuple(one(below, f"{key}.{number}", given) for one, (number, below) in reads)

    return read


class _RefusedError(Exception):
    """A value that cannot be used: code, dotted key if it has one of its own, text."""


def _refuse(code: str, leaf: object, text: str) -> NoReturn:
    """Refuse a value; the message starts with the value as written."""
    words, key = (faults.shown(leaf.text), leaf.key) if isinstance(leaf, Leaf) else ("a list or keys", "")
    raise _RefusedError(code, key, f"{words}: {text}")


def _scalar(leaf: object) -> str | int | float | bool | None:
    """Return a leaf's value; nothing for a list or keys."""
    return leaf.value if isinstance(leaf, Leaf) else None


class Kind:
    """What every kind does: check a leaf, and describe itself for editors."""

    def __init__(self, *, above: float = -math.inf, least: float = -math.inf, most: float = math.inf) -> None:
        self.above, self.least, self.most = above, least, most

    def _check(self, leaf: Any, given: Given) -> Any:
        """Return the value, or refuse it."""
        raise NotImplementedError

    def _schema(self) -> dict[str, Any]:
        """Return the kind as JSON Schema."""
        raise NotImplementedError

    def _holds(self, value: float) -> bool:
        return self.above < value and self.least <= value <= self.most

    def _limits(self, *names: str) -> list[tuple[str, float]]:
        """Return those of the three limits that are set, by the names given to them."""
        limits = zip(names, (self.above, self.least, self.most), strict=True)
        return [(name, limit) for name, limit in limits if math.isfinite(limit)]

    def read(self, leaf: Tree, key: str, given: Given) -> Any:
        """Return what a leaf says."""
        try:
            return self._check(leaf, given)
        except _RefusedError as refused:
            code, own, text = refused.args
            return given.fault(code, own or key, text)

    def __get_pydantic_json_schema__(self, _given: "CoreSchema", _handler: "GetJsonSchemaHandler") -> dict[str, Any]:
        return self._schema()


class Length(Kind):
    """A length, in mm once read; limits in mm."""

    def _check(self, leaf: Any, given: Given) -> Any:
        value = _scalar(leaf)
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            _refuse("D123", leaf, f"not a length - allowed: {ALLOWED}")
        unit = given.units.get(leaf.file, "mm")
        if isinstance(value, str):
            try:
                length = parse_length(value, unit)
            except ValueError:
                comma = re.fullmatch(r"([-+]?[0-9]+),([0-9]+(?:\s*[a-z\"']+)?)", value.strip())
                meant = f"a decimal has a point: write {comma[1]}.{comma[2]}" if comma else f"allowed: {ALLOWED}"
                _refuse("D123", leaf, f"not a length - {meant}")
        elif not math.isfinite(value):
            _refuse("D110", leaf, f"not a length - allowed: {ALLOWED}")
        elif unit == "mm" or abs(value) > FURTHEST:
            length = float(max(-2 * FURTHEST, min(value, 2 * FURTHEST)))
        else:  # by way of the shortest decimal, so that 0.1 in is 2.54 mm to the last bit
            length = float(Fraction(repr(value)) * UNIT_FACTORS[unit])
        if not self._holds(length):
            words = (f"{word} {MM.size(limit, 3) if limit else 0}" for word, limit in self._limits(*_WORDS))
            _refuse("D124", leaf, f"outside what is allowed: {' '.join(words)}")
        if self.above == 0 and length < SMALLEST:
            _refuse("D124", leaf, f"no length here can be that small - allowed: from {MM.size(SMALLEST)}")
        if abs(length) > FURTHEST:
            _refuse("D124", leaf, f"no length here can be that large - allowed: up to {MM.size(FURTHEST)}")
        given.numbers[leaf.key] = length
        return length

    def _schema(self) -> dict[str, Any]:
        # Limits other than 0 depend on the unit and are left out.
        least = {"exclusiveMinimum": 0} if self.above == 0 else {"minimum": 0} if self.least == 0 else {}
        text = {"type": "string", "examples": list(EXAMPLES)}
        return {"anyOf": [{"type": "number", **least}, text]}


class Number(Kind):
    """A plain number."""

    whole, unit = False, ""

    def _check(self, leaf: Any, given: Given) -> float:
        value = _scalar(leaf)
        if self.unit and isinstance(value, str):
            with suppress(ValueError):
                value = float(value.removesuffix("°").removesuffix("deg"))
        if isinstance(value, bool) or not isinstance(value, int if self.whole else int | float):
            _refuse("D123", leaf, f"not a {'whole' if self.whole else 'plain'} number - {self._allowed()}")
        if isinstance(value, float) and not math.isfinite(value):
            _refuse("D110", leaf, f"not a number that can be used - {self._allowed()}")
        if not self._holds(value):
            _refuse("D124", leaf, f"outside what is allowed - {self._allowed()}")
        given.numbers[leaf.key] = number = value if self.whole else float(value)
        return number

    def _schema(self) -> dict[str, Any]:
        kind = "integer" if self.whole else "number"
        return {"type": kind, **dict(self._limits("exclusiveMinimum", "minimum", "maximum"))}

    def _allowed(self) -> str:
        if self.whole:
            return f"allowed: a whole number from {self.least} to {self.most}"
        limits = self._limits(*_WORDS)
        return " ".join(["allowed: a number", *(f"{word} {limit:g}" for word, limit in limits)]) + self.unit


class Degrees(Number):
    """An angle in degrees, with or without its sign."""

    unit = " degrees"


class Count(Number):
    """A whole number."""

    whole = True

    def __init__(self, least: int, most: int) -> None:
        super().__init__(least=least, most=most)


class Text(Kind):
    """One line of text; a bare number or date is taken as it is written."""

    def __init__(self, most: int = 80, least: int = 1) -> None:
        super().__init__(least=least, most=most)

    def _check(self, leaf: Any, given: Given) -> str:
        allowed = f"allowed: one line of {self.least} to {self.most} characters"
        if _scalar(leaf) is None:
            _refuse("D123", leaf, f"no text - {allowed}")
        text: str = leaf.text.strip()
        if CONTROL.search(text) or any(sign in text for sign in "\n\r\t"):
            _refuse("D102", leaf, f"holds a control character or a line end - {allowed}")
        if not self._holds(len(text)):
            _refuse("D124", leaf, f"{len(text)} characters - {allowed}")
        given.texts[leaf.key] = text
        return text

    def _schema(self) -> dict[str, Any]:
        return {"type": ["string", "number"], "minLength": self.least, "maxLength": self.most}


class Date(Kind):
    """A day of the calendar, as text. Source: ISO 8601-1:2019, 5.2.2.1, extended format."""

    def _check(self, leaf: Any, _given: Given) -> str:
        allowed = "allowed: a day of the calendar as YYYY-MM-DD"
        text = leaf.text.strip() if _scalar(leaf) is not None else None
        if text is None or (text and not re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text)):
            _refuse("D123", leaf, f"no date - {allowed}")
        try:
            return text and datetime.date.fromisoformat(text).isoformat()
        except ValueError:
            _refuse("D124", leaf, f"no such day - {allowed}")

    def _schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


class Choice(Kind):
    """One of some words; words of an enumeration, or with meanings of their own, become their members or meanings."""

    def __init__(self, among: tuple[str, ...] | type[Enum] | Mapping[str, Any]) -> None:
        if isinstance(among, type):
            among = {str(member.value): member for member in among}
        self.among = among if isinstance(among, Mapping) else {word: word for word in among}

    def _check(self, leaf: Any, given: Given) -> Any:
        text = leaf.text if isinstance(leaf, Leaf) else ""
        if text not in self.among:
            _refuse("D125", leaf, f"unknown word - allowed: {', '.join(self.among)}")
        given.texts[leaf.key] = text
        return self.among[text]

    def _schema(self) -> dict[str, Any]:
        return {"enum": list(self.among)}


class YesNo(Kind):
    """True or false."""

    def _check(self, leaf: Any, _given: Given) -> bool:
        value = _scalar(leaf)
        if not isinstance(value, bool):
            _refuse("D123", leaf, "neither true nor false - allowed: true, false")
        return value

    def _schema(self) -> dict[str, Any]:
        return {"type": "boolean"}


class NameOr:
    """A name of so many letters at most, or keys; a name may stand for one of the keys alone."""

    def __init__(self, most: int, alone: str = "") -> None:
        self.most, self.alone = most, alone

    def reader(self, keys: Reader) -> Reader:
        """Return what reads a name, or what the other one reads."""
        name = Text(self.most)

        def read(tree: Tree, key: str, given: Given) -> Any:
            if not isinstance(tree, Leaf):
                return keys(tree, key, given)
            return keys({self.alone: tree}, key, given) if self.alone else name.read(tree, key, given)

        return read

    def __get_pydantic_core_schema__(self, source: Any, handler: "GetCoreSchemaHandler") -> "CoreSchema":
        return handler(source if self.alone else next(item for item in get_args(source) if item is not str))

    def __get_pydantic_json_schema__(self, schema: "CoreSchema", handler: "GetJsonSchemaHandler") -> dict[str, Any]:
        return {"anyOf": [{"type": "string", "minLength": 1, "maxLength": self.most}, handler(schema)]}


class Reading(NamedTuple):
    """One figure read off a tape or gauge: its value, what was written, mm in one of its units, and its dotted key."""

    value: float
    text: str
    factor: float = 1.0
    key: str = ""


class Repeats(NamedTuple):
    """Repeated readings of one quantity, in the order taken, mm or degrees; none if it was not read."""

    readings: tuple[Reading, ...] = ()

    @property
    def key(self) -> str:
        """The dotted key that they stand under."""
        key = self.readings[0].key if self.readings else ""
        head, _, last = key.rpartition(".")
        return head if last.isdigit() else key

    @property
    def values(self) -> tuple[float, ...]:
        """The readings' values."""
        return tuple(reading.value for reading in self.readings)

    @property
    def mean(self) -> float:
        """Their mean."""
        return math.fsum(self.values) / len(self.readings)

    @property
    def sum_of_squares(self) -> float:
        """Sum of squared deviations from the mean."""
        mean = self.mean
        return sum((value - mean) ** 2 for value in self.values)


class Repeated(Kind):
    """One figure of a kind, or a list of its repeats; an empty list is not read yet."""

    def __init__(self, one: Kind) -> None:
        super().__init__()
        self.one = one
        self.several = entries_of(super().read, most=MOST_REPEATS)

    def _check(self, leaf: Any, given: Given) -> Reading:
        """Return one figure."""
        value = self.one._check(leaf, given)
        text = f"{leaf.value:.12g}" if isinstance(leaf.value, float) else leaf.text.strip()
        if not isinstance(self.one, Length):
            return Reading(value, text, key=leaf.key)
        unit = leaf.text.lower().lstrip("+-0123456789./ ")
        bare = UNIT_FACTORS[given.units.get(leaf.file, "mm")]
        return Reading(value, text, float(UNIT_FACTORS.get(unit, bare)), leaf.key)

    def read(self, tree: Tree, key: str, given: Given) -> Repeats:
        """Return all figures."""
        before = len(given.faults)
        several = isinstance(tree, list)
        readings = self.several(tree, key, given) if several else (super().read(tree, key, given),)
        if len(given.faults) > before:
            return Repeats()
        for one, other in pairwise(readings if isinstance(self.one, Length) else ()):
            comma = other.value < one.value / 10 and one.text.isdecimal()
            if comma and re.fullmatch(r"[0-9]{1,3}(\s*[a-z\"']+)?", other.text):
                text = f"a comma separates repeats - write {one.text}.{other.text}, or the second one whole"
                given.fault("T006", other.key, f"{one.text},{other.text}: {text}")
                break
        return Repeats(readings)
