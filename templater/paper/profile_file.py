"""A printer's profile as the text of its file, and back."""

from __future__ import annotations

import math
from typing import Any

from templater.findings import Finding, Location, ReadingsError, TemplaterError
from templater.paper.correction import check_correction
from templater.paper.printer import AXES, PrinterProfile
from templater.reader.compose import read_yaml

_NUMBERS = ("across", "along", "skew", "u_across", "u_along", "u_skew")


def profile_yaml(profile: PrinterProfile) -> str:
    """Return the text of a profile's file."""
    nominal = ", ".join(f"{axis}: {length:g}" for axis, length in profile.nominal)
    return f"""\
# A printer's profile, made from measured bars; measured over nominal length, u_: standard uncertainty.
printer: {_quoted(profile.name)}
paper: {_quoted(profile.paper)}
across: {profile.across:.7f}
along: {profile.along:.7f}
skew: {profile.skew:.7f}        # radians, positive if the top of the page leans to the right
u_across: {profile.u_across:.7f}
u_along: {profile.u_along:.7f}
u_skew: {profile.u_skew:.7f}
readings: {profile.readings}
nominal: {{{nominal}}}     # lengths of the bars, mm
"""


def load_profile(text: str, file: str) -> PrinterProfile:
    """Return the profile in a file's text.

    Raises:
        ReadingsError: carries every fault, each with file, line and column.
    """
    try:
        data, places = read_yaml(text, file)
    except TemplaterError as fault:
        raise ReadingsError(*fault.findings) from None
    faults: list[Finding] = []

    def wrong(key: str, what: str) -> None:
        where = places.get(key, Location(file, 1, 1))
        faults.append(Finding("T120", key, what, where))

    if not isinstance(data, dict):
        raise ReadingsError(
            Finding("T120", "", "no printer profile - measure a test page again", Location(file, 1, 1))
        )
    known = ("printer", "paper", *_NUMBERS, "readings", "nominal")
    for key in data:
        if key not in known:
            wrong(str(key), f"unknown key - allowed here: {', '.join(known)}")
    for key in ("printer", "paper"):
        if not isinstance(data.get(key), str):
            wrong(key, f"{data.get(key)} - allowed: a name")
    for key in _NUMBERS:
        value: Any = data.get(key)
        if not _is_number(value):
            wrong(key, f"{value} - allowed: a number")
        elif key in ("across", "along") and value <= 0:
            wrong(key, f"{value:g} - allowed: about 1, measured over nominal length")
        elif key.startswith("u_") and value < 0:
            wrong(key, f"{value:g} - allowed: 0 or more")
    count = data.get("readings", 0)
    if not isinstance(count, int) or isinstance(count, bool) or count < 0:
        wrong("readings", f"{count} - allowed: a whole number")
    nominal = data.get("nominal", {})
    if not isinstance(nominal, dict) or not all(k in AXES and _is_number(v) for k, v in nominal.items()):
        wrong("nominal", f"{nominal} - allowed: lengths of {', '.join(AXES)}")
    if faults:
        raise ReadingsError(*faults)
    values = {key: float(data[key]) for key in _NUMBERS}
    lengths = tuple((axis, float(nominal[axis])) for axis in AXES if axis in nominal)
    profile = PrinterProfile(data["printer"], data["paper"], **values, readings=count, nominal=lengths)
    check_correction(profile.correction())
    return profile


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
