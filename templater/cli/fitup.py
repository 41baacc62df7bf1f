"""The commands of fit-up: ``centreline``, ``square``, ``shim``."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from templater.cli import files, folders
from templater.cli.console import DONE, OUT_OF_TOLERANCE, print_findings, print_json, say
from templater.findings import Finding, ReadingsError
from templater.share.names import safe_name

if TYPE_CHECKING:
    from templater.fitup.centreline import CentrelineResult
    from templater.fitup.record import Record
    from templater.fitup.shim import ShimResult
    from templater.fitup.square import SquareResult
    from templater.units import Figures

Part = TypeVar("Part", "Record", "SquareResult", "CentrelineResult", "ShimResult")
#: Keys of the readings that options stand for.
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


def run(arguments: argparse.Namespace) -> int:
    """Work out the readings of one command and keep the record; single readings as options leave none behind."""
    from templater.fitup.readings import readings_of
    from templater.fitup.record import read_record, record_data
    from templater.pipeline.checked import check
    from templater.pipeline.fitup import PRODUCTS, fit_up, record_of

    command, file = arguments.command, arguments.readings
    checked = check(files.read_source(arguments.description), files.options_of(arguments))
    description = checked.boat.description
    single = [getattr(arguments, name, None) for name in ("port", "starboard", "at", "tilt_port", "tilt_starboard")]
    if (file is None) is not any(one not in (None, []) for one in single):
        text = "no readings - give a readings file (templater new --readings writes one) or single readings as options"
        if file is not None:
            text = "give a readings file or single readings, not both"
        raise ReadingsError(Finding("T002", command, text))
    earlier = None
    if arguments.earlier is not None:
        earlier = read_record(files.read_text(arguments.earlier).decode("utf-8-sig"), str(arguments.earlier))
    if file is None:
        try:
            record = record_of(checked, readings_of(_single(arguments), description.units), earlier)
        except ReadingsError as fault:
            raise ReadingsError(*map(_by_option, fault.findings)) from None
        record = _named(record)._replace(
            attempts=tuple(map(_named, record.attempts)),
            centreline=record.centreline and _named(record.centreline),
            shim=record.shim and _named(record.shim),
        )
        made: dict[str, bytes] = {}
        proof = None
    else:
        text = files.read_text(file).decode("utf-8-sig")
        record, made, proof = fit_up(checked, text, str(file), earlier=earlier, options=files.options_of(arguments))
    last = record.attempts[-1] if record.attempts else None
    part = {"square": last, "centreline": record.centreline, "shim": record.shim}[command]
    if part is None:
        text = f"{file}: no readings for {command} - fill in its section, as templater new --readings writes it"
        raise ReadingsError(Finding("T002", command, text))
    folder: Path = arguments.out / safe_name(description.boat)
    if file is not None:
        folders.publish(folder, made, stale=PRODUCTS)
    if arguments.json:
        print_json(record_data(record))
    else:
        for line in _lines(command, record, description.figures):
            say(line)
        print_findings(record.findings)
        for name in sorted(made):
            say(f"wrote {folder / name}")
        if proof is not None:
            say(f"sheets read back: worst deviation {proof.worst_text}")
    return DONE if (last.passed if part is last and last else part.decided) else OUT_OF_TOLERANCE


def _by_option(finding: Finding) -> Finding:
    """Return a finding on single readings: it names the option instead of key and place."""
    names = [option for key, option in _OPTIONS if f"{finding.key}.".startswith(f"{key}.")]
    return finding._replace(key=names[0] if names else finding.key, where=None)


def _named(part: Part) -> Part:
    """Return a part of the record of single readings, its findings naming options."""
    return part._replace(findings=tuple(map(_by_option, part.findings)))


def _lines(command: str, record: Record, figures: Figures) -> list[str]:
    from templater.report.blocks import Block, lines
    from templater.report.fitup import attempt_table, centreline_blocks, changes_table, shim_blocks

    blocks: list[Block] = []
    if command == "centreline" and record.centreline is not None:
        blocks = [*centreline_blocks(record.centreline, figures)]
    elif command == "shim" and record.shim is not None:
        blocks = [*shim_blocks(record.shim)]
    elif command == "square":
        blocks = [attempt_table(attempt, figures) for attempt in record.attempts]
        blocks += [changes_table(record)] if record.changes else []
    return [line for block in blocks for line in lines(block, figures)]


def _single(arguments: argparse.Namespace) -> dict[str, Any]:
    """Return single readings as the keys of a readings file.

    Raises:
        ReadingsError: names the option that is missing, or a station that cannot be read.
    """
    if arguments.command == "square":
        missing = [name for name in ("port", "starboard", "setting") if getattr(arguments, name) is None]
        if missing:
            raise ReadingsError(*(Finding("T002", f"--{name}", "is missing - add it") for name in missing))
        section = {"setting": arguments.setting, "first_bolt": arguments.first_bolt, "tolerance": arguments.tolerance}
        sides = {side: getattr(arguments, side).split(",") for side in ("port", "starboard")}
        return {"square": {**section, **sides}}
    if arguments.command == "centreline":
        rows = [dict(zip(("at", "port", "starboard"), _station(text), strict=True)) for text in arguments.at]
        return {"centreline": {"stations": rows}}
    return {"shim": {"tilt": {"port": arguments.tilt_port or 0.0, "starboard": arguments.tilt_starboard or 0.0}}}


def _station(text: str) -> list[str]:
    """Return the three figures of one station, parted by commas, by slashes or by blanks.

    Raises:
        ReadingsError: if there are not three. A slash within commas must be that of a fraction, a half or smaller
            power of it, so that a decimal comma between slashes is not taken for one.
    """
    parts = text.split(",") if "," in text else text.split("/") if "/" in text else text.split()
    fraction = r"(?:.*[\s-])?([0-9]+)/(2|4|8|16|32|64)(?:\s*(?:in|inch|inches|\"|″))?\s*"
    fractions = [re.fullmatch(fraction, part) for part in parts if "," in text and "/" in part]
    if len(parts) != 3 or not all(found and int(found[1]) < int(found[2]) for found in fractions):
        sentence = (
            f"{text} - allowed: station, port and starboard, as in 1200/312.5/310 or, with fractions, "
            '"48, 12 1/4, 12 1/8"; a decimal has a point'
        )
        raise ReadingsError(Finding("D123", "--at", sentence))
    return parts
