"""The commands on files that come and go: ``proof``, ``handover``, ``unpack``, ``compare``, and ``page``."""

import argparse
import contextlib
import functools
import json
import shlex
from pathlib import Path
from typing import TYPE_CHECKING

from templater import __version__
from templater.boat.solved import plain
from templater.cli import files
from templater.cli.apart import limited
from templater.cli.console import DONE, OUT_OF_TOLERANCE, print_findings, print_json, progress_bar, say
from templater.findings import ProofError, TemplaterError
from templater.reader.faults import told
from templater.share.names import is_pdf, safe_name, unfit_names
from templater.units import MM

if TYPE_CHECKING:
    from templater.proof.expect import Expected
    from templater.proof.report import ProofReport


def proof(arguments: argparse.Namespace) -> int:
    """Read files back and say how true they are."""
    from templater.proof.report import ProofReport
    from templater.report.blocks import lines, table

    try:
        # Some program may have had the files in hand: what does no harm, as a page that was only turned, does not fail.
        report = ProofReport.of([_prove(*some) for some in _to_prove(arguments)])
    except ProofError as fault:  # a manifest that is none: nothing has been proved, true or not
        raise files.FileError(*fault.findings) from None
    if arguments.json:
        print_json(report.data())
    else:
        rows = tuple(
            (*one[:1], *one[2:6], one.worst.deviation, ", ".join(filter(None, one.worst[1:]))) if one.sized
            else (*one[:1], *one[2:6], "not measured", None)
            for one in report.sheets
        )  # fmt: skip
        say(*lines(table("proof", rows), MM))
        print_findings(report.findings)
        say(report.verdict)
    return DONE if report.passed else OUT_OF_TOLERANCE


def _prove(some: dict[str, bytes], manifest: "Expected", whole: bool) -> "ProofReport":
    from templater.proof.prove import prove

    size, names = int(min(sum(map(len, some.values())), manifest.size)), ", ".join(some)
    work = functools.partial(prove, some, manifest, whole=whole, as_written=False)
    return limited(work, ProofError, "Q103", names, size)


def _to_prove(arguments: argparse.Namespace) -> "list[tuple[dict[str, bytes], Expected, bool]]":
    """Return files by name with their manifest, and whether they are a whole run's: all sheets of a folder's runs."""
    from templater.paper.manifest import FIT_UP_FILE, MANIFEST_FILE
    from templater.share.handover import MANIFEST

    paths: list[Path] = arguments.files
    first, named = paths[0], arguments.manifest
    for path in paths:
        if not path.exists() or (path.is_file() and path.suffix.lower() not in (".pdf", ".svg")):
            raise files.FileError(told("Q135" if path.exists() else "Q102", "", path=str(path)))
    folder = first if first.is_dir() else first.parent
    usual, fit_up = folder / MANIFEST_FILE, folder / FIT_UP_FILE
    beside = [path for path in (usual, fit_up) if path.is_file()] or [usual]
    homes = [named] if named is not None else beside
    if len(paths) == 1 and first.is_dir():
        found = []
        for manifest in map(_manifest, homes):
            # A manifest from elsewhere may name anything: only plain names are looked for.
            names = sorted(name for name in manifest.files if Path(name).name == name and (first / name).is_file())
            found.append(({name: files.read_bytes(first / name) for name in names}, manifest, True))
        return found
    if len(paths) == 1 and named is None:
        data, inside = files.read_bytes(first), None
        with contextlib.suppress(TemplaterError):  # no such PDF, or not a sound one
            others = files.unpack(data, str(first)).others if is_pdf(data) else ()
            inside = next((item.data for item in others if item.role == MANIFEST), None)
        if inside is not None:
            return [({first.name: data}, _manifest(first, inside), False)]
    manifest, some = _manifest(homes[0]), {path.name: files.read_bytes(path) for path in paths}
    shims = _manifest(homes[1]) if len(homes) > 1 and some.keys() - manifest.files else None
    fitted = {name: some.pop(name) for name in [*some] if shims is not None and name in shims.files}
    return [(each, one, False) for each, one in ((some, manifest), (fitted, shims)) if each and one is not None]


def _manifest(path: Path, inside: bytes | None = None) -> "Expected":
    """Return what a manifest says, or one ``inside`` another file; raises ProofError: Q100, none; Q101, at fault."""
    from templater.proof.expect import read_manifest

    if inside is None and not path.exists():
        raise ProofError(told("Q100", "", path=str(path)))
    raw = files.read_bytes(path) if inside is None else inside
    try:
        data = json.loads(raw)
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict) or "sheets" not in data:
        raise ProofError(told("Q101", "", path=str(path)))
    return read_manifest(data, str(path))._replace(size=len(raw))


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
    comparison, written = compare_boats(a.boat, b.boat, arguments.tolerance), dict[Path, bytes]()
    if arguments.overlay:
        from templater.pipeline.share import overlay_files

        overlaid = overlay_files(a, b, paper=arguments.paper)
        if not arguments.overlay.name:
            raise files.file_fault(arguments.overlay, "is a folder - give the name of a file", "D191")
        written = {arguments.overlay.with_suffix(end): data for end, data in overlaid.items()}
        files.write_all(written, replace=True)
    if arguments.json:
        print_json(plain(comparison))
    else:
        from templater.pipeline.share import comparison_blocks
        from templater.report.blocks import lines

        figures = b.boat.description.figures
        for block in comparison_blocks(comparison, figures):
            say(*lines(block, figures), "")
        say(*(f"wrote {path}" for path in written))
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
