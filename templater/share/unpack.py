"""Take the texts out of a handover file. Attachments of a strange file are data only: limits first, names last."""

from __future__ import annotations

import hashlib
import io
import logging
import zlib
from dataclasses import dataclass
from typing import Any

from pypdf import PdfReader
from pypdf.errors import PyPdfError
from pypdf.generic import DictionaryObject, StreamObject

from templater.findings import Finding, TemplaterError
from templater.share.handover import DESCRIPTION, ROLES, Attached

# The library's own complaints would go to the terminal, beside our one line that says what to do.
logging.getLogger("pypdf").addHandler(logging.NullHandler())

#: Limits: bytes of the file, number of attachments, bytes of one when unpacked.
LARGEST_FILE = 256_000_000
MOST_ATTACHMENTS = 32
LARGEST_ATTACHMENT = 16_000_000


class HandoverError(TemplaterError):
    """A PDF is no handover file, or not a sound one."""


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What a handover file carries. ``others`` are bases, readings and the manifest; names are bare file names."""

    description: Attached
    others: tuple[Attached, ...]

    @property
    def all(self) -> tuple[Attached, ...]:
        """Every attachment, the description first."""
        return (self.description, *self.others)


def is_pdf(data: bytes) -> bool:
    """True if the bytes begin as a PDF does. Source: ISO 32000-2:2020, 7.5.2; readers allow 1024 bytes before it."""
    return b"%PDF-" in data[:1024]


def unpack(data: bytes, file: str) -> Unpacked:
    """Return the attachments of a handover file.

    Args:
        data: the PDF.
        file: what findings call it.

    Raises:
        HandoverError: one clear line for whatever is wrong with it.
    """
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
            NotImplementedError, AssertionError, zlib.error) as fault:  # fmt: skip
        raise _fault(file, f"cannot be read as PDF ({_first_line(fault)}) - ask the giver for it again") from None
    descriptions = [item for item in found if item.role == DESCRIPTION]
    if not descriptions:
        raise _fault(file, "carries no description - give a file written by templater handover")
    if len(descriptions) > 1:
        names = ", ".join(item.name for item in descriptions)
        raise _fault(file, f"carries {len(descriptions)} descriptions ({names}) - exactly one is allowed")
    doubled = sorted({item.name for item in found if sum(other.name == item.name for other in found) > 1})
    if doubled:
        raise _fault(file, f"carries more than one file named {', '.join(doubled)} - each name may stand once")
    return Unpacked(descriptions[0], tuple(item for item in found if item.role != DESCRIPTION))


def _fault(file: str, text: str) -> HandoverError:
    return HandoverError(Finding("D195", "", f"{file}: {text}"))


def _first_line(fault: Exception) -> str:
    lines = str(fault).splitlines()
    return (lines[0] if lines else type(fault).__name__)[:120]


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
    filters = embedded.get("/Filter", [])
    filters = [filters] if isinstance(filters, str) else list(filters)
    raw = bytes(embedded._data)
    if not filters:
        data = raw
    elif [str(one) for one in filters] == ["/FlateDecode"] and "/DecodeParms" not in embedded:
        unpacker = zlib.decompressobj()
        data = unpacker.decompress(raw, LARGEST_ATTACHMENT + 1)
        if not unpacker.eof and len(data) <= LARGEST_ATTACHMENT:
            raise _fault(file, f"attachment {name!r} breaks off - ask the giver for the file again")
    else:
        raise _fault(file, f"attachment {name!r} is packed as {filters} - only FlateDecode is read")
    if len(data) > LARGEST_ATTACHMENT:
        raise _fault(file, f"attachment {name!r} unpacks to over {LARGEST_ATTACHMENT} bytes - it is refused")
    parameters = embedded.get("/Params")
    stated = parameters.get_object().get("/CheckSum") if parameters is not None else None
    if stated is not None and stated.original_bytes != hashlib.md5(data, usedforsecurity=False).digest():
        raise _fault(file, f"attachment {name!r} is not what was put in: its check sum differs - ask the giver again")
    return data
