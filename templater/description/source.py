"""A description as it was given: bytes, a name, and how the ones it is based on are found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from templater.findings import Location


@dataclass(frozen=True, slots=True)
class Base:
    """A description that another is based on: the name it was asked for by, its file name and its bytes.

    ``whole`` is what must be handed on for it to be found by that name again, if that is not its bytes: the handover
    PDF that was named; nothing if it lies in one that was named already.
    """

    name: str
    file: str
    data: bytes
    whole: bytes | None = None


#: Finds the description that ``based_on`` names, from the place where it is named; raises DescriptionError.
Resolver = Callable[[str, Location], Base]


@dataclass(frozen=True, slots=True)
class Source:
    """A description as it was given: its bytes (UTF-8), the name findings call it by, and how others are found.

    ``handed_over`` is True if it came in a handover PDF: the printer it names is the giver's.
    """

    data: bytes
    file: str
    resolve: Resolver | None = None
    handed_over: bool = False
