"""From a solved boat and one table of guides to findings and rows."""
