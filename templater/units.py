"""Lengths: millimetres inside, always. Every factor has its source beside it."""

import math
import re
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

#: mm in an inch, exactly. Source: International yard and pound agreement of 1959; ISO 80000-3.
MM_PER_INCH = 25.4
#: PDF points in a mm. Source: ISO 32000-1:2008, 8.3.2.3 (default user space, 1/72 inch).
POINTS_PER_MM = 72 / MM_PER_INCH

#: mm in one of each unit that a length may carry.
UNIT_FACTORS: dict[str, Fraction] = {
    "mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10), "ft": Fraction(254, 10) * 12,
}  # fmt: skip
_ALIASES = {
    '"': "in", "″": "in", "inch": "in", "inches": "in",
    "'": "ft", "′": "ft", "feet": "ft", "foot": "ft",
}  # fmt: skip
#: How a length may be written, for messages and for editors.
ALLOWED = "a length such as 231, 231 mm, 9 in, 2 1/8 in or 1 ft 3 in"
EXAMPLES = ("231 mm", "2 1/8 in", "1 ft 3 in")
#: A mixed number, written 2 1/8 or 2-1/8; a fraction; a decimal.
_NUMBER = r"([0-9]+(?:\s+|-)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_FEET, _UNIT = r"(?:ft|feet|foot|'|′)", "|".join((*UNIT_FACTORS, *_ALIASES))
_LENGTH = re.compile(rf"([-+]?)\s*(?:{_NUMBER}\s*{_FEET}\s*)?{_NUMBER}\s*({_UNIT})?")
#: Longer texts are no lengths.
_LONGEST = 60
#: Between a number and its fraction or unit no line may break.
_HELD = re.compile(r"(?<=[0-9]) (?=[0-9]+/[0-9]|(?:mm|in)\b)")
_JOIN = "\u00a0"


def parse_length(text: str, bare_unit: str = "mm") -> float:
    """Return a length in mm; a number without a unit is in ``bare_unit``, ``mm`` or ``in``.

    The fraction of a mixed number must be below 1, and feet are followed by inches alone: other writings are slips.

    Raises ValueError: if the text is not a length. The message says what is allowed.

    >>> parse_length("2 1/8 in"), parse_length("1 ft 3 in")
    (53.975, 381.0)
    """
    match = _LENGTH.fullmatch(text.strip().lower()) if len(text.strip()) <= _LONGEST else None
    if match is None:
        raise ValueError(ALLOWED)
    sign, feet, number, unit = match.groups()
    unit = _ALIASES.get(unit, unit or bare_unit)
    if feet and (match[4] is None or unit != "in"):
        raise ValueError(ALLOWED)
    total = _number(number) * UNIT_FACTORS[unit] + _number(feet or "0") * UNIT_FACTORS["ft"]
    return float(-total if sign == "-" else total)


def _number(text: str) -> Fraction:
    """Return a whole, mixed or decimal number, or a fraction."""
    try:
        whole, *rest = map(Fraction, text.replace("-", " ").split())
    except ZeroDivisionError:
        raise ValueError(ALLOWED) from None
    if rest and rest[0] >= 1:
        raise ValueError(ALLOWED)
    return sum(rest, whole)


def mm_text(value: float, decimals: int = 1) -> str:
    """Return a number with fixed decimals, halves rounded away from 0 whatever their last digit, no negative zero."""
    return f"{value * (1 + 1e-12):z.{decimals}f}"


def inch_text(value_mm: float, denominator: int = 32) -> str:
    """Return a length in inches as a mixed fraction, rounded to ``1/denominator``.

    >>> inch_text(53.975)
    '2 1/8 in'
    """
    fraction = Fraction(round(Fraction(value_mm) / UNIT_FACTORS["in"] * denominator), denominator)
    whole, rest = divmod(abs(fraction), 1)
    parts = [str(part) for part in (whole, rest) if part] or ["0"]
    return f"{'-' if fraction < 0 else ''}{' '.join(parts)} in"


#: Lengths below 1/2 in, mm, are small.
_SMALL = 12.7
#: How inches may be written: fractions by their denominator, or three decimals.
FRACTIONS: dict[str, int] = {"1/16": 16, "1/32": 32, "1/64": 64, "decimal": 1000}


class Figures(NamedTuple):
    """How lengths are written for the builder of one boat: the only place where a length becomes text.

    Every method takes mm. A boat has its own as ``description.figures``; what is in mm for everybody, such as the bars
    on a page, is written by ``MM``.
    """

    system: str = "mm"  # ``mm``, ``in``, or ``both``: mm with inches in brackets
    fraction: str = "1/32"  # key of ``FRACTIONS``
    parts: str = "mm"  # the unit in which the boat's parts and bits are bought, ``mm`` or ``in``

    @property
    def unit(self) -> str:
        """What stands in the head of a column of lengths: ``mm``, ``in`` or ``mm (in)``."""
        return self._either("mm", "in")

    @property
    def rounding(self) -> float:
        """Greatest difference between a length and its text in inches, mm."""
        return MM_PER_INCH / FRACTIONS[self.fraction] / 2

    @property
    def rounding_text(self) -> str:
        """A sentence on what rounding does to the figures; empty unless inches stand alone."""
        if self.system != "in":
            return ""
        step = "0.001" if self.fraction == "decimal" else self.fraction
        # Rounded up, so that the sentence never promises too much.
        off = -(-self.rounding * 100 // 1) / 100
        return f"Figures in inches are rounded to {step} in, up to {off:.2f} mm off; the drawing is not rounded."

    def _either(self, in_mm: str, in_inches: str) -> str:
        """Return a length in the figures' system, given both ways."""
        return {"mm": in_mm, "in": in_inches}.get(self.system, f"{in_mm} ({in_inches})")

    def inches(self, value_mm: float) -> str:
        """Return a length in inches."""
        return _thousandths(value_mm) if self.fraction == "decimal" else inch_text(value_mm, FRACTIONS[self.fraction])

    def length(self, value_mm: float, decimals: int = 1) -> str:
        """Return a length; ``decimals`` of mm. Nothing is said twice of nought.

        A small one has decimals where it is no such fraction; with mm beside it, where that is a fifth off.
        """
        in_mm, in_inches = f"{mm_text(value_mm, decimals)} mm", self.inches(value_mm) if self.system != "mm" else ""
        if in_inches == "0 in" and self.system == "both":
            return in_mm
        if in_inches and abs(value_mm) < _SMALL:
            off = abs(parse_length(in_inches) - value_mm) > (0.005 if self.system == "in" else abs(value_mm) / 5)
            in_inches = _thousandths(value_mm) if off else in_inches
        return self._either(in_mm, in_inches)

    def signed(self, value_mm: float, decimals: int = 1) -> str:
        """Return by how much a length changes, with its sign."""
        sign = "-" if value_mm < 0 else "+"
        return sign + self.length(abs(value_mm), decimals).replace("(", f"({sign}")

    def number(self, value_mm: float, decimals: int = 1) -> str:
        """Return a length beside which its unit stands already."""
        return without_units(self.length(value_mm, decimals))

    def size(self, value_mm: float, decimals: int = 1, within: float = 0.05) -> str:
        """Return the size of a part or bit, without needless decimals.

        Inches are to 1/64; where that is more than ``within`` mm off, they have decimals, and mm stand beside them
        unless all is in inches. With both, the unit comes first in which the boat's parts are bought.
        """
        plain = f"{_trimmed(value_mm, decimals)} mm"
        if self.system == "mm":
            return plain
        text = inch_text(value_mm, 64)
        off = self.fraction != "decimal" and abs(parse_length(text) - value_mm) > within
        text = _thousandths(value_mm) if off or self.fraction == "decimal" else text
        if self.system == "both" and self.parts == "mm":
            return f"{plain} ({text})"
        return f"{text} ({_trimmed(value_mm, 2)} mm)" if off and (self.system, self.parts) != ("in", "in") else text

    def diameter(self, value_mm: float, decimals: int = 1) -> str:
        """Return a size with the sign of a diameter."""
        return f"⌀{self.size(value_mm, decimals)}"

    def fine(self, value_mm: float, decimals: int = 2) -> str:
        """Return a small length to hundredths of a mm; in thousandths of an inch, for a fraction would say nothing."""
        return self._either(f"{mm_text(value_mm, decimals)} mm", _thousandths(value_mm, decimals + 1))

    def plus_minus(self, value_mm: float, half_width_mm: float, decimals: int = 1) -> str:
        """Return a value with the half-width of its interval, rounded up so that it never claims too much."""
        inches = plus_minus(value_mm / MM_PER_INCH, half_width_mm / MM_PER_INCH, decimals + 1)
        return self._either(f"{plus_minus(value_mm, half_width_mm, decimals)} mm", f"{inches} in")

    def radius(self, value_mm: float) -> str:
        """Return the radius of a long arc, in metres or feet."""
        return self._either(f"{value_mm / 1000:.2f} m", f"{value_mm / float(UNIT_FACTORS['ft']):.1f} ft")


#: For what is in mm for everybody: bars, pages, what a file was read back to.
MM = Figures()


def plus_minus(value: float, half_width: float, decimals: int = 1) -> str:
    """Return a value with the half-width of its interval, rounded up so that it never claims too much."""
    step = 10.0**-decimals
    return f"{mm_text(value, decimals)} ± {math.ceil(half_width / step - 1e-9) * step:.{decimals}f}"


def _thousandths(value_mm: float, decimals: int = 3) -> str:
    """Return a length in decimals of an inch."""
    return f"{mm_text(value_mm / MM_PER_INCH, decimals)} in"


def without_units(text: str) -> str:
    """Return a length's text for a column whose head says ``Figures.unit``."""
    return text.replace(" mm", "").replace(" in", "")


def held(text: str) -> str:
    """Return a text whose figures keep together with their fractions and units, by spaces that do not break."""
    return _HELD.sub(_JOIN, text)


@lru_cache(maxsize=4096)
def words_of(text: str) -> tuple[str, ...]:
    """Return the words that a text may be broken between.

    >>> words_of("stop at 2 1/4 in")
    ('stop', 'at', '2 1/4 in')
    """
    return tuple(word.replace(_JOIN, " ") for word in held(" ".join(text.split())).split(" "))


def _trimmed(value: float, decimals: int) -> str:
    """Return a number without needless decimals."""
    text = mm_text(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text
