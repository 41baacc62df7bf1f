"""The manifest to what every page must show, in frozen types."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from templater.findings import Finding, ProofError
from templater.plane.shapes import Affine, Point
from templater.proof.marks import CURVE, LINE, Mark, mean
from templater.proof.match import LIMIT
from templater.proof.wanted import wanted_marks

#: How far the printer correction named may differ from the one in ``to_page``.
_SAME = 1e-6
#: No length of a sheet or page reaches this, mm.
_MOST = 1e6


class ExpectedHole(NamedTuple):
    """A hole or registration mark of a sheet, in the sheet frame; ``names`` are what its marks may be called."""

    names: tuple[str, ...]
    at: Point
    diameter: float | None


class ExpectedBar(NamedTuple):
    """A calibration bar, in page mm before correction."""

    id: str
    a: Point
    b: Point


class ExpectedPage(NamedTuple):
    """One tile: its page in the file, its marks as recorded, and what they must agree with."""

    file: str
    page: int
    tile: str
    paper: Point
    to_page: Affine
    correction: Affine
    bars: tuple[ExpectedBar, ...]
    holes: tuple[ExpectedHole, ...]
    record: Iterable[str]

    def marks(self) -> tuple[Mark, ...]:
        """Return what the page must show.

        Raises:
            ProofError: Q101, the record is malformed, or its holes and bars stand elsewhere than the manifest has them.
        """
        where = f"{self.file} page {self.page} ({self.tile})"
        marks = _read(self.record, where)
        named = _named(marks)
        for hole in self.holes:
            _agree(hole, self.to_page.apply(hole.at), named, where)
        for bar in self.bars:
            a, b = self.correction.apply(bar.a), self.correction.apply(bar.b)
            ends = [max(math.dist(m.points[0], a), math.dist(m.points[1], b)) for m in named[f"bar {bar.id}"]]
            if not ends or min(ends) > LIMIT:
                raise _contradiction(where, f"bar {bar.id}")
        return marks


class ExpectedSheet(NamedTuple):
    """One sheet, its pages and how many of them are in each file."""

    name: str
    svg: str
    holes: tuple[ExpectedHole, ...]
    pages: tuple[ExpectedPage, ...]
    pages_in: Mapping[str, int]
    record: Iterable[str]

    def marks(self) -> tuple[Mark, ...]:
        """Return what the picture of the whole sheet must show; raises as ``ExpectedPage.marks``."""
        marks = _read(self.record, self.svg)
        named = _named(marks)
        for hole in self.holes:
            _agree(hole, hole.at, named, self.svg)
        return marks


class Identity(NamedTuple):
    """What a page says it is."""

    version: str
    sheet: str
    tile: str
    page: int
    of: int
    stamp: str


class Expected(NamedTuple):
    """All that a run must show."""

    version: str
    sha: str
    sheets: tuple[ExpectedSheet, ...]

    @property
    def stamp(self) -> str:
        """The first eight digits of the description's SHA-256, as every page carries them."""
        return self.sha[:8]

    def identity(self, sheet: ExpectedSheet, page: ExpectedPage) -> Identity:
        """Return what the page says it is."""
        return Identity(self.version, sheet.name, page.tile, page.page, sheet.pages_in[page.file], self.stamp)


def _read(record: Iterable[str], where: str) -> tuple[Mark, ...]:
    try:
        return wanted_marks(record)
    except ValueError as fault:
        raise ProofError(Finding("Q101", where, f"the manifest's record has no mark in {fault}")) from None


def _named(marks: Iterable[Mark]) -> Mapping[str, list[Mark]]:
    named: dict[str, list[Mark]] = defaultdict(list)
    for mark in marks:
        named[mark.what].append(mark)
    return named


def _agree(hole: ExpectedHole, at: Point, named: Mapping[str, list[Mark]], where: str) -> None:
    """Refuse a record whose crosshair, circle or square of a hole stands elsewhere, or is of another size."""
    marks = [mark for name in hole.names for mark in named.get(name, ())]
    radius = hole.diameter / 2 if hole.diameter is not None else None
    slack = LIMIT + 0.01 * (radius or 0.0)  # a printer's correction makes ellipses of circles
    for mark in marks:
        if mark.circle is not None:
            off = math.dist(mark.circle[0], at) + (abs(mark.circle[1] - radius) if radius else 0.0)
            wrong = off > LIMIT
        elif mark.kind == CURVE:
            middle = mean(mark.points)
            size = sum(math.dist(middle, point) for point in mark.points) / len(mark.points)
            wrong = math.dist(middle, at) > LIMIT or bool(radius and abs(size - radius) > slack)
        else:
            off = _off_line(mark, at)
            wrong = mark.kind == LINE and off > LIMIT and (radius is None or abs(off - radius) > slack)
        if wrong:
            raise _contradiction(where, hole.names[0])
    if not marks:
        raise _contradiction(where, hole.names[0])


def _off_line(mark: Mark, at: Point) -> float:
    """Return how far a point is from a stroke's whole line."""
    (ax, ay), (bx, by) = mark.points[0], mark.points[-1]
    return abs((bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax)) / max(math.dist((ax, ay), (bx, by)), 1e-9)


def _contradiction(where: str, what: str) -> ProofError:
    text = f"the manifest contradicts itself: {what} is not recorded where its place and the page's map put it"
    return ProofError(Finding("Q101", where, text))


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
    return Expected(where.text("version"), sha, sheets)


def _sheet(sheet: _Place) -> ExpectedSheet:
    holes = {
        h.text("id"): ExpectedHole(
            (f"hole {h.text('id')}", f"screw {h.text('id')}"),
            (h.number("x"), h.number("y")),
            h.number("diameter", above=0.0),
        )
        for h in sheet.items("holes")
    }
    if len(holes) < len(sheet.items("holes")):
        raise sheet.fault("holes", "has two holes of one id")
    shown: dict[str, list[ExpectedHole]] = defaultdict(list)
    for r in sheet.items("registration"):
        mark = ExpectedHole((f"registration mark {r.text('id')}",), (r.number("x"), r.number("y")), None)
        for tile in r.texts("tiles"):
            shown[tile].append(mark)
    pages, listed_all = [], set[str]()
    for page in sheet.items("pages"):
        listed = page.texts("holes")
        strange = [hole for hole in listed if hole not in holes]
        if strange:
            raise sheet.fault("pages", f"tile {page.text('tile')} lists a hole that the sheet has not: {strange[0]}")
        own = [holes[hole] for hole in listed]
        listed_all.update(listed)
        pages.append(_page(page, (*own, *shown.pop(page.text("tile"), ()))))
    if len({page.tile for page in pages}) < len(pages):
        raise sheet.fault("pages", "has two pages of one tile")
    if shown:
        raise sheet.fault("registration", f"names a tile that the sheet has not: {next(iter(shown))}")
    if missing := holes.keys() - listed_all:
        raise sheet.fault("holes", f"has {min(missing)}, which is on none of the pages")
    return ExpectedSheet(
        sheet.text("name"), sheet.text("svg"), tuple(holes.values()), tuple(pages),
        Counter(page.file for page in pages), sheet.lines("marks"),
    )  # fmt: skip


def _page(page: _Place, holes: tuple[ExpectedHole, ...]) -> ExpectedPage:
    width, height = page.numbers("paper", 2)
    a, b, c, d, e, f = page.numbers("to_page", 6)
    if width <= 0 or height <= 0:
        raise page.fault("paper", "is not above 0")
    to_page = Affine(a, b, c, d, e, f)
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
        bars.append(ExpectedBar(bar.text("id"), (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])))
    return ExpectedPage(
        page.text("file"), int(page.number("page", above=0.0)), page.text("tile"), (width, height), to_page, about,
        tuple(bars), holes, page.lines("marks"),
    )  # fmt: skip


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
        if isinstance(value, bool) or not isinstance(value, int | float) or not -_MOST < value < _MOST:
            raise self.fault(key, f"is not a number that a sheet can have: {str(value)[:40]!r}")
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

    def lines(self, key: str) -> Iterable[str]:
        value = self._get(key)
        return value if isinstance(value, Iterable) and not isinstance(value, list | str | Mapping) else self.texts(key)

    def inner(self, key: str) -> _Place:
        return _Place(self._get(key), f"{self._way}.{key}")

    def items(self, key: str) -> list[_Place]:
        value = self._get(key)
        if not isinstance(value, list | tuple):
            raise self.fault(key, "is not a list")
        return [_Place(part, f"{self._way}.{key}[{number}]") for number, part in enumerate(value)]


