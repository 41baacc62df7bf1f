"""From a drawing and a paper to tiles: seams, placement, registration marks, printer correction."""
