"""No output ever says nan or inf: made for boats whose figures run out of their tables or into a straight line."""

import json
import re
from pathlib import Path

import made_boats
import pytest

from templater.description.load import Source
from templater.pipeline.make import make

WORD = re.compile(rb"(?<![A-Za-z])(?:-?nan|-?inf(?:inity)?)(?![A-Za-z])", re.IGNORECASE)


@pytest.mark.parametrize(
    "changes",
    [
        (),
        ("length: 16", "length: 45"),                      # no thread in the floor
        ("length: 16", "length: 60", "diameter: 5\n", "diameter: 7\n"),
        ("crown: 38", "crown: 0"),                         # a flat plank's radius is infinite
        ("head: hexagon", "head: cross recess"),           # no key's width
        ("thread: M8", "thread: M3"),                      # no bolt at all
    ],
)  # fmt: skip
def test_no_output_says_nan_or_inf(configs: Path, changes: tuple[str, ...]) -> None:
    text = (configs / "whinchat-3.yaml").read_text("utf-8")
    for before, after in zip(changes[::2], changes[1::2], strict=True):
        assert before in text
        text = text.replace(before, after)
    made = make(Source(text.encode(), "boat.yaml")) if changes else made_boats.made("whinchat-3")
    told = " ".join(finding.text for finding in made.checked.findings).encode()
    for name, data in {"findings": told, **made.files}.items():
        if not name.endswith(".pdf"):
            assert not WORD.search(data), (name, WORD.findall(data))
    json.loads(made.files["manifest.json"], parse_constant=pytest.fail)
