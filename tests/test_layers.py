"""The rooms' order: a room imports only lower rooms, heavy libraries stay in the rooms that own them."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "templater"
RANK = {
    "units": 0, "errors": 0,
    "geometry": 1, "standards": 1, "source": 1,
    "description": 2,
    "boat": 3,
    "bench": 4, "fitup": 4, "drawing": 4,
    "paper": 5,
    "accuracy": 6, "writers": 6, "proof": 6,
    "jobsheet": 7, "handover": 7, "compare": 7,
    "pipeline": 8,
    "cli": 9, "cli_build": 9, "cli_files": 9, "cli_paper": 9, "cli_fitup": 9, "cli_share": 9, "cli_fleet": 9,
    "cli_commands": 9, "cli_accuracy": 9,
    "__main__": 9,
}  # fmt: skip
#: Library: the rooms that may import it.
OWNERS = {
    "reportlab": {"writers", "jobsheet"},
    "svgwrite": {"writers"},
    "pypdf": {"proof", "handover"},
    "ezdxf": set(),  # only the tests load it
    "pydantic": {"description"},
    "pydantic_core": {"description"},
    "ruamel": {"description"},
    "uncertainties": {"accuracy"},
    "jinja2": {"jobsheet"},
    "tqdm": {"cli_build", "cli_fleet"},
}
FILES = sorted(ROOT.rglob("*.py"))


def room_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imports(path: Path) -> list[tuple[str, int]]:
    found = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: write imports in full"
            whole = node.module == "templater"
            names = [f"templater.{alias.name}" for alias in node.names] if whole else [node.module]
            found += [(str(name), node.lineno) for name in names]
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_a_room_imports_only_lower_rooms(path: Path) -> None:
    room = room_of(path)
    if room == "__init__":
        return
    for name, line in imports(path):
        parts = name.split(".")
        if parts[0] != "templater" or len(parts) < 2 or parts[1] == "__version__":
            continue
        other = parts[1]
        assert other == room or RANK[other] < RANK[room] or RANK[room] == RANK[other] == 9, (
            f"{path.name}:{line}: {room} (rank {RANK[room]}) imports {other} (rank {RANK[other]})"
        )


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_heavy_libraries_stay_with_their_owners(path: Path) -> None:
    for name, line in imports(path):
        owners = OWNERS.get(name.split(".")[0])
        assert owners is None or room_of(path) in owners, f"{path.name}:{line}: only {owners} may import {name}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_rooms_stay_small_and_only_the_shell_touches_files_clock_and_terminal(path: Path) -> None:
    text = path.read_text("utf-8")
    assert len(text.splitlines()) < 400, f"{path.name} is crowded: give part of it a file of its own"
    if room_of(path).startswith(("cli", "__main__")):
        return
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            name = node.func.id
            assert name not in {"open", "print", "input", "exit"}, f"{path.name}:{node.lineno}: {name}()"
    for name, line in imports(path):
        assert name.split(".")[0] not in {"sys", "os", "time", "shutil", "tempfile", "argparse", "random"}, (
            f"{path.name}:{line}: {name} belongs to the shell"
        )


def test_every_room_has_a_rank() -> None:
    rooms = {room_of(path) for path in FILES} - {"__init__"}
    assert rooms <= set(RANK), f"without a rank: {sorted(rooms - set(RANK))}"
