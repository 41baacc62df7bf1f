"""Bolts, nuts and washers: the dimensions that a stack of parts is reckoned from, all in mm.

Sources and editions: the heads of ``data/bolts.csv``, ``bolt_lengths.csv``, ``nuts.csv`` and ``washers.csv``. Figures
that no source confirmed are named in ``memory``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.standards.fasteners import nominal_diameter, thread_name
from templater.standards.tables import Row, read_table, unknown
from templater.units import MM_PER_INCH

BOLT_HEADS = ("hexagon", "socket", "countersunk", "cross recess")
NUT_KINDS = ("plain", "thin", "locking", "thin locking")
WASHER_KINDS = ("normal", "large", "extra large")


class BoltType(NamedTuple):
    """A bolt of one standard, head and thread.

    Attributes:
        full: threaded up to the head.
        across: width across flats of a hexagon, or diameter of a round head.
        widest: across sharp corners, flats / cos 30 degrees, which no made hexagon exceeds; or the diameter.
        height: of the head; a countersunk head lies inside the length.
        key: width across flats of the tool; ``nan`` for a cross recess.
        lengths: preferred lengths that are usually stocked, ascending.
        memory: names of the figures from memory.
    """

    standard: str
    head: str
    thread: str
    full: bool
    across: float
    widest: float
    height: float
    key: float
    lengths: tuple[float, ...]
    memory: frozenset[str]

    @property
    def countersunk(self) -> bool:
        """Whether the head lies inside the length."""
        return self.head in ("countersunk", "cross recess")

    def next_length(self, needed: float) -> float:
        """Return the shortest stocked length that is not below ``needed``, mm.

        Raises:
            KeyError: if none is long enough; the message gives the longest.
        """
        for length in self.lengths:
            if length >= needed - 1e-6:
                return length
        raise KeyError(f"{needed:.1f} mm: {self.standard} {self.thread} is stocked up to {self.lengths[-1]:.1f} mm")


class Nut(NamedTuple):
    """A hexagon nut: width across flats, greatest height, mm."""

    standard: str
    kind: str
    thread: str
    across: float
    height: float
    memory: frozenset[str]


class Washer(NamedTuple):
    """A plain washer, mm; ``thinnest`` and ``thickest`` are the limits of its thickness."""

    standard: str
    kind: str
    thread: str
    inner: float
    outer: float
    thickness: float
    thinnest: float
    thickest: float
    memory: frozenset[str]


def find_bolt(head: str, thread: str, *, full: bool = False) -> BoltType:
    """Return the bolt of a head and thread.

    Args:
        head: one of ``BOLT_HEADS``.
        thread: as in ``nominal_diameter``.
        full: the bolt threaded up to the head, where the head is made both ways.

    Raises:
        KeyError: if head or thread is unknown or the two are not made together; the message lists what is known.
    """
    if head not in BOLT_HEADS:
        raise unknown("bolt head", head, BOLT_HEADS)
    wanted = "full" if full else "part"
    rows = [row for row in read_table("bolts") if row.text("head") == head and row.text("threaded") == wanted]
    row = _thread_of(rows, thread, f"{head} bolt")
    low, high = row.length("shortest"), row.length("longest")
    across = row.length("across")
    return BoltType(
        standard=row.text("standard"),
        head=head,
        thread=row.text("thread"),
        full=full,
        across=across,
        widest=across / math.cos(math.radians(30)) if head == "hexagon" else across,
        height=row.length("height"),
        key=row.length("key"),
        lengths=tuple(length for length in _lengths(row.text("standard")) if low - 1e-6 <= length <= high + 1e-6),
        memory=row.memory,
    )


def thread_length(bolt: BoltType, length: float) -> float:
    """Return the length b of the threaded part of a bolt of this length, mm.

    Source: ISO 888:2012 (2 d + 6 up to 125 mm, 2 d + 12 up to 200 mm, 2 d + 25 above) for ISO 4014; 2 d + 12 at every
    length for ISO 4762 (confirmed by a dataset) and ISO 10642 (from memory); 38 mm for ISO 7046-1, 2 d + 1/4 in up to
    6 in for ASME B18.2.1 and 2 d + 1/2 in for ASME B18.3 (from memory). Never more than the length.
    """
    d = nominal_diameter(bolt.thread)
    if bolt.full:
        b = length
    elif bolt.standard == "ISO 4014":
        b = iso_888_thread_length(d, length)
    elif bolt.standard == "ISO 7046-1":
        b = 38.0
    elif bolt.standard == "ASME B18.2.1":
        b = 2 * d + MM_PER_INCH / (4 if length <= 6 * MM_PER_INCH else 2)
    elif bolt.standard == "ASME B18.3":
        b = 2 * d + MM_PER_INCH / 2
    else:
        b = 2 * d + 12
    return min(b, length)


def iso_888_thread_length(diameter: float, length: float) -> float:
    """Return the thread length b of a partly threaded bolt, mm. Source: ISO 888:2012.

    >>> iso_888_thread_length(8, 60), iso_888_thread_length(8, 150), iso_888_thread_length(8, 240)
    (22, 28, 41)
    """
    if length <= 125:
        return 2 * diameter + 6
    return 2 * diameter + (12 if length <= 200 else 25)


def find_nut(kind: str, thread: str) -> Nut:
    """Return the nut of a kind and thread.

    Raises:
        KeyError: if either is unknown; the message lists what is known.
    """
    if kind not in NUT_KINDS:
        raise unknown("nut", kind, NUT_KINDS)
    row = _thread_of([row for row in read_table("nuts") if row.text("kind") == kind], thread, f"{kind} nut")
    return Nut(
        row.text("standard"), kind, row.text("thread"),
        row.length("across"), row.length("height"), row.memory,
    )  # fmt: skip


def find_washer(kind: str, thread: str) -> Washer:
    """Return the washer of a kind and thread.

    Raises:
        KeyError: if either is unknown; the message lists what is known.
    """
    if kind not in WASHER_KINDS:
        raise unknown("washer", kind, WASHER_KINDS)
    row = _thread_of([row for row in read_table("washers") if row.text("kind") == kind], thread, f"{kind} washer")
    return Washer(
        row.text("standard"), kind, row.text("thread"), row.length("inner"), row.length("outer"),
        row.length("thickness"), row.length("thinnest"), row.length("thickest"), row.memory,
    )  # fmt: skip


def _thread_of(rows: list[Row], thread: str, what: str) -> Row:
    """Return the row of a thread; KeyError lists the threads that the rows have."""
    name = thread_name(thread)
    for row in rows:
        if row.text("thread") == name:
            return row
    raise unknown(what, name, [row.text("thread") for row in rows])


def _lengths(standard: str) -> tuple[float, ...]:
    """Return a standard's preferred lengths, mm."""
    return next(row for row in read_table("bolt_lengths") if row.text("standard") == standard).lengths("lengths")
