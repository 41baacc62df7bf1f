"""The commands for others: ``handover``, ``unpack``, ``compare``, and ``page`` for people without a shell."""

from __future__ import annotations

import argparse
import contextlib
import shlex
from pathlib import Path

from templater import __version__
from templater.boat.solved import plain
from templater.cli import files
from templater.cli.console import DONE, OUT_OF_TOLERANCE, print_json, progress_bar, say
from templater.findings import TemplaterError
from templater.share.names import safe_name, unfit_names


def handover(arguments: argparse.Namespace) -> int:
    """Write the whole job as one PDF with the description inside."""
    from templater.pipeline.share import handover as bind

    source = files.read_source(arguments.description)
    extra = [(path.name, files.checked_text(files.read_bytes(path), str(path))) for path in arguments.readings]
    with progress_bar() as step:
        name, data = bind(source, files.options_of(arguments), extra, step)
    path = arguments.to or Path(f"{safe_name(name)}-handover.pdf")
    files.write_all({path: data}, replace=arguments.replace)
    say(f"wrote {path}; your friend runs: templater make {shlex.quote(path.name)} --paper Letter")
    return DONE


def unpack(arguments: argparse.Namespace) -> int:
    """Write the texts that a handover PDF carries, byte for byte."""
    unpacked = files.unpack(files.read_bytes(arguments.file), str(arguments.file))
    folder: Path = arguments.out
    if unfit := unfit_names(item.name for item in unpacked.all):
        raise files.file_fault(arguments.file, unfit, "D195")
    targets = {folder / item.name: item.data for item in unpacked.all}
    standing = ", ".join(str(path) for path in targets if path.exists())
    if standing and not arguments.replace:
        raise files.file_fault(standing, "already there; nothing was written - choose another --out", "D192")
    files.write_all(targets, replace=True)
    say(*(f"wrote {path}" for path in targets))
    return DONE


def compare(arguments: argparse.Namespace) -> int:
    """Say how two boats differ and whether A's templates serve B."""
    from templater.pipeline.checked import check
    from templater.share.compare import compare as compare_boats

    a, b = check(files.read_source(arguments.a)), check(files.read_source(arguments.b))
    comparison = compare_boats(a.boat, b.boat, arguments.tolerance)
    if arguments.overlay:
        from templater.pipeline.share import overlay_files

        overlaid = overlay_files(a, b, paper=arguments.paper)
        if not arguments.overlay.name:
            raise files.file_fault(arguments.overlay, "is a folder - give the name of a file", "D191")
        files.write_all({arguments.overlay.with_suffix(end): data for end, data in overlaid.items()}, replace=True)
    if arguments.json:
        print_json(plain(comparison))
    else:
        from templater.pipeline.share import comparison_blocks
        from templater.report.blocks import lines

        figures = b.boat.description.figures
        for block in comparison_blocks(comparison, figures):
            say(*lines(block, figures), "")
    return DONE if comparison.serves else OUT_OF_TOLERANCE


def page(arguments: argparse.Namespace) -> int:
    """Write the page, with a boat inside if one is given, or the folder to host."""
    from templater.page.texts import BUILT, as_folder, job_of, with_job
    from templater.pipeline.checked import check

    if not BUILT.exists():
        raise files.file_fault(BUILT, "the page has not been built - run: bash .ci/setup page")
    data = BUILT.read_bytes()
    if arguments.description is not None:
        job = job_of(arguments.description.name, files.read_bytes(arguments.description))
        bases: dict[str, str] = {}
        with contextlib.suppress(TemplaterError):  # it may not be readable as it stands
            checked = check(files.read_source(arguments.description))
            bases = {Path(base.name).name: base.data.decode("utf-8-sig") for base in checked.bases}
        data = with_job(data, {**job, "bases": bases | job.get("bases", {})})
    if arguments.folder is not None:
        made = as_folder(data, __version__)
        files.publish(arguments.folder, made)
        say(f"wrote {len(made)} files to {arguments.folder}; put the folder on any web host")
        return DONE
    files.write_all({arguments.to: data}, replace=True)
    say(f"wrote {arguments.to}, {len(data) / 1e6:.1f} MB; open it in a browser, no network is needed")
    return DONE
