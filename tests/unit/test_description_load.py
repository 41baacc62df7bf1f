"""The door of the description: what it takes, what it refuses, and where it says the fault lies."""

import json
from pathlib import Path

import pytest
from loading import load_description

from templater.boat.solve import solve
from templater.description.keys import (
    CustomPaper,
    Description,
    HoleCircle,
    HoleRow,
    Pattern,
    Surface,
)
from templater.description.load import LONGEST_CHAIN, starter_text
from templater.description.schema import schema_json
from templater.findings import DescriptionError, Finding, Location

SOUND = """\
boat: Whinchat 3
units: mm
rule: {runner_base: {max: 2350, min: 2180}, keep_inside: 4}
steering_post: {diameter: 32}
floor: {thickness: 14}
plank:
  length: 2390
  width: 175
  thickness: 34
  crown: 38
  pivot_aft_of_bolts: 6
fixing:
  half_spread: 215
  settings: {count: 3, pitch: 55, at_limit: aft}
  bolt: {thread: M8}
  sleeve: {outer: 18, inner: 10}
  plate:
    length: 46
    width: 76
    thickness: 3
    slot: {length: 16, width: 8.5}
    screws: {diameter: 4.5, length: 18, first: [[-16, -30], [16, 30]]}
"""


def findings(text: str, **named: object) -> tuple[Finding, ...]:
    with pytest.raises(DescriptionError) as caught:
        load_description(text, "boat.yaml", **named)
    return caught.value.findings


def one(text: str) -> Finding:
    found = findings(text)
    assert len(found) == 1, [finding.line() for finding in found]
    return found[0]


def changed(old: str, new: str) -> str:
    assert SOUND.count(old) == 1, old
    return SOUND.replace(old, new)


def bases(texts: dict[str, str]) -> object:
    def resolve(name: str, where: Location) -> tuple[str, str]:
        if name not in texts:
            raise DescriptionError(Finding("D160", "based_on", f"{name}: no such file", where))
        return name, texts[name]

    return resolve


@pytest.mark.parametrize("name", ["whinchat-3.yaml", "whinchat-4.yaml", "whinchat-5.yaml"])
def test_the_demo_boats_load(configs: Path, name: str) -> None:
    def resolve(other: str, _where: Location) -> tuple[str, str]:
        return other, (configs / other).read_text("utf-8")

    description = load_description((configs / name).read_text("utf-8"), name, resolve=resolve)
    assert description.boat.startswith("Whinchat")
    assert description.place("fixing.half_spread") is not None


def test_values_arrive_in_mm_with_their_places() -> None:
    description = load_description(changed("half_spread: 215", "half_spread: 8 1/2 in"), "boat.yaml")
    assert description.fixing.half_spread == 215.9  # 8.5 times 25.4, the inch of 1959
    assert description.fixing.settings.at_limit == "aft"
    assert description.places["plank.crown"] == Location("boat.yaml", 10, 3)
    assert description.places["fixing.plate.screws.first.1.0"] == Location("boat.yaml", 22, 62)
    assert description.inherited == frozenset()


def test_bare_numbers_are_in_units() -> None:
    text = SOUND.replace("units: mm", "units: in").replace("half_spread: 215", "half_spread: 8.1")
    text = text.replace("length: 2390", "length: 94").replace("max: 2350, min: 2180", "max: 92, min: 82 in")
    text = text.replace("[[-16, -30], [16, 30]]", "[[-16 mm, -30mm], [16 mm, 3 cm]]")
    text = text.replace("length: 46", "length: 46 mm").replace("width: 76", "width: 76 mm").replace("38", "1 1/2")
    text = text.replace("{length: 16, width: 8.5}", "{length: 5/8, width: 3/8}")
    text = text.replace("4.5, length: 18", "0.17, length: 1").replace("keep_inside: 4", "keep_inside: 4 mm")
    text = text.replace("{outer: 18, inner: 10}", "{outer: 3/4, inner: 3/8}")
    description = load_description(text, "boat.yaml")
    assert description.fixing.half_spread == 205.74
    assert description.rule is not None
    assert description.rule.runner_base.max == 2336.8
    assert description.fixing.plate is not None
    assert description.fixing.plate.screws is not None
    assert description.fixing.plate.screws.first == ((-16.0, -30.0), (16.0, 30.0))


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("{rectangle: [40, 24]}", Pattern(rectangle=(40, 24))),
        ("{row: {count: 3, pitch: 30}}", Pattern(row=HoleRow(count=3, pitch=30))),
        ("{circle: {diameter: 60, count: 6, start: 15}}", Pattern(circle=HoleCircle(diameter=60, count=6, start=15))),
        ("{points: [[0, 0], [10, 1 in]]}", Pattern(points=((0, 0), (10, 25.4)))),
    ],
)
def test_every_pattern(pattern: str, expected: object) -> None:
    fitting = f"fittings: [{{name: eye, on: plank, at: [0, 450], pattern: {pattern}, drill: 5, mirror: true}}]\n"
    description = load_description(SOUND + fitting, "boat.yaml")
    assert description.fittings[0].pattern == expected
    assert (description.fittings[0].on, description.fittings[0].mirror) == (Surface.PLANK, True)


@pytest.mark.parametrize(
    ("paper", "expected"),
    [
        ("roll 24 in", "roll 24 in"),
        ("{width: 300, height: 1 ft}", CustomPaper(width=300, height=304.8)),
        ("{roll: 24 in}", CustomPaper(roll=609.6)),
    ],
)
def test_every_paper(paper: str, expected: object) -> None:
    assert load_description(f"{SOUND}print: {{paper: {paper}}}\n", "boat.yaml").print.paper == expected


def test_title_data_stays_as_written() -> None:
    issue = load_description(f"{SOUND}issue: {{revision: 1.10, date: 2026-11-25, number: 007}}\n", "b").issue
    assert (issue.revision, issue.date, issue.number) == ("1.10", "2026-11-25", "007")


def test_seven_faults_give_seven_lines_in_order() -> None:
    text = (
        SOUND.replace("max: 2350, min: 2180", "max: 2100, min: 2350")  # line 3
        .replace("diameter: 32", "diametre: 32")  # line 4
        .replace("thickness: 14", "thickness: -14")  # line 5
        .replace("length: 2390", "length: 2390 furlongs")  # line 7
        .replace("crown: 38", "crown: .nan")  # line 10
        .replace("inner: 10", "inner: 19")  # line 16
        .replace("[16, 30]", "[16, 300]")  # line 22
    )
    found = findings(text)
    assert [(f.where.line, f.code) for f in found if f.where] == [
        (3, "D130"), (4, "D120"), (5, "D124"), (7, "D123"), (10, "D110"), (16, "D132"), (22, "D134"),
    ]  # fmt: skip
    lines = [finding.line() for finding in found]
    assert lines[1].startswith('boat.yaml:4:17: steering_post.diametre: unknown key - did you mean "diameter"?')
    assert lines[2].startswith("boat.yaml:5:9: floor.thickness: -14: outside what is allowed: above 0")
    assert "2390 furlongs" in lines[3]
    assert not any(word in line.lower() for line in lines for word in ("pydantic", "input", "valid ", "float", "str "))


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "place"),
    [
        ("crown: 38", "crown: true", "D123", "plank.crown", (10, 3)),
        ("crown: 38", "crown: .inf", "D110", "plank.crown", (10, 3)),
        ("crown: 38", "crown: 1e400", "D110", "plank.crown", (10, 3)),
        ("crown: 38", "crown: [38]", "D123", "plank.crown", (10, 3)),
        ("crown: 38", "crown:", "D121", "plank.crown", (10, 3)),
        ("  crown: 38\n", "", "D121", "plank", (6, 1)),
        ("crown: 38", "crown: -1", "D124", "plank.crown", (10, 3)),
        ("crown: 38", "crown: 1195", "D136", "plank.crown", (10, 3)),
        ("half_spread: 215", "half_spread: 1195", "D135", "fixing.half_spread", (13, 3)),
        ("half_spread: 215", "half_spread: 0", "D124", "fixing.half_spread", (13, 3)),
        ("width: 175", "width: 1750 m", "D124", "plank.width", (8, 3)),
        ("count: 3", "count: 0", "D124", "fixing.settings.count", (14, 14)),
        ("count: 3", "count: 51", "D124", "fixing.settings.count", (14, 14)),
        ("count: 3", "count: 3.0", "D123", "fixing.settings.count", (14, 14)),
        ("pitch: 55, ", "", "D121", "fixing.settings", (14, 3)),
        ("at_limit: aft", "at_limit: astern", "D125", "fixing.settings.at_limit", (14, 35)),
        ("at_limit: aft", "stations: [2200, 2250]", "D126", "fixing.settings.count", (14, 14)),
        (
            "count: 3, pitch: 55, at_limit: aft", "stations: [2200, 2200]",
            "D138", "fixing.settings.stations.1", (14, 31),
        ),
        ("thread: M8", "thread: M8.3", "D125", "fixing.bolt.thread", (15, 10)),
        ("{thread: M8}", "M8", "D122", "fixing.bolt", (15, 3)),
        ("inner: 10", "inner: 18", "D132", "fixing.sleeve.inner", (16, 23)),
        ("length: 16, ", "length: 76, ", "D133", "fixing.plate.slot.length", (21, 12)),
        ("width: 8.5", "width: 46", "D133", "fixing.plate.slot.width", (21, 24)),
        ("[16, 30]", "[22, 30]", "D134", "fixing.plate.screws.first.1", (22, 61)),
        ("[16, 30]", "[0, 9]", "D134", "fixing.plate.screws.first.1", (22, 61)),
        ("[16, 30]", "[16]", "D122", "fixing.plate.screws.first.1", (22, 61)),
        ("[16, 30]", "[16, 30, 3]", "D122", "fixing.plate.screws.first.1", (22, 61)),
        ("keep_inside: 4", "keep_inside: 170", "D130", "rule.keep_inside", (3, 45)),
        ("Whinchat 3", "&a Whinchat", "D106", "boat", (1, 7)),
        ("Whinchat 3", "!!str Whinchat", "D105", "boat", (1, 7)),
        ("Whinchat 3", '"Whin\\achat"', "D102", "boat", (1, 1)),
        ("Whinchat 3", "W" * 41, "D124", "boat", (1, 1)),
        ("units: mm", "units: cm", "D125", "units", (2, 1)),
        ("  width: 175", "  length: 175", "D107", "plank.length", (8, 3)),
    ],
)  # fmt: skip
def test_one_fault_one_line(old: str, new: str, code: str, key: str, place: tuple[int, int]) -> None:
    text = changed(old, new)
    found = [finding for finding in findings(text) if finding.code == code]
    assert (key, Location("boat.yaml", *place)) in [(f.key, f.where) for f in found]
    if code == "D107":
        return  # the key that went is missing as well
    many = {
        "stations: [2200, 2250]": 2,  # count and pitch both stand beside them
        "width: 46": 2,  # wider than the plate is long, and than the slot is
    }
    assert len(findings(text)) == many.get(new, 1), [finding.line() for finding in findings(text)]


def test_what_a_number_must_be_below_is_told_with_both_figures() -> None:
    said = one(changed("crown: 38", "crown: 1195")).text
    assert said == "1195 mm - must be less than half the plank's length, which is 2390 mm; allowed: below 1195 mm"


def test_without_a_rule_stations_are_needed() -> None:
    line = "rule: {runner_base: {max: 2350, min: 2180}, keep_inside: 4}\n"
    assert one(changed(line, "")).key == "fixing.settings"
    text = changed(line, "").replace("count: 3, pitch: 55, at_limit: aft", "stations: [2200, 2250]")
    assert load_description(text, "boat.yaml").fixing.settings.stations == (2200, 2250)


@pytest.mark.parametrize(
    ("corners", "sound"),
    [
        ("[[0, 0], [10, 0], [10, 10], [0, 10]]", True),
        ("[[0, 0], [10, 0], [5, 1], [10, 10], [0, 10]]", True),   # a re-entrant corner is no crossing
        ("[[0, 0], [5, 0], [10, 0], [10, 10], [0, 10]]", True),   # a corner in a straight edge
        ("[[0, 0], [10, 10], [10, 0], [0, 10]]", False),          # a bow tie
        ("[[0, 0], [5, 0], [10, 0]]", False),                     # in line
        ("[[0, 0], [10, 0], [10, 10], [5, 0], [0, 10]]", False),  # touches its own edge
        ("[[0, 0], [10, 0], [10, 10], [10, 5], [0, 10], [10, 10]]", False),
        ("[[0, 0], [0, 0], [10, 0], [10, 10]]", False),           # the same corner twice
    ],
)  # fmt: skip
def test_outlines_neither_cross_nor_vanish(corners: str, sound: bool) -> None:
    text = changed("{thickness: 14}", f"{{thickness: 14, outline: {corners}}}")
    if sound:
        assert len(load_description(text, "boat.yaml").floor.outline) >= 4
    else:
        assert (one(text).code, one(text).key) == ("D131", "floor.outline")


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        ("", "D111", 1),
        ("- 1\n", "D111", 1),
        ("boat: a\n---\nboat: b\n", "D108", 2),
        ("boat: a\n  units: mm\n", "D101", 2),
        ("boat: [a\nunits: mm\n", "D101", 2),
        ("boat: a\nplank:\n\tlength: 3\n", "D101", 3),
        ("boat: a\nunits: m\x07m\n", "D102", 2),
        ("boat: a\r\nunits: m\x07m\r\n", "D102", 2),
        ("a: &x 1\nb: *x\n", "D106", 1),
        ("a: {<<: {b: 1}}\n", "D106", 1),
        ("%TAG ! x:\n--- a\n", "D105", 2),
        ("? [a, b]\n: 1\n", "D109", 1),
        ("[" * 5000, "D104", 1),
        ("{a: " * 5000, "D104", 1),
        ("x" * 8_000_001, "D103", 1),
        ("a: " + "9" * 5000, "D120", 1),
    ],
)
def test_texts_that_are_no_description(text: str, code: str, line: int) -> None:
    found = findings(text)
    assert (code, line) in [(f.code, f.where and f.where.line) for f in found]
    assert all(len(f.line().splitlines()) == 1 and len(f.line()) < 400 for f in found)


def test_a_base_lies_below_its_child() -> None:
    child = "boat: Child\nunits: in\nbased_on: base.yaml\nplank: {width: 7}\n"
    child += "fixing: {sleeve: null, plate: {screws: ~}}\n"
    description = load_description(child, "child.yaml", resolve=bases({"base.yaml": SOUND}))
    assert (description.boat, description.units) == ("Child", "in")
    assert (description.plank.width, description.plank.length) == (177.8, 2390)  # inches here, mm in the base
    assert description.fixing.sleeve is None
    assert description.fixing.plate is not None
    assert description.fixing.plate.screws is None
    assert description.places["plank.width"] == Location("child.yaml", 4, 9)
    assert description.places["plank.length"] == Location("base.yaml", 7, 3)
    assert "plank.length" in description.inherited
    assert not {"plank.width", "boat", "units", "fixing.sleeve.outer", "based_on"} & description.inherited


def test_lists_are_replaced_whole() -> None:
    fitting = "fittings:\n- {name: A, on: floor, at: [1, 2], pattern: {rectangle: [4, 5]}, drill: 5}\n"
    other = fitting.replace("name: A", "name: B") + fitting.removeprefix("fittings:\n")
    child = "boat: Child\nbased_on: base.yaml\n" + fitting.replace("rectangle: [4, 5]", "row: {count: 1, pitch: 3}")
    description = load_description(child, "child.yaml", resolve=bases({"base.yaml": SOUND + other}))
    assert [item.pattern for item in description.fittings] == [Pattern(row=HoleRow(count=1, pitch=3))]
    assert "fittings.1.name" not in description.places
    assert not any(key.startswith("fittings") for key in description.inherited)


def test_a_child_without_units_reads_its_numbers_in_those_of_its_base() -> None:
    base = "boat: B\nunits: in\nbased_on: mm.yaml\nplank: {width: 7}\n"
    child = "boat: C\nbased_on: in.yaml\nplank: {thickness: 1.5}\n"
    description = load_description(child, "c.yaml", resolve=bases({"in.yaml": base, "mm.yaml": SOUND}))
    assert (description.units, description.plank.thickness, description.plank.width) == ("in", 38.1, 177.8)
    assert description.plank.crown == 38


def test_faults_of_a_base_stand_at_its_own_lines() -> None:
    child = "boat: Child\nbased_on: base.yaml\nplank: {widht: 7}\n"
    with pytest.raises(DescriptionError) as caught:
        load_description(child, "c.yaml", resolve=bases({"base.yaml": changed("crown: 38", "crown: x")}))
    places = [str(finding.where) for finding in caught.value.findings]
    assert places == ["c.yaml:3:9", "base.yaml:10:3"]


def test_bases_that_cannot_be_had() -> None:
    child = "boat: A\nbased_on: b.yaml\n"
    assert any(f.code == "D160" and f.where == Location("boat.yaml", 2, 1) for f in findings(child))
    assert any(f.code == "D160" for f in findings(child, resolve=bases({})))
    ring = {"b.yaml": "based_on: c.yaml\n", "c.yaml": "boat: C\nbased_on: b.yaml\n"}
    cycle = next(f for f in findings(child, resolve=bases(ring)) if f.code == "D161")
    assert cycle.where == Location("c.yaml", 2, 1)
    chain = {f"{n}.yaml": f"based_on: {n + 1}.yaml\n" for n in range(20)} | {"b.yaml": "based_on: 0.yaml\n"}
    assert any(f.code == "D162" for f in findings(child, resolve=bases(chain)))


def test_the_longest_chain_loads() -> None:
    last = LONGEST_CHAIN - 2
    texts = {f"{n}.yaml": f"boat: B{n}\nbased_on: {n + 1}.yaml\n" for n in range(last)} | {f"{last}.yaml": SOUND}
    loaded = load_description("boat: A\nbased_on: 0.yaml\n", "a.yaml", resolve=bases(texts))
    assert (loaded.boat, loaded.plank.crown) == ("A", 38)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", ["My boat", "  Tern's: #2 ", "0x10", "true", "Möwe {3}", '"', "x" * 60])
def test_the_starter_loads(units: str, name: str) -> None:
    description = load_description(starter_text(name, units), "new.yaml")
    assert (description.boat, description.units) == (name.strip()[:40], units)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_starter_s_comments_stand_in_line(units: str) -> None:
    behind = [line for line in starter_text("Boat", units).split("\n") if "# " in line.lstrip(" #")[1:]]
    columns = {line.index("# ", 3) for line in behind if len(line[: line.index("# ", 3)].rstrip()) <= 33}
    assert columns == {35}


def test_the_starter_knows_two_units() -> None:
    with pytest.raises(ValueError, match="allowed: mm, in"):
        starter_text("Boat", "cm")


def test_the_schema_has_every_key_of_the_model() -> None:
    schema = json.loads(schema_json())
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert set(schema["properties"]) == set(Description.declared())
    for name, part in schema["$defs"].items():
        for key, value in part.get("properties", {}).items():
            assert value.get("description"), f"{name}.{key} tells the builder nothing"
            assert "null" not in json.dumps(value), f"{name}.{key}"
    assert schema["$defs"]["Bolt"]["properties"]["head"]["enum"][0] == "hexagon"
    assert "additionalProperties" in schema
    assert schema["then"]["properties"]["fixing"]["required"] == ["half_spread", "settings", "bolt"]


@pytest.mark.parametrize(
    ("date", "code"),
    [("2026-02-28", ""), ("2028-02-29", ""), ("''", ""), ("2026-13-45", "D124"), ("2026-02-29", "D124"),
     ("25.11.2026", "D123"), ("20261125", "D123"), ("2026-W48-3", "D123"), ("[1, 2]", "D123")],
)  # fmt: skip
def test_the_date_is_a_day_of_the_calendar(date: str, code: str) -> None:
    text = f"{SOUND}issue: {{date: {date}}}\n"
    if not code:
        assert load_description(text, "boat.yaml").issue.date == date.strip("'")
        return
    with pytest.raises(DescriptionError) as caught:
        load_description(text, "boat.yaml")
    (finding,) = caught.value.findings
    assert (finding.code, finding.key) == (code, "issue.date")
    assert "allowed: a day of the calendar as YYYY-MM-DD" in finding.text


def test_a_part_changed_by_the_program_has_only_known_keys_and_stays_frozen() -> None:
    description = load_description(SOUND, "boat.yaml")
    wider = description.changed(plank=description.plank.changed(width=180.0))
    assert (wider.plank.width, description.plank.width) == (180.0, 175.0)
    assert wider.place("plank.width") == description.place("plank.width")
    with pytest.raises(TypeError, match="Plank has no widht"):
        description.plank.changed(widht=180.0)
    with pytest.raises(AttributeError, match="width"):
        description.plank.width = 180.0  # type: ignore[misc]
    with pytest.raises(AttributeError, match="width"):
        del description.plank.width


def test_a_part_made_by_the_program_has_its_keys_and_is_like_one_that_was_read() -> None:
    plank = load_description(SOUND, "boat.yaml").plank
    again = type(plank)(**{name: getattr(plank, name) for name in plank.declared()})
    wider = again.changed(width=180.0)
    assert again == plank != wider
    assert hash(again) == hash(plank) != hash(wider)
    assert "width=180.0" in repr(wider)
    with pytest.raises(TypeError, match="Plank needs length"):
        type(plank)(**{name: getattr(plank, name) for name in plank.declared() if name != "length"})
    with pytest.raises(TypeError, match="Plank has no widht"):
        type(plank)(widht=180.0)


def test_a_wood_is_a_name_or_keys() -> None:
    plain = load_description(SOUND.replace("{thickness: 14}", "{thickness: 14, wood: plywood}"), "boat.yaml")
    keys = load_description(SOUND.replace("{thickness: 14}", "{thickness: 14, wood: {species: plywood}}"), "boat.yaml")
    assert plain.floor == keys.floor
    wrong = one(SOUND.replace("{thickness: 14}", "{thickness: 14, wood: cheese}"))
    assert (wrong.code, wrong.where) == ("D125", Location("boat.yaml", 5, 24))


def test_the_bolt_may_come_from_below_and_a_floor_without_sleeve_has_its_own_hole() -> None:
    text = changed("bolt: {thread: M8}", "bolt: {thread: M8, from: below}").replace(
        "sleeve: {outer: 18, inner: 10}", "floor_hole: 11"
    )
    description = load_description(text, "boat.yaml")
    assert description.fixing.bolt.from_ == "below"
    assert {hole.diameter for hole in solve(description).holes if hole.id in ("P1", "S3")} == {11.0}
    assert {hole.diameter for hole in solve(description).holes if hole.id in ("KP", "KS")} == {8.0}
    both = one(changed("sleeve:", "floor_hole: 11\n  sleeve:"))
    assert (both.code, both.key) == ("D126", "fixing.floor_hole")
    misspelt = one(changed("bolt: {thread: M8}", "bolt: {thread: M8, frm: below}"))
    assert 'did you mean "from"?' in misspelt.text
    assert one(changed("bolt: {thread: M8}", "bolt: {thread: M8, from_: below}")).code == "D120"


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        ("half_spread: 215", "half_spread: 215,5", (13, 3), "write 215.5"),
        ("thickness: 14", "thickness: 14,5", (5, 23), "as in 21.5"),
        ("max: 2350, min: 2180", "max: 2350,5, min: 2180", (3, 32), "a decimal has a point, as in 21.5"),
        ("[16, 30]]", "[16,5, 30]]", (22, 61), "a decimal has a point"),
        ("half_spread: 215", "half_spread: 430", (13, 3), "write 215 mm"),
        ("    length: 46\n    width: 76", "    length: 76\n    width: 46", (18, 5), "length and width exchanged"),
        ("  crown: 38", "   crown: 38", (10, 4), "further in than the one above"),
        ("  crown: 38", " crown: 38", (10, 2), "not in line with the keys above"),
        ("  crown: 38", "  crown: 38\n  chock_corners: {apart: 2290, aft_of_bolts: 6, below_floor: -60}",
         (11, 49), "it is measured downwards: write 60 mm"),
        ("at_limit: aft", "at_limit: middle", (14, 35), "allowed: fore, aft"),
    ],
)  # fmt: skip
def test_a_slip_is_one_line_at_its_place_with_what_was_likely_meant(
    old: str, new: str, place: tuple[int, int], words: str
) -> None:
    text = changed(old, new)
    if "half_spread: 4" in new:
        text = text.replace("{thickness: 14}", "{thickness: 14, outline: [[1980, -325], [1980, 325], [2450, 300]]}")
    found = one(text)
    assert found.where == Location("boat.yaml", *place)
    assert words in found.text


def test_x_and_y_of_the_outline_exchanged_is_one_line() -> None:
    found = one(changed("{thickness: 14}", "{thickness: 14, outline: [[-325, 1980], [325, 1980], [300, 2450]]}"))
    assert (found.code, found.key) == ("D131", "floor.outline")
    assert "x, aft of the steering pivot axis, comes first" in found.text


def test_keys_not_indented_are_told_where_they_belong() -> None:
    head, _, rest = SOUND.partition("plank:\n")
    inside, _, rest = rest.partition("fixing:\n")
    text = f"{head}plank:\n{inside.replace('  ', '')}fixing:\n{rest}"
    told = {f.key: f.text for f in findings(text) if f.code == "D120"}
    assert "belongs to plank: move it below that key" in told["width"]


def test_the_foremost_setting_may_stand_at_the_least_distance() -> None:
    fore = load_description(changed("at_limit: aft", "at_limit: fore"), "boat.yaml")
    # By hand: 2180 + 4 - 6 = 2178, then 55 further each; the aftmost pivots at 2294, inside 2350.
    assert [setting.station for setting in solve(fore).settings] == [2178.0, 2233.0, 2288.0]
    missing = one(changed("at_limit: aft", "at_limit: fore").replace(", min: 2180", ""))
    assert (missing.code, missing.key) == ("D126", "fixing.settings.at_limit")
