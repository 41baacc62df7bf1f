"""A commented readings file to start from."""

from __future__ import annotations

import json
from pathlib import Path

from templater.boat.solved import Boat
from templater.description.editing import filled
from templater.fitup.square import DEFAULT_TAPE_SD
from templater.units import MM, MM_PER_INCH, mm_text


def starter_readings(boat: Boat) -> str:
    """Return a readings file for this boat: all sections with comments, the figures still to be filled in."""
    description = boat.description
    inch = description.units == "in"

    def figure(value: float) -> str:
        """A bare number in the description's units."""
        return (f"{value / MM_PER_INCH:.3f}".rstrip("0").rstrip(".") or "0") if inch else mm_text(value)

    def told(value: float) -> str:
        """A figure of a comment, in inches as the tape shows it too."""
        return f"{figure(value)} ({description.figures.inches(value)})" if inch else figure(value)

    setting = boat.fitted
    tapes = "\n".join(
        f"  #   setting {item.setting}: {told(item.slant)} from the steering post's axis, "
        f"{told(item.slant_from_post)} from its surface"
        for item in boat.tape
    )
    tape_sd = description.accuracy.tape or DEFAULT_TAPE_SD
    # Whole inches are quicker found along the hull than thousandths.
    whole = MM_PER_INCH if inch else 0.1
    rows = "\n".join(
        f"    - {{at: {figure(round(setting.station * part / whole) * whole)}, port: [], starboard: []}}"
        for part in (0.2, 0.4, 0.6, 0.8, 1.0)
    )
    lengths = ("1/32 in", "1/32 in", "1/16 in") if inch else tuple(map(MM.size, (0.5, 1.0, 2.0)))
    return filled(
        Path(__file__).with_name("starter.txt"),
        **dict(zip(("read_to", "tolerance", "least"), lengths, strict=True)),
        boat=json.dumps(description.boat, ensure_ascii=False),
        units=description.units,
        tape=f"{tape_sd:g}",
        rows=rows,
        tapes=tapes,
        tolerance_mm=f", {MM.size(0.8)}" if inch else "",
        setting=str(setting.number),
        at=figure(-description.fixing.half_spread),
    )
