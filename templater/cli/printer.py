"""The commands for a printer: ``printer page``, ``printer set``, ``printer list``."""

from __future__ import annotations

import argparse
import shlex

from templater.cli import files
from templater.cli.console import DONE, say
from templater.findings import Finding, ReadingsError, TemplaterError
from templater.share.names import safe_name
from templater.units import MM


def printer_page(arguments: argparse.Namespace) -> int:
    """Write the page whose bars are measured for a profile."""
    from templater.paper.tiles import find_paper
    from templater.pipeline.printing import bars_page

    data, bars = bars_page(arguments.paper, arguments.margin)
    files.write_all({arguments.to: data}, replace=True)
    say(
        f"wrote {arguments.to}; print it at actual size (100 %), then measure each line three times or more:",
        *(f"  {bar.id}: {MM.size(bar.length)} drawn" for bar in bars),
        f"templater printer set NAME --paper {shlex.quote(find_paper(arguments.paper).name)} "
        "across=.. along=.. rising=.. falling=..",
    )
    return DONE


def printer_set(arguments: argparse.Namespace) -> int:
    """Store a printer's profile from readings."""
    from templater.paper.printer import profile_yaml
    from templater.pipeline.printing import measured_profile

    readings: dict[str, list[str]] = {}
    for text in arguments.readings:
        bar, _, values = text.partition("=")
        if not values:
            sentence = f"{text}: not BAR=LENGTH - allowed: across=199.4, repeats as across=199.4,199.5"
            raise ReadingsError(Finding("T122", bar, sentence))
        readings.setdefault(bar, []).extend(values.split(","))
    profile = measured_profile(arguments.name, arguments.paper, arguments.margin, readings)
    path = files.store(arguments) / f"{safe_name(arguments.name)}.yaml"
    files.write_all({path: profile_yaml(profile).encode()}, replace=True)
    skew = f"skew {MM.fine(profile.skew * 1000, 3)} per m (u {profile.u_skew * 1000:.3f})"
    say(
        f"wrote {path}",
        f"  prints {profile.across:.5f} across (u {profile.u_across:.5f})",
        f"  prints {profile.along:.5f} along (u {profile.u_along:.5f})",
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
