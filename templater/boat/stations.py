"""The fore-and-aft settings of the plank."""

from __future__ import annotations

from templater.boat.solved import Setting
from templater.description.keys import Description, Limit


def solve_settings(description: Description) -> tuple[Setting, ...]:
    """Return the settings, numbered from 1 at the foremost.

    The setting at the limit stands with its runner pivot axis ``keep_inside`` short of the rule's greatest distance;
    the others follow by pitch. With an even count the middle one is the aft one of the two in the middle.
    """
    settings = description.fixing.settings
    rule = description.rule
    pivot = description.plank.pivot_aft_of_bolts
    if settings.stations:
        keys = {station: f"fixing.settings.stations.{n}" for n, station in enumerate(settings.stations)}
        stations = sorted(settings.stations)
        limit = None
    else:
        assert rule is not None  # the description refuses count and pitch without one
        limit = {Limit.FORE: 0, Limit.MIDDLE: settings.count // 2, Limit.AFT: settings.count - 1}[settings.at_limit]
        first = rule.runner_base.max - rule.keep_inside - pivot
        stations = [first + (number - limit) * settings.pitch for number in range(settings.count)]
        keys = {}
    found = []
    for number, station in enumerate(stations):
        base = station + pivot
        to_max = rule.runner_base.max - base if rule else None
        to_min = base - rule.runner_base.min if rule and rule.runner_base.min is not None else None
        key = keys.get(station, "fixing.settings.pitch" if number != limit else "fixing.settings")
        at_limit = number == limit
        if limit is None and rule is not None and to_max is not None:
            # Stations as given stand at the limit only if their figures say so, to the last decimal that is printed.
            at_limit = abs(to_max - rule.keep_inside) < 0.05
        found.append(Setting(number + 1, station, base, to_max, to_min, at_limit, key))
    return tuple(found)
