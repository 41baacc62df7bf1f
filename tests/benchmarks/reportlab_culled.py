"""Yardstick: the same scene by reportlab's own drawing calls, marks culled for each page by the grid index."""

from __future__ import annotations

import io

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from tests.benchmarks import scene

MM = 72 / 25.4


def write(count: int) -> bytes:
    rl_config.useA85 = 0  # the faster of its two ways
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(scene.PAPER[0] * MM, scene.PAPER[1] * MM), invariant=1, pageCompression=1)
    for page in scene.pages(count):
        canvas.setFont("Helvetica", scene.TYPE * MM)
        for hole in page.holes:
            x, y = (hole.at[0] - page.corner[0]) * MM, (hole.at[1] - page.corner[1]) * MM
            arm = scene.ARM * MM
            canvas.setLineWidth(0.25 * MM)
            for dx, dy in ((-arm, 0), (arm, 0), (0, -arm), (0, arm)):
                canvas.line(x, y, x + dx, y + dy)
            canvas.setLineWidth(0.5 * MM)
            canvas.circle(x, y, scene.DIAMETER / 2 * MM)
            canvas.drawString(x + 3 * MM, y + 5 * MM, hole.name)
        canvas.setLineWidth(0.25 * MM)
        for a, b in scene.BARS:
            canvas.line(a[0] * MM, a[1] * MM, b[0] * MM, b[1] * MM)
        for cx, cy in scene.CORNERS:
            canvas.line((cx - 4) * MM, cy * MM, (cx + 4) * MM, cy * MM)
            canvas.line(cx * MM, (cy - 4) * MM, cx * MM, (cy + 4) * MM)
        canvas.drawCentredString(105 * MM, 9 * MM, page.name)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()
