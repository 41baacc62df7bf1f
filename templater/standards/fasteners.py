"""Threads by name, metric and inch: nominal diameter, pitch and clearance hole.

Sources: ISO 261:1998, ISO 273:1979, ASME B1.1-2019, ASME B18.2.8-1999; see ``data/threads.csv`` and
``data/clearance_holes.csv`` for what confirms them.
"""

from __future__ import annotations

from templater.standards.tables import Row, read_table, unknown


def thread_names() -> tuple[str, ...]:
    """Return the names of all known threads, metric first."""
    return tuple(row.text("thread") for row in read_table("threads"))


def thread_name(thread: str) -> str:
    """Return the name of a thread as the tables spell it: ``m8`` is ``M8``, ``5/16"`` is ``5/16 in``.

    Raises:
        KeyError: if the thread is unknown; the message lists the known names.
    """
    packed = "".join(thread.split()).lower().replace('"', "in")
    for name in thread_names():
        if "".join(name.split()).lower() in (packed, f"{packed}in"):
            return name
    raise unknown("thread", thread, thread_names())


def nominal_diameter(thread: str) -> float:
    """Return a thread's nominal diameter, mm.

    Args:
        thread: ``M8``, ``5/16 in``; the case of letters, blanks and a ``"`` for ``in`` do not matter.

    Raises:
        KeyError: if the thread is unknown; the message lists the known names.

    >>> nominal_diameter("M8")
    8.0
    """
    return thread_row("threads", thread).length("nominal")


def thread_pitch(thread: str) -> float:
    """Return a thread's coarse pitch, mm.

    Raises:
        KeyError: if the thread is unknown; the message lists the known names.

    >>> thread_pitch("M8")
    1.25
    """
    return thread_row("threads", thread).length("pitch")


def clearance_hole(thread: str, series: str = "medium") -> float:
    """Return the diameter of a bolt's clearance hole, mm.

    Args:
        thread: as in ``nominal_diameter``.
        series: ``fine``, ``medium`` or ``coarse`` (ISO 273); an inch bolt's close, normal and loose.

    Raises:
        KeyError: if the thread or the series is unknown; the message lists the known names.

    >>> clearance_hole("M12")
    13.5
    """
    if series not in ("fine", "medium", "coarse"):
        raise unknown("series", series, ("fine", "medium", "coarse"))
    return thread_row("clearance_holes", thread).length(series)


def thread_row(table: str, thread: str) -> Row:
    """Return a thread's row of a table that has one row for each thread.

    Raises:
        KeyError: if the thread is unknown; the message lists the known names.
    """
    name = thread_name(thread)
    return next(row for row in read_table(table) if row.text("thread") == name)
