"""The commands that take readings: ``centreline``, ``square``, ``shim``; ``printer page``, ``set`` and ``list``."""

import argparse
import re
from pathlib import Path
from typing import Any

from templater.cli import files
from templater.cli.console import DONE, OUT_OF_TOLERANCE, print_findings, print_json, say
from templater.findings import Finding, ReadingsError, TemplaterError
from templater.reader.faults import told
from templater.share.names import safe_name
from templater.units import MM

#: Keys of the readings that options stand for.
_OPTIONS = (
    ("square.port", "--port"), ("square.starboard", "--starboard"), ("square.setting", "--setting"),
    ("square.first_bolt", "--first-bolt"), ("square.tolerance", "--tolerance"), ("square", "--port and --starboard"),
    ("centreline", "--at"), ("shim.tilt.port", "--tilt-port"), ("shim.tilt.starboard", "--tilt-starboard"),
    ("shim.tilt", "--tilt-port and --tilt-starboard"),
)  # fmt: skip


def work_out(arguments: argparse.Namespace) -> int:
    """Work out the readings of one command and keep the record; single readings as options leave none behind."""
    from templater.fitup.readings import readings_of
    from templater.fitup.record import read_record, record_data
    from templater.pipeline.checked import check
    from templater.pipeline.fitup import PRODUCTS, FitUp, fit_up, record_of

    command, file, options = arguments.command, arguments.readings, files.options_of(arguments)
    checked = check(files.read_source(arguments.description), options)
    description = checked.boat.description
    single = [getattr(arguments, name, None) for name in ("port", "starboard", "at", "tilt_port", "tilt_starboard")]
    if (file is None) is not any(one not in (None, []) for one in single):
        raise ReadingsError(told("T002", command, "no file" if file is None else "both"))
    past = arguments.earlier
    earlier = read_record(files.read_text(past), str(past)) if past is not None else None
    folder: Path = arguments.out / safe_name(description.boat)
    if file is None:
        try:
            found = record_of(checked, readings_of(_single(arguments), description.units), earlier)
        except ReadingsError as fault:
            raise ReadingsError(*_by_option(fault.findings)) from None
        made = FitUp(_by_option(found), {}, None)
    else:
        made = fit_up(checked, files.read_text(file), str(file), earlier=earlier, options=options)
    record = made.record
    last = record.attempts[-1] if record.attempts else None
    part: Any = {"square": last, "centreline": record.centreline, "shim": record.shim}[command]
    if part is None:
        raise ReadingsError(told("T002", command, "section", file=str(file), command=command))
    if file is not None:
        files.publish(folder, made.files, stale=PRODUCTS)
    if arguments.json:
        print_json(record_data(record))
    else:
        from templater.report.blocks import lines
        from templater.report.fitup import SAID, blocks_of

        figures = description.figures
        say(*(line for block in blocks_of(command, record, figures) for line in lines(block, figures)))
        print_findings(one for one in record.findings if one.code not in SAID[command])
        say(*(f"wrote {folder / name}" for name in sorted(made.files)))
        if made.proof is not None:
            say(f"sheets read back: worst deviation {made.proof.worst_text}")
    return DONE if (last.passed if part is last and last else part.decided) else OUT_OF_TOLERANCE


def _by_option(found: Any) -> Any:
    """Return what single readings gave: every finding in it names the option instead of key and place."""
    if isinstance(found, Finding):
        names = [option for key, option in _OPTIONS if f"{found.key}.".startswith(f"{key}.")]
        return found._replace(key=names[0] if names else found.key, where=None)
    if not isinstance(found, tuple):
        return found
    parts = map(_by_option, found)
    return found._make(parts) if hasattr(found, "_make") else tuple(parts)


def _single(arguments: argparse.Namespace) -> dict[str, Any]:
    """Return single readings as the keys of a readings file; raises ReadingsError for stations that cannot be read."""
    if arguments.command == "square":
        section = {"setting": arguments.setting, "first_bolt": arguments.first_bolt, "tolerance": arguments.tolerance}
        tapes = {side: (getattr(arguments, side) or "").split(",") for side in ("port", "starboard")}
        return {"square": section | {side: read for side, read in tapes.items() if read != [""]}}
    if arguments.command == "centreline":
        parts = [(text, _station(text)) for text in arguments.at]
        if wrong := [told("D123", "--at", "station", text=text) for text, found in parts if not found]:
            raise ReadingsError(*wrong)
        rows = [dict(zip(("at", "port", "starboard"), found, strict=True)) for _, found in parts]
        return {"centreline": {"stations": rows}}
    return {"shim": {"tilt": {"port": arguments.tilt_port or 0.0, "starboard": arguments.tilt_starboard or 0.0}}}


def _station(text: str) -> list[str]:
    """Return the three figures of one station, parted by commas, by slashes or by blanks.

    A slash within commas must be that of a fraction, a half or smaller power of it, so that a decimal comma between
    slashes is not taken for one. Returns nothing if there are not three.
    """
    parts = text.split(",") if "," in text else text.split("/") if "/" in text else text.split()
    fraction = r"(?:.*[\s-])?([0-9]+)/(2|4|8|16|32|64)(?:\s*(?:in|inch|inches|\"|″))?\s*"
    fractions = [re.fullmatch(fraction, part) for part in parts if "," in text and "/" in part]
    sound = len(parts) == 3 and all(found and int(found[1]) < int(found[2]) for found in fractions)
    return parts if sound else []


def printer_page(arguments: argparse.Namespace) -> int:
    """Write the page whose bars are measured for a profile."""
    from templater.pipeline.sheets import bars_page

    data, bars, order = bars_page(arguments.paper, arguments.margin)
    files.write_all({arguments.to: data}, replace=True)
    say(
        f"wrote {arguments.to}; print it at actual size (100 %), then measure each line three times or more:",
        *(f"  {bar}: {length} drawn" for bar, length in bars.items()),
        order,
    )
    return DONE


def printer_set(arguments: argparse.Namespace) -> int:
    """Store a printer's profile from readings."""
    from templater.paper.printer import measured_profile, profile_yaml

    readings: dict[str, list[str]] = {}
    for text in arguments.readings:
        bar, _, values = text.partition("=")
        if not values:
            raise ReadingsError(told("T122", bar, "form", text=text))
        readings.setdefault(bar, []).extend(values.split(","))
    profile = measured_profile(arguments.name, arguments.paper, arguments.margin, readings)
    path = files.store(arguments) / f"{safe_name(arguments.name)}.yaml"
    files.write_all({path: profile_yaml(profile).encode()}, replace=True)
    skew = f"skew {MM.fine(profile.skew * 1000, 3)} per m (u {profile.u_skew * 1000:.3f})"
    drawn = {axis: MM.size(length) for axis, length in profile.nominal.items() if length}
    say(
        f"wrote {path}",
        f"  prints {profile.across:.5f} of {drawn['across']} across (u {profile.u_across:.5f})",
        f"  prints {profile.along:.5f} of {drawn['along']} along (u {profile.u_along:.5f})",
        f"  {skew}" if profile.skew_measured else "  skew not measured: measure rising and falling to know it",
        f"use it: print: {{printer: {arguments.name}}} in the description, or make --printer {arguments.name}",
    )
    return DONE


def printer_list(arguments: argparse.Namespace) -> int:
    """List the stored profiles; a damaged one is named after the sound ones."""
    folder = files.store(arguments)
    faults: list[Finding] = []
    for path in sorted(folder.glob("*.yaml")):
        try:
            profile = files.stored_profile(folder, path.stem)
        except TemplaterError as fault:
            faults += fault.findings
            continue
        say(f"{profile.printer}: {profile.paper}, {profile.across:.5f} across, {profile.along:.5f} along")
    if faults:
        raise ReadingsError(*faults)
    return DONE
