"""One wrong change at a time, as a slip would make it: an operator, a sign, a constant, a branch."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from typing import NamedTuple

#: Operator: what a slip puts in its place.
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.And: ast.Or, ast.Or: ast.And, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
CALLS = {"min": "max", "max": "min", "sin": "cos", "cos": "sin", "any": "all", "all": "any"}


class Change(NamedTuple):
    """Text to put in place of a piece of a file; ``line`` counts from 1, ``start`` and ``end`` count characters."""

    line: int
    start: int
    end: int
    was: str
    now: str


def changes(text: str) -> Iterator[Change]:
    """Yield every wrong change of a module's text, in order."""
    tree = ast.parse(text)
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line.encode()))
    raw = text.encode()
    parents = {id(child): node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}

    def inside(node: ast.AST, fields: tuple[str, ...]) -> bool:
        """Tell whether a node lies in one of these fields of a node above it, or in a text with values in it."""
        while (parent := parents.get(id(node))) is not None:
            if isinstance(parent, ast.JoinedStr):  # Python 3.11 has no true places inside these
                return True
            for field in fields:
                value = getattr(parent, field, None)
                if value is node or (isinstance(value, list) and node in value):
                    return True
            node = parent
        return False

    for node in ast.walk(tree):
        if not isinstance(node, ast.expr | ast.If) or inside(node, ("annotation", "returns", "decorator_list")):
            continue
        target: ast.expr = node.test if isinstance(node, ast.If) else node
        now = _changed(node)
        if now is None:
            continue
        start = starts[target.lineno - 1] + target.col_offset
        end = starts[(target.end_lineno or 1) - 1] + (target.end_col_offset or 0)
        was = raw[start:end].decode()
        yield Change(target.lineno, len(raw[:start].decode()), len(raw[:end].decode()), was, f"({now})")


def _changed(node: ast.AST) -> str | None:
    """Return a node's text with one slip in it, or nothing where this kind of node has none."""
    if isinstance(node, ast.If):
        return f"not ({ast.unparse(node.test)})"
    if isinstance(node, ast.BinOp) and type(node.op) in SWAPPED and not _of_texts(node):
        return ast.unparse(ast.BinOp(node.left, SWAPPED[type(node.op)](), node.right))  # type: ignore[arg-type]
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        swapped = SWAPPED[type(node.ops[0])]()
        return ast.unparse(ast.Compare(node.left, [swapped], node.comparators))  # type: ignore[list-item]
    if isinstance(node, ast.BoolOp):
        return ast.unparse(ast.BoolOp(SWAPPED[type(node.op)](), node.values))  # type: ignore[arg-type]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        return ast.unparse(node.operand)
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        return repr(node.value + 1 if isinstance(node.value, int) else node.value * 1.25 + 0.01)
    if isinstance(node, ast.Call):
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in CALLS:
            text = ast.unparse(node)
            return text.replace(name, CALLS[name], 1)
    return None


def _of_texts(node: ast.BinOp) -> bool:
    return any(
        isinstance(side, ast.JoinedStr | ast.List | ast.Tuple)
        or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in (node.left, node.right)
    )
