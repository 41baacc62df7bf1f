"""The commands before making: ``new``, ``check``, ``schema``."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from templater.cli import files
from templater.cli.accuracy import accuracy_dict, accuracy_lines
from templater.cli.console import DONE, FAULT, count, finding_dict, print_findings, print_json
from templater.cli.options import options_of
from templater.cli.share import inherited_lines, inherited_rows
from templater.units import mm_text

if TYPE_CHECKING:
    from templater.accuracy.report import AccuracyReport
    from templater.pipeline.checked import Checked


def new(arguments: argparse.Namespace) -> int:
    """Write a commented description that passes ``check``."""
    from templater.description import starter_text
    from templater.standards.typeface import FAMILY, missing_letters

    path: Path = arguments.file
    if arguments.readings is not None:
        from templater.fitup.starter import starter_readings
        from templater.pipeline.checked import check

        boat = check(files.read_source(arguments.readings)).boat
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
    from templater.pipeline.checked import check
    from templater.pipeline.paper import look_at_paper

    options = options_of(arguments)
    checked, report = look_at_paper(check(files.read_source(arguments.description), options), options)
    if arguments.json:
        found = checked_dict(checked)
        if arguments.accuracy and report is not None:
            found["accuracy"] = accuracy_dict(report)
        print_json(found)
    else:
        print_findings(checked.findings)
        for line in [*inherited_lines(checked.boat.description), *_summary(checked, report)]:
            print(line)
        if arguments.accuracy and report is not None:
            for line in accuracy_lines(report, checked.boat.description.figures):
                print(line)
    return FAULT if checked.errors else DONE


def _summary(checked: Checked, report: AccuracyReport | None) -> list[str]:
    """Return the solved boat in a few lines for people: what changes from one setting to the next."""
    from templater.accuracy.wording import chance_text

    boat = checked.boat
    figures = boat.description.figures
    in_mm = figures.system == "mm"
    lines = [f"{boat.description.boat}: {count(len(boat.settings), 'setting')}, {count(len(boat.holes), 'hole')}"]
    chances = {row.setting: row.chance for row in report.limits} if report is not None else {}
    heads = ("setting", "bolt line", "runner base", "inside greatest", "tape from post", "chance over the limit")
    table: list[tuple[str, ...]] = [(*heads[:-1], f"{heads[-1]} (lengths in mm)" if in_mm else heads[-1])]
    tape = {one.setting: one.slant_from_post for one in boat.tape}
    for row in boat.settings:
        cells = (row.station, row.runner_base, row.to_max, tape.get(row.number))
        texts = ["-" if cell is None else mm_text(cell) if in_mm else figures.length(cell) for cell in cells]
        chance = chances.get(row.number)
        table.append((str(row.number), *texts, "-" if chance is None else chance_text(chance)))
    widths = [max(len(line[column]) for line in table) for column in range(len(heads) - 1)]
    lines += ["  ".join((*(t.rjust(w) for t, w in zip(line, widths, strict=False)), line[-1])) for line in table]
    errors, warnings = len(checked.errors), len(checked.warnings)
    advice = len(checked.findings) - errors - warnings
    lines.append(f"{count(errors, 'error')}, {count(warnings, 'warning')}, {count(advice, 'piece')} of advice")
    return lines


def checked_dict(checked: Checked) -> dict[str, object]:
    """Return the solved boat and the findings as plain data."""
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
