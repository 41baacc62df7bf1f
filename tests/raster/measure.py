"""A ruler for rendered pages: where a crosshair or a line stands on a picture of the page, to a fraction of a pixel.

Nothing here knows how the page was written. Lengths are mm, origin at the page's lower left corner, Y up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pypdfium2

Point = tuple[float, float]


@dataclass(frozen=True)
class Picture:
    """A page in grey, 0 black to 255 white, row 0 at the top, with the size in mm that the file states."""

    grey: np.ndarray
    width: float
    height: float

    @property
    def pitch(self) -> Point:
        """mm from pixel to pixel, across and along; taken from the picture, since its sides are whole pixels."""
        return self.width / self.grey.shape[1], self.height / self.grey.shape[0]

    def patch(self, low: Point, high: Point) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return darkness, 0 to 1, between two corners, with the X of its columns and the Y of its rows."""
        across, along = self.pitch
        rows, columns = self.grey.shape
        first_column, last_column = max(0, math.floor(low[0] / across)), min(columns, math.ceil(high[0] / across))
        first_row = max(0, math.floor((self.height - high[1]) / along))
        last_row = min(rows, math.ceil((self.height - low[1]) / along))
        xs = (np.arange(first_column, last_column) + 0.5) * across
        ys = self.height - (np.arange(first_row, last_row) + 0.5) * along
        return 1 - self.grey[first_row:last_row, first_column:last_column] / 255, xs, ys


def render(pdf: bytes, page: int = 1, dpi: int = 600) -> Picture:
    """Render one page, counted from 1."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        sheet = document[page - 1]
        width, height = sheet.get_size()
        grey = sheet.render(scale=dpi / 72, grayscale=True).to_numpy()
        return Picture(grey.reshape(grey.shape[:2]).copy(), width / 72 * 25.4, height / 72 * 25.4)
    finally:
        document.close()


def find_cross(picture: Picture, near: Point, arm: float, *, width: float = 0.25, reach: float = 1.0) -> Point:
    """Return where the arms of an upright crosshair cross.

    Args:
        picture: the page.
        near: where it should be.
        arm: half length of its lines.
        width: of its lines; slices much darker or lighter, where a circle or a letter crosses, are passed over.
        reach: how far from ``near`` it is looked for.

    Raises:
        ValueError: if no two lines of this width are there.
    """
    span = arm - reach
    if span <= 0:
        raise ValueError(f"arms of {arm} mm are too short to be looked for within {reach} mm")
    dark, xs, ys = picture.patch((near[0] - reach, near[1] - span), (near[0] + reach, near[1] + span))
    upright = _fit(dark, xs, ys - near[1], width, f"upright arm near {near}")
    dark, xs, ys = picture.patch((near[0] - span, near[1] - reach), (near[0] + span, near[1] + reach))
    level = _fit(dark.T, ys, xs - near[0], width, f"level arm near {near}")
    # upright: X = a + b (Y - y0); level: Y = c + d (X - x0). Solve for where both hold.
    x = (upright[0] + upright[1] * (level[0] - near[1] - level[1] * near[0])) / (1 - upright[1] * level[1])
    return x, level[0] + level[1] * (x - near[0])


def find_line(picture: Picture, near: Point, axis: str, *, run: float = 1.0, reach: float = 0.6) -> float:
    """Return where a straight line stands that runs square to ``axis`` through about ``near``.

    Args:
        picture: the page.
        near: where it should be.
        axis: ``x`` for the X of an upright line, ``y`` for the Y of a level one.
        run: length of line looked at, to both sides of ``near``.
        reach: how far from ``near`` it is looked for.

    Raises:
        ValueError: if there is nothing dark.
    """
    half = (reach, run) if axis == "x" else (run, reach)
    dark, xs, ys = picture.patch((near[0] - half[0], near[1] - half[1]), (near[0] + half[0], near[1] + half[1]))
    profile, places = (dark.mean(axis=0), xs) if axis == "x" else (dark.mean(axis=1), ys)
    if profile.max(initial=0.0) < 0.3:
        raise ValueError(f"no line near {near}")
    return float((profile * places).sum() / profile.sum())


def _fit(dark: np.ndarray, places: np.ndarray, along: np.ndarray, width: float, what: str) -> tuple[float, float]:
    """Return place and slope of the line in ``dark``, whose rows are slices across it, at ``along`` = 0."""
    pitch = abs(places[1] - places[0])
    total = dark.sum(axis=1)
    kept = (total * pitch > 0.6 * width) & (total * pitch < 1.4 * width)
    if kept.sum() < 0.25 * len(kept):
        raise ValueError(f"no {what}: {kept.sum()} of {len(kept)} slices hold one line of {width} mm")
    centres = (dark[kept] * places).sum(axis=1) / total[kept]
    # A slice may hold another line of the same width: keep those within a line's width of the middle one.
    sound = np.abs(centres - np.median(centres)) < width
    slope, place = np.polyfit(along[kept][sound], centres[sound], 1)
    return float(place), float(slope)
