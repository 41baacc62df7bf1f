"""The cut files of a run, and their part of the manifest."""

from __future__ import annotations

from typing import Any

from templater.pipeline.run import Checked

DXF, SVG = "plates.dxf", "plates-cut.svg"


def cut_files(checked: Checked) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the cut files by name and what the manifest says of them; nothing for a boat without plates.

    Raises:
        DrawingError: S194, a part is larger than the metal sheet that the description names.
    """
    plate = checked.boat.description.fixing.plate
    if plate is None:
        return {}, {}
    from templater.drawing.cut_parts import draw_cutting
    from templater.proof.cutting import cutting_dict
    from templater.writers.cut_dxf import write_cut_dxf
    from templater.writers.cut_svg import write_cut_svg

    cutting = draw_cutting(checked.boat, plate, checked.sha256[:8])
    return {DXF: write_cut_dxf(cutting), SVG: write_cut_svg(cutting)}, {"cutting": cutting_dict(cutting, DXF, SVG)}
