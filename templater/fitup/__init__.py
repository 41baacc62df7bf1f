"""From a solved boat and readings to corrections: centreline, square, shim."""
