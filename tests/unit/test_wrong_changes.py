"""The maker of wrong changes: each is another program, and it is one slip away from the right one."""

import ast
from pathlib import Path

from tests.mutants.changes import changes

ROOT = Path(__file__).parents[2]


def test_every_change_is_a_program_and_not_the_same_one() -> None:
    text = (ROOT / "templater" / "maths.py").read_text("utf-8")
    found = list(changes(text))
    assert len(found) > 50
    for change in found:
        wrong = text[: change.start] + change.now + text[change.end :]
        assert ast.dump(ast.parse(wrong)) != ast.dump(ast.parse(text)), change


def test_a_change_stands_where_it_says_in_a_text_with_letters_of_several_bytes() -> None:
    (change,) = changes('def f(a: int) -> str:\n    return "⌀" if a is None else "é"\n')
    assert (change.line, change.was, change.now) == (2, "a is None", "(a is not None)")
