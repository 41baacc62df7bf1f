"""A printer measured: the page with its bars, and the profile that the readings make."""

from collections.abc import Mapping, Sequence

from templater import __version__
from templater.findings import Finding, ReadingsError
from templater.paper.printer import (
    PrinterProfile,
    load_profile,
    printer_bars,
    printer_page,
    profile_from_readings,
    profile_yaml,
)
from templater.paper.tiles import Bar, TitleData, find_paper
from templater.units import parse_length

#: Readings of one bar that differ by more than this are no repeats: a decimal comma was written.
_SLIP = 0.5
#: Bars of sheets are no shorter, mm.
_LEAST_BAR = 90.0


def bars_page(paper: str, margin: float) -> tuple[bytes, tuple[Bar, ...]]:
    """Return the page whose bars are measured, as PDF, and its bars; the margin in mm.

    Raises DrawingError if the paper is unknown or too small.
    """
    from templater.writers.pdf import write_pdf

    found = find_paper(paper, "--paper")
    title = TitleData("Printer test page", "", "", "", "", "", "", "", __version__)
    data = write_pdf([printer_page(found, margin)], name="printer-page", title=title)
    return data, printer_bars(found, margin)


def measured_profile(name: str, paper: str, margin: float, readings: Mapping[str, Sequence[str]]) -> PrinterProfile:
    """Return a printer's profile from what its bars measure; the page's margin in mm.

    ``readings`` are those of each bar (across, along, rising or diagonal, falling): lengths as written, or measured
    over drawn for a bar of a sheet, as ``98.5/100``. Raises DrawingError for an unknown paper; ReadingsError T122, no
    length; T101 and others, what the readings or the name cannot be.
    """
    lengths: dict[str, list[float]] = {}
    nominal: dict[str, float] = {}
    wrong: list[Finding] = []
    for bar, written in readings.items():
        key = "rising" if bar == "diagonal" else bar
        for text in written:
            measured, _, drawn = text.rpartition("/")
            on_sheet = bool(measured) and _is_bar(drawn)  # a fraction's lower number is no bar's length
            try:
                lengths.setdefault(key, []).append(parse_length(measured if on_sheet else text))
            except ValueError as fault:
                allowed = "allowed: 199.4, or 98.5/100 for a bar of a sheet"
                sentence = f"{text or 'nothing'}: not a length - {allowed}; {fault}"
                wrong.append(Finding("T122", bar, sentence))
                continue
            if on_sheet:
                nominal[key] = parse_length(drawn)
        if min(lengths[key], default=0.0) < max(lengths[key], default=0.0) * _SLIP:
            sentence = f"{','.join(written)}: readings too far apart - write decimals with a point, as 179.1"
            wrong.append(Finding("T122", bar, sentence))
    if wrong:
        raise ReadingsError(*wrong)
    profile = profile_from_readings(name, find_paper(paper, "--paper"), margin, lengths, nominal)
    try:
        load_profile(profile_yaml(profile), name)  # a name that its own file cannot hold is refused now
    except ReadingsError as fault:
        raise ReadingsError(*(one._replace(key="name", where=None) for one in fault.findings)) from None
    return profile


def _is_bar(text: str) -> bool:
    """Return whether a text is a length that a sheet's bar may have."""
    try:
        return parse_length(text) >= _LEAST_BAR
    except ValueError:
        return False
