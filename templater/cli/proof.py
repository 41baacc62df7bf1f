"""The command ``proof``: files read back and held against their manifest."""

from __future__ import annotations

import argparse
import functools
import json
from pathlib import Path
from typing import TYPE_CHECKING

from templater.cli import files
from templater.cli.apart import limited
from templater.cli.console import DONE, OUT_OF_TOLERANCE, print_findings, print_json, say
from templater.findings import Finding, ProofError, TemplaterError
from templater.units import MM

if TYPE_CHECKING:
    from templater.proof.expect import Expected
    from templater.proof.report import ProofReport

#: Kinds of files that proof reads.
_PROVED = frozenset({".pdf", ".svg"})


def proof(arguments: argparse.Namespace) -> int:
    """Read files back and say how true they are."""
    from templater.proof.report import ProofReport

    try:
        # Some program may have had the files in hand: what does no harm, as a page that was only turned, does not fail.
        report = ProofReport.of([_prove(*some) for some in _to_prove(arguments)])
    except ProofError as fault:  # a manifest that is none: nothing has been proved, true or not
        raise files.FileError(*fault.findings) from None
    if arguments.json:
        print_json(report.data())
    else:
        say(*_table(report))
        print_findings(report.findings)
        say(report.verdict)
    return DONE if report.passed else OUT_OF_TOLERANCE


def _prove(some: dict[str, bytes], manifest: Expected, whole: bool) -> ProofReport:
    from templater.proof.prove import prove

    size, names = int(min(sum(map(len, some.values())), manifest.size)), ", ".join(some)
    work = functools.partial(prove, some, manifest, whole=whole, as_written=False)
    return limited(work, ProofError, "Q103", names, size)


def _table(report: ProofReport) -> list[str]:
    from templater.report.blocks import lines, table

    rows = tuple(
        (*one[:1], *one[2:6], one.worst.deviation, ", ".join(filter(None, one.worst[1:]))) if one.sized
        else (*one[:1], *one[2:6], "not measured", None)
        for one in report.sheets
    )  # fmt: skip
    return lines(table("proof", rows), MM)


def _to_prove(arguments: argparse.Namespace) -> list[tuple[dict[str, bytes], Expected, bool]]:
    """Return files by name with their manifest, and whether they are a whole run's: all sheets of a folder's runs."""
    from templater.paper.manifest import FILE, FIT_UP_FILE

    paths: list[Path] = arguments.files
    first, named = paths[0], arguments.manifest
    for path in paths:
        if not path.exists():
            text = "no such file or folder - give a boat's folder, or files that make wrote"
            raise files.file_fault(path, text, "Q102")
        if path.is_file() and path.suffix.lower() not in _PROVED:
            text = "not a file that can be proved - give a boat's folder, or PDF and SVG files that make wrote"
            raise files.file_fault(path, text, "Q135")
    if len(paths) == 1 and first.is_dir():
        beside = [path for path in (first / FILE, first / FIT_UP_FILE) if path.is_file()]
        manifests = map(_manifest, [named] if named else beside or [first / FILE])
        return [(_listed(first, manifest), manifest, True) for manifest in manifests]
    if len(paths) == 1 and named is None:
        data = files.read_bytes(first)
        if (inside := _manifest_inside(data, first)) is not None:
            return [({first.name: data}, inside, False)]
    manifest = _manifest(named or first.parent / FILE)
    return [({path.name: files.read_bytes(path) for path in paths}, manifest, False)]


def _listed(folder: Path, manifest: Expected) -> dict[str, bytes]:
    """Return the files of a folder that a manifest lists, as far as they are there."""
    # A manifest from elsewhere may name anything: only plain names are looked for.
    plain = sorted(name for name in manifest.files if Path(name).name == name and (folder / name).is_file())
    return {name: files.read_bytes(folder / name) for name in plain}


def _manifest_inside(data: bytes, path: Path) -> Expected | None:
    """Return the manifest that a handover PDF carries; None if the file is no such PDF, or carries none."""
    from templater.share.handover import MANIFEST, is_pdf

    try:
        others = files.unpack(data, str(path)).others if is_pdf(data) else ()
    except TemplaterError:
        return None
    return next((_manifest(path, item.data) for item in others if item.role == MANIFEST), None)


def _manifest(path: Path, inside: bytes | None = None) -> Expected:
    """Return what a manifest says, or one ``inside`` another file.

    Raises ProofError: Q100, there is none; Q101, it is no manifest, or at fault.
    """
    from templater.proof.expect import read_manifest

    try:
        raw = files.read_bytes(path) if inside is None else inside
        data = json.loads(raw)
    except files.FileError:
        if path.exists():
            raise
        text = f"{path}: no manifest there - name it with --manifest, it lies beside the files that make wrote"
        raise ProofError(Finding("Q100", "", text)) from None
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict) or "sheets" not in data:
        fault = f"{path}: no manifest of templater - take the one that make wrote"
        raise ProofError(Finding("Q101", "", fault))
    return read_manifest(data, str(path))._replace(size=len(raw))
