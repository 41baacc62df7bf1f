"""A printer measured and corrected for: the test page, the profile from what is read on it, the text of its file."""

import json
import math
import shlex
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Annotated

from templater.drawing.compose import told as sheet_words
from templater.drawing.marks import Anchor, Group, Mark, Pen, Text, rectangle
from templater.findings import DrawingError, Finding, ReadingsError
from templater.paper.page_frame import bar_marks
from templater.paper.placing import LARGEST, check_correction
from templater.paper.tiles import Bar, Correction, Paper, Tile, find_paper, single_page
from templater.plane.shapes import Point, middle_of
from templater.reader import values
from templater.reader.compose import compose
from templater.reader.faults import told
from templater.reader.keys import Keys, key, read
from templater.standards.typeface import text_width
from templater.units import MM, MM_PER_INCH, inch_text, parse_length, without_units

#: Standard uncertainty of one reading with a steel rule, mm, where there are no repeats. Common practice, no source.
READING = 0.2
#: To what a steel rule is read, mm: the uncertainty of a mean is no less. Common practice, no source.
READ_TO = 0.1
#: The bars of the test page, in the order in which they are measured.
AXES = ("across", "along", "rising", "falling")
#: Readings of one bar that differ by more than this are no repeats: a decimal comma was written.
_SLIP = 0.5
#: Shortest bar across or along that a page or a sheet has, mm.
_LEAST_BAR = 90.0
#: Shortest test page from a roll, mm: that of A3.
_FROM_ROLL = 420.0
#: Boxes for readings: how many for a bar; width of their names and of one, height, distance of the rows, mm.
_BOXES, _NAMES, _WIDE, _HIGH, _ROW = 3, 14.0, 17.0, 7.0, 8.5

Share = Annotated[float, values.Number(least=0.5, most=2)]
Sigma = Annotated[float, values.Number(least=0, most=1)]
BarLength = Annotated[float, values.Length(above=0)] | None
Name = Annotated[str, values.Text(80)]


class BarLengths(Keys):
    """Nominal lengths of the bars that were measured."""

    across: BarLength = key("bar across the page", None)
    along: BarLength = key("bar along the page", None)
    rising: BarLength = key("diagonal rising to the right", None)
    falling: BarLength = key("diagonal falling to the right", None)


class PrinterProfile(Keys):
    """What a printer makes of lengths, from measured bars; the keys of its file.

    ``skew`` is 0 with an uncertainty of 0 if no diagonal was measured.
    """

    printer: Name = key("the printer's name")
    paper: Name = key("the paper that the page was printed on")
    across: Share = key("measured over nominal length, across")
    along: Share = key("measured over nominal length, along")
    skew: Annotated[float, values.Number(least=-1, most=1)] = key(
        "shear of the print, radians, positive if the page's top leans to the right"
    )
    u_across: Sigma = key("standard uncertainty of across")
    u_along: Sigma = key("standard uncertainty of along")
    u_skew: Sigma = key("standard uncertainty of skew")
    readings: Annotated[int, values.Count(0, 100_000)] = key("how many readings were taken", 0)
    nominal: BarLengths = key("nominal lengths of the bars", BarLengths)

    @property
    def skew_measured(self) -> bool:
        """True if a diagonal was measured."""
        return bool(self.skew or self.u_skew)

    def correction(self) -> Correction:
        """Return what to draw so that the print is true.

        The printer makes (x, y) into (across x + skew y, along y); the correction is the inverse of that.
        """
        skew = 0.0 - self.skew / (self.across * self.along)  # no negative zero
        return Correction(self.printer, 1 / self.across, 1 / self.along, skew)


def _sides(paper: Paper) -> tuple[float, float]:
    """Return the test page's sides; a roll's is as long as it is wide, but not shorter than A3."""
    return paper.width, max(paper.width, _FROM_ROLL) if paper.height is None else paper.height


def printer_bars(paper: Paper, margin: float) -> tuple[Bar, ...]:
    """Return the longest bars, in whole mm, that the paper takes: across, along and both diagonals.

    The margin counts to 0.01 mm, as ``printer_order`` writes it. Raises DrawingError S103: there is no room for bars.
    """
    (width, height), margin = _sides(paper), round(margin, 2)
    # 4 mm from the margin, so that the ticks are printed too; the diagonals stay clear of the other bars.
    low, inset = margin + 4.0, margin + 12.0
    across, along = math.floor(width - low - inset), math.floor(height - low - inset)
    if min(across, along) < _LEAST_BAR:
        raise DrawingError(told("S103", "--paper", "bars", paper=paper.name, margin=margin, least=_LEAST_BAR))
    box = (inset + 8.0, inset + 8.0, width - low - 8.0, height - low - 8.0)
    full = math.hypot(box[2] - box[0], box[3] - box[1])
    diagonal = math.floor(full)
    u, v = middle_of(box)
    du, dv = (box[2] - box[0]) / 2 * (diagonal / full), (box[3] - box[1]) / 2 * (diagonal / full)
    return (
        Bar("across", "across", (inset, low), (inset + across, low), float(across)),
        Bar("along", "along", (low, inset), (low, inset + along), float(along)),
        Bar("rising", "diagonal", (u - du, v - dv), (u + du, v + dv), float(diagonal)),
        Bar("falling", "diagonal", (u - du, v + dv), (u + du, v - dv), float(diagonal)),
    )


def printer_order(paper: Paper, margin: float) -> tuple[str, str]:
    """Return what is typed once the page is measured, in two parts: all that its bars follow from, then the bars."""
    page = f"--paper {shlex.quote(paper.name)} --margin {without_units(MM.size(margin, 2))}"
    return f"templater printer set NAME {page}", " ".join(f"{axis}=.." for axis in AXES)


def printer_page(paper: Paper, margin: float) -> Tile:
    """Return the test page, uncorrected: bars with end ticks and nominal lengths, what to do, boxes for readings."""
    bars = printer_bars(paper, margin)
    across, along, rising, falling = bars
    u, v = middle_of((*rising.a, *rising.b))
    du, dv = (abs(rising.b[n] - rising.a[n]) / 2 for n in (0, 1))

    def label(bar: Bar, at: Point, more: str = "", size: float = 2.6, turn: int = 0) -> Text:
        text = f"{bar.id} {MM.size(bar.length, 0)} ({inch_text(bar.length, 64)}){more}"
        return Text(at, text, size, Group.BAR, Anchor.MIDDLE, turn)

    marks: list[Mark] = [
        *(line for bar in bars for line in bar_marks(bar)),
        label(across, ((across.a[0] + across.b[0]) / 2, across.a[1] + 1.2), size=3.0),
        label(along, (along.a[0] + 3.2, (along.a[1] + along.b[1]) / 2), size=3.0, turn=1),
        label(rising, (u, v - dv * 0.86), ", lower left to upper right"),
        label(falling, (u, v - dv * 0.86 + 5.0), ", upper left to lower right"),
        *(Text((u, v - dv * 0.86 - 5.0 - 4.2 * n), line, 2.4, Group.NOTE, Anchor.MIDDLE)
          for n, line in enumerate(printer_order(paper, margin))),
    ]  # fmt: skip
    lines = sheet_words("printer page", mm=MM.size(READ_TO), inch=inch_text(MM_PER_INCH / 64, 64))
    for number, line in enumerate(lines):
        size, room = 2.6 if number else 4.0, 2 * du * min(0.72, 0.88 - 4.6 * number / dv)  # between the diagonals
        fitting = max(2.2, min(size, size * room / text_width(line, size)))
        marks.append(Text((u, v + dv * 0.92 - 4.6 * number), line, fitting, Group.NOTE, Anchor.MIDDLE))
    marks.extend(_reading_boxes((u, v), du, dv))
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
            yield rectangle((x0, y0, x0 + _WIDE, y1), Pen.NARROW, Group.NOTE)


def profile_from_readings(
    name: str, paper: Paper, margin: float, readings: Mapping[str, Sequence[float]], nominal: Mapping[str, float] = {}
) -> PrinterProfile:
    """Return a printer's profile from what was measured on the test page, or on any sheet printed without correction.

    ``readings`` are those of each bar, mm; a diagonal may be missing. ``nominal`` are lengths of bars that are not
    those of the test page. Raises ReadingsError: T101, a bar is unknown or missing; T102, one is off by over 3 %.
    """
    bars = {bar.id: bar for bar in printer_bars(paper, margin)}
    lengths = {axis: bar.length for axis, bar in bars.items()} | dict(nominal)
    faults = [told("T101", axis, "unknown", known=", ".join(AXES)) for axis in readings if axis not in lengths]
    faults += [told("T101", axis, "missing") for axis in ("across", "along") if not readings.get(axis)]
    for axis, value in ((axis, value) for axis, taken in readings.items() for value in taken if axis in lengths):
        if not abs(value / lengths[axis] - 1) <= LARGEST:
            faults.append(told("T102", axis, value=value, bar=lengths[axis], percent=f"{100 * LARGEST:.0f}"))
    if faults:
        raise ReadingsError(*faults)
    means = {axis: _mean(readings[axis]) for axis in AXES if readings.get(axis)}
    across, along = ((means[axis][0] / lengths[axis], means[axis][1] / lengths[axis]) for axis in ("across", "along"))
    skew, u_skew = _skew(bars["rising"], means, across, along)
    profile = PrinterProfile(
        printer=name, paper=paper.name, across=across[0], along=along[0], skew=skew, u_across=across[1],
        u_along=along[1], u_skew=u_skew, readings=sum(len(values) for values in readings.values()),
        nominal=BarLengths(**lengths),
    )  # fmt: skip
    check_correction(profile.correction())
    return profile


def measured_profile(name: str, paper: str, margin: float, readings: Mapping[str, Sequence[str]]) -> PrinterProfile:
    """Return a printer's profile from what its bars measure; the page's margin in mm.

    ``readings`` are those of each bar (across, along, rising or diagonal, falling), as ``_reading`` takes them. Raises
    DrawingError for an unknown paper; ReadingsError T122, no length; T101 and others, what the readings or the name
    cannot be.
    """
    lengths: dict[str, list[float]] = {}
    nominal: dict[str, float] = {}
    wrong: list[Finding] = []
    for bar, written in readings.items():
        key = "rising" if bar == "diagonal" else bar
        for text in written:
            try:
                length, drawn = _reading(text)
            except ValueError:
                wrong.append(told("T122", bar, "length", text=text or "nothing"))
                continue
            lengths.setdefault(key, []).append(length)
            nominal |= {key: drawn} if drawn else {}
        if (read := lengths.get(key)) and min(read) < max(read) * _SLIP:
            wrong.append(told("T122", bar, "apart", text=",".join(written)))
    if wrong:
        raise ReadingsError(*wrong)
    profile = profile_from_readings(name, find_paper(paper, "--paper"), margin, lengths, nominal)
    try:
        load_profile(profile_yaml(profile), name)  # a name that its own file cannot hold is refused now
    except ReadingsError as fault:
        raise ReadingsError(*(one._replace(key="name", where=None) for one in fault.findings)) from None
    return profile


def _reading(text: str) -> tuple[float, float | None]:
    """Return what a bar measures and, where that stands behind a slash, as in ``98.5/100``, what was drawn, mm.

    Raises ValueError for what is neither, nor with its fraction a length that a bar may have.
    """
    for slash in (place for place, letter in enumerate(text) if letter == "/"):
        with suppress(ValueError):
            measured, drawn = (_bar(part) for part in (text[:slash], text[slash + 1 :]))
            if drawn >= _LEAST_BAR and _SLIP <= measured / drawn <= 1 / _SLIP:
                return measured, drawn
    length = _bar(text)
    if "/" in text and length < _LEAST_BAR:
        raise ValueError
    return length, None


def _bar(text: str) -> float:
    """Return a length in mm; a mixed number without a unit is in inches where in mm it were too short for a bar."""
    length, before = parse_length(text), text.partition("/")[0].strip()
    return parse_length(text, "in") if "/" in text and not before.isdigit() and length < _LEAST_BAR else length


def _mean(readings: Sequence[float]) -> tuple[float, float]:
    """Return mean and its standard uncertainty: from the spread of repeats (JCGM 100:2008, 4.2.3), else the default.

    Repeats that are all alike only say that the rule cannot be read any finer.
    """
    mean = math.fsum(readings) / len(readings)
    if len(readings) < 2:
        return mean, READING
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in readings) / (len(readings) - 1))
    return mean, max(spread / math.sqrt(len(readings)), READ_TO)


def _skew(
    bar: Bar, means: Mapping[str, tuple[float, float]], across: tuple[float, float], along: tuple[float, float]
) -> tuple[float, float]:
    """Return the shear and its uncertainty.

    The square of a printed bar (w, h) is (across w + skew h)^2 + (along h)^2. Of two diagonals (w, h) and (w, -h) the
    difference of the squares is 4 across w skew h; of one, the skew is what is missing in its square.
    """
    w, h = (abs(bar.b[axis] - bar.a[axis]) for axis in (0, 1))
    sx, sy = across[0], along[0]
    if "rising" in means and "falling" in means:
        (rising, u_rising), (falling, u_falling) = means["rising"], means["falling"]
        skew = (rising**2 - falling**2) / (4 * sx * w * h)
        return skew, math.hypot(rising * u_rising, falling * u_falling) / (2 * sx * w * h)
    for axis, sign in (("rising", 1.0), ("falling", -1.0)):
        if axis in means:
            length, u_length = means[axis]
            level = math.sqrt(length**2 - (sy * h) ** 2)
            parts = (length * u_length / level, w * across[1], sy * h * h * along[1] / level)
            return sign * (level - sx * w) / h, math.hypot(*parts) / h
    return 0.0, 0.0


def profile_yaml(profile: PrinterProfile) -> str:
    """Return the text of a profile's file."""
    nominal = ", ".join(f"{axis}: {length:g}" for axis, length in profile.nominal.items() if length is not None)
    return f"""\
# A printer's profile, made from measured bars; measured over nominal length, u_: standard uncertainty.
printer: {json.dumps(profile.printer, ensure_ascii=False)}
paper: {json.dumps(profile.paper, ensure_ascii=False)}
across: {profile.across:.7f}
along: {profile.along:.7f}
skew: {profile.skew:.7f}        # radians, positive if the top of the page leans to the right
u_across: {profile.u_across:.7f}
u_along: {profile.u_along:.7f}
u_skew: {profile.u_skew:.7f}
readings: {profile.readings}
nominal: {{{nominal}}}     # lengths of the bars in millimetres
"""


def load_profile(text: str, file: str) -> PrinterProfile:
    """Return the profile in a file's text; raises ReadingsError with every fault, each with file, line and column."""
    profile = read(PrinterProfile, compose(text, file))
    check_correction(profile.correction())
    return profile
