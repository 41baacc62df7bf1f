"""The whole solution, in one place."""

from __future__ import annotations

from templater.boat.distances import check_distances, solve_plank, tape_figures
from templater.boat.holes import fitting_holes, floor_bolts, plank_bolts, plates, screws
from templater.boat.solved import Boat, Setting
from templater.description.keys import Description, Limit
from templater.standards.fasteners import nominal_diameter


def solve(description: Description) -> Boat:
    """Return the solved boat.

    Raises:
        DescriptionError: if the plank cannot be as described.
    """
    nominal = nominal_diameter(description.fixing.bolt.thread)
    settings = solve_settings(description)
    plank = solve_plank(description)
    solved_plates = tuple(plates(description, settings))
    holes = (
        *floor_bolts(description, settings, nominal),
        *screws(description, solved_plates),
        *plank_bolts(description, plank.hole_along, nominal),
        *fitting_holes(description),
    )
    return Boat(
        description=description,
        settings=settings,
        holes=holes,
        plates=solved_plates,
        plank=plank,
        tape=tuple(tape_figures(description, settings)),
        distances=tuple(check_distances(description, holes, settings)),
    )


def solve_settings(description: Description) -> tuple[Setting, ...]:
    """Return the settings, numbered from 1 at the foremost.

    The aftmost stands with its runner pivot axis ``keep_inside`` short of the rule's greatest distance, or the foremost
    by as much beyond its least; the others follow by pitch.
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
        base = rule.runner_base
        if settings.at_limit is Limit.AFT:
            limit, first = settings.count - 1, base.max - rule.keep_inside - pivot
        else:
            limit, first = 0, (base.min or 0.0) + rule.keep_inside - pivot
        stations = [first + (number - limit) * settings.pitch for number in range(settings.count)]
        keys = {}
    found = []
    for number, station in enumerate(stations):
        reached = station + pivot
        to_max = rule.runner_base.max - reached if rule else None
        to_min = reached - rule.runner_base.min if rule and rule.runner_base.min is not None else None
        key = keys.get(station, "fixing.settings.pitch" if number != limit else "fixing.settings")
        # At the greatest distance, to the last decimal that is printed.
        at_limit = rule is not None and to_max is not None and abs(to_max - rule.keep_inside) < 0.05
        found.append(Setting(number + 1, station, reached, to_max, to_min, at_limit, key))
    return tuple(found)
