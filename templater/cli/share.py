"""The commands for the next builder: ``handover``, ``unpack``, ``compare``."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

from templater.boat.plain import plain
from templater.cli import files, folders
from templater.cli.console import DONE, OUT_OF_TOLERANCE, Progress, print_json, say
from templater.cli.options import options_of
from templater.units import MM

if TYPE_CHECKING:
    from templater.description.keys import Description


def handover(arguments: argparse.Namespace) -> int:
    """Write the whole job as one PDF with the description inside."""
    from templater.pipeline.share import handover as bind

    source = files.read_source(arguments.description)
    extra = [(path.name, files.read_text(path)) for path in arguments.readings]
    with Progress() as progress:
        name, data = bind(source, options_of(arguments), extra, progress.step)
    path = arguments.to or Path(f"{files.safe_name(name)}-handover.pdf")
    folders.write_one(path, data, replace=arguments.replace)
    say(f"wrote {path}; your friend runs: templater make {shlex.quote(path.name)} --paper Letter")
    return DONE


def unpack(arguments: argparse.Namespace) -> int:
    """Write the texts that a handover PDF carries, byte for byte."""
    from templater.share.unpack import unpack as take_out

    unpacked = take_out(files.read_bytes(arguments.file), str(arguments.file))
    folder: Path = arguments.out
    files.refuse_names((item.name for item in unpacked.all), str(arguments.file))
    targets = [(folder / item.name, item.data) for item in unpacked.all]
    standing = [path for path, _ in targets if path.exists()]
    if standing and not arguments.replace:
        names = ", ".join(str(path) for path in standing)
        raise files.file_fault(names, "stands there already; nothing was written - choose another --out", "D192")
    folders.write_all(dict(targets), replace=True)
    for path, _ in targets:
        say(f"wrote {path}")
    return DONE


def compare(arguments: argparse.Namespace) -> int:
    """Say how two boats differ and whether A's templates serve B."""
    from templater.pipeline.checked import check
    from templater.share.compare import compare as compare_boats

    a = check(files.read_source(arguments.a))
    b = check(files.read_source(arguments.b))
    comparison = compare_boats(a.boat, b.boat, arguments.tolerance)
    if arguments.overlay:
        from templater.pipeline.share import overlay_files

        overlaid = overlay_files(a, b, paper=arguments.paper)
        if not arguments.overlay.name:
            raise files.file_fault(arguments.overlay, "is a folder - give the name of a file", "D191")
        folders.write_all({arguments.overlay.with_suffix(end): data for end, data in overlaid.items()}, replace=True)
    if arguments.json:
        print_json(plain(comparison))
    else:
        from templater.pipeline.share import comparison_blocks
        from templater.report.blocks import block_lines

        figures = b.boat.description.figures
        for block in comparison_blocks(comparison, figures):
            say(*block_lines(block, figures), "")
    return DONE if comparison.serves else OUT_OF_TOLERANCE


def inherited_rows(description: Description) -> list[dict[str, Any]]:
    """Return the values that come from the description this one is based on; a list counts as one value."""
    if not description.inherited:
        return []
    from templater.share.compare import leaves

    values = dict(leaves(description))
    rows: dict[str, dict[str, Any]] = {}
    for key in sorted(description.inherited, key=lambda one: _place_order(description, one)):
        parts = key.split(".")
        number = next((n for n, part in enumerate(parts) if part.isdigit()), len(parts))
        name = ".".join(parts[:number])
        where = description.place(name)
        rows.setdefault(
            name,
            {
                "key": name,
                "value": values.get(name),
                "file": where.file if where else None,
                "line": where.line if where else None,
            },
        )
    return list(rows.values())


def _place_order(description: Description, key: str) -> tuple[str, int, int, str]:
    where = description.place(key)
    return (where.file, where.line, where.column, key) if where else ("", 0, 0, key)


def inherited_lines(description: Description) -> list[str]:
    """Return the inherited values for people, each with its place."""
    from templater.report.table import Column, Table, lines

    rows = inherited_rows(description)
    if not rows:
        return []
    cells = tuple(
        (row["key"], "a list" if row["value"] is None else row["value"], f"{row['file']}:{row['line']}")
        for row in rows
    )
    columns = (Column("key"), Column(f"value, lengths in {MM.unit}"), Column("from"))
    return lines(Table("inherited", f"{len(rows)} values inherited", columns, cells), description.figures)
