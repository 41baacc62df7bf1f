"""Commands in pairs with a process that only imports the libraries: ``python -m tests.benchmarks.pairs [runs]``.

Whole processes by the clock and by processor time, each run beside one of the floor, so that a busy machine slows both.
The two differ where a command works in two processes at once.
"""

from __future__ import annotations

import os
import statistics
import sys

from tests.benchmarks.run import process, table

DEMO = "configs/whinchat-3.yaml"
FLOOR = [sys.executable, "-c", "import pydantic, ruamel.yaml, reportlab, pypdf, svgwrite"]
COMMANDS = {
    "make": ["make", DEMO, "--out", "out/benchmark"],
    "check": ["check", DEMO],
    "square": ["square", DEMO, "--port", "2590,2590.2", "--starboard", "2590,2590.2", "--setting", "3"],
}


def main() -> None:
    """Print the median ratio of each command to the floor."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # what is compiled anew at each start measures the compiler
    rows = [["command", "seconds", "times the floor", "processor seconds", "times the floor", "peak MB"]]
    for name, arguments in COMMANDS.items():
        command = [sys.executable, "-m", "templater", *arguments]
        process(command)
        taken = [(process(command), process(FLOOR)) for _ in range(int(sys.argv[1]) if len(sys.argv) > 1 else 7)]
        figures = [
            f"{statistics.median(figure):.2f}"
            for clock in (0, 1)
            for figure in ([one[clock] for one, _ in taken], [one[clock] / floor[clock] for one, floor in taken])
        ]
        rows.append([name, *figures, f"{max(one[2] for one, _ in taken):.0f}"])
    sys.stdout.write(table(rows))


if __name__ == "__main__":
    main()
