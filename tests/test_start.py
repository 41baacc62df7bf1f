"""What each command loads: a library that a command does not need must not slow its start."""

import subprocess
import sys
from pathlib import Path

import pytest

CONFIGS = Path(__file__).parent.parent / "configs"
#: Libraries outside the standard one that a start can feel, as far as this project or what it stands on names them.
HEAVY = {
    "ezdxf", "jinja2", "mpmath", "numpy", "pydantic", "pypdf", "reportlab", "ruamel", "scipy", "shapely", "svgwrite",
    "tqdm", "uncertainties",
}  # fmt: skip
PAPER = {"pypdf", "reportlab", "svgwrite"}
READINGS = """\
square: {setting: 3, first_bolt: port, port: [2590, 2591, 2590.5], starboard: [2593, 2594, 2593.5]}
"""
SHOW = """\
import sys
from templater.cli.main import main
main(sys.argv[1:])
print("loaded", *{name.partition(".")[0] for name in sys.modules})
"""


@pytest.mark.parametrize(
    ("command", "expected"),
    [
        (["check"], {"ruamel"}),
        (["make", "--out", "made"], {"ruamel"} | PAPER),
        (["square", "readings.yaml", "--out", "made"], {"ruamel", "mpmath", "svgwrite"}),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_a_command_loads_only_what_it_needs(tmp_path: Path, command: list[str], expected: set[str]) -> None:
    (tmp_path / "readings.yaml").write_text(READINGS, "utf-8")
    name, *rest = command
    arguments = [name, str(CONFIGS / "whinchat-3.yaml"), *rest]
    process = subprocess.run(
        [sys.executable, "-c", SHOW, *arguments], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert process.stderr.count("Traceback") == 0
    assert set(process.stdout.splitlines()[-1].split()[1:]) & HEAVY == expected
