"""What distances on the assembled paper may be off by."""

import math
from functools import cache

import made_boats
import pytest

from templater.accuracy.errors import Source, Sources, allowed_error, default_sources
from templater.paper.joints import assembly
from templater.paper.tiles import TiledSheet
from templater.pipeline.checked import Checked


@cache
def sheets() -> tuple[Checked, dict[str, TiledSheet]]:
    checked, tiled = made_boats.tiled("whinchat-3")
    return checked, {sheet.drawing.name: sheet for sheet in tiled}


def only(sources: Sources, **sigmas: float) -> Sources:
    """Return the sources with all but the named ones at nothing."""
    return Sources(
        tuple(
            Source(s.name, sigmas.get(s.name.replace(" ", "_").replace("'", ""), 0.0), s.unit, s.origin)
            for s in sources.items
        )
    )


def test_scale_alone_allows_twice_its_share_of_the_distance() -> None:
    # By hand: 430 mm at 0.001 mm/mm is 0.43 mm, twice that 0.86 mm. Coverage factor 2: JCGM 100:2008, 6.3.3.
    checked, tiled = sheets()
    sources = only(default_sources(checked.boat), printer_scale=0.001)
    assert allowed_error(tiled["plank"], sources, "KP", "KS") == pytest.approx(0.86, abs=1e-4)  # along the arc 430.009


def test_each_seam_between_counts_once() -> None:
    # By hand: from P2 to S2 the floor crosses two seams of 0.2 mm each: 2 x 0.2 x sqrt 2 = 0.566 mm.
    checked, tiled = sheets()
    sources = only(default_sources(checked.boat), seam_shift=0.2)
    assert allowed_error(tiled["floor"], sources, "P2", "S2") == pytest.approx(0.4 * math.sqrt(2), abs=1e-9)
    assert allowed_error(tiled["floor"], sources, "P1", "P3") == 0.0


def test_reading_the_tape_counts_everywhere() -> None:
    checked, tiled = sheets()
    sources = only(default_sources(checked.boat), tape_reading=0.5)
    assert allowed_error(tiled["floor"], sources, "P1", "P3") == pytest.approx(1.0)


def test_four_to_six_checks_of_every_assembled_sheet_are_on_the_job_sheet() -> None:
    checked, tiled = sheets()
    page = (
        made_boats.files("whinchat-3")["job-sheet.html"]
        .decode()
        .replace("</th>\n", "</th>")
        .replace("</td>\n", "</td>")
    )
    for name, least in (("floor", 4), ("plank", 3)):
        checks = assembly(tiled[name])[1]
        assert len(checks) == least if least == 3 else 4 <= len(checks) <= 6  # one hole, two marks: three pairs
        for one in checks:
            allowed = allowed_error(tiled[name], default_sources(checked.boat), one.a, one.b)
            row = f"{one.a} to {one.b}</th><td>{one.distance:.1f}</td><td>{math.ceil(allowed * 10) / 10:.1f}</td>"
            assert row in page
