"""What proof says of a page has its code: a page is spoilt in one way, and that code is among the findings."""

import io
from collections.abc import Callable

import pytest
from proof_pages import PAPER, POINT, TRUE, Made, manifest, pdf
from pypdf import PageObject, PdfReader, PdfWriter, Transformation
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject, RectangleObject

from templater.findings import CATALOGUE
from templater.proof.prove import prove


def edited(change: Callable[[PageObject], object]) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf(TRUE))))
    change(writer.pages[0])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def content(change: Callable[[bytes], bytes]) -> Callable[[PageObject], None]:
    def rewrite(page: PageObject) -> None:
        stream = DecodedStreamObject()
        contents = page.get_contents()
        assert contents is not None
        stream.set_data(change(contents.get_data()))
        page[NameObject("/Contents")] = stream

    return rewrite


SPOILT: dict[str, Callable[[], bytes]] = {
    "Q108": lambda: edited(content(lambda data: data + b"\n/None sh\n")),  # a shading that the page does not have
    "Q110": lambda: pdf(Made(pages=("1-1",))),
    "Q111": lambda: pdf(Made(pages=("1-1", "1-1"))),
    "Q120": lambda: pdf(Made(leave_out=("P1",))),
    "Q121": lambda: pdf(Made(nudge={"P1": (0.1, 0.0)})),
    "Q122": lambda: edited(content(lambda data: b"1 0 0 RG\n" + data)),  # red lines
    "Q127": lambda: edited(content(lambda data: data + b"\nq 1 w 90 90 m 200 200 l S Q\n")),
    "Q131": lambda: edited(lambda page: page.rotate(90)),
    "Q132": lambda: pdf(Made(shift={"1-2": (-3.0, 1.0)})),
    "Q133": lambda: edited(
        lambda page: page.__setattr__("cropbox", RectangleObject((34, 0, PAPER[0] * POINT, PAPER[1] * POINT)))
    ),
    "Q134": lambda: edited(lambda page: page.add_transformation(Transformation().scale(-1, 1).translate(595, 0))),
    "Q136": lambda: pdf(Made(identity=False)),
    "Q138": lambda: edited(content(lambda data: data[data.index(b"BT") : data.rindex(b"ET") + 2])),
}


@pytest.mark.parametrize("code", SPOILT)
def test_a_spoilt_page_fires_the_code(code: str) -> None:
    found = prove({"floor.pdf": SPOILT[code]()}, manifest(), whole=False, as_written=False)
    fired = {finding.code: finding.severity for finding in found.findings}
    assert fired.get(code) in (CATALOGUE[code].severity, CATALOGUE[code].lighter), fired


def spoil_font(change: Callable[[DictionaryObject], object]) -> Callable[[PageObject], None]:
    """Change the descriptor of each of a page's fonts."""

    def spoil(page: PageObject) -> None:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            if "/FontDescriptor" in font.get_object():
                change(font.get_object()["/FontDescriptor"].get_object())

    return spoil


def damage(descriptor: DictionaryObject) -> None:
    program = descriptor["/FontFile2"].get_object()
    data = bytearray(program._data)
    data[len(data) // 2] ^= 1
    program._data = bytes(data)


def cut_off(descriptor: DictionaryObject) -> None:
    program = descriptor["/FontFile2"].get_object()
    program._data = program._data[:-200]


@pytest.mark.parametrize(
    "change",
    [lambda d: d.pop(NameObject("/FontFile2")), damage, cut_off, lambda d: d.pop(NameObject("/Flags"))],
    ids=["no outlines", "damaged outlines", "outlines cut off", "not symbolic"],
)
def test_letters_whose_outlines_a_viewer_cannot_show_are_not_taken_for_read(
    change: Callable[[DictionaryObject], object],
) -> None:
    found = prove({"floor.pdf": edited(spoil_font(change))}, manifest(), whole=False, as_written=False)
    assert not found.passed
    assert prove({"floor.pdf": edited(spoil_font(lambda descriptor: None))}, manifest(), as_written=False).passed
