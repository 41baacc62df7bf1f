"""Ways to spoil what has keys and values, or bytes: plain functions of a source of chance, so that millions
are cheap."""

from __future__ import annotations

import re
import zlib
from collections.abc import Mapping, Sequence
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


def text(rng: Random, texts: Sequence[str], most: int = 4) -> str:
    """Return one of the texts with one thing in it spoilt, or a few."""
    lines = rng.choice(texts).split("\n")
    for _ in range(rng.randint(1, most)):
        at = rng.randrange(len(lines))
        lines[at] = _line(rng, lines, at, texts)
    return "\n".join(lines)


def figures(rng: Random, given: str, most: int = 3) -> str:
    """Return a text with some of its figures changed and all else left: much of it is still read and worked out."""
    for number in sorted(rng.sample(found := list(_FIGURE.finditer(given)), min(rng.randint(1, most), len(found))),
                         key=re.Match.start, reverse=True):  # fmt: skip
        way = rng.random()
        value = float(number[0]) * (rng.choice(_FACTORS) if way < 0.6 else rng.lognormvariate(0.0, 0.5))
        new = "0" if way > 0.95 else f"{value:.6g}"
        given = given[: number.start()] + new + given[number.end() :]
    return given


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


def data(rng: Random, original: bytes) -> bytes:
    """Return a file with some of its bytes changed, cut, doubled or put elsewhere; numbers in it are changed too."""
    new = bytearray(original)
    for _ in range(rng.randint(1, 3)):
        if not new:
            break
        at, length, way = rng.randrange(len(new)), rng.randint(1, 200), rng.randrange(6)
        if way == 0:
            new[at] ^= 1 << rng.randrange(8)
        elif way == 1:
            del new[at : at + length]
        elif way == 2:
            new[at:at] = new[at : at + length]
        elif way == 3:
            del new[at:]
        elif way == 4 and (number := _BYTES_NUMBER.search(new, at)):
            new[number.start() : number.end()] = rng.choice(_ODD_NUMBERS)
        else:
            other = rng.randrange(len(new))
            new[at : at + length] = new[other : other + length]
    return bytes(new)


_OBJECT = re.compile(rb"(\d+) 0 obj\s(.*?)\sendobj", re.DOTALL)
_PLACE = re.compile(rb"(?<![\w.#])-?\d+(?:\.\d+)?(?![\w.])")
_NAME = re.compile(rb"/[A-Za-z0-9+]+")
#: What stands in the place of a PDF object or value.
_ODD_OBJECTS = (
    b"null", b"[]", b"<<>>", b"()", b"<00>", b"true", b"-1", b"99999999999999999999", b"1e999", b"1 0 R", b"2 0 R",
    b"77 0 R", b"[1 0 R 1 0 R]", b"/No", b"[0 0 0 0]", b"[1 0 0 1 0 0]", b"(\xfe\xff\xd8)", b"<< /Length 5 >>",
)  # fmt: skip
_FILTERS = (b"/ASCII85Decode", b"/ASCIIHexDecode", b"/LZWDecode", b"/RunLengthDecode", b"/JBIG2Decode", b"/DCTDecode",
            b"/Crypt", b"[/FlateDecode /FlateDecode]", b"/No")  # fmt: skip
#: Operations that are put into a page's content.
_OPERATIONS = (
    b"q", b"Q", b"BT", b"ET", b"W n", b"0 0 10 10 re f", b"1 g 0 0 600 900 re f", b"1 0 0 1 1 0 cm", b"/X Do", b"0 w",
    b"3 Tr", b"1 G", b"[9 9] 0 d", b"/F1 1 Tf", b"BI /W 1 /H 1 ID \xff EI", b"100 100 m 200 200 l S", b"nan 0 m",
    b"<</A", b"1e30 0 0 1e30 0 0 cm", b"/OC /L BDC", b"((((", b"- 1 re", b"5 5 m 6 6 7 7 8 8 c S", b".9 0 0 1 0 0 cm",
)  # fmt: skip


def pdf(rng: Random, original: bytes, others: Sequence[bytes]) -> bytes:
    """Return a PDF file spoilt: its bytes, or its objects and streams, with the table of objects put right again.

    Objects of other files may be put in.
    """
    way, objects = rng.random(), _objects(original)
    if way < 0.25:
        return data(rng, original)
    if way < 0.6:  # one thing in what a page shows
        at = rng.choice([at for at, (_, stream) in objects.items() if stream and b" Tf" in stream])
        head, stream = objects[at]
        objects[at] = _unpacked(head), _content(rng, stream or b"")
        return joined(objects, _trailer(original))
    for _ in range(rng.randint(1, 3)):
        at = rng.choice([*objects])
        head, stream = objects[at]
        way = rng.randrange(12)
        if way == 0:
            objects[at] = objects[rng.choice([*objects])]
        elif way == 1:
            objects[at] = rng.choice([*_objects(rng.choice(others)).values()])
        elif way == 2:
            objects[at] = rng.choice(_ODD_OBJECTS), None
        elif way == 3 and (names := list(_NAME.finditer(head))):
            name, other = rng.choice(names), rng.choice(names)
            objects[at] = head[: name.start()] + other[0] + head[name.end() :], stream
        elif way == 4 and (numbers := list(_PLACE.finditer(head))):
            number = rng.choice(numbers)
            objects[at] = head[: number.start()] + rng.choice(_ODD_OBJECTS) + head[number.end() :], stream
        elif way == 5 and stream is not None:
            objects[at] = re.sub(rb"/FlateDecode", rng.choice(_FILTERS), head), stream
        elif stream is not None:
            objects[at] = _unpacked(head), _content(rng, stream)
        else:
            other_place = rng.choice([*objects])
            objects[at], objects[other_place] = objects[other_place], objects[at]
    return joined(objects, _trailer(original))


def _trailer(original: bytes) -> bytes:
    return original[original.rindex(b"trailer") : original.rindex(b"startxref")]


def _objects(original: bytes) -> dict[int, tuple[bytes, bytes | None]]:
    """Return a file's objects by number: the dictionary, and the stream unpacked if there is one."""
    found = {}
    for number, body in _OBJECT.findall(original):
        head, sign, rest = body.partition(b"stream\n")
        packed = rest.rpartition(b"endstream")[0]
        if sign and b"FlateDecode" in head:
            found[int(number)] = head, zlib.decompressobj().decompress(packed)
        else:
            found[int(number)] = head, packed if sign else None
    return found


def _unpacked(head: bytes) -> bytes:
    return re.sub(rb"/Filter\s*(\[[^\]]*\]|/\w+)", b"", head)


def _content(rng: Random, stream: bytes) -> bytes:
    """Return a stream with an operation left out, doubled, moved, put in, or a figure in it changed."""
    if not stream or rng.random() < 0.2:
        return data(rng, stream)
    lines, way = stream.split(b"\n"), rng.randrange(6)
    at = rng.randrange(len(lines))
    if way == 0:
        del lines[at]
    elif way == 1:
        lines[at:at] = [lines[rng.randrange(len(lines))]]
    elif way == 2:
        lines[at:at] = [rng.choice(_OPERATIONS)]
    elif numbers := list(_PLACE.finditer(lines[at])):
        number = rng.choice(numbers)
        by = rng.choice((0.01, 0.05, 0.06, 0.07, 0.1, 1.0, -1.0, 1000.0)) * rng.choice((1, -1))
        new = b"%.4f" % (float(number[0]) + by)
        lines[at] = lines[at][: number.start()] + new + lines[at][number.end() :]
    return b"\n".join(lines)


def joined(objects: Mapping[int, tuple[bytes, bytes | None]], trailer: bytes) -> bytes:
    """Return a file of objects, with a table that tells where they are, and the trailer."""
    out, places = bytearray(b"%PDF-1.7\n"), {}
    for number, (head, stream) in objects.items():
        places[number] = len(out)
        body = head
        if stream is not None:
            packed = zlib.compress(stream) if b"FlateDecode" in head else stream
            body = re.sub(rb"/Length \d+", b"/Length %d" % len(packed), head) + b"stream\n" + packed + b"\nendstream"
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start = len(out)
    out += b"xref\n" + b"".join(b"%d 1\n%010d 00000 n \n" % place for place in places.items())
    return bytes(out + trailer + b"startxref\n%d\n%%%%EOF\n" % start)
