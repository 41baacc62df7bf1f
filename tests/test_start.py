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


def test_what_svgwrite_never_calls_is_loaded_only_when_it_is_called(tmp_path: Path) -> None:
    command = ["make", str(CONFIGS / "whinchat-3.yaml"), "--out", str(tmp_path), "--only", "plates"]
    process = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "templater", *command], capture_output=True, text=True, check=True
    )
    loaded = {line.rpartition("|")[2].strip() for line in process.stderr.splitlines()}
    assert "svgwrite.container" in loaded
    assert not loaded & {"http.client", "ssl", "urllib.request", "svgwrite.data.svgparser"}


@pytest.mark.parametrize(("data", "sound"), [("M 0 0 L 1 1", True), ("M 0 0 L x", False)])
def test_the_librarys_own_check_works_all_the_same(data: str, *, sound: bool) -> None:
    # Source of the grammar: W3C SVG 1.1, 8.3.9, as the library has it.
    script = f"""
import sys
from templater import __main__ as start
sys.argv = ["templater", "--version"]
try:
    start.run()
except SystemExit:
    pass
import svgwrite
assert type(sys.modules["svgwrite.data.svgparser"]).__name__ == "_Later"
svgwrite.Drawing(debug=True).path(d={data!r}).get_xml()
assert type(sys.modules["svgwrite.data.svgparser"]).__name__ == "module"
"""
    process = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert (process.returncode == 0) is sound, process.stderr
