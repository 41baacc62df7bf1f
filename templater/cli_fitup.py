"""The commands of fit-up: ``centreline``, ``square``, ``shim``."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from templater import cli_files
from templater.cli_build import options_of, print_findings
from templater.errors import Finding, ReadingsError, Severity
from templater.units import Figures

DONE = 0
FAULT = 1
OUT_OF_TOLERANCE = 3


def run(arguments: argparse.Namespace) -> int:
    """Work out the readings of one command and keep the record."""
    from templater import pipeline
    from templater.fitup.record import read_record, record_data
    from templater.pipeline.fitup import PRODUCTS, fit_up

    checked = pipeline.check(cli_files.read_source(arguments.description), options_of(arguments))
    text, file = _readings(arguments)
    quick = arguments.readings is None  # a quick look leaves no record behind
    folder: Path = arguments.out / cli_files.safe_name(checked.boat.description.boat)
    earlier = None
    if arguments.earlier is not None:
        earlier = read_record(cli_files.read_text(arguments.earlier).decode("utf-8-sig"), str(arguments.earlier))
    try:
        found = fit_up(checked, text, file, earlier=earlier, sheets=not quick, options=options_of(arguments))
    except ReadingsError as fault:
        # Options have no lines: only the key says which one is meant.
        raise ReadingsError(*map(_without_place, fault.findings)) if quick else fault from None
    missing = _missing(arguments.command, found.record)
    if missing:
        raise ReadingsError(Finding("T003", Severity.ERROR, arguments.command, f"{file}: {missing}"))
    if not quick:
        cli_files.publish(folder, found.files, stale=PRODUCTS)
    if arguments.json:
        print(json.dumps(record_data(found.record), indent=1, ensure_ascii=False))
    else:
        for line in _lines(arguments.command, found.record, checked.boat.description.figures):
            print(line)
        findings = found.record.findings
        print_findings(tuple(map(_without_place, findings)) if quick else findings)
        for name in () if quick else sorted(found.files):
            print(f"wrote {folder / name}")
        if found.proof is not None:
            print(f"sheets read back: worst deviation {found.proof.worst:.4f} mm")
    return DONE if _good(arguments.command, found.record) else OUT_OF_TOLERANCE


def _good(command: str, record: Any) -> bool:
    """Return whether what a command was asked is decided, and within tolerance."""
    if command == "centreline":
        return bool(record.centreline.decided)
    return record.passed is not False if command == "square" else bool(record.shim.decided)


def _without_place(finding: Finding) -> Finding:
    return replace(finding, where=None)


def _missing(command: str, record: Any) -> str:
    """Return what the readings lack for a command, if anything."""
    section = {"square": record.attempts, "centreline": record.centreline, "shim": record.shim}[command]
    return "" if section else f"no readings for {command} - fill in its section, as templater new --readings writes it"


def _lines(command: str, record: Any, units: Figures) -> list[str]:
    from templater.fitup.wording import centreline_lines, shim_lines, square_lines

    if command == "centreline":
        return list(centreline_lines(record.centreline, units))
    if command == "shim":
        return list(shim_lines(record.shim))
    lines = [line for attempt in record.attempts for line in square_lines(attempt, units)]
    if record.changes:
        lines.append(f"since {record.earlier}:")
        lines += [f"  {row.name}: {row.then:.2f} -> {row.now:.2f} {row.unit}" for row in record.changes]
    return lines


def _readings(arguments: argparse.Namespace) -> tuple[str, str]:
    """Return the readings' text: from the file, or made of the options for a quick look."""
    quick = _quick(arguments)
    if arguments.readings is not None:
        if quick:
            text = "give a readings file or single readings, not both"
            raise ReadingsError(Finding("T004", Severity.ERROR, arguments.command, text))
        return cli_files.read_text(arguments.readings).decode("utf-8-sig"), str(arguments.readings)
    if not quick:
        text = "no readings - give a readings file (templater new --readings writes one) or single readings as options"
        raise ReadingsError(Finding("T004", Severity.ERROR, arguments.command, text))
    return quick, "options"


def _quick(arguments: argparse.Namespace) -> str:
    """Return options as the text of a readings file; empty if none was given."""
    if arguments.command == "square" and (arguments.port or arguments.starboard):
        lines = ["square:", f"  first_bolt: {arguments.first_bolt}"]
        if arguments.setting is not None:
            lines.append(f"  setting: {arguments.setting}")
        if arguments.tolerance is not None:
            lines.append(f"  tolerance: {_value(arguments.tolerance)}")
        for side in ("port", "starboard"):
            given = getattr(arguments, side)
            if given:
                lines.append(f"  {side}: [{', '.join(_value(one) for one in given.split(','))}]")
        return "\n".join(lines) + "\n"
    if arguments.command == "centreline" and arguments.at:
        lines = ["centreline:", "  stations:"]
        for text in arguments.at:
            parts = text.split("/")
            if len(parts) != 3:
                sentence = f"{text} - allowed: station/port/starboard, as in 1200/312.5/310"
                raise ReadingsError(Finding("T004", Severity.ERROR, "--at", sentence))
            at, port, starboard = (_value(part) for part in parts)
            lines.append(f"    - {{at: {at}, port: [{port}], starboard: [{starboard}]}}")
        return "\n".join(lines) + "\n"
    if arguments.command == "shim" and (arguments.tilt_port is not None or arguments.tilt_starboard is not None):
        tilts = arguments.tilt_port or 0.0, arguments.tilt_starboard or 0.0
        return f"shim:\n  tilt: {{port: [{tilts[0]}], starboard: [{tilts[1]}]}}\n"
    return ""


def _value(text: str) -> str:
    """Return a length for a YAML text; anything that is not a plain number is quoted."""
    stripped = text.strip()
    try:
        float(stripped)
    except ValueError:
        return json.dumps(stripped)
    return stripped
