"""The command for people without a shell: ``page`` writes the whole tool as one HTML file."""

from __future__ import annotations

import argparse
from pathlib import Path

from templater import __version__
from templater.cli import files, folders
from templater.cli.console import DONE, say
from templater.description.source import Base
from templater.findings import TemplaterError


def page(arguments: argparse.Namespace) -> int:
    """Write the page, with a boat inside if one is given, or the folder to host."""
    from templater.page.copies import BUILT, as_folder, with_job
    from templater.page.opened import job_of

    if not BUILT.exists():
        raise files.file_fault(BUILT, "the page has not been built - run: bash .ci/setup page")
    data = BUILT.read_bytes()
    if arguments.description is not None:
        job = job_of(arguments.description.name, files.read_bytes(arguments.description))
        beside = {Path(base.name).name: base.data.decode("utf-8-sig") for base in _bases(arguments.description)}
        job["bases"] = beside | job.get("bases", {})
        data = with_job(data, job)
    if arguments.folder is not None:
        made = as_folder(data, __version__)
        folders.publish(arguments.folder, made)
        say(f"wrote {len(made)} files to {arguments.folder}; put the folder on any web host")
        return DONE
    folders.write_one(arguments.to, data, replace=True)
    say(f"wrote {arguments.to}, {len(data) / 1e6:.1f} MB; open it in a browser, no network is needed")
    return DONE


def _bases(path: Path) -> tuple[Base, ...]:
    """Return the descriptions that one is based on, none where it cannot be read as it stands."""
    from templater.pipeline.checked import check

    try:
        return check(files.read_source(path)).bases
    except TemplaterError:
        return ()
