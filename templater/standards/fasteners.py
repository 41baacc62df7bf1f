"""Threads, bolts, nuts and washers, metric and inch; all in mm.

Sources and editions: the heads of ``data/threads.csv``, ``bolts.csv``, ``bolt_lengths.csv``, ``nuts.csv`` and
``washers.csv``. Figures that no source confirmed are named in ``memory``. Where a thread is asked for, the case of
letters, blanks and a ``"`` for ``in`` do not matter; an unknown one raises a KeyError that lists those known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple, TypeVar

from templater.standards.tables import read_table, unknown

BOLT_HEADS = ("hexagon", "socket", "countersunk", "cross recess")
NUT_KINDS = ("plain", "thin", "locking", "thin locking")
WASHER_KINDS = ("normal", "large", "extra large")


class Thread(NamedTuple):
    """A thread: nominal diameter, coarse pitch, and the clearance holes of its bolt (an inch bolt's close to loose)."""

    thread: str
    nominal: float
    pitch: float
    fine: float
    medium: float
    coarse: float


class Bolt(NamedTuple):
    """A bolt of one standard, head and thread."""

    standard: str
    head: str
    threaded: str  # ``full``, up to the head, or ``part``
    thread: str
    across: float  # width across flats of a hexagon, or diameter of a round head
    height: float  # of the head
    key: float | None  # width across flats of the tool; None for a cross recess
    shortest: float
    longest: float
    memory: frozenset[str]

    @property
    def full(self) -> bool:
        """Whether it is threaded up to the head."""
        return self.threaded == "full"

    @property
    def widest(self) -> float:
        """Across sharp corners, flats / cos 30 degrees, which no made hexagon exceeds; or the diameter."""
        return self.across / math.cos(math.radians(30)) if self.head == "hexagon" else self.across

    @property
    def countersunk(self) -> bool:
        """Whether the head lies inside the length."""
        return self.head in ("countersunk", "cross recess")

    @property
    def lengths(self) -> tuple[float, ...]:
        """Preferred lengths that are usually stocked, ascending."""
        low, high = self.shortest - 1e-6, self.longest + 1e-6
        return tuple(length for length in _lengths()[self.standard].lengths if low <= length <= high)

    def next_length(self, needed: float) -> float | None:
        """Return the shortest stocked length that is not below ``needed``; None if none is long enough."""
        return next((length for length in self.lengths if length >= needed - 1e-6), None)


class Nut(NamedTuple):
    """A hexagon nut: width across flats, greatest height."""

    standard: str
    kind: str
    thread: str
    across: float
    height: float
    memory: frozenset[str]


class Washer(NamedTuple):
    """A plain washer; ``thinnest`` and ``thickest`` are the limits of its thickness."""

    standard: str
    kind: str
    thread: str
    inner: float
    outer: float
    thickness: float
    thinnest: float
    thickest: float
    memory: frozenset[str]


class Lengths(NamedTuple):
    """The lengths that a standard prefers, ascending, and what its threaded part is reckoned by."""

    standard: str
    lengths: tuple[float, ...]
    times: float | None
    plus: tuple[float, ...]
    up_to: tuple[float, ...]


@cache
def _threads() -> dict[str, Thread]:
    return {row.thread: row for row in read_table("threads", Thread)}


@cache
def _lengths() -> dict[str, Lengths]:
    return {row.standard: row for row in read_table("bolt_lengths", Lengths)}


def thread_names() -> tuple[str, ...]:
    """Return the names of all known threads, metric first."""
    return tuple(_threads())


@cache
def thread_name(thread: str) -> str:
    """Return the name of a thread as the tables spell it: ``m8`` is ``M8``, ``5/16"`` is ``5/16 in``."""
    packed = "".join(thread.split()).lower().replace('"', "in")
    for name in thread_names():
        if "".join(name.split()).lower() in (packed, f"{packed}in"):
            return name
    raise unknown("thread", thread, thread_names())


def _thread(thread: str) -> Thread:
    return _threads()[thread_name(thread)]


def nominal_diameter(thread: str) -> float:
    """Return a thread's nominal diameter.

    >>> nominal_diameter("m8")
    8.0
    """
    return _thread(thread).nominal


def thread_pitch(thread: str) -> float:
    """Return a thread's coarse pitch."""
    return _thread(thread).pitch


def clearance_hole(thread: str, series: str = "medium") -> float:
    """Return the diameter of a bolt's clearance hole, ``fine``, ``medium`` or ``coarse``.

    >>> clearance_hole("M12")
    13.5
    """
    return float(getattr(_thread(thread), series))


def hole_standard(thread: str) -> str:
    """Return the standard that a thread's clearance holes are from."""
    return "ASME B18.2.8" if thread_name(thread).endswith("in") else "ISO 273"


def find_bolts(head: str, thread: str) -> tuple[Bolt, ...]:
    """Return the bolts of a head and thread, in the order of their table: partly threaded first.

    Raises KeyError: if the two are not made together; the message lists what is known.
    """
    rows = [row for row in read_table("bolts", Bolt) if row.head == head]
    _of_thread(rows, thread, f"{head} bolt")
    return tuple(row for row in rows if row.thread == thread_name(thread))


def find_nut(kind: str, thread: str) -> Nut:
    """Return the nut of a kind and thread; KeyError as for bolts."""
    return _of_thread([row for row in read_table("nuts", Nut) if row.kind == kind], thread, f"{kind} nut")


def find_washer(kind: str, thread: str) -> Washer:
    """Return the washer of a kind and thread; KeyError as for bolts."""
    return _of_thread([row for row in read_table("washers", Washer) if row.kind == kind], thread, f"{kind} washer")


_Part = TypeVar("_Part", Bolt, Nut, Washer)


def _of_thread(rows: Sequence[_Part], thread: str, what: str) -> _Part:
    name = thread_name(thread)
    for row in rows:
        if row.thread == name:
            return row
    raise unknown(what, name, [row.thread for row in rows])


def thread_length(bolt: Bolt, length: float) -> float:
    """Return the length b of the threaded part of a bolt of this length; never more than the length.

    >>> [thread_length(find_bolts("hexagon", "M8")[0], length) for length in (60, 150, 240)]
    [22.0, 28.0, 41.0]
    """
    if bolt.full:
        return length
    row = _lengths()[bolt.standard]
    plus = row.plus[sum(length > bound for bound in row.up_to)]
    return min((row.times or 0.0) * nominal_diameter(bolt.thread) + plus, length)
