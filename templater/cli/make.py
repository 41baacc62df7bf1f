"""The commands ``make``, for one boat or a fleet in parallel processes, and ``cut``."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from templater.boat.plain import plain
from templater.cli import files, folders
from templater.cli.build import checked_dict
from templater.cli.console import (
    DONE,
    FAULT,
    OUT_OF_TOLERANCE,
    Progress,
    count,
    print_findings,
    print_json,
    say,
)
from templater.cli.options import options_of
from templater.findings import ProofError, TemplaterError
from templater.units import MM

if TYPE_CHECKING:
    from templater.pipeline.checked import Progress as Step
    from templater.pipeline.make import Made

#: Advice that no file of a run shows, so that it is printed.
_OTHER_PAPER = "S111"


def make(arguments: argparse.Namespace) -> int:
    """Write all files of the job, for one boat or for several."""
    return _make_fleet(arguments) if len(arguments.description) > 1 else _make_one(arguments)


def _make_one(arguments: argparse.Namespace) -> int:
    from templater.proof.report import deviation_text

    with Progress() as progress:
        made, folder, gone = build_one(arguments.description[0], arguments, progress.step)
    if arguments.json:
        print_json({**_made_dict(made, folder), "removed": list(gone)})
        return DONE
    print_findings(made.checked.warnings, sys.stderr)
    print_findings(tuple(one for one in made.checked.findings if one.code == _OTHER_PAPER), sys.stderr)
    for sheet in made.sheets:
        turned = "sideways" if sheet.sideways else "upright"
        cut = f"{count(len(sheet.cut), 'hole')} cut by seams" if sheet.cut else "every hole circle whole"
        if sheet.crossed:
            cut += f", {count(len(sheet.crossed), 'other thing')} cut (arms, plates, sight windows)"
        pages = count(len(sheet.tiles), "tile")
        say(f"{folder / sheet.drawing.name}.pdf: {pages} {sheet.paper.name} {turned}, {cut}")
    worst = deviation_text(made.proof.worst)
    if gone:
        say(f"{folder}: removed, for they were of an earlier run: {', '.join(gone)}")
    say(f"{folder}: {len(made.files)} files, {count(made.pages, 'page')}; worst deviation read back {worst} mm")
    say("Print at actual size (100 %), then measure the bars on every page before use.")
    return DONE


def cut(arguments: argparse.Namespace) -> int:
    """Write the files for the shop that cuts the plates."""
    from templater.pipeline.cutting import FILES, NOTE, cut

    boat, parts, made = cut(files.read_source(arguments.description), options_of(arguments))
    folder: Path = arguments.out / files.safe_name(boat.description.boat) / "cut"
    earlier = [path.name for path in folder.glob("*") if FILES.fullmatch(path.name)]
    gone = folders.publish(folder, made, stale=earlier)
    if arguments.json:
        rows = [{"part": p.name, "quantity": p.quantity, "thickness": p.thickness, "file": p.stem} for p in parts]
        print_json({"folder": str(folder), "parts": rows, "removed": list(gone)})
        return DONE
    for part in parts:
        say(f"{folder / part.stem}.dxf, .svg: cut {part.quantity}")
    if gone:
        say(f"{folder}: removed, for they were of an earlier run: {', '.join(gone)}")
    say(f"{folder / NOTE}: the page that goes with them")
    return DONE


def build_one(
    path: Path, arguments: argparse.Namespace, progress: Step | None = None
) -> tuple[Made, Path, tuple[str, ...]]:
    """Make one boat's files; return what was made, the folder, and which files of an earlier run are gone from it."""
    from templater.pipeline.checked import no_progress
    from templater.pipeline.make import PRODUCTS, make

    made = make(files.read_source(path), options_of(arguments), progress or no_progress)
    folder: Path = arguments.out / files.safe_name(made.checked.boat.description.boat)
    return made, folder, folders.publish(folder, made.files, stale=PRODUCTS)


def _made_dict(made: Made, folder: Path) -> dict[str, object]:
    from templater.report.blocks import job_sheet_data

    return {
        **checked_dict(made.checked),
        "folder": str(folder),
        "files": sorted(made.files),
        "pages": made.pages,
        "worst_deviation": made.proof.worst,
        "job_sheet": job_sheet_data(made.job_sheet),
    }


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one boat: its folder and figures, or why it failed, a line for each fault."""

    file: str
    boat: str = ""
    folder: str = ""
    pages: int = 0
    warnings: int = 0
    worst_deviation: float | None = None
    faults: tuple[str, ...] = ()
    out_of_tolerance: bool = False


def _make_fleet(arguments: argparse.Namespace) -> int:
    """Build every boat, then say what became of each."""
    from concurrent.futures import ProcessPoolExecutor, as_completed
    from concurrent.futures.process import BrokenProcessPool

    from tqdm import tqdm

    paths: list[Path] = arguments.description
    clashes = _clashes(paths)
    jobs = [path for path in paths if path not in clashes]
    outcomes = {path: Outcome(str(path), faults=(text,)) for path, text in clashes.items()}
    with ProcessPoolExecutor(max_workers=arguments.processes, initializer=_worker) as pool:
        waiting = {pool.submit(_one, path, arguments): path for path in jobs}
        quiet = not sys.stderr.isatty()
        for done in tqdm(as_completed(waiting), total=len(jobs), delay=1, leave=False, disable=quiet, desc="boats"):
            path = waiting[done]
            try:
                outcomes[path] = done.result()
            except BrokenProcessPool:
                outcomes[path] = Outcome(str(path), faults=(f"{path}: the process that made it stopped early",))
            except Exception as fault:
                # A defect that one boat brings to light must not cost the fleet its other boats.
                text = f"{path}: not made, by a defect of this program: {type(fault).__name__}: {fault}"
                outcomes[path] = Outcome(str(path), faults=(text,))
    rows = [outcomes[path] for path in paths]
    if arguments.json:
        print_json(plain(rows))
    else:
        _print_table(rows)
    if any(row.faults and not row.out_of_tolerance for row in rows):
        return FAULT
    return OUT_OF_TOLERANCE if any(row.faults for row in rows) else DONE


def _worker() -> None:
    """Leave stops from the keyboard to the process above, and end with it."""
    import ctypes
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(1, signal.SIGTERM)  # PR_SET_PDEATHSIG. Source: prctl(2) of Linux.


def _one(path: Path, arguments: argparse.Namespace) -> Outcome:
    """Build one boat in a process of its own."""
    try:
        made, folder, _ = build_one(path, arguments)
    except TemplaterError as fault:
        lines = tuple(finding.line() for finding in fault.findings)
        return Outcome(str(path), faults=lines, out_of_tolerance=isinstance(fault, ProofError))
    boat = made.checked.boat.description.boat
    return Outcome(str(path), boat, str(folder), made.pages, len(made.checked.warnings), made.proof.worst)


def _clashes(paths: list[Path]) -> dict[Path, str]:
    """Return descriptions whose boats would share a folder with an earlier one's, with the reason."""
    from templater.pipeline.checked import boat_name

    names: dict[str, Path] = {}
    clashes: dict[Path, str] = {}
    for path, times in Counter(paths).items():
        if times > 1:
            clashes[path] = f"{path}: given {times} times - give it once"
    for path in paths:
        try:
            name = files.safe_name(boat_name(files.read_source(path)))
        except TemplaterError:
            continue  # building it will say what is wrong
        if name in names and path not in clashes:
            clashes[path] = f"{path}: its boat's folder {name} is that of {names[name]} already - give it another name"
        names.setdefault(name, path)
    return clashes


def _print_table(rows: list[Outcome]) -> None:
    """Print one row a boat, then every fault."""
    from templater.report.table import Column, Table, lines

    columns = (
        Column("description"), Column("pages"), Column("warnings"), Column("worst deviation", "fine", 5),
        Column("outcome"),
    )  # fmt: skip
    cells = tuple(
        (row.file, None, None, None, f"FAILED, {count(len(row.faults), 'fault')}") if row.faults
        else (row.file, row.pages, row.warnings, row.worst_deviation, row.folder)
        for row in rows
    )  # fmt: skip
    say(*lines(Table("fleet", "", columns, cells), MM))
    failed = sum(1 for row in rows if row.faults)
    say(f"{len(rows) - failed} of {len(rows)} boats made")
    for row in rows:
        for line in row.faults:
            say(line, file=sys.stderr)
