"""From a description to a solved boat: settings, holes with ids, plates, plank."""
