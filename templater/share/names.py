"""File names that every system takes, what is taken for a PDF, and how large a file is read."""

import functools
import re
import unicodedata
from collections.abc import Iterable
from pathlib import Path

#: Bytes of the largest file that is read at all.
LARGEST_FILE = 50_000_000
#: Names that one widely used system reserves for devices, whatever their ending.
_RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})
#: Longest file name, bytes: that of most systems (common practice, no source) less what a temporary name adds.
_LONGEST = 200


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


def is_pdf(data: bytes, name: str = "") -> bool:
    """True if bytes begin as a PDF's (ISO 32000-2:2020, 7.5.2; readers allow 1024 before it) or are named like one."""
    return b"%PDF-" in data[:1024] or name.lower().endswith(".pdf")


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


@functools.cache
def _letters() -> dict[str, str]:
    lines = Path(__file__).with_name("letters.txt").read_text("utf-8").splitlines()[1:]
    return {letter: spelt for letter, _, spelt in (line.partition(" ") for line in lines)}


def _spelt(text: str, *, apart: bool = False) -> str:
    """Return a text with letters spelt in Latin ones as far as the table has them, then taken ``apart`` from marks."""
    spelt = "".join(_letters().get(letter, letter) for letter in text)
    return unicodedata.normalize("NFKD", spelt) if apart else spelt
