"""The manifest to what every page and picture must show. The form of its marks: ``paper/manifest.py``."""

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, NamedTuple

from templater.drawing.marks import Group
from templater.findings import Finding, ProofError
from templater.paper.manifest import Rows
from templater.plane.shapes import IDENTITY, Affine, Point, side_of
from templater.proof.marks import CURVE, LINE, MOST, TURNS, Mark, wanted_marks
from templater.proof.match import LIMIT

#: How far the printer correction named may differ from the one in ``to_page``.
_SAME = 1e-6
_ABOVE_0 = "a number above 0"
_POINT = (float, float)
#: What a manifest must have, as far as it is read here: mappings by key, lists of one thing, so many numbers.
#: The numbers of a mark are looked at as it is read.
_SHAPE = {
    "version": str,
    "description_sha256": str,
    "sheets": [{
        "name": str, "svg": str, "marks": [list], "frame": [list],
        "holes": [{"id": str, "x": float, "y": float, "diameter": _ABOVE_0}],
        "registration": [{"id": str, "x": float, "y": float, "tiles": [str]}],
        "pages": [{
            "file": str, "page": _ABOVE_0, "tile": str, "paper": (_ABOVE_0, _ABOVE_0), "to_page": (float,) * 6,
            "holes": [str], "correction": {"across": float, "along": float, "skew": float}, "marks": [list],
            "bars": [{"id": str, "a": _POINT, "b": _POINT, "length": _ABOVE_0}],
        }],
    }],
}  # fmt: skip
#: The line that every page carries, read without spaces: program and version, sheet and tile, page, stamp.
_IDENTITY = re.compile(
    r"templater((?:(?!templater)[^·]){1,40})·([a-z0-9-]+?)(\d{1,6}-\d{1,6})·page(\d{1,6})of(\d{1,6})·([0-9a-f]{8})"
)
#: The order in which a picture shows the groups of marks.
_GROUPS = {str([group.value]): number for number, group in enumerate(Group)}


class Due(NamedTuple):
    """Where every mark of a hole, registration mark or bar must stand."""

    name: str
    at: Point
    diameter: float | None = None
    end: Point | None = None  # of a bar, which begins at ``at``


class Identity(NamedTuple):
    """What a page says it is."""

    version: str
    sheet: str
    tile: str = ""
    page: int = 0
    of: int = 0
    stamp: str = ""

    @classmethod
    def of_page(cls, text: str, stamp: str) -> "Identity | None":
        """Return what a page says it is, by its text without spaces; None if it says nothing.

        If a boat's name is like it, too, what has the ``stamp`` counts.
        """
        found = max(_IDENTITY.finditer(text), key=lambda one: one[6] == stamp, default=None)
        return cls(found[1], found[2], found[3], int(found[4]), int(found[5]), found[6]) if found else None


class Wanted(NamedTuple):
    """What a page or the picture of a whole sheet must show: marks as recorded, and what they must agree with."""

    file: str
    identity: Identity  # that of a picture names its sheet only
    paper: Point
    record: Iterable[Any]
    due: Callable[[], Mapping[str, Due]]  # made when asked for: those of all pages would fill the memory
    frame: Sequence[tuple[Mark, ...]] = ()

    def marks(self) -> Iterator[Mark]:
        """Yield what must be shown, in its order there.

        Raises ProofError Q101: the record is malformed, or its holes and bars stand elsewhere than the manifest says.
        """
        record, where, due = self.record, self.file, self.due()
        missing = {one.name for one in due.values()}
        if self.identity.tile:
            where += f" page {self.identity.page} ({self.identity.tile})"
        elif isinstance(record, Rows):
            record = record.in_groups()
        else:
            record = sorted(record, key=lambda row: _GROUPS.get(str(row[3:4]), -1))
        try:
            for mark in wanted_marks(record, self.frame):
                one = due.get(mark.what)
                if one is not None:
                    if _elsewhere(mark, one):
                        missing = {one.name}
                        break
                    missing.discard(one.name)
                yield mark
        except ValueError as fault:
            raise ProofError(Finding("Q101", where, f"the manifest's record has no mark in {fault}")) from None
        if missing:
            text = f"{min(missing)} is not recorded where its place and the page's map put it"
            raise ProofError(Finding("Q101", where, f"the manifest contradicts itself: {text}"))


class Expected(NamedTuple):
    """All that a run must show; ``stamp``, on every page, is the first eight digits of the description's SHA-256."""

    stamp: str
    pages: tuple[Wanted, ...]
    pictures: tuple[Wanted, ...]  # one for each sheet
    size: float = math.inf  # bytes of the manifest, by which a stranger's file is told to be too large

    @property
    def most(self) -> float:
        """Bytes that a file of the run can have when unpacked; the program's own have at most 1.5 to one of these."""
        return 1_000_000 + 10 * self.size

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files of a whole run."""
        return tuple(dict.fromkeys(one.file for one in (*self.pages, *self.pictures) if one.file))


class _WrongError(ValueError):
    """What is wrong with a manifest, and where in it."""


def read_manifest(manifest: object, name: str = "manifest") -> Expected:
    """Return what the pages of a run must show; ``name`` is what findings call the manifest.

    Raises ProofError Q101: it lacks a key, has a value of the wrong kind or contradicts itself; the key is named.
    """
    pages, pictures = list[Wanted](), list[Wanted]()
    try:
        _look(manifest, _SHAPE, "")
        assert isinstance(manifest, Mapping)
        sheets, sha = manifest["sheets"], manifest["description_sha256"]
        if not sheets:
            raise _WrongError("sheets: is empty")
        if len({sheet["name"] for sheet in sheets}) < len(sheets):
            raise _WrongError("sheets: has two sheets of one name")
        if len(sha) != 64 or set(sha) - set("0123456789abcdef"):
            raise _WrongError("description_sha256: is not a SHA-256 in 64 small hexadecimal digits")
        for number, sheet in enumerate(sheets):
            pages += (own := [*_pages(sheet, (manifest["version"], sha[:8]), f"sheets[{number}]")])
            due, identity = partial(_due, sheet["holes"]), Identity("", sheet["name"])
            pictures.append(Wanted(sheet["svg"], identity, own[0].paper, sheet["marks"], due))
    except _WrongError as fault:
        raise ProofError(Finding("Q101", name, str(fault))) from None
    return Expected(sha[:8], tuple(pages), tuple(pictures))


def _look(value: Any, shape: Any, way: str) -> None:
    """Refuse a value of another shape; ``way`` leads to it."""
    count = len(shape) if isinstance(shape, tuple) else None
    if isinstance(shape, dict):
        if not isinstance(value, Mapping):
            raise _WrongError(f"{way or 'it'}: is not a mapping of keys to values")
        for key, inner in shape.items():
            there = f"{way}.{key}".removeprefix(".")
            if key not in value:
                raise _WrongError(f"{there}: is missing")
            _look(value[key], inner, there)
    elif shape is list or isinstance(shape, list | tuple):
        if isinstance(value, Rows):
            return
        if not isinstance(value, list | tuple) or count not in (None, len(value)):
            raise _WrongError(f"{way}: is not a list" + (f" of {count} numbers" if count else ""))
        for number, part in enumerate(value if shape is not list else ()):
            _look(part, shape[0], f"{way}[{number}]")
    elif shape is str:
        if not isinstance(value, str):
            raise _WrongError(f"{way}: is not a text: {str(value)[:40]}")
    elif isinstance(value, bool) or not isinstance(value, int | float) or not -MOST < value < MOST:
        raise _WrongError(f"{way}: is not a number that a sheet can have: {str(value)[:40]!r}")
    elif shape is _ABOVE_0 and value <= 0:
        raise _WrongError(f"{way}: is {value}, allowed: above 0")


def _pages(sheet: Mapping[str, Any], said: tuple[str, str], way: str) -> Iterator[Wanted]:
    """Yield a sheet's pages, which carry ``said``, version and stamp."""
    counts = Counter(page["file"] for page in sheet["pages"])
    holes = {hole["id"]: hole for hole in sheet["holes"]}
    if len(holes) < len(sheet["holes"]):
        raise _WrongError(f"{way}.holes: has two holes of one id")
    shown: dict[str, list[Mapping[str, Any]]] = {page["tile"]: [] for page in sheet["pages"]}
    if not 0 < len(sheet["pages"]) == len(shown):
        raise _WrongError(f"{way}.pages: is empty, or has two pages of one tile")
    for mark in sheet["registration"]:
        for tile in mark["tiles"]:
            if tile not in shown:
                raise _WrongError(f"{way}.registration: names a tile that is not on the sheet: {tile[:40]}")
            shown[tile].append(mark)
    try:
        frame = [tuple(wanted_marks([row])) for row in sheet["frame"]]
    except ValueError as fault:
        raise _WrongError(f"{way}.frame: has no mark in {fault}") from None
    missing = set(holes)
    for number, page in enumerate(sheet["pages"]):
        if unknown := [hole for hole in page["holes"] if hole not in holes]:
            text = f"tile {page['tile']} lists a hole that is not on the sheet: {unknown[0][:40]}"
            raise _WrongError(f"{way}.pages: {text}")
        missing.difference_update(page["holes"])
        due = partial(_due, [holes[hole] for hole in page["holes"]], shown[page["tile"]], page)
        try:
            _due((), (), page)
        except _WrongError as fault:
            raise _WrongError(f"{way}.pages[{number}].{fault}") from None
        identity = Identity(said[0], sheet["name"], page["tile"], int(page["page"]), counts[page["file"]], said[1])
        yield Wanted(page["file"], identity, tuple(page["paper"]), page["marks"], due, frame)
    if missing:
        raise _WrongError(f"{way}.holes: has {min(missing)}, which is on none of the pages")


def _due(
    holes: Sequence[Mapping[str, Any]], registered: Sequence[Mapping[str, Any]] = (), page: Mapping[str, Any] = {}
) -> dict[str, Due]:
    """Return where holes, and a page's registration marks and bars, must stand, by what their marks may be called."""
    due, to_page = dict[str, Due](), Affine(*page["to_page"]) if page else IDENTITY
    for hole in holes:
        one = Due(f"hole {hole['id']}", to_page.apply((hole["x"], hole["y"])), hole["diameter"])
        due[one.name] = due[f"screw {hole['id']}"] = one
    for mark in registered:
        name = f"registration mark {mark['id']}"
        due[name] = Due(name, to_page.apply((mark["x"], mark["y"])))
    corrected = _about_the_middle(to_page, page["correction"], page["paper"]) if page else IDENTITY
    if corrected is None:
        raise _WrongError("to_page: is no quarter turn, shift and the correction named beside it")
    for number, bar in enumerate(page.get("bars", ())):
        a, b, name = bar["a"], bar["b"], f"bar {bar['id']}"
        if abs((long := math.dist(a, b)) - bar["length"]) > 1e-3:
            text = f"is {bar['length']} and not the distance between its ends, {long:.4f}"
            raise _WrongError(f"bars[{number}].length: {text}")
        due[name] = Due(name, corrected.apply(a), end=corrected.apply(b))
    return due


def _about_the_middle(to_page: Affine, named: Mapping[str, float], paper: Sequence[float]) -> Affine | None:
    """Return the printer correction as a map about the page's middle, if ``to_page`` is it after a quarter turn.

    The correction is X = across x + skew y, Y = along y.
    """
    across, along, skew = named["across"], named["along"], named["skew"]
    for cos, sin in TURNS:
        p, q, r, s, _, _ = Affine(cos, -sin, sin, cos).compose(to_page)  # less its quarter turn
        if max(abs(p - across), abs(q), abs(r - skew), abs(s - along)) < _SAME:
            x, y = paper[0] / 2, paper[1] / 2
            return Affine(p, q, r, s, x - p * x - r * y, y - q * x - s * y)
    return None


def _elsewhere(mark: Mark, due: Due) -> bool:
    """True if a crosshair's line, a circle, a square's side or a bar is not that of what is due, or of another size."""
    radius, a, b = (due.diameter or 0.0) / 2, mark.points[0], mark.points[-1]
    slack = 0.0 if mark.circle else 0.01 * radius  # a printer's correction makes ellipses of circles
    if due.end is not None:
        return not math.dist(a, due.at) <= LIMIT >= math.dist(b, due.end)
    if mark.kind == CURVE:
        middle = mark.middle
        size = sum(math.dist(middle, point) for point in mark.points) / len(mark.points)
        middle, size = mark.circle or (middle, size)
        return math.dist(middle, due.at) + (max(0.0, abs(size - radius) - slack) if radius else 0.0) > LIMIT
    off = abs(side_of(a, b, due.at)) / max(math.dist(a, b), 1e-9)
    return mark.kind == LINE and off > LIMIT and (not radius or abs(off - radius) > LIMIT + slack)
