"""The parts of a job as one PDF with attachments, and what such a file carries: limits first, names last."""

import hashlib
import io
import logging
import zlib
from collections import Counter
from collections.abc import Sequence
from typing import Any, NamedTuple

from pypdf import PdfReader, PdfWriter
from pypdf.errors import PyPdfError
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)

from templater.findings import Finding, TemplaterError
from templater.share.names import LARGEST_FILE, is_pdf

# The library's own complaints would go to the terminal, beside our one line that says what to do.
logging.getLogger("pypdf").addHandler(logging.NullHandler())

#: What an attachment's description says of its role; the reader goes by these and never by file names.
DESCRIPTION = "templater description"
BASE = "templater base description"
READINGS = "templater readings"
MANIFEST = "templater manifest"
ROLES = (DESCRIPTION, BASE, READINGS, MANIFEST)
#: Most attachments that are read.
MOST_ATTACHMENTS = 32


class HandoverError(TemplaterError):
    """A PDF is no handover file, or not a sound one."""


class Part(NamedTuple):
    """One part of the file: its bookmark and its pages as PDF bytes."""

    title: str
    data: bytes


class Attached(NamedTuple):
    """A file carried inside: its name, bytes and role, one of ``ROLES``."""

    name: str
    data: bytes
    role: str


def assemble(parts: Sequence[Part], attached: Sequence[Attached], *, title: str, program: str) -> bytes:
    """Return one PDF of all parts, a bookmark each, with the files attached; same parts, same bytes."""
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.7"
    for part in parts:
        # Page content is copied as it stands: nothing is scaled, turned or compressed again.
        writer.append(PdfReader(io.BytesIO(part.data)), outline_item=part.title, import_outline=False)
    writer.add_metadata({"/Title": title, "/Creator": program, "/Producer": program})
    preferences = writer.create_viewer_preferences()
    preferences[NameObject("/PrintScaling")] = NameObject("/None")
    writer.page_mode = "/UseOutlines"
    if attached:
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
    names, associated = ArrayObject(), ArrayObject()
    for item in sorted(attached, key=lambda one: one.name.encode()):
        kind = "pdf" if item.data.startswith(b"%PDF-") else "json" if item.name.endswith(".json") else "yaml"
        digest = hashlib.md5(item.data, usedforsecurity=False).digest()
        stream = StreamObject()
        stream.set_data(item.data)
        stream.update(_dictionary(
            Type=NameObject("/EmbeddedFile"), Subtype=NameObject(f"/application#2F{kind}"),
            Params=_dictionary(Size=NumberObject(len(item.data)), CheckSum=ByteStringObject(digest)),
        ))  # fmt: skip
        embedded = writer._add_object(stream.flate_encode())
        specification = writer._add_object(_dictionary(
            Type=NameObject("/Filespec"), F=TextStringObject(item.name), UF=TextStringObject(item.name),
            Desc=TextStringObject(item.role), EF=_dictionary(F=embedded, UF=embedded),
            AFRelationship=NameObject("/Data" if item.role == MANIFEST else "/Source"),
        ))  # fmt: skip
        names.extend([TextStringObject(item.name), specification])
        associated.append(specification)
    tree = writer._add_object(_dictionary(Names=names))
    writer.root_object.update(_dictionary(AF=associated, Names=_dictionary(EmbeddedFiles=tree)))


def _dictionary(**entries: Any) -> DictionaryObject:
    return DictionaryObject({NameObject(f"/{key}"): value for key, value in entries.items()})


class Unpacked(NamedTuple):
    """What a handover file carries. ``others`` are bases, readings and the manifest; names are bare file names."""

    description: Attached
    others: tuple[Attached, ...]

    @property
    def all(self) -> tuple[Attached, ...]:
        """Every attachment, the description first."""
        return (self.description, *self.others)


def unpack(data: bytes, file: str) -> Unpacked:
    """Return the attachments of a handover file; raises HandoverError, one clear line that calls it ``file``."""
    if len(data) > LARGEST_FILE:
        raise _fault(file, f"{len(data)} bytes - a handover file of at most {LARGEST_FILE} bytes is read")
    if not is_pdf(data):
        raise _fault(file, "is no PDF - give a file written by templater handover")
    try:
        reader = PdfReader(io.BytesIO(data))
        if reader.is_encrypted:
            raise _fault(file, "is encrypted - ask the giver for one without a password")
        found = _attachments(reader, file)
    except TemplaterError:
        raise
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, IndexError, OSError, RecursionError,
            NotImplementedError, AssertionError, OverflowError, zlib.error) as fault:  # fmt: skip
        why = (str(fault).partition("\n")[0] or type(fault).__name__)[:120]
        raise _fault(file, f"cannot be read as PDF ({why}) - ask the giver for it again") from None
    descriptions = [item for item in found if item.role == DESCRIPTION]
    if not descriptions:
        raise _fault(file, "carries no description - give a file written by templater handover")
    if len(descriptions) > 1:
        names = ", ".join(item.name for item in descriptions)
        raise _fault(file, f"carries {len(descriptions)} descriptions ({names}) - exactly one is allowed")
    if doubled := sorted(name for name, count in Counter(item.name for item in found).items() if count > 1):
        raise _fault(file, f"carries more than one file named {', '.join(doubled)} - each name may stand once")
    return Unpacked(descriptions[0], tuple(item for item in found if item.role != DESCRIPTION))


def _fault(file: str, text: str) -> HandoverError:
    return HandoverError(Finding("D195", "", f"{file}: {text}"))


def _attachments(reader: PdfReader, file: str) -> list[Attached]:
    """Return the attachments that have one of our roles; others are left alone."""
    associated = reader.root_object.get("/AF")
    entries = associated.get_object() if associated is not None else []
    if not isinstance(entries, list):
        raise _fault(file, "its list of associated files is no list - ask the giver for it again")
    if len(entries) > MOST_ATTACHMENTS:
        raise _fault(file, f"carries {len(entries)} attachments - at most {MOST_ATTACHMENTS} are read")
    found = []
    for entry in entries:
        specification = entry.get_object()
        if not isinstance(specification, DictionaryObject):
            continue
        role = str(specification.get("/Desc", ""))
        if role in ROLES:
            name = str(specification.get("/UF", specification.get("/F", "")))
            found.append(Attached(_bare_name(name, file), _content(specification, name, file), role))
    return found


def _bare_name(name: str, file: str) -> str:
    """Return the name if it is a plain file name, which no path, drive or device is."""
    plain = name.strip()
    good = plain and len(plain) <= 120 and plain == name and plain.isprintable() and plain.strip(".") == plain
    if not good or any(letter in plain for letter in '/\\:*?"<>|'):
        raise _fault(file, f"an attachment is named {name[:80]!r} - only plain file names are taken, without folders")
    return plain


def _content(specification: DictionaryObject, name: str, file: str) -> bytes:
    """Return an attachment's bytes, never more than the limit however small it is packed."""
    embedded: Any = specification["/EF"]["/F"].get_object()  # type: ignore[index]
    if not isinstance(embedded, StreamObject):
        raise _fault(file, f"attachment {name!r} has no content - ask the giver for it again")
    filters, data = embedded.get("/Filter", []), bytes(embedded._data)
    filters = [filters] if isinstance(filters, str) else list(filters)
    if filters:
        if filters != ["/FlateDecode"] or "/DecodeParms" in embedded:
            raise _fault(file, f"attachment {name!r} is packed as {filters} - only FlateDecode is read")
        unpacker = zlib.decompressobj()
        data = unpacker.decompress(data, LARGEST_FILE + 1)
        if not unpacker.eof and len(data) <= LARGEST_FILE:
            raise _fault(file, f"attachment {name!r} breaks off - ask the giver for the file again")
    if len(data) > LARGEST_FILE:
        raise _fault(file, f"attachment {name!r} unpacks to over {LARGEST_FILE} bytes - it is refused")
    parameters = embedded.get("/Params")
    stated = parameters.get_object().get("/CheckSum") if parameters is not None else None
    if stated is None or stated.original_bytes != hashlib.md5(data, usedforsecurity=False).digest():
        raise _fault(file, f"attachment {name!r} is not what was put in: its check sum differs - ask the giver again")
    return data
