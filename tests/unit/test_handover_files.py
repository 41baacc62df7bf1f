"""The handover file: what goes in comes out byte for byte, and a hostile file gets one clear line."""

import hashlib
import io
import subprocess
import zlib
from pathlib import Path

import pikepdf
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, ByteStringObject, DictionaryObject, NameObject, StreamObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas

from templater.share.handover import BASE, DESCRIPTION, MANIFEST, Attached, HandoverError, Part, assemble, unpack

YAML = "boat: Whinchat 3  # a comment, and a letter that is not ASCII: ø\r\nunits: mm\n".encode()


def page(text: str) -> bytes:
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=0)
    canvas.drawString(100, 100, text)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def good() -> bytes:
    return assemble(
        [Part("Cover", page("cover")), Part("Floor", page("floor"))],
        [Attached("whinchat-3.yaml", YAML, DESCRIPTION), Attached("manifest.json", b"{}", MANIFEST)],
        title="Whinchat 3",
        program="templater 0",
    )


def hostile(attachments: list[tuple[str, bytes, str]], raw: bytes | None = None) -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    listed = ArrayObject()
    for name, data, role in attachments:
        stream = StreamObject()
        stream._data = zlib.compress(data) if raw is None else raw
        stream[NameObject("/Filter")] = NameObject("/FlateDecode")
        digest = ByteStringObject(hashlib.md5(data, usedforsecurity=False).digest())
        stream[NameObject("/Params")] = DictionaryObject({NameObject("/CheckSum"): digest})
        spec = DictionaryObject(
            {
                NameObject("/Type"): NameObject("/Filespec"),
                NameObject("/UF"): TextStringObject(name),
                NameObject("/Desc"): TextStringObject(role),
                NameObject("/EF"): DictionaryObject({NameObject("/F"): writer._add_object(stream)}),
            }
        )
        listed.append(writer._add_object(spec))
    writer.root_object[NameObject("/AF")] = listed
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def only_line(fault: pytest.ExceptionInfo[HandoverError]) -> str:
    assert len(fault.value.findings) == 1
    line = fault.value.findings[0].line()
    assert "\n" not in line
    return line


def test_texts_come_back_byte_for_byte() -> None:
    unpacked = unpack(good(), "friend.pdf")
    assert unpacked.description == Attached("whinchat-3.yaml", YAML, DESCRIPTION)
    assert [item.name for item in unpacked.others] == ["manifest.json"]


def test_same_parts_give_the_same_bytes() -> None:
    assert good() == good()


def test_bookmarks_and_pages_in_order() -> None:
    reader = PdfReader(io.BytesIO(good()))
    assert [entry.title for entry in reader.outline] == ["Cover", "Floor"]
    assert ["cover" in reader.pages[0].extract_text(), "floor" in reader.pages[1].extract_text()] == [True, True]


def test_another_family_of_reader_finds_the_attachment_as_source() -> None:
    # Outside check: pikepdf (on qpdf). Keys after ISO 32000-2:2020, 7.11.3 and 14.13.
    with pikepdf.open(io.BytesIO(good())) as pdf:
        assert pdf.attachments["whinchat-3.yaml"].get_file().read_bytes() == YAML
        specification = pdf.Root.AF[1]
        assert str(specification.UF) == "whinchat-3.yaml"
        assert specification.AFRelationship == "/Source"
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"


def test_pdfdetach_saves_the_same_bytes(tmp_path: Path) -> None:
    # Outside check: pdfdetach (poppler).
    (tmp_path / "friend.pdf").write_bytes(good())
    subprocess.run(["pdfdetach", "-saveall", "-o", ".", "friend.pdf"], cwd=tmp_path, check=True, capture_output=True)
    assert (tmp_path / "whinchat-3.yaml").read_bytes() == YAML


@pytest.mark.parametrize(
    "name", ["../../x", "/etc/x", "..", "a/b.yaml", "a\\b.yaml", "c:x", "x\ny", " x", "", ".x.", "a" * 200]
)
def test_a_name_that_is_no_plain_file_name_is_refused(name: str) -> None:
    with pytest.raises(HandoverError) as fault:
        unpack(hostile([(name, YAML, DESCRIPTION)]), "friend.pdf")
    assert "plain file names" in only_line(fault)


def test_a_zero_bomb_is_refused_without_unpacking_it() -> None:
    packer = zlib.compressobj(9)
    block = bytes(1_000_000)
    raw = b"".join([*(packer.compress(block) for _ in range(100)), packer.flush()])  # a hundred million zeros
    assert len(raw) < 200_000
    with pytest.raises(HandoverError) as fault:
        unpack(hostile([("boat.yaml", b"", DESCRIPTION)], raw), "friend.pdf")
    assert "unpacks to over 50000000 bytes" in only_line(fault)


def test_two_descriptions_are_refused_by_name() -> None:
    with pytest.raises(HandoverError) as fault:
        unpack(hostile([("a.yaml", YAML, DESCRIPTION), ("b.yaml", YAML, DESCRIPTION)]), "friend.pdf")
    assert "2 descriptions (a.yaml, b.yaml)" in only_line(fault)


def test_two_files_of_one_name_are_refused() -> None:
    with pytest.raises(HandoverError) as fault:
        unpack(hostile([("a.yaml", YAML, DESCRIPTION), ("a.yaml", YAML, BASE)]), "friend.pdf")
    assert "more than one file named a.yaml" in only_line(fault)


def test_a_pdf_without_a_description_is_refused() -> None:
    with pytest.raises(HandoverError) as fault:
        unpack(page("nothing inside"), "friend.pdf")
    assert "carries no description" in only_line(fault)


def test_an_encrypted_file_is_refused() -> None:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(good())))
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    with pytest.raises(HandoverError) as fault:
        unpack(out.getvalue(), "friend.pdf")
    assert "is encrypted" in only_line(fault)


@pytest.mark.parametrize("cut", [20, 400, 1000, 2000])
def test_a_broken_file_gives_one_line(cut: int) -> None:
    data = good()
    broken = data[:cut] + b"garbage" + data[cut + 300 :]
    findings: tuple[object, ...] = ()
    try:
        got = unpack(broken, "friend.pdf").description.data
    except HandoverError as fault:
        findings = fault.findings
        got = YAML  # what was hit was not taken
    assert got == YAML  # a reader may mend what was not hit, but never take something else
    assert len(findings) <= 1


def test_a_broken_cross_reference_and_no_trailer_gives_one_line() -> None:
    data = good()
    broken = data[: data.rindex(b"xref") - 200].replace(b"endobj", b"endxxx")
    with pytest.raises(HandoverError) as fault:
        unpack(broken, "friend.pdf")
    assert "friend.pdf" in only_line(fault)


def test_an_attachment_that_breaks_off_is_refused() -> None:
    packed = zlib.compress(YAML * 50)
    with pytest.raises(HandoverError) as fault:
        unpack(hostile([("boat.yaml", b"", DESCRIPTION)], packed[: len(packed) - 6]), "friend.pdf")
    assert "breaks off" in only_line(fault)


@pytest.mark.parametrize("dropped", [False, True])
def test_an_attachment_that_was_changed_on_the_way_is_refused(dropped: bool) -> None:
    # Another program puts other bytes in, and leaves the check sum (ISO 32000-2:2020, table 45) as it was or drops it.
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(good())) as pdf:
        for spec in pdf.Root.AF:
            if str(spec.UF) == "whinchat-3.yaml":
                spec.EF.F.write(YAML.replace(b"Whinchat 3", b"Whinchat 8"))
                if dropped:
                    del spec.EF.F.Params
        pdf.save(out)
    with pytest.raises(HandoverError) as fault:
        unpack(out.getvalue(), "friend.pdf")
    assert "check sum differs" in only_line(fault)


def test_a_file_that_another_program_saved_again_still_serves() -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(good())) as pdf:
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.generate, linearize=True)
    assert unpack(out.getvalue(), "friend.pdf").description.data == YAML
