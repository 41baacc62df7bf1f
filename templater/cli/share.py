"""The commands for the next builder: ``handover``, ``unpack``, ``compare``."""

from __future__ import annotations

import argparse
import math
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

from templater.cli import files
from templater.cli.console import DONE, OUT_OF_TOLERANCE, Progress, print_json
from templater.cli.options import options_of

if TYPE_CHECKING:
    from templater.description.keys import Description
    from templater.share.compare import Comparison


def handover(arguments: argparse.Namespace) -> int:
    """Write the whole job as one PDF with the description inside."""
    from templater.pipeline.share import handover as bind

    source = files.read_source(arguments.description)
    extra = [(path.name, files.read_text(path)) for path in arguments.readings]
    with Progress() as progress:
        name, data = bind(source, options_of(arguments), extra, progress.step)
    path = arguments.to or Path(f"{files.safe_name(name)}-handover.pdf")
    files.write_one(path, data, replace=arguments.replace)
    print(f"wrote {path}; your friend runs: templater make {shlex.quote(path.name)} --paper Letter")
    return DONE


def unpack(arguments: argparse.Namespace) -> int:
    """Write the texts that a handover PDF carries, byte for byte."""
    from templater.share.unpack import unpack as take_out

    unpacked = take_out(files.read_bytes(arguments.file), str(arguments.file))
    folder: Path = arguments.out
    targets = [(folder / item.name, item.data) for item in unpacked.all]
    standing = [path for path, _ in targets if path.exists()]
    if standing and not arguments.replace:
        names = ", ".join(str(path) for path in standing)
        raise files.file_fault(names, "stands there already; nothing was written - choose another --out", "D192")
    for path, data in targets:
        files.write_one(path, data, replace=True)
        print(f"wrote {path}")
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
        for path, data in ((arguments.overlay.with_suffix(end), data) for end, data in overlaid.items()):
            files.write_one(path, data, replace=True)
    if arguments.json:
        print_json(_comparison_dict(comparison))
    else:
        for line in _comparison_lines(comparison):
            print(line)
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
    """Return the inherited values for people, each with its place; lengths in mm."""
    rows = inherited_rows(description)
    if not rows:
        return []
    lines = [f"{len(rows)} values inherited, lengths in mm:"]
    for row in rows:
        value = "a list" if row["value"] is None else row["value"]
        lines.append(f"  {row['key']}: {value} ({row['file']}:{row['line']})")
    return lines


def _comparison_lines(comparison: Comparison) -> list[str]:
    """Return the comparison for people."""
    a, b = comparison.a, comparison.b
    lines = [f"A: {a}", f"B: {b}", "", f"{len(comparison.differences)} keys of the description differ:"]
    lines += [f"  {row.key}: {row.a} -> {row.b}" for row in comparison.differences]
    moved = [row for row in comparison.moves if row.distance > 5e-4 or abs(row.widening) > 5e-4]
    lines += ["", f"{len(moved)} of {len(comparison.moves)} holes differ, B less A, mm:"]
    for row in moved:
        if row.move is None:
            lines.append(f"  {row.id} ({row.name}): only in {row.only_in}")
        else:
            wider = f", diameter {row.widening:+.2f}" if abs(row.widening) > 5e-4 else ""
            aft, starboard = row.move
            lines.append(f"  {row.id}: {aft:+.2f} aft, {starboard:+.2f} to starboard, {row.distance:.2f} away{wider}")
    lines += ["", "setting: runner base in A and B, distance to the rule's greatest in A and B, mm"]
    for margin in comparison.margins:
        figures = [margin.base_a, margin.base_b, margin.to_max_a, margin.to_max_b]
        texts = ["none" if figure is None else f"{figure:.1f}" for figure in figures]
        lines.append(f"  {margin.setting}: {texts[0]}, {texts[1]}; {texts[2]}, {texts[3]}")
    lines.append("")
    for sheet, serves, worst, distance in comparison.sheets:
        word = "may be used" if serves else "may NOT be used"
        where = "" if not worst or not distance else f" (worst: {worst}, {_distance(distance)})"
        lines.append(f"A's {sheet} template {word} on B within {comparison.tolerance:g} mm{where}")
    return lines


def _distance(value: float) -> str:
    return "only in one of them" if math.isinf(value) else f"{value:.2f} mm"


def _comparison_dict(comparison: Comparison) -> dict[str, object]:
    return {
        "a": comparison.a,
        "b": comparison.b,
        "tolerance": comparison.tolerance,
        "differences": [{"key": row.key, "a": row.a, "b": row.b} for row in comparison.differences],
        "holes": [
            {
                "id": row.id,
                "on": row.on,
                "move": list(row.move) if row.move else None,
                "distance": None if math.isinf(row.distance) else row.distance,
                "widening": row.widening,
                "only_in": row.only_in or None,
            }
            for row in comparison.moves
        ],
        "margins": [
            {"setting": m.setting, "runner_base": [m.base_a, m.base_b], "to_max": [m.to_max_a, m.to_max_b]}
            for m in comparison.margins
        ],
        "sheets": [
            {"sheet": sheet, "serves": serves, "worst": worst, "distance": None if math.isinf(d) else d}
            for sheet, serves, worst, d in comparison.sheets
        ],
    }
