"""The shell's eyes: texts and files read within limits, safe names, a description's bases, a run's options."""

from __future__ import annotations

import argparse
import functools
import os
import re
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from templater.cli.apart import limited
from templater.description.load import Base, Resolver, Source
from templater.findings import DescriptionError, Finding, Location, ReadingsError, TemplaterError
from templater.share.names import safe_name

if TYPE_CHECKING:
    from templater.paper.printer import PrinterProfile
    from templater.pipeline.checked import Options
    from templater.share.handover import Unpacked

#: Largest text and largest file that are read at all, bytes.
LARGEST_TEXT, LARGEST_FILE = 16_000_000, 50_000_000


class FileError(TemplaterError):
    """A file cannot be read or written."""


def file_fault(path: Path | str, what: str, code: str = "D190") -> FileError:
    """Return the error for a file that cannot be read or written; ``what`` says why and what to do."""
    return FileError(Finding(code, "", f"{path}: {what}"))


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes.

    Raises:
        FileError: if it cannot be read.
    """
    try:
        with path.open("rb") as stream:
            kind = os.fstat(stream.fileno())
            if not stat.S_ISREG(kind.st_mode):
                raise file_fault(path, "is no plain file - give the path of a file")
            if kind.st_size > LARGEST_FILE:
                raise file_fault(path, f"{kind.st_size} bytes - a file of at most {LARGEST_FILE} bytes is read")
            return stream.read(LARGEST_FILE)
    except FileNotFoundError:
        raise file_fault(path, "no such file - give the path of a description, as in configs/whinchat-3.yaml") from None
    except IsADirectoryError:
        raise file_fault(path, "is a folder - give the path of a file") from None
    except OSError as fault:
        raise file_fault(path, f"cannot be read ({fault.strerror})") from None


def read_text(path: Path) -> bytes:
    """Return a text file's bytes, see ``read_bytes`` and ``checked_text``."""
    return checked_text(read_bytes(path), str(path))


def checked_text(data: bytes, file: str) -> bytes:
    """Return the bytes of a text if they are UTF-8 and not too many.

    Raises:
        FileError: if they are not.
    """
    if len(data) > LARGEST_TEXT:
        raise file_fault(file, f"{len(data)} bytes - a text of at most {LARGEST_TEXT} bytes is read")
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise file_fault(file, f"line {line} is not UTF-8 text - save the file as UTF-8") from None
    return data


def read_source(path: Path) -> Source:
    """Return a description from a YAML file or from a handover PDF.

    Raises:
        FileError: if the file cannot be read.
        HandoverError: if it is a PDF but no sound handover file.
    """
    data = read_bytes(path)
    if _is_pdf(data, path.name):
        return _packed_source(data, str(path))
    return Source(checked_text(data, str(path)), str(path), _Bases().beside)


def _is_pdf(data: bytes, name: str) -> bool:
    return data[:5] == b"%PDF-" or name.lower().endswith(".pdf")


def unpack(data: bytes, file: str) -> Unpacked:
    """Return what a handover PDF carries; raises HandoverError."""
    from templater.share.handover import HandoverError, unpack

    return limited(lambda: unpack(data, file), HandoverError, "D195", file, len(data))


def _packed_source(data: bytes, file: str) -> Source:
    """Return the description of a handover PDF; its bases are found inside it and nowhere else."""
    unpacked = unpack(data, file)
    inside = {item.name: item.data for item in unpacked.others}
    name = f"{file}/{unpacked.description.name}"
    return Source(checked_text(unpacked.description.data, name), name, _Bases(file, inside).inside, handed_over=True)


class _Bases:
    """Finds the descriptions that others are based on, and remembers those that came in a handover PDF."""

    def __init__(self, file: str = "", inside: Mapping[str, bytes] | None = None) -> None:
        self._file = file
        self._inside = inside or {}
        self._packed: dict[str, Resolver] = {}

    def beside(self, name: str, where: Location) -> Base:
        """Return a base that lies beside the description which names it."""
        if where.file in self._packed:
            return self._below(name, where)
        path = Path(where.file).parent / name
        try:
            data = read_bytes(path)
            return self._base(name, str(path), data)
        except TemplaterError as fault:
            why = fault.findings[0].text.removeprefix(f"{path}: ")
            raise _no_base(name, where, f"cannot be read ({why.partition(' - ')[0]})") from None

    def inside(self, name: str, where: Location) -> Base:
        """Return a base that is attached to the handover PDF."""
        if where.file in self._packed:
            return self._below(name, where)
        bare = re.split(r"[/\\]", name)[-1]
        if bare not in self._inside:
            raise _no_base(name, where, "is not attached to the handover file")
        return self._base(name, f"{self._file}/{bare}", self._inside[bare])

    def _base(self, name: str, file: str, data: bytes) -> Base:
        if not _is_pdf(data, name):
            return Base(name, file, checked_text(data, file))
        source = _packed_source(data, file)
        assert source.resolve is not None
        self._packed[source.file] = source.resolve
        return Base(name, source.file, source.data, whole=data)

    def _below(self, name: str, where: Location) -> Base:
        """Return a base from within a handover PDF that was itself named as a base."""
        resolve = self._packed[where.file]
        base = resolve(name, where)
        self._packed[base.file] = resolve
        return Base(base.name, base.file, base.data, whole=b"")


def _no_base(name: str, where: Location, why: str) -> DescriptionError:
    text = f"{name}: {why} - name a description that lies beside this one"
    return DescriptionError(Finding("D160", "based_on", text, where))


def options_of(arguments: argparse.Namespace) -> Options:
    """Return the run's options from the command line."""
    from templater.pipeline.checked import Options

    return Options(
        paper=arguments.paper,
        only=tuple(getattr(arguments, "only", ())),
        tiles=tuple(getattr(arguments, "tile", ())),
        printer=getattr(arguments, "printer", None),
        profiles=functools.partial(stored_profile, store(arguments)),
    )


def store(arguments: argparse.Namespace) -> Path:
    """Return the folder of printer profiles: the option, else TEMPLATER_HOME, else a folder of the user's own."""
    chosen = getattr(arguments, "store", None)
    if chosen is not None:
        return Path(chosen)
    home = os.environ.get("TEMPLATER_HOME")
    try:
        return (Path(home) if home else Path.home() / ".templater") / "printers"
    except RuntimeError:
        raise file_fault("~", "you have no folder of your own here - set TEMPLATER_HOME to one") from None


def stored_profile(folder: Path, name: str) -> PrinterProfile:
    """Return a stored profile.

    Raises:
        ReadingsError: if there is none of this name, or it is no sound profile.
    """
    from templater.paper.printer import load_profile

    path = folder / f"{safe_name(name)}.yaml"
    if not path.exists():
        known = ", ".join(sorted(one.stem for one in folder.glob("*.yaml"))) if folder.is_dir() else ""
        text = (
            f"{name}: no profile of this printer - leave the name out, or store one with printer set; "
            f"stored: {known or 'none'}"
        )
        raise ReadingsError(Finding("T121", "print.printer", text))
    return load_profile(read_text(path).decode("utf-8-sig"), str(path))
