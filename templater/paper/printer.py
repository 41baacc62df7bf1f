"""Finding a printer's correction: the test page, and from what is measured to a profile."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from templater.drawing.marks import Anchor, Group, Mark, Pen, Polyline, Text
from templater.findings import Finding, ReadingsError
from templater.paper.correction import LARGEST, check_correction
from templater.paper.page_frame import bar_marks
from templater.paper.tiles import Bar, Correction, Paper, Tile, single_page
from templater.plane.shapes import Point
from templater.standards.typeface import text_width
from templater.units import MM, MM_PER_INCH, inch_text

#: Standard uncertainty of one reading with a steel rule, mm, where there are no repeats. Common practice, no source.
READING = 0.2
#: To what a steel rule is read, mm: the uncertainty of a mean is no less. Common practice, no source.
READ_TO = 0.1
#: The bars of the test page, in the order in which they are measured.
AXES = ("across", "along", "rising", "falling")
#: Shortest test page from a roll, mm: that of A3.
_FROM_ROLL = 420.0
#: Boxes for readings: how many for a bar; width of their names and of one, height, distance of the rows, mm.
_BOXES, _NAMES, _WIDE, _HIGH, _ROW = 3, 14.0, 17.0, 7.0, 8.5


class PrinterProfile(NamedTuple):
    """What a printer makes of lengths, from measured bars.

    ``across`` and ``along`` are measured over nominal length, ``skew`` is the shear of the print in radians, positive
    if the top of the page leans to the right. ``u_`` values are standard uncertainties. ``skew`` is 0 with an
    uncertainty of 0 if no diagonal was measured. ``nominal`` are the bars' lengths by axis, mm.
    """

    name: str
    paper: str
    across: float
    along: float
    skew: float
    u_across: float
    u_along: float
    u_skew: float
    readings: int
    nominal: tuple[tuple[str, float], ...]

    @property
    def skew_measured(self) -> bool:
        """True if a diagonal was measured."""
        return bool(self.skew or self.u_skew)

    def correction(self) -> Correction:
        """Return what to draw so that the print is true.

        The printer makes (x, y) into (across x + skew y, along y); the correction is the inverse of that.
        """
        skew = 0.0 - self.skew / (self.across * self.along)  # no negative zero
        return Correction(self.name, 1 / self.across, 1 / self.along, skew)


def _sides(paper: Paper) -> tuple[float, float]:
    """Return the test page's sides; a roll's is as long as it is wide, but not shorter than A3."""
    return paper.width, max(paper.width, _FROM_ROLL) if paper.height is None else paper.height


def printer_bars(paper: Paper, margin: float) -> tuple[Bar, ...]:
    """Return the longest bars, in whole mm, that the paper takes: across, along and both diagonals."""
    width, height = _sides(paper)
    # 4 mm from the margin, so that the ticks are printed too; the diagonals stay clear of the other bars.
    low, inset = margin + 4.0, margin + 12.0
    across, along = math.floor(width - low - inset), math.floor(height - low - inset)
    box = (inset + 8.0, inset + 8.0, width - low - 8.0, height - low - 8.0)
    diagonal = math.hypot(box[2] - box[0], box[3] - box[1])
    scale = math.floor(diagonal) / diagonal
    u, v = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    du, dv = (box[2] - box[0]) / 2 * scale, (box[3] - box[1]) / 2 * scale
    return (
        Bar("across", "across", (inset, low), (inset + across, low), float(across)),
        Bar("along", "along", (low, inset), (low, inset + along), float(along)),
        Bar("rising", "diagonal", (u - du, v - dv), (u + du, v + dv), float(math.floor(diagonal))),
        Bar("falling", "diagonal", (u - du, v + dv), (u + du, v - dv), float(math.floor(diagonal))),
    )


def printer_page(paper: Paper, margin: float) -> Tile:
    """Return the test page, uncorrected: bars with end ticks and nominal lengths, what to do, boxes for readings."""
    bars = printer_bars(paper, margin)
    across, along, rising, falling = bars
    marks: list[Mark] = [line for bar in bars for line in bar_marks(bar)]
    at = ((across.a[0] + across.b[0]) / 2, across.a[1] + 1.2)
    marks.append(Text(at, _label(across), 3.0, Group.BAR, Anchor.MIDDLE))
    at = (along.a[0] + 3.2, (along.a[1] + along.b[1]) / 2)
    marks.append(Text(at, _label(along), 3.0, Group.BAR, Anchor.MIDDLE, turn=1))
    middle = ((rising.a[0] + rising.b[0]) / 2, (rising.a[1] + rising.b[1]) / 2)
    du, dv = abs(rising.b[0] - rising.a[0]) / 2, abs(rising.b[1] - rising.a[1]) / 2
    for number, (bar, way) in enumerate(
        ((rising, "lower left to upper right"), (falling, "upper left to lower right"))
    ):
        at = (middle[0], middle[1] - dv * 0.86 + 5.0 * number)
        marks.append(Text(at, f"{_label(bar)}, {way}", 2.6, Group.BAR, Anchor.MIDDLE))
    lines = (
        "Printer test page",
        "Print at actual size (100 %), on the paper to be used.",
        "Let the paper lie for an hour.",
        f"Measure each line from tick to tick with a steel rule, to {MM.size(READ_TO)}",
        f"or {inch_text(MM_PER_INCH / 64, 64)}, three times or more, and write every reading down.",
    )
    top = middle[1] + dv * 0.92
    for number, line in enumerate(lines):
        size = 4.0 if number == 0 else 2.6
        size = max(2.2, min(size, size * 2 * du * 0.72 / text_width(line, size)))
        marks.append(Text((middle[0], top - 4.6 * number), line, size, Group.NOTE, Anchor.MIDDLE))
    marks.extend(_reading_boxes(middle, du, dv))
    return single_page(_sides(paper), tuple(marks), bars)


def _reading_boxes(middle: Point, du: float, dv: float) -> Iterator[Mark]:
    """Yield a row of boxes for each bar's readings, left of the middle between the diagonals: as many as go there."""
    high = _ROW * len(AXES)
    count = next((n for n in (_BOXES, 2) if (du - 2.0 - _NAMES - n * _WIDE) * dv / du > high / 2 + 1.0), 1)
    left, top = middle[0] - du + 2.0, middle[1] + high / 2
    for row, name in enumerate(AXES):
        y0, y1 = top - _ROW * row - _HIGH, top - _ROW * row
        yield Text((left, y0 + _HIGH / 2 - 0.9), name, 2.6, Group.NOTE)
        for x0 in (left + _NAMES + n * _WIDE for n in range(count)):
            corners = ((x0, y0), (x0 + _WIDE, y0), (x0 + _WIDE, y1), (x0, y1))
            yield Polyline(corners, closed=True, pen=Pen.NARROW, group=Group.NOTE)


def _label(bar: Bar) -> str:
    return f"{bar.id} {MM.size(bar.length, 0)} ({inch_text(bar.length, 64)})"


def profile_from_readings(
    name: str,
    paper: Paper,
    margin: float,
    readings: Mapping[str, Sequence[float]],
    nominal: Mapping[str, float] | None = None,
    *,
    reading: float = READING,
) -> PrinterProfile:
    """Return a printer's profile from what was measured on the test page, or on any sheet printed without correction.

    Args:
        name: of the profile.
        paper: that the page was printed on.
        margin: of the test page, mm.
        readings: bar (``across``, ``along``, ``rising``, ``falling``) to its readings, mm; a diagonal may be missing.
        nominal: lengths of bars that are not those of the test page, mm: those across and along of a sheet.
        reading: standard uncertainty of one reading where there are no repeats, mm.

    Raises:
        ReadingsError: T101, a bar is unknown or missing; T102, a reading is off by more than 3 per cent.
    """
    bars = {bar.id: bar for bar in printer_bars(paper, margin)}
    lengths = {key: bar.length for key, bar in bars.items()} | dict(nominal or {})
    faults = [
        Finding("T101", key, f"no such bar on the test page - allowed: {', '.join(AXES)}")
        for key in readings
        if key not in lengths
    ]
    faults += [
        Finding("T101", key, "not measured - both across and along are needed")
        for key in ("across", "along")
        if not readings.get(key)
    ]
    for key, value in ((key, value) for key, values in readings.items() for value in values if key in lengths):
        if not abs(value / lengths[key] - 1) <= LARGEST:
            text = (
                f"{MM.size(value, 2)}: the bar is {MM.size(lengths[key])}, allowed is within {100 * LARGEST:.0f} % of "
                "it - misread, or the print was scaled to fit"
            )
            faults.append(Finding("T102", key, text))
    if faults:
        raise ReadingsError(*faults)
    means = {key: _mean(readings[key], reading) for key in AXES if readings.get(key)}
    across, along = ((means[key][0] / lengths[key], means[key][1] / lengths[key]) for key in ("across", "along"))
    skew, u_skew = _skew(bars, means, across, along)
    profile = PrinterProfile(
        name, paper.name, across[0], along[0], skew, across[1], along[1], u_skew,
        sum(len(values) for values in readings.values()), tuple(lengths.items()),
    )  # fmt: skip
    check_correction(profile.correction())
    return profile


def _mean(values: Sequence[float], reading: float) -> tuple[float, float]:
    """Return mean and its standard uncertainty: from the spread of repeats (JCGM 100:2008, 4.2.3), else the default.

    Repeats that are all alike only say that the rule cannot be read any finer.
    """
    mean = math.fsum(values) / len(values)
    if len(values) < 2:
        return mean, reading
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))
    return mean, max(spread / math.sqrt(len(values)), READ_TO)


def _skew(
    bars: Mapping[str, Bar],
    means: Mapping[str, tuple[float, float]],
    across: tuple[float, float],
    along: tuple[float, float],
) -> tuple[float, float]:
    """Return the shear and its uncertainty.

    A bar (w, h) is printed as (across w + skew h, along h), so its square is (across w + skew h)^2 + (along h)^2. Of
    two diagonals (w, h) and (w, -h) the difference of the squares is 4 across w skew h; of one, the skew is what is
    missing in its square.
    """
    w, h = (abs(bars["rising"].b[axis] - bars["rising"].a[axis]) for axis in (0, 1))
    sx, sy = across[0], along[0]
    if "rising" in means and "falling" in means:
        (rising, u_rising), (falling, u_falling) = means["rising"], means["falling"]
        skew = (rising**2 - falling**2) / (4 * sx * w * h)
        return skew, math.hypot(rising * u_rising, falling * u_falling) / (2 * sx * w * h)
    for key, sign in (("rising", 1.0), ("falling", -1.0)):
        if key in means:
            length, u_length = means[key]
            level = math.sqrt(length**2 - (sy * h) ** 2)
            skew = sign * (level - sx * w) / h
            parts = (length * u_length / level, w * across[1], sy * h * h * along[1] / level)
            return skew, math.hypot(*parts) / h
    return 0.0, 0.0
