"""The command line's choices for a run, and the folder of printer profiles that they may name."""

from __future__ import annotations

import argparse
import functools
import os
from pathlib import Path
from typing import TYPE_CHECKING

from templater.cli import files
from templater.findings import Finding, ReadingsError

if TYPE_CHECKING:
    from templater.paper.printer import PrinterProfile
    from templater.pipeline.checked import Options


def options_of(arguments: argparse.Namespace) -> Options:
    """Return the run's options from the command line."""
    from templater.pipeline.checked import Options

    return Options(
        paper=arguments.paper,
        only=tuple(getattr(arguments, "only", ())),
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
        raise files.file_fault("~", "you have no folder of your own here - set TEMPLATER_HOME to one") from None


def stored_profile(folder: Path, name: str) -> PrinterProfile:
    """Return a stored profile.

    Raises:
        ReadingsError: if there is none of this name, or it is no sound profile.
    """
    from templater.paper.profile_file import load_profile

    path = folder / f"{files.safe_name(name)}.yaml"
    if not path.exists():
        known = ", ".join(sorted(one.stem for one in folder.glob("*.yaml"))) if folder.is_dir() else ""
        text = f"{name}: no profile of this printer - leave the name out, or store one with printer set; " \
            f"stored: {known or 'none'}"
        raise ReadingsError(Finding("T121", "print.printer", text))
    return load_profile(files.read_text(path).decode("utf-8-sig"), str(path))
