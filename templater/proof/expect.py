"""The manifest to what every page must show. The form of its marks: ``paper/manifest.py``."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from templater.findings import Finding, ProofError
from templater.paper.manifest import Rows
from templater.plane.shapes import IDENTITY, Affine, Point, side_of
from templater.proof.marks import CURVE, LINE, MOST, TURNS, Mark, wanted_marks
from templater.proof.match import LIMIT

#: How far the printer correction named may differ from the one in ``to_page``.
_SAME = 1e-6
_POINT = (float, float)
#: What a manifest must have, as far as it is read here: mappings by key, lists of one thing, so many numbers.
_SHAPE = {
    "version": str,
    "description_sha256": str,
    "sheets": [{
        "name": str, "svg": str, "marks": [list], "frame": [list],
        "holes": [{"id": str, "x": float, "y": float, "diameter": float}],
        "registration": [{"id": str, "x": float, "y": float, "tiles": [str]}],
        "pages": [{
            "file": str, "page": int, "tile": str, "paper": _POINT, "to_page": (float,) * 6, "holes": [str],
            "correction": {"across": float, "along": float, "skew": float},
            "bars": [{"id": str, "a": _POINT, "b": _POINT, "length": float}],
            "marks": [list],
        }],
    }],
}  # fmt: skip
#: The line that every page carries, read without spaces: program and version, sheet and tile, page, stamp.
_IDENTITY = re.compile(r"templater([^·]{1,40})·([a-z0-9-]+?)(\d{1,6}-\d{1,6})·page(\d{1,6})of(\d{1,6})·([0-9a-f]{8})")
_ABOVE_0 = frozenset({"diameter", "length", "page", "paper"})


class ExpectedHole(NamedTuple):
    """A hole or registration mark of a sheet, in the sheet frame; ``names`` are what its marks may be called."""

    names: tuple[str, ...]
    at: Point
    diameter: float | None


class ExpectedPage(NamedTuple):
    """One tile: its page in the file, its marks as recorded, and what they must agree with."""

    file: str
    page: int
    tile: str
    paper: Point
    to_page: Affine
    bars: tuple[tuple[str, Point, Point], ...]  # page mm, corrected
    holes: tuple[ExpectedHole, ...]
    record: Iterable[Any]
    frame: Sequence[tuple[Mark, ...]]

    def marks(self) -> tuple[Mark, ...]:
        """Return what the page must show.

        Raises:
            ProofError: Q101, the record is malformed, or its holes and bars stand elsewhere than the manifest has them.
        """
        where = f"{self.file} page {self.page} ({self.tile})"
        return _agreed(self.record, self.holes, self.to_page, where, self.frame, self.bars)


class ExpectedSheet(NamedTuple):
    """One sheet, its pages and how many of them are in each file."""

    name: str
    svg: str
    holes: tuple[ExpectedHole, ...]
    pages: tuple[ExpectedPage, ...]
    pages_in: Mapping[str, int]
    record: Iterable[Any]

    def marks(self) -> tuple[Mark, ...]:
        """Return what the picture of the whole sheet must show; raises as ``ExpectedPage.marks``."""
        return _agreed(self.record, self.holes, IDENTITY, self.svg)


class Identity(NamedTuple):
    """What a page says it is."""

    version: str
    sheet: str
    tile: str
    page: int
    of: int
    stamp: str

    @classmethod
    def of_page(cls, text: str) -> Identity | None:
        """Return what a page says it is; ``text`` is the page's text without spaces. None if it says nothing."""
        found = _IDENTITY.search(text)
        return cls(found[1], found[2], found[3], int(found[4]), int(found[5]), found[6]) if found else None


class Expected(NamedTuple):
    """All that a run must show; ``stamp``, on every page, is the first eight digits of the description's SHA-256."""

    version: str
    stamp: str
    sheets: tuple[ExpectedSheet, ...]

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files of a whole run."""
        names = [page.file for sheet in self.sheets for page in sheet.pages]
        return tuple(dict.fromkeys([*names, *(sheet.svg for sheet in self.sheets if sheet.svg)]))

    def identity(self, sheet: ExpectedSheet, page: ExpectedPage) -> Identity:
        """Return what the page says it is."""
        return Identity(self.version, sheet.name, page.tile, page.page, sheet.pages_in[page.file], self.stamp)


class _WrongError(ValueError):
    """What is wrong with a manifest, and where in it."""


def read_manifest(manifest: object, name: str = "manifest") -> Expected:
    """Return what the pages of a run must show; ``name`` is what findings call the manifest.

    Raises:
        ProofError: Q101, it lacks a key, has a value of the wrong kind or contradicts itself; the key is named.
    """
    try:
        _look(manifest, _SHAPE, "")
        assert isinstance(manifest, Mapping)
        sheets = tuple(_sheet(sheet, f"sheets[{number}]") for number, sheet in enumerate(manifest["sheets"]))
        if not sheets:
            raise _WrongError("sheets: is empty")
        if len({sheet.name for sheet in sheets}) < len(sheets):
            raise _WrongError("sheets: has two sheets of one name")
        sha = manifest["description_sha256"]
        if len(sha) != 64 or set(sha) - set("0123456789abcdef"):
            raise _WrongError("description_sha256: is not a SHA-256 in 64 small hexadecimal digits")
    except _WrongError as fault:
        raise ProofError(Finding("Q101", name, str(fault))) from None
    return Expected(manifest["version"], sha[:8], sheets)


def _look(value: Any, shape: Any, way: str) -> None:
    """Refuse a value of another shape; ``way`` leads to it."""
    if isinstance(shape, dict):
        if not isinstance(value, Mapping):
            raise _WrongError(f"{way or 'it'}: is not a mapping of keys to values")
        for key, inner in shape.items():
            there = f"{way}.{key}".removeprefix(".")
            if key not in value:
                raise _WrongError(f"{there}: is missing")
            _look(value[key], inner, there)
            if key in _ABOVE_0 and min(value[key] if key == "paper" else [value[key]]) <= 0:
                raise _WrongError(f"{there}: is {value[key]}, allowed: above 0")
    elif isinstance(shape, list | tuple):
        if shape == [list] and isinstance(value, Rows):
            return
        if not isinstance(value, list | tuple) or (isinstance(shape, tuple) and len(value) != len(shape)):
            raise _WrongError(
                f"{way}: is not a list" + (f" of {len(shape)} numbers" if isinstance(shape, tuple) else "")
            )
        for number, part in enumerate(value if shape != [list] else ()):  # marks are looked at as they are read
            _look(part, shape[0], f"{way}[{number}]")
    elif shape is str:
        if not isinstance(value, str):
            raise _WrongError(f"{way}: is not a text: {str(value)[:40]}")
    elif isinstance(value, bool) or not isinstance(value, int | float) or not -MOST < value < MOST:
        raise _WrongError(f"{way}: is not a number that a sheet can have: {str(value)[:40]!r}")


def _sheet(sheet: Mapping[str, Any], way: str) -> ExpectedSheet:
    holes = {
        h["id"]: ExpectedHole((f"hole {h['id']}", f"screw {h['id']}"), (h["x"], h["y"]), h["diameter"])
        for h in sheet["holes"]
    }
    if len(holes) < len(sheet["holes"]):
        raise _WrongError(f"{way}.holes: has two holes of one id")
    shown: dict[str, list[ExpectedHole]] = defaultdict(list)
    for r in sheet["registration"]:
        for tile in r["tiles"]:
            shown[tile].append(ExpectedHole((f"registration mark {r['id']}",), (r["x"], r["y"]), None))
    try:
        frame = [wanted_marks([row]) for row in sheet["frame"]]
    except ValueError as fault:
        raise _WrongError(f"{way}.frame: has no mark in {fault}") from None
    pages, listed = [], set[str]()
    for number, page in enumerate(sheet["pages"]):
        for hole in page["holes"]:
            if hole not in holes:
                text = f"tile {page['tile']} lists a hole that is not on the sheet: {hole[:40]}"
                raise _WrongError(f"{way}.pages: {text}")
        listed.update(page["holes"])
        own = (*(holes[hole] for hole in page["holes"]), *shown.pop(page["tile"], ()))
        pages.append(_page(page, own, frame, f"{way}.pages[{number}]"))
    if len({page.tile for page in pages}) < len(pages):
        raise _WrongError(f"{way}.pages: has two pages of one tile")
    if shown:
        raise _WrongError(f"{way}.registration: names a tile that is not on the sheet: {next(iter(shown))[:40]}")
    if missing := holes.keys() - listed:
        raise _WrongError(f"{way}.holes: has {min(missing)}, which is on none of the pages")
    counts = Counter(page.file for page in pages)
    return ExpectedSheet(sheet["name"], sheet["svg"], tuple(holes.values()), tuple(pages), counts, sheet["marks"])


def _page(
    page: Mapping[str, Any], holes: tuple[ExpectedHole, ...], frame: Sequence[tuple[Mark, ...]], way: str
) -> ExpectedPage:
    paper, to_page = (page["paper"][0], page["paper"][1]), Affine(*page["to_page"])
    correction = _about_the_middle(to_page, page["correction"], paper)
    if correction is None:
        raise _WrongError(f"{way}.to_page: is no quarter turn, shift and the correction named beside it")
    bars = []
    for number, bar in enumerate(page["bars"]):
        (ax, ay), (bx, by), long = bar["a"], bar["b"], math.dist(bar["a"], bar["b"])
        if abs(long - bar["length"]) > 1e-3:
            text = f"is {bar['length']} and not the distance between its ends, {long:.4f}"
            raise _WrongError(f"{way}.bars[{number}].length: {text}")
        bars.append((bar["id"], correction.apply((ax, ay)), correction.apply((bx, by))))
    return ExpectedPage(
        page["file"], int(page["page"]), page["tile"], paper, to_page, tuple(bars), holes, page["marks"],
        frame,
    )  # fmt: skip


def _about_the_middle(to_page: Affine, named: Mapping[str, float], paper: Point) -> Affine | None:
    """Return the printer correction as a map about the page's middle, if ``to_page`` is it after a quarter turn.

    The correction is X = across x + skew y, Y = along y, or with the shear taken before the scale; both are accepted,
    and the one that ``to_page`` really holds is returned.
    """
    across, along, skew = named["across"], named["along"], named["skew"]
    for cos, sin in TURNS:
        a, b, c, d = to_page[:4]
        # The linear part without its quarter turn.
        p, q, r, s = a * cos - c * sin, b * cos - d * sin, a * sin + c * cos, b * sin + d * cos
        shears = (skew, skew * across, skew * along)
        if max(abs(p - across), abs(q), abs(s - along), min(abs(r - shear) for shear in shears)) < _SAME:
            x, y = paper[0] / 2, paper[1] / 2
            return Affine(p, q, r, s, x - p * x - r * y, y - q * x - s * y)
    return None


def _agreed(
    record: Iterable[Any], holes: Iterable[ExpectedHole], to_page: Affine, where: str,
    frame: Sequence[tuple[Mark, ...]] = (), bars: Iterable[tuple[str, Point, Point]] = (),
) -> tuple[Mark, ...]:  # fmt: skip
    """Return a record's marks; refuse a record whose holes and bars stand elsewhere than the manifest has them."""
    try:
        marks = wanted_marks(record, frame)
    except ValueError as fault:
        raise ProofError(Finding("Q101", where, f"the manifest's record has no mark in {fault}")) from None
    named: dict[str, list[Mark]] = defaultdict(list)
    for mark in marks:
        named[mark.what].append(mark)
    wrong = []
    for hole in holes:
        at = to_page.apply(hole.at)
        own = [mark for name in hole.names for mark in named.get(name, ())]
        if not own or any(_elsewhere(mark, at, hole.diameter) for mark in own):
            wrong.append(hole.names[0])
    for name, a, b in bars:
        if not any(math.dist(m.points[0], a) <= LIMIT >= math.dist(m.points[1], b) for m in named[f"bar {name}"]):
            wrong.append(f"bar {name}")
    if wrong:
        text = f"{wrong[0]} is not recorded where its place and the page's map put it"
        raise ProofError(Finding("Q101", where, f"the manifest contradicts itself: {text}"))
    return marks


def _elsewhere(mark: Mark, at: Point, diameter: float | None) -> bool:
    """True if a crosshair's line, a circle or a square's side is not that of a hole at ``at``, or of another size."""
    radius = diameter / 2 if diameter is not None else None
    if mark.circle is not None:
        return math.dist(mark.circle[0], at) + (abs(mark.circle[1] - radius) if radius else 0.0) > LIMIT
    slack = LIMIT + 0.01 * (radius or 0.0)  # a printer's correction makes ellipses of circles
    if mark.kind == CURVE:
        middle = mark.middle
        size = sum(math.dist(middle, point) for point in mark.points) / len(mark.points)
        return math.dist(middle, at) > LIMIT or bool(radius and abs(size - radius) > slack)
    a, b = mark.points[0], mark.points[-1]
    off = abs(side_of(a, b, at)) / max(math.dist(a, b), 1e-9)
    return mark.kind == LINE and off > LIMIT and (radius is None or abs(off - radius) > slack)
