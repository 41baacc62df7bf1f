"""The commands of fit-up: ``centreline``, ``square``, ``shim``."""

from __future__ import annotations

import argparse
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from templater.cli import files, folders
from templater.cli.console import DONE, OUT_OF_TOLERANCE, print_findings, print_json, say
from templater.findings import Finding, ReadingsError
from templater.units import Figures

if TYPE_CHECKING:
    from templater.fitup.record import Record

#: Keys of a readings file that single readings as options stand for.
_OPTIONS = (
    ("square.port", "--port"),
    ("square.starboard", "--starboard"),
    ("square.setting", "--setting"),
    ("square.first_bolt", "--first-bolt"),
    ("square.tolerance", "--tolerance"),
    ("square", "--port and --starboard"),
    ("centreline", "--at"),
    ("shim.tilt.port", "--tilt-port"),
    ("shim.tilt.starboard", "--tilt-starboard"),
    ("shim.tilt", "--tilt-port and --tilt-starboard"),
)
_MISSING = re.compile("(setting|first_bolt|port|starboard) is missing ")
#: A fraction of an inch at the end of a length, as in 12 1/4 or 3/8 in.
_FRACTION = re.compile(r"(?:^|\s|-)([0-9]+)/(2|4|8|16|32|64)(?:\s*(?:in|inch|inches|\"|″))?$")


def run(arguments: argparse.Namespace) -> int:
    """Work out the readings of one command and keep the record."""
    from templater.fitup.record import read_record, record_data
    from templater.pipeline.checked import check
    from templater.pipeline.fitup import PRODUCTS, fit_up
    from templater.proof.report import deviation_text

    checked = check(files.read_source(arguments.description), files.options_of(arguments))
    text, file = _readings(arguments)
    quick = arguments.readings is None  # a quick look leaves no record behind
    folder: Path = arguments.out / files.safe_name(checked.boat.description.boat)
    earlier = None
    if arguments.earlier is not None:
        earlier = read_record(files.read_text(arguments.earlier).decode("utf-8-sig"), str(arguments.earlier))
    try:
        found = fit_up(checked, text, file, earlier=earlier, sheets=not quick, options=files.options_of(arguments))
    except ReadingsError as fault:
        raise ReadingsError(*map(_by_option, fault.findings)) if quick else fault from None
    if quick:
        found = replace(found, record=_record_by_options(found.record))
    missing = _missing(arguments.command, found.record)
    if missing:
        raise ReadingsError(Finding("T003", arguments.command, f"{file}: {missing}"))
    if not quick:
        folders.publish(folder, found.files, stale=PRODUCTS)
    if arguments.json:
        print_json(record_data(found.record))
    else:
        for line in _lines(arguments.command, found.record, checked.boat.description.figures):
            say(line)
        print_findings(found.record.findings)
        for name in () if quick else sorted(found.files):
            say(f"wrote {folder / name}")
        if found.proof is not None:
            say(f"sheets read back: worst deviation {deviation_text(found.proof.worst)} mm")
    return DONE if _good(arguments.command, found.record) else OUT_OF_TOLERANCE


def _good(command: str, record: Record) -> bool:
    """Return whether what a command was asked is decided, and within tolerance."""
    if command == "centreline":
        return record.centreline is not None and record.centreline.decided
    return record.passed is not False if command == "square" else record.shim is not None and record.shim.decided


def _by_option(finding: Finding) -> Finding:
    """Return a finding on single readings: they have no lines, so the option is named instead of key and place."""
    missing = _MISSING.match(finding.text)
    if missing:
        option = f"--{missing[1].replace('_', '-')}"
        return finding._replace(where=None, key="", text=option + finding.text[missing.end(1) :])
    names = [option for key, option in _OPTIONS if f"{finding.key}.".startswith(f"{key}.")]
    return finding._replace(where=None, key=names[0] if names else finding.key)


def _record_by_options(record: Record) -> Record:
    """Return a record of single readings, its findings naming options."""
    line, shim = record.centreline, record.shim
    return replace(
        record,
        attempts=tuple(replace(one, findings=_by_options(one.findings)) for one in record.attempts),
        centreline=replace(line, findings=_by_options(line.findings)) if line else None,
        shim=replace(shim, findings=_by_options(shim.findings)) if shim else None,
        findings=_by_options(record.findings),
    )


def _by_options(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    return tuple(map(_by_option, findings))


def _missing(command: str, record: Record) -> str:
    """Return what the readings lack for a command, if anything."""
    section = {"square": record.attempts, "centreline": record.centreline, "shim": record.shim}[command]
    return "" if section else f"no readings for {command} - fill in its section, as templater new --readings writes it"


def _lines(command: str, record: Record, figures: Figures) -> list[str]:
    from templater.report.blocks import Block, block_lines
    from templater.report.fitup import attempt_table, centreline_blocks, changes_table, shim_blocks

    blocks: list[Block] = []
    if command == "centreline" and record.centreline is not None:
        blocks = [*centreline_blocks(record.centreline, figures)]
    elif command == "shim" and record.shim is not None:
        blocks = [*shim_blocks(record.shim)]
    elif command == "square":
        blocks = [attempt_table(attempt, figures) for attempt in record.attempts]
        blocks += [changes_table(record)] if record.changes else []
    return [line for block in blocks for line in block_lines(block, figures)]


def _readings(arguments: argparse.Namespace) -> tuple[str, str]:
    """Return the readings' text: from the file, or made of the options for a quick look."""
    quick = _quick(arguments)
    if arguments.readings is not None:
        if quick:
            text = "give a readings file or single readings, not both"
            raise ReadingsError(Finding("T004", arguments.command, text))
        return files.read_text(arguments.readings).decode("utf-8-sig"), str(arguments.readings)
    if not quick:
        text = "no readings - give a readings file (templater new --readings writes one) or single readings as options"
        raise ReadingsError(Finding("T004", arguments.command, text))
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
            at, port, starboard = map(_value, _station(text))
            lines.append(f"    - {{at: {at}, port: [{port}], starboard: [{starboard}]}}")
        return "\n".join(lines) + "\n"
    if arguments.command == "shim" and (arguments.tilt_port is not None or arguments.tilt_starboard is not None):
        tilts = arguments.tilt_port or 0.0, arguments.tilt_starboard or 0.0
        return f"shim:\n  tilt: {{port: [{tilts[0]}], starboard: [{tilts[1]}]}}\n"
    return ""


def _station(text: str) -> list[str]:
    """Return the three figures of one station, parted by commas, by slashes or by blanks.

    Raises:
        ReadingsError: if there are not three. A slash within commas must be that of a fraction, a half or smaller
            power of it, so that a decimal comma between slashes is not taken for one.
    """
    parts = text.split(",") if "," in text else text.split("/") if "/" in text else text.split()
    parts = [part.strip() for part in parts]
    fractions = [_FRACTION.search(part) for part in parts if "," in text and "/" in part]
    if len(parts) != 3 or not all(found and int(found[1]) < int(found[2]) for found in fractions):
        sentence = (
            f"{text} - allowed: station, port and starboard, as in 1200/312.5/310 or, with fractions, "
            '"48, 12 1/4, 12 1/8"; a decimal has a point'
        )
        raise ReadingsError(Finding("T004", "--at", sentence))
    return parts


def _value(text: str) -> str:
    """Return a length for a YAML text; anything that is not a plain number is quoted."""
    stripped = text.strip()
    try:
        float(stripped)
    except ValueError:
        return json.dumps(stripped)
    return stripped
