"""``make`` for a whole fleet: many boats in parallel processes, one table, one boat's fault stops no other."""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from templater.cli import files
from templater.cli.build import build_one
from templater.findings import ProofError, TemplaterError

DONE = 0
FAULT = 1
OUT_OF_TOLERANCE = 3


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one boat: its folder and figures, or why it failed, a line for each fault."""

    file: str
    boat: str = ""
    folder: str = ""
    pages: int = 0
    warnings: int = 0
    worst: float = 0.0
    faults: tuple[str, ...] = ()
    out_of_tolerance: bool = False


def make_fleet(arguments: argparse.Namespace) -> int:
    """Build every boat, then say what became of each."""
    paths: list[Path] = arguments.description
    clashes = _clashes(paths)
    jobs = [path for path in paths if path not in clashes]
    outcomes = {path: Outcome(str(path), faults=(text,)) for path, text in clashes.items()}
    from tqdm import tqdm

    with ProcessPoolExecutor(max_workers=arguments.processes) as pool:
        waiting = {pool.submit(_one, path, arguments): path for path in jobs}
        quiet = not sys.stderr.isatty()
        for done in tqdm(as_completed(waiting), total=len(jobs), delay=1, leave=False, disable=quiet, desc="boats"):
            path = waiting[done]
            try:
                outcomes[path] = done.result()
            except BrokenProcessPool:
                outcomes[path] = Outcome(str(path), faults=(f"{path}: the process that built it ended without a word",))
            except Exception as fault:
                # A defect that one boat brings to light must not cost the fleet its other boats.
                text = f"{path}: not made, by a defect of this program: {type(fault).__name__}: {fault}"
                outcomes[path] = Outcome(str(path), faults=(text,))
    rows = [outcomes[path] for path in paths]
    if arguments.json:
        print(json.dumps([_outcome_dict(row) for row in rows], indent=1, ensure_ascii=False))
    else:
        _print_table(rows)
    if any(row.faults and not row.out_of_tolerance for row in rows):
        return FAULT
    return OUT_OF_TOLERANCE if any(row.faults for row in rows) else DONE


def _one(path: Path, arguments: argparse.Namespace) -> Outcome:
    """Build one boat in a process of its own."""
    try:
        made, folder = build_one(path, arguments)
    except TemplaterError as fault:
        lines = tuple(finding.line() for finding in fault.findings)
        return Outcome(str(path), faults=lines, out_of_tolerance=isinstance(fault, ProofError))
    boat = made.checked.boat.description.boat
    return Outcome(str(path), boat, str(folder), made.pages, len(made.checked.warnings), made.proof.worst)


def _clashes(paths: list[Path]) -> dict[Path, str]:
    """Return descriptions whose boats would share a folder with an earlier one's, with the reason."""
    from templater.pipeline import boat_name

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
    from templater.proof import deviation_text

    widest = max(len(row.file) for row in rows)
    print(f"{'description':{widest}}  pages  warnings  worst mm  outcome")
    for row in rows:
        if row.faults:
            word = "fault" if len(row.faults) == 1 else "faults"
            print(f"{row.file:{widest}}  {'':5}  {'':8}  {'':8}  FAILED, {len(row.faults)} {word}")
        else:
            worst = deviation_text(row.worst)
            print(f"{row.file:{widest}}  {row.pages:5}  {row.warnings:8}  {worst:>8}  {row.folder}")
    failed = sum(1 for row in rows if row.faults)
    print(f"{len(rows) - failed} of {len(rows)} boats made")
    for row in rows:
        for line in row.faults:
            print(line, file=sys.stderr)


def _outcome_dict(row: Outcome) -> dict[str, Any]:
    return {
        "file": row.file,
        "boat": row.boat or None,
        "folder": row.folder or None,
        "pages": row.pages,
        "warnings": row.warnings,
        "worst_deviation": None if row.faults else row.worst,
        "faults": list(row.faults),
    }
