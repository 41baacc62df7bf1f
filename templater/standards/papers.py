"""Papers: name, width and height in mm as the sheet stands upright; rolls by their width."""

from __future__ import annotations

from templater.units import MM_PER_INCH

#: Source: ISO 216:2007, table 1, A series (trimmed sizes).
_ISO_A = {"A4": (210, 297), "A3": (297, 420), "A2": (420, 594), "A1": (594, 841), "A0": (841, 1189)}
#: Inches. Letter, legal and tabloid are office sizes; C, D and E the drawing sizes of ASME Y14.1 (that the set is that
#: standard's is from memory).
_INCHES = {
    "Letter": ("8.5", "11"),
    "Legal": ("8.5", "14"),
    "Tabloid": ("11", "17"),
    "C": ("17", "22"),
    "D": ("22", "34"),
    "E": ("34", "44"),
}

#: Cut sheets.
SHEETS: dict[str, tuple[float, float]] = {
    **{name: (float(width), float(height)) for name, (width, height) in _ISO_A.items()},
    **{name: (float(width) * MM_PER_INCH, float(height) * MM_PER_INCH) for name, (width, height) in _INCHES.items()},
}

#: Rolls by name. 297 to 841 mm are the ISO A widths; 24 in and 36 in are the usual inch rolls (stock widths from
#: memory), some sold as 610 and 914 mm: the narrower figure is the safe one.
ROLLS: dict[str, float] = {
    "297 roll": 297.0,
    "420 roll": 420.0,
    "594 roll": 594.0,
    "841 roll": 841.0,
    "24 in roll": 24 * MM_PER_INCH,
    "36 in roll": 36 * MM_PER_INCH,
}

#: Longest side of a page, mm: 14 400 default units of 1/72 inch. Source: ISO 32000-1:2008, annex C (from memory), a
#: limit of common viewers rather than of the file format.
LONGEST_PAGE = 14400 * MM_PER_INCH / 72
