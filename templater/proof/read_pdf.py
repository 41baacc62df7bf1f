"""PDF to marks in mm of the page as a viewer shows it, page by page.

Page attributes after ISO 32000-1:2008, 7.7.3.3 (boxes, Rotate, UserUnit) and 8.3.2.3 (user space: 1/72 inch).
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from pypdf import PdfReader
from pypdf.errors import DependencyError, PyPdfError
from pypdf.filters import decode_stream_data
from pypdf.generic import ArrayObject, DictionaryObject, EncodedStreamObject, NullObject, StreamObject

from templater.findings import Finding, ProofError
from templater.plane.shapes import Affine
from templater.proof.content_stream import Font, Interpreter, Resources
from templater.proof.letters import letters_of
from templater.proof.marks import BLOT, Mark, PageMarks
from templater.proof.paths import Box

#: PDF user units in an inch; a literal of proof's own, so that a wrong factor elsewhere cannot cancel itself.
#: Source: ISO 32000-1:2008, 8.3.2.3.
_UNITS_PER_INCH = 72.0
#: mm in an inch. Source: International yard and pound agreement of 1959.
_MM_PER_INCH = 25.4
#: Flags of a note that is not printed: hidden, no view. Source: ISO 32000-1:2008, table 165.
_HIDDEN = 2
_SPACES = re.compile(r"\s+")
_BROKEN = (PyPdfError, ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError, OverflowError,
           NotImplementedError, AssertionError, EOFError, OSError, ImportError)  # fmt: skip


def read_pdf(data: bytes, name: str) -> Iterator[PageMarks]:
    """Yield the marks of every page, one page at a time.

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
    fonts: _Fonts = {}
    early = tuple(heard)
    for page in pages:
        with _listening() as heard:
            try:
                marks = _page(page, fonts)
            except _BROKEN as fault:
                raise _unreadable(name, fault) from fault
        yield marks._replace(complaints=(*early, *heard))
        early = ()


#: Fonts by identity; holding the font keeps its identity from being given again.
_Fonts = dict[int, tuple[Font, bool, Any]]


def _page(page: Any, fonts: _Fonts) -> PageMarks:
    """Return the page's marks."""
    size, base, turned = _visible(page)
    found = Interpreter()
    found.read(_contents(page), base, (0.0, 0.0, *size), _Named(_entry(page, "/Resources"), fonts))
    for note in [item.get_object() for item in _entry(page, "/Annots") or ()]:
        if not int(note.get("/F", 0)) & _HIDDEN and note.get("/Subtype") not in ("/Link", "/Popup"):
            x0, y0, x1, y1 = (float(value) for value in note.get("/Rect", (0, 0, 0, 0)))
            corners = tuple(base.apply(point) for point in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
            found.marks.append(Mark(BLOT, corners, what=f"note ({str(note.get('/Subtype', ''))[1:]})"))
    return PageMarks(size, tuple(found.marks), turned, unread=tuple(found.unread))


class _Named:
    """What a page or form has in its resources."""

    def __init__(self, resources: Any, fonts: _Fonts) -> None:
        self._resources = resources
        self._fonts = fonts

    def _find(self, kind: str, name: bytes) -> Any:
        return _entry(_entry(self._resources, kind), "/" + name.decode("latin-1"))

    def font(self, name: bytes) -> tuple[Font, bool]:
        found = self._find("/Font", name)
        if found is None:
            return (lambda codes: [("\ufffd", 0.0, False) for _ in codes]), False
        if id(found) not in self._fonts:
            drawn = found.get("/Subtype") == "/Type3"  # its letters are little drawings: anything may be in them
            letters: Font = (lambda codes: [("\ufffd", 0.0, False) for _ in codes]) if drawn else letters_of(found)
            self._fonts[id(found)] = (letters, "Bold" in str(found.get("/BaseFont", "")), found)
        return self._fonts[id(found)][:2]

    def form(self, name: bytes) -> tuple[bytes, Affine, Box | None, Resources, str] | str:
        found = self._find("/XObject", name)
        if not isinstance(found, StreamObject) or found.get("/Subtype") != "/Form":
            return "picture"
        a, b, c, d, e, f = (float(value) for value in found.get("/Matrix", (1, 0, 0, 1, 0, 0)))
        bounds = [float(value) for value in found.get("/BBox", ())]
        box = (bounds[0], bounds[1], bounds[2], bounds[3]) if len(bounds) == 4 else None
        own = _entry(found, "/Resources")
        inner = self if own is None else _Named(own, self._fonts)
        return found.get_data(), Affine(a, b, c, d, e, f), box, inner, "in a layer" if "/OC" in found else ""

    def state(self, name: bytes) -> str | None:
        found = self._find("/ExtGState", name)
        if found is None or {"/LW", "/LC", "/D", "/Font"} & set(found):
            return "in a state that cannot be told"
        plain = {"/CA": (1,), "/ca": (1,), "/SMask": ("/None",), "/BM": ("/Normal", "/Compatible")}
        said = {key: found[key] for key in plain if key in found}
        if any(value not in plain[key] for key, value in said.items()):
            return "transparent"
        return "" if said else None


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
    base = (
        Affine(mm, 0.0, 0.0, mm, -x0 * mm, -y0 * mm),
        Affine(0.0, -mm, mm, 0.0, -y0 * mm, x1 * mm),
        Affine(-mm, 0.0, 0.0, -mm, x1 * mm, y1 * mm),
        Affine(0.0, mm, -mm, 0.0, y1 * mm, -x0 * mm),
    )[turned]
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
