"""Yardstick: the same scene by matplotlib, marks gathered in collections, one figure for each page."""

from __future__ import annotations

import io

import matplotlib as mpl

mpl.use("pdf")
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.collections import EllipseCollection, LineCollection
from matplotlib.figure import Figure

from tests.benchmarks import scene

POINTS = 72 / 25.4


def write(count: int) -> bytes:
    stream = io.BytesIO()
    with PdfPages(stream) as document:
        for page in scene.pages(count):
            figure = Figure(figsize=(scene.PAPER[0] / 25.4, scene.PAPER[1] / 25.4))
            axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
            axes.set_axis_off()
            axes.set_xlim(0, scene.PAPER[0])
            axes.set_ylim(0, scene.PAPER[1])
            places = [(hole.at[0] - page.corner[0], hole.at[1] - page.corner[1]) for hole in page.holes]
            arm = scene.ARM
            lines = [
                ((x, y), (x + dx, y + dy)) for x, y in places for dx, dy in ((-arm, 0), (arm, 0), (0, -arm), (0, arm))
            ]
            lines += [((x - 4, y), (x + 4, y)) for x, y in scene.CORNERS]
            lines += [((x, y - 4), (x, y + 4)) for x, y in scene.CORNERS]
            axes.add_collection(LineCollection([*lines, *scene.BARS], colors="black", linewidths=0.25 * POINTS))
            sizes = [scene.DIAMETER] * len(places)
            axes.add_collection(
                EllipseCollection(
                    sizes, sizes, [0.0] * len(places), units="xy", offsets=places or [(0.0, 0.0)],
                    offset_transform=axes.transData, facecolors="none", edgecolors="black", linewidths=0.5 * POINTS,
                )
            )  # fmt: skip
            for (x, y), hole in zip(places, page.holes, strict=True):
                axes.text(x + 3, y + 5, hole.name, fontsize=scene.TYPE * POINTS, clip_on=False)
            axes.text(105, 9, page.name, fontsize=scene.TYPE * POINTS, ha="center")
            document.savefig(figure)
    return stream.getvalue()
