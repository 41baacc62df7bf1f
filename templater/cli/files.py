"""The shell's hands: reading texts, safe names, and files that appear together or not at all."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Iterable, Mapping
from pathlib import Path

from templater.description.source import Base, Resolver, Source
from templater.findings import DescriptionError, Finding, Location, TemplaterError

#: Names that one widely used system reserves for devices, whatever their ending.
_RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})
#: Letters that do not come apart into a Latin letter and its marks. Common practice, no source.
_SPELT = {
    "ß": "ss", "ø": "o", "æ": "ae", "đ": "d", "þ": "th", "ð": "d", "œ": "oe", "ł": "l", "ħ": "h", "ı": "i", "ŋ": "n",
    "а": "a", "б": "b", "в": "v", "г": "g", "д": "d", "е": "e", "з": "z", "и": "i", "й": "j", "к": "k", "л": "l",
    "м": "m", "н": "n", "о": "o", "п": "p", "р": "r", "с": "s", "т": "t", "у": "u", "ф": "f", "х": "h", "ы": "y",
    "э": "e", "і": "i", "ѕ": "s", "ґ": "g", "ж": "zh", "ц": "c", "ч": "ch", "ш": "sh", "щ": "shch", "ъ": "", "ь": "",
    "ю": "yu", "я": "ya", "ё": "e", "ї": "i", "є": "ye", "ђ": "d", "ј": "j", "љ": "lj", "њ": "nj", "ћ": "c",
    "џ": "dz",
    "α": "a", "β": "b", "γ": "g", "δ": "d", "ε": "e", "ζ": "z", "η": "i", "ι": "i", "κ": "k", "λ": "l", "μ": "m",
    "ν": "n", "ξ": "x", "ο": "o", "π": "p", "ρ": "r", "σ": "s", "ς": "s", "τ": "t", "υ": "y", "φ": "f", "ω": "o",
    "θ": "th", "χ": "ch", "ψ": "ps",
}  # fmt: skip
#: Largest text that is read at all, bytes.
LARGEST_TEXT = 16_000_000


class FileError(TemplaterError):
    """A file cannot be read or written."""


def file_fault(path: Path | str, what: str, code: str = "D190") -> FileError:
    """Return the error for a file that cannot be read or written; ``what`` says why and what to do."""
    return FileError(Finding(code, "", f"{path}: {what}"))


def safe_name(text: str) -> str:
    """Return a file name that every system takes: lower-case Latin letters, figures and hyphens.

    >>> safe_name("Whinchat 3"), safe_name("Łódź Żółw"), safe_name("Größe"), safe_name("лодка")
    ('whinchat-3', 'lodz-zolw', 'grosse', 'lodka')
    """
    plain = _spelt(_spelt(unicodedata.normalize("NFC", text.lower()), apart=True)).encode("ascii", "ignore").decode()
    name = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-")
    if not name:
        # A name in yet another script still needs a file name of its own: its code points serve.
        name = "-".join(f"{ord(letter):x}" for letter in text.strip() if not letter.isspace())[:60].strip("-") or "boat"
    return f"boat-{name}" if name in _RESERVED else name


def _spelt(text: str, *, apart: bool = False) -> str:
    """Return a text with letters spelt in Latin ones as far as the table has them, then taken ``apart`` from marks."""
    spelt = "".join(_SPELT.get(letter, letter) for letter in text)
    return unicodedata.normalize("NFKD", spelt) if apart else spelt


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes.

    Raises:
        FileError: if it cannot be read.
    """
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise file_fault(path, "no such file - give the path of a description, as in configs/whinchat-3.yaml") from None
    except IsADirectoryError:
        raise file_fault(path, "is a folder - give the path of a file") from None
    except OSError as fault:
        raise file_fault(path, f"cannot be read ({fault.strerror})") from None


def read_text(path: Path) -> bytes:
    """Return a text file's bytes, which are sure to be UTF-8, with or without a byte order mark.

    Raises:
        FileError: if it cannot be read, is too large or is not UTF-8.
    """
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


def _packed_source(data: bytes, file: str) -> Source:
    """Return the description of a handover PDF; its bases are found inside it and nowhere else."""
    from templater.share.unpack import unpack

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


def publish(folder: Path, files: Mapping[str, bytes], *, stale: Iterable[str] = ()) -> tuple[str, ...]:
    """Make ``files`` appear in ``folder`` together or not at all.

    Everything is written to a folder of its own beside the target, which then takes the target's place. Files of the
    target that are neither in ``files`` nor ``stale`` (the builder's own, records of the fit-up) are carried over.
    Returns the names of the stale files that stood there and are gone.

    Raises:
        FileError: if the files cannot be written; the target is then as it was.
    """
    parent = folder.parent
    gone = tuple(sorted(name for name in set(stale) - set(files) if (folder / name).is_file()))
    staging: Path | None = None
    old: Path | None = None
    try:
        parent.mkdir(parents=True, exist_ok=True)
        staging = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", suffix=".new", dir=parent))
        staging.chmod(0o755)
        for name, data in files.items():
            target = staging / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
        if folder.exists():
            _carry_over(folder, staging, frozenset(files) | frozenset(stale))
            old = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", suffix=".old", dir=parent))
            os.rename(folder, old / folder.name)  # noqa: PTH104 - a rename that must not replace
        try:
            os.rename(staging, folder)  # noqa: PTH104
        except OSError:
            if old is not None:
                os.rename(old / folder.name, folder)  # noqa: PTH104
            raise
    except OSError as fault:
        raise file_fault(folder, f"cannot be written ({fault.strerror}); nothing was changed", "D191") from None
    finally:
        if staging is not None:
            shutil.rmtree(staging, ignore_errors=True)
        if old is not None and folder.exists():  # else the old folder holds the only copy
            shutil.rmtree(old, ignore_errors=True)
    return gone


def _carry_over(folder: Path, staging: Path, replaced: frozenset[str]) -> None:
    """Copy what the run does not replace from the old folder into the new one."""
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and name not in replaced:
            target = staging / name
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, target)


def write_one(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write one file whole or not at all; refuse to replace one unless told so.

    Raises:
        FileError: if it stands there already or cannot be written.
    """
    if path.exists() and not replace:
        raise file_fault(path, "stands there already and is left as it is - choose another name", "D192")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as fault:
        raise file_fault(path, f"cannot be written ({fault.strerror})", "D191") from None
