"""The shell's hands: files that appear together or not at all, and nothing of the builder's own touched."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from templater.cli.files import file_fault

#: Places where files of this run stand by now, for whoever is stopped halfway.
WRITTEN: list[str] = []
_LEFT = re.compile(r"\.(.+)-(\d+)-[a-z0-9_]{8}\.(new|old)")


def publish(folder: Path, files: Mapping[str, bytes], *, stale: Iterable[str] = ()) -> tuple[str, ...]:
    """Make ``files`` appear in ``folder`` together or not at all.

    Everything is written to a folder of its own beside the target, which then changes places with it. What else is in
    the target and not ``stale`` (the builder's own files, links and folders, records of the fit-up) stays as it was.
    Returns the names of the stale files that stood there and are gone.

    Raises:
        FileError: if the files cannot be written; the target is then as it was.
    """
    gone = tuple(sorted(name for name in set(stale) - set(files) if (folder / name).is_file()))
    staging: Path | None = None
    try:
        target = folder.resolve()  # a linked folder stays a link
        target.parent.mkdir(parents=True, exist_ok=True)
        _clear(target.parent)
        staging = Path(tempfile.mkdtemp(prefix=f".{target.name}-{os.getpid()}-", suffix=".new", dir=target.parent))
        staging.chmod(stat.S_IMODE(target.stat().st_mode) if target.exists() else 0o755)
        for name, data in files.items():
            path = staging / name
            path.parent.mkdir(parents=True, exist_ok=True)
            _write(path, data)
        _sync(staging)
        if target.exists():
            _carry_over(target, staging, frozenset(files) | frozenset(stale))
            WRITTEN.append(str(folder))
            _exchange(staging, target)
        else:
            WRITTEN.append(str(folder))
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


def _write(path: Path, data: bytes) -> None:
    with path.open("wb") as stream:
        stream.write(data)
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
    for path in parent.iterdir() if parent.is_dir() else ():
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
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _carry_over(folder: Path, staging: Path, replaced: frozenset[str]) -> None:
    """Put what the run does not replace into the new folder as well: the same files, not copies, where that can be."""
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        other = staging / name
        if name in replaced and path.is_file():
            continue
        if path.is_symlink():
            other.symlink_to(os.readlink(path))  # noqa: PTH115 - the link's own words
        elif path.is_dir():
            other.mkdir(exist_ok=True)
            shutil.copystat(path, other)
        elif path.is_fifo():
            os.mkfifo(other, stat.S_IMODE(path.stat().st_mode))
        else:
            try:
                os.link(path, other)
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


def write_one(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write one file whole or not at all; refuse to replace one unless told so. See ``write_all``."""
    write_all({path: data}, replace=replace)


def write_all(files: Mapping[Path, bytes], *, replace: bool = False) -> None:
    """Write files, all of them or none: each under a name of its own first.

    Raises:
        FileError: if one exists already, or cannot be written.
    """
    staged: list[tuple[Path, Path]] = []
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
