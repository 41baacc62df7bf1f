"""The commands for a printer: ``printer page``, ``printer set``, ``printer list``."""

from __future__ import annotations

import argparse
import shlex

from templater import __version__
from templater.cli import files, folders
from templater.cli.console import DONE, say
from templater.findings import Finding, ReadingsError, TemplaterError

#: Readings of one bar that differ by more than this are no repeats: a decimal comma was written.
_SLIP = 0.5
#: Bars of sheets are no shorter, mm.
_LEAST_BAR = 90.0


def printer_page(arguments: argparse.Namespace) -> int:
    """Write the page whose bars are measured for a profile."""
    from templater.paper.papers import find_paper
    from templater.paper.printer import printer_bars, printer_page
    from templater.paper.tiles import TitleData
    from templater.writers.pdf import write_pdf

    paper = find_paper(arguments.paper, "--paper")
    title = TitleData("Printer test page", "", "", "", "", "", "", "", __version__)
    data = write_pdf([printer_page(paper, arguments.margin)], name="printer-page", title=title)
    folders.write_one(arguments.to, data, replace=True)
    say(f"wrote {arguments.to}; print it at actual size (100 %), then measure each line three times or more:")
    for bar in printer_bars(paper, arguments.margin):
        say(f"  {bar.id}: {bar.length:g} mm drawn")
    say(f"templater printer set NAME --paper {shlex.quote(paper.name)} across=.. along=.. rising=.. falling=..")
    return DONE


def printer_set(arguments: argparse.Namespace) -> int:
    """Store a printer's profile from readings."""
    from templater.paper.papers import find_paper
    from templater.paper.printer import profile_from_readings
    from templater.paper.profile_file import profile_yaml
    from templater.units import parse_length

    readings: dict[str, list[float]] = {}
    nominal: dict[str, float] = {}
    for text in arguments.readings:
        bar, _, values = text.partition("=")
        key = "rising" if bar == "diagonal" else bar
        for value in values.split(","):
            try:
                measured, _, drawn = value.rpartition("/")
                # A bar of a sheet: measured over drawn, as 98.5/100; a fraction's lower number is no bar's length.
                if measured and _is_bar(drawn):
                    nominal[key] = parse_length(drawn)
                    value_text = measured
                else:
                    value_text = value
                readings.setdefault(key, []).append(parse_length(value_text))
            except ValueError as fault:
                sentence = f"{text}: not BAR=LENGTH - allowed: across=199.4, repeats as across=199.4,199.5; {fault}"
                raise ReadingsError(Finding("T122", bar, sentence)) from None
        if readings[key] and min(readings[key]) < max(readings[key]) * _SLIP:
            sentence = f"{text}: readings too far apart - write decimals with a point, as 179.1; a comma parts repeats"
            raise ReadingsError(Finding("T122", bar, sentence))
    paper = find_paper(arguments.paper, "--paper")
    profile = profile_from_readings(arguments.name, paper, arguments.margin, readings, nominal)
    path = files.store(arguments) / f"{files.safe_name(arguments.name)}.yaml"
    folders.write_one(path, profile_yaml(profile).encode(), replace=True)
    say(f"wrote {path}")
    say(f"  prints {profile.across:.5f} across (u {profile.u_across:.5f})")
    say(f"  prints {profile.along:.5f} along (u {profile.u_along:.5f})")
    skew = f"skew {profile.skew * 1000:.3f} mm per m (u {profile.u_skew * 1000:.3f})"
    say(f"  {skew}" if profile.skew_measured else "  skew not measured: measure rising and falling to know it")
    say(f"use it: print: {{printer: {arguments.name}}} in the description, or make --printer {arguments.name}")
    return DONE


def _is_bar(text: str) -> bool:
    """True if a text is a length that a sheet's bar may have."""
    from templater.units import parse_length

    try:
        return parse_length(text) >= _LEAST_BAR
    except ValueError:
        return False


def printer_list(arguments: argparse.Namespace) -> int:
    """List the stored profiles; a damaged one is named after the sound ones."""
    folder = files.store(arguments)
    faults: list[Finding] = []
    for path in sorted(folder.glob("*.yaml")) if folder.is_dir() else []:
        try:
            profile = files.stored_profile(folder, path.stem)
        except TemplaterError as fault:
            faults += fault.findings
            continue
        say(f"{profile.name}: {profile.paper}, {profile.across:.5f} across, {profile.along:.5f} along")
    if faults:
        raise ReadingsError(*faults)
    return DONE
