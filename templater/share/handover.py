"""Put the parts of a job into one PDF, with bookmarks and attachments."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)

#: What an attachment's description says of its role; the reader goes by these and never by file names.
DESCRIPTION = "templater description"
BASE = "templater base description"
READINGS = "templater readings"
MANIFEST = "templater manifest"
ROLES = (DESCRIPTION, BASE, READINGS, MANIFEST)


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the file: its bookmark and its pages as PDF bytes."""

    title: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Attached:
    """A file carried inside: its name, bytes and role, one of ``ROLES``."""

    name: str
    data: bytes
    role: str


def assemble(parts: Sequence[Part], attached: Sequence[Attached], *, title: str, program: str) -> bytes:
    """Return one PDF of all parts in order, one bookmark a part, with the files attached.

    The same parts give the same bytes: no clock and no random identifier goes in.
    """
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.7"
    for part in parts:
        # Page content is copied as it stands: nothing is scaled, turned or compressed again.
        writer.append(PdfReader(io.BytesIO(part.data)), outline_item=part.title, import_outline=False)
    writer.add_metadata({"/Title": title, "/Creator": program, "/Producer": program})
    preferences = writer.create_viewer_preferences()
    preferences[NameObject("/PrintScaling")] = NameObject("/None")
    writer.page_mode = "/UseOutlines"
    _attach(writer, attached)
    content = b"".join([part.data for part in parts] + [item.data for item in attached])
    identifier = ByteStringObject(hashlib.md5(content, usedforsecurity=False).digest())
    writer._ID = ArrayObject([identifier, identifier])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def page_count(data: bytes) -> int:
    """Return how many pages a PDF has."""
    return len(PdfReader(io.BytesIO(data)).pages)


def _attach(writer: PdfWriter, attached: Sequence[Attached]) -> None:
    """Embed the files, listed by name (7.7.4) and associated with the document (14.13)."""
    names = ArrayObject()
    associated = ArrayObject()
    for item in sorted(attached, key=lambda one: one.name.encode()):
        stream = StreamObject()
        stream.set_data(item.data)
        if item.data.startswith(b"%PDF-"):
            kind = "application/pdf"
        else:
            kind = "application/json" if item.name.endswith(".json") else "application/yaml"
        stream.update(
            {
                NameObject("/Type"): NameObject("/EmbeddedFile"),
                NameObject("/Subtype"): NameObject("/" + kind.replace("/", "#2F")),
                NameObject("/Params"): DictionaryObject(
                    {
                        NameObject("/Size"): NumberObject(len(item.data)),
                        NameObject("/CheckSum"): ByteStringObject(
                            hashlib.md5(item.data, usedforsecurity=False).digest()
                        ),
                    }
                ),
            }
        )
        embedded = writer._add_object(stream.flate_encode())
        relation = "/Data" if item.role == MANIFEST else "/Source"
        specification = writer._add_object(
            DictionaryObject(
                {
                    NameObject("/Type"): NameObject("/Filespec"),
                    NameObject("/F"): TextStringObject(item.name),
                    NameObject("/UF"): TextStringObject(item.name),
                    NameObject("/Desc"): TextStringObject(item.role),
                    NameObject("/AFRelationship"): NameObject(relation),
                    NameObject("/EF"): DictionaryObject(
                        {NameObject("/F"): embedded, NameObject("/UF"): embedded}
                    ),
                }
            )
        )
        names.extend([TextStringObject(item.name), specification])
        associated.append(specification)
    if not attached:
        return
    root = writer.root_object
    root[NameObject("/AF")] = associated
    tree = DictionaryObject({NameObject("/Names"): names})
    root[NameObject("/Names")] = DictionaryObject({NameObject("/EmbeddedFiles"): writer._add_object(tree)})
