"""Plane geometry without boat words: points, placements, boxes, polygons, a grid of cells."""
