"""The commands before making: ``new``, ``check``, ``schema``."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from templater.boat.plain import plain
from templater.cli import files, folders
from templater.cli.console import DONE, FAULT, count, print_findings, print_json, say
from templater.cli.options import options_of
from templater.cli.share import inherited_lines, inherited_rows

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
        folders.write_one(path, starter_readings(boat).encode())
        say(f"wrote {path}; put your readings in, then run: templater square {arguments.readings} {path}")
        return DONE
    name = arguments.boat or path.stem.replace("-", " ").replace("_", " ").strip().title() or "My boat"
    if missing := missing_letters("".join(letter for letter in name if letter.isprintable())):
        text = f"cannot be printed, for {FAMILY} lacks {', '.join(missing)} - give a name in other letters with --boat"
        raise files.file_fault(name, text, "S301")
    folders.write_one(path, starter_text(name, arguments.units).encode())
    say(f"wrote {path}; change its numbers to yours, then run: templater check {path}")
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
    solved = check(files.read_source(arguments.description), options)
    checked, report = look_at_paper(solved, options, larger=arguments.accuracy)
    if arguments.json:
        found = checked_dict(checked)
        if arguments.accuracy and report is not None:
            found["accuracy"] = plain(report)
        print_json(found)
    else:
        print_findings(checked.findings)
        for line in [*inherited_lines(checked.boat.description), *_summary(checked, report)]:
            say(line)
        if arguments.accuracy and report is not None:
            _print_accuracy(checked, report)
    return FAULT if checked.errors else DONE


def _summary(checked: Checked, report: AccuracyReport | None) -> list[str]:
    """Return the solved boat in a few lines for people: what changes from one setting to the next."""
    from templater.accuracy.wording import chance_text
    from templater.report.table import Column, Table, lines

    boat = checked.boat
    chances = {row.setting: chance_text(row.chance) for row in report.limits} if report is not None else {}
    columns = (
        Column("setting"), Column("bolt line", "length"), Column("runner base", "length"),
        Column("inside the greatest", "length"), Column("tape from the post", "length"),
        Column("chance over the limit"),
    )  # fmt: skip
    caption = f"{boat.description.boat}: {count(len(boat.settings), 'setting')}, {count(len(boat.holes), 'hole')}"
    tape = {one.setting: one.slant_from_post for one in boat.tape}
    rows = tuple(
        (row.number, row.station, row.runner_base, row.to_max, tape.get(row.number), chances.get(row.number))
        for row in boat.settings
    )
    table = lines(Table("settings", caption, columns, rows).without_empty(), boat.description.figures)
    errors, warnings = len(checked.errors), len(checked.warnings)
    advice = len(checked.findings) - errors - warnings
    return [*table, f"{count(errors, 'error')}, {count(warnings, 'warning')}, {count(advice, 'piece')} of advice"]


def _print_accuracy(checked: Checked, report: AccuracyReport) -> None:
    from templater.report.table import lines
    from templater.report.tables import accuracy_tables

    for table in accuracy_tables(checked.boat, report):
        say("", *lines(table, checked.boat.description.figures))


def checked_dict(checked: Checked) -> dict[str, object]:
    """Return the solved boat and the findings as plain data."""
    boat = checked.boat
    return {
        "boat": boat.description.boat,
        "description_sha256": checked.sha256,
        "settings": plain(boat.settings),
        "holes": [
            {"id": h.id, "on": h.on.value, "kind": h.kind.value, "x": h.at[0], "y": h.at[1], "diameter": h.diameter}
            for h in boat.holes
        ],
        "inherited": inherited_rows(boat.description),
        "findings": plain(checked.findings),
    }
