"""The program's own files, parsed once for the tests that read them."""

import ast
from collections.abc import Mapping
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent / "templater"
#: Module: its file.
FILES = {
    ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(ROOT.rglob("*.py"))
}


@cache
def nodes() -> Mapping[str, list[ast.AST]]:
    """Return every node of each module's tree."""
    return {name: list(ast.walk(ast.parse(path.read_text("utf-8")))) for name, path in FILES.items()}
