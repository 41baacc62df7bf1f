"""Plain mathematics without boat words: arcs, rigid motions, line fit, tape triangles, polygons."""
