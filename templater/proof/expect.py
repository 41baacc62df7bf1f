"""The manifest to what every page must show, in frozen types."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from templater.findings import Finding, ProofError
from templater.plane.shapes import Affine, Box, Point

#: Beyond its circle a cross runs this far at most, mm; a mark this far inside the window shows whole.
_REACH = 4.5
#: How far the printer correction named may differ from the one in ``to_page``.
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class ExpectedHole:
    """A hole of a sheet, in the sheet frame."""

    id: str
    at: Point
    diameter: float
    kind: str

    @property
    def screw(self) -> bool:
        """True for the plates' screws of either set."""
        return self.kind.endswith("screw")

    @property
    def square(self) -> bool:
        """True for a mark that is a square."""
        return self.kind == "second screw"


@dataclass(frozen=True, slots=True)
class ExpectedRegistration:
    """A registration mark, in the sheet frame, and the tiles that show it."""

    id: str
    at: Point
    tiles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ExpectedBar:
    """A calibration bar, in page mm before correction."""

    id: str
    axis: str
    a: Point
    b: Point
    length: float


@dataclass(frozen=True, slots=True)
class ExpectedPage:
    """One tile: its page in the file, what of the sheet it shows and how that is placed on it."""

    file: str
    page: int
    tile: str
    paper: Point
    window: Box
    to_page: Affine
    correction: Affine
    bars: tuple[ExpectedBar, ...]
    holes: tuple[str, ...]

    def shows(self, at: Point, reach: float = 0.0) -> bool:
        """True if a mark that reaches so far from ``at`` lies wholly in the window."""
        u0, v0, u1, v1 = self.window
        return u0 + reach <= at[0] <= u1 - reach and v0 + reach <= at[1] <= v1 - reach

    def shows_whole(self, hole: ExpectedHole) -> bool:
        """True if the hole's whole mark surely lies in the window."""
        return self.shows(hole.at, hole.diameter / 2 + _REACH)

    def bar_ends(self, bar: ExpectedBar) -> tuple[Point, Point]:
        """Return the bar's ends in page mm, correction included."""
        return self.correction.apply(bar.a), self.correction.apply(bar.b)


@dataclass(frozen=True, slots=True)
class ExpectedSheet:
    """One sheet, its pages and how many of them are in each file."""

    name: str
    title: str
    svg: str
    holes: tuple[ExpectedHole, ...]
    registrations: tuple[ExpectedRegistration, ...]
    pages: tuple[ExpectedPage, ...]
    pages_in: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Expected:
    """All that a run must show."""

    version: str
    boat: str
    revision: str
    sha: str
    sheets: tuple[ExpectedSheet, ...]

    @property
    def stamp(self) -> str:
        """The first eight digits of the description's SHA-256, as every page carries them."""
        return self.sha[:8]

    def identity(self, sheet: ExpectedSheet, page: ExpectedPage) -> Identity:
        """Return what the page says it is."""
        return Identity(self.version, sheet.name, page.tile, page.page, sheet.pages_in[page.file], self.stamp)


@dataclass(frozen=True, slots=True)
class Identity:
    """What a page says it is."""

    version: str
    sheet: str
    tile: str
    page: int
    of: int
    stamp: str


def read_manifest(manifest: Mapping[str, Any]) -> Expected:
    """Return what the pages of a run must show.

    Raises:
        ProofError: Q101, the manifest lacks a key or has a value of the wrong kind; the key is named.
    """
    where = _Place(manifest, "manifest")
    sheets = tuple(_sheet(sheet) for sheet in where.items("sheets"))
    if not sheets:
        raise where.fault("sheets", "is empty")
    names = [sheet.name for sheet in sheets]
    if len(set(names)) < len(names):
        raise where.fault("sheets", "has two sheets of one name")
    sha = where.text("description_sha256")
    if len(sha) != 64 or set(sha) - set("0123456789abcdef"):
        raise where.fault("description_sha256", "is not a SHA-256 in 64 small hexadecimal digits")
    return Expected(where.text("version"), where.text("boat"), where.text("revision"), sha, sheets)


def _sheet(sheet: _Place) -> ExpectedSheet:
    holes = tuple(
        ExpectedHole(h.text("id"), (h.number("x"), h.number("y")), h.number("diameter", above=0.0), h.text("kind"))
        for h in sheet.items("holes")
    )
    registrations = tuple(
        ExpectedRegistration(r.text("id"), (r.number("x"), r.number("y")), r.texts("tiles"))
        for r in sheet.items("registration")
    )
    pages = tuple(_page(page) for page in sheet.items("pages"))
    known = {hole.id for hole in holes}
    if len(known) < len(holes):
        raise sheet.fault("holes", "has two holes of one id")
    tiles = {page.tile for page in pages}
    if len(tiles) < len(pages):
        raise sheet.fault("pages", "has two pages of one tile")
    for page in pages:
        strange = [hole for hole in page.holes if hole not in known]
        if strange:
            raise sheet.fault("pages", f"tile {page.tile} lists a hole that the sheet has not: {strange[0]}")
    for mark in registrations:
        missing = [tile for tile in mark.tiles if tile not in tiles]
        if missing:
            raise sheet.fault("registration", f"{mark.id} is on a tile that the sheet has not: {missing[0]}")
    pages_in = Counter(page.file for page in pages)
    return ExpectedSheet(
        sheet.text("name"), sheet.text("title"), sheet.text("svg"), holes, registrations, pages, pages_in
    )


def _page(page: _Place) -> ExpectedPage:
    width, height = page.numbers("paper", 2)
    u0, v0, u1, v1 = page.numbers("window", 4)
    if width <= 0 or height <= 0:
        raise page.fault("paper", "is not above 0")
    if u0 >= u1 or v0 >= v1:
        raise page.fault("window", "is empty")
    to_page = Affine(*page.numbers("to_page", 6))
    correction = page.inner("correction")
    named = (correction.number("across"), 0.0, correction.number("skew"), correction.number("along"))
    about = _about_the_middle(to_page, named, (width, height))
    if about is None:
        raise page.fault("to_page", "is no quarter turn, shift and the correction named beside it")
    bars = []
    for bar in page.items("bars"):
        ends = (bar.numbers("a", 2), bar.numbers("b", 2))
        length = bar.number("length", above=0.0)
        if abs(math.dist(*ends) - length) > 1e-3:
            raise bar.fault("length", f"is {length} and not the distance between its ends, {math.dist(*ends):.4f}")
        bars.append(ExpectedBar(bar.text("id"), bar.text("axis"), _point(ends[0]), _point(ends[1]), length))
    return ExpectedPage(
        page.text("file"),
        int(page.number("page", above=0.0)),
        page.text("tile"),
        (width, height),
        (u0, v0, u1, v1),
        to_page,
        about,
        tuple(bars),
        page.texts("holes"),
    )


def _about_the_middle(
    to_page: Affine, named: tuple[float, float, float, float], paper: Point
) -> Affine | None:
    """Return the printer correction as a map about the page's middle, if ``to_page`` is it after a quarter turn.

    The correction is X = across x + skew y, Y = along y, or with the shear taken before the scale; both are accepted,
    and the one that ``to_page`` really holds is returned.
    """
    across, _, skew, along = named
    for cos, sin in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        a, b, c, d = to_page[:4]
        # The linear part without its quarter turn.
        p, q, r, s = a * cos - c * sin, b * cos - d * sin, a * sin + c * cos, b * sin + d * cos
        shears = (skew, skew * across, skew * along)
        if max(abs(p - across), abs(q), abs(s - along), min(abs(r - shear) for shear in shears)) < _SAME:
            x, y = paper[0] / 2, paper[1] / 2
            return Affine(p, q, r, s, x - p * x - r * y, y - q * x - s * y)
    return None


def _point(values: tuple[float, ...]) -> Point:
    return values[0], values[1]


class _Place:
    """A mapping of the manifest with the way to it, so that a fault names the key."""

    def __init__(self, value: object, way: str) -> None:
        self._way = way
        if not isinstance(value, Mapping):
            raise ProofError(Finding("Q101", way, "is not a mapping of keys to values"))
        self._value = value

    def fault(self, key: str, what: str) -> ProofError:
        return ProofError(Finding("Q101", f"{self._way}.{key}", what))

    def _get(self, key: str) -> Any:
        if key not in self._value:
            raise self.fault(key, "is missing")
        return self._value[key]

    def text(self, key: str) -> str:
        value = self._get(key)
        if not isinstance(value, str):
            raise self.fault(key, f"is not a text: {value!r}")
        return value

    def number(self, key: str, above: float = -math.inf) -> float:
        value = self._get(key)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise self.fault(key, f"is not a number: {value!r}")
        if value <= above:
            raise self.fault(key, f"is {value}, allowed: above {above:g}")
        return float(value)

    def numbers(self, key: str, count: int) -> tuple[float, ...]:
        value = self._get(key)
        if not isinstance(value, list | tuple) or len(value) != count:
            raise self.fault(key, f"is not a list of {count} numbers")
        return tuple(_Place({"": part}, f"{self._way}.{key}").number("") for part in value)

    def texts(self, key: str) -> tuple[str, ...]:
        value = self._get(key)
        if not isinstance(value, list | tuple) or not all(isinstance(part, str) for part in value):
            raise self.fault(key, "is not a list of texts")
        return tuple(value)

    def inner(self, key: str) -> _Place:
        return _Place(self._get(key), f"{self._way}.{key}")

    def items(self, key: str) -> list[_Place]:
        value = self._get(key)
        if not isinstance(value, list | tuple):
            raise self.fault(key, "is not a list")
        return [_Place(part, f"{self._way}.{key}[{number}]") for number, part in enumerate(value)]


