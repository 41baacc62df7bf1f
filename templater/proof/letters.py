"""Character codes of a PDF font to letters and how far each moves on. Source: ISO 32000-1:2008, 9.2.4, 9.7 and 9.10."""

from __future__ import annotations

import re
from typing import Any

from templater.proof.content_stream import Font

_BLOCK = re.compile(rb"begin(bfchar|bfrange)(.*?)end\1", re.DOTALL)
_TOKEN = re.compile(rb"<([0-9A-Fa-f\s]*)>|(\[)|(\])")
_CODE_SPACE = re.compile(rb"begincodespacerange\s*<([0-9A-Fa-f]+)>")
#: Most letters that one map may name: a hostile one could name milliards.
_MOST = 70_000


def letters_of(font: Any) -> Font:
    """Return the function that turns the codes shown in a font into letters, their advance in em, and word spaces.

    Args:
        font: the font's dictionary. Without a ToUnicode map a simple font's codes count as Latin-1 letters, and a
            composite font's as none.
    """
    stream = _get(font, "/ToUnicode")
    composite = _get(font, "/Subtype") == "/Type0"
    table: dict[int, str] = {}
    width = 2 if composite else 1
    if hasattr(stream, "get_data"):
        data = stream.get_data()
        space = _CODE_SPACE.search(data)
        width = 2 if composite else max(1, len(space[1]) // 2) if space else 1
        table = _table(data)
    elif not composite:
        table = {code: chr(code) for code in range(256)}
    advances, usual = _composite_widths(font) if composite else _simple_widths(font)

    known: dict[int, tuple[str, float, bool]] = {}

    def letter(code: int) -> tuple[str, float, bool]:
        said = table.get(code, "")
        shown = said if len(said) == 1 else "\ufffd"
        known[code] = shown, advances.get(code, usual) / 1000, width == 1 and code == 32
        return known[code]

    def decode(codes: bytes) -> list[tuple[str, float, bool]]:
        if width > 1:
            all_ = (int.from_bytes(codes[i : i + width], "big") for i in range(0, len(codes), width))
            return [known.get(code) or letter(code) for code in all_]
        return [known.get(code) or letter(code) for code in codes]

    return decode


def _get(holder: Any, key: str) -> Any:
    found = holder.get(key)
    return found.get_object() if found is not None else None


def _simple_widths(font: Any) -> tuple[dict[int, float], float]:
    first, widths = _get(font, "/FirstChar"), _get(font, "/Widths")
    return {int(first or 0) + n: float(value) for n, value in enumerate(widths or ())}, 0.0


def _composite_widths(font: Any) -> tuple[dict[int, float], float]:
    below = _get(font, "/DescendantFonts")[0].get_object()
    usual = _get(below, "/DW")
    widths: dict[int, float] = {}
    items = [item.get_object() for item in _get(below, "/W") or ()]
    position = 0
    while position + 1 < len(items):
        first, second = int(items[position]), items[position + 1]
        if isinstance(second, list):
            widths.update((first + n, float(value)) for n, value in enumerate(second))
            position += 2
        else:
            last = min(int(second), first + _MOST)
            widths.update(dict.fromkeys(range(first, last + 1), float(items[position + 2])))
            position += 3
    return widths, 1000.0 if usual is None else float(usual)


def _table(data: bytes) -> dict[int, str]:
    """Return the letters by code."""
    table: dict[int, str] = {}
    for kind, body in _BLOCK.findall(data):
        tokens = [(opened or closed or b"".join(digits.split())) for digits, opened, closed in _TOKEN.findall(body)]
        position = 0
        while position + 1 < len(tokens):
            first = int(tokens[position], 16)
            if kind == b"bfchar":
                table[first] = _text(tokens[position + 1])
                position += 2
            elif position + 2 < len(tokens) and tokens[position + 2] == b"[":
                position += 3
                while position < len(tokens) and tokens[position] != b"]":
                    table[first] = _text(tokens[position])
                    first += 1
                    position += 1
                position += 1
            else:
                last = min(int(tokens[position + 1], 16), first + 0xFFFF)
                start = _text(tokens[position + 2]) if position + 2 < len(tokens) else ""
                for step in range(last - first + 1 if start else 0):
                    table[first + step] = start[:-1] + chr(min(ord(start[-1]) + step, 0x10FFFF))
                position += 3
            if len(table) > _MOST:
                raise ValueError("a font maps more letters than there are")
    return table


def _text(digits: bytes) -> str:
    """Return the text of UTF-16BE digits."""
    raw = bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))
    return raw.decode("utf-16-be", "replace") if len(raw) > 1 else raw.decode("latin-1")
