"""The kinds of value that the description knows: each checks one leaf, words its fault, and describes itself.

A kind stands in an annotation, ``Annotated[float, Length(above=0)]``. It takes a ``Leaf``, returns the value in mm,
degrees or as text, and notes it among the known values, so that values can be held against one another even while
others are still at fault.
"""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from typing import Any, NoReturn, cast, get_args

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, ValidatorFunctionWrapHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from templater.reader import faults
from templater.reader.compose import CONTROL, Leaf
from templater.units import UNIT_FACTORS, parse_length

#: mm beyond which no length of a small boat lies; it catches a wrong unit.
FURTHEST = 20_000.0
#: mm below which nothing that must have a length is made.
SMALLEST = 0.1
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
#: A decimal comma.
_COMMA = re.compile(r"([-+]?[0-9]+),([0-9]+(?:\s*[a-z\"']+)?)")
_AS_IN = "a length such as 231, 231 mm, 9 in, 2 1/8 in or 1 ft 3 in"


@dataclass(slots=True)
class Known:
    """What is known while a description is read: the unit of bare numbers in each file, and every sound number.

    ``numbers`` has lengths in mm, angles in degrees and counts by dotted key; ``texts`` has the texts.
    """

    units: dict[str, str]
    numbers: dict[str, float] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)


def refuse(code: str, leaf: object, text: str) -> NoReturn:
    """Refuse a value; the message starts with the value as written."""
    words = faults.shown(leaf.text) if isinstance(leaf, Leaf) else "a list or keys"
    key = leaf.key if isinstance(leaf, Leaf) else ""
    raise PydanticCustomError("fault", "{code}", {"code": code, "text": f"{words}: {text}", "key": key})


class Kind:
    """What every kind does: check a leaf, and describe itself for editors."""

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> Any:
        """Return the value, or refuse it."""
        raise NotImplementedError

    def described(self) -> dict[str, Any]:
        """Return the kind as JSON Schema."""
        raise NotImplementedError

    def read(self, value: Any, info: ValidationInfo[Known | None]) -> Any:
        """Return what a leaf says; what the program itself puts in is in mm or degrees already and stays."""
        return value if info.context is None else self.check(value, cast("ValidationInfo[Known]", info))

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, _schema: CoreSchema, _handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return self.described()


@dataclass(frozen=True, slots=True)
class _Range:
    """What a number may be; None sets no limit."""

    above: float | None = None
    least: float | None = None
    most: float | None = None
    below: float | None = None

    def holds(self, value: float) -> bool:
        """Return whether a value is allowed."""
        return (
            (self.above is None or value > self.above)
            and (self.least is None or value >= self.least)
            and (self.most is None or value <= self.most)
            and (self.below is None or value < self.below)
        )

    def words(self, unit: str = "") -> str:
        """Return what is allowed in words."""
        parts = [
            f"{word} {limit:g}{unit if limit else ''}"
            for word, limit in (
                ("above", self.above), ("from", self.least), ("up to", self.most), ("below", self.below),
            )
            if limit is not None
        ]  # fmt: skip
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class Length(_Range, Kind):
    """A length, in mm once read; limits in mm."""

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> float:
        """Return the length in mm."""
        value = leaf.value if isinstance(leaf, Leaf) else None
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            refuse(faults.KIND, leaf, f"not a length - allowed: {_AS_IN}")
        unit = info.context.units.get(leaf.file, "mm")
        if isinstance(value, str):
            try:
                length = parse_length(value, unit)
            except ValueError:
                comma = _COMMA.fullmatch(value.strip())
                meant = f"a decimal has a point: write {comma[1]}.{comma[2]}" if comma else f"allowed: {_AS_IN}"
                refuse(faults.KIND, leaf, f"not a length - {meant}")
        elif not math.isfinite(value):
            refuse(faults.FINITE, leaf, f"not a length - allowed: {_AS_IN}")
        elif abs(value) > FURTHEST:
            length = math.copysign(2 * FURTHEST, value)
        else:
            # By way of the shortest decimal, so that 0.1 in is 2.54 mm to the last bit.
            length = float(value) if unit == "mm" else float(Fraction(repr(value)) * UNIT_FACTORS[unit])
        if not self.holds(length):
            refuse(faults.RANGE, leaf, f"outside what is allowed: {self.words(' mm')}")
        if self.above == 0 and length < SMALLEST:
            refuse(faults.RANGE, leaf, f"no length here can be that small - allowed: from {SMALLEST:g} mm")
        if abs(length) > FURTHEST:
            refuse(faults.RANGE, leaf, f"no length here can be that large - allowed: up to {FURTHEST:g} mm")
        info.context.numbers[leaf.key] = length
        return length

    def described(self) -> dict[str, Any]:
        """Return a number or a text; limits other than 0 depend on the unit and are left out."""
        number: dict[str, Any] = {"type": "number"}
        if self.above == 0:
            number["exclusiveMinimum"] = 0
        if self.least == 0:
            number["minimum"] = 0
        return {"anyOf": [number, {"type": "string", "examples": ["231 mm", "2 1/8 in", "1 ft 3 in"]}]}


@dataclass(frozen=True, slots=True)
class Number(_Range, Kind):
    """A plain number, or degrees."""

    unit: str = ""

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> float:
        """Return the number."""
        allowed = f"allowed: a number {self.words()}{self.unit}".rstrip()
        value = leaf.value if isinstance(leaf, Leaf) else None
        if isinstance(value, bool) or not isinstance(value, int | float):
            refuse(faults.KIND, leaf, f"not a plain number - {allowed}")
        if not math.isfinite(value):
            refuse(faults.FINITE, leaf, f"not a number that can be used - {allowed}")
        if not self.holds(value):
            refuse(faults.RANGE, leaf, f"outside what is allowed - {allowed}")
        info.context.numbers[leaf.key] = float(value)
        return float(value)

    def described(self) -> dict[str, Any]:
        """Return a number with its limits."""
        names = ("exclusiveMinimum", self.above), ("minimum", self.least), ("maximum", self.most)
        limits = {name: limit for name, limit in (*names, ("exclusiveMaximum", self.below)) if limit is not None}
        return {"type": "number", **limits}


@dataclass(frozen=True, slots=True)
class Count(Kind):
    """A whole number."""

    least: int
    most: int

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> int:
        """Return the whole number."""
        value = leaf.value if isinstance(leaf, Leaf) else None
        allowed = f"allowed: a whole number from {self.least} to {self.most}"
        if isinstance(value, bool) or not isinstance(value, int):
            refuse(faults.KIND, leaf, f"not a whole number - {allowed}")
        if not self.least <= value <= self.most:
            refuse(faults.RANGE, leaf, f"outside what is allowed - {allowed}")
        info.context.numbers[leaf.key] = value
        return value

    def described(self) -> dict[str, Any]:
        """Return an integer with its limits."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True, slots=True)
class Text(Kind):
    """One line of text; a bare number or date is taken as it is written."""

    most: int = 80
    least: int = 1

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> str:
        """Return the text without blanks around it."""
        allowed = f"allowed: one line of {self.least} to {self.most} characters"
        if not isinstance(leaf, Leaf) or leaf.value is None:
            refuse(faults.KIND, leaf, f"no text - {allowed}")
        text = leaf.text.strip()
        if CONTROL.search(text) or any(sign in text for sign in "\n\r\t"):
            refuse(faults.CHARACTER, leaf, f"holds a control character or a line end - {allowed}")
        if not self.least <= len(text) <= self.most:
            refuse(faults.RANGE, leaf, f"{len(text)} characters - {allowed}")
        info.context.texts[leaf.key] = text
        return text

    def described(self) -> dict[str, Any]:
        """Return text; numbers are welcome, as in ``revision: 2``."""
        return {"type": ["string", "number"], "minLength": self.least, "maxLength": self.most}


@dataclass(frozen=True, slots=True)
class Date(Kind):
    """A day of the calendar, as text. Source: ISO 8601-1:2019, 5.2.2.1, extended format."""

    def check(self, leaf: Any, _info: ValidationInfo[Known]) -> str:
        """Return the date as written, or nothing."""
        allowed = "allowed: a day of the calendar as YYYY-MM-DD"
        if not isinstance(leaf, Leaf) or leaf.value is None:
            refuse(faults.KIND, leaf, f"no date - {allowed}")
        text = leaf.text.strip()
        if text and not _DATE.fullmatch(text):
            refuse(faults.KIND, leaf, f"no date - {allowed}")
        try:
            return text and datetime.date.fromisoformat(text).isoformat()
        except ValueError:
            refuse(faults.RANGE, leaf, f"no such day - {allowed}")

    def described(self) -> dict[str, Any]:
        """Return a date."""
        return {"type": "string", "format": "date"}


@dataclass(frozen=True, slots=True)
class Choice(Kind):
    """One of some words, or of an enumeration's values; its member is then returned."""

    among: tuple[str, ...] | type[Enum]

    @property
    def words(self) -> tuple[str, ...]:
        """The words that are allowed."""
        return self.among if isinstance(self.among, tuple) else tuple(str(member.value) for member in self.among)

    def check(self, leaf: Any, info: ValidationInfo[Known]) -> Any:
        """Return the word, or its member."""
        text = leaf.text if isinstance(leaf, Leaf) else None
        if text not in self.words:
            refuse(faults.CHOICE, leaf, f"unknown word - allowed: {', '.join(self.words)}")
        info.context.texts[leaf.key] = text
        return text if isinstance(self.among, tuple) else self.among(text)

    def described(self) -> dict[str, Any]:
        """Return the words."""
        return {"enum": list(self.words)}


@dataclass(frozen=True, slots=True)
class YesNo(Kind):
    """True or false."""

    def check(self, leaf: Any, _info: ValidationInfo[Known]) -> bool:
        """Return the truth value."""
        value = leaf.value if isinstance(leaf, Leaf) else None
        if not isinstance(value, bool):
            refuse(faults.KIND, leaf, "neither true nor false - allowed: true, false")
        return value

    def described(self) -> dict[str, Any]:
        """Return a truth value."""
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True)
class NameOr:
    """A name of so many letters at most, or keys; a name may stand for one of the keys alone."""

    most: int
    alone: str = ""

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
