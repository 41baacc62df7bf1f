"""The builder's commands: ``new``, ``schema``, ``check``, ``make`` for one boat or a fleet, ``cut``."""

import argparse
import contextlib
import re
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, NamedTuple

from templater.boat.solved import plain
from templater.cli import files
from templater.cli.apart import beside, end_with_parent
from templater.cli.console import DONE, FAULT, OUT_OF_TOLERANCE, count, print_findings, print_json, progress_bar, say
from templater.description.load import starter_text
from templater.findings import Location, ProofError, Severity, TemplaterError
from templater.paper.manifest import MANIFEST_FILE
from templater.share.names import safe_name
from templater.units import MM

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport
    from templater.description.keys import Description
    from templater.pipeline.checked import Checked
    from templater.pipeline.checked import Progress as Step
    from templater.pipeline.make import Made


def new(arguments: argparse.Namespace) -> int:
    """Write a commented description that passes ``check``."""
    from templater.standards.typeface import lacking

    path: Path = arguments.file
    if arguments.readings is not None:
        from templater.fitup.readings import starter_readings
        from templater.pipeline.checked import check

        boat = check(files.read_source(arguments.readings)).boat
        files.write_all({path: starter_readings(boat).encode()})
        say(f"wrote {path}; put your readings in, then run: templater square {arguments.readings} {path}")
        return DONE
    name = arguments.boat or path.stem.replace("-", " ").replace("_", " ").strip().title() or "My boat"
    if fault := lacking("".join(letter for letter in name if letter.isprintable())):
        raise files.file_fault(f"--boat {name}", fault, "S301")
    files.write_all({path: starter_text(name, arguments.units).encode()})
    say(f"wrote {path}; change its numbers to yours, then run: templater check {path}")
    return DONE


def schema(_arguments: argparse.Namespace) -> int:
    """Print the JSON Schema of the description."""
    from templater.description.schema import schema_json

    print(schema_json())
    return DONE


def check(arguments: argparse.Namespace) -> int:
    """Solve the boat and list the findings."""
    from templater.pipeline.checked import check
    from templater.pipeline.sheets import on_paper

    options = files.options_of(arguments)
    solved = check(files.read_source(arguments.description), options)
    checked, _, report = on_paper(solved, options, larger=arguments.accuracy)
    if arguments.json:
        found = _checked_dict(checked)
        if arguments.accuracy and report is not None:
            found["accuracy"] = plain(report)
        print_json(found)
    else:
        print_findings(checked.findings)
        say(*_inherited_lines(checked.boat.description), *_summary(checked, report))
        if arguments.accuracy and report is not None:
            from templater.report.blocks import lines
            from templater.report.job_sheet import accuracy_tables, chances_table

            for table in (*accuracy_tables(checked.boat, report), chances_table(report)):
                say("", *lines(table, checked.boat.description.figures))
    return FAULT if checked.errors else DONE


def _summary(checked: "Checked", report: "AccuracyReport | None") -> list[str]:
    """Return the solved boat in a few lines for people: what changes from one setting to the next."""
    from templater.accuracy.report import chance_text
    from templater.report.blocks import lines, table

    boat = checked.boat
    chances = {row.setting: chance_text(row.chance) for row in report.limits} if report is not None else {}
    told = {"boat": boat.description.boat, "settings": count(len(boat.settings), "setting")}
    tape = {one.setting: one.slant_from_post for one in boat.tape}
    rows = tuple(
        (row.number, row.station, row.runner_base, row.to_max, tape.get(row.number), chances.get(row.number))
        for row in boat.settings
    )
    solved = table("solved", rows, **told, holes=count(len(boat.holes), "hole"))
    errors, warnings, all_ = map(len, (checked.errors, checked.warnings, checked.findings))
    advice = count(all_ - errors - warnings, "piece")
    found = f"{count(errors, 'error')}, {count(warnings, 'warning')}, {advice} of advice"
    return [*lines(solved, boat.description.figures), found]


def _checked_dict(checked: "Checked") -> dict[str, object]:
    boat = checked.boat
    return {
        "boat": boat.description.boat,
        "description_sha256": checked.sha256,
        "settings": plain(boat.settings),
        "holes": [
            {"id": h.id, "on": h.on.value, "kind": h.kind.value, "x": h.at[0], "y": h.at[1], "diameter": h.diameter}
            for h in boat.holes
        ],
        "inherited": [
            {"key": key, "value": value, "file": where and where.file, "line": where and where.line}
            for key, value, _, where in _inherited(boat.description)
        ],
        "findings": plain(checked.findings),
    }


def _inherited(description: "Description") -> list[tuple[str, str | float | None, bool, Location | None]]:
    """Return key, value, whether it is a length, and place of all that comes from a base; a list counts as one."""
    if not description.inherited:
        return []
    from templater.share.compare import leaves

    known = {key: (value, long) for key, value, long in leaves(description)}
    keys = sorted(description.inherited, key=lambda one: (description.place(one) or ("", 0, 0), one))
    names = dict.fromkeys(re.sub(r"\.[0-9]+(\..*)?$", "", key) for key in keys)
    return [(name, *known.get(name, (None, False)), description.place(name)) for name in names]


def _inherited_lines(description: "Description") -> list[str]:
    from templater.report.blocks import lines, table, value_of

    cells = [
        (key, "a list" if value is None else value_of(value, long), str(where).rpartition(":")[0])
        for key, value, long, where in _inherited(description)
    ]
    return lines(table("inherited", cells, count=str(len(cells))), description.figures) if cells else []


def make(arguments: argparse.Namespace) -> int:
    """Write all files of the job, for one boat or for several."""
    if len(arguments.description) > 1:
        return _make_fleet(arguments)
    with progress_bar() as step:
        made, folder, gone = _build(arguments.description[0], arguments, step)
    if arguments.json:
        from templater.report.blocks import job_sheet_data

        print_json({
            **_checked_dict(made.checked), "folder": str(folder), "files": sorted(made.files), "pages": made.pages,
            "worst_deviation": made.proof.worst.deviation,
            "job_sheet": made.job_sheet and job_sheet_data(made.job_sheet), "removed": list(gone),
        })  # fmt: skip
        return DONE
    told = made.checked.findings  # no file of a run shows S111, of another paper
    print_findings([one for one in told if one.severity is Severity.WARNING or one.code == "S111"], sys.stderr)
    for sheet in made.sheets:
        cut = f", {count(len(sheet.cut), 'hole')} cut by seams" if sheet.cut else ""
        if sheet.crossed:
            cut += f", {count(len(sheet.crossed), 'other thing')} cut (arms, plates, sight windows)"
        if made.job_sheet is None:
            say(*(f"{folder / name}: one tile, {sheet.lying}" for name in made.files))
        else:
            say(f"{folder / sheet.drawing.name}.pdf: {count(len(sheet.tiles), 'tile')} {sheet.lying}{cut}")
    kept = [f"{folder}: left as they were: {', '.join(made.kept)}"] if made.kept else []
    say(*kept, *_removed(folder, gone))
    worst = made.proof.worst_text
    say(f"{folder}: {count(len(made.files), 'file')}, {count(made.pages, 'page')}; worst deviation read back {worst}")
    say("Print at actual size (100 %), then measure the bars on every page before use.")
    return DONE


def cut(arguments: argparse.Namespace) -> int:
    """Write the files for the shop that cuts the plates."""
    from templater.pipeline.make import CUT_FILES, CUT_NOTE, cut

    boat, parts, made = cut(files.read_source(arguments.description), files.options_of(arguments))
    folder: Path = arguments.out / safe_name(boat.description.boat) / "cut"
    earlier = [path.name for path in folder.glob("*") if CUT_FILES.fullmatch(path.name)]
    gone = files.publish(folder, made, stale=earlier)
    if arguments.json:
        rows = [{"part": p.name, "quantity": p.quantity, "thickness": p.thickness, "file": p.stem} for p in parts]
        print_json({"folder": str(folder), "parts": rows, "removed": list(gone)})
        return DONE
    for part in parts:
        say(f"{folder / part.stem}.dxf, .svg: cut {part.quantity}")
    say(*_removed(folder, gone))
    say(f"{folder / CUT_NOTE}: the page that goes with them")
    return DONE


def _removed(folder: Path, gone: tuple[str, ...]) -> list[str]:
    return [f"{folder}: removed, for they were of an earlier run: {', '.join(gone)}"] if gone else []


def _build(
    path: Path, arguments: argparse.Namespace, progress: "Step | None" = None
) -> "tuple[Made, Path, tuple[str, ...]]":
    """Make one boat's files; return what was made, the folder, and which files of an earlier run are gone from it."""
    from templater.pipeline.checked import no_progress
    from templater.pipeline.make import make

    def earlier(boat: str) -> bytes | None:
        path = arguments.out / safe_name(boat) / MANIFEST_FILE
        return files.read_bytes(path) if path.is_file() else None

    with contextlib.ExitStack() as kept:

        def store() -> BinaryIO:  # without a name, so that nothing of it is ever left
            return kept.enter_context(tempfile.TemporaryFile())

        options = files.options_of(arguments)._replace(earlier=earlier, store=store)
        if progress:  # the processes of a fleet keep all processors busy
            options = options._replace(beside=beside)
        made = make(files.read_source(path), options, progress or no_progress)
        folder: Path = arguments.out / safe_name(made.checked.boat.description.boat)
        standing = [one.name for one in folder.glob("*")]
        parts = {name: made.files.parts(name) for name in made.files}  # one at a time: all would fill the memory
        return made, folder, files.publish(folder, parts, stale=made.stale(standing))


class Outcome(NamedTuple):
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
    from concurrent.futures import ProcessPoolExecutor, as_completed
    from concurrent.futures.process import BrokenProcessPool

    from tqdm import tqdm

    from templater.report.blocks import lines, table

    paths: list[Path] = arguments.description
    outcomes = {path: _failed(path, text) for path, text in _clashes(paths).items()}
    jobs = [path for path in paths if path not in outcomes]
    with ProcessPoolExecutor(max_workers=arguments.processes, initializer=end_with_parent) as pool:
        waiting = {pool.submit(_one, path, arguments): path for path in jobs}
        quiet = not sys.stderr.isatty()
        for done in tqdm(as_completed(waiting), total=len(jobs), delay=1, leave=False, disable=quiet, desc="boats"):
            path = waiting[done]
            try:
                outcomes[path] = done.result()
            except BrokenProcessPool:
                outcomes[path] = _failed(path, "the process that made it stopped early")
            except Exception as fault:
                # A defect that one boat brings to light must not cost the fleet its other boats.
                text = f"not made, by a defect of this program: {type(fault).__name__}: {fault}"
                outcomes[path] = _failed(path, text)
    rows = [outcomes[path] for path in paths]
    failed = [row for row in rows if row.faults]
    if arguments.json:
        print_json(plain(rows))
    else:
        cells = tuple(
            (row.file, None, None, None, f"FAILED, {count(len(row.faults), 'fault')}") if row.faults
            else (row.file, row.pages, row.warnings, row.worst_deviation, row.folder)
            for row in rows
        )  # fmt: skip
        say(*lines(table("fleet", cells), MM), f"{len(rows) - len(failed)} of {len(rows)} boats made")
        say(*(line for row in failed for line in row.faults), file=sys.stderr)
    return DONE if not failed else OUT_OF_TOLERANCE if all(row.out_of_tolerance for row in failed) else FAULT


def _failed(path: Path, text: str) -> Outcome:
    return Outcome(str(path), faults=(f"{path}: {text}",))


def _one(path: Path, arguments: argparse.Namespace) -> Outcome:
    """Build one boat in a process of its own."""
    try:
        made, folder, _ = _build(path, arguments)
    except TemplaterError as fault:
        lines = tuple(finding.line() for finding in fault.findings)
        return Outcome(str(path), faults=lines, out_of_tolerance=isinstance(fault, ProofError))
    boat = made.checked.boat.description.boat
    return Outcome(str(path), boat, str(folder), made.pages, len(made.checked.warnings), made.proof.worst.deviation)


def _clashes(paths: list[Path]) -> dict[Path, str]:
    """Return descriptions whose boats would share a folder with an earlier one's, with the reason."""
    from templater.pipeline.checked import boat_name

    names: dict[str, Path] = {}
    clashes = {path: f"given {times} times - give it once" for path, times in Counter(paths).items() if times > 1}
    for path in paths:
        with contextlib.suppress(TemplaterError):  # building it will say what is wrong
            name = safe_name(boat_name(files.read_source(path)))
            if names.setdefault(name, path) != path:
                text = f"its boat's folder {name} is that of {names[name]} already - give it another name"
                clashes.setdefault(path, text)
    return clashes
