"""The whole solution, in one place."""

from __future__ import annotations

from templater.boat.distances import check_distances, solve_plank, tape_figures
from templater.boat.holes import fitting_holes, floor_bolts, plank_bolts, plates, screws
from templater.boat.solved import Boat
from templater.boat.stations import solve_settings
from templater.description.keys import Description
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

