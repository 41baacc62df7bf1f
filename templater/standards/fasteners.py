"""Threads by name, metric and inch: the nominal diameter that every other table hangs on.

Sources: ISO 261:1998 (metric, coarse pitch), ASME B1.1-2019 (unified coarse thread, from memory).
"""

from __future__ import annotations

from templater.units import MM_PER_INCH

#: Thread name to nominal diameter, mm.
NOMINAL_DIAMETERS: dict[str, float] = {
    "M3": 3.0,
    "M4": 4.0,
    "M5": 5.0,
    "M6": 6.0,
    "M8": 8.0,
    "M10": 10.0,
    "M12": 12.0,
    "1/4 in": MM_PER_INCH / 4,
    "5/16 in": MM_PER_INCH * 5 / 16,
    "3/8 in": MM_PER_INCH * 3 / 8,
}


def nominal_diameter(thread: str) -> float:
    """Return a thread's nominal diameter, mm.

    Args:
        thread: ``M8``, ``5/16 in``; the case of letters, blanks and a ``"`` for ``in`` do not matter.

    Raises:
        KeyError: if the thread is unknown; the message lists the known names.

    >>> nominal_diameter("M8")
    8.0
    """
    return NOMINAL_DIAMETERS[thread_name(thread)]


def thread_name(thread: str) -> str:
    """Return the name of a thread as the tables spell it: ``m8`` is ``M8``, ``5/16"`` is ``5/16 in``.

    Raises:
        KeyError: if the thread is unknown; the message lists the known names.
    """
    packed = "".join(thread.split()).lower().replace('"', "in")
    for name in NOMINAL_DIAMETERS:
        if "".join(name.split()).lower() in (packed, f"{packed}in"):
            return name
    raise KeyError(f"{thread}: not a known thread; known are {', '.join(NOMINAL_DIAMETERS)}")
