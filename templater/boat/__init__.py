"""From a description to a solved boat: settings, holes with ids, plates, plank."""

from templater.boat.solve import solve

__all__ = ["solve"]
