"""The reader: trees of leaves with places, as descriptions, readings and printer profiles use them."""

import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from loading import load_description

from templater.findings import DescriptionError, Finding, Location
from templater.reader.compose import Leaf, Tree, compose

SOUND = """\
boat: Whinchat 3
units: mm
rule: {runner_base: {max: 2350 mm}}
steering_post: {diameter: 32}
floor: {thickness: 14}
plank: {length: 2390, width: 175, thickness: 34, crown: 38, pivot_aft_of_bolts: 6}
fixing:
  half_spread: 215
  settings: {count: 3, pitch: 55}
  bolt: {thread: M8}
  plate: {length: 46, width: 76, thickness: 3, screws: {diameter: 4.5, length: 18, first: [[-16, -30], [16, 30]]}}
"""

#: Source: YAML 1.2.2, example 10.9 and the table of section 10.3.2 (core schema).
CORE_SCHEMA = [
    ("null", None), ("", None), ("~", None), ("NULL", None), ("nULL", "nULL"),
    ("true", True), ("False", False), ("yes", "yes"), ("off", "off"),
    ("0", 0), ("0o7", 7), ("0x3A", 58), ("-19", -19), ("007", 7), ("1_000", "1_000"), ("190:20:30", "190:20:30"),
    ("0.", 0.0), ("-0.0", -0.0), (".5", 0.5), ("+12e03", 12000.0), ("-2E+05", -200000.0),
    ("2026-11-25", "2026-11-25"), ("'12'", "12"), ('"true"', "true"),
]  # fmt: skip


def plain(tree: Tree) -> object:
    if isinstance(tree, Leaf):
        return tree.value
    return {k: plain(v) for k, v in tree.items()} if isinstance(tree, dict) else [plain(one) for one in tree]


@pytest.mark.parametrize(("text", "value"), CORE_SCHEMA)
def test_scalars_are_those_of_the_core_schema(text: str, value: object) -> None:
    found = compose(f"a: {text}\n", "f").tree["a"].value
    assert found == value
    assert type(found) is type(value)
    if value == 0:
        assert math.copysign(1, found) == math.copysign(1, value)


def test_places_are_those_of_keys_and_entries() -> None:
    read = compose("a:\n  b: [1, 2]\n  c:\n    - x: 1\n", "f.yaml")
    assert plain(read.tree) == {"a": {"b": [1, 2], "c": [{"x": 1}]}}
    wanted = {"": (1, 1), "a": (1, 1), "a.b": (2, 3), "a.b.0": (2, 7), "a.b.1": (2, 10), "a.c": (3, 3),
              "a.c.0": (4, 7), "a.c.0.x": (4, 7)}  # fmt: skip
    assert read.places == {key: Location("f.yaml", *place) for key, place in wanted.items()}


def test_all_faults_of_the_yaml_come_at_once() -> None:
    found = compose("a: &x 1\na: 2\nb: !t 3\n", "f.yaml").findings
    assert [(f.code, f.where and f.where.line) for f in found] == [("D106", 1), ("D107", 2), ("D105", 3)]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("  boat: Whinchat 3\nunits: mm\n", (1, 3)),
        ("# a boat\n  boat: Whinchat 3\n\n# more\nunits: mm\n", (2, 3)),
        ("plank:\n    length: 2390\n  width: 175\n  crown: 2\n", (2, 5)),
        ("boat: Whinchat 3\n  units: mm\n", (2, 3)),
        ("plank:\n  length: 2390\nwidth: 175\n  crown: 38\n", (3, 1)),
        ("plank:\n  corners:\n    apart: 2\nwidth: 175\n  crown: 38\n", (4, 1)),
        ("plank:\n    corners:\n      apart: 2\n  width: 175\n", (4, 3)),
    ],
)
def test_a_line_too_far_in_or_out_is_pointed_at_itself(text: str, place: tuple[int, int]) -> None:
    (finding,) = compose(text, "f.yaml").findings
    assert (finding.where and (finding.where.line, finding.where.column)) == place


def test_a_byte_order_mark_is_no_fault() -> None:
    assert plain(compose("\ufeffa: 1\n", "f").tree) == {"a": 1}


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


LONG = "9" * 400


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("{thickness: 14}", "{thickness: 14, keep_clear: [[2120, -30], [2120, 30]]}", "floor.keep_clear.0"),
        ("{thread: M8}", "[M8]", "fixing.bolt"),
        ("{diameter: 32}", "[32]", "steering_post"),
        ("{diameter: 32}", "{diameter: 1e308}", "steering_post.diameter"),
        ("{diameter: 32}", "{diameter: 1e308 in}", "steering_post.diameter"),
        ("{diameter: 32}", "{diameter: 5e-324}", "steering_post.diameter"),
        ("{diameter: 32}", f"{{diameter: {LONG}}}", "steering_post.diameter"),
        ("{diameter: 32}", f"{{diameter: '{LONG}'}}", "steering_post.diameter"),
        ("count: 3", f"count: {LONG}", "fixing.settings.count"),
        ("diameter: 4.5", "diameter: 0.001", "fixing.plate.screws.diameter"),
        ("units: mm", 'units: mm\nbased_on: "a\\0b"', "based_on"),
        ("boat: Whinchat 3", 'boat: "Whin\\ud83d"', "boat"),
        ("boat: Whinchat 3", 'boat: "Whin\\u001bchat"', "boat"),
    ],
)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_what_no_boat_can_have_is_refused_at_its_place(old: str, new: str, key: str, units: str) -> None:
    assert old in SOUND
    text = SOUND.replace(old, new).replace("units: mm", f"units: {units}")
    with pytest.raises(DescriptionError) as caught:
        load_description(text, "boat.yaml", resolve=lambda name, _where: (name, SOUND))
    assert key in {finding.key for finding in caught.value.findings}
    assert all(finding.line().isprintable() for finding in caught.value.findings)


@pytest.mark.parametrize("section", ["fixing", "print", "plank", "floor", "rule"])
def test_a_list_where_keys_belong_is_a_fault(section: str) -> None:
    head = "".join(f"{line}\n" for line in ("boat: A", "units: mm", f"{section}: [A4, 2, [3]]"))
    with pytest.raises(DescriptionError) as caught:
        load_description(head, "boat.yaml")
    assert ("D122", section) in {(finding.code, finding.key) for finding in caught.value.findings}


def test_a_pair_of_escapes_is_the_letter_that_json_means() -> None:
    assert load_description(SOUND.replace("Whinchat 3", '"Whin \\ud83d\\ude00"'), "b").boat == "Whin \U0001f600"


def test_many_areas_and_many_values_are_refused_in_one_line() -> None:
    area = "{name: a, corners: [[1, 1], [1, 20], [20, 20]]}"
    text = SOUND.replace("{thickness: 14}", f"{{thickness: 14, keep_clear: [{', '.join([area] * 101)}]}}")
    with pytest.raises(DescriptionError, match=r"too many entries - allowed: at most 100 \[D124\]$"):
        load_description(text, "boat.yaml")
    with pytest.raises(DescriptionError, match=r"a text of at most 1000000 is read; .*\[D103\]$"):
        load_description(SOUND + "#" * 1_000_000, "boat.yaml")


def test_nothing_in_a_message_moves_the_cursor_or_turns_the_line() -> None:
    signs = "\x1b[2K\r\n\x7f\x85\u202e\u2066\u2028"
    line = Finding("D120", f"a.{signs}", f"{signs}: unknown", Location(f"{signs}.yaml", 1, 1)).line()
    assert line.isprintable()
    assert r"\x1b[2K\x0d\x0a\x7f\x85\u202e\u2066\u2028" in line


def test_places_in_lists_are_counted_as_on_the_sheet() -> None:
    for key, shown in (
        ("fixing.plate.screws.second.1", "fixing.plate.screws.second b2"),
        ("fixing.plate.screws.first.0.1", "fixing.plate.screws.first a1 y"),
        ("floor.outline.3", "floor.outline 4"),
        ("fittings.0.at.1", "fittings 1.at y"),
        ("square.port.0", "square.port 1"),
    ):
        assert Finding("D124", key, "text").line() == f"{shown}: text [D124]"
