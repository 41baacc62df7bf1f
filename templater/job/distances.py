"""The tape's and the rule's figures as plain rows for tables, all mm and degrees; nothing is rounded here."""

from __future__ import annotations

from dataclasses import dataclass

from templater.boat.solved import Boat


@dataclass(frozen=True, slots=True)
class TapeRow:
    """What the tape reads from the steering post to a chock corner, both sides alike.

    Attributes:
        from_axis: slant distance from the steering pivot axis at the ring's height.
        from_post: the same from the post's surface, where a tape hooked round it starts.
        level: level distance from the axis.
        correction: what slope adds to the level distance (slant less level).
        slope: degrees below level.
        change: of ``from_axis`` against the setting before it; None at the foremost.
    """

    setting: int
    from_axis: float
    from_post: float
    level: float
    correction: float
    slope: float
    change: float | None


@dataclass(frozen=True, slots=True)
class DistanceRow:
    """A straight distance between two holes, to be measured after punching and after drilling."""

    a: str
    b: str
    kind: str
    distance: float


@dataclass(frozen=True, slots=True)
class SettingRow:
    """A fore-and-aft setting, foremost first.

    Attributes:
        station: of the bolt line, aft of the steering pivot axis.
        runner_base: steering pivot axis to the side runners' pivot axis.
        to_max: left to the rule's greatest distance, negative outside; None without a rule.
        to_min: left to the least; None without one.
        tape_from_axis: slant distance to a chock corner; None where the corners are not given.
        tape_from_post: the same from the post's surface.
        change: of the runner base against the setting before it; None at the foremost.
    """

    number: int
    station: float
    runner_base: float
    to_max: float | None
    to_min: float | None
    at_limit: bool
    tape_from_axis: float | None
    tape_from_post: float | None
    change: float | None


def tape_rows(boat: Boat) -> tuple[TapeRow, ...]:
    """Return the tape's figures, foremost setting first; empty where the chock corners are not given."""
    rows: list[TapeRow] = []
    for figure in boat.tape:
        rows.append(
            TapeRow(
                setting=figure.setting,
                from_axis=figure.slant,
                from_post=figure.slant_from_post,
                level=figure.level,
                correction=figure.slope_correction,
                slope=figure.slope,
                change=figure.slant - rows[-1].from_axis if rows else None,
            )
        )
    return tuple(rows)


def distance_rows(boat: Boat) -> tuple[DistanceRow, ...]:
    """Return the check distances between holes: across, along, diagonal, then the plank's."""
    return tuple(DistanceRow(row.a, row.b, row.kind, row.distance) for row in boat.distances)


def setting_rows(boat: Boat) -> tuple[SettingRow, ...]:
    """Return all settings with what the rule leaves them and what the tape reads."""
    tape = {figure.setting: figure for figure in boat.tape}
    rows: list[SettingRow] = []
    for setting in boat.settings:
        figure = tape.get(setting.number)
        rows.append(
            SettingRow(
                number=setting.number,
                station=setting.station,
                runner_base=setting.runner_base,
                to_max=setting.to_max,
                to_min=setting.to_min,
                at_limit=setting.at_limit,
                tape_from_axis=figure.slant if figure else None,
                tape_from_post=figure.slant_from_post if figure else None,
                change=setting.runner_base - rows[-1].runner_base if rows else None,
            )
        )
    return tuple(rows)
