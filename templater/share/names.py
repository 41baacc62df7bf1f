"""File names that every system takes."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

#: Names that one widely used system reserves for devices, whatever their ending.
_RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})
#: Longest file name, bytes: that of most systems (common practice, no source) less what a temporary name adds.
_LONGEST = 200
#: Letters that do not come apart into a Latin letter and its marks. Common practice, no source.
_SPELT = {
    "ß": "ss", "ø": "o", "æ": "ae", "đ": "d", "þ": "th", "ð": "d", "œ": "oe", "ł": "l", "ħ": "h", "ı": "i", "ŋ": "n",
    "а": "a", "б": "b", "в": "v", "г": "g", "д": "d", "е": "e", "з": "z", "и": "i", "й": "j", "к": "k", "л": "l",
    "м": "m", "н": "n", "о": "o", "п": "p", "р": "r", "с": "s", "т": "t", "у": "u", "ф": "f", "х": "h", "ы": "y",
    "э": "e", "і": "i", "ѕ": "s", "ґ": "g", "ж": "zh", "ц": "c", "ч": "ch", "ш": "sh", "щ": "shch", "ъ": "", "ь": "",
    "ю": "yu", "я": "ya", "ё": "e", "ї": "i", "є": "ye", "ђ": "d", "ј": "j", "љ": "lj", "њ": "nj", "ћ": "c",
    "џ": "dz",
    "α": "a", "β": "b", "γ": "g", "δ": "d", "ε": "e", "ζ": "z", "η": "i", "ι": "i", "κ": "k", "λ": "l", "μ": "m",
    "ν": "n", "ξ": "x", "ο": "o", "π": "p", "ρ": "r", "σ": "s", "ς": "s", "τ": "t", "υ": "y", "φ": "f", "ω": "o",
    "θ": "th", "χ": "ch", "ψ": "ps",
}  # fmt: skip


def safe_name(text: str) -> str:
    """Return a file name that every system takes: lower-case Latin letters, figures and hyphens.

    >>> safe_name("Whinchat 3"), safe_name("Łódź Żółw"), safe_name("Größe"), safe_name("лодка")
    ('whinchat-3', 'lodz-zolw', 'grosse', 'lodka')
    """
    plain = _spelt(_spelt(unicodedata.normalize("NFC", text.lower()), apart=True)).encode("ascii", "ignore").decode()
    name = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-")
    if not name:
        # A name in yet another script still needs a file name of its own: its code points serve.
        name = "-".join(f"{ord(letter):x}" for letter in text.strip() if not letter.isspace())[:60].strip("-") or "boat"
    return f"boat-{name}" if name in _RESERVED else name


def unfit_names(names: Iterable[str]) -> str:
    """Return why some system cannot hold files of these names beside one another; empty if all can."""
    seen: dict[str, str] = {}
    for name in names:
        alike = unicodedata.normalize("NFC", name).casefold()
        if alike.partition(".")[0].strip() in _RESERVED or len(name.encode("utf-8", "replace")) > _LONGEST:
            return f"holds a file named {name[:80]}, a name that not every system can write"
        if alike in seen:
            return f"holds {seen[alike]} and {name}, which some systems take for one file"
        seen[alike] = name
    return ""


def _spelt(text: str, *, apart: bool = False) -> str:
    """Return a text with letters spelt in Latin ones as far as the table has them, then taken ``apart`` from marks."""
    spelt = "".join(_SPELT.get(letter, letter) for letter in text)
    return unicodedata.normalize("NFKD", spelt) if apart else spelt
