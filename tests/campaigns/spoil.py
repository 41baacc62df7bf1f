"""Ways to spoil a text that has keys and values, as hypothesis strategies: each draw is one spoilt text."""

from __future__ import annotations

import re

from hypothesis import strategies as st

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


@st.composite
def spoilt(draw: st.DrawFn, texts: tuple[str, ...]) -> str:
    """Return one of the texts with one to four things in it spoilt."""
    lines = draw(st.sampled_from(texts)).split("\n")
    others = [line for text in texts for line in text.split("\n")]
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        line = lines[at]
        way = draw(st.integers(0, 11))
        if way <= 3 and (values := list(re.finditer(r"(?<=[:,\[{] )[^,\[\]{}#]+|(?<=[\[{])[^,\[\]{}#]+", line))):
            value = values[draw(st.integers(0, len(values) - 1))]
            line = line[: value.start()] + draw(st.sampled_from(ODD)) + line[value.end() :]
        elif way == 4 and (numbers := list(re.finditer(r"\d+(\.\d+)?", line))):
            number = numbers[draw(st.integers(0, len(numbers) - 1))]
            factor = draw(st.sampled_from((-1.0, 0.0, 0.1, 0.5, 2.0, 10.0, 25.4, 1000.0)))
            line = f"{line[: number.start()]}{float(number[0]) * factor:g}{line[number.end() :]}"
        elif way == 5:
            line = draw(st.sampled_from(others))
        elif way == 6:
            line = ""
        elif way == 7:
            line = line + "\n" + line
        elif way == 8:
            line = draw(
                st.sampled_from((" " + line, "  " + line, line[1:], line.strip(), "\t" + line, "- " + line.strip()))
            )
        elif way == 9:
            place = draw(st.integers(0, len(line)))
            line = line[:place] + draw(st.sampled_from(LETTERS)) + line[place:]
        elif way == 10:
            line = line[: draw(st.integers(0, len(line)))]
        else:
            other = draw(st.integers(0, len(lines) - 1))
            line, lines[other] = lines[other], line
        lines[at] = line
    return "\n".join(lines)


def spoilt_bytes(original: bytes) -> st.SearchStrategy[bytes]:
    """Return a file with some of its bytes changed, cut, doubled or put elsewhere; numbers in it are changed too."""

    @st.composite
    def build(draw: st.DrawFn) -> bytes:
        data = bytearray(original)
        for _ in range(draw(st.integers(1, 3))):
            if not data:
                break
            at, length = draw(st.integers(0, len(data) - 1)), draw(st.integers(1, 200))
            way = draw(st.integers(0, 5))
            if way == 0:
                data[at] ^= 1 << draw(st.integers(0, 7))
            elif way == 1:
                del data[at : at + length]
            elif way == 2:
                data[at:at] = data[at : at + length]
            elif way == 3:
                del data[at:]
            elif way == 4 and (number := re.compile(rb"\d+").search(data, at)):
                odd = draw(
                    st.sampled_from((b"0", b"-1", b"1", b"99999999999999999999", b"65536", b"1e999", b"nan", b"1.5"))
                )
                data[number.start() : number.end()] = odd
            else:
                other = draw(st.integers(0, len(data) - 1))
                data[at : at + length] = data[other : other + length]
        return bytes(data)

    return build()
