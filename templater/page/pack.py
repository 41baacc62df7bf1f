"""What of Python and its libraries goes into the page. Runs in the page's own Python, which compiles for itself.

Modules that nothing imports from the program on, and those of ``modules.txt``, are left out; the rest is compiled.
"""

from __future__ import annotations

import ast
import functools
import importlib.util
import io
import marshal
import sys
import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path

#: What stands between Python and the page; it is asked for by name, and reads its own docstrings.
_BRIDGE = ("_pyodide", "pyodide")


def module_of(name: str) -> str:
    """Return a file's dotted module name.

    >>> module_of("json/__init__.py"), module_of("json/decoder.py")
    ('json', 'json.decoder')
    """
    return name.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def reached(sources: Mapping[str, str], roots: Iterable[str], left_out: Iterable[str]) -> set[str]:
    """Return the modules of ``sources`` (dotted name to text) that the roots import, however far away."""
    out = tuple(left_out)
    found: set[str] = set()
    waiting = list(roots)
    while waiting:
        name = waiting.pop()
        parts = name.split(".")
        names = [".".join(parts[: count + 1]) for count in range(len(parts))]
        if any(one == gone or one.startswith(f"{gone}.") for one in names for gone in out):
            continue
        for one in names:
            if one in sources and one not in found:
                found.add(one)
                waiting += _imports(one, sources)
    return found


def _imports(module: str, sources: Mapping[str, str]) -> list[str]:
    """Return what a module may import; what only type checkers read is passed over."""
    package = any(name.startswith(f"{module}.") for name in sources)
    names: list[str] = []
    waiting: list[ast.AST] = [_tree(sources[module])]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            waiting += node.orelse
            continue
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            parts = module.split(".")
            above = parts[: len(parts) - node.level + (1 if package else 0)] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            names += [base, *(f"{base}.{alias.name}" for alias in node.names)]
        waiting += ast.iter_child_nodes(node)
    return [name for name in names if name]


@functools.cache
def _tree(source: str) -> ast.Module:
    return ast.parse(source)


def compiled(name: str, source: str, *, keep: bool) -> bytes:
    """Return a module as the bytes of a file that Python takes without its source; docstrings only if ``keep``."""
    tree = _tree(source)
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if keep or not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) or not body:
            continue
        if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
            node.body = body[1:] or [ast.copy_location(ast.Pass(), body[0])]
    if name == "mpmath/function_docs.py":  # a book of examples, one text a function
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                node.value = ""
    code = compile(tree, name, "exec", dont_inherit=True, optimize=0)
    # Magic number, flags, time and size of a source that is not there. Source: PEP 552, PEP 3147.
    return importlib.util.MAGIC_NUMBER + bytes(12) + marshal.dumps(code)


def packed(files: Mapping[str, bytes]) -> bytes:
    """Return files as a zip, not compressed: the page compresses it as a whole, which makes it smaller."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(files):
            archive.writestr(zipfile.ZipInfo(name), files[name])
    return stream.getvalue()


def pack(folder: Path) -> None:
    """Make ``python.zip`` and ``program.zip`` in a folder of what lies in its ``stdlib``, ``libs`` and ``program``.

    ``python.zip`` is what can stay packed; ``program.zip`` is what must lie in files: the program with its tables, and
    what is compiled already.
    """
    names: dict[str, Path] = {}
    for part in ("stdlib", "libs", "program"):
        root = folder / part
        names.update({path.relative_to(root).as_posix(): path for path in sorted(root.rglob("*")) if path.is_file()})
    lines = (folder / "modules.txt").read_text("utf-8").splitlines()
    roots, left_out = ([line[2:] for line in lines if line.startswith(sign)] for sign in "+-")
    texts = {module_of(name): path.read_text("utf-8-sig") for name, path in names.items() if name.endswith(".py")}
    bridge = [name for name in texts if name.startswith(_BRIDGE)]
    wanted = reached(texts, [*roots, *bridge], left_out)
    library: dict[str, bytes] = {}
    program: dict[str, bytes] = {}
    for name, path in names.items():
        part = path.relative_to(folder).parts[0]
        if name.endswith(".py"):
            if module_of(name) in wanted:
                into = program if part == "program" or name.startswith("pydantic_core/") else library
                words = part == "program" or name.startswith(_BRIDGE)
                into[f"{name}c"] = compiled(name, texts[module_of(name)], keep=words)
        elif part == "program" or name.endswith(".so"):
            program[name] = path.read_bytes()
    (folder / "python.zip").write_bytes(packed(library))
    (folder / "program.zip").write_bytes(packed(program))


if __name__ == "__main__":
    pack(Path(sys.argv[1]))
