"""Tiles to PDF, one page each, at 1:1.

Every print dialogue is told not to scale (PrintScaling, PDF 1.6), but may not listen: the bars on each page tell.
UserUnit is left out, since viewers differ over it. Same tiles, same bytes.
"""

import io
import re
from collections.abc import Callable, Iterable
from functools import cache, lru_cache, partial
from itertools import islice
from struct import iter_unpack, unpack_from
from typing import Any, BinaryIO
from zlib import compressobj

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc, pdfmetrics, ttfonts
from reportlab.pdfbase.ttfonts import TTFont, TTFontFace
from reportlab.pdfgen.canvas import Canvas

from templater.drawing import marks as kinds
from templater.paper.tiles import Tile, TitleData
from templater.plane.shapes import Point, bezier_arc
from templater.standards.typeface import FAMILY, check_letters, font_bytes
from templater.units import POINTS_PER_MM as MM

#: Encodes text in a face: (text, bold) to pieces of (font name, codes in hex).
Encoder = Callable[[str, bool], list[tuple[str, str]]]


class Content:
    """The content stream of one page, built mark by mark; state operators only where the state changes."""

    def __init__(self, encode: Encoder) -> None:
        self._encode = encode
        self._state: tuple[kinds.Pen, float] | None = None
        self.lines = ["0 J"]

    def add(self, marks: Iterable[kinds.Mark]) -> None:
        """Add marks in page mm, in their order."""
        for mark in marks:
            if isinstance(mark, kinds.Text):
                self._text(mark)
                continue
            if not (isinstance(mark, kinds.Polyline) and mark.filled):
                self._pen(mark.pen, mark.phase if isinstance(mark, kinds.Line) else 0.0)
            if isinstance(mark, kinds.Line | kinds.Cross):
                arms = mark.arms if isinstance(mark, kinds.Cross) else ((mark.a, mark.b),)
                self.lines += (f"{_at(a)} m {_at(b)} l S" for a, b in arms)
            elif isinstance(mark, kinds.Circle):
                x, y, radius = mark.centre[0] * MM, mark.centre[1] * MM, mark.diameter / 2 * MM
                self._path((x + radius, y), bezier_arc((x, y), radius, 0.0, 360.0)[1], "s", 1.0)
            elif isinstance(mark, kinds.Arc):
                self._path(*bezier_arc(mark.centre, mark.radius, mark.start, mark.end), "S")
            elif isinstance(mark, kinds.Curve):
                self._path(mark.start, mark.pieces, "s")
            elif mark.bulges:
                self.add(kinds.pieces(mark))
            else:
                paint = "f" if mark.filled else "s" if mark.closed else "S"
                sides = " ".join(f"{_at(point)} l" for point in mark.points[1:])
                self.lines.append(f"{_at(mark.points[0])} m {sides} {paint}")

    def _pen(self, pen: kinds.Pen, phase: float = 0.0) -> None:
        """Take up a pen: line width and dash pattern, ``phase`` mm of it used up already."""
        if not kinds.PATTERNS[pen]:
            phase = 0.0
        if self._state != (pen, phase):
            self._state = (pen, phase)
            dashes = " ".join(f"{length * MM:.4f}" for length in kinds.PATTERNS[pen])
            self.lines.append(f"{kinds.WIDTHS[pen] * MM:.4f} w [{dashes}] {phase * MM:.4f} d")

    def _path(self, start: Point, pieces: tuple[tuple[Point, Point, Point], ...], paint: str, unit: float = MM) -> None:
        bends = " ".join(f"{_at(a, unit)} {_at(b, unit)} {_at(c, unit)} c" for a, b, c in pieces)
        self.lines.append(f"{_at(start, unit)} m {bends} {paint}")

    def _text(self, mark: kinds.Text) -> None:
        cos, sin = mark.way
        shown = " ".join(
            f"{font} {mark.size * MM:.4f} Tf <{codes}> Tj" for font, codes in self._encode(mark.text, mark.bold)
        )
        # The font is chosen inside the text object, after the matrix, which is a turn and a place but no size.
        self.lines.append(f"BT {cos} {sin} {-sin} {cos} {_at(mark.start)} Tm {shown} ET")


def _at(point: Point, unit: float = MM) -> str:
    """Return a place in points; four decimals are 0.035 micrometre."""
    return f"{point[0] * unit:.4f} {point[1] * unit:.4f}"


#: Lines of a page compressed at a time: all as one would fill the memory.
_AT_A_TIME = 1000
#: First version of PDF with the key PrintScaling. Source: ISO 32000-1:2008, table 150.
_VERSION = (1, 6)
FACES = (FAMILY.replace(" ", ""), FAMILY.replace(" ", "") + "-Bold")
#: A date of issue that can stand in the document information; without one it carries the library's fixed day.
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def write_pdf(pages: Iterable[Tile], *, name: str, title: TitleData) -> bytes:
    """Return the file of ``pdf_parts``."""
    return b"".join(pdf_parts(pages, name=name, title=title))


class _Parts(list[bytes]):
    """What is written to it."""

    write = list.append


def pdf_parts(pages: Iterable[Tile], *, name: str, title: TitleData) -> list[bytes]:
    """Return the tiles, made one at a time, as one PDF file of a sheet; ``title`` goes into its properties.

    Raises DrawingError: S301, a text has a letter that the typeface lacks.
    """
    parts = _Parts()
    canvas = open_canvas(parts, f"{title.boat} - {name}", f"templater {title.program_version}", pdfVersion=_VERSION)
    canvas.setSubject(f"Description SHA-256 {title.description_sha256}, revision {title.revision or '-'}")
    canvas.setAuthor(title.drawn_by)
    if _DAY.fullmatch(title.date):
        day = f"D:{title.date.replace('-', '')}"
        canvas.setDateFormatter(lambda *_parts: day)
    canvas.setViewerPreference("Duplex", "Simplex")
    document: Any = vars(canvas)["_doc"]  # the library has no public way to a font's subsets, nor to a page's stream
    encode, resources = encoder(document), pdfdoc.PDFResourceDictionary()
    resources.basicFonts()  # what the library would make for every page anew
    resources.allProcs()
    for tile in pages:
        marks = tuple(tile.marks)
        check_letters(kinds.texts_of(marks), name)
        content = Content(encode)
        content.add(marks)
        canvas.setPageSize((tile.paper[0] * MM, tile.paper[1] * MM))
        show_page(canvas, content.lines).Resources = resources
    finish(canvas)
    vars(document).clear()  # its objects know it, so that it would stay with them
    return parts


class _PageStream(pdfdoc.PDFStream):
    """A page's lines compressed now and let go when they are written: pages that wait for that fill the memory."""

    _FILTERS = pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFArray([pdfdoc.PDFName("FlateDecode")])})

    def __init__(self, lines: Iterable[str]) -> None:
        pack, coming, packed, before = compressobj(), iter(lines), b"", ""
        while some := "\n".join(islice(coming, _AT_A_TIME)):
            packed += pack.compress(f"{before}{some}".encode())
            before = "\n"
        super().__init__(self._FILTERS, packed + pack.flush())

    def format(self, document: Any) -> bytes:
        written: bytes = super().format(document)
        self.content = None
        return written


def show_page(canvas: Canvas, lines: Iterable[str] | None = None) -> Any:
    """End a page, of lines of its own if they are given; return what the library has of it."""
    own = vars(canvas)
    drawn, own["_code"] = own["_code"], []
    canvas.showPage()
    page = own["_doc"].Pages.pages[-1]
    page.Contents, page.stream = _PageStream(lines or (own["_preamble"], *drawn, " \n")), None
    return page


def open_canvas(stream: BinaryIO | _Parts, title: str, creator: str, **options: Any) -> Canvas:
    """Return an empty document with its faces, not to be scaled in print; ``options`` are the library's own."""
    face: Any = register_faces()[0].fontName  # typed as a number in the library's stubs
    out: Any = stream  # the library only writes to it
    canvas = Canvas(out, invariant=1, pageCompression=1, initialFontName=face, **options)
    canvas.setTitle(title)
    canvas.setCreator(creator)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


class Face(TTFontFace):
    """The library's face with its tables read as wholes: letter by letter that takes longer than a sheet."""

    def extractInfo(self, charInfo: int = 1) -> None:  # noqa: N802, N803, ARG002 - the library's names
        """Read what the library reads. Source: OpenType, tables cmap (format 12), hhea, hmtx and loca (long)."""
        super().extractInfo(charInfo=0)
        face: Any = self  # untyped in the library's stubs
        scale, table = face._pdfScale, face.get_table
        (measured,) = unpack_from(">H", table("hhea"), 34)
        hmtx, more = table("hmtx"), self.numGlyphs - measured
        self.hmetrics = list(iter_unpack(">HH", hmtx[: 4 * measured]))
        last = scale(self.hmetrics[-1][0])  # scaled, as the library has it
        self.hmetrics += [(last, side) for side in unpack_from(f">{more}H", hmtx, 4 * measured)]
        self.glyphPos = list(unpack_from(f">{self.numGlyphs + 1}L", table("loca")))
        cmap = table("cmap")
        (start,) = unpack_from(">L", cmap, 8 * unpack_from(">H", cmap, 2)[0])  # of the last of its tables
        (count,) = unpack_from(">L", cmap, start + 12)
        self.charToGlyph = {}
        for first, end, glyph in iter_unpack(">LLL", cmap[start + 16 : start + 16 + 12 * count]):
            self.charToGlyph.update(zip(range(first, end + 1), range(glyph, glyph + end + 1 - first), strict=True))
        self.charToGlyph[0xA0] = self.charToGlyph[0x20]
        widths = [scale(width) for width, _ in self.hmetrics[:measured]] + [last] * more
        self.charWidths = {letter: widths[glyph] for letter, glyph in self.charToGlyph.items()}
        self.defaultWidth = widths[0]


@cache
def register_faces() -> tuple[TTFont, TTFont]:
    """Return the regular and the bold face, registered once under their own names."""
    library = vars(ttfonts)
    before, library["TTFontFace"] = library["TTFontFace"], Face
    try:
        # asciiReadable off: only the letters that are used are embedded, not the whole of ASCII with them.
        regular, bold = (
            TTFont(name, io.BytesIO(font_bytes(bold=heavy)), asciiReadable=False)
            for name, heavy in zip(FACES, (False, True), strict=True)
        )
    finally:
        library["TTFontFace"] = before
    pdfmetrics.registerFont(regular)
    pdfmetrics.registerFont(bold)
    return regular, bold


def drawer(canvas: Canvas) -> Callable[[Iterable[kinds.Mark], Point, float], None]:
    """Return what draws marks onto pages that somebody else lays out: their origin's place, page mm, and a scale."""
    encode = encoder(vars(canvas)["_doc"])

    def draw(marks: Iterable[kinds.Mark], at: Point, scale: float) -> None:
        content = Content(encode)
        content.add(marks)
        vars(canvas)["_code"] += [f"q {scale:.4f} 0 0 {scale:.4f} {_at(at)} cm", *content.lines, "Q"]

    return draw


class _File(pdfdoc.PDFFile):
    """A file whose objects go out one by one: the library would hold all of them, and then all as one."""

    def __init__(self, write: Callable[[bytes], Any], version: tuple[int, int]) -> None:
        super().__init__(version)
        write(b"".join(self.strings))
        self.strings.clear()
        self.write = write


def finish(canvas: Canvas) -> None:
    """Write the document that a canvas belongs to, its streams compressed but without text armour."""
    library, before, usual = vars(pdfdoc), rl_config.useA85, pdfdoc.PDFFile
    rl_config.useA85, library["PDFFile"] = 0, partial(_File, vars(canvas)["_filename"].write)
    try:
        canvas.save()
    finally:
        rl_config.useA85, library["PDFFile"] = before, usual


def encoder(document: Any) -> Encoder:
    """Return the function that encodes text in the document's font subsets, which grow as letters are used."""
    fonts = register_faces()
    name = cache(lambda font, subset: font.getSubsetInternalName(subset, document))

    @lru_cache(500)  # a letter keeps its place in the document's fonts
    def encode(text: str, bold: bool) -> list[tuple[str, str]]:
        font = fonts[bold]
        return [(name(font, subset), codes.hex()) for subset, codes in font.splitString(text, document)]

    return encode
