"""The commands for paper that can be trusted: ``proof``, ``printer page``, ``printer set``, ``printer list``."""

from __future__ import annotations

import argparse
import json
import os
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

from templater import __version__
from templater.cli import files
from templater.findings import Finding, ProofError, ReadingsError, Severity, TemplaterError

if TYPE_CHECKING:
    from templater.proof import ProofReport

DONE = 0
OUT_OF_TOLERANCE = 3
#: The manifest of a fit-up's sheets.
_FIT_UP = "fit-up-manifest.json"
#: Readings of one bar that differ by more than this are no repeats: a decimal comma was written.
_SLIP = 0.5
#: Kinds of files that proof reads.
_PROVED = frozenset({".pdf", ".svg", ".dxf"})


def store(arguments: argparse.Namespace | None = None) -> Path:
    """Return the folder of printer profiles: the option, else TEMPLATER_HOME, else a folder of the user's own."""
    chosen = getattr(arguments, "store", None)
    if chosen is not None:
        return Path(chosen)
    home = os.environ.get("TEMPLATER_HOME")
    return (Path(home) if home else Path.home() / ".templater") / "printers"


def stored_profile(folder: Path, name: str) -> Any:
    """Return a stored profile.

    Raises:
        ReadingsError: if there is none of this name, or it is no sound profile.
    """
    from templater.paper.profile_file import load_profile

    path = folder / f"{files.safe_name(name)}.yaml"
    if not path.exists():
        known = ", ".join(sorted(one.stem for one in folder.glob("*.yaml"))) if folder.is_dir() else ""
        text = f"{name}: no profile of this printer - make one with printer set; stored: {known or 'none'}"
        raise ReadingsError(Finding("T121", Severity.ERROR, "print.printer", text))
    return load_profile(files.read_text(path).decode("utf-8-sig"), str(path))


def printer_page(arguments: argparse.Namespace) -> int:
    """Write the page whose bars are measured for a profile."""
    from templater.paper.choice import find_paper
    from templater.paper.printer import printer_bars, printer_page
    from templater.paper.tiles import TitleData
    from templater.writers.pdf import write_pdf

    paper = find_paper(arguments.paper, "--paper")
    title = TitleData("Printer test page", "", "", "", "", "", "", "", __version__)
    data = write_pdf([printer_page(paper, arguments.margin)], name="printer-page", title=title)
    files.write_one(arguments.to, data, replace=True)
    print(f"wrote {arguments.to}; print it at actual size (100 %), then measure each line three times or more:")
    for bar in printer_bars(paper, arguments.margin):
        print(f"  {bar.id}: {bar.length:g} mm drawn")
    print(f"templater printer set NAME --paper {shlex.quote(paper.name)} across=.. along=.. rising=.. falling=..")
    return DONE


def printer_set(arguments: argparse.Namespace) -> int:
    """Store a printer's profile from readings."""
    from templater.paper.choice import find_paper
    from templater.paper.printer import profile_from_readings
    from templater.paper.profile_file import profile_yaml
    from templater.units import parse_length

    readings: dict[str, list[float]] = {}
    for text in arguments.readings:
        bar, _, values = text.partition("=")
        key = "rising" if bar == "diagonal" else bar
        for value in values.split(","):
            try:
                readings.setdefault(key, []).append(parse_length(value))
            except ValueError as fault:
                sentence = f"{text}: not BAR=LENGTH - allowed: across=199.4, repeats as across=199.4,199.5; {fault}"
                raise ReadingsError(Finding("T122", Severity.ERROR, bar, sentence)) from None
        if readings[key] and min(readings[key]) < max(readings[key]) * _SLIP:
            sentence = f"{text}: readings too far apart - write decimals with a point, as 179.1; a comma parts repeats"
            raise ReadingsError(Finding("T122", Severity.ERROR, bar, sentence))
    paper = find_paper(arguments.paper, "--paper")
    profile = profile_from_readings(arguments.name, paper, arguments.margin, readings)
    path = store(arguments) / f"{files.safe_name(arguments.name)}.yaml"
    files.write_one(path, profile_yaml(profile).encode(), replace=True)
    print(f"wrote {path}")
    print(f"  prints {profile.across:.5f} across (u {profile.u_across:.5f})")
    print(f"  prints {profile.along:.5f} along (u {profile.u_along:.5f})")
    skew = f"skew {profile.skew * 1000:.3f} mm per m (u {profile.u_skew * 1000:.3f})"
    print(f"  {skew}" if profile.skew_measured else "  skew not measured: measure rising and falling to know it")
    print(f"use it: print: {{printer: {arguments.name}}} in the description, or make --printer {arguments.name}")
    return DONE


def printer_list(arguments: argparse.Namespace) -> int:
    """List the stored profiles; a damaged one is named after the sound ones."""
    folder = store(arguments)
    faults: list[Finding] = []
    for path in sorted(folder.glob("*.yaml")) if folder.is_dir() else []:
        try:
            profile = stored_profile(folder, path.stem)
        except TemplaterError as fault:
            faults += fault.findings
            continue
        print(f"{profile.name}: {profile.paper}, {profile.across:.5f} across, {profile.along:.5f} along")
    if faults:
        raise ReadingsError(*faults)
    return DONE


def proof(arguments: argparse.Namespace) -> int:
    """Read files back and say how true they are."""
    from templater.proof import ProofReport, report_dict, report_rows, verdict

    try:
        reports = [_prove(*one) for one in _to_prove(arguments)]
    except ProofError as fault:  # a manifest that is none: nothing has been proved, true or not
        raise files.FileError(*fault.findings) from None
    report = ProofReport(
        tuple(sheet for one in reports for sheet in one.sheets),
        tuple(finding for one in reports for finding in one.findings),
    )
    if arguments.json:
        print(json.dumps(report_dict(report), indent=1, ensure_ascii=False))
    else:
        rows = report_rows(report)
        widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
        for row in rows:
            print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
        for finding in report.findings:
            print(f"{finding.severity.value}: {finding.line()}")
        print(verdict(report))
    return DONE if report.passed else OUT_OF_TOLERANCE


def _prove(files: dict[str, bytes], manifest: dict[str, Any], whole: bool) -> ProofReport:
    """Return the proof of a run's files, ``whole`` if they should be all of them."""
    from templater.proof import ProofReport, diagnose, prove
    from templater.proof.cutting import prove_cutting

    if whole and (strict := prove(files, manifest)).passed:
        return strict
    # Some program had the files in hand. Each page is looked at as a whole: what was done to it is told in words, and
    # what does no harm, as a page that was only turned, does not fail.
    cutting = manifest.get("cutting")
    cut = {name: data for name, data in files.items() if name in _cut_names(manifest)}
    rest = {name: data for name, data in files.items() if name not in cut}
    report = diagnose(rest, manifest, whole=whole).report if rest or not cut else ProofReport((), ())
    if not cut and not (whole and cutting):
        return report
    sheet, faults = prove_cutting(cut, cutting or {})
    if not whole:
        faults = tuple(fault for fault in faults if fault.key in cut)
    return ProofReport((*report.sheets, sheet), (*report.findings, *faults))


def _cut_names(manifest: dict[str, Any]) -> tuple[str, ...]:
    """Return the names of the cut files that a manifest lists."""
    cutting = manifest.get("cutting")
    return tuple(str(cutting.get(kind)) for kind in ("dxf", "svg")) if isinstance(cutting, dict) else ()


def _to_prove(arguments: argparse.Namespace) -> list[tuple[dict[str, bytes], dict[str, Any], bool]]:
    """Return files by name with their manifest, and whether they are a whole run's: all sheets of a folder's runs."""
    paths: list[Path] = arguments.files
    for path in paths:
        if not path.exists():
            text = "no such file or folder - give a boat's folder, or files that make wrote"
            raise files.file_fault(path, text, "Q102")
        if path.is_file() and path.suffix.lower() not in _PROVED:
            text = "not a file that can be proved - give a boat's folder, or PDF, SVG and DXF files that make wrote"
            raise files.file_fault(path, text, "Q135")
    if len(paths) == 1 and paths[0].is_dir():
        folder = paths[0]
        chosen = [arguments.manifest] if arguments.manifest else [folder / "manifest.json"]
        if not arguments.manifest and (folder / _FIT_UP).is_file():
            chosen.append(folder / _FIT_UP)
            chosen = [path for path in chosen if path.is_file()]
        return [(_listed(folder, manifest), manifest, True) for manifest in map(_manifest, chosen)]
    if len(paths) == 1 and arguments.manifest is None:
        data = files.read_bytes(paths[0])
        if (inside := _manifest_inside(data, paths[0])) is not None:
            return [({paths[0].name: data}, inside, False)]
    manifest = _manifest(arguments.manifest or paths[0].parent / "manifest.json")
    return [({path.name: files.read_bytes(path) for path in paths}, manifest, False)]


def _listed(folder: Path, manifest: dict[str, Any]) -> dict[str, bytes]:
    """Return the files of a folder that a manifest lists, as far as they are there."""
    names = {str(page.get("file")) for sheet in manifest["sheets"] for page in sheet["pages"]}
    names |= {str(sheet.get("svg")) for sheet in manifest["sheets"]}
    names |= set(_cut_names(manifest))
    # A manifest from elsewhere may name anything: only plain names are looked for.
    plain = sorted(name for name in names if Path(name).name == name and (folder / name).is_file())
    return {name: files.read_bytes(folder / name) for name in plain}


def _manifest_inside(data: bytes, path: Path) -> dict[str, Any] | None:
    """Return the manifest that a handover PDF carries; None if the file is no such PDF, or carries none."""
    from templater.share.handover import MANIFEST
    from templater.share.unpack import is_pdf, unpack

    if not is_pdf(data):
        return None
    try:
        inside = [item for item in unpack(data, str(path)).others if item.role == MANIFEST]
    except TemplaterError:
        return None
    return _read_manifest(inside[0].data, path) if inside else None


def _manifest(path: Path) -> dict[str, Any]:
    """Return a manifest's data.

    Raises:
        ProofError: if it is missing or no manifest.
    """
    try:
        return _read_manifest(files.read_text(path), path)
    except files.FileError:
        text = f"{path}: no manifest there - name it with --manifest, it lies beside the files that make wrote"
        raise ProofError(Finding("Q100", Severity.ERROR, "", text)) from None


def _read_manifest(text: bytes, path: Path) -> dict[str, Any]:
    """Return a manifest's data.

    Raises:
        ProofError: if it is no manifest.
    """
    try:
        data = json.loads(text)
        pages = [page for sheet in data["sheets"] for page in sheet["pages"]]
        if all(isinstance(one, dict) for one in (data, *data["sheets"], *pages)):
            return dict(data)
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    fault = f"{path}: no manifest of templater - take the one that make wrote"
    raise ProofError(Finding("Q101", Severity.ERROR, "", fault))
