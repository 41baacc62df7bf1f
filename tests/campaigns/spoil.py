"""Ways to spoil what has keys and values, or bytes: plain functions of a source of chance, so that millions are cheap."""

from __future__ import annotations

import re
from collections.abc import Sequence
from random import Random

#: Values that somebody may write, and some that nobody should.
ODD = (
    "", "null", "~", "true", "0", "-0.0", "-1", "1e308", "-1e308", "5e-324", "1e-9", "0.001", ".nan", ".inf", "-.inf",
    "NaN", "9" * 400, "1" + "0" * 30, "0x10", "1_000", "12,5", "9 in", "2 1/8 in", "1/0 in", "1 ft 3 in", "24 cm",
    "-3 mm", "5 m", "7 yd", "2026-02-30", "2026-11-25", "[]", "{}", "[1]", "[[1, 2]]", "[1, [2, {a: b}]]", "{a: 1}",
    "{diameter: 4}", "[A4]", "A4", "'", '"', '"a\\0b"', '"\\ud83d\\ude00"', '"\\e[2J"', '"\\r OK nothing wrong"',
    '"a\\nb"', '"\\u202eabc"', "*a", "&a 1", "!!str 1", "!!python/object:os.system", "<<", "? x", "|", ">", "# no",
    "aft", "under", "M8", "1/4 in", "no such word", "x" * 5000, "Łódź", "日本", "\u202e", "../../etc/passwd", "a/b\\c",
    "CON",
)  # fmt: skip
#: Characters that are put in anywhere.
LETTERS = "\x00\x07\x1b\r\t\x7f\x85\u2028\u202e\ufeff\ud800{}[]:,-#&*!|>'\"%@` \n0.ae"
#: What a figure is multiplied by, and what is written behind it.
_FACTORS = (-1.0, 0.0, 1e-3, 0.1, 0.5, 0.9, 0.99, 1.01, 1.1, 1.5, 2.0, 10.0, 25.4, 1000.0)
_BEHIND = (" in", " mm", " m", " 1/2", "/2", "e5", "e-5", "%", " in 3", "..", "1")
_VALUE = re.compile(r"(?<=[:,\[{] )[^,\[\]{}#]+|(?<=[\[{])[^,\[\]{}#]+")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_FIGURE = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
_KEY = re.compile(r"[a-z_]+(?=:)")
_BYTES_NUMBER = re.compile(rb"\d+")
_ODD_NUMBERS = (b"0", b"-1", b"1", b"99999999999999999999", b"65536", b"1e999", b"nan", b"1.5")


def spoilt(rng: Random, texts: Sequence[str], most: int = 4) -> str:
    """Return one of the texts with one thing in it spoilt, or a few."""
    lines = rng.choice(texts).split("\n")
    for _ in range(rng.randint(1, most)):
        at = rng.randrange(len(lines))
        lines[at] = _line(rng, lines, at, texts)
    return "\n".join(lines)


def nudged(rng: Random, text: str, most: int = 3) -> str:
    """Return a text with some of its figures changed and all else left: much of it is still read and worked out."""
    for number in sorted(rng.sample(found := list(_FIGURE.finditer(text)), min(rng.randint(1, most), len(found))),
                         key=re.Match.start, reverse=True):  # fmt: skip
        way = rng.random()
        value = float(number[0]) * (rng.choice(_FACTORS) if way < 0.6 else rng.lognormvariate(0.0, 0.5))
        new = "0" if way > 0.95 else f"{value:.6g}"
        text = text[: number.start()] + new + text[number.end() :]
    return text


def _line(rng: Random, lines: list[str], at: int, texts: Sequence[str]) -> str:
    """Return one line spoilt; two lines may change places."""
    line, way = lines[at], rng.randrange(16)
    if way <= 3 and (values := list(_VALUE.finditer(line))):
        value = rng.choice(values)
        return line[: value.start()] + rng.choice(ODD) + line[value.end() :]
    if way <= 7 and (numbers := list(_NUMBER.finditer(line))):
        number = rng.choice(numbers)
        new = f"{float(number[0]) * rng.choice(_FACTORS):g}" if way <= 6 else number[0] + rng.choice(_BEHIND)
        return line[: number.start()] + new + line[number.end() :]
    if way == 8 and (keys := list(_KEY.finditer(line))):
        key, others = rng.choice(keys), _KEY.findall(rng.choice(texts))
        return line[: key.start()] + (rng.choice(others) if others else "") + line[key.end() :]
    if way == 9:
        return rng.choice(rng.choice(texts).split("\n"))
    if way == 10:
        return ""
    if way == 11:
        return line + "\n" + line
    if way == 12:
        return rng.choice((" " + line, "  " + line, line[1:], line.strip(), "\t" + line, "- " + line.strip()))
    if way == 13:
        place = rng.randint(0, len(line))
        return line[:place] + rng.choice(LETTERS) + line[place:]
    if way == 14:
        return line[: rng.randint(0, len(line))]
    other = rng.randrange(len(lines))
    new, lines[other] = lines[other], line
    return new


def spoilt_bytes(rng: Random, original: bytes) -> bytes:
    """Return a file with some of its bytes changed, cut, doubled or put elsewhere; numbers in it are changed too."""
    data = bytearray(original)
    for _ in range(rng.randint(1, 3)):
        if not data:
            break
        at, length, way = rng.randrange(len(data)), rng.randint(1, 200), rng.randrange(6)
        if way == 0:
            data[at] ^= 1 << rng.randrange(8)
        elif way == 1:
            del data[at : at + length]
        elif way == 2:
            data[at:at] = data[at : at + length]
        elif way == 3:
            del data[at:]
        elif way == 4 and (number := _BYTES_NUMBER.search(data, at)):
            data[number.start() : number.end()] = rng.choice(_ODD_NUMBERS)
        else:
            other = rng.randrange(len(data))
            data[at : at + length] = data[other : other + length]
    return bytes(data)
