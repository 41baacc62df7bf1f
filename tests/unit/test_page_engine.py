"""The page's engine, without a browser: a value is put in at its place, and answers are those of the pipeline."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import made_boats
import pytest
from ruamel.yaml import YAML

from templater.findings import TemplaterError
from templater.page.build import form
from templater.page.engine import call
from templater.page.pack import reached
from templater.page.texts import as_folder, job_of, leave_out, put, with_job
from templater.paper.printer import load_profile

CONFIGS = Path(__file__).parents[2] / "configs"


def read(text: str) -> Any:
    return YAML(typ="safe", pure=True).load(text)


def texts() -> list[str]:
    return [path.read_text("utf-8") for path in sorted(CONFIGS.glob("*.yaml"))]


def demo() -> dict[str, Any]:
    return {"text": (CONFIGS / "whinchat-3.yaml").read_text("utf-8"), "file": "whinchat-3.yaml"}


def ask(what: str, files: dict[str, bytes] | None = None, **question: Any) -> tuple[dict[str, Any], dict[str, bytes]]:
    answer, made = call(what, json.dumps({"job": demo(), **question}), files or {})
    return json.loads(answer), made


def leaves(data: Any, key: str = "") -> dict[str, Any]:
    if isinstance(data, dict | list):
        pairs = data.items() if isinstance(data, dict) else enumerate(data)
        return {k: v for name, below in pairs for k, v in leaves(below, f"{key}.{name}".lstrip(".")).items()}
    return {key: data}


@pytest.mark.parametrize("text", texts())
def test_every_value_can_be_changed_and_nothing_else_is(text: str) -> None:
    before = leaves(read(text))
    for key in before:
        after = put(text, key, "77.5 mm")
        assert leaves(read(after)) == {**before, key: "77.5 mm"}
        pairs = zip(text.splitlines(), after.splitlines(), strict=True)
        (changed,) = (pair for pair in pairs if pair[0] != pair[1])
        assert changed[0].partition("#")[2] == changed[1].partition("#")[2]


@pytest.mark.parametrize("text", texts())
def test_a_new_key_adds_lines_or_stands_in_its_brackets(text: str) -> None:
    before = leaves(read(text))
    for key in ("plank.wood.species", "print.printer", "spares.plates", "issue.owner", "steering_post.tape_height"):
        if key in before:
            continue
        after = put(text, key, "white ash")
        assert leaves(read(after)) == {**before, key: "white ash"}
        assert leave_out(after, key) == text or leaves(read(leave_out(after, key))) == before


@pytest.mark.parametrize("text", ["a: [1\n", "a: b: c\n", "'x"])
def test_a_text_that_is_no_yaml_takes_no_value(text: str) -> None:
    with pytest.raises(TemplaterError):
        put(text, "a", "1")


@pytest.mark.parametrize("value", ["a # b", "x: y", "- z", "null", "", "{", "*a", '"', "lodz, Łódź", "12", "1,5"])
def test_whatever_is_typed_is_one_value(value: str) -> None:
    data = read(put("a: {b: 1, c: 2}\n", "a.b", value))
    assert set(data) == {"a"}
    assert set(data["a"]) == {"b", "c"}
    assert data["a"]["c"] == 2


def test_every_key_of_the_description_has_one_field() -> None:
    def keys(fields: list[dict[str, Any]]) -> list[str]:
        return [key for one in fields for key in ([one["key"]] if one["kind"] != "keys" else keys(one["fields"]))]

    found = [key for section in form() for key in keys(section["fields"])]
    assert len(found) == len(set(found))
    assert {"boat", "plank.chock_corners.apart", "fixing.plate.screws.first", "print.paper", "fittings"} <= set(found)
    assert all(one["help"] for section in form() for one in section["fields"])


def test_look_answers_with_findings_at_their_lines_and_pictures() -> None:
    answer, _ = ask("look")
    assert [one["name"] for one in answer["pictures"]] == ["plan", "side", "plank", "floor", "plate"]
    broken = demo()["text"].replace("thickness: 34", "thickness: thick")
    answer, _ = ask("look", job={"text": broken, "file": "b.yaml"})
    line = broken[: broken.index("thickness: thick")].count("\n") + 1
    assert [(one["key"], one["line"]) for one in answer["findings"]] == [("plank.thickness", line)]
    assert "pictures" not in answer
    assert answer["values"]["plank"]["thickness"] == "thick"


def test_the_page_makes_the_same_files_as_the_pipeline() -> None:
    _, files = ask("make")
    assert files == made_boats.files("whinchat-3")


def test_markup_in_names_stays_text() -> None:
    name = "<script>alert(1)</script>"
    text = demo()["text"].replace("Whinchat 3, an", "x").replace("boat: Whinchat 3", f'boat: "{name[:40]}"')
    answer, _ = ask("sheets", job={"text": text.replace("sheet lead", "a<b>c")}, drawn=True)
    assert "<script" not in "".join(one["svg"] for one in answer["sheets"])
    page = with_job(b'<html><script type="application/json" id="job"></script>', {"text": f"{name}'\"", "file": "a"})
    assert page.count(b"<script") == 1
    assert job_of("p.html", page)["text"] == f"{name}'\""


@pytest.mark.parametrize("data", [b"%PDF-1.4 nothing", b"\xff\xfe\x00", b"<!doctype html><html>", b"<html>x"])
def test_a_foreign_file_is_refused_in_a_sentence(data: bytes) -> None:
    answer, _ = ask("open", {"odd.bin": data})
    assert len(answer["faults"]) == 1
    assert answer["faults"][0]["text"].startswith("odd.bin")


def test_a_boat_of_another_version_s_page_opens() -> None:
    # What is no text of the boat is passed over, what is missing is left out.
    page = with_job(
        b'<html><script type="application/json" id="job"></script>', {"text": "boat: Wren\n", "later": {"a": 1}}
    )
    job = job_of("older.html", page)
    assert job["text"] == "boat: Wren\n"
    assert "later" not in job
    assert ask("look", {}, job={"text": job["text"], "bases": job["bases"]})[0]["findings"]


def test_what_is_handed_over_opens_again() -> None:
    _, files = ask("hand over")
    answer, _ = ask("open", files)
    assert answer["job"]["text"] == demo()["text"]


def test_readings_are_added_in_their_places_one_by_one() -> None:
    readings = ask("new readings")[0]["text"]
    for job in ("square", "centreline", "shim"):
        for place in ask("fit up", job={**demo(), "readings": readings})[0]["places"][job]:
            key = place["key"] if place["single"] else f"{place['key']}.+"
            readings = ask("edit", text=readings, changes=[[key, "12.5"]])[0]["text"]
            places = ask("fit up", job={**demo(), "readings": readings})[0]["places"][job]
            assert [one["read"][-1:] for one in places if one["key"] == place["key"]] == [["12.5"]], place


def test_readings_lead_to_a_picture_and_which_end_goes_which_way() -> None:
    readings = ask("new readings")[0]["text"]
    at = "square.attempts.0"
    tapes = [[f"{at}.port", ["2608", "2608.5", "2608"]], [f"{at}.starboard", [2600, 2600.5, 2600]]]
    readings = ask("edit", text=readings, changes=tapes)[0]["text"]
    answer, _ = ask("fit up", job={**demo(), "readings": readings})
    (attempt,) = answer["attempts"]
    assert attempt["verdict"].startswith("out of tolerance")
    assert dict(attempt["moves"])["port"].endswith("forward")
    assert "<svg" in attempt["svg"]


def test_a_measured_printer_is_corrected_for() -> None:
    bars = ask("printer page", paper="A4")[0]["bars"]
    read = {bar: float(length.split()[0]) * 0.99 for bar, length in bars.items()}
    readings = {bar: f"{read[bar]:.2f}".replace(".", ",") for bar in ("across", "along")}
    profile = ask("printer set", paper="A4", name="shed", readings=readings)[0]["profile"]
    job = {**demo(), "text": put(demo()["text"], "print.printer", "shed"), "printers": {"shed": profile}}
    manifest = json.loads(ask("make", job=job)[1]["manifest.json"])
    a, b, c, d, *_ = manifest["sheets"][0]["pages"][0]["to_page"]
    assert abs(a * d - b * c) == pytest.approx(1 / 0.99**2, abs=2e-4)


def test_a_printer_s_bars_may_be_read_in_inches() -> None:
    # By hand: 7 3/32 in is 180.18125 mm, 10 1/2 and 10 17/32 in are 266.7 and 267.49375, their mean is 267.096875 mm.
    readings = {"across": '7 3/32 in 7 3/32 in  7 3/32"', "along": "10 1/2 10 17/32 in", "rising": "299.5; 298,5"}
    told = ask("printer set", paper="A4", name="shed", readings=readings)[0]["profile"]
    profile = load_profile(told, "shed.yaml")
    assert profile.readings == 7
    assert (profile.across, profile.along) == pytest.approx((180.18125 / 180, 267.096875 / 267), abs=1e-7)


def test_the_page_says_for_which_paper_its_bars_were_drawn() -> None:
    # By hand: 215.9 - 2 x 7 - 16 = 185.9 and 279.4 - 30 = 249.4 mm, less what is not whole.
    answer = ask("printer page", paper="Letter")[0]
    assert (answer["paper"], answer["bars"]["across"], answer["bars"]["along"]) == ("Letter", "185 mm", "249 mm")


def test_the_hosted_folder_has_every_part_apart() -> None:
    part = b'<script type="text/plain" data-part="a.wasm">YWJj</script>'
    page = b"<p content=\"connect-src 'none';\">" + part + b"<!--FOLDER-->"
    files = as_folder(page, "1")
    assert files["a.wasm.bin"] == b"abc"
    assert b"YWJj" not in files["index.html"]
    assert b"a.wasm.bin" in files["sw.js"]
    assert b"connect-src 'self'" in files["index.html"]


def test_what_only_type_checkers_read_is_not_packed() -> None:
    sources = {
        "a": "from b import c\nif TYPE_CHECKING:\n    import d\n", "b": "",
        "b.c": "from . import e", "b.e": "", "d": "",
        "f": "",
    }  # fmt: skip
    assert reached(sources, ["a"], ["f"]) == {"a", "b", "b.c", "b.e"}


def test_readings_of_one_side_alone_are_answered_with_what_was_typed() -> None:
    readings = "square:\n  attempts:\n    - {setting: 3, port: [2595], starboard: []}\n"
    answer, _files = ask("fit up", job=demo() | {"readings": readings})
    assert {one["severity"] for one in answer["findings"]} == {"error"}
    assert [one["read"] for one in answer["places"]["square"][:2]] == [["2595"], []]
