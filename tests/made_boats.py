"""The demo boats' files, made once for all the tests that only look at them or spoil copies of them."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from templater.cli.files import read_source
from templater.paper.tiles import Correction, TiledSheet
from templater.pipeline.checked import Checked, Options, check
from templater.pipeline.make import Made, make
from templater.pipeline.share import handover
from templater.pipeline.sheets import drawings_of, tile_sheets

CONFIGS = Path(__file__).parent.parent / "configs"
TRUE_PRINTER = Correction()


@cache
def made(name: str) -> Made:
    return make(read_source(CONFIGS / f"{name}.yaml"))


def files(name: str) -> Mapping[str, bytes]:
    return made(name).files


def written(name: str, folder: Path) -> Path:
    """Write a boat's files as the shell does (a test of the shell holds that), into a folder of its name."""
    target = folder / name
    target.mkdir(parents=True)
    for file, data in files(name).items():
        (target / file).write_bytes(data)
    return target


@cache
def tiled(
    name: str, paper: str | None = None, correction: Correction = TRUE_PRINTER
) -> tuple[Checked, tuple[TiledSheet, ...]]:
    """Return a boat and its sheets on a paper: that of its description if none is said."""
    checked = check(read_source(CONFIGS / f"{name}.yaml"), Options(paper=paper))
    return checked, tile_sheets(checked, drawings_of(checked), correction)


@cache
def handed_over(name: str) -> bytes:
    return handover(read_source(CONFIGS / f"{name}.yaml"))[1]
