"""Run the benchmark and print its tables: ``python -m tests.benchmarks.run``.

Every figure is taken in a process of its own: processor time inside, without start and imports, the median of the runs;
peak memory of the whole process, Python and libraries included. ``--all`` lets matplotlib write the largest scene too.
``--make DESCRIPTION`` measures ``templater make`` as a process instead, from start to exit; with ``--floors`` also on
floors of 240, 2400 and 24000 holes, whose tiles it counts, as often as ``--runs`` says.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from tests.benchmarks.boats import description

COUNTS = (24, 240, 2400, 24000)
PDF, STREAMED, SVG = "templater, tiles to PDF", "templater, tiles made and streamed to PDF", "templater, sheet to SVG"
CULLED, COLLECTIONS = "reportlab, culled", "matplotlib, collections"
WRITERS = (PDF, STREAMED, CULLED, COLLECTIONS, SVG)
Figures = dict[str, float]


def prepare(writer: str, count: int) -> Callable[[], bytes]:
    """Import what the writer needs, once, and return what is to be timed."""
    if writer == CULLED:
        from tests.benchmarks import reportlab_culled

        return partial(reportlab_culled.write, count)
    if writer == COLLECTIONS:
        from tests.benchmarks import matplotlib_pages

        return partial(matplotlib_pages.write, count)
    from tests.benchmarks import ours

    if writer == STREAMED:
        return partial(ours.streamed, count)
    return ours.drawing_to_svg(count) if writer == SVG else ours.tiles_to_bytes(count)


def measure_here(writer: str, count: int) -> Figures:
    """Time one run in this process. A run of a single hole before it warms up fonts, so that all start alike."""
    prepare(writer, 1)()
    write = prepare(writer, count)
    start = time.process_time()
    written = write()
    seconds = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"seconds": seconds, "MB": peak, "kB": len(written) / 1000}


def measure(writer: str, count: int, runs: int) -> Figures:
    """Return the median of several processes."""
    taken: list[Figures] = []
    for _ in range(runs):
        command = [sys.executable, "-m", "tests.benchmarks.run", "--one", writer, str(count)]
        taken.append(json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout))
    return {key: statistics.median(run[key] for run in taken) for key in taken[0]}


def slope(seconds: dict[int, float]) -> float:
    """Return the log-log slope of time over holes between the second and the last scene: 1 is linear."""
    counts = sorted(seconds)
    first, last = counts[min(1, len(counts) - 1)], counts[-1]
    return math.log(seconds[last] / seconds[first]) / math.log(last / first)


def table(rows: list[list[str]]) -> str:
    """Return rows as a Markdown table, the first being its head."""
    lines = ["| " + " | ".join(row) + " |" for row in rows]
    return "\n".join([lines[0], "|" + " --- |" * len(rows[0]), *lines[1:]]) + "\n"


def main() -> None:
    """Read the arguments and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5, help="processes for each figure (default 5)")
    parser.add_argument("--largest", type=int, default=COUNTS[-1], help="leave out scenes with more holes")
    parser.add_argument("--all", action="store_true", help="matplotlib writes the largest scene too")
    parser.add_argument("--one", nargs=2, metavar=("WRITER", "HOLES"), help="one run in this process, as JSON")
    parser.add_argument("--make", type=Path, metavar="DESCRIPTION", help="measure the whole job as a process instead")
    parser.add_argument("--floors", action="store_true", help="with --make: floors of many holes too")
    chosen = parser.parse_args()
    if chosen.one:
        sys.stdout.write(json.dumps(measure_here(chosen.one[0], int(chosen.one[1]))) + "\n")
        return
    if chosen.make:
        floors = [count for count in COUNTS[1:] if chosen.floors and count <= chosen.largest]
        sys.stdout.write(whole_job(chosen.make, floors, chosen.runs))
        return
    counts = [count for count in COUNTS if count <= chosen.largest]
    results: dict[str, dict[int, Figures]] = {}
    for writer in WRITERS:
        mine = [count for count in counts if writer != COLLECTIONS or count <= 2400 or chosen.all]
        results[writer] = {count: measure(writer, count, chosen.runs) for count in mine}
    sys.stdout.write(report(results, counts))


def whole_job(demo: Path, floors: list[int], runs: int) -> str:
    """Return a table of ``templater make``, start-up included, beside Python's bare start, and the floors' slope."""
    rows = [["whole process", "pages", "seconds", "processor seconds", "peak MB"]]
    work: dict[int, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        jobs: list[tuple[str, Path | None, int]] = [("Python alone", None, 0), (f"make {demo.name}", demo, 0)]
        for count in floors:
            path = Path(folder) / f"floor-of-{count}.yaml"
            path.write_text(description(demo, count), "utf-8")
            jobs.append((f"make, floor of {count} holes", path, count))
        for name, path, count in jobs:
            make = ["-m", "templater", "make", str(path), "--out", folder]
            taken = [process([sys.executable, *(make if path else ["-c", "pass"])]) for _ in range(runs)]
            seconds, used, peak = (statistics.median(column) for column in zip(*taken, strict=True))
            pages = str(pages_made(Path(folder))) if path else "-"
            rows.append([name, pages, f"{seconds:.2f}", f"{used:.2f}", f"{peak:.0f}"])
            if count:
                work[count] = used
    if len(work) > 1:
        first, last = min(work), max(work)
        curve = math.log(work[last] / work[first]) / math.log(last / first)
        rows.append([f"log-log slope, {first} to {last} holes", "", "", f"{curve:.2f}", ""])
    return table(rows)


def pages_made(folder: Path) -> int:
    """Return the number of pages of the boat made last."""
    newest = max(folder.glob("*/manifest.json"), key=lambda path: path.stat().st_mtime_ns)
    return sum(len(sheet["pages"]) for sheet in json.loads(newest.read_text("utf-8"))["sheets"])


def process(command: list[str]) -> tuple[float, float, float]:
    """Run a command; return seconds, processor seconds and peak memory in MB. It must succeed."""
    start = time.perf_counter()
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as child:
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{' '.join(command[1:])}: exit status {child.returncode}")
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def report(results: dict[str, dict[int, Figures]], counts: list[int]) -> str:
    """Return the tables of time and of memory."""
    time_rows = [["seconds", *[f"{count} holes" for count in counts], "slope", "output at the largest"]]
    memory_rows = [["peak MB", *[f"{count} holes" for count in counts]]]
    for writer, by_count in results.items():
        cells = [f"{by_count[count]['seconds']:.4f}" if count in by_count else "-" for count in counts]
        curve = slope({count: figures["seconds"] for count, figures in by_count.items()})
        time_rows.append([writer, *cells, f"{curve:.2f}", f"{by_count[max(by_count)]['kB']:.0f} kB"])
        memory_rows.append(
            [writer, *[f"{by_count[count]['MB']:.0f}" if count in by_count else "-" for count in counts]]
        )
    for other, words in ((CULLED, "time against reportlab, culled"), (COLLECTIONS, "times faster than matplotlib")):
        cells = []
        for count in counts:
            if count not in results[other]:
                cells.append("-")
                continue
            ratio = results[PDF][count]["seconds"] / results[other][count]["seconds"]
            cells.append(f"{ratio:.2f}" if other == CULLED else f"{1 / ratio:.0f}")
        time_rows.append([words, *cells, "", ""])
    return table(time_rows) + "\n" + table(memory_rows)


if __name__ == "__main__":
    main()
