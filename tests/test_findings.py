"""The catalogue of findings: every code that the program names is in it, and the page for people follows it."""

import ast
from pathlib import Path

import pytest

import templater
from templater.findings import CATALOGUE, Finding, Severity

ROOM = Path(templater.__file__).parent
PAGE = ROOM.parent / "docs" / "findings.md"
LETTERS = {
    "D": "Description and files", "R": "Rule", "F": "Floor and plates", "P": "Plank", "H": "Hardware",
    "W": "Wood between holes", "S": "Sheets and paper", "Q": "Proof of files", "T": "Readings at fit-up and printer",
}  # fmt: skip


def named_in_the_code() -> set[str]:
    """Every finding code that a module other than the catalogue's names."""
    return {
        node.value
        for path in ROOM.rglob("*.py")
        if path.name != "findings.py"
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        and len(node.value) == 4 and node.value[0] in LETTERS and node.value[1:].isdigit()
    }  # fmt: skip


def page() -> str:
    """The list of findings for people, from the catalogue."""
    lines = [
        "# Findings",
        "",
        "Every message has a code. An error stops `make`; a warning is printed on the sheets; advice is only listed.",
    ]
    for letter, name in LETTERS.items():
        lines += ["", f"## {letter}: {name}", "", "| code | severity | what it is |", "| --- | --- | --- |"]
        for code, kind in CATALOGUE.items():
            lighter = f", or {kind.lighter.value}" if kind.lighter else ""
            if code.startswith(letter):
                lines.append(f"| {code} | {kind.severity.value}{lighter} | {kind.what} |")
    return "\n".join(lines) + "\n"


def test_the_catalogue_holds_the_codes_that_the_program_names_and_no_others() -> None:
    assert named_in_the_code() == set(CATALOGUE)


def test_severity_comes_from_the_catalogue_unless_the_kind_has_a_lighter_case() -> None:
    assert Finding("R110", "", "").severity is Severity.ERROR
    assert Finding("W102", "", "").severity is Severity.WARNING
    assert Finding("W102", "", "", graded=Severity.ADVICE).severity is Severity.ADVICE


def test_the_page_of_findings_is_up_to_date(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--refresh-golden"):
        PAGE.write_text(page(), "utf-8")
    assert PAGE.read_text("utf-8") == page()
