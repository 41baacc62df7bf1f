"""PDF to marks in mm of the page as a viewer shows it, page by page.

After ISO 32000-1:2008, 7.7.3.3 (boxes, Rotate, UserUnit), 8.3.2.3 (user space: 1/72 inch), 9.2.4, 9.7, 9.10 (fonts).
"""

from __future__ import annotations

import io
import logging
import math
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any, BinaryIO, NamedTuple

from pypdf import PdfReader
from pypdf.errors import DependencyError, PyPdfError
from pypdf.filters import decode_stream_data
from pypdf.generic import ArrayObject, DictionaryObject, EncodedStreamObject, IndirectObject, StreamObject

from templater.findings import Finding, ProofError
from templater.plane.shapes import Affine, Point, box_corners
from templater.proof.content_stream import MOST_FORMS, ContentStream, Font, State, entry, of_text
from templater.proof.marks import BLOT, MOST, Mark

#: PDF user units in an inch; a literal of proof's own, so that a wrong factor elsewhere cannot cancel itself.
#: Source: ISO 32000-1:2008, 8.3.2.3.
_UNITS_PER_INCH = 72.0
#: mm in an inch. Source: International yard and pound agreement of 1959.
_MM_PER_INCH = 25.4
#: Flags of a note that is not printed: hidden, no view. Source: ISO 32000-1:2008, table 165.
_HIDDEN = 2
#: Most letters that one font's map may name: a hostile one could name milliards.
_MOST = 70_000
#: Most pages and nodes that a file may have, and how deep they may lie.
_MOST_PAGES, _DEEPEST = 100_000, 100
#: What a page may have from a node above it. Source: ISO 32000-1:2008, table 30.
_INHERITED = ("/Resources", "/MediaBox", "/CropBox", "/Rotate")
#: Most bytes of a font's outlines, unpacked.
_LARGEST = 50_000_000
_BLOCK = re.compile(rb"begin(bfchar|bfrange)(.*?)end\1", re.DOTALL)
_TOKEN = re.compile(rb"<([0-9A-Fa-f]*)>|\[([^\]]*)\]")
_CODE_SPACE = re.compile(rb"begincodespacerange\s*<([0-9A-Fa-f]+)>")
_SPACES = re.compile(r"\s+")
_BROKEN = (PyPdfError, DependencyError, ArithmeticError, LookupError, ValueError, TypeError, AttributeError,
           RuntimeError, AssertionError, EOFError, OSError, ImportError, zlib.error)  # fmt: skip


class PageMarks(NamedTuple):
    """What one page shows, from the visible page's lower left corner, as a viewer shows it."""

    size: Point  # width and height of the visible page, mm
    marks: tuple[Mark, ...]  # in the order in which they are painted
    turned: int = 0  # quarter turns clockwise that a viewer makes
    complaints: tuple[str, ...] = ()  # of the library
    unread: tuple[str, ...] = ()  # what cannot be made out, so that nothing can be said of the page

    @property
    def text(self) -> str:
        """The page's letters in order, without any spaces."""
        return "".join(mark.words for mark in self.marks)


def read_pdf(data: bytes | BinaryIO, name: str, most: float = math.inf) -> Iterator[PageMarks]:
    """Yield the marks of every page of a file, one page at a time; ``name`` is for messages.

    ``most`` is how many bytes its pages may have when unpacked, those of a form each time that it is drawn.
    Raises ProofError: Q103, it cannot be read as PDF; Q104, it is encrypted.
    """
    fonts: dict[int, tuple[Font, Any]] = {}
    left = {"bytes": most, "forms": MOST_FORMS}
    with _reading(name) as early:
        try:
            # Buffered: the library would copy the bytes of what is in memory to tell how many there are.
            stream = io.BufferedReader(io.BytesIO(data)) if isinstance(data, bytes) else data
            reader = PdfReader(stream, strict=False)
            encrypted = reader.is_encrypted
        except DependencyError:  # for ciphers that the PDF library cannot undo by itself
            encrypted = True
        if encrypted:
            raise ProofError(Finding("Q104", name, "encrypted: save it without a password and prove it again"))
        pages = _pages(reader)
        if (page := next(pages, None)) is None:
            raise ValueError("it has no pages")
    while page is not None:
        with _reading(name) as heard:
            marks, page = _page(page, fonts, left), next(pages, None)
        yield marks._replace(complaints=(*early, *heard))
        early.clear()
    reader.close()  # its objects know it, so that it would stay with them


def _pages(reader: PdfReader) -> Iterator[DictionaryObject]:
    """Yield the pages with what they inherit, one at a time: those that the library makes fill the memory.

    Raises ValueError for a tree that is damaged, or larger than a sheet's; one that goes in circles is too deep.
    Source: ISO 32000-1:2008, 7.7.3.
    """
    count, nodes = 0, [(iter([reader.root_object.get("/Pages")]), dict[str, Any]())]
    while nodes:
        kids, above = nodes[-1]
        if (kid := next(kids, None)) is None:
            nodes.pop()
            continue
        node = kid.get_object()
        count += 1
        if count > _MOST_PAGES or len(nodes) > _DEEPEST:
            raise ValueError("its tree of pages is larger or deeper than a sheet's, or goes in circles")
        below = entry(node, "/Kids")
        if not isinstance(node, DictionaryObject) or not isinstance(below, ArrayObject | None):
            raise ValueError("its tree of pages is damaged")
        if (entry(node, "/Type") or ("/Page" if below is None else "/Pages")) == "/Page":
            if isinstance(kid, IndirectObject) and kid.idnum not in reader.xref_objStm:
                reader.resolved_objects.pop((kid.generation, kid.idnum), None)
            yield DictionaryObject({**above, **node})
        elif below is not None:
            nodes.append((iter(below), above | {key: node[key] for key in _INHERITED if key in node}))


def _page(page: Any, fonts: dict[int, tuple[Font, Any]], left: dict[str, float]) -> PageMarks:
    def letters(font: Any) -> Font:
        if id(font) not in fonts:  # the font is held, so that its identity is not given again
            fonts[id(font)] = (_letters_of(font) if _has_outlines(font) else _unknown, font)
        return fonts[id(font)][0]

    size, base, turned = _visible(page)
    found = ContentStream(State(base, (0.0, 0.0, *size)), entry(page, "/Resources"), letters, left)
    found.read(_contents(page))
    for note in [item.get_object() for item in entry(page, "/Annots") or ()]:
        if not int(note.get("/F", 0)) & _HIDDEN and note.get("/Subtype") not in ("/Link", "/Popup"):
            x0, y0, x1, y1 = map(float, note.get("/Rect", (0, 0, 0, 0)))
            corners = base.over(box_corners((x0, y0, x1, y1)))
            found.marks.append(Mark(BLOT, tuple(corners), what=f"note ({str(note.get('/Subtype', ''))[1:]})"))
    return PageMarks(size, tuple(found.marks), turned, unread=tuple(found.unread))


def _unknown(codes: bytes) -> list[tuple[str, float, bool]]:
    return [("\ufffd", 0.0, False)] * len(codes)


def _has_outlines(font: Any) -> bool:
    """Return whether the outlines of a font's letters are in the file, as written.

    Without them a viewer shows letters of its own; letters that are little drawings may show anything. Of a damaged
    stream the PDF reader takes what it can get, a viewer nothing: here the stream's own check sum decides.
    """
    below = entry(font, "/DescendantFonts")
    inner = below[0].get_object() if below else font
    descriptor = entry(inner, "/FontDescriptor")
    if entry(inner, "/BaseFont") != entry(descriptor, "/FontName"):  # that of another font: 9.8.1, table 122
        return False
    # Without an encoding only a font that is marked as symbolic shows its own letters: ISO 32000-1:2008, 9.6.6.4.
    plain = entry(font, "/Subtype") == "/TrueType" and entry(font, "/Encoding") is None
    if plain and not int(entry(descriptor, "/Flags") or 0) & 4:
        return False
    programs = [(kind, entry(descriptor, kind)) for kind in ("/FontFile", "/FontFile2", "/FontFile3")]
    for kind, program in programs:
        if isinstance(program, StreamObject):
            packed = zlib.decompressobj()
            if str(entry(program, "/Filter")).strip("[]'") != "/FlateDecode":
                data = program.get_data()
            elif not ((data := packed.decompress(program._data, _LARGEST)) and packed.eof):
                return False
            return kind != "/FontFile2" or data[:4] in (b"\0\1\0\0", b"true")
    return False


def _letters_of(font: Any) -> Font:
    """Return the function that turns the codes shown in a font into letters, their advance in em, and word spaces.

    Without a ToUnicode map a simple font's codes count as Latin-1 letters, and a composite font's as none.
    """
    stream = entry(font, "/ToUnicode")
    composite = entry(font, "/Subtype") == "/Type0"
    width = 2 if composite else 1
    table = {} if composite else {code: chr(code) for code in range(256)}
    if isinstance(stream, StreamObject):
        data = stream.get_data()
        if not composite and (space := _CODE_SPACE.search(data)):
            width = max(1, len(space[1]) // 2)
        table = _table(data)
    advances, usual = _widths(font, composite=composite)

    @cache
    def letter(code: int) -> tuple[str, float, bool]:
        said = table.get(code, "")
        return said if len(said) == 1 else "\ufffd", advances.get(code, usual) / 1000, width == 1 and code == 32

    def decode(codes: bytes) -> list[tuple[str, float, bool]]:
        split = (int.from_bytes(codes[i : i + width], "big") for i in range(0, len(codes), width))
        return [letter(code) for code in (codes if width == 1 else split)]

    return decode


def _widths(font: Any, *, composite: bool) -> tuple[dict[int, float], float]:
    """Return advances by code, in thousandths of the em, and that of any other code."""
    if not composite:
        listed = map(float, entry(font, "/Widths") or ())
        return dict(enumerate(listed, int(entry(font, "/FirstChar") or 0))), 0.0
    below = entry(font, "/DescendantFonts")[0].get_object()
    usual, widths = entry(below, "/DW"), dict[int, float]()
    items = iter([item.get_object() for item in entry(below, "/W") or ()])
    for code in items:
        first: int = int(code)
        last: Any = next(items, [])
        if isinstance(last, list):  # the widths of each code from the first on
            widths.update(enumerate(map(float, last), first))
        else:
            widths.update(dict.fromkeys(range(first, min(int(last), first + _MOST) + 1), float(next(items, ""))))
    return widths, 1000.0 if usual is None else float(usual)


def _table(data: bytes) -> dict[int, str]:
    table: dict[int, str] = {}
    for kind, body in _BLOCK.findall(data):
        tokens = _TOKEN.findall(b"".join(body.split()))
        if kind == b"bfchar":
            pairs = zip(tokens[::2], tokens[1::2], strict=False)
            table.update((int(code, 16), _text(text)) for (code, _), (text, _) in pairs)
            continue
        for (first, _), (last, _), (text, several) in zip(tokens[::3], tokens[1::3], tokens[2::3], strict=False):
            code, texts = int(first, 16), [_text(digits) for digits, _ in _TOKEN.findall(several)]
            if start := _text(text):
                count = min(int(last, 16) - code, 0xFFFF) + 1
                texts = [start[:-1] + chr(min(ord(start[-1]) + step, 0x10FFFF)) for step in range(count)]
            table.update(enumerate(texts, code))
            if len(table) > _MOST:
                raise ValueError("a font maps more letters than there are")
    return table


def _text(digits: bytes) -> str:
    raw = bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))
    return raw.decode("utf-16-be", "replace") if len(raw) > 1 else raw.decode("latin-1")


def _contents(page: Any) -> bytes:
    """Return the page's content streams joined as one. Source: ISO 32000-1:2008, table 30, Contents."""
    found = entry(page, "/Contents")
    parts = [part.get_object() for part in (found if isinstance(found, ArrayObject) else [found]) if part is not None]
    # Decoded without the library keeping it, nor the stream: it would keep every page's.
    for where in (one for part in parts if (one := getattr(part, "indirect_reference", None))):
        where.pdf.resolved_objects.pop((where.generation, where.idnum), None)
    return b"\n".join(
        bytes(decode_stream_data(part) if isinstance(part, EncodedStreamObject) else part.get_data())
        for part in map(of_text, parts)
    )


def _visible(page: Any) -> tuple[tuple[float, float], Affine, int]:
    """Return size in mm, the map from user space to the visible page's mm, and quarter turns clockwise."""
    media, crop = entry(page, "/MediaBox") or (), entry(page, "/CropBox")
    boxes = [[float(value.get_object()) for value in box] for box in (media, media if crop is None else crop)]
    if any(len(box) != 4 or not math.hypot(*box) < math.inf for box in boxes):
        raise ValueError("a page's box is not of four numbers")
    x0, y0 = (max(min(box[n], box[n + 2]) for box in boxes) for n in (0, 1))
    x1, y1 = (min(max(box[n], box[n + 2]) for box in boxes) for n in (0, 1))
    mm = float(page.get("/UserUnit", 1)) * _MM_PER_INCH / _UNITS_PER_INCH
    size, base = ((x1 - x0) * mm, (y1 - y0) * mm), Affine(mm, 0.0, 0.0, mm, -x0 * mm, -y0 * mm)
    if not math.hypot(*size) < MOST:
        raise ValueError("a page has no size")
    turned = int(entry(page, "/Rotate") or 0) // 90 % 4
    for _ in range(turned):
        size, base = size[::-1], base.compose(Affine(0.0, -1.0, 1.0, 0.0, 0.0, size[0]))
    return size, base, turned


class _Ear(logging.Handler):
    """Hears what the PDF library complains of, once each."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: dict[str, None] = {}

    def emit(self, record: logging.LogRecord) -> None:
        self.heard[_SPACES.sub(" ", record.getMessage())] = None


@contextmanager
def _reading(name: str) -> Iterator[dict[str, None]]:
    """Collect the PDF library's warnings, which it gives to the logger of its name, and put its errors in words."""
    ear, logger = _Ear(), logging.getLogger("pypdf")
    before = logger.propagate
    logger.addHandler(ear)
    logger.propagate = False
    try:
        yield ear.heard
    except _BROKEN as fault:
        reason = _SPACES.sub(" ", str(fault)).strip() or type(fault).__name__
        raise ProofError(Finding("Q103", name, f"cannot be read as PDF: {reason[:200]}")) from fault
    finally:
        logger.removeHandler(ear)
        logger.propagate = before
