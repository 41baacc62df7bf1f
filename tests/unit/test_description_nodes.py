"""Plain data with places, as readings and printer profiles use it."""

import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.description import load_description
from templater.findings import DescriptionError, Location
from templater.reader.compose import read_yaml

#: Source: YAML 1.2.2, example 10.9 and the table of section 10.3.2 (core schema).
CORE_SCHEMA = [
    ("null", None), ("", None), ("~", None), ("NULL", None), ("nULL", "nULL"),
    ("true", True), ("False", False), ("yes", "yes"), ("off", "off"),
    ("0", 0), ("0o7", 7), ("0x3A", 58), ("-19", -19), ("007", 7), ("1_000", "1_000"), ("190:20:30", "190:20:30"),
    ("0.", 0.0), ("-0.0", -0.0), (".5", 0.5), ("+12e03", 12000.0), ("-2E+05", -200000.0),
    ("2026-11-25", "2026-11-25"), ("'12'", "12"), ('"true"', "true"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value"), CORE_SCHEMA)
def test_scalars_are_those_of_the_core_schema(text: str, value: object) -> None:
    data, _ = read_yaml(f"a: {text}\n", "f")
    assert data == {"a": value}
    assert type(data["a"]) is type(value)
    if value == 0:
        assert math.copysign(1, data["a"]) == math.copysign(1, value)


def test_places_are_those_of_keys_and_entries() -> None:
    data, places = read_yaml("a:\n  b: [1, 2]\n  c:\n    - x: 1\n", "f.yaml")
    assert data == {"a": {"b": [1, 2], "c": [{"x": 1}]}}
    wanted = {"": (1, 1), "a": (1, 1), "a.b": (2, 3), "a.b.0": (2, 7), "a.b.1": (2, 10), "a.c": (3, 3),
              "a.c.0": (4, 7), "a.c.0.x": (4, 7)}  # fmt: skip
    assert places == {key: Location("f.yaml", *place) for key, place in wanted.items()}


def test_all_faults_of_the_yaml_come_at_once() -> None:
    with pytest.raises(DescriptionError) as caught:
        read_yaml("a: &x 1\na: 2\nb: !t 3\nc: .nan\n", "f.yaml")
    assert [(f.code, f.where and f.where.line) for f in caught.value.findings] == [
        ("D106", 1), ("D107", 2), ("D105", 3), ("D110", 4),
    ]  # fmt: skip


def test_a_byte_order_mark_is_no_fault() -> None:
    assert read_yaml("\ufeffa: 1\n", "f")[0] == {"a": 1}


SIGNS = st.text(alphabet="{}[]:,&*!|>'\"%@`#-?<~ \n\t.019abé\\\x00\x85\u2028", max_size=40)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.one_of(SIGNS, st.text(max_size=40)))
def test_no_text_breaks_the_door(text: str) -> None:
    with pytest.raises(DescriptionError) as caught:
        load_description(text, "f.yaml")
    for finding in caught.value.findings:
        assert finding.where is not None
        assert finding.code.startswith("D1")
        assert len(finding.line().splitlines()) == 1


def slips(configs: Path, change: Callable[[str], str | None]) -> Iterator[tuple[int, str]]:
    """Yield the demo boat with one line after the other changed, with the line's number."""
    lines = (configs / "whinchat-3.yaml").read_text("utf-8").splitlines()
    for number, line in enumerate(lines, 1):
        changed = change(line)
        if changed is not None:
            yield number, "\n".join([*lines[: number - 1], changed, *lines[number:], ""])


def first_fault(text: str) -> tuple[int, int, str]:
    with pytest.raises(DescriptionError) as caught:
        load_description(text, "boat.yaml")
    finding = caught.value.findings[0]
    assert finding.where is not None
    return finding.where.line, finding.where.column, finding.text


def test_a_key_that_lost_its_colon_is_pointed_at(configs: Path) -> None:
    def without(line: str) -> str | None:
        return re.sub(r"^( *\w+):(?= |$)", r"\1", line) if re.match(r" *\w+:( |$)", line) else None

    tried = list(slips(configs, without))
    assert len(tried) > 30
    for number, text in tried:
        line = text.splitlines()[number - 1]
        assert first_fault(text)[:2] == (number, len(line) - len(line.lstrip()) + 1), line


def test_a_key_with_no_blank_behind_its_colon_is_pointed_at(configs: Path) -> None:
    line, _, said = first_fault((configs / "whinchat-3.yaml").read_text("utf-8").replace("units: mm", "units:mm"))
    assert line == 4
    assert "without a blank behind it" in said


@pytest.mark.parametrize("mark", ["'", '"'])
def test_an_open_quotation_mark_is_pointed_at(configs: Path, mark: str) -> None:
    def opened(line: str) -> str | None:
        return re.sub(r": (?=\w)", f": {mark}", line, count=1) if re.match(r" *\w+: \w", line) else None

    tried = list(slips(configs, opened))
    assert len(tried) > 10
    for number, text in tried:
        line, column, said = first_fault(text)
        assert (line, column) == (number, text.splitlines()[number - 1].index(mark) + 1), text.splitlines()[number - 1]
        assert "the quotation mark that opens here" in said
