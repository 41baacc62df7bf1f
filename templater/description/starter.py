"""The description to start from: every common key with what it means, in numbers of an invented boat."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

_TEXT, _NUMBERS = Path(__file__).with_name("starter.txt"), Path(__file__).with_name("starter.csv")
#: Column at which comments behind a value begin.
_COLUMN = 35


def starter_text(boat: str = "My boat", units: str = "mm") -> str:
    """Return a commented description that loads and passes the checks, in numbers of an invented boat.

    Args:
        boat: the boat's name; blanks around it are dropped, a longer one is cut to 40 characters.
        units: ``mm`` or ``in``.

    Raises:
        ValueError: if ``units`` is neither.
    """
    if units not in ("mm", "in"):
        raise ValueError(f"{units}: allowed: mm, in")
    name = "".join(letter if letter.isprintable() else " " for letter in boat).strip()[:40].strip() or "My boat"
    # A JSON string is a YAML string too (YAML 1.2.2, section 1.3), whatever signs the name holds.
    plain = name.replace(" ", "").isalnum() and name.isascii() and not name.isdigit()
    numbers = {row["name"]: row[units] for row in csv.DictReader(_NUMBERS.read_text("utf-8").splitlines())}
    quoted = name if plain else json.dumps(name, ensure_ascii=False)
    return filled(_TEXT, title=name, boat=quoted, units=units, **numbers)


def filled(path: Path, **values: str) -> str:
    """Return a text with values in its braces, the comments behind them in line."""
    text = path.read_text("utf-8").format(**values)
    return re.sub(r"^(.*\S)  (# )", lambda line: (line[1] + "  ").ljust(_COLUMN) + line[2], text, flags=re.MULTILINE)
