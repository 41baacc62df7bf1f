"""Character codes of a PDF font to letters, by its ToUnicode map. Source: ISO 32000-1:2008, 9.10."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

_BLOCK = re.compile(rb"begin(bfchar|bfrange)(.*?)end\1", re.DOTALL)
_TOKEN = re.compile(rb"<([0-9A-Fa-f\s]*)>|(\[)|(\])")
_CODE_SPACE = re.compile(rb"begincodespacerange\s*<([0-9A-Fa-f]+)>")


def letters_of(font: Any) -> Callable[[bytes], str]:
    """Return the function that turns the codes shown in a font into text.

    Args:
        font: the font's dictionary. Without a ToUnicode map a simple font's codes count as Latin-1 letters, and a
            composite font's as none.
    """
    stream = font.get("/ToUnicode")
    stream = stream.get_object() if stream is not None else None
    composite = font.get("/Subtype") == "/Type0"
    if stream is None or not hasattr(stream, "get_data"):
        return (lambda _codes: "") if composite else (lambda codes: codes.decode("latin-1"))
    data = stream.get_data()
    space = _CODE_SPACE.search(data)
    width = 2 if composite else max(1, len(space[1]) // 2) if space else 1
    table = _table(data)

    def decode(codes: bytes) -> str:
        steps = range(0, len(codes), width)
        return "".join(table.get(int.from_bytes(codes[i : i + width], "big"), "") for i in steps)

    return decode


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
    return table


def _text(digits: bytes) -> str:
    """Return the text of UTF-16BE digits."""
    raw = bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))
    return raw.decode("utf-16-be", "replace") if len(raw) > 1 else raw.decode("latin-1")
