"""Reading and writing for the shell: within limits, a boat's files all together or not at all, profiles in a store."""

import argparse
import contextlib
import functools
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from templater.cli.apart import limited
from templater.description.load import Base, Source
from templater.findings import DescriptionError, Finding, Location, ReadingsError, TemplaterError
from templater.reader.faults import told
from templater.share.names import LARGEST_FILE, is_pdf, safe_name
from templater.units import MM

if TYPE_CHECKING:
    from templater.paper.printer import PrinterProfile
    from templater.pipeline.checked import Options
    from templater.share.handover import Unpacked

#: Bytes of the largest text that is read at all.
LARGEST_TEXT = 16_000_000
#: Places where files of this run stand by now, for whoever is stopped halfway.
WRITTEN: list[str] = []
_LEFT = re.compile(r"\.(.+)-(\d+)-[a-z0-9_]{8}\.(new|old)")


class FileError(TemplaterError):
    """A file cannot be read or written."""


def file_fault(path: Path | str, what: str, code: str = "D190") -> FileError:
    """Return the error for a file that cannot be read or written; ``what`` says why and what to do."""
    return FileError(Finding(code, "", f"{path}: {what}"))


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes; raises FileError if it cannot be read."""
    try:
        kind = path.stat()  # before it is opened: a pipe that nobody writes to would never open
        if not stat.S_ISREG(kind.st_mode):
            what = "a folder" if stat.S_ISDIR(kind.st_mode) else "no plain file"
            raise file_fault(path, f"is {what} - give the path of a file")
        if kind.st_size > LARGEST_FILE:
            raise file_fault(path, f"{kind.st_size} bytes - a file of at most {LARGEST_FILE} bytes is read")
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE)
    except FileNotFoundError:
        raise file_fault(path, "no such file - give the path of a description, as in configs/whinchat-3.yaml") from None
    except OSError as fault:
        raise file_fault(path, f"cannot be read ({fault.strerror})") from None


def read_text(path: Path) -> str:
    """Return a text file's text, without a byte order mark; raises FileError if it cannot be read or is no text."""
    return checked_text(read_bytes(path), str(path)).decode("utf-8-sig")


def checked_text(data: bytes, file: str) -> bytes:
    """Return the bytes of a text if they are UTF-8 and not too many; raises FileError if they are not."""
    if len(data) > LARGEST_TEXT:
        raise file_fault(file, f"{len(data)} bytes - a text of at most {LARGEST_TEXT} bytes is read")
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise file_fault(file, f"line {line} is not UTF-8 text - save the file as UTF-8") from None
    return data


def read_source(path: Path) -> Source:
    """Return a description from a YAML file, or from a handover PDF; raises FileError, or HandoverError if unsound."""
    data = read_bytes(path)
    if is_pdf(data, path.name):
        return _packed_source(data, str(path))
    return Source(checked_text(data, str(path)), str(path), _beside)


def unpack(data: bytes, file: str) -> "Unpacked":
    """Return what a handover PDF carries; raises HandoverError."""
    from templater.share.handover import HandoverError, unpack

    return limited(lambda: unpack(data, file), HandoverError, "D195", file)


def _packed_source(data: bytes, file: str) -> Source:
    """Return the description of a handover PDF; its bases are found inside it and nowhere else."""
    unpacked = unpack(data, file)
    inside = {item.name: item.data for item in unpacked.others}

    def find(name: str, where: Location) -> Base:
        bare = re.split(r"[/\\]", name)[-1]
        if bare not in inside:
            raise _no_base(name, where, "is not attached to the handover file")
        return _base(name, f"{file}/{bare}", inside[bare])

    name = f"{file}/{unpacked.description.name}"
    return Source(checked_text(unpacked.description.data, name), name, find, handed_over=True)


def _beside(name: str, where: Location) -> Base:
    """Return a base that lies beside the description which names it."""
    path = Path(where.file).parent / name
    try:
        return _base(name, str(path), read_bytes(path))
    except TemplaterError as fault:
        why = fault.findings[0].text.removeprefix(f"{path}: ")
        raise _no_base(name, where, f"cannot be read ({why.partition(' - ')[0]})") from None


def _base(name: str, file: str, data: bytes) -> Base:
    """Return a base from its file's bytes; one from a handover PDF has its own bases inside it."""
    if not is_pdf(data, name):
        return Base(name, file, checked_text(data, file))
    source = _packed_source(data, file)
    return Base(name, source.file, source.data, data, source.resolve)


def _no_base(name: str, where: Location, why: str) -> DescriptionError:
    return DescriptionError(told("D160", "based_on", "beside", MM, where, name=name, why=why))


def options_of(arguments: argparse.Namespace) -> "Options":
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


def stored_profile(folder: Path, name: str) -> "PrinterProfile":
    """Return a stored profile; raises ReadingsError if there is none of this name, or it is no sound profile."""
    from templater.paper.printer import load_profile

    path = folder / f"{safe_name(name)}.yaml"
    if not path.exists():
        known = ", ".join(sorted(one.stem for one in folder.glob("*.yaml"))) or "none"
        raise ReadingsError(told("T121", "print.printer", "stored", name=name, known=known))
    return load_profile(read_text(path), str(path))


def publish(
    folder: Path, files: Mapping[str, bytes | Iterable[bytes]], *, stale: Iterable[str] = ()
) -> tuple[str, ...]:
    """Make ``files`` appear in ``folder`` together or not at all; return the ``stale`` ones that stood there.

    Everything is written to a folder beside the target, which then changes places with it; what else is in the target
    stays as it was. Raises FileError if the files cannot be written; the target is then as it was.
    """
    gone = tuple(sorted(name for name in set(stale) - set(files) if (folder / name).is_file()))
    staging: Path | None = None
    try:
        target = Path(os.path.realpath(folder))  # a linked folder stays a link
        target.parent.mkdir(parents=True, exist_ok=True)
        _clear(target.parent)
        staging = Path(tempfile.mkdtemp(prefix=f".{target.name}-{os.getpid()}-", suffix=".new", dir=target.parent))
        standing = target.exists()
        staging.chmod(stat.S_IMODE(target.stat().st_mode) if standing else 0o755)
        for name, data in files.items():
            path = staging / name
            path.parent.mkdir(parents=True, exist_ok=True)
            _write(path, data)
        _sync(staging)
        if standing:
            _carry_over(target, staging, frozenset(files) | frozenset(stale))
        WRITTEN.append(str(folder))
        if standing:
            _exchange(staging, target)
        else:
            os.rename(staging, target)  # noqa: PTH104 - a rename that must not replace
        _sync(target.parent)
    except OSError as fault:
        if str(folder) in WRITTEN:
            WRITTEN.remove(str(folder))
        raise file_fault(folder, f"cannot be written ({fault.strerror}); nothing was changed", "D191") from None
    finally:
        if staging is not None:
            shutil.rmtree(staging, ignore_errors=True)
    return gone


def _write(path: Path, data: bytes | Iterable[bytes]) -> None:
    with path.open("wb") as stream:
        stream.writelines([data] if isinstance(data, bytes) else data)
        stream.flush()
        os.fsync(stream.fileno())


def _sync(folder: Path) -> None:
    """Have the names in a folder kept on the disk, where the system knows how."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _clear(parent: Path) -> None:
    """Remove what runs left behind whose process is gone; an old folder without a new one takes its place again."""
    for path in parent.iterdir():
        found = _LEFT.fullmatch(path.name)
        if found is None or not path.is_dir() or _alive(int(found[2])):
            continue
        inner = path / found[1]
        if found[3] == "old" and inner.is_dir() and not (parent / found[1]).exists():
            os.rename(inner, parent / found[1])  # noqa: PTH104
        shutil.rmtree(path, ignore_errors=True)


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except OSError as fault:
        return not isinstance(fault, ProcessLookupError)
    return True


def _carry_over(folder: Path, staging: Path, replaced: frozenset[str], above: str = "") -> None:
    """Put what the run does not replace into the new folder as well: the same files, not copies, where that can be."""
    for path in sorted(folder.iterdir()):
        other = staging / path.name
        if above + path.name in replaced and path.is_file():
            continue
        if path.is_symlink():
            other.symlink_to(os.readlink(path))  # noqa: PTH115 - the link's own words
        elif path.is_dir():
            other.mkdir(exist_ok=True)
            shutil.copystat(path, other)
            _carry_over(path, other, replaced, f"{above}{path.name}/")
        elif path.is_fifo():
            os.mkfifo(other, stat.S_IMODE(path.stat().st_mode))
        else:
            try:
                os.link(path, other)
            except FileExistsError:
                raise
            except OSError:
                shutil.copy2(path, other)


def _exchange(new: Path, old: Path) -> None:
    """Let two folders change names at once; on systems that cannot, one after the other by way of a third name."""
    import ctypes  # only where a folder is replaced

    with contextlib.suppress(OSError, AttributeError):
        call = ctypes.CDLL(None, use_errno=True).renameat2
        # AT_FDCWD and RENAME_EXCHANGE. Source: rename(2) of Linux.
        if call(-100, os.fsencode(new), -100, os.fsencode(old), 2) == 0:
            return
    aside = Path(tempfile.mkdtemp(prefix=f".{old.name}-{os.getpid()}-", suffix=".old", dir=old.parent))
    os.rename(old, aside / old.name)  # noqa: PTH104
    try:
        os.rename(new, old)  # noqa: PTH104
    except OSError:
        os.rename(aside / old.name, old)  # noqa: PTH104
        raise
    finally:
        if old.exists():  # else the third name holds the only copy
            shutil.rmtree(aside, ignore_errors=True)


def write_all(files: Mapping[Path, bytes], *, replace: bool = False) -> None:
    """Write files, all or none; raises FileError if one exists already, unless to ``replace``, or cannot be written."""
    staged: list[tuple[Path, Path]] = []  # each under a name of its own first
    path = Path()
    try:
        for path, data in files.items():
            if not replace and (path.exists() or path.is_symlink()):
                text = "exists already and is left as it is; nothing was written - choose another name"
                raise file_fault(path, text, "D192")
            if path.is_dir() or not path.name:
                raise file_fault(path, "is a folder - give the name of a file", "D191")
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix=f".{path.name[:100]}-", dir=path.parent)
            staged.append((Path(name), path))
            os.close(handle)
            _write(Path(name), data)
            Path(name).chmod(0o644)
        for path in files:
            WRITTEN.append(str(path))
            staged[0][0].replace(staged.pop(0)[1])
    except OSError as fault:
        raise file_fault(path, f"cannot be written ({fault.strerror})", "D191") from None
    finally:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)
