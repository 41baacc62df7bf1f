"""What is spoilt, how, and who judges the answer."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from templater.description.editing import starter_text
from templater.description.load import Source
from templater.fitup.starter import starter_readings
from templater.paper.printer import profile_from_readings
from templater.paper.tiles import find_paper
from templater.pipeline.checked import Options
from templater.pipeline.make import Made, make
from templater.pipeline.share import handover
from tests.campaigns import judge
from tests.campaigns.spoil import spoilt, spoilt_bytes

CONFIGS = Path(__file__).parents[2] / "configs"
BOATS = (
    *(path.read_text("utf-8") for path in sorted(CONFIGS.glob("*.yaml"))),
    starter_text("Starter", "mm"),
    starter_text("Starter", "in"),
)
READINGS = (
    starter_readings(judge.BOAT.boat),
    "square:\n  setting: 3\n  first_bolt: port\n  port: [2595, 2595.5]\n  starboard: [2595, 2594]\n"
    "  off_centre: {port: 215, starboard: 216}\n  further: {to: [400, 250], port: [2000], starboard: [2001]}\n",
    "centreline:\n  post_offset: 6\n  stations:\n    - {at: 400, port: 199, starboard: 201}\n"
    "    - {at: 800, port: [248, 249], starboard: 252}\n    - {at: 1600, port: 296, starboard: 304}\n",
    "shim:\n  least: 1\n  seat: {length: 60, width: 80}\n  crown_gap:\n    - {at: 0, gap: 38}\n"
    "  tilt: {port: [0.9, 1], starboard: [0]}\n",
)


class Kind(NamedTuple):
    """Something that is spoilt: how, who judges the answer, the ending of a kept file, and whether it is bytes."""

    spoil: Callable[[Random], Any]
    judged: Callable[[Any], object]
    ending: str
    binary: bool = False


@cache
def made() -> Made:
    """Return the demo boat's files."""
    return make(Source((CONFIGS / "whinchat-3.yaml").read_bytes(), "boat.yaml"), Options(only=("plates",)))


@cache
def manifest() -> dict[str, Any]:
    """Return the manifest of these files."""
    return dict(json.loads(made().files["manifest.json"]))


@cache
def friend() -> bytes:
    """Return a hand-over PDF."""
    return handover(Source((CONFIGS / "whinchat-3.yaml").read_bytes(), "boat.yaml"))[1]


def _profile() -> str:
    from templater.paper.printer import profile_yaml

    lengths = {"across": [180.0, 180.1], "along": [267.0], "rising": [299.1], "falling": [299.0]}
    return profile_yaml(profile_from_readings("shed", find_paper("A4"), 7.0, lengths))


KINDS = {
    "descriptions": Kind(lambda rng: spoilt(rng, BOATS), judge.description, ".yaml"),
    "jobs": Kind(lambda rng: spoilt(rng, BOATS), judge.whole_job, ".job.yaml"),
    "readings": Kind(lambda rng: spoilt(rng, READINGS), judge.readings, ".readings.yaml"),
    "profiles": Kind(lambda rng: spoilt(rng, (_profile(),)), judge.profile, ".printer.yaml"),
    "manifests": Kind(
        lambda rng: spoilt(rng, (made().files["manifest.json"].decode(),)),
        lambda text: judge.manifest(text, {"plates.pdf": made().files["plates.pdf"]}), ".json",
    ),
    "pages": Kind(
        lambda rng: spoilt_bytes(rng, made().files["plates.pdf"]),
        lambda data: judge.page(data, "plates.pdf", manifest(), made().files["plates.pdf"]), ".pdf", True,
    ),
    "pictures": Kind(
        lambda rng: spoilt_bytes(rng, made().files["plates.svg"]),
        lambda data: judge.page(data, "plates.svg", manifest(), b""), ".svg", True,
    ),
    "handovers": Kind(lambda rng: spoilt_bytes(rng, friend()), judge.handover, ".friend.pdf", True),
}  # fmt: skip


def attack(kind: Kind, count: int, number: int) -> tuple[int, tuple[Any, BaseException] | None]:
    """Try up to ``count`` spoilt things; return how many were, and the first failure, made small, if there is one."""
    tried = 0
    worst: list[tuple[Any, BaseException]] = []

    def judged(value: Any) -> None:
        nonlocal tried
        tried += 1
        try:
            kind.judged(value)
        except BaseException as fault:
            worst[:] = [(value, fault)]
            raise

    quiet = settings(
        max_examples=count, database=None, deadline=None, suppress_health_check=list(HealthCheck),
        phases=(Phase.generate, Phase.shrink), print_blob=False,
    )  # fmt: skip
    try:
        seed(number)(quiet(given(st.randoms(use_true_random=False).map(kind.spoil))(judged)))()
    except KeyboardInterrupt:
        raise
    except BaseException:
        return tried, worst[0]
    return tried, None
