"""The worst files that were thought of, each given to the program as a user would, with what the answer costs.

Processor time and memory are those of the command and of every process that it started.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from tests.campaigns import judge, spoil

#: Longest answer, seconds of the processor, and most memory, MB.
PATIENCE, MOST = 10.0, 1000
_PAGE = (b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>")


class Hostile(NamedTuple):
    """A file: what it is, its ending, its bytes, and the words of the command before its name."""

    what: str
    ending: str
    data: Callable[[], bytes]
    words: tuple[str, ...]


def one_page(*objects: tuple[bytes, bytes | None], page: bytes = b"") -> bytes:
    """Return a page of A4 whose content is object 4, the first one given."""
    leaf = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R %s >>" % page
    numbered = dict(enumerate([(_PAGE[0], None), (_PAGE[1], None), (leaf, None), *objects], 1))
    return spoil.joined(numbered, b"trailer\n<< /Root 1 0 R /Size %d >>\n" % (len(numbered) + 1))


def _content(data: bytes, filters: bytes = b"") -> tuple[bytes, bytes]:
    return b"<< /Length 0 %s>>\n" % filters, data


def _bomb() -> bytes:
    """Return a page with a form that calls the next ten times, twelve deep, and the last one the first."""
    forms = []
    for number in range(5, 17):
        below = b"/Resources << /XObject << /X %d 0 R >> >>" % (number + 1 if number < 16 else 5)
        head = b"<< /Type /XObject /Subtype /Form /BBox [0 0 9 9] /Length 0 %s >>\n" % below
        forms.append((head, b"/X Do " * 10))
    return one_page(_content(b"/X Do"), *forms, page=b"/Resources << /XObject << /X 5 0 R >> >>")


def _letters() -> bytes:
    """Return a page whose font names every code of four bytes."""
    ranges = b"begincodespacerange <00000000> <FFFFFFFF> endcodespacerange\n" + b"".join(
        b"1 beginbfrange <%08X> <%08X> <0041> endbfrange\n" % (at << 24, (at << 24) + 0xFFFFFF) for at in range(256)
    )
    font = b"<< /Type /Font /Subtype /TrueType /BaseFont /A /ToUnicode 6 0 R /FontDescriptor 7 0 R >>"
    text = _content(b"BT /F 9 Tf (abcd) Tj ET")
    outlines = (b"<< /Length 0 >>\n", b"\0\1\0\0")
    about = b"<< /Type /FontDescriptor /FontName /A /Flags 4 /FontFile2 8 0 R >>"
    page = b"/Resources << /Font << /F 5 0 R >> >>"
    return one_page(text, (font, None), _content(ranges), (about, None), outlines, page=page)


def _zeros() -> bytes:
    return one_page(_content(b"z" * 60_000_000 + b"~>", b"/Filter [/FlateDecode /ASCII85Decode] "))


def _operators(count: int) -> bytes:
    return one_page(_content(b"200 200 m 201 201 l S\n" * count, b"/Filter [/FlateDecode] "))


def _pictures() -> bytes:
    return one_page(_content(b"BI /W 1 /H 1 ID x " * 500_000))


def _boat(old: str, new: str) -> bytes:
    assert old in judge.SMALL
    return judge.SMALL.replace(old, new).encode()


def _areas() -> bytes:
    rows = "".join(f"    - {{name: a{n}, corners: [[{n}, 0], [{n}, 9], [{n + 5}, 9]]}}\n" for n in range(5000))
    return _boat("floor: {thickness: 14}\n", f"floor:\n  thickness: 14\n  keep_clear:\n{rows}")


def _laughs() -> bytes:
    lines = ["a0: &a0 [lol, lol, lol]", *(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 20))]
    return (judge.SMALL + "\n".join(lines)).encode()


def _picture(count: int) -> bytes:
    circle = b'<circle cx="1" cy="1" r="1" stroke="black" fill="none"/>\n'
    head = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
    return head + circle * count + b"</svg>"


_PROOF, _CHECK = ("proof", "--manifest", "MANIFEST"), ("check",)
FILES = (
    Hostile("forms that call one another ten times, twelve deep", ".pdf", _bomb, _PROOF),
    Hostile("500,000 pictures in the page's text without an end", ".pdf", _pictures, _PROOF),
    Hostile("a font that names 4,294,967,296 letters", ".pdf", _letters, _PROOF),
    Hostile("60 million times z, 240 MB when unpacked", ".pdf", _zeros, _PROOF),
    Hostile("70 MB of lines, 200 kB when packed", ".pdf", lambda: _operators(3_200_000), _PROOF),
    Hostile("aliases of aliases, 9^19 words", ".yaml", _laughs, _CHECK),
    Hostile("100,000 brackets, one in the other", ".yaml", lambda: b"boat: " + b"[" * 100_000, _CHECK),
    Hostile("a list of 2.6 million numbers, 7.9 MB", ".yaml", lambda: b"[%s1]" % (b"1, " * 2_600_000), _CHECK),
    Hostile("1e308 inches, and a number of 400 digits", ".yaml",
            lambda: _boat("spread: 60", "spread: 1e308 in").replace(b"[800]", b"[" + b"9" * 400 + b"]"), _CHECK),
    Hostile("5,000 areas to keep clear", ".yaml", _areas, _CHECK),
    Hostile("drill: 0.001", ".yaml",
            lambda: _boat("fixing:", "fittings: [{name: a, on: floor, at: [700, 0], pattern: {points: [[0, 0]]}, "
                                     "drill: 0.001}]\nfixing:"), _CHECK),
    Hostile("a picture of 800,000 circles, 45 MB", ".svg", lambda: _picture(800_000), _PROOF),
    Hostile("1 MB of lines, as many as are read", ".pdf", lambda: _operators(45_000), _PROOF),
    Hostile("a picture of 19,000 circles, as large as is read", ".svg", lambda: _picture(19_000), _PROOF),
)  # fmt: skip


class Cost(NamedTuple):
    """What an answer took: processor time, s; memory, MB; exit status; what was said first."""

    processor: float
    memory: int
    status: int
    said: str

    @property
    def wrong(self) -> bool:
        """Whether it is no answer in words, or costs too much."""
        words = self.said and "Traceback" not in self.said and self.status in (0, 1, 3)
        return not words or self.processor > PATIENCE or self.memory > MOST


def cost(hostile: Hostile, folder: Path) -> Cost:
    """Give a file to the program."""
    path = folder / f"plates{hostile.ending}"
    (folder / "manifest.json").write_bytes(judge.plates()["manifest.json"])
    if not (writer := os.fork()):  # else the memory that it takes to make the file would count for the program
        path.write_bytes(hostile.data())
        os._exit(0)
    os.waitpid(writer, 0)
    words = [word.replace("MANIFEST", str(folder / "manifest.json")) for word in hostile.words]
    with (folder / "said").open("wb") as said:
        command = [sys.executable, "-m", "templater", words[0], str(path), *words[1:]]
        run = subprocess.Popen(command, stdout=said, stderr=said, cwd=judge.ROOT)
        _, status, used = os.wait4(run.pid, 0)
        run.returncode = os.waitstatus_to_exitcode(status)
    lines = (folder / "said").read_text("utf-8", "replace").replace(f"{folder}/", "").splitlines()
    first = next((line for line in lines if line.endswith("]")), (lines or [""])[-1])
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss // 1024, run.returncode, first)


def hostile(count: int, _seed: int) -> tuple[int, int]:
    """Give the first files to the program, and print what each answer takes."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for one in FILES[:count]:
            start, taken = time.monotonic(), cost(one, Path(folder))
            wrong += taken.wrong
            row = (one.what, f"{taken.processor:.1f} s", f"{taken.memory} MB", taken.said[:160].replace("|", "/"))
            sys.stdout.write(f"| {' | '.join(row)} |\n")
            sys.stderr.write(f"{time.monotonic() - start:.0f} s by the clock\n")
    return len(FILES[:count]), wrong
