"""PDF to strokes in mm of the page as a viewer shows it, page by page.

Page attributes after ISO 32000-1:2008, 7.7.3.3 (boxes, Rotate, UserUnit) and 8.3.2.3 (user space: 1/72 inch).
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from pypdf import PdfReader
from pypdf.errors import DependencyError, PyPdfError
from pypdf.filters import decode_stream_data
from pypdf.generic import ArrayObject, DictionaryObject, EncodedStreamObject, NullObject, StreamObject

from templater.findings import Finding, ProofError
from templater.plane.shapes import Affine
from templater.proof.content_stream import Strokes
from templater.proof.letters import letters_of
from templater.proof.marks import PageMarks

#: PDF user units in an inch; a literal of proof's own, so that a wrong factor elsewhere cannot cancel itself.
#: Source: ISO 32000-1:2008, 8.3.2.3.
_UNITS_PER_INCH = 72.0
#: mm in an inch. Source: International yard and pound agreement of 1959.
_MM_PER_INCH = 25.4
_SPACES = re.compile(r"\s+")
_BROKEN = (PyPdfError, ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError, OverflowError,
           NotImplementedError, AssertionError, EOFError, OSError, ImportError)  # fmt: skip


def read_pdf(data: bytes, name: str) -> Iterator[PageMarks]:
    """Yield the strokes of every page, one page at a time.

    Args:
        data: the file.
        name: of the file, for messages.

    Raises:
        ProofError: Q103, it cannot be read as PDF; Q104, it is encrypted.
    """
    with _listening() as heard:
        try:
            reader = PdfReader(io.BytesIO(data), strict=False)
            if reader.is_encrypted:
                raise _encrypted(name)
            pages = list(reader.pages)
        except DependencyError as fault:  # raised for ciphers that the PDF library cannot undo by itself
            raise _encrypted(name) from fault
        except _BROKEN as fault:
            raise _unreadable(name, fault) from fault
    if not pages:
        raise _fault("Q103", name, "cannot be read as PDF: it has no pages")
    letters: dict[int, Any] = {}
    early = tuple(heard)
    for page in pages:
        with _listening() as heard:
            try:
                marks = _page(page, letters)
            except _BROKEN as fault:
                raise _unreadable(name, fault) from fault
        yield replace(marks, warnings=(*early, *heard))
        early = ()


def _page(page: Any, letters: dict[int, Any]) -> PageMarks:
    """Return the page's marks; what cannot be made out is logged like the library's own warnings."""
    size, base, turned = _visible(page)
    strokes = Strokes()
    texts: list[str] = []

    def run(data: bytes, resources: Any, ctm: Affine, depth: int) -> None:
        def draw(form: bytes, at: Affine, deeper: int) -> None:
            item = _entry(_entry(resources, "/XObject"), "/" + form.decode("latin-1"))
            if isinstance(item, StreamObject) and item.get("/Subtype") == "/Form":
                matrix = [float(value) for value in item.get("/Matrix", (1, 0, 0, 1, 0, 0))]
                inner = Affine(*matrix).compose(at)
                run(item.get_data(), _entry(item, "/Resources") or resources, inner, deeper)

        def show(font: bytes, codes: bytes) -> None:
            found = _entry(_entry(resources, "/Font"), "/" + font.decode("latin-1"))
            if found is None:
                return
            if id(found) not in letters:
                letters[id(found)] = (letters_of(found), found)  # holding the font keeps its id from being given again
            texts.append(letters[id(found)][0](codes))

        strokes.read(data, ctm, draw, show, depth)

    run(_contents(page), _entry(page, "/Resources"), base, 0)
    for warning in dict.fromkeys(strokes.warnings):
        logging.getLogger("pypdf").warning(warning)
    text = _SPACES.sub("", "".join(texts))
    return PageMarks(size, tuple(strokes.segments), tuple(strokes.bends), tuple(strokes.polygons), text, turned)


def _entry(holder: Any, key: str) -> Any:
    """Return a dictionary's entry with references followed; None if there is none."""
    if not isinstance(holder, DictionaryObject):
        return None
    found = holder.get(key)
    found = found.get_object() if found is not None else None
    return None if isinstance(found, NullObject) else found


def _contents(page: Any) -> bytes:
    """Return the page's content streams joined as one. Source: ISO 32000-1:2008, table 30, Contents."""
    found = _entry(page, "/Contents")
    if isinstance(found, ArrayObject):
        return b"\n".join(_decoded(part.get_object()) for part in found)
    return _decoded(found) if isinstance(found, StreamObject) else b""


def _decoded(stream: StreamObject) -> bytes:
    """Return a page's stream decoded, without the library keeping it: it would keep every page's."""
    if not isinstance(stream, EncodedStreamObject):
        return bytes(stream.get_data())
    return bytes(decode_stream_data(stream))


def _visible(page: Any) -> tuple[tuple[float, float], Affine, int]:
    """Return size in mm, the map from user space to the visible page's mm, and quarter turns clockwise."""
    media = [float(value) for value in page.mediabox]
    crop = [float(value) for value in page.cropbox]
    mx0, mx1 = sorted((media[0], media[2]))
    my0, my1 = sorted((media[1], media[3]))
    cx0, cx1 = sorted((crop[0], crop[2]))
    cy0, cy1 = sorted((crop[1], crop[3]))
    x0, x1, y0, y1 = max(mx0, cx0), min(mx1, cx1), max(my0, cy0), min(my1, cy1)
    mm = float(page.get("/UserUnit", 1)) * _MM_PER_INCH / _UNITS_PER_INCH
    turned = int(page.rotation or 0) // 90 % 4
    wide, high = (x1 - x0) * mm, (y1 - y0) * mm
    base = Affine(*(
        (mm, 0.0, 0.0, mm, -x0 * mm, -y0 * mm),
        (0.0, -mm, mm, 0.0, -y0 * mm, x1 * mm),
        (-mm, 0.0, 0.0, -mm, x1 * mm, y1 * mm),
        (0.0, mm, -mm, 0.0, y1 * mm, -x0 * mm),
    )[turned])
    return ((high, wide) if turned % 2 else (wide, high)), base, turned


class _Ear(logging.Handler):
    """Hears what the PDF library complains of."""

    def __init__(self, heard: list[str]) -> None:
        super().__init__(logging.WARNING)
        self._heard = heard

    def emit(self, record: logging.LogRecord) -> None:
        message = _SPACES.sub(" ", record.getMessage())
        if message not in self._heard:
            self._heard.append(message)


@contextmanager
def _listening() -> Iterator[list[str]]:
    """Collect the PDF library's warnings, which it gives to the logger of its name."""
    heard: list[str] = []
    ear = _Ear(heard)
    logger = logging.getLogger("pypdf")
    before = logger.propagate
    logger.addHandler(ear)
    logger.propagate = False
    try:
        yield heard
    finally:
        logger.removeHandler(ear)
        logger.propagate = before


def _fault(code: str, name: str, text: str) -> ProofError:
    return ProofError(Finding(code, name, text))


def _encrypted(name: str) -> ProofError:
    return _fault("Q104", name, "encrypted: save it without a password and prove it again")


def _unreadable(name: str, fault: BaseException) -> ProofError:
    reason = _SPACES.sub(" ", str(fault)).strip() or type(fault).__name__
    return _fault("Q103", name, f"cannot be read as PDF: {reason[:200]}")
