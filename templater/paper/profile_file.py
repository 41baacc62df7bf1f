"""A printer's profile as the text of its file, and back."""

from __future__ import annotations

import json
from typing import Annotated

from templater.paper.correction import check_correction
from templater.paper.printer import AXES, PrinterProfile
from templater.reader.keys import Keys, key, read_text
from templater.reader.values import Count, Length, Number, Text

Share = Annotated[float, Number(above=0, most=2)]
Sigma = Annotated[float, Number(least=0, most=1)]
BarLength = Annotated[float, Length(above=0)] | None
Name = Annotated[str, Text(80)]


class BarLengths(Keys):
    """Nominal lengths of the bars that were measured."""

    across: BarLength = key("bar across the page", None)
    along: BarLength = key("bar along the page", None)
    rising: BarLength = key("diagonal rising to the right", None)
    falling: BarLength = key("diagonal falling to the right", None)


class ProfileKeys(Keys):
    """The file of a printer's profile."""

    printer: Name = key("the printer's name")
    paper: Name = key("the paper that the page was printed on")
    across: Share = key("measured over nominal length, across")
    along: Share = key("measured over nominal length, along")
    skew: Annotated[float, Number(least=-1, most=1)] = key("radians, positive if the page's top leans to the right")
    u_across: Sigma = key("standard uncertainty of across")
    u_along: Sigma = key("standard uncertainty of along")
    u_skew: Sigma = key("standard uncertainty of skew")
    readings: Annotated[int, Count(0, 100_000)] = key("how many readings were taken", 0)
    nominal: BarLengths = key("nominal lengths of the bars", BarLengths)


def profile_yaml(profile: PrinterProfile) -> str:
    """Return the text of a profile's file."""
    nominal = ", ".join(f"{axis}: {length:g}" for axis, length in profile.nominal)
    return f"""\
# A printer's profile, made from measured bars; measured over nominal length, u_: standard uncertainty.
printer: {json.dumps(profile.name, ensure_ascii=False)}
paper: {json.dumps(profile.paper, ensure_ascii=False)}
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
    read, _places = read_text(ProfileKeys, text, file)
    lengths = tuple((axis, length) for axis in AXES if (length := getattr(read.nominal, axis)) is not None)
    profile = PrinterProfile(
        read.printer, read.paper, read.across, read.along, read.skew, read.u_across, read.u_along, read.u_skew,
        read.readings, lengths,
    )  # fmt: skip
    check_correction(profile.correction())
    return profile
