"""Threads, bolts, nuts and washers, metric and inch; all in mm.

Sources and editions: the heads of ``data/threads.csv``, ``bolts.csv``, ``bolt_lengths.csv``, ``nuts.csv`` and
``washers.csv``. Figures that no source confirmed are named in ``memory``. Where a thread is asked for, the case of
letters, blanks and a ``"`` for ``in`` do not matter; an unknown one raises a KeyError that lists those known.
"""

import math
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

    @property
    def holes_from(self) -> str:
        """The standard of its clearance holes."""
        return "ASME B18.2.8" if self.thread.endswith("in") else "ISO 273"


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
        return tuple(length for length in _lengths(self.standard).lengths if low <= length <= high)

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


def thread_names() -> tuple[str, ...]:
    """Return the names of all known threads, metric first."""
    return tuple(row.thread for row in read_table("threads", Thread))


@cache
def find_thread(thread: str) -> Thread:
    """Return a thread by its name.

    >>> find_thread('5/16"').thread, find_thread("m12").medium
    ('5/16 in', 13.5)
    """
    packed = "".join(thread.split()).lower().replace('"', "in")
    for row in read_table("threads", Thread):
        if "".join(row.thread.split()).lower() in (packed, f"{packed}in"):
            return row
    raise unknown("thread", thread, thread_names())


def _lengths(standard: str) -> Lengths:
    return next(row for row in read_table("bolt_lengths", Lengths) if row.standard == standard)


_Part = TypeVar("_Part", Bolt, Nut, Washer)


def find_parts(record: type[_Part], kind: str, thread: str) -> list[_Part]:
    """Return the bolts of a head and thread, partly threaded first, or the nuts or washers of a kind and thread.

    Raises KeyError: if the two are not made together; the message lists what is known.
    """
    what, name = record.__name__.lower(), find_thread(thread).thread
    rows = [row for row in read_table(f"{what}s", record) if row[1] == kind]
    if found := [row for row in rows if row.thread == name]:
        return found
    raise unknown(f"{kind} {what}", name, [row.thread for row in rows])


def thread_length(bolt: Bolt, length: float) -> float:
    """Return the length b of the threaded part of a bolt of this length; never more than the length.

    >>> [thread_length(find_parts(Bolt, "hexagon", "M8")[0], length) for length in (60, 150, 240)]
    [22.0, 28.0, 41.0]
    """
    if bolt.full:
        return length
    row = _lengths(bolt.standard)
    plus = row.plus[sum(length > bound for bound in row.up_to)]
    return min((row.times or 0.0) * find_thread(bolt.thread).nominal + plus, length)
