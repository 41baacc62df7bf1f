"""The cut files of a run or of a fit-up, and their part of the manifest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from templater.pipeline.checked import Checked

if TYPE_CHECKING:
    from templater.drawing.cut import CutJob
    from templater.drawing.shims import ShimPlan

DXF, SVG = "plates.dxf", "plates-cut.svg"
SHIM_DXF, SHIM_SVG = "shims.dxf", "shims-cut.svg"


def cut_files(checked: Checked) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the cut files by name and what the manifest says of them; nothing for a boat without plates.

    Raises:
        DrawingError: S194, a part is larger than the metal sheet that the description names.
    """
    plate = checked.boat.description.fixing.plate
    if plate is None:
        return {}, {}
    from templater.drawing.cut_parts import draw_cutting

    return _written(draw_cutting(checked.boat, plate, checked.sha256[:8]), DXF, SVG)


def shim_files(checked: Checked, plans: tuple[ShimPlan, ...]) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the cut files of a fit-up's shims, as ``cut_files`` does; nothing without shims."""
    if not plans:
        return {}, {}
    from templater.drawing.cut_shims import draw_shim_cutting

    boat = checked.boat.description
    job = draw_shim_cutting(boat.boat, plans, boat.cutting, checked.sha256[:8], boat.place("cutting.sheet"))
    return _written(job, SHIM_DXF, SHIM_SVG)


def _written(job: CutJob, dxf: str, svg: str) -> tuple[dict[str, bytes], dict[str, Any]]:
    from templater.proof.cutting import cutting_dict
    from templater.writers.cut_dxf import write_cut_dxf
    from templater.writers.cut_svg import write_cut_svg

    return {dxf: write_cut_dxf(job), svg: write_cut_svg(job)}, {"cutting": cutting_dict(job, dxf, svg)}
