"""Plain YAML data to lengths, angles and names, every fault collected with its place."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from datetime import date
from itertools import pairwise
from typing import Any

from templater.findings import Finding, Location
from templater.fitup.taken import Both, Reading, Repeats
from templater.units import UNIT_FACTORS, parse_length

#: mm beyond which no reading on a small boat can lie.
FURTHEST = 20_000.0
#: The two halves of a figure written with a decimal comma.
_WHOLE, _END = re.compile(r"[0-9]+"), re.compile(r"[0-9]{1,3}(\s*[a-z\"']+)?")
_UNIT = re.compile(r"[a-z\"']+\s*$")


class Door:
    """Reads values by dotted key; a fault is noted and a harmless value returned, so all are found in one go."""

    def __init__(self, places: Mapping[str, Location], units: str) -> None:
        self.places = places
        self.units = units
        self.findings: list[Finding] = []

    def fault(self, code: str, key: str, text: str) -> None:
        """Note a fault."""
        place = key
        while place and place not in self.places:
            place = place.rpartition(".")[0]
        if code == "T002" and any(finding.code == "T003" and finding.key == key for finding in self.findings):
            return  # what lies below cannot be there when the key itself is of the wrong kind
        finding = Finding(code, key, text, self.places.get(place))
        if finding not in self.findings:  # what several attempts share is wrong once
            self.findings.append(finding)

    def mapping(self, data: Any, key: str, allowed: Iterable[str], needed: Iterable[str] = ()) -> dict[str, Any]:
        """Return a mapping with only allowed keys and no needed one missing."""
        names = tuple(allowed)
        if not isinstance(data, Mapping):
            self.fault("T003", key, f"{_shown(data)}: must have keys below it - allowed: {', '.join(names)}")
            return {}
        for name in data:
            if name not in names:
                near = difflib.get_close_matches(str(name), names, 1)
                hint = f"did you mean {near[0]}?" if near else f"allowed: {', '.join(names)}"
                self.fault("T001", _join(key, name), f"unknown key {name} - {hint}")
        for name in needed:
            if data.get(name) is None:
                self.fault("T002", key, f"{name} is missing - add it")
        return {str(name): value for name, value in data.items() if name in names and value is not None}

    def unfilled(self, data: Mapping[str, Any], *names: str) -> bool:
        """True if figures stand there as empty lists only: not measured yet, and no fault."""
        given = [data[name] for name in names if name in data]
        return bool(given) and all(item == [] for item in given)

    def items(self, data: Any, key: str) -> list[tuple[str, Any]]:
        """Return the entries of a list with their keys."""
        if not isinstance(data, list) or not data:
            self.fault("T003", key, f"{_shown(data)}: must be a list with at least one entry")
            return []
        return [(f"{key}.{number}", item) for number, item in enumerate(data)]

    def reading(self, data: Any, key: str, *, angle: bool = False) -> Reading:
        """Return one figure: a length in mm, or an angle in degrees."""
        if isinstance(data, bool) or not isinstance(data, int | float | str):
            self.fault("T004", key, f"{_shown(data)}: must be {'degrees' if angle else _ALLOWED}")
            return Reading(0.0, "0")
        text = f"{data:.12g}" if isinstance(data, float) else str(data).strip()
        try:
            value = self._value(data, text, angle=angle)
        except ValueError:
            self.fault("T004", key, f"{_shown(text)}: must be {'degrees, as in 0.5' if angle else _ALLOWED}")
            return Reading(0.0, text)
        limit = 45.0 if angle else FURTHEST
        if not abs(value) <= limit:
            unit = "degrees" if angle else "mm"
            self.fault("T005", key, f"{_shown(text)}: no reading can be that large - allowed: up to {limit:.0f} {unit}")
            return Reading(0.0, text)
        match = _UNIT.search(text.lower())
        unit = match[0].strip() if match else self.units
        return Reading(value, text, 1.0 if angle else float(UNIT_FACTORS.get(unit, 1)))

    def _value(self, data: Any, text: str, *, angle: bool) -> float:
        """Return a number as it is, a text by what it says. Raises ValueError if it says nothing."""
        if angle:
            return float(text.removesuffix("°").removesuffix("deg"))
        if isinstance(data, str):
            return parse_length(text, self.units)
        return min(float(data), 1e300) * float(UNIT_FACTORS[self.units])

    def length(self, data: Any, key: str, *, least: float | None = None) -> float:
        """Return one length, mm."""
        before = len(self.findings)
        value = self.reading(data, key).value
        if least is not None and value < least and len(self.findings) == before:
            self.fault("T005", key, f"{_shown(data)}: allowed: {least:g} mm or more")
        return value

    def whole(self, data: Any, key: str) -> int:
        """Return a whole number from 1."""
        if isinstance(data, bool) or not isinstance(data, int) or data < 1:
            self.fault("T004", key, f"{_shown(data)}: must be a whole number from 1")
            return 1
        return data

    def choice(self, data: Any, key: str, allowed: tuple[str, ...]) -> str:
        """Return one of some words."""
        if data not in allowed:
            self.fault("T004", key, f"{_shown(data)}: allowed: {', '.join(allowed)}")
            return allowed[0]
        return str(data)

    def text(self, data: Any, key: str) -> str:
        """Return one line of text; a date becomes YYYY-MM-DD."""
        if isinstance(data, date):
            return data.isoformat()[:10]
        if not isinstance(data, str | int | float) or isinstance(data, bool) or "\n" in str(data):
            self.fault("T004", key, f"{_shown(data)}: must be one line of text")
            return ""
        return str(data).strip()

    def repeats(self, data: Any, key: str, *, angle: bool = False, positive: bool = False) -> Repeats:
        """Return one figure or a list of repeats."""
        entries = self.items(data, key) if isinstance(data, list) else [(key, data)]
        readings = tuple(self.reading(item, name, angle=angle) for name, item in entries)
        for (name, _), reading in zip(entries, readings, strict=True):
            if positive and reading.value < 0:
                self.fault("T005", name, f"{reading.text}: allowed: 0 or more")
        for (name, _), (one, other) in zip(entries[1:], pairwise(readings), strict=False):
            if not angle and _WHOLE.fullmatch(one.text) and _END.fullmatch(other.text) and other.value < one.value / 10:
                comma, point = f"{one.text},{other.text}", f"{one.text}.{other.text}"
                self.fault("T006", name, f"{comma}: a comma separates repeats - write {point}, or the second one whole")
        return Repeats(readings or (Reading(0.0, "0"),), key)

    def both(
        self, data: Mapping[str, Any], key: str, *, angle: bool = False, positive: bool = True
    ) -> Both:
        """Return ``port`` and ``starboard`` of a mapping; both are needed."""
        sides = []
        for side in ("port", "starboard"):
            if data.get(side) is None:
                self.fault("T002", key, f"{side} is missing - add its readings")
                sides.append(Repeats((Reading(0.0, "0"),), f"{key}.{side}"))
            else:
                sides.append(self.repeats(data[side], f"{key}.{side}", angle=angle, positive=positive and not angle))
        return Both(*sides)

    def point(self, data: Any, key: str) -> tuple[float, float]:
        """Return two lengths."""
        if not isinstance(data, list) or len(data) != 2:
            self.fault("T004", key, f"{_shown(data)}: must be two lengths, as in [2400, 300]")
            return (0.0, 0.0)
        return (self.length(data[0], f"{key}.0"), self.length(data[1], f"{key}.1"))


_ALLOWED = "a length such as 2591, 2591.5 mm, 9 in or 2 1/8 in"


def _join(key: str, name: object) -> str:
    return f"{key}.{name}" if key else str(name)


def _shown(data: Any) -> str:
    text = "nothing" if data is None else str(data)
    return text if len(text) <= 40 else f"{text[:37]}..."
