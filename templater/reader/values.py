"""The kinds of value that a text may hold: each checks one leaf, words its fault, and describes itself.

A kind stands in an annotation, ``Annotated[float, Length(above=0)]``. It takes a ``Leaf``, returns the value in mm,
degrees or as text, and notes it among the known values, so that values can be held against one another even while
others are still at fault.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping
from enum import Enum
from fractions import Fraction
from itertools import pairwise
from typing import Any, NamedTuple, NoReturn, cast, get_args

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, ValidatorFunctionWrapHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from templater.reader import faults
from templater.reader.compose import CONTROL, Leaf
from templater.units import ALLOWED, EXAMPLES, MM, UNIT_FACTORS, parse_length

#: mm beyond which no length of a small boat lies; it catches a wrong unit.
FURTHEST = 20_000.0
#: mm below which nothing that must have a length is made.
SMALLEST = 0.1
#: Most repeats of one reading.
MOST_REPEATS = 100
#: What may stand behind a decimal comma.
_END = re.compile(r"[0-9]{1,3}(\s*[a-z\"']+)?")


class Known:
    """What is known while a text is read: the unit of bare numbers in each file, and every sound value.

    ``numbers`` has lengths in mm, angles in degrees and counts by dotted key; ``texts`` has the texts.
    """

    def __init__(self, units: dict[str, str]) -> None:
        self.units = units
        self.numbers: dict[str, float] = {}
        self.texts: dict[str, str] = {}


def refuse(code: str, leaf: object, text: str) -> NoReturn:
    """Refuse a value; the message starts with the value as written."""
    words = faults.shown(leaf.text) if isinstance(leaf, Leaf) else "a list or keys"
    key = leaf.key if isinstance(leaf, Leaf) else ""
    raise PydanticCustomError("fault", "{code}", {"code": code, "text": f"{words}: {text}", "key": key})


def _scalar(leaf: object) -> str | int | float | bool | None:
    """Return a leaf's value; nothing for a list or keys."""
    return leaf.value if isinstance(leaf, Leaf) else None


class Kind:
    """What every kind does: check a leaf, and describe itself for editors. Limits that are None set none."""

    unit = ""

    def __init__(
        self,
        *,
        above: float | None = None,
        least: float | None = None,
        most: float | None = None,
        below: float | None = None,
    ) -> None:
        self.above, self.least, self.most, self.below = above, least, most, below

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> Any:
        """Return the value, or refuse it."""
        raise NotImplementedError

    def described(self) -> dict[str, Any]:
        """Return the kind as JSON Schema."""
        raise NotImplementedError

    def holds(self, value: float) -> bool:
        """Return whether a value is within the limits."""
        return (
            (self.above is None or value > self.above)
            and (self.least is None or value >= self.least)
            and (self.most is None or value <= self.most)
            and (self.below is None or value < self.below)
        )

    def words(self) -> str:
        """Return the limits in words."""
        limits = ("above", self.above), ("from", self.least), ("up to", self.most), ("below", self.below)
        return " ".join(f"{word} {self.told(limit)}" for word, limit in limits if limit is not None)

    def told(self, value: float) -> str:
        """Return a limit in words."""
        return f"{value:g}"

    def read(self, value: Any, info: ValidationInfo[Known | None]) -> Any:
        """Return what a leaf says; what the program itself puts in is in mm or degrees already and stays."""
        return value if info.context is None else self.check(value, cast("ValidationInfo[Known]", info))

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, _schema: CoreSchema, _handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return self.described()


class Length(Kind):
    """A length, in mm once read; limits in mm."""

    def told(self, value: float) -> str:
        """Return a limit in words; zero needs no unit."""
        return MM.size(value, 3) if value else "0"

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> float:
        """Return the length in mm."""
        value = _scalar(leaf)
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            refuse("D123", leaf, f"not a length - allowed: {ALLOWED}")
        unit = info.context.units.get(leaf.file, "mm")
        if isinstance(value, str):
            try:
                length = parse_length(value, unit)
            except ValueError:
                comma = re.fullmatch(r"([-+]?[0-9]+),([0-9]+(?:\s*[a-z\"']+)?)", value.strip())
                meant = f"a decimal has a point: write {comma[1]}.{comma[2]}" if comma else f"allowed: {ALLOWED}"
                refuse("D123", leaf, f"not a length - {meant}")
        elif not math.isfinite(value):
            refuse("D110", leaf, f"not a length - allowed: {ALLOWED}")
        elif abs(value) > FURTHEST:
            length = math.copysign(2 * FURTHEST, value)
        else:
            # By way of the shortest decimal, so that 0.1 in is 2.54 mm to the last bit.
            length = float(value) if unit == "mm" else float(Fraction(repr(value)) * UNIT_FACTORS[unit])
        if not self.holds(length):
            refuse("D124", leaf, f"outside what is allowed: {self.words()}")
        if self.above == 0 and length < SMALLEST:
            refuse("D124", leaf, f"no length here can be that small - allowed: from {MM.size(SMALLEST)}")
        if abs(length) > FURTHEST:
            refuse("D124", leaf, f"no length here can be that large - allowed: up to {MM.size(FURTHEST)}")
        info.context.numbers[leaf.key] = length
        return length

    def described(self) -> dict[str, Any]:
        """Return a number or a text; limits other than 0 depend on the unit and are left out."""
        number: dict[str, Any] = {"type": "number"}
        if self.above == 0:
            number["exclusiveMinimum"] = 0
        if self.least == 0:
            number["minimum"] = 0
        return {"anyOf": [number, {"type": "string", "examples": list(EXAMPLES)}]}


class Number(Kind):
    """A plain number."""

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> float:
        """Return the number."""
        allowed = f"allowed: a number {self.words()}{self.unit}".rstrip()
        value = self.number(leaf)
        if isinstance(value, bool) or not isinstance(value, int | float):
            refuse("D123", leaf, f"not a plain number - {allowed}")
        if not math.isfinite(value):
            refuse("D110", leaf, f"not a number that can be used - {allowed}")
        if not self.holds(value):
            refuse("D124", leaf, f"outside what is allowed - {allowed}")
        info.context.numbers[leaf.key] = float(value)
        return float(value)

    def number(self, leaf: object) -> object:
        """Return the number that a leaf holds, if it holds one."""
        return _scalar(leaf)

    def described(self) -> dict[str, Any]:
        """Return a number with its limits."""
        names = ("exclusiveMinimum", self.above), ("minimum", self.least), ("maximum", self.most)
        limits = {name: limit for name, limit in (*names, ("exclusiveMaximum", self.below)) if limit is not None}
        return {"type": "number", **limits}


class Degrees(Number):
    """An angle in degrees, with or without its sign."""

    unit = " degrees"

    def number(self, leaf: object) -> object:
        """Return the number of degrees."""
        value = _scalar(leaf)
        try:
            return float(value.removesuffix("°").removesuffix("deg")) if isinstance(value, str) else value
        except ValueError:
            return None


class Count(Kind):
    """A whole number."""

    def __init__(self, least: int, most: int) -> None:
        super().__init__(least=least, most=most)

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> int:
        """Return the whole number."""
        value = _scalar(leaf)
        allowed = f"allowed: a whole number from {self.least} to {self.most}"
        if isinstance(value, bool) or not isinstance(value, int):
            refuse("D123", leaf, f"not a whole number - {allowed}")
        if not self.holds(value):
            refuse("D124", leaf, f"outside what is allowed - {allowed}")
        info.context.numbers[leaf.key] = value
        return value

    def described(self) -> dict[str, Any]:
        """Return an integer with its limits."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


class Text(Kind):
    """One line of text; a bare number or date is taken as it is written."""

    def __init__(self, most: int = 80, least: int = 1) -> None:
        super().__init__(least=least, most=most)

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> str:
        """Return the text without blanks around it."""
        allowed = f"allowed: one line of {self.least} to {self.most} characters"
        if _scalar(leaf) is None:
            refuse("D123", leaf, f"no text - {allowed}")
        text: str = leaf.text.strip()
        if CONTROL.search(text) or any(sign in text for sign in "\n\r\t"):
            refuse("D102", leaf, f"holds a control character or a line end - {allowed}")
        if not self.holds(len(text)):
            refuse("D124", leaf, f"{len(text)} characters - {allowed}")
        info.context.texts[leaf.key] = text
        return text

    def described(self) -> dict[str, Any]:
        """Return text; numbers are welcome, as in ``revision: 2``."""
        return {"type": ["string", "number"], "minLength": self.least, "maxLength": self.most}


class Date(Kind):
    """A day of the calendar, as text. Source: ISO 8601-1:2019, 5.2.2.1, extended format."""

    def check(self, leaf: Any, _info: ValidationInfo[Known]) -> str:
        """Return the date as written, or nothing."""
        allowed = "allowed: a day of the calendar as YYYY-MM-DD"
        text = leaf.text.strip() if _scalar(leaf) is not None else None
        if text is None or (text and not re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text)):
            refuse("D123", leaf, f"no date - {allowed}")
        try:
            return text and datetime.date.fromisoformat(text).isoformat()
        except ValueError:
            refuse("D124", leaf, f"no such day - {allowed}")

    def described(self) -> dict[str, Any]:
        """Return a date."""
        return {"type": "string", "format": "date"}


class Choice(Kind):
    """One of some words; words of an enumeration, or with meanings of their own, become their members or meanings."""

    def __init__(self, among: tuple[str, ...] | type[Enum] | Mapping[str, Any]) -> None:
        if isinstance(among, type):
            among = {str(member.value): member for member in among}
        self.among = among if isinstance(among, Mapping) else {word: word for word in among}

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> Any:
        """Return what the word means."""
        text = leaf.text if isinstance(leaf, Leaf) else ""
        if text not in self.among:
            refuse("D125", leaf, f"unknown word - allowed: {', '.join(self.among)}")
        info.context.texts[leaf.key] = text
        return self.among[text]

    def described(self) -> dict[str, Any]:
        """Return the words."""
        return {"enum": list(self.among)}


class YesNo(Kind):
    """True or false."""

    def check(self, leaf: Any, _info: ValidationInfo[Known]) -> bool:
        """Return the truth value."""
        value = _scalar(leaf)
        if not isinstance(value, bool):
            refuse("D123", leaf, "neither true nor false - allowed: true, false")
        return value

    def described(self) -> dict[str, Any]:
        """Return a truth value."""
        return {"type": "boolean"}


class NameOr:
    """A name of so many letters at most, or keys; a name may stand for one of the keys alone."""

    def __init__(self, most: int, alone: str = "") -> None:
        self.most, self.alone = most, alone

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        name = Text(self.most)
        keys = handler(source if self.alone else next(item for item in get_args(source) if item is not str))

        def check(value: Any, inner: ValidatorFunctionWrapHandler, info: ValidationInfo[Known | None]) -> Any:
            if not isinstance(value, Leaf | str):
                return inner(value)
            return inner({self.alone: value}) if self.alone else name.read(value, info)

        return core_schema.with_info_wrap_validator_function(check, keys)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
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


class Repeated:
    """One figure of a kind, or a list of its repeats; an empty list is not read yet."""

    def __init__(self, one: Kind) -> None:
        self.one = one

    def reading(self, leaf: Any, info: ValidationInfo[Known]) -> Reading:
        """Return one figure."""
        value = self.one.check(leaf, info)
        text = f"{leaf.value:.12g}" if isinstance(leaf.value, float) else leaf.text.strip()
        if not isinstance(self.one, Length):
            return Reading(value, text, key=leaf.key)
        unit = leaf.text.lower().lstrip("+-0123456789./ ")
        bare = UNIT_FACTORS[info.context.units.get(leaf.file, "mm")]
        return Reading(value, text, float(UNIT_FACTORS.get(unit, bare)), leaf.key)

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        one = core_schema.with_info_plain_validator_function(self.reading)
        many = core_schema.tuple_variable_schema(one, max_length=MOST_REPEATS)

        def check(value: Any, inner: ValidatorFunctionWrapHandler, info: ValidationInfo[Known | None]) -> Any:
            if info.context is None:
                return value
            known = cast("ValidationInfo[Known]", info)
            readings = inner(value) if isinstance(value, list) else (self.reading(value, known),)
            for one, other in pairwise(readings if isinstance(self.one, Length) else ()):
                if other.value < one.value / 10 and one.text.isdecimal() and _END.fullmatch(other.text):
                    text = f"a comma separates repeats - write {one.text}.{other.text}, or the second one whole"
                    context = {"code": "T006", "text": f"{one.text},{other.text}: {text}", "key": other.key}
                    raise PydanticCustomError("fault", "{code}", context)
            return Repeats(readings)

        return core_schema.with_info_wrap_validator_function(check, many)
