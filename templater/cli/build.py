"""The commands that build: ``new``, ``check``, ``make``, ``schema``."""

from __future__ import annotations

import argparse
import functools
import json
import sys
import time
from pathlib import Path
from typing import Any

from templater.cli import files
from templater.cli.accuracy import accuracy_dict, accuracy_lines
from templater.cli.share import inherited_lines, inherited_rows
from templater.findings import Finding
from templater.units import mm_text

DONE = 0
FAULT = 1
#: Advice that no file of a run shows, so that it is printed.
_OTHER_PAPER = "S111"


def new(arguments: argparse.Namespace) -> int:
    """Write a commented description that passes ``check``."""
    from templater.description import starter_text
    from templater.standards.typeface import FAMILY, missing_letters

    path: Path = arguments.file
    if arguments.readings is not None:
        from templater import pipeline
        from templater.fitup.starter import starter_readings

        boat = pipeline.check(files.read_source(arguments.readings)).boat
        files.write_one(path, starter_readings(boat).encode())
        print(f"wrote {path}; put your readings in, then run: templater square {arguments.readings} {path}")
        return DONE
    name = arguments.boat or path.stem.replace("-", " ").replace("_", " ").strip().title() or "My boat"
    if missing := missing_letters("".join(letter for letter in name if letter.isprintable())):
        text = f"cannot be printed, for {FAMILY} lacks {', '.join(missing)} - give a name in other letters with --boat"
        raise files.file_fault(name, text, "S301")
    files.write_one(path, starter_text(name, arguments.units).encode())
    print(f"wrote {path}; change its numbers to yours, then run: templater check {path}")
    return DONE


def schema(_arguments: argparse.Namespace) -> int:
    """Print the JSON Schema of the description."""
    from templater.description import schema_json

    print(schema_json())
    return DONE


def check(arguments: argparse.Namespace) -> int:
    """Solve the boat and list the findings."""
    from templater import pipeline
    from templater.pipeline.paper import look_at_paper

    options = options_of(arguments)
    checked, report = look_at_paper(pipeline.check(files.read_source(arguments.description), options), options)
    if arguments.json:
        found = _checked_dict(checked)
        if arguments.accuracy and report is not None:
            found["accuracy"] = accuracy_dict(report)
        print(json.dumps(found, indent=1, ensure_ascii=False))
    else:
        print_findings(checked.findings)
        for line in [*inherited_lines(checked.boat.description), *_summary(checked, report)]:
            print(line)
        if arguments.accuracy and report is not None:
            for line in accuracy_lines(report, checked.boat.description.figures):
                print(line)
    return FAULT if checked.errors else DONE


def build_one(path: Path, arguments: argparse.Namespace, progress: Any = None) -> tuple[Any, Path]:
    """Make one boat's files and put them in its folder; return what was made and the folder."""
    made, folder, _ = _build(path, arguments, progress)
    return made, folder


def _build(path: Path, arguments: argparse.Namespace, progress: Any = None) -> tuple[Any, Path, tuple[str, ...]]:
    """Make one boat's files; return what was made, the folder, and which files of an earlier run are gone from it."""
    from templater import pipeline

    source = files.read_source(path)
    made = pipeline.make(source, options_of(arguments), progress or pipeline.no_progress)
    folder: Path = arguments.out / files.safe_name(made.checked.boat.description.boat)
    return made, folder, files.publish(folder, made.files, stale=pipeline.PRODUCTS)


def make(arguments: argparse.Namespace) -> int:
    """Write all files of the job."""
    if len(arguments.description) > 1:
        from templater.cli.fleet import make_fleet

        return make_fleet(arguments)
    from templater.proof import deviation_text

    with Progress() as progress:
        made, folder, gone = _build(arguments.description[0], arguments, progress.step)
    if arguments.json:
        print(json.dumps({**_made_dict(made, folder), "removed": list(gone)}, indent=1, ensure_ascii=False))
        return DONE
    print_findings(made.checked.warnings, sys.stderr)
    print_findings(tuple(one for one in made.checked.findings if one.code == _OTHER_PAPER), sys.stderr)
    for sheet in made.sheets:
        turned = "sideways" if sheet.sideways else "upright"
        cut = f"{_count(len(sheet.cut), 'mark')} cut by seams" if sheet.cut else "no mark cut"
        pages = _count(len(sheet.tiles), "tile")
        print(f"{folder / sheet.drawing.name}.pdf: {pages} {sheet.paper.name} {turned}, {cut}")
    worst = deviation_text(made.proof.worst)
    if gone:
        print(f"{folder}: removed, for they were of an earlier run: {', '.join(gone)}")
    print(f"{folder}: {len(made.files)} files, {_count(made.pages, 'page')}; worst deviation read back {worst} mm")
    print("Print at actual size (100 %), then measure the bars on every page before use.")
    return DONE


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def print_findings(findings: tuple[Finding, ...], stream: Any = None) -> None:
    """Print findings, one a line, the severity in front."""
    for finding in findings:
        print(f"{finding.severity.value}: {finding.line()}", file=stream or sys.stdout)


def finding_dict(finding: Finding) -> dict[str, object]:
    """Return a finding for JSON."""
    where = finding.where
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "key": finding.key,
        "text": finding.text,
        "file": where.file if where else None,
        "line": where.line if where else None,
        "column": where.column if where else None,
    }


def options_of(arguments: argparse.Namespace) -> Any:
    """Return the run's options from the command line."""
    from templater.cli.paper import store, stored_profile
    from templater.pipeline import Options

    folder = store(arguments)
    return Options(
        paper=arguments.paper,
        only=tuple(getattr(arguments, "only", ())),
        printer=getattr(arguments, "printer", None),
        profiles=functools.partial(stored_profile, folder),
    )


def _summary(checked: Any, report: Any = None) -> list[str]:
    """Return the solved boat in a few lines for people: what changes from one setting to the next."""
    from templater.accuracy.wording import chance_text
    from templater.job.distances import setting_rows

    boat = checked.boat
    figures = boat.description.figures
    in_mm = figures.system == "mm"
    lines = [f"{boat.description.boat}: {_count(len(boat.settings), 'setting')}, {_count(len(boat.holes), 'hole')}"]
    chances = {row.setting: row.chance for row in report.limits} if report is not None else {}
    heads = ("setting", "bolt line", "runner base", "inside greatest", "tape from post", "chance over the limit")
    table: list[tuple[str, ...]] = [(*heads[:-1], f"{heads[-1]} (lengths in mm)" if in_mm else heads[-1])]
    for row in setting_rows(boat):
        cells = (row.station, row.runner_base, row.to_max, row.tape_from_post)
        texts = ["-" if cell is None else mm_text(cell) if in_mm else figures.length(cell) for cell in cells]
        chance = chances.get(row.number)
        table.append((str(row.number), *texts, "-" if chance is None else chance_text(chance)))
    widths = [max(len(line[column]) for line in table) for column in range(len(heads) - 1)]
    lines += ["  ".join((*(t.rjust(w) for t, w in zip(line, widths, strict=False)), line[-1])) for line in table]
    errors, warnings = len(checked.errors), len(checked.warnings)
    advice = len(checked.findings) - errors - warnings
    lines.append(f"{_count(errors, 'error')}, {_count(warnings, 'warning')}, {_count(advice, 'piece')} of advice")
    return lines


def _checked_dict(checked: Any) -> dict[str, object]:
    boat = checked.boat
    return {
        "boat": boat.description.boat,
        "description_sha256": checked.sha256,
        "settings": [
            {key: getattr(s, key) for key in ("number", "station", "runner_base", "to_max", "to_min")}
            for s in boat.settings
        ],
        "holes": [
            {"id": h.id, "on": h.on.value, "kind": h.kind.value, "x": h.at[0], "y": h.at[1], "diameter": h.diameter}
            for h in boat.holes
        ],
        "inherited": inherited_rows(boat.description),
        "findings": [finding_dict(finding) for finding in checked.findings],
    }


def _made_dict(made: Any, folder: Path) -> dict[str, object]:
    from templater.report.plain import job_sheet_data

    return {
        **_checked_dict(made.checked),
        "folder": str(folder),
        "files": sorted(made.files),
        "pages": made.pages,
        "worst_deviation": made.proof.worst,
        "job_sheet": job_sheet_data(made.job_sheet),
    }


class Progress:
    """A progress bar on the terminal that shows only when a run takes over a second."""

    def __init__(self) -> None:
        self._bar: Any = None
        self._shown_from = time.monotonic() + 1.0

    def __enter__(self) -> Progress:
        return self

    def step(self, what: str, done: int, of: int) -> None:
        """Show what is being done."""
        if self._bar is None:
            if not sys.stderr.isatty() or time.monotonic() < self._shown_from:
                return
            from tqdm import tqdm  # only now: most runs end before loading it would have paid

            self._bar = tqdm(total=of, leave=False, file=sys.stderr)
        self._bar.total = of
        self._bar.n = done
        self._bar.set_description(what, refresh=False)
        self._bar.refresh() if self._bar.n else None

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.close()

