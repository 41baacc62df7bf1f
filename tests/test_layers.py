"""The rooms' order: imports go down only and never in a circle; heavy libraries stay in the rooms that own them."""

import ast
import graphlib
import importlib
import re
from collections.abc import Iterator

from program import FILES, nodes

RANK = {
    "units": 0, "findings": 0,
    "plane": 1, "maths": 1, "standards": 1,
    "reader": 2,
    "description": 3,
    "boat": 4,
    "job": 5, "fitup": 5, "drawing": 5,
    "checks": 6, "paper": 6,
    "accuracy": 7, "writers": 7, "proof": 7,
    "report": 8, "share": 8,
    "pipeline": 9,
    "page": 10,
    "cli": 11,
    "__main__": 12,
}  # fmt: skip
#: Library: the rooms that may import it.
OWNERS = {
    "reportlab": {"writers", "report"},
    "svgwrite": {"writers"},
    "pypdf": {"proof", "share"},
    "ezdxf": {"writers", "proof"},
    "pydantic": {"reader", "description"},
    "pydantic_core": {"reader"},
    "ruamel": {"reader"},
    "mpmath": {"maths"},
    "uncertainties": set(),
    "numpy": set(),
    "scipy": set(),
    "tqdm": {"cli"},
}
#: Modules of the standard library that only the shell may use, and built-in functions likewise.
SHELL_ONLY = {"sys", "os", "time", "shutil", "tempfile", "argparse", "random"}
SHELL_CALLS = {"open", "print", "input", "exit"}


def room_of(module: str) -> str:
    return module.partition(".")[2].partition(".")[0]


def imports(module: str) -> Iterator[tuple[str, int]]:
    """Every module that one imports, wherever in it, with the line."""
    for node in nodes()[module]:
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}:{node.lineno}: write imports in full"
            below = [f"{node.module}.{alias.name}" for alias in node.names]
            yield from ((name, node.lineno) for name in below if name in FILES)
            if any(name not in FILES for name in below):
                yield str(node.module), node.lineno


def test_a_room_imports_only_lower_rooms() -> None:
    wrong = []
    for module in FILES:
        room = room_of(module)
        for name, line in imports(module):
            other = room_of(name) if name.startswith("templater.") else ""
            if room and other and other != room and RANK[other] >= RANK[room]:
                wrong.append(f"{module}:{line}: {room} imports {other}")
    assert wrong == []


def test_no_module_imports_itself_by_way_of_others() -> None:
    graph = {module: {name for name, _line in imports(module) if name in FILES and name != module} for module in FILES}
    graphlib.TopologicalSorter(graph).prepare()  # raises CycleError, which names the circle


def test_every_module_can_be_loaded() -> None:
    # Annotations are evaluated then: a type that only the checker imports stands in quotes.
    for module in FILES:
        if not module.endswith("__main__"):
            importlib.import_module(module)


def test_heavy_libraries_stay_with_their_owners() -> None:
    wrong = [
        f"{module}:{line}: only {OWNERS[library]} may import {name}"
        for module in FILES
        for name, line in imports(module)
        if (library := name.split(".")[0]) in OWNERS and room_of(module) not in OWNERS[library]
    ]
    assert wrong == []


def test_rooms_stay_small() -> None:
    assert [module for module, path in FILES.items() if len(path.read_text("utf-8").splitlines()) >= 400] == []


def test_only_the_shell_touches_files_clock_and_terminal() -> None:
    wrong = []
    for module, tree in nodes().items():
        if room_of(module) in {"cli", "page", "__main__"}:
            continue
        wrong += [f"{module}:{line}: {name}" for name, line in imports(module) if name.split(".")[0] in SHELL_ONLY]
        wrong += [
            f"{module}:{node.lineno}: {node.func.id}()"
            for node in tree
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SHELL_CALLS
        ]
    assert wrong == []


def lengths_in_texts(tree: list[ast.AST]) -> Iterator[int]:
    """Lines on which a text, not a docstring, has " mm" in it."""
    docs = {
        id(node.body[0].value)
        for node in tree
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in tree:
        if isinstance(node, ast.Constant) and id(node) not in docs and re.search(r" mm\b", str(node.value)):
            yield node.lineno


def test_lengths_become_text_in_one_place() -> None:
    found = {module: list(lengths_in_texts(tree)) for module, tree in nodes().items() if module != "templater.units"}
    assert {module: lines for module, lines in found.items() if lines} == {}
