"""What is spoilt, how, and who judges the answer.

A description is put together from a few short parts, each of several makes, and then spoilt; the demo boats come once
in a while, for they take longer to read.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from templater.description.load import Source, starter_text
from templater.fitup.readings import starter_readings
from templater.paper.printer import profile_from_readings, profile_yaml
from templater.paper.tiles import find_paper
from templater.pipeline.checked import Options
from templater.pipeline.make import make
from templater.pipeline.share import handover
from templater.pipeline.sheets import bars_page
from templater.proof.prove import prove
from templater.share.handover import unpack
from tests.campaigns import judge, spoil
from tests.tampering.cuts import CutFiles

#: Sections of the short texts that a description needs; the others may be missing.
_NEEDED = ("boat", "post", "floor", "plank", "fixing")


@cache
def _seeds(section: str) -> tuple[str, ...]:
    """Return the short texts of a section of ``seeds.txt``."""
    _, _, after = Path(__file__).with_name("seeds.txt").read_text("utf-8").partition(f"\n## {section}\n")
    return tuple(after.partition("\n## ")[0].rstrip("\n").split("\n--\n"))


class Kind(NamedTuple):
    """Something that is spoilt: how, who judges the answer, the ending of a kept file, and its share of all texts."""

    spoil: Callable[[Random], Any]
    judged: Callable[[Any, Random], object]
    ending: str
    share: int = 0

    def read(self, data: bytes) -> Any:
        """Return what a kept file holds."""
        return data if self.ending.endswith((".pdf", ".svg", ".dxf")) else data.decode("utf-8", "surrogatepass")


@cache
def _boats() -> tuple[str, ...]:
    there = (path.read_text("utf-8") for path in sorted((judge.ROOT / "configs").glob("*.yaml")))
    return (*there, starter_text("Starter", "mm"), starter_text("Starter", "in"))


@cache
def _made() -> Mapping[str, bytes]:
    """Return the plates of the demo boat."""
    return make(
        Source((judge.ROOT / "configs/whinchat-3.yaml").read_bytes(), "boat.yaml"), Options(only=("plates",))
    ).files


@cache
def _cut() -> CutFiles:
    """Return the first part of the demo boat that a shop cuts."""
    return CutFiles.of(judge.ROOT / "configs/whinchat-3.yaml")


def _picture(data: bytes) -> str:
    """Judge a spoilt picture of a whole sheet."""
    said = functools.partial(prove, {"plates.svg": data}, _manifest(_made), whole=False, as_written=False)
    return judge.picture(lambda: said().findings, data, _made()["plates.svg"])


@cache
def _manifest(of: Callable[[], Mapping[str, bytes]]) -> dict[str, Any]:
    return dict(json.loads(of()["manifest.json"]))


@cache
def _friend() -> bytes:
    return handover(Source(judge.SMALL.encode(), "boat.yaml"))[1]


@cache
def _inside() -> dict[str, bytes]:
    return {item.name: item.data for item in unpack(_friend(), "friend.pdf").all}


@cache
def _bars() -> bytes:
    return bars_page("A4", 7.0)[0]


@cache
def _profile() -> str:
    lengths = {"across": [180.0, 180.1], "along": [267.0], "rising": [299.1], "falling": [299.0]}
    return profile_yaml(profile_from_readings("shed", find_paper("A4"), 7.0, lengths))


@cache
def _starter() -> str:
    return starter_readings(judge.demo().boat)


def _describe(rng: Random) -> str:
    """Return a description put together from parts, with some of it spoilt."""
    if rng.random() < 0.01:
        return spoil.text(rng, _boats())
    parts = [rng.choice(_seeds(section)) for section in _NEEDED]
    parts += rng.sample(_seeds("others"), rng.choice((0, 0, 1, 1, 2)))
    text, way = "\n".join(parts), rng.random()
    if way < 0.5:
        return spoil.figures(rng, text)
    if way < 0.8:
        return spoil.text(rng, (text,), 2)
    return (
        spoil.text(rng, (spoil.figures(rng, text),), 1)
        + "\n"
        + spoil.text(rng, (*_seeds(rng.choice(_NEEDED)), rng.choice(_seeds("others"))), 1)
    )


def _command(rng: Random) -> str:
    """Return a command line, one to three of its words spoilt; no word names a file outside the folder."""
    words = rng.choice(_seeds("options")).split(" | ")
    for _ in range(rng.randint(1, 3)):
        at, way = rng.randrange(1, len(words)), rng.randrange(6)
        if words[at - 1] in ("--to", "--out", "--store", "--manifest") or words[at][:3] in ("BOA", "OUT"):
            continue
        if way == 0:
            words[at] = rng.choice(spoil.ODD)
        elif way == 1:
            words[at] = words[at] + rng.choice(spoil.LETTERS)
        elif way == 2:
            words[at] = spoil.text(rng, (words[at],), 1)
        elif way == 3:
            words[at:at] = [rng.choice(("--json", "--paper", "--boat", "--setting", "--at", "--no", "-h", ""))]
        elif way == 4:
            words[at] = rng.choice(rng.choice(_seeds("options")).replace("OUT", "").replace("BOAT", "").split(" | "))
        else:
            words[at] = words[at].replace("0", rng.choice(("", "1e300", "-", "nan", "٣", "1/0", "9" * 30)))
    return "\n".join(words)


def _either(rng: Random, text: str) -> str:
    """Return a text with figures changed, or spoilt otherwise."""
    return spoil.figures(rng, text) if rng.random() < 0.5 else spoil.text(rng, (text,), 3)


def _readings(rng: Random) -> str:
    """Return readings spoilt: short ones mostly, the whole form once in a while."""
    return _either(rng, rng.choice((*_seeds("readings"), judge.SQUARED)) if rng.random() < 0.99 else _starter())


#: Texts; together they are the kind of run named ``texts``.
TEXTS = {
    "descriptions": Kind(_describe, judge.description, ".yaml", 38),
    "readings": Kind(_readings, judge.readings, ".readings.yaml", 32),
    "profiles": Kind(lambda rng: _either(rng, _profile()), judge.profile, ".printer.yaml", 12),
    "manifests": Kind(lambda rng: _either(rng, judge.plates()["manifest.json"].decode()), judge.manifest, ".json", 12),
    "records": Kind(lambda rng: _either(rng, judge.record()), judge.recorded, ".record.json", 4),
    "options": Kind(_command, judge.command, ".options", 2),
}  # fmt: skip
#: PDF files; together they are the kind of run named ``pdfs``.
PDFS = {
    "pages": Kind(lambda rng: spoil.pdf(rng, _made()["plates.pdf"], (_bars(), _friend())),
                  lambda data, _: judge.page(data, "plates.pdf", _manifest(_made), _made()["plates.pdf"]), ".pdf", 25),
    "tiles": Kind(lambda rng: spoil.pdf(rng, judge.plates()["plates.pdf"], (_made()["plates.pdf"],)),
                  lambda data, _: judge.page(data, "plates.pdf", _manifest(judge.plates), judge.plates()["plates.pdf"]),
                  ".tile.pdf", 35),
    "bars": Kind(lambda rng: spoil.pdf(rng, _bars(), (judge.plates()["plates.pdf"],)),
                 lambda data, _: judge.untrue(data, _manifest(judge.plates)), ".bars.pdf", 15),
    "handovers": Kind(lambda rng: spoil.pdf(rng, _friend(), (judge.plates()["plates.pdf"],)),
                      lambda data, _: judge.handover(data, _inside()), ".friend.pdf", 25),
}  # fmt: skip
KINDS = {
    **TEXTS, **PDFS,
    "jobs": Kind(lambda rng: spoil.text(rng, _boats()), judge.whole_job, ".job.yaml"),
    "pictures": Kind(lambda rng: spoil.data(rng, _made()["plates.svg"]), lambda data, _: _picture(data), ".svg"),
    "outlines": Kind(lambda rng: spoil.data(rng, _cut().svg),
                     lambda data, _: judge.picture(lambda: _cut().proved(_cut().dxf, data), data, _cut().svg), ".svg"),
    "dxf": Kind(lambda rng: spoil.data(rng, _cut().dxf),
                lambda data, _: judge.picture(lambda: _cut().proved(data, _cut().svg), data, _cut().dxf),
                ".dxf"),
}  # fmt: skip
