"""What of Python and its libraries goes into the page. Runs in the page's own Python, which compiles for itself.

Modules that nothing imports from the program on, and those of ``modules.txt``, are left out; the rest is compiled.
"""

import ast
import functools
import importlib.util
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
    gone, found, waiting = set(left_out), set[str](), list(roots)
    while waiting:
        parts = waiting.pop().split(".")
        names = [".".join(parts[: count + 1]) for count in range(len(parts))]
        if gone.isdisjoint(names):
            new = [one for one in names if one in sources and one not in found]
            found.update(new)
            waiting += [name for one in new for name in _imports(one, sources)]
    return found


def _imports(module: str, sources: Mapping[str, str]) -> list[str]:
    """Return what a module may import; what only type checkers read is passed over."""
    package = module if any(name.startswith(f"{module}.") for name in sources) else module.rpartition(".")[0]
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
            base = importlib.util.resolve_name("." * node.level + (node.module or ""), package)
            names += [base, *(f"{base}.{alias.name}" for alias in node.names)]
        waiting += ast.iter_child_nodes(node)
    return names


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


def packed(files: Mapping[str, bytes], path: Path) -> None:
    """Write files as a zip, not compressed: the page compresses it as a whole, which makes it smaller."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(files):
            archive.writestr(zipfile.ZipInfo(name), files[name])


def pack(folder: Path) -> None:
    """Make in a folder ``python.zip``, which can stay packed, and ``program.zip``, which must lie in files."""
    names: dict[str, Path] = {}
    for part in ("stdlib", "libs", "program"):
        root = folder / part
        names.update({path.relative_to(root).as_posix(): path for path in sorted(root.rglob("*")) if path.is_file()})
    lines = (folder / "modules.txt").read_text("utf-8").splitlines()
    roots, left_out = ([line[2:] for line in lines if line.startswith(sign)] for sign in "+-")
    texts = {module_of(name): path.read_text("utf-8-sig") for name, path in names.items() if name.endswith(".py")}
    wanted = reached(texts, [*roots, *(name for name in texts if name.startswith(_BRIDGE))], left_out)
    library: dict[str, bytes] = {}
    program: dict[str, bytes] = {}
    for name, path in names.items():
        ours = path.relative_to(folder).parts[0] == "program"
        if ours and not name.endswith(".py"):
            program[name] = path.read_bytes()
        elif module_of(name) in wanted:
            into = program if ours else library
            into[f"{name}c"] = compiled(name, texts[module_of(name)], keep=ours or name.startswith(_BRIDGE))
    packed(library, folder / "python.zip")
    packed(program, folder / "program.zip")


if __name__ == "__main__":
    pack(Path(sys.argv[1]))
