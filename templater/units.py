"""Lengths: millimetres inside, always. Every factor has its source beside it."""

from __future__ import annotations

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
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(254, 10) * 12,
}
_ALIASES = {
    '"': "in", "″": "in", "inch": "in", "inches": "in",
    "'": "ft", "′": "ft", "feet": "ft", "foot": "ft",
}  # fmt: skip
_UNITS = "|".join(sorted((*UNIT_FACTORS, *_ALIASES), key=len, reverse=True))
#: A mixed number, written 2 1/8 or 2-1/8; a fraction; a decimal.
_NUMBER = r"(?:[0-9]+(?:\s+|-)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_PART = re.compile(rf"\s*({_NUMBER})\s*({_UNITS})?(?![a-z])\s*")
#: Between a number and its fraction or unit no line may break.
_HELD = re.compile(r"(?<=[0-9]) (?=[0-9]+/[0-9]|(?:mm|in)\b)")
_JOIN = "\u00a0"
#: Longer texts are no lengths.
_LONGEST = 60


def parse_length(text: str, bare_unit: str = "mm") -> float:
    """Return a length in mm; a number without a unit is in ``bare_unit``, ``mm`` or ``in``.

    The fraction of a mixed number must be below 1, and feet are followed by inches alone: other writings are slips.

    Raises ValueError: if the text is not a length. The message says what is allowed.

    >>> parse_length("2 1/8 in")
    53.975
    >>> parse_length("1 ft 3 in")
    381.0
    """
    stripped = text.strip().lower()
    if len(stripped) > _LONGEST:
        raise ValueError(ALLOWED)
    sign = 1
    if stripped[:1] in "+-" and stripped:
        sign = -1 if stripped[0] == "-" else 1
        stripped = stripped[1:].strip()
    total = Fraction(0)
    position = 0
    seen: list[str] = []
    while position < len(stripped):
        match = _PART.match(stripped, position)
        if match is None:
            raise ValueError(ALLOWED)
        unit = _ALIASES.get(match[2], match[2]) if match[2] else ""
        value = _number(match[1])
        if (seen and (unit != "in" or seen != ["ft"])) or (not unit and position + len(match[0]) < len(stripped)):
            raise ValueError(ALLOWED)
        seen.append(unit)
        total += value * UNIT_FACTORS[unit or bare_unit]
        position = match.end()
    if not seen:
        raise ValueError(ALLOWED)
    return float(sign * total)


def _number(text: str) -> Fraction:
    """Return a whole, mixed or decimal number, or a fraction."""
    parts = text.replace("-", " ").split()
    try:
        values = [Fraction(part) for part in parts]
    except ZeroDivisionError:
        raise ValueError(ALLOWED) from None
    if len(values) == 2 and values[1] >= 1:
        raise ValueError(ALLOWED)
    return sum(values, Fraction(0))


#: How a length may be written, for messages and for editors.
ALLOWED = "a length such as 231, 231 mm, 9 in, 2 1/8 in or 1 ft 3 in"
EXAMPLES = ("231 mm", "2 1/8 in", "1 ft 3 in")


def mm_text(value: float, decimals: int = 1) -> str:
    """Return a number with fixed decimals and no negative zero.

    >>> mm_text(2285.04)
    '2285.0'
    """
    text = f"{value:.{decimals}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text


def inch_text(value_mm: float, denominator: int = 32) -> str:
    """Return a length in inches as a mixed fraction, rounded to ``1/denominator``.

    >>> inch_text(53.975)
    '2 1/8 in'
    """
    fraction = Fraction(round(Fraction(value_mm) / Fraction(254, 10) * denominator), denominator)
    sign = "-" if fraction < 0 else ""
    whole, rest = divmod(abs(fraction), 1)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(f"{rest.numerator}/{rest.denominator}")
    return f"{sign}{' '.join(parts)} in"


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

    @classmethod
    def of_boat(cls, units: str, system: str | None = None, fraction: str = "1/32") -> Figures:
        """Return a boat's figures: as asked, else mm for a boat in mm and both for one in inches.

        >>> Figures.of_boat("in").system
        'both'
        """
        return cls(system or ("both" if units == "in" else "mm"), fraction, units)

    @property
    def unit(self) -> str:
        """What stands in the head of a column of lengths: ``mm``, ``in`` or ``mm (in)``."""
        return "mm (in)" if self.system == "both" else self.system

    @property
    def rounding(self) -> float:
        """Greatest difference between a length and its text in inches, mm."""
        return MM_PER_INCH / FRACTIONS[self.fraction] / 2

    @property
    def rounding_text(self) -> str:
        """A sentence on what rounding does to the figures; empty unless inches stand alone.

        >>> Figures("in", "1/32").rounding_text
        'Figures in inches are rounded to 1/32 in, up to 0.40 mm off; the drawing is not rounded.'
        """
        if self.system != "in":
            return ""
        step = "0.001" if self.fraction == "decimal" else self.fraction
        # Rounded up, so that the sentence never promises too much.
        off = -(-self.rounding * 100 // 1) / 100
        return f"Figures in inches are rounded to {step} in, up to {off:.2f} mm off; the drawing is not rounded."

    def inches(self, value_mm: float) -> str:
        """Return a length in inches.

        >>> Figures("in", "1/64").inches(53.975), Figures("in", "decimal").inches(231)
        ('2 1/8 in', '9.094 in')
        """
        if self.fraction == "decimal":
            return f"{mm_text(value_mm / MM_PER_INCH, 3)} in"
        return inch_text(value_mm, FRACTIONS[self.fraction])

    def length(self, value_mm: float, decimals: int = 1) -> str:
        """Return a length; ``decimals`` of mm. Nothing is said twice of nought.

        >>> Figures("both").length(2285.0), Figures("in", "1/16").length(2285.0), Figures("both").length(0.0)
        ('2285.0 mm (89 31/32 in)', '89 15/16 in', '0.0 mm')

        Where inches stand alone, small lengths that are no such fraction have decimals: a fraction would say nothing.

        >>> Figures("in").length(4.0), Figures("in").length(6.35)
        ('0.157 in', '1/4 in')
        """
        if self.system == "in":
            small = abs(value_mm) < _SMALL and abs(parse_length(self.inches(value_mm)) - value_mm) > 0.005
            return f"{mm_text(value_mm / MM_PER_INCH, 3)} in" if small else self.inches(value_mm)
        text = f"{mm_text(value_mm, decimals)} mm"
        inches = self.inches(value_mm)
        return f"{text} ({inches})" if self.system == "both" and inches != "0 in" else text

    def signed(self, value_mm: float, decimals: int = 1) -> str:
        """Return by how much a length changes, with its sign.

        >>> Figures().signed(55.0), Figures("in").signed(-55.0), Figures("both").signed(55.0)
        ('+55.0 mm', '-2 5/32 in', '+55.0 mm (+2 5/32 in)')
        """
        sign = "-" if value_mm < 0 else "+"
        return sign + self.length(abs(value_mm), decimals).replace("(", f"({sign}")

    def number(self, value_mm: float, decimals: int = 1) -> str:
        """Return a length beside which its unit stands already.

        >>> Figures("both").number(2285.0), Figures("in").number(2285.0)
        ('2285.0 (89 31/32)', '89 31/32')
        """
        return without_units(self.length(value_mm, decimals))

    def size(self, value_mm: float, decimals: int = 1) -> str:
        """Return the size of a part or bit, without needless decimals.

        Inches are to 1/64; where that is over 0.05 mm off, mm stand beside them.

        >>> Figures().size(4.5), Figures("in").size(15.875), Figures("in").size(8.0), Figures("in", "decimal").size(18)
        ('4.5 mm', '5/8 in', '5/16 in (8 mm)', '0.709 in')

        With both, the unit comes first in which the boat's parts are bought.

        >>> Figures("both").size(8.0), Figures("both", parts="in").size(8.0), Figures("both", parts="in").size(15.875)
        ('8 mm (5/16 in)', '5/16 in (8 mm)', '5/8 in')
        """
        plain = f"{_trimmed(value_mm, decimals)} mm"
        if self.system == "mm":
            return plain
        if self.fraction == "decimal":
            text, off = self.inches(value_mm), 0.0
        else:
            text = inch_text(value_mm, 64)
            off = abs(parse_length(text) - value_mm)
        if self.system == "both" and self.parts == "mm":
            return f"{plain} ({text})"
        return text if off <= 0.05 else f"{text} ({_trimmed(value_mm, 2)} mm)"

    def diameter(self, value_mm: float, decimals: int = 1) -> str:
        """Return a size with the sign of a diameter.

        >>> Figures().diameter(18.0), Figures("in").diameter(15.875)
        ('⌀18 mm', '⌀5/8 in')
        """
        return f"⌀{self.size(value_mm, decimals)}"

    def fine(self, value_mm: float, decimals: int = 2) -> str:
        """Return a small length to hundredths of a mm; in thousandths of an inch, for a fraction would say nothing.

        >>> Figures().fine(0.3), Figures("in").fine(0.3), Figures("both").fine(0.3)
        ('0.30 mm', '0.012 in', '0.30 mm (0.012 in)')
        """
        inches = f"{mm_text(value_mm / MM_PER_INCH, decimals + 1)} in"
        if self.system == "in":
            return inches
        return f"{mm_text(value_mm, decimals)} mm" + (f" ({inches})" if self.system == "both" else "")

    def plus_minus(self, value_mm: float, half_width_mm: float, decimals: int = 1) -> str:
        """Return a value with the half-width of its interval, rounded up so that it never claims too much.

        >>> Figures().plus_minus(3.24, 0.51), Figures("in").plus_minus(3.24, 0.51)
        ('3.2 ± 0.6 mm', '0.13 ± 0.03 in')
        """
        in_mm = f"{plus_minus(value_mm, half_width_mm, decimals)} mm"
        if self.system == "mm":
            return in_mm
        inches = f"{plus_minus(value_mm / MM_PER_INCH, half_width_mm / MM_PER_INCH, decimals + 1)} in"
        return inches if self.system == "in" else f"{in_mm} ({inches})"

    def radius(self, value_mm: float) -> str:
        """Return the radius of a long arc.

        >>> Figures().radius(18772.0), Figures("in").radius(18772.0), Figures("both").radius(18772.0)
        ('18.77 m', '61.6 ft', '18.77 m (61.6 ft)')
        """
        metres, feet = f"{value_mm / 1000:.2f} m", f"{value_mm / float(UNIT_FACTORS['ft']):.1f} ft"
        return {"mm": metres, "in": feet}.get(self.system, f"{metres} ({feet})")


#: For what is in mm for everybody: bars, pages, what a file was read back to.
MM = Figures()


def plus_minus(value: float, half_width: float, decimals: int = 1) -> str:
    """Return a value with the half-width of its interval, rounded up so that it never claims too much.

    >>> plus_minus(0.1234, 0.0511, 3)
    '0.123 ± 0.052'
    """
    step = 10.0**-decimals
    return f"{mm_text(value, decimals)} ± {math.ceil(half_width / step - 1e-9) * step:.{decimals}f}"


def without_units(text: str) -> str:
    """Return a length's text for a column whose head says ``Figures.unit``.

    >>> without_units(Figures("both").fine(0.3))
    '0.30 (0.012)'
    """
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
